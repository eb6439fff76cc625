#include <algorithm>
#include <limits>

#include "bench/formulas.hpp"
#include "document/bench_document.hpp"
#include "guard.hpp"
#include "strides.hpp"

using namespace buttonworth;

namespace {

std::vector<FormulaColumn> columns_of(const double* const* arguments, const int64_t* strides,
                                      size_t arguments_count, size_t count) {
  require(arguments_count <= most_arguments, Code::usage_size, "more arguments than any formula takes");
  require(arguments_count == 0 || (arguments != nullptr && strides != nullptr), Code::usage_null,
          "the arguments or their strides are NULL");
  std::vector<FormulaColumn> columns;
  for (size_t k = 0; k < arguments_count; ++k) {
    require_column(arguments[k], strides[k], count);
    columns.push_back({arguments[k], strides[k]});
  }
  return columns;
}

/// Results that take the place of an argument leave it what it is where nothing is worked.
bool is_among(const double* out, const double* const* arguments, size_t count) {
  return arguments != nullptr && count <= most_arguments &&
         std::find(arguments, arguments + count, out) != arguments + count;
}

}  // namespace

bw_status bw_bench(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, bw_context& context) {
    std::vector<Complaint> complaints;
    std::string answer = bench_answer(request, context.limits, HostWatch(context), complaints);
    throw_if_any(std::move(complaints));
    return answer;
  });
}

bw_status bw_formula(bw_context* context, const char* name, const double* arguments, size_t count,
                     double* out) noexcept {
  if (out != nullptr) *out = std::numeric_limits<double>::quiet_NaN();
  return guarded(context, [&] {
    require_pointer(out, "the place for the result is NULL");
    require_pointer(name, "the name of the formula is NULL");
    require(count == 0 || arguments != nullptr, Code::usage_null, "the arguments are NULL");
    *out = work_formula(find_formula(name), {arguments, count});
  });
}

bw_status bw_formula_array(bw_context* context, const char* name, const double* const* arguments,
                           const int64_t* strides, size_t arguments_count, size_t count, double* out,
                           int64_t out_stride) noexcept {
  bool worked = false;  // rows then have their own results
  const bw_status status = guarded(context, [&] {
    require_pointer(name, "the name of the formula is NULL");
    require(count == 0 || out != nullptr, Code::usage_null, "the array of results is NULL");
    require(is_within_reach(out_stride, count), Code::usage_size,
            "a stride is 0, or with the count out of range");
    const std::vector<FormulaColumn> columns = columns_of(arguments, strides, arguments_count, count);
    const NamedFormula& formula = find_formula(name);
    worked = true;
    if (auto first = work_formula_rows(formula, columns, count, out, out_stride))
      throw Complaints{{std::move(*first)}};
  });
  const bool nowhere = out == nullptr || !is_within_reach(out_stride, count);
  if (status == BW_OK || worked || nowhere || is_among(out, arguments, arguments_count)) return status;
  fill_with_nan(out, out_stride, count);
  return status;
}

bw_status bw_formulas(bw_context* context, bw_answer** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the answer is NULL");
    *out = new_answer(formulas_text());
  });
}
