#include "bench/circuit_search.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

#include "bench/circuit_space.hpp"

namespace buttonworth {
namespace {

using Eigen::Index;

double square(double value) { return value * value; }

/// Geometric mean of what is above 0, so that grams and tonnes count alike.
double typical(const std::vector<double>& figures, double otherwise) {
  double logs = 0, count = 0;
  for (double figure : figures)
    if (figure > 0) logs += std::log(figure), ++count;
  return count > 0 ? std::exp(logs / count) : otherwise;
}

double size_of(const std::optional<Figure>& figure) {
  if (!figure) return 0;
  return figure->value > 0 ? figure->value : figure->sd;
}

/// What masses and grades are about, before anything is worked out: what was measured, or else what is
/// typical.
struct FirstSizes {
  std::vector<double> masses;
  Vector grades;  // at the places of contents
  double largest_mass = 0;

  explicit FirstSizes(const CircuitLayout& layout) : grades(Vector::Ones(layout.count())) {
    for (std::size_t s = 0; s < layout.streams(); ++s) masses.push_back(size_of(layout.mass_of(s)));
    largest_mass = *std::max_element(masses.begin(), masses.end());
    if (!(largest_mass > 0)) largest_mass = 1;
    fill(masses);
    for (std::size_t a = 0; a < layout.analytes(); ++a) {
      std::vector<double> sizes;
      for (std::size_t s = 0; s < layout.streams(); ++s) sizes.push_back(size_of(layout.grade_of(s, a)));
      fill(sizes);
      for (std::size_t s = 0; s < layout.streams(); ++s) grades[layout.content(s, a)] = sizes[s];
    }
  }

 private:
  static void fill(std::vector<double>& sizes) {
    const double about = typical(sizes, 1);
    for (double& size : sizes)
      if (!(size > 0)) size = about;
  }
};

/// Half the misfit's slope and curvature over scaled unknowns; `plain` is the curvature without what bends in
/// the quotients, which is never negative.
struct MisfitShape {
  Vector slope;
  StreamBlocks curvature, plain;
};

class Search {
 public:
  Search(const CircuitLayout& layout, const Watch& watch)
      : layout_(layout),
        watch_(watch),
        first_(layout),
        limits_{{}, std::vector<double>(layout.streams(), 0)} {
    for (std::size_t s = 0; s < layout_.streams(); ++s) {
      const auto& mass = layout_.mass_of(s);
      limits_.empty.push_back(holds_exactly(mass) && mass->value == 0);
      least_masses_.push_back(mass ? 1e-6 * first_.masses[s] : 1e-8 * first_.largest_mass);
    }
  }

  CircuitPoint run() {
    settle();
    return on_limits();
  }

 private:
  std::size_t streams() const { return layout_.streams(); }
  bool is_empty(std::size_t s) const { return limits_.empty[s]; }
  double mass(std::size_t s) const { return x_[layout_.mass(s)]; }
  /// Whether a mass is worked out, and may be found to be 0.
  bool may_vanish(std::size_t s) const { return !is_empty(s) && !holds_exactly(layout_.mass_of(s)); }

  // ---- Scales --------------------------------------------------------------------------------

  Vector sizes_of_masses() const {
    Vector sizes(layout_.count());
    for (std::size_t s = 0; s < streams(); ++s)
      for (std::size_t part = 0; part <= layout_.analytes(); ++part) {
        const Index i = layout_.part(s, part);
        sizes[i] = mass_sizes_[s] * (part == 0 ? 1 : first_.grades[i]);
      }
    return sizes;
  }
  void take_space(Vector sizes) {
    space_ = std::make_unique<CircuitSpace>(layout_, limits_, std::move(sizes));
  }
  const Vector& sizes() const { return space_->sizes(); }

  /// Scales anew where a figure has left its size behind. Contents may fall to nothing and keep theirs.
  void keep_sizes() {
    for (std::size_t s = 0; s < streams(); ++s)
      if (!is_empty(s)) mass_sizes_[s] = std::max(mass(s), least_masses_[s]);
    Vector now = sizes_of_masses();
    layout_.each_grade([&](std::size_t s, std::size_t a) {
      const Index c = layout_.content(s, a);
      now[c] = std::max(now[c], x_[c]);
    });
    const auto ratio = now.array() / sizes().array();
    if (ratio.maxCoeff() >= 5 || ratio.minCoeff() <= 0.2) take_space(std::move(now));
  }

