// Sums over the draws of a simulation, taken block by block in the order of the draws: any split over threads
// gives the same bits.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "chance/model.hpp"

namespace buttonworth {

/// Where the values of a route lie: counts over even steps, by which a second look finds quantiles exactly.
class Histogram {
 public:
  static constexpr std::size_t steps = 4096;

  /// Over the middle of the values of a sample and as much again on either side; what is beyond counts in the
  /// end steps.
  explicit Histogram(std::vector<double> sample);

  std::size_t step_of(double value) const {
    const double at = (value - low_) * per_step_;
    return at <= 0 ? 0 : at >= steps - 1 ? steps - 1 : static_cast<std::size_t>(at);
  }
  void count(double value) { ++counts_[step_of(value)]; }
  void add(const Histogram& other);
  /// The step that holds the rank-th smallest value, from 1 on, and how many lie in the steps before it.
  std::pair<std::size_t, std::int64_t> step_at(std::int64_t rank) const;

 private:
  double low_ = 0, per_step_ = 0;
  std::vector<std::int64_t> counts_;
};

/// By dimension and class: how many draws, and the worth of every route summed.
class ClassSums {
 public:
  ClassSums(std::size_t dimensions, std::size_t routes)
      : routes_(routes), sums_(dimensions * class_count * (routes + 1)) {}

  /// The count, then the routes.
  double* at(std::size_t dimension, std::size_t one) {
    return &sums_[(dimension * class_count + one) * (routes_ + 1)];
  }
  const double* at(std::size_t dimension, std::size_t one) const {
    return &sums_[(dimension * class_count + one) * (routes_ + 1)];
  }
  void add(const ClassSums& other);
  void clear() { std::fill(sums_.begin(), sums_.end(), 0.0); }

 private:
  std::size_t routes_;
  std::vector<double> sums_;
};

/// Mean and spread of a figure, so that nothing cancels where it hardly differs from draw to draw.
struct Moments {
  double count = 0, mean = 0;
  double squares = 0;  ///< about the mean

  static Moments of(const std::vector<double>& values);
  void add(const Moments& more);
  double sd() const { return std::sqrt(squares / std::max(1.0, count - 1)); }
};

/// A figure over the draws of one class.
struct ClassOfDraws {
  double count = 0, mean = 0;
};

/// First-order share of a variance: of a sum of squares about the mean over `counted` draws, what lies
/// between the means of the classes, less what chance alone would put there; not below 0.
double share_between(const std::vector<ClassOfDraws>& classes, double mean, double squares, double counted);

/// What is summed over draws of one part. Worth is less the route's centre, so that little cancels.
struct PartSums {
  PartSums(std::size_t dimensions, std::size_t routes)
      : sum(routes),
        squares(routes),
        times_best(routes),
        times_refused(routes),
        classes(dimensions, routes) {}

  std::int64_t counted = 0, broken = 0;
  double best = 0;  ///< of the most valuable route of each draw, less the first route's centre
  std::vector<double> sum, squares;
  std::vector<std::int64_t> times_best, times_refused;
  ClassSums classes;

  void clear();
  void add(const PartSums& other);
  /// Sums up a block; `dimensions` whose classes are wanted.
  void take(const DrawBlock& block, const std::vector<double>& centres, std::size_t dimensions);

 private:
  void take_draw(const double* worth, const std::uint8_t* refused, const std::vector<double>& centres,
                 std::vector<double>& centred);
};

}  // namespace buttonworth
