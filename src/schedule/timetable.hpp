// When each shipment starts, so that no step does two things at once.
#pragma once

#include "schedule/limits.hpp"

namespace buttonworth {

/// A share of what is wanted; missed by less, it is reached.
constexpr double missed_least = 1e-9;

struct Timetable {
  std::vector<double> starts;   ///< by shipment: day
  std::vector<double> reached;  ///< by limit, those of days only
  std::vector<double> late;     ///< by limit, of hours: hours worked after the period's end
  double missed = 0;            ///< shares by which limits are missed, summed
  double lost = 0;              ///< value that waiting costs
};

/// Whether a misses less, or as little and waits less.
bool is_better(const Timetable& a, const Timetable& b);

/// Starts for these shipments, one after the other as they stand, each as early as the steps it goes through
/// are free. What is sent waits whole: once begun it goes through without a stop.
Timetable in_order(const Allocation& allocation, const std::vector<Limit>& limits,
                   const std::vector<const Outcome*>& shipments);

/// The same in the order that keeps the limits best and waits least, of those that were tried.
Timetable timetable(const Allocation& allocation, const std::vector<Limit>& limits,
                    const std::vector<const Outcome*>& shipments, const Watch& watch);

}  // namespace buttonworth
