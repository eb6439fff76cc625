#include "route/best_cut.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace buttonworth {

namespace {

constexpr double nothing = SweepPoint::nothing;

/// A stretch between two neighbours of a line, and the most it may hold.
struct Stretch {
  double low, high;
  double promise;
};

using Point = SweepPoint;
using Ends = std::pair<double, double>;

class Search {
 public:
  Search(const Sweep& sweep, const Prepared<double>& plain, const Route& route, const Watch& watch)
      : sweep_(sweep), plain_(plain), route_(route), watch_(watch) {
    for (std::size_t visit : route.searched) range_.push_back(range_of(route.tables[visit]));
  }

  CutSearch run() {
    if (range_.size() == 1) look_along(Point{{range_[0].first}}, 0, line_points, most_levels);
    else look_in_box();
    CutSearch result{{}, range_};
    for (const Point& point : found_) result.best.push_back({point.pulls, point.value});
    return result;
  }

 private:
  static constexpr int line_points = 1024;
  static constexpr int closer_points = 16;
  static constexpr int most_levels = 60;
  static constexpr int few_levels = 8;
  static constexpr double narrowest = 1e-9;
  static constexpr std::size_t most_stretches = 10;
  static constexpr std::size_t kept_settings = 4;
  static constexpr double value_resolution = 1e-7;

  /// Between the first and the last measured pull, or where the plan says.
  Ends range_of(std::size_t step) const {
    const auto& table = std::get<Table>(plain_.plan->steps[step].kind);
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
    if (ends.second < ends.first)
      throw Error(Code::range,
                  "step " + plain_.plan->steps[step].basics.name +
                      ": the middlings leave no room for a best cut, which is looked for from a pull of " +
                      Figures<double>::percent_text(ends.first) + " on");
    return ends;
  }

  // ---- Evaluating ----------------------------------------------------------------------------

  void evaluate(std::vector<Point>& points) {
    watch_.keep_going();
    sweep_.evaluate(route_, points);
    for (const Point& point : points) keep(point);
  }

  /// The few best settings, the best first.
  void keep(const Point& point) {
    if (point.value == nothing) return;
    if (found_.size() == kept_settings && point.value <= found_.back().value) return;
    auto at = std::upper_bound(found_.begin(), found_.end(), point,
                               [](const Point& a, const Point& b) { return a.value > b.value; });
    found_.insert(at, point);
    if (found_.size() > kept_settings) found_.pop_back();
  }

  // ---- One cut -------------------------------------------------------------------------------

  /// Points along one cut, the others held. One step beyond each end shows how the value runs there.
  std::vector<Point> line(const Point& base, std::size_t cut, Ends ends, int count, bool overlap) {
    const double step = (ends.second - ends.first) / (overlap ? count - 3 : count - 1);
    const double start = overlap ? ends.first - step : ends.first;
    std::vector<Point> points(static_cast<std::size_t>(count), base);
    for (std::size_t i = 0; i < points.size(); ++i)
      points[i].pulls[cut] =
          std::clamp(start + step * static_cast<double>(i), range_[cut].first, range_[cut].second);
    evaluate(points);
    return points;
  }

  /// The best setting along one cut, the others held at the base's.
  Point look_along(const Point& base, std::size_t cut, int count, int levels) {
    Point best = base;
    std::vector<Stretch> stretches;
    judge(line(base, cut, range_[cut], count, false), cut, stretches, best);
    const double narrow = (range_[cut].second - range_[cut].first) * narrowest;
    for (int level = 0; level < levels; ++level) {
      choose_promising(stretches, best.value);
      if (stretches.empty()) break;
      const auto now =
          stretches.begin() + static_cast<std::ptrdiff_t>(std::min(stretches.size(), most_stretches));
      std::vector<Stretch> open(now, stretches.end());  // those not looked into yet stay open
      for (auto one = stretches.begin(); one != now; ++one)
        if (one->high - one->low > narrow)
          judge(line(base, cut, {one->low, one->high}, closer_points, true), cut, open, best);
      stretches = std::move(open);
    }
    return best;
  }

