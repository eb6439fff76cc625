// A delivery to one buyer, and the statement of what is owed for it.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "material/caution.hpp"
#include "sale/exchange.hpp"
#include "sale/quotes.hpp"
#include "sale/settle.hpp"
#include "sale/stated_lines.hpp"

namespace buttonworth {

/// A figure as one party states it alone, or as both found it.
struct ExchangedQuantity {
  std::optional<Quantity> alone;
  std::vector<Quantity> seller, buyer, umpire;  ///< determinations, averaged
  std::optional<Quantity> limit, limit_relative;
  std::optional<UmpireRule> rule;
  std::string pointer;  ///< where it stands in the request
};

struct DeliveredAssay {
  Analyte analyte;
  ExchangedQuantity found;
};

/// A price that is an average, and of how many days.
struct QuotedPrice {
  Quantity price;
  int quoted_days, unquoted_days;
};

/// What of an earlier statement the later one takes.
struct PreviousStatement {
  Decimal advance = 0;
  NamedAmounts lines;
  struct Metal {
    std::string name;
    Decimal contained = 0, payable = 0;  ///< kg
  };
  std::vector<Metal> metal;
};

/// Immutable once read.
struct Delivery {
  std::string currency, id, buyer;
  std::optional<Day> arrived;
  std::vector<std::string> analytes;
  QuantityTable quantities;
  Terms terms;
  std::optional<ExchangedQuantity> wet_mass, moisture;  ///< of concentrate and nuggets
  std::optional<ExchangedQuantity> gross, melted;       ///< of a bar
  std::vector<DeliveredAssay> assays;
  std::vector<QuotedPrice> quoted;
  bool provisional = false;
  bool supposed = false;  ///< figures are put in place of others: the assays may pass 100 % together
  std::optional<PreviousStatement> previous;
  std::vector<Caution> cautions;
  std::string pointer;  ///< where it stands in the request
};

/// A figure once it is settled.
struct SettledFigure {
  Agreement<Decimal> agreed;
  std::optional<Decimal> seller, buyer, umpire;
  Quantity like;  ///< in whose unit it is written
};

struct Change {
  std::string what;
  Decimal was = 0, is = 0;
};

struct OpenPoint {
  std::string at, what;
};

struct Statement {
  const Delivery* delivery;
  std::optional<SettledFigure> wet_mass, moisture, gross, melted;
  std::vector<std::pair<Analyte, SettledFigure>> assays;
  std::vector<bool> known;    ///< analytes that were assayed or are deemed
  Stream<Decimal> delivered;  ///< as weighed
  Decimal settled_mass = 0;
  Contents<Decimal> payable;
  std::vector<Line<Decimal>> lines;
  Decimal proceeds = 0, advance = 0, interest = 0;
  std::optional<Day> advance_due, balance_due;
  std::vector<std::string> refused;
  std::vector<OpenPoint> open;
  std::vector<Change> changes;
  std::vector<Caution> cautions;

  bool provisional() const { return delivery->provisional || !open.empty(); }
  Decimal balance() const { return proceeds - advance - interest; }
};

/// Settles a delivery by its terms. `delivery` must outlive the statement. Throws an Error with the pointer
/// of what cannot be: assays over 100 %, two parties beyond the limit with an umpire and no rule.
Statement settle(const Delivery& delivery, bool how);

}  // namespace buttonworth
