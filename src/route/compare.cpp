#include "route/compare.hpp"

#include <algorithm>
#include <charconv>

#include "quantity/pointer.hpp"
#include "quantity/short_text.hpp"
#include "route/cash_days.hpp"

namespace buttonworth {
namespace {

template <class N>
N exact_number(double value) {
  std::array<char, 64> buffer;
  auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return number<N>(Decimal(std::string(buffer.data(), end.ptr)));
}

template <class N>
HeldCuts<N> hold(const Route& route, const Pulls& pulls) {
  HeldCuts<N> held(route.tables.size());
  for (std::size_t i = 0; i < pulls.size(); ++i) held[route.searched[i]] = exact_number<N>(pulls[i]);
  return held;
}

/// The words where a best cut stands at an end of what was searched.
void caution_ends(const Plan& plan, const Route& route, const CutSearch& search,
                  std::vector<Caution>& cautions) {
  for (std::size_t i = 0; i < route.searched.size(); ++i) {
    const auto& [low, high] = search.range[i];
    const double pull = (*search.best)[i];
    const double near = (high - low) * 1e-6;
    if (pull - low > near && high - pull > near) continue;
    const std::string& step = plan.steps[route.tables[route.searched[i]]].basics.name;
    cautions.push_back({step, "route " + route.name + ": the best cut, " + short_percent(pull) +
                                  ", stands at an end of the pulls that were searched (" +
                                  short_percent(low) + " to " + short_percent(high) +
                                  "): a test beyond it may find a better one"});
  }
}

// ---- Best cuts at a brink ------------------------------------------------------------------------

/// A pull this share of itself off the best one is as good a cut as anybody makes.
constexpr double little = 1e-4;
constexpr double much_less = 0.01;  // of what the route leaves
constexpr double worth_a_look = 1e-6;

/// One cut of a route set a little less or a little more than the best, where much falls at once.
struct Brink {
  std::size_t cut;
  bool more;
  double jump;  ///< what is lost at once; all where the route is refused
  Pulls pulls;
};

/// A cut at its best, a little off it and twice as far off.
std::vector<SweepPoint> steps_off(const CutSearch& search, std::size_t cut, double off) {
  std::vector<SweepPoint> points(3);
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].pulls = *search.best;
    points[i].pulls[cut] *= 1 + static_cast<double>(i) * off;
  }
  return points;
}

/// What falls over the first little beyond what falls over the next.
double jump_over(const std::vector<SweepPoint>& points) {
  if (points[1].value == SweepPoint::nothing) return std::numeric_limits<double>::infinity();
  return points[0].value - points[1].value - (points[1].value - points[2].value);
}

std::vector<Brink> brinks(const Sweep& sweep, const Route& route, const CutSearch& search, double leaves) {
  std::vector<Brink> found;
  for (std::size_t cut = 0; cut < search.range.size(); ++cut)
    for (const bool more : {false, true}) {
      std::vector<SweepPoint> points = steps_off(search, cut, more ? little : -little);
      const double last = points.back().pulls[cut];
      if (last < search.range[cut].first || last > search.range[cut].second) continue;
      sweep.evaluate(route, points);
      const double jump = jump_over(points);
      if (jump > worth_a_look * std::abs(leaves)) found.push_back({cut, more, jump, points[1].pulls});
    }
  return found;
}

/// The first step that takes more melts than it did: "it takes 7 melts at crucible furnace instead of 6".
template <class N>
std::string more_melts(const RouteLedger<N>& at, const RouteLedger<N>& near) {
  for (std::size_t i = 0; i < std::min(at.work.size(), near.work.size()); ++i) {
    const Work<N>&before = at.work[i], &after = near.work[i];
    if (before.melts && after.melts && *after.melts > *before.melts)
      return "it takes " + to_text(*after.melts) + " melts at " + *after.at + " instead of " +
             to_text(*before.melts);
  }
  return "";
}

