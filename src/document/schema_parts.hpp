// Parts of the schemas of answers.
#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "document/form.hpp"

namespace buttonworth::schema_parts {

/// The beginning of a whole schema.
inline Json titled(const std::string& title) {
  return {{"$schema", "http://json-schema.org/draft-07/schema#"}, {"title", title}};
}
inline Json currency() { return {{"type", "string"}, {"pattern", "^[A-Z]{3}$"}}; }
inline Json day() { return {{"type", "string"}, {"pattern", "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}}; }
inline Json text() { return {{"type", "string"}}; }
/// A text with a unit behind its number, or " %".
inline Json text_with(const std::string& unit) {
  return {{"type", "string"}, {"pattern", "^-?[0-9]+(\\.[0-9]+)?" + unit + "$"}};
}
/// A number as text, without a unit.
inline Json number() { return text_with(""); }
inline Json object_of(const Json& properties, const std::vector<std::string>& optional = {}) {
  Json required = Json::array();
  for (const std::string& name : properties.names())
    if (std::find(optional.begin(), optional.end(), name) == optional.end()) required.push_back(name);
  return {{"type", "object"},
          {"properties", properties},
          {"required", required},
          {"additionalProperties", false}};
}
inline Json named(const Json& schema) { return {{"type", "object"}, {"additionalProperties", schema}}; }
inline Json list(const Json& schema) { return {{"type", "array"}, {"items", schema}}; }
inline Json or_null(const Json& schema) { return {{"oneOf", {schema, Json{{"type", "null"}}}}}; }

}  // namespace buttonworth::schema_parts
