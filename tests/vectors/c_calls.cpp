#include "c_calls.hpp"

namespace vectors {

Outcome call(const Json& vector, const Json& options) {
  const std::string name = vector.at("call");
  if (name == "formula") return work_formula(vector.at("request"));
  if (const RequestCall on_request = request_call(name)) return ask(on_request, request_text(vector));
  const PlanCall on_plan = plan_call(name);
  return work_plan(on_plan != nullptr ? on_plan : bw_compare, request_text(vector), options);
}

}  // namespace vectors
