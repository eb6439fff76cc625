#include "chance/marginal.hpp"

#include <boost/math/distributions/students_t.hpp>
#include <cmath>

namespace buttonworth {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
using Shape = Spread::Shape;
// Never through long double, which is not the same everywhere; a search for a quantile that gives up is near
// enough for what is done with it.
using Policy = boost::math::policies::policy<
    boost::math::policies::promote_double<false>,
    boost::math::policies::evaluation_error<boost::math::policies::ignore_error>>;
using Student = boost::math::students_t_distribution<double, Policy>;

/// The share of the distribution below x.
double share_below(const Spread& s, double x) {
  switch (s.shape) {
    case Shape::normal: return normal_share((x - s.a) / s.b);
    case Shape::lognormal: return x <= 0 ? 0 : normal_share((std::log(x) - s.a) / s.b);
    case Shape::uniform: return std::clamp((x - s.a) / (s.b - s.a), 0.0, 1.0);
    case Shape::triangular:
      if (x <= s.a) return 0;
      if (x >= s.c) return 1;
      return x < s.b ? (x - s.a) * (x - s.a) / ((s.c - s.a) * (s.b - s.a))
                     : 1 - (s.c - x) * (s.c - x) / ((s.c - s.a) * (s.c - s.b));
    case Shape::student: return boost::math::cdf(Student(s.c), (x - s.a) / s.b);
  }
  return 0;
}

/// The same distribution seen from its other end; of a lognormal there is none.
Spread mirrored(const Spread& s) {
  if (s.shape == Shape::uniform) return {s.shape, -s.b, -s.a, 0};
  if (s.shape == Shape::triangular) return {s.shape, -s.c, -s.b, -s.a};
  return {s.shape, -s.a, s.b, s.c};
}

/// The share above x, to the last digit where it is small.
double share_above(const Spread& s, double x) {
  if (s.shape == Shape::lognormal) return x <= 0 ? 1 : normal_share((s.a - std::log(x)) / s.b);
  return share_below(mirrored(s), -x);
}

/// A value, the density there, and the slope of the density's logarithm.
struct Place {
  double x, density, slope;
};

Place triangular_place(const Spread& s, double p, double q, bool upper) {
  const double width = s.c - s.a, side = upper ? s.c - s.b : s.b - s.a;
  const double from_end = std::sqrt((upper ? q : p) * width * side);
  const double density = 2 * from_end / (width * side);
  return upper ? Place{s.c - from_end, density, -1 / from_end} : Place{s.a + from_end, density, 1 / from_end};
}

double density_at_score(double z) { return exponential(-0.5 * z * z) * 0.39894228040143267794; }

double score_of(double p, double q) { return p <= q ? normal_score(p) : -normal_score(q); }

/// The value of Student's t not passed with chance p, up to ½. Boost's loses half the digits near 0, which a
/// step of Newton's method brings back.
double student_score(const Student& student, double p) {
  const double t = quantile(student, p);
  return t - (cdf(student, t) - p) / pdf(student, t);
}

/// Where the share p lies below and q = 1 - p above. `upper`: of a triangle, the side above its mode.
Place place_at(const Spread& s, double p, double q, bool upper) {
  switch (s.shape) {
    case Shape::normal: {
      const double z = score_of(p, q);
      return {s.a + s.b * z, density_at_score(z) / s.b, -z / s.b};
    }
    case Shape::lognormal: {
      const double z = score_of(p, q), x = exponential(s.a + s.b * z);
      return {x, density_at_score(z) / (s.b * x), -(1 + z / s.b) / x};
    }
    case Shape::uniform: {
      const double width = s.b - s.a;
      return {p <= q ? s.a + width * p : s.b - width * q, 1 / width, 0};
    }
    case Shape::triangular: return triangular_place(s, p, q, upper);
    case Shape::student: break;
  }
  const Student student(s.c);
  const double t = p <= q ? student_score(student, p) : -student_score(student, q);
  return {s.a + s.b * t, pdf(student, t) / s.b, -(s.c + 1) * t / (s.c + t * t) / s.b};
}

/// A distribution less the shares cut away at its ends, and what is left made whole.
struct Truncated {
  Spread spread;
  double below, above;

