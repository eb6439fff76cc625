#include "chance/model_lanes.hpp"

#include <array>

#include "chance/lot_lanes.hpp"

namespace buttonworth {
namespace {

struct Makers {
  std::unique_ptr<DrawWorker> (*of_draws)(const DrawnPlan&);
  std::unique_ptr<LotWorker> (*of_lots)(const LotModel&);
};

/// For the widest lanes that the processor has.
const Makers& makers() {
  static const Makers widest = []() -> Makers {
#if defined(BUTTONWORTH_WIDE_LANES)
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq"))
      return {make_worker_avx512, make_lot_worker_avx512};
    if (__builtin_cpu_supports("avx2")) return {make_worker_avx2, make_lot_worker_avx2};
#endif
    return {make_worker_plain, make_lot_worker_plain};
  }();
  return widest;
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

std::unique_ptr<LotWorker> make_lot_worker_plain(const LotModel& model) {
  return std::make_unique<LotLanes<Lanes>>(model);
}

std::unique_ptr<DrawWorker> make_worker(const DrawnPlan& plan) { return makers().of_draws(plan); }
std::unique_ptr<LotWorker> make_lot_worker(const LotModel& model) { return makers().of_lots(model); }

std::uint8_t class_of_score(double z) {
  static const auto ends = class_ends();
  std::uint8_t at = 0;
  for (std::uint8_t half = class_count / 2; half > 0; half /= 2)
    if (z >= ends[at + half - 1u]) at = static_cast<std::uint8_t>(at + half);
  return at;
}

}  // namespace buttonworth
