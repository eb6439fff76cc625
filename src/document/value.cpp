#include "document/value.hpp"

#include <algorithm>
#include <cstring>
#include <limits>
#include <optional>
#include <unordered_set>

// A number counts as it is written. The parser also has strtod read it, which stops at the point where a
// locale's has several bytes: nobody looks at that, and it is nothing to end a program for.
#define JSON_ASSERT(condition) static_cast<void>(0)
#include <nlohmann/json.hpp>

#include "document/json_text.hpp"
#include "quantity/pointer.hpp"

namespace buttonworth {
namespace {

using Kind = Value::Kind;

/// Length of the UTF-8 sequence at `at`, or 0 where there is none (RFC 3629).
std::size_t utf8_length(std::string_view text, std::size_t at) {
  auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U; };
  auto follows = [&](std::size_t i, unsigned low, unsigned high) {
    return byte(i) >= low && byte(i) <= high;
  };
  const unsigned first = byte(at);
  if (first < 0x80) return 1;
  if (first >= 0xc2 && first <= 0xdf) return follows(at + 1, 0x80, 0xbf) ? 2 : 0;
  if (first >= 0xe0 && first <= 0xef) {
    const unsigned low = first == 0xe0 ? 0xa0 : 0x80, high = first == 0xed ? 0x9f : 0xbf;
    return follows(at + 1, low, high) && follows(at + 2, 0x80, 0xbf) ? 3 : 0;
  }
  if (first >= 0xf0 && first <= 0xf4) {
    const unsigned low = first == 0xf0 ? 0x90 : 0x80, high = first == 0xf4 ? 0x8f : 0xbf;
    return follows(at + 1, low, high) && follows(at + 2, 0x80, 0xbf) && follows(at + 3, 0x80, 0xbf) ? 4 : 0;
  }
  return 0;
}

/// Each error names its place, so that a long name would stand in each of them.
void require_short(std::string_view name, const DocumentLimits& limits) {
  if (static_cast<std::int64_t>(name.size()) > limits.name_bytes)
    throw Error(Code::limit, "the name " + std::string(name.substr(0, 30)) + "… has " +
                                 std::to_string(name.size()) + " bytes, more than the " +
                                 std::to_string(limits.name_bytes) + " allowed");
}

/// Builds a Value from the parser's events, within the limits.
class Builder : public nlohmann::json_sax<nlohmann::json> {
 public:
  explicit Builder(const DocumentLimits& limits) : limits_(limits) {}

  bool null() override { return put({}); }
  bool boolean(bool value) override {
    Value made;
    made.kind = Kind::boolean;
    made.boolean = value;
    return put(std::move(made));
  }
  bool number_integer(number_integer_t value) override { return put_number(std::to_string(value)); }
  bool number_unsigned(number_unsigned_t value) override { return put_number(std::to_string(value)); }
  bool number_float(number_float_t, const string_t& text) override { return put_number(as_written(text)); }
  bool string(string_t& text) override {
    Value made;
    made.kind = Kind::text;
    made.text = std::move(text);
    return put(std::move(made));
  }
  bool binary(binary_t&) override { return false; }  // never called: no JSON holds any
  bool start_object(std::size_t) override { return open(Kind::object); }
  bool end_object() override { return close(); }
  bool start_array(std::size_t) override { return open(Kind::list); }
  bool end_array() override { return close(); }
  bool key(string_t& name) override {
    Value& object = *open_.back();
    require_short(name, limits_);
    if (stands_already(object, name))
      throw Error(Code::repeated, "the name " + name + " stands twice in one object: remove one of the two",
                  pointer() + pointer_step(name));
    object.names.push_back(std::move(name));
    return true;
  }
  bool parse_error(std::size_t position, const std::string&,
                   const nlohmann::detail::exception& error) override {
    fault_position = position;
    fault = error.what();
    return false;
  }

  Value root;
  std::size_t fault_position = 0;
  std::string fault;

