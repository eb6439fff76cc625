// Repeated determinations of one thing, and pairs of duplicates.
#pragma once

#include <cstddef>
#include <utility>
#include <vector>

namespace buttonworth {

/// The mean; what rounding leaves of the first sum is added back.
double mean_of(const std::vector<double>& values);

/// The standard deviation about a mean, n − 1 below; 0 of one value or none. Two passes, so that a large mean
/// costs no digits.
double sd_of(const std::vector<double>& values, double mean);

/// The middle one, or the mean of the middle two.
double median_of(std::vector<double> values);

/// Which of five values or more lie further from their median than 3.5 × 1.4826 × the median of those
/// distances, 1.4826 of which is a normal's standard deviation, and further than rounding makes of each
/// (`steps`, or none). Source: Iglewicz and Hoaglin, How to Detect and Handle Outliers (1993); from memory.
std::vector<std::size_t> far_from_the_rest(const std::vector<double>& values,
                                           const std::vector<double>& steps = {});

/// Several determinations of one thing.
struct Replicates {
  std::size_t count = 0;
  double mean = 0;
  double sd = 0;       ///< of one determination
  double of_mean = 0;  ///< standard uncertainty of the mean, sd ÷ √count
};
Replicates replicates(const std::vector<double>& determinations);

/// Relative standard deviation of one determination from pairs of duplicates, as a share:
/// √(Σ ((a − b) ÷ ((a + b) ÷ 2))² ÷ (2 n)). Pairs whose sum is not above 0 are left out.
double duplicate_rsd(const std::vector<std::pair<double, double>>& pairs);

}  // namespace buttonworth
