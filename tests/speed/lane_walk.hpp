// A walk in lanes of type L; included by one file for each instruction set.
#pragma once

#include "route/sweep_lanes.hpp"
#include "support.hpp"

namespace speed {

template <class L>
class LaneWalkOf : public LaneWalk {
 public:
  explicit LaneWalkOf(const buttonworth::Prepared<double>& plain)
      : plain_(plain), lanes_(*plain.plan, buttonworth::Scenario<L>(plain.scenario)) {}

  int lanes() const override { return L::size; }
  double value(const buttonworth::Route& route, const std::vector<double>& pulls) const override {
    buttonworth::HeldCuts<L> held;
    held.reserve(pulls.size());
    for (double pull : pulls) held.emplace_back(L(pull));
    buttonworth::SweepTally<L> sums(plain_);
    buttonworth::Walk<L, buttonworth::SweepTally<L>>(lanes_, held, sums).route(route);
    return sums.present_value[0];
  }

 private:
  const buttonworth::Prepared<double>& plain_;
  buttonworth::Prepared<L> lanes_;
};

}  // namespace speed
