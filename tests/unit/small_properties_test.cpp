// What holds for any number and any name, tried by RapidCheck, which shrinks what fails.
#include <gtest/gtest.h>

#include <rapidcheck/gtest.h>
#include <cmath>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "document/json_text.hpp"
#include "document/value.hpp"
#include "quantity/decimal.hpp"
#include "quantity/edge.hpp"
#include "quantity/pointer.hpp"

namespace buttonworth {
namespace {

/// A number in digits with some of them after the point.
struct DecimalText {
  std::int64_t digits;
  int places;
  std::string text;
};

DecimalText any_decimal() {
  DecimalText made;
  made.digits = *rc::gen::inRange<std::int64_t>(-1'000'000'000'000'000, 1'000'000'000'000'000);
  made.places = *rc::gen::inRange(0, 15);
  made.text = std::to_string(std::abs(made.digits));
  const auto places = static_cast<std::size_t>(made.places);
  if (made.text.size() <= places) made.text.insert(0, places + 1 - made.text.size(), '0');
  if (made.places > 0) made.text.insert(made.text.size() - places, ".");
  if (made.digits < 0) made.text.insert(0, "-");
  return made;
}

Decimal power(int exponent) { return boost::multiprecision::pow(Decimal(10), exponent); }

RC_GTEST_PROP(Numbers, IsReadExactly, ()) {
  const DecimalText any = any_decimal();
  const NumberText read = read_number(any.text);
  RC_ASSERT(read.length == any.text.size());
  RC_ASSERT(read.value * power(any.places) == Decimal(any.digits));
}

RC_GTEST_PROP(Numbers, IsWrittenSoThatItReadsTheSame, ()) {
  const Decimal value = read_number(any_decimal().text).value;
  RC_ASSERT(read_number(to_text(value, full_digits)).value == value);
}

// strtod is the judge: the nearest double to the decimal.
RC_GTEST_PROP(Numbers, GoesToTheNearestDouble, ()) {
  const std::string text = any_decimal().text;
  RC_ASSERT(to_double(read_number(text).value) == std::strtod(text.c_str(), nullptr));
}

/// Tenths of a cent to cents, in whole numbers.
std::int64_t cents(std::int64_t tenths, RoundingMode mode) {
  const std::int64_t size = std::abs(tenths), whole = size / 10, rest = size % 10;
  const bool up = mode != RoundingMode::down &&
                  (rest > 5 || (rest == 5 && (mode == RoundingMode::half_up || whole % 2 == 1)));
  return (tenths < 0 ? -1 : 1) * (whole + (up ? 1 : 0));
}

template <class N>
void round_like_whole_numbers() {
  const auto tenths = *rc::gen::inRange<std::int64_t>(-100'000'000, 100'000'000);
  const auto mode = *rc::gen::element(RoundingMode::half_even, RoundingMode::half_up, RoundingMode::down);
  const N value = N(static_cast<double>(tenths)) / N(1000);  // in double on neither side of a tie for sure
  const N rounded = round_to(value, N(N(1) / N(100)), N(100), mode);
  RC_ASSERT(std::llround(static_cast<double>(N(rounded * N(100)))) == cents(tenths, mode));
}
RC_GTEST_PROP(Rounding, OfDecimalsIsThatOfWholeNumbers, ()) { round_like_whole_numbers<Decimal>(); }
RC_GTEST_PROP(Rounding, OfDoublesIsThatOfWholeNumbers, ()) { round_like_whole_numbers<double>(); }

template <class N>
void count_like_whole_numbers() {
  const auto a = *rc::gen::inRange<std::int64_t>(1, 10'000'000), b = *rc::gen::inRange<std::int64_t>(1, 1000);
  const N value = N(static_cast<double>(a)) / N(10), each = N(static_cast<double>(b)) / N(10);
  RC_ASSERT(ceiling(N(value / each)) == N(static_cast<double>((a + b - 1) / b)));
  RC_ASSERT(whole_steps(value, N(0), each, N(N(1) / each)) == N(static_cast<double>(a / b)));
}
RC_GTEST_PROP(Steps, OfDecimalsAreThoseOfWholeNumbers, ()) { count_like_whole_numbers<Decimal>(); }
RC_GTEST_PROP(Steps, OfDoublesAreThoseOfWholeNumbers, ()) { count_like_whole_numbers<double>(); }

RC_GTEST_PROP(Pointers, AnyNameComesBack, (const std::vector<std::string>& names)) {
  std::string pointer;
  for (const std::string& name : names) pointer += pointer_step(name);
  RC_ASSERT(pointer_parts(pointer) == names);
}

RC_GTEST_PROP(Texts, AnyTextOfAsciiComesBack, ()) {
  const auto text = *rc::gen::container<std::string>(rc::gen::inRange<char>(0, 127));
  JsonText json;
  json.string(text);
  const std::string written = json.take();
  RC_ASSERT(nlohmann::json::parse(written).get<std::string>() == text);
  RC_ASSERT(read_json(written, DocumentLimits{}).text == text);
}

// The library's own parser is the judge of what is JSON; only zero bytes and repeated names are refused
// besides.
RC_GTEST_PROP(Texts, WhatIsReadIsJson, ()) {
  const auto text = *rc::gen::container<std::string>(
      rc::gen::element('{', '}', '[', ']', '"', ':', ',', '1', '-', '.', 'e', ' ', 'a'));
  bool read = true, repeated = false;
  try {
    read_json(text, DocumentLimits{});
  } catch (const Error& error) {
    read = false;
    repeated = error.complaint().code == Code::repeated;
  }
  RC_ASSERT(read == nlohmann::json::accept(text) || repeated);
}

}  // namespace
}  // namespace buttonworth
