// A month of lots to be allocated, and the schedule, as documents.
#pragma once

#include "document/form.hpp"
#include "schedule/allocate.hpp"

namespace buttonworth {

/// The request, or everything that is wrong with it.
struct AllocationReading {
  std::optional<Allocation> allocation;
  std::vector<Complaint> complaints;
};
AllocationReading read_allocation(const Value& document, const DocumentLimits& limits);
Json allocation_schema();

std::string schedule_text(const Allocation& allocation, const Allocated& allocated);
Json schedule_schema();

}  // namespace buttonworth
