// What the benchmarks share: texts of plans, a plan read from them, a line of numbers to check by.
#pragma once

#include <benchmark/benchmark.h>

#include <memory>
#include <string>

#include "buttonworth.h"
#include "document/plan_document.hpp"
#include "route/prepared.hpp"
#include "route/walk.hpp"

namespace speed {

std::string file_text(const char* path);

/// A plan from its text; ends the program with the first complaint if there is one.
std::shared_ptr<const buttonworth::Plan> plan_of(const std::string& text);

/// The C interface from a plan's text to the comparison's, as a host calls it.
class Host {
 public:
  Host();
  ~Host() { bw_context_destroy(&context_); }
  /// The size of the answer's text, so that nothing is left out by the compiler.
  std::size_t text_to_text(const std::string& plan, const std::string& options);
  std::size_t read_only(const std::string& plan);
  std::size_t settle(const std::string& delivery);
  /// A month whose deliveries come in pieces of 64 KiB, as a file is read.
  std::size_t book(const std::string& heading, const std::string& deliveries);
  std::size_t bench(const std::string& request);
  /// The draws of these names, of a simulation that keeps them.
  std::vector<std::vector<double>> draws(const std::string& plan, const std::string& options,
                                         const std::vector<std::string>& names);
  /// Two-product recoveries of whole columns.
  void recoveries(const std::vector<double>& feed, const std::vector<double>& concentrate,
                  const std::vector<double>& tailings, std::vector<double>& out);

 private:
  void must(bw_status status) const;
  bw_context* context_ = nullptr;
};

/// Walks one route in a block of lanes with its cuts held, and gives the first lane's present value.
class LaneWalk {
 public:
  virtual ~LaneWalk() = default;
  virtual int lanes() const = 0;
  virtual double value(const buttonworth::Route& route, const std::vector<double>& pulls) const = 0;
};
std::unique_ptr<LaneWalk> narrow_lanes(const buttonworth::Prepared<double>& plain);
std::unique_ptr<LaneWalk> wide_lanes(const buttonworth::Prepared<double>& plain);  ///< AVX2, or null

void print_settlement();  ///< each amount of the settlement, to be compared with another's

}  // namespace speed
