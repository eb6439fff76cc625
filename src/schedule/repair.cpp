#include "schedule/repair.hpp"

#include <algorithm>
#include <cmath>

namespace buttonworth {
namespace {

constexpr double worth_having = 1e-9;   // of a value
constexpr std::size_t joined_anew = 6;  // lots, at most

bool is_before(const Shares& a, const Shares& b) {
  return std::lexicographical_compare(
      a.begin(), a.end(), b.begin(), b.end(),
      [](const Share& x, const Share& y) { return x.lot != y.lot ? x.lot < y.lot : x.parts < y.parts; });
}

std::vector<Picked> picked_of(std::vector<std::size_t> candidates) {
  std::sort(candidates.begin(), candidates.end());
  std::vector<Picked> picked;
  for (std::size_t candidate : candidates) {
    if (picked.empty() || picked.back().candidate != candidate) picked.push_back({candidate, 0});
    ++picked.back().times;
  }
  return picked;
}

/// All of a besides those of b, by rising number of the lot; false where they share a lot.
bool join(const Shares& a, Shares& b) {
  b.insert(b.end(), a.begin(), a.end());
  std::sort(b.begin(), b.end(), [](const Share& x, const Share& y) { return x.lot < y.lot; });
  return std::adjacent_find(b.begin(), b.end(),
                            [](const Share& x, const Share& y) { return x.lot == y.lot; }) == b.end();
}

}  // namespace

bool is_better(const Timed& a, const Timed& b) {
  if (std::abs(a.missed - b.missed) > missed_least) return a.missed < b.missed;
  return a.value() > b.value() + worth_having * std::abs(b.value());
}

/// What may be put together anew: a shipment, or what is left of a lot.
struct Repair::Opening {
  Shares shares;
  std::optional<std::size_t> shipment;

  void add_to(Numbers& out) const {
    if (shipment) out.push_back(*shipment);
  }
};

Repair::Repair(const Allocation& allocation, const Candidates& candidates, const Chooser& chooser)
    : allocation_(allocation), candidates_(candidates), chooser_(chooser), worker_(allocation) {}

// ---- Placing -------------------------------------------------------------------------------------

const Outcome& Repair::outcome_of(std::size_t candidate) {
  const auto [at, is_new] = outcomes_.try_emplace(candidate);
  if (is_new) at->second = worker_.work(candidates_[candidate].shares, candidates_[candidate].route);
  return at->second;
}

Timed Repair::place(Choice choice, const Watch& watch) {
  Timed made{.choice = std::move(choice), .candidates = {}, .outcomes = {}, .table = {}};
  for (const Picked& one : made.choice.picked)
    for (std::uint32_t n = 0; n < one.times; ++n) {
      made.candidates.push_back(one.candidate);
      made.outcomes.push_back(&outcome_of(one.candidate));
    }
  made.table = timetable(allocation_, candidates_.limits(), made.outcomes, watch);
  made.missed = missed_of(made);
  return made;
}

std::vector<std::uint32_t> Repair::left_of(const Numbers& candidates) const {
  std::vector<std::uint32_t> left;
  for (const OfferedLot& lot : allocation_.lots) left.push_back(lot.parts);
  for (std::size_t i : candidates)
    for (const Share& share : candidates_[i].shares) left[share.lot] -= share.parts;
  return left;
}

double Repair::missed_of(const Timed& made) const {
  double missed = made.table.missed;
  const std::vector<std::uint32_t> left = left_of(made.candidates);
  for (std::size_t lot = 0; lot < left.size(); ++lot)
    if (allocation_.lots[lot].must) missed += double(left[lot]) / allocation_.lots[lot].parts;
  return missed;
}

/// Where in the order it does best.
void Repair::insert(Timed& made, std::size_t candidate) {
  const Outcome* const outcome = &outcome_of(candidate);
  std::optional<Timetable> best;
  std::size_t best_at = 0;
  for (std::size_t at = 0; at <= made.outcomes.size(); ++at) {
    std::vector<const Outcome*> order = made.outcomes;
    order.insert(order.begin() + static_cast<std::ptrdiff_t>(at), outcome);
    Timetable table = in_order(allocation_, candidates_.limits(), order);
    if (best && !is_better(table, *best)) continue;
    best = std::move(table);
    best_at = at;
  }
  made.candidates.insert(made.candidates.begin() + static_cast<std::ptrdiff_t>(best_at), candidate);
  made.outcomes.insert(made.outcomes.begin() + static_cast<std::ptrdiff_t>(best_at), outcome);
  made.table = std::move(*best);
}

/// Shipments in the order in which they start, on the better of two timetables.
void Repair::tidy(Timed& made, const Watch& watch) const {
  Timetable other = timetable(allocation_, candidates_.limits(), made.outcomes, watch);
  if (is_better(other, made.table)) made.table = std::move(other);
  Numbers order(made.candidates.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return made.table.starts[a] < made.table.starts[b]; });
  const Timed before = made;
  for (std::size_t i = 0; i < order.size(); ++i) {
    made.candidates[i] = before.candidates[order[i]];
    made.outcomes[i] = before.outcomes[order[i]];
    made.table.starts[i] = before.table.starts[order[i]];
  }
  made.missed = missed_of(made);
}

