// What buyers owe by day, and the money that came in against it.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <unordered_map>
#include <unordered_set>
#include <vector>

#include "quantity/decimal.hpp"
#include "sale/quotes.hpp"

namespace buttonworth {

enum class OwedFor { advance, balance, priced, unallocated };
inline constexpr std::size_t owed_kinds = 4;

/// What a buyer owes on a day; below 0, what is owed to him.
struct OwedItem {
  std::string delivery;  ///< its id; empty for metal priced and for money that names none
  OwedFor what = OwedFor::balance;
  std::string metal;  ///< of metal priced
  std::optional<Day> due;
  Decimal amount = 0;
};

struct MoneyReceived {
  Day day;
  Decimal amount = 0;
  std::string delivery;  ///< the one it pays; empty where none is named
  std::string pointer;   ///< where it stands in the request
};

/// One buyer's items, and money put to them.
class Owed {
 public:
  /// `deliveries`: ids that money may name, with an item or without.
  Owed(std::vector<OwedItem> items, const std::unordered_set<std::string>& deliveries);

  /// Money that names a delivery goes to its items, earliest due first, and what is left over stays on the
  /// last of them. Money that names none goes to the items of its own sign, earliest due first, those without
  /// a day last. Throws an Error (name) where the delivery is not in the book.
  void receive(const MoneyReceived& money);

  /// What is still owed, earliest due first, money that found no item last.
  std::vector<OwedItem> outstanding() const;
  /// Money received, by what it went to.
  const std::array<Decimal, owed_kinds>& received() const { return received_; }
  /// Deliveries for which more came than was owed, and was not paid back.
  std::vector<std::string> overpaid() const;

 private:
  void put(OwedItem& item, const Decimal& amount);
  void pay_delivery(const MoneyReceived& money);
  void pay_oldest(Decimal left);
  std::size_t& first_open(bool positive) { return first_open_[positive]; }

  std::vector<OwedItem> items_;  // by due day
  const std::unordered_set<std::string>& deliveries_;
  std::unordered_map<std::string, std::vector<std::size_t>> of_delivery_;
  std::array<std::size_t, 2> first_open_{};  // no item before it is above 0, or below
  Decimal unallocated_ = 0;
  std::array<Decimal, owed_kinds> received_{};
  std::vector<std::size_t> overpaid_;  // items that a payment for their delivery brought below 0
};

}  // namespace buttonworth
