#include "bench/sampling.hpp"

#include <algorithm>
#include <boost/math/constants/constants.hpp>
#include <boost/math/distributions/poisson.hpp>
#include <cmath>

#include "quantity/edge.hpp"
#include "quantity/error.hpp"

namespace buttonworth {
namespace {

double above_nothing(double value, const char* what) {
  if (!(value > 0)) throw Error(Code::range, std::string(what) + " is to be above 0");
  return value;
}

/// The normal law that the Poisson law comes to, the half grain on either side counted.
double chance_of_many_within(double expected, double low, double high) {
  const double width = std::sqrt(2 * expected);
  return 0.5 * (std::erf((high + 0.5 - expected) / width) - std::erf((low - 0.5 - expected) / width));
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

double sphere_mass(double size, double density, double fineness) {
  above_nothing(size, "the grains' size");
  return boost::math::constants::pi<double>() / 6 * size * size * size * density * fineness;
}

double expected_grains(const GoldGrains& grains, double sample, double grade) {
  return sample * grade / above_nothing(grains.mass, "the grains' mass");
}

double sampling_constant(const GoldGrains& grains, double grade) {
  return above_nothing(grains.mass, "the grains' mass") * (1 + grains.mass_spread * grains.mass_spread) /
         above_nothing(grade, "the grade");
}

double sampling_error(double constant, double sample, std::optional<double> lot) {
  const double per_lot = lot ? 1 / above_nothing(*lot, "the lot") : 0;
  const double left = 1 / above_nothing(sample, "the sample") - per_lot;
  return left > 0 ? std::sqrt(constant * left) : 0;
}

double smallest_sample(double constant, double error, std::optional<double> lot) {
  const double per_lot = lot ? 1 / above_nothing(*lot, "the lot") : 0;
  above_nothing(error, "the error");
  return 1 / (error * error / above_nothing(constant, "the sampling constant") + per_lot);
}

double chance_within(double expected, double share) {
  above_nothing(expected, "the grains expected");
  // An end that is a whole number is included, however it was rounded on the way.
  const double low = std::ceil(expected * (1 - share) * (1 - 1e-12)),
               high = std::floor(expected * (1 + share) * (1 + 1e-12));
  if (high < low) return 0;
  // Beyond this the laws differ by less than 1 in 10^9, and sums of grains fail.
  constexpr double many = 1e9;
  if (expected > many) return chance_of_many_within(expected, low, high);
  const boost::math::poisson_distribution<double> count(expected);
  return boost::math::cdf(count, high) - (low >= 1 ? boost::math::cdf(count, low - 1) : 0);
}

double screened_grade(double coarse_mass, double coarse_metal, double fine_mass, double fine_grade) {
  return (coarse_metal + fine_mass * fine_grade) / above_nothing(coarse_mass + fine_mass, "the sample");
}

StageError stage_error(const SamplingStage& stage, double grade) {
  StageError found;
  if (stage.sample && stage.material) {
    found.rule = SamplingRule::fundamental_error;
    found.constant = sampling_constant(*stage.material);
    found.fundamental = sampling_error(found.constant, *stage.sample, stage.lot);
  }
  if (stage.sample && stage.grains) {
    const double constant = sampling_constant(*stage.grains, grade);
    found.grains = expected_grains(*stage.grains, *stage.sample, grade);
    found.by_count = sampling_error(constant, *stage.sample, stage.lot);
    const bool few = above(enough_grains, *found.grains);
    if (few || !stage.material || above(constant, found.constant))
      found.rule = SamplingRule::grain_count, found.constant = constant;
  }
  const double sampling = found.rule == SamplingRule::grain_count         ? *found.by_count
                          : found.rule == SamplingRule::fundamental_error ? *found.fundamental
                                                                          : 0;
  found.error = std::hypot(sampling, stage.own_error);
  return found;
}

double protocol_error(const std::vector<SamplingStage>& stages, const std::vector<StageError>& errors,
                      std::size_t count, double of_mean) {
  double once = 0, repeated = 0;
  for (std::size_t i = 0; i < stages.size(); ++i)
    (stages[i].repeated ? repeated : once) += errors[i].error * errors[i].error;
  const double found = of_mean * of_mean;
  return std::sqrt(once + std::max(repeated / static_cast<double>(count), found));
}

}  // namespace buttonworth
