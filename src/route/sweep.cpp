#include "route/sweep_lanes.hpp"

namespace buttonworth {
namespace {

using MakeSweep = std::unique_ptr<Sweep> (*)(const Prepared<double>&);

MakeSweep widest_sweep() {
#if defined(BUTTONWORTH_WIDE_LANES)
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq")) return make_sweep_avx512;
  if (__builtin_cpu_supports("avx2")) return make_sweep_avx2;
#endif
  return make_sweep_plain;
}

}  // namespace

std::unique_ptr<Sweep> make_sweep_plain(const Prepared<double>& plain) {
  return std::make_unique<LaneSweep<Lanes>>(plain);
}

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
  static const MakeSweep make = widest_sweep();
  return make(plain);
}

}  // namespace buttonworth
