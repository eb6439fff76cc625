#include "document/delivery_document.hpp"
#include "document/return_document.hpp"
#include "guard.hpp"

using namespace buttonworth;

bw_status bw_settle(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the answer is NULL");
    require_pointer(json, "the request's text is NULL");
    DeliveryReading read = read_delivery(read_json({json, size}, context->limits), context->limits);
    throw_if_any(std::move(read.complaints));
    *out = new_answer(statement_text(settle(*read.delivery, read.how), read.how));
  });
}

bw_status bw_reconcile(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the answer is NULL");
    require_pointer(json, "the request's text is NULL");
    ReturnReading read = read_return(read_json({json, size}, context->limits), context->limits);
    throw_if_any(std::move(read.complaints));
    *out = new_answer(reconciliation_text(*read.delivery, reconcile(*read.delivery, read.theirs)));
  });
}
