#include "schedule/candidates.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>

#include "chance/blocks.hpp"
#include "quantity/quiet_watch.hpp"
#include "schedule/part_watch.hpp"

namespace buttonworth {
namespace {

constexpr std::size_t block_of = 256;             // shipments that a thread takes at once
constexpr double worth_having = 1e-9;             // of a value: less is rounding
constexpr std::int64_t most_of_a_size = 100'000;  // blends of four lots, or of five, …: if more, not all

double slack_of(double value) { return worth_having * std::max(1.0, std::abs(value)); }

bool by_lot(const Share& a, const Share& b) { return a.lot < b.lot; }
Share whole_lot(const Allocation& allocation, std::uint32_t lot) { return {lot, allocation.lots[lot].parts}; }

std::uint64_t mark_of(const Consignment& one) {
  std::uint64_t mark = 14695981039346656037u ^ one.route;
  for (const Share& share : one.shares)
    mark = (mark ^ (std::uint64_t{share.lot} << 8 ^ share.parts)) * 1099511628211u;
  return mark ^ mark >> 29;
}

}  // namespace

void require_weighable(const std::string& route, double value, std::span<const double> takes) {
  if (is_weighable(value) && std::all_of(takes.begin(), takes.end(), is_weighable)) return;
  throw Error(Code::range,
              "a shipment by the route " + route +
                  " comes to 10^15 or more, in money, kg, hours or melts, and cannot be weighed "
                  "against others: look for a wrong unit or power of ten in prices, masses and rates");
}

Candidates::Candidates(const Allocation& allocation, std::vector<Limit> limits)
    : allocation_(allocation), limits_(std::move(limits)) {
  for (std::uint32_t lot = 0; lot < allocation.lots.size(); ++lot)
    for (std::uint32_t parts = 1; parts <= allocation.lots[lot].parts; ++parts)
      items_.push_back({lot, parts});
  singles_.assign(items_.size() * allocation.plan->routes.size(), -1);
  accepted_.assign(allocation.lots.size() * allocation.plan->routes.size(), 0);
}

std::vector<std::size_t> Candidates::singles_of(std::uint32_t lot) const {
  std::vector<std::size_t> found;
  const std::size_t routes = allocation_.plan->routes.size();
  for (std::size_t i = 0; i < items_.size(); ++i)
    for (std::size_t r = 0; r < routes && items_[i].lot == lot; ++r)
      if (singles_[i * routes + r] >= 0) found.push_back(static_cast<std::size_t>(singles_[i * routes + r]));
  return found;
}

bool Candidates::is_accepted(std::uint32_t lot) const {
  const std::size_t routes = allocation_.plan->routes.size();
  for (std::size_t r = 0; r < routes; ++r)
    if (accepted_[lot * routes + r] != 0) return true;
  return false;
}

bool Candidates::may_join(std::uint32_t lot, std::size_t route) const {
  return allocation_.lots[lot].routes[route] && !allocation_.lots[lot].alone;
}

bool Candidates::may_go(const Shares& shares, std::size_t route) const {
  if (shares.size() == 1) return allocation_.lots[shares[0].lot].routes[route];
  return std::all_of(shares.begin(), shares.end(),
                     [&](const Share& share) { return may_join(share.lot, route); });
}

// ---- Working out ---------------------------------------------------------------------------------

Candidates::Found Candidates::find(ShipmentWorker& worker, const Consignment& wanted) const {
  Found found;
  const Outcome outcome = worker.work(wanted.shares, wanted.route);
  found.taken = outcome.taken && std::isfinite(outcome.value);
  if (!found.taken) return found;
  found.value = outcome.value;
  for (const Limit& limit : limits_) found.takes.push_back(share_of(limit, outcome));
  return found;
}

std::optional<std::size_t> Candidates::keep(const Consignment& wanted, Found&& found) {
  if (!found.taken) {
    ++looked_.refused;
    return std::nullopt;
  }
  require_weighable(allocation_.plan->routes[wanted.route].name, found.value, found.takes);
  for (const Share& share : wanted.shares)
    accepted_[share.lot * allocation_.plan->routes.size() + wanted.route] = 1;
  if (wanted.shares.size() > 1 && adds_nothing(wanted, found)) return std::nullopt;
  list_.push_back(wanted);
  list_.back().value = found.value;
  takes_.insert(takes_.end(), found.takes.begin(), found.takes.end());
  return list_.size() - 1;
}

/// Over threads, kept in the order they are given in.
std::vector<std::size_t> Candidates::take(const std::vector<Consignment>& wanted, const Watch& watch) {
  std::vector<std::size_t> kept;
  const std::size_t blocks = (wanted.size() + block_of - 1) / block_of;
  struct State {
    std::unique_ptr<ShipmentWorker> worker;
    std::vector<Found> found;
  };
  auto work = [&](State& state, std::size_t block) {
    if (!state.worker) state.worker = std::make_unique<ShipmentWorker>(allocation_);
    state.found.clear();
    const std::size_t end = std::min(wanted.size(), (block + 1) * block_of);
    for (std::size_t i = block * block_of; i < end; ++i)
      state.found.push_back(find(*state.worker, wanted[i]));
  };
  auto merge = [&](State& state, std::size_t block) {
    for (std::size_t i = 0; i < state.found.size(); ++i) {
      const std::size_t number = block * block_of + i;
      const Consignment& one = wanted[number];
      if (one.shares.size() == 2) pairs_.emplace_back(state.found[i].value, one);
      if (const auto place = keep(one, std::move(state.found[i]))) kept.push_back(*place);
    }
  };
  Turns turns(blocks, watch, 0, static_cast<std::int64_t>(blocks));
  turns.run(
      allocation_.options.threads, [] { return State(); }, work, merge);
  return kept;
}

std::vector<std::size_t> Candidates::look_at(const std::vector<Consignment>& wanted, const Watch& watch) {
  std::vector<Consignment> fresh;
  for (const Consignment& one : wanted) {
    const bool known = one.shares.size() <= 2 || is_all_of(one.shares.size());
    if (known || !may_go(one.shares, one.route) || !seen_.insert(mark_of(one)).second) continue;
    ++(one.shares.size() == 3 ? looked_.triples : looked_.larger);
    fresh.push_back(one);
  }
  return take(fresh, QuietWatch(watch));
}

// ---- What joining brings -------------------------------------------------------------------------

std::size_t Candidates::item_of(const Share& share) const {
  std::size_t item = 0;
  while (items_[item].lot != share.lot || items_[item].parts != share.parts) ++item;
  return item;
}

std::int64_t Candidates::place_of(const Share& share, std::size_t route) const {
  return singles_[item_of(share) * allocation_.plan->routes.size() + route];
}

/// No more value than the same lots apart on the same route, and no less of any limit.
bool Candidates::adds_nothing(const Consignment& wanted, const Found& found) const {
  double value = 0;
  std::vector<double> takes(limits_.size());
  for (const Share& share : wanted.shares) {
    const std::int64_t single = place_of(share, wanted.route);
    if (single < 0) return false;
    value += list_[static_cast<std::size_t>(single)].value;
    for (std::size_t k = 0; k < takes.size(); ++k)
      takes[k] += this->takes(static_cast<std::size_t>(single))[k];
  }
  if (found.value > value + slack_of(value)) return false;
  for (std::size_t k = 0; k < takes.size(); ++k) {
    const double slack = slack_of(takes[k]);
    if (limits_[k].most < Limit::none && found.takes[k] < takes[k] - slack) return false;
    if (limits_[k].least > -Limit::none && found.takes[k] > takes[k] + slack) return false;
  }
  return true;
}

/// Of a pair that is refused, which a third lot may mend: nothing, rather than what is lost.
double Candidates::gain_of_joining(const Consignment& pair) const {
  double apart = 0;
  for (const Share& share : pair.shares) apart += best_single_[item_of(share)];
  return pair.value == 0 ? 0 : pair.value - apart;
}

// ---- Sets of them --------------------------------------------------------------------------------

void Candidates::look(const Watch& watch) {
  look_at_singles(watch);
  if (allocation_.options.most_joined >= 2) look_at_pairs(PartWatch(watch, 0, 0.2));
  if (allocation_.options.most_joined >= 3) look_at_triples(PartWatch(watch, 0.2, 0.6));
  if (allocation_.options.most_joined < 4) return;
  look_at_all_larger(QuietWatch(watch));
  look_at_larger_of_refused(watch);
}

void Candidates::look_at_singles(const Watch& watch) {
  const std::size_t routes = allocation_.plan->routes.size();
  ShipmentWorker worker(allocation_);
  for (std::size_t i = 0; i < items_.size(); ++i) {
    watch.keep_going();
    best_single_.push_back(0);
    for (std::size_t r = 0; r < routes; ++r) {
      const Consignment one{{items_[i]}, static_cast<std::uint32_t>(r), 0};
      if (!may_go(one.shares, r)) continue;
      ++looked_.singles;
      const auto kept = keep(one, find(worker, one));
      if (!kept) continue;
      singles_[i * routes + r] = static_cast<std::int64_t>(*kept);
      best_single_.back() = std::max(best_single_.back(), list_[*kept].value);
    }
  }
}

/// By every route that all of them may go.
std::vector<Consignment> Candidates::blends_of(std::size_t size) const {
  std::vector<std::uint32_t> routes(allocation_.plan->routes.size());
  std::iota(routes.begin(), routes.end(), 0);
  std::vector<Consignment> blends;
  Shares shares;
  join(shares, routes, 0, size, blends);
  return blends;
}

/// Items from the first on, with what is joined already.
void Candidates::join(Shares& shares, const std::vector<std::uint32_t>& routes, std::size_t first,
                      std::size_t size, std::vector<Consignment>& to) const {
  if (shares.size() == size) {
    for (std::uint32_t route : routes) to.push_back({shares, route, 0});
    return;
  }
  for (std::size_t i = first; i < items_.size(); ++i) {
    if (!shares.empty() && items_[i].lot == shares.back().lot) continue;
    std::vector<std::uint32_t> common;
    std::copy_if(routes.begin(), routes.end(), std::back_inserter(common),
                 [&](std::uint32_t route) { return may_join(items_[i].lot, route); });
    if (common.empty()) continue;
    shares.push_back(items_[i]);
    join(shares, common, i + 1, size, to);
    shares.pop_back();
  }
}

/// Of lots that may be joined, each in any of its parts, by every route that all of them may go. 10^18, where
/// there are more.
std::int64_t Candidates::blends_there_are(std::size_t size) const {
  double blends = 0;
  for (std::size_t r = 0; r < allocation_.plan->routes.size(); ++r) {
    std::vector<double> of(size + 1);  // lots so far, by how many are joined
    of[0] = 1;
    for (std::uint32_t lot = 0; lot < allocation_.lots.size(); ++lot)
      for (std::size_t n = size; n > 0 && may_join(lot, r); --n)
        of[n] += of[n - 1] * allocation_.lots[lot].parts;
    blends += of[size];
  }
  return static_cast<std::int64_t>(std::min(blends, 1e18));
}

/// So many pairs of lots, those first that are ready next to each other, then those next but one, and so on.
std::vector<Consignment> Candidates::pairs_by_readiness(std::size_t most) const {
  std::vector<std::uint32_t> lots(allocation_.lots.size());
  std::iota(lots.begin(), lots.end(), 0);
  std::stable_sort(lots.begin(), lots.end(), [&](std::uint32_t a, std::uint32_t b) {
    return allocation_.lots[a].ready < allocation_.lots[b].ready;
  });
  std::vector<Consignment> pairs;
  for (std::size_t apart = 1; apart < lots.size(); ++apart)
    for (std::size_t i = 0; i + apart < lots.size() && pairs.size() < most; ++i) {
      const auto [a, b] = std::minmax(lots[i], lots[i + apart]);
      add_pairs(a, b, pairs);
    }
  pairs.resize(std::min(pairs.size(), most));
  return pairs;
}

/// Each in any of its parts, by every route that both may go.
void Candidates::add_pairs(std::uint32_t a, std::uint32_t b, std::vector<Consignment>& to) const {
  for (std::uint32_t r = 0; r < allocation_.plan->routes.size(); ++r)
    for (std::uint32_t of_a = 1; of_a <= allocation_.lots[a].parts && may_join(a, r) && may_join(b, r);
         ++of_a)
      for (std::uint32_t of_b = 1; of_b <= allocation_.lots[b].parts; ++of_b)
        to.push_back({{{a, of_a}, {b, of_b}}, r, 0});
}

void Candidates::look_at_pairs(const Watch& watch) {
  looked_.possible_pairs = blends_there_are(2);
  const bool all = looked_.possible_pairs <= allocation_.options.looked_at;
  if (all) looked_.all_up_to = 2;
  const std::vector<Consignment> wanted =
      all ? blends_of(2) : pairs_by_readiness(static_cast<std::size_t>(allocation_.options.looked_at));
  looked_.pairs = static_cast<std::int64_t>(wanted.size());
  take(wanted, watch);
}

/// Pairs, those first that bring most by being joined, each with a third item that stands behind both; so
/// every triple stands behind its three pairs, and is taken once.
std::vector<Consignment> Candidates::triples() {
  for (auto& [gain, pair] : pairs_) {
    pair.value = gain;
    gain = gain_of_joining(pair);
  }
  std::stable_sort(pairs_.begin(), pairs_.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  const auto room = static_cast<std::size_t>(this->room());
  const bool all = looked_.possible_triples <= this->room();
  std::vector<Consignment> triples;
  for (const auto& [gain, pair] : pairs_)
    for (const Share& third : items_) {
      if (triples.size() >= room) return triples;
      if (third.lot == pair.shares[0].lot || third.lot == pair.shares[1].lot) continue;
      Consignment one{pair.shares, pair.route, 0};
      one.shares.push_back(third);
      std::sort(one.shares.begin(), one.shares.end(), by_lot);
      const bool first = all ? third.lot > pair.shares[1].lot : seen_.insert(mark_of(one)).second;
      if (first && may_go(one.shares, one.route)) triples.push_back(std::move(one));
    }
  return triples;
}

void Candidates::look_at_triples(const Watch& watch) {
  looked_.possible_triples = pairs_.empty() ? 0 : blends_there_are(3);
  const std::vector<Consignment> wanted = triples();
  looked_.triples = static_cast<std::int64_t>(wanted.size());
  if (is_all_of(2) && looked_.triples == looked_.possible_triples) looked_.all_up_to = 3;
  take(wanted, watch);
  pairs_.clear();
  pairs_.shrink_to_fit();
}

/// Of as many lots as there are few enough blends of.
void Candidates::look_at_all_larger(const Watch& watch) {
  for (std::size_t size = 4; size <= allocation_.options.most_joined && is_all_of(size - 1); ++size) {
    const std::int64_t there_are = blends_there_are(size);
    if (there_are > std::min(most_of_a_size, room())) return;
    take(blends_of(size), watch);
    looked_.larger += there_are;
    looked_.all_up_to = static_cast<std::int64_t>(size);
  }
}

namespace {

/// What to join a lot with, one after the other: those ready next to it, the heaviest, or at random.
class JoiningOrders {
 public:
  explicit JoiningOrders(const Allocation& allocation) : allocation_(allocation) {
    const ShipmentWorker worker(allocation);
    for (std::uint32_t lot = 0; lot < allocation.lots.size(); ++lot) mass_.push_back(worker.mass(lot));
  }

  std::vector<std::vector<std::uint32_t>> around(std::uint32_t lot, std::vector<std::uint32_t> others) {
    std::erase(others, lot);
    const auto days = [&](std::uint32_t other) {
      return std::abs(allocation_.lots[other].ready - allocation_.lots[lot].ready);
    };
    std::vector<std::vector<std::uint32_t>> orders(2 + at_random, others);
    std::stable_sort(orders[0].begin(), orders[0].end(),
                     [&](std::uint32_t a, std::uint32_t b) { return days(a) < days(b); });
    std::stable_sort(orders[1].begin(), orders[1].end(),
                     [&](std::uint32_t a, std::uint32_t b) { return mass_[a] > mass_[b]; });
    for (std::size_t i = 2; i < orders.size(); ++i) mix(orders[i]);
    return orders;
  }

 private:
  static constexpr std::size_t at_random = 8;

  /// The same on every system, which std::shuffle is not.
  void mix(std::vector<std::uint32_t>& order) {
    for (std::size_t i = order.size(); i > 1; --i) std::swap(order[i - 1], order[random_() % i]);
  }

  const Allocation& allocation_;
  std::vector<double> mass_;
  std::mt19937_64 random_;
};

/// The lot and the first of the others, from four lots on.
void add_joined(std::uint32_t lot, const std::vector<std::uint32_t>& others, std::uint32_t route,
                const Allocation& allocation, std::vector<Consignment>& to) {
  Shares shares{whole_lot(allocation, lot)};
  for (std::uint32_t other : others) {
    if (shares.size() == allocation.options.most_joined) return;
    shares.push_back(whole_lot(allocation, other));
    std::sort(shares.begin(), shares.end(), by_lot);
    if (shares.size() > 3) to.push_back({shares, route, 0});
  }
}

}  // namespace

/// Of lots that get accepted in no blend so far on a route, being too small, or too dirty.
void Candidates::look_at_larger_of_refused(const Watch& watch) {
  if (is_all_of(allocation_.options.most_joined)) return;
  const std::size_t routes = allocation_.plan->routes.size();
  const std::int64_t room = this->room();
  JoiningOrders orders(allocation_);
  std::vector<Consignment> wanted;
  for (std::uint32_t r = 0; r < routes; ++r) {
    std::vector<std::uint32_t> lots;
    for (std::uint32_t lot = 0; lot < allocation_.lots.size(); ++lot)
      if (may_join(lot, r)) lots.push_back(lot);
    for (std::uint32_t lot : lots)
      if (accepted_[lot * routes + r] == 0 && static_cast<std::int64_t>(wanted.size()) < room)
        for (const auto& others : orders.around(lot, lots)) add_joined(lot, others, r, allocation_, wanted);
  }
  look_at(wanted, watch);
}

}  // namespace buttonworth
