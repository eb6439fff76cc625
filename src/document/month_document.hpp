// The month as a document: its heading, then deliveries and money as lists or as tables, in pieces if need
// be.
#pragma once

#include <unordered_set>

#include "document/contract_reader.hpp"
#include "document/entries.hpp"

namespace buttonworth {

/// What the answer is to hold besides the sums.
struct BookWishes {
  bool list = false;  ///< every delivery
  bool csv = false;   ///< the tables
};

class MonthReading {
 public:
  /// Given each delivery that is in order; it is there until the next one is read.
  using TakeDelivery = std::function<void(std::size_t buyer, const Delivery& delivery)>;
  using TakeMoney = std::function<void(std::size_t buyer, MoneyReceived money)>;

  /// Reads all of the request but its deliveries and what was received: see the complaints.
  MonthReading(const Value& request, const DocumentLimits& limits);
  MonthReading(const MonthReading&) = delete;
  MonthReading& operator=(const MonthReading&) = delete;

  const MonthHeading& heading() const { return heading_; }
  const std::string& currency() const { return reader_.currency; }
  const BookWishes& wishes() const { return wishes_; }
  /// Metals that any buyer pays, in the order they are first named.
  std::vector<std::string> metals() const { return contracts_.paid(); }

  void give_to(TakeDelivery deliveries, TakeMoney money);
  /// Deliveries and money received that stand in the request.
  void read_entries(const Value& request, const Watch& watch);
  /// A piece of a table of either. Throws an Error (conflict) where the request holds that table.
  void take(TableKind table, std::string_view piece, const Watch& watch);
  /// No more pieces.
  void finish();

  std::vector<Complaint>& complaints() { return reader_.complaints; }
  static Json schema(SchemaBook& book);

 private:
  struct Request;
  void take_heading(Request&& request);
  void take_delivery(const Value& entry, const Place& place);
  void take_money(const Value& entry, const Place& place);

  const DocumentLimits limits_;
  Reader reader_;
  Contracts contracts_;
  MonthHeading heading_;
  BookWishes wishes_;
  Reader::Mark heading_end_;
  std::unordered_set<std::string> ids_;
  TakeDelivery give_delivery_;
  TakeMoney give_money_;
  std::optional<Entries> deliveries_, received_;
  bool has_deliveries_ = false, has_received_ = false;  ///< in the request
};

/// The JSON Schema (draft 7) of the request.
Json month_schema();

}  // namespace buttonworth
