// A plan with one or a few of its quantities at other values, all else at the means.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "chance/changes.hpp"
#include "chance/sound.hpp"

namespace buttonworth {

template <Scalar N>
class AlteredPlan {
 public:
  AlteredPlan(const Plan& plan, std::vector<Quantity> set)
      : set_(std::move(set)), changes_(plan, set_), prepared_(plan) {
    for (Quantity q : set_) own_.push_back(number<N>(plan.quantities[q].mean));
  }

  /// Sets the quantities, in their order, each in the library's unit of the currency it is stated in. What is
  /// wrong with the plan then, if anything; it is not prepared in that case.
  std::optional<std::string> put(const std::vector<N>& values) {
    own_ = values;
    for (std::size_t i = 0; i < set_.size(); ++i) prepared_.scenario.put(set_[i], own_[i]);
    if (auto fault = Soundness<N>(*prepared_.plan, prepared_.scenario).fault()) return fault;
    work_out_changes(changes_, prepared_, [this](Quantity q) { return own(q); });
    return std::nullopt;
  }
  const Prepared<N>& prepared() const { return prepared_; }
  const std::vector<Quantity>& set() const { return set_; }

 private:
  N own(Quantity q) const {
    for (std::size_t i = 0; i < set_.size(); ++i)
      if (set_[i].index == q.index) return own_[i];
    return number<N>(prepared_.plan->quantities[q].mean);
  }

  std::vector<Quantity> set_;
  Changes changes_;
  Prepared<N> prepared_;
  std::vector<N> own_;
};

}  // namespace buttonworth
