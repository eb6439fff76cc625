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
    if (found_.empty()) look_at_middle();
    CutSearch result{{}, refused_.pulls.empty() ? middle() : refused_.pulls, range_, evaluated_};
    if (!found_.empty()) result.best = found_.front().pulls;
    return result;
  }

 private:
  static constexpr int line_points = 1024;
  static constexpr int closer_points = 16;
  static constexpr int most_levels = 60;
  static constexpr int few_levels = 8;
  static constexpr double narrowest = 1e-9;
  static constexpr double steeper = 4;
  static constexpr std::size_t wide_view = 3, close_view = 1;  // neighbours that tell of a stretch
  static constexpr std::size_t most_stretches = 10;
  static constexpr std::size_t kept_settings = 4;
  static constexpr double first_box = 0.1;  // of half the range, that closing in begins with
  static constexpr double value_resolution = 1e-7;

  Ends range_of(std::size_t step) const {
    const Ends ends = searched_range(std::get<Table>(plain_.plan->steps[step].kind), plain_.scenario);
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
    evaluated_ += points.size();
    for (const Point& point : points) point.value == nothing ? keep_refused(point) : keep(point);
  }

  /// The few best settings that are not one and the same, the best first.
  void keep(const Point& point) {
    if (found_.size() == kept_settings && point.value <= found_.back().value) return;
    const auto twin = [&](const Point& one) { return are_near(one, point); };
    if (std::any_of(found_.begin(), found_.end(),
                    [&](const Point& one) { return one.value >= point.value && twin(one); }))
      return;
    std::erase_if(found_, twin);
    auto at = std::upper_bound(found_.begin(), found_.end(), point,
                               [](const Point& a, const Point& b) { return a.value > b.value; });
    found_.insert(at, point);
    if (found_.size() > kept_settings) found_.pop_back();
  }

  Pulls middle() const {
    Pulls pulls;
    for (const auto& [low, high] : range_) pulls.push_back((low + high) / 2);
    return pulls;
  }
  void look_at_middle() {
    std::vector<Point> points{Point{middle()}};
    evaluate(points);
  }

  /// Whether one closing in comes to both: they are of one peak.
  bool are_near(const Point& a, const Point& b) const {
    for (std::size_t i = 0; i < range_.size(); ++i)
      if (std::abs(a.pulls[i] - b.pulls[i]) > first_box * (range_[i].second - range_[i].first) / 2)
        return false;
    return true;
  }

  /// What is refused and not impossible, nearest the middle: a buyer's reasons are told there.
  void keep_refused(const Point& point) {
    if (point.impossible) return;
    double off = 0;
    for (std::size_t i = 0; i < range_.size(); ++i) {
      const auto [low, high] = range_[i];
      if (high > low) off = std::max(off, std::abs(2 * point.pulls[i] - low - high) / (high - low));
    }
    if (!refused_.pulls.empty() && off >= refused_off_) return;
    refused_ = point;
    refused_off_ = off;
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

  /// What is known of the value along one cut.
  struct Look {
    std::size_t cut;
    Point best;
    double steepest = 0;  ///< change of value for one of pull, between neighbours of a line
    std::vector<Stretch> open;
  };

  /// The best setting along one cut, the others held at the base's.
  Point look_along(const Point& base, std::size_t cut, int count, int levels) {
    Look look{cut, base, 0, {}};
    judge(line(base, cut, range_[cut], count, false), wide_view, look);
    const double narrow = (range_[cut].second - range_[cut].first) * narrowest;
    for (int level = 0; level < levels; ++level) {
      choose_promising(look);
      if (look.open.empty()) break;
      const std::size_t count_now = std::min(look.open.size(), most_stretches);
      const std::vector<Stretch> now(look.open.begin(),
                                     look.open.begin() + static_cast<std::ptrdiff_t>(count_now));
      look.open.erase(look.open.begin(), look.open.begin() + static_cast<std::ptrdiff_t>(count_now));
      for (const Stretch& one : now)
        if (one.high - one.low > narrow)
          judge(line(base, cut, {one.low, one.high}, closer_points, true), close_view, look);
    }
    return look.best;
  }

  /// Of the first line that has two pulls taken side by side.
  static void note_steepest(const std::vector<Point>& points, Look& look) {
    if (look.steepest > 0) return;
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
      const Point &a = points[i], &b = points[i + 1];
      const double slope = std::abs((b.value - a.value) / (b.pulls[look.cut] - a.pulls[look.cut]));
      if (std::isfinite(slope)) look.steepest = std::max(look.steepest, slope);
    }
  }

  /// What the stretch right of point i may hold. The left end's value carried on by the steepest rise
  /// near by, the right end's by the steepest fall; where the value is a saw with teeth finer than the
  /// line, as with many small melts, its bends to either side tell how high the teeth are. A jump
  /// near by counts as both: so no more is promised than a slope some times that of the first line
  /// gives. Between two refused pulls with different reasons there may be room for taken ones.
  static double promise(const std::vector<Point>& points, std::size_t i, std::size_t view, const Look& look) {
    const double left = points[i].value, right = points[i + 1].value;
    if (left == nothing && right == nothing)
      return points[i].refusals != points[i + 1].refusals ? std::numeric_limits<double>::infinity() : nothing;
    constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
    const double most = look.steepest * steeper * (points[i + 1].pulls[look.cut] - points[i].pulls[look.cut]);
    if (std::max(left, right) + most <= look.best.value) return nothing;
    double rise = 0, fall = 0, last_step = unknown, last_bend = unknown;
    for (std::size_t k = i - std::min(i, view); k <= i + view && k + 1 < points.size(); ++k) {
      const double step = points[k + 1].value - points[k].value;
      const double bend = step - last_step;
      if (k != i && std::isfinite(step)) rise = std::max(rise, step), fall = std::max(fall, -step);
      if (bend * last_bend < 0) {
        const double teeth = std::min(std::abs(bend), std::abs(last_bend));
        rise = std::max(rise, teeth);
        fall = std::max(fall, teeth);
      }
      last_step = std::isfinite(step) ? step : unknown;
      last_bend = bend;
    }
    return std::max(left + std::min(rise, most), right + std::min(fall, most));
  }

  static void judge(const std::vector<Point>& points, std::size_t view, Look& look) {
    note_steepest(points, look);
    for (const Point& one : points)
      if (one.value > look.best.value) look.best = one;
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
      const double low = points[i].pulls[look.cut], high = points[i + 1].pulls[look.cut];
      const double most = promise(points, i, view, look);
      if (high > low && most > nothing) look.open.push_back({low, high, most});
    }
  }

  static void choose_promising(Look& look) {
    const double best = look.best.value;
    const double enough = best == nothing ? nothing : best + std::abs(best) * value_resolution;
    std::erase_if(look.open, [&](const Stretch& one) { return one.promise <= enough; });
    std::sort(look.open.begin(), look.open.end(),
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
      for (const Point& start : best_of_slices(points, cut)) climb(start);
    for (const Point& start : std::vector<Point>(found_)) close_in(start, reach);
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
  void climb(Point at) {
    for (int round = 0; round < 3; ++round) {
      const double before = at.value;
      for (std::size_t cut = 0; cut < range_.size(); ++cut)
        at = look_along(at, cut, closer_points * 4, few_levels);
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
    for (double& one : reach) one *= first_box;
    for (int round = 0; round < 30; ++round) {
      for (const Point& point : spread(best, reach, 64))
        if (point.value > best.value) best = point;
      for (double& one : reach) one *= 0.6;
    }
  }

  /// An additive lattice: the k-th coordinate steps by the k-th power of the number g, below 1, that
  /// solves g^(n + 1) + g^n = 1 for n cuts. It covers a box of any dimension evenly.
  std::vector<Point> spread(const Point& centre, const std::vector<double>& reach, int count) {
    const double g = lattice_step(reach.size());
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

  /// 1 ÷ x with x^(n + 1) = x + 1, by halves: operations that every processor does alike.
  static double lattice_step(std::size_t cuts) {
    double low = 1, high = 2;
    for (int i = 0; i < 60; ++i) {
      const double x = (low + high) * 0.5;
      double power = x;
      for (std::size_t k = 0; k < cuts; ++k) power *= x;
      (power > x + 1 ? high : low) = x;
    }
    return 1 / low;
  }

  const Sweep& sweep_;
  const Prepared<double>& plain_;
  const Route& route_;
  const Watch& watch_;
  std::vector<Ends> range_;
  std::vector<Point> found_;
  Point refused_;
  double refused_off_ = 0;  ///< from the middle, of half the range
  std::size_t evaluated_ = 0;
};

// ---- Ways that are the same ----------------------------------------------------------------------

/// Whether two ways leave the same at every pull, in one scenario.
class Likeness {
 public:
  explicit Likeness(const Scenario<double>& scenario) : s_(scenario) {}

  bool of_searched(const Route& a, const Route& b) const {
    auto same_way = [&](const Way& x, const Way& y) {
      return x.searched == y.searched && (!x.searched || nodes(x.node.get(), y.node.get()));
    };
    if (a.searched != b.searched || !same_way(a.lot, b.lot)) return false;
    for (std::size_t i = 0; i < a.apart.size(); ++i)
      if (!same_way(a.apart[i], b.apart[i])) return false;
    return true;
  }

 private:
  bool nodes(const Node* a, const Node* b) const {
    if (a == nullptr || b == nullptr) return a == b;
    if (a->what.index() != b->what.index()) return false;
    return std::visit(
        [&](const auto& what) { return ends(what, std::get<std::decay_t<decltype(what)>>(b->what)); },
        a->what);
  }
  bool ends(const Worked& a, const Worked& b) const {
    if (a.step != b.step || a.visit != b.visit) return false;
    for (std::size_t i = 0; i < a.outputs.size(); ++i)
      if (!nodes(a.outputs[i].get(), b.outputs[i].get())) return false;
    return true;
  }
  bool ends(const SoldTo& a, const SoldTo& b) const { return a.terms == b.terms; }
  bool ends(const Returned& a, const Returned& b) const {
    return quantities(a.after, b.after) &&
           std::equal(a.shares.begin(), a.shares.end(), b.shares.begin(), b.shares.end(),
                      [&](const AnalyteQuantity& x, const AnalyteQuantity& y) {
                        return x.analyte == y.analyte && quantities(x.quantity, y.quantity);
                      });
  }
  bool ends(const Kept&, const Kept&) const { return true; }
  bool quantities(Quantity a, Quantity b) const { return s_[a] == s_[b]; }

  const Scenario<double>& s_;
};

}  // namespace

std::pair<double, double> searched_range(const Table& table, const Scenario<double>& s) {
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

const Sweep& CutFinder::sweep() {
  if (prepared_ == nullptr) prepared_ = &plain_.emplace(plan_);
  if (!sweep_) sweep_ = make_sweep(*prepared_);
  return *sweep_;
}

const CutSearch& CutFinder::search(const Route& route, const Watch& watch) {
  const Sweep& swept = sweep();
  for (const auto& [other, found] : known_)
    if (Likeness(prepared_->scenario).of_searched(*other, route)) return found;
  return known_.emplace_back(&route, Search(swept, *prepared_, route, watch).run()).second;
}

}  // namespace buttonworth
