// Routes: returns, credits, days, ranking, cautions of the way.
#include "support.hpp"

namespace buttonworth::test {
namespace {

const OrderedJson lot{{"wet_mass", "100 kg"},
                      {"assays", {{"Au", "100 g/t"}, {"Ag", "500 g/t"}}}};  // 10 g and 50 g
const OrderedJson kept{{"keep", true}};

TEST(Routes, AReturnCreditsItsShareOnItsDay) {
  OrderedJson document = plain_plan(lot, OrderedJson::object(), OrderedJson::object(),
                                    {{"return", {{"Au", "55 %"}, {"Ag", "40 %"}}}, {"after", "30 d"}});
  document["discount"] = "18 %/a";
  document["lot"]["credited"] = "2 USD";
  const Decimal credit = Decimal("5.5") + Decimal("0.2");  // at 1 and 0.01 USD/g
  expect_value(document, credit / pow(Decimal("1.18"), Decimal(30) / 365) - 2);
  const auto plan = plan_from(document);
  const auto comparison = compared(*plan);
  const auto& result = comparison.routes[0];
  EXPECT_EQ(result.ledger.sums.cash_sum, 0);
  EXPECT_EQ(result.ledger.sums.credit_sum, credit - 2);
  EXPECT_TRUE(result.cash_days.empty());  // money only
  ASSERT_EQ(result.ledger.lines.size(), 2U);
  EXPECT_EQ(result.ledger.lines[0].day, 30);
  EXPECT_EQ(result.ledger.lines[0].name.at, nullptr);
}

TEST(Routes, BranchesRunSideBySide) {
  // 100 kg: 30 kg drawn off after 10 h; each branch dries on: 3 h and 7 h. Days of 10 hours.
  const OrderedJson steps{{"magnet",
                           {{"kind", "split"},
                            {"rate", "10 kg/h"},
                            {"into", {{"a", {{"mass", "30 %"}}}, {"b", OrderedJson::object()}}}}},
                          {"pan",
                           {{"kind", "dry"},
                            {"to", "1 %"},
                            {"dust", "0 %"},
                            {"rate", "10 kg/h"},
                            {"wait", "12 h"},
                            {"cost", {{{"what", "labour"}, {"rate", "2 USD/h"}}}}}}};
  const OrderedJson sold{{"step", "pan"}, {"dried", {{"sell", "buyer"}}}};
  OrderedJson document = plain_plan(lot, steps, {{"buyer", {{"buys", "concentrate"}, {"transit", "1 d"}}}},
                                    {{"step", "magnet"}, {"a", sold}, {"b", sold}});
  document["day"] = "10 h";
  const auto plan = plan_from(document);
  const auto comparison = compared(*plan);
  const auto& ledger = comparison.routes[0].ledger;
  EXPECT_TRUE(
      close_to(ledger.products.at(0).delivered.day, Decimal("1.8"), Decimal("1e-40")));  // 1 + 0.3 + 0.5
  EXPECT_TRUE(close_to(ledger.products.at(1).delivered.day, Decimal("2.2"), Decimal("1e-40")));
  for (const auto& line : ledger.lines) {
    if (line.name.kind != LineKind::cost) continue;
    EXPECT_TRUE(close_to(line.day, 1, Decimal("1e-40")));  // on the feed's day
  }
  EXPECT_TRUE(close_to(ledger.sums.cash_sum, -20, Decimal("1e-40")));
}

TEST(Routes, TheLargestPresentValueIsBestAndLeadsTheNext) {
  auto terms = [](const char* share, const char* final_day) {
    return OrderedJson{{"buys", "concentrate"}, {"pay", {{"Au", {{"share", share}}}}}, {"final", final_day}};
  };
  OrderedJson document = plain_plan(
      lot, OrderedJson::object(),
      {{"now", terms("90 %", "0 d")}, {"later", terms("99 %", "365 d")}, {"picky", {{"buys", "bar"}}}},
      {{"sell", "later"}});
  document["discount"] = "25 %/a";
  document["routes"]["quick"] = {{"sell", "now"}};
  document["routes"]["no"] = {{"sell", "picky"}};
  const auto plan = plan_from(document);
  auto comparison = compared(*plan);
  ASSERT_TRUE(comparison.best.has_value());
  EXPECT_EQ(comparison.routes[*comparison.best].route->name, "quick");
  // 9 now against 9.9 / 1.25 in a year.
  EXPECT_TRUE(close_to(*comparison.lead, 9 - Decimal("9.9") / Decimal("1.25"), Decimal("1e-40")));
  document["routes"] = {{"no", {{"sell", "picky"}}}, {"quick", {{"sell", "now"}}}};
  const auto fewer = plan_from(document);
  comparison = compared(*fewer);
  EXPECT_TRUE(comparison.best.has_value());
  EXPECT_FALSE(comparison.lead.has_value());  // over nobody
}

TEST(Routes, ImpossiblePhysicsNamesTheRoute) {
  OrderedJson document =
      plain_plan(lot, {{"furnace", {{"kind", "melt"}, {"to_bar", {{"Cu", "99 %"}}}}}}, OrderedJson::object(),
                 {{"step", "furnace"}, {"bar", kept}, {"slag", kept}});
  document["routes"] = {{"fine", kept}, {"a/b", document["routes"]["r"]}};
  const auto plan = plan_from(document);
  try {
    compared(*plan);
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.complaint().pointer, "/routes/a~1b");
    EXPECT_EQ(error.complaint().code, Code::melt);
  }
}

TEST(Routes, AWetChargeRefusesAndNothingAfterItIsLookedAt) {
  OrderedJson document =
      plain_plan(lot, {{"furnace", {{"kind", "melt"}, {"to_bar", {{"Cu", "99 %"}}}}}}, OrderedJson::object(),
                 {{"step", "furnace"}, {"bar", kept}, {"slag", kept}});
  document["lot"]["moisture"] = "9 %";  // the bar with no metal is never reached
  const auto plan = plan_from(document);
  const auto comparison = compared(*plan);
  ASSERT_EQ(comparison.routes[0].ledger.refused.size(), 1U);
  EXPECT_NE(comparison.routes[0].ledger.refused[0].find("steam"), std::string::npos);
}

TEST(Routes, AStepMetTwiceIsToldAndItsLossesSummed) {
  const OrderedJson pan{{"kind", "dry"}, {"to", "1 %"}, {"dust", "10 %"}};
  const auto plan = plan_from(plain_plan(lot, {{"pan", pan}}, OrderedJson::object(),
                                         {{"step", "pan"}, {"dried", {{"step", "pan"}, {"dried", kept}}}}));
  const auto comparison = compared(*plan);
  const auto& ledger = comparison.routes[0].ledger;
  ASSERT_EQ(ledger.metal.lost.size(), 1U);
  EXPECT_EQ(ledger.metal.lost[0].first, "pan dust");
  const auto gold = static_cast<Analyte>(std::find(plan->analytes.begin(), plan->analytes.end(), "Au") -
                                         plan->analytes.begin());
  EXPECT_TRUE(
      close_to(ledger.metal.lost[0].second[gold], Decimal("0.0019"), Decimal("1e-40")));  // 1 g and 0.9 g
  EXPECT_TRUE(std::any_of(comparison.cautions.begin(), comparison.cautions.end(),
                          [](const Caution& one) { return one.what.find("et twice") != std::string::npos; }));
}

TEST(Routes, AMissingNodeOfAnOutputThatIsMadeIsAnError) {
  // Slag may be left out, as some melts make none; this one does.
  const auto plan = plan_from(plain_plan(lot, {{"furnace", {{"kind", "melt"}, {"to_bar", {{"Au", "99 %"}}}}}},
                                         OrderedJson::object(), {{"step", "furnace"}, {"bar", kept}}));
  try {
    compared(*plan);
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.complaint().code, Code::missing_field);
    EXPECT_EQ(error.complaint().pointer, "/routes/r");
  }
  // All metal and no flux: no slag, so no node is wanted.
  const OrderedJson pure{{"wet_mass", "1 kg"}, {"assays", {{"Au", "90 %"}, {"Ag", "10 %"}}}};
  expect_taken(plain_plan(pure,
                          {{"furnace", {{"kind", "melt"}, {"to_bar", {{"Au", "100 %"}, {"Ag", "100 %"}}}}}},
                          OrderedJson::object(), {{"step", "furnace"}, {"bar", kept}}));
}

