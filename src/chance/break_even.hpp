// What would tip the choice: every value of one quantity at which another route takes the lead.
#pragma once

#include "chance/scan.hpp"
#include "chance/worths.hpp"

namespace buttonworth {

/// A quantity to look along, or several set to one value; in the library's unit, of the currency it is stated
/// in.
struct Along {
  std::vector<Quantity> quantities;
  double from = 0, to = 0;
};

enum class TipKind { tie, jump, several };

/// A change of the lead, or several close together.
struct Tip {
  double at, from, to;                       ///< all the same where it is one
  std::optional<std::size_t> first, second;  ///< routes before and after, of those looked at
  TipKind kind;
  std::optional<double> lead_before, lead_after;  ///< of the first over the second
  bool confirmed = true;                          ///< of a tie: whether decimals agree
};

/// An interval with one best route.
struct LeadInterval {
  Look from, to;
  std::optional<std::size_t> best;
};

struct BreakEven {
  std::vector<LeadInterval> leads;
  std::vector<Tip> tips;
  bool gave_up = false;
};

/// The routes are those of `worths`, whose quantities are those of `along`.
BreakEven find_break_even(Worths& worths, const Along& along, const Watch& watch);

/// The lead of a route over the best of the others; nothing without others or where it is refused.
std::optional<double> lead_of(const std::vector<double>& worth, std::size_t route);

/// What the rounding of money may do to a route: the steps of all its lines.
double rounding_of(const Plan& plan, const Route& route, const Scenario<double>& scenario);

}  // namespace buttonworth
