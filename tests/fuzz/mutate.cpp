#include "mutate.hpp"

#include <algorithm>
#include <iterator>
#include <nlohmann/json.hpp>
#include <set>

#include "buttonworth.h"
#include "tree.hpp"

namespace fuzz {
namespace {

using Json = nlohmann::json;

// Numbers at which something ends: of a double, of an integer, of the digits and powers that are allowed.
constexpr const char* numbers[] = {"0",
                                   "-0",
                                   "1",
                                   "-1",
                                   "2",
                                   "0.1",
                                   "1e-30",
                                   "1e30",
                                   "9.999999999999999999999999999999999999999e29",
                                   "1e31",
                                   "1e60",
                                   "-1e30",
                                   "100",
                                   "99.9999999999999999999999",
                                   "100.0000000000000001",
                                   "1e308",
                                   "1e-400",
                                   "5e-324",
                                   "2147483648",
                                   "4294967296",
                                   "9223372036854775807",
                                   "9223372036854775808",
                                   "18446744073709551616",
                                   "9007199254740993",
                                   "0.000000000000000000000000000001",
                                   "1234567890123456789012345678901234567890",
                                   "12345678901234567890123456789012345678901",
                                   "1,000",
                                   "1.",
                                   ".5",
                                   "+1",
                                   "0x10",
                                   "1e",
                                   "NaN",
                                   "Infinity",
                                   "50",
                                   "33.3333333333",
                                   "0.5",
                                   "1000000",
                                   "1e12",
                                   "1e-12",
                                   "65536",
                                   "8",
                                   "7",
                                   "3",
                                   "366",
                                   "20000"};
constexpr const char* units[] = {
    "%",      "g/t",     "mg/kg",  "ppm",     "ppb",     "kg/t",   "fine",    "kt",       "ozt/st",
    "ozt/lt", "ozt/t",   "dwt/st", "mg",      "g",       "kg",     "t",       "lb",       "st",
    "lt",     "ozt",     "dwt",    "gr",      "oz",      "d",      "h",       "min",      "kg/h",
    "t/h",    "kg/kg",   "kWh",    "MJ",      "kWh/L",   "MJ/m3",  "L",       "m3",       "kg/L",
    "t/m3",   "degC",    "%/a",    "um",      "mm",      "cm",     "m",       "USD",      "EUR",
    "PEN",    "USD/g",   "USD/kg", "USD/t",   "USD/ozt", "USD/lb", "USD/lot", "USD/melt", "USD/h",
    "USD/d",  "USD/kWh", "USD/L",  "USD/USD", "",        "/",      "USD/",    "kg dry",   "%%"};
constexpr const char* scalars[] = {"null",
                                   "true",
                                   "false",
                                   "{}",
                                   "[]",
                                   "\"\"",
                                   "0",
                                   "\"best\"",
                                   "\"2026-02-29\"",
                                   "\"2026-03-15\"",
                                   "\"/lot/wet_mass\"",
                                   "\"/prices/Au\"",
                                   "\"Au\"",
                                   "\"As\"",
                                   "\"Hg\"",
                                   "\"\\u0000\"",
                                   "\"\\ud800\"",
                                   "\"/\"",
                                   "\"~\"",
                                   "\"a/b~c\""};

void gather_words(const Json& schema, std::set<std::string>& words) {
  if (schema.is_string() && schema.get_ref<const std::string&>().size() < 30) words.insert(schema.dump());
  if (schema.is_object())
    for (const auto& [name, one] : schema.items()) words.insert(Json(name).dump());
  if (schema.is_structured())
    for (const Json& one : schema) gather_words(one, words);
}

/// The schemas' names, as the error of a name that is none lists them.
std::vector<std::string> schema_names(bw_context* context) {
  bw_answer* answer = nullptr;
  bw_schema(context, "?", &answer);
  std::string list = bw_error_text(context);
  list.erase(0, std::min(list.find("there is ", 3), list.size()));
  std::vector<std::string> names;
  for (std::size_t from = list.rfind(' ', list.find(',')) + 1; from < list.size();) {
    const std::size_t end = std::min(list.find(", ", from), list.size());
    names.push_back(list.substr(from, end - from));
    from = end + 2;
  }
  return names;
}

class Change {
  std::size_t below(std::size_t count) { return random_() / 7 % count; }
  template <class List>
  auto& any(List& list) {
    return *std::next(std::begin(list), static_cast<std::ptrdiff_t>(below(std::size(list))));
  }

 public:
  Change(Tree& tree, const Tree* other, Random& random, ChangeBytes change_bytes)
      : tree_(tree), other_(other), random_(random), change_bytes_(change_bytes) {}

  void one() {
    places_.clear();
    gather(tree_, places_);
    Tree& place = *any(places_);
    if (place.kind == Tree::Kind::scalar && below(3) != 0) return change_token(place.token);
    if (place.kind != Tree::Kind::scalar && !place.items.empty() && below(4) != 0) return change_items(place);
    replace(place);
  }

 private:
  template <class T>
  static void gather(T& tree, std::vector<T*>& places) {
    places.push_back(&tree);
    for (auto& one : tree.items) gather(one, places);
  }
  static std::ptrdiff_t step(std::size_t i) { return static_cast<std::ptrdiff_t>(i); }

