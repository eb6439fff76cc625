// Sampling errors, counts of grains, screened assays, replicates, run sheets, bars, waiting, against
// published figures.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "bench/bar.hpp"
#include "bench/figure.hpp"
#include "bench/formulas.hpp"
#include "bench/lot_size.hpp"
#include "bench/replicates.hpp"
#include "bench/run_sheet.hpp"
#include "bench/sampling.hpp"
#include "quantity/error.hpp"

namespace buttonworth {
namespace {

// ---- Gy's fundamental error ------------------------------------------------------------------

/// Wills' Mineral Processing Technology, 7th ed., App. III: an ore of 5 % metal in a mineral of 86.6 %, to ±2
/// % at 95 %. The printed masses come out only with a size range factor of 1 instead of the usual 0.25, z
/// = 1.96, and the safety factor of 2.
SampledMaterial wills(double top_size) {
  SampledMaterial ore;
  ore.top_size = top_size;
  ore.shape = 0.5;
  ore.size_range = 1;
  ore.liberation_size = 0.015;
  ore.mineral = 5 / 86.6;
  ore.mineral_density = 7.5;
  ore.gangue_density = 2.65;
  return ore;
}
double wills_sample(double top_size) {
  return 2 * smallest_sample(sampling_constant(wills(top_size)), 0.02 / 1.96);
}

TEST(FundamentalError, wills) {
  EXPECT_NEAR(wills_sample(2.5), 1'369'632, 1);   // printed
  EXPECT_NEAR(wills_sample(0.5), 24'501, 1);      // printed
  EXPECT_NEAR(wills_sample(0.1), 438, 0.5);       // printed
  EXPECT_NEAR(wills_sample(0.004), 0.07, 0.005);  // printed
}

TEST(SamplingError, error_and_smallest_sample_are_each_others_inverse) {
  const double constant = sampling_constant(wills(0.5));
  for (const std::optional<double>& lot : {std::optional<double>(), std::optional<double>(50'000)}) {
    const double sample = smallest_sample(constant, 0.01, lot);
    EXPECT_NEAR(sampling_error(constant, sample, lot), 0.01, 1e-12);
  }
  EXPECT_LT(smallest_sample(constant, 0.01, 50'000), smallest_sample(constant, 0.01));
}

TEST(SamplingError, a_whole_lot_has_none) {
  EXPECT_EQ(sampling_error(sampling_constant(wills(0.5)), 900, 900), 0);
}

TEST(FundamentalError, what_cannot_be) {
  SampledMaterial ore = wills(0.5);
  ore.mineral = 0;
  EXPECT_THROW(sampling_constant(ore), Error);
  ore.mineral = 1;
  EXPECT_THROW(sampling_constant(ore), Error);
  EXPECT_THROW(sampling_error(1, 0), Error);
}

// ---- Grains ----------------------------------------------------------------------------------

TEST(Grains, thirty_grams_of_fine_gold) {
  // 300 micrograms in spheres of 0.01 cm and 19.3 g/cm3: computed two ways, no printed answer.
  const GoldGrains grains{sphere_mass(0.01, 19.3), 0};
  EXPECT_NEAR(expected_grains(grains, 30, 10e-6), 29.68693, 5e-6);
  EXPECT_NEAR(100 * sampling_error(sampling_constant(grains, 10e-6), 30), 18.353, 5e-4);
}

TEST(Grains, twenty_are_within_half) {
  // The rule of twenty grains: Clifton and others, USGS Professional Paper 625-C; the figure computed.
  EXPECT_NEAR(chance_within(20, 0.5), 0.98153, 5e-6);
}

TEST(Grains, chance_within_of_more_than_can_be_summed) {
  // 1 sd on either side, and half a grain.
  const double expected = std::erf(1.000005 / std::sqrt(2.0));
  EXPECT_NEAR(chance_within(1e10, 1e-5), expected, 1e-12);
  EXPECT_NEAR(chance_within(1e9, 1e-4), chance_within(1.0001e9, 1e-4), 1e-4);  // either way, 3 sd
  EXPECT_EQ(chance_within(1e300, 0.5), 1);
}

TEST(Grains, chance_within_counts_both_ends) {
  // Of an expected 2, 1 to 3: e^-2 (2 + 2 + 4/3).
  EXPECT_NEAR(chance_within(2, 0.5), std::exp(-2.0) * (2 + 2 + 4.0 / 3), 1e-14);
  // Of an expected 0.4 within a tenth there is no whole number.
  EXPECT_EQ(chance_within(0.4, 0.1), 0);
}

TEST(Grains, a_spread_of_sizes_widens_the_error) {
  GoldGrains grains{sphere_mass(0.01, 19.3), 0};
  const double alike = sampling_error(sampling_constant(grains, 10e-6), 30);
  grains.mass_spread = std::sqrt(3.0);
  EXPECT_NEAR(sampling_error(sampling_constant(grains, 10e-6), 30), 2 * alike, 1e-12);
}

// ---- Stages ----------------------------------------------------------------------------------

/// 30 g of a pulp that holds so many grains of gold at 10 g/t.
SamplingStage portion(double grains) {
  SamplingStage stage;
  stage.sample = 30;
  stage.grains = GoldGrains{30 * 10e-6 / grains, 0};
  return stage;
}

TEST(StageError, the_count_applies_below_twenty_grains_and_where_it_is_worse) {
  SamplingStage stage = portion(19.9);
  stage.material = wills(0.1);
  EXPECT_EQ(stage_error(stage, 10e-6).rule, SamplingRule::grain_count);
  EXPECT_NEAR(stage_error(stage, 10e-6).error, 1 / std::sqrt(19.9), 1e-12);
  stage.grains = portion(20.1).grains;  // enough of them, and still the worse
  EXPECT_EQ(stage_error(stage, 10e-6).rule, SamplingRule::grain_count);
  stage.grains = portion(2000).grains;
  EXPECT_EQ(stage_error(stage, 10e-6).rule, SamplingRule::fundamental_error);
  EXPECT_DOUBLE_EQ(stage_error(stage, 10e-6).error, sampling_error(sampling_constant(wills(0.1)), 30));
  stage.material.reset();
  EXPECT_EQ(stage_error(stage, 10e-6).rule, SamplingRule::grain_count);
}

TEST(StageError, its_own_error_comes_on_top) {
  SamplingStage stage = portion(25);
  stage.own_error = 0.15;
  EXPECT_NEAR(stage_error(stage, 10e-6).error, 0.25, 1e-12);  // 3, 4, 5
  stage.sample.reset(), stage.grains.reset();
  EXPECT_EQ(stage_error(stage, 10e-6).rule, SamplingRule::stated);
  EXPECT_EQ(stage_error(stage, 10e-6).error, 0.15);
}

TEST(ProtocolError, repeated_stages_are_divided_and_never_below_what_is_found) {
  std::vector<SamplingStage> stages(2);
  stages[0].own_error = 0.03, stages[1].own_error = 0.08, stages[1].repeated = true;
  std::vector<StageError> errors{stage_error(stages[0], 1e-5), stage_error(stages[1], 1e-5)};
  EXPECT_NEAR(protocol_error(stages, errors, 4, 0.01), 0.05, 1e-15);   // 0.03 and 0.08 / 2
  EXPECT_NEAR(protocol_error(stages, errors, 16, 0.04), 0.05, 1e-15);  // 0.02 expected, 0.04 found
}

// ---- Screened assays -------------------------------------------------------------------------

TEST(ScreenedGrade, beringer) {
  // Beringer, A Text-book of Assaying: 1 g of metallics holding 0.842 g of silver, 399 g of siftings at 0.525
  // %: 0.7342 % and 239.84 ounces to the long ton, as printed (32,666.667 ounces of which are a long ton).
  const double found = screened_grade(1, 0.842, 399, 0.00525);
  EXPECT_NEAR(100 * found, 0.7342, 5e-5);
  EXPECT_NEAR(found * 98'000 / 3, 239.84, 0.02);  // from the rounded percentage
}

TEST(ScreenedGrade, two_determinations_of_the_fine_part) {
  // (8.960 mg + 977.6 g x 12.35 g/t) / 1 kg: computed two ways, no printed answer.
  EXPECT_NEAR(screened_grade(22.4, 0.008960, 977.6, 12.35e-6), 21.03336e-6, 1e-12);
}

TEST(ScreenedGrade, wants_a_mass) { EXPECT_THROW(screened_grade(0, 0, 0, 0), Error); }

// ---- Uncertainty -----------------------------------------------------------------------------

TEST(Propagated, a_quotient_and_a_sum) {
  // JCGM 100:2008, 5.1.6: relative variances of factors add; 5.1.5: variances of terms add.
  const auto found = propagated({{6, 0.3}, {2, 0.08}, {7, 0}}, [](const std::vector<double>& x) {
    return std::vector<double>{x[0] / x[1], x[0] + x[1] + x[2]};
  });
  EXPECT_DOUBLE_EQ(found[0].value, 3);
  EXPECT_NEAR(found[0].sd, 3 * std::hypot(0.05, 0.04), 1e-8);
  EXPECT_NEAR(found[1].sd, std::hypot(0.3, 0.08), 1e-10);
}

TEST(Propagated, at_the_end_of_what_the_formula_allows) {
  // Nothing above 1 or below 0: the slope is that of the other side.
  const auto within = [](const std::vector<double>& x) {
    if (x[0] > 1 || x[0] < 0) throw Error(Code::range, "beyond");
    return 3 * x[0];
  };
  EXPECT_NEAR(propagated_one({{1, 0.2}}, within).sd, 0.6, 1e-10);
  EXPECT_NEAR(propagated_one({{0, 0.2}}, within).sd, 0.6, 1e-10);
  EXPECT_NEAR(propagated_one({{0.5, 5000}}, within).sd, 15000, 1e-6);  // less than a thousandth either way
  EXPECT_THROW(propagated_one({{1.5, 0.2}}, within), Error);
}

// ---- Replicates ------------------------------------------------------------------------------

TEST(Replicates, nist_numacc4) {
  // NIST, Statistical Reference Datasets, NumAcc4: mean 10000000.2 and sd 0.1, certified.
  std::vector<double> values{10000000.2};
  for (int i = 0; i < 500; ++i) values.push_back(10000000.1), values.push_back(10000000.3);
  const Replicates found = replicates(values);
  EXPECT_DOUBLE_EQ(found.mean, 10000000.2);
  EXPECT_NEAR(found.sd, 0.1, 1e-9);  // the values themselves are good to 1e-9
}

TEST(Replicates, one_and_none) {
  EXPECT_EQ(replicates({3}).sd, 0);
  EXPECT_EQ(replicates({}).count, 0U);
}

TEST(Replicates, far_from_the_rest) {
  // The median is 8, the distances 0.1 0 0.1 0 2: their median 0.1, so beyond 0.519.
  EXPECT_EQ(far_from_the_rest({7.9, 8.0, 8.1, 8.0, 10.0}), std::vector<std::size_t>{4});
  EXPECT_TRUE(far_from_the_rest({7.9, 8.0, 8.1, 10.0}).empty());  // too few to tell
  EXPECT_TRUE(far_from_the_rest({7.9, 8.0, 8.1, 8.0, 10.0}, {0, 0, 0, 0, 2.5}).empty());
}

TEST(Replicates, duplicates) {
  // Differences of 2 and 4 % of the means: sqrt((0.02^2 + 0.04^2) / 4).
  EXPECT_NEAR(duplicate_rsd({{101, 99}, {49, 51}, {0, 0}}), std::sqrt((0.0004 + 0.0016) / 4), 1e-12);
  EXPECT_EQ(duplicate_rsd({}), 0);
}

// ---- Run sheets ------------------------------------------------------------------------------

TEST(CyclesMass, all_weighed_or_some) {
  const std::vector<Figure> rinses{{7, 0.1}, {9, 0.1}};
  const Figure all = cycles_mass(rinses);
  EXPECT_DOUBLE_EQ(all.value, 16);
  EXPECT_NEAR(all.sd, std::hypot(0.1, 0.1), 1e-12);  // nothing is left to chance but the balance
  const Figure some = cycles_mass(rinses, 96);
  EXPECT_DOUBLE_EQ(some.value, 768);
  // s^2 = 2: 96 sqrt(2 / 2 x (1 - 2 / 96) + 2 x 0.1^2 / 4).
  EXPECT_NEAR(some.sd, 96 * std::sqrt(1 - 2.0 / 96 + 0.005), 1e-9);
  EXPECT_THROW(cycles_mass(rinses, 1), Error);
  EXPECT_THROW(cycles_mass({}), Error);
}

TEST(Moisture, what_cannot_be) {
  EXPECT_DOUBLE_EQ(moisture_of(110, 98, 10), 0.12);
  EXPECT_THROW(moisture_of(98, 110, 10), Error);
  EXPECT_THROW(moisture_of(110, 98, 99), Error);
  EXPECT_THROW(moisture_of(10, 10, 10), Error);
  EXPECT_THROW(dry_mass(100, 11), Error);  // 11 % is 0.11
}

TEST(MeanFigure, is_no_surer_than_its_weighings) {
  EXPECT_NEAR(mean_figure({{0.12, 0}, {0.14, 0}}).sd, 0.01, 1e-15);
  EXPECT_NEAR(mean_figure({{0.13, 0.02}, {0.13, 0.02}}).sd, 0.02 / std::sqrt(2.0), 1e-15);
}

// ---- Bars ------------------------------------------------------------------------------------

/// Density of an alloy whose volumes add up: 1 ÷ Σ share ÷ density.
double alloy_density(const std::vector<double>& shares, const std::vector<double>& densities) {
  double volume = 0;
  for (std::size_t i = 0; i < shares.size(); ++i) volume += shares[i] / densities[i];
  return 1 / volume;
}

TEST(AlloyDensity, rose) {
  // Rose, The Metallurgy of Gold, Table XIII: gold and silver as measured, and gold, silver and copper.
  // Volumes that add up, with the densities of the time (19.26, 10.45, 8.9), come within 0.8 %.
  struct Alloy {
    double gold, silver, copper, printed;
  };
  for (const Alloy& a : {Alloy{0.917, 0.083, 0, 18.08},
                         {0.750, 0.250, 0, 16.03},
                         {0.500, 0.500, 0, 13.60},
                         {0.583, 0.104, 0.313, 13.33}}) {
    const double ideal = alloy_density({a.gold, a.silver, a.copper}, {19.26, 10.45, 8.9});
    EXPECT_NEAR(ideal / a.printed, 1, 0.008) << a.gold;
  }
}

TEST(AlloyDensity, ideal_volumes_computed_two_ways) {
  // No printed answer: 18.000, 15.907, 13.549 with 19.26 and 10.45.
  EXPECT_NEAR(alloy_density({0.917, 0.083}, {19.26, 10.45}), 18.000, 5e-4);
  EXPECT_NEAR(alloy_density({0.750, 0.250}, {19.26, 10.45}), 15.907, 5e-4);
  EXPECT_NEAR(alloy_density({0.500, 0.500}, {19.26, 10.45}), 13.549, 5e-4);
}

TEST(GoldByDensity, undoes_the_alloy) {
  for (double gold : {0.0, 0.4, 0.9167, 1.0}) {
    const double density = alloy_density({gold, 1 - gold}, {gold_density, copper_density});
    EXPECT_NEAR(gold_by_density(density, copper_density), gold, 1e-13);
  }
  EXPECT_THROW(gold_by_density(16, 19.35), Error);
  EXPECT_THROW(melt_loss(0, 0), Error);
}

TEST(DensityByWater, what_cannot_be) {
  EXPECT_NEAR(density_by_water(1000, 940, 1), 1000.0 / 60, 1e-12);
  EXPECT_THROW(density_by_water(940, 1000), Error);
  EXPECT_THROW(density_by_water(1000, 0), Error);
}

// ---- Waiting ---------------------------------------------------------------------------------

TEST(EvenIncome, is_worth_what_the_lots_are) {
  // Lots of 100 after each 30 days, for 2000 years, against the same income a day, discounted at 20 %.
  const double income = even_income(100, 30, 0.2), force = std::log(1.2) / 365;
  double lots = 0;
  for (int k = 1; k < 24'000; ++k) lots += 100 * std::exp(-force * 30 * k);
  EXPECT_NEAR(income / force, lots, 1e-9 * lots);
  EXPECT_DOUBLE_EQ(even_income(100, 30, 0), 100.0 / 30);
}

TEST(EconomicWait, is_the_best_of_the_first_order) {
  // Where little is lost by waiting: F ÷ T + v λ T ÷ 2 is least.
  const double wait = economic_wait(500, 160, 0.01), force = std::log(1.01) / 365;
  const auto cost = [&](double days) { return 500 / days + 160 * force * days / 2; };
  EXPECT_LT(cost(wait), cost(1.001 * wait));
  EXPECT_LT(cost(wait), cost(0.999 * wait));
  EXPECT_THROW(economic_wait(500, 160, 0), Error);
  EXPECT_THROW(economic_wait(-1, 160, 0.2), Error);
  EXPECT_THROW(even_income(100, 0, 0.2), Error);
  EXPECT_THROW(even_income(100, 10, -0.1), Error);
}

// ---- Formulas --------------------------------------------------------------------------------

TEST(Formulas, names_are_told_apart_and_none_takes_too_many) {
  std::vector<std::string_view> names;
  for (const NamedFormula& one : named_formulas()) {
    EXPECT_LE(one.arguments.size(), most_arguments) << one.name;
    bool may_be_left_out = false;
    for (const FormulaArgument& argument : one.arguments) {
      EXPECT_TRUE(argument.otherwise || !may_be_left_out)
          << one.name << ": " << argument.name << " comes too late";
      may_be_left_out |= argument.otherwise.has_value();
    }
    EXPECT_EQ(std::count(names.begin(), names.end(), one.name), 0) << one.name;
    names.push_back(one.name);
  }
}

}  // namespace
}  // namespace buttonworth
