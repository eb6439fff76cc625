// Drying, melting, splitting and tabling against printed figures and sums by hand.
#include "support.hpp"

namespace buttonworth::test {
namespace {

const OrderedJson kept{{"keep", true}};
const OrderedJson buyer{{"buyer", {{"buys", "concentrate"}}}};
const OrderedJson sold{{"sell", "buyer"}};

struct Outcomes {
  std::shared_ptr<const Plan> plan;
  Comparison<Decimal> comparison;

  explicit Outcomes(const OrderedJson& document) : plan(plan_from(document)), comparison(compared(*plan)) {}
  const RouteLedger<Decimal>& ledger() const { return comparison.routes[0].ledger; }
  Analyte analyte(const char* name) const {
    return static_cast<Analyte>(std::find(plan->analytes.begin(), plan->analytes.end(), name) -
                                plan->analytes.begin());
  }
  const Stream<Decimal>& product(std::size_t i) const { return ledger().products.at(i).delivered; }
  Decimal lost(const char* place, const char* name) const {
    for (const auto& [where, content] : ledger().metal.lost)
      if (where == place) return content[analyte(name)];
    ADD_FAILURE() << "nothing is lost at " << place;
    return 0;
  }
  Decimal line(const std::string& what) const {
    for (const auto& one : ledger().lines)
      if (*one.name.what == what) return one.amount;
    ADD_FAILURE() << "no line " << what;
    return 0;
  }
};

/// Numbers by hand hold to the digits of one quotient.
void expect_close(const Decimal& a, const Decimal& b) {
  EXPECT_TRUE(close_to(a, b, Decimal("1e-40"))) << a << ' ' << b;
}

// ---- Drying --------------------------------------------------------------------------------------

OrderedJson dried(const OrderedJson& step, const char* moisture = "12 %") {
  OrderedJson pan{{"kind", "dry"}, {"dust", "0 %"}};
  pan.update(step);
  return plain_plan({{"wet_mass", "1000 kg"}, {"moisture", moisture}, {"assays", {{"Au", "100 g/t"}}}},
                    {{"pan", pan}}, buyer, {{"step", "pan"}, {"dried", sold}});
}

TEST(Drying, WaterAndHeatOfATonne) {
  // 1000 kg at 12 % to 0.5 %, 20 to 100 degC: evaporated 115.577889 kg; 98.285 kWh before efficiency [C, with
  // latent heat 2257 kJ/kg and, as the figure shows, 4.184 kJ/(kg K) for water]. The format has 2256.4
  // and 4.19.
  const Outcomes run(dried({{"to", "0.5 %"}, {"efficiency", "100 %"}}));
  const Decimal evaporated = 120 - run.product(0).water;
  EXPECT_LE(abs(evaporated - Decimal("115.577889")), Decimal("0.0000005"));
  const Decimal latent = evaporated * Decimal("0.6"), sensible = Decimal(120) * 80 * Decimal("0.006");  // kJ
  const Decimal printed = *run.ledger().work[0].energy + (latent - sensible) / 3600;
  EXPECT_LE(abs(printed - Decimal("98.285")), Decimal("0.0005"));
  expect_close(run.product(0).moisture(), Decimal("0.005"));
}

TEST(Drying, OneKilogramOfWaterTakesWhatSteamTablesSay) {
  // Water vapour at 100 degC less liquid at 20 degC: 2591.7 kJ/kg [P/M: steam tables]. A kilogram of water
  // more, with the same solids, takes that; the format's constants are rounded, to 0.1 kJ.
  auto energy = [](const char* wet, const char* moisture) {
    OrderedJson document = dried({{"to", "0 %"}, {"efficiency", "100 %"}}, moisture);
    document["lot"]["wet_mass"] = wet;
    return *Outcomes(document).ledger().work[0].energy * 3600;
  };
  EXPECT_LE(abs(energy("100 kg", "2 %") - energy("99 kg", "1.01010101010101010101010101010101010101 %") -
                Decimal("2591.7")),
            Decimal("0.15"));
}

TEST(Drying, EfficiencyFuelAndAmbient) {
  const Decimal full = *Outcomes(dried({{"to", "2 %"}, {"efficiency", "100 %"}})).ledger().work[0].energy;
  const Outcomes pan(dried(
      {{"to", "2 %"}, {"fuel", {{"heat", "36 MJ/L"}}}}));  // 30 % and 20 degC left out; 36 MJ are 10 kWh
  expect_close(*pan.ledger().work[0].energy, full / Decimal("0.3"));
  expect_close(*pan.ledger().work[0].fuel, full / 3);
  // From 100 degC nothing is warmed: 2256.4 kJ for each kilogram that goes.
  const Outcomes hot(dried({{"to", "0 %"}, {"efficiency", "100 %"}, {"ambient", "100 degC"}}));
  expect_close(*hot.ledger().work[0].energy, Decimal(120) * Decimal("2256.4") / 3600);
}

TEST(Drying, DustTakesSolidsMetalAndWater) {
  const Outcomes run(dried({{"to", "4 %"}, {"dust", "2.5 %"}}));
  expect_close(run.product(0).dry, Decimal(880) * Decimal("0.975"));
  expect_close(run.product(0).moisture(), Decimal("0.04"));
  expect_close(run.lost("pan dust", "Au"), Decimal("0.088") * Decimal("0.025"));
  expect_close(run.product(0).grade(run.analyte("Au")) * 1000000, 100);
}

TEST(Drying, WhatIsDryAlreadyPassesWithItsWater) {
  const Outcomes run(dried({{"to", "15 %"}, {"dust", "1 %"}}));
  expect_close(run.product(0).water, Decimal(120) * Decimal("0.99"));
  EXPECT_EQ(*run.ledger().work[0].energy, 0);
  expect_close(run.lost("pan dust", "Au"), Decimal("0.00088"));  // handling loses what it loses
}

// ---- Melting -------------------------------------------------------------------------------------

OrderedJson melted(const OrderedJson& step,
                   const OrderedJson& assays = {{"Au", "20 %"}, {"Ag", "5 %"}, {"Pb", "10 %"}}) {
  OrderedJson furnace{{"kind", "melt"}};
  furnace.update(step);
  return plain_plan({{"wet_mass", "10 kg"}, {"assays", assays}}, {{"furnace", furnace}},
                    {{"buyer", {{"buys", "concentrate"}}}, {"refiner", {{"buys", "bar"}}}},
                    {{"step", "furnace"}, {"bar", {{"sell", "refiner"}}}, {"slag", sold}});
}

TEST(Melting, SharesToBarAndFume) {
  // 2 kg Au, 0.5 Ag, 1 Pb: bar 1.98 + 0.45 + 0.2, fume 0.1 Pb; slag = 10 - 2.63 - 0.1 + what stays of 5 kg
  // soda ash (0.584774) and 2 kg borax [C].
  const Outcomes run(melted({{"to_bar", {{"Au", "99 %"}, {"Ag", "90 %"}, {"Pb", "20 %"}}},
                             {"to_fume", {{"Pb", "10 %"}}},
                             {"flux",
                              {{{"reagent", "soda ash"}, {"dose", "0.5 kg/kg"}, {"price", "2 USD/kg"}},
                               {{"reagent", "borax"}, {"dose", "0.2 kg/kg"}}}}}));
  expect_close(run.product(0).dry, Decimal("2.63"));
  EXPECT_EQ(run.product(0).water, 0);
  expect_close(run.product(0).grade(run.analyte("Au")), Decimal("1.98") / Decimal("2.63"));
  expect_close(run.product(1).dry, Decimal("10") - Decimal("2.73") + 5 * Decimal("0.584774") + 2);
  expect_close(run.product(1).content[run.analyte("Pb")], Decimal("0.7"));
  expect_close(run.lost("furnace fume", "Pb"), Decimal("0.1"));
  EXPECT_EQ(run.line("soda ash"), -10);
  EXPECT_EQ(*run.ledger().work[0].melts, 1);
}

TEST(Melting, FluxByGangue) {
  // Gangue is the charge less what goes to bar and fume by their shares: 10 - 2 - 0.1.
  const Outcomes run(melted(
      {{"to_bar", {{"Au", "100 %"}}},
       {"to_fume", {{"Pb", "10 %"}}},
       {"flux", {{{"reagent", "silica"}, {"dose", "0.5 kg/kg"}, {"of", "gangue"}, {"price", "1 USD/kg"}}}}}));
  expect_close(run.line("silica"), -Decimal("3.95"));
  expect_close(run.product(1).dry, Decimal("7.9") + Decimal("3.95"));
}

TEST(Melting, ASlagGradeIsSolvedWithTheSlag) {
  // Au at 1 % in the slag, with 4 kg silica: S = 10 + 4 - bar, bar = 2 - 0.01 S: S = 12 / 0.99 [C].
  const Outcomes run(
      melted({{"slag_grade", {{"Au", "1 %"}}}, {"flux", {{{"reagent", "silica"}, {"dose", "0.4 kg/kg"}}}}}));
  const Decimal slag = 12 / Decimal("0.99");
  expect_close(run.product(1).dry, slag);
  expect_close(run.product(0).dry, 2 - slag / 100);
  expect_close(run.product(1).grade(run.analyte("Au")), Decimal("0.01"));
  // A metal the charge has none of goes nowhere and does not count.
  const Outcomes without(melted({{"slag_grade", {{"Au", "1 %"}, {"Cu", "3 %"}}},
                                 {"flux", {{{"reagent", "silica"}, {"dose", "0.4 kg/kg"}}}}}));
  expect_close(without.product(1).dry, slag);
}

TEST(Melting, TwoSlagGradesAndAFume) {
  // Au 1 %, Ag 2 % in the slag, 10 % of the silver to fume, no flux: S = 10 - 0.05 - (2 - .01 S) - (.45 - .02
  // S), so S = 7.5 / 0.97 [C].
  const Outcomes run(melted({{"slag_grade", {{"Au", "1 %"}, {"Ag", "2 %"}}}, {"to_fume", {{"Ag", "10 %"}}}}));
  const Decimal slag = Decimal("7.5") / Decimal("0.97");
  expect_close(run.product(1).dry, slag);
  expect_close(run.product(0).content[run.analyte("Ag")], Decimal("0.45") - slag * Decimal("0.02"));
}

TEST(Melting, ImpossibleOnesSayWhy) {
  auto fault = [](const OrderedJson& document) {
    const auto plan = plan_from(document);
    expect_impossible(document);
    return in_decimal(*plan, plan->routes[0]).fault;
  };
  EXPECT_NE(
      fault(melted({{"slag_grade", {{"Au", "1 %"}}}}, {{"Au", "50 g/t"}})).find("more Au than the charge"),
      std::string::npos);
  EXPECT_NE(fault(melted({{"to_bar", {{"Cu", "90 %"}}}})).find("no metal"), std::string::npos);
  EXPECT_NE(fault(melted({{"to_bar", {{"Au", "0 %"}}}})).find("no metal"), std::string::npos);
}

TEST(Melting, HoursByMeltsAndTheirCosts) {
  // 10 kg of charge and 5 of silica at 2 kg/L in 2 L filled to 75 %: 5 melts of 40 minutes.
  const Outcomes run(melted(
      {{"to_bar", {{"Au", "99 %"}}},
       {"flux", {{{"reagent", "silica"}, {"dose", "0.5 kg/kg"}}}},
       {"crucible", {{"volume", "2 L"}, {"fill", "75 %"}, {"density", "2 kg/L"}}},
       {"per_melt", "40 min"},
       {"cost", {{{"what", "labour"}, {"rate", "3 USD/h"}}, {{"what", "wear"}, {"rate", "7 USD/melt"}}}}}));
  EXPECT_EQ(*run.ledger().work[0].melts, 5);
  expect_close(run.line("labour"), -10);  // 200 minutes
  EXPECT_EQ(run.line("wear"), -35);
  expect_close(run.product(0).day, Decimal(200) / 60 / 24);
}

// ---- Splitting -----------------------------------------------------------------------------------

TEST(Splitting, SharesOfMassAndOfAnalytes) {
  const OrderedJson split{
      {"kind", "split"},
      {"rate", "50 kg/h"},
      {"wait", "2 d"},
      {"into", {{"magnetics", {{"mass", "35 %"}, {"Au", "0.8 %"}}}, {"rest", OrderedJson::object()}}}};
  OrderedJson document = plain_plan(
      {{"wet_mass", "1000 kg"}, {"moisture", "20 %"}, {"assays", {{"Au", "100 g/t"}, {"As", "1 %"}}}},
      {{"magnet", split}}, buyer, {{"step", "magnet"}, {"magnetics", sold}, {"rest", sold}});
  document["day"] = "8 h";
  const Outcomes run(document);
  expect_close(run.product(0).dry, 280);
  expect_close(run.product(0).water, 70);  // water follows dry mass
  expect_close(run.product(0).content[run.analyte("Au")], Decimal("0.08") * Decimal("0.008"));
  expect_close(run.product(0).content[run.analyte("As")], Decimal("2.8"));  // not named: as the mass
  expect_close(run.product(1).content[run.analyte("Au")], Decimal("0.08") * Decimal("0.992"));
  expect_close(run.product(1).day, 4);  // 16 hours are 2 days of 8, and 2 days more
}

TEST(Splitting, AnOutputOfNothingIsNeitherSoldNorListed) {
  const OrderedJson split{{"kind", "split"},
                          {"into", {{"none", {{"mass", "0 %"}}}, {"rest", OrderedJson::object()}}}};
  const Outcomes run(
      plain_plan({{"wet_mass", "100 kg"}, {"assays", {{"Au", "100 g/t"}}}}, {{"sieve", split}},
                 {{"buyer", {{"buys", "concentrate"}, {"accepts", {{"mass", {{"min", "1 kg"}}}}}}}},
                 {{"step", "sieve"}, {"none", sold}, {"rest", sold}}));
  ASSERT_EQ(run.ledger().products.size(), 1U);
  EXPECT_FALSE(run.comparison.routes[0].refused());
}

TEST(Splitting, KindsStayWhatTheyAre) {
  const OrderedJson split{{"kind", "split"},
                          {"into", {{"a", {{"mass", "50 %"}}}, {"b", OrderedJson::object()}}}};
  OrderedJson furnace{{"kind", "melt"}, {"to_bar", {{"Au", "99 %"}}}};
  OrderedJson document = melted({{"to_bar", {{"Au", "99 %"}}}});
  document["steps"]["saw"] = split;
  document["routes"]["r"]["bar"] = {
      {"step", "saw"}, {"a", {{"sell", "refiner"}}}, {"b", {{"sell", "refiner"}}}};
  expect_taken(document);  // halves of a bar are bars
  document["routes"]["r"]["bar"] = {
      {"step", "saw"}, {"a", {{"sell", "buyer"}}}, {"b", {{"sell", "refiner"}}}};
  expect_refused(document);  // and no concentrate
}

// ---- Tabling -------------------------------------------------------------------------------------

OrderedJson tabled(const OrderedJson& table, const OrderedJson& assays) {
  OrderedJson step{{"kind", "table"}};
  step.update(table);
  return plain_plan({{"wet_mass", "1000 kg"}, {"assays", assays}}, {{"shaker", step}}, buyer,
                    {{"step", "shaker"}, {"concentrate", sold}, {"middlings", sold}, {"tailings", sold}});
}

TEST(Tabling, PrintedRecoveriesOfAShakingTable) {
  // 12.25 % pull gave 60 % of the gold; 43.7 gave 75; 13.7 gave 60 (lead 30)
  // [P: New Zealand, Appendix to the Journals of the House of Representatives, 1917, C-2, p. 43].
  const Outcomes run(tabled(
      {{"curve",
        {{"Au", pairs({{"12.25 %", "60 %"}, {"43.7 %", "75 %"}})}, {"Pb", pairs({{"13.7 %", "30 %"}})}}},
       {"cut", {{"pull", "12.25 %"}}},
       {"middlings", "31.45 %"}},
      {{"Au", "40 g/t"}, {"Pb", "2 %"}}));
  expect_close(run.product(0).content[run.analyte("Au")], Decimal("0.024"));
  expect_close(run.product(1).content[run.analyte("Au")], Decimal("0.006"));
  expect_close(run.product(1).dry, Decimal("314.5"));
  expect_close(run.product(2).content[run.analyte("Au")], Decimal("0.01"));
}

TEST(Tabling, GangueAndWhatGoesAsIt) {
  // y M = 100, M = 1000. Au and Pb curved: C 10 and 40, R 0.5 and 0.25 by one point at the cut. q = (100 -
  // 15) / 950.
  const Outcomes run(tabled({{"curve",
                              {{"Au", pairs({{"10 %", "50 %"}})},
                               {"Pb", pairs({{"10 %", "25 %"}})},
                               {"Fe", {{"as", "gangue"}}},
                               {"Ag", {{"as", "Au"}}}}},
                             {"cut", {{"pull", "10 %"}}}},
                            {{"Au", "1 %"}, {"Pb", "4 %"}, {"Fe", "30 %"}, {"Cu", "2 %"}}));
  const Decimal q = Decimal(85) / 950;
  expect_close(run.product(0).content[run.analyte("Fe")], 300 * q);
  expect_close(run.product(0).content[run.analyte("Cu")], 20 * q);  // without an entry: as the gangue
  Decimal named = 0;
  for (const Decimal& one : run.product(0).content) named += one;
  expect_close(Decimal(run.product(0).dry - named), 630 * q);
  EXPECT_EQ(run.ledger().products.size(), 2U);  // no middlings
  expect_close(run.product(0).moisture(), Decimal("0.2"));
}

TEST(Tabling, SilverGoesAsGoldAndBothAreLimited) {
  // Limit 40 fine on gold: content <= 0.1 x 1000 x 0.04 = 4 kg of 10, so R = 0.4 for both.
  const Outcomes run(tabled({{"curve", {{"Au", pairs({{"10 %", "50 %"}})}, {"Ag", {{"as", "Au"}}}}},
                             {"limit", {{"Au", "40 fine"}}},
                             {"cut", {{"pull", "10 %"}}}},
                            {{"Au", "1 %"}, {"Ag", "0.3 %"}}));
  expect_close(run.product(0).content[run.analyte("Au")], 4);
  expect_close(run.product(0).content[run.analyte("Ag")], Decimal("1.2"));
}

TEST(Tabling, MoreMetalThanMassIsImpossible) {
  auto fault = [](const OrderedJson& document) {
    expect_impossible(document);
    const auto plan = plan_from(document);
    return in_decimal(*plan, plan->routes[0]).fault;
  };
  EXPECT_NE(fault(tabled({{"curve", {{"Au", pairs({{"1 %", "50 %"}})}}}, {"cut", {{"pull", "1 %"}}}},
                         {{"Au", "4 %"}}))
                .find("more metal than the mass"),
            std::string::npos);
  // Middlings: y from 10 to 11 % takes 10 kg of mass, and 40 kg x (0.9 - 0.5) of lead.
  EXPECT_NE(fault(tabled({{"curve", {{"Pb", pairs({{"10 %", "50 %"}, {"11 %", "90 %"}})}}},
                          {"cut", {{"pull", "10 %"}}},
                          {"middlings", "1 %"}},
                         {{"Pb", "4 %"}}))
                .find("middlings"),
            std::string::npos);
  // Exactly all of the mass is metal: possible, to the edge.
  expect_taken(
      tabled({{"curve", {{"Au", pairs({{"2 %", "50 %"}})}}}, {"cut", {{"pull", "2 %"}}}}, {{"Au", "4 %"}}));
}

TEST(Tabling, CutsByGradeAndByRecovery) {
  // Odds 91 at y = 0.1: R = 9.1 / 10 = 0.91, so 9.1 times the feed's grade, and 91 % recovered.
  for (const OrderedJson& cut : {OrderedJson{{"grade", "910 g/t"}}, OrderedJson{{"recovery", "91 %"}},
                                 OrderedJson{{"grade", "910 ppm"}, {"of", "Au"}}}) {
    const Outcomes run(tabled({{"curve", {{"Au", {{"odds", "91"}}}}}, {"cut", cut}}, {{"Au", "100 g/t"}}));
    expect_close(run.ledger().cuts.at(0).pull, Decimal("0.1"));
    expect_close(run.product(0).content[run.analyte("Au")], Decimal("0.091"));
  }
}

}  // namespace
}  // namespace buttonworth::test
