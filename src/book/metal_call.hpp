// Metal called for and accounted for, by stage.
#pragma once

#include <string>
#include <vector>

#include "material/caution.hpp"
#include "material/stages.hpp"
#include "quantity/scenario.hpp"
#include "sale/terms.hpp"

namespace buttonworth {

/// One weighing of a stream: its mass and assays, or its metal's mass itself.
struct WeighedPart {
  std::optional<Quantity> mass, moisture;
  std::vector<AnalyteQuantity> assays;  ///< beside a mass
  std::vector<AnalyteQuantity> content;
};

struct WeighedStream {
  std::string name;
  std::vector<WeighedPart> parts;
};

/// Immutable once read.
struct MetalCall {
  std::string from, to;  ///< days, or empty
  std::vector<std::string> analytes;
  QuantityTable quantities;
  std::vector<WeighedStream> streams;
  std::vector<WorkStage> stages;
  Decimal confidence;
};

enum class CallVerdict { nothing_missing, no_uncertainty, no_loss, no_gain, loss, gain };

/// One metal over one stage, or over all. kg.
struct MetalAccount {
  Analyte metal;
  Decimal called = 0, accounted = 0;
  Decimal uncertainty = 0;  ///< standard, of the difference; 0 where no figure states one
  Decimal interval = 0;     ///< half of it, at the confidence asked for
  CallVerdict verdict = CallVerdict::nothing_missing;

  Decimal difference() const { return accounted - called; }
};

struct StageAccount {
  std::string what;
  std::vector<MetalAccount> metal;
};

struct Accounted {
  std::vector<StageAccount> stages;
  StageAccount whole;
  std::vector<Caution> cautions;
};

/// Sums what goes in and what comes out of each stage, and of the whole; what passes from stage to stage
/// cancels. The variance of a product of independent figures is exact: var(xy) = mx² vy + my² vx + vx vy.
/// Source: L. A. Goodman, On the exact variance of products, J. Am. Stat. Assoc. 55 (1960), cited from
/// memory; the product's variance follows from E(x²) E(y²) - E(x)² E(y)².
Accounted account(const MetalCall& call);

}  // namespace buttonworth
