// Recovery curves and the pulls at which they reach a grade or a recovery.
#include "plan_generator.hpp"
#include "process/cut.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

/// Quantities without a document.
class Numbers {
 public:
  Quantity add(const Decimal& value) {
    StatedQuantity stated;
    stated.mean = value;
    return table_.add(std::move(stated));
  }
  template <class N>
  Scenario<N> scenario() const {
    return Scenario<N>(table_, Quantity{});
  }

 private:
  QuantityTable table_;
};

using Knots = std::vector<std::pair<std::string, std::string>>;  // pull, recovery as shares

template <class N>
RecoveryCurve<N> points(const Knots& knots) {
  Numbers numbers;
  PointCurve curve;
  for (const auto& [pull, recovery] : knots) {
    const Quantity y = numbers.add(Decimal(pull));
    curve.points.push_back({y, numbers.add(Decimal(recovery))});
  }
  return RecoveryCurve<N>(curve, numbers.scenario<N>());
}
template <class N>
RecoveryCurve<N> odds(const std::string& value) {
  Numbers numbers;
  const OddsCurve curve{numbers.add(Decimal(value))};
  return RecoveryCurve<N>(curve, numbers.scenario<N>());
}
template <class N>
RecoveryCurve<N> logit(const std::string& a, const std::string& b) {
  Numbers numbers;
  const LogitCurve curve{numbers.add(Decimal(a)), numbers.add(Decimal(b))};
  return RecoveryCurve<N>(curve, numbers.scenario<N>());
}
template <class N>
RecoveryCurve<N> saturating(const std::string& limit, const std::string& rate) {
  Numbers numbers;
  const SaturatingCurve curve{numbers.add(Decimal(limit)), numbers.add(Decimal(rate))};
  return RecoveryCurve<N>(curve, numbers.scenario<N>());
}

/// SciPy 1.10 PchipInterpolator through (0, 0), the points and (1, 1) [C].
struct Judged {
  Knots knots;
  double at, value;
};
const std::vector<Judged> judged{
    {{{"1", "1"}}, 0.01, 0.01},
    {{{"1", "1"}}, 0.037, 0.036999999999999998},
    {{{"1", "1"}}, 0.25, 0.25},
    {{{"1", "1"}}, 0.61, 0.60999999999999999},
    {{{"1", "1"}}, 0.93, 0.93000000000000005},
    {{{"0.04", "0.62"}}, 0.01, 0.18541832036066586},
    {{{"0.04", "0.62"}}, 0.037, 0.61061596182375144},
    {{{"0.04", "0.62"}}, 0.25, 0.80622748999354577},
    {{{"0.04", "0.62"}}, 0.61, 0.9652932110844058},
    {{{"0.04", "0.62"}}, 0.93, 0.99938845137131715},
    {{{"0.02", "0.3"}, {"0.08", "0.7"}, {"0.3", "0.9"}}, 0.01, 0.16805079908675799},
    {{{"0.02", "0.3"}, {"0.08", "0.7"}, {"0.3", "0.9"}}, 0.037, 0.45779686455836804},
    {{{"0.02", "0.3"}, {"0.08", "0.7"}, {"0.3", "0.9"}}, 0.25, 0.8816906946013493},
    {{{"0.02", "0.3"}, {"0.08", "0.7"}, {"0.3", "0.9"}}, 0.61, 0.96867191507738404},
    {{{"0.02", "0.3"}, {"0.08", "0.7"}, {"0.3", "0.9"}}, 0.93, 0.99898119237861094},
    {{{"0.1", "0"}, {"0.2", "0.5"}, {"0.5", "0.5"}, {"0.9", "0.97"}}, 0.01, 0},
    {{{"0.1", "0"}, {"0.2", "0.5"}, {"0.5", "0.5"}, {"0.9", "0.97"}}, 0.037, 0},
    {{{"0.1", "0"}, {"0.2", "0.5"}, {"0.5", "0.5"}, {"0.9", "0.97"}}, 0.25, 0.5},
    {{{"0.1", "0"}, {"0.2", "0.5"}, {"0.5", "0.5"}, {"0.9", "0.97"}}, 0.61, 0.5777115625},
    {{{"0.1", "0"}, {"0.2", "0.5"}, {"0.5", "0.5"}, {"0.9", "0.97"}}, 0.93, 0.98197340909090902},
    {{{"0.015", "0.44"}, {"0.05", "0.71"}, {"0.12", "0.86"}, {"0.35", "0.95"}, {"1", "1"}},
     0.01,
     0.33628796008688228},
    {{{"0.015", "0.44"}, {"0.05", "0.71"}, {"0.12", "0.86"}, {"0.35", "0.95"}, {"1", "1"}},
     0.037,
     0.6477466940276253},
    {{{"0.015", "0.44"}, {"0.05", "0.71"}, {"0.12", "0.86"}, {"0.35", "0.95"}, {"1", "1"}},
     0.25,
     0.92769658560672608},
    {{{"0.015", "0.44"}, {"0.05", "0.71"}, {"0.12", "0.86"}, {"0.35", "0.95"}, {"1", "1"}},
     0.61,
     0.98107350054525622},
    {{{"0.015", "0.44"}, {"0.05", "0.71"}, {"0.12", "0.86"}, {"0.35", "0.95"}, {"1", "1"}},
     0.93,
     0.99935353483410749},
};

