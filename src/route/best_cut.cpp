#include "route/best_cut.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "route/records.hpp"

namespace buttonworth {

Lanes SweepTally::solve(const Plan& plan, std::size_t step, const Table& table,
                        const TableCurves<Lanes>&, const Stream<Lanes>& feed, const Scenario<Lanes>&) {
  Lanes pulls(0.5);
  Lanes failed(0.0);
  for (int lane = 0; lane < Lanes::size; ++lane) {
    if (!live[lane]) continue;
    Stream<double> one;
    one.dry = feed.dry[lane];
    for (const Lanes& content : feed.content) one.content.push_back(content[lane]);
    try {
      pulls.set(lane, solve_cut(plan.steps[step].basics, table, plain->curves[step], one,
                                plain->scenario, plan.analytes[table.cut.of]));
    } catch (const Error&) {
      failed.set(lane, 1.0);
    }
  }
  impossible(failed > 0.0, [](const auto&) { return Error(Code::grade, {}); });
  return pulls;
}

namespace {

constexpr double nothing = -std::numeric_limits<double>::infinity();

struct Point {
  std::vector<double> pulls;
  double value = nothing;  // -infinity where the route is refused or impossible
  double refusals = 0;
};

class Search {
 public:
  Search(const Prepared<Lanes>& lanes, const Prepared<double>& plain, const Route& route,
         const Watch& watch)
      : lanes_(lanes), plain_(plain), route_(route), watch_(watch) {
    for (std::size_t visit : route.searched) range_.push_back(range_of(route.tables[visit]));
  }

  CutSearch run() {
    if (range_.size() == 1) sweep_line();
    else sweep_box();
    CutSearch result;
    result.range = range_;
    std::sort(found_.begin(), found_.end(),
              [](const Point& a, const Point& b) { return a.value > b.value; });
    for (const Point& point : found_)
      if (point.value > nothing && result.best.size() < 4)
        result.best.push_back({point.pulls, point.value});
    return result;
  }

 private:
  using Ends = std::pair<double, double>;

  static constexpr int line_points = 1024;
  static constexpr int zoom_points = 64;
  static constexpr int zoom_levels = 4;
  static constexpr std::size_t closer_looks = 6;

  /// Between the first and the last measured pull, or where the plan says.
  Ends range_of(std::size_t step) const {
    const Plan& plan = *plain_.plan;
    const auto& table = std::get<Table>(plan.steps[step].kind);
    const auto& s = plain_.scenario;
    Ends ends{1, 0};
    if (table.search) {
      ends = {s[table.search->first], s[table.search->second]};
    } else {
      for (const AnalyteCurve& entry : table.curves)
        if (auto* curve = std::get_if<PointCurve>(&entry.curve)) {
          ends.first = std::min(ends.first, s[curve->points.front().pull]);
          ends.second = std::max(ends.second, s[curve->points.back().pull]);
        }
    }
    const double further = s[table.middlings];
    if (further > 0) ends.second = std::min(ends.second, (1 - further) * (1 - 1e-9));
    return ends;
  }

  std::vector<Point> evaluate(std::vector<Point> points) {
    for (std::size_t first = 0; first < points.size(); first += Lanes::size) {
      watch_.keep_going();
      const std::size_t count = std::min<std::size_t>(Lanes::size, points.size() - first);
      evaluate_block(&points[first], count);
    }
    return points;
  }

  void evaluate_block(Point* points, std::size_t count) {
    HeldCuts<Lanes> held(route_.tables.size());
    for (std::size_t i = 0; i < range_.size(); ++i) {
      Lanes& pulls = held[route_.searched[i]].emplace(points[0].pulls[i]);
      for (std::size_t lane = 0; lane < count; ++lane)
        pulls.set(static_cast<int>(lane), points[lane].pulls[i]);
    }
    SweepTally tally(plain_);
    Walk<Lanes, SweepTally>(lanes_, held, tally).route(route_);
    for (std::size_t lane = 0; lane < count; ++lane) {
      const int l = static_cast<int>(lane);
      const double value = tally.present_value[l];
      const bool counts = !tally.refused_mask[l] && !tally.impossible_mask[l] && std::isfinite(value);
      points[lane].value = counts ? value : nothing;
      points[lane].refusals = tally.refusals[l];
    }
  }

