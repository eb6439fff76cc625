// The quantities of a document in one table, and a scenario: the number each of them is this time.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "quantity/arithmetic.hpp"
#include "quantity/uncertain.hpp"
#include "quantity/unit.hpp"

namespace buttonworth {

/// A place in the table of quantities. Formulas write `scenario[rate]`.
struct Quantity {
  std::uint32_t index = 0;
};

/// What is worked out beside a quantity's value, once per scenario: a quotient and a power cost
/// ten to forty multiplications in decimals.
enum class Companion : std::uint8_t {
  none,
  reciprocal,  ///< 1 ÷ value, 0 where the value is 0
  discount,    ///< present value of 1 paid after this time
};

/// What values a field allows, ends included unless said otherwise.
enum class Allowed {
  any,
  not_negative,
  positive,
  share,           ///< 0 to 100 %
  positive_share,  ///< above 0, to 100 %
  below_all,       ///< 0 to below 100 %
  at_least_one,    ///< 1 and more, of a plain number
};

/// Whether a field takes this value; 100 % is reached within an edge's width.
bool in_range(const Decimal& value, Allowed allowed);

/// A quantity as the document states it.
struct StatedQuantity {
  Decimal mean;
  std::shared_ptr<const Distribution> spread;  ///< what it may be; null where it is the mean for certain
  Dimension dimension = Dimension::number;
  Companion companion = Companion::none;
  Allowed allowed = Allowed::any;
  std::int32_t currency_rate = -1;  ///< index of the exchange rate its money is worth, or -1
  std::string text;                 ///< as written; of an uncertain one, its mean and its unit
  std::string unit;                 ///< as written
  Decimal unit_factor = 1;          ///< library's own units in one of it
  std::string place;                ///< JSON pointer to it, where the reader was asked to keep places
};

/// All quantities of one document. Index 0 is unused, so that a forgotten place shows.
class QuantityTable {
 public:
  QuantityTable() {
    stated_.reserve(256);  // a plan of a few routes
    stated_.emplace_back();
  }
  Quantity add(StatedQuantity quantity);
  /// The same quantity with another mean, for certain.
  void restate(Quantity q, const Decimal& mean) {
    stated_[q.index].mean = mean;
    stated_[q.index].spread.reset();
  }
  const StatedQuantity& operator[](Quantity q) const { return stated_[q.index]; }
  const StatedQuantity& at(std::size_t index) const { return stated_[index]; }
  std::size_t size() const { return stated_.size(); }
  /// Forgets all but the first so many.
  void keep(std::size_t count) {
    stated_.erase(stated_.begin() + static_cast<std::ptrdiff_t>(count), stated_.end());
  }

 private:
  std::vector<StatedQuantity> stated_;
};

/// What turns a document's quantities into numbers of type N: here their means; a simulation makes
/// others. `discount_rate` is the share that waiting a year costs.
template <class N>
class Scenario {
 public:
  Scenario(const QuantityTable& table, Quantity discount_rate) {
    values_.reserve(table.size());
    for (std::size_t i = 0; i < table.size(); ++i) values_.push_back(value_of(table, i));
    put_discount_rate(values_[discount_rate.index]);
    companions_.reserve(table.size());
    std::map<Decimal, N> powers;
    for (std::size_t i = 0; i < table.size(); ++i)
      companions_.push_back(companion_of(table.at(i), values_[i], powers));
  }

  /// The same scenario in every lane.
  template <class M>
  explicit Scenario(const Scenario<M>& plain)
      : values_(plain.values_.begin(), plain.values_.end()),
        companions_(plain.companions_.begin(), plain.companions_.end()),
        log_per_day_(plain.log_per_day_) {}

  const N& operator[](Quantity q) const { return values_[q.index]; }
  /// 1 ÷ the quantity.
  const N& per(Quantity q) const { return companions_[q.index]; }
  /// A day's share of a year, which has 365.
  static const N& year_share() {
    static const N share = number<N>(Decimal(1) / Decimal(365));
    return share;
  }
  /// The present value of 1 paid after this delay.
  const N& discount(Quantity delay) const { return companions_[delay.index]; }
  /// Sets a quantity, in the plan's currency; what is worked out of it is to be refreshed after.
  void put(Quantity q, const N& value) { values_[q.index] = value; }
  /// Works out anew what stands beside a quantity.
  void refresh(Quantity q, Companion companion) {
    if (companion == Companion::reciprocal) companions_[q.index] = ratio(N(1), values_[q.index]);
    if (companion == Companion::discount) companions_[q.index] = discount_over(values_[q.index]);
  }
  /// Sets what waiting a year costs; discount factors are to be refreshed after.
  void put_discount_rate(const N& rate) { log_per_day_ = natural_log(N(N(1) + rate)) * year_share(); }

  /// The present value of 1 paid after so many days.
  N discount_over(const N& days) const { return exponential(N(-days * log_per_day_)); }

 private:
  template <class>
  friend class Scenario;

  N value_of(const QuantityTable& table, std::size_t i) const {
    const StatedQuantity& stated = table.at(i);
    if (stated.currency_rate < 0) return number<N>(stated.mean);
    return number<N>(stated.mean) * values_[static_cast<std::size_t>(stated.currency_rate)];
  }
  N companion_of(const StatedQuantity& stated, const N& value, std::map<Decimal, N>& powers) const {
    if (stated.companion == Companion::reciprocal) return ratio(N(1), value);
    if (stated.companion == Companion::none) return N(0);
    auto [at, fresh] = powers.try_emplace(stated.mean, N(1));
    if (fresh) at->second = discount_over(value);
    return at->second;
  }

  std::vector<N> values_;
  std::vector<N> companions_;
  N log_per_day_ = N(0);
};

}  // namespace buttonworth
