// How well a sample can stand for a lot: the fundamental error, and the count of gold grains.
//
// Sizes in centimetres, masses in grams, densities in g/cm³, grades and errors as shares.
#pragma once

#include <optional>
#include <vector>

namespace buttonworth {

/// What Gy's fundamental error depends on, every factor explicit.
struct SampledMaterial {
  double top_size = 0;         ///< d, cm: the screen that 95 % passes
  double shape = 0.5;          ///< f: 0.5 of rounded grains, 0.2 of flakes
  double size_range = 0.25;    ///< g: 0.25 of broken material, 1 of one size
  double liberation_size = 0;  ///< cm: the size at which the mineral comes free
  double mineral = 0;          ///< share by mass of the mineral that carries the metal, above 0 and below 1
  double mineral_density = 0, gangue_density = 0;
};

/// c = (1 − a) ÷ a × ((1 − a) ρ_mineral + a ρ_gangue), g/cm³, a the share of the mineral.
double composition_factor(const SampledMaterial& material);

/// l = √(liberation size ÷ top size), 1 where the grains are no larger than that.
double liberation_factor(const SampledMaterial& material);

/// The sampling constant K = f g c l d³, g: relative variance × sample mass, of a small sample of a large
/// lot.
double sampling_constant(const SampledMaterial& material);

/// Relative standard deviation of the fundamental error, √(K (1 ÷ sample − 1 ÷ lot)); an infinite lot if
/// none.
double fundamental_error(const SampledMaterial& material, double sample, std::optional<double> lot = {});

/// The smallest sample, g, whose fundamental error is no more than that.
double smallest_sample(const SampledMaterial& material, double error, std::optional<double> lot = {});

/// Errors of stages that follow each other, each relative: the root of the sum of their squares.
double stages_together(const std::vector<double>& errors);

/// Gold grains of one sort: spheres of a size, or of a mean mass with a spread about it.
struct GoldGrains {
  double mass = 0;         ///< g of gold in one grain, the mean
  double mass_spread = 0;  ///< relative standard deviation of a grain's mass
};

/// Grains that are spheres: π ÷ 6 × size³ × density × fineness (1 of pure gold).
GoldGrains spherical_grains(double size, double density, double fineness = 1);

/// Grains that a sample of this mass and grade is expected to hold.
double expected_grains(const GoldGrains& grains, double sample, double grade);

/// Relative standard deviation of a grade found in a sample, where grains fall in by chance alone: a compound
/// Poisson count, √((1 + spread²) ÷ expected grains).
double grain_count_error(const GoldGrains& grains, double sample, double grade);

/// The smallest sample, g, whose count error is no more than that.
double smallest_sample(const GoldGrains& grains, double grade, double error);

/// The chance that a Poisson count lies within this share of its expectation, both ends included.
double chance_within(double expected, double share);

/// With fewer grains than that a grade is a matter of luck: Clifton and others ask for twenty (USGS
/// Professional Paper 625-C), and the fundamental error, which wants many particles, does not apply.
inline constexpr double enough_grains = 20;

/// A screened sample: all of the coarse part assayed, the fine part by determinations.
struct ScreenAssay {
  double coarse_mass = 0;    ///< g on the screen
  double coarse_metal = 0;   ///< g found in all of it
  double coarse_error = 0;   ///< relative standard uncertainty of that
  double fine_mass = 0;      ///< g through the screen
  std::vector<double> fine;  ///< grades found in it
};
struct ScreenedGrade {
  double grade = 0;
  double sd = 0;            ///< standard uncertainty of the sample's grade
  double coarse_share = 0;  ///< of the metal
};
/// grade = (coarse metal + fine mass × mean of the fine grades) ÷ all of the mass.
ScreenedGrade screened_grade(const ScreenAssay& assay);

}  // namespace buttonworth
