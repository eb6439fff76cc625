// Decisions at an edge: every place where a value decides goes through one of these.
//
// An assay that is exactly a band's start comes back from content ÷ mass just below it in most
// lots, and 8.7 ÷ 2.9 is not 3 in 50 digits. So values equal to 1 part in 10^12 count as equal,
// in all three arithmetics alike.
#pragma once

#include "quantity/arithmetic.hpp"

namespace buttonworth {

template <class N>
inline N edge_width() {
  return N(1e-12);
}
template <>
inline Decimal edge_width<Decimal>() {
  return power_of_ten(-12);
}

/// a ≥ b, equal included.
template <class N>
inline Mask<N> at_least(const N& a, const N& b) {
  using std::abs;
  return a >= b - abs(b) * edge_width<N>();
}
template <>
inline bool at_least(const Decimal& a, const Decimal& b) {
  return a >= b || a >= b - abs(b) * edge_width<Decimal>();
}

/// a ≤ b, equal included.
template <class N>
inline Mask<N> at_most(const N& a, const N& b) {
  return at_least(b, a);
}

/// a > b by more than an edge's width.
template <class N>
inline Mask<N> above(const N& a, const N& b) {
  return no(at_most(a, b));
}

template <class N>
inline Mask<N> same(const N& a, const N& b) {
  return both(at_least(a, b), at_least(b, a));
}
/// Whole steps of width `each` from `start` up to `value`; below `start` a negative number.
/// `per_each` is 1 ÷ each.
template <class N>
inline N whole_steps(const N& value, const N& start, const N& each, const N& per_each) {
  const N steps = plain_floor((value - start) * per_each);
  return choose(at_least(value, N(start + (steps + N(1)) * each)), N(steps + N(1)), steps);
}

/// The smallest whole number not below `value`.
template <class N>
inline N ceiling(const N& value) {
  const N below = plain_floor(value);
  return choose(at_most(value, below), below, N(below + N(1)));
}

enum class RoundingMode { half_even, half_up, down };

/// So many steps; where they are whole or half ones to an edge's width, exactly those.
template <class N>
inline N settled_steps(const N& steps) {
  using std::abs;
  const N twice = steps + steps, nearest = nearest_whole(twice);
  return choose(abs(N(twice - nearest)) <= abs(twice) * edge_width<N>(), N(nearest * N(0.5)), steps);
}

/// Rounds the size of `value` to a multiple of `step`; the sign stays, so that half up is away from
/// zero and down is towards it. `per_step` is 1 ÷ step.
template <class N>
inline N round_to(const N& value, const N& step, const N& per_step, RoundingMode mode) {
  using std::abs;
  const N steps = settled_steps(N(value * per_step));
  if (mode == RoundingMode::half_even) return N(nearest_whole(steps) * step);
  const N size = abs(steps);
  const N rounded = plain_floor(mode == RoundingMode::down ? size : N(size + N(0.5))) * step;
  return choose(value < N(0), N(-rounded), rounded);
}

/// What a balance shows that turns in whole steps and only once the mass has passed the step by
/// `turn`: the usual way of weighing gold bars, gross to 0.025 ozt with a turn of 0.002 ozt.
template <class N>
inline N weighed_down(const N& mass, const N& step, const N& per_step, const N& turn) {
  return not_negative(N(whole_steps(N(mass - turn), N(0), step, per_step) * step));
}

}  // namespace buttonworth
