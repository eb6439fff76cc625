// The one call of the library of schedules.
#include "buttonworth_schedule.h"

#include "document/allocation_document.hpp"
#include "document/schedule_document.hpp"
#include "guard.hpp"

using namespace buttonworth;

bw_status bw_allocate(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  if (context != nullptr && context->made_by != version_mark()) {
    if (out != nullptr) *out = nullptr;
    return BW_USAGE_TYPE;
  }
  return answered(context, json, size, out, [](const Value& request, bw_context& context) {
    AllocationReading read = read_allocation(request, context.limits);
    throw_if_any(std::move(read.complaints));
    return schedule_text(*read.allocation, allocate(*read.allocation, HostWatch(context)));
  });
}