  // ---- The start -----------------------------------------------------------------------------

  /// With (content − grade × mass) ÷ (sd × a mass of this size) for a grade's misfit all is quadratic. Sizes
  /// of missing masses come from the last turn, until they stay. False where no point keeps what holds
  /// exactly and the limits.
  bool start(int most_turns) {
    for (int turn = 0; turn < most_turns; ++turn) {
      watch_.keep_going();
      take_space(sizes_of_masses());
      const auto found = start_turn();
      if (!found) return false;
      x_ = found->cwiseProduct(sizes());
      double moved = 0;
      for (std::size_t s = 0; s < streams(); ++s) {
        if (is_empty(s) || layout_.mass_of(s)) continue;
        const double now = std::max({mass(s), limits_.floors[s], least_masses_[s]});
        moved = std::max(moved, std::abs(std::log(now / mass_sizes_[s])));
        mass_sizes_[s] = now;
      }
      if (moved < 0.05) break;
    }
    return true;
  }

  std::optional<Vector> start_turn() const {
    constexpr double light = 1e-8;  // a light hand on what no figure holds yet
    const Index width = static_cast<Index>(1 + layout_.analytes());
    StreamBlocks curvature(streams(), light * Matrix::Identity(width, width));
    Vector slope = light * (space_->origin() - Vector::Ones(layout_.count()));
    for (std::size_t s = 0; s < streams(); ++s)
      if (!is_empty(s)) add_start(s, curvature[s], slope);
    return space_->least_from(space_->origin(), space_->reduced(curvature), slope);
  }
  void add_start(std::size_t s, Matrix& block, Vector& slope) const {
    const Index m = layout_.mass(s);
    const double at = space_->origin()[m];
    if (const auto& mass = layout_.mass_of(s); is_measured(mass)) {
      const double weight = sizes()[m] / mass->sd;
      block(0, 0) += weight * weight;
      slope[m] += weight * (weight * at - mass->value / mass->sd);
    }
    for (std::size_t a = 0; a < layout_.analytes(); ++a) {
      const auto& grade = layout_.grade_of(s, a);
      if (!is_measured(grade)) continue;
      const Index c = layout_.content(s, a), k = c - m;
      const double per = 1 / (grade->sd * mass_sizes_[s]);
      const double up = sizes()[c] * per, down = -grade->value * sizes()[m] * per;
      const double left = up * space_->origin()[c] + down * at;
      block(k, k) += up * up;
      block(0, 0) += down * down;
      block(k, 0) += up * down;
      block(0, k) += up * down;
      slope[c] += up * left;
      slope[m] += down * left;
    }
  }

  // ---- The way down --------------------------------------------------------------------------

  double misfit(const Vector& x) const {
    double sum = 0;
    for (std::size_t s = 0; s < streams(); ++s) {
      const double at = x[layout_.mass(s)];
      if (const auto& known = layout_.mass_of(s); is_measured(known))
        sum += square((at - known->value) / known->sd);
      if (is_empty(s)) continue;
      for (std::size_t a = 0; a < layout_.analytes(); ++a)
        if (const auto& known = layout_.grade_of(s, a); is_measured(known))
          sum += square((x[layout_.content(s, a)] / at - known->value) / known->sd);
    }
    return sum;
  }