 private:
  /// A few names are looked through; of many a set is kept.
  bool stands_already(const Value& object, const std::string& name) {
    constexpr std::size_t few = 16;
    if (object.names.size() < few)
      return std::find(object.names.begin(), object.names.end(), name) != object.names.end();
    auto& seen = seen_.back();
    if (seen.empty()) seen.insert(object.names.begin(), object.names.end());
    return !seen.insert(name).second;
  }
  /// The parser puts the locale's decimal point into the text of a number.
  static std::string as_written(std::string text) {
    for (char& c : text)
      if ((c < '0' || c > '9') && c != '-' && c != '+' && c != 'e' && c != 'E') c = '.';
    return text;
  }
  bool put_number(std::string text) {
    Value made;
    made.kind = Kind::number;
    made.text = std::move(text);
    return put(std::move(made));
  }
  bool put(Value&& value) {
    if (++nodes_ > limits_.nodes)
      throw Error(Code::limit, "the document holds more than " + std::to_string(limits_.nodes) + " values");
    if (open_.empty()) {
      root = std::move(value);
      return true;
    }
    Value& parent = *open_.back();
    if (static_cast<std::int64_t>(parent.items.size()) >= limits_.list_length)
      throw Error(Code::limit,
                  "a list or object holds more than " + std::to_string(limits_.list_length) + " values",
                  pointer());
    parent.items.push_back(std::move(value));
    return true;
  }
  bool open(Kind kind) {
    if (static_cast<std::int64_t>(open_.size()) >= limits_.depth)
      throw Error(Code::limit, "the document is nested more than " + std::to_string(limits_.depth) + " deep");
    Value made;
    made.kind = kind;
    constexpr std::size_t usual = 4;  // entries: fewer moves while it grows
    made.items.reserve(usual);
    if (kind == Kind::object) made.names.reserve(usual);
    put(std::move(made));
    open_.push_back(open_.empty() ? &root : &open_.back()->items.back());
    seen_.emplace_back();
    return true;
  }
  bool close() {
    open_.pop_back();
    seen_.pop_back();
    return true;
  }
  std::string pointer() const {
    std::string text;
    for (std::size_t i = 0; i + 1 < open_.size(); ++i) text += step_of(*open_[i]);
    return text;
  }
  static std::string step_of(const Value& parent) {
    if (parent.kind == Kind::object) return pointer_step(parent.names.back());
    return "/" + std::to_string(parent.items.size() - 1);
  }

  const DocumentLimits& limits_;
  std::vector<Value*> open_;                           // a parent's items do not move while a child is open
  std::vector<std::unordered_set<std::string>> seen_;  // names of the open objects that have many
  std::int64_t nodes_ = 0;
};

std::string line_and_column(std::string_view text, std::size_t position) {
  const std::string_view before = text.substr(0, std::min(position, text.size()));
  const auto line = 1 + std::count(before.begin(), before.end(), '\n');
  const std::size_t start = before.rfind('\n');
  const std::size_t column = start == before.npos ? before.size() : before.size() - start - 1;
  return "line " + std::to_string(line) + ", column " + std::to_string(std::max<std::size_t>(column, 1));
}

/// The library's words without its number: what was found and what was expected.
std::string plain_fault(const std::string& fault) {
  const std::size_t at = fault.find("syntax error");
  if (at != fault.npos) return fault.substr(at);
  return fault.find("out_of_range") != fault.npos ? "a number is too large" : "it cannot be read";
}

void write_members(const Value& value, JsonText& out);

void write_value(const Value& value, JsonText& out) {
  switch (value.kind) {
    case Kind::null: out.null(); break;
    case Kind::boolean: out.bare(value.boolean ? "true" : "false"); break;
    case Kind::number: out.bare(value.text); break;
    case Kind::text: out.string(value.text); break;
    case Kind::list:
    case Kind::object: write_members(value, out); break;
  }
}

void write_members(const Value& value, JsonText& out) {
  const bool named = value.kind == Kind::object;
  out.open(named ? '{' : '[');
  for (std::size_t i = 0; i < value.items.size(); ++i) {
    if (named) out.key(value.names[i]);
    write_value(value.items[i], out);
  }
  out.close(named ? '}' : ']');
}

std::optional<std::size_t> list_index(std::string_view part) {
  if (part.empty() || part.size() > 9 || (part.size() > 1 && part[0] == '0')) return std::nullopt;
  std::size_t index = 0;
  for (char c : part) {
    if (c < '0' || c > '9') return std::nullopt;
    index = index * 10 + static_cast<std::size_t>(c - '0');
  }
  return index;
}

/// Puts a row's value into the document under construction; objects whose names are 0, 1, 2, … become
/// lists once all rows are in.
void place_row(Value& root, const std::vector<std::string>& parts, Value&& value, std::string_view pointer,
               const DocumentLimits& limits) {
  Value* at = &root;
  for (const std::string& part : parts) {
    if (at->kind == Kind::null) at->kind = Kind::object;
    if (at->kind != Kind::object)
      throw Error(Code::conflict, "a value stands above this row already: give either it or its parts",
                  std::string(pointer));
    Value* next = at->find(part);
    if (next == nullptr) {
      if (static_cast<std::int64_t>(at->items.size()) >= limits.list_length)
        throw Error(Code::limit,
                    "a list or object holds more than " + std::to_string(limits.list_length) + " values",
                    std::string(pointer));
      require_short(part, limits);
      at->names.push_back(part);
      next = &at->items.emplace_back();
    }
    at = next;
  }
  if (at->kind == Kind::object && value.kind == Kind::object) return;
  if (at->kind != Kind::null)
    throw Error(Code::repeated, "this pointer stands twice: remove one of the two rows",
                std::string(pointer));
  *at = std::move(value);
}

void make_lists(Value& value) {
  for (Value& item : value.items) make_lists(item);
  if (value.kind != Kind::object || value.names.empty()) return;
  std::vector<Value> ordered(value.items.size());
  std::vector<bool> filled(value.items.size(), false);
  for (std::size_t i = 0; i < value.names.size(); ++i) {
    const auto index = list_index(value.names[i]);
    if (!index || *index >= ordered.size() || filled[*index]) return;
    filled[*index] = true;
  }
  for (std::size_t i = 0; i < value.names.size(); ++i)
    ordered[*list_index(value.names[i])] = std::move(value.items[i]);
  value.kind = Kind::list;
  value.items = std::move(ordered);
  value.names.clear();
}

}  // namespace

