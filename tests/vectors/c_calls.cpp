#include "c_calls.hpp"

namespace vectors {

Outcome call(const Json& vector, const Json& options) {
  if (vector.at("call") == "convert") return ask(bw_convert, request_text(vector));
  if (vector.at("call") == "settle") return ask(bw_settle, request_text(vector));
  if (vector.at("call") == "reconcile") return ask(bw_reconcile, request_text(vector));
  if (vector.at("call") == "book") return ask(bw_book, request_text(vector));
  if (vector.at("call") == "dispute") return ask(bw_dispute, request_text(vector));
  if (vector.at("call") == "metal_call") return ask(bw_metal_call, request_text(vector));
  if (vector.at("call") == "bench") return ask(bw_bench, request_text(vector));
  if (vector.at("call") == "formula") return work_formula(vector.at("request"));
  const PlanCall on_plan = plan_call(vector.at("call"));
  return work_plan(on_plan != nullptr ? on_plan : bw_compare, request_text(vector), options);
}

}  // namespace vectors
