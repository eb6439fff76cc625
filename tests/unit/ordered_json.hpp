// Documents as tests put them together: objects keep the order of their members.
#pragma once

#include <nlohmann/json.hpp>

namespace buttonworth {

using OrderedJson = nlohmann::ordered_json;

}  // namespace buttonworth
