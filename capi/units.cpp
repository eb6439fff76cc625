#include <limits>

#include "document/allocation_document.hpp"
#include "document/bench_document.hpp"
#include "document/book_document.hpp"
#include "document/comparison_document.hpp"
#include "document/convert.hpp"
#include "document/delivery_document.hpp"
#include "document/dispute_document.hpp"
#include "document/lot_values_document.hpp"
#include "document/metal_call_document.hpp"
#include "document/plan_document.hpp"
#include "document/plan_job.hpp"
#include "document/return_document.hpp"
#include "document/returns_document.hpp"
#include "document/schedule_document.hpp"
#include "document/simulation_document.hpp"
#include "guard.hpp"
#include "strides.hpp"

using namespace buttonworth;

namespace {

using Schema = Json (*)();
constexpr std::pair<const char*, Schema> schemas[] = {
    {"plan", plan_schema},
    {"comparison", comparison_schema},
    {"options", options_schema},
    {"delivery", delivery_schema},
    {"statement", statement_schema},
    {"return", return_schema},
    {"reconciliation", reconciliation_schema},
    {"returns", returns_schema},
    {"reconciliations", reconciliations_schema},
    {"month", month_schema},
    {"book", book_schema},
    {"dispute", dispute_schema},
    {"contest", contest_schema},
    {"call", call_schema},
    {"accounted", accounted_schema},
    {"simulate-options", simulate_options_schema},
    {"simulation", simulation_schema},
    {"allocation", allocation_schema},
    {"schedule", schedule_schema},
    {"lot-values-options", lot_values_options_schema},
    {"lot-values", lot_values_schema},
};

Json schema_named(std::string_view name) {
  std::string known;
  for (const auto& [title, schema] : schemas) {
    if (name == title) return schema();
    known += (known.empty() ? "" : ", ") + std::string(title);
  }
  for (const BenchRequest* one : bench_requests()) {
    if (name == one->name) return one->schema();
    if (name == one->answer_name) return one->answer_schema();
    known += std::string(", ") + one->name + ", " + one->answer_name;
  }
  for (const PlanJob* one : plan_jobs()) {
    if (name == one->name) return one->schema();
    if (name == one->answer_name) return one->answer_schema();
    known += std::string(", ") + one->name + ", " + one->answer_name;
  }
  throw Error(Code::usage_name,
              "there is no schema named " + std::string(name.substr(0, 60)) + "; there is " + known);
}

}  // namespace

bw_status bw_convert(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, const bw_context& context) {
    std::vector<Complaint> complaints;
    auto answer = convert_request(request, context.limits, complaints);
    throw_if_any(std::move(complaints));
    return *answer;
  });
}

bw_status bw_convert_array(bw_context* context, const double* values, int64_t stride, size_t count,
                           const char* from, const char* to, double* out, int64_t out_stride) noexcept {
  const auto at = [](std::size_t i, int64_t step) { return static_cast<std::int64_t>(i) * step; };
  const bool reachable = is_within_reach(stride, count) && is_within_reach(out_stride, count);
  const bw_status status = guarded(context, [&] {
    require_pointer(from, "the unit to convert from is NULL");
    require_pointer(to, "the unit to convert to is NULL");
    require(count == 0 || (values != nullptr && out != nullptr), Code::usage_null,
            "the array of values or of results is NULL");
    require(reachable, Code::usage_size, "a stride is 0, or with the count out of range");
    const double factor = conversion_factor(from, to);
    if (stride == 1 && out_stride == 1)  // whole vectors at a time
      for (std::size_t i = 0; i < count; ++i) out[i] = values[i] * factor;
    else
      for (std::size_t i = 0; i < count; ++i) out[at(i, out_stride)] = values[at(i, stride)] * factor;
  });
  const bool in_place = values == out;  // the caller's numbers stay what they are
  if (status == BW_OK || out == nullptr || !reachable || in_place) return status;
  fill_with_nan(out, out_stride, count);
  return status;
}

bw_status bw_schema(bw_context* context, const char* name, bw_answer** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the answer is NULL");
    require_pointer(name, "the name of the schema is NULL");
    *out = new_answer(schema_named(name));
  });
}
