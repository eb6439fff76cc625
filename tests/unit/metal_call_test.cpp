// Metal called for and accounted for: variances against every outcome of figures that have only two.
#include "document/metal_call_document.hpp"

#include "random.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

Accounted accounted(const OrderedJson& streams, const OrderedJson& stages) {
  const DocumentLimits limits;
  const OrderedJson document{{"format", "buttonworth-call/1"}, {"streams", streams}, {"stages", stages}};
  const MetalCallReading read = read_metal_call(read_json(document.dump(), limits), limits);
  for (const Complaint& one : read.complaints) ADD_FAILURE() << one.pointer << ": " << one.text;
  return account(read.call);
}
OrderedJson uncertain(const Decimal& value, const Decimal& sd, const char* unit) {
  return {{"value", text_of(value, unit)}, {"sd", text_of(sd, unit)}};
}
OrderedJson melt() { return {{{"what", "melt"}, {"in", {"feed"}}, {"out", {"bar"}}}}; }

/// A figure that is mean + sd or mean - sd, either as likely, has just this mean and variance; a product of
/// three has eight outcomes.
TEST(MetalCall, VarianceOfAProductIsThatOfAllOutcomes) {
  Random random(7);
  for (int i = 0; i < 50; ++i) {
    const Decimal mass(random.decimal(1, 1000, 1)), mass_sd(random.decimal(0, 100, 2));
    const Decimal moisture(random.decimal(0.01, 0.5, 3)), moisture_sd(random.decimal(0, 0.1, 4));
    const Decimal grade(random.decimal(0.001, 0.5, 5)), grade_sd(random.decimal(0, 0.2, 5));
    Decimal sum = 0, squares = 0;
    for (int outcome = 0; outcome < 8; ++outcome) {
      auto either = [&](int bit, const Decimal& mean, const Decimal& sd) -> Decimal {
        return outcome & (1 << bit) ? mean + sd : mean - sd;
      };
      const Decimal content =
          either(0, mass, mass_sd) * (1 - either(1, moisture, moisture_sd)) * either(2, grade, grade_sd);
      sum += content / 8, squares += content * content / 8;
    }
    const OrderedJson feed{{"mass", uncertain(mass, mass_sd, "kg")},
                           {"moisture", uncertain(moisture * 100, moisture_sd * 100, "%")},
                           {"assays", {{"Au", uncertain(grade * 100, grade_sd * 100, "%")}}}};
    const Accounted found = accounted({{"feed", feed}, {"bar", {{"content", {{"Au", "1 g"}}}}}}, melt());
    const MetalAccount& gold = found.stages[0].metal[0];
    EXPECT_LE(abs(gold.called - sum), Decimal("1e-40") * sum);
    const Decimal variance = squares - sum * sum;
    EXPECT_LE(abs(gold.uncertainty * gold.uncertainty - variance), Decimal("1e-35") * squares) << i;
  }
}

TEST(MetalCall, WhatPassesIsInTheWholeOnlyOnce) {
  // A chain of stages: whatever passes, the whole is the first stream against the last.
  OrderedJson streams = OrderedJson::object(), stages = OrderedJson::array();
  for (int i = 0; i < 6; ++i) {
    const std::string name = "stream " + std::to_string(i), next = "stream " + std::to_string(i + 1);
    streams[name] = {{"content", {{"Au", uncertain(100 - i, 1 + i, "g")}}}};
    if (i < 5) stages.push_back({{"what", "stage"}, {"in", {name}}, {"out", {next}}});
  }
  const Accounted found = accounted(streams, stages);
  ASSERT_EQ(found.whole.metal.size(), 1U);
  const MetalAccount& whole = found.whole.metal[0];
  EXPECT_EQ(whole.called * 1000, Decimal(100));
  EXPECT_EQ(whole.accounted * 1000, Decimal(95));
  EXPECT_LE(abs(whole.uncertainty * whole.uncertainty * 1'000'000 - 37), Decimal("1e-40"));  // 1 + 36
  Decimal sum = 0;
  for (const StageAccount& stage : found.stages) sum += stage.metal[0].difference();
  EXPECT_EQ(sum, whole.difference());
}

TEST(MetalCall, AnEdgeOfTheIntervalIsWithinIt) {
  // 1.9599639845400542 is the double's quantile: a difference of exactly that with u = 1 g is no evidence.
  auto verdict = [](const char* bar) {
    return accounted({{"feed", {{"content", {{"Au", {{"value", "10 g"}, {"sd", "1 g"}}}}}}},
                      {"bar", {{"content", {{"Au", bar}}}}}},
                     melt())
        .stages[0]
        .metal[0]
        .verdict;
  };
  EXPECT_EQ(verdict("8.04003601546 g"), CallVerdict::no_loss);
  EXPECT_EQ(verdict("8.0400360154 g"), CallVerdict::loss);
  EXPECT_EQ(verdict("11.95996398454 g"), CallVerdict::no_gain);
  EXPECT_EQ(verdict("11.959963985 g"), CallVerdict::gain);
  EXPECT_EQ(verdict("10 g"), CallVerdict::nothing_missing);
}

}  // namespace
}  // namespace buttonworth::test
