// The comparison: every route worked out, and which leaves the most.
#pragma once

#include <functional>
#include <optional>

#include "quantity/watch.hpp"
#include "route/best_cut.hpp"
#include "route/records.hpp"

namespace buttonworth {

/// Cash on one day, and all that has come in by then.
template <class N>
struct CashDay {
  N day, amount, total;
};

template <class N>
struct RouteResult {
  const Route* route;
  RouteLedger<N> ledger;
  std::vector<CashDay<N>> cash_days;

  bool refused() const { return !ledger.refused.empty(); }
};

template <class N>
struct Comparison {
  const Plan* plan;
  std::vector<RouteResult<N>> routes;
  std::optional<std::size_t> best;  ///< largest present value among routes not refused
  std::optional<N> lead;            ///< over the next one not refused
  std::vector<Analyte> untested;
  std::vector<Caution> cautions;
};

struct CompareOptions {
  bool how = true;
  std::vector<std::size_t> routes;  ///< which; empty: all
};

/// A route's cuts found once: by visit, only the searched ones held.
template <class N>
struct FoundCuts {
  HeldCuts<N> held;
  std::vector<Caution> cautions;
  std::vector<std::string> refused;  ///< where no pull is accepted
};

/// Searches the best cuts of a route; a route without them costs nothing.
template <Scalar N>
FoundCuts<N> find_cuts(const Plan& plan, const Route& route, CutFinder& finder, const Watch& watch);

/// One route, worked out at found cuts.
template <Scalar N>
RouteResult<N> work_out(const Prepared<N>& prepared, const Route& route, const FoundCuts<N>& cuts,
                        const Figures<N>& figures, bool how);

template <Scalar N>
Comparison<N> compare(const Prepared<N>& prepared, const CompareOptions& options, const Watch& watch);

}  // namespace buttonworth
