// The units of the format, exactly as written there, and what they are in the library's own:
// kilograms, shares of 1, the plan's currency, days, litres, kilowatt hours, degrees Celsius.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "quantity/decimal.hpp"

namespace buttonworth {

/// What a quantity measures. `per_*` are money for one of something; `annual` is a share a year.
enum class Dimension {
  mass,   // kg
  grade,  // kg/kg
  share,  // of 1
  money,  // the plan's currency
  price,  // money/kg
  per_lot,
  per_melt,
  per_hour,
  per_energy,   // money/kWh
  per_volume,   // money/L
  time,         // d
  throughput,   // kg/h
  dose,         // kg/kg
  energy,       // kWh
  heat,         // kWh/L
  volume,       // L
  density,      // kg/L
  temperature,  // degC
  annual,       // 1/a
  length,       // cm
  number,       // no unit
};

/// Dimensions that a field allows; most allow one.
class Dimensions {
 public:
  constexpr Dimensions(Dimension one) : bits_(bit(one)) {}
  constexpr bool holds(Dimension one) const { return (bits_ & bit(one)) != 0; }
  friend constexpr Dimensions operator|(Dimensions a, Dimensions b) {
    a.bits_ |= b.bits_;
    return a;
  }

 private:
  static constexpr unsigned bit(Dimension one) { return 1U << static_cast<unsigned>(one); }
  unsigned bits_;
};
constexpr Dimensions operator|(Dimension a, Dimension b) { return Dimensions(a) | Dimensions(b); }

/// The masses a unit may name; the order is that of the format's table.
enum class MassUnit { mg, g, kg, t, lb, st, lt, ozt, dwt, gr };
inline constexpr int mass_unit_count = 10;

/// Kilograms in each mass unit: exact ones, or those a contract or a lot has fixed.
class MassFactors {
 public:
  /// International pound 453.59237 g, troy ounce 31.1034768 g.
  /// Source: UK Weights and Measures Act 1985, Schedule 1 Part V.
  MassFactors();

  /// Contract factors. The ounce carries dwt and gr, the pound carries lt, and st unless given.
  /// Each positive; grams in an ounce, pounds in a tonne, short tons in a tonne.
  void fix_grams_per_ounce(const Decimal& grams);
  void fix_pounds_per_tonne(const Decimal& pounds);
  void fix_short_tons_per_tonne(const Decimal& tons);

  const Decimal& kilograms(MassUnit unit) const { return kilograms_[static_cast<int>(unit)]; }
  const Decimal& per_kilogram(MassUnit unit) const { return per_kilogram_[static_cast<int>(unit)]; }

 private:
  void set(MassUnit unit, const Decimal& kilograms);
  Decimal kilograms_[mass_unit_count];
  Decimal per_kilogram_[mass_unit_count];
  bool short_ton_fixed_ = false;
};

const MassFactors& exact_factors();

/// A unit understood: dimension, the currency it is in if it is money, and the factor from it to
/// the library's own unit (for money, to one unit of that currency).
struct Unit {
  Dimension dimension;
  std::string_view currency;  // three letters of the text given (USD for USc), empty where not money
  Decimal factor;
};

/// The unit of this text, or nothing. Where one text names units of two dimensions ("%" is a grade
/// and a share) the one allowed is taken. `text` must outlive the result.
std::optional<Unit> find_unit(std::string_view text, Dimensions allowed, const MassFactors& factors);

/// What to write instead of a unit that is ambiguous or close to one ("oz", "ton"), or nothing.
std::optional<std::string> unit_advice(std::string_view text);

/// The units of these dimensions, for an error: "L, m3".
std::string unit_examples(Dimensions allowed);

/// A regular expression (ECMA 262) of the units of one dimension, for the schema.
std::string unit_pattern(Dimension dimension);

}  // namespace buttonworth
