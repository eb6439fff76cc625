// Minerals, flux and slag: published figures, sums by hand from the atomic weights, and that every atom of a
// charge is found again.
#include "bench/flux.hpp"

#include <cmath>
#include <set>

#include "document/bench_document.hpp"
#include "material/formula.hpp"
#include "random.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

// IUPAC, conventional standard atomic weights 2021, as a handbook has them.
constexpr double H = 1.008, B = 10.81, C = 12.011, N = 14.007, O = 15.999, F = 18.998, Na = 22.990,
                 Si = 28.085, S = 32.06, Cl = 35.45, K = 39.098, Ca = 40.078, Mn = 54.938, Fe = 55.845,
                 Cu = 63.546, As = 74.922, Ag = 107.87, Pb = 207.2;
constexpr double FeO = Fe + O, FeS = Fe + S, FeS2 = Fe + 2 * S, SiO2 = Si + 2 * O, SO2 = S + 2 * O,
                 SO3 = S + 3 * O, KNO3 = K + N + 3 * O, Na2O = 2 * Na + O, Na2CO3 = 2 * Na + C + 3 * O,
                 K2O = 2 * K + O;
constexpr double close = 1e-12;

/// 1 kg of these, all of it named.
FurnaceCharge charge_of(const std::vector<std::pair<std::string_view, double>>& masses,
                        const std::vector<std::pair<std::string, double>>& flux = {}) {
  FurnaceCharge charge;
  for (const auto& [name, mass] : masses) charge.mass += mass;
  for (const auto& [name, mass] : masses)
    charge.minerals.push_back({std::string(mineral_formula(name)), mass / charge.mass});
  for (const auto& [name, dose] : flux)
    charge.flux.push_back({name, std::string(reagent_formula(name)), dose});
  return charge;
}
double part(const MeltParts& parts, std::string_view formula) {
  double mass = 0;
  for (const MeltPart& one : parts)
    if (one.formula == formula) mass += one.mass;
  return mass;
}
double dose_of(const Melted& melted, std::string_view reagent) {
  double dose = 0;
  for (const Reagent& one : melted.flux)
    if (one.name == reagent) dose += one.dose;
  return dose;
}
double into(const Melted& melted) {
  return melted.slag_mass() + melted.matte + mass_of(melted.bar) + mass_of(melted.gas);
}
Code fault_of(const FurnaceCharge& charge) {
  try {
    melt_charge(charge);
  } catch (const Error& error) {
    return error.complaint().code;
  }
  return Code::ok;
}

// ---- Minerals --------------------------------------------------------------------------------

TEST(Minerals, want_the_oxygen_that_their_valences_say) {
  // Iron of three valences has half an oxygen to spare for each atom; sulphides want FeO, PbO, … and SO2; all
  // else holds what it needs. A wrong index in a formula would show.
  const std::map<std::string, double> wants{
      {"magnetite", -1}, {"hematite", -1},   {"goethite", -0.5},    {"epidote", -0.5},  {"pyrite", 5},
      {"haematite", -1}, {"zinc blende", 3}, {"marcasite", 5},      {"pyrrhotite", 23}, {"arsenopyrite", 4.5},
      {"galena", 3},     {"sphalerite", 3},  {"chalcopyrite", 5.5}, {"chalcocite", 3},  {"covellite", 2.5},
      {"bornite", 11.5}, {"stibnite", 9},    {"molybdenite", 7},    {"steel", 1},       {"lead shot", 1},
      {"cinnabar", 2}};
  for (const std::string& name : mineral_names()) {
    Amounts atoms = atoms_of(mineral_formula(name));
    const double halogens = amount_of(atoms, "F") / 2;  // with calcium, which wants no oxygen then
    EXPECT_NEAR(oxygen_wanted(atoms, SulphurTo::dioxide) - halogens, wants.count(name) ? wants.at(name) : 0,
                1e-12)
        << name;
  }
  EXPECT_EQ(mineral_names().size(), 59U);
}

TEST(Minerals, weights) {
  // g/mol as mineralogies print them, rounded there to a hundredth: from memory.
  for (const auto& [name, weight] : std::vector<std::pair<const char*, double>>{{"magnetite", 231.53},
                                                                                {"quartz", 60.08},
                                                                                {"zircon", 183.31},
                                                                                {"pyrite", 119.98},
                                                                                {"galena", 239.27},
                                                                                {"orthoclase", 278.33}})
    EXPECT_NEAR(mass_of(atoms_of(mineral_formula(name))), weight, 0.02) << name;
}

TEST(Minerals, names_and_formulas) {
  EXPECT_EQ(mineral_formula("lead shot"), "Pb");
  EXPECT_EQ(mineral_formula("Fe3O4"), "Fe3O4");
  EXPECT_EQ(mineral_formula("Quartz"), "");
  for (const auto& [other, usual] : std::map<std::string, std::string>{{"silica", "quartz"},
                                                                       {"haematite", "hematite"},
                                                                       {"titanite", "sphene"},
                                                                       {"fluorspar", "fluorite"},
                                                                       {"barytes", "barite"},
                                                                       {"zinc blende", "sphalerite"}})
    EXPECT_EQ(mineral_formula(other), mineral_formula(usual)) << other;
  EXPECT_EQ(reagent_formula("soda ash"), "Na2CO3");
  EXPECT_EQ(reagent_formula("calcite"), "CaCO3");
  EXPECT_EQ(reagent_formula("salt"), "");
  EXPECT_THROW(atoms_of("salt"), Error);
}

