// Parts of the schemas of answers.
#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "document/form.hpp"

namespace buttonworth::schema_parts {

inline Json text_with(const std::string& unit) {
  return {{"type", "string"}, {"pattern", "^-?[0-9]+(\\.[0-9]+)?" + unit + "$"}};
}
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
