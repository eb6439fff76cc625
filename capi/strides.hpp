// Arrays of numbers that lie apart in the caller's memory.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>

#include "guard.hpp"

namespace buttonworth {

/// Whether the places of all numbers of an array can be computed.
inline bool is_within_reach(std::int64_t stride, std::size_t count) {
  if (stride == 0 || stride == INT64_MIN) return false;
  constexpr auto most = static_cast<std::uint64_t>(PTRDIFF_MAX) / sizeof(double);
  const auto step = static_cast<std::uint64_t>(stride < 0 ? -stride : stride);
  return step <= most && count <= most / step;
}

/// A column of numbers that a call reads; with a stride of 0 one number stands for all rows.
inline void require_column(const double* numbers, std::int64_t stride, std::size_t rows) {
  require(rows == 0 || numbers != nullptr, Code::usage_null, "the numbers of a column are NULL");
  require(stride == 0 || is_within_reach(stride, rows), Code::usage_size,
          "a stride is with the count out of range");
}

inline void fill_with_nan(double* out, std::int64_t stride, std::size_t count) {
  for (std::size_t i = 0; i < count; ++i)
    out[static_cast<std::int64_t>(i) * stride] = std::numeric_limits<double>::quiet_NaN();
}

}  // namespace buttonworth