TEST(Minerals, sulphates_keep_their_sulphur) {
  for (const char* one : {"BaSO4", "CaSO4(H2O)2", "KFe3(SO4)2(OH)6", "FeSO4(H2O)7", "PbSO4"})
    EXPECT_TRUE(is_sulphate(atoms_of(one))) << one;
  for (const char* one : {"FeS2", "S", "Na2S2O3", "Na2SO3", "SiO2"})
    EXPECT_FALSE(is_sulphate(atoms_of(one))) << one;
}

TEST(Minerals, every_element_goes_somewhere) {
  std::set<std::string> seen;
  for (const Oxide& one : oxides()) {
    EXPECT_TRUE(seen.insert(std::string(one.element)).second) << one.element;
    const Amounts oxide = atoms_of(one.formula);
    EXPECT_NEAR(one.mass * amount_of(oxide, one.element), mass_of(oxide), 1e-9) << one.formula;
    EXPECT_EQ(one.leaves == Leaves::bar, one.formula == one.element) << one.formula;
  }
  EXPECT_EQ(oxide_of("Hg"), nullptr);
  EXPECT_EQ(oxide_of("Fe")->mass, FeO);
  EXPECT_EQ(oxide_of("Cu")->oxygen, 0.5);
}

// ---- Published figures -----------------------------------------------------------------------

TEST(Reagents, leave_what_a_plan_counts_on) {
  // The digits of stays_in_slag [C] from the stoichiometry; boron stands at 10.81, borax rests on 10.811.
  for (const std::string& name : reagent_names())
    EXPECT_NEAR(left_in_slag(reagent_formula(name)), to_double(stays_in_slag(name).value()),
                name == "borax decahydrate" ? 6e-6 : 6e-7)
        << name;
}

TEST(Reagents, borax_is_nearly_half_water) {
  // "nearly half": Beringer, A Text-book of Assaying [P].
  const double water = 1 - left_in_slag(reagent_formula("borax decahydrate"));
  EXPECT_NEAR(water, 10 * (2 * H + O) / (2 * Na + 4 * B + 17 * O + 20 * H), close);
  EXPECT_GT(water, 0.45);
  EXPECT_LT(water, 0.5);
}

TEST(Silica, for_one_of_a_base) {
  // From IUPAC's weights, the scheme after Bugbee, A Textbook of Fire Assaying [C]; to four places.
  const double iron[] = {0.2091, 0.4181, 0.6272, 0.8363, 1.2544};
  for (int i = 0; i < 5; ++i) {
    const double degree = silicate_degrees[i].degree;
    EXPECT_NEAR(silica_dose(1, 0, 0, 0, degree), iron[i], 5e-5) << degree;
    FurnaceCharge charge = charge_of({{"FeO", 1}});
    charge.degree = degree;
    EXPECT_NEAR(dose_of(melt_charge(charge), "silica"), iron[i], 5e-5) << degree;
  }
  for (const auto& [base, silica] :
       std::vector<std::pair<const char*, double>>{{"CaO", 1.0714}, {"Na2CO3", 0.5669}, {"PbO", 0.2692}}) {
    FurnaceCharge charge = charge_of({{base, 1}});
    charge.degree = 2;
    EXPECT_NEAR(dose_of(melt_charge(charge), "silica"), silica, 5e-5) << base;
  }
  EXPECT_NEAR(silica_dose(0, 1, 0, 0, 2), 1.0714, 5e-5);
  EXPECT_NEAR(silica_dose(0, 0, Na2O / Na2CO3, 0, 2), 0.5669, 5e-5);
}

TEST(Silica, what_is_there_counts) {
  EXPECT_NEAR(silica_dose(1, 0, 0, 0.4, 2), silica_dose(1, 0, 0, 0, 2) - 0.4, close);
  EXPECT_EQ(silica_dose(1, 0, 0, 5, 1), 0);
  EXPECT_NEAR(silica_for(O / FeO, 1, 1), SiO2 / (2 * FeO) - 1, close);
}

/// Nitrate to oxidise one kg of a mineral, kg.
double nitrate_for(const std::string& formula, const std::string& nitrate = "potassium nitrate",
                   SulphurTo sulphur = SulphurTo::dioxide) {
  const Melted melted = melt_charge({1, {{formula, 1}}, {}, Oxidising{nitrate, sulphur, 0, false}, {}});
  return melted.flux.empty() ? 0 : melted.flux.front().dose;
}

TEST(Nitrate, for_one_of_a_sulphide) {
  // Potassium nitrate to SO2, to three places [C].
  EXPECT_NEAR(nitrate_for("FeS2"), 1.686, 5e-4);
  EXPECT_NEAR(nitrate_for("FeAsS"), 1.118, 5e-4);
  EXPECT_NEAR(nitrate_for("PbS"), 0.507, 5e-4);
  EXPECT_NEAR(nitrate_for("CuFeS2"), 1.212, 5e-4);
  EXPECT_NEAR(nitrate_for("FeS2"), 2 * KNO3 / FeS2, close);
  EXPECT_NEAR(nitrate_for("FeS2", "sodium nitrate"), 2 * (Na + N + 3 * O) / FeS2, close);
  EXPECT_NEAR(nitrate_for("FeS2", "potassium nitrate", SulphurTo::sulphate), 2.8 * KNO3 / FeS2, close);
  EXPECT_EQ(nitrate_for("SiO2"), 0);
  EXPECT_EQ(nitrate_for("Fe2O3"), 0);
}

TEST(Matte, from_the_sulphur_left_over) {
  EXPECT_NEAR(matte_from(1), 1 / 0.36471, 2e-5);  // five digits [C]
}

