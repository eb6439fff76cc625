#include "chance/sensitivity.hpp"

#include <algorithm>

#include "chance/marginal.hpp"

namespace buttonworth {
namespace {

/// Steps, relative to the quantity: of a slope, and beyond the edge of a decision, whose width is 1 part in
/// 10^12 of what is decided, of which the quantity may be a thousandth.
const Decimal& slope_step() { return power_of_ten(-20); }
const Decimal& beyond_edge() { return power_of_ten(-9); }
/// Slopes that differ by less only bend; values, of the size of the route's.
const Decimal& same_slope() { return power_of_ten(-6); }
const Decimal& same_value() { return power_of_ten(-13); }

using Worth = std::vector<std::optional<Decimal>>;  // by route; none where refused or impossible

Decimal size(const std::optional<Decimal>& x) { return x ? Decimal(abs(*x)) : Decimal(0); }

/// The routes around one value of a quantity. A side beyond its range, or beyond what the plan could be read
/// with, is not there.
struct Around {
  Decimal step, edge;
  Worth here;
  std::optional<Worth> below, above;            ///< a step away
  std::optional<Worth> edge_below, edge_above;  ///< beyond the edge
  std::optional<Worth> past_below, past_above;  ///< a step further
};

class Study {
 public:
  Study(const Plan& plan, const SensitivityOptions& options, const Watch& watch)
      : plan_(plan),
        options_(options),
        watch_(watch),
        figures_(plan.quantities, plan.analytes, plan.currency) {
    result_.routes = options.routes;
    if (result_.routes.empty())
      for (std::size_t i = 0; i < plan.routes.size(); ++i) result_.routes.push_back(i);
  }

  Sensitivity run() {
    find_plan_worths();
    const auto sets = wanted();
    for (std::size_t i = 0; i < sets.size(); ++i) {
      study(sets[i]);
      watch_.progress(static_cast<std::int64_t>(i) + 1, static_cast<std::int64_t>(sets.size()));
    }
    std::stable_sort(result_.quantities.begin(), result_.quantities.end(), matters_more);
    return std::move(result_);
  }

 private:
  const Route& route(std::size_t i) const { return plan_.routes[result_.routes[i]]; }

  /// What moves together has one entry, where it is met first.
  std::vector<std::vector<Quantity>> wanted() const {
    std::vector<std::vector<Quantity>> sets;
    if (!options_.of.empty())
      for (const auto& set : options_.of) sets.push_back(with_same(set));
    else
      for (std::uint32_t i = 1; i < plan_.quantities.size(); ++i)
        if (!plan_.quantities.at(i).place.empty()) sets.push_back(with_same({Quantity{i}}));
    std::vector<std::vector<Quantity>> once;
    for (auto& set : sets)
      if (std::none_of(once.begin(), once.end(), [&](const auto& had) { return holds(had, set.front()); }))
        once.push_back(std::move(set));
    return once;
  }
  static bool holds(const std::vector<Quantity>& set, Quantity q) {
    return std::any_of(set.begin(), set.end(), [&](Quantity one) { return one.index == q.index; });
  }
  std::vector<Quantity> with_same(std::vector<Quantity> set) const {
    for (std::size_t i = 0; i < set.size(); ++i)
      for (const auto& list : options_.same)
        if (holds(list, set[i]))
          for (Quantity one : list)
            if (!holds(set, one)) set.push_back(one);
    return set;
  }

  /// Best cuts as they are found at the means, held from here on.
  void find_plan_worths() {
    const Prepared<Decimal> prepared(plan_);
    CutFinder finder(plan_);
    for (std::size_t i = 0; i < result_.routes.size(); ++i) {
      FoundCuts<Decimal> cuts;
      try {
        cuts = find_cuts<Decimal>(plan_, route(i), finder, watch_);
        result_.worth.push_back(cuts.refused.empty() ? route_worth(prepared, route(i), cuts.held, figures_)
                                                     : std::nullopt);
      } catch (const Error& error) {
        if (error.complaint().code == Code::cancelled) throw;
        result_.worth.emplace_back();
        result_.cautions.push_back({route(i).name, "cannot be worked out: " + error.complaint().text});
      }
      held_.push_back(std::move(cuts.held));
    }
    for (std::size_t i = 0; i < result_.worth.size(); ++i)
      if (result_.worth[i] && (!result_.best || *result_.worth[i] > *result_.worth[*result_.best]))
        result_.best = i;
    for (std::size_t i = 0; i < result_.worth.size(); ++i)
      if (result_.best && i != *result_.best && result_.worth[i] &&
          (!result_.next || *result_.worth[i] > *result_.worth[*result_.next]))
        result_.next = i;
  }

