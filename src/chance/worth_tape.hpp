// The worth of a plan's routes, noted on a tape: what of it hangs on the draw.
#pragma once

#include <optional>
#include <vector>

#include "chance/drawing.hpp"
#include "chance/tape.hpp"
#include "route/walk.hpp"

namespace buttonworth {

/// A route at the cuts that hold in every draw.
struct HeldRoute {
  const Route* route;
  HeldCuts<double> held;  ///< by visit; none where the plan states the pull
};

/// Inputs: the quantities, in their order, each in the currency it is stated in. Outputs: whether the draw is
/// impossible; then of each route its worth, 0 where it is refused, and whether it is. What is worth more
/// than `largest`, either sign, is impossible.
Program worth_program(const Prepared<double>& means, const std::vector<Quantity>& inputs,
                      const std::vector<HeldRoute>& routes, double largest = 1e300);
/// The same with the drawing's inputs, in their order.
Program worth_program(const Prepared<double>& means, const Drawing& drawing,
                      const std::vector<HeldRoute>& routes);

/// The same inputs. Output: whether the plan could not be read with these values.
Program soundness_program(const Prepared<double>& means, const std::vector<Quantity>& inputs);

}  // namespace buttonworth
