// What would change a plan's answer: break-even, counter-offers, the forgiving cut, sensitivity and the map,
// by sums worked by hand beside each.
#include "chance/choice_map.hpp"
#include "chance/counter_offers.hpp"
#include "chance/forgiving_cut.hpp"
#include "chance/scan.hpp"
#include "chance/sensitivity.hpp"
#include "document/plan_places.hpp"
#include "placed.hpp"
#include "plan_generator.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

OrderedJson with_rates(OrderedJson terms, const std::vector<std::pair<const char*, const char*>>& rates) {
  for (const auto& [what, rate] : rates) terms["charges"].push_back({{"what", what}, {"rate", rate}});
  return terms;
}
OrderedJson pays(const OrderedJson& gold) { return {{"buys", "concentrate"}, {"pay", {{"Au", gold}}}}; }

/// 100 kg with 10 g of gold at 1 USD/g, no discount; a route for each of the terms, named as they are.
OrderedJson sale_plan(const OrderedJson& terms) {
  OrderedJson document = plain_plan({{"wet_mass", "100 kg"}, {"assays", {{"Au", "100 g/t"}}}},
                                    OrderedJson::object(), terms, {{"sell", terms.begin().key()}});
  document["routes"] = OrderedJson::object();
  for (const auto& [name, one] : terms.items()) document["routes"][name] = {{"sell", name}};
  return document;
}

constexpr double gram_price = 1000;  // USD/kg of 1 USD/g
constexpr double gram_per_tonne = 1e-6;

BreakEven break_even_of(const Plan& plan, const std::string& place, double from, double to,
                        WorthOptions options = {}) {
  const Watch watch;
  const Along along{{quantity_at(plan, place)}, from, to};
  Worths worths(plan, std::move(options), along.quantities, watch);
  return find_break_even(worths, along, watch);
}

void expect_tip(const Tip& tip, TipKind kind, double at, std::size_t before, std::size_t after) {
  EXPECT_EQ(tip.kind, kind) << "at " << tip.at;
  EXPECT_NEAR(tip.at, at, std::abs(at) * (kind == TipKind::tie ? 1e-10 : 2e-12));
  EXPECT_EQ(tip.first, before);
  EXPECT_EQ(tip.second, after);
  EXPECT_TRUE(tip.confirmed);
}

// ---- Break-even ------------------------------------------------------------------------------

TEST(BreakEven, TwoBuyersTieWhereTheirLinesCross) {
  // 9 p - 1 = 9.5 p - 5 at p = 8 USD/g.
  const auto plan =
      placed_plan(sale_plan({{"a", with_rates(pays({{"share", "90 %"}}), {{"assay", "1 USD/lot"}})},
                             {"b", with_rates(pays({{"share", "95 %"}}), {{"assay", "5 USD/lot"}})}}));
  const BreakEven found = break_even_of(*plan, "/prices/Au", gram_price, 20 * gram_price);
  ASSERT_EQ(found.tips.size(), 1U);
  expect_tip(found.tips[0], TipKind::tie, 8 * gram_price, 0, 1);
  ASSERT_EQ(found.leads.size(), 2U);
  EXPECT_EQ(found.leads[0].best, 0U);
  EXPECT_EQ(found.leads[1].best, 1U);
  EXPECT_NEAR(found.leads[0].from.worth[0], 8, 1e-12);
  EXPECT_NEAR(found.leads[1].to.worth[1], 185, 1e-11);
}

TEST(BreakEven, WaitingForMoneyCounts) {
  // 9 p - 1 now, or 9.9 p in a year at 25 %, 7.92 p: a tie at p = 1 / 1.08.
  OrderedJson document = sale_plan({{"now", with_rates(pays({{"share", "90 %"}}), {{"assay", "1 USD/lot"}})},
                                    {"later", pays({{"share", "99 %"}})}});
  document["terms"]["later"]["final"] = "365 d";
  document["discount"] = "25 %/a";
  const auto plan = placed_plan(document);
  const BreakEven found = break_even_of(*plan, "/prices/Au", 0.5 * gram_price, 2 * gram_price);
  ASSERT_EQ(found.tips.size(), 1U);
  expect_tip(found.tips[0], TipKind::tie, gram_price / 1.08, 1, 0);
  // By the time instead, at p = 1: 9.9 x 1.25^(-t/365) = 8.
  const BreakEven by_time = break_even_of(*plan, "/terms/later/final", 0, 400);
  ASSERT_EQ(by_time.tips.size(), 1U);
  expect_tip(by_time.tips[0], TipKind::tie, 365 * std::log(9.9 / 8) / std::log(1.25), 1, 0);
}

TEST(BreakEven, BandsMakeJumpsAndTiesOfOneQuantity) {
  // a gives 0.09 x; b, less 0.6: 0.08 x, from 50 0.095 x, from 100 0.099 x, from 150 0.085 x, from 170 0.093
  // x. Behind until 100, where 9.3 jumps over 9; behind again from 150; level at 200.
  const OrderedJson bands = pairs(
      {{"0 g/t", "80 %"}, {"50 g/t", "95 %"}, {"100 g/t", "99 %"}, {"150 g/t", "85 %"}, {"170 g/t", "93 %"}});
  const auto plan =
      placed_plan(sale_plan({{"a", pays({{"share", "90 %"}})},
                             {"b", with_rates(pays({{"bands", bands}}), {{"assay", "0.6 USD/lot"}})}}));
  const BreakEven found = break_even_of(*plan, "/lot/assays/Au", 10 * gram_per_tonne, 300 * gram_per_tonne);
  ASSERT_EQ(found.tips.size(), 3U);
  expect_tip(found.tips[0], TipKind::jump, 100 * gram_per_tonne, 0, 1);
  expect_tip(found.tips[1], TipKind::jump, 150 * gram_per_tonne, 1, 0);
  expect_tip(found.tips[2], TipKind::tie, 200 * gram_per_tonne, 0, 1);
  EXPECT_NEAR(*found.tips[0].lead_before, 9 - 8.9, 1e-9);
  EXPECT_NEAR(*found.tips[0].lead_after, 9 - 9.3, 1e-9);
  EXPECT_NEAR(*found.tips[1].lead_before, 14.25 - 13.5, 1e-9);
  EXPECT_EQ(found.leads.size(), 4U);
}

TEST(BreakEven, WholeMeltsMakeASaw) {
  // m kg hold m g. Melted, 10 kg at a time at 2 USD: m - 2 ceil(m / 10); unmelted at 68 %. Level where
  // 0.32 m = 2 n: at 6.25 and 12.5; a second melt at 10 throws the melt back, a third at 20 no more (6.4 >
  // 6).
  const OrderedJson steps{{"pot",
                           {{"kind", "melt"},
                            {"to_bar", {{"Au", "100 %"}}},
                            {"crucible", {{"volume", "10 L"}, {"fill", "100 %"}, {"density", "1 kg/L"}}},
                            {"cost", {{{"what", "gas"}, {"rate", "2 USD/melt"}}}}}}};
  OrderedJson bars = pays(OrderedJson::object());
  bars["buys"] = "bar";
  OrderedJson document =
      plain_plan({{"wet_mass", "5 kg"}, {"assays", {{"Au", "1000 g/t"}}}}, steps,
                 {{"sand", pays({{"share", "68 %"}})}, {"bars", bars}}, {{"sell", "sand"}});
  document["routes"]["melted"] = {{"step", "pot"}, {"bar", {{"sell", "bars"}}}, {"slag", {{"keep", true}}}};
  const auto plan = placed_plan(document);
  const BreakEven found = break_even_of(*plan, "/lot/wet_mass", 1, 40);
  ASSERT_EQ(found.tips.size(), 3U);
  expect_tip(found.tips[0], TipKind::tie, 6.25, 0, 1);
  expect_tip(found.tips[1], TipKind::jump, 10, 1, 0);
  expect_tip(found.tips[2], TipKind::tie, 12.5, 0, 1);
}