TEST(Curve, ShapePreservingCubicsAsScipyHasThem) {
  for (const auto& [knots, at, value] : judged) {
    // SciPy's doubles, printed to 17 digits: a few units in the last place of 1.
    EXPECT_NEAR(points<double>(knots).at(at), value, 4e-15) << at;
    EXPECT_NEAR(static_cast<double>(points<Decimal>(knots).at(Decimal(at))), value, 4e-15) << at;
    const auto lanes = points<Lanes>(knots).at(Lanes(at));
    for (int lane = 0; lane < Lanes::size; ++lane) EXPECT_NEAR(lanes[lane], value, 4e-15) << at;
  }
}

TEST(Curve, PassesThroughItsPointsExactly) {
  const Knots knots{{"0.025", "0.41"}, {"0.09", "0.68"}, {"0.31", "0.9"}};
  const auto curve = points<Decimal>(knots);
  for (const auto& [pull, recovery] : knots)  // the residue of 50 digits
    EXPECT_TRUE(close_to(curve.at(Decimal(pull)), Decimal(recovery), Decimal("1e-45")));
  EXPECT_EQ(curve.at(Decimal(0)), 0);
  EXPECT_TRUE(close_to(curve.at(Decimal(1)), 1, Decimal("1e-45")));
}

TEST(Curve, OddsAreRecoveredOverLostPerPulledOverLeft) {
  // R / (1 - R) = 120 x 0.04 / 0.96 = 5, so R = 5/6.
  EXPECT_TRUE(close_to(odds<Decimal>("120").at(Decimal("0.04")), Decimal(5) / 6, Decimal("1e-45")));
  EXPECT_EQ(odds<double>("120").at(1.0), 1.0);
  EXPECT_EQ(odds<Decimal>("120").at(Decimal(0)), 0);
}

const std::string ln2 = "0.69314718055994530941723212145817656807550013436026";  // OEIS A002162

TEST(Curve, LogitsAreOddsToAPower) {
  // a = 0: R / (1 - R) = (y / (1 - y))^b: at y = 1/5 with b = 2, (1/4)^2; at y = 4/5 with b = 1/2, 2.
  EXPECT_TRUE(close_to(logit<Decimal>("0", "2").at(Decimal("0.2")), Decimal(1) / 17, Decimal("1e-45")));
  EXPECT_TRUE(close_to(logit<Decimal>("0", "0.5").at(Decimal("0.8")), Decimal(2) / 3, Decimal("1e-45")));
  // a = ±ln 2 doubles or halves the odds.
  EXPECT_TRUE(close_to(logit<Decimal>(ln2, "2").at(Decimal("0.2")), Decimal(1) / 9, Decimal("1e-45")));
  EXPECT_TRUE(close_to(logit<Decimal>("-" + ln2, "1").at(Decimal("0.5")), Decimal(1) / 3, Decimal("1e-45")));
}