TEST(Slag, of_a_dry_flux_for_gold_precipitate) {
  // Per 100 of precipitate borax glass 12 to 30, soda 6 to 15, silica 3 to 8, the slag about 20 oz to the
  // ton: MacFarren in Rose, The Metallurgy of Gold, p. 390 [P]. Slags for gold usually singulo- to
  // sesquisilicate: Fulton, A Manual of Fire Assaying, p. 60 [P]. The precipitate, roasted, is invented: 80 %
  // gold and silver, zinc and lead as oxides, some sand. The middle of the flux then gives half of its mass
  // as slag, within the degrees named if boric oxide is left out of account, and the slag keeps less than a
  // thousandth of the gold.
  const FurnaceCharge charge =
      charge_of({{"Au", 70}, {"Ag", 10}, {"ZnO", 8}, {"PbO", 6}, {"hematite", 3}, {"quartz", 3}},
                {{"borax", 0.21}, {"soda ash", 0.1}, {"silica", 0.055}});
  const Melted melted = melt_charge(charge);
  EXPECT_GT(melted.slag_mass(), 40);
  EXPECT_LT(melted.slag_mass(), 60);
  ASSERT_TRUE(melted.degree.has_value());
  EXPECT_GT(*melted.degree, 0.5);
  EXPECT_LT(*melted.degree, 1.5);
  const double ounces_a_ton = 20 * 240.0 / 7 * 1e-6;
  EXPECT_LT(metal_in_slag(melted.slag_mass(), ounces_a_ton, 0, 0, 0).content, 70e-3);
}

// ---- Oxygen ----------------------------------------------------------------------------------

TEST(Oxygen, nitrate_burns_pyrite) {
  // FeS2 + 2 KNO3 = FeO + K2O + 2 SO2 + N2.
  FurnaceCharge charge = charge_of({{"pyrite", FeS2}});
  charge.oxidising = Oxidising{"potassium nitrate"};
  const Melted melted = melt_charge(charge);
  EXPECT_NEAR(melted.oxygen_wanted, 5 * O, 1e-9);
  EXPECT_NEAR(melted.oxygen_given, 5 * O, 1e-9);
  EXPECT_NEAR(part(melted.slag, "FeO"), FeO, 1e-9);
  EXPECT_NEAR(part(melted.slag, "K2O"), K2O, 1e-9);
  EXPECT_NEAR(part(melted.gas, "SO2"), 2 * SO2, 1e-9);
  EXPECT_NEAR(part(melted.gas, "N2"), 2 * N, 1e-9);
  EXPECT_EQ(melted.gas.size(), 2U);
  EXPECT_EQ(melted.matte, 0);
  // 3 kmol at 1373.15 K and 101.325 kPa: 112.677 m3 each.
  EXPECT_NEAR(melted.gas_volume, 3 * 8.314462618e3 * 1373.15 / 101.325, 1);

  charge.oxidising->excess = 0.1;  // a tenth of 5 O and the nitrogen with it
  const Melted more = melt_charge(charge);
  EXPECT_NEAR(part(more.gas, "O2"), 0.5 * O, 1e-9);
  EXPECT_NEAR(part(more.gas, "N2"), 2.2 * N, 1e-9);
}

TEST(Oxygen, of_the_ore_comes_first) {
  // FeS2 + 5 Fe3O4 = 16 FeO + 2 SO2; with two of magnetite 3 O want 1.2 KNO3.
  FurnaceCharge charge = charge_of({{"pyrite", FeS2}, {"magnetite", 5 * (3 * Fe + 4 * O)}});
  charge.oxidising = Oxidising{"potassium nitrate", SulphurTo::dioxide, 0, true};
  Melted melted = melt_charge(charge);
  EXPECT_TRUE(melted.flux.empty());
  EXPECT_NEAR(part(melted.slag, "FeO"), 16 * FeO, 1e-9);
  EXPECT_NEAR(mass_of(melted.gas), 2 * SO2, 1e-9);
  charge = charge_of({{"pyrite", FeS2}, {"magnetite", 2 * (3 * Fe + 4 * O)}});
  charge.oxidising = Oxidising{"potassium nitrate", SulphurTo::dioxide, 0, true};
  EXPECT_NEAR(melt_charge(charge).flux_mass, 1.2 * KNO3, 1e-9);
  charge.oxidising->ore_oxygen = false;  // it leaves as it is
  melted = melt_charge(charge);
  EXPECT_NEAR(melted.flux_mass, 2 * KNO3, 1e-9);
  EXPECT_NEAR(part(melted.gas, "O2"), 2 * O, 1e-9);
}

TEST(Oxygen, of_a_given_reagent) {
  // FeS2 + 5 MnO2 = FeO + 5 MnO + 2 SO2: nothing is left to add.
  FurnaceCharge charge = charge_of({{"pyrite", FeS2}}, {{"MnO2", 5 * (Mn + 2 * O) / FeS2}});
  charge.oxidising = Oxidising{"sodium nitrate"};
  const Melted melted = melt_charge(charge);
  EXPECT_EQ(melted.flux.size(), 1U);
  EXPECT_NEAR(part(melted.slag, "MnO"), 5 * (Mn + O), 1e-9);
  EXPECT_NEAR(mass_of(melted.gas), 2 * SO2, 1e-9);
}

