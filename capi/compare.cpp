#include "document/comparison_document.hpp"
#include "planned.hpp"

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

}  // namespace

bw_status bw_compare(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                     bw_answer** out) noexcept {
  return planned(context, plan, options, size, out, [&](const std::optional<Value>& text, bw_context& host) {
    std::vector<Complaint> complaints;
    const auto request = read_compare_options(text, *plan->plan, host.limits, complaints);
    throw_if_any(std::move(complaints));
    const HostWatch watch(host);
    return new_answer(request.in_decimal ? compared<Decimal>(*plan->plan, request.options, host, watch)
                                         : compared<double>(*plan->plan, request.options, host, watch));
  });
}
