// The drawing and working of a plan in lanes of type L; included by one file for each instruction set.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>

#include "chance/model.hpp"
#include "chance/normal_score.hpp"
#include "chance/uniform.hpp"
#include "route/walk.hpp"

namespace buttonworth {

/// Present values over a block of draws.
template <class L>
struct DrawTally : Tally<L> {
  void cash(const L& amount, const L& /*day*/, const L& discount) {
    this->present_value += choose(this->live, L(amount * discount), L(0));
  }
  void credit(const L& amount, const L& day, const L& discount) { cash(amount, day, discount); }

  /// A pull that the plan states is what it is in this draw. Any other cut was found at the plan's values: a
  /// stream that was not there then has none.
  L solve(const Plan&, std::size_t, const Table& table, const TableCurves<L>&, const Stream<L>&,
          const Scenario<L>& s) {
    if (table.cut.how == Cut::How::pull) return s[table.cut.target];
    this->impossible(Mask<L>(true), [](const auto&) { return Error(Code::grade, {}); });
    return L(0.5);
  }
};

template <class L>
class LaneWorker : public DrawWorker {
 public:
  explicit LaneWorker(const DrawnPlan& drawn)
      : drawn_(drawn),
        drawing_(*drawn.drawing),
        prepared_(*drawn.plan, Scenario<L>(drawn.means->scenario)),
        changes_(*drawn.plan, drawn_quantities(*drawn.drawing)),
        own_(drawn.plan->quantities.size(), L(0)),
        share_(drawing_.dimensions().size(), L(0)),
        score_(drawing_.dimensions().size(), L(0)),
        fixed_(drawing_.dimensions().size()) {
    for (std::uint32_t i = 1; i < own_.size(); ++i) own_[i] = number<L>(drawn.plan->quantities.at(i).mean);
    for (const HeldRoute& one : drawn.routes) {
      auto& held = held_.emplace_back(one.held.size());
      for (std::size_t visit = 0; visit < held.size(); ++visit)
        if (one.held[visit]) held[visit] = L(*one.held[visit]);
    }
  }

  void work(std::int64_t first, std::size_t count, DrawBlock& block) override {
    const std::size_t routes = drawn_.routes.size(), dimensions = drawing_.dimensions().size();
    block.count = count;
    block.routes = routes;
    block.worth.resize(count * routes);
    block.refused.assign(count * routes, 0);
    block.broken.assign(count, 0);
    block.classes.resize(count * dimensions);
    if (drawn_.keeps_values) block.values.resize(count * drawing_.inputs().size());
    for (std::size_t at = 0; at < count; at += lanes) {
      const std::size_t some = std::min(lanes, count - at);
      draw(first + static_cast<std::int64_t>(at), at, some, block);
      work_out_changes(changes_, prepared_, [&](Quantity q) { return own_[q.index]; });
      work_routes(at, some, block);
    }
  }

  void fix(std::size_t dimension, double z) override { fixed_[dimension] = z; }

 private:
  static constexpr std::size_t lanes = L::size;

  static std::vector<Quantity> drawn_quantities(const Drawing& drawing) {
    std::vector<Quantity> drawn;
    for (const Input& input : drawing.inputs()) drawn.push_back(input.quantity);
    return drawn;
  }

  // ---- Drawing ---------------------------------------------------------------------------------

  void draw(std::int64_t first, std::size_t at, std::size_t some, DrawBlock& block) {
    for (std::size_t d = 0; d < share_.size(); ++d) draw_dimension(d, first, at, some, block);
    drawing_.copula().couple(score_.data());
    for (std::size_t d = 0; d < share_.size(); ++d)
      if (drawing_.dimensions()[d].coupled)
        for (std::size_t lane = 0; lane < some; ++lane)
          block.classes[d * block.count + at + lane] = class_of_score(score_[d][static_cast<int>(lane)]);
    for (std::size_t i = 0; i < drawing_.inputs().size(); ++i) set_input(i, at, some, block);
  }