TEST(Oxygen, short_of_it) {
  // FeS2 = FeS + S
  Melted melted = melt_charge(charge_of({{"pyrite", FeS2}}));
  EXPECT_NEAR(melted.matte, FeS, 1e-9);
  EXPECT_NEAR(part(melted.gas, "S2"), S, 1e-9);
  EXPECT_TRUE(melted.slag.empty());
  // FeS2 + Fe = 2 FeS
  melted = melt_charge(charge_of({{"pyrite", FeS2}, {"steel", Fe}}));
  EXPECT_NEAR(melted.matte, 2 * FeS, 1e-9);
  EXPECT_TRUE(melted.gas.empty());
  // FeAsS = FeS + As
  melted = melt_charge(charge_of({{"arsenopyrite", Fe + As + S}}));
  EXPECT_NEAR(melted.matte, FeS, 1e-9);
  EXPECT_NEAR(part(melted.gas, "As4"), As, 1e-9);
  // PbS + Fe = Pb + FeS: the nails of an iron-nail assay.
  melted = melt_charge(charge_of({{"galena", Pb + S}, {"steel", Fe}}));
  EXPECT_NEAR(melted.matte, FeS, 1e-9);
  EXPECT_NEAR(part(melted.bar, "Pb"), Pb, 1e-9);
  EXPECT_NEAR(melted.base_metal(), Pb, 1e-9);
  // 2 PbO + C = 2 Pb + CO2: litharge and charcoal.
  melted = melt_charge(charge_of({{"PbO", 2 * (Pb + O)}, {"C", C}}));
  EXPECT_NEAR(part(melted.bar, "Pb"), 2 * Pb, 1e-9);
  EXPECT_NEAR(mass_of(melted.gas), C + 2 * O, 1e-9);
  // 2 CuFeS2 = Cu2S + 2 FeS + S
  melted = melt_charge(charge_of({{"chalcopyrite", 2 * (Cu + Fe + 2 * S)}}));
  EXPECT_NEAR(melted.matte, 2 * Cu + S + 2 * FeS, 1e-9);
  EXPECT_NEAR(part(melted.gas, "S2"), S, 1e-9);
  // Ag2S = 2 Ag + S
  melted = melt_charge(charge_of({{"Ag2S", 2 * Ag + S}}));
  EXPECT_NEAR(part(melted.bar, "Ag"), 2 * Ag, 1e-9);
  EXPECT_EQ(melted.base_metal(), 0);
}

TEST(Oxygen, some_of_it) {
  // FeS2 + KNO3: 2.5 O of 5, so 2.5 / 3 S stay, as FeS with 2.5 / 3 Fe; 1.1667 SO2, 0.1667 FeO.
  const Melted melted = melt_charge(charge_of({{"pyrite", FeS2}}, {{"potassium nitrate", KNO3 / FeS2}}));
  EXPECT_NEAR(melted.matte, matte_from(2.5 / 3 * S), 1e-9);
  EXPECT_NEAR(part(melted.slag, "FeO"), FeO / 6, 1e-9);
  EXPECT_NEAR(part(melted.gas, "SO2"), 7 * SO2 / 6, 1e-9);
  EXPECT_EQ(part(melted.gas, "O2") + part(melted.gas, "S2"), 0);
}

TEST(Oxygen, none_for_carbon) {
  EXPECT_EQ(fault_of(charge_of({{"C", 1}, {"quartz", 1}})), Code::flux);
  EXPECT_EQ(fault_of(charge_of({{"Al", 1}, {"quartz", 1}})), Code::flux);
}

TEST(Oxygen, sulphate_wants_soda) {
  // FeS2 + 7 O: 2.8 KNO3, whose 1.4 K2O hold 1.4 of 2 SO3; with 0.6 Na2CO3 all of it.
  FurnaceCharge charge = charge_of({{"pyrite", FeS2}});
  charge.oxidising = Oxidising{"potassium nitrate", SulphurTo::sulphate};
  Melted melted = melt_charge(charge);
  EXPECT_NEAR(part(melted.slag, "SO3"), 2 * SO3, 1e-9);
  EXPECT_NEAR(melted.loose_sulphate, 0.6 * SO3, 1e-9);
  EXPECT_NEAR(mass_of(melted.gas), 2.8 * N, 1e-9);
  charge.flux.push_back({"soda ash", "Na2CO3", 0.6 * Na2CO3 / FeS2});
  melted = melt_charge(charge);
  EXPECT_EQ(melted.loose_sulphate, 0);
  EXPECT_NEAR(*melted.degree, 0, close);  // FeO alone is left as a base, and no silica
}

TEST(Halogens, stay_with_a_metal) {
  // Al2SiO4F2 + CaO = Al2O3 + SiO2 + CaF2; AgCl + ½ Na2CO3 = Ag + NaCl + ½ CO2 + ¼ O2.
  Melted melted = melt_charge(charge_of({{"Al2SiO4F2", 2 * 26.982 + Si + 4 * O + 2 * F}, {"CaO", Ca + O}}));
  EXPECT_NEAR(part(melted.slag, "CaF2"), Ca + 2 * F, 1e-9);
  EXPECT_EQ(part(melted.slag, "CaO"), 0);
  EXPECT_TRUE(melted.gas.empty());
  EXPECT_NEAR(melted.oxygen_wanted, 0, 1e-9);
  melted = melt_charge(charge_of({{"AgCl", Ag + Cl}}, {{"soda ash", Na2CO3 / 2 / (Ag + Cl)}}));
  EXPECT_NEAR(part(melted.slag, "NaCl"), Na + Cl, 1e-9);
  EXPECT_NEAR(part(melted.bar, "Ag"), Ag, 1e-9);
  EXPECT_NEAR(part(melted.gas, "O2"), O / 2, 1e-9);
  melted = melt_charge(charge_of({{"AgCl", Ag + Cl}}));
  EXPECT_NEAR(part(melted.gas, "Cl2"), Cl, 1e-9);
  EXPECT_EQ(fault_of(charge_of({{"Al2SiO4F2", 1}})), Code::flux);
}

