// The best cut: the pulls at which a route's present value is largest.
#pragma once

#include <vector>

#include "quantity/watch.hpp"
#include "route/plan.hpp"

namespace buttonworth {

/// One way to set the searched cuts of a route, in the order of Route::searched.
struct CutSetting {
  std::vector<double> pulls;
  double present_value;
};

struct CutSearch {
  std::vector<CutSetting> best;           ///< the most valuable first; empty if every pull is refused
  std::vector<std::pair<double, double>> range;  ///< where each cut was looked for
};

/// Sweeps the pulls in lanes, then looks closer around every promising one. Accept limits, bands,
/// whole melts and minimum deductions make the value jump: where the value peaks, and where the
/// reason of a refusal changes, the sweep zooms in to 1 part in 10^9 of the range.
CutSearch search_best_cuts(const Prepared<Lanes>& lanes, const Prepared<double>& plain,
                           const Route& route, const Watch& watch);

}  // namespace buttonworth
