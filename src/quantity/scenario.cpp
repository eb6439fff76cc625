#include "quantity/scenario.hpp"

#include "quantity/edge.hpp"

namespace buttonworth {

bool in_range(const Decimal& x, Allowed allowed) {
  switch (allowed) {
    case Allowed::any: return true;
    case Allowed::not_negative: return x >= 0;
    case Allowed::positive: return x > 0;
    case Allowed::share: return x >= 0 && at_most(x, Decimal(1));
    case Allowed::positive_share: return x > 0 && at_most(x, Decimal(1));
    case Allowed::below_all: return x >= 0 && x < 1;
    case Allowed::at_least_one: return x >= 1;
  }
  return false;
}

Quantity QuantityTable::add(StatedQuantity quantity) {
  stated_.push_back(std::move(quantity));
  return Quantity{static_cast<std::uint32_t>(stated_.size() - 1)};
}

}  // namespace buttonworth
