// Compiled with AVX-512 and linked last: what little of the standard library it holds that others hold
// too is then taken from them.
#include "chance/lot_lanes.hpp"
#include "chance/model_lanes.hpp"

namespace buttonworth {

std::unique_ptr<DrawWorker> make_worker_avx512(const DrawnPlan& plan) {
  return std::make_unique<LaneWorker<Pack<8, 2>>>(plan);
}

std::unique_ptr<LotWorker> make_lot_worker_avx512(const LotModel& model) {
  return std::make_unique<LotLanes<Pack<8, 2>>>(model);
}

}  // namespace buttonworth
