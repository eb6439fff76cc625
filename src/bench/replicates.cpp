#include "bench/replicates.hpp"

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
