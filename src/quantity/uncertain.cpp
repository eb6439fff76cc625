#include "quantity/uncertain.hpp"

#include "quantity/arithmetic.hpp"

namespace buttonworth {

Decimal mean(const Distribution& d) {
  using Shape = Distribution::Shape;
  switch (d.shape) {
    case Shape::normal: return d.a;
    case Shape::lognormal: {
      const Decimal log_spread = natural_log(d.b);
      return d.a * power_of_e(log_spread * log_spread / 2);
    }
    case Shape::triangular: return (d.a + d.b + d.c) / 3;
    case Shape::uniform: return (d.a + d.b) / 2;
    case Shape::determinations: {
      Decimal sum = 0;
      for (const Decimal& one : d.determinations) sum += one;
      return sum / Decimal(d.determinations.size());
    }
  }
  return d.a;
}

namespace {
/// Two passes: the differences from the mean do not cancel.
Decimal variance_of_mean(const std::vector<Decimal>& determinations, const Decimal& mean) {
  const Decimal n = determinations.size();
  if (n < 2) return 0;
  Decimal sum = 0;
  for (const Decimal& one : determinations) sum += (one - mean) * (one - mean);
  return sum / ((n - 1) * n);
}
}  // namespace

Decimal variance(const Distribution& d) {
  using Shape = Distribution::Shape;
  switch (d.shape) {
    case Shape::normal: return d.b * d.b;
    case Shape::lognormal: {
      const Decimal log_spread = natural_log(d.b), centre = mean(d);
      return centre * centre * (power_of_e(log_spread * log_spread) - 1);
    }
    case Shape::triangular:
      return (d.a * d.a + d.b * d.b + d.c * d.c - d.a * d.b - d.a * d.c - d.b * d.c) / 18;
    case Shape::uniform: return (d.b - d.a) * (d.b - d.a) / 12;
    case Shape::determinations: return variance_of_mean(d.determinations, mean(d));
  }
  return 0;
}

}  // namespace buttonworth
