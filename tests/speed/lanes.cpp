#include "lane_walk.hpp"

namespace speed {

std::unique_ptr<LaneWalk> narrow_lanes(const buttonworth::Prepared<double>& plain) {
  return std::make_unique<LaneWalkOf<buttonworth::Lanes>>(plain);
}

#if defined(SPEED_AVX2)
std::unique_ptr<LaneWalk> make_wide_lanes(const buttonworth::Prepared<double>& plain);
#endif

std::unique_ptr<LaneWalk> wide_lanes(const buttonworth::Prepared<double>& plain) {
#if defined(SPEED_AVX2)
  if (__builtin_cpu_supports("avx2")) return make_wide_lanes(plain);
#endif
  (void)plain;
  return nullptr;
}

}  // namespace speed
