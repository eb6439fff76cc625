// A figure that two parties may each have found.
#pragma once

#include "document/form.hpp"
#include "sale/statement.hpp"

namespace buttonworth {

/// A quantity, or {"seller", "buyer", "limit", "umpire", "rule"}.
Form<ExchangedQuantity> exchanged(Dimensions dimensions, Allowed allowed);

}  // namespace buttonworth
