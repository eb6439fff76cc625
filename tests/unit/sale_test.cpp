// Terms of sale against printed settlements.
#include "support.hpp"

namespace buttonworth::test {
namespace {

/// A dry lot sold as it is, in the whole comparison.
struct Sale {
  std::shared_ptr<const Plan> plan;
  Comparison<Decimal> comparison;

  explicit Sale(const OrderedJson& document) : plan(plan_from(document)), comparison(compared(*plan)) {}
  const RouteResult<Decimal>& result() const { return comparison.routes[0]; }
  Decimal line(LineKind kind, const std::string& what) const {
    for (const auto& one : result().ledger.lines)
      if (one.name.kind == kind && *one.name.what == what) return one.amount;
    ADD_FAILURE() << "no line " << what;
    return 0;
  }
  Decimal total() const { return result().ledger.sums.cash_sum; }
};

OrderedJson sale_of(const OrderedJson& lot, const OrderedJson& terms) {
  OrderedJson made{{"buys", "concentrate"}};
  made.update(terms);
  return plain_plan(lot, OrderedJson::object(), {{"buyer", made}}, {{"sell", "buyer"}});
}
OrderedJson dry_tonne(const OrderedJson& assays) { return {{"wet_mass", "1 t"}, {"assays", assays}}; }

void expect_within(const Decimal& value, const char* printed, const char* half_a_digit) {
  EXPECT_LE(abs(value - Decimal(printed)), Decimal(half_a_digit)) << value;
}

TEST(Sale, ZincConcentrateWithEscalator) {
  // 200 t wet, 10 % moisture, 0.5 % loss, Zn 50 % paid 85 %, 1000 USD/t, base 900, 0.10 USD per USD above,
  // treatment 140 USD/t; Ag 9 ozt/t less 5, paid 90 %, 13 less 2 USD/ozt; As 0.5 %, free 0.2 %, 1.5 USD per
  // 0.1 %. Printed 179.10 t net; 76.12 t payable; 76,120; -25,074; -1,791; -806; 7,092; total 55,541 [P:
  // "Cálculo de valor de concentrado", scribd 515649007]. The print rounds payable zinc to 0.01 t, so value
  // and total are compared to the unrounded 76,117.50 and 55,538.91, which rounding to 0.01 t turns into its
  // own.
  OrderedJson document = sale_of(
      {{"wet_mass", "200 t"},
       {"moisture", "10 %"},
       {"assays", {{"Zn", "50 %"}, {"Ag", "9 ozt/t"}, {"As", "0.5 %"}}}},
      {{"mass_deduction", "0.5 %"},
       {"pay",
        {{"Zn", {{"share", "85 %"}}},
         {"Ag",
          {{"share", "90 %"}, {"less", "5 ozt/t"}, {"order", "less first"}, {"refining", "2 USD/ozt"}}}}},
       {"charges", {{{"what", "treatment"}, {"rate", "140 USD/t"}}}},
       {"penalties", {{{"for", "As"}, {"above", "0.2 %"}, {"each", "0.1 %"}, {"rate", "1.5 USD/t"}}}},
       {"participation",
        {{{"for", "Zn"}, {"above", "900 USD/t"}, {"each", "1 USD/t"}, {"rate", "0.10 USD/t"}}}}});
  document["prices"] = {{"Zn", "1000 USD/t"}, {"Ag", "13 USD/ozt"}};
  const Sale sale(document);
  expect_within(-sale.line(LineKind::charge, "treatment") / 140, "179.10", "0.005");
  const Decimal zinc = sale.line(LineKind::value, "Zn");
  expect_within(zinc / 1000, "76.12", "0.005");
  expect_within(round_to(Decimal(zinc / 1000), Decimal("0.01"), Decimal(100), RoundingMode::half_up) * 1000,
                "76120", "0.5");
  expect_within(sale.line(LineKind::charge, "treatment"), "-25074", "0.5");
  expect_within(sale.line(LineKind::participation, "Zn"), "-1791", "0.5");
  expect_within(sale.line(LineKind::penalty, "As"), "-806", "0.5");
  expect_within(sale.line(LineKind::value, "Ag") + sale.line(LineKind::refining, "Ag"), "7092", "0.5");
  expect_within(sale.total(), "55538.91", "0.005");
  expect_within(sale.total() - zinc + 76120, "55541", "0.5");
}

TEST(Sale, AGoldBarLot) {
  // 24.96 kg melted at 91.3 % gives 22.79 kg fine, 732.7 ozt; paid at 99 % 725.34 (printed 725.4 from the
  // rounded ounces) [P: kaizengold.com, "Gold refinery settlement process"].
  OrderedJson document = sale_of({{"wet_mass", "24.96 kg"}, {"assays", {{"Au", "91.3 %"}}}},
                                 {{"pay", {{"Au", {{"share", "99 %"}}}}}});
  document["prices"] = {{"Au", "1 USD/ozt"}};
  const Sale sale(document);
  expect_within(sale.result().ledger.metal.fed[0], "22.79", "0.005");
  expect_within(sale.result().ledger.metal.fed[0] / Decimal("0.0311034768"), "732.7", "0.05");
  expect_within(sale.total(), "725.34", "0.005");
}

TEST(Sale, GoldConcentrateBands) {
  // Share by g/t: 20-29.99 91 %, 30-39.99 92, 40-59.99 93, 60-69.99 94, 70-79.99 95, from 80 96
  // [P: US SEC EDGAR, exhibit 10.13, filer 1493893, 2010]. The printed bands have gaps (29.99 to 30.00), so
  // the assay is rounded to 0.01 g/t first; below 20 the contract is silent and nothing is paid.
  for (const auto& [assay, rounded, share] :
       {std::tuple{"20", "20", "91"}, std::tuple{"29.994", "29.99", "91"}, std::tuple{"29.995", "30", "92"},
        std::tuple{"39.99", "39.99", "92"}, std::tuple{"40", "40", "93"}, std::tuple{"59.996", "60", "94"},
        std::tuple{"70", "70", "95"}, std::tuple{"79.99", "79.99", "95"}, std::tuple{"80", "80", "96"},
        std::tuple{"500", "500", "96"}, std::tuple{"19.99", "19.99", "0"}}) {
    const OrderedJson bands = pairs({{"20 g/t", "91 %"},
                                     {"30 g/t", "92 %"},
                                     {"40 g/t", "93 %"},
                                     {"60 g/t", "94 %"},
                                     {"70 g/t", "95 %"},
                                     {"80 g/t", "96 %"}});
    const OrderedJson document = sale_of(
        dry_tonne({{"Au", std::string(assay) + " g/t"}}),
        {{"pay", {{"Au", {{"bands", bands}}}}}, {"rounding", {{"Au", "0.01 g/t"}, {"mode", "half up"}}}});
    expect_value(document, Decimal(rounded) * Decimal(share) / 100, 1);
  }
}

TEST(Sale, EightyPercentOrLessOneGramWhicheverIsLower) {
  // Gold paid 80 % or less 1 g/t, whichever is lower [P, unit cut in the text: SEC EDGAR filer 319671, July
  // 2013]: 3 gives 2.0, 5 gives 4.0, 20 gives 16.0 g/t [C]. Below 1 g/t nothing is paid, not less.
  for (const auto& [assay, paid] :
       {std::pair{"3", "2"}, std::pair{"5", "4"}, std::pair{"20", "16"}, std::pair{"0.5", "0"}})
    expect_value(sale_of(dry_tonne({{"Au", std::string(assay) + " g/t"}}),
                         {{"pay", {{"Au", {{"share", "80 %"}, {"less", "1 g/t"}}}}}}),
                 Decimal(paid), 1);
}

TEST(Sale, OrdersOfShareAndDeduction) {
  // 10 g/t, 80 %, less 1 g/t: min(8, 9), 0.8 x 9, 8 - 1.
  for (const auto& [order, paid] :
       {std::pair{"lower of", "8"}, std::pair{"less first", "7.2"}, std::pair{"share first", "7"}})
    expect_value(sale_of(dry_tonne({{"Au", "10 g/t"}}),
                         {{"pay", {{"Au", {{"share", "80 %"}, {"less", "1 g/t"}, {"order", order}}}}}}),
                 Decimal(paid));
}

TEST(Sale, PenaltiesProRata) {
  // As + Sb 3.00 USD/t per 0.10 % over 0.4 %, pro rata; Bi 1.50 per 0.01 % over 0.1 %
  // [P: lawinsider.com, clause "Refining charges"]: 0.63 % gives 6.90; 0.137 % Bi gives 5.55 [C].
  const OrderedJson terms{
      {"penalties",
       {{{"for", {"As", "Sb"}}, {"above", "0.4 %"}, {"each", "0.1 %"}, {"rate", "3 USD/t"}},
        {{"for", "Bi"}, {"above", "0.1 %"}, {"each", "0.01 %"}, {"rate", "1.5 USD/t"}}}}};
  const Sale sale(sale_of(dry_tonne({{"As", "0.4 %"}, {"Sb", "0.23 %"}, {"Bi", "0.137 %"}}), terms));
  EXPECT_TRUE(close_to(sale.line(LineKind::penalty, "As + Sb"), Decimal("-6.9"), Decimal("1e-40")));
  EXPECT_TRUE(close_to(sale.line(LineKind::penalty, "Bi"), Decimal("-5.55"), Decimal("1e-40")));
}

TEST(Sale, BarImpuritiesPerGrossOunce) {
  // As: up to 0.01 % nil, 0.03 % 0.15, 0.05 % 0.25, 0.10 % 0.40 USD, above refused
  // [P: SEC EDGAR filer 1164099, refining schedule, 2009]: 1000 ozt at 0.02 % give 150 USD; 0.03 % 150; 0.11
  // % refused [C].
  auto document = [](const char* arsenic) {
    const OrderedJson bands{{{"up_to", "0.01 %"}, {"rate", "0 USD/ozt"}},
                            {{"up_to", "0.03 %"}, {"rate", "0.15 USD/ozt"}},
                            {{"up_to", "0.05 %"}, {"rate", "0.25 USD/ozt"}},
                            {{"up_to", "0.10 %"}, {"rate", "0.40 USD/ozt"}}};
    return sale_of({{"wet_mass", "1000 ozt"}, {"assays", {{"As", arsenic}}}},
                   {{"penalties", {{{"for", "As"}, {"whole", bands}, {"refuse_above", "0.10 %"}}}}});
  };
  expect_value(document("0.01 %"), 0, 1);
  expect_value(document("0.02 %"), -150);
  expect_value(document("0.03 %"), -150);
  expect_value(document("0.05 %"), -250);
  expect_value(document("0.10 %"), -400);
  expect_refused(document("0.11 %"));
}

TEST(Sale, MarginalPenaltiesWorkUpToTheNextStep) {
  // 1.7 %: (1.0 - 0.5) / 0.1 x 2 and (1.7 - 1.0) / 0.2 x 5 = 10 + 17.5; by whole steps 10 + 3 x 5.
  const OrderedJson steps{{{"above", "0.5 %"}, {"each", "0.1 %"}, {"rate", "2 USD/t"}},
                          {{"above", "1 %"}, {"each", "0.2 %"}, {"rate", "5 USD/t"}}};
  expect_value(sale_of(dry_tonne({{"As", "1.7 %"}}), {{"penalties", {{{"for", "As"}, {"marginal", steps}}}}}),
               Decimal("-27.5"));
  expect_value(sale_of(dry_tonne({{"As", "1.7 %"}}),
                       {{"penalties", {{{"for", "As"}, {"marginal", steps}, {"count", "whole"}}}}}),
               -25);
  expect_value(sale_of(dry_tonne({{"As", "0.7 %"}}), {{"penalties", {{{"for", "As"}, {"marginal", steps}}}}}),
               -4);
  expect_value(sale_of(dry_tonne({{"As", "0.4 %"}}), {{"penalties", {{{"for", "As"}, {"marginal", steps}}}}}),
               0, 1);
}

TEST(Sale, TheBuyersOwnMelt) {
  // 1 kg of nuggets 90 % Au: melt loss 2 % of mass and 0.1 % of gold, 5 g kept, 0.5 % deducted. Assay after
  // melt 899.1 / 980; settled (980 - 5) x 0.995 g [C].
  OrderedJson document = sale_of({{"wet_mass", "1 t"},
                                  {"assays", {{"Au", "0 g/t"}}},
                                  {"apart", {{"nuggets", {{"mass", "1 kg"}, {"assays", {{"Au", "90 %"}}}}}}}},
                                 {{"buys", "nuggets"},
                                  {"melt_loss", {{"mass", "2 %"}, {"Au", "0.1 %"}}},
                                  {"sample_kept", "5 g"},
                                  {"mass_deduction", "0.5 %"},
                                  {"pay", {{"Au", OrderedJson::object()}}}});
  document["routes"]["r"] = {{"lot", {{"keep", true}}}, {"nuggets", {{"sell", "buyer"}}}};
  expect_value(document, Decimal("899.1") / 980 * Decimal("970.125"));
  document["terms"]["buyer"]["deemed"] = {{"Au", "880 fine"}};  // in place of the assay, for everything
  document["terms"]["buyer"]["accepts"] = {{"Au", {{"min", "890 fine"}}}};
  expect_refused(document);
  document["terms"]["buyer"]["accepts"] = {{"Au", {{"min", "880 fine"}}}};
  expect_value(document, Decimal("0.88") * Decimal("970.125"));
  document["terms"]["buyer"]["sample_kept"] = "5 kg";  // more than there is: settled mass is never below 0
  document["terms"]["buyer"].erase("accepts");
  expect_value(document, 0, 1);
}

TEST(Sale, ChargesByWhatTheyMultiply) {
  const OrderedJson lot{
      {"wet_mass", "1000 kg"}, {"moisture", "20 %"}, {"assays", {{"Au", "100 g/t"}}}};  // 800 kg dry, 80 g
  struct Row {
    OrderedJson charge;
    const char* amount;
  };
  for (const Row& row :
       {Row{{{"rate", "10 USD/t"}}, "7.2"}, Row{{{"rate", "10 USD/t"}, {"of", "wet"}}, "10"},
        Row{{{"rate", "10 USD/t"}, {"of", "dry"}}, "8"}, Row{{{"rate", "10 USD/t"}, {"of", "gross"}}, "8"},
        Row{{{"rate", "0.5 USD/g"}, {"of", "payable Au"}}, "36"}, Row{{{"rate", "7 USD/lot"}}, "7"},
        Row{{{"rate", "2 %"}, {"of", "payable value"}}, "1.44"},
        Row{{{"rate", "2 %"}, {"of", "payable value"}, {"at_least", "3 USD"}}, "3"},
        Row{{{"rate", "7 USD/lot"}, {"at_most", "4 USD"}}, "4"},
        Row{{{"rate", "7 USD/lot"}, {"at_least", "9 USD"}, {"at_most", "8 USD"}}, "8"}}) {
    OrderedJson charge = row.charge;
    charge["what"] = "fee";
    // Settled mass 720 kg: 72 g payable at 1 USD/g.
    const Sale sale(sale_of(
        lot, {{"mass_deduction", "10 %"}, {"pay", {{"Au", OrderedJson::object()}}}, {"charges", {charge}}}));
    EXPECT_TRUE(close_to(sale.line(LineKind::charge, "fee"), -Decimal(row.amount), Decimal("1e-40")))
        << charge.dump() << sale.line(LineKind::charge, "fee");
  }
}

TEST(Sale, RefiningByWhatItMultiplies) {
  for (const auto& [of, amount] :
       {std::pair{"payable", "36"}, std::pair{"gross", "400000"}, std::pair{"settled", "360000"}}) {
    const Sale sale(sale_of(
        {{"wet_mass", "1000 kg"}, {"moisture", "20 %"}, {"assays", {{"Au", "100 g/t"}}}},
        {{"mass_deduction", "10 %"}, {"pay", {{"Au", {{"refining", "0.5 USD/g"}, {"refining_of", of}}}}}}));
    EXPECT_TRUE(close_to(sale.line(LineKind::refining, "Au"), -Decimal(amount), Decimal("1e-40"))) << of;
  }
}

TEST(Sale, OwnPriceAndPriceShare) {
  expect_value(sale_of(dry_tonne({{"Au", "50 g/t"}}),
                       {{"pay", {{"Au", {{"price", "3 USD/g"}, {"price_share", "110 %"}}}}}}),
               165);
  // Participation takes the metal's own price: (3000 - 2000) USD/kg over 1 USD/kg x 0.01 USD/t.
  expect_value(
      sale_of(dry_tonne({{"Au", "50 g/t"}}),
              {{"pay", {{"Au", {{"price", "3 USD/g"}}}}},
               {"participation",
                {{{"for", "Au"}, {"above", "2 USD/g"}, {"each", "1 USD/kg"}, {"rate", "0.01 USD/t"}}}}}),
      140);
  // And nothing below the base.
  expect_value(
      sale_of(dry_tonne({{"Au", "50 g/t"}}),
              {{"pay", {{"Au", OrderedJson::object()}}},
               {"participation",
                {{{"for", "Au"}, {"above", "2 USD/g"}, {"each", "1 USD/kg"}, {"rate", "0.01 USD/t"}}}}}),
      50);
}

TEST(Sale, AdvanceInterestAndLeviesOnTheirDays) {
  // Proceeds 1000: 850 on day 9 + 7, interest 850 x 9 % x 38/365, the rest on day 9 + 45. Royalty 5 % of the
  // value, 30 days later; 40 % of it back after 10 more.
  OrderedJson document = sale_of(dry_tonne({{"Au", "1000 g/t"}}),
                                 {{"transit", "9 d"},
                                  {"pay", {{"Au", OrderedJson::object()}}},
                                  {"advance", {{"share", "85 %"}, {"after", "7 d"}, {"interest", "9 %/a"}}},
                                  {"final", "45 d"}});
  document["levies"] = {{{"what", "royalty"},
                         {"rate", "5 %"},
                         {"of", "payable value"},
                         {"after", "30 d"},
                         {"refund", {{"share", "40 %"}, {"after", "10 d"}}}}};
  document["discount"] = "18 %/a";
  const Sale sale(document);
  const Decimal interest = Decimal(850) * Decimal("0.09") * 38 / 365;
  const auto& days = sale.result().cash_days;
  ASSERT_EQ(days.size(), 4U);
  const std::vector<std::pair<int, Decimal>> expected{{16, 850}, {54, 150 - interest}, {84, -50}, {94, 20}};
  Decimal total = 0, present = 0;
  for (std::size_t i = 0; i < days.size(); ++i) {
    total += expected[i].second;
    present += expected[i].second / pow(Decimal("1.18"), Decimal(expected[i].first) / 365);
    EXPECT_TRUE(close_to(days[i].day, expected[i].first, Decimal("1e-40")));
    EXPECT_TRUE(close_to(days[i].amount, expected[i].second, Decimal("1e-40")));
    EXPECT_TRUE(close_to(days[i].total, total, Decimal("1e-40")));
  }
  EXPECT_TRUE(close_to(sale.result().ledger.sums.present_value, present, Decimal("1e-40")));
  expect_value(document, present);  // and the two others
}

TEST(Sale, LeviesByTheirBase) {
  // Delivered 100 g of gold and 1000 g of silver (1 and 0.01 USD/g): gross 110; gold paid 50 %: 50; fee 20:
  // proceeds 30.
  for (const auto& [of, levy] :
       {std::pair{"payable value", "5"}, std::pair{"proceeds", "3"}, std::pair{"gross value", "11"}}) {
    OrderedJson document = sale_of(
        dry_tonne({{"Au", "100 g/t"}, {"Ag", "1000 g/t"}}),
        {{"pay", {{"Au", {{"share", "50 %"}}}}}, {"charges", {{{"what", "fee"}, {"rate", "20 USD/lot"}}}}});
    document["levies"] = {{{"what", "royalty"}, {"rate", "10 %"}, {"of", of}}};
    expect_value(document, 30 - Decimal(levy));
    document["terms"]["buyer"]["charges"][0]["rate"] = "200 USD/lot";  // never below 0
    expect_value(document, -150 - (std::string(of) == "proceeds" ? Decimal(0) : Decimal(levy)));
  }
}

TEST(Sale, NegativeProceedsAreNotAdvanced) {
  const Sale sale(sale_of(dry_tonne({{"Au", "1 g/t"}}),
                          {{"charges", {{{"what", "fee"}, {"rate", "20 USD/lot"}}}},
                           {"advance", {{"share", "90 %"}, {"after", "1 d"}, {"interest", "10 %/a"}}},
                           {"final", "30 d"}}));
  ASSERT_EQ(sale.result().cash_days.size(), 1U);
  EXPECT_EQ(sale.result().cash_days[0].day, 30);
  EXPECT_EQ(sale.result().cash_days[0].amount, -20);
}

TEST(Sale, MoneyIsRoundedLineByLine) {
  // 33.335 g at 1 USD/g is 33.34 by half even (33.335 is a tie: 33.34); 1 % of the rounded value is 0.3334:
  // 0.33.
  OrderedJson document =
      sale_of(dry_tonne({{"Au", "33.335 g/t"}}),
              {{"pay", {{"Au", OrderedJson::object()}}},
               {"charges", {{{"what", "insurance"}, {"rate", "1 %"}, {"of", "payable value"}}}},
               {"rounding", {{"money", "0.01 USD"}}}});
  const Sale sale(document);
  EXPECT_EQ(sale.line(LineKind::value, "Au"), Decimal("33.34"));
  EXPECT_EQ(sale.line(LineKind::charge, "insurance"), Decimal("-0.33"));
  expect_value(document, Decimal("33.01"));
}

TEST(Sale, APieceTooLightForTheBalanceKeepsItsAssay) {
  // 4 g on a balance that turns in tens of grams weigh nothing; the assay stays, so the least taken is no
  // matter.
  OrderedJson document = sale_of(
      {{"wet_mass", "1 t"}, {"apart", {{"nuggets", {{"mass", "4 g"}, {"assays", {{"Au", "90 %"}}}}}}}},
      {{"buys", "nuggets"},
       {"accepts", {{"Au", {{"min", "500 fine"}}}}},
       {"charges", {{{"what", "fee"}, {"rate", "3 USD/lot"}}}},
       {"rounding", {{"mass", {{"step", "10 g"}}}}}});
  document["routes"]["r"] = {{"lot", {{"keep", true}}}, {"nuggets", {{"sell", "buyer"}}}};
  expect_value(document, -3);
}

TEST(Sale, WrongKindsAreRefused) {
  const OrderedJson lot{{"wet_mass", "1 t"},
                        {"assays", {{"Au", "100 g/t"}}},
                        {"apart", {{"nuggets", {{"mass", "100 g"}, {"assays", {{"Au", "90 %"}}}}}}}};
  auto document = [&](const char* of_lot, const char* of_nuggets) {
    const OrderedJson terms{{"smelter", {{"buys", "concentrate"}}},
                            {"trader", {{"buys", "nuggets"}}},
                            {"refiner", {{"buys", "bar"}}}};
    return plain_plan(lot, OrderedJson::object(), terms,
                      {{"lot", {{"sell", of_lot}}}, {"nuggets", {{"sell", of_nuggets}}}});
  };
  expect_taken(document("smelter", "trader"));
  for (const auto& [a, b] : {std::pair{"trader", "trader"}, std::pair{"refiner", "trader"},
                             std::pair{"smelter", "smelter"}, std::pair{"smelter", "refiner"}})
    expect_refused(document(a, b));
}

TEST(Sale, EveryReasonOfARefusalIsTold) {
  const Sale sale(sale_of(
      {{"wet_mass", "100 kg"}, {"moisture", "12 %"}, {"assays", {{"Au", "20 g/t"}, {"Hg", "60 ppm"}}}},
      {{"accepts",
        {{"mass", {{"min", "250 kg"}}},
         {"moisture", {{"max", "10 %"}}},
         {"Au", {{"min", "30 g/t"}}},
         {"Hg", {{"max", "50 ppm"}}}}}}));
  const auto& reasons = sale.result().ledger.refused;
  ASSERT_EQ(reasons.size(), 4U);
  for (const auto& [i, words] :
       {std::pair{0U, "88 kg"}, std::pair{1U, "12 %"}, std::pair{2U, "20 g/t"}, std::pair{3U, "60 g/t"}})
    EXPECT_NE(reasons[i].find(words), std::string::npos) << reasons[i];
  EXPECT_TRUE(sale.result().ledger.lines.empty());
  EXPECT_FALSE(sale.comparison.best.has_value());
}

TEST(Sale, UntestedLimitsMakeARouteConditional) {
  const Sale sale(sale_of(dry_tonne({{"Au", "20 g/t"}}), {{"accepts", {{"Hg", {{"max", "50 ppm"}}}}},
                                                          {"penalties",
                                                           {{{"for", "As"},
                                                             {"above", "1 %"},
                                                             {"each", "1 %"},
                                                             {"rate", "1 USD/t"},
                                                             {"refuse_above", "3 %"}}}}}));
  EXPECT_FALSE(sale.result().refused());
  ASSERT_EQ(sale.result().ledger.conditional.size(), 2U);
  EXPECT_NE(sale.result().ledger.conditional[0].find("Hg"), std::string::npos);
  EXPECT_EQ(sale.comparison.untested.size(), 2U);
}

}  // namespace
}  // namespace buttonworth::test