TEST(Curve, ASaturatingCurveHalvesWhatIsLeftOfItsLimit) {
  // k = 10 ln 2: half of the limit at y = 0.1, three quarters at 0.2.
  const auto curve = saturating<Decimal>("0.9", "6.9314718055994530941723212145817656807550013436026");
  EXPECT_TRUE(close_to(curve.at(Decimal("0.1")), Decimal("0.45"), Decimal("1e-45")));
  EXPECT_TRUE(close_to(curve.at(Decimal("0.2")), Decimal("0.675"), Decimal("1e-45")));
}

template <class N>
void expect_ends(const RecoveryCurve<N>& curve, double all) {
  if constexpr (Scalar<N>) {
    EXPECT_EQ(curve.at(N(0)), N(0));
    EXPECT_EQ(static_cast<double>(curve.at(N(1))), all);
  } else {
    for (int lane = 0; lane < N::size; ++lane) {
      EXPECT_EQ(curve.at(N(0))[lane], 0);
      EXPECT_EQ(curve.at(N(1))[lane], all);
    }
  }
}

TEST(Curve, NothingPulledIsNothingRecovered) {
  expect_ends(logit<double>("-3", "1.7"), 1);
  expect_ends(logit<Decimal>("-3", "1.7"), 1);
  expect_ends(logit<Lanes>("-3", "1.7"), 1);
  // e^-900 is nothing beside 1 in every arithmetic.
  expect_ends(saturating<double>("0.97", "900"), 0.97);
  expect_ends(saturating<Decimal>("0.97", "900"), 0.97);
  expect_ends(saturating<Lanes>("0.97", "900"), 0.97);
}

TEST(Curve, FormsWithPowersAgreeInThreeArithmetics) {
  Random random(24);
  for (int i = 0; i < 500; ++i) {
    const bool by_logit = random.chance(0.5);
    const std::string p = by_logit ? random.decimal(-4, 6, 3) : random.decimal(0.05, 1, 3);
    const std::string q = by_logit ? random.decimal(0.2, 3, 3) : random.decimal(0.1, 90, 2);
    auto made = [&]<class N>(N) { return by_logit ? logit<N>(p, q) : saturating<N>(p, q); };
    // From a millionth of the mass on: small recoveries are as good as large ones, to the rounding of a logit
    // of some tens.
    const double y = random.chance(0.5) ? random.real(0, 1) : std::pow(10, -random.real(0, 6));
    const Decimal exact = made(Decimal()).at(Decimal(y));
    const double plain = made(double()).at(y);
    EXPECT_TRUE(close_to(Decimal(plain), exact, Decimal("1e-13"))) << p << ' ' << q << ' ' << y;
    const Lanes lanes = made(Lanes(0.0)).at(Lanes(y));
    for (int lane = 0; lane < Lanes::size; ++lane) EXPECT_EQ(lanes[lane], plain);
  }
}

