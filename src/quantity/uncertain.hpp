// How sure a quantity is: the distribution of what it may be.
#pragma once

#include <vector>

#include "quantity/decimal.hpp"

namespace buttonworth {

/// In the library's own units. The meaning of the parameters depends on the shape.
struct Distribution {
  enum class Shape {
    normal,          ///< a: mean, b: standard deviation
    lognormal,       ///< a: median, b: geometric standard deviation (1 or more)
    triangular,      ///< a: low, b: mode, c: high
    uniform,         ///< a: low, b: high
    determinations,  ///< repeated determinations of one thing
  };
  Shape shape = Shape::normal;
  Decimal a = 0, b = 0, c = 0;
  std::vector<Decimal> determinations;
};

/// The mean: what serves where one figure is needed. Lognormal: median × exp(ln²(gsd) ÷ 2).
Decimal mean(const Distribution& distribution);

/// The variance of the mean above: of repeated determinations, their variance over their number, 0 for one
/// alone, which tells nothing of its spread.
Decimal variance(const Distribution& distribution);

}  // namespace buttonworth
