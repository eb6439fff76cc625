// A lot that a buyer took, settled again with other figures.
#pragma once

#include <utility>

#include "sale/statement.hpp"

namespace buttonworth {

/// The delivery with the limits that refuse left aside, and whatever was settled before.
inline Delivery taken(Delivery delivery) {
  delivery.terms.accepts = {};
  for (Penalty& penalty : delivery.terms.penalties) penalty.refuse_above.reset();
  delivery.previous.reset();
  return delivery;
}

/// A figure in place of an exchange.
inline ExchangedQuantity stated_alone(Quantity figure) {
  ExchangedQuantity alone;
  alone.alone = figure;
  return alone;
}

}  // namespace buttonworth