TEST(Curve, TwoAssaysGiveYieldAndRecovery) {
  // Two products, feed 1.0, concentrate 10.0, tailings 0.2: yield 8.16327 %, recovery 81.6327 % [C].
  // 0.8, 25 and 0.15 % Cu: recovery 81.740 %, ratio 38.2308 (printed 81.7, 38.2) [M: Wills' Mineral
  // Processing Technology]. The table cut there gives the two assays back.
  struct Row {
    const char *feed, *concentrate, *tailings, *yield, *recovery, *digit;
  };
  for (const Row& row : {Row{"1.0", "10.0", "0.2", "8.16327", "81.6327", "0.00005"},
                         Row{"0.8", "25", "0.15", "2.61569", "81.740", "0.0005"}}) {
    const Decimal f(row.feed), c(row.concentrate), t(row.tailings);
    const Decimal yield = (f - t) / (c - t), recovery = yield * c / f;
    EXPECT_LE(abs(yield * 100 - Decimal(row.yield)), Decimal("0.000005"));
    EXPECT_LE(abs(recovery * 100 - Decimal(row.recovery)), Decimal(row.digit));
    const OrderedJson table{
        {"kind", "table"},
        {"cut", {{"pull", text_of(yield * 100, "%")}}},
        {"curve", {{"Au", pairs({{text_of(yield * 100, "%"), text_of(recovery * 100, "%")}})}}}};
    const OrderedJson terms{{"buyer", {{"buys", "concentrate"}}}};
    const auto plan = plan_from(plain_plan(
        {{"wet_mass", "1 t"}, {"assays", {{"Au", std::string(row.feed) + " %"}}}}, {{"shaker", table}}, terms,
        {{"step", "shaker"}, {"concentrate", {{"sell", "buyer"}}}, {"tailings", {{"sell", "buyer"}}}}));
    const auto comparison = compared(*plan);
    const auto& products = comparison.routes[0].ledger.products;
    ASSERT_EQ(products.size(), 2U);
    // Yield and recovery are written with 40 digits.
    EXPECT_TRUE(close_to(products[0].delivered.grade(0) * 100, c, Decimal("1e-37")));
    EXPECT_TRUE(close_to(products[1].delivered.grade(0) * 100, t, Decimal("1e-35")));
    EXPECT_TRUE(close_to(comparison.routes[0].ledger.work.at(0).feed / products[0].delivered.dry, 1 / yield,
                         Decimal("1e-37")));
  }
}

// ---- The pull of a cut ---------------------------------------------------------------------------

/// Points that rise, some with flat pieces, some S-shaped: a slow start, then a steep one.
Knots random_knots(Random& random) {
  Knots knots;
  double pull = 0, recovery = 0;
  for (int i = random.whole(1, 6); i > 0 && pull < 0.85; --i) {
    pull += random.real(0.01, 0.2);
    recovery += random.chance(0.2) ? 0 : (1 - recovery) * random.real(0.05, 0.7);
    knots.emplace_back(std::to_string(pull), std::to_string(recovery));
  }
  if (random.chance(0.1)) knots.emplace_back("1", "1");
  return knots;
}

/// A curve of any form, in any arithmetic.
struct AnyCurve {
  CurveForm form;
  Knots knots;
  std::string first, second;

  template <class N>
  RecoveryCurve<N> in() const {
    switch (form) {
      case CurveForm::points: return points<N>(knots);
      case CurveForm::odds: return odds<N>(first);
      case CurveForm::logit: return logit<N>(first, second);
      default: return saturating<N>(first, second);
    }
  }
};

/// Logits with b below 1 start steep, with b above 1 they are S-shaped; saturating curves may end low.
AnyCurve random_curve(Random& random) {
  const double kind = random.real(0, 1);
  if (kind < 0.5) return {CurveForm::points, random_knots(random), {}, {}};
  if (kind < 0.6) return {CurveForm::odds, {}, random.decimal(0.3, 30, 2), {}};
  if (kind < 0.8)
    return {CurveForm::logit,
            {},
            random.decimal(-2, 4, 2),
            random.chance(0.2) ? "1" : random.decimal(0.3, 2.5, 2)};
  return {CurveForm::saturating, {}, random.decimal(0.3, 1, 3), random.decimal(0.3, 50, 2)};
}

constexpr int grid = 20'000;

