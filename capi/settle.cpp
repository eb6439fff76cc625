#include "document/delivery_document.hpp"
#include "guard.hpp"

using namespace buttonworth;

bw_status bw_settle(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, const bw_context& context) {
    DeliveryReading read = read_delivery(request, context.limits);
    throw_if_any(std::move(read.complaints));
    return statement_text(settle(*read.delivery, read.how), read.how);
  });
}
