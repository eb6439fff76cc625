#include "document/dispute_document.hpp"
#include "document/metal_call_document.hpp"
#include "document/return_document.hpp"
#include "guard.hpp"

using namespace buttonworth;

bw_status bw_reconcile(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, const DocumentLimits& limits) {
    ReturnReading read = read_return(request, limits);
    throw_if_any(std::move(read.complaints));
    return reconciliation_text(*read.delivery, reconcile(*read.delivery, read.theirs));
  });
}

bw_status bw_dispute(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, const DocumentLimits& limits) {
    DisputeReading read = read_dispute(request, limits);
    throw_if_any(std::move(read.complaints));
    return contest_text(*read.delivery, read.dispute, contest(*read.delivery, read.dispute));
  });
}

bw_status bw_metal_call(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, const DocumentLimits& limits) {
    MetalCallReading read = read_metal_call(request, limits);
    throw_if_any(std::move(read.complaints));
    return accounted_text(read.call, account(read.call));
  });
}
