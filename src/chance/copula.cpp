#include "chance/copula.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>

#include "quantity/error.hpp"

namespace buttonworth {
namespace {

/// Of each dimension the lowest one that it hangs together with.
std::vector<std::size_t> lowest_together(std::size_t dimensions,
                                         const std::vector<Correlation>& correlations) {
  std::vector<std::size_t> lowest(dimensions);
  std::iota(lowest.begin(), lowest.end(), std::size_t{0});
  auto root = [&](std::size_t one) {
    while (lowest[one] != one) one = lowest[one] = lowest[lowest[one]];
    return one;
  };
  for (const Correlation& pair : correlations) {
    const auto [low, high] = std::minmax({root(pair.a), root(pair.b)});
    if (pair.r != 0) lowest[high] = low;
  }
  for (std::size_t& one : lowest) one = root(one);
  return lowest;
}

/// Cholesky's factor, row after row of the lower triangle; empty where there is none, or one that rounding
/// would spoil. `lower`: the correlations of each with those before it, likewise, with ones in the diagonal.
std::vector<double> cholesky(std::vector<double> lower, std::size_t size) {
  auto at = [&](std::size_t i, std::size_t j) -> double& { return lower[i * (i + 1) / 2 + j]; };
  for (std::size_t i = 0; i < size; ++i)
    for (std::size_t j = 0; j <= i; ++j) {
      double left = at(i, j);
      for (std::size_t k = 0; k < j; ++k) left -= at(i, k) * at(j, k);
      if (i == j && !(left > 1e-12)) return {};
      at(i, j) = i == j ? std::sqrt(left) : left / at(j, j);
    }
  return lower;
}

/// Thousandths of the correlations that can hold together.
int thousandths_that_hold(const std::vector<double>& correlations, std::size_t size) {
  int holds = 0, fails = 1000;
  while (fails - holds > 1) {
    const int middle = (holds + fails) / 2;
    std::vector<double> lowered = correlations;
    for (std::size_t i = 0; i < size; ++i)
      for (std::size_t j = 0; j < i; ++j) lowered[i * (i + 1) / 2 + j] *= middle / 1000.0;
    (cholesky(lowered, size).empty() ? fails : holds) = middle;
  }
  return holds;
}

[[noreturn]] void refuse(const std::vector<double>& correlations, std::size_t size) {
  std::string factor = std::to_string(1000 + thousandths_that_hold(correlations, size)).substr(1);
  throw Error(
      Code::range,
      "these correlations of " + std::to_string(size) +
          " quantities cannot hold together, those that are not named counting 0: state the missing ones, or "
          "multiply all by 0." +
          factor + " or less");
}

/// The dimensions of the group whose lowest is `lowest`, in their order.
std::vector<std::size_t> members_of(std::size_t lowest, const std::vector<std::size_t>& lowest_of) {
  std::vector<std::size_t> members;
  for (std::size_t i = lowest; i < lowest_of.size(); ++i)
    if (lowest_of[i] == lowest) members.push_back(i);
  return members;
}
}  // namespace

Copula::Copula(std::size_t dimensions, const std::vector<Correlation>& correlations)
    : coupled_(dimensions, false) {
  const std::vector<std::size_t> lowest = lowest_together(dimensions, correlations);
  std::vector<std::size_t> place(dimensions);
  for (std::size_t d = 0; d < dimensions; ++d) {
    if (lowest[d] != d) continue;
    Group group{members_of(d, lowest), {}};
    const std::size_t size = group.members.size();
    if (size == 1) continue;
    group.factor.assign(size * (size + 1) / 2, 0.0);
    for (std::size_t i = 0; i < size; ++i) {
      place[group.members[i]] = i;
      coupled_[group.members[i]] = true;
      group.factor[i * (i + 1) / 2 + i] = 1;
    }
    for (const Correlation& pair : correlations) {
      if (lowest[pair.a] != d || lowest[pair.b] != d) continue;
      const auto [j, i] = std::minmax({place[pair.a], place[pair.b]});
      group.factor[i * (i + 1) / 2 + j] = pair.r;
    }
    std::vector<double> factor = cholesky(group.factor, size);
    if (factor.empty()) refuse(group.factor, size);
    group.factor = std::move(factor);
    groups_.push_back(std::move(group));
  }
}

}  // namespace buttonworth