  /// What the stretch right of point i may hold. The left end's value carried on by the steepest rise
  /// near by, the right end's by the steepest fall; where the value is a saw with teeth finer than the
  /// line, as with many small melts, its bends to either side tell how high the teeth are. Between two
  /// refused pulls with different reasons there may be room for taken ones.
  static double promise(const std::vector<Point>& points, std::size_t i) {
    const double left = points[i].value, right = points[i + 1].value;
    if (left == nothing && right == nothing)
      return points[i].refusals != points[i + 1].refusals ? std::numeric_limits<double>::infinity() : nothing;
    constexpr std::size_t near = 3;
    constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
    double rise = 0, fall = 0, teeth = 0, last_step = unknown, last_bend = unknown;
    for (std::size_t k = i - std::min(i, near); k <= i + near && k + 1 < points.size(); ++k) {
      const double step = points[k + 1].value - points[k].value;
      const double bend = step - last_step;
      if (k != i && std::isfinite(step)) rise = std::max(rise, step), fall = std::max(fall, -step);
      if (bend * last_bend < 0) teeth = std::max(teeth, std::min(std::abs(bend), std::abs(last_bend)));
      last_step = std::isfinite(step) ? step : unknown;
      last_bend = bend;
    }
    return std::max(left + std::max(rise, teeth), right + std::max(fall, teeth));
  }

  static void judge(const std::vector<Point>& points, std::size_t cut, std::vector<Stretch>& stretches,
                    Point& best) {
    for (const Point& one : points)
      if (one.value > best.value) best = one;
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
      const double low = points[i].pulls[cut], high = points[i + 1].pulls[cut];
      const double most = promise(points, i);
      if (high > low && most > nothing) stretches.push_back({low, high, most});
    }
  }

  static void choose_promising(std::vector<Stretch>& stretches, double best) {
    const double enough = best == nothing ? nothing : best + std::abs(best) * value_resolution;
    std::erase_if(stretches, [&](const Stretch& one) { return one.promise <= enough; });
    std::sort(stretches.begin(), stretches.end(),
              [](const Stretch& a, const Stretch& b) { return a.promise > b.promise; });
  }

  // ---- Several cuts together -----------------------------------------------------------------

  /// Points spread evenly over all cuts; from the best of each slice of each cut along one cut after the
  /// other, as the value's ridges, where a product just reaches a band, run across; then smaller and
  /// smaller boxes around the best.
  void look_in_box() {
    Point centre;
    std::vector<double> reach;
    for (const Ends& ends : range_) {
      centre.pulls.push_back((ends.first + ends.second) / 2);
      reach.push_back((ends.second - ends.first) / 2);
    }
    const std::vector<Point> points = spread(centre, reach, 4096);
    evaluate_corners(centre);
    for (std::size_t cut = 0; cut < range_.size(); ++cut)
      for (const Point& start : best_of_slices(points, cut)) climb(start, few_levels);
    for (const Point& start : std::vector<Point>(found_)) close_in(start, reach);
    climb(Point(found_.empty() ? centre : found_.front()), most_levels);
  }

  std::vector<Point> best_of_slices(const std::vector<Point>& points, std::size_t cut) const {
    constexpr int slices = 24;
    const auto [low, high] = range_[cut];
    std::vector<Point> best(slices);
    for (const Point& one : points) {
      const double place = high > low ? (one.pulls[cut] - low) / (high - low) : 0;
      Point& here =
          best[static_cast<std::size_t>(std::clamp(static_cast<int>(place * slices), 0, slices - 1))];
      if (here.pulls.empty() || one.value > here.value) here = one;
    }
    std::erase_if(best, [](const Point& one) { return one.pulls.empty(); });
    return best;
  }

  /// Along one cut after the other, as long as that helps.
  void climb(Point at, int levels) {
    for (int round = 0; round < 3; ++round) {
      const double before = at.value;
      for (std::size_t cut = 0; cut < range_.size(); ++cut)
        at = look_along(at, cut, closer_points * 4, levels);
      if (at.value <= before) return;
    }
  }

