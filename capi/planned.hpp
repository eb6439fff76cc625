// Calls that work on a plan under options: bw_compare and its kin.
#pragma once

#include "document/plan_document.hpp"
#include "guard.hpp"

namespace buttonworth {

/// The options as read; none where there is no text.
inline std::optional<Value> options_value(const char* options, size_t size, const bw_context& context) {
  const std::string_view text = text_of(options, size, "the options are NULL and their size is not 0");
  if (text.empty()) return std::nullopt;
  return read_json(text, context.limits);
}

/// The plan again, its quantities knowing where in the document they stand.
inline std::shared_ptr<const Plan> with_places(const bw_plan& plan) {
  static const DocumentLimits limits = no_limits();  // what was read once may be read again
  PlanReading read = read_plan(plan.document, limits, true);
  throw_if_any(std::move(read.complaints));
  return std::move(read.plan);
}

/// A call on a plan: `answer(options, context)` makes the answer of the options as read.
template <class Answer>
bw_status planned(bw_context* context, const bw_plan* plan, const char* options, size_t size, bw_answer** out,
                  Answer answer) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the answer is NULL");
    require_pointer(plan, "the plan is NULL");
    *out = answer(options_value(options, size, *context), *context);
  });
}

}  // namespace buttonworth