// ---- Other ways ----------------------------------------------------------------------------------

Repair::Numbers Repair::candidates_of(const Shares& shares) {
  const auto is_first = [&](std::size_t a, std::size_t b) {
    return is_before(candidates_[a].shares, candidates_[b].shares);
  };
  if (by_shares_.size() != candidates_.size()) {
    by_shares_.resize(candidates_.size());
    for (std::size_t i = 0; i < by_shares_.size(); ++i) by_shares_[i] = i;
    std::stable_sort(by_shares_.begin(), by_shares_.end(), is_first);
  }
  auto at =
      std::lower_bound(by_shares_.begin(), by_shares_.end(), shares,
                       [&](std::size_t i, const Shares& s) { return is_before(candidates_[i].shares, s); });
  Numbers found;
  for (; at != by_shares_.end() && !is_before(shares, candidates_[*at].shares); ++at)
    if (chooser_.may_pick(*at)) found.push_back(*at);
  return found;
}

std::optional<std::size_t> Repair::single_of(const Share& share, std::size_t route) {
  for (std::size_t i : candidates_of({share}))
    if (candidates_[i].route == route) return i;
  return std::nullopt;
}

std::vector<Repair::Opening> Repair::openings(const Timed& now) const {
  std::vector<Opening> found;
  for (std::size_t i = 0; i < now.candidates.size(); ++i)
    found.push_back({candidates_[now.candidates[i]].shares, i});
  const std::vector<std::uint32_t> left = left_of(now.candidates);
  for (std::uint32_t lot = 0; lot < left.size(); ++lot)
    if (left[lot] > 0) found.push_back({{{lot, left[lot]}}, std::nullopt});
  return found;
}

/// All of it, or without one of its lots, or with fewer parts of one.
std::vector<Shares> Repair::less_of(const Shares& shares) {
  std::vector<Shares> found{shares};
  for (std::size_t i = 0; i < shares.size(); ++i)
    for (std::uint32_t parts = 0; parts < shares[i].parts; ++parts) {
      if (parts == 0 && shares.size() == 1) continue;
      found.push_back(shares);
      found.back()[i].parts = parts;
      if (parts == 0) found.back().erase(found.back().begin() + static_cast<std::ptrdiff_t>(i));
    }
  return found;
}

/// Left, all or less of it by every route, its lots apart by one route, or a lot in two parts.
std::vector<Repair::Numbers> Repair::ways(const Opening& opening) {
  std::vector<Numbers> ways{{}};
  for (const Shares& shares : less_of(opening.shares))
    for (std::size_t i : candidates_of(shares)) ways.push_back({i});
  for (std::size_t r = 0; r < allocation_.plan->routes.size() && opening.shares.size() > 1; ++r) {
    Numbers apart;
    for (const Share& share : opening.shares)
      if (const auto one = single_of(share, r)) apart.push_back(*one);
    if (apart.size() == opening.shares.size()) ways.push_back(std::move(apart));
  }
  if (opening.shares.size() == 1) add_parted(ways, opening.shares[0]);
  return ways;
}

void Repair::add_parted(std::vector<Numbers>& ways, const Share& share) {
  for (std::uint32_t parts = 1; 2 * parts <= share.parts; ++parts) {
    const Shares less{{share.lot, parts}}, rest{{share.lot, share.parts - parts}};
    const Numbers others = candidates_of(rest);
    for (std::size_t a : candidates_of(less))
      for (std::size_t b : others) ways.push_back({a, b});
  }
}

