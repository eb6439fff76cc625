// Which lots together, which way, to which buyer, and when: the most that a month of lots leaves.
#pragma once

#include "route/compare.hpp"
#include "schedule/baselines.hpp"
#include "schedule/timetable.hpp"

namespace buttonworth {

/// One shipment of the schedule, worked out in exact decimals from the day on which it starts.
struct Shipment {
  Shares shares;
  std::size_t route = 0;
  double ready = 0, start = 0;
  std::shared_ptr<const Plan> plan;  ///< of its lots alone; the result belongs to it
  Comparison<Decimal> worked;        ///< of its one route
  std::vector<Pass> passes;          ///< from its start

  const RouteResult<Decimal>& result() const { return worked.routes.front(); }
};

/// What a limit of the request came to.
struct LimitState {
  Limit limit;
  std::string name;
  double reached = 0;
  double late = 0;  ///< h of these that are worked after the period's end
  bool kept = true;
  std::optional<double>
      worth;              ///< what more of it would bring, or what keeping it costs, as far as was found
  double worth_most = 0;  ///< and no more than this
  double more = 0;        ///< how much more: hours, melts, shipments, kg; 0: the limit left out
};

/// A lot of which not all goes, and why.
struct LeftLot {
  std::size_t lot;
  std::uint32_t parts;
  std::vector<std::string> reasons;
};

struct Schedule {
  std::vector<Shipment> shipments;  ///< by the day on which they start
  Decimal value = 0, net = 0, cash = 0;
  std::vector<CashDay<Decimal>> cash_days;
  double before_waiting = 0;  ///< value if no step were ever taken
  double bound = 0;  ///< no choice of the candidates is worth more, whatever the timetable; over draws, by
                     ///< the mean that is preferred
  double gap = 0;    ///< from the value, or that mean, to the bound, as a share of the bound
  bool finished = true, possible = true;
  std::vector<LimitState> limits;
  std::vector<LeftLot> left;
  Baseline lot_by_lot, without_limits, greedy;
  std::optional<double> mean, worst_mean;  ///< over draws
  std::size_t columns = 0;
};

/// All of an allocation: what was looked at and what came of it.
struct Allocated {
  std::unique_ptr<Candidates> candidates;
  Schedule schedule;
};

/// Throws an Error (cancelled).
Allocated allocate(const Allocation& allocation, const Watch& watch);

}  // namespace buttonworth
