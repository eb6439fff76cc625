// The comparison as a document.
#pragma once

#include "document/form.hpp"
#include "route/compare.hpp"

namespace buttonworth {

template <class N>
Json comparison_document(const Comparison<N>& comparison, bool how);

/// The JSON Schema (draft 7) of a comparison.
Json comparison_schema();

}  // namespace buttonworth
