#include "chance/forgiving_cut.hpp"

#include <algorithm>
#include <cmath>

#include "chance/worths.hpp"

namespace buttonworth {
namespace {

constexpr double usual_share = 0.01;  // of the present value: what a cut may cost where nothing is said
constexpr double together = 1e-4;     // bands closer than this share of the range are one
constexpr double beyond_edge = 1e-9;
constexpr double near_by = 1e-6;  // where a best cut stands at a brink

/// The sum of a route with all that one output of a table holds of an analyte moved into its concentrate, at
/// the concentrate's grade.
struct PassSum : RouteSum<double> {
  using RouteSum<double>::RouteSum;

  std::size_t visit = 0, output = 1;
  Analyte analyte = 0;
  std::optional<Stream<double>> fed;  ///< what the pass would be fed

  void after_table(std::size_t at, Outputs<double>& outputs) {
    if (at != visit || fed) return;
    Stream<double>&from = outputs[output], &to = outputs[0];
    fed = from;
    const double times = ratio(from.content[analyte], to.content[analyte]);
    const double dry = std::min(times * to.dry, from.dry), water = ratio(from.water, from.dry);
    for (std::size_t a = 0; a < to.content.size(); ++a) {
      const double part = std::min(times * to.content[a], from.content[a]);
      to.content[a] += part;
      from.content[a] -= part;
    }
    to.water += to.water * ratio(dry, to.dry);
    to.dry += dry;
    from.dry = remainder_of(from.dry, dry);
    from.water = from.dry * water;
  }
};

class Search {
 public:
  Search(const Plan& plan, const Plan& unrounded, const ForgivingOptions& options, const Watch& watch)
      : plan_(plan),
        unrounded_(unrounded),
        options_(options),
        watch_(watch),
        figures_(plan.quantities, plan.analytes, plan.currency),
        prepared_(plan) {}

  ForgivingCut run() {
    const RouteResult<double> result = chosen();
    route_ = result.route;
    ForgivingCut found{route_, result.ledger.sums.present_value, 0, {}, result.ledger.cautions};
    found.costs = options_.costs.value_or(usual_share * std::abs(found.present_value));
    value_ = found.present_value;
    costs_ = found.costs;
    for (std::size_t visit = 0; visit < route_->tables.size(); ++visit) {
      const bool met = visit < result.ledger.pulls.size() && result.ledger.pulls[visit];
      if (met) found.cuts.push_back(line(visit, *result.ledger.pulls[visit]));
      watch_.progress(static_cast<std::int64_t>(visit) + 1, static_cast<std::int64_t>(route_->tables.size()));
    }
    return found;
  }

 private:
  /// The route asked for, or the best of those with a table; its cuts are held from here on.
  RouteResult<double> chosen() {
    CutFinder finder(plan_);
    std::optional<RouteResult<double>> best;
    for (std::size_t i = 0; i < plan_.routes.size(); ++i) {
      const Route& route = plan_.routes[i];
      if (options_.route ? *options_.route != i : route.tables.empty()) continue;
      FoundCuts<double> cuts;
      auto result = worked_out(route, finder, cuts);
      if (!result || (best && result->ledger.sums.present_value <= best->ledger.sums.present_value)) continue;
      held_ = cuts.held;
      best.emplace(std::move(*result));
    }
    if (!best)
      throw Error(Code::usage_options,
                  options_.route
                      ? "no pull of this route's tables is known to be good: it is refused as planned"
                      : "no route with a table is taken as planned",
                  "/route");
    if (best->route->tables.empty())
      throw Error(Code::usage_options, "this route has no table to cut", "/route");
    return std::move(*best);
  }
  /// Nothing of a route that is refused, or impossible where others may do.
  std::optional<RouteResult<double>> worked_out(const Route& route, CutFinder& finder,
                                                FoundCuts<double>& cuts) const {
    try {
      cuts = find_cuts<double>(plan_, route, finder, watch_);
      RouteResult<double> result = work_out(prepared_, route, cuts, figures_, false);
      return result.refused() ? std::nullopt : std::optional(std::move(result));
    } catch (const Error& error) {
      if (options_.route || error.complaint().code == Code::cancelled) throw;
      return std::nullopt;
    }
  }

