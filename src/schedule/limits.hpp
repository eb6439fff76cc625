// What a schedule has to keep to, each as one row of sums over its shipments.
#pragma once

#include <limits>

#include "schedule/shipment.hpp"

namespace buttonworth {

enum class LimitKind {
  hours,      ///< of a step in the period
  melts,      ///< likewise
  shipments,  ///< to a buyer
  mass,       ///< likewise, kg wet
  cash,       ///< in hand by a day
  gone,       ///< metal that has left the plant by a day, so that no more than so much is on hand
};

/// Beyond it a cent is no longer told, and the solver stops the host's program. Of what is no number it is
/// false.
inline bool is_weighable(double figure) { return std::abs(figure) < 1e15; }

/// least ≤ the sum over all shipments ≤ most.
struct Limit {
  static constexpr double none = std::numeric_limits<double>::infinity();

  LimitKind kind;
  std::size_t of = 0;  ///< step, terms or analyte
  double day = 0;      ///< of cash and metal
  double least = -none, most = none;
  std::optional<std::size_t> buyer = {};  ///< counts only if anything is sent to this one of the buyers
  std::size_t stated = none_stated;       ///< number in the request's list
  double full = 0;                        ///< of metal: what has come in by that day

  static constexpr std::size_t none_stated = static_cast<std::size_t>(-1);
  bool timed() const { return kind == LimitKind::cash || kind == LimitKind::gone; }
};

/// All limits of a request: as stated, and the hours a step has in the period. Throws an Error (range).
std::vector<Limit> limits_of(const Allocation& allocation);

/// What a shipment adds to the sum of a limit if it starts so many days later than it could.
double share_of(const Limit& limit, const Outcome& outcome, double later = 0);

/// A limit as people say it: "hours of table".
std::string limit_name(const Allocation& allocation, const Limit& limit);

/// So much of it, with its unit; of metal what is then on hand. Here, as documents are written by a library
/// that has not the rest of this room.
inline std::string limit_figure(const Allocation& allocation, const Limit& limit, double value) {
  const auto rounded = [](double figure) { return to_text(figure, Digits{12, 6, 0}); };
  switch (limit.kind) {
    case LimitKind::hours: return rounded(value) + " h";
    case LimitKind::mass: return rounded(value) + " kg";
    case LimitKind::gone: return rounded(1000 * (limit.full - value)) + " g";
    case LimitKind::cash: return to_text(value, Digits{15, 2, 2}) + ' ' + allocation.plan->currency;
    default: return rounded(value);
  }
}

}  // namespace buttonworth
