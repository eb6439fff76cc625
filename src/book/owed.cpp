#include "book/owed.hpp"

#include <algorithm>

#include "material/ledger.hpp"
#include "quantity/error.hpp"

namespace buttonworth {
namespace {

/// Earliest first, those without a day last.
bool falls_due_before(const OwedItem& a, const OwedItem& b) {
  if (a.due && b.due) return *a.due < *b.due;
  return a.due.has_value() && !b.due.has_value();
}

/// Of an item, no more than that and of its sign.
Decimal part_for(const Decimal& owed, const Decimal& left) {
  if ((owed > 0) != (left > 0)) return 0;
  return abs(owed) < abs(left) ? owed : left;
}

}  // namespace

Owed::Owed(std::vector<OwedItem> items, const std::unordered_set<std::string>& deliveries)
    : items_(std::move(items)), deliveries_(deliveries) {
  std::stable_sort(items_.begin(), items_.end(), falls_due_before);
  for (std::size_t i = 0; i < items_.size(); ++i)
    if (!items_[i].delivery.empty()) of_delivery_[items_[i].delivery].push_back(i);
}

void Owed::receive(const MoneyReceived& money) {
  if (money.delivery.empty()) pay_oldest(money.amount);
  else pay_delivery(money);
}

void Owed::put(OwedItem& item, const Decimal& amount) {
  item.amount -= amount;
  received_[static_cast<std::size_t>(item.what)] += amount;
}

void Owed::pay_delivery(const MoneyReceived& money) {
  if (deliveries_.count(money.delivery) == 0)
    throw Error(Code::name,
                "there is no delivery " + money.delivery + " of this buyer in the book or its opening",
                money.pointer);
  std::vector<std::size_t>& own = of_delivery_[money.delivery];
  if (own.empty()) {  // refused, or nothing was owed
    own.push_back(items_.size());
    items_.push_back({money.delivery, OwedFor::balance, {}, std::nullopt, 0});
  }
  Decimal left = money.amount;
  for (std::size_t i : own) {
    const Decimal part = part_for(items_[i].amount, left);
    put(items_[i], part);
    left -= part;
  }
  if (is_nothing(left)) return;
  put(items_[own.back()], left);
  const bool met = std::find(overpaid_.begin(), overpaid_.end(), own.back()) != overpaid_.end();
  if (left > 0 && !met) overpaid_.push_back(own.back());
  for (std::size_t& first : first_open_) first = std::min(first, own.back());  // its sign may have changed
}

std::vector<std::string> Owed::overpaid() const {
  std::vector<std::string> names;
  for (std::size_t i : overpaid_)
    if (items_[i].amount < 0 && !is_nothing(items_[i].amount)) names.push_back(items_[i].delivery);
  return names;
}

void Owed::pay_oldest(Decimal left) {
  const bool positive = left > 0;
  std::size_t& i = first_open(positive);
  while (i < items_.size() && left != 0) {
    const Decimal part = part_for(items_[i].amount, left);
    put(items_[i], part);
    left -= part;
    if (left != 0) ++i;
  }
  unallocated_ += left;
  received_[static_cast<std::size_t>(OwedFor::unallocated)] += left;
}

std::vector<OwedItem> Owed::outstanding() const {
  std::vector<OwedItem> open;
  for (const OwedItem& item : items_)
    if (!is_nothing(item.amount)) open.push_back(item);
  std::stable_sort(open.begin(), open.end(), falls_due_before);
  if (!is_nothing(unallocated_)) open.push_back({{}, OwedFor::unallocated, {}, std::nullopt, -unallocated_});
  return open;
}

}  // namespace buttonworth
