#include "json_value.hpp"

#include <octave/error.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "buttonworth.hpp"

namespace {

using Json = nlohmann::ordered_json;

constexpr int deepest = 512;  // the most that a context's limit can be set to

// ---- From JSON -----------------------------------------------------------------------------------

octave_value value_of(const Json& json, int depth);

octave_value struct_of(const Json& object, int depth) {
  octave_scalar_map fields;
  for (const auto& [name, member] : object.items()) fields.setfield(name, value_of(member, depth));
  return fields;
}

octave_value cell_of(const Json& list, int depth) {
  Cell entries(1, static_cast<octave_idx_type>(list.size()));
  octave_idx_type index = 0;
  for (const Json& entry : list) entries(index++) = value_of(entry, depth);
  return entries;
}

octave_value value_of(const Json& json, int depth) {
  if (depth > deepest) caller::fail(BW_DOCUMENT_JSON, "the document is nested too deeply");
  switch (json.type()) {
    case Json::value_t::object: return struct_of(json, depth + 1);
    case Json::value_t::array: return cell_of(json, depth + 1);
    case Json::value_t::string: return octave_value(json.get_ref<const std::string&>());
    case Json::value_t::boolean: return octave_value(json.get<bool>());
    case Json::value_t::null: return octave_value(Matrix());
    default: return octave_value(json.get<double>());
  }
}

// ---- To JSON -------------------------------------------------------------------------------------

[[noreturn]] void no_place(const std::string& pointer, const std::string& what) {
  caller::fail(BW_USAGE_TYPE, what + " has no place in a document", pointer);
}

/// Bytes that are not UTF-8 go along: it is the library that says what is wrong with them.
std::string quoted(const std::string& text) {
  std::string json = "\"";
  for (const char byte : text) {
    if (byte == '"' || byte == '\\') json += '\\';
    if (static_cast<unsigned char>(byte) >= 0x20) {
      json += byte;
      continue;
    }
    char escape[8];
    std::snprintf(escape, sizeof escape, "\\u%04x", static_cast<unsigned>(byte));
    json += escape;
  }
  return json + '"';
}

/// The shortest text that is this number again; a whole one without a point.
std::string number_text(double number, const std::string& pointer) {
  if (!std::isfinite(number)) {
    const std::string name = std::isnan(number) ? "NaN" : number > 0 ? "Inf" : "-Inf";
    caller::fail(BW_USAGE_TYPE, name + " stands here; wanted is a number, or text", pointer);
  }
  constexpr double all_are_whole = 9007199254740992;  // 2^53
  if (number == std::floor(number) && std::abs(number) <= all_are_whole)
    return std::to_string(static_cast<std::int64_t>(number));
  return Json(number).dump();
}

std::string text_at(const octave_value& value, const std::string& pointer, int depth);

/// A list of count entries.
template <class Entry>
std::string list_text(octave_idx_type count, Entry entry, const std::string& pointer) {
  std::string json = "[";
  for (octave_idx_type i = 0; i < count; ++i)
    json += (i > 0 ? "," : "") + entry(i, pointer + '/' + std::to_string(i));
  return json + ']';
}

std::string object_text(const octave_scalar_map& fields, const std::string& pointer, int depth) {
  std::string json = "{";
  const string_vector names = fields.fieldnames();
  for (octave_idx_type i = 0; i < names.numel(); ++i) {
    const std::string name = names(i);
    json += (i > 0 ? "," : "") + quoted(name) + ':' +
            text_at(fields.getfield(name), pointer + bw::step(name), depth);
  }
  return json + '}';
}

std::string struct_text(const octave_value& value, const std::string& pointer, int depth) {
  const octave_map all = value.map_value();
  if (all.numel() == 1) return object_text(all.checkelem(0), pointer, depth);
  return list_text(
      all.numel(),
      [&](octave_idx_type i, const std::string& place) { return object_text(all.checkelem(i), place, depth); },
      pointer);
}

std::string cell_text(const octave_value& value, const std::string& pointer, int depth) {
  const Cell cells = value.cell_value();
  return list_text(
      cells.numel(),
      [&](octave_idx_type i, const std::string& place) { return text_at(cells(i), place, depth); }, pointer);
}

/// Numbers, or true and false: one as itself, more as a list, none as null.
template <class Entry>
std::string array_text(octave_idx_type count, Entry entry, const std::string& pointer) {
  if (count == 0) return "null";
  return count == 1 ? entry(0, pointer) : list_text(count, entry, pointer);
}

std::string numbers_text(const octave_value& value, const std::string& pointer) {
  if (!value.isreal()) no_place(pointer, "a complex number");
  const NDArray numbers = value.array_value();
  return array_text(
      numbers.numel(),
      [&](octave_idx_type i, const std::string& place) { return number_text(numbers(i), place); }, pointer);
}

std::string truths_text(const octave_value& value, const std::string& pointer) {
  const boolNDArray truths = value.bool_array_value();
  return array_text(
      truths.numel(),
      [&](octave_idx_type i, const std::string&) { return std::string(truths(i) ? "true" : "false"); }, pointer);
}

std::string text_at(const octave_value& value, const std::string& pointer, int depth) {
  if (depth > deepest) caller::fail(BW_USAGE_TYPE, "the document is nested too deeply");
  if (value.class_name() == "swig_ref") no_place(pointer, "a handle");  // which passes for many kinds
  if (value.is_string()) {
    if (value.rows() > 1) no_place(pointer, "a matrix of characters");
    return quoted(value.string_value());
  }
  if (value.isstruct()) return struct_text(value, pointer, depth + 1);
  if (value.iscell()) return cell_text(value, pointer, depth + 1);
  if (value.islogical()) return truths_text(value, pointer);
  if (value.isnumeric()) return numbers_text(value, pointer);
  no_place(pointer, "a " + value.class_name());
}

caller::Failure last;

}  // namespace

octave_value decode_json(const char* json, std::size_t size) {
  const Json parsed = Json::parse(json, json + size, nullptr, false);
  if (parsed.is_discarded()) caller::fail(BW_DOCUMENT_JSON, "this is not JSON");
  return value_of(parsed, 0);
}

std::string encode_json(const octave_value& value, const char* pointer, std::size_t size) {
  return text_at(value, std::string(pointer, size), 0);
}

void raise_failure(const caller::Failure& failure) {
  last = failure;
  std::string code = Json::parse(failure.list)[0]["code"];
  for (char& byte : code)
    if (byte == ' ') byte = '_';
  error_with_id(("buttonworth:" + code).c_str(), "%s", failure.text.c_str());
}

octave_value last_failure() {
  if (last.list.empty()) return octave_value(Matrix());
  const Json errors = Json::parse(last.list);
  octave_scalar_map fields = value_of(errors[0], 0).scalar_map_value();
  fields.setfield("text", last.text);
  fields.setfield("errors", value_of(errors, 0));
  return fields;
}