  double whole() const { return 1 - below - above; }
  Place place(double p, double q, bool upper) const {
    return place_at(spread, below + p * whole(), above + q * whole(), upper);
  }
  /// The share of a triangle's rising side, of what is left.
  double rising() const { return ((spread.b - spread.a) / (spread.c - spread.a) - below) / whole(); }
  bool has_kink() const { return spread.shape == Shape::triangular && rising() > 0 && rising() < 1; }
};

/// Value, slope and bend over the normal score.
struct Knot {
  double x, slope, bend;
};

Knot knot_at(const Truncated& cut, double z, bool upper) {
  const Place place = cut.place(normal_share(z), normal_share(-z), upper);
  const double slope = density_at_score(z) * cut.whole() / place.density;
  return {place.x, slope, -slope * (z + place.slope * slope)};
}

ScoreTable::Piece piece_between(const Knot& from, const Knot& to, double width) {
  const double slope = from.slope * width, bend = from.bend * width * width;
  const double a = to.x - from.x - slope - bend / 2, b = to.slope * width - slope - bend;
  const double c = to.bend * width * width - bend;
  return {from.x, slope, bend / 2, 10 * a - 4 * b + c / 2, -15 * a + 7 * b - c, 6 * a - 3 * b + c / 2};
}

double middle(const ScoreTable::Piece& c) {
  return c[0] + 0.5 * (c[1] + 0.5 * (c[2] + 0.5 * (c[3] + 0.5 * (c[4] + 0.5 * c[5]))));
}

/// Twice as many pieces until the middle of each, where it is farthest off, is near enough.
std::vector<ScoreTable::Piece> pieces_between(const Truncated& cut, double from, double to, double centre,
                                              double width) {
  constexpr double tolerance = 2e-10;
  constexpr std::size_t most_pieces = 256;
  const bool upper = cut.has_kink() ? normal_share((from + to) / 2) > cut.rising() : cut.rising() <= 0;
  std::vector<Knot> knots{knot_at(cut, from, upper), knot_at(cut, to, upper)};
  for (;;) {
    const std::size_t count = knots.size() - 1;
    const double each = (to - from) / static_cast<double>(count);
    std::vector<ScoreTable::Piece> pieces;
    std::vector<Knot> finer;
    bool near = true;
    for (std::size_t i = 0; i < count; ++i) {
      pieces.push_back(piece_between(knots[i], knots[i + 1], each));
      finer.push_back(knots[i]);
      finer.push_back(knot_at(cut, from + (static_cast<double>(i) + 0.5) * each, upper));
      const double x = finer.back().x;
      near &= std::abs(middle(pieces.back()) - x) <= tolerance * std::max(width, std::abs(x - centre));
    }
    if (near || count >= most_pieces) return pieces;
    finer.push_back(knots.back());
    knots = std::move(finer);
  }
}

/// A triangle's curve bends sharply at its mode, which therefore lies on a cell's edge.
double first_score(const Truncated& cut) {
  constexpr double reach = ScoreTable::reach, per_score = ScoreTable::cells_per_score;
  if (!cut.has_kink()) return -reach;
  const double mode = std::clamp(score_of(cut.rising(), 1 - cut.rising()), -reach, reach);
  return mode - std::ceil((mode + reach) * per_score) / per_score;
}

/// `centre` and `width`: the mean and the standard deviation, to which errors are held.
std::shared_ptr<const ScoreTable> table_of(const Truncated& cut, double centre, double width) {
  auto table = std::make_shared<ScoreTable>(first_score(cut));
  constexpr double cell = 1 / ScoreTable::cells_per_score;
  for (int i = 0; table->origin() + i * cell < ScoreTable::reach; ++i) {
    const double from = table->origin() + i * cell;
    table->add_cell(pieces_between(cut, from, from + cell, centre, width));
  }
  return table;
}

/// Sum over all i, j from 1 to n of f(min(i, j)), ÷ n².
template <class F>
double mean_over_pairs(int n, F f) {
  double sum = 0;
  for (int m = 1; m <= n; ++m) sum += (2.0 * (n - m) + 1) * f(m);
  return sum / (static_cast<double>(n) * n);
}

/// Variance of an average of n fixings of an arithmetic Brownian motion, over that of the last.
double averaged_variance(double n) { return (n + 1) * (2 * n + 1) / (6 * n * n); }

/// The lognormal of the same mean, with the second moment of an average of fixings of a geometric Brownian
/// motion.
Spread averaged_lognormal(double log_mean, double s, int n) {
  const double excess = mean_over_pairs(n, [&](int m) { return std::expm1(s * s * m / n); });
  const double variance = std::log1p(excess);
  return {Shape::lognormal, log_mean - variance / 2, std::sqrt(variance), 0};
}

Spread spread_of_determinations(const Distribution& d, double centre, double nearer) {
  const double n = static_cast<double>(d.determinations.size());
  const double error = std::sqrt(to_double(variance(d))) * nearer;
  if (n < 4) return {Shape::normal, centre, error, 0};
  return {Shape::student, centre, error, n - 1};
}

Spread spread_of(const Distribution& d, double centre, int fixings) {
  const double nearer = std::sqrt(averaged_variance(fixings));
  auto drawn_in = [&](const Decimal& x) {
    return fixings == 1 ? to_double(x) : centre + (to_double(x) - centre) * nearer;
  };
  switch (d.shape) {
    case Distribution::Shape::normal: return {Shape::normal, centre, to_double(d.b) * nearer, 0};
    case Distribution::Shape::lognormal: {
      const double s = to_double(natural_log(d.b)), log_median = to_double(natural_log(d.a));
      return fixings == 1 ? Spread{Shape::lognormal, log_median, s, 0}
                          : averaged_lognormal(log_median + s * s / 2, s, fixings);
    }
    case Distribution::Shape::uniform: return {Shape::uniform, drawn_in(d.a), drawn_in(d.b), 0};
    case Distribution::Shape::triangular:
      return {Shape::triangular, drawn_in(d.a), drawn_in(d.b), drawn_in(d.c)};
    case Distribution::Shape::determinations: break;
  }
  return spread_of_determinations(d, centre, nearer);
}

/// The ends of what a distribution can be.
std::pair<double, double> ends(const Spread& s) {
  switch (s.shape) {
    case Shape::lognormal: return {0, infinite};
    case Shape::uniform: return {s.a, s.b};
    case Shape::triangular: return {s.a, s.c};
    default: return {-infinite, infinite};
  }
}

}  // namespace

