// Compiled with AVX-512 and linked last: what little of the standard library it holds that others hold
// too is then taken from them.
#include "route/sweep_lanes.hpp"

namespace buttonworth {

std::unique_ptr<Sweep> make_sweep_avx512(const Prepared<double>& plain) {
  return std::make_unique<LaneSweep<Pack<8, 2>>>(plain);
}

}  // namespace buttonworth