  MisfitShape shape() const {
    const Index width = static_cast<Index>(1 + layout_.analytes());
    MisfitShape all{Vector::Zero(layout_.count()), StreamBlocks(streams(), Matrix::Zero(width, width)), {}};
    StreamBlocks bend = all.curvature;
    all.plain = all.curvature;
    for (std::size_t s = 0; s < streams(); ++s) {
      add_shape(s, all.slope, all.plain[s], bend[s]);
      all.curvature[s] = all.plain[s] + bend[s];
    }
    return all;
  }
  void add_shape(std::size_t s, Vector& slope, Matrix& plain, Matrix& bend) const {
    const Index m = layout_.mass(s);
    if (const auto& known = layout_.mass_of(s); is_measured(known)) {
      const double weight = sizes()[m] / known->sd;
      slope[m] += weight * (x_[m] - known->value) / known->sd;
      plain(0, 0) += weight * weight;
    }
    if (is_empty(s)) return;
    for (std::size_t a = 0; a < layout_.analytes(); ++a) {
      const auto& known = layout_.grade_of(s, a);
      if (!is_measured(known)) continue;
      const Index c = layout_.content(s, a), k = c - m;
      const double grade = x_[c] / x_[m], left = (grade - known->value) / known->sd;
      const double u = sizes()[m] / x_[m], v = sizes()[c] / (x_[m] * known->sd), w = grade * u / known->sd;
      slope[c] += left * v;
      slope[m] -= left * w;
      plain(k, k) += v * v;
      plain(0, 0) += w * w;
      plain(k, 0) -= v * w;
      plain(0, k) -= v * w;
      bend(0, 0) += 2 * left * w * u;
      bend(k, 0) -= left * v * u;
      bend(0, k) -= left * v * u;
    }
  }

  static bool is_sound(const Matrix& reduced) {
    const Eigen::LLT<Matrix> factor(reduced);
    return factor.info() == Eigen::Success && factor.rcond() > 1e-15;
  }

  /// Where the next step leads: to the least by the curvature itself where that is positive along all that is
  /// free; or along all but what is held at a limit, if it stays held; else by the plain one, with as light a
  /// hand as does on what no figure holds.
  std::optional<Vector> next_aim(const MisfitShape& shape, const Vector& base) const {
    const Matrix whole = space_->reduced(shape.curvature);
    if (is_sound(whole)) return space_->least_from(base, whole, shape.slope);
    const Matrix plain = space_->reduced(shape.plain);
    const double size = std::max(1e-10, plain.trace());
    const Matrix held = space_->stiffened(whole, base, size);
    if (is_sound(held)) {
      auto aim = space_->least_from(base, held, shape.slope);
      if (aim && space_->stays_at_limits(base, *aim)) return aim;
    }
    Matrix safe = plain;
    for (double light = 1e-16; light < 1e-5 && !is_sound(safe); light *= 100)
      safe = plain + light * size * Matrix::Identity(plain.rows(), plain.cols());
    return space_->least_from(base, safe, shape.slope);
  }

  /// Newton's steps, each halved while it leads up. False where they come to no end.
  bool descend() {
    constexpr int most_turns = 200;
    double last = 1;
    for (int turn = 0; turn < most_turns; ++turn) {
      watch_.keep_going();
      keep_sizes();
      const Vector base = space_->straightened(x_.cwiseQuotient(sizes()));
      x_ = base.cwiseProduct(sizes());
      if (space_->freedom() == 0) return true;
      const MisfitShape here = shape();
      const auto aim = next_aim(here, base);
      if (!aim) return false;
      const Vector step = *aim - base;
      const double gain = -here.slope.dot(step), longest = step.cwiseAbs().maxCoeff();
      // So near the end rounding hides whether the misfit still falls: the step alone tells.
      const bool near = gain <= 1e-9 * (1 + misfit(x_));
      if (!near && !go_down(step, gain)) return false;
      if (near) x_ = aim->cwiseProduct(sizes());
      if (near && (longest <= 1e-13 || gain <= 1e-26 || (longest <= 1e-9 && longest >= last / 2)))
        return true;
      last = near ? longest : 1;
    }
    return false;
  }

  bool go_down(const Vector& step, double gain) {
    const double now = misfit(x_) / 2;
    for (double part = 1; part > 1e-14; part /= 2) {
      const Vector x = x_ + part * step.cwiseProduct(sizes());
      if (misfit(x) / 2 > now - 1e-4 * part * gain) continue;
      x_ = x;
      return true;
    }
    return false;
  }

  // ---- From several sides --------------------------------------------------------------------

