// What a simulation draws: its random numbers against published ones, its distributions against Boost.Math's.
#include <gtest/gtest.h>

#include <algorithm>
#include <boost/math/distributions/lognormal.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/distributions/triangular.hpp>
#include <boost/math/distributions/uniform.hpp>
#include <boost/random/sobol.hpp>
#include <cmath>
#include <functional>

#include "chance/copula.hpp"
#include "chance/marginal.hpp"
#include "chance/sobol.hpp"
#include "chance/uniform.hpp"
#include "quantity/error.hpp"
#include "random.hpp"

namespace buttonworth::test {
namespace {

using Long = long double;
using Narrow = Pack<2, 4>;
// Of widths that no worker has: theirs may be compiled for another processor, and linked before these.
using Wide = Pack<4, 1>;
using Widest = Pack<8, 1>;

std::uint64_t bits_of(double x) { return std::bit_cast<std::uint64_t>(x); }

/// Calls `f` of doubles on all of `at`, and of packs P, and wants the same bits.
template <class P, class F>
void expect_same_bits(const std::vector<double>& at, F f) {
  for (std::size_t first = 0; first + P::size <= at.size(); first += P::size) {
    P in;
    for (int lane = 0; lane < P::size; ++lane) in.set(lane, at[first + static_cast<std::size_t>(lane)]);
    const P out = f(in);
    for (int lane = 0; lane < P::size; ++lane)
      ASSERT_EQ(bits_of(out[lane]), bits_of(f(in[lane])))
          << "of " << in[lane] << " in " << P::size << " lanes";
  }
}
template <class F>
void expect_same_bits_in_every_width(const std::vector<double>& at, F f) {
  expect_same_bits<Narrow>(at, f);
  expect_same_bits<Wide>(at, f);
  expect_same_bits<Widest>(at, f);
}

// ---- Random numbers -----------------------------------------------------------------------------

/// Known answers of Random123's authors (kat_vectors of their distribution): philox4x32 with 10 rounds,
/// counter and key of zeros, of ones, and of digits of pi. [P; the third from memory]
TEST(Philox, KnownAnswers) {
  const auto bits = [](std::uint64_t upper, std::uint64_t lower) { return (upper << 32 | lower) >> 12; };
  const auto zeros = philox_pair(0, 0, 0, 0);
  EXPECT_EQ(zeros[0], bits(0xe169c58d, 0x6627e8d5));
  EXPECT_EQ(zeros[1], bits(0x9b00dbd8, 0xbc57ac4c));
  const auto ones = philox_pair(~0ull, 0xffffffff, ~0ull, 0xffffffff);
  EXPECT_EQ(ones[0], bits(0x41c83b0e, 0x408f276d));
  EXPECT_EQ(ones[1], bits(0x6d5451fd, 0xa20bc7c6));
  const auto pi = philox_pair(0x299f31d0a4093822, 0x13198a2e, 0x85a308d3243f6a88, 0x03707344);
  EXPECT_EQ(pi[0], bits(0x94fdcceb, 0xd16cfe09));
  EXPECT_EQ(pi[1], bits(0x24126ea1, 0x5001e420));
}

// In vectors of any width the same bits, also where a pair's number passes 32 bits.
template <class P>
void expect_pairs_of_philox(std::uint64_t seed, std::uint32_t dimension, std::uint64_t first) {
  for (std::uint32_t stream : {0u, 1u, 0xffffffffu}) {
    std::uint64_t k[2 * P::size];
    philox_pairs<P>(seed, dimension, first, k, stream);
    for (std::size_t i = 0; i < P::size; ++i) {
      const auto pair = philox_pair(seed, dimension, first + i, stream);
      EXPECT_EQ(k[2 * i], pair[0]) << first + i;
      EXPECT_EQ(k[2 * i + 1], pair[1]) << first + i;
    }
  }
}
TEST(Draws, PhiloxInVectorsGivesTheSameBits) {
  const std::uint64_t seeds[] = {1, 0x299f31d0a4093822, ~0ull};
  for (std::uint64_t seed : seeds)
    for (std::uint64_t first : {0ull, 123456ull, 0xfffffffdull, 0x7ffffffffull}) {
      expect_pairs_of_philox<Pack<2, 3>>(seed, 5, first);
      expect_pairs_of_philox<Pack<4, 3>>(seed, 0, first);
      expect_pairs_of_philox<Pack<8, 1>>(seed, 0xffffffff, first);
    }
}

TEST(OpenUnit, NeverReachesAnEnd) {
  EXPECT_EQ(open_unit(0), 0x1p-53);
  EXPECT_EQ(open_unit((1ull << 52) - 1), 1 - 0x1p-53);
  EXPECT_EQ(open_unit(1ull << 51), 0.5 + 0x1p-53);
}

template <class P>
void expect_same_units() {
  std::uint64_t k[P::size];
  for (std::uint64_t pair = 0; pair < 200; ++pair) {
    for (int lane = 0; lane < P::size; ++lane)
      k[lane] = philox_pair(7, static_cast<std::uint32_t>(lane), pair, 0)[0];
    const P units = open_units<P>(k);
    for (int lane = 0; lane < P::size; ++lane) {
      ASSERT_EQ(units[lane], open_unit(k[lane]));
      ASSERT_EQ(units[lane] * 0x1p53, static_cast<double>(2 * k[lane] + 1));
    }
  }
}
TEST(OpenUnit, IsExactInEveryWidth) {
  expect_same_units<Narrow>();
  expect_same_units<Wide>();
  expect_same_units<Widest>();
}

// ---- Sobol's points -----------------------------------------------------------------------------

std::uint64_t gray(std::uint64_t n) { return n ^ (n >> 1); }

/// The first ten points in three dimensions as Joe and Kuo print them on the page of their direction numbers,
/// in Gray code's order. [M]
TEST(Sobol, FirstPoints) {
  constexpr double printed[10][3] = {{0, 0, 0},
                                     {0.5, 0.5, 0.5},
                                     {0.75, 0.25, 0.25},
                                     {0.25, 0.75, 0.75},
                                     {0.375, 0.375, 0.625},
                                     {0.875, 0.875, 0.125},
                                     {0.625, 0.125, 0.875},
                                     {0.125, 0.625, 0.375},
                                     {0.1875, 0.3125, 0.9375},
                                     {0.6875, 0.8125, 0.4375}};
  for (std::uint32_t d = 0; d < 3; ++d) {
    const SobolDimension points = plain_sobol(d);
    for (std::uint64_t n = 0; n < 10; ++n)
      EXPECT_EQ(static_cast<double>(points.at(gray(n))) * 0x1p-52, printed[n][d])
          << "point " << n << ", " << d;
  }
}

/// Boost's engine works out its points from the same tables by code of its own, in Gray code's order and
/// without the origin.
TEST(Sobol, AgreesWithBoostsEngine) {
  constexpr std::uint32_t dimensions = 300;
  boost::random::sobol_engine<std::uint64_t, 52> engine(dimensions);
  std::vector<SobolDimension> points;
  for (std::uint32_t d = 0; d < dimensions; ++d) points.push_back(plain_sobol(d));
  for (std::uint64_t n = 1; n < 2000; ++n)
    for (const SobolDimension& one : points) ASSERT_EQ(one.at(gray(n)), engine()) << "point " << n;
}

/// Beyond those points: every direction, to the last of 52 bits, in the last dimension too.
TEST(Sobol, DirectionsAreTriangular) {
  for (std::uint32_t d : {0u, 1u, 77u, sobol_dimensions - 1}) {
    const SobolDimension points = plain_sobol(d);
    for (int bit = 0; bit < 52; ++bit)
      ASSERT_EQ(std::countr_zero(points.direction[static_cast<std::size_t>(bit)]), 51 - bit) << d;
  }
}

TEST(Sobol, BlocksFillIntervals) {
  Random random(3);
  for (std::uint32_t d : {0u, 1u, 2u, 9u, 100u, sobol_dimensions - 1}) {
    const SobolDimension points = scrambled_sobol(d, 11, 5);
    for (int m = 0; m <= 12; ++m) {
      const std::uint64_t block = random.next() >> (14 + m);
      std::vector<int> seen(1u << m);
      for (std::uint64_t i = 0; i < seen.size(); ++i) ++seen[points.at((block << m) + i) >> (52 - m)];
      for (int times : seen) ASSERT_EQ(times, 1) << "dimension " << d << ", 2^" << m;
    }
  }
}

/// The first two dimensions are a (0, 2) sequence, which a scrambling keeps: one point in every box of area
/// 2^-m.
TEST(Sobol, TwoDimensionsFillBoxes) {
  const SobolDimension x = scrambled_sobol(0, 11, 5), y = scrambled_sobol(1, 11, 5);
  constexpr int m = 10;
  for (int a = 0; a <= m; ++a) {
    std::vector<int> seen(1u << m);
    for (std::uint64_t i = 0; i < seen.size(); ++i) {
      const std::uint64_t point = (37u << m) + i;
      ++seen[(x.at(point) >> (52 - a)) << (m - a) | y.at(point) >> (52 - (m - a))];
    }
    for (int times : seen) ASSERT_EQ(times, 1) << a;
  }
}

TEST(Sobol, ScramblingsDiffer) {
  const SobolDimension one = scrambled_sobol(4, 1, 0);
  for (const SobolDimension& other :
       {scrambled_sobol(4, 1, 1), scrambled_sobol(4, 2, 0), scrambled_sobol(5, 1, 0)}) {
    EXPECT_NE(one.shift, other.shift);
    EXPECT_NE(one.direction, other.direction);
  }
  EXPECT_EQ(one.direction, scrambled_sobol(4, 1, 0).direction);
  EXPECT_EQ(one.shift, scrambled_sobol(4, 1, 0).shift);
}

/// Under a scrambling every single point is uniform: of 4096 scramblings, a given point falls into each of 16
/// intervals about 256 times, standard deviation 15.5.
TEST(Sobol, ScrambledPointsAreUniform) {
  std::vector<int> seen(16);
  for (std::uint32_t scrambling = 0; scrambling < 4096; ++scrambling)
    ++seen[scrambled_sobol(3, 1, scrambling).at(1234567) >> 48];
  for (int times : seen) EXPECT_NEAR(times, 256, 4.5 * 15.5);
}

TEST(Sobol, SaysHowManyDimensionsThereAre) {
  try {
    plain_sobol(sobol_dimensions);
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.complaint().code, Code::limit);
    EXPECT_NE(error.complaint().text.find("philox"), std::string::npos);
  }
}

/// The g-function of Saltelli and Sobol, a = (0, 1, 4.5, 9, 99, 99, 99, 99): mean 1 exactly, variance
/// 0.4654244319 by its formula, Π (1 + 1 ÷ (3 (1 + a)²)) − 1. [P/M]
double g_of(const std::function<double(std::uint32_t)>& share) {
  constexpr double a[] = {0, 1, 4.5, 9, 99, 99, 99, 99};
  double g = 1;
  for (std::uint32_t d = 0; d < 8; ++d) g *= (std::abs(4 * share(d) - 2) + a[d]) / (1 + a[d]);
  return g;
}

TEST(Sobol, MeanOfTheGFunction) {
  constexpr std::uint64_t count = 1 << 14;
  std::vector<SobolDimension> plain, scrambled;
  for (std::uint32_t d = 0; d < 8; ++d) {
    plain.push_back(plain_sobol(d));
    scrambled.push_back(scrambled_sobol(d, 1, 0));
  }
  boost::random::sobol_engine<std::uint64_t, 52> engine(8);
  double with_origin = 0, in_scrambling = 0, squares = 0, without_origin = 0;
  for (std::uint64_t i = 0; i < count; ++i) {
    with_origin += g_of([&](std::uint32_t d) { return open_unit(plain[d].at(i)); }) / count;
    const double g = g_of([&](std::uint32_t d) { return open_unit(scrambled[d].at(i)); });
    in_scrambling += g / count;
    squares += g * g / count;
    without_origin += g_of([&](std::uint32_t) { return open_unit(engine()); }) / count;
  }
  // Plain random numbers would be off by √(0.465 ÷ 2^14) = 0.0053.
  EXPECT_NEAR(with_origin, 1, 1e-4);
  EXPECT_NEAR(in_scrambling, 1, 1e-4);
  EXPECT_NEAR(squares - in_scrambling * in_scrambling, 0.4654244319, 1e-3);
  EXPECT_GT(std::abs(without_origin - 1), 5 * std::abs(with_origin - 1));
}

/// JCGM 101:2008, 9.2.3: the sum of four rectangular quantities of unit standard deviation lies within
/// ±3.8794067 with 95 %; exact, of the sum's piecewise cubic density. [printed 3.88, M]
TEST(Sobol, FourRectangularQuantities) {
  StatedQuantity stated;
  auto spread = std::make_shared<Distribution>();
  spread->shape = Distribution::Shape::uniform;
  spread->a = Decimal("-1.7320508075688772935");
  spread->b = Decimal("1.7320508075688772935");
  stated.spread = spread;
  const Marginal rectangular = Marginal::of(stated);
  ASSERT_FALSE(rectangular.wants_score());
  constexpr std::size_t count = 1 << 18;
  std::vector<double> sums(count);
  for (std::uint32_t d = 0; d < 4; ++d) {
    const SobolDimension points = scrambled_sobol(d, 1, 0);
    for (std::size_t i = 0; i < count; ++i) sums[i] += rectangular.from_share(open_unit(points.at(i)));
  }
  std::sort(sums.begin(), sums.end());
  EXPECT_NEAR(sums[count * 39 / 40], 3.8794067, 0.005);
  EXPECT_NEAR(sums[count / 40], -3.8794067, 0.005);
}

// ---- Normal scores ------------------------------------------------------------------------------

/// Shares from 1e-300 to 1 - 2^-53, both tails and the middle.
std::vector<double> shares() {
  std::vector<double> p;
  for (double power = -300; power < -0.302; power += 0.01) p.push_back(std::pow(10, power));
  for (double power = -15.95; power < -0.302; power += 0.001) p.push_back(1 - std::pow(10, power));
  for (double middle = 1e-4; middle < 1; middle += 1.1e-4) p.push_back(middle);
  for (double near : {1e-3, 1e-6, 1e-9, 1e-12, 1e-15}) p.insert(p.end(), {0.5 - near, 0.5 + near});
  p.insert(p.end(), {0x1p-53, 1 - 0x1p-53, 0.5});
  Random random(1);
  random.shuffle(p);
  return p;
}

TEST(NormalScore, AgreesWithBoost) {
  const boost::math::normal_distribution<Long> standard;
  double worst = 0;
  for (double p : shares()) {
    const Long exact = p < 0.5 ? quantile(standard, Long(p)) : quantile(complement(standard, 1 - Long(p)));
    const double error = static_cast<double>(std::abs(normal_score(p) - exact));
    worst = std::max(worst, std::min(error, static_cast<double>(error / std::abs(exact))));
  }
  EXPECT_LT(worst, 1e-15);
  EXPECT_EQ(normal_score(0.5), 0);
}

TEST(NormalScore, IsTheSameInEveryWidth) {
  expect_same_bits_in_every_width(shares(), [](const auto& p) { return normal_score(p); });
}

TEST(NormalScore, SquareRootIsTheSameInEveryWidth) {
  expect_same_bits_in_every_width(shares(), [](const auto& p) { return square_root(p); });
}

TEST(NormalShare, AgreesWithBoost) {
  const boost::math::normal_distribution<Long> standard;
  for (double z = -30; z < 9; z += 0.01) {
    const double exact = static_cast<double>(cdf(standard, Long(z)));
    EXPECT_NEAR(normal_share(z), exact, 1e-15 * exact * (4 + z * z));
  }
}

// ---- Distributions ------------------------------------------------------------------------------

StatedQuantity stated(Distribution::Shape shape, const char* a, const char* b, const char* c = "0",
                      Allowed allowed = Allowed::any) {
  auto spread = std::make_shared<Distribution>();
  spread->shape = shape;
  spread->a = Decimal(a), spread->b = Decimal(b), spread->c = Decimal(c);
  StatedQuantity quantity;
  quantity.mean = mean(*spread);
  quantity.spread = spread;
  quantity.allowed = allowed;
  return quantity;
}
StatedQuantity determined(const std::vector<const char*>& values, Allowed allowed = Allowed::any) {
  auto spread = std::make_shared<Distribution>();
  spread->shape = Distribution::Shape::determinations;
  for (const char* one : values) spread->determinations.emplace_back(one);
  StatedQuantity quantity;
  quantity.mean = mean(*spread);
  quantity.spread = spread;
  quantity.allowed = allowed;
  return quantity;
}

/// A distribution of Boost.Math, moved and scaled, cut to a range in 64 bits of mantissa.
template <class D>
struct Judge {
  D whole;
  Long low = -INFINITY, high = INFINITY;
  Long centre = 0, scale = 1;

