// A plan drawn many times: blocks of draws worked out in lanes.
//
// The lanes are compiled once for each instruction set (model.cpp, model_avx2.cpp, model_avx512.cpp), each
// with a number type of its own; the processor is asked once. Every width gives the same bits.
#pragma once

#include <cstdint>
#include <memory>
#include <vector>

#include "chance/worth_tape.hpp"

namespace buttonworth {

/// Draws that stand together, of one part of the simulation: never more than this many.
constexpr std::size_t block_draws = 4096;

/// What a block of draws came to.
struct DrawBlock {
  std::size_t count = 0, routes = 0;
  std::vector<double> worth;          ///< by draw, then route; 0 where refused
  std::vector<std::uint8_t> refused;  ///< likewise: whether it is
  std::vector<std::uint8_t> broken;   ///< by draw: whether its physics is impossible
  std::vector<std::uint8_t> classes;  ///< by dimension, then draw
  std::vector<double> values;         ///< by input, then draw; only where they are kept

  const double* worth_of(std::size_t draw) const { return &worth[draw * routes]; }
};

/// All that a simulation works on. Immutable.
struct DrawnPlan {
  const Drawing* drawing;
  const Program* worths;  ///< of the routes
  bool keeps_values = false;
};

/// One thread's share of the work.
class DrawWorker {
 public:
  virtual ~DrawWorker() = default;
  /// Works out draws `first` to `first` + count - 1, all of one part.
  virtual void work(std::int64_t first, std::size_t count, DrawBlock& block) = 0;
};

/// A worker for the processor at hand. The drawn plan must outlive it.
std::unique_ptr<DrawWorker> make_worker(const DrawnPlan& plan);

/// For each instruction set.
std::unique_ptr<DrawWorker> make_worker_plain(const DrawnPlan& plan);
std::unique_ptr<DrawWorker> make_worker_avx2(const DrawnPlan& plan);
std::unique_ptr<DrawWorker> make_worker_avx512(const DrawnPlan& plan);

/// The class of a score, for dimensions whose probability is not at hand.
std::uint8_t class_of_score(double z);

}  // namespace buttonworth