  std::optional<double> value_at(std::size_t visit, double pull) const {
    watch_.keep_going();
    HeldCuts<double> held = held_;
    held[visit] = pull;
    try {
      const auto worth = route_worth(prepared_, *route_, held, figures_);
      return worth && std::isfinite(*worth) ? worth : std::nullopt;
    } catch (const Error&) {
      return std::nullopt;
    }
  }

  CutLine line(std::size_t visit, double pull) {
    const Step& step = plan_.steps[route_->tables[visit]];
    const Table& table = std::get<Table>(step.kind);
    const auto [from, to] = range(table, pull);
    CutLine line{&step, table.cut.how, pull, from, to, {}, {}, {}, {}, {}, {}, {}, {}};
    if (from < to) look_along(visit, line);
    slopes(visit, line);
    for (std::size_t output : {1, 2}) add_pass(visit, table, output, line);
    return line;
  }

  /// What "best" searches, or from a quarter of the cut to four times it.
  std::pair<double, double> range(const Table& table, double pull) const {
    auto [from, to] = searched_range(table, prepared_.scenario);
    if (from > to) {
      const double most = 1 - prepared_.scenario[table.middlings];
      from = pull / 4;
      to = std::min(pull * 4, most < 1 ? most * (1 - 1e-9) : 1.0);
    }
    return {std::min(from, pull), std::max(to, pull)};
  }

  /// Bands of pulls, the best one and the curve.
  void look_along(std::size_t visit, CutLine& line) {
    const double enough = value_ - costs_ - std::abs(value_) * 1e-12;
    const LeadScan scan(
        [&](double pull) {
          return std::vector<double>{value_at(visit, pull).value_or(Worths::nothing), enough};
        },
        line.from, line.to);
    line.bands = bands_of(scan, line);
    best_of_line(visit, scan, line);
    for (int i = 0; i < options_.points; ++i) {
      const double at =
          i + 1 == options_.points ? line.to : line.from + (line.to - line.from) * i / (options_.points - 1);
      line.curve.emplace_back(at, value_at(visit, at));
    }
  }

  std::vector<PullBand> bands_of(const LeadScan& scan, const CutLine& line) const {
    std::vector<PullBand> bands;
    const auto within = [](const std::vector<double>& worth) { return leader(worth) == std::size_t{0}; };
    if (within(scan.looks().begin()->second)) bands.push_back({line.from, line.to, true, true});
    for (const LeadChange& change : scan.changes()) {
      if (change.second == std::size_t{0}) {
        const bool near =
            !bands.empty() && change.after.at - bands.back().to < together * (line.to - line.from);
        if (near) bands.back().to = line.to, bands.back().to_open = true;
        else bands.push_back({change.after.at, line.to, false, true});
      } else if (!bands.empty()) {
        bands.back().to = change.before.at;
        bands.back().to_open = false;
      }
    }
    const auto holds = [&](const PullBand& band) { return band.from <= line.pull && line.pull <= band.to; };
    std::stable_partition(bands.begin(), bands.end(), holds);
    return bands;
  }

  /// The best look, and closer between its neighbours by golden sections.
  void best_of_line(std::size_t visit, const LeadScan& scan, CutLine& line) const {
    const auto& looks = scan.looks();
    auto best = looks.begin();
    for (auto at = looks.begin(); at != looks.end(); ++at)
      if (at->second[0] > best->second[0]) best = at;
    if (best->second[0] == Worths::nothing) return;
    std::pair<double, double> found{best->first, best->second[0]};
    const auto try_at = [&](double pull) {
      const double value = value_at(visit, pull).value_or(Worths::nothing);
      if (value > found.second) found = {pull, value};
      return value;
    };
    double low = best == looks.begin() ? best->first : std::prev(best)->first;
    double high = std::next(best) == looks.end() ? best->first : std::next(best)->first;
    constexpr double part = 0.6180339887498949;
    while (high - low > 1e-9 * high) {
      const double a = high - part * (high - low), b = low + part * (high - low);
      if (try_at(a) > try_at(b)) high = b;
      else low = a;
    }
    try_at(line.pull);
    line.best = found;
  }

  // ---- Slopes ----------------------------------------------------------------------------------