  /// A way to begin: what missing masses are taken to be beside the largest (0: what is typical), what they
  /// are kept above beside that, and how often the start is turned over.
  struct Beginning {
    double size, floor;
    int turns;
  };
  bool begin(const Beginning& way) {
    mass_sizes_ = first_.masses;
    for (std::size_t s = 0; s < streams(); ++s) {
      const bool missing = !layout_.mass_of(s);
      if (missing && way.size > 0) mass_sizes_[s] = way.size * first_.largest_mass;
      limits_.floors[s] = std::max(least_masses_[s], missing ? way.floor * mass_sizes_[s] : 0);
    }
    if (!start(way.turns)) return false;
    limits_.floors = least_masses_;
    take_space(sizes_of_masses());
    return true;
  }

  struct Found {
    double misfit;
    Vector x;
    std::vector<double> mass_sizes;
  };
  Found here() const { return {misfit(x_), x_, mass_sizes_}; }
  void return_to(const Found& found) {
    x_ = found.x;
    mass_sizes_ = found.mass_sizes;
    take_space(sizes_of_masses());
  }

  /// Missing masses may leave more hollows than one: the way down is gone from several sides, and the lowest
  /// counts. False where there is no beginning.
  bool find_lowest() {
    static constexpr Beginning ways[] = {
        {0, 1e-2, 30}, {1e-3, 1e-2, 1}, {0, 1e-3, 1}, {1, 1e-2, 1}, {0, 0, 30}};
    bool one_side = true;
    for (std::size_t s = 0; s < streams(); ++s) one_side = one_side && layout_.mass_of(s);
    bool begun = false;
    std::optional<Found> lowest;
    for (const Beginning& way : ways) {
      if (lowest && (one_side || way.floor == 0)) break;
      if (!begin(way)) continue;
      begun = true;
      if (!descend()) continue;
      Found found = here();
      if (!lowest || found.misfit < lowest->misfit) lowest = std::move(found);
    }
    if (!begun) return false;
    if (!lowest) does_not_settle();
    return_to(*lowest);
    return true;
  }

  [[noreturn]] void does_not_settle() const {
    require_inside_products(layout_);
    throw CircuitError(
        "the figures do not settle to a balance: look for one that is wrong by far, or give errors nearer "
        "to what the measurements deserve");
  }

  /// A trial: false also where what is tried contradicts the figures.
  bool can_find_lowest() {
    try {
      return find_lowest();
    } catch (const Error& error) {
      if (error.complaint().code != Code::balance) throw;
      return false;
    }
  }

  // ---- Streams of no mass --------------------------------------------------------------------

  /// From the start down, until no stream is left that wants to be empty and is not.
  void settle() {
    while (!find_lowest()) empty_forced_streams();
    require_told_apart();
    for (auto thin = thin_streams(1 + 1e-6); !thin.empty(); thin = thin_streams(1 + 1e-6)) {
      for (std::size_t s : thin)
        if (!layout_.mass_of(s)) require_within_products(layout_, s);
      if (!empty_thin_streams() && !lower_least_masses(thin)) return;
    }
  }

  /// Streams whose mass is no more than so many times its least.
  std::vector<std::size_t> thin_streams(double times) const {
    std::vector<std::size_t> thin;
    for (std::size_t s = 0; s < streams(); ++s)
      if (may_vanish(s) && mass(s) <= least_masses_[s] * times) thin.push_back(s);
    return thin;
  }

  /// Streams near their least mass are empty from now on, if the balance is none the worse for it: those that
  /// thin ones feed are as thin.
  bool empty_thin_streams() {
    const Found before = here();
    const auto was_empty = limits_.empty;
    for (std::size_t s : thin_streams(1000)) limits_.empty[s] = true;
    if (can_find_lowest() && misfit(x_) <= before.misfit + 1e-7 * (1 + before.misfit)) return true;
    limits_.empty = was_empty;
    limits_.floors = least_masses_;
    return_to(before);
    return false;
  }

  /// A stream of nearly pure metal may be as thin as that and still count: false where it cannot be told any
  /// more.
  bool lower_least_masses(const std::vector<std::size_t>& thin) {
    for (std::size_t s : thin) {
      if (least_masses_[s] < 1e-13 * first_.largest_mass) return false;
      least_masses_[s] *= 1e-3;
    }
    limits_.floors = least_masses_;
    const Found before = here();
    return_to(before);
    if (!descend()) return_to(before);
    return true;
  }

