// What measuring an input once more is worth before a route is chosen: the expected value of sample
// information (H. Raiffa and R. Schlaifer, Applied Statistical Decision Theory, 1961; from memory).
#pragma once

#include "chance/simulate.hpp"

namespace buttonworth {

/// Draws are kept to work on; no more than this many.
constexpr std::int64_t most_kept_draws = std::int64_t{1} << 20;

/// A measurement that can be bought, several times over.
struct Candidate {
  Quantity of;
  bool relative = true;
  double error = 0;  ///< sd of one measurement: a share of the true value, or in the quantity's own unit
  int most = 1;      ///< times it is looked at
  double cost = 0, fixed = 0;
};

struct CountedWorth {
  int count = 0;
  double worth = 0, standard_error = 0;
  double cost = 0;
  double net() const { return worth - cost; }
};

struct CandidateWorth {
  const Candidate* candidate = nullptr;
  double known = 0, standard_error = 0;  ///< of knowing the input for certain
  std::vector<CountedWorth> counts;
  std::optional<std::size_t> best;  ///< of counts: the largest net above 0; none where nothing pays
};

struct SampleWorth {
  Simulation simulation;
  std::vector<CandidateWorth> candidates;  ///< in the order asked for
  std::optional<std::size_t> best;         ///< the candidate whose best net is the largest
};

/// Every draw of a simulation is one way the world may be. A result y makes each more or less likely, by
/// exp(−(y − x)² n ÷ 2 error²); what the routes are then worth on average decides which is taken. So bands,
/// refusals and all other inputs are integrated over. Each eighth of the draws is worth what it is at the
/// choices that the other seven make, so that chance alone shows no gain.
SampleWorth find_worth(const Plan& plan, const std::vector<Candidate>& candidates, SimulateOptions options,
                       const Watch& watch);

}  // namespace buttonworth
