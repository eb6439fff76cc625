// The search for the balance that is least off from what was measured.
#pragma once

#include <vector>

#include "bench/circuit_layout.hpp"
#include "quantity/watch.hpp"

namespace buttonworth {

/// A balance: every unknown, about how large each is, which streams are of 0 kg, and
/// Σ ((balanced − measured) ÷ sd)².
struct CircuitPoint {
  Vector x, sizes;
  std::vector<bool> empty;
  double misfit = 0;
};

/// A grade that would lie below 0 or above 100 % if it might.
enum class Held { not_held, at_nothing, at_all };
Held held(const CircuitLayout& layout, const CircuitPoint& point, std::size_t s, std::size_t a);

/// The balance of least misfit, to 1 part in 10^12 and better. Newton's method in masses and contents, each
/// step the least of a quadratic within the limits. Throws a CircuitError where there is none.
CircuitPoint least_misfit(const CircuitLayout& layout, const Watch& watch);

}  // namespace buttonworth
