// A figure that two parties may each have found.
#pragma once

#include "document/form.hpp"
#include "sale/statement.hpp"

namespace buttonworth {

/// Whether two parties' figures want a limit where they stand, or may take their buyer's.
enum class LimitOf { figure, buyer };

/// A quantity, or {"seller", "buyer", "limit", "umpire", "rule"}.
Form<ExchangedQuantity> exchanged(Dimensions dimensions, Allowed allowed, LimitOf limits = LimitOf::figure);

/// What a buyer's contract says once for all his deliveries.
struct ContractLimit {
  std::optional<Quantity> limit, limit_relative;
  std::optional<UmpireRule> rule;
};
Form<ContractLimit> contract_limit(Dimensions dimensions);

/// Gives a figure that both parties state and that has no limit of its own the contract's; a complaint
/// where there is none.
void take_limit(const ContractLimit* contract, const Place& place, Reader& reader, ExchangedQuantity& figure);

}  // namespace buttonworth
