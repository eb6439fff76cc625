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

}  // namespace buttonworth
