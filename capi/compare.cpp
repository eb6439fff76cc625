#include "document/comparison_document.hpp"
#include "document/plan_document.hpp"
#include "guard.hpp"

using namespace buttonworth;

namespace {

template <class N>
std::string compared(const Plan& plan, const CompareOptions& options, const bw_context& context,
                     const Watch& watch) {
  const Comparison<N> comparison = compare(Prepared<N>(plan), options, watch);
  if (context.log.wants(LogLevel::info))
    context.log.write(LogLevel::info,
                      "compared " + std::to_string(comparison.routes.size()) + " routes, best: " +
                          (comparison.best ? comparison.routes[*comparison.best].route->name : "none"));
  return comparison_text(comparison, options.how);
}

std::optional<Value> options_value(const char* options, size_t size, const bw_context& context) {
  const std::string_view text = text_of(options, size, "the options are NULL and their size is not 0");
  if (text.empty()) return std::nullopt;
  return read_json(text, context.limits);
}

}  // namespace

bw_status bw_compare(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                     bw_answer** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the answer is NULL");
    require_pointer(plan, "the plan is NULL");
    std::vector<Complaint> complaints;
    const auto request = read_compare_options(options_value(options, size, *context), *plan->plan,
                                              context->limits, complaints);
    throw_if_any(std::move(complaints));
    const HostWatch watch(*context);
    *out = new_answer(request.in_decimal ? compared<Decimal>(*plan->plan, request.options, *context, watch)
                                         : compared<double>(*plan->plan, request.options, *context, watch));
  });
}