/// Found is the largest pull up to `most` with R ≥ slope × pull: it holds there and nowhere above.
template <class N>
void judge_largest(const RecoveryCurve<N>& curve, double slope, double most) {
  const auto found = largest_pull(curve, N(slope), N(most));
  const double pull = found ? static_cast<double>(*found) : 0;
  if (found) {
    EXPECT_LE(pull, most);
    EXPECT_GT(pull, 0);
    EXPECT_GE(static_cast<double>(curve.at(*found)), slope * pull * (1 - 1e-11)) << slope;
  }
  for (int i = 1; i <= grid; ++i) {
    const double y = most * i / grid;
    // Beyond the found pull by more than rounding, the grade is not held; a millionth tells it from a tie.
    if (y <= pull * (1 + 1e-9)) continue;
    ASSERT_LT(static_cast<double>(curve.at(N(y))), slope * y * (1 + 1e-6))
        << pull << ' ' << slope << ' ' << y;
  }
}

template <class N>
void judge_smallest(const RecoveryCurve<N>& curve, double recovery) {
  const auto found = smallest_pull(curve, N(recovery));
  ASSERT_EQ(found.has_value(), at_least(static_cast<double>(curve.at(N(1))), recovery));
  if (!found) return;
  const double pull = static_cast<double>(*found);
  EXPECT_GE(static_cast<double>(curve.at(*found)), recovery * (1 - 1e-11));
  EXPECT_LE(pull, 1);
  for (int i = 0; i <= grid; ++i) {
    const double y = static_cast<double>(i) / grid;
    if (y >= pull * (1 - 1e-9)) continue;
    ASSERT_LT(static_cast<double>(curve.at(N(y))), recovery * (1 + 1e-9))
        << pull << ' ' << recovery << ' ' << y;
  }
}

TEST(CutSolver, LargestPullWithAGradeAgainstAGrid) {
  Random random(21);
  for (int i = 0; i < 300; ++i) {
    const double slope = random.real(0.2, 12), most = random.chance(0.5) ? 1 : random.real(0.3, 1);
    judge_largest(random_curve(random).in<double>(), slope, most);
  }
}

TEST(CutSolver, SmallestPullWithARecoveryAgainstAGrid) {
  Random random(22);
  for (int i = 0; i < 300; ++i) {
    const double recovery = random.chance(0.1) ? 1 : random.real(0.02, 1);
    judge_smallest(random_curve(random).in<double>(), recovery);
  }
}

TEST(CutSolver, DecimalsFindTheSamePullToThirtyDigits) {
  Random random(23);
  for (int i = 0; i < 120; ++i) {
    const AnyCurve curve = random_curve(random);
    const auto exact = curve.in<Decimal>();
    const auto plain = curve.in<double>();
    const double slope = random.real(1.1, 6), recovery = random.real(0.1, 0.9);
    const auto pull = largest_pull(exact, Decimal(slope), Decimal(1));
    const auto quick = largest_pull(plain, slope, 1.0);
    ASSERT_EQ(pull.has_value(), quick.has_value()) << slope;
    if (pull) {
      // A curve that only touches the line is found to the root of a double's precision.
      EXPECT_NEAR(static_cast<double>(*pull), *quick, 1e-7);
      if (*pull < 1) {
        EXPECT_TRUE(close_to(exact.at(*pull), *pull * Decimal(slope), Decimal("1e-30")))
            << exact.at(*pull) / *pull / Decimal(slope) - 1;
      }
    }
    const auto at = smallest_pull(exact, Decimal(recovery));
    if (curve.form == CurveForm::saturating && exact.at(Decimal(1)) < recovery) continue;
    ASSERT_TRUE(at.has_value());
    EXPECT_TRUE(close_to(exact.at(*at), Decimal(recovery), Decimal("1e-30")))
        << exact.at(*at) / Decimal(recovery) - 1;
  }
}

