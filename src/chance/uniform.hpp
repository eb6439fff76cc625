// Numbers between 0 and 1 that depend on their place alone.
#pragma once

#include <Random123/philox.h>

#include <array>
#include <bit>
#include <cstdint>
#include <cstring>

#include "quantity/lanes.hpp"

namespace buttonworth {

/// (k + ½) ÷ 2^52 of a k below 2^52, exact: never 0 and never 1.
inline double open_unit(std::uint64_t k) {
  // k rides in the mantissa of a number from 1 to 2.
  return std::bit_cast<double>(k | 0x3ff0000000000000) - (1.0 - 0x1p-53);
}

/// The same of as many k in a row as the pack P has lanes.
template <class P>
P open_units(const std::uint64_t* k) {
  using Vector = typename P::Vector;
  using Bits = typename P::Bits;
  P r;
  for (std::size_t i = 0; i < std::size(r.v); ++i) {
    Bits bits;
    std::memcpy(&bits, k + i * (sizeof bits / 8), sizeof bits);
    r.v[i] = std::bit_cast<Vector>(bits | 0x3ff0000000000000) - (1.0 - 0x1p-53);
  }
  return r;
}

/// 52 random bits each for draws 2 × pair and 2 × pair + 1: Philox4x32-10 under the key `seed`, counter
/// (pair, dimension, stream), low word first; of each 64 bits the upper 52. Salmon, Moraes, Dror and Shaw,
/// "Parallel random numbers: as easy as 1, 2, 3" (SC 2011).
inline std::array<std::uint64_t, 2> philox_pair(std::uint64_t seed, std::uint32_t dimension,
                                                std::uint64_t pair, std::uint32_t stream) {
  const auto low = [](std::uint64_t x) { return static_cast<std::uint32_t>(x); };
  const auto high = [](std::uint64_t x) { return static_cast<std::uint32_t>(x >> 32); };
  const r123::Philox4x32::ctr_type counter{{low(pair), high(pair), dimension, stream}};
  const r123::Philox4x32::key_type key{{low(seed), high(seed)}};
  const auto words = r123::Philox4x32()(counter, key);
  const auto upper_52 = [](std::uint64_t upper, std::uint64_t lower) { return (upper << 32 | lower) >> 12; };
  return {upper_52(words[1], words[0]), upper_52(words[3], words[2])};
}

}  // namespace buttonworth
