// Formulas, what reagents leave in a slag, blending, cautions.
#include "material/caution.hpp"
#include "material/formula.hpp"
#include "material/mineral.hpp"
#include "route/prepared.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

Decimal mass_of(std::string_view formula) {
  const auto found = molar_mass(formula);
  EXPECT_TRUE(found.has_value()) << formula;
  return found.value_or(Decimal(0));
}

TEST(Formula, AtomsAndBrackets) {
  const auto borax = read_formula("Na2B4O7(H2O)10");
  ASSERT_TRUE(borax.has_value());
  int hydrogen = 0, oxygen = 0;
  for (const auto& [symbol, count] : *borax) {
    if (symbol == "H") hydrogen += count;
    if (symbol == "O") oxygen += count;
  }
  EXPECT_EQ(hydrogen, 20);
  EXPECT_EQ(oxygen, 17);
  EXPECT_EQ(mass_of("H2O"), Decimal("18.015"));  // 2 x 1.008 + 15.999
  EXPECT_EQ(mass_of("Ca(OH)2"), Decimal("40.078") + 2 * Decimal("17.007"));
  EXPECT_EQ(mass_of("((Fe)2)3"), 6 * Decimal("55.845"));
}

TEST(Formula, NamesThatAreNone) {
  EXPECT_FALSE(read_formula("Fe0"));
  EXPECT_FALSE(read_formula("(SiO2)0"));
  EXPECT_FALSE(read_formula("((Fe)0O)2"));
  for (const char* text : {"", "gangue", "Xx", "Na2(", "(", ")", "au", "Au)", "2Au", "Fe-S", "H2O "})
    EXPECT_FALSE(read_formula(text).has_value()) << text;
  EXPECT_FALSE(molar_mass("nuggets").has_value());
  EXPECT_FALSE(read_formula("(((((Au)))))").has_value());           // deeper than any mineral
  EXPECT_TRUE(read_formula("Au99999999999999999999").has_value());  // counts are capped, not overflowed
}

