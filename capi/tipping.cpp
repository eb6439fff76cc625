#include "document/plan_job.hpp"
#include "planned.hpp"

using namespace buttonworth;

namespace {

bw_status job_done(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                   bw_answer** out, const PlanJob& job) noexcept {
  return planned(context, plan, options, size, out, [&](const std::optional<Value>& text, bw_context& host) {
    const auto placed = with_places(*plan);
    std::vector<Complaint> complaints;
    std::string answer =
        job.answer({plan->document, *placed, host.limits, HostWatch(host)}, text, complaints);
    throw_if_any(std::move(complaints));
    return new_answer(std::move(answer));
  });
}

}  // namespace

bw_status bw_worth(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                   bw_answer** out) noexcept {
  return job_done(context, plan, options, size, out, worth_job);
}

bw_status bw_break_even(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                        bw_answer** out) noexcept {
  return job_done(context, plan, options, size, out, break_even_job);
}

bw_status bw_counter_offers(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                            bw_answer** out) noexcept {
  return job_done(context, plan, options, size, out, counter_offers_job);
}

bw_status bw_forgiving_cut(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                           bw_answer** out) noexcept {
  return job_done(context, plan, options, size, out, forgiving_cut_job);
}

bw_status bw_sensitivity(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                         bw_answer** out) noexcept {
  return job_done(context, plan, options, size, out, sensitivity_job);
}

bw_status bw_map(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                 bw_answer** out) noexcept {
  return job_done(context, plan, options, size, out, map_job);
}