  std::string word() {
    static const std::vector<std::string> words = words_of_the_format();
    return any(words);
  }
  /// A value from elsewhere in this document or from the other one.
  Tree some_value() {
    std::vector<const Tree*> values;
    gather<const Tree>(other_ != nullptr && below(2) == 0 ? *other_ : tree_, values);
    return *any(values);
  }
  void replace(Tree& place) {
    switch (below(6)) {
      case 0: place = scalar(any(scalars)); break;
      case 1: place = scalar(word()); break;
      case 2:
        place =
            scalar(below(2) == 0 ? any(numbers) : '"' + std::string(any(numbers)) + ' ' + any(units) + '"');
        break;
      case 3: wrap(place); break;
      default: place = Tree(some_value());
    }
  }
  void wrap(Tree& place) {
    Tree outer;
    outer.kind = below(2) == 0 ? Tree::Kind::list : Tree::Kind::object;
    if (outer.kind == Tree::Kind::object) outer.names.push_back(word());
    outer.items.push_back(std::move(place));
    place = std::move(outer);
  }

  void change_items(Tree& place) {
    const std::size_t i = below(place.items.size()), j = below(place.items.size());
    const bool is_object = place.kind == Tree::Kind::object;
    switch (below(8)) {
      case 0:
      case 1: return remove(place, i);
      case 2: return insert(place, j, is_object ? place.names[i] : "", Tree(place.items[i]));
      case 3: return insert(place, j, word(), Tree(some_value()));
      case 4: return std::swap(place.items[i], place.items[j]);
      case 5: return is_object ? void(place.names[i] = word()) : repeat(place, i);
      case 6: return is_object ? std::swap(place.names[i], place.names[j]) : repeat(place, i);
      default: {
        std::string name =
            fuzz::quoted("x" + std::to_string(random_() % 100));  // a thing of the operator's own name
        return insert(place, j, std::move(name), Tree(place.items[i]));
      }
    }
  }
  static void remove(Tree& place, std::size_t i) {
    place.items.erase(place.items.begin() + step(i));
    if (place.kind == Tree::Kind::object) place.names.erase(place.names.begin() + step(i));
  }
  static void insert(Tree& place, std::size_t i, std::string name, Tree value) {
    place.items.insert(place.items.begin() + step(i), std::move(value));
    if (place.kind == Tree::Kind::object) place.names.insert(place.names.begin() + step(i), std::move(name));
  }
  void repeat(Tree& place, std::size_t i) {
    const Tree one = place.items[i];
    place.items.insert(place.items.end(), 1 + below(30), one);
  }

  void change_token(std::string& token) {
    switch (below(5)) {
      case 0:
      case 1: return change_number(token);
      case 2: return change_unit(token);
      case 3: return change_text(token);
      default: token = word();
    }
  }
  void change_number(std::string& token) {
    constexpr const char* digits = "0123456789.";
    std::vector<std::size_t> starts;
    for (std::size_t i = 0; i < token.size(); i = token.find_first_not_of(digits, i)) {
      i = token.find_first_of(digits, i);
      if (i == std::string::npos) break;
      starts.push_back(i);
    }
    if (starts.empty()) return void(token = any(numbers));
    const std::size_t from = any(starts), end = std::min(token.find_first_not_of(digits, from), token.size());
    token.replace(from, end - from, below(4) == 0 ? std::to_string(random_() % 1000) : any(numbers));
  }
  void change_unit(std::string& token) {
    const std::size_t blank = token.find(' ');
    if (token.front() != '"' || blank == std::string::npos) return change_number(token);
    token = token.substr(0, blank + 1) + any(units) + '"';
  }
  /// Bytes between the quotes; what would end the text there is left out.
  void change_text(std::string& token) {
    if (token.front() != '"') return change_number(token);
    std::string text = token.substr(1, token.size() - 2);
    const std::size_t size = text.size();
    text.resize(size + 16);
    text.resize(change_bytes_(reinterpret_cast<unsigned char*>(text.data()), size, text.size()));
    std::string kept;
    for (char c : text)
      if (c != '"' && static_cast<unsigned char>(c) >= 0x20) kept += c;
    if (!kept.empty() && kept.back() == '\\') kept.pop_back();
    token = '"' + kept + '"';
  }

  Tree& tree_;
  const Tree* other_;
  Random& random_;
  ChangeBytes change_bytes_;
  std::vector<Tree*> places_;
};

}  // namespace

std::vector<std::string> words_of_the_format() {
  bw_context* context = nullptr;
  bw_context_create(&context);
  std::set<std::string> words;
  for (const std::string& name : schema_names(context)) {
    bw_answer* answer = nullptr;
    if (bw_schema(context, name.c_str(), &answer) == BW_OK)
      gather_words(Json::parse(bw_answer_text(answer, nullptr)), words);
    bw_answer_destroy(&answer);
  }
  bw_context_destroy(&context);
  return {words.begin(), words.end()};
}

std::string changed(std::string_view text, std::string_view other, Random& random, ChangeBytes change_bytes) {
  auto tree = read_tree(text);
  if (!tree) return "";
  const auto other_tree = read_tree(other);
  Change change(*tree, other_tree ? &*other_tree : nullptr, random, change_bytes);
  do change.one();  // mostly one: what is wrong in two places says little more
  while (random() / 7 % 3 == 0);
  return write_tree(*tree);
}

}  // namespace fuzz