TEST(BreakEven, RefusalsAreJumpsWithoutALead) {
  OrderedJson picky = pays({{"share", "99 %"}});
  picky["accepts"] = {{"Au", {{"min", "120 g/t"}, {"max", "180 g/t"}}}};
  const auto plan = placed_plan(sale_plan({{"a", pays({{"share", "90 %"}})}, {"picky", picky}}));
  const BreakEven found = break_even_of(*plan, "/lot/assays/Au", 10 * gram_per_tonne, 300 * gram_per_tonne);
  ASSERT_EQ(found.tips.size(), 2U);
  expect_tip(found.tips[0], TipKind::jump, 120 * gram_per_tonne, 0, 1);
  expect_tip(found.tips[1], TipKind::jump, 180 * gram_per_tonne, 1, 0);
  EXPECT_FALSE(found.tips[0].lead_before);
  EXPECT_NEAR(*found.tips[0].lead_after, 0.1 * 120 * (0.90 - 0.99), 1e-9);
  // Alone it leaves intervals without a route.
  const BreakEven alone = break_even_of(*plan, "/lot/assays/Au", 10 * gram_per_tonne, 300 * gram_per_tonne,
                                        {{1}, BestCuts::again});
  ASSERT_EQ(alone.tips.size(), 2U);
  EXPECT_FALSE(alone.tips[0].first);
  EXPECT_EQ(alone.tips[0].second, 0U);
  EXPECT_FALSE(alone.leads[2].best);
}

TEST(BreakEven, NoTieIsFoundWhereThereIsNone) {
  const OrderedJson terms{
      {"a", pays({{"share", "90 %"}})}, {"b", pays({{"share", "89 %"}})}, {"c", pays({{"share", "90 %"}})}};
  const auto plan = placed_plan(sale_plan(terms));
  const BreakEven found = break_even_of(*plan, "/prices/Au", gram_price, 20 * gram_price);
  EXPECT_TRUE(found.tips.empty());  // a and c leave the same everywhere: the first leads
  ASSERT_EQ(found.leads.size(), 1U);
  EXPECT_EQ(found.leads[0].best, 0U);
  EXPECT_NEAR(*lead_of(found.leads[0].to.worth, 0), 0, 1e-12);
}

TEST(BreakEven, OnlyTheNamedRoutesCount) {
  // b and c tie at 2, where 8 p - 3 = 7 p - 1, below a all the while.
  const auto plan =
      placed_plan(sale_plan({{"a", pays({{"share", "99 %"}})},
                             {"b", with_rates(pays({{"share", "80 %"}}), {{"assay", "3 USD/lot"}})},
                             {"c", with_rates(pays({{"share", "70 %"}}), {{"assay", "1 USD/lot"}})}}));
  EXPECT_TRUE(break_even_of(*plan, "/prices/Au", gram_price, 9 * gram_price).tips.empty());
  const BreakEven two =
      break_even_of(*plan, "/prices/Au", gram_price, 9 * gram_price, {{1, 2}, BestCuts::again});
  ASSERT_EQ(two.tips.size(), 1U);
  expect_tip(two.tips[0], TipKind::tie, 2 * gram_price, 1, 0);
}

TEST(BreakEven, AnExchangeRateMovesAllThatIsStatedInIt) {
  // 9.5 - 10 r = 9 at r = 0.05 USD, with two charges of 4 and 6 PEN.
  OrderedJson document = sale_plan(
      {{"a", pays({{"share", "90 %"}})},
       {"b", with_rates(pays({{"share", "95 %"}}), {{"assay", "4 PEN/lot"}, {"post", "6 PEN/lot"}})}});
  document["exchange"] = {{"PEN", "0.02 USD"}};
  const auto plan = placed_plan(document);
  const BreakEven found = break_even_of(*plan, "/exchange/PEN", 0.01, 0.2);
  ASSERT_EQ(found.tips.size(), 1U);
  expect_tip(found.tips[0], TipKind::tie, 0.05, 1, 0);
  // The charge itself, in its own currency: 9.5 - 0.02 (4 + x) = 9 at 21 PEN.
  const BreakEven charge = break_even_of(*plan, "/terms/b/charges/1/rate", 1, 100);
  ASSERT_EQ(charge.tips.size(), 1U);
  expect_tip(charge.tips[0], TipKind::tie, 21, 1, 0);
}

TEST(BreakEven, SeveralQuantitiesMayBeSetTogether) {
  // Charges of b and its second one both x: 9.5 - 2 x = 9 at 0.25.
  const auto plan = placed_plan(sale_plan(
      {{"a", pays({{"share", "90 %"}})},
       {"b", with_rates(pays({{"share", "95 %"}}), {{"assay", "1 USD/lot"}, {"post", "2 USD/lot"}})}}));
  const Watch watch;
  const Along along{
      {quantity_at(*plan, "/terms/b/charges/0/rate"), quantity_at(*plan, "/terms/b/charges/1/rate")},
      0.01,
      1};
  Worths worths(*plan, {}, along.quantities, watch);
  const BreakEven found = find_break_even(worths, along, watch);
  ASSERT_EQ(found.tips.size(), 1U);
  expect_tip(found.tips[0], TipKind::tie, 0.25, 1, 0);
}

TEST(BreakEven, MoneyRoundedByTheLineStillTies) {
  OrderedJson document = sale_plan({{"a", with_rates(pays({{"share", "90 %"}}), {{"assay", "1 USD/lot"}})},
                                    {"b", with_rates(pays({{"share", "95 %"}}), {{"assay", "5 USD/lot"}})}});
  document["terms"]["a"]["rounding"] = document["terms"]["b"]["rounding"] = {{"money", "0.01 USD"}};
  const auto plan = placed_plan(document);
  const BreakEven found = break_even_of(*plan, "/prices/Au", gram_price, 20 * gram_price);
  ASSERT_EQ(found.tips.size(), 1U);
  // To the cent both lines are flat for 0.001 USD/g, and the lead goes to and fro for a cent or two of price.
  EXPECT_EQ(found.tips[0].kind, TipKind::tie);
  EXPECT_NEAR(found.tips[0].at, 8 * gram_price, 0.03 * gram_price);
  EXPECT_LT(found.tips[0].to - found.tips[0].from, 0.06 * gram_price);
}

TEST(BreakEven, TeethOfARoundedAssayAreToldAsOne) {
  // Rounded to 0.001 g/t, b goes in teeth about a straight line that crosses a's at 133.333 g/t.
  OrderedJson document =
      sale_plan({{"a", pays({{"share", "90 %"}})},
                 {"b", with_rates(pays({{"share", "93 %"}}), {{"assay", "0.4 USD/lot"}})}});
  document["terms"]["b"]["rounding"] = {{"Au", "0.001 g/t"}};
  const auto plan = placed_plan(document);
  const BreakEven found = break_even_of(*plan, "/lot/assays/Au", 50 * gram_per_tonne, 300 * gram_per_tonne);
  ASSERT_EQ(found.tips.size(), 1U);
  EXPECT_NE(found.tips[0].kind, TipKind::tie);
  EXPECT_NEAR(found.tips[0].at, 400 / 3.0 * gram_per_tonne, 0.04 * gram_per_tonne);  // half a tooth over 3 %
  EXPECT_EQ(found.leads.size(), 2U);
}

/// b, 0.095 x - 0.5, comes up to a, 0.09 x, at 100 g/t, and from `above` on falls by 0.01 more for each g/t.
OrderedJson short_lead(const char* above) {
  OrderedJson b = with_rates(pays({{"share", "95 %"}}), {{"assay", "0.5 USD/lot"}});
  b["penalties"] = {{{"for", "Au"}, {"above", above}, {"each", "1 g/t"}, {"rate", "0.0001 USD/kg"}}};
  return sale_plan({{"b", b}, {"a", pays({{"share", "90 %"}})}});
}

TEST(BreakEven, AShortLeadEndsNoInterval) {
  // b leads from 100 to 100.02 g/t, by 0.00005 USD at most.
  const auto plan = placed_plan(short_lead("100.01 g/t"));
  const BreakEven found = break_even_of(*plan, "/lot/assays/Au", 10 * gram_per_tonne, 300 * gram_per_tonne);
  ASSERT_EQ(found.tips.size(), 1U);
  EXPECT_EQ(found.tips[0].kind, TipKind::several);
  EXPECT_NEAR(found.tips[0].from, 100 * gram_per_tonne, 1e-12);
  EXPECT_NEAR(found.tips[0].to, 100.02 * gram_per_tonne, 1e-12);
  ASSERT_EQ(found.leads.size(), 1U);
  EXPECT_EQ(found.leads[0].from.at, 10 * gram_per_tonne);
  EXPECT_EQ(found.leads[0].to.at, 300 * gram_per_tonne);
}

TEST(BreakEven, ATouchIsNoChange) {
  const auto plan = placed_plan(short_lead("100 g/t"));
  const BreakEven found = break_even_of(*plan, "/lot/assays/Au", 10 * gram_per_tonne, 300 * gram_per_tonne);
  EXPECT_TRUE(found.tips.empty());
  EXPECT_EQ(found.leads.size(), 1U);
}

