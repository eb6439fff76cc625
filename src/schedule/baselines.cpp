#include "schedule/baselines.hpp"

#include <algorithm>
#include <numeric>

namespace buttonworth {
namespace {

/// What is left of every lot and limit.
class Room {
 public:
  Room(const Allocation& allocation, const Candidates& candidates)
      : candidates_(candidates), used_(candidates.limits().size()) {
    for (const OfferedLot& lot : allocation.lots) parts_.push_back(lot.parts);
  }

  bool fits(std::size_t i) const {
    for (const Share& share : candidates_[i].shares)
      if (share.parts > parts_[share.lot]) return false;
    for (std::size_t k = 0; k < used_.size(); ++k)
      if (!at_most(used_[k] + candidates_.takes(i)[k], candidates_.limits()[k].most)) return false;
    return true;
  }
  void take(std::size_t i, Baseline& made) {
    for (const Share& share : candidates_[i].shares) parts_[share.lot] -= share.parts;
    for (std::size_t k = 0; k < used_.size(); ++k) used_[k] += candidates_.takes(i)[k];
    made.value += candidates_[i].value;
  }
  void note_missed(Baseline& made) const {
    for (std::size_t k = 0; k < used_.size(); ++k) {
      const Limit& limit = candidates_.limits()[k];
      const bool counts = !limit.buyer || used_[k] > 0;
      if (counts && (!at_least(used_[k], limit.least) || !at_most(used_[k], limit.most)))
        made.missed.push_back(k);
    }
  }

 private:
  const Candidates& candidates_;
  std::vector<std::uint32_t> parts_;
  std::vector<double> used_;
};

std::vector<std::size_t> by_ready_day(const Allocation& allocation) {
  std::vector<std::size_t> order(allocation.lots.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return allocation.lots[a].ready < allocation.lots[b].ready;
  });
  return order;
}

/// A lot's whole-lot candidate of the largest value that `may`; nothing where none is worth sending.
template <class May>
std::optional<std::size_t> best_way(const Allocation& allocation, const Candidates& candidates,
                                    std::size_t lot, May may) {
  std::optional<std::size_t> best;
  for (std::size_t i : candidates.singles_of(static_cast<std::uint32_t>(lot))) {
    const Consignment& one = candidates[i];
    const bool whole = one.shares[0].parts == allocation.lots[lot].parts;
    if (whole && one.value > (best ? candidates[*best].value : 0) && may(i)) best = i;
  }
  return best;
}

}  // namespace

Baseline lot_by_lot(const Allocation& allocation, const Candidates& candidates) {
  Baseline made;
  Room room(allocation, candidates);
  for (std::size_t lot : by_ready_day(allocation))
    if (const auto best = best_way(allocation, candidates, lot, [&](std::size_t i) { return room.fits(i); }))
      room.take(*best, made);
  room.note_missed(made);
  return made;
}

Baseline without_limits(const Allocation& allocation, const Candidates& candidates) {
  Baseline made;
  Room room(allocation, candidates);
  for (std::size_t lot = 0; lot < allocation.lots.size(); ++lot)
    if (const auto best = best_way(allocation, candidates, lot, [](std::size_t) { return true; }))
      room.take(*best, made);
  room.note_missed(made);
  return made;
}

Baseline greedy(const Allocation& allocation, const Candidates& candidates) {
  std::vector<double> worth(candidates.size());
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    double share = 0;
    for (const Share& one : candidates[i].shares)
      share += static_cast<double>(one.parts) / allocation.lots[one.lot].parts;
    share /= static_cast<double>(allocation.lots.size());
    for (std::size_t k = 0; k < candidates.limits().size(); ++k) {
      const Limit& limit = candidates.limits()[k];
      if (limit.most < Limit::none && limit.most > 0)
        share = std::max(share, candidates.takes(i)[k] / limit.most);
    }
    worth[i] = candidates[i].value / share;
  }
  std::vector<std::size_t> order(candidates.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return worth[a] > worth[b]; });
  Baseline made;
  Room room(allocation, candidates);
  for (std::size_t i : order)
    while (candidates[i].value > 0 && room.fits(i)) room.take(i, made);
  room.note_missed(made);
  return made;
}

}  // namespace buttonworth
