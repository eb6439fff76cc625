// A simulation as a document.
#pragma once

#include <optional>

#include "chance/simulate.hpp"
#include "document/form.hpp"

namespace buttonworth {

/// Options of a simulation of this plan, whose quantities know their places; null text: the defaults.
SimulateOptions read_simulate_options(const std::optional<Value>& document, const Plan& plan,
                                      const DocumentLimits& limits, std::vector<Complaint>& complaints);

std::string simulation_text(const Simulation& simulation, const SimulateOptions& options);

Json simulate_options_schema();
Json simulation_schema();

}  // namespace buttonworth