TEST(BreakEven, ValuesThatMakeNoPlanLeaveNoRoute) {
  OrderedJson document = sale_plan({{"a", pays({{"share", "90 %"}})}, {"b", pays({{"share", "80 %"}})}});
  document["lot"]["assays"]["Fe"] = "60 %";
  const auto plan = placed_plan(document);
  const Watch watch;
  const Along along{{quantity_at(*plan, "/lot/assays/Fe")}, 0.1, 1};
  Worths worths(*plan, {}, along.quantities, watch);
  const BreakEven found = find_break_even(worths, along, watch);
  ASSERT_EQ(found.tips.size(), 1U);  // at 100 % less 100 g/t
  EXPECT_NEAR(found.tips[0].at, 0.9999, 1e-11);
  EXPECT_FALSE(found.tips[0].second);
  ASSERT_TRUE(worths.fault());
  EXPECT_NE(worths.fault()->reason.find("more than 100 %"), std::string::npos);
}

TEST(BreakEven, AnImpossibleRouteCountsAsRefusedThere) {
  // A table at 2 % pull of 1 % of metal: more than twice that and the concentrate is all metal.
  const OrderedJson steps{
      {"table", {{"kind", "table"}, {"curve", {{"Au", {{"odds", "1000"}}}}}, {"cut", {{"pull", "2 %"}}}}}};
  OrderedJson document =
      plain_plan({{"wet_mass", "100 kg"}, {"assays", {{"Au", "1 %"}}}}, steps,
                 {{"a", pays({{"share", "50 %"}})}, {"b", pays({{"share", "99 %"}})}}, {{"sell", "a"}});
  document["routes"]["tabled"] = {
      {"step", "table"}, {"concentrate", {{"sell", "b"}}}, {"tailings", {{"keep", true}}}};
  const auto plan = placed_plan(document);
  const Watch watch;
  const Along along{{quantity_at(*plan, "/lot/assays/Au")}, 0.001, 0.05};
  Worths worths(*plan, {}, along.quantities, watch);
  const BreakEven found = find_break_even(worths, along, watch);
  ASSERT_EQ(found.tips.size(), 1U);
  // R = 1000 y / (1 - y + 1000 y) at y = 2 %: 20 / 20.98; all metal where R a = y.
  expect_tip(found.tips[0], TipKind::jump, 0.02 * 20.98 / 20, 1, 0);
  ASSERT_EQ(worths.impossible().size(), 1U);
  EXPECT_NE(worths.impossible()[0].reason.find("more metal than the mass pulled"), std::string::npos);
}

// ---- Names -----------------------------------------------------------------------------------

OrderedJson named_plan() {
  const OrderedJson steps{{"shaker/1",
                           {{"kind", "table"},
                            {"rate", "50 kg/h"},
                            {"cost", {{{"what", "labour"}, {"rate", "5 USD/h"}}}},
                            {"cut", {{"pull", "3 %"}}},
                            {"curve",
                             {{"Au", {{"logit", {"4", "1"}}}},
                              {"Ag", {{"limit_recovery", "90 %"}, {"rate", "9"}}},
                              {"As", pairs({{"5 %", "10 %"}, {"20 %", "40 %"}})}}}}}};
  OrderedJson smelter =
      with_rates(pays({{"share", "93 %"}, {"refining", "2 USD/kg"}}), {{"treatment", "3 USD/t"}});
  smelter["transit"] = "9 d";
  OrderedJson document =
      plain_plan(OrderedJson(), steps, {{"coast smelter", smelter}}, {{"sell", "coast smelter"}});
  document["lot"] = {
      {"parts",
       {{{"id", "week 1"}, {"wet_mass", "100 kg"}, {"assays", {{"Au", "100 g/t"}}}},
        {{"wet_mass", "50 kg"}, {"assays", {{"Au", "60 g/t"}, {"Ag", "9 g/t"}, {"As", "1 %"}}}}}}};
  document["routes"]["tabled"] = {{"step", "shaker/1"},
                                  {"concentrate", {{"sell", "coast smelter"}}},
                                  {"tailings", {{"return", {{"Au", "30 %"}}}, {"after", "30 d"}}}};
  document["levies"] = {{{"what", "royalty"}, {"rate", "5 %"}, {"of", "payable value"}, {"after", "30 d"}}};
  return document;
}

TEST(Names, AreThePlansOwn) {
  const auto plan = placed_plan(named_plan());
  const std::pair<const char*, const char*> names[] = {
      {"/prices/Au", "Au price"},
      {"/discount", "discount"},
      {"/lot/parts/0/assays/Au", "week 1: Au assay"},
      {"/lot/parts/1/wet_mass", "part 2: wet mass"},
      {"/steps/shaker~11/rate", "shaker/1: rate"},
      {"/steps/shaker~11/cost/0/rate", "shaker/1: labour"},
      {"/steps/shaker~11/cut/pull", "shaker/1: pull"},
      {"/steps/shaker~11/curve/Au/logit/0", "shaker/1: Au curve, constant a"},
      {"/steps/shaker~11/curve/Ag/limit_recovery", "shaker/1: Ag curve, limit recovery"},
      {"/steps/shaker~11/curve/As/1/1", "shaker/1: As curve, recovery of point 2"},
      {"/terms/coast smelter/pay/Au/refining", "coast smelter: Au refining"},
      {"/terms/coast smelter/charges/0/rate", "coast smelter: treatment"},
      {"/terms/coast smelter/transit", "coast smelter: transit"},
      {"/routes/tabled/tailings/return/Au", "tabled: Au credited for tailings"},
      {"/routes/tabled/tailings/after", "tabled: time to the credit for tailings"},
      {"/levies/0/rate", "royalty: rate"}};
  for (const auto& [place, name] : names) EXPECT_EQ(quantity_name(*plan, quantity_at(*plan, place)), name);
  const auto at = [&](const char* place) { return quantity_at(*plan, place); };
  EXPECT_EQ(quantity_name(*plan, {at("/lot/parts/0/assays/Au"), at("/lot/parts/1/assays/Au")}), "Au assay");
  EXPECT_EQ(quantity_name(*plan, {at("/prices/Au"), at("/levies/0/rate")}), "Au price and royalty: rate");
}

TEST(Names, MoneyInASentenceHasCommas) {
  EXPECT_EQ(spoken_money(78061.4, "USD"), "78,061 USD");
  EXPECT_EQ(spoken_money(-1234567, "USD"), "-1,234,567 USD");
  EXPECT_EQ(spoken_money(999.6, "USD"), "1,000 USD");
  EXPECT_EQ(spoken_money(12.4, "USD"), "12 USD");
  EXPECT_EQ(spoken_money(-9.5, "USD"), "-9.50 USD");
  EXPECT_EQ(spoken_money(7, "USD"), "7 USD");
  EXPECT_EQ(with_commas("1234.5678 kg"), "1,234.5678 kg");
  EXPECT_EQ(with_commas("-100"), "-100");
}

// ---- Sensitivity -----------------------------------------------------------------------------

Sensitivity sensitivity_of(const OrderedJson& document, const std::vector<std::string>& places = {},
                           std::shared_ptr<const Plan>* kept = nullptr) {
  static std::shared_ptr<Plan> plan;
  plan = std::const_pointer_cast<Plan>(placed_plan(document));
  take_rounding_out(*plan);
  if (kept != nullptr) *kept = plan;
  SensitivityOptions options;
  for (const std::string& place : places) options.of.push_back({quantity_at(*plan, place)});
  return find_sensitivity(*plan, options, Watch{});
}

RouteSlope slope_of(const OrderedJson& document, const std::string& place, std::size_t route = 0) {
  const Sensitivity found = sensitivity_of(document, {place});
  if (found.quantities.size() != 1 || !found.quantities[0].routes[route])
    throw std::runtime_error(place + " has no effect");
  return *found.quantities[0].routes[route];
}

void expect_slope(const std::optional<Decimal>& found, const Decimal& expected) {
  ASSERT_TRUE(found);
  EXPECT_TRUE(close_to(*found, expected, Decimal("1e-18"))) << *found << ", expected " << expected;
}

/// 400 kg at 10 % moisture, 0.5 % deducted, 250 g/t paid at 93 %, 8 USD/g, less 2 USD/kg of refining, 3 USD/t
/// of treatment and 7 USD, after 40 d at 18 %.
OrderedJson linear_sale() {
  OrderedJson buyer = with_rates(pays({{"share", "93 %"}, {"refining", "2 USD/kg"}}),
                                 {{"treatment", "3 USD/t"}, {"assay", "7 USD/lot"}});
  buyer["mass_deduction"] = "0.5 %";
  buyer["transit"] = "10 d";
  buyer["final"] = "30 d";
  buyer["rounding"] = {{"money", "0.01 USD"}, {"Au", "0.1 g/t"}};
  OrderedJson document = sale_plan({{"buyer", buyer}});
  document["lot"] = {{"wet_mass", "400 kg"}, {"moisture", "10 %"}, {"assays", {{"Au", "250 g/t"}}}};
  document["prices"]["Au"] = "8 USD/g";
  document["discount"] = "18 %/a";
  return document;
}

