// What values a field allows, for a message.
#pragma once

#include "quantity/scenario.hpp"

namespace buttonworth {

/// "0 to 100 %", as in "it must be …".
inline const char* range_text(Allowed allowed) {
  constexpr const char* texts[] = {"any value",        "0 or more",        "more than 0", "0 to 100 %",
                                   "above 0 to 100 %", "0 to below 100 %", "1 or more"};
  return texts[static_cast<int>(allowed)];
}

}  // namespace buttonworth
