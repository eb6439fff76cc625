#include "chance/model_lanes.hpp"

#include <array>

namespace buttonworth {
namespace {

using MakeWorker = std::unique_ptr<DrawWorker> (*)(const DrawnPlan&);

MakeWorker widest_worker() {
#if defined(BUTTONWORTH_WIDE_LANES)
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq")) return make_worker_avx512;
  if (__builtin_cpu_supports("avx2")) return make_worker_avx2;
#endif
  return make_worker_plain;
}

/// Scores at which one class ends and the next begins.
std::array<double, class_count - 1> class_ends() {
  std::array<double, class_count - 1> ends;
  for (std::size_t k = 0; k < ends.size(); ++k)
    ends[k] = normal_score(static_cast<double>(k + 1) / static_cast<double>(class_count));
  return ends;
}

}  // namespace

std::unique_ptr<DrawWorker> make_worker_plain(const DrawnPlan& plan) {
  return std::make_unique<LaneWorker<Lanes>>(plan);
}

std::unique_ptr<DrawWorker> make_worker(const DrawnPlan& plan) {
  static const MakeWorker make = widest_worker();
  return make(plan);
}

std::uint8_t class_of_score(double z) {
  static const auto ends = class_ends();
  std::uint8_t at = 0;
  for (std::uint8_t half = class_count / 2; half > 0; half /= 2)
    if (z >= ends[at + half - 1u]) at = static_cast<std::uint8_t>(at + half);
  return at;
}

}  // namespace buttonworth