// ---- Degree ----------------------------------------------------------------------------------

TEST(Degree, is_reached_with_silica_or_soda) {
  for (const SilicateDegree& one : silicate_degrees)
    for (const char* more : {"quartz", "FeO", "calcite"}) {
      FurnaceCharge charge = charge_of({{"magnetite", 5}, {"orthoclase", 2}, {more, 3}}, {{"borax", 0.3}});
      charge.degree = one.degree;
      const Melted melted = melt_charge(charge);
      EXPECT_NEAR(melted.degree.value(), one.degree, 1e-12) << one.name << more;
    }
  // Quartz to a bisilicate of soda: SiO2 + Na2CO3.
  FurnaceCharge charge = charge_of({{"quartz", SiO2}});
  charge.degree = 2;
  EXPECT_NEAR(melt_charge(charge).flux_mass, Na2CO3, 1e-9);
}

TEST(Degree, soda_of_borax_goes_with_its_boric_oxide) {
  // FeO + Na2B4O7: the degree of FeO + SiO2 alone is 2; with all bases and acids (2 + 6) / (1 + 1).
  const Melted melted = melt_charge(
      charge_of({{"FeO", FeO}, {"quartz", SiO2}}, {{"borax", (2 * Na + 4 * B + 7 * O) / (FeO + SiO2)}}));
  EXPECT_NEAR(melted.degree.value(), 2, 1e-12);
  EXPECT_NEAR(melted.acid_degree.value(), 4, 1e-12);
}

TEST(Degree, there_is_none) {
  FurnaceCharge gold = charge_of({{"Au", 1}}, {{"borax", 0.2}});
  EXPECT_FALSE(melt_charge(gold).degree.has_value());
  EXPECT_TRUE(melt_charge(gold).acid_degree.has_value());
  gold.degree = 1.5;
  EXPECT_EQ(fault_of(gold), Code::flux);
  FurnaceCharge sand = charge_of({{"quartz", 1}});
  sand.degree = 0.5;  // 4 Na2CO3 to a SiO2: 7.06
  EXPECT_EQ(fault_of(sand), Code::flux);
  sand.degree = 1;  // 3.53
  EXPECT_EQ(fault_of(sand), Code::ok);
}

TEST(Degree, barite_brings_no_base) {
  const Melted melted =
      melt_charge(charge_of({{"barite", 137.33 + S + 4 * O}, {"FeO", FeO}, {"quartz", SiO2}}));
  EXPECT_NEAR(melted.degree.value(), 2, 1e-12);
}

// ---- Every atom ------------------------------------------------------------------------------

struct RandomCharges {
  explicit RandomCharges(std::uint64_t seed) : random(seed) {}
  FurnaceCharge next() {
    static const std::vector<std::string> others{"Au", "Ag",        "AgCl", "AuTe2", "C",
                                                 "S",  "Al2SiO4F2", "NaCl", "CuO"},
        named = mineral_names(), reagents = reagent_names();
    FurnaceCharge charge;
    charge.mass = random.real(1e-3, 1e4);
    double left = 1;
    for (int i = random.whole(1, 8); i > 0; --i) {
      const std::string& name = random.chance(0.2) ? random.pick(others) : random.pick(named);
      if (name == "cinnabar") continue;
      const double share = random.real(0, left);
      left -= share;
      charge.minerals.push_back({std::string(mineral_formula(name)), share});
    }
    for (int i = random.whole(0, 4); i > 0; --i) {
      const std::string& name = random.chance(0.1) ? "MnO2" : random.pick(reagents);
      charge.flux.push_back({name, std::string(reagent_formula(name)), random.real(0, 1)});
    }
    if (random.chance(0.5))
      charge.oxidising = Oxidising{random.chance(0.5) ? "potassium nitrate" : "sodium nitrate",
                                   random.chance(0.3) ? SulphurTo::sulphate : SulphurTo::dioxide,
                                   random.chance(0.3) ? random.real(0, 1) : 0, random.chance(0.5)};
    if (random.chance(0.7)) charge.degree = random.real(0.4, 3);
    return charge;
  }
  Random random;
};

Amounts found_again(const Melted& melted) {
  Amounts atoms;
  for (const MeltParts* parts : {&melted.slag, &melted.bar, &melted.gas})
    for (const MeltPart& one : *parts) {
      const Amounts in_one = atoms_of(one.formula);
      for (const auto& [element, count] : in_one) atoms[element] += one.mass / mass_of(in_one) * count;
    }
  return atoms;
}
Amounts brought(const FurnaceCharge& charge, const Melted& melted) {
  Amounts atoms;
  auto add = [&](std::string_view formula, double mass) {
    const Amounts in_one = atoms_of(formula);
    for (const auto& [element, count] : in_one) atoms[element] += mass / mass_of(in_one) * count;
  };
  for (const ChargedMineral& one : charge.minerals) add(one.formula, charge.mass * one.share);
  for (const Reagent& one : melted.flux) add(one.formula, charge.mass * one.dose);
  return atoms;
}

