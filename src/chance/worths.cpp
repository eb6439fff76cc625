#include "chance/worths.hpp"

#include <algorithm>

namespace buttonworth {

Worths::Worths(const Plan& plan, WorthOptions options, std::vector<Quantity> set, const Watch& watch)
    : plan_(plan),
      options_(std::move(options)),
      watch_(watch),
      figures_(plan.quantities, plan.analytes, plan.currency),
      decimal_figures_(plan.quantities, plan.analytes, plan.currency),
      altered_(plan, std::move(set)),
      plan_cuts_(plan) {
  if (options_.routes.empty())
    for (std::size_t i = 0; i < plan.routes.size(); ++i) options_.routes.push_back(i);
  searches_ = std::any_of(options_.routes.begin(), options_.routes.end(),
                          [&](std::size_t i) { return !plan.routes[i].searched.empty(); });
}

std::vector<double> Worths::means() const {
  std::vector<double> values;
  for (Quantity q : altered_.set()) values.push_back(to_double(plan_.quantities[q].mean));
  return values;
}

/// The first reason of each route is kept.
void Worths::note(std::size_t route, const Error& error) {
  if (error.complaint().code == Code::cancelled) throw error;
  const bool known = std::any_of(impossible_.begin(), impossible_.end(),
                                 [&](const ImpossibleRoute& one) { return one.route == route; });
  if (!known) impossible_.push_back({route, error.complaint().text, values_});
}

template <Scalar N>
std::optional<N> Worths::worth(std::size_t i, const Prepared<N>& prepared, CutFinder& finder,
                               const Figures<N>& figures) {
  try {
    const FoundCuts<N> cuts = find_cuts<N>(plan_, route(i), finder, watch_);
    if (!cuts.refused.empty()) return std::nullopt;
    return route_worth(prepared, route(i), cuts.held, figures);
  } catch (const Error& error) {
    note(i, error);
    return std::nullopt;
  }
}

/// Whether there is a plan at these values.
bool Worths::put(const std::vector<double>& values) {
  watch_.keep_going();
  values_ = values;
  auto fault = altered_.put(values);
  if (fault && !fault_) fault_ = Fault{std::move(*fault), values};
  return !fault;
}

std::vector<double> Worths::at(const std::vector<double>& values) {
  std::vector<double> worths(options_.routes.size(), nothing);
  if (!put(values)) return worths;
  CutFinder again(altered_.prepared());
  CutFinder& finder = searches_again() ? again : plan_cuts_;
  for (std::size_t i = 0; i < worths.size(); ++i)
    if (const auto found = worth(i, altered_.prepared(), finder, figures_); found && std::isfinite(*found))
      worths[i] = *found;
  return worths;
}

std::vector<std::optional<Decimal>> Worths::in_decimal(const std::vector<Decimal>& values) {
  if (!decimal_) decimal_ = std::make_unique<AlteredPlan<Decimal>>(plan_, altered_.set());
  std::vector<std::optional<Decimal>> worths(options_.routes.size());
  std::vector<double> in_double;
  for (const Decimal& one : values) in_double.push_back(to_double(one));
  if (!put(in_double) || decimal_->put(values)) return worths;
  CutFinder again(altered_.prepared());
  CutFinder& finder = searches_again() ? again : plan_cuts_;
  for (std::size_t i = 0; i < worths.size(); ++i)
    worths[i] = worth(i, decimal_->prepared(), finder, decimal_figures_);
  return worths;
}

std::optional<std::size_t> best_of(const std::vector<double>& worths) {
  const auto best = std::max_element(worths.begin(), worths.end());
  if (best == worths.end() || *best == Worths::nothing) return std::nullopt;
  return static_cast<std::size_t>(best - worths.begin());
}

std::optional<std::size_t> next_to(const std::vector<double>& worths, std::size_t best) {
  std::optional<std::size_t> next;
  for (std::size_t i = 0; i < worths.size(); ++i)
    if (i != best && worths[i] != Worths::nothing && (!next || worths[i] > worths[*next])) next = i;
  return next;
}

}  // namespace buttonworth