  std::vector<Point> line(Ends ends, int count) {
    std::vector<Point> points(static_cast<std::size_t>(count));
    for (int i = 0; i < count; ++i) {
      const double part = static_cast<double>(i) / (count - 1);
      points[static_cast<std::size_t>(i)].pulls = {i + 1 == count ? ends.second
                                                                  : ends.first + (ends.second - ends.first) * part};
    }
    return evaluate(std::move(points));
  }

  void sweep_line() {
    std::vector<Ends> cells{range_[0]};
    for (int level = 0; level <= zoom_levels && !cells.empty(); ++level) {
      std::vector<Point> peaks;
      std::vector<Ends> next;
      for (const Ends& cell : cells) look_along(line(cell, level == 0 ? line_points : zoom_points), peaks, next);
      keep_best(peaks);
      if (next.size() > closer_looks) next.resize(closer_looks);
      for (const Point& peak : peaks) next.push_back(around(peak, cells.front(), level));
      cells = std::move(next);
    }
  }

  /// Collects the peaks of a line, and the cells between refused neighbours whose reasons differ.
  static void look_along(const std::vector<Point>& points, std::vector<Point>& peaks,
                         std::vector<Ends>& cells) {
    for (std::size_t i = 0; i < points.size(); ++i) {
      const double before = i > 0 ? points[i - 1].value : nothing;
      const double after = i + 1 < points.size() ? points[i + 1].value : nothing;
      const Point& here = points[i];
      if (here.value > nothing && here.value >= before && here.value >= after) peaks.push_back(here);
      if (i > 0 && here.value == nothing && before == nothing &&
          here.refusals != points[i - 1].refusals)
        cells.push_back({points[i - 1].pulls[0], here.pulls[0]});
    }
  }

  void keep_best(std::vector<Point>& peaks) {
    std::sort(peaks.begin(), peaks.end(),
              [](const Point& a, const Point& b) { return a.value > b.value; });
    if (peaks.size() > closer_looks) peaks.resize(closer_looks);
    found_.insert(found_.end(), peaks.begin(), peaks.end());
  }

  Ends around(const Point& peak, Ends cell, int level) const {
    const int points = level == 0 ? line_points : zoom_points;
    const double step = (cell.second - cell.first) / (points - 1);
    return {std::max(range_[0].first, peak.pulls[0] - step),
            std::min(range_[0].second, peak.pulls[0] + step)};
  }

  /// Several cuts together: a grid over all of them, then smaller and smaller boxes around the best.
  void sweep_box() {
    const auto cuts = range_.size();
    const int side = std::max(3, static_cast<int>(std::floor(std::pow(4096.0, 1.0 / static_cast<double>(cuts)))));
    std::vector<double> centre, reach;
    for (const Ends& ends : range_) {
      centre.push_back((ends.first + ends.second) / 2);
      reach.push_back((ends.second - ends.first) / 2);
    }
    std::vector<Point> peaks = box(centre, reach, side);
    keep_best(peaks);
    for (double& one : reach) one *= 2.0 / (side - 1);
    const int fine = cuts == 2 ? 9 : 3;
    for (const Point& start : std::vector<Point>(peaks)) close_in(start, reach, fine);
  }

  void close_in(Point best, std::vector<double> reach, int side) {
    for (int round = 0; round < 40; ++round) {
      for (const Point& point : box(best.pulls, reach, side))
        if (point.value > best.value) best = point;
      for (double& one : reach) one *= 0.6;
    }
    found_.push_back(best);
  }

  std::vector<Point> box(const std::vector<double>& centre, const std::vector<double>& reach, int side) {
    std::vector<Point> points;
    std::vector<int> at(centre.size(), 0);
    for (bool more = true; more;) {
      Point point;
      for (std::size_t i = 0; i < centre.size(); ++i) {
        const double pull = centre[i] + reach[i] * (2.0 * at[i] / (side - 1) - 1.0);
        point.pulls.push_back(std::clamp(pull, range_[i].first, range_[i].second));
      }
      points.push_back(std::move(point));
      std::size_t i = 0;
      while (i < at.size() && ++at[i] == side) at[i++] = 0;
      more = i < at.size();
    }
    return evaluate(std::move(points));
  }

  const Prepared<Lanes>& lanes_;
  const Prepared<double>& plain_;
  const Route& route_;
  const Watch& watch_;
  std::vector<Ends> range_;
  std::vector<Point> found_;
};

}  // namespace

CutSearch search_best_cuts(const Prepared<Lanes>& lanes, const Prepared<double>& plain,
                           const Route& route, const Watch& watch) {
  return Search(lanes, plain, route, watch).run();
}

}  // namespace buttonworth
