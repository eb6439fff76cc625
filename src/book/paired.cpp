#include "book/paired.hpp"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

#include "bench/replicates.hpp"

namespace buttonworth {
namespace {

// Differences of logarithms that are the same but for rounding.
constexpr double same_to = 1e-12;

bool all_same(const std::vector<double>& values) {
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  return *high - *low <= same_to;
}

PairedDifference::Spread spread_of(const PairedDifference& found) {
  const double n = static_cast<double>(found.pairs);
  const double error = found.sd / std::sqrt(n);
  const boost::math::students_t student(n - 1);
  const double reach = boost::math::quantile(student, 0.975) * error;
  const double t = found.mean / error;
  return {found.mean - reach, found.mean + reach, t,
          2 * boost::math::cdf(boost::math::complement(student, std::abs(t)))};
}

std::optional<double> mean_of_rest(const std::vector<double>& values,
                                   const std::vector<std::size_t>& outliers) {
  if (outliers.empty()) return std::nullopt;
  std::vector<double> rest = values;
  for (auto i = outliers.rbegin(); i != outliers.rend(); ++i)
    rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(*i));
  return mean_of(rest);
}

}  // namespace

PairedDifference paired(const std::vector<double>& differences, const std::vector<double>& steps) {
  PairedDifference found;
  found.pairs = differences.size();
  if (differences.empty()) return found;
  found.mean = mean_of(differences);
  found.outliers = far_from_the_rest(differences, steps);
  found.mean_of_rest = mean_of_rest(differences, found.outliers);
  if (differences.size() < 2 || all_same(differences)) return found;
  found.sd = sd_of(differences, found.mean);
  found.spread = spread_of(found);
  return found;
}

}  // namespace buttonworth
