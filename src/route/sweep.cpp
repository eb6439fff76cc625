#include "route/sweep_lanes.hpp"

namespace buttonworth {
namespace {

bool has_avx2() {
#if defined(BUTTONWORTH_AVX2)
  return __builtin_cpu_supports("avx2");
#else
  return false;
#endif
}

}  // namespace

std::optional<double> solve_lane(const Prepared<double>& plain, std::size_t step, const Table& table,
                                 double dry, const double* content) {
  const Plan& plan = *plain.plan;
  Stream<double> feed;
  feed.dry = dry;
  feed.content.assign(content, content + plan.analytes.size());
  try {
    return solve_cut(plan.steps[step].basics, table, plain.curves[step], feed, plain.scenario,
                     plan.analytes[table.cut.of]);
  } catch (const Error&) {
    return std::nullopt;
  }
}

std::unique_ptr<Sweep> make_sweep(const Prepared<double>& plain) {
  static const bool avx2 = has_avx2();
#if defined(BUTTONWORTH_AVX2)
  if (avx2) return make_sweep_avx2(plain);
#endif
  return std::make_unique<LaneSweep<Lanes>>(plain);
}

}  // namespace buttonworth
