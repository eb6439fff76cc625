// What contesting an assay is worth: closed forms, and quadratures that know nothing of strata.
#include "document/dispute_document.hpp"

#include <cmath>

#include "book/normal.hpp"
#include "book/traced.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

/// 1 t of dry lot at 100 USD/g: proceeds are 100 USD for each g/t, unless the terms say otherwise.
OrderedJson dispute_about(const OrderedJson& assay, double seller_sd, double buyer_sd, double umpire_sd) {
  auto sd = [](double value) { return OrderedJson{{"sd", std::to_string(value) + " g/t"}}; };
  return {{"format", "buttonworth-dispute/1"},
          {"delivery",
           {{"format", "buttonworth-delivery/1"},
            {"currency", "USD"},
            {"terms", {{"buys", "concentrate"}, {"pay", {{"Au", OrderedJson::object()}}}}},
            {"delivered", {{"wet_mass", "1 t"}}},
            {"assays", {{"Au", assay}}},
            {"prices", {{"Au", "100 USD/g"}}}}},
          {"of", "Au"},
          {"errors", {{"seller", sd(seller_sd)}, {"buyer", sd(buyer_sd)}, {"umpire", sd(umpire_sd)}}},
          {"umpire_cost", "450 USD"}};
}
OrderedJson known_to_both(const char* rule) {
  return {{"seller", "105 g/t"}, {"buyer", "95 g/t"}, {"limit", "2 g/t"}, {"rule", rule}};
}
OrderedJson known_to_seller(const char* rule) {
  return {{"seller", "100 g/t"}, {"limit", "3 g/t"}, {"rule", rule}};
}

DisputeReading read_from(const OrderedJson& document) {
  const DocumentLimits limits;
  DisputeReading read = read_dispute(read_json(document.dump(), limits), limits);
  for (const Complaint& one : read.complaints) ADD_FAILURE() << one.pointer << ": " << one.text;
  return read;
}
Contest contest_of(const OrderedJson& document) {
  const DisputeReading read = read_from(document);
  return contest(*read.delivery, read.dispute);
}
double grams(double share) { return share * 1e6; }

double density(double x) { return std::exp(-x * x / 2) / std::sqrt(2 * M_PI); }
double below(double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); }

// ---- The rules as the page has them, in g/t ------------------------------------------------------------

struct Settling {
  double settled, paid;
  bool called;
};
Settling by_rule(const std::string& rule, double seller, double buyer, double umpire, double limit,
                 double cost) {
  if (std::abs(seller - buyer) <= limit) return {(seller + buyer) / 2, 0, false};
  const bool seller_is_nearer = std::abs(seller - umpire) < std::abs(buyer - umpire);
  const double low = std::min(seller, buyer), high = std::max(seller, buyer);
  const double settled = rule == "umpire"   ? umpire
                         : rule == "middle" ? std::min(std::max(umpire, low), high)
                                            : (umpire + (seller_is_nearer ? seller : buyer)) / 2;
  return {settled, seller_is_nearer ? 0 : cost, true};
}

/// Means over what may be found, and the chances of gains below the library's low and high.
struct Means {
  double weight = 0, settled = 0, accepted = 0, paid = 0, called = 0;
  double below_low = 0, up_to_low = 0, below_high = 0, up_to_high = 0;

  void add(double chance, const Settling& one, double accepted_at, const Contest& against) {
    const double gain = 100 * (one.settled - accepted_at) - one.paid;
    weight += chance, settled += chance * one.settled, accepted += chance * accepted_at;
    paid += chance * one.paid, called += chance * one.called;
    auto count = [&](bool there, double& into) { into += there ? chance : 0; };
    count(gain < against.low - 1e-6, below_low), count(gain <= against.low + 1e-6, up_to_low);
    count(gain < against.high - 1e-6, below_high), count(gain <= against.high + 1e-6, up_to_high);
  }
};

