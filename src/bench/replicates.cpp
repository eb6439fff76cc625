#include "bench/replicates.hpp"

#include <algorithm>
#include <cmath>

namespace buttonworth {

double mean_of(const std::vector<double>& values) {
  if (values.empty()) return 0;
  const double count = static_cast<double>(values.size());
  double sum = 0;
  for (double value : values) sum += value;
  const double rough = sum / count;
  double left = 0;
  for (double value : values) left += value - rough;
  return rough + left / count;
}

double sd_of(const std::vector<double>& values, double mean) {
  if (values.size() < 2) return 0;
  double squares = 0;
  for (double value : values) squares += (value - mean) * (value - mean);
  return std::sqrt(squares / static_cast<double>(values.size() - 1));
}

double median_of(std::vector<double> values) {
  const std::size_t half = values.size() / 2;
  std::sort(values.begin(), values.end());
  return values.size() % 2 == 1 ? values[half] : (values[half - 1] + values[half]) / 2;
}

std::vector<std::size_t> far_from_the_rest(const std::vector<double>& values,
                                           const std::vector<double>& steps) {
  constexpr std::size_t enough = 5;
  constexpr double nothing = 1e-9, far = 3.5, as_normal_sd = 1.4826;
  std::vector<std::size_t> found;
  if (values.size() < enough) return found;
  const double median = median_of(values);
  std::vector<double> distances;
  for (double value : values) distances.push_back(std::abs(value - median));
  const double limit = std::max(nothing, far * as_normal_sd * median_of(distances));
  for (std::size_t i = 0; i < values.size(); ++i)
    if (distances[i] > limit && (steps.empty() || distances[i] > steps[i])) found.push_back(i);
  return found;
}

Replicates replicates(const std::vector<double>& determinations) {
  Replicates found;
  found.count = determinations.size();
  if (found.count == 0) return found;
  found.mean = mean_of(determinations);
  found.sd = sd_of(determinations, found.mean);
  found.of_mean = found.sd / std::sqrt(static_cast<double>(found.count));
  return found;
}

double duplicate_rsd(const std::vector<std::pair<double, double>>& pairs) {
  double squares = 0;
  std::size_t count = 0;
  for (const auto& [a, b] : pairs) {
    if (!(a + b > 0)) continue;
    const double difference = (a - b) / ((a + b) / 2);
    squares += difference * difference;
    ++count;
  }
  return count == 0 ? 0 : std::sqrt(squares / (2 * static_cast<double>(count)));
}

}  // namespace buttonworth
