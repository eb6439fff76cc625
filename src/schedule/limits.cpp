#include "schedule/limits.hpp"

#include <algorithm>

namespace buttonworth {
namespace {

/// Steps that take time, each with the hours it has.
void add_hours(const Allocation& allocation, std::vector<Limit>& limits) {
  for (std::size_t step = 0; step < allocation.plan->steps.size(); ++step) {
    Limit limit{.kind = LimitKind::hours, .of = step};
    if (allocation.period) limit.most = *allocation.period / working_days(*allocation.plan, 1);
    for (std::size_t i = 0; i < allocation.capacities.size(); ++i) {
      const Capacity& capacity = allocation.capacities[i];
      if (capacity.step != step || !capacity.hours) continue;
      limit.most = std::min(limit.most, *capacity.hours);
      limit.stated = i;
    }
    if (limit.most < Limit::none) limits.push_back(limit);
  }
  for (std::size_t i = 0; i < allocation.capacities.size(); ++i)
    if (const auto& melts = allocation.capacities[i].melts)
      limits.push_back(
          {.kind = LimitKind::melts, .of = allocation.capacities[i].step, .most = *melts, .stated = i});
}

void add_buyers(const Allocation& allocation, std::vector<Limit>& limits) {
  for (std::size_t i = 0; i < allocation.buyers.size(); ++i) {
    const BuyerLimits& buyer = allocation.buyers[i];
    auto add = [&](LimitKind kind, const std::optional<double>& least, const std::optional<double>& most) {
      Limit limit{.kind = kind, .of = buyer.terms, .buyer = i, .stated = i};
      if (least && *least > 0) {
        limit.least = *least;
        limits.push_back(limit);
        limit.least = -Limit::none;
      }
      if (!most) return;
      limit.most = *most;
      limits.push_back(limit);
    };
    add(LimitKind::shipments, buyer.least_shipments, buyer.most_shipments);
    add(LimitKind::mass, buyer.least_mass, buyer.most_mass);
  }
}

/// On hand is most on the days on which lots come in: as much must have left by then as is too much.
void add_metal(const Allocation& allocation, std::vector<Limit>& limits) {
  const Plan& plan = *allocation.plan;
  const Scenario<double> s(plan.quantities, plan.discount);
  std::vector<std::pair<double, const LotPart*>> coming;
  for (std::size_t i = 0; i < allocation.lots.size(); ++i)
    coming.emplace_back(allocation.lots[i].ready, &plan.lot.parts[i]);
  std::stable_sort(coming.begin(), coming.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  for (std::size_t k = 0; k < allocation.on_hand.size(); ++k) {
    const MetalLimit& metal = allocation.on_hand[k];
    double come = 0;
    for (std::size_t i = 0; i < coming.size(); ++i) {
      come += blend(plan, *coming[i].second, s).content[metal.analyte];
      const bool last_of_day = i + 1 == coming.size() || coming[i + 1].first > coming[i].first;
      if (!last_of_day || at_most(come, metal.most)) continue;
      limits.push_back({.kind = LimitKind::gone,
                        .of = metal.analyte,
                        .day = coming[i].first,
                        .least = come - metal.most,
                        .stated = k,
                        .full = come});
    }
  }
}

double gone_by(double day, Analyte analyte, const Outcome& outcome, double later) {
  if (at_most(outcome.last_day + later, day)) return outcome.fed[analyte] - outcome.kept[analyte];
  double gone = 0;
  for (const Delivered& one : outcome.deliveries)
    if (at_most(one.day + later, day)) gone += one.content[analyte];
  return gone;
}

double cash_by(double day, const Outcome& outcome, double later) {
  double sum = 0;
  for (const Movement<double>& one : outcome.cash)
    if (at_most(one.day + later, day)) sum += one.amount;
  return sum;
}

void require_weighable(const Allocation& allocation, const Limit& limit) {
  for (double figure : {limit.least, limit.most})
    if (std::abs(figure) != Limit::none && !is_weighable(figure))
      throw Error(Code::range,
                  limit_name(allocation, limit) +
                      ": a limit of 10^15 or more cannot be kept or missed; leave it out, or look "
                      "for a wrong unit or power of ten");
}

}  // namespace

std::vector<Limit> limits_of(const Allocation& allocation) {
  std::vector<Limit> limits;
  add_hours(allocation, limits);
  add_buyers(allocation, limits);
  for (std::size_t i = 0; i < allocation.cash.size(); ++i)
    limits.push_back({.kind = LimitKind::cash,
                      .day = allocation.cash[i].by,
                      .least = allocation.cash[i].amount,
                      .stated = i});
  add_metal(allocation, limits);
  for (const Limit& limit : limits) require_weighable(allocation, limit);
  return limits;
}

double share_of(const Limit& limit, const Outcome& outcome, double later) {
  double sum = 0;
  switch (limit.kind) {
    case LimitKind::hours:
      for (const Pass& pass : outcome.passes) sum += pass.step == limit.of ? pass.hours : 0;
      return sum;
    case LimitKind::melts:
      for (const Pass& pass : outcome.passes) sum += pass.step == limit.of ? pass.melts : 0;
      return sum;
    case LimitKind::shipments:
      for (const Delivered& one : outcome.deliveries) sum += one.terms == limit.of ? 1 : 0;
      return sum;
    case LimitKind::mass:
      for (const Delivered& one : outcome.deliveries) sum += one.terms == limit.of ? one.wet : 0;
      return sum;
    case LimitKind::cash: return cash_by(limit.day, outcome, later);
    case LimitKind::gone: return gone_by(limit.day, static_cast<Analyte>(limit.of), outcome, later);
  }
  return sum;
}

std::string limit_name(const Allocation& allocation, const Limit& limit) {
  const Plan& plan = *allocation.plan;
  switch (limit.kind) {
    case LimitKind::hours: return "hours of " + plan.steps[limit.of].basics.name;
    case LimitKind::melts: return "melts of " + plan.steps[limit.of].basics.name;
    case LimitKind::shipments: return "shipments to " + plan.terms[limit.of].name;
    case LimitKind::mass: return "mass to " + plan.terms[limit.of].name;
    case LimitKind::cash: return "cash by day " + to_text(limit.day);
    case LimitKind::gone: return plan.analytes[limit.of] + " on hand on day " + to_text(limit.day);
  }
  return "";
}

}  // namespace buttonworth
