#include "book/month.hpp"

#include <algorithm>
#include <utility>

namespace buttonworth {
namespace {

template <class T>
T& named(std::vector<T>& list, const std::string& metal) {
  for (T& one : list)
    if (one.metal == metal) return one;
  list.emplace_back().metal = metal;
  return list.back();
}

LineSum& line_sum(std::vector<LineSum>& sums, LineKind kind, const std::string& what) {
  for (LineSum& one : sums)
    if (one.kind == kind && one.what == what) return one;
  return sums.emplace_back(LineSum{kind, what});
}

/// Deliveries to one buyer have the same lines in the same order.
void add_lines(std::vector<LineSum>& sums, const std::vector<Line<Decimal>>& lines) {
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const LineName& name = lines[i].name;
    const bool in_place = i < sums.size() && sums[i].kind == name.kind && sums[i].what == *name.what;
    (in_place ? sums[i] : line_sum(sums, name.kind, *name.what)).amount += lines[i].amount;
  }
}

std::vector<DueDay> by_day(const std::vector<OwedItem>& outstanding) {
  std::vector<DueDay> days;
  for (const OwedItem& item : outstanding) {
    if (days.empty() || days.back().day != item.due) days.push_back({item.due});
    days.back().amount += item.amount;
  }
  return days;
}

/// Two lists of days in order, as one.
std::vector<DueDay> merged(const std::vector<DueDay>& a, const std::vector<DueDay>& b) {
  std::vector<DueDay> days;
  const auto earlier = [](const DueDay& x, const DueDay& y) {
    return x.day && y.day ? *x.day < *y.day : x.day.has_value() && !y.day.has_value();
  };
  std::merge(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(days), earlier);
  std::vector<DueDay> summed;
  for (const DueDay& one : days) {
    if (summed.empty() || summed.back().day != one.day) summed.push_back({one.day});
    summed.back().amount += one.amount;
  }
  return summed;
}

}  // namespace

Decimal MoneyRounding::operator()(const Decimal& amount) const {
  return step ? round_to(amount, *step, Decimal(1 / *step), mode) : amount;
}

void MonthSums::add(const MonthSums& other) {
  deliveries += other.deliveries, refused += other.refused, provisional += other.provisional;
  wet += other.wet, dry += other.dry, settled += other.settled;
  proceeds += other.proceeds, interest += other.interest, overdue += other.overdue;
  for (const LineSum& one : other.lines) line_sum(lines, one.kind, one.what).amount += one.amount;
  for (const MetalSum& one : other.metal) {
    MetalSum& sum = named(metal, one.metal);
    sum.contained += one.contained, sum.payable += one.payable, sum.value += one.value;
  }
  for (const RefinerAccount& one : other.accounts) {
    RefinerAccount& sum = named(accounts, one.metal);
    sum.opening += one.opening, sum.credited += one.credited;
    sum.priced += one.priced, sum.withdrawn += one.withdrawn;
  }
  cash.opening += other.cash.opening, cash.due += other.cash.due, cash.changed += other.cash.changed;
  cash.priced += other.cash.priced, cash.received += other.cash.received;
  for (std::size_t i = 0; i < owed_kinds; ++i) received[i] += other.received[i];
  due = merged(due, other.due);
}

// ---- Before the deliveries -------------------------------------------------------------------

MonthBook::MonthBook(MonthHeading heading) : days_(heading.days) {
  book_.on_hand = std::move(heading.on_hand);
  for (const BuyersMonth& one : heading.buyers) add(one);
  for (const MetalMoved& made : heading.produced)
    if (takes(Entry::metal, made.day)) named(book_.on_hand, made.metal).produced += made.mass;
}

void MonthBook::add(const BuyersMonth& stated) {
  Buyer& buyer = buyers_.emplace_back();
  buyer.name = stated.name;
  buyer.rounding = stated.rounding;
  buyer.credited = stated.credited;
  std::vector<RefinerAccount>& accounts = buyer.sums.accounts;
  for (const std::string& metal : stated.credited) named(accounts, metal);
  for (const MetalMoved& brought : stated.brought) named(accounts, brought.metal).opening += brought.mass;
  for (const MetalMoved& gone : stated.withdrawn)
    if (takes(Entry::metal, gone.day)) named(accounts, gone.metal).withdrawn += gone.mass;
  for (const MetalPriced& priced : stated.priced)
    if (takes(Entry::metal, priced.of.day)) price(buyer, priced);
  for (const OwedItem& item : stated.opening) open(buyer, item);
}

