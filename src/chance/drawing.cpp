#include "chance/drawing.hpp"

#include <algorithm>

namespace buttonworth {

Drawing::Drawing(const Plan& plan, const DrawTogether& together, const DrawNumbers& numbers,
                 std::optional<Quantity> first)
    : numbers_(numbers) {
  gather(plan, together);
  couple(together, first);
  if (numbers_.method == DrawMethod::philox) return;
  for (std::size_t part = 0; part < part_count; ++part)
    for (std::size_t d = 0; d < dimensions_.size(); ++d)
      sobol_.push_back(
          scrambled_sobol(static_cast<std::uint32_t>(d), numbers_.seed, static_cast<std::uint32_t>(part)));
}

std::optional<std::size_t> Drawing::input_of(Quantity quantity) const {
  const auto found =
      std::lower_bound(inputs_.begin(), inputs_.end(), quantity.index,
                       [](const Input& one, std::uint32_t at) { return one.quantity.index < at; });
  if (found == inputs_.end() || found->quantity.index != quantity.index) return std::nullopt;
  return static_cast<std::size_t>(found - inputs_.begin());
}

/// Inputs in the plan's order; those that are the same share the dimension of the first.
void Drawing::gather(const Plan& plan, const DrawTogether& together) {
  const QuantityTable& table = plan.quantities;
  std::vector<int> fixings(table.size(), 1);
  for (const auto& one : together.averaged) fixings[one.price.index] = one.fixings;
  constexpr std::size_t none = static_cast<std::size_t>(-1);
  std::vector<std::size_t> list_of(table.size(), none), dimension_of_list(together.same.size(), none);
  for (std::size_t i = 0; i < together.same.size(); ++i)
    for (const Quantity& one : together.same[i]) list_of[one.index] = i;

  for (std::uint32_t index = 1; index < table.size(); ++index) {
    if (!table.at(index).spread) continue;
    Marginal marginal = Marginal::of(table.at(index), fixings[index]);
    if (marginal.certain()) continue;
    const std::size_t list = list_of[index];
    std::size_t dimension = list == none ? none : dimension_of_list[list];
    if (dimension == none) {
      dimension = dimensions_.size();
      dimensions_.push_back({inputs_.size()});
      if (list != none) dimension_of_list[list] = dimension;
    }
    dimensions_[dimension].by_score |= marginal.wants_score();
    inputs_.push_back({Quantity{index}, dimension, std::move(marginal)});
  }
}

void Drawing::couple(const DrawTogether& together, std::optional<Quantity> first) {
  std::vector<Correlation> correlations;
  for (const auto& one : together.correlated)
    correlations.push_back({dimension_of(one.a), dimension_of(one.b), one.r});
  std::optional<std::size_t> leading;
  if (first) leading = dimension_of(*first);
  copula_.emplace(dimensions_.size(), correlations, leading);
  for (std::size_t d = 0; d < dimensions_.size(); ++d) {
    dimensions_[d].coupled = copula_->couples(d);
    dimensions_[d].by_score |= dimensions_[d].coupled;
  }
}

}  // namespace buttonworth
