// What values a field allows, for a message.
#pragma once

#include <string>

#include "quantity/decimal.hpp"
#include "quantity/scenario.hpp"

namespace buttonworth {

/// "0 to 100 %", as in "it must be …".
inline const char* range_text(Allowed allowed) {
  constexpr const char* texts[] = {"any value",        "0 or more",        "more than 0", "0 to 100 %",
                                   "above 0 to 100 %", "0 to below 100 %", "1 or more"};
  return texts[static_cast<int>(allowed)];
}

/// Of a number whose power of ten lies beyond the limits.
inline std::string out_of_proportion(const std::string& what, const NumberLimits& limits) {
  const std::string most = std::to_string(limits.exponent);
  return what + " is out of proportion: powers of ten from -" + most + " to " + most + " are read";
}

}  // namespace buttonworth
