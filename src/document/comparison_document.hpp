// The comparison as a document.
#pragma once

#include "document/form.hpp"
#include "document/json_text.hpp"
#include "route/compare.hpp"

namespace buttonworth {

/// The comparison's JSON text; `how`: whether lines say how they were worked out.
template <class N>
std::string comparison_text(const Comparison<N>& comparison, bool how);

/// What one route came to, as an object.
template <class N>
void write_route_result(JsonText& out, const Plan& plan, const RouteResult<N>& result, bool how);
Json route_result_schema();

/// The JSON Schema (draft 7) of a comparison.
Json comparison_schema();

}  // namespace buttonworth