TEST(CutSolver, AtAPointTheEdgeCounts) {
  // 10 % of the mass with 80 % of the metal: a grade of 8 times the feed's, exactly.
  const Knots knots{{"0.1", "0.8"}, {"0.3", "0.9"}};
  EXPECT_EQ(largest_pull(points<Decimal>(knots), Decimal(8), Decimal(1)), Decimal("0.1"));
  EXPECT_EQ(largest_pull(points<double>(knots), 8.0, 1.0), 0.1);
  EXPECT_EQ(smallest_pull(points<Decimal>(knots), Decimal("0.8")), Decimal("0.1"));
  EXPECT_EQ(smallest_pull(points<double>(knots), 0.8), 0.1);
  EXPECT_EQ(smallest_pull(points<double>(knots), 1.0), 1.0);
  EXPECT_EQ(smallest_pull(odds<double>("7"), 1.0), 1.0);
  EXPECT_FALSE(smallest_pull(points<double>(knots), 1.001).has_value());
}

TEST(CutSolver, PeaksAndEndsOfFormsWithPowers) {
  // a = 0 and b = 2: R / y = y / ((1 - y)^2 + y^2), largest where y² = 1/2: R / y = (1 + √2) / 2 there.
  const auto s_shaped = logit<Decimal>("0", "2");
  const Decimal peak = sqrt(Decimal("0.5")), most = (1 + sqrt(Decimal(2))) / 2;
  EXPECT_TRUE(close_to(*largest_pull(s_shaped, most, Decimal(1)), peak, Decimal("1e-20")));
  EXPECT_FALSE(largest_pull(s_shaped, Decimal(most * Decimal("1.00000000001")), Decimal(1)).has_value());
  EXPECT_NEAR(*largest_pull(logit<double>("0", "2"), static_cast<double>(most), 1.0),
              static_cast<double>(peak), 1e-6);
  // A line of slope 1 is met at 1/2: up to 2/5 the grade was never held, at 3/5 it is.
  EXPECT_FALSE(largest_pull(s_shaped, Decimal(1), Decimal("0.4")).has_value());
  EXPECT_EQ(largest_pull(s_shaped, Decimal(1), Decimal("0.6")), Decimal("0.6"));
  // b = 1/2 at y = 1/5: R = (1/2) / (3/2), R / y = 5/3, and less beyond.
  EXPECT_TRUE(close_to(*largest_pull(logit<Decimal>("0", "0.5"), Decimal(5) / 3, Decimal(1)), Decimal("0.2"),
                       Decimal("1e-40")));
  // A saturating curve is steepest at its start, limit x rate, and ends at its limit.
  EXPECT_FALSE(largest_pull(saturating<Decimal>("0.9", "10"), Decimal(9), Decimal(1)).has_value());
  EXPECT_TRUE(largest_pull(saturating<Decimal>("0.9", "10"), Decimal("8.999"), Decimal(1)).has_value());
  EXPECT_FALSE(smallest_pull(saturating<double>("0.9", "400"), 0.9001).has_value());
  EXPECT_EQ(smallest_pull(saturating<double>("0.9", "400"), 0.9), 1.0);
  // Half of the limit after ln 2 ÷ rate.
  EXPECT_TRUE(close_to(*smallest_pull(saturating<Decimal>("0.9", "10"), Decimal("0.45")), Decimal(ln2) / 10,
                       Decimal("1e-45")));
}

