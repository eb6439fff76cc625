// What buyers returned over many lots, against what was due.
#pragma once

#include "book/paired.hpp"
#include "book/reconcile.hpp"

namespace buttonworth {

/// One figure that both parties have of many lots.
struct FigureOverLots {
  std::string what;
  std::vector<std::string> lots;   ///< ids of those where both figures are above 0
  std::vector<double> log_ratios;  ///< ln(theirs ÷ ours) of each
  std::vector<double> steps;       ///< what rounding as written makes of each
};

/// The sums of one buyer's returns.
class BuyersReturns {
 public:
  void add(const std::string& id, const Reconciliation& lot);

  std::int64_t returns = 0;
  Decimal ours = 0, theirs = 0;
  std::vector<DifferencePart> parts;  ///< of one name summed
  std::vector<PayableDifference> payable;
  std::vector<FigureOverLots> figures;
};

}  // namespace buttonworth
