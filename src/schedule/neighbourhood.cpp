// A choice made better in parts: a few of its shipments are put together anew, with the lots that are left,
// while the others stand (large neighbourhood search).
#include <algorithm>
#include <functional>
#include <set>

#include "schedule/choose.hpp"

namespace buttonworth {
namespace {

constexpr std::size_t opened_at_once = 2, opened_aside = 3;  // shipments
constexpr std::size_t blends_of_step = 120'000;              // that are looked at for it
constexpr std::size_t columns_of_step = 2000;
constexpr double seconds_of_step = 0.3;
constexpr int fruitless_most = 20;  // steps, before one aside
constexpr int asides_most = 8;      // that lead to nothing better

bool any_of(const Shares& shares, const std::vector<bool>& lots) {
  return std::any_of(shares.begin(), shares.end(), [&](const Share& share) { return lots[share.lot]; });
}

/// What is open, by candidates' numbers.
std::vector<std::size_t> numbers_of(const Choice& choice, const std::vector<bool>& open) {
  std::vector<std::size_t> numbers;
  for (std::size_t p = 0; p < open.size(); ++p)
    if (open[p]) numbers.push_back(choice.picked[p].candidate);
  std::sort(numbers.begin(), numbers.end());
  return numbers;
}

}  // namespace

/// By lot: how much the linear programme joins it with these.
std::vector<double> Chooser::joined_with(const std::vector<bool>& lots) const {
  std::vector<double> joined(lots.size());
  const std::vector<double> values = linear_->values();
  for (std::size_t i = 0; i < in_linear_.size(); ++i) {
    const Shares& shares = candidates_[in_linear_[i]].shares;
    if (values[fixed_ + i] < 1e-6 || !any_of(shares, lots)) continue;
    for (const Share& share : shares) joined[share.lot] += values[fixed_ + i];
  }
  return joined;
}

/// So many of what is picked: any, then rather what the linear programme would join with lots of those.
std::vector<bool> Chooser::opened(const Choice& choice, std::size_t many, Random& random) const {
  std::vector<bool> open(choice.picked.size()), lots(allocation_.lots.size());
  for (many = std::min(many, open.size()); many > 0; --many) {
    const std::vector<double> joined = joined_with(lots);
    std::size_t next = 0;
    double most = 0;
    for (std::size_t p = 0; p < open.size(); ++p) {
      double weight = 0.05;
      for (const Share& share : candidates_[choice.picked[p].candidate].shares) weight += joined[share.lot];
      weight *= static_cast<double>(random());
      if (!open[p] && weight > most) next = p, most = weight;
    }
    open[next] = true;
    for (const Share& share : candidates_[choice.picked[next].candidate].shares) lots[share.lot] = true;
  }
  return open;
}

/// Blends of these lots that were not looked at, on the ways that any of them goes now.
void Chooser::look_among(const std::vector<bool>& lots, const Watch& watch) {
  if (candidates_.looked().larger >= allocation_.options.looked_at) return;
  std::vector<std::uint32_t> free;
  for (std::uint32_t lot = 0; lot < lots.size(); ++lot)
    if (lots[lot] && !allocation_.lots[lot].alone) free.push_back(lot);
  std::vector<bool> routes(allocation_.plan->routes.size());
  for (std::size_t i : grown_around())
    if (any_of(candidates_[i].shares, lots)) routes[candidates_[i].route] = true;
  std::vector<Consignment> wanted;
  const std::size_t most = std::min(free.size(), allocation_.options.most_joined);
  Shares shares;
  const std::function<void(std::size_t)> join = [&](std::size_t from) {
    if (shares.size() > 3)
      for (std::uint32_t r = 0; r < routes.size(); ++r)
        if (routes[r]) wanted.push_back({shares, r, 0});
    if (shares.size() == most || wanted.size() > blends_of_step) return;
    for (std::size_t i = from; i < free.size(); ++i) {
      shares.push_back({free[i], allocation_.lots[free[i]].parts});
      join(i + 1);
      shares.pop_back();
    }
  };
  join(0);
  candidates_.look_at(wanted, watch);
}

/// A step: what is not open stands, and of the other lots are made the shipments that bring most. `aside`:
/// others than now, whatever they bring.
Choice Chooser::step(const Choice& choice, const std::vector<bool>& open, bool aside,
                     const std::vector<Row>& bounds, const Watch& watch) {
  std::vector<bool> lots(allocation_.lots.size(), true);
  std::vector<Picked> standing;
  std::vector<std::size_t> now;
  for (std::size_t p = 0; p < open.size(); ++p) {
    const Picked& one = choice.picked[p];
    if (open[p]) now.push_back(one.candidate);
    else standing.push_back(one);
    for (const Share& share : candidates_[one.candidate].shares)
      if (!open[p] && allocation_.lots[share.lot].parts == 1) lots[share.lot] = false;
  }
  look_among(lots, watch);
  const double linear = solve_linear(bounds, watch);
  const double window = aside ? unbounded : linear - choice.value + 1e-9 * std::abs(linear);
  std::vector<std::size_t> over = within(window, columns_of_step, lots);
  std::optional<double> known = choice.value;
  if (aside) {
    known.reset();
    std::erase_if(over, [&](std::size_t i) { return std::find(now.begin(), now.end(), i) != now.end(); });
  }
  return solve(bounds, over, seconds_of_step, known, watch, standing);
}

/// Steps to what brings more, until none is found; then a step aside, and on from there.
void Chooser::improve_in_parts(Choice& best, const std::vector<Row>& bounds, double seconds,
                               const Watch& watch) {
  if (best.picked.size() <= opened_aside) return;  // nothing would stand
  const Clock clock(seconds);
  Random random;
  Choice now = best;
  std::set<std::vector<std::size_t>> tried;  // openings
  int fruitless = 0, asides = 0;
  while (clock.left() > 0 && !is_near(best) && asides <= asides_most) {
    watch.keep_going();
    const bool aside = fruitless > fruitless_most;
    if (aside) {
      if (now.value < best.value) now = best;
      ++asides;
      fruitless = 0;
    }
    const std::vector<bool> open = opened(now, aside ? opened_aside : opened_at_once, random);
    if (!aside && !tried.insert(numbers_of(now, open)).second) {
      ++fruitless;
      continue;
    }
    Choice found = step(now, open, aside, bounds, watch);
    best.bound = linear_->gain();
    if (!found.possible || (!aside && found.value <= now.value)) {
      ++fruitless;
      continue;
    }
    fruitless = 0;
    now = std::move(found);
    if (now.value <= best.value) continue;
    asides = 0;
    best = {.picked = now.picked, .value = now.value, .bound = best.bound, .columns = best.columns};
  }
}

}  // namespace buttonworth