template <class N>
void caution_brink(const Prepared<N>& prepared, const Figures<N>& figures, const RouteResult<N>& result,
                   const Brink& brink, double best, std::vector<Caution>& cautions) {
  const Route& route = *result.route;
  FoundCuts<N> cuts;
  cuts.held = hold<N>(route, brink.pulls);
  std::string why;
  try {
    const RouteResult<N> near = work_out(prepared, route, cuts, figures, false);
    why = near.refused() ? near.ledger.refused.front() : more_melts(result.ledger, near.ledger);
  } catch (const Error& error) {
    why = error.complaint().text;
  }
  const double leaves = to_double(result.ledger.sums.present_value);
  const bool refused = !std::isfinite(brink.jump);
  if (why.empty() && brink.jump <= much_less * std::abs(leaves)) return;
  const double grain = std::abs(brink.jump) < 100 ? 0.01 : 1;
  const std::string less = refused ? ""
                                   : to_text(std::round(brink.jump / grain) * grain, Digits{15, 2, 0}) + ' ' +
                                         prepared.plan->currency;
  cautions.push_back({prepared.plan->steps[route.tables[route.searched[brink.cut]]].basics.name,
                      "route " + route.name + ": the best cut, " + short_percent(best) +
                          ", stands at a brink. With a hair " + (brink.more ? "more" : "less") +
                          " pulled (1 part in 10,000) " +
                          (refused       ? "it is refused: " + why
                           : why.empty() ? "it leaves " + less + " less at once"
                                         : why + " and leaves " + less + " less") +
                          ". Cut a little " + (brink.more ? "below" : "above") + " it"});
}

/// A refused route has no money, and nothing of it was sold.
template <class N>
void strip_refused(RouteLedger<N>& ledger) {
  ledger.lines.clear();
  ledger.movements.clear();
  ledger.products.clear();
}

/// A fault of a route told with its place; a host's wish to stop has none.
Error placed(const Error& error, const Route& route) {
  const Complaint& complaint = error.complaint();
  if (complaint.code == Code::cancelled) return error;
  return Error(complaint.code, complaint.text, "/routes" + pointer_step(route.name));
}

/// A hair off the best cut a melt more may be needed, or a limit be passed.
template <class N>
void caution_brinks(const Prepared<N>& prepared, const Figures<N>& figures, CutFinder& finder,
                    RouteResult<N>& result, const Watch& watch) {
  const Route& route = *result.route;
  if (route.searched.empty() || result.refused()) return;
  const CutSearch& search = finder.search(route, watch);
  const double leaves = to_double(result.ledger.sums.present_value);
  for (const Brink& one : brinks(finder.sweep(), route, search, leaves))
    caution_brink(prepared, figures, result, one, (*search.best)[one.cut], result.ledger.cautions);
}

template <class N>
void rank(Comparison<N>& comparison) {
  std::optional<std::size_t> next;
  auto value = [&](std::size_t i) -> const N& { return comparison.routes[i].ledger.sums.present_value; };
  for (std::size_t i = 0; i < comparison.routes.size(); ++i) {
    if (comparison.routes[i].refused()) continue;
    if (!comparison.best || value(i) > value(*comparison.best)) {
      next = comparison.best;
      comparison.best = i;
    } else if (!next || value(i) > value(*next)) {
      next = i;
    }
  }
  if (next) comparison.lead = value(*comparison.best) - value(*next);
}

template <class N>
void gather(Comparison<N>& comparison) {
  auto add_caution = [&](const Caution& one) {
    for (const Caution& had : comparison.cautions)
      if (had.at == one.at && had.what == one.what) return;
    comparison.cautions.push_back(one);
  };
  for (const std::string& what : comparison.plan->document_cautions) add_caution({"lot", what});
  std::vector<HeatVisit> visits;
  std::vector<bool> untested(comparison.plan->analytes.size());
  for (const RouteResult<N>& result : comparison.routes) {
    for (const HeatVisit& visit : result.ledger.heat_visits) {
      const bool told = std::any_of(visits.begin(), visits.end(), [&](const HeatVisit& one) {
        return one.step == visit.step && one.dangers == visit.dangers;
      });
      if (told) continue;
      visits.push_back(visit);
      for (const Caution& one : heat_cautions(visit, comparison.plan->mercury_assayed)) add_caution(one);
    }
    for (const Caution& one : result.ledger.cautions) add_caution(one);
    for (Analyte a : result.ledger.untested) untested[a] = true;
  }
  for (Analyte a = 0; a < untested.size(); ++a)
    if (untested[a]) comparison.untested.push_back(a);
}

}  // namespace