/// Constants at the ends of what a document can hold end in a pull or in none, never in an exception.
TEST(CutSolver, WildConstantsAreSurvived) {
  const std::vector<std::string> sizes{"1e-30", "1e-8", "0.999999999999", "1", "1.000000000001", "40",
                                       "1e6",   "1e30"};
  int found = 0;
  auto look = [&]<class N>(const RecoveryCurve<N>& curve) {
    // The rounding of a pull of 16 digits is that of R to the power of the curve's own.
    const bool steep = curve.form() == CurveForm::logit && curve.second() > N(100);
    for (const char* slope : {"1e-20", "0.5", "1", "1.0000001", "3", "1e4", "1e25"})
      for (const char* most : {"0.3", "1"}) {
        const N line = number<N>(Decimal(slope)), end = number<N>(Decimal(most));
        const auto pull = largest_pull(curve, line, end);
        if (!pull) continue;
        ++found;
        EXPECT_TRUE(*pull > N(0) && *pull <= end);
        if (!steep) EXPECT_TRUE(at_least(N(curve.at(*pull) * N(1.00000001)), N(line * *pull)));
      }
    for (double recovery : {1e-12, 0.5, 0.999999, 1.0})
      if (const auto pull = smallest_pull(curve, N(recovery))) EXPECT_TRUE(*pull >= N(0) && *pull <= N(1));
  };
  for (const std::string& first : sizes)
    for (const std::string& second : sizes) {
      look(logit<double>(first, second)), look(logit<double>("-" + first, second));
      look(logit<Decimal>(first, second)), look(logit<Decimal>("-" + first, second));
      if (Decimal(first) <= 1)
        look(saturating<double>(first, second)), look(saturating<Decimal>(first, second));
    }
  EXPECT_GT(found, 300);
}

TEST(CutSolver, AFlatPieceIsEnteredNoFurtherThanItsStart) {
  const Knots knots{{"0.1", "0.6"}, {"0.4", "0.6"}, {"0.7", "0.9"}};
  EXPECT_EQ(smallest_pull(points<Decimal>(knots), Decimal("0.6")), Decimal("0.1"));
  // 0.6 = 1.5 x 0.4: the end of the flat piece holds one and a half times the feed's grade.
  EXPECT_EQ(largest_pull(points<Decimal>(knots), Decimal("1.5"), Decimal("0.4")), Decimal("0.4"));
}

// ---- In a plan -----------------------------------------------------------------------------------

OrderedJson tabled(const OrderedJson& curve, const OrderedJson& cut,
                   const OrderedJson& more = OrderedJson::object()) {
  OrderedJson table{{"kind", "table"}, {"curve", {{"Au", curve}}}, {"cut", cut}};
  table.update(more);
  return plain_plan({{"wet_mass", "1 t"}, {"assays", {{"Au", "100 g/t"}}}}, {{"shaker", table}},
                    {{"buyer", {{"buys", "concentrate"}}}},
                    {{"step", "shaker"},
                     {"concentrate", {{"sell", "buyer"}}},
                     {"middlings", {{"keep", true}}},
                     {"tailings", {{"keep", true}}}});
}

/// The figure that follows "the best it does reach is ".
double best_reached(const std::string& text) {
  const std::string words = "the best it does reach is ";
  const std::size_t at = text.find(words);
  EXPECT_NE(at, std::string::npos) << text;
  return at == std::string::npos ? 0 : std::stod(text.substr(at + words.size()));
}

TEST(CutSolver, AGradeThatIsNeverReachedNamesTheBest) {
  // Odds of 10: R/y falls from 10, so no more than 1000 g/t from 100 g/t.
  auto fault = in_decimal(*plan_from(tabled({{"odds", "10"}}, {{"grade", "1001 g/t"}})),
                          plan_from(tabled({{"odds", "10"}}, {{"grade", "1001 g/t"}}))->routes[0])
                   .fault;
  EXPECT_NEAR(best_reached(fault), 1000, 0.1);  // looked for on a grid, for the words only
  // A limit of the mineral below what the curve would reach.
  const OrderedJson document =
      tabled({{"odds", "50"}}, {{"grade", "900 g/t"}}, {{"limit", {{"Au", "700 g/t"}}}});
  const auto plan = plan_from(document);
  fault = in_decimal(*plan, plan->routes[0]).fault;
  EXPECT_NEAR(best_reached(fault), 700, 1e-9);
  expect_impossible(document);
}