namespace {
/// Eight letters at once, as most texts are ASCII throughout.
bool is_ascii(std::string_view eight) {
  std::uint64_t word = 0;
  std::memcpy(&word, eight.data(), eight.size());
  return (word & 0x8080808080808080U) == 0;
}

/// Where the first byte stands that is no UTF-8; the text's size if none does.
std::size_t utf8_fault(std::string_view text) {
  std::size_t at = 0;
  while (at < text.size()) {
    if (is_ascii(text.substr(at, 8))) {
      at += std::min<std::size_t>(8, text.size() - at);
      continue;
    }
    const std::size_t length = utf8_length(text, at);
    if (length == 0) break;
    at += length;
  }
  return at;
}
}  // namespace

bool is_utf8(std::string_view text) { return utf8_fault(text) == text.size(); }

void require_utf8(std::string_view text) {
  const std::size_t at = utf8_fault(text);
  if (at < text.size())
    throw Error(Code::utf8,
                "byte " + std::to_string(at + 1) + " of the document is not UTF-8: save the text as UTF-8");
}

std::string readable(std::string_view text) {
  constexpr const char* unreadable = "\xef\xbf\xbd";
  if (std::all_of(text.begin(), text.end(), [](char c) { return c >= 0x20 && c < 0x7f; }))
    return std::string(text);
  std::string line;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = utf8_length(text, at);
    const bool control = static_cast<unsigned char>(text[at]) < 0x20 || text[at] == 0x7f;
    if (length == 0 || control) line += unreadable;
    else line += text.substr(at, length);
    at += std::max<std::size_t>(length, 1);
  }
  return line;
}

DocumentLimits no_limits() {
  constexpr std::int64_t any = std::numeric_limits<std::int64_t>::max();
  DocumentLimits limits;
  limits.document_bytes = limits.depth = limits.list_length = limits.name_bytes = limits.nodes =
      limits.analytes = any;
  limits.numbers.exponent = NumberLimits::most_exponent;
  return limits;
}

const Value* Value::find(std::string_view name) const {
  for (std::size_t i = 0; i < names.size(); ++i)
    if (names[i] == name) return &items[i];
  return nullptr;
}

Value* Value::find(std::string_view name) {
  return const_cast<Value*>(static_cast<const Value*>(this)->find(name));
}

