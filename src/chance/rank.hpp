// Which of the draws, by rising value, a share of them ends with.
#pragma once

#include <algorithm>
#include <cstdint>

namespace buttonworth {

/// So many of `counted` that they are at least the share, and at least one.
constexpr std::int64_t rank_of(std::int64_t counted, std::int64_t thousandths) {
  return std::max<std::int64_t>(1, (counted * thousandths + 999) / 1000);
}

/// The worst 5 % of the draws are one mean.
constexpr std::int64_t worst_thousandths = 50;

}  // namespace buttonworth
