#include "quantity/decimal.hpp"

#include <array>
#include <boost/serialization/nvp.hpp>
#include <charconv>
#include <cmath>
#include <type_traits>

namespace buttonworth {
namespace {

constexpr int largest_power = 160;
constexpr int largest_power_of_e = 64;
constexpr std::size_t chunk_digits = 18;  // fits an unsigned 64-bit integer

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::size_t digits_from(std::string_view text, std::size_t at) {
  std::size_t end = at;
  while (end < text.size() && is_digit(text[end])) ++end;
  return end - at;
}

// The digits of a number, without leading zeros, gathered a machine word at a time.
class DigitSum {
 public:
  void add(char digit) {
    if (digit == '0' && count_ == 0) return;
    ++count_;
    if (digit != '0') significant_ = count_;
    word_ = word_ * 10 + static_cast<std::uint64_t>(digit - '0');
    if (++word_digits_ == chunk_digits) flush();
  }
  int count() const { return count_; }
  int significant() const { return significant_; }  ///< without the zeros at the end
  Decimal value() {
    flush();
    return sum_;
  }

 private:
  void flush() {
    if (word_digits_ == 0) return;
    sum_ = sum_ == 0 ? Decimal(word_) : sum_ * power_of_ten(word_digits_) + Decimal(word_);
    word_ = 0;
    word_digits_ = 0;
  }
  Decimal sum_ = 0;
  std::uint64_t word_ = 0;
  int word_digits_ = 0;
  int count_ = 0, significant_ = 0;
};

// Reads the exponent after an e; a huge one is capped, so that it is refused and not overflowed.
int read_exponent(std::string_view digits) {
  int exponent = 0;
  for (char c : digits) exponent = std::min(exponent * 10 + (c - '0'), 1'000'000);
  return exponent;
}

struct Layout {  // where the parts of a number stand
  bool negative = false;
  std::string_view whole, fraction;
  int exponent = 0;
  std::size_t length = 0;
};

bool lay_out(std::string_view text, Layout& out) {
  std::size_t at = 0;
  if (at < text.size() && text[at] == '-') {
    out.negative = true;
    ++at;
  }
  out.whole = text.substr(at, digits_from(text, at));
  if (out.whole.empty()) return false;
  at += out.whole.size();
  if (at < text.size() && text[at] == '.') {
    out.fraction = text.substr(at + 1, digits_from(text, at + 1));
    if (out.fraction.empty()) return false;
    at += 1 + out.fraction.size();
  }
  if (at < text.size() && (text[at] == 'e' || text[at] == 'E')) {
    std::size_t sign = at + 1 < text.size() && (text[at + 1] == '-' || text[at + 1] == '+') ? 1 : 0;
    std::size_t count = digits_from(text, at + 1 + sign);
    if (count == 0) return false;
    out.exponent = read_exponent(text.substr(at + 1 + sign, count));
    if (text[at + 1] == '-') out.exponent = -out.exponent;
    at += 1 + sign + count;
  }
  out.length = at;
  return true;
}

std::string_view without_trailing_zeros(std::string_view digits) {
  while (!digits.empty() && digits.back() == '0') digits.remove_suffix(1);
  return digits;
}

void drop_zeros(std::string& text, int least_places) {
  std::size_t point = text.find('.');
  if (point == std::string::npos) return;
  std::size_t least = point + 1 + static_cast<std::size_t>(least_places);
  while (text.size() > least && text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
}

/// Puts the point into the digits of a number that was multiplied by ten to the power of `places`.
void set_point(std::string& text, int places, int least_places) {
  if (places > 0) {
    const auto width = static_cast<std::size_t>(places) + 1;
    if (text.size() < width) text.insert(0, width - text.size(), '0');
    text.insert(text.size() - static_cast<std::size_t>(places), 1, '.');
    drop_zeros(text, least_places);
  } else if (least_places > 0) {
    text += '.' + std::string(static_cast<std::size_t>(least_places), '0');
  }
}

/// The digits of a decimal, as Boost keeps them: it hands out its limbs of eight digits to whoever asks it
/// to serialize itself. To multiply by a power of ten and take whole numbers off costs several times more.
class DigitRow {
 public:
  explicit DigitRow(Decimal size) {
    size.backend().serialize(*this, 0U);
    order_ = exponent_ + static_cast<int>(digits_from_limb(limbs_.front())) - 1;
  }
  template <class T>
  DigitRow& operator&(const boost::serialization::nvp<T>& part) {
    if constexpr (std::is_same_v<T, std::uint32_t>) limbs_.at(count_++) = part.const_value();
    else if constexpr (std::is_same_v<T, int>) exponent_ = ints_++ == 0 ? part.const_value() : exponent_;
    return *this;
  }

  /// Power of ten of the first digit.
  int order() const { return order_; }

  /// The whole number nearest to size × 10^places, ties upwards.
  std::string rounded(int places) const {
    const int wanted = order_ + 1 + places;
    if (wanted < 0) return "0";
    std::string text = first_digits(static_cast<std::size_t>(wanted) + 1);
    const bool up = text.back() >= '5';
    text.pop_back();
    if (up) count_up(text);
    return text.empty() ? "0" : text;
  }

 private:
  static constexpr std::size_t limb_digits = 8;

  static std::size_t digits_from_limb(std::uint32_t limb) {
    std::size_t count = 1;
    while (limb >= 10) limb /= 10, ++count;
    return count;
  }
  std::string first_digits(std::size_t wanted) const {
    const std::size_t lead = limb_digits - digits_from_limb(limbs_.front());
    const std::size_t limbs = std::min(count_, (wanted + lead + limb_digits - 1) / limb_digits);
    std::array<char, limb_digits * most_limbs> row;
    for (std::size_t i = 0; i < limbs; ++i) {
      std::uint32_t limb = limbs_[i];
      for (std::size_t k = limb_digits; k-- > 0; limb /= 10)
        row[i * limb_digits + k] = static_cast<char>('0' + limb % 10);
    }
    std::string text(row.data() + lead, std::min(limbs * limb_digits - lead, wanted));
    text.resize(wanted, '0');
    return text;
  }
  static void count_up(std::string& digits) {
    auto nine = digits.rbegin();
    while (nine != digits.rend() && *nine == '9') *nine++ = '0';
    if (nine == digits.rend()) digits.insert(digits.begin(), '1');
    else ++*nine;
  }

  static constexpr std::size_t most_limbs = 16;
  std::array<std::uint32_t, most_limbs> limbs_{};
  std::size_t count_ = 0;
  int exponent_ = 0, ints_ = 0, order_ = 0;
};

/// Powers of e that are whole numbers from -64 to 64.
const Decimal& whole_power_of_e(int n) {
  static const auto powers = [] {
    const Decimal e = exp(Decimal(1)), per_e = 1 / e;
    std::array<Decimal, 2 * largest_power_of_e + 1> table;
    Decimal* const one = &table[largest_power_of_e];
    *one = 1;
    for (int i = 1; i <= largest_power_of_e; ++i) {
      one[i] = one[i - 1] * e;
      one[-i] = one[1 - i] * per_e;
    }
    return table;
  }();
  return powers.at(static_cast<std::size_t>(n + largest_power_of_e));
}

/// The series of e^x for |x| ≤ 1/512, to 1e-64 of it.
Decimal short_power_of_e(const Decimal& x) {
  constexpr int terms = 18;
  static const auto per_factorial = [] {
    std::array<Decimal, terms + 1> table{Decimal(1)};
    for (int i = 1; i <= terms; ++i)
      table[static_cast<std::size_t>(i)] = table[static_cast<std::size_t>(i - 1)] / i;
    return table;
  }();
  Decimal sum = per_factorial[terms];
  for (std::size_t i = terms; i-- > 0;) {
    sum *= x;
    sum += per_factorial[i];
  }
  return sum;
}

}  // namespace

const Decimal& power_of_ten(int n) {
  static const auto powers = [] {
    std::array<Decimal, 2 * largest_power + 1> table;
    for (int i = -largest_power; i <= largest_power; ++i)
      table[static_cast<std::size_t>(i + largest_power)] = Decimal("1e" + std::to_string(i));
    return table;
  }();
  return powers.at(static_cast<std::size_t>(n + largest_power));
}

NumberText read_number(std::string_view text, const NumberLimits& limits) {
  NumberText result;
  Layout layout;
  if (!lay_out(text, layout)) {
    result.fault = NumberFault::malformed;
    return result;
  }
  result.length = layout.length;
  std::string_view fraction = without_trailing_zeros(layout.fraction);
  DigitSum sum;
  auto gather = [&](std::string_view digits) {
    for (char c : digits) {
      if (sum.count() > limits.digits + limits.exponent) return;
      sum.add(c);
    }
  };
  gather(layout.whole);
  gather(fraction);
  if (sum.count() == 0) return result;
  long long scale = layout.exponent - static_cast<long long>(fraction.size());
  long long order = scale + sum.count() - 1;
  bool overlong = sum.count() > limits.digits + limits.exponent;
  if (overlong || order > limits.exponent || order < -limits.exponent) {
    result.fault = overlong ? NumberFault::too_many_digits : NumberFault::too_large;
    return result;
  }
  if (sum.significant() > limits.digits) {
    result.fault = NumberFault::too_many_digits;
    return result;
  }
  const Decimal digits = sum.value();
  result.value = scale == 0 ? digits : digits * power_of_ten(static_cast<int>(scale));
  if (layout.negative) result.value = -result.value;
  return result;
}

std::string to_text(const Decimal& value, Digits digits) {
  if (value == 0) return digits.least_places > 0 ? "0." + std::string(digits.least_places, '0') : "0";
  const DigitRow row(value);
  const int places = std::min(digits.most_places, std::max(digits.significant - 1 - row.order(), 0));
  std::string text = row.rounded(places);
  if (text == "0") return to_text(Decimal(0), digits);
  set_point(text, places, digits.least_places);
  if (value < 0) text.insert(text.begin(), '-');
  return text;
}

std::string to_text(double value, Digits digits) {
  constexpr int shortest_from = 16;  // more digits than a double holds: the shortest text that reads back
  std::array<char, 400> buffer;
  char* const begin = buffer.data();
  char* const end = begin + buffer.size();
  std::string text;
  if (digits.significant >= shortest_from || value == 0) {
    const double grain = std::pow(10.0, std::min(digits.most_places, 15));
    const double rounded = std::fabs(value) < 1e6 ? std::nearbyint(value * grain) / grain : value;
    text.assign(begin, std::to_chars(begin, end, rounded == 0 ? 0.0 : rounded, std::chars_format::fixed).ptr);
  } else {
    const int order = static_cast<int>(std::floor(std::log10(std::fabs(value))));
    const int places = std::min(digits.most_places, std::max(digits.significant - 1 - order, 0));
    text.assign(begin, std::to_chars(begin, end, value, std::chars_format::fixed, places).ptr);
    drop_zeros(text, 0);
    if (text == "-0") text = "0";
  }
  const std::size_t point = text.find('.');
  const std::size_t have = point == std::string::npos ? 0 : text.size() - point - 1;
  if (have < static_cast<std::size_t>(digits.least_places)) {
    if (have == 0) text += '.';
    text.append(static_cast<std::size_t>(digits.least_places) - have, '0');
  }
  return text;
}

/// Far from 1, by way of text. Boost's own way goes through a stream, which says nothing of memory that has
/// run out and gives another number.
static double far_to_double(const Decimal& value) {
  constexpr int largest = 308, smallest = -345;  // orders of what a double holds
  const auto order = value.backend().order();
  if (order > largest) return value < 0 ? -HUGE_VAL : HUGE_VAL;
  if (order < smallest) return 0;
  const std::string text = to_text(value, {.significant = 21, .most_places = 21 - smallest});
  double result = 0;
  const auto end = std::from_chars(text.data(), text.data() + text.size(), result);
  return end.ec == std::errc() || order < 0 ? result : value < 0 ? -HUGE_VAL : HUGE_VAL;
}

double to_double(const Decimal& value) {
  if (value == 0) return 0;
  const Decimal size = abs(value);
  const int scale = static_cast<int>(chunk_digits) - 1 - static_cast<int>(size.backend().order());
  if (scale > 27 || scale < -27) return far_to_double(value);
  // 18 digits and a power of ten that a long double holds exactly: one rounding, and one more to double.
  static const auto powers = [] {
    std::array<long double, 28> table{1.0L};
    for (std::size_t i = 1; i < table.size(); ++i) table[i] = table[i - 1] * 10.0L;
    return table;
  }();
  const auto digits =
      static_cast<long double>((size * power_of_ten(scale)).backend().extract_unsigned_long_long());
  const long double power = powers[static_cast<std::size_t>(std::abs(scale))];
  const auto result = static_cast<double>(scale >= 0 ? digits / power : digits * power);
  return value < 0 ? -result : result;
}

Decimal power_of_e(const Decimal& x) {
  static const Decimal half("0.5"), per_256("0.00390625"), largest = largest_power_of_e;
  if (x == 0) return 1;
  if (abs(x) > largest) return exp(x);
  // e^x = e^n × (e^((x − n) ÷ 256))^256 with the whole n nearest to x.
  constexpr int squarings = 8;
  const Decimal n = floor(x + half);
  Decimal power = short_power_of_e((x - n) * per_256);
  for (int i = 0; i < squarings; ++i) power *= power;
  return power * whole_power_of_e(n.convert_to<int>());
}

}  // namespace buttonworth