TEST(Sensitivity, ALinearSaleByHand) {
  const Decimal dry = 360, settled = dry * Decimal("0.995"), assay("0.00025"), share("0.93"), price = 8000;
  const Decimal factor = pow(Decimal("1.18"), Decimal(-40) / 365);
  const Decimal paid = settled * assay * share;
  const Decimal value = (paid * (price - 2) - settled * Decimal("0.003") - 7) * factor;
  const OrderedJson document = linear_sale();
  expect_slope(slope_of(document, "/prices/Au").slope, Decimal(paid * factor));
  expect_slope(slope_of(document, "/prices/Au").elasticity, Decimal(paid * price * factor / value));
  expect_slope(slope_of(document, "/lot/assays/Au").slope, Decimal(settled * share * (price - 2) * factor));
  expect_slope(slope_of(document, "/terms/buyer/pay/Au/share").slope,
               Decimal(settled * assay * (price - 2) * factor));
  expect_slope(slope_of(document, "/terms/buyer/pay/Au/refining").slope, Decimal(-paid * factor));
  expect_slope(slope_of(document, "/terms/buyer/charges/0/rate").slope, Decimal(-settled * factor));
  expect_slope(slope_of(document, "/terms/buyer/charges/1/rate").slope, Decimal(-factor));
  expect_slope(slope_of(document, "/terms/buyer/mass_deduction").slope,
               Decimal(-(assay * share * (price - 2) - Decimal("0.003")) * dry * factor));
  expect_slope(slope_of(document, "/lot/moisture").slope,
               Decimal(-(assay * share * (price - 2) - Decimal("0.003")) * 398 * factor));
  expect_slope(slope_of(document, "/terms/buyer/final").slope,
               Decimal(-value * natural_log(Decimal("1.18")) / 365));
  expect_slope(slope_of(document, "/discount").slope, Decimal(-value * 40 / 365 / Decimal("1.18")));
  expect_slope(slope_of(document, "/discount").elasticity,
               Decimal(-Decimal(40) / 365 / Decimal("1.18") * Decimal("0.18")));
}

TEST(Sensitivity, TheLesserOfTwoHasAKink) {
  // min(0.9 a, a - 10) turns at 100 g/t: from 1 to 0.9 of 100 kg at 1000 USD/kg.
  const OrderedJson document = sale_plan({{"buyer", pays({{"share", "90 %"}, {"less", "10 g/t"}})}});
  const RouteSlope slope = slope_of(document, "/lot/assays/Au");
  EXPECT_FALSE(slope.slope);
  EXPECT_FALSE(slope.elasticity);
  expect_slope(slope.below, 100000);
  expect_slope(slope.above, 90000);
  EXPECT_FALSE(slope.jump_below);
  EXPECT_FALSE(slope.jump_above);
}

TEST(Sensitivity, AGradeOnABandsStartJumps) {
  // From 100 g/t on 95 %, below 90 %: 100 kg hold 10 g, so 0.5 USD is lost just below.
  const OrderedJson gold{{"bands", pairs({{"0 g/t", "90 %"}, {"100 g/t", "95 %"}})}};
  const RouteSlope slope = slope_of(sale_plan({{"buyer", pays(gold)}}), "/lot/assays/Au");
  EXPECT_FALSE(slope.slope);
  expect_slope(slope.below, 90000);
  expect_slope(slope.above, 95000);
  ASSERT_TRUE(slope.jump_below);
  EXPECT_TRUE(close_to(*slope.jump_below, Decimal("-0.5"), Decimal("1e-8")));
  EXPECT_FALSE(slope.jump_above);
}

TEST(Sensitivity, ABlendOnABandsStartJumpsByAnyOfItsParts) {
  // 1 kg of 400 g/t among 100 of 97 and 96.97 g/t: the blend is exactly 100 g/t.
  OrderedJson document =
      sale_plan({{"buyer", pays({{"bands", pairs({{"0 g/t", "90 %"}, {"100 g/t", "95 %"}})}})}});
  document["lot"] = {{"parts",
                      {{{"wet_mass", "1 kg"}, {"assays", {{"Au", "400 g/t"}}}},
                       {{"wet_mass", "60 kg"}, {"assays", {{"Au", "97 g/t"}}}},
                       {{"wet_mass", "40 kg"}, {"assays", {{"Au", "97 g/t"}}}}}}};
  for (const char* place : {"/lot/parts/0/assays/Au", "/lot/parts/1/assays/Au", "/lot/parts/0/wet_mass"}) {
    const RouteSlope slope = slope_of(document, place);
    ASSERT_TRUE(slope.jump_below) << place;
    EXPECT_TRUE(close_to(*slope.jump_below, Decimal("-0.505"), Decimal("1e-7"))) << place;  // 5 % of 10.1 g
  }
  const RouteSlope poor = slope_of(document, "/lot/parts/1/wet_mass");  // more of the poorer sand
  ASSERT_TRUE(poor.jump_above);
  EXPECT_FALSE(poor.jump_below);
}

TEST(Sensitivity, AtTheEndOfItsRangeTheInsideCounts) {
  OrderedJson document = sale_plan({{"buyer", pays({{"share", "100 %"}})}});
  document["terms"]["buyer"]["final"] = "0 d";
  document["discount"] = "18 %/a";
  expect_slope(slope_of(document, "/terms/buyer/pay/Au/share").slope, 10);
  expect_slope(slope_of(document, "/terms/buyer/final").slope,
               Decimal(-10 * natural_log(Decimal("1.18")) / 365));
}

TEST(Sensitivity, AnAcceptLimitIsSaid) {
  OrderedJson document =
      sale_plan({{"buyer", pays({{"share", "90 %"}})}, {"other", pays({{"share", "10 %"}})}});
  document["terms"]["buyer"]["accepts"] = {{"Au", {{"min", "100 g/t"}}}};
  const RouteSlope slope = slope_of(document, "/lot/assays/Au");
  EXPECT_TRUE(slope.refused_below);
  EXPECT_FALSE(slope.refused_above);
  expect_slope(slope.slope, 90000);
}

TEST(Sensitivity, ACutByGradeIsSolvedInDecimals) {
  // R = S y / (1 - y + S y) reaches grade g of a feed a at y = (S a / g - 1) / (S - 1). The concentrate holds
  // g y M: with S = 50, M = 100 kg and 1000 USD/kg, dV/da = 1e5 S / (S - 1), dV/dg = -1e5 / (S - 1), and
  // dV/dS = 1e5 g (a / g (S - 1) - (S a / g - 1)) / (S - 1)^2 = 1e5 (g - a) / (S - 1)^2.
  const OrderedJson steps{{"table",
                           {{"kind", "table"},
                            {"curve", {{"Au", {{"odds", "50"}}}}},
                            {"cut", {{"grade", "1000 g/t"}, {"of", "Au"}}}}}};
  const OrderedJson document =
      plain_plan({{"wet_mass", "100 kg"}, {"assays", {{"Au", "100 g/t"}}}}, steps,
                 {{"buyer", pays(OrderedJson::object())}},
                 {{"step", "table"}, {"concentrate", {{"sell", "buyer"}}}, {"tailings", {{"keep", true}}}});
  expect_slope(slope_of(document, "/lot/assays/Au").slope, Decimal(Decimal(5000000) / 49));
  expect_slope(slope_of(document, "/steps/table/cut/grade").slope, Decimal(Decimal(-100000) / 49));
  expect_slope(slope_of(document, "/steps/table/curve/Au/odds").slope,
               Decimal(100000 * (Decimal("0.001") - Decimal("0.0001")) / (49 * 49)));
}

TEST(Sensitivity, MoneyOfAnotherCurrencyIsPerOneOfIt) {
  OrderedJson document =
      sale_plan({{"buyer", with_rates(pays({{"share", "90 %"}}), {{"assay", "4 PEN/lot"}})}});
  document["exchange"] = {{"PEN", "0.268 USD"}};
  expect_slope(slope_of(document, "/terms/buyer/charges/0/rate").slope, Decimal("-0.268"));
  expect_slope(slope_of(document, "/exchange/PEN").slope, -4);
}

