// How well a sample can stand for a lot: the fundamental error, and the count of gold grains.
//
// Sizes in centimetres, masses in grams, densities in g/cm³, grades and errors as shares.
#pragma once

#include <optional>
#include <string>
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

/// Gold grains of one sort: of a mean mass with a spread about it.
struct GoldGrains {
  double mass = 0;         ///< g of gold in one grain, the mean
  double mass_spread = 0;  ///< relative standard deviation of a grain's mass
};

/// Gold in a sphere, g: π ÷ 6 × size³ × density × fineness (1 of pure gold).
double sphere_mass(double size, double density, double fineness = 1);

/// Grains that a sample of this mass and grade is expected to hold.
double expected_grains(const GoldGrains& grains, double sample, double grade);

/// The same constant where grains fall in by chance alone, a compound Poisson count: mass (1 + spread²) ÷
/// grade, g.
double sampling_constant(const GoldGrains& grains, double grade);

/// Relative standard deviation √(K (1 ÷ sample − 1 ÷ lot)); an infinite lot if none; 0 of the whole lot.
double sampling_error(double constant, double sample, std::optional<double> lot = {});

/// The smallest sample, g, whose error is no more than that.
double smallest_sample(double constant, double error, std::optional<double> lot = {});

/// The chance that a Poisson count lies within this share of its expectation, both ends included.
double chance_within(double expected, double share);

/// With fewer grains than that a grade is a matter of luck: Clifton and others ask for twenty (USGS
/// Professional Paper 625-C), and the fundamental error, which wants many particles, does not apply.
inline constexpr double enough_grains = 20;

/// Grade of a sample that was screened, all of the coarse part assayed: (coarse metal + fine mass × fine
/// grade) ÷ all of the mass. Masses in one unit.
double screened_grade(double coarse_mass, double coarse_metal, double fine_mass, double fine_grade);

/// One stage between a lot and its assay.
struct SamplingStage {
  std::string what;
  std::optional<double> sample, lot;  ///< g
  std::optional<SampledMaterial> material;
  std::optional<GoldGrains> grains;
  double own_error = 0;   ///< relative, of whatever is no sampling: splitting, the laboratory
  bool repeated = false;  ///< each determination went through it anew
};

enum class SamplingRule { grain_count, fundamental_error, stated };

/// What a stage adds to the error, by the rule that applies to it.
struct StageError {
  SamplingRule rule = SamplingRule::stated;
  std::optional<double> fundamental, grains, by_count;
  double constant = 0;  ///< of the rule that applies, 0 where only an error is stated
  double error = 0;     ///< relative, its own error included
};

/// The count applies where fewer than twenty grains are expected, where nothing else is known, and where its
/// error is the larger.
StageError stage_error(const SamplingStage& stage, double grade);

/// Errors of all stages. Of `count` determinations the repeated stages' variance is divided by it, and is
/// no less than `of_mean`², what the determinations themselves show.
double protocol_error(const std::vector<SamplingStage>& stages, const std::vector<StageError>& errors,
                      std::size_t count = 1, double of_mean = 0);

}  // namespace buttonworth
