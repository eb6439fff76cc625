// The figures of a buyer's terms that could be bargained over, each with the way it is to go.
#pragma once

#include <string>
#include <vector>

#include "route/plan.hpp"

namespace buttonworth {

/// One figure, or several that move by the same amount. It moves from what it is by a change of 0 or more,
/// up or down, as far as `furthest`.
struct TermFigure {
  std::vector<Quantity> quantities;
  std::string what;    ///< "Au paid", "treatment"
  std::string phrase;  ///< for a sentence, with {to}, or {change} of several: "{to} of the Au paid"
  bool up = false;
  bool open = false;     ///< without an end of its own: a thousand times itself is as far as is looked
  Decimal furthest = 0;  ///< change, library's units of the currency it is stated in
};

/// In the order of the format's page: all that the document states.
std::vector<TermFigure> term_figures(const Plan& plan, const Terms& terms);
/// Those that can still move.
std::vector<TermFigure> open_figures(const Plan& plan, const Terms& terms);

}  // namespace buttonworth
