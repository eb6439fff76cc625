// A buyer's return against what was due: where the difference in proceeds comes from.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "sale/statement.hpp"

namespace buttonworth {

/// What the buyer's account says, as far as it says it. The quantities stand in the delivery's table.
struct BuyersReturn {
  std::optional<Quantity> wet_mass, moisture, gross, melted;
  std::vector<AnalyteQuantity> assays, prices;
  std::vector<AnalyteQuantity> payable;  ///< mass of each metal that he paid for or credited
  std::optional<NamedAmounts> lines;
  Decimal proceeds = 0;
};

/// A share of the difference in proceeds: positive where the buyer paid more for it than was due.
struct DifferencePart {
  std::string what;
  Decimal amount;
};

/// One figure that both have. `z` is the difference over its standard uncertainty, where both state theirs.
struct FigureDifference {
  std::string what;
  Quantity like;  ///< in whose unit both are written
  Decimal ours, theirs;
  std::optional<Decimal> z;
  bool measured = true;  ///< not agreed, as a price is
  Decimal step = 0;      ///< the last digits of both as written, added; 0 of figures not written plainly
};

/// Metal that was paid for or credited, in kg.
struct PayableDifference {
  std::string what;
  Decimal ours = 0, theirs = 0;
};

struct Reconciliation {
  Decimal ours = 0, theirs = 0;
  std::vector<DifferencePart> parts;  ///< they add up to theirs − ours
  std::vector<FigureDifference> figures;
  std::vector<PayableDifference> payable;
};

/// Takes the buyer's figures in place of ours one after the other, masses, moisture, assays, prices, and
/// settles each time by the same terms: what the proceeds change by is that figure's part. Then the buyer's
/// lines are set against ours at his own figures; what his lines do not add up to is arithmetic. Limits that
/// refuse are left aside: the buyer took the lot.
Reconciliation reconcile(const Delivery& delivery, const BuyersReturn& theirs);

}  // namespace buttonworth
