// Numbers between 0 and 1 that depend on their place alone.
#pragma once

#include <Random123/philox.h>

#include <array>
#include <bit>
#include <cstdint>
#include <cstring>
#include <type_traits>
#ifdef __SSE2__
#include <immintrin.h>
#endif

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

/// Of each lane the product of the lower 32 bits. Always within its caller: a copy linked from another file
/// would be of another instruction set.
template <class Words>
[[gnu::always_inline]] inline Words product_of_lower(const Words& a, const Words& b) {
#ifdef __SSE2__
  if constexpr (sizeof(Words) == 16)
    return std::bit_cast<Words>(_mm_mul_epu32(std::bit_cast<__m128i>(a), std::bit_cast<__m128i>(b)));
#endif
#ifdef __AVX2__
  if constexpr (sizeof(Words) == 32)
    return std::bit_cast<Words>(_mm256_mul_epu32(std::bit_cast<__m256i>(a), std::bit_cast<__m256i>(b)));
#endif
#ifdef __AVX512F__
  if constexpr (sizeof(Words) == 64)
    return std::bit_cast<Words>(
        _mm512_maskz_mul_epu32(0xff, std::bit_cast<__m512i>(a), std::bit_cast<__m512i>(b)));
#endif
  return (a & 0xffffffff) * (b & 0xffffffff);
}

template <std::size_t bytes>
struct VectorOfWords {
  using type [[gnu::vector_size(bytes)]] = std::uint64_t;
};

/// `philox_pair` for as many pairs in a row, from `pair` on, as the pack P has lanes.
template <class P>
void philox_pairs(std::uint64_t seed, std::uint32_t dimension, std::uint64_t pair, std::uint64_t* k,
                  std::uint32_t stream = 0) {
  using Words = typename VectorOfWords<sizeof(typename P::Vector)>::type;
  constexpr std::size_t vectors = std::extent_v<decltype(P::v)>, width = P::size / vectors;
  constexpr std::uint64_t lower = 0xffffffff;
  Words a[vectors], b[vectors], c[vectors], d[vectors];  // the counter's words
  for (std::size_t i = 0; i < vectors; ++i) {
    for (std::size_t j = 0; j < width; ++j) a[i][j] = pair + i * width + j;
    b[i] = a[i] >> 32;
    c[i] = Words{} + dimension;
    d[i] = Words{} + stream;
  }
  auto key_a = static_cast<std::uint32_t>(seed), key_c = static_cast<std::uint32_t>(seed >> 32);
  for (int round = 0; round < 10; ++round, key_a += PHILOX_W32_0, key_c += PHILOX_W32_1)
    for (std::size_t i = 0; i < vectors; ++i) {
      const Words of_a = product_of_lower(a[i], Words{} + PHILOX_M4x32_0);
      const Words of_c = product_of_lower(c[i], Words{} + PHILOX_M4x32_1);
      a[i] = (of_c >> 32) ^ (b[i] & lower) ^ key_a;
      b[i] = of_c;  // what is above 32 bits is left standing until it would count
      c[i] = (of_a >> 32) ^ (d[i] & lower) ^ key_c;
      d[i] = of_a;
    }
  for (std::size_t i = 0; i < vectors; ++i, k += 2 * width) {
    const Words even = (b[i] << 32 | a[i]) >> 12, odd = (d[i] << 32 | c[i]) >> 12;
    for (std::size_t j = 0; j < width; ++j) {
      k[2 * j] = even[j];
      k[2 * j + 1] = odd[j];
    }
  }
}

}  // namespace buttonworth