TEST(Routes, APullSoNearTheWholeLosesNoMetal) {
  const OrderedJson table{
      {"kind", "table"}, {"curve", {{"Au", {{"odds", "50"}}}}}, {"cut", {{"pull", "99.99999999999999 %"}}}};
  const auto plan = plan_from(plain_plan({{"wet_mass", "100 kg"}, {"assays", {{"Au", "100 g/t"}}}},
                                         {{"shaker", table}}, OrderedJson::object(),
                                         {{"step", "shaker"}, {"concentrate", kept}, {"tailings", kept}}));
  const auto comparison = compared(*plan);
  const auto& metal = comparison.routes[0].ledger.metal;
  EXPECT_TRUE(close_to(metal.fed[0], metal.kept[0], Decimal("1e-40"))) << metal.fed[0] - metal.kept[0];
}

TEST(Routes, LinesSayHowTheyWereWorkedOut) {
  const auto plan = plan_from(
      plain_plan({{"wet_mass", "713.9 kg"}, {"assays", {{"Au", "1748 g/t"}}}}, OrderedJson::object(),
                 {{"buyer", {{"buys", "concentrate"}, {"pay", {{"Au", {{"price", "2650 USD/ozt"}}}}}}}},
                 {{"sell", "buyer"}}));
  const auto comparison = compared(*plan);
  EXPECT_EQ(comparison.routes[0].ledger.lines.at(0).how,
            "713.9 kg × 1748 g/t × 2650 USD/ozt");  // as the format shows it
}

}  // namespace
}  // namespace buttonworth::test