  /// Beyond the cut's edge, in decimals, without rounding.
  void slopes(std::size_t visit, CutLine& line) {
    const Prepared<Decimal> prepared(unrounded_);
    const Figures<Decimal> figures(unrounded_.quantities, unrounded_.analytes, unrounded_.currency);
    HeldCuts<Decimal> held(route_->tables.size());
    for (std::size_t i = 0; i < held.size(); ++i)
      if (held_[i]) held[i] = Decimal(*held_[i]);
    const Route& route = unrounded_.routes[static_cast<std::size_t>(route_ - plan_.routes.data())];
    const auto worth = [&](const Decimal& pull) -> std::optional<Decimal> {
      held[visit] = pull;
      try {
        return route_worth(prepared, route, held, figures);
      } catch (const Error&) {
        return std::nullopt;
      }
    };
    const Decimal pull = line.pull, edge = pull * Decimal(beyond_edge), step = pull * power_of_ten(-20);
    const auto slope = [&](const Decimal& from, const Decimal& to) -> std::optional<Decimal> {
      const auto a = worth(from), b = worth(to);
      return a && b ? std::optional(Decimal((*b - *a) / step)) : std::nullopt;
    };
    line.slope_less = slope(pull - edge - step, pull - edge);
    line.slope_more = slope(pull + edge, pull + edge + step);
    const auto jump = [&](const std::optional<Decimal>& slope, const Decimal& way) -> std::optional<Decimal> {
      const auto here = worth(pull), there = worth(pull + way);
      if (!here || !there || !slope) return std::nullopt;
      const Decimal jump = *there - *here - *slope * way;
      return abs(jump) > abs(*here) * Decimal(beyond_edge) ? jump : Decimal(0);
    };
    line.jump_less = jump(line.slope_less, Decimal(-pull * Decimal(near_by)));
    line.jump_more = jump(line.slope_more, Decimal(pull * Decimal(near_by)));
  }

  // ---- Another pass ----------------------------------------------------------------------------

  /// Of what a grade or recovery is cut by, else of gold, else of the first with a curve of its own.
  Analyte analyte_of(const Table& table) const {
    if (table.cut.how == Cut::How::grade || table.cut.how == Cut::How::recovery) return table.cut.of;
    for (const AnalyteCurve& entry : table.curves)
      if (plan_.analytes[entry.analyte] == "Au") return entry.analyte;
    return table.curves.empty() ? 0 : table.curves.front().analyte;
  }

  void add_pass(std::size_t visit, const Table& table, std::size_t output, CutLine& line) const {
    PassSum sum(figures_);
    sum.visit = visit;
    sum.output = output;
    sum.analyte = analyte_of(table);
    AnotherPass pass{output == 1 ? "middlings" : "tailings", {}, 0};
    try {
      Walk<double, PassSum>(prepared_, held_, sum).route(*route_);
      if (!sum.refused_mask) pass.at_most = sum.present_value - value_;
    } catch (const Error&) {
      pass.at_most.reset();
    }
    if (!sum.fed || !(sum.fed->content[sum.analyte] > 0)) return;
    pass.costs = costs_of(*line.step, *sum.fed);
    line.passes.push_back(pass);
  }
  double costs_of(const Step& step, const Stream<double>& feed) const {
    Work<double> work;
    work.hours = hours_at_rate(step.basics, feed.dry, prepared_.scenario);
    work.melts = work.energy = work.fuel = 0;  // a table has none
    double sum = 0;
    for (const Cost& cost : step.basics.costs)
      sum += cost_base(cost, feed, work) * prepared_.scenario[cost.rate];
    return sum * feed.discount;
  }

  const Plan& plan_;
  const Plan& unrounded_;
  const ForgivingOptions& options_;
  const Watch& watch_;
  Figures<double> figures_;
  Prepared<double> prepared_;
  const Route* route_ = nullptr;
  HeldCuts<double> held_;
  double value_ = 0, costs_ = 0;
};

}  // namespace

ForgivingCut find_forgiving_cut(const Plan& plan, const Plan& unrounded, const ForgivingOptions& options,
                                const Watch& watch) {
  return Search(plan, unrounded, options, watch).run();
}

}  // namespace buttonworth