void expect_means(const Means& sum, const Contest& found, double step) {
  EXPECT_NEAR(grams(found.contested.settled), sum.settled / sum.weight, step);
  EXPECT_NEAR(grams(found.accepted.settled), sum.accepted / sum.weight, step);
  EXPECT_NEAR(to_double(found.contested.proceeds), 100 * sum.settled / sum.weight, 100 * step);
  EXPECT_NEAR(to_double(found.umpire_paid), sum.paid / sum.weight, 450 * step);
  EXPECT_NEAR(found.umpire_called, sum.called / sum.weight, step);
  EXPECT_NEAR(to_double(found.gain), (100 * (sum.settled - sum.accepted) - sum.paid) / sum.weight,
              450 * step);
  // Where many outcomes have one gain, the 5 % and the 95 % lie within its chance.
  EXPECT_LE(sum.below_low / sum.weight, 0.05 + step);
  EXPECT_GE(sum.up_to_low / sum.weight, 0.05 - step);
  EXPECT_LE(sum.below_high / sum.weight, 0.95 + step);
  EXPECT_GE(sum.up_to_high / sum.weight, 0.95 - step);
}

TEST(Dispute, BeforeTheUmpireAgainstAQuadrature) {
  for (const char* rule : {"umpire", "middle", "nearer"}) {
    SCOPED_TRACE(rule);
    const Contest found = contest_of(dispute_about(known_to_both(rule), 2, 4, 3));
    EXPECT_EQ(found.stage, ContestStage::before_umpire);
    // Weights 1/4 and 1/16: 103, variance 3.2, and 9 of the umpire's.
    EXPECT_NEAR(to_double(found.best) * 1e6, 103, 1e-12);
    const double spread = std::sqrt(3.2 + 9);
    Means sum;
    constexpr double step = 1e-4;
    for (double z = -7 + step / 2; z < 7; z += step)
      sum.add(density(z), by_rule(rule, 105, 95, 103 + spread * z, 2, 450), 95, found);
    expect_means(sum, found, 2e-4);
  }
}

// The truth, the buyer and the umpire one by one, as the page tells it.
TEST(Dispute, BeforeTheExchangeAgainstAQuadrature) {
  for (const char* rule : {"umpire", "middle", "nearer"}) {
    SCOPED_TRACE(rule);
    OrderedJson document = dispute_about(known_to_seller(rule), 2, 1.5, 1);
    document["bias"] = "-1 %";
    const Contest found = contest_of(document);
    EXPECT_EQ(found.stage, ContestStage::before_exchange);
    Means sum;
    constexpr double step = 0.0625;
    for (double t = -5; t <= 5; t += step)
      for (double b = -5; b <= 5; b += step)
        for (double u = -5; u <= 5; u += step) {
          const double truth = 100 + 2 * t, buyer = 0.99 * truth + 1.5 * b, umpire = truth + u;
          sum.add(density(t) * density(b) * density(u), by_rule(rule, 100, buyer, umpire, 3, 450), buyer,
                  found);
        }
    expect_means(sum, found, 2e-3);
  }
}

TEST(Dispute, LinearProceedsAndTheUmpiresRuleGiveTheBestEstimate) {
  for (double umpire_sd : {0.1, 1.0, 10.0}) {
    const Contest found = contest_of(dispute_about(known_to_both("umpire"), 3, 4, umpire_sd));
    // Weights 1/9 and 1/16: (105 x 16 + 95 x 9) / 25 = 101.4.
    EXPECT_NEAR(to_double(found.contested.proceeds), 10140, 1e-6);
    EXPECT_NEAR(grams(found.contested.settled), 101.4, 1e-8);
    EXPECT_EQ(found.accepted.proceeds, Decimal(9500));
  }
}

