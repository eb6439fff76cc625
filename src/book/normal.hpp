// The normal distribution, as far as the book needs it.
#pragma once

#include <vector>

namespace buttonworth {

/// How many standard deviations above its mean a normal passes with this chance: 0 < chance < 1, of a
/// chance of 2.5 % 1.96. The same bits on every processor with IEEE doubles and the same libm.
double normal_passed_with(double chance);

/// The middles of `count` strata of equal chance of a standard normal, rising, the upper half the lower
/// half's mirror image. `count` is even.
std::vector<double> normal_strata(std::size_t count);

}  // namespace buttonworth
