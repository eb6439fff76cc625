// The comparison as a document.
#pragma once

#include "document/form.hpp"
#include "route/compare.hpp"

namespace buttonworth {

/// The comparison's JSON text; `how`: whether lines say how they were worked out.
template <class N>
std::string comparison_text(const Comparison<N>& comparison, bool how);

/// The JSON Schema (draft 7) of a comparison.
Json comparison_schema();

}  // namespace buttonworth