TEST(Dispute, TheUmpireIsCalledAsOftenAsTheNormalPassesTheLimit) {
  for (double limit : {0.5, 1.0, 2.0, 3.0, 8.0})
    for (double bias : {-0.03, 0.0, 0.02}) {
      OrderedJson assay = known_to_seller("middle");
      assay["limit"] = std::to_string(limit) + " g/t";
      OrderedJson document = dispute_about(assay, 2, 1, 1);
      document["bias"] = std::to_string(100 * bias) + " %";
      const double mean = 100 * bias, spread = std::sqrt((1 + bias) * (1 + bias) * 4 + 1);
      const double within = below((limit - mean) / spread) - below((-limit - mean) / spread);
      // Strata of 1 in 46368 are in or out whole.
      EXPECT_NEAR(contest_of(document).umpire_called, 1 - within, 2.0 / 46368) << limit << ' ' << bias;
    }
}

TEST(Dispute, ARelativeLimitIsOfTheMeanOfBoth) {
  OrderedJson assay = known_to_seller("umpire");
  assay.erase("limit");
  assay["limit_relative"] = "2 %";
  // |B - 100| <= 0.02 x (100 + B) / 2: B from 99 / 1.01 to 101 / 0.99.
  const double spread = std::sqrt(5.0);
  const double within = below((101 / 0.99 - 100) / spread) - below((99 / 1.01 - 100) / spread);
  EXPECT_NEAR(contest_of(dispute_about(assay, 2, 1, 1)).umpire_called, 1 - within, 2.0 / 46368);
}

TEST(Dispute, AnEvenBetGainsNothing) {
  for (const char* rule : {"umpire", "middle", "nearer"}) {
    OrderedJson document = dispute_about(known_to_seller(rule), 2, 2, 2);
    document["umpire_cost"] = "0 USD";
    const Contest found = contest_of(document);
    EXPECT_NEAR(to_double(found.gain), 0, 1e-7) << rule;
    EXPECT_NEAR(found.low + found.high, 0, 1e-7) << rule;
    EXPECT_EQ(found.verdict, ContestVerdict::too_close) << rule;
  }
}

TEST(Dispute, EveryRunGivesTheSameBytes) {
  const DisputeReading read = read_from(dispute_about(known_to_seller("nearer"), 2, 1, 1));
  const Contest once = contest(*read.delivery, read.dispute), again = contest(*read.delivery, read.dispute);
  EXPECT_EQ(contest_text(*read.delivery, read.dispute, once),
            contest_text(*read.delivery, read.dispute, again));
  EXPECT_EQ(once.low, again.low);
}

TEST(Dispute, FiguresPastTheEndsCountAsTheEnds) {
  // A trace, 1 g/t with an error as large: the umpire, normal about 1 with sd root(2), counts as 0 below it.
  OrderedJson document =
      dispute_about({{"seller", "1.5 g/t"}, {"buyer", "0.5 g/t"}, {"limit", "0.1 g/t"}, {"rule", "umpire"}},
                    std::sqrt(2.0), std::sqrt(2.0), 1);
  const double spread = std::sqrt(2.0), z = 1 / spread;
  const double mean = below(z) + spread * density(z);
  EXPECT_NEAR(grams(contest_of(document).contested.settled), mean, 1e-4);
}

// ---- Jumps and teeth -----------------------------------------------------------------------------------

OrderedJson with_terms(const char* terms) {
  OrderedJson document = dispute_about(known_to_both("umpire"), 2, 2, 1);
  document["delivery"]["terms"].update(OrderedJson::parse(terms));
  return document;
}

// The umpire is normal about 100 with sd root(3).
TEST(Dispute, AJumpAtABandIsMet) {
  const double spread = std::sqrt(3.0);
  for (double start : {98.0, 100.0, 101.37}) {
    const std::string terms = R"({"pay": {"Au": {"order": "share first", "bands": [["1 g/t", "90 %"], [")" +
                              std::to_string(start) + R"( g/t", "95 %"]]}}})";
    const double z = (start - 100) / spread, above_it = 100 * (1 - below(z)) + spread * density(z);
    EXPECT_NEAR(to_double(contest_of(with_terms(terms.c_str())).contested.proceeds),
                100 * (90 + 0.05 * above_it), 0.1)
        << start;
  }
}

