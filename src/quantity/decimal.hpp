// Exact decimals: what statements and comparisons are worked out in.
#pragma once

#include <boost/multiprecision/cpp_dec_float.hpp>
#include <cstdint>
#include <string>
#include <string_view>

namespace buttonworth {

/// 50 significant decimal digits and some guard digits. Sums and products of amounts as people
/// write them are exact; a quotient is good to 50 digits but not exact (see edge.hpp).
using Decimal =
    boost::multiprecision::number<boost::multiprecision::cpp_dec_float<50>, boost::multiprecision::et_off>;

/// 10 to the power of n, exactly; |n| at most 160.
const Decimal& power_of_ten(int n);

/// How large a number in a document may be.
struct NumberLimits {
  static constexpr int most_digits = 40, most_exponent = 60;  ///< that may be allowed
  int digits = 40;                                            ///< significant digits
  int exponent = 30;  ///< power of ten of the first significant digit, either sign
};

enum class NumberFault { none, malformed, too_many_digits, too_large };

/// A decimal number at the start of a text: `length` characters of it, without its unit.
struct NumberText {
  std::size_t length = 0;
  NumberFault fault = NumberFault::none;
  Decimal value;
};

/// Reads -?digits(.digits)?([eE][+-]?digits)? at the start of `text`. Costs time and memory in the
/// length of the text only, whatever its exponent. Never depends on the locale.
NumberText read_number(std::string_view text, const NumberLimits& limits = {});

/// How many digits a number is written with: after the point no more than make `significant` digits in all,
/// nor more than `most_places`, trailing zeros dropped down to `least_places`; digits before it are never
/// cut.
struct Digits {
  int significant = 18;
  int most_places = 24;
  int least_places = 0;
};

inline constexpr Digits money_digits{40, 12, 2};
inline constexpr Digits full_digits{40, 60, 0};

/// Writes a number in plain positional notation, e.g. "-130.00"; nearest, ties away from zero.
std::string to_text(const Decimal& value, Digits digits = {});
std::string to_text(double value, Digits digits = {});

double to_double(const Decimal& value);
inline double to_double(double value) { return value; }

/// e to the power of x, to 60 digits; a third of the time of Boost's.
Decimal power_of_e(const Decimal& x);

}  // namespace buttonworth
