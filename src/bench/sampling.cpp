#include "bench/sampling.hpp"

#include <boost/math/constants/constants.hpp>
#include <boost/math/distributions/poisson.hpp>
#include <cmath>

#include "bench/replicates.hpp"
#include "quantity/error.hpp"

namespace buttonworth {
namespace {

double above_nothing(double value, const char* what) {
  if (!(value > 0)) throw Error(Code::range, std::string(what) + " is to be above 0");
  return value;
}

}  // namespace

double composition_factor(const SampledMaterial& material) {
  const double a = above_nothing(material.mineral, "the share of the mineral");
  if (!(a < 1)) throw Error(Code::range, "the share of the mineral is to be below 100 %");
  return (1 - a) / a * ((1 - a) * material.mineral_density + a * material.gangue_density);
}

double liberation_factor(const SampledMaterial& material) {
  const double d = above_nothing(material.top_size, "the top size");
  return d <= material.liberation_size ? 1 : std::sqrt(material.liberation_size / d);
}

double sampling_constant(const SampledMaterial& material) {
  const double d = material.top_size;
  return material.shape * material.size_range * composition_factor(material) * liberation_factor(material) *
         d * d * d;
}

double fundamental_error(const SampledMaterial& material, double sample, std::optional<double> lot) {
  const double per_lot = lot ? 1 / above_nothing(*lot, "the lot") : 0;
  const double left = 1 / above_nothing(sample, "the sample") - per_lot;
  return left > 0 ? std::sqrt(sampling_constant(material) * left) : 0;  // the whole lot has none
}

double smallest_sample(const SampledMaterial& material, double error, std::optional<double> lot) {
  const double per_lot = lot ? 1 / above_nothing(*lot, "the lot") : 0;
  above_nothing(error, "the error");
  return 1 / (error * error / sampling_constant(material) + per_lot);
}

double stages_together(const std::vector<double>& errors) {
  double squares = 0;
  for (double error : errors) squares += error * error;
  return std::sqrt(squares);
}

GoldGrains spherical_grains(double size, double density, double fineness) {
  above_nothing(size, "the grains' size");
  return {boost::math::constants::pi<double>() / 6 * size * size * size * density * fineness, 0};
}

double expected_grains(const GoldGrains& grains, double sample, double grade) {
  return sample * grade / above_nothing(grains.mass, "the grains' mass");
}

double grain_count_error(const GoldGrains& grains, double sample, double grade) {
  const double expected = above_nothing(expected_grains(grains, sample, grade), "the grains expected");
  return std::sqrt((1 + grains.mass_spread * grains.mass_spread) / expected);
}

double smallest_sample(const GoldGrains& grains, double grade, double error) {
  above_nothing(error, "the error");
  const double wanted = (1 + grains.mass_spread * grains.mass_spread) / (error * error);
  return wanted * grains.mass / above_nothing(grade, "the grade");
}

double chance_within(double expected, double share) {
  const boost::math::poisson_distribution<double> count(above_nothing(expected, "the grains expected"));
  // An end that is a whole number is included, however it was rounded on the way.
  const double low = std::ceil(expected * (1 - share) * (1 - 1e-12)),
               high = std::floor(expected * (1 + share) * (1 + 1e-12));
  if (high < low) return 0;
  return boost::math::cdf(count, high) - (low >= 1 ? boost::math::cdf(count, low - 1) : 0);
}

ScreenedGrade screened_grade(const ScreenAssay& assay) {
  const double mass = above_nothing(assay.coarse_mass + assay.fine_mass, "the sample");
  const Replicates fine = replicates(assay.fine);
  if (assay.fine_mass > 0 && fine.count == 0)
    throw Error(Code::missing_field, "the fine part has a mass and no assay");
  const double in_fine = assay.fine_mass * fine.mean, all = assay.coarse_metal + in_fine;
  const double of_coarse = assay.coarse_metal * assay.coarse_error, of_fine = assay.fine_mass * fine.of_mean;
  return {all / mass, std::sqrt(of_coarse * of_coarse + of_fine * of_fine) / mass,
          all > 0 ? assay.coarse_metal / all : 0};
}

}  // namespace buttonworth
