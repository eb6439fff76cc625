#include "document/delivery_document.hpp"
#include "document/return_document.hpp"
#include "guard.hpp"

using namespace buttonworth;

namespace {

/// A call on a request of its own: `answer` makes the answer's text of the request as read.
template <class Answer>
bw_status answered(bw_context* context, const char* json, size_t size, bw_answer** out,
                   Answer answer) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the answer is NULL");
    require_pointer(json, "the request's text is NULL");
    *out = new_answer(answer(read_json({json, size}, context->limits), context->limits));
  });
}

}  // namespace

bw_status bw_settle(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, const DocumentLimits& limits) {
    DeliveryReading read = read_delivery(request, limits);
    throw_if_any(std::move(read.complaints));
    return statement_text(settle(*read.delivery, read.how), read.how);
  });
}

bw_status bw_reconcile(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, const DocumentLimits& limits) {
    ReturnReading read = read_return(request, limits);
    throw_if_any(std::move(read.complaints));
    return reconciliation_text(*read.delivery, reconcile(*read.delivery, read.theirs));
  });
}
