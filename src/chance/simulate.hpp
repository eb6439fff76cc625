// A plan drawn many times: how sure each route's worth is, how often it is the best, and what knowing more
// would be worth.
#pragma once

#include <string>

#include "chance/blocks.hpp"
#include "chance/sums.hpp"
#include "route/compare.hpp"

namespace buttonworth {

/// By what a route is chosen.
enum class Preference { mean, worst_mean, mean_less_sd };

struct SimulateOptions {
  DrawNumbers numbers;
  DrawTogether together;
  int threads = 1;
  std::vector<std::size_t> routes;  ///< of the plan; empty: all
  Preference prefer = Preference::mean;
  double sds = 1;     ///< k of mean − k sd
  bool keep = false;  ///< whether the draws are handed out
};

/// A route over all draws; a draw in which it is refused is worth 0.
struct RouteChance {
  const Route* route = nullptr;
  std::optional<double> plan;  ///< present value at the plan's values; none where refused
  double mean = 0, standard_error = 0, sd = 0;
  double low = 0, median = 0, high = 0;  ///< 2.5, 50 and 97.5 %
  double worst_mean = 0;                 ///< of the worst 5 %
  double best_share = 0, refused_share = 0;
  double regret = 0;
  std::vector<std::string> conditional;  ///< as the comparison has it
};

/// How far a route is ahead of another.
struct Lead {
  std::size_t route = 0, over = 0;
  double mean = 0, standard_error = 0;
  double ahead = 0;        ///< share of the draws, equal ones counted half
  double sd = 0;           ///< over the draws in which neither is refused
  std::int64_t taken = 0;  ///< how many these are
};

/// What an input does to the choice; inputs that are the same stand together.
struct InputChance {
  std::vector<Quantity> quantities;
  double cut_off = 0;  ///< the largest of theirs
  double share = 0;    ///< of the variance of the lead, where neither route is refused
  double worth = 0, standard_error = 0;
};

/// Draws as they were, for hosts that ask for them.
struct KeptDraws {
  std::vector<std::pair<std::string, std::vector<double>>> by_name;
};

struct Simulation {
  const Plan* plan = nullptr;
  std::int64_t draws = 0, counted = 0;
  std::vector<RouteChance> routes;
  std::optional<std::size_t> plan_best;  ///< as the comparison has it
  std::size_t by_mean = 0, by_worst_mean = 0, by_mean_less_sd = 0, preferred = 0;
  std::optional<Lead> lead;
  double worth_of_certainty = 0, worth_standard_error = 0;
  bool has_inputs = true;  ///< whether their shares and worth were worked out
  std::vector<InputChance> inputs;
  std::vector<Caution> cautions;
  KeptDraws kept;
};

/// Throws an Error: of the comparison at the plan's values; Code::range where correlations cannot hold
/// together or more than half of the draws break physics; Code::cancelled.
Simulation simulate(const Plan& plan, const SimulateOptions& options, const Watch& watch);

/// Of a mean, from the means of its independent parts: their standard deviation over the root of their
/// number.
double standard_error_of(const std::array<double, part_count>& means);

/// The routes of a comparison at the cuts that hold in every draw.
std::vector<HeldRoute> hold_cuts(const Comparison<double>& comparison);

}  // namespace buttonworth
