// One shipment: lots joined and sent one way, worked out in doubles.
#pragma once

#include "route/records.hpp"
#include "schedule/allocation.hpp"

namespace buttonworth {

/// One stay at a step.
struct Pass {
  std::size_t step;
  double day;  ///< on which it begins
  double hours, melts;
};

struct Delivered {
  std::size_t terms;
  double day;                   ///< on which it leaves the plant
  double wet;                   ///< kg
  std::vector<double> content;  ///< kg, by analyte
};

/// What came of a shipment that starts on a day.
struct Outcome {
  bool taken = false;  ///< false: refused, or its physics is impossible
  double start = 0;
  double value = 0;  ///< present value
  std::vector<Pass> passes;
  std::vector<Movement<double>> cash;
  std::vector<Delivered> deliveries;
  Contents<double> fed, kept;
  double last_day = 0;  ///< on which all work is done and all that is sold has left
};

/// Works shipments out, one after the other; a thread has one of its own.
class ShipmentWorker {
 public:
  explicit ShipmentWorker(const Allocation& allocation);

  /// The lots as they are in another prepared plan: at the values of a draw.
  void prepare(const Prepared<double>& prepared);

  /// Of a whole lot: kg, wet.
  double mass(std::uint32_t lot) const { return lots_[lot].wet(); }
  /// From the day on which all its lots are ready.
  Outcome work(const Shares& shares, std::size_t route);
  /// Its present value alone; 0 where it is refused or impossible. Cuts are held where `cuts` has them.
  double value(const Shares& shares, std::size_t route, const HeldCuts<double>& cuts);
  /// The cuts that are searched for, at the plan's values.
  HeldCuts<double> cuts(const Shares& shares, std::size_t route);
  /// These and those by grade or recovery, which draws hold too. Of a shipment that is taken.
  HeldCuts<double> cuts_of_draws(const Shares& shares, std::size_t route);
  /// Why it is refused, or cannot be.
  std::vector<std::string> reasons(const Shares& shares, std::size_t route);

 private:
  void put(const Shares& shares);

  const Allocation& allocation_;
  const Plan& plan_;
  Figures<double> figures_;
  double days_per_hour_;
  Prepared<double> prepared_;
  std::vector<Stream<double>> lots_;
};

/// Days that so many hours of work take.
inline double working_days(const Plan& plan, double hours) {
  return hours / (24 * to_double(plan.quantities[plan.day].mean));
}

/// The day on which the last of them is ready.
double ready_day(const Allocation& allocation, const Shares& shares);

}  // namespace buttonworth
