// Figures in few digits, for sentences.
#pragma once

#include <string>

#include "quantity/decimal.hpp"

namespace buttonworth {

/// A share as a percentage of four digits: "6.471 %".
inline std::string short_percent(double share) { return to_text(share * 100, Digits{4, 12, 0}) + " %"; }

}  // namespace buttonworth
