// A function of one figure, traced by straight stretches.
#pragma once

#include <functional>
#include <vector>

namespace buttonworth {

/// Proceeds as a function of an assay are straight between bands, steps and bounds, and jump or bend at
/// these. The trace knows no rule of sale: it halves stretches where the function's middle is off the
/// straight line, most amiss first, until a stretch that is amiss is a millionth of the whole or less. A jump
/// so costs some forty evaluations. Finer teeth than the evaluations reach are met by straight lines
/// through some of their points, off by a tooth's height at most.
class Traced {
 public:
  /// `known`: figures where the trace is the function itself; it reaches from the least to the largest.
  Traced(const std::function<double(double)>& value, std::vector<double> known);

  double operator()(double figure) const;
  std::size_t evaluations() const { return knots_.size(); }

  static constexpr std::size_t most_evaluations = 5000;

 private:
  struct Knot {
    double figure, value;
  };
  std::vector<Knot> knots_;  // rising
};

}  // namespace buttonworth
