// The forgiving cut: how far the pull of a table may be off before it costs more than a stated sum.
#pragma once

#include "chance/scan.hpp"
#include "route/compare.hpp"

namespace buttonworth {

struct ForgivingOptions {
  std::optional<std::size_t> route;  ///< of the plan; the best of those with a table
  std::optional<double> costs;       ///< money; 1 % of the route's present value
  int points = 65;                   ///< of the curve
};

struct PullBand {
  double from, to;
  bool from_open, to_open;  ///< whether it ends only because the range does
};

/// A bound on what a pass over an output of the table could bring.
struct AnotherPass {
  const char* of;
  std::optional<double> at_most;  ///< money; nothing where the route is refused with all of the metal in it
  double costs;                   ///< of the same step on that output
};

/// One table visit of the route, its pull alone set.
struct CutLine {
  const Step* step;
  Cut::How how;
  double pull;
  double from, to;                                ///< searched
  std::vector<PullBand> bands;                    ///< the one that holds the cut first
  std::optional<std::pair<double, double>> best;  ///< pull and present value
  std::optional<Decimal> slope_less, slope_more;  ///< money for a pull of 1
  std::optional<Decimal> jump_less, jump_more;    ///< money within a millionth of the pull
  std::vector<std::pair<double, std::optional<double>>> curve;
  std::vector<AnotherPass> passes;
};

struct ForgivingCut {
  const Route* route;
  double present_value;
  double costs;
  std::vector<CutLine> cuts;
  std::vector<Caution> cautions;
};

/// `unrounded`: the same plan with no rounding, for slopes. Throws an Error: of the comparison;
/// Code::usage_options where no route with a table is taken; Code::cancelled.
ForgivingCut find_forgiving_cut(const Plan& plan, const Plan& unrounded, const ForgivingOptions& options,
                                const Watch& watch);

}  // namespace buttonworth