  /// Where the exact figures leave streams nothing but 0 kg: each is tried alone.
  void empty_forced_streams() {
    const auto can_be = [&] {
      mass_sizes_ = first_.masses;
      return start(1);
    };
    limits_.floors.assign(streams(), 0);
    if (!can_be()) impossible();
    std::vector<std::size_t> forced;
    for (std::size_t s = 0; s < streams(); ++s) {
      if (!may_vanish(s)) continue;
      limits_.floors.assign(streams(), 0);
      limits_.floors[s] = least_masses_[s];
      if (!can_be()) forced.push_back(s);
    }
    if (forced.empty()) impossible();
    for (std::size_t s : forced) limits_.empty[s] = true;
  }

  [[noreturn]] void impossible() const {
    require_within_products(layout_);
    std::vector<std::string> names = space_->broken_at_origin();
    if (names.empty()) names.push_back("a mass or a grade would be below 0");
    throw CircuitError("the figures that hold exactly contradict each other: with them " +
                       one_after_another(names) + "; give an error to what was measured, or correct it");
  }

  // ---- The end -------------------------------------------------------------------------------

  CircuitPoint point() const { return {x_, sizes(), limits_.empty, misfit(x_)}; }

  void require_told_apart() const {
    const CircuitPoint at = point();
    CircuitEquations known = known_at(layout_, x_);
    for (std::size_t s = 0; s < streams(); ++s)
      if (is_empty(s)) known.add_empty(s);
    layout_.each_grade([&](std::size_t s, std::size_t a) {
      if (held(layout_, at, s, a) != Held::not_held)
        known.add_grade(s, a, x_[layout_.content(s, a)] / mass(s));
    });
    // A mass that has gone to nothing is seen at the size it was thought to have.
    Vector seen = sizes();
    for (std::size_t s : thin_streams(1000))
      for (std::size_t part = 0; part <= layout_.analytes(); ++part)
        seen[layout_.part(s, part)] *= first_.masses[s] / mass_sizes_[s];
    const auto names = unfound(layout_, known, x_, seen);
    if (names.empty()) return;
    throw CircuitError("the assays do not tell the products apart: " + one_after_another(names) +
                       " cannot be found from them; weigh one of the products, or take another "
                       "analyte");
  }

  /// What is held at a limit, and what is empty, without the rounding.
  CircuitPoint on_limits() const {
    CircuitPoint at = point();
    for (std::size_t s = 0; s < streams(); ++s) {
      if (is_empty(s)) at.x.segment(layout_.mass(s), static_cast<Index>(1 + layout_.analytes())).setZero();
      for (std::size_t a = 0; a < layout_.analytes(); ++a) {
        const Held how = held(layout_, at, s, a);
        if (how == Held::at_nothing) at.x[layout_.content(s, a)] = 0;
        if (how == Held::at_all) at.x[layout_.content(s, a)] = at.x[layout_.mass(s)];
      }
    }
    at.misfit = misfit(at.x);
    return at;
  }

  const CircuitLayout& layout_;
  const Watch& watch_;
  FirstSizes first_;
  CircuitLimits limits_;
  std::vector<double>
      least_masses_;  // kept until it is known that a mass wants to be 0: grades are quotients
  std::vector<double> mass_sizes_;
  std::unique_ptr<CircuitSpace> space_;
  Vector x_;
};

}  // namespace

Held held(const CircuitLayout& layout, const CircuitPoint& point, std::size_t s, std::size_t a) {
  constexpr double width = 1e-10;  // beside the figure's own size
  if (point.empty[s] || holds_exactly(layout.grade_of(s, a))) return Held::not_held;
  const Index c = layout.content(s, a);
  const double mass = point.x[layout.mass(s)], content = point.x[c];
  if (content <= width * point.sizes[c]) return Held::at_nothing;
  return mass - content <= width * mass ? Held::at_all : Held::not_held;
}

CircuitPoint least_misfit(const CircuitLayout& layout, const Watch& watch) {
  return Search(layout, watch).run();
}

}  // namespace buttonworth