void MonthBook::open(Buyer& buyer, const OwedItem& item) {
  buyer.sums.cash.opening += item.amount;
  if (!item.delivery.empty()) {
    buyer.deliveries.insert(item.delivery);
    if (item.what == OwedFor::balance) buyer.opening_balance[item.delivery].push_back(buyer.items.size());
  }
  buyer.items.push_back(item);
}

void MonthBook::price(Buyer& buyer, const MetalPriced& priced) {
  const MetalMoved& of = priced.of;
  named(buyer.sums.accounts, of.metal).priced += of.mass;
  const Decimal amount = buyer.rounding(Decimal(of.mass * priced.price));
  buyer.sums.cash.priced += amount;
  buyer.priced.push_back({{}, OwedFor::priced, of.metal, priced.due.value_or(of.day), amount});
}

bool MonthBook::takes(Entry entry, Day day) {
  if (days_.from <= day && day <= days_.to) return true;
  ++book_.passed_over[static_cast<std::size_t>(entry)];
  return false;
}

bool MonthBook::takes(const Delivery& delivery) {
  if (delivery.previous && *delivery.arrived <= days_.to) return true;
  return takes(Entry::delivery, *delivery.arrived);
}

void MonthBook::receive(std::size_t buyer, MoneyReceived money) {
  if (takes(Entry::money, money.day)) buyers_[buyer].money.push_back(std::move(money));
}

// ---- A delivery ------------------------------------------------------------------------------

void MonthBook::enter(std::size_t number, const Statement& statement) {
  Buyer& buyer = buyers_[number];
  MonthSums& sums = buyer.sums;
  ++sums.deliveries;
  sums.provisional += statement.provisional();
  buyer.deliveries.insert(statement.delivery->id);
  sums.refused += !statement.refused.empty();
  note_cautions(statement);
  credit(buyer, statement);
  deliver_from_hand(statement);
  if (statement.delivery->previous) return change(buyer, statement);
  if (!statement.refused.empty()) return;
  count(buyer, statement);
  owe(buyer, statement);
}

void MonthBook::note_cautions(const Statement& statement) {
  const std::string& id = statement.delivery->id;
  for (const std::string& reason : statement.refused) book_.cautions.push_back({id, "refused: " + reason});
  for (const Caution& one : statement.cautions) book_.cautions.push_back({id, one.at + ": " + one.what});
}

void MonthBook::count(Buyer& buyer, const Statement& statement) {
  MonthSums& sums = buyer.sums;
  sums.wet += statement.delivered.wet();
  sums.dry += statement.delivered.dry;
  sums.settled += statement.settled_mass;
  sums.proceeds += statement.proceeds;
  sums.interest += statement.interest;
  add_lines(sums.lines, statement.lines);
  const std::vector<std::string>& analytes = statement.delivery->analytes;
  for (std::size_t a = 0; a < analytes.size(); ++a) {
    if (!statement.known[a]) continue;
    MetalSum& metal = named(sums.metal, analytes[a]);
    metal.contained += statement.delivered.content[a];
    metal.payable += statement.payable[a];
  }
  for (const Line<Decimal>& line : statement.lines)
    if (line.name.kind == LineKind::value) named(sums.metal, *line.name.what).value += line.amount;
}

/// What falls due is an amount that can be paid: the advance is rounded as money is, the balance is the rest.
void MonthBook::owe(Buyer& buyer, const Statement& statement) {
  const std::string& id = statement.delivery->id;
  const Decimal sum = statement.proceeds - statement.interest;
  buyer.sums.cash.due += sum;
  const Decimal advance = buyer.rounding(statement.advance);
  if (advance != 0) buyer.items.push_back({id, OwedFor::advance, {}, statement.advance_due, advance});
  buyer.items.push_back({id, OwedFor::balance, {}, statement.balance_due, sum - advance});
}

