// Curves fitted to table tests.
#include "bench/fit.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "random.hpp"

namespace buttonworth::test {
namespace {

double logit(double share) { return std::log(share / (1 - share)); }

using Pairs = std::vector<std::pair<double, double>>;

std::vector<TestPoint> points_of(const Pairs& pairs, double sd = 0) {
  std::vector<TestPoint> points;
  for (const auto& [pull, recovery] : pairs) points.push_back({pull, {recovery, sd}});
  return points;
}

double curve_at(FitForm form, const Constants& c, double y) {
  Fit fit;
  fit.form = form;
  fit.constants = c;
  return fit.at(y).value;
}

std::vector<TestPoint> points_on(FitForm form, const Constants& c, const std::vector<double>& pulls) {
  std::vector<TestPoint> points;
  for (double y : pulls) points.push_back({y, {curve_at(form, c, y), 0}});
  return points;
}

double squares(FitForm form, const Constants& c, const std::vector<TestPoint>& points) {
  double sum = 0;
  for (const TestPoint& point : points)
    sum += std::pow(point.recovery.value - curve_at(form, c, point.pull), 2);
  return sum;
}

const Fit& chosen(const Fits& fits) { return fits.fits[fits.chosen]; }

// ---- Forms ---------------------------------------------------------------------------------------

TEST(Fit, FormsAreThoseOfThePage) {
  // 120 x 0.04 / 0.96 = 5: R = 5/6. a = 0, b = 2 at 1/5: 1/17. Half of 0.9 after ln 2.
  EXPECT_NEAR(curve_at(FitForm::odds, {120, 0}, 0.04), 5.0 / 6, 1e-15);
  EXPECT_NEAR(curve_at(FitForm::logit, {0, 2}, 0.2), 1.0 / 17, 1e-15);
  EXPECT_NEAR(curve_at(FitForm::saturating, {0.9, 10 * std::log(2)}, 0.1), 0.45, 1e-15);
}

// ---- What is known beforehand ----------------------------------------------------------------------

TEST(Fit, FindsTheConstantsOfExactPoints) {
  Random random(41);
  for (int i = 0; i < 300; ++i) {
    std::vector<double> pulls{random.real(0.004, 0.05)};
    while (pulls.size() < 4 + static_cast<std::size_t>(i % 5))
      pulls.push_back(pulls.back() + random.real(0.01, 0.1));
    const FitForm form = all_fit_forms[static_cast<std::size_t>(i % 3)];
    const Constants c = form == FitForm::odds    ? Constants{random.real(2, 300), 0}
                        : form == FitForm::logit ? Constants{random.real(1, 5), random.real(0.4, 2)}
                                                 : Constants{random.real(0.5, 0.99), random.real(4, 60)};
    const Fits fits = fit_curves(points_on(form, c, pulls), {}, Watch{});
    const Fit& found = chosen(fits);
    // Odds are logits with b = 1, and the simpler one is taken; else nothing fits as the form itself.
    ASSERT_EQ(found.form, form) << c[0] << ' ' << c[1];
    for (std::size_t k = 0; k < constants_of(form); ++k) EXPECT_NEAR(found.constants[k] / c[k], 1, 1e-8);
    EXPECT_LT(*found.misfit, 1e-12);
    EXPECT_LT(*found.left_out, 1e-10);
  }
}

TEST(Fit, TwoPointsOfAShakingTable) {
  // 12.25 % pull and 60 % recovery, 43.7 and 75; lead 13.7 and 30, 60 of another run [P: New Zealand,
  // Appendix to the Journals of the House of Representatives, 1917, C-2, p. 43]. The logit through two points
  // is the line through their logits; the constants here are that line's, not printed ones.
  const auto points = points_of({{0.1225, 0.60}, {0.437, 0.75}});
  const double b = (logit(0.75) - logit(0.60)) / (logit(0.437) - logit(0.1225));
  const Fits fits = fit_curves(points, {}, Watch{});
  ASSERT_EQ(fits.fits.size(), 3U);
  EXPECT_NEAR(fits.fits[1].constants[1], b, 1e-12);
  EXPECT_NEAR(fits.fits[1].constants[0], logit(0.60) - b * logit(0.1225), 1e-12);
  // A saturating curve through both: L (1 - e^(-0.1225 k)) = 0.6 and L (1 - e^(-0.437 k)) = 0.75.
  EXPECT_NEAR(fits.fits[2].at(0.1225).value, 0.60, 1e-12);
  EXPECT_NEAR(fits.fits[2].at(0.437).value, 0.75, 1e-12);
  // No misfit with as many constants as points, so the odds are taken, whose one constant misses both.
  EXPECT_FALSE(fits.fits[1].misfit || fits.fits[1].left_out || fits.fits[1].covariance);
  EXPECT_EQ(chosen(fits).form, FitForm::odds);
  EXPECT_GT(chosen(fits).at(0.437).value, 0.75);
  EXPECT_LT(chosen(fits).at(0.1225).value, 0.60);
}

TEST(Fit, OddsOfOnePullLieAtTheMeanRecovery) {
  // Two determinations at a pull and a third hardly beside it: the mean of 78, 80 and 82 % is 80, S = 4 ÷
  // (5/95).
  const auto points = points_of({{0.05, 0.78}, {0.05, 0.80}, {0.05 + 1e-9, 0.82}});
  const Fit fit = fit_curve(FitForm::odds, points);
  EXPECT_NEAR(fit.constants[0], 76, 1e-5);
  // misfit² = (0.02² + 0 + 0.02²) ÷ 2; variance of S = misfit² ÷ (3 (dR/dS)²), dR/dS = R (1 - R) ÷ S.
  EXPECT_NEAR(*fit.misfit, 0.02, 1e-8);
  EXPECT_NEAR(fit.constant(0).sd, 0.02 / std::sqrt(3) / (0.16 / 76), 1e-4);
}

TEST(Fit, ErrorsWeighPointsAndBoundTheUncertainty) {
  // The same pull once with an error of 1 %, once of 3 %: weights 9 to 1, mean (9 x 80 + 70) ÷ 10 = 79 %.
  std::vector<TestPoint> points{{0.05, {0.80, 0.01}}, {0.05 + 1e-9, {0.70, 0.03}}};
  Fit fit = fit_curve(FitForm::odds, points);
  EXPECT_NEAR(fit.at(0.05).value, 0.79, 1e-7);
  // χ² = (1/1)² + (9/3)² = 10 with one degree: s² = 10, sd of R = √(10 ÷ (1/0.01² + 1/0.03²)).
  EXPECT_NEAR(fit.at(0.05).sd, std::sqrt(10 / (1e4 + 1e4 / 9)), 1e-6);
  // Closer together than their errors: no better than those say.
  points[1].recovery.value = 0.801;
  fit = fit_curve(FitForm::odds, points);
  EXPECT_NEAR(fit.at(0.05).sd, std::sqrt(1 / (1e4 + 1e4 / 9)), 1e-6);
  // One without an error: all weigh the same.
  points[0].recovery.sd = 0;
  EXPECT_NEAR(fit_curve(FitForm::odds, points).at(0.05).value, 0.8005, 1e-7);
}

TEST(Fit, ALimitRecoveryStopsAtTheWhole) {
  // Nearly a straight line to 90 %: a limit above 1 would fit better, so the best of those allowed is 1
  // itself.
  const auto points = points_of({{0.10, 0.10}, {0.30, 0.31}, {0.60, 0.62}, {0.90, 0.93}});
  const Fit fit = fit_curve(FitForm::saturating, points);
  EXPECT_EQ(fit.constants[0], 1.0);
  for (double factor : {0.999, 1.001}) {
    EXPECT_LT(squares(fit.form, fit.constants, points),
              squares(fit.form, {1, fit.constants[1] * factor}, points));
    EXPECT_LT(squares(fit.form, fit.constants, points),
              squares(fit.form, {0.999, fit.constants[1] * factor}, points));
  }
}

TEST(Fit, PointsThatDoNotRiseHaveOddsOnly) {
  const auto points = points_of({{0.05, 0.80}, {0.10, 0.75}, {0.20, 0.70}});
  for (FitForm form : {FitForm::logit, FitForm::saturating}) {
    try {
      fit_curve(form, points);
      ADD_FAILURE() << "fitted";
    } catch (const Error& error) {
      EXPECT_EQ(error.complaint().code, Code::fit);
      EXPECT_NE(error.complaint().text.find("do not rise"), std::string::npos);
    }
  }
  const Fits fits = fit_curves(points, {}, Watch{});
  EXPECT_EQ(fits.fits.size(), 1U);
  EXPECT_EQ(fits.none.size(), 2U);
  EXPECT_THROW(fit_curves(points, FitForm::logit, Watch{}), Error);
  EXPECT_EQ(chosen(fit_curves(points, FitForm::odds, Watch{})).form, FitForm::odds);
}

// ---- Nothing better is found elsewhere -------------------------------------------------------------

/// Recoveries about a random curve, noisy, kept inside.
std::vector<TestPoint> noisy(Random& random) {
  const FitForm form = all_fit_forms[static_cast<std::size_t>(random.whole(0, 2))];
  const Constants c = form == FitForm::odds    ? Constants{random.real(5, 200), 0}
                      : form == FitForm::logit ? Constants{random.real(1, 4.5), random.real(0.4, 1.6)}
                                               : Constants{random.real(0.6, 1), random.real(4, 60)};
  std::vector<TestPoint> points;
  double y = 0;
  for (int i = random.whole(2, 8); i >= 0 && y < 0.7; --i) {
    y += random.real(0.005, 0.1);
    const double r = curve_at(form, c, y) + random.real(-0.06, 0.06);
    points.push_back({y, {std::min(0.995, std::max(0.01, r)), 0}});
  }
  return points;
}

TEST(Fit, NoConstantsOfAGridFitBetter) {
  Random random(42);
  for (int i = 0; i < 60; ++i) {
    const auto points = noisy(random);
    for (const Fit& fit : fit_curves(points, {}, Watch{}).fits) {
      const double found = squares(fit.form, fit.constants, points);
      for (int p = 0; p <= 100; ++p)
        for (int q = 0; q <= (fit.form == FitForm::odds ? 0 : 100); ++q) {
          const Constants c = fit.form == FitForm::odds ? Constants{std::exp(0.08 * p - 1), 0}
                              : fit.form == FitForm::logit
                                  ? Constants{0.12 * p - 4, std::exp(0.06 * q - 4)}
                                  : Constants{0.01 * p + 1e-4 * (p == 0), std::exp(0.08 * q - 2)};
          if (fit.form == FitForm::saturating && c[0] > 1) continue;
          ASSERT_GE(squares(fit.form, c, points), found * (1 - 1e-9)) << i << ' ' << c[0] << ' ' << c[1];
        }
    }
  }
}

TEST(Fit, AFormWithoutAFitIsNoBetterThanALevelLine) {
  Random random(43);
  int none = 0;
  for (int i = 0; i < 300; ++i) {
    std::vector<TestPoint> points;
    for (int k = random.whole(3, 6); k > 0; --k)
      points.push_back({random.real(0.01, 0.5), {random.real(0.4, 0.9), 0}});
    double mean = 0, level = 0;
    for (const TestPoint& point : points) mean += point.recovery.value / static_cast<double>(points.size());
    for (const TestPoint& point : points) level += std::pow(point.recovery.value - mean, 2);
    for (FitForm form : fit_curves(points, {}, Watch{}).none) {
      ++none;
      for (int p = 0; p <= 60; ++p)
        for (int q = 0; q <= 60; ++q)
          ASSERT_GE(squares(form,
                            form == FitForm::logit ? Constants{0.15 * p - 4, std::exp(0.1 * q - 4)}
                                                   : Constants{p == 0 ? 0.005 : p / 60.0, std::exp(0.1 * q)},
                            points),
                    level * (1 - 1e-6))
              << static_cast<int>(form);
    }
  }
  EXPECT_GT(none, 100);
}

// ---- Choice --------------------------------------------------------------------------------------

TEST(Fit, TheFormThatForeseesPointsLeftOutIsChosen) {
  Random random(44);
  for (int i = 0; i < 60; ++i) {
    const auto points = noisy(random);
    const Fits fits = fit_curves(points, {}, Watch{});
    if (points.size() < 4) {
      for (const Fit& fit : fits.fits) {
        EXPECT_FALSE(fit.left_out);
        if (fit.misfit) EXPECT_LE(*chosen(fits).misfit, *fit.misfit + 1e-9);
      }
      continue;
    }
    for (const Fit& fit : fits.fits) {
      if (!fit.left_out) continue;
      EXPECT_LE(*chosen(fits).left_out, *fit.left_out + 1e-9);
      double sum = 0;
      for (std::size_t k = 0; k < points.size(); ++k) {
        auto others = points;
        others.erase(others.begin() + static_cast<std::ptrdiff_t>(k));
        sum += std::pow(points[k].recovery.value - fit_curve(fit.form, others).at(points[k].pull).value, 2);
      }
      EXPECT_NEAR(*fit.left_out, std::sqrt(sum / static_cast<double>(points.size())), 1e-10);
    }
  }
}

TEST(Fit, APointLeftOutLeavesTheWeightsOfTheOthers) {
  // One without an error: all weigh the same, also where only the others are looked at. Odds of two points at
  // one pull are those of their mean.
  const std::vector<TestPoint> points{
      {0.05, {0.70, 0.001}}, {0.05, {0.80, 0.05}}, {0.05, {0.75, 0}}, {0.05 + 1e-9, {0.75, 0.05}}};
  const double others[] = {0.70 - (0.80 + 0.75 + 0.75) / 3, 0.80 - (0.70 + 0.75 + 0.75) / 3, 0, 0};
  const Fits fits = fit_curves(points, FitForm::odds, Watch{});
  EXPECT_NEAR(*chosen(fits).left_out, std::sqrt((others[0] * others[0] + others[1] * others[1]) / 4), 1e-8);
}

// ---- Products ------------------------------------------------------------------------------------

TEST(Fit, ProductsAddUpToPoints) {
  // 3 kg at 900 g/t and 5 at 180 hold 2.7 and 0.9 g; 92 kg of tailings hold another 0.9 g: 60 and 80 %.
  const auto points =
      points_of_products({{{3, 0}, {900e-6, 0}}, {{5, 0}, {180e-6, 0}}, {{92, 0}, {0.9e-3 / 92, 0}}});
  ASSERT_EQ(points.size(), 2U);
  EXPECT_NEAR(points[0].pull, 0.03, 1e-15);
  EXPECT_NEAR(points[1].pull, 0.08, 1e-15);
  EXPECT_NEAR(points[0].recovery.value, 0.6, 1e-15);
  EXPECT_NEAR(points[1].recovery.value, 0.8, 1e-15);
  EXPECT_EQ(points[0].recovery.sd, 0);
}

TEST(Fit, ErrorsOfTailingsAreTheirRecoverysErrorsAndMore) {
  // R = A ÷ (A + T): a relative error e of T alone moves R by R (1 - R) e.
  const auto points = points_of_products(
      {{{3, 0}, {900e-6, 0}}, {{5, 0}, {180e-6, 0}}, {{92, 0}, {0.9e-3 / 92, 0.09e-3 / 92}}});
  EXPECT_NEAR(points[0].recovery.sd, 0.6 * 0.2 * 0.1, 1e-9);  // all of the tailings' share of the whole, 1/5
  EXPECT_NEAR(points[1].recovery.sd, 0.8 * 0.2 * 0.1, 1e-9);
}

struct Stopped : Watch {
  bool cancelled() const override { return true; }
};
TEST(Fit, StopsWhenAsked) {
  const auto points = points_of({{0.03, 0.62}, {0.08, 0.81}, {0.14, 0.88}, {0.22, 0.93}});
  EXPECT_THROW(fit_curves(points, {}, Stopped{}), Error);
}

}  // namespace
}  // namespace buttonworth::test
