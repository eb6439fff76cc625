#include "bench/bar.hpp"

#include "quantity/error.hpp"

namespace buttonworth {

double density_by_water(double air, double water, double water_density) {
  if (!(water > 0 && air > water))
    throw Error(Code::range,
                "in water a bar weighs less than in air, and more than nothing: are they exchanged?");
  return air / (air - water) * water_density;
}

double gold_by_density(double density, double other) {
  if (!(density > 0 && other > 0)) throw Error(Code::range, "a density is to be above 0");
  if (!(other < gold_density)) throw Error(Code::range, "the other metal is to be lighter than gold");
  return (1 / density - 1 / other) / (1 / gold_density - 1 / other);
}

double melt_loss(double before, double after) {
  if (!(before > 0)) throw Error(Code::range, "there was nothing before the melt");
  return (before - after) / before;
}

}  // namespace buttonworth