const char* kind_text(Kind kind) {
  constexpr const char* texts[] = {"null", "true or false", "a bare number", "a text", "a list", "an object"};
  return texts[static_cast<int>(kind)];
}

std::string Place::pointer() const {
  if (parent_ == nullptr) return {};
  return parent_->pointer() + (index_ == npos ? pointer_step(name_) : "/" + std::to_string(index_));
}

Value read_json(std::string_view text, const DocumentLimits& limits) {
  if (text.size() > static_cast<std::uint64_t>(limits.document_bytes))
    throw Error(Code::limit, "the document has " + std::to_string(text.size()) + " bytes, more than the " +
                                 std::to_string(limits.document_bytes) + " allowed");
  require_utf8(text);
  // The parser would take a zero byte for the end.
  if (const std::size_t zero = text.find('\0'); zero != text.npos)
    throw Error(Code::json,
                "not JSON at " + line_and_column(text, zero + 1) + ": a zero byte stands in the text");
  Builder builder(limits);
  if (!nlohmann::json::sax_parse(text.begin(), text.end(), &builder))
    throw Error(Code::json, "not JSON at " + line_and_column(text, builder.fault_position) + ": " +
                                plain_fault(builder.fault));
  return std::move(builder.root);
}

std::string write_json(const Value& value) {
  JsonText text;
  write_value(value, text);
  return text.take();
}

std::vector<std::string> pointer_parts(std::string_view pointer, Code fault) {
  std::vector<std::string> parts;
  if (pointer.empty()) return parts;
  if (pointer.front() != '/')
    throw Error(fault, "a JSON pointer starts with /, and this one does not: " + std::string(pointer));
  for (std::size_t at = 0; at < pointer.size(); ++at) {
    const char c = pointer[at];
    if (c == '/') {
      parts.emplace_back();
    } else if (c != '~') {
      parts.back() += c;
    } else {
      const char next = at + 1 < pointer.size() ? pointer[at + 1] : ' ';
      if (next != '0' && next != '1')
        throw Error(fault, "in a JSON pointer ~ is written ~0 and / is written ~1: " + std::string(pointer));
      parts.back() += next == '0' ? '~' : '/';
      ++at;
    }
  }
  return parts;
}

const Value* find_at(const Value& root, std::string_view pointer) {
  const Value* at = &root;
  for (const std::string& part : pointer_parts(pointer)) {
    if (at->kind == Kind::list) {
      const auto index = list_index(part);
      at = index && *index < at->items.size() ? &at->items[*index] : nullptr;
    } else {
      at = at->kind == Kind::object ? at->find(part) : nullptr;
    }
    if (at == nullptr) return nullptr;
  }
  return at;
}

Value cell_value(std::string_view text) {
  Value value;
  if (text == "null") return value;
  value.kind = Kind::text;
  if (text == "true" || text == "false") value.kind = Kind::boolean;
  if (text == "{}") value.kind = Kind::object;
  if (text == "[]") value.kind = Kind::list;
  value.boolean = text == "true";
  if (value.kind == Kind::text) value.text = text;
  return value;
}

Value from_rows(const std::vector<std::pair<std::string_view, std::string_view>>& rows,
                const DocumentLimits& limits) {
  if (static_cast<std::int64_t>(rows.size()) > limits.nodes)
    throw Error(Code::limit, "more than " + std::to_string(limits.nodes) + " rows");
  std::int64_t bytes = 0;
  Value root;
  for (const auto& [pointer, text] : rows) {
    if (pointer.empty() && text.empty()) continue;
    bytes += static_cast<std::int64_t>(pointer.size() + text.size());
    if (bytes > limits.document_bytes) throw Error(Code::limit, "the rows hold too much text");
    require_utf8(pointer);
    require_utf8(text);
    const auto parts = pointer_parts(pointer, Code::json);
    if (static_cast<std::int64_t>(parts.size()) > limits.depth)
      throw Error(Code::limit, "the pointer is more than " + std::to_string(limits.depth) + " deep",
                  std::string(pointer));
    place_row(root, parts, cell_value(text), pointer, limits);
  }
  make_lists(root);
  return root;
}

}  // namespace buttonworth
