#include "quantity/scenario.hpp"

namespace buttonworth {

Quantity QuantityTable::add(StatedQuantity quantity) {
  stated_.push_back(std::move(quantity));
  return Quantity{static_cast<std::uint32_t>(stated_.size() - 1)};
}

}  // namespace buttonworth
