// A sweep: the value of one route at many settings of its searched cuts, worked out in lanes.
//
// The lanes are compiled once for each instruction set (sweep.cpp, sweep_avx2.cpp, sweep_avx512.cpp), each
// with a number type of its own, so that no template of one is taken for the other; the processor is asked
// once.
#pragma once

#include <limits>
#include <memory>
#include <vector>

#include "route/prepared.hpp"

namespace buttonworth {

/// One pull for each searched cut, in the order of Route::searched. Most routes search one.
using Pulls = Few<double, 2>;

struct SweepPoint {
  static constexpr double nothing = -std::numeric_limits<double>::infinity();

  Pulls pulls;
  double value = nothing;  ///< present value of what depends on the pulls; refused or impossible: nothing
  bool impossible = false;
  double refusals = 0;  ///< which rules refuse, as a sum of powers of two
};

class Sweep {
 public:
  virtual ~Sweep() = default;
  virtual void evaluate(const Route& route, std::vector<SweepPoint>& points) const = 0;
};

/// A sweep for the processor at hand. `plain` must outlive it.
std::unique_ptr<Sweep> make_sweep(const Prepared<double>& plain);

/// A cut by grade or recovery in one lane: the pull, or nothing where it is never reached.
std::optional<double> solve_lane(const Prepared<double>& plain, std::size_t step, const Table& table,
                                 double dry, const double* content);

/// The same for any processor, and compiled for AVX2 and for AVX-512: all give the same bits.
std::unique_ptr<Sweep> make_sweep_plain(const Prepared<double>& plain);
std::unique_ptr<Sweep> make_sweep_avx2(const Prepared<double>& plain);
std::unique_ptr<Sweep> make_sweep_avx512(const Prepared<double>& plain);

}  // namespace buttonworth
