// Sampling errors, counts of grains, screened assays and replicates, against published figures.

#include <gtest/gtest.h>

#include <cmath>

#include "bench/replicates.hpp"
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
double wills_sample(double top_size) { return 2 * smallest_sample(wills(top_size), 0.02 / 1.96); }

TEST(FundamentalError, wills) {
  EXPECT_NEAR(wills_sample(2.5), 1'369'632, 1);   // printed
  EXPECT_NEAR(wills_sample(0.5), 24'501, 1);      // printed
  EXPECT_NEAR(wills_sample(0.1), 438, 0.5);       // printed
  EXPECT_NEAR(wills_sample(0.004), 0.07, 0.005);  // printed
}

TEST(FundamentalError, error_and_smallest_sample_are_each_others_inverse) {
  const SampledMaterial ore = wills(0.5);
  for (const std::optional<double>& lot : {std::optional<double>(), std::optional<double>(50'000)}) {
    const double sample = smallest_sample(ore, 0.01, lot);
    EXPECT_NEAR(fundamental_error(ore, sample, lot), 0.01, 1e-12);
  }
  EXPECT_LT(smallest_sample(ore, 0.01, 50'000), smallest_sample(ore, 0.01));
}

TEST(FundamentalError, a_whole_lot_has_none) { EXPECT_EQ(fundamental_error(wills(0.5), 900, 900), 0); }

TEST(FundamentalError, stages_add_by_squares) { EXPECT_NEAR(stages_together({0.03, 0.04}), 0.05, 1e-15); }

TEST(FundamentalError, what_cannot_be) {
  SampledMaterial ore = wills(0.5);
  ore.mineral = 0;
  EXPECT_THROW(fundamental_error(ore, 100), Error);
  ore.mineral = 1;
  EXPECT_THROW(fundamental_error(ore, 100), Error);
  EXPECT_THROW(fundamental_error(wills(0.5), 0), Error);
}

// ---- Grains ----------------------------------------------------------------------------------

TEST(Grains, thirty_grams_of_fine_gold) {
  // 300 micrograms in spheres of 0.01 cm and 19.3 g/cm3: computed two ways, no printed answer.
  const GoldGrains grains = spherical_grains(0.01, 19.3);
  EXPECT_NEAR(expected_grains(grains, 30, 10e-6), 29.68693, 5e-6);
  EXPECT_NEAR(100 * grain_count_error(grains, 30, 10e-6), 18.353, 5e-4);
}

TEST(Grains, twenty_are_within_half) {
  // The rule of twenty grains: Clifton and others, USGS Professional Paper 625-C; the figure computed.
  EXPECT_NEAR(chance_within(20, 0.5), 0.98153, 5e-6);
}

TEST(Grains, chance_within_counts_both_ends) {
  // Of an expected 2, 1 to 3: e^-2 (2 + 2 + 4/3).
  EXPECT_NEAR(chance_within(2, 0.5), std::exp(-2.0) * (2 + 2 + 4.0 / 3), 1e-14);
  // Of an expected 0.4 within a tenth there is no whole number.
  EXPECT_EQ(chance_within(0.4, 0.1), 0);
}

TEST(Grains, a_spread_of_sizes_widens_the_error) {
  GoldGrains grains = spherical_grains(0.01, 19.3);
  const double alike = grain_count_error(grains, 30, 10e-6);
  grains.mass_spread = std::sqrt(3.0);
  EXPECT_NEAR(grain_count_error(grains, 30, 10e-6), 2 * alike, 1e-12);
  EXPECT_NEAR(grain_count_error(grains, smallest_sample(grains, 10e-6, 0.05), 10e-6), 0.05, 1e-12);
}

// ---- Screened assays -------------------------------------------------------------------------

TEST(ScreenedGrade, beringer) {
  // Beringer, A Text-book of Assaying: 1 g of metallics holding 0.842 g of silver, 399 g of siftings at 0.525
  // %: 0.7342 % and 239.84 ounces to the long ton, as printed (32,666.667 ounces of which are a long ton).
  const ScreenedGrade found = screened_grade({1, 0.842, 0, 399, {0.00525}});
  EXPECT_NEAR(100 * found.grade, 0.7342, 5e-5);
  EXPECT_NEAR(found.grade * 98'000 / 3, 239.84, 0.02);  // from the rounded percentage
}

TEST(ScreenedGrade, two_determinations_of_the_fine_part) {
  // (8.960 mg + 977.6 g x 12.35 g/t) / 1 kg; the fine part's mean is good to 0.25 g/t.
  const ScreenedGrade found = screened_grade({22.4, 0.008960, 0.01, 977.6, {12.1e-6, 12.6e-6}});
  EXPECT_NEAR(found.grade, 21.03336e-6, 1e-12);
  EXPECT_NEAR(found.sd, std::hypot(8.960e-3 * 0.01, 977.6 * 0.25e-6) / 1000, 1e-15);
  EXPECT_NEAR(found.coarse_share, 8.960 / 21.03336, 1e-9);
}

TEST(ScreenedGrade, a_fine_part_wants_an_assay) {
  EXPECT_THROW(screened_grade({1, 0.5, 0, 10, {}}), Error);
  EXPECT_THROW(screened_grade({0, 0, 0, 0, {}}), Error);
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

TEST(Replicates, duplicates) {
  // Differences of 2 and 4 % of the means: sqrt((0.02^2 + 0.04^2) / 4).
  EXPECT_NEAR(duplicate_rsd({{101, 99}, {49, 51}, {0, 0}}), std::sqrt((0.0004 + 0.0016) / 4), 1e-12);
  EXPECT_EQ(duplicate_rsd({}), 0);
}

}  // namespace
}  // namespace buttonworth