TEST(Sensitivity, WhatSwingsTheLeadMostComesFirst) {
  // a: 9.5 p - 5 - c, b: 9 p - 1; at p = 20 and c = 0.1 a leads by 5.9. The price is uniform over 10 to 30:
  // its 2.5 % and 97.5 % points are 10.5 and 29.5, the lead there 1.15 and 10.65. The charge, 0.05 to 0.15,
  // swings it by 0.095. The note of the terms nobody sells to does nothing.
  OrderedJson document = sale_plan(
      {{"a", with_rates(pays({{"share", "95 %"}}), {{"assay", "5 USD/lot"}, {"post", "1 USD/lot"}})},
       {"b", with_rates(pays({{"share", "90 %"}}), {{"assay", "1 USD/lot"}})}});
  document["terms"]["a"]["charges"][1]["rate"] = {{"low", "0.05 USD/lot"}, {"high", "0.15 USD/lot"}};
  document["terms"]["nobody"] = with_rates(pays({{"share", "95 %"}}), {{"assay", "1 USD/lot"}});
  document["prices"]["Au"] = {{"low", "10 USD/g"}, {"high", "30 USD/g"}};
  std::shared_ptr<const Plan> plan;
  const Sensitivity found = sensitivity_of(document, {}, &plan);
  EXPECT_EQ(found.best, 0U);
  EXPECT_EQ(found.next, 1U);
  const auto place = [&](std::size_t i) { return plan->quantities[found.quantities[i].quantities[0]].place; };
  EXPECT_EQ(place(0), "/prices/Au");
  EXPECT_EQ(place(1), "/terms/a/charges/1/rate");
  const QuantitySensitivity& price = found.quantities[0];
  EXPECT_NEAR(price.range->low, 10500, 1e-8);
  EXPECT_NEAR(to_double(*price.range->lead_low), 1.15, 1e-12);
  EXPECT_NEAR(to_double(*price.range->lead_high), 10.65, 1e-12);
  EXPECT_NEAR(to_double(*price.swing()), 9.5, 1e-12);
  EXPECT_NEAR(to_double(*found.quantities[1].swing()), 0.095, 1e-12);
  expect_slope(price.lead, Decimal("0.0005"));
  expect_slope(price.lead_per_share, 10);
  EXPECT_GT(found.quantities.size(), 4U);
  // Certain ones by what one percent does to the lead: a's 95 % of 200 USD, b's 90 %.
  EXPECT_EQ(place(2), "/terms/a/pay/Au/share");
  EXPECT_EQ(place(3), "/terms/b/pay/Au/share");
  expect_slope(found.quantities[2].lead_per_share, 190);
  expect_slope(found.quantities[3].lead_per_share, -180);
  std::vector<std::string> nothing;
  for (const auto& set : found.without_effect) nothing.push_back(plan->quantities[set[0]].place);
  EXPECT_NE(std::find(nothing.begin(), nothing.end(), "/terms/nobody/charges/0/rate"), nothing.end());
  EXPECT_NE(std::find(nothing.begin(), nothing.end(), "/prices/Ag"), nothing.end());
}

// ---- Counter-offers --------------------------------------------------------------------------

const BuyerOffers& buyer_of(const CounterOffers& sheet, std::string_view name) {
  for (const BuyerOffers& one : sheet.buyers)
    if (one.terms->name == name) return one;
  throw std::runtime_error("no offers of " + std::string(name));
}
std::optional<double> change_of(const BuyerOffers& buyer, const std::string& what) {
  for (const Offer& one : buyer.offers)
    if (one.figure.what == what) return one.change ? std::optional(to_double(*one.change)) : std::nullopt;
  throw std::runtime_error("no offer of " + what);
}

TEST(CounterOffers, ALinearSaleByHand) {
  OrderedJson b = with_rates(pays({{"share", "92 %"}, {"less", "2 g/t"}, {"refining", "0.08 USD/g"}}),
                             {{"treatment", "5 USD/t"}, {"assay", "0.2 USD/lot"}});
  b["pay"]["Au"]["order"] = "less first";
  b["mass_deduction"] = "1 %";
  const auto plan = placed_plan(sale_plan({{"a", pays({{"share", "85 %"}})}, {"b", b}}));
  // Settled 99 kg; payable 99 x 0.92 x 98 g/t = 8.92584 g; value 8.92584, refining 0.7140672, treatment
  // 0.495, assay 0.2: 7.5167728, short 0.9832272.
  const CounterOffers sheet = find_counter_offers(*plan, {}, Watch{});
  ASSERT_EQ(sheet.buyers.size(), 1U);
  const BuyerOffers& buyer = buyer_of(sheet, "b");
  EXPECT_NEAR(*buyer.missing, 0.9832272, 1e-12);
  EXPECT_NEAR(*buyer.per_lot, 0.9832272, 1e-12);
  EXPECT_FALSE(change_of(buyer, "Au deduction"));  // 0.182 x 0.92 at the most
  EXPECT_FALSE(change_of(buyer, "Au refining"));   // 0.714
  EXPECT_FALSE(change_of(buyer, "treatment"));     // 0.495
  EXPECT_FALSE(change_of(buyer, "assay"));
  EXPECT_FALSE(change_of(buyer, "mass deduction"));
  EXPECT_FALSE(change_of(buyer, "Au paid"));  // 8 % of 9.702 x 0.92 = 0.714
  OrderedJson richer = sale_plan({{"a", pays({{"share", "80 %"}})}, {"b", b}});  // 0.4832272 short
  const auto second = placed_plan(richer);
  const CounterOffers easier = find_counter_offers(*second, {}, Watch{});
  const BuyerOffers& other = buyer_of(easier, "b");
  EXPECT_NEAR(*change_of(other, "Au paid"), 0.4832272 / (9.702 * 0.92), 1e-8);
  EXPECT_NEAR(*change_of(other, "Au refining"), 1000 * 0.4832272 / 8.92584, 1e-5);  // USD/kg
  EXPECT_NEAR(*change_of(other, "treatment"), 0.4832272 / 99, 1e-9);                // USD/kg
  EXPECT_FALSE(change_of(other, "assay"));
}

TEST(CounterOffers, TimeAndMoneyLater) {
  // a leaves 9; b pays 9.5 after 400 d at 20 %: 9.5 x 1.2^(-t/365) = 9 at t = 365 ln(9.5/9) / ln 1.2.
  OrderedJson document = sale_plan({{"a", pays({{"share", "90 %"}})}, {"b", pays({{"share", "95 %"}})}});
  document["terms"]["b"]["final"] = "400 d";
  document["discount"] = "20 %/a";
  const auto plan = placed_plan(document);
  const CounterOffers sheet = find_counter_offers(*plan, {}, Watch{});
  const BuyerOffers& buyer = buyer_of(sheet, "b");
  const double days = 365 * std::log(9.5 / 9) / std::log(1.2), factor = std::pow(1.2, -400 / 365.0);
  EXPECT_NEAR(*change_of(buyer, "final"), 400 - days, 1e-4);
  EXPECT_NEAR(*buyer.missing, 9 - 9.5 * factor, 1e-12);
  EXPECT_NEAR(*buyer.per_lot, (9 - 9.5 * factor) / factor, 1e-12);
}

TEST(CounterOffers, BandsMoveTogetherOrOneAfterTheOther) {
  // At 100 g/t the second band counts: 90 % against 93 %. Its start for a grade just reached, 120 g/t at 96
  // %.
  const OrderedJson bands = pairs({{"0 g/t", "80 %"}, {"50 g/t", "90 %"}, {"120 g/t", "96 %"}});
  const auto plan =
      placed_plan(sale_plan({{"a", pays({{"share", "93 %"}})}, {"b", pays({{"bands", bands}})}}));
  const CounterOffers sheet = find_counter_offers(*plan, {}, Watch{});
  const BuyerOffers& buyer = buyer_of(sheet, "b");
  EXPECT_NEAR(*change_of(buyer, "Au paid from 50 g/t on"), 0.03, 1e-9);
  EXPECT_FALSE(change_of(buyer, "Au paid from 0 g/t on"));
  EXPECT_FALSE(change_of(buyer, "Au paid from 120 g/t on"));
  EXPECT_NEAR(*change_of(buyer, "Au paid, all bands"), 0.03, 1e-9);
  EXPECT_NEAR(*change_of(buyer, "Au band of 96 %"), 20 * gram_per_tonne, 1e-13);
}

TEST(CounterOffers, ALimitThatRefusesMayBeWidened) {
  OrderedJson picky = pays({{"share", "99 %"}});
  picky["accepts"] = {{"Au", {{"min", "120 g/t"}}}, {"mass", {{"min", "90 kg"}}}};
  const auto plan = placed_plan(sale_plan({{"a", pays({{"share", "90 %"}})}, {"picky", picky}}));
  const CounterOffers sheet = find_counter_offers(*plan, {}, Watch{});
  const BuyerOffers& buyer = buyer_of(sheet, "picky");
  EXPECT_EQ(buyer.route, nullptr);
  EXPECT_EQ(buyer.refused.size(), 1U);
  EXPECT_FALSE(buyer.missing);
  EXPECT_NEAR(*change_of(buyer, "least Au taken"), 20 * gram_per_tonne, 1e-12);
  EXPECT_FALSE(change_of(buyer, "least mass taken"));
  EXPECT_FALSE(change_of(buyer, "Au paid"));
}

