#include "schedule/timetable.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>

namespace buttonworth {
namespace {

constexpr int rounds = 3;                  // of trying every shipment elsewhere in the order
constexpr std::size_t tried_most = 5'000;  // orders
constexpr double hair = 1e-9;              // d: stays that only touch do not meet
constexpr double finest = 1e-6;            // d: of a start that is put off, so that it can be told as it is

/// The stays at one step, in the order of their days.
class Busy {
 public:
  /// The end of a stay that this one would meet; nothing where it meets none.
  std::optional<double> met(double from, double to) const {
    auto next = stays_.upper_bound({from, unbounded_day});
    if (next != stays_.end() && next->first < to - hair) return next->second;
    if (next == stays_.begin()) return std::nullopt;
    const auto& before = *std::prev(next);
    if (before.second > from + hair) return before.second;
    return std::nullopt;
  }
  /// A shipment may do two things side by side at one step, as its plan has it: to others they are one stay.
  void take(double from, double to) {
    auto next = stays_.upper_bound({from, unbounded_day});
    if (next != stays_.begin() && std::prev(next)->second > from) --next;
    while (next != stays_.end() && next->first < to) {
      from = std::min(from, next->first);
      to = std::max(to, next->second);
      next = stays_.erase(next);
    }
    stays_.emplace(from, to);
  }

 private:
  static constexpr double unbounded_day = 1e300;
  std::set<std::pair<double, double>> stays_;
};

class Placing {
 public:
  Placing(const Allocation& allocation, const std::vector<Limit>& limits,
          const std::vector<const Outcome*>& shipments)
      : allocation_(allocation),
        limits_(limits),
        shipments_(shipments),
        plain_(allocation.plan->quantities, allocation.plan->discount),
        days_per_hour_(working_days(*allocation.plan, 1)) {}

  Timetable in_order(const std::vector<std::size_t>& order) const {
    Timetable made;
    made.starts.resize(shipments_.size());
    std::vector<Busy> busy(allocation_.plan->steps.size());
    for (std::size_t i : order) {
      const double start = earliest(*shipments_[i], busy);
      made.starts[i] = start;
      for (const Pass& pass : shipments_[i]->passes)
        if (pass.hours > 0) {
          const double from = pass.day + start - shipments_[i]->start;
          busy[pass.step].take(from, from + pass.hours * days_per_hour_);
        }
    }
    judge(made);
    return made;
  }

 private:
  static double put_off_to(double day) { return std::ceil((day - hair) / finest) * finest; }

  double earliest(const Outcome& shipment, const std::vector<Busy>& busy) const {
    double start = shipment.start;
    for (bool moved = true; moved;) {
      moved = false;
      for (const Pass& pass : shipment.passes) {
        if (pass.hours <= 0) continue;
        const double after = pass.day - shipment.start, from = start + after;
        if (const auto end = busy[pass.step].met(from, from + pass.hours * days_per_hour_)) {
          start = std::max(put_off_to(*end - after), std::nextafter(start, 1e300));
          moved = true;
        }
      }
    }
    return start;
  }

  void judge(Timetable& made) const {
    made.reached.assign(limits_.size(), 0);
    made.late.assign(limits_.size(), 0);
    for (std::size_t k = 0; k < limits_.size(); ++k) {
      const Limit& limit = limits_[k];
      for (std::size_t i = 0; i < shipments_.size(); ++i) {
        if (limit.timed()) made.reached[k] += share_of(limit, *shipments_[i], wait(made, i));
        if (limit.kind == LimitKind::hours) made.late[k] += hours_after_end(limit.of, made, i);
      }
      if (limit.timed() && !at_least(made.reached[k], limit.least))
        made.missed += (limit.least - made.reached[k]) / std::max(1e-9, std::abs(limit.least));
      if (made.late[k] <= told_late()) made.late[k] = 0;
      else made.missed += made.late[k] / std::max(1e-9, limit.most);
    }
    for (std::size_t i = 0; i < shipments_.size(); ++i)
      made.lost += shipments_[i]->value * (1 - plain_.discount_over(wait(made, i)));
  }

  /// h: what putting starts off to whole millionths of a day may add up to.
  double told_late() const { return finest * static_cast<double>(shipments_.size() + 1) / days_per_hour_; }

  double wait(const Timetable& made, std::size_t i) const { return made.starts[i] - shipments_[i]->start; }

  double hours_after_end(std::size_t step, const Timetable& made, std::size_t i) const {
    if (!allocation_.period) return 0;
    double hours = 0;
    for (const Pass& pass : shipments_[i]->passes) {
      if (pass.step != step) continue;
      const double end = pass.day + wait(made, i) + pass.hours * days_per_hour_;
      hours += std::clamp((end - *allocation_.period) / days_per_hour_, 0.0, pass.hours);
    }
    return hours;
  }

  const Allocation& allocation_;
  const std::vector<Limit>& limits_;
  const std::vector<const Outcome*>& shipments_;
  Scenario<double> plain_;
  double days_per_hour_;
};

/// Earliest ready first; of those ready together, the one first that brings most an hour.
std::vector<std::size_t> first_order(const std::vector<const Outcome*>& shipments) {
  std::vector<std::size_t> order(shipments.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  auto per_hour = [&](std::size_t i) {
    double hours = 1e-9;
    for (const Pass& pass : shipments[i]->passes) hours += pass.hours;
    return shipments[i]->value / hours;
  };
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    if (shipments[a]->start != shipments[b]->start) return shipments[a]->start < shipments[b]->start;
    return per_hour(a) > per_hour(b);
  });
  return order;
}

}  // namespace

bool is_better(const Timetable& a, const Timetable& b) {
  if (std::abs(a.missed - b.missed) > missed_least) return a.missed < b.missed;
  return a.lost < b.lost - 1e-9 * std::abs(b.lost);
}

Timetable in_order(const Allocation& allocation, const std::vector<Limit>& limits,
                   const std::vector<const Outcome*>& shipments) {
  std::vector<std::size_t> order(shipments.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  return Placing(allocation, limits, shipments).in_order(order);
}

Timetable timetable(const Allocation& allocation, const std::vector<Limit>& limits,
                    const std::vector<const Outcome*>& shipments, const Watch& watch) {
  const Placing placing(allocation, limits, shipments);
  std::vector<std::size_t> order = first_order(shipments);
  Timetable best = placing.in_order(order);
  std::size_t tried = 0;
  for (int round = 0; round < rounds && (best.missed > 0 || best.lost > 0); ++round) {
    bool improved = false;
    for (std::size_t from = 0; from < order.size(); ++from) {
      watch.keep_going();
      for (std::size_t to = 0; to < order.size() && tried < tried_most; ++to) {
        if (to == from) continue;
        std::vector<std::size_t> other = order;
        const std::size_t moved = other[from];
        other.erase(other.begin() + static_cast<std::ptrdiff_t>(from));
        other.insert(other.begin() + static_cast<std::ptrdiff_t>(to), moved);
        Timetable made = placing.in_order(other);
        ++tried;
        if (!is_better(made, best)) continue;
        best = std::move(made);
        order = std::move(other);
        improved = true;
      }
    }
    if (!improved) break;
  }
  return best;
}

}  // namespace buttonworth
