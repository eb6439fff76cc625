// Many lots valued by one plan, as documents: the options, the columns' pointers, the answer.
#pragma once

#include "chance/lot_values.hpp"
#include "document/plan_job.hpp"

namespace buttonworth {

/// Options of a valuing of lots by this plan; null text: the defaults.
LotOptions read_lot_options(const PlanInHand& in_hand, const std::optional<Value>& options,
                            std::vector<Complaint>& complaints);

/// The plan's quantities at these pointers, without their numbers.
std::vector<LotColumn> lot_columns(const PlanInHand& in_hand, const std::vector<std::string>& pointers,
                                   std::vector<Complaint>& complaints);

std::string lot_values_text(const LotValues& values, const LotOptions& options,
                            const std::vector<LotColumn>& columns);

Json lot_values_options_schema();
Json lot_values_schema();

}  // namespace buttonworth