  /// Accept limits that pull all cuts the same way leave room in a corner of the box last.
  void evaluate_corners(const Point& centre) {
    const std::size_t cuts = std::min<std::size_t>(range_.size(), 8);
    std::vector<Point> corners(std::size_t{1} << cuts, centre);
    for (std::size_t i = 0; i < corners.size(); ++i)
      for (std::size_t k = 0; k < cuts; ++k)
        corners[i].pulls[k] = (i >> k & 1) != 0 ? range_[k].second : range_[k].first;
    evaluate(corners);
  }

  void close_in(Point best, std::vector<double> reach) {
    for (double& one : reach) one *= 0.1;
    for (int round = 0; round < 30; ++round) {
      for (const Point& point : spread(best, reach, 64))
        if (point.value > best.value) best = point;
      for (double& one : reach) one *= 0.6;
    }
  }

  /// An additive lattice: the k-th coordinate steps by the k-th power of the number g, below 1, that
  /// solves g^(n + 1) + g = 1 for n cuts. It covers a box of any dimension evenly.
  std::vector<Point> spread(const Point& centre, const std::vector<double>& reach, int count) {
    double g = 0.6;
    for (int i = 0; i < 60; ++i)
      g = std::pow(1.0 - g, 1.0 / (static_cast<double>(reach.size()) + 1.0)) * 0.5 + g * 0.5;
    std::vector<Point> points(static_cast<std::size_t>(count), centre);
    double step = 1;
    for (std::size_t k = 0; k < reach.size(); ++k) {
      step *= g;
      for (std::size_t i = 0; i < points.size(); ++i) {
        const double turns = 0.5 + step * static_cast<double>(i);
        const double place = turns - std::floor(turns);
        points[i].pulls[k] =
            std::clamp(centre.pulls[k] + reach[k] * (2 * place - 1), range_[k].first, range_[k].second);
      }
    }
    evaluate(points);
    return points;
  }

  const Sweep& sweep_;
  const Prepared<double>& plain_;
  const Route& route_;
  const Watch& watch_;
  std::vector<Ends> range_;
  std::vector<Point> found_;
};

// ---- Ways that are the same ----------------------------------------------------------------------

bool same_node(const Node* a, const Node* b);

bool same_end(const Worked& a, const Worked& b) {
  if (a.step != b.step || a.visit != b.visit) return false;
  for (std::size_t i = 0; i < a.outputs.size(); ++i)
    if (!same_node(a.outputs[i].get(), b.outputs[i].get())) return false;
  return true;
}
bool same_end(const SoldTo& a, const SoldTo& b) { return a.terms == b.terms; }
bool same_end(const Returned&, const Returned&) { return false; }  // their shares are quantities of their own
bool same_end(const Kept&, const Kept&) { return true; }

bool same_node(const Node* a, const Node* b) {
  if (a == nullptr || b == nullptr) return a == b;
  if (a->what.index() != b->what.index()) return false;
  return std::visit(
      [&](const auto& what) { return same_end(what, std::get<std::decay_t<decltype(what)>>(b->what)); },
      a->what);
}

bool same_search(const Route& a, const Route& b) {
  auto same_way = [](const Way& x, const Way& y) {
    return x.searched == y.searched && (!x.searched || same_node(x.node.get(), y.node.get()));
  };
  if (a.searched != b.searched || !same_way(a.lot, b.lot)) return false;
  for (std::size_t i = 0; i < a.apart.size(); ++i)
    if (!same_way(a.apart[i], b.apart[i])) return false;
  return true;
}

}  // namespace

const CutSearch& CutFinder::search(const Route& route, const Watch& watch) {
  for (const auto& [other, found] : known_)
    if (same_search(*other, route)) return found;
  if (!plain_) {
    plain_.emplace(plan_);
    sweep_ = make_sweep(*plain_);
  }
  return known_.emplace_back(&route, Search(*sweep_, *plain_, route, watch).run()).second;
}

}  // namespace buttonworth
