// What simpler ways of choosing would bring: to compare a schedule with.
#pragma once

#include "schedule/choose.hpp"

namespace buttonworth {

struct Baseline {
  double value = 0;                 ///< before any waiting for steps
  std::vector<std::size_t> missed;  ///< limits that it does not reach
};

/// Every lot by itself, in the order in which they are ready, each the way that leaves most of those that
/// still fit: what is done where nobody looks at the month.
Baseline lot_by_lot(const Allocation& allocation, const Candidates& candidates);

/// The same as if there were no limits: each lot's best way.
Baseline without_limits(const Allocation& allocation, const Candidates& candidates);

/// Lots and blends, always the one that brings most for the largest share of any limit that it takes.
Baseline greedy(const Allocation& allocation, const Candidates& candidates);

}  // namespace buttonworth