  // ---- One quantity ----------------------------------------------------------------------------

  Decimal mean(const std::vector<Quantity>& set) const { return plan_.quantities[set.front()].mean; }

  /// Nothing where the fields or the plan do not allow the values.
  std::optional<Worth> worth_at(AlteredPlan<Decimal>& altered, const std::vector<Decimal>& values) const {
    watch_.keep_going();
    for (std::size_t i = 0; i < values.size(); ++i)
      if (!in_range(values[i], plan_.quantities[altered.set()[i]].allowed)) return std::nullopt;
    if (altered.put(values)) return std::nullopt;
    Worth worth(result_.routes.size());
    for (std::size_t i = 0; i < worth.size(); ++i) {
      if (!result_.worth[i]) continue;
      try {
        worth[i] = route_worth(altered.prepared(), route(i), held_[i], figures_);
      } catch (const Error& error) {
        if (error.complaint().code == Code::cancelled) throw;
      }
    }
    return worth;
  }

  Around look_around(AlteredPlan<Decimal>& altered, const std::vector<Quantity>& set) const {
    const Decimal x = mean(set);
    const Decimal scale = x == 0 ? plan_.quantities[set.front()].unit_factor : Decimal(abs(x));
    const auto moved_by = [&](const Decimal& shift) {
      std::vector<Decimal> values;
      for (Quantity q : set) values.push_back(plan_.quantities[q].mean + shift);
      return worth_at(altered, values);
    };
    Around a{scale * slope_step(), scale * beyond_edge(), result_.worth, {}, {}, {}, {}, {}, {}};
    a.below = moved_by(-a.step);
    a.above = moved_by(a.step);
    a.edge_below = moved_by(-a.edge);
    a.edge_above = moved_by(a.edge);
    a.past_below = moved_by(-a.edge - a.step);
    a.past_above = moved_by(a.edge + a.step);
    return a;
  }

  /// (b − a) ÷ step of one route, where both are there.
  static std::optional<Decimal> slope(const std::optional<Worth>& a, const std::optional<Worth>& b,
                                      std::size_t i, const Decimal& step) {
    if (!a || !b || !(*a)[i] || !(*b)[i]) return std::nullopt;
    return Decimal((*(*b)[i] - *(*a)[i]) / step);
  }

  std::optional<RouteSlope> route_slope(const Around& a, std::size_t i, const Decimal& x) const {
    if (!a.here[i]) return std::nullopt;
    const Decimal& value = *a.here[i];
    const std::optional<Worth> here = a.here;
    const auto left = slope(a.below, here, i, a.step), right = slope(here, a.above, i, a.step);
    const auto below = slope(a.past_below, a.edge_below, i, a.step);
    const auto above = slope(a.edge_above, a.past_above, i, a.step);
    RouteSlope out;
    out.refused_below = a.edge_below && !(*a.edge_below)[i];
    out.refused_above = a.edge_above && !(*a.edge_above)[i];
    find_jump(out.jump_below, a.edge_below, i, value, below, Decimal(-a.edge));
    find_jump(out.jump_above, a.edge_above, i, value, above, a.edge);
    const bool kink = below && above && differ(*below, *above);
    if (kink) out.below = below, out.above = above;
    else out.slope = central(left, right, below, above);
    if (out.slope && value != 0) out.elasticity = *out.slope * x / value;
    const bool depends = kink || out.refused_below || out.refused_above || out.jump_below || out.jump_above ||
                         (out.slope && *out.slope != 0);
    return depends ? std::optional(out) : std::nullopt;
  }

  static bool differ(const Decimal& a, const Decimal& b) {
    return abs(a - b) > same_slope() * std::max(Decimal(abs(a)), Decimal(abs(b)));
  }
  /// Both sides at once, or the one that is there; a kink within the edge leaves those beyond it, which
  /// agree.
  static std::optional<Decimal> central(const std::optional<Decimal>& left,
                                        const std::optional<Decimal>& right,
                                        const std::optional<Decimal>& below,
                                        const std::optional<Decimal>& above) {
    if (left && right && !differ(*left, *right)) return Decimal((*left + *right) / 2);
    if (left && right && below && above) return Decimal((*below + *above) / 2);
    if (left && right) return below ? left : right;
    return left ? left : right;
  }
  void find_jump(std::optional<Decimal>& out, const std::optional<Worth>& there, std::size_t i,
                 const Decimal& value, const std::optional<Decimal>& slope, const Decimal& way) const {
    if (!there || !(*there)[i] || !slope) return;
    const Decimal jump = *(*there)[i] - value - *slope * way;
    const Decimal scale = std::max(Decimal(abs(value)), Decimal(abs(*slope * way) / beyond_edge()));
    if (abs(jump) > scale * same_value()) out = jump;
  }

