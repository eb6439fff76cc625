#include <algorithm>
#include <limits>

#include "document/simulation_document.hpp"
#include "planned.hpp"

using namespace buttonworth;

namespace {

const std::vector<double>& kept_draws(const bw_answer& answer, std::string_view what) {
  for (const auto& [name, values] : answer.draws)
    if (name == what) return values;
  throw Error(Code::usage_pointer, answer.draws.empty()
                                       ? "the answer kept no draws: simulate with \"keep\": true"
                                       : "the answer has no draws of this route or input");
}

}  // namespace

bw_status bw_simulate(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                      bw_answer** out) noexcept {
  return planned(context, plan, options, size, out, [&](const std::optional<Value>& text, bw_context& host) {
    const auto placed = with_places(*plan);
    std::vector<Complaint> complaints;
    const SimulateOptions request = read_simulate_options(text, *placed, host.limits, complaints);
    throw_if_any(std::move(complaints));
    Simulation simulation = simulate(*placed, request, HostWatch(host));
    auto answer = std::make_unique<bw_answer>(simulation_text(simulation, request));
    answer->draws = std::move(simulation.kept.by_name);
    return answer.release();
  });
}

bw_status bw_answer_draws(bw_context* context, const bw_answer* answer, const char* what, double* values,
                          size_t capacity, size_t* size) noexcept {
  if (size != nullptr) *size = 0;
  if (values != nullptr) std::fill_n(values, capacity, std::numeric_limits<double>::quiet_NaN());
  return guarded(context, [&] {
    require_pointer(answer, "the answer is NULL");
    require_pointer(what, "the name of the route or the input's pointer is NULL");
    require_pointer(size, "the place for the number of draws is NULL");
    require(values != nullptr || capacity == 0, Code::usage_null, "the place for the draws is NULL");
    const std::vector<double>& draws = kept_draws(*answer, what);
    *size = draws.size();
    if (capacity == 0) return;
    require(capacity >= draws.size(), Code::usage_buffer, "the place for the draws is too small");
    std::copy(draws.begin(), draws.end(), values);
  });
}