TEST(Atoms, are_all_found_again) {
  RandomCharges charges(19);
  int melts = 0, mattes = 0, nitrates = 0, degrees = 0, metals = 0;
  for (int i = 0; i < 20'000; ++i) {
    const FurnaceCharge charge = charges.next();
    Melted melted;
    try {
      melted = melt_charge(charge);
    } catch (const Error& error) {
      EXPECT_EQ(error.complaint().code, Code::flux) << error.what();
      continue;
    }
    const double whole = charge.mass + melted.flux_mass;
    ASSERT_NEAR(into(melted) / whole, 1, 1e-12);
    for (const MeltParts* parts : {&melted.slag, &melted.bar, &melted.gas})
      for (const MeltPart& one : *parts) ASSERT_GT(one.mass, 0) << one.formula;
    if (charge.degree) ASSERT_NEAR(melted.degree.value(), *charge.degree, 1e-9);
    if (charge.oxidising) ASSERT_GE(melted.oxygen_given, melted.oxygen_wanted * (1 - 1e-12));
    ++melts, mattes += melted.matte > 0, metals += melted.base_metal() > 0;
    nitrates += melted.flux.size() > charge.flux.size() && charge.oxidising,
        degrees += charge.degree.has_value();
    if (melted.matte > 0) continue;  // of which only the mass is told
    const Amounts again = found_again(melted);
    for (const auto& [element, amount] : brought(charge, melted))
      ASSERT_NEAR(amount_of(again, element), amount, 1e-13 * whole) << element;
  }
  EXPECT_GT(melts, 15'000);
  EXPECT_GT(mattes, 2'000);
  EXPECT_GT(nitrates, 4'000);
  EXPECT_GT(degrees, 8'000);
  EXPECT_GT(metals, 300);
}

TEST(Atoms, mercury_is_refused) {
  EXPECT_EQ(fault_of(charge_of({{"cinnabar", 1}})), Code::mercury);
  EXPECT_EQ(fault_of(charge_of({{"Hg", 1}, {"quartz", 1}})), Code::mercury);
}

TEST(Crucibles, whole_ones) {
  EXPECT_EQ(crucible_charges(30, 2.5, 6, 0.5), 4);  // 12 L in pots of 3 L: exactly four
  EXPECT_EQ(crucible_charges(30.01, 2.5, 6, 0.5), 5);
}

TEST(MetalInSlag, worth_and_what_treating_it_again_leaves) {
  // 20 kg at 60 g/t: 1.2 g; at 80 USD/g 96 USD; 70 % of it less 20 kg at 0.15 USD: 64.2.
  const MetalInSlag kept = metal_in_slag(20, 60e-6, 80'000, 0.7, 0.15);
  EXPECT_NEAR(kept.content, 1.2e-3, 1e-15);
  EXPECT_NEAR(kept.worth, 96, 1e-9);
  EXPECT_NEAR(kept.retreating_leaves, 64.2, 1e-9);
}

// ---- Cautions --------------------------------------------------------------------------------

std::string told(const FurnaceCharge& charge, bool mercury_tested = true) {
  std::string text;
  for (const Caution& one : melt_cautions(charge, melt_charge(charge), mercury_tested))
    text += one.at + ": " + one.what + '\n';
  return text;
}
bool holds(const std::string& text, const char* words) { return text.find(words) != text.npos; }

TEST(FluxCautions, by_what_is_there) {
  const FurnaceCharge plain = charge_of({{"Au", 9}, {"FeO", 1}}, {{"borax", 0.1}});
  std::string text = told(plain);
  EXPECT_TRUE(holds(text, "taken as dry")) << text;
  EXPECT_TRUE(holds(told(plain, false), "Mercury was not tested"));
  for (const char* words : {"Mercury", "poisonous", "sulphur", "Nitrate", "silica", "crystallisation",
                            "foams", "Matte", "Base metal", "named by no mineral", "lining"})
    EXPECT_FALSE(holds(text, words)) << words << '\n' << text;

  FurnaceCharge charge = charge_of({{"Au", 5}, {"pyrite", 3}, {"quartz", 2}}, {{"borax decahydrate", 0.1}});
  text = told(charge);
  for (const char* words : {"sulphur dioxide", "crystalline silica", "crystallisation", "foams", "Matte"})
    EXPECT_TRUE(holds(text, words)) << words << '\n' << text;
  charge.oxidising = Oxidising{"sodium nitrate"};
  text = told(charge);
  for (const char* words : {"Nitrate with sulphides", "lining"})
    EXPECT_TRUE(holds(text, words)) << words << '\n' << text;
  EXPECT_FALSE(holds(text, "Matte")) << text;

  // Fluorspar is no metal powder; charcoal burns with nitrate as such.
  text = told(charge_of({{"Au", 9}, {"quartz", 1}}, {{"fluorspar", 0.1}, {"potassium nitrate", 0.1}}));
  EXPECT_FALSE(holds(text, "Nitrate with")) << text;
  EXPECT_TRUE(holds(text, "lining")) << text;
  EXPECT_TRUE(holds(told(charge_of({{"Au", 9}, {"C", 1}}, {{"potassium nitrate", 1}})), "Nitrate with"));

  text = told(charge_of({{"Au", 5}, {"lead shot", 3}, {"AgCl", 1}}));
  for (const char* words : {"Arsenic, antimony, lead", "Base metal, 3 kg", "Chlorine"})
    EXPECT_TRUE(holds(text, words)) << words << '\n' << text;
  FurnaceCharge part_named = plain;
  part_named.minerals[1].share = 0.02;
  EXPECT_TRUE(holds(told(part_named), "8 % of the charge is named by no mineral"));
}

TEST(FluxCautions, dangers_defer_to_local_rules) {
  FurnaceCharge charge =
      charge_of({{"arsenopyrite", 3}, {"quartz", 1}, {"Au", 1}, {"AgCl", 1}}, {{"borax decahydrate", 0.1}});
  for (const Caution& one : melt_cautions(charge, melt_charge(charge), false))
    EXPECT_TRUE(holds(one.what, "Local rules and licensed practice come first.")) << one.what;
}

// ---- Documents -------------------------------------------------------------------------------

OrderedJson flux_answer(const OrderedJson& request, std::vector<Complaint>* complaints = nullptr) {
  const DocumentLimits limits;
  std::vector<Complaint> told;
  const std::string text = bench_answer(read_json(request.dump(), limits), limits, Watch(), told);
  if (complaints != nullptr) {
    *complaints = told;
    return {};
  }
  for (const Complaint& one : told) ADD_FAILURE() << one.pointer << ": " << one.text;
  return told.empty() ? OrderedJson::parse(text) : OrderedJson::object();
}
OrderedJson small_charge() {
  return OrderedJson::parse(
      R"({"format": "buttonworth-charge/1", "currency": "USD", "exchange": {"PEN": "0.25 USD"},
    "charge": {"mass": "20 kg", "minerals": {"Au": "40 %", "magnetite": "40 %", "pyrite": "10 %", "quartz": "10 %", "Hg": "0 %"}},
    "flux": [{"reagent": "borax", "dose": "0.3 kg/kg", "price": {"value": "2 USD/kg", "rsd": "10 %"}},
             {"reagent": "MnO2", "dose": "20 g/g", "price": "8 PEN/kg"}, {"reagent": "fluorspar", "dose": "0 kg/kg"}],
    "degree": "sesquisilicate", "oxidise": {"with": "sodium nitrate"}, "slag_grade": {"Au": "50 g/t"},
    "reagent_prices": {"silica": "0.4 USD/kg", "sodium nitrate": "1.1 USD/kg"}})");
}

TEST(FluxDocument, its_flux_goes_into_a_plan_as_it_stands) {
  OrderedJson request = small_charge();
  request["flux"][1]["dose"] = "0.02 kg/kg";
  const OrderedJson answer = flux_answer(request);
  ASSERT_EQ(answer["flux"].size(), 4U);  // borax, MnO2, nitrate, silica; no fluorspar
  EXPECT_EQ(answer["flux"][0]["price"], request["flux"][0]["price"]);
  EXPECT_EQ(answer["flux"][1]["price"], "2 USD/kg");
  EXPECT_EQ(answer["flux"][2]["reagent"], "sodium nitrate");
  EXPECT_FALSE(answer["flux"][0].contains("stays"));
  const std::string stays = answer["flux"][1]["stays"];
  EXPECT_NEAR(std::stod(stays), 100 * (Mn + O) / (Mn + 2 * O), 1e-5);

  const OrderedJson furnace{{"kind", "melt"}, {"to_bar", {{"Au", "100 %"}}}, {"flux", answer["flux"]}};
  const OrderedJson lot{{"wet_mass", "20 kg"}, {"assays", {{"Au", "40 %"}}}};
  const OrderedJson kept{{"keep", true}};
  const auto plan = plan_from(plain_plan(lot, {{"furnace", furnace}}, OrderedJson::object(),
                                         {{"step", "furnace"}, {"bar", kept}, {"slag", kept}}));
  const Outcome outcome = in_double(*plan, plan->routes.front());
  EXPECT_FALSE(outcome.impossible()) << outcome.fault;
  // What the reagents cost there is what they cost here: eight digits of each dose.
  const double cost = std::stod(answer["cost"].get<std::string>());
  EXPECT_NEAR(to_double(outcome.cash), -cost, 1e-6 * cost);
  double by_hand = 20 * (0.3 * 2 + 0.02 * 2);
  for (int i : {2, 3})
    by_hand += 20 * std::stod(answer["flux"][i]["dose"].get<std::string>()) * (i == 2 ? 1.1 : 0.4);
  EXPECT_NEAR(cost, by_hand, 1e-6 * cost);
}

TEST(FluxDocument, uncertain_figures_reach_the_gold_in_the_slag) {
  // 100 kg, half of it quartz, pyrite 10 ± 1 %, the rest inert. Slag = 50 + pyrite (FeO + K2O of its nitrate)
  // + rest; a kg of pyrite more makes FeO/FeS2 + K2O/FeS2 - 1 of slag more, 2 KNO3 making one K2O.
  OrderedJson request = OrderedJson::parse(R"({"format": "buttonworth-charge/1", "currency": "USD",
    "charge": {"mass": "100 kg", "minerals": {"quartz": "50 %", "pyrite": {"value": "10 %", "sd": "1 %"}, "Au": "1 %"}},
    "oxidise": {"with": "potassium nitrate"}, "slag_grade": {"Au": {"value": "50 g/t", "sd": "5 g/t"}},
    "prices": {"Au": "80 USD/g"}, "retreatment": {"recovery": {"Au": {"value": "60 %", "sd": "6 %"}}, "cost": "200 USD/t"}})");
  const double slope = (FeO + K2O) / FeS2 - 1, slag = 99 + 10 * slope;
  const OrderedJson found = flux_answer(request)["in_slag"]["Au"];
  auto value = [&](const char* what, const char* which) {
    return std::stod(found[what][which].get<std::string>());
  };
  const double content = slag * 50e-3, sd = std::hypot(slag * 5e-3, slope * 50e-3);
  EXPECT_NEAR(value("content", "value"), content, 1e-7);
  EXPECT_NEAR(value("content", "sd"), sd, 1e-4);
  EXPECT_NEAR(value("of_charge", "value"), content / 10, 1e-7);
  EXPECT_NEAR(value("worth", "value"), 80 * content, 1e-4);
  EXPECT_NEAR(value("worth", "sd"), 80 * sd, 1e-2);
  EXPECT_NEAR(value("retreating_leaves", "value"), 48 * content - 0.2 * slag, 1e-4);
  EXPECT_NEAR(value("retreating_leaves", "sd"),
              std::hypot(48 * slag * 5e-3, std::hypot(slope * (48 * 50e-3 - 0.2), 80 * content * 0.06)),
              1e-2);
  request["charge"]["minerals"]["pyrite"] = "10 %";
  request["slag_grade"]["Au"] = "50 g/t";
  EXPECT_TRUE(flux_answer(request)["in_slag"]["Au"]["content"].is_string());
}

TEST(FluxDocument, what_is_wrong_is_told_at_its_place) {
  struct Row {
    const char *pointer, *value;  ///< put there
    Code code;
    const char *at, *words;
  };
  for (const Row& row : {
           Row{"/charge/minerals/qurtz", R"("1 %")", Code::name, "/charge/minerals/qurtz", "quartz"},
           Row{"/charge/minerals/pyrite", R"("60 %")", Code::assays, "/charge/minerals", "150 %"},
           Row{"/charge/minerals/pyrite", R"("-1 %")", Code::range, "/charge/minerals/pyrite", "0 to 100"},
           Row{"/charge/minerals/cinnabar", R"("0.1 ppm")", Code::mercury, "/charge/minerals/cinnabar",
               "retort"},
           Row{"/charge/minerals/Hg", R"("1 ppm")", Code::mercury, "/charge/minerals/Hg", "retort"},
           Row{"/charge/mass", R"("0 kg")", Code::range, "/charge/mass", "more than 0"},
           Row{"/flux/0/reagent", R"("bprax")", Code::name, "/flux/0/reagent", "borax"},
           Row{"/flux/0/reagent", R"("HgO")", Code::mercury, "/flux/0/reagent", "retort"},
           Row{"/flux/0/reagent", R"("steel")", Code::range, "/flux/0/reagent", "minerals"},
           Row{"/flux/0/dose", R"("-0.1 kg/kg")", Code::range, "/flux/0/dose", "0 or more"},
           Row{"/flux/0/of", R"("gangue")", Code::range, "/flux/0/of", "charge"},
           Row{"/reagent_prices/silca", R"("1 USD/kg")", Code::name, "/reagent_prices/silca", "silica"},
           Row{"/degree", R"("sesquisilcate")", Code::quantity, "/degree", "sesquisilicate"},
           Row{"/degree", R"("-1")", Code::range, "/degree", "more than 0"},
           Row{"/degree", R"("15")", Code::range, "/degree", "trisilicate"},
           Row{"/degree", "1.5", Code::type, "/degree", "text"},
           Row{"/oxidise/with", R"("nitre")", Code::range, "/oxidise/with", "potassium nitrate"},
           Row{"/oxidise/excess", R"("-5 %")", Code::range, "/oxidise/excess", "0 or more"},
           Row{"/slag_grade", R"({"Cu": "1 %"})", Code::name, "/slag_grade/Cu", "bar"},
           Row{"/slag_grade", R"({"Ag": "1 g/t"})", Code::name, "/slag_grade/Ag", "hold no Ag"},
           Row{"/slag_grade", R"({"Au": "99 %"})", Code::flux, "/slag_grade/Au", "more Au"},
           Row{"/retreatment", R"({"recovery": {"Au": "50 %"}, "cost": "1 USD/kg"})", Code::name,
               "/retreatment/recovery/Au", "no price of Au"},
           Row{"/retreatment", R"({"recovery": {"Ag": "50 %"}, "cost": "1 USD/kg"})", Code::name,
               "/retreatment/recovery/Ag", "slag_grade says nothing"},
       }) {
    OrderedJson request = small_charge();
    request["flux"][1]["dose"] = "0.02 kg/kg";
    request[OrderedJson::json_pointer(row.pointer)] = OrderedJson::parse(row.value);
    std::vector<Complaint> told;
    flux_answer(request, &told);
    std::string all;
    bool found = false;
    for (const Complaint& one : told) {
      all += one.pointer + ": " + one.text + '\n';
      found |= one.code == row.code && one.pointer == row.at && one.text.find(row.words) != one.text.npos;
    }
    EXPECT_TRUE(found) << row.pointer << ' ' << row.value << '\n' << all;
  }
}

TEST(FluxDocument, what_the_sum_cannot_do_is_told) {
  const OrderedJson gold = OrderedJson::parse(
      R"({"format": "buttonworth-charge/1", "charge": {"mass": "1 kg", "minerals": {"Au": "100 %"}},
    "flux": [{"reagent": "borax", "dose": "0.1 kg/kg"}], "degree": "1.5"})");
  std::vector<Complaint> told;
  flux_answer(gold, &told);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].code, Code::flux);
  EXPECT_EQ(told[0].pointer, "/degree");
  OrderedJson coal = gold;
  coal["charge"]["minerals"] = {{"C", "50 %"}};
  coal.erase("degree");
  flux_answer(coal, &told);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].pointer, "/charge");
  OrderedJson unpriced = gold;
  unpriced.erase("degree");
  EXPECT_FALSE(flux_answer(unpriced).contains("currency"));
  unpriced["flux"][0]["price"] = "1 USD/kg";
  flux_answer(unpriced, &told);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_NE(told[0].text.find("currency"), std::string::npos);
}

}  // namespace
}  // namespace buttonworth::test
