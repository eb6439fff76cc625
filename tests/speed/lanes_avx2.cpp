// Compiled with AVX2; see src/route/sweep_avx2.cpp.
#include "lane_walk.hpp"

namespace speed {

std::unique_ptr<LaneWalk> make_wide_lanes(const buttonworth::Prepared<double>& plain) {
  return std::make_unique<LaneWalkOf<buttonworth::Pack<4, 2>>>(plain);
}

}  // namespace speed
