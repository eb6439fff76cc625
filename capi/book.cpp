#include "document/dispute_document.hpp"
#include "document/metal_call_document.hpp"
#include "document/return_document.hpp"
#include "document/returns_document.hpp"
#include "guard.hpp"

using namespace buttonworth;

namespace {

/// A request of many returns says so in its format.
bool is_of_many(const Value& request) {
  const Value* format = request.find("format");
  return format != nullptr && format->text == returns_format;
}

std::string reconcile_all(const Value& request, bw_context& context) {
  ReturnsReading read(request, context.limits, HostWatch(context));
  throw_if_any(std::move(read.complaints()));
  return read.text();
}

}  // namespace

bw_status bw_reconcile(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, bw_context& context) {
    if (is_of_many(request)) return reconcile_all(request, context);
    ReturnReading read = read_return(request, context.limits);
    throw_if_any(std::move(read.complaints));
    return reconciliation_text(*read.delivery, reconcile(*read.delivery, read.theirs));
  });
}

bw_status bw_dispute(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, const bw_context& context) {
    DisputeReading read = read_dispute(request, context.limits);
    throw_if_any(std::move(read.complaints));
    return contest_text(*read.delivery, read.dispute, contest(*read.delivery, read.dispute));
  });
}

bw_status bw_metal_call(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, const bw_context& context) {
    MetalCallReading read = read_metal_call(request, context.limits);
    throw_if_any(std::move(read.complaints));
    return accounted_text(read.call, account(read.call));
  });
}