FieldRange range_of(Allowed allowed) {
  switch (allowed) {
    case Allowed::any: return {};
    case Allowed::not_negative: return {0, infinite, false, false};
    case Allowed::positive: return {0, infinite, true, false};
    case Allowed::share: return {0, 1, false, false};
    case Allowed::positive_share: return {0, 1, true, false};
    case Allowed::below_all: return {0, 1, false, true};
    case Allowed::at_least_one: return {1, infinite, false, false};
  }
  return {};
}

/// Finds what lies beyond the range, and keeps values off it. What is so little that no score within the
/// table's reach moves by 1e-9 is cut by holding values to the range alone.
void Marginal::cut_to(Allowed allowed, double mean) {
  const FieldRange range = range_of(allowed);
  const auto [lowest, highest] = ends(spread_);
  // A lognormal is never 0, whatever the score.
  const bool has_low = lowest < range.low || (lowest <= range.low && spread_.shape != Shape::lognormal);
  const bool has_high = highest >= range.high && range.high < infinite;
  if (has_low) low_ = range.lowest(mean);
  if (has_high) high_ = range.highest(mean);
  bounded_ = has_low || has_high;
  if (has_low) below_ = share_below(spread_, range.low);
  if (has_high) above_ = share_above(spread_, std::max(range.high, high_));
}

Marginal Marginal::of(const StatedQuantity& stated, int fixings) {
  Marginal one;
  const double centre = to_double(stated.mean);
  const double sd = stated.spread ? std::sqrt(to_double(variance(*stated.spread))) : 0;
  one.spread_.a = centre;
  if (!(sd > 1e-15 * std::abs(centre)))
    return one;  // equal determinations, but for the rounding of their mean
  one.spread_ = spread_of(*stated.spread, centre, fixings);
  one.cut_to(stated.allowed, centre);

  constexpr double nothing = 1e-26;
  const bool whole = one.cut_off() < nothing;
  const Shape shape = one.spread_.shape;
  one.form_ = Form::table;
  if (whole && shape == Shape::normal) one.form_ = Form::normal;
  if (whole && shape == Shape::lognormal) one.form_ = Form::lognormal;
  if (whole && shape == Shape::uniform) one.form_ = Form::uniform;
  if (whole && shape == Shape::triangular) one.form_ = Form::triangular;
  if (one.form_ == Form::normal || one.form_ == Form::lognormal) return one;
  const double width = std::min(sd * std::sqrt(averaged_variance(fixings)), one.high_ - one.low_);
  one.table_ = table_of({one.spread_, one.below_, one.above_}, centre, width);
  return one;
}

double Marginal::quantile(double p) const {
  if (certain()) return spread_.a;
  const Truncated cut{spread_, below_, above_};
  return within(cut.place(p, 1 - p, spread_.shape == Shape::triangular && p > cut.rising()).x);
}

}  // namespace buttonworth
