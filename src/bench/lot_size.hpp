// How long to gather a lot before it is worked and sold.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "quantity/watch.hpp"
#include "route/plan.hpp"

namespace buttonworth {

/// The economic order quantity as a time, d: √(2 F ÷ (v λ)), for a lot that costs F however large it is and
/// whose value grows by v a day, λ = ln(1 + discount) ÷ 365. Source: Harris, Factory, The Magazine of
/// Management 10 (1913) 135; from memory. It is the first term of what waiting costs: good while λ × time is
/// small.
double economic_wait(double fixed, double value_per_day, double discount);

/// The even daily income worth as much as this value at the end of each `wait` days, for ever: value × λ ÷
/// (e^(λ wait) − 1), value ÷ wait without a discount.
double even_income(double value, double wait, double discount);

/// A plant that goes on making what the plan's lot is of.
struct Gathering {
  double makes = 0;                  ///< kg wet an hour worked
  double shortest = 1, longest = 0;  ///< d
  double fixed = 0;                  ///< money a lot, beside what the plan counts
};

/// A lot gathered for a time, along its best route; without one, all refuse it.
struct GatheredLot {
  double wait = 0, wet_mass = 0;
  std::optional<std::string> route;
  double present_value = 0;  ///< less `fixed`, on the day the lot is ready
  double per_day = 0;
};

struct ClosedForm {
  double wait, fixed, value_per_day;
};

struct Waiting {
  std::vector<GatheredLot> steps;    ///< some of those looked at and the best, by wait
  std::optional<GatheredLot> best;   ///< none where every route refuses at every wait
  bool at_end = false;               ///< the best is the shortest or the longest
  std::vector<std::string> refused;  ///< reasons at the longest wait, where there is no best
  std::optional<ClosedForm> closed_form;
};

/// Looks for the wait of the largest even income; tells its progress and can be cancelled. The mass of the
/// plan's lot is set anew: the plan is to be the caller's own.
Waiting find_wait(Plan& plan, const Gathering& gathering, const Watch& watch);

}  // namespace buttonworth