namespace {

std::string nothing_taken(const Plan& plan, const Route& route, const CutSearch& search) {
  const auto between = [](const std::pair<double, double>& range) {
    return "between " + short_percent(range.first) + " and " + short_percent(range.second);
  };
  if (search.range.size() == 1)
    return "no pull " + between(search.range.front()) + " makes a product that is taken";
  std::string where;
  for (std::size_t i = 0; i < search.range.size(); ++i)
    where += (i > 0 ? ", at " : "") + plan.steps[route.tables[route.searched[i]]].basics.name + ' ' +
             between(search.range[i]);
  return "no pulls at " + where + " make products that are taken";
}

}  // namespace

template <Scalar N>
FoundCuts<N> find_cuts(const Plan& plan, const Route& route, CutFinder& finder, const Watch& watch) {
  FoundCuts<N> found;
  found.held.resize(route.tables.size());
  if (route.searched.empty()) return found;
  const CutSearch& search = finder.search(route, watch);
  if (!search.best) {
    found.held = hold<N>(route, search.told_at);
    found.refused.push_back(nothing_taken(plan, route, search));
    return found;
  }
  found.held = hold<N>(route, *search.best);
  caution_ends(plan, route, search, found.cautions);
  return found;
}

template <Scalar N>
RouteResult<N> work_out(const Prepared<N>& prepared, const Route& route, const FoundCuts<N>& cuts,
                        const Figures<N>& figures, bool how) {
  const Plan& plan = *prepared.plan;
  RouteResult<N> result{&route, RouteLedger<N>(plan.analytes.size(), figures, how), {}};
  RouteLedger<N>& ledger = result.ledger;
  Walk<N, RouteLedger<N>>(prepared, cuts.held, ledger).route(route);
  ledger.cautions.insert(ledger.cautions.end(), cuts.cautions.begin(), cuts.cautions.end());
  if (!ledger.refused.empty())
    ledger.refused.insert(ledger.refused.begin(), cuts.refused.begin(), cuts.refused.end());
  if (result.refused()) strip_refused(ledger);
  result.cash_days = cash_by_day(ledger.movements);
  return result;
}

namespace {

/// Cuts are searched in doubles.
CutFinder finder_of(const Prepared<double>& prepared) { return CutFinder(prepared); }
CutFinder finder_of(const Prepared<Decimal>& prepared) { return CutFinder(*prepared.plan); }

}  // namespace

template <Scalar N>
Comparison<N> compare(const Prepared<N>& prepared, const CompareOptions& options, const Watch& watch) {
  const Plan& plan = *prepared.plan;
  const Figures<N> figures(plan.quantities, plan.analytes, plan.currency);
  Comparison<N> comparison{&plan, {}, {}, {}, {}, {}};
  std::vector<std::size_t> which = options.routes;
  if (which.empty())
    for (std::size_t i = 0; i < plan.routes.size(); ++i) which.push_back(i);
  comparison.routes.reserve(which.size());
  CutFinder finder = finder_of(prepared);
  for (std::size_t i : which) {
    watch.keep_going();
    const Route& route = plan.routes[i];
    try {
      comparison.routes.push_back(
          work_out(prepared, route, find_cuts<N>(plan, route, finder, watch), figures, options.how));
      caution_brinks(prepared, figures, finder, comparison.routes.back(), watch);
    } catch (const Error& error) {
      throw placed(error, route);
    }
    watch.progress(static_cast<std::int64_t>(comparison.routes.size()),
                   static_cast<std::int64_t>(which.size()));
  }
  rank(comparison);
  gather(comparison);
  for (RouteResult<N>& one : comparison.routes) one.ledger.figures = nullptr;  // they end here
  return comparison;
}

template FoundCuts<Decimal> find_cuts(const Plan&, const Route&, CutFinder&, const Watch&);
template FoundCuts<double> find_cuts(const Plan&, const Route&, CutFinder&, const Watch&);
template RouteResult<Decimal> work_out(const Prepared<Decimal>&, const Route&, const FoundCuts<Decimal>&,
                                       const Figures<Decimal>&, bool);
template RouteResult<double> work_out(const Prepared<double>&, const Route&, const FoundCuts<double>&,
                                      const Figures<double>&, bool);
template Comparison<Decimal> compare(const Prepared<Decimal>&, const CompareOptions&, const Watch&);
template Comparison<double> compare(const Prepared<double>&, const CompareOptions&, const Watch&);

}  // namespace buttonworth