  void draw_dimension(std::size_t d, std::int64_t first, std::size_t at, std::size_t some, DrawBlock& block) {
    std::uint64_t bits[lanes];
    draw_bits(d, static_cast<std::uint64_t>(first), bits);
    share_[d] = open_units<L>(bits);
    for (std::size_t lane = 0; lane < some; ++lane)
      block.classes[d * block.count + at + lane] = static_cast<std::uint8_t>(bits[lane] >> 46);
    if (fixed_[d]) {
      score_[d] = L(*fixed_[d]);
      share_[d] = L(normal_share(*fixed_[d]));
    } else if (drawing_.dimensions()[d].by_score) {
      score_[d] = normal_score(share_[d]);
    }
  }

  void draw_bits(std::size_t d, std::uint64_t first, std::uint64_t (&bits)[lanes]) const {
    if (drawing_.numbers().method == DrawMethod::philox) {
      for (std::size_t lane = 0; lane < lanes; lane += 2) {
        const auto pair =
            philox_pair(drawing_.numbers().seed, static_cast<std::uint32_t>(d), (first + lane) / 2, 0);
        bits[lane] = pair[0];
        bits[lane + 1] = pair[1];
      }
      return;
    }
    const auto draws = static_cast<std::uint64_t>(drawing_.part_draws());
    const SobolDimension& points = drawing_.sobol(first / draws, d);
    for (std::size_t lane = 0; lane < lanes; ++lane) bits[lane] = points.at(first % draws + lane);
  }

  void set_input(std::size_t i, std::size_t at, std::size_t some, DrawBlock& block) {
    const Input& input = drawing_.inputs()[i];
    const std::size_t d = input.dimension;
    const bool by_score = drawing_.dimensions()[d].coupled || input.marginal.wants_score();
    const L value = by_score ? input.marginal.from_score(score_[d]) : input.marginal.from_share(share_[d]);
    own_[input.quantity.index] = value;
    prepared_.scenario.put(input.quantity, value);
    if (!drawn_.keeps_values) return;
    for (std::size_t lane = 0; lane < some; ++lane)
      block.values[i * block.count + at + lane] = value[static_cast<int>(lane)];
  }

  // ---- Working ---------------------------------------------------------------------------------

  void work_routes(std::size_t at, std::size_t some, DrawBlock& block) {
    Mask<L> broken = broken_beforehand();
    for (std::size_t r = 0; r < held_.size(); ++r) {
      DrawTally<L> tally;
      Walk<L, DrawTally<L>>(prepared_, held_[r], tally).route(*drawn_.routes[r].route);
      broken = either(broken, tally.impossible_mask);
      const L worth = choose(tally.refused_mask, L(0), tally.present_value);
      // What is no number is no figure of any world.
      broken = either(broken, no(abs(worth) <= L(1e300)));
      for (std::size_t lane = 0; lane < some; ++lane)
        block.worth[(at + lane) * block.routes + r] = worth[static_cast<int>(lane)];
      if (any(tally.refused_mask))
        for (std::size_t lane = 0; lane < some; ++lane)
          block.refused[(at + lane) * block.routes + r] = tally.refused_mask[static_cast<int>(lane)];
    }
    if (any(broken))
      for (std::size_t lane = 0; lane < some; ++lane)
        block.broken[at + lane] = broken[static_cast<int>(lane)];
  }

  /// More analytes than mass in the lot or in pieces apart; recoveries that fall, pulls that do not rise.
  Mask<L> broken_beforehand() const {
    Mask<L> broken(false);
    if (changes_.lot)
      broken = either(broken, no(at_least(prepared_.lot.gangue(), L(prepared_.lot.dry * -1e-12))));
    for (std::size_t i : changes_.pieces)
      broken = either(broken, no(at_least(prepared_.apart[i].gangue(), L(prepared_.apart[i].dry * -1e-12))));
    for (const auto& [step, entry] : changes_.curves)
      for (const CurvePiece<L>& piece : prepared_.curves[step][entry]->pieces())
        broken = either(broken, either(piece.end <= piece.start, piece.at(piece.end) < piece.r - 1e-12));
    return broken;
  }

  const DrawnPlan& drawn_;
  const Drawing& drawing_;
  Prepared<L> prepared_;
  Changes changes_;
  std::vector<L> own_;  // in the currency a quantity is stated in
  std::vector<L> share_, score_;
  std::vector<std::optional<double>> fixed_;
  std::vector<HeldCuts<L>> held_;
};

}  // namespace buttonworth