TEST(Formula, CountsInBracketsAreCappedTogether) {
  const auto atoms = read_formula("((Au9999)9999)9999");
  ASSERT_TRUE(atoms);
  for (const auto& [symbol, number] : *atoms) EXPECT_LE(number, 10'000) << symbol;
}

TEST(Formula, ShareOfAnElement) {
  // Pyrite FeS2: 2 x 32.06 of 119.965 [C].
  EXPECT_TRUE(close_to(element_share("FeS2", "S"), Decimal("64.12") / Decimal("119.965"), Decimal("1e-45")));
  EXPECT_EQ(element_share("Au", "S"), 0);
  EXPECT_EQ(element_share("no formula", "S"), 0);
  EXPECT_EQ(element_share("S", "S"), 1);
}

TEST(Formula, WhatAReagentLeavesInTheSlag) {
  // Na2CO3 0.584774, KNO3 0.465841, NaNO3 0.364608, borax decahydrate 0.527621 [C], worked out again from the
  // atomic weights: carbonate without its carbon dioxide, nitrates as oxide, hydrate without water.
  struct Row {
    const char *reagent, *left;
    int left_times;
    const char* whole;
    int whole_times;
    const char* within;
  };
  for (const Row& row : {Row{"soda ash", "Na2O", 1, "Na2CO3", 1, "1.5e-6"},
                         Row{"potassium nitrate", "K2O", 1, "KNO3", 2, "1.5e-6"},
                         Row{"sodium nitrate", "Na2O", 1, "NaNO3", 2, "1.5e-6"},
                         Row{"borax decahydrate", "Na2B4O7", 1, "Na2B4O7(H2O)10", 1, "6e-6"}}) {
    const Decimal share = row.left_times * mass_of(row.left) / (row.whole_times * mass_of(row.whole));
    // Shares of six digits, weights of five; boron stands at 10.81, and the share of borax rests on 10.811.
    EXPECT_LE(abs(stays_in_slag(row.reagent).value() - share), Decimal(row.within)) << row.reagent;
  }
  EXPECT_EQ(stays_in_slag("soda ash"), Decimal("0.584774"));
  EXPECT_EQ(stays_in_slag("potassium nitrate"), Decimal("0.465841"));
  EXPECT_EQ(stays_in_slag("sodium nitrate"), Decimal("0.364608"));
  EXPECT_EQ(stays_in_slag("borax decahydrate"), Decimal("0.527621"));
  for (const char* all : {"borax", "silica", "fluorspar"}) EXPECT_EQ(stays_in_slag(all), Decimal(1)) << all;
  EXPECT_FALSE(stays_in_slag("Borax").has_value());
  EXPECT_FALSE(stays_in_slag("manganese dioxide").has_value());
}

TEST(Streams, PartsBlendByMass) {
  // 100 kg at 10 % with 20 g/t and 300 kg at 20 % with 50 g/t and 1 % As: dry 90 and 240 kg, water 10 and 60
  // kg; gold (90 x 20 + 240 x 50) mg, arsenic 2.4 kg [C].
  const auto plan = plan_from(plain_plan(
      {{"parts",
        {{{"wet_mass", "100 kg"}, {"moisture", "10 %"}, {"assays", {{"Au", "20 g/t"}}}},
         {{"wet_mass", "300 kg"}, {"moisture", "20 %"}, {"assays", {{"Au", "50 g/t"}, {"As", "1 %"}}}}}}},
      OrderedJson::object(), OrderedJson::object(), {{"keep", true}}));
  const Stream<Decimal> lot = Prepared<Decimal>(*plan).lot;
  const auto of = [&](const char* name) {
    return static_cast<Analyte>(std::find(plan->analytes.begin(), plan->analytes.end(), name) -
                                plan->analytes.begin());
  };
  EXPECT_EQ(lot.dry, 330);
  EXPECT_EQ(lot.water, 70);
  EXPECT_EQ(lot.content[of("Au")], Decimal("0.0138"));
  EXPECT_EQ(lot.content[of("As")], Decimal("2.4"));
  EXPECT_EQ(lot.moisture(), Decimal("0.175"));
  ASSERT_EQ(plan->document_cautions.size(), 1U);
  EXPECT_NE(plan->document_cautions[0].find("As was not assayed in part 1"), std::string::npos)
      << plan->document_cautions[0];
}

TEST(Streams, DifferencesThatAreNothing) {
  const Decimal third = Decimal(1) / 3;
  EXPECT_EQ(remainder_of(Decimal(1), Decimal(third * 3)), 0);
  EXPECT_EQ(content_left(Decimal(1), Decimal(third * 3)), 0);
  EXPECT_EQ(content_left(0.3, 0.1 + 0.2), 0.0);
  EXPECT_GT(content_left(Decimal(1), Decimal("0.99999999999999999999")), 0);  // a trace that is there stays
  EXPECT_EQ(Stream<double>{}.moisture(), 0.0);
}

TEST(Streams, WaterByMoisture) {
  EXPECT_EQ(water_at(Decimal(80), Decimal("0.2")), 20);
  EXPECT_EQ(water_at(Decimal(80), Decimal(0)), 0);
}

// ---- Cautions ------------------------------------------------------------------------------------

std::string told(const OrderedJson& assays, const OrderedJson& steps, const OrderedJson& route) {
  OrderedJson document = plain_plan({{"wet_mass", "100 kg"}, {"moisture", "8 %"}, {"assays", assays}}, steps,
                                    OrderedJson::object(), route);
  std::string text;
  for (const Caution& one : compared(*plan_from(document)).cautions) text += one.at + ": " + one.what + '\n';
  return text;
}
const OrderedJson pan{{"kind", "dry"}, {"to", "0.2 %"}, {"dust", "0 %"}};
const OrderedJson kept{{"keep", true}};

TEST(Cautions, ByWhatGoesIntoHeat) {
  const OrderedJson dried{{"step", "pan"}, {"dried", kept}};
  struct Row {
    OrderedJson assays;
    const char* words;
    bool told;
  };
  const OrderedJson tested{{"Hg", "0 ppm"}, {"Au", "10 g/t"}};
  auto with = [&](const char* analyte, const char* grade) {
    OrderedJson assays = tested;
    assays[analyte] = grade;
    return assays;
  };
  for (const Row& row :
       {Row{with("Hg", "3 ppm"), "mercury goes into heat", true},
        Row{tested, "mercury goes into heat", false}, Row{tested, "Mercury was not tested", false},
        Row{{{"Au", "10 g/t"}}, "Mercury was not tested", true},
        Row{with("As", "10 g/t"), "poisonous fume", true}, Row{with("PbS", "1 %"), "poisonous fume", true},
        Row{with("Sb", "1 %"), "poisonous fume", true}, Row{with("Te", "1 %"), "poisonous fume", true},
        Row{with("Cu", "1 %"), "poisonous fume", false}, Row{with("S", "2.1 %"), "sulphur dioxide", true},
        Row{with("S", "1.9 %"), "sulphur dioxide", false}, Row{with("FeS2", "4 %"), "sulphur dioxide", true},
        Row{with("FeS2", "3.6 %"), "sulphur dioxide", false},  // 53.45 % S
        Row{tested, "silica", true}}) {
    const std::string text = told(row.assays, {{"pan", pan}}, dried);
    EXPECT_EQ(text.find(row.words) != text.npos, row.told) << row.words << '\n' << text;
    EXPECT_EQ(text.empty(), text.find("Local rules and licensed practice") == text.npos) << text;
  }
  EXPECT_EQ(told({{"Hg", "3 ppm"}, {"As", "1 %"}}, OrderedJson::object(), kept),
            "");  // no heat, no caution of heat
}

TEST(Cautions, OfMineralsByTheirNames) {
  EXPECT_TRUE(hazard_of("cinnabar").mercury);
  EXPECT_TRUE(hazard_of("arsenopyrite").fume);
  EXPECT_TRUE(hazard_of("galena").fume);
  EXPECT_TRUE(hazard_of("Cd").fume);
  EXPECT_TRUE(hazard_of("Se").fume);
  EXPECT_TRUE(hazard_of("quartz").silica);
  EXPECT_GT(hazard_of("pyrite").sulphur, Decimal("0.5"));
  EXPECT_FALSE(hazard_of("hematite").fume);
}

TEST(Cautions, NitratesByAnyName) {
  for (const char* one : {"potassium nitrate", "Sodium Nitrate", "KNO3", "NaNO3", "saltpetre", "Nitre"})
    EXPECT_TRUE(is_nitrate(one)) << one;
  for (const char* one : {"borax", "soda ash", "Na2CO3", "litharge", "NaCl", "NH4Cl", "NaCN"})
    EXPECT_FALSE(is_nitrate(one)) << one;
}

TEST(Cautions, OfAMelt) {
  OrderedJson furnace{{"kind", "melt"},
                      {"to_bar", {{"Au", "99 %"}}},
                      {"flux", {{{"reagent", "potassium nitrate"}, {"dose", "0.1 kg/kg"}}}}};
  const OrderedJson route{{"step", "pan"}, {"dried", {{"step", "furnace"}, {"bar", kept}, {"slag", kept}}}};
  const OrderedJson assays{{"Hg", "0 ppm"}, {"Au", "10 g/t"}, {"FeS2", "1 %"}};
  std::string text = told(assays, {{"pan", pan}, {"furnace", furnace}}, route);
  EXPECT_NE(text.find("furnace: Nitrate with sulphides"), text.npos) << text;
  EXPECT_NE(text.find("furnace: The charge is not quite dry"), text.npos) << text;
  furnace["flux"][0]["reagent"] = "borax";
  text = told(assays, {{"pan", pan}, {"furnace", furnace}}, route);
  EXPECT_EQ(text.find("Nitrate"), text.npos) << text;
}

}  // namespace
}  // namespace buttonworth::test
