#include "bench/run_sheet.hpp"

#include <algorithm>

#include "bench/replicates.hpp"
#include "quantity/error.hpp"

namespace buttonworth {
namespace {

std::vector<double> values_of(const std::vector<Figure>& figures) {
  std::vector<double> values;
  for (const Figure& one : figures) values.push_back(one.value);
  return values;
}

/// Variance of the mean of figures, from their own uncertainties alone.
double own_variance(const std::vector<Figure>& figures) {
  double sum = 0;
  for (const Figure& one : figures) sum += one.sd * one.sd;
  const double n = static_cast<double>(figures.size());
  return sum / (n * n);
}

}  // namespace

Figure cycles_mass(const std::vector<Figure>& weighed, std::optional<double> cycles) {
  const Replicates found = replicates(values_of(weighed));
  const double n = static_cast<double>(found.count), all = cycles.value_or(n);
  if (n == 0) throw Error(Code::missing_field, "no cycle was weighed");
  if (all < n) throw Error(Code::range, "more cycles were weighed than were run");
  const double of_mean = found.of_mean * found.of_mean * (1 - n / all) + own_variance(weighed);
  return {all * found.mean, all * std::sqrt(of_mean)};
}

double buckets_mass(double count, double volume, double fill, double bulk_density) {
  return count * volume * fill * bulk_density;
}

double moisture_of(double wet, double dry, double container) {
  if (!(wet > container)) throw Error(Code::range, "the wet sample weighs no more than its container");
  if (dry > wet) throw Error(Code::range, "the dry sample weighs more than the wet one: are they exchanged?");
  if (dry < container) throw Error(Code::range, "the dry sample weighs less than its container");
  return (wet - dry) / (wet - container);
}

double dry_mass(double wet, double moisture) {
  if (moisture < 0 || moisture >= 1)
    throw Error(Code::range, "a moisture lies between 0 and 1, and below 1: 11 % is 0.11");
  return wet * (1 - moisture);
}

Figure mean_figure(const std::vector<Figure>& values) {
  const Replicates found = replicates(values_of(values));
  return {found.mean, std::max(found.of_mean, std::sqrt(own_variance(values)))};
}

Figure composite_grade(const std::vector<Figure>& masses, const std::vector<Figure>& grades) {
  std::vector<Figure> inputs = masses;
  inputs.insert(inputs.end(), grades.begin(), grades.end());
  const std::size_t n = masses.size();
  return propagated_one(inputs, [n](const std::vector<double>& x) {
    double metal = 0, mass = 0;
    for (std::size_t i = 0; i < n; ++i) metal += x[i] * x[n + i], mass += x[i];
    return metal / mass;
  });
}

}  // namespace buttonworth
