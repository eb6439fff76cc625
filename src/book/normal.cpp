#include "book/normal.hpp"

#include <boost/math/distributions/normal.hpp>

namespace buttonworth {

double normal_passed_with(double chance) {
  // Never through long double, which is not the same everywhere.
  using Policy = boost::math::policies::policy<boost::math::policies::promote_double<false>>;
  static const boost::math::normal_distribution<double, Policy> standard;
  return boost::math::quantile(boost::math::complement(standard, chance));
}

std::vector<double> normal_strata(std::size_t count) {
  std::vector<double> middles(count);
  for (std::size_t i = 0; i < count / 2; ++i) {
    const double passed = normal_passed_with((static_cast<double>(i) + 0.5) / static_cast<double>(count));
    middles[i] = -passed;
    middles[count - 1 - i] = passed;
  }
  return middles;
}

}  // namespace buttonworth