/// Each by one of its own, both joined, or their lots joined anew.
std::vector<Repair::Numbers> Repair::ways_of_two(const Opening& a, const Opening& b) {
  std::vector<Numbers> found;
  const std::vector<Numbers> of_b = ways(b);
  for (const Numbers& first : ways(a))
    for (const Numbers& second : of_b) {
      found.push_back(first);
      found.back().insert(found.back().end(), second.begin(), second.end());
    }
  Shares both = b.shares;
  if (!join(a.shares, both)) return found;
  for (const Shares& shares : less_of(both))
    for (std::size_t i : candidates_of(shares)) found.push_back({i});
  if (both.size() <= joined_anew) add_joined_anew(found, both);
  return found;
}

/// Each of these lots in one of two shipments, or left.
void Repair::add_joined_anew(std::vector<Numbers>& ways, const Shares& lots) {
  std::size_t all = 1;
  for (std::size_t i = 0; i < lots.size(); ++i) all *= 3;
  for (std::size_t code = 0; code < all; ++code) {
    Shares first, second;
    for (std::size_t i = 0, rest = code; i < lots.size(); ++i, rest /= 3)
      if (rest % 3 != 2) (rest % 3 == 0 ? first : second).push_back(lots[i]);
    if (second.empty() || !is_before(first, second)) continue;  // the other way round it comes too
    const Numbers of_second = candidates_of(second);
    for (std::size_t i : candidates_of(first))
      for (std::size_t k : of_second) ways.push_back({i, k});
  }
}

/// Some shipments in the place of others: the best so far, if they are better.
void Repair::try_out(Timed& best, const Timed& now, const Numbers& out, const Numbers& in,
                     const Bounds& bounds) {
  Numbers stay;  // by shipment
  for (std::size_t i = 0; i < now.candidates.size(); ++i)
    if (std::find(out.begin(), out.end(), i) == out.end()) stay.push_back(i);
  Numbers candidates = in;
  for (std::size_t i : stay) candidates.push_back(now.candidates[i]);
  Timed made{.choice = now.choice, .candidates = {}, .outcomes = {}, .table = {}};
  made.choice.picked = picked_of(std::move(candidates));
  made.choice.value = chooser_.value_of(made.choice.picked);
  if (best.missed <= missed_least && made.choice.value <= best.value()) return;  // waiting brings nothing
  if (!chooser_.keeps(made.choice, bounds, Chooser::Timing::by_timetable)) return;
  for (std::size_t i : stay) {
    made.candidates.push_back(now.candidates[i]);
    made.outcomes.push_back(now.outcomes[i]);
  }
  if (in.empty()) made.table = in_order(allocation_, candidates_.limits(), made.outcomes);
  for (std::size_t candidate : in) insert(made, candidate);
  made.missed = missed_of(made);
  if (is_better(made, best)) best = std::move(made);
}

/// The same for all of these ways; false where the time has passed.
bool Repair::try_all(Timed& best, const Timed& now, const Numbers& out, const std::vector<Numbers>& ways,
                     const Bounds& bounds, const Clock& clock, const Watch& watch) {
  for (const Numbers& in : ways) {
    watch.keep_going();
    if (clock.left() <= 0) return false;
    try_out(best, now, out, in, bounds);
  }
  return true;
}

Timed Repair::with_one(const Timed& now, const Bounds& bounds, const Clock& clock, const Watch& watch) {
  Timed best = now;
  for (const Opening& opening : openings(now)) {
    Numbers out;
    opening.add_to(out);
    if (!try_all(best, now, out, ways(opening), bounds, clock, watch)) break;
  }
  return best;
}

/// The first two of which anything is better.
Timed Repair::with_two(const Timed& now, const Bounds& bounds, const Clock& clock, const Watch& watch) {
  Timed best = now;
  const std::vector<Opening> all = openings(now);
  for (std::size_t a = 0; a < all.size(); ++a)
    for (std::size_t b = a + 1; b < all.size(); ++b) {
      Numbers out;
      all[a].add_to(out);
      all[b].add_to(out);
      const bool is_time_left = try_all(best, now, out, ways_of_two(all[a], all[b]), bounds, clock, watch);
      if (!is_time_left || is_better(best, now)) return best;
    }
  return best;
}

Timed Repair::repaired(Timed now, const Bounds& bounds, double seconds, const Watch& watch) {
  const Clock clock(seconds);
  tidy(now, watch);
  for (;;) {
    Timed next = with_one(now, bounds, clock, watch);
    if (!is_better(next, now)) next = with_two(now, bounds, clock, watch);
    if (!is_better(next, now)) return now;
    tidy(next, watch);
    now = std::move(next);
  }
}

}  // namespace buttonworth