// Whole steps of 1 g/t: a penalty of 1 USD/t of them from 90 g/t on is the sum of the chances of each step.
TEST(Dispute, WholeStepsAreCounted) {
  const Contest found = contest_of(with_terms(
      R"({"penalties": [{"for": "Au", "above": "90 g/t", "each": "1 g/t", "rate": "1 USD/t", "count": "whole"}]})"));
  double steps = 0;
  for (int step = 91; step < 110; ++step) steps += 1 - below((step - 100) / std::sqrt(3.0));
  EXPECT_NEAR(to_double(found.contested.proceeds), 10000 - steps, 0.01);
}

// A kink: the lower of a share and a - less, 0.9 a up to 100 g/t, a - 10 g/t below it.
TEST(Dispute, TheLowerOfTwoIsMet) {
  const Contest found = contest_of(with_terms(R"({"pay": {"Au": {"share": "90 %", "less": "10 g/t"}}})"));
  // E min(0.9 U, U - 10) = 90 - E (0.1 |U - 100| where U is below) = 90 - 0.1 x root(3) x f(0).
  EXPECT_NEAR(to_double(found.contested.proceeds), 100 * (90 - 0.1 * std::sqrt(3.0) * density(0)), 0.01);
}

TEST(Dispute, TeethFinerThanTheTraceAverageOut) {
  const Contest found =
      contest_of(with_terms(R"({"rounding": {"Au": "0.001 g/t", "money": "0.01 USD", "mode": "down"}})"));
  EXPECT_NEAR(to_double(found.contested.proceeds), 10000, 0.1);  // a tooth is 0.1 USD high
}

TEST(Traced, JumpsAndBendsCostFewEvaluations) {
  auto value = [](double x) { return x < 0.3 ? x : x < 0.71 ? 10 - x : 3 * x; };
  const Traced traced(value, {0, 1, 0.5});
  for (int i = 0; i <= 1000; ++i) {
    const double x = i / 1000.0;
    EXPECT_NEAR(traced(x), value(x), std::abs(x - 0.3) < 1e-5 || std::abs(x - 0.71) < 1e-5 ? 10 : 1e-9) << x;
  }
  EXPECT_EQ(traced(0.5), 9.5);
  EXPECT_LT(traced.evaluations(), 300U);
}

TEST(Traced, OneFigureIsEnough) {
  const Traced traced([](double x) { return 7 * x; }, {3, 3});
  EXPECT_EQ(traced(3), 21);
}

TEST(Traced, TeethWithoutEndStopAtTheBudget) {
  const Traced traced([](double x) { return x - std::floor(x); }, {0, 100'000});
  EXPECT_LE(traced.evaluations(), Traced::most_evaluations + 1);
}

// ---- The normal ----------------------------------------------------------------------------------------

// Percentage points as any table of the normal has them, such as M. Abramowitz and I. A. Stegun, Handbook of
// Mathematical Functions, NBS 1964, chapter 26 [M].
TEST(Normal, PercentagePoints) {
  EXPECT_NEAR(normal_passed_with(0.025), 1.959964, 5e-7);
  EXPECT_NEAR(normal_passed_with(0.005), 2.575829, 5e-7);
  EXPECT_NEAR(normal_passed_with(0.05), 1.644854, 5e-7);
  for (double chance : {1e-12, 1e-3, 0.2, 0.5, 0.9})
    EXPECT_NEAR(below(-normal_passed_with(chance)) / chance, 1, 1e-12);
}

TEST(Normal, StrataAreTheirOwnMirrorImage) {
  const std::vector<double> strata = normal_strata(1000);
  double square = 0;
  for (std::size_t i = 0; i < strata.size(); ++i) {
    EXPECT_EQ(strata[i], -strata[strata.size() - 1 - i]);
    if (i > 0) EXPECT_LT(strata[i - 1], strata[i]);
    square += strata[i] * strata[i];
  }
  EXPECT_NEAR(square / 1000, 1, 2e-3);  // the middles of the tails' strata lack a little of their spread
}

}  // namespace
}  // namespace buttonworth::test
