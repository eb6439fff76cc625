#include "chance/drawing.hpp"

#include <algorithm>

namespace buttonworth {

Drawing::Drawing(const Plan& plan, const DrawTogether& together, const DrawNumbers& numbers)
    : numbers_(numbers) {
  gather(plan, together);
  couple(together);
  if (numbers_.method == DrawMethod::philox) return;
  for (std::size_t part = 0; part < part_count; ++part)
    for (std::size_t d = 0; d < dimensions_.size(); ++d)
      sobol_.push_back(
          scrambled_sobol(static_cast<std::uint32_t>(d), numbers_.seed, static_cast<std::uint32_t>(part)));
}

/// What can differ from its mean, in the order of the places' bytes: a plan's draws do not hang on how a
/// document orders its fields.
void Drawing::gather(const Plan& plan, const DrawTogether& together) {
  const QuantityTable& table = plan.quantities;
  std::vector<int> fixings(table.size(), 1);
  for (const auto& one : together.averaged) fixings[one.price.index] = one.fixings;
  for (std::uint32_t index = 1; index < table.size(); ++index) {
    if (!table.at(index).spread) continue;
    Marginal marginal = Marginal::of(table.at(index), fixings[index]);
    if (!marginal.certain()) inputs_.push_back({Quantity{index}, 0, std::move(marginal)});
  }
  std::stable_sort(inputs_.begin(), inputs_.end(), [&](const Input& a, const Input& b) {
    return table[a.quantity].place < table[b.quantity].place;
  });
  number_dimensions(table.size(), together.same);
}

/// A dimension for each input in turn; those that are the same share that of the first.
void Drawing::number_dimensions(std::size_t quantities, const std::vector<std::vector<Quantity>>& same) {
  constexpr std::size_t none = static_cast<std::size_t>(-1);
  std::vector<std::size_t> list_of(quantities, none), dimension_of_list(same.size(), none);
  for (std::size_t i = 0; i < same.size(); ++i)
    for (const Quantity& one : same[i]) list_of[one.index] = i;
  for (std::size_t i = 0; i < inputs_.size(); ++i) {
    Input& input = inputs_[i];
    const std::size_t list = list_of[input.quantity.index];
    std::size_t dimension = list == none ? none : dimension_of_list[list];
    if (dimension == none) {
      dimension = dimensions_.size();
      dimensions_.push_back({i});
      if (list != none) dimension_of_list[list] = dimension;
    }
    dimensions_[dimension].by_score |= input.marginal.wants_score();
    input.dimension = dimension;
  }
}

std::size_t Drawing::dimension_of(Quantity quantity) const {
  return std::find_if(inputs_.begin(), inputs_.end(),
                      [&](const Input& one) { return one.quantity.index == quantity.index; })
      ->dimension;
}

void Drawing::couple(const DrawTogether& together) {
  std::vector<Correlation> correlations;
  for (const auto& one : together.correlated)
    correlations.push_back({dimension_of(one.a), dimension_of(one.b), one.r});
  copula_.emplace(dimensions_.size(), correlations);
  for (std::size_t d = 0; d < dimensions_.size(); ++d) {
    dimensions_[d].coupled = copula_->couples(d);
    dimensions_[d].by_score |= dimensions_[d].coupled;
  }
}

}  // namespace buttonworth
