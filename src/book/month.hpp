// The month's book: deliveries as settled, money as received, metal where it stands.
//
// Amounts are in the book's currency, positive where the buyer owes them; masses in kilograms.
#pragma once

#include <unordered_map>

#include "book/owed.hpp"
#include "sale/statement.hpp"

namespace buttonworth {

/// Metal that came, or went, on a day.
struct MetalMoved {
  std::string metal;
  Day day;
  Decimal mass = 0;
};

struct MetalPriced {
  MetalMoved of;
  std::optional<Day> due;  ///< that day, if not stated
  Decimal price = 0;       ///< per kilogram
};

struct LineSum {
  LineKind kind;
  std::string what;  ///< the charge, metal or penalty, as in LineName
  Decimal amount = 0;
};

struct MetalSum {
  std::string metal;
  Decimal contained = 0, payable = 0, value = 0;
};

struct CashAccount {
  Decimal opening = 0, due = 0, changed = 0, priced = 0, received = 0;
  Decimal closing() const { return opening + due + changed + priced - received; }
};

/// Metal credited by a refiner and not yet priced.
struct RefinerAccount {
  std::string metal;
  Decimal opening = 0, credited = 0, priced = 0, withdrawn = 0;
  Decimal closing() const { return opening + credited - priced - withdrawn; }
};

/// The seller's own stock.
struct MetalOnHand {
  std::string metal;
  Decimal opening = 0, produced = 0, delivered = 0;
  std::optional<Decimal> counted;
  Decimal closing() const { return opening + produced - delivered; }
};

struct DueDay {
  std::optional<Day> day;
  Decimal amount = 0;
};

/// The sums of one buyer, or of all.
struct MonthSums {
  std::int64_t deliveries = 0, refused = 0, provisional = 0;
  Decimal wet = 0, dry = 0, settled = 0;
  Decimal proceeds = 0, interest = 0;
  std::vector<LineSum> lines;
  std::vector<MetalSum> metal;
  CashAccount cash;
  std::array<Decimal, owed_kinds> received{};  ///< by what it went to
  std::vector<RefinerAccount> accounts;
  std::vector<OwedItem> outstanding;  ///< by day; of one buyer
  std::vector<DueDay> due;
  Decimal overdue = 0;  ///< due on the last day or before

  void add(const MonthSums& other);
};

/// How a buyer's terms round money.
struct MoneyRounding {
  std::optional<Decimal> step;
  RoundingMode mode = RoundingMode::half_even;
  Decimal operator()(const Decimal& amount) const;
};

/// What is known of a buyer beside his deliveries.
struct BuyersMonth {
  std::string name;
  MoneyRounding rounding;
  std::vector<std::string> credited;  ///< metals that go to an account instead of being paid
  std::vector<MetalMoved> brought;    ///< on the accounts at the opening; the day has no meaning
  std::vector<MetalPriced> priced;
  std::vector<MetalMoved> withdrawn;
  std::vector<OwedItem> opening;
};

struct MonthHeading {
  Period days;
  std::vector<BuyersMonth> buyers;
  std::vector<MetalOnHand> on_hand;  ///< opening and counted
  std::vector<MetalMoved> produced;
};

/// What lies outside the book's days is counted by what it is.
enum class Entry { delivery, money, metal };
inline constexpr std::size_t entry_kinds = 3;

struct Book {
  std::vector<MonthSums> buyers;
  MonthSums total;
  std::vector<MetalOnHand> on_hand;
  std::array<std::int64_t, entry_kinds> passed_over{};
  std::vector<Caution> cautions;
};

/// A book being kept: deliveries and money in any order, then the close.
class MonthBook {
 public:
  explicit MonthBook(MonthHeading heading);

  /// Whether a delivery counts; if not, it is counted as passed over. One that was in an earlier book may
  /// have arrived before the month.
  bool takes(const Delivery& delivery);
  /// Buyers are numbered as in the heading. The delivery is one that counts.
  void enter(std::size_t buyer, const Statement& statement);
  void receive(std::size_t buyer, MoneyReceived money);

  /// Puts money received to what is owed, and sums up. Throws an Error (name) with the pointer of money whose
  /// delivery is not in the book, and an Error (internal) where opening and closing do not agree.
  Book close();

 private:
  struct Buyer {
    std::string name;
    MoneyRounding rounding;
    std::vector<std::string> credited;
    MonthSums sums;
    std::vector<OwedItem> items, priced;
    std::unordered_map<std::string, std::vector<std::size_t>> opening_balance;  ///< the delivery's items
    std::unordered_set<std::string> deliveries;
    std::vector<MoneyReceived> money;
  };

  bool takes(Entry entry, Day day);
  void add(const BuyersMonth& stated);
  void open(Buyer& buyer, const OwedItem& item);
  void price(Buyer& buyer, const MetalPriced& priced);
  void count(Buyer& buyer, const Statement& statement);
  void owe(Buyer& buyer, const Statement& statement);
  void change(Buyer& buyer, const Statement& statement);
  void credit(Buyer& buyer, const Statement& statement);
  void deliver_from_hand(const Statement& statement);
  void note_cautions(const Statement& statement);
  void settle_money(Buyer& buyer);
  void finish(Buyer& buyer);

  Period days_;
  std::vector<Buyer> buyers_;
  Book book_;
};

}  // namespace buttonworth
