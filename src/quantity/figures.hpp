// Figures as a line's explanation shows them: "713.9 kg × 1748 g/t × 2650 USD/ozt".
#pragma once

#include <optional>
#include <string>

#include "quantity/edge.hpp"
#include "quantity/scenario.hpp"

namespace buttonworth {

/// Writes numbers of the library's own units with a unit a person at a bench would choose.
/// Explanations are for reading: seven significant digits.
template <class N>
class Figures {
 public:
  Figures(const QuantityTable& table, const std::vector<std::string>& analytes, std::string currency)
      : table_(&table), analytes_(&analytes), currency_(std::move(currency)) {}

  const std::string& analyte(std::size_t a) const { return (*analytes_)[a]; }

  /// A quantity as the document states it; of an uncertain one, its mean.
  const std::string& of(Quantity q) const { return (*table_)[q].text; }
  std::string number(const N& value) const { return to_text(value, reading); }
  std::string mass(const N& kilograms) const {
    using std::abs;
    return abs(kilograms) < N(0.1) ? number(N(kilograms * N(1000))) + " g" : number(kilograms) + " kg";
  }
  std::string grade(const N& share) const { return grade_text(share); }
  std::string percent(const N& share) const { return percent_text(share); }
  std::string money(const N& amount) const { return number(amount) + ' ' + currency_; }
  std::string days(const N& days) const { return number(days) + " d"; }
  std::string hours(const N& hours) const { return number(hours) + " h"; }
  std::string energy(const N& kwh) const { return number(kwh) + " kWh"; }

  static std::string grade_text(const N& share) {
    return share < N(0.01) ? to_text(N(share * N(1000000)), reading) + " g/t" : percent_text(share);
  }
  static std::string percent_text(const N& share) { return to_text(N(share * N(100)), reading) + " %"; }

 private:
  static constexpr Digits reading{7, 12, 0};
  const QuantityTable* table_;
  const std::vector<std::string>* analytes_;
  std::string currency_;
};

/// What is wrong with assays that add up to so much; nothing where they may.
inline std::optional<std::string> fault_of_sum(const Decimal& sum) {
  if (!above(sum, Decimal(1))) return std::nullopt;
  return "the assays add up to " + Figures<Decimal>::percent_text(sum) + ", over 100 %: check their units";
}

}  // namespace buttonworth