/// The plan with these quantities as an offer would have them, worked out in decimals: what the best of the
/// buyer's routes leaves over the best of the others.
Decimal lead_with(const OrderedJson& document, const Plan& plan, const Offer& offer, const Decimal& change,
                  const Terms& terms) {
  OrderedJson changed = document;
  const auto values = moved(plan, offer.figure, change);
  for (std::size_t i = 0; i < values.size(); ++i) {
    const StatedQuantity& stated = plan.quantities[offer.figure.quantities[i]];
    changed[OrderedJson::json_pointer(stated.place)] =
        text_of(Decimal(values[i] / stated.unit_factor), stated.unit.c_str());
  }
  if (!complaints_of(changed.dump()).empty()) return -1;  // a band's start that reaches the one before
  const auto again = plan_from(changed);
  std::optional<Decimal> his, others;
  const auto index = static_cast<std::size_t>(&terms - plan.terms.data());
  for (const auto& result : compared(*again).routes) {
    if (result.refused()) continue;
    auto& best = sells_to(*result.route, index) ? his : others;
    const Decimal& value = result.ledger.sums.present_value;
    if (!best || value > *best) best = value;
  }
  return his ? Decimal(*his - *others) : Decimal(-1);
}

TEST(CounterOffers, PutBackIntoThePlanTheyWinAndALittleLessDoesNot) {
  // Invented terms that have every figure; the discount makes the times count.
  OrderedJson b =
      with_rates(pays({{"bands", pairs({{"10 g/t", "85 %"}, {"80 g/t", "91 %"}, {"130 g/t", "96 %"}})},
                       {"less", "1 g/t"},
                       {"order", "share first"},
                       {"refining", "0.03 USD/g"},
                       {"price_share", "99 %"}}),
                 {{"treatment", "4 USD/t"}});
  b["charges"].push_back(
      {{"what", "insurance"}, {"rate", "3 %"}, {"of", "payable value"}, {"at_least", "0.4 USD"}});
  b["penalties"] = {{{"for", "As"}, {"above", "0.2 %"}, {"each", "0.1 %"}, {"rate", "1 USD/t"}}};
  b["participation"] = {{{"for", "Au"}, {"above", "0.9 USD/g"}, {"each", "0.1 USD/g"}, {"rate", "5 USD/t"}}};
  b["advance"] = {{"share", "60 %"}, {"after", "5 d"}};
  b["final"] = "90 d";
  b["transit"] = "8 d";
  b["mass_deduction"] = "3 %";
  OrderedJson document = sale_plan({{"a", pays({{"share", "72 %"}})}, {"b", b}});
  document["lot"]["assays"]["As"] = "0.6 %";
  document["discount"] = "20 %/a";
  const auto plan = placed_plan(document);
  int wins = 0, never = 0;
  for (const char* share : {"70 %", "72 %", "78 %"}) {
    document["terms"]["a"]["pay"]["Au"]["share"] = share;
    const auto here = placed_plan(document);
    const CounterOffers sheet = find_counter_offers(*here, {}, Watch{});
    if (sheet.buyers.empty() || sheet.buyers[0].terms->name != "b") continue;
    for (const Offer& offer : sheet.buyers[0].offers) {
      const Terms& terms = *sheet.buyers[0].terms;
      if (offer.change) {
        EXPECT_GE(lead_with(document, *here, offer, *offer.change, terms), 0) << offer.figure.what << share;
        const Decimal less = *offer.change * (1 - Decimal("1e-6"));
        EXPECT_LT(lead_with(document, *here, offer, less, terms), 0) << offer.figure.what << share;
        ++wins;
      } else {
        EXPECT_LT(lead_with(document, *here, offer, offer.figure.furthest, terms), 0)
            << offer.figure.what << share;
        ++never;
      }
    }
  }
  EXPECT_GE(wins, 8);
  EXPECT_GE(never, 8);
}

TEST(CounterOffers, NobodyIsAskedWhereNoRouteIsTakenOrTheWinnerSellsToAll) {
  const auto alone = placed_plan(sale_plan({{"a", pays({{"share", "90 %"}})}}));
  EXPECT_TRUE(find_counter_offers(*alone, {}, Watch{}).buyers.empty());
  OrderedJson picky = pays({{"share", "99 %"}});
  picky["accepts"] = {{"Au", {{"min", "120 g/t"}}}};
  const auto none = placed_plan(sale_plan({{"picky", picky}}));
  const CounterOffers sheet = find_counter_offers(*none, {}, Watch{});
  EXPECT_EQ(sheet.best, nullptr);
  EXPECT_TRUE(sheet.buyers.empty());
}

// ---- The forgiving cut -----------------------------------------------------------------------

/// 100 kg with 100 g of gold at 1 USD/g over a table of odds 60, the concentrate sold at 2 USD/kg of
/// treatment, the tailings kept: V(y) = 100 R(y) - 200 y with R = 60 y / (1 + 59 y).
OrderedJson tabled(const OrderedJson& cut) {
  const OrderedJson steps{{"table",
                           {{"kind", "table"},
                            {"curve", {{"Au", {{"odds", "60"}}}}},
                            {"cut", cut},
                            {"search", {"1 %", "90 %"}},
                            {"rate", "50 kg/h"},
                            {"cost", {{{"what", "labour"}, {"rate", "0.5 USD/h"}}}}}}};
  return plain_plan(
      {{"wet_mass", "100 kg"}, {"assays", {{"Au", "1000 g/t"}}}}, steps,
      {{"buyer", with_rates(pays(OrderedJson::object()), {{"treatment", "2 USD/kg"}})}},
      {{"step", "table"}, {"concentrate", {{"sell", "buyer"}}}, {"tailings", {{"keep", true}}}});
}
double tabled_value(double y) { return 100 * 60 * y / (1 + 59 * y) - 200 * y - 1; }

/// V(y) = enough: a quadratic in y, from 6000 y - (200 y + enough + 1) (1 + 59 y) = 0.
std::pair<double, double> ends_of(double enough) {
  const double a = 200 * 59, b = 200 + 59 * (enough + 1) - 6000, c = enough + 1;
  const double root = std::sqrt(b * b - 4 * a * c);
  return {(-b - root) / (2 * a), (-b + root) / (2 * a)};
}

TEST(ForgivingCut, AQuadraticByHand) {
  const OrderedJson document = tabled("best");
  const auto plan = placed_plan(document);
  const ForgivingCut found = find_forgiving_cut(*plan, *plan, {{}, 5.0, 65}, Watch{});
  // 6000 / (1 + 59 y)^2 = 200 at y = (sqrt(30) - 1) / 59 = 7.588 %.
  const double best = (std::sqrt(30.0) - 1) / 59;
  ASSERT_EQ(found.cuts.size(), 1U);
  const CutLine& line = found.cuts[0];
  EXPECT_NEAR(line.pull, best, 1e-5);  // a pull counts as found to 1 part in 10^7 of the value
  EXPECT_NEAR(found.present_value, tabled_value(best), 67e-7);
  ASSERT_EQ(line.bands.size(), 1U);
  const auto [from, to] = ends_of(found.present_value - 5);
  EXPECT_NEAR(line.bands[0].from, from, 1e-9);
  EXPECT_NEAR(line.bands[0].to, to, 1e-9);
  EXPECT_FALSE(line.bands[0].from_open);
  EXPECT_FALSE(line.bands[0].to_open);
  ASSERT_EQ(line.curve.size(), 65U);
  EXPECT_EQ(line.curve.front().first, 0.01);
  EXPECT_EQ(line.curve.back().first, 0.9);
  for (const auto& [pull, value] : line.curve) EXPECT_NEAR(*value, tabled_value(pull), 1e-9);
}

