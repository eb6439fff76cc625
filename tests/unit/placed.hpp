// Plans whose quantities know where the document states them.
#pragma once

#include <algorithm>
#include <bit>
#include <cmath>
#include <stdexcept>

#include "ordered_json.hpp"
#include "support.hpp"

namespace buttonworth::test {

inline std::shared_ptr<const Plan> placed_plan(const OrderedJson& document) {
  const DocumentLimits limits;
  PlanReading reading = read_plan(read_json(document.dump(), limits), limits, true);
  if (!reading.plan) throw std::runtime_error(reading.complaints.front().text + document.dump(1));
  return reading.plan;
}

inline Quantity quantity_at(const Plan& plan, const std::string& place) {
  for (std::uint32_t i = 1; i < plan.quantities.size(); ++i)
    if (plan.quantities.at(i).place == place) return Quantity{i};
  throw std::runtime_error("no quantity at " + place);
}

/// NaN of any kind is the same.
inline bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](double x, double y) {
    return std::bit_cast<std::uint64_t>(x) == std::bit_cast<std::uint64_t>(y) ||
           (std::isnan(x) && std::isnan(y));
  });
}

}  // namespace buttonworth::test
