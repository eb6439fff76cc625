// The map: which route leads over a grid of two quantities, and by how much.
#pragma once

#include "chance/break_even.hpp"

namespace buttonworth {

struct MapAxis {
  Along along;
  int steps = 33;

  double value(int i) const;
};

struct ChoiceMap {
  /// By y, then x.
  std::vector<std::optional<std::size_t>> winner;  ///< of the routes looked at
  std::vector<std::optional<double>> lead;
};

/// The quantities of `worths` are those of x, then those of y.
ChoiceMap draw_map(Worths& worths, const MapAxis& x, const MapAxis& y, const Watch& watch);

}  // namespace buttonworth