  Long below() const { return std::isinf(low) ? 0 : cdf_or_end((low - centre) / scale); }
  Long above() const { return std::isinf(high) ? 0 : rest_or_end((high - centre) / scale); }
  Long left() const { return 1 - below() - above(); }
  /// At the normal score z: the nearer tail's share decides, so that no digits are lost.
  Long at_score(Long z) const {
    const boost::math::normal_distribution<Long> standard;
    return z < 0 ? lower(cdf(standard, z)) : upper(cdf(standard, -z));
  }
  Long lower(Long p) const { return place(below() + p * left(), above() + (1 - p) * left()); }
  Long upper(Long q) const { return place(below() + (1 - q) * left(), above() + q * left()); }

 private:
  Long place(Long p, Long q) const {
    return centre + scale * (p < q ? lower_place(whole, p) : upper_place(whole, q));
  }
  template <class Any>
  static Long lower_place(const Any& any, Long p) {
    return quantile(any, p);
  }
  template <class Any>
  static Long upper_place(const Any& any, Long q) {
    return quantile(complement(any, q));
  }
  /// Boost's search for this one gives up now and then in 64 bits, so its doubles are made exact here by its
  /// distribution function.
  static Long lower_place(const boost::math::students_t_distribution<Long>& student, Long p) {
    const boost::math::students_t_distribution<double> near(
        static_cast<double>(student.degrees_of_freedom()));
    Long t = quantile(near, static_cast<double>(p));
    for (int step = 0; step < 4; ++step) t -= (cdf(student, t) - p) / pdf(student, t);
    return t;
  }
  static Long upper_place(const boost::math::students_t_distribution<Long>& student, Long q) {
    return -lower_place(student, q);
  }
  Long cdf_or_end(Long x) const {
    const auto [first, last] = support(whole);
    return x <= first ? 0 : x >= last ? 1 : cdf(whole, x);
  }
  Long rest_or_end(Long x) const {
    const auto [first, last] = support(whole);
    return x <= first ? 1 : x >= last ? 0 : cdf(complement(whole, x));
  }
};

std::vector<double> scores() {
  std::vector<double> z;
  for (double one = -8.3; one <= 8.3; one += 0.0037) z.push_back(one);
  return z;
}

template <class D>
void expect_drawn_from(const Marginal& marginal, const Judge<D>& judge, double mean, double sd) {
  SCOPED_TRACE(testing::Message() << "mean " << mean << ", sd " << sd);
  EXPECT_NEAR(marginal.cut_off(), static_cast<double>(judge.below() + judge.above()), 1e-14);
  for (double z : scores()) {
    const double exact = static_cast<double>(judge.at_score(z)),
                 near = 1e-9 * std::max(sd, std::abs(exact - mean));
    ASSERT_NEAR(marginal.from_score(z), exact, near) << "score " << z;
  }
  for (double p : shares()) {
    if (p < 1e-17) continue;
    const double exact = static_cast<double>(p < 0.5 ? judge.lower(p) : judge.upper(1 - Long(p)));
    const double near = 1e-11 * std::max(sd, std::abs(exact - mean));
    ASSERT_NEAR(marginal.quantile(p), exact, near) << "share " << p;
    if (!marginal.wants_score()) ASSERT_NEAR(marginal.from_share(p), exact, 1e-3 * near) << "share " << p;
  }
  expect_same_bits_in_every_width(scores(), [&](const auto& z) { return marginal.from_score(z); });
  if (!marginal.wants_score())
    expect_same_bits_in_every_width(shares(), [&](const auto& p) { return marginal.from_share(p); });
}

using Shape = Distribution::Shape;
const Long infinite = INFINITY;

TEST(Marginal, Normal) {
  using Normal = boost::math::normal_distribution<Long>;
  const auto whole = Marginal::of(stated(Shape::normal, "2650", "130"));
  expect_drawn_from(whole, Judge<Normal>{Normal(2650, 130)}, 2650, 130);
  // Zero is twenty standard deviations away, which no draw ever sees.
  const auto far = Marginal::of(stated(Shape::normal, "2650", "130", "0", Allowed::not_negative));
  expect_drawn_from(far, Judge<Normal>{Normal(2650, 130), 0, infinite}, 2650, 130);
  for (double z : scores()) ASSERT_EQ(whole.from_score(z), far.from_score(z));
  for (const char* sd : {"1", "2", "3", "0.9", "10", "100"}) {
    const auto cut = Marginal::of(stated(Shape::normal, "10", sd, "0", Allowed::positive));
    expect_drawn_from(cut, Judge<Normal>{Normal(10, std::stod(sd)), 0, infinite}, 10, std::stod(sd));
  }
  for (const char* sd : {"0.01", "0.02", "0.05", "0.2", "3"}) {
    const auto cut = Marginal::of(stated(Shape::normal, "0.9", sd, "0", Allowed::share));
    const double width = std::min(1.0, std::stod(sd));
    expect_drawn_from(cut, Judge<Normal>{Normal(0.9, Decimal(sd).convert_to<Long>()), 0, 1}, 0.9, width);
  }
}

TEST(Marginal, Lognormal) {
  using Lognormal = boost::math::lognormal_distribution<Long>;
  for (const char* gsd : {"1.001", "1.15", "2", "5"}) {
    const Long s = std::log(Decimal(gsd).convert_to<Long>()), mean = 0.2L * std::exp(s * s / 2);
    const double sd = static_cast<double>(mean * std::sqrt(std::expm1(s * s)));
    const Lognormal judge(std::log(0.2L), s);
    expect_drawn_from(Marginal::of(stated(Shape::lognormal, "0.2", gsd, "0", Allowed::positive)),
                      Judge<Lognormal>{judge}, static_cast<double>(mean), sd);
    expect_drawn_from(Marginal::of(stated(Shape::lognormal, "0.2", gsd, "0", Allowed::share)),
                      Judge<Lognormal>{judge, 0, 1}, static_cast<double>(mean), std::min(sd, 1.0));
  }
}

TEST(Marginal, Uniform) {
  using Uniform = boost::math::uniform_distribution<Long>;
  const auto width = [](double low, double high) { return (high - low) / std::sqrt(12.0); };
  const auto whole = Marginal::of(stated(Shape::uniform, "2", "5", "0", Allowed::positive));
  EXPECT_FALSE(whole.wants_score());
  expect_drawn_from(whole, Judge<Uniform>{Uniform(2, 5)}, 3.5, width(2, 5));
  const auto cut = Marginal::of(stated(Shape::uniform, "-2", "5", "0", Allowed::not_negative));
  EXPECT_TRUE(cut.wants_score());
  expect_drawn_from(cut, Judge<Uniform>{Uniform(-2, 5), 0, infinite}, 1.5, width(-2, 5));
  expect_drawn_from(Marginal::of(stated(Shape::uniform, "-0.25", "1.25", "0", Allowed::share)),
                    Judge<Uniform>{Uniform(-0.25L, 1.25L), 0, 1}, 0.5, width(-0.25, 1.25));
}

TEST(Marginal, Triangular) {
  using Triangular = boost::math::triangular_distribution<Long>;
  struct Case {
    const char *low, *mode, *high;
    Allowed allowed;
    Long from, to;
  };
  for (const Case& one :
       {Case{"1", "2", "6", Allowed::positive, 0, infinite},
        Case{"1", "1", "6", Allowed::any, -infinite, infinite},
        Case{"1", "6", "6", Allowed::any, -infinite, infinite},
        Case{"-1", "2", "6", Allowed::not_negative, 0, infinite},
        Case{"-3", "-0.5", "6", Allowed::not_negative, 0, infinite},
        Case{"0.5", "0.75", "1.25", Allowed::share, 0, 1}, Case{"0.5", "1.125", "1.25", Allowed::share, 0, 1},
        Case{"-0.5", "0.75", "1.25", Allowed::share, 0, 1}}) {
    const Long a = std::stold(one.low), m = std::stold(one.mode), b = std::stold(one.high);
    const Triangular judge(a, m, b);
    const double sd = std::sqrt(static_cast<double>(a * a + m * m + b * b - a * m - a * b - m * b) / 18);
    SCOPED_TRACE(testing::Message() << one.low << ", " << one.mode << ", " << one.high);
    expect_drawn_from(Marginal::of(stated(Shape::triangular, one.low, one.mode, one.high, one.allowed)),
                      Judge<Triangular>{judge, one.from, one.to}, static_cast<double>((a + m + b) / 3), sd);
  }
}

/// JCGM 101:2008, 6.4.9: mean + s ÷ √n × t with n − 1 degrees of freedom.
TEST(Marginal, Determinations) {
  using Student = boost::math::students_t_distribution<Long>;
  // Sums of squares 20, 22 and 32 about means of 10; all in units that keep them whole.
  struct Case {
    std::vector<const char*> values;
    double squares;
  };
  for (const Case& one : {Case{{"7", "11", "9", "13"}, 20}, Case{{"7", "11", "10", "13", "9"}, 20},
                          Case{{"8", "12", "8", "12", "8", "12", "10", "10", "8", "12"}, 32}}) {
    const double n = static_cast<double>(one.values.size());
    const Long error = std::sqrt(Long(one.squares) / ((n - 1) * n));
    Judge<Student> judge{Student(n - 1), -infinite, infinite, 10, error};
    expect_drawn_from(Marginal::of(determined(one.values)), judge, 10, static_cast<double>(error));
    judge.low = 0;
    expect_drawn_from(Marginal::of(determined(one.values, Allowed::positive)), judge, 10,
                      static_cast<double>(error));
    judge.low = 1;
    expect_drawn_from(Marginal::of(determined(one.values, Allowed::at_least_one)), judge, 10,
                      static_cast<double>(error));
  }
}

/// Two or three determinations are drawn as a normal of the same standard error, 2 ÷ √2 and √(8 ÷ 6).
TEST(Marginal, FewDeterminationsAreNormal) {
  using Normal = boost::math::normal_distribution<Long>;
  const Marginal two = Marginal::of(determined({"9", "11"}));
  expect_drawn_from(two, Judge<Normal>{Normal(10, 1)}, 10, 1);
  const Long error = std::sqrt(8.0L / 6);
  const Marginal three = Marginal::of(determined({"8", "10", "12"}));
  expect_drawn_from(three, Judge<Normal>{Normal(10, error)}, 10, static_cast<double>(error));
}

TEST(Marginal, WhatIsCertain) {
  for (const StatedQuantity& one :
       {stated(Shape::normal, "7", "0"), stated(Shape::lognormal, "7", "1"), stated(Shape::uniform, "7", "7"),
        stated(Shape::triangular, "7", "7", "7"), determined({"7"}), determined({"7", "7", "7", "7", "7"})}) {
    const Marginal marginal = Marginal::of(one);
    EXPECT_TRUE(marginal.certain());
    EXPECT_EQ(marginal.from_share(0.9), 7);
    EXPECT_EQ(marginal.from_score(Narrow(-3.0))[0], 7);
    EXPECT_EQ(marginal.quantile(0.1), 7);
    EXPECT_EQ(marginal.cut_off(), 0);
  }
  EXPECT_FALSE(Marginal::of(stated(Shape::normal, "7", "1e-9")).certain());
  StatedQuantity plain;
  plain.mean = 3;
  EXPECT_TRUE(Marginal::of(plain).certain());
}

/// However far a score or a share goes, the field's range holds, and an open end is never reached.
TEST(Marginal, StaysWithinItsRange) {
  for (Allowed allowed : {Allowed::not_negative, Allowed::positive, Allowed::share, Allowed::positive_share,
                          Allowed::below_all, Allowed::at_least_one}) {
    const bool from_one = allowed == Allowed::at_least_one;
    for (const StatedQuantity& one :
         {stated(Shape::normal, from_one ? "1.01" : "0.5", "0.5", "0", allowed),
          stated(Shape::normal, from_one ? "1.5" : "0.5", "0.04", "0", allowed),
          stated(Shape::uniform, from_one ? "1" : "0", from_one ? "2" : "1", "0", allowed),
          stated(Shape::uniform, "-1", from_one ? "4" : "2", "0", allowed),
          stated(Shape::lognormal, from_one ? "1.2" : "0.5", "1.5", "0", allowed),
          stated(Shape::triangular, "-1", "0.4", from_one ? "4" : "2", allowed),
          determined({from_one ? "1.9" : "0.9", "0.9", "0.4", from_one ? "1.5" : "0.5"}, allowed)}) {
      const Marginal marginal = Marginal::of(one);
      for (double z : {-60.0, -38.0, -8.5, -8.3, -3.0, 0.0, 3.0, 8.3, 8.5, 38.0, 60.0}) {
        const double x = marginal.from_score(z);
        EXPECT_TRUE(in_range(Decimal(x), allowed)) << x << " of " << static_cast<int>(allowed);
        EXPECT_TRUE(allowed != Allowed::below_all || x < 1);
      }
      for (double p : {0x1p-53, 0.5, 1 - 0x1p-53}) {
        const double x = marginal.wants_score() ? marginal.quantile(p) : marginal.from_share(p);
        EXPECT_TRUE(in_range(Decimal(x), allowed)) << x << " of " << static_cast<int>(allowed);
      }
    }
  }
}

// ---- Averaged prices ----------------------------------------------------------------------------

/// Moments of the average of the fixings of a Brownian motion, from paths drawn one by one.
struct Moments {
  double mean = 0, square = 0, mean_error = 0, square_error = 0;
};
Moments of_paths(int fixings, const std::function<double(double walk, double time)>& price) {
  constexpr std::uint64_t paths = 1 << 16;
  double sum[5] = {};
  for (std::uint64_t path = 0; path < paths; ++path) {
    double walk = 0, average = 0;
    for (int i = 1; i <= fixings; ++i) {
      const auto k = philox_pair(99, static_cast<std::uint32_t>(i), path / 2, 0)[path % 2];
      walk += normal_score(open_unit(k)) / std::sqrt(fixings);
      average += price(walk, static_cast<double>(i) / fixings) / fixings;
    }
    for (int power = 1; power <= 4; ++power) sum[power] += std::pow(average, power) / paths;
  }
  const double root = std::sqrt(static_cast<double>(paths));
  return {sum[1], sum[2], std::sqrt(sum[2] - sum[1] * sum[1]) / root,
          std::sqrt(sum[4] - sum[2] * sum[2]) / root};
}

/// (n + 1)(2n + 1) ÷ (6 n²) = 0.3575208 for n = 21. [C]
TEST(Averaged, Normal) {
  const StatedQuantity price = stated(Shape::normal, "40", "3");
  const Marginal averaged = Marginal::of(price, 21);
  const double sd = averaged.from_score(1.0) - averaged.from_score(0.0);
  EXPECT_NEAR(sd * sd / 9, 0.3575208, 5e-8);
  EXPECT_EQ(averaged.from_score(0.0), 40);
  const Moments paths = of_paths(21, [](double walk, double) { return 3 * walk; });
  EXPECT_NEAR(sd * sd, paths.square, 4 * paths.square_error);
  EXPECT_EQ(Marginal::of(price, 1).from_score(1.0), 43);
}

TEST(Averaged, Lognormal) {
  for (const char* gsd : {"1.05", "1.3", "2"}) {
    for (int fixings : {2, 21}) {
      const StatedQuantity price = stated(Shape::lognormal, "30", gsd);
      const Marginal averaged = Marginal::of(price, fixings);
      const double s = std::log(std::stod(gsd)), centre = 30 * std::exp(s * s / 2);
      const double log_median = std::log(averaged.from_score(0.0));
      const double spread = std::log(averaged.from_score(1.0)) - log_median;
      EXPECT_NEAR(std::exp(log_median + spread * spread / 2), centre, 1e-12 * centre);
      const Moments paths =
          of_paths(fixings, [&](double walk, double time) { return std::exp(s * walk - s * s * time / 2); });
      EXPECT_NEAR(1, paths.mean, 4 * paths.mean_error);
      EXPECT_NEAR(std::exp(spread * spread), paths.square, 4 * paths.square_error) << gsd << ", " << fixings;
    }
  }
}

/// Small spreads: a lognormal's ratio is a normal's.
TEST(Averaged, NarrowLognormal) {
  const Marginal averaged = Marginal::of(stated(Shape::lognormal, "30", "1.00001"), 21);
  const double spread = std::log(averaged.from_score(1.0) / averaged.from_score(0.0)), s = std::log(1.00001);
  EXPECT_NEAR(spread * spread / (s * s), 0.3575208, 1e-6);
}

/// Drawn towards the mean by the root of the ratio, then cut: 1.5 + 0.5979304 × (x − 1.5), of n = 21.
TEST(Averaged, AnyOtherIsDrawnTowardsItsMean) {
  const double nearer = std::sqrt(22.0 * 43 / (6 * 441));
  const Marginal flat = Marginal::of(stated(Shape::uniform, "1", "2"), 21);
  const Marginal triangle = Marginal::of(stated(Shape::triangular, "1", "1.25", "2.25"), 21);
  const Marginal plain = Marginal::of(stated(Shape::triangular, "1", "1.25", "2.25"));
  const Marginal repeated = Marginal::of(determined({"7", "11", "9", "13"}), 21);
  const Marginal once = Marginal::of(determined({"7", "11", "9", "13"}));
  for (double p : {0.001, 0.1, 0.25, 0.5, 0.9, 0.999}) {
    EXPECT_NEAR(flat.from_share(p), 1.5 + nearer * (p - 0.5), 1e-14);
    EXPECT_NEAR(triangle.from_share(p), 1.5 + nearer * (plain.from_share(p) - 1.5), 1e-14);
    EXPECT_NEAR(repeated.quantile(p), 10 + nearer * (once.quantile(p) - 10), 1e-12);
  }
  using Uniform = boost::math::uniform_distribution<Long>;
  const Long half = 4 * std::sqrt(22.0L * 43 / (6 * 441));
  expect_drawn_from(Marginal::of(stated(Shape::uniform, "-2", "6", "0", Allowed::not_negative), 21),
                    Judge<Uniform>{Uniform(2 - half, 2 + half), 0, infinite}, 2, 2.3);
}

// ---- Scores that go together --------------------------------------------------------------------

double correlation(const std::vector<double>& a, const std::vector<double>& b) {
  double ab = 0, aa = 0, bb = 0;
  for (std::size_t i = 0; i < a.size(); ++i) ab += a[i] * b[i], aa += a[i] * a[i], bb += b[i] * b[i];
  return ab / std::sqrt(aa * bb);
}

/// 2^14 of Sobol's points as scores, coupled; by dimension.
std::vector<std::vector<double>> coupled_scores(const Copula& copula, std::uint32_t dimensions) {
  std::vector<SobolDimension> points;
  for (std::uint32_t d = 0; d < dimensions; ++d) points.push_back(scrambled_sobol(d, 1, 0));
  std::vector<std::vector<double>> scores(dimensions);
  for (std::uint64_t i = 0; i < 1 << 14; ++i) {
    std::vector<double> one;
    for (const SobolDimension& dimension : points) one.push_back(normal_score(open_unit(dimension.at(i))));
    copula.couple(one.data());
    for (std::uint32_t d = 0; d < dimensions; ++d) scores[d].push_back(one[d]);
  }
  return scores;
}

TEST(Copula, CorrelatesWhatIsNamed) {
  const Copula copula(6, {{4, 0, 0.7}, {2, 4, -0.4}, {3, 5, 0.95}});
  const bool coupled[] = {true, false, true, true, true, true};
  for (std::size_t d = 0; d < 6; ++d) EXPECT_EQ(copula.couples(d), coupled[d]);
  const auto scores = coupled_scores(copula, 6);
  for (std::size_t a = 0; a < 6; ++a)
    for (std::size_t b = 0; b < a; ++b) {
      const double r = a == 4 && b == 0 ? 0.7 : a == 4 && b == 2 ? -0.4 : a == 5 && b == 3 ? 0.95 : 0;
      EXPECT_NEAR(correlation(scores[a], scores[b]), r, 0.005) << a << ", " << b;
    }
  for (const auto& one : scores) {
    double squares = 0;
    for (double z : one) squares += z * z;
    EXPECT_NEAR(squares / static_cast<double>(one.size()), 1, 0.005);
  }
}

/// By hand: correlations ½, ¼ and ½ have the factor (1), (½, √¾), (¼, ⅜ ÷ √¾, √¾).
TEST(Copula, FactorOfThree) {
  const Copula copula(3, {{0, 1, 0.5}, {2, 0, 0.25}, {1, 2, 0.5}});
  const double root = std::sqrt(0.75);
  const double factor[3][3] = {{1, 0, 0}, {0.5, root, 0}, {0.25, 0.375 / root, root}};
  for (std::size_t column = 0; column < 3; ++column) {
    double scores[3] = {};
    scores[column] = 1;
    copula.couple(scores);
    for (std::size_t row = 0; row < 3; ++row) EXPECT_NEAR(scores[row], factor[row][column], 1e-15);
  }
}

TEST(Copula, IsTheSameInEveryWidth) {
  const Copula copula(3, {{0, 1, 0.5}, {2, 0, 0.25}, {1, 2, 0.5}});
  expect_same_bits_in_every_width(scores(), [&](const auto& z) {
    std::remove_cvref_t<decltype(z)> three[] = {z, z * 0.3, z - 1.0};
    copula.couple(three);
    return three[2];
  });
}

/// 0.9, 0.9 and -0.9 among three: the smallest eigenvalue is 1 - 2 × 0.9, so 1 ÷ 1.8 = 0.5556 of them can
/// hold.
TEST(Copula, SaysWhatCannotHoldTogether) {
  const std::vector<Correlation> impossible{{0, 1, 0.9}, {1, 2, 0.9}, {0, 2, -0.9}};
  try {
    Copula(3, impossible);
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.complaint().code, Code::range);
    EXPECT_NE(error.complaint().text.find("0.555 or less"), std::string::npos) << error.what();
  }
  std::vector<Correlation> lowered = impossible;
  for (Correlation& pair : lowered) pair.r *= 0.555;
  EXPECT_NO_THROW(Copula(3, lowered));
  for (Correlation& pair : lowered) pair.r *= 0.5557 / 0.555;
  EXPECT_THROW(Copula(3, lowered), Error);
  EXPECT_NO_THROW(Copula(2, {{0, 1, 0.999999}}));
}

}  // namespace
}  // namespace buttonworth::test