  void study(const std::vector<Quantity>& set) {
    AlteredPlan<Decimal> altered(plan_, set);
    const Around around = look_around(altered, set);
    QuantitySensitivity one{set, {}, {}, {}, {}};
    for (std::size_t i = 0; i < result_.routes.size(); ++i)
      one.routes.push_back(route_slope(around, i, mean(set)));
    add_lead(one);
    add_range(altered, one);
    const bool matters =
        std::any_of(one.routes.begin(), one.routes.end(), [](const auto& r) { return r.has_value(); }) ||
        (one.range && one.swing() != Decimal(0));
    if (matters) result_.quantities.push_back(std::move(one));
    else result_.without_effect.push_back(set);
  }

  void add_lead(QuantitySensitivity& one) const {
    if (!result_.best || !result_.next) return;
    const auto slope_of = [&](std::size_t i) -> std::optional<Decimal> {
      return one.routes[i] ? one.routes[i]->slope : std::optional(Decimal(0));
    };
    const auto best = slope_of(*result_.best), next = slope_of(*result_.next);
    if (!best || !next) return;
    one.lead = *best - *next;
    one.lead_per_share = *one.lead * mean(one.quantities);
  }

  /// Of several that move together, the ends of the first; each is at its own.
  void add_range(AlteredPlan<Decimal>& altered, QuantitySensitivity& one) const {
    const StatedQuantity& stated = plan_.quantities[one.quantities.front()];
    if (!stated.spread || !result_.best || !result_.next) return;
    const Marginal marginal = Marginal::of(stated);
    if (marginal.certain()) return;
    one.range = {marginal.quantile(0.025), marginal.quantile(0.975), lead_at(altered, 0.025),
                 lead_at(altered, 0.975)};
  }
  std::optional<Decimal> lead_at(AlteredPlan<Decimal>& altered, double share) const {
    std::vector<Decimal> values;
    for (Quantity q : altered.set()) {
      const StatedQuantity& stated = plan_.quantities[q];
      values.push_back(stated.spread ? Decimal(Marginal::of(stated).quantile(share)) : stated.mean);
    }
    const auto worth = worth_at(altered, values);
    if (!worth || !(*worth)[*result_.best]) return std::nullopt;
    std::optional<Decimal> most;
    for (std::size_t i = 0; i < worth->size(); ++i)
      if (i != *result_.best && (*worth)[i] && (!most || *(*worth)[i] > *most)) most = (*worth)[i];
    if (!most) return std::nullopt;
    return Decimal(*(*worth)[*result_.best] - *most);
  }

  // ---- Order -----------------------------------------------------------------------------------

  static Decimal largest_elasticity(const QuantitySensitivity& one) {
    Decimal largest = 0;
    for (const auto& route : one.routes)
      if (route) largest = std::max(largest, size(route->elasticity));
    return largest;
  }
  /// A range in which the best route or all others drop out matters most.
  static bool matters_more(const QuantitySensitivity& a, const QuantitySensitivity& b) {
    const bool drops_a = a.range && !a.swing(), drops_b = b.range && !b.swing();
    if (drops_a != drops_b) return drops_a;
    if (size(a.swing()) != size(b.swing())) return size(a.swing()) > size(b.swing());
    if (size(a.lead_per_share) != size(b.lead_per_share))
      return size(a.lead_per_share) > size(b.lead_per_share);
    return largest_elasticity(a) > largest_elasticity(b);
  }

  const Plan& plan_;
  const SensitivityOptions& options_;
  const Watch& watch_;
  Figures<Decimal> figures_;
  std::vector<HeldCuts<Decimal>> held_;
  Sensitivity result_;
};

}  // namespace

std::optional<Decimal> QuantitySensitivity::swing() const {
  if (!range || !range->lead_low || !range->lead_high) return std::nullopt;
  return Decimal(abs(*range->lead_high - *range->lead_low));
}

void take_rounding_out(Plan& plan) {
  for (Terms& terms : plan.terms) {
    terms.rounding = Rounding();
    for (Payable& pay : terms.pay) pay.mass_step.reset();
  }
}

Sensitivity find_sensitivity(const Plan& unrounded, const SensitivityOptions& options, const Watch& watch) {
  return Study(unrounded, options, watch).run();
}

}  // namespace buttonworth