TEST(ForgivingCut, OfASetCutWhatAnotherWouldLeaveIsSaid) {
  const auto plan = placed_plan(tabled({{"pull", "2 %"}}));
  const ForgivingCut found = find_forgiving_cut(*plan, *plan, {}, Watch{});
  const CutLine& line = found.cuts[0];
  EXPECT_NEAR(found.costs, tabled_value(0.02) / 100, 1e-12);
  EXPECT_NEAR(line.best->first, (std::sqrt(30.0) - 1) / 59, 1e-6);
  EXPECT_NEAR(line.best->second, tabled_value((std::sqrt(30.0) - 1) / 59), 1e-9);
  // Slope 6000 / (1 + 59 y)^2 - 200 on both sides, smooth there.
  const Decimal slope = 6000 / (Decimal("2.18") * Decimal("2.18")) - 200;
  EXPECT_TRUE(close_to(*line.slope_less, slope, Decimal("1e-7"))) << *line.slope_less;
  EXPECT_TRUE(close_to(*line.slope_more, slope, Decimal("1e-7")));
  EXPECT_EQ(*line.jump_less, 0);
  EXPECT_EQ(*line.jump_more, 0);
  const auto [from, to] = ends_of(tabled_value(0.02) * 0.99);
  ASSERT_EQ(line.bands.size(), 1U);
  EXPECT_NEAR(line.bands[0].from, from, 1e-9);
  EXPECT_NEAR(line.bands[0].to, to, 1e-9);
  // Tailings: all their gold, 100 / 2.18 g at the concentrate's grade, so as many times its mass more. 98 kg
  // take 1.96 h at 0.5 USD.
  ASSERT_EQ(line.passes.size(), 1U);  // no middlings are made
  EXPECT_STREQ(line.passes[0].of, "tailings");
  const double left = 100 - 120 / 2.18, more_mass = 2 * left / (120 / 2.18);
  EXPECT_NEAR(*line.passes[0].at_most, left - 2 * more_mass, 1e-9);
  EXPECT_NEAR(line.passes[0].costs, 98 / 50.0 * 0.5, 1e-12);
}

TEST(ForgivingCut, ABandThatEndsAtARefusal) {
  OrderedJson document = tabled("best");
  document["terms"]["buyer"]["accepts"] = {{"mass", {{"min", "5 kg"}, {"max", "8 kg"}}}};
  const auto plan = placed_plan(document);
  const ForgivingCut found = find_forgiving_cut(*plan, *plan, {{}, 50.0, 65}, Watch{});
  ASSERT_EQ(found.cuts[0].bands.size(), 1U);
  EXPECT_NEAR(found.cuts[0].bands[0].from, 0.05, 1e-12);
  EXPECT_NEAR(found.cuts[0].bands[0].to, 0.08, 1e-12);
  EXPECT_FALSE(found.cuts[0].curve.front().second);
}

TEST(ForgivingCut, TwoBandsOnEitherSideOfAPenalty) {
  // Bands pay 50 % below 2000 g/t of concentrate and all above it; the cut by hand stands in the richer
  // stretch.
  OrderedJson document = tabled({{"pull", "5 %"}});
  document["terms"]["buyer"]["accepts"] = OrderedJson::object();
  document["terms"]["buyer"]["penalties"] = {
      {{"for", "Au"},
       {"whole",
        {{{"up_to", "9000 g/t"}, {"rate", "0 USD/kg"}}, {{"up_to", "11000 g/t"}, {"rate", "5 USD/kg"}}}}}};
  // The grade, 60000 / (1 + 59 y) g/t, is between 9000 and 11000 g/t for y from 7.550 % to 9.605 %: the
  // penalty of 500 y costs some 40 USD there, and nothing beyond either end.
  const auto plan = placed_plan(document);
  const ForgivingCut found = find_forgiving_cut(*plan, *plan, {{}, 10.0, 65}, Watch{});
  const CutLine& line = found.cuts[0];
  ASSERT_EQ(line.bands.size(), 2U);
  EXPECT_NEAR(line.bands[0].to, (60.0 / 11 - 1) / 59, 1e-9);
  EXPECT_NEAR(line.bands[1].from, (60.0 / 9 - 1) / 59, 1e-9);
  EXPECT_LE(line.bands[0].from, 0.05);
}

TEST(ForgivingCut, ARouteWithoutATableOrARefusedOneIsTold) {
  const auto plan = placed_plan(sale_plan({{"a", pays({{"share", "90 %"}})}}));
  EXPECT_THROW(find_forgiving_cut(*plan, *plan, {}, Watch{}), Error);
  EXPECT_THROW(find_forgiving_cut(*plan, *plan, {0, {}, 65}, Watch{}), Error);
}

// ---- Who leads --------------------------------------------------------------------------------

TEST(Leader, IsTheFirstOfThoseThatOnlyRoundingParts) {
  constexpr double nothing = SweepPoint::nothing;
  EXPECT_EQ(leader({1000, 1000 * (1 + 1e-15)}), 0U);
  EXPECT_EQ(leader({-1000, -1000 * (1 - 1e-15), -2000}), 0U);
  EXPECT_EQ(leader({1000, 1000 * (1 + 1e-12)}), 1U);
  EXPECT_EQ(leader({nothing, -5}), 1U);
  EXPECT_EQ(leader({nothing, nothing}), std::nullopt);
  EXPECT_EQ(leader({}), std::nullopt);
}

// ---- The map ---------------------------------------------------------------------------------

TEST(Map, IsTheComparisonAtEachOfItsPoints) {
  OrderedJson document = tabled("best");
  document["terms"]["other"] = pays({{"share", "81 %"}});
  document["terms"]["other"]["accepts"] = {{"mass", {{"max", "130 kg"}}}};
  document["routes"]["untabled"] = {{"sell", "other"}};
  const auto plan = placed_plan(document);
  const MapAxis x{{{quantity_at(*plan, "/prices/Au")}, 0.5 * gram_price, 2 * gram_price}, 7};
  const MapAxis y{{{quantity_at(*plan, "/lot/wet_mass")}, 20, 200}, 4};
  const Watch watch;
  Worths worths(*plan, {}, {x.along.quantities[0], y.along.quantities[0]}, watch);
  const ChoiceMap map = draw_map(worths, x, y, watch);
  ASSERT_EQ(map.winner.size(), 28U);
  std::size_t winners[2] = {0, 0};
  for (int row = 0; row < 4; ++row)
    for (int column = 0; column < 7; ++column) {
      document["prices"]["Au"] = text_of(Decimal(x.value(column)) / 1000, "USD/g");
      document["lot"]["wet_mass"] = text_of(y.value(row), "kg");
      const auto here = plan_from(document);
      const Comparison<double> there = compare<double>(Prepared<double>(*here), CompareOptions{}, watch);
      const std::size_t i = static_cast<std::size_t>(row * 7 + column);
      EXPECT_EQ(map.winner[i], there.best);
      ++winners[*there.best];
      ASSERT_EQ(map.lead[i].has_value(), there.lead.has_value());
      if (there.lead) EXPECT_NEAR(*map.lead[i], *there.lead, 1e-9);
    }
  EXPECT_GT(winners[0], 5U);
  EXPECT_GT(winners[1], 5U);
}

TEST(Map, IsLedByTheFirstOfEqualRoutes) {
  // The same sum, which double precision adds up in two ways.
  const OrderedJson terms = {
      {"in one", with_rates(pays({{"share", "90 %"}}), {{"assay", "0.3 USD/lot"}})},
      {"in three", with_rates(pays({{"share", "90 %"}}),
                              {{"assay", "0.1 USD/lot"}, {"fee", "0.1 USD/lot"}, {"toll", "0.1 USD/lot"}})}};
  const auto plan = placed_plan(sale_plan(terms));
  const MapAxis x{{{quantity_at(*plan, "/prices/Au")}, gram_price, 2 * gram_price}, 9};
  const MapAxis y{{{quantity_at(*plan, "/lot/wet_mass")}, 60, 140}, 9};
  const Watch watch;
  Worths worths(*plan, {}, {x.along.quantities[0], y.along.quantities[0]}, watch);
  const ChoiceMap map = draw_map(worths, x, y, watch);
  EXPECT_EQ(map.winner, std::vector<std::optional<std::size_t>>(81, 0));
  std::size_t other_larger = 0;
  for (int row = 0; row < 9; ++row)
    for (int column = 0; column < 9; ++column) {
      const std::vector<double> worth = worths.at({x.value(column), y.value(row)});
      other_larger += worth[1] > worth[0] ? 1 : 0;
    }
  EXPECT_GT(other_larger, 5U);
}

