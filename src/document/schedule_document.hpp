// A month's schedule as a document.
#pragma once

#include "document/form.hpp"
#include "schedule/allocate.hpp"

namespace buttonworth {

std::string schedule_text(const Allocation& allocation, const Allocated& allocated);
Json schedule_schema();

}  // namespace buttonworth
