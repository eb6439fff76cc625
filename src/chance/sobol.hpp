// Sobol's points: numbers that fill the unit cube evenly.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>

namespace buttonworth {

/// How many dimensions there are directions for.
extern const std::uint32_t sobol_dimensions;

/// One dimension of Sobol's points, as 52-bit numbers k of which `open_unit` makes shares.
struct SobolDimension {
  std::array<std::uint64_t, 52> direction;  ///< of bit b of a point's number, lowest first
  std::uint64_t shift = 0;

  /// In binary order, the origin included: any 2^m points from a multiple of 2^m on are evenly spread.
  std::uint64_t at(std::uint64_t point) const {
    std::uint64_t k = shift;
    for (; point != 0; point &= point - 1) k ^= direction[static_cast<std::size_t>(std::countr_zero(point))];
    return k;
  }

  /// So many points from `first` on.
  void at(std::uint64_t first, std::size_t count, std::uint64_t* k) const {
    while (count > 0) {
      // Points that differ in their last six bits alone: each half follows from the one before.
      std::array<std::uint64_t, 64> row;
      row[0] = at(first & ~std::uint64_t{63});
      for (std::size_t half = 1, b = 0; b < 6; half *= 2, ++b)
        for (std::size_t i = 0; i < half; ++i) row[half + i] = row[i] ^ direction[b];
      const std::size_t start = first & 63, some = std::min(count, row.size() - start);
      k = std::copy_n(&row[start], some, k);
      first += some;
      count -= some;
    }
  }
};

/// Directions of S. Joe and F. Y. Kuo, "Constructing Sobol sequences with better two-dimensional
/// projections", SIAM J. Sci. Comput. 30 (2008); dimension 0 is van der Corput's sequence. Throws
/// Error(limit) beyond the last.
SobolDimension plain_sobol(std::uint32_t dimension);

/// The same under a random linear scrambling: a lower triangular matrix of random bits with ones in its
/// diagonal, over the directions, then a random shift (J. Matoušek, "On the L2-discrepancy for anchored
/// boxes", J. Complexity 14, 1998). Every point is then uniform, and scramblings are independent of each
/// other.
SobolDimension scrambled_sobol(std::uint32_t dimension, std::uint64_t seed, std::uint32_t scrambling);

}  // namespace buttonworth
