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

/// Present value of one node's doing over a block of draws.
template <class L>
struct DrawTally {
  static constexpr bool keeps_lines = false;

  L present_value = L(0);
  Mask<L> refused_mask = Mask<L>(false);
  Mask<L> impossible_mask = Mask<L>(false);
  Mask<L> live = Mask<L>(true);  ///< where any mass comes to the node

  void cash(const L& amount, const L& /*day*/, const L& discount) {
    present_value += choose(live, L(amount * discount), L(0));
  }
  void credit(const L& amount, const L& day, const L& discount) { cash(amount, day, discount); }
  template <class Reason>
  void refuse(const Mask<L>& where, Reason&&) {
    refused_mask = either(refused_mask, both(where, live));
  }
  template <class Fault>
  void impossible(const Mask<L>& where, Fault&&) {
    impossible_mask = either(impossible_mask, both(where, live));
  }
  template <class How>
  void line(const LineName&, const L&, const L&, How&&) {}

  /// A pull that the plan states is what it is in this draw. Any other cut was found at the plan's values: a
  /// stream that was not there then has none.
  L solve(const Plan&, std::size_t, const Table& table, const TableCurves<L>&, const Stream<L>&,
          const Scenario<L>& s) {
    if (table.cut.how == Cut::How::pull) return s[table.cut.target];
    impossible(Mask<L>(true), [](const auto&) { return Error(Code::grade, {}); });
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
    for (const SharedNode& one : drawn.nodes->nodes())
      held_.push_back(one.held ? std::optional(L(*one.held)) : std::nullopt);
    outputs_.resize(held_.size());
    tallies_.resize(held_.size());
    std::erase_if(changes_.curves, [&](const Changes::Curve& one) { return !takes_step(one.step); });
  }

  void work(std::int64_t first, std::size_t count, DrawBlock& block) override {
    const std::size_t routes = drawn_.routes, dimensions = drawing_.dimensions().size();
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

  /// Whether a route comes to this step: the curves of a table left alone may be what they like.
  bool takes_step(std::size_t step) const {
    const auto& nodes = drawn_.nodes->nodes();
    return std::any_of(nodes.begin(), nodes.end(), [&](const SharedNode& one) {
      const Worked* const worked = one.node != nullptr ? std::get_if<Worked>(&one.node->what) : nullptr;
      return worked != nullptr && worked->step == step;
    });
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
    for (std::size_t i = 0; i < held_.size(); ++i) work_node(i);
    Mask<L> broken = broken_beforehand();
    for (std::size_t r = 0; r < drawn_.routes; ++r) {
      const DrawTally<L> sum = sum_of(drawn_.nodes->of_route(r));
      broken = either(broken, sum.impossible_mask);
      const L worth = choose(sum.refused_mask, L(0), sum.present_value);
      // What is no number is no figure of any world.
      broken = either(broken, no(abs(worth) <= L(1e300)));
      for (std::size_t lane = 0; lane < some; ++lane)
        block.worth[(at + lane) * block.routes + r] = worth[static_cast<int>(lane)];
      if (any(sum.refused_mask))
        for (std::size_t lane = 0; lane < some; ++lane)
          block.refused[(at + lane) * block.routes + r] = sum.refused_mask[static_cast<int>(lane)];
    }
    if (any(broken))
      for (std::size_t lane = 0; lane < some; ++lane)
        block.broken[at + lane] = broken[static_cast<int>(lane)];
  }

  /// The stream that comes to a node; nothing where no mass came to what makes it.
  const Stream<L>* feed_of(const SharedNode& node) const {
    if (node.from == SharedNode::lot) return &prepared_.lot;
    if (node.from == SharedNode::pieces) return &prepared_.apart[node.output];
    const Outputs<L>& made = outputs_[node.from];
    return node.output < made.size() ? &made[node.output] : nullptr;
  }

  void work_node(std::size_t i) {
    const SharedNode& node = drawn_.nodes->nodes()[i];
    DrawTally<L>& tally = tallies_[i];
    tally = {};
    outputs_[i].clear();
    const Stream<L>* const feed = feed_of(node);
    if (feed == nullptr) return;
    tally.live = feed->dry > L(0);
    if (!any(tally.live)) return;
    NodeWork<L, DrawTally<L>> work(prepared_, tally);
    if (node.node == nullptr) return work.missing(tally.live);
    if (auto* worked = std::get_if<Worked>(&node.node->what))
      outputs_[i] = work.outputs(*worked, *feed, held_[i]);
    else if (auto* sold = std::get_if<SoldTo>(&node.node->what)) work.end(*sold, *feed);
    else if (auto* returned = std::get_if<Returned>(&node.node->what)) work.end(*returned, *feed);
  }

  DrawTally<L> sum_of(const std::vector<std::size_t>& nodes) const {
    const Plan& plan = *drawn_.plan;
    DrawTally<L> sum;
    if (plan.lot.credited) sum.credit(L(-prepared_.scenario[*plan.lot.credited]), L(0), L(1));
    for (std::size_t i : nodes) {
      const DrawTally<L>& one = tallies_[i];
      sum.present_value += one.present_value;
      sum.refused_mask = either(sum.refused_mask, one.refused_mask);
      sum.impossible_mask = either(sum.impossible_mask, one.impossible_mask);
    }
    return sum;
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
  // By shared node.
  std::vector<std::optional<L>> held_;
  std::vector<Outputs<L>> outputs_;
  std::vector<DrawTally<L>> tallies_;
};

}  // namespace buttonworth
