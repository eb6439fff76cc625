// Figures as a document states the like of them.
#pragma once

#include <string>

#include "quantity/scenario.hpp"

namespace buttonworth {

/// A value in the unit that `like` is written in, with the unit behind it: "850 g/t"; of plain numbers alone.
inline std::string text_in_unit(const StatedQuantity& like, const Decimal& value, Digits digits = {}) {
  // Many are in the library's own unit, and a division of decimals takes its time.
  const Decimal shown = like.unit_factor == 1 ? value : Decimal(value / like.unit_factor);
  return to_text(shown, digits) + (like.unit.empty() ? "" : " ") + like.unit;
}

}  // namespace buttonworth
