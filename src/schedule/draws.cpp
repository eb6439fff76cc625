#include "schedule/draws.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "chance/altered.hpp"
#include "chance/blocks.hpp"
#include "chance/rank.hpp"
#include "schedule/shipment.hpp"

namespace buttonworth {
namespace {

std::size_t worst_of(std::size_t draws) {
  return static_cast<std::size_t>(rank_of(static_cast<std::int64_t>(draws), worst_thousandths));
}

std::vector<Quantity> quantities_of(const Drawing& drawing) {
  std::vector<Quantity> drawn;
  for (const Input& input : drawing.inputs()) drawn.push_back(input.quantity);
  return drawn;
}

/// Values of a plan's inputs, draw by draw.
class InputDraws {
 public:
  InputDraws(const Plan& plan, const DrawsWanted& wanted)
      : drawing_(plan, wanted.together, wanted.numbers),
        nothing_(worth_program(Prepared<double>(plan), drawing_, {})),
        drawn_{&drawing_, &nothing_, true},
        worker_(make_worker(drawn_)) {}

  std::vector<Quantity> inputs() const { return quantities_of(drawing_); }

  /// By draw, then input.
  std::vector<std::vector<double>> block(std::int64_t first, std::size_t count) {
    worker_->work(first, count, block_);
    std::vector<std::vector<double>> values(count, std::vector<double>(drawing_.inputs().size()));
    for (std::size_t i = 0; i < drawing_.inputs().size(); ++i)
      for (std::size_t d = 0; d < count; ++d) values[d][i] = block_.values[i * count + d];
    return values;
  }

 private:
  Drawing drawing_;
  Program nothing_;
  DrawnPlan drawn_;
  std::unique_ptr<DrawWorker> worker_;
  DrawBlock block_;
};

}  // namespace

DrawnValues draw_values(const Allocation& allocation, const Candidates& candidates,
                        const std::vector<std::size_t>& which, const Watch& watch) {
  const DrawsWanted& wanted = *allocation.options.draws;
  DrawnValues drawn;
  drawn.draws = static_cast<std::size_t>(wanted.numbers.draws);
  drawn.row_of.assign(candidates.size(), -1);
  drawn.values.assign(which.size() * drawn.draws, 0);
  drawn.worst = wanted.prefer == Preference::worst_mean ? worst_of(drawn.draws) : 0;
  ShipmentWorker worker(allocation);
  std::vector<HeldCuts<double>> cuts;
  for (std::size_t i = 0; i < which.size(); ++i) {
    drawn.row_of[which[i]] = static_cast<std::ptrdiff_t>(i);
    cuts.push_back(worker.cuts_of_draws(candidates[which[i]].shares, candidates[which[i]].route));
  }
  InputDraws inputs(*allocation.plan, wanted);
  AlteredPlan<double> altered(*allocation.plan, inputs.inputs());
  const BlockPlaces places(wanted.numbers.draws);
  for (std::size_t block = 0; block < places.size(); ++block) {
    const auto first = static_cast<std::size_t>(places[block].first);
    const auto values = inputs.block(places[block].first, places[block].count);
    for (std::size_t d = 0; d < values.size(); ++d) {
      watch.keep_going();
      if (altered.put(values[d])) continue;  // no world: every shipment is worth nothing in it
      worker.prepare(altered.prepared());
      for (std::size_t i = 0; i < which.size(); ++i) {
        const Consignment& one = candidates[which[i]];
        const double value = worker.value(one.shares, one.route, cuts[i]);
        require_weighable(allocation.plan->routes[one.route].name, value, {});
        drawn.values[i * drawn.draws + first + d] = value;
      }
    }
  }
  for (std::size_t i : which) drawn.means.push_back(mean_of(drawn, {{i, 1}}));
  return drawn;
}

namespace {

std::vector<double> sums_of(const DrawnValues& drawn, const std::vector<Picked>& picked) {
  std::vector<double> sums(drawn.draws);
  for (const Picked& one : picked) {
    if (drawn.row_of[one.candidate] < 0) continue;
    const double* const values =
        &drawn.values[static_cast<std::size_t>(drawn.row_of[one.candidate]) * drawn.draws];
    for (std::size_t d = 0; d < drawn.draws; ++d) sums[d] += one.times * values[d];
  }
  return sums;
}

}  // namespace

double mean_of(const DrawnValues& drawn, const std::vector<Picked>& picked) {
  const std::vector<double> sums = sums_of(drawn, picked);
  return std::accumulate(sums.begin(), sums.end(), 0.0) / static_cast<double>(drawn.draws);
}

double worst_mean_of(const DrawnValues& drawn, const std::vector<Picked>& picked) {
  std::vector<double> sums = sums_of(drawn, picked);
  std::sort(sums.begin(), sums.end());
  const std::size_t count = worst_of(drawn.draws);
  return std::accumulate(sums.begin(), sums.begin() + static_cast<std::ptrdiff_t>(count), 0.0) /
         static_cast<double>(count);
}

}  // namespace buttonworth
