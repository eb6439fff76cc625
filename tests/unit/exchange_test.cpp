// Exchanges, quotes and periods: what is settled on average, and dates at the ends of months and years.
#include <cmath>

#include "random.hpp"
#include "sale/exchange.hpp"
#include "sale/quotes.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

// ---- How far a settlement strays ---------------------------------------------------------------------

/// Three laboratories as good as each other, each off by a normal of sd 1: the variance of what is settled.
double settled_variance(UmpireRule rule, double limit) {
  constexpr int draws = 400'000;
  Random random(31);
  auto normal = [&] {
    return std::sqrt(-2 * std::log(1 - random.real(0, 1))) * std::cos(2 * M_PI * random.real(0, 1));
  };
  double sum = 0;
  for (int i = 0; i < draws; ++i) {
    const double seller = normal(), buyer = normal(), umpire = normal();
    const double settled = agree(Findings<double>{seller, buyer, limit, umpire, rule}).settled;
    sum += settled * settled;  // the mean is 0 by symmetry
  }
  return sum / draws;
}
/// Five standard errors of a variance of so many normals; what is settled has no heavier tails.
constexpr double five_errors = 5 * 0.00224;

double density(double x) { return std::exp(-x * x / 2) / std::sqrt(2 * M_PI); }
double below(double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); }

/// By quadrature: given the umpire at u, the nearer of two parties has the density
/// 2 φ(c) P(the other is farther), and the settlement is the mean of the two.
double variance_of_nearer() {
  constexpr double step = 0.02, end = 6;
  double sum = 0;
  for (double u = -end; u <= end; u += step)
    for (double c = -end; c <= end; c += step) {
      const double away = std::abs(c - u);
      const double farther = 1 - (below(u + away) - below(u - away));
      sum += density(u) * 2 * density(c) * farther * (u + c) * (u + c) / 4 * step * step;
    }
  return sum;
}

TEST(Exchange, VarianceByRule) {
  // Middle of three: 1 - sqrt(3) / pi = 0.448671 [C].
  EXPECT_NEAR(settled_variance(UmpireRule::middle, 0), 1 - std::sqrt(3.0) / M_PI, five_errors);
  EXPECT_NEAR(settled_variance(UmpireRule::umpire, 0), 1, five_errors);
  EXPECT_NEAR(settled_variance(UmpireRule::nearer, 0), variance_of_nearer(), five_errors);
  // Mean and difference of two normals do not depend on each other: within the limit 1/2, else 1. The
  // difference has sd sqrt(2), so it is within a limit of 1 with probability erf(1/2).
  const double within = std::erf(0.5);
  EXPECT_NEAR(settled_variance(UmpireRule::umpire, 1), within / 2 + (1 - within), five_errors);
  EXPECT_NEAR(settled_variance(UmpireRule::middle, 1e9), 0.5, five_errors);
}

TEST(Exchange, EveryOrderOfThree) {
  // Seller, buyer, umpire, and what the middle and the nearer rule make of it.
  struct Row {
    int seller, buyer, umpire;
    double middle, nearer;
    Party payer;
  };
  for (const Row& row : {Row{10, 20, 12, 12, 11, Party::buyer}, Row{20, 10, 12, 12, 11, Party::seller},
                         Row{10, 20, 5, 10, 7.5, Party::buyer}, Row{10, 20, 30, 20, 25, Party::seller},
                         Row{10, 20, 15, 15, 15, Party::both}, Row{20, 10, 20, 20, 20, Party::buyer}}) {
    Findings<Decimal> found{row.seller, row.buyer, 1, Decimal(row.umpire), UmpireRule::middle};
    EXPECT_EQ(agree(found).settled, Decimal(row.middle));
    EXPECT_EQ(agree(found).umpire_paid_by, row.payer);
    found.rule = UmpireRule::nearer;
    EXPECT_EQ(agree(found).settled, Decimal(row.nearer));
    found.rule = UmpireRule::umpire;
    EXPECT_EQ(agree(found).settled, Decimal(row.umpire));
  }
}

// ---- Quotes ------------------------------------------------------------------------------------------

using namespace std::chrono;

Day day(int y, unsigned m, unsigned d) { return Day(year{y} / month{m} / std::chrono::day{d}); }

TEST(Quotes, PeriodsAtTheEndsOfMonthsAndYears) {
  EXPECT_EQ(calendar_month(year{2024} / February).to, day(2024, 2, 29));
  EXPECT_EQ(calendar_month(year{2026} / February).to, day(2026, 2, 28));
  EXPECT_EQ(calendar_month(year{2100} / February).to, day(2100, 2, 28));  // no leap year
  EXPECT_EQ(months_after(day(2025, 12, 31), 1).from, day(2026, 1, 1));
  EXPECT_EQ(months_after(day(2025, 1, 31), 1).to, day(2025, 2, 28));
  EXPECT_EQ(months_after(day(2025, 11, 1), 14).from, day(2027, 1, 1));
  EXPECT_EQ(months_after(day(2025, 11, 17), 0).from, day(2025, 11, 1));
}

TEST(Quotes, OnlyTheDaysOfThePeriodCount) {
  // Friday 27 February to Tuesday 3 March 2026, with one on Saturday.
  const std::vector<Quote> quotes{{day(2026, 2, 26), 1000},
                                  {day(2026, 2, 27), 100},
                                  {day(2026, 2, 28), 200},
                                  {day(2026, 3, 3), 600},
                                  {day(2026, 3, 4), 9999}};
  const auto mean = average(quotes, {day(2026, 2, 27), day(2026, 3, 3)});
  ASSERT_TRUE(mean);
  EXPECT_LE(abs(mean->price - 300), Decimal("1e-48"));  // a third is not exact in decimals
  EXPECT_EQ(mean->quoted_days, 3);
  EXPECT_EQ(mean->unquoted_days, 1);  // Monday 2 March
  EXPECT_FALSE(average(quotes, {day(2026, 3, 5), day(2026, 3, 31)}));
  EXPECT_FALSE(average(quotes, {day(2026, 3, 1), day(2026, 3, 2)}));
}

TEST(Quotes, DoubtfulOnesAreFarFromBothNeighbours) {
  auto middle = [](const char* before, const char* price, const char* after) {
    return doubtful({{day(2026, 3, 2), Decimal(before)},
                     {day(2026, 3, 3), Decimal(price)},
                     {day(2026, 3, 4), Decimal(after)}})
        .size();
  };
  EXPECT_EQ(middle("100", "111", "100"), 1U);
  EXPECT_EQ(middle("100", "110", "100"), 0U);  // 10 % is not more than 10 %
  EXPECT_EQ(middle("100", "89.9", "100"), 1U);
  EXPECT_EQ(middle("100", "90", "100"), 0U);
  EXPECT_EQ(middle("100", "120", "119"), 0U);  // a rise that stays
  EXPECT_EQ(middle("100", "120", "150"), 0U);  // above the one, below the other
  EXPECT_TRUE(doubtful({{day(2026, 3, 2), 1}, {day(2026, 3, 3), 100}}).empty());
}

}  // namespace
}  // namespace buttonworth::test