/// Of a delivery that was in an earlier book only what changed is owed.
void MonthBook::change(Buyer& buyer, const Statement& statement) {
  Decimal change = 0;
  for (const Line<Decimal>& line : statement.lines) change += line.amount;
  for (const auto& [what, amount] : statement.delivery->previous->lines) change -= amount;
  buyer.sums.cash.changed += change;
  const auto known = buyer.opening_balance.find(statement.delivery->id);
  if (known == buyer.opening_balance.end()) {
    buyer.items.push_back({statement.delivery->id, OwedFor::balance, {}, statement.balance_due, change});
    return;
  }
  OwedItem& balance = buyer.items[known->second.front()];
  for (std::size_t i : known->second)  // the first takes the others in
    if (&buyer.items[i] != &balance) change += std::exchange(buyer.items[i].amount, Decimal(0));
  balance.amount += change;
  if (statement.balance_due) balance.due = statement.balance_due;
}

void MonthBook::credit(Buyer& buyer, const Statement& statement) {
  const Delivery& delivery = *statement.delivery;
  for (const std::string& metal : buyer.credited) {
    RefinerAccount& account = named(buyer.sums.accounts, metal);
    for (std::size_t a = 0; a < delivery.analytes.size(); ++a)
      if (delivery.analytes[a] == metal) account.credited += statement.payable[a];
    if (!delivery.previous) continue;
    for (const PreviousStatement::Metal& before : delivery.previous->metal)
      if (before.name == metal) account.credited -= before.payable;
  }
}

void MonthBook::deliver_from_hand(const Statement& statement) {
  const std::vector<std::string>& analytes = statement.delivery->analytes;
  for (MetalOnHand& hand : book_.on_hand)
    for (std::size_t a = 0; a < analytes.size(); ++a)
      if (analytes[a] == hand.metal && statement.refused.empty())
        hand.delivered += statement.delivered.content[a];
  if (!statement.delivery->previous) return;
  for (const PreviousStatement::Metal& before : statement.delivery->previous->metal)
    for (MetalOnHand& hand : book_.on_hand)
      if (before.name == hand.metal) hand.delivered -= before.contained;
}

// ---- The close -------------------------------------------------------------------------------

void MonthBook::settle_money(Buyer& buyer) {
  std::vector<OwedItem> items = std::move(buyer.items);
  items.insert(items.end(), buyer.priced.begin(), buyer.priced.end());
  std::stable_sort(buyer.money.begin(), buyer.money.end(),
                   [](const MoneyReceived& a, const MoneyReceived& b) { return a.day < b.day; });
  Owed owed(std::move(items), buyer.deliveries);
  for (const MoneyReceived& money : buyer.money) {
    owed.receive(money);
    buyer.sums.cash.received += money.amount;
  }
  buyer.sums.received = owed.received();
  buyer.sums.outstanding = owed.outstanding();
  for (const std::string& delivery : owed.overpaid())
    book_.cautions.push_back(
        {delivery,
         buyer.name + ": what came in for it is more than was owed, look whether some is for another"});
}

void MonthBook::finish(Buyer& buyer) {
  MonthSums& sums = buyer.sums;
  settle_money(buyer);
  sums.due = by_day(sums.outstanding);
  Decimal left = 0;
  for (const DueDay& day : sums.due) {
    left += day.amount;
    if (day.day && *day.day <= days_.to) sums.overdue += day.amount;
  }
  // What is dropped as nothing is at most half of the last place of each item.
  static const Decimal allowed("1e-6");
  if (abs(Decimal(left - sums.cash.closing())) > allowed)
    throw Error(Code::internal, "what " + buyer.name + " owes does not add up: please report it");
  for (const RefinerAccount& account : sums.accounts)
    if (account.closing() < 0 && !is_nothing(account.closing()))
      book_.cautions.push_back(
          {buyer.name, "more " + account.metal + " was priced and withdrawn than was credited"});
}

Book MonthBook::close() {
  for (Buyer& buyer : buyers_) {
    finish(buyer);
    book_.total.add(buyer.sums);
    book_.buyers.push_back(std::move(buyer.sums));
  }
  return std::move(book_);
}

}  // namespace buttonworth
