// Candidates at the values of draws: the same draws for all, so that what they share is shared.
#pragma once

#include "schedule/choose.hpp"

namespace buttonworth {

/// Present values of these candidates, 0 where refused or impossible, at every draw.
DrawnValues draw_values(const Allocation& allocation, const Candidates& candidates,
                        const std::vector<std::size_t>& which, const Watch& watch);

double mean_of(const DrawnValues& drawn, const std::vector<Picked>& picked);
/// The mean of the worst 5 % of the draws, of what the shipments bring together.
double worst_mean_of(const DrawnValues& drawn, const std::vector<Picked>& picked);

}  // namespace buttonworth
