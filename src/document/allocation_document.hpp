// A month of lots to be allocated, as a document.
#pragma once

#include "document/form.hpp"
#include "schedule/allocation.hpp"

namespace buttonworth {

/// The request, or everything that is wrong with it.
struct AllocationReading {
  std::optional<Allocation> allocation;
  std::vector<Complaint> complaints;
};
AllocationReading read_allocation(const Value& document, const DocumentLimits& limits);
Json allocation_schema();

}  // namespace buttonworth