TEST(Map, TellsHowFarItIsAndStopsWhenAsked) {
  struct Host : Watch {
    mutable std::int64_t last = 0, total = 0;
    std::int64_t stop_at = 1 << 30;
    bool cancelled() const override { return last >= stop_at; }
    void progress(std::int64_t done, std::int64_t of) const override {
      EXPECT_GT(done, last);
      last = done;
      total = of;
    }
  } host, stopping;
  const auto plan = placed_plan(sale_plan({{"a", pays({{"share", "90 %"}})}}));
  const MapAxis x{{{quantity_at(*plan, "/prices/Au")}, 0.5 * gram_price, 2 * gram_price}, 5};
  const MapAxis y{{{quantity_at(*plan, "/lot/wet_mass")}, 20, 200}, 4};
  Worths worths(*plan, {}, {x.along.quantities[0], y.along.quantities[0]}, host);
  draw_map(worths, x, y, host);
  EXPECT_EQ(host.last, 20);
  EXPECT_EQ(host.total, 20);
  stopping.stop_at = 7;
  Worths others(*plan, {}, {x.along.quantities[0], y.along.quantities[0]}, stopping);
  EXPECT_THROW(draw_map(others, x, y, stopping), Error);
  EXPECT_EQ(stopping.last, 7);
}

// ---- Random plans ----------------------------------------------------------------------------

/// Quantities that the document states.
std::vector<Quantity> placed(const Plan& plan) {
  std::vector<Quantity> all;
  for (std::uint32_t i = 1; i < plan.quantities.size(); ++i)
    if (!plan.quantities.at(i).place.empty()) all.push_back(Quantity{i});
  return all;
}

/// The document with one quantity at another value, for certain.
OrderedJson with_value(OrderedJson document, const Plan& plan, Quantity q, const Decimal& value) {
  const StatedQuantity& stated = plan.quantities[q];
  document[OrderedJson::json_pointer(stated.place)] =
      text_of(Decimal(value / stated.unit_factor), stated.unit.c_str());
  return document;
}

/// The comparison of a document, route by route; nothing where it is refused or the route is impossible.
std::optional<std::vector<std::optional<double>>> read_and_compared(const OrderedJson& document) {
  if (!complaints_of(document.dump()).empty()) return std::nullopt;
  const auto plan = plan_from(document);
  std::vector<std::optional<double>> values;
  for (std::size_t i = 0; i < plan->routes.size(); ++i) {
    auto& value = values.emplace_back();
    try {
      const auto one = compare<double>(Prepared<double>(*plan), CompareOptions{false, {i}}, Watch{});
      if (one.best) value = one.routes[0].ledger.sums.present_value;
    } catch (const Error&) {
      continue;
    }
  }
  return values;
}

TEST(RandomPlans, AChangedQuantityIsAsIfTheDocumentSaidSo) {
  Random random(11);
  int values_equal = 0, no_plan = 0;
  for (int i = 0; i < 120; ++i) {
    const OrderedJson document = random_plan(random, {.best_cut = i % 6 == 0});
    const auto plan = placed_plan(document);
    const auto quantities = placed(*plan);
    const double size = to_double(contained_value(*plan));
    for (int k = 0; k < 12; ++k) {
      const Quantity q = random.pick(quantities);
      const StatedQuantity& stated = plan->quantities[q];
      const double factor = random.chance(0.3) ? random.real(0, 3) : random.real(0.95, 1.05);
      const double value = to_double(stated.mean) * factor;
      if (!in_range(Decimal(value), stated.allowed)) continue;
      const Watch watch;
      Worths worths(*plan, {}, {q}, watch);
      const std::vector<double> found = worths.at({value});
      const auto expected = read_and_compared(with_value(document, *plan, q, Decimal(value)));
      if (!expected) {
        EXPECT_TRUE(worths.fault()) << stated.place << ' ' << value << document.dump(1);
        ++no_plan;
        continue;
      }
      EXPECT_FALSE(worths.fault()) << stated.place << ' ' << value << worths.fault()->reason;
      for (std::size_t r = 0; r < found.size(); ++r) {
        ASSERT_EQ((*expected)[r].has_value(), found[r] != Worths::nothing) << stated.place << ' ' << value;
        if (!(*expected)[r]) continue;
        EXPECT_NEAR(*(*expected)[r], found[r], size * 1e-9)
            << stated.place << ' ' << value << document.dump(1);
        ++values_equal;
      }
    }
  }
  EXPECT_GE(values_equal, 1000);
  EXPECT_GE(no_plan, 5);
}

/// The document with its two best routes brought to one level by a charge of a buyer that only the best has,
/// so that they tie somewhere near; nothing where that cannot be.
std::optional<OrderedJson> contested(OrderedJson document, Random& random) {
  const auto plan = plan_from(document);
  const auto values = read_and_compared(document);
  std::vector<double> worth;
  for (const auto& value : *values) worth.push_back(value.value_or(Worths::nothing));
  const auto best = best_of(worth), next = best ? next_to(worth, *best) : std::nullopt;
  if (!next) return std::nullopt;
  for (std::size_t t = 0; t < plan->terms.size(); ++t) {
    if (!sells_to(plan->routes[*best], t) || sells_to(plan->routes[*next], t)) continue;
    const double level = (worth[*best] - worth[*next]) * random.real(0.95, 1.05);
    document["terms"][plan->terms[t].name]["charges"].push_back(
        {{"what", "level"}, {"rate", text_of(Decimal(level), "USD/lot")}});
    return document;
  }
  return std::nullopt;
}

TEST(RandomPlans, TheLeaderIsTheOneTheScanSays) {
  Random random(12);
  int tips = 0, looked = 0, missed = 0;
  for (int i = 0; i < 900; ++i) {
    const auto document = contested(random_plan(random), random);
    if (!document) continue;
    const auto plan = placed_plan(*document);
    for (int k = 0; k < 4; ++k) {
      const Quantity q = random.pick(placed(*plan));
      const StatedQuantity& stated = plan->quantities[q];
      const double mean = to_double(stated.mean);
      const Along along{{q}, std::min(mean / 2, mean * 2), std::max(mean / 2, mean * 2)};
      if (!in_range(Decimal(along.from), stated.allowed) || !in_range(Decimal(along.to), stated.allowed))
        continue;
      if (mean == 0) continue;
      const Watch watch;
      Worths worths(*plan, {}, along.quantities, watch);
      const BreakEven found = find_break_even(worths, along, watch);
      tips += static_cast<int>(found.tips.size());
      const double near = 1e-6 * (along.to - along.from);
      for (int look = 0; look < 100; ++look) {
        const double at = random.real(along.from, along.to);
        for (const LeadInterval& lead : found.leads)
          if (at > lead.from.at + near && at < lead.to.at - near) {
            missed += leader(worths.at({at})) != lead.best;
            ++looked;
          }
      }
    }
  }
  EXPECT_GE(tips, 40);
  EXPECT_GE(looked, 20'000);
  EXPECT_EQ(missed, 0);
}

/// Rounding left out of the document itself.
OrderedJson without_rounding(OrderedJson document) {
  for (auto& [name, terms] : document["terms"].items()) terms.erase("rounding");
  return document;
}

TEST(RandomPlans, SlopesAreThoseOfTheDocumentChangedALittle) {
  Random random(13);
  int slopes = 0;
  for (int i = 0; i < 40; ++i) {
    const OrderedJson document = without_rounding(random_plan(random));
    const auto plan = placed_plan(document);
    const Sensitivity found = find_sensitivity(*plan, {}, Watch{});
    const Decimal size = contained_value(*plan);
    for (int k = 0; k < 12 && !found.quantities.empty(); ++k) {
      const QuantitySensitivity& one = random.pick(found.quantities);
      const Quantity q = one.quantities[0];
      const Decimal mean = plan->quantities[q].mean, step = mean * power_of_ten(-7);
      const OrderedJson less = with_value(document, *plan, q, Decimal(mean - step)),
                        more = with_value(document, *plan, q, Decimal(mean + step));
      if (step == 0 || !complaints_of(less.dump()).empty() || !complaints_of(more.dump()).empty()) continue;
      const auto below = plan_from(less), above = plan_from(more);
      for (std::size_t r = 0; r < plan->routes.size(); ++r) {
        const Outcome a = in_decimal(*below, below->routes[r]), b = in_decimal(*above, above->routes[r]);
        const auto& slope = one.routes[r];
        if (a.impossible() || b.impossible() || a.refused || b.refused || (slope && !slope->slope)) continue;
        if (slope && (slope->jump_below || slope->jump_above)) continue;
        const Decimal expected = (b.present_value - a.present_value) / (2 * step);
        const Decimal stated = slope ? *slope->slope : Decimal(0);
        // A central difference over 1 part in 10^7 bends by its square; jumps within it are rare.
        EXPECT_TRUE(abs(expected - stated) <= Decimal("1e-10") * (abs(expected) + size / abs(mean)))
            << plan->quantities[q].place << ' ' << expected << ' ' << stated << '\n'
            << document.dump(1);
        ++slopes;
      }
    }
  }
  EXPECT_GE(slopes, 300);
}

}  // namespace
}  // namespace buttonworth::test
