// What moves through a plant: dry solids, water, and the analytes in them.
#pragma once

#include <boost/container/small_vector.hpp>
#include <cstdint>
#include <memory>

#include "quantity/edge.hpp"

namespace buttonworth {

/// Number of an analyte in its plan.
using Analyte = std::uint32_t;

/// A short list held in place. The allocator is the standard's, which gives wide vectors the alignment
/// they need where Boost's own of 1.74 does not.
template <class T, std::size_t Count>
using Few = boost::container::small_vector<T, Count, std::allocator<T>>;

/// Kilograms of each analyte, in the plan's order.
template <class N>
using Contents = Few<N, 8>;

/// What a buyer takes a stream for.
enum class StreamKind { concentrate, piece, split_output, bar, slag };

template <class N>
struct Stream {
  N dry = N(0);    ///< kg of dry solids
  N water = N(0);  ///< kg
  Contents<N> content;
  N day = N(0);       ///< days from the lot's
  N discount = N(1);  ///< present value of 1 on that day: it rides along, as a power is dear
  StreamKind kind = StreamKind::concentrate;

  N wet() const { return N(dry + water); }
  N moisture() const { return ratio(water, wet()); }
  N grade(Analyte a) const { return ratio(content[a], dry); }
};

/// Whether the analytes weigh more than the solids that hold them.
template <class N>
Mask<N> holds_too_much(const Stream<N>& stream) {
  N sum(0);
  for (const N& one : stream.content) sum += one;
  return above(sum, stream.dry);
}

/// What is left of a whole once the parts are taken; nothing, where they are equal.
template <class N>
inline N remainder_of(const N& whole, const N& taken) {
  return choose(same(whole, taken), N(0), N(whole - taken));
}

/// Relative size of what rounding leaves of a difference that is nothing.
template <class N>
inline N rounding_residue() {
  return N(1e-14);
}
template <>
inline Decimal rounding_residue<Decimal>() {
  return power_of_ten(-46);
}

/// Content left of a whole: every trace that is there stays, only the residue of rounding goes, so that
/// no bar is poured of it.
template <class N>
inline N content_left(const N& whole, const N& taken) {
  const N left = whole - taken;
  return choose(left <= whole * rounding_residue<N>(), N(0), left);
}

/// Water that goes with so much dry solids at this moisture (water over wet mass).
template <class N>
inline N water_at(const N& dry, const N& moisture) {
  return N(dry * moisture / (N(1) - moisture));
}

template <class N>
inline void add_to(Contents<N>& sum, const Contents<N>& more) {
  for (std::size_t a = 0; a < sum.size(); ++a) sum[a] += more[a];
}

}  // namespace buttonworth
