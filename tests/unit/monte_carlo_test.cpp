// What the draws make of published examples of the propagation of distributions.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "chance/copula.hpp"
#include "chance/marginal.hpp"
#include "chance/sobol.hpp"
#include "chance/sums.hpp"
#include "chance/uniform.hpp"

namespace buttonworth::test {
namespace {

Marginal normal(const char* mean, const char* sd) {
  StatedQuantity stated;
  Distribution spread;
  spread.a = Decimal(mean);
  spread.b = Decimal(sd);
  stated.mean = spread.a;
  stated.spread = std::make_shared<const Distribution>(spread);
  return Marginal::of(stated);
}
Marginal rectangular(const char* low, const char* high) {
  StatedQuantity stated;
  Distribution spread;
  spread.shape = Distribution::Shape::uniform;
  spread.a = Decimal(low);
  spread.b = Decimal(high);
  stated.mean = (spread.a + spread.b) / 2;
  stated.spread = std::make_shared<const Distribution>(spread);
  return Marginal::of(stated);
}

using Values = std::vector<double>;

/// Draws of a model by scrambled Sobol points, through normal scores.
std::vector<Values> draw(const std::vector<Marginal>& inputs, const Copula& copula, std::size_t count,
                         const std::function<Values(const Values&)>& model) {
  std::vector<SobolDimension> points;
  for (std::uint32_t d = 0; d < inputs.size(); ++d) points.push_back(scrambled_sobol(d, 7, 0));
  std::vector<Values> outputs;
  Values scores(inputs.size()), x(inputs.size());
  for (std::size_t i = 0; i < count; ++i) {
    for (std::size_t d = 0; d < inputs.size(); ++d) scores[d] = normal_score(open_unit(points[d].at(i)));
    copula.couple(scores.data());
    for (std::size_t d = 0; d < inputs.size(); ++d) x[d] = inputs[d].from_score(scores[d]);
    outputs.push_back(model(x));
  }
  return outputs;
}

Values column(const std::vector<Values>& rows, std::size_t k) {
  Values values;
  for (const Values& row : rows) values.push_back(row[k]);
  return values;
}
double mean(const Values& values) {
  double sum = 0;
  for (double one : values) sum += one;
  return sum / static_cast<double>(values.size());
}
double covariance(const Values& a, const Values& b) {
  const double mean_a = mean(a), mean_b = mean(b);
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += (a[i] - mean_a) * (b[i] - mean_b);
  return sum / static_cast<double>(a.size());
}
double sd(const Values& values) { return std::sqrt(covariance(values, values)); }

/// The shortest interval that holds 95 in 100 of the values.
std::pair<double, double> shortest(Values values) {
  std::sort(values.begin(), values.end());
  const std::size_t held = values.size() * 95 / 100;
  std::pair<double, double> best{values.front(), values.back()};
  for (std::size_t i = 0; i + held < values.size(); ++i)
    if (values[i + held] - values[i] < best.second - best.first) best = {values[i], values[i + held]};
  return best;
}

constexpr std::size_t many = 1 << 18;

/// JCGM 101:2008, 9.3: calibration of a mass standard. Mean 1.2340 mg, u 0.0754797, symmetric 95 %
/// from 1.0844333 to 1.3835668 by quadrature [C]; printed 0.0754 and 1.0834 to 1.3825 [M].
TEST(MonteCarlo, MassCalibration) {
  const std::vector<Marginal> inputs{normal("100000", "0.050"), normal("1.234", "0.020"),
                                     rectangular("1.10", "1.30"), rectangular("7000", "9000"),
                                     rectangular("7950", "8050")};
  const Values mass = column(draw(inputs, Copula(5, {}), many,
                                  [](const Values& x) -> Values {
                                    const double buoyancy = (x[2] - 1.2) * (1 / x[3] - 1 / x[4]);
                                    return {x[1] + (x[0] - 100000) + (x[0] + x[1]) * buoyancy};
                                  }),
                             0);
  EXPECT_NEAR(mean(mass), 1.2340, 2e-5);
  EXPECT_NEAR(sd(mass), 0.0754797, 2e-5);
  Values sorted = mass;
  std::sort(sorted.begin(), sorted.end());
  EXPECT_NEAR(sorted[many * 25 / 1000], 1.0844333, 3e-4);
  EXPECT_NEAR(sorted[many * 975 / 1000], 1.3835668, 3e-4);
}

/// JCGM 101:2008, 9.4: comparison loss of a power meter, x1 = 0.010: mean 150, u 111.803 (of the moments
/// exactly), shortest 95 % 0 to 366.0, all in 10^-6. [M]
TEST(MonteCarlo, ComparisonLoss) {
  const std::vector<Marginal> inputs{normal("0.010", "0.005"), normal("0", "0.005")};
  Values loss = column(draw(inputs, Copula(2, {}), many,
                            [](const Values& x) -> Values { return {(x[0] * x[0] + x[1] * x[1]) * 1e6}; }),
                       0);
  EXPECT_NEAR(mean(loss), 150, 0.01);
  EXPECT_NEAR(sd(loss), 111.803, 0.05);
  const auto [low, high] = shortest(loss);
  EXPECT_NEAR(low, 0, 1);
  EXPECT_NEAR(high, 366.0, 1.5);
}

/// Mean and standard uncertainty of five readings, as the text of a quantity has them.
Marginal of_readings(const Values& readings) {
  StatedQuantity stated;
  Distribution spread;
  spread.a = Decimal(mean(readings));
  spread.b = Decimal(sd(readings) / 2);  // √(Σ ÷ 5) ÷ 2 is √(Σ ÷ (5 × 4))
  stated.mean = spread.a;
  stated.spread = std::make_shared<const Distribution>(spread);
  return Marginal::of(stated);
}
double correlation(const Values& a, const Values& b) { return covariance(a, b) / (sd(a) * sd(b)); }

/// JCGM 100:2008 (GUM), H.2: resistance, reactance and impedance from five readings each of voltage, current
/// and phase: 127.732 ± 0.071, 219.847 ± 0.295, 254.260 ± 0.236; r(R, X) -0.588. [M; the readings from memory
/// too]
TEST(MonteCarlo, ResistanceAndReactance) {
  const Values volts{5.007, 4.994, 5.005, 4.990, 4.999}, phase{1.0456, 1.0438, 1.0468, 1.0428, 1.0433};
  const Values amperes{0.019663, 0.019639, 0.019640, 0.019685, 0.019678};
  const std::vector<Marginal> inputs{of_readings(volts), of_readings(amperes), of_readings(phase)};
  const Copula copula(3, {{0, 1, correlation(volts, amperes)},
                          {0, 2, correlation(volts, phase)},
                          {1, 2, correlation(amperes, phase)}});
  const auto rows = draw(inputs, copula, many, [](const Values& x) -> Values {
    const double z = x[0] / x[1];
    return {z * std::cos(x[2]), z * std::sin(x[2]), z};
  });
  const Values r = column(rows, 0), reactance = column(rows, 1), z = column(rows, 2);
  EXPECT_NEAR(mean(r), 127.732, 0.001);
  EXPECT_NEAR(mean(reactance), 219.847, 0.001);
  EXPECT_NEAR(mean(z), 254.260, 0.001);
  EXPECT_NEAR(sd(r), 0.071, 0.0005);
  EXPECT_NEAR(sd(reactance), 0.295, 0.001);
  EXPECT_NEAR(sd(z), 0.236, 0.001);
  EXPECT_NEAR(correlation(r, reactance), -0.588, 0.002);
}

/// Sobol's g-function, a = 0, 1, 4.5, 9, 99, 99, 99, 99: first-order shares 0.716192, 0.179048, 0.023676,
/// 0.007162 (Saltelli and Sobol 1995) [P/M]. Of 64 classes as many as a simulation has.
TEST(MonteCarlo, SharesOfTheGFunction) {
  constexpr double a[] = {0, 1, 4.5, 9, 99, 99, 99, 99};
  constexpr double expected[] = {0.716192, 0.179048, 0.023676, 0.007162};
  std::vector<SobolDimension> points;
  for (std::uint32_t d = 0; d < 8; ++d) points.push_back(scrambled_sobol(d, 3, 0));
  std::vector<std::vector<ClassOfDraws>> classes(8, std::vector<ClassOfDraws>(class_count));
  Values g;
  for (std::size_t i = 0; i < (1 << 16); ++i) {
    double value = 1;
    std::array<std::size_t, 8> own;
    for (std::size_t d = 0; d < 8; ++d) {
      const std::uint64_t k = points[d].at(i);
      own[d] = k >> 46;
      value *= (std::abs(4 * open_unit(k) - 2) + a[d]) / (1 + a[d]);
    }
    for (std::size_t d = 0; d < 8; ++d) {
      classes[d][own[d]].count += 1;
      classes[d][own[d]].mean += value;
    }
    g.push_back(value);
  }
  const double squares = covariance(g, g) * static_cast<double>(g.size());
  EXPECT_NEAR(mean(g), 1, 1e-4);
  for (std::size_t d = 0; d < 8; ++d) {
    for (ClassOfDraws& one : classes[d]) one.mean /= one.count;
    const double share = share_between(classes[d], mean(g), squares, static_cast<double>(g.size()));
    EXPECT_NEAR(share, d < 4 ? expected[d] : 0.0001, 0.002) << d;
  }
}

/// Classes that differ by chance alone share nothing; without any variance there is none to share.
TEST(MonteCarlo, SharesOfNothing) {
  std::vector<ClassOfDraws> classes{{100, 1.0}, {100, 1.0}};
  EXPECT_EQ(share_between(classes, 1.0, 0, 200), 0);
  EXPECT_EQ(share_between(classes, 1.0, 50, 200), 0);
  classes = {{100, 0.0}, {100, 2.0}};
  EXPECT_NEAR(share_between(classes, 1.0, 200, 200), 1, 1e-12);
}

}  // namespace
}  // namespace buttonworth::test
