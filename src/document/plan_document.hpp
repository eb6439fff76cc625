// Plans and options as documents.
#pragma once

#include <memory>
#include <optional>

#include "document/form.hpp"
#include "route/compare.hpp"

namespace buttonworth {

/// A plan, or everything that is wrong with the document.
struct PlanReading {
  std::shared_ptr<const Plan> plan;  ///< null if there are complaints
  std::vector<Complaint> complaints;
};

/// `keeps_places`: whether each quantity is to know where in the document it stands, which costs memory.
PlanReading read_plan(const Value& document, const DocumentLimits& limits, bool keeps_places = false);

/// The JSON Schema (draft 7) of a plan, from the table of fields that reads it.
Json plan_schema();

/// Names of routes in options: each once.
Form<std::vector<std::string>> route_names_form();
/// The routes of these names, what is wrong told with its place.
std::vector<std::size_t> routes_named(const std::vector<std::string>& names, const Plan& plan,
                                      const Place& place, Reader& reader);

struct RequestedComparison {
  CompareOptions options;
  bool in_decimal = true;
};

/// Options of a comparison; null text: the defaults.
RequestedComparison read_compare_options(const std::optional<Value>& document, const Plan& plan,
                                         const DocumentLimits& limits, std::vector<Complaint>& complaints);
Json options_schema();

}  // namespace buttonworth
