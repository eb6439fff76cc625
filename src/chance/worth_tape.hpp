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

/// Inputs: the drawing's, in their order, each in the currency it is stated in. Outputs: whether the draw is
/// impossible; then of each route its worth, 0 where it is refused, and whether it is.
Program worth_program(const Prepared<double>& means, const Drawing& drawing,
                      const std::vector<HeldRoute>& routes);

}  // namespace buttonworth
