// How far two parties' figures of the same lots lie apart, over many lots.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

namespace buttonworth {

/// Student's paired test of differences about 0.
struct PairedDifference {
  std::size_t pairs = 0;
  double mean = 0;
  double sd = 0;  ///< standard deviation, n − 1 below
  /// Where there are two pairs or more that are not all the same.
  struct Spread {
    double low, high;  ///< ends of the 95 % interval of the mean
    double t;
    double p;  ///< two-sided chance of a t as far from 0, if both agree but for chance
  };
  std::optional<Spread> spread;
  std::vector<std::size_t> outliers;   ///< far from the median by the median of distances; from five pairs on
  std::optional<double> mean_of_rest;  ///< where there are outliers
};

/// Two passes for the spread, so that a large mean costs no digits (NIST's NumAcc4 tells the difference).
/// Outliers: beyond 3.5 times 1.4826 times the median distance from the median (Iglewicz and Hoaglin 1993,
/// from memory), and beyond what rounding makes of a difference, `steps`, one for each or none: figures
/// written to a tenth are mostly equal, and a step between them is nothing out of the way.
PairedDifference paired(const std::vector<double>& differences, const std::vector<double>& steps = {});

/// Below so many pairs little can be told.
inline constexpr std::size_t few_pairs = 8;

}  // namespace buttonworth
