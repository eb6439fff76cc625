// All routes of the demo plan as a loop over draws, written by hand for that one plan.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace speed {

constexpr std::size_t loop_routes = 11;

/// Values of the twelve inputs, draw by draw, in the order in which the plan states them; and where the
/// routes' tables are cut: at 2.5 %, best for a bar, best for selling the middlings, best with the nuggets
/// melted, rich.
struct LoopDraws {
  std::array<const double*, 12> input;
  std::size_t count;
};
struct LoopPulls {
  double at_the_shifts_cut, best, middlings_sold, nuggets_melted, rich;
};

/// Worth of every route in every draw, 0 where refused: route r of draw i in worth[r × count + i]. `broken`:
/// where physics is.
void work_demo_loop(const LoopPulls& pulls, const LoopDraws& draws, double* worth, std::uint8_t* broken);

}  // namespace speed