TEST(CutSolver, AGradeByPointsThatIsNeverReachedNamesTheBest) {
  const Knots knots{{"0.1", "0.3"}, {"0.2", "0.7"}, {"0.5", "0.9"}};  // S-shaped: R/y is largest near 0.2
  const auto curve = points<double>(knots);
  double best = 0;
  for (int i = 1; i <= 100'000; ++i) best = std::max(best, curve.at(i / 1e5) / (i / 1e5));
  const OrderedJson cut{{"grade", text_of(Decimal(best * 100 * 1.001), "g/t")}};
  const auto plan = plan_from(tabled(pairs({{"10 %", "30 %"}, {"20 %", "70 %"}, {"50 %", "90 %"}}), cut));
  // Both looked for on grids of about 1e-4 of the pull, where R/y is flat.
  EXPECT_NEAR(best_reached(in_decimal(*plan, plan->routes[0]).fault), best * 100, best * 100 * 1e-5);
}

TEST(CutSolver, ARecoveryThatIsNeverReachedNamesTheBest) {
  const OrderedJson curve{{"limit_recovery", "92 %"}, {"rate", "40"}};
  const auto plan = plan_from(tabled(curve, {{"recovery", "93 %"}}));
  EXPECT_NEAR(best_reached(in_decimal(*plan, plan->routes[0]).fault), 92, 1e-6);
  expect_impossible(tabled(curve, {{"recovery", "93 %"}}));
  expect_taken(tabled(curve, {{"recovery", "91 %"}}));
}

TEST(CutSolver, ALimitRecoveryLeavesMetalThatWantsMass) {
  // 8 % of 100 g of gold in the tailings of a tonne: 8 g want some mass, so 99.999 % (10 g left) is a tailing
  // of 80 % gold, and 99.9995 % (5 g left) is impossible; so is all of it.
  const OrderedJson curve{{"limit_recovery", "92 %"}, {"rate", "400"}};
  expect_taken(tabled(curve, {{"pull", "99.999 %"}}));
  for (const char* pull : {"99.9995 %", "99.99999999 %", "100 %"}) {
    const OrderedJson document = tabled(curve, {{"pull", pull}});
    expect_impossible(document);
    const auto plan = plan_from(document);
    EXPECT_NE(in_decimal(*plan, plan->routes[0]).fault.find("pull less"), std::string::npos);
  }
}

TEST(CutSolver, ALimitLowersTheRecoveryThatACutFinds) {
  // R is at most y x 500/100: 60 % needs 12 % of the mass, where the curve alone would need less.
  const auto plan =
      plan_from(tabled({{"odds", "50"}}, {{"recovery", "60 %"}}, {{"limit", {{"Au", "500 g/t"}}}}));
  const auto comparison = compared(*plan);
  EXPECT_TRUE(close_to(comparison.routes[0].ledger.cuts.at(0).pull, Decimal("0.12"), Decimal("1e-40")));
  EXPECT_TRUE(close_to(comparison.routes[0].ledger.products.at(0).delivered.content[0], Decimal("0.06"),
                       Decimal("1e-40")));
  // A limit below the feed's own grade can never give more than its ratio.
  const auto poor =
      plan_from(tabled({{"odds", "50"}}, {{"recovery", "90 %"}}, {{"limit", {{"Au", "80 g/t"}}}}));
  EXPECT_NEAR(best_reached(in_decimal(*poor, poor->routes[0]).fault), 80, 1e-9);
}

TEST(CutSolver, MiddlingsAndPullStayBelowTheWhole) {
  const OrderedJson curve{{"odds", "20"}};
  expect_impossible(tabled(curve, {{"pull", "60 %"}}, {{"middlings", "40 %"}}));  // exactly 100 %
  expect_taken(tabled(curve, {{"pull", "60 %"}}, {{"middlings", "39.9999 %"}}));
  // A cut by grade looks no further than 100 % less the middlings.
  const auto plan = plan_from(
      tabled(pairs({{"50 %", "50 %"}, {"70 %", "70 %"}}), {{"grade", "100 g/t"}}, {{"middlings", "10 %"}}));
  EXPECT_THROW(compared(*plan), Error);  // 90 % and 10 % together are the whole
}

}  // namespace
}  // namespace buttonworth::test
