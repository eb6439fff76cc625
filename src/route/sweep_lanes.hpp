// The sweep in lanes of type L; included by one file for each instruction set.
#pragma once

#include <cmath>

#include "route/sweep.hpp"
#include "route/walk.hpp"

namespace buttonworth {

/// Sums over a block of pulls. Which rules refuse is kept as a sum of powers of two, so that a
/// search sees where the reason changes between two refused pulls.
template <class L>
struct SweepTally : Tally<L> {
  explicit SweepTally(const Prepared<double>& plain) : plain(&plain) {}

  const Prepared<double>* plain;
  L refusals = L(0);
  double next_rule = 1;

  template <class Reason>
  void refuse(const Mask<L>& where, Reason&& reason) {
    Tally<L>::refuse(where, reason);
    refusals += choose(both(where, this->live), L(next_rule), L(0));
    next_rule = next_rule < 1e12 ? next_rule * 2 : 1;
  }

  /// A cut by grade or recovery is solved lane by lane; a lane that never reaches it is impossible.
  L solve(const Plan&, std::size_t step, const Table& table, const TableCurves<L>&, const Stream<L>& feed,
          const Scenario<L>&) {
    L pulls(0.5), failed(0.0);
    Contents<double> content(feed.content.size(), 0.0);
    for (int lane = 0; lane < L::size; ++lane) {
      if (!this->live[lane]) continue;
      for (std::size_t a = 0; a < content.size(); ++a) content[a] = feed.content[a][lane];
      const auto pull = solve_lane(*plain, step, table, feed.dry[lane], content.data());
      if (pull) pulls.set(lane, *pull);
      else failed.set(lane, 1.0);
    }
    this->impossible(failed > 0.0, [](const auto&) { return Error(Code::grade, {}); });
    return pulls;
  }
};

/// A stream that is the same in every lane.
template <class L>
Stream<L> in_lanes(const Stream<double>& one) {
  Stream<L> stream;
  stream.dry = L(one.dry), stream.water = L(one.water);
  stream.day = L(one.day), stream.discount = L(one.discount);
  stream.kind = one.kind;
  for (const double content : one.content) stream.content.push_back(L(content));
  return stream;
}

template <class L>
class LaneSweep : public Sweep {
 public:
  explicit LaneSweep(const Prepared<double>& plain)
      : plain_(plain), lanes_(*plain.plan, Scenario<L>(plain.scenario)) {
    lanes_.lot = in_lanes<L>(plain.lot);  // which need not be the plan's: a shipment has its own
    for (std::size_t i = 0; i < plain.apart.size(); ++i) lanes_.apart[i] = in_lanes<L>(plain.apart[i]);
  }

  void evaluate(const Route& route, std::vector<SweepPoint>& points) const override {
    const std::size_t size = L::size;
    for (std::size_t first = 0; first < points.size(); first += size)
      evaluate_block(route, &points[first], points.size() - first < size ? points.size() - first : size);
  }

 private:
  void evaluate_block(const Route& route, SweepPoint* points, std::size_t count) const {
    HeldCuts<L> held(route.tables.size());
    for (std::size_t i = 0; i < route.searched.size(); ++i) {
      L& pulls = held[route.searched[i]].emplace(points[0].pulls[i]);
      for (std::size_t lane = 0; lane < count; ++lane)
        pulls.set(static_cast<int>(lane), points[lane].pulls[i]);
    }
    SweepTally<L> tally(plain_);
    Walk<L, SweepTally<L>>(lanes_, held, tally).searched_ways(route);
    for (std::size_t lane = 0; lane < count; ++lane) {
      const int l = static_cast<int>(lane);
      const double value = tally.present_value[l];
      const bool counts = !tally.refused_mask[l] && !tally.impossible_mask[l] && std::isfinite(value);
      points[lane].value = counts ? value : SweepPoint::nothing;
      points[lane].impossible = tally.impossible_mask[l];
      points[lane].refusals = tally.refusals[l];
    }
  }

  const Prepared<double>& plain_;
  Prepared<L> lanes_;
};

}  // namespace buttonworth
