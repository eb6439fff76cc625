// Sensitivity: what each quantity of a plan does to every route and to the lead.
#pragma once

#include "chance/worths.hpp"

namespace buttonworth {

struct SensitivityOptions {
  std::vector<std::size_t> routes;  ///< of the plan; empty: all
  std::vector<std::vector<Quantity>>
      of;  ///< each alone, or several that move together; empty: all that have a place
  std::vector<std::vector<Quantity>> same;  ///< what is one thing, and moves together wherever it is met
};

/// What one route does with a quantity. Slopes are money for one of the library's unit.
struct RouteSlope {
  std::optional<Decimal> slope;                   ///< none at a kink
  std::optional<Decimal> elasticity;              ///< share of the present value for a share of the quantity
  std::optional<Decimal> below, above;            ///< at a kink, beyond its edges
  std::optional<Decimal> jump_below, jump_above;  ///< what the value jumps by there
  bool refused_below = false, refused_above = false;
};

struct QuantitySensitivity {
  std::vector<Quantity> quantities;
  std::vector<std::optional<RouteSlope>> routes;  ///< of those looked at; none where it does not depend
  std::optional<Decimal> lead;                    ///< slope of the lead; none at a kink or without a lead
  std::optional<Decimal> lead_per_share;          ///< money for a share of the quantity of 1
  struct Range {
    double low, high;                            ///< 2.5 % and 97.5 % points
    std::optional<Decimal> lead_low, lead_high;  ///< of the best route over the best of the others
  };
  std::optional<Range> range;  ///< of an uncertain quantity

  /// How far apart the leads at the ends of the range are; none where one of them is.
  std::optional<Decimal> swing() const;
};

struct Sensitivity {
  std::vector<std::size_t> routes;
  std::vector<std::optional<Decimal>> worth;    ///< present values, none where refused
  std::optional<std::size_t> best, next;        ///< of those looked at
  std::vector<QuantitySensitivity> quantities;  ///< what matters most first
  std::vector<std::vector<Quantity>> without_effect;
  std::vector<Caution> cautions;
};

/// The plan's rounding taken out, so that its figures have slopes.
void take_rounding_out(Plan& plan);

/// Of a plan without rounding. A route that cannot be worked out is a caution. Throws an Error (cancelled).
Sensitivity find_sensitivity(const Plan& unrounded, const SensitivityOptions& options, const Watch& watch);

}  // namespace buttonworth
