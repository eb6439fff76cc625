// A buyer's terms, as the contract states them.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "material/stream.hpp"
#include "quantity/scenario.hpp"

namespace buttonworth {

enum class Buys { concentrate, nuggets, bar };

struct Range {
  std::optional<Quantity> min, max;
};

struct AnalyteQuantity {
  Analyte analyte;
  Quantity quantity;
};

struct AssayLimit {
  Analyte analyte;
  Range range;
};

/// Limits included: a lot that is exactly at one is taken.
struct Accepts {
  Range mass;      ///< of the settled mass
  Range moisture;  ///< as delivered
  std::vector<AssayLimit> assays;
};

/// How the paid share and the deduction combine.
enum class Order { lower_of, less_first, share_first };

enum class RefiningOf { payable, gross, settled };

struct Payable {
  struct Band {
    Quantity start, share;
  };
  std::string metal;
  Analyte analyte;
  std::vector<Band> bands;  ///< empty: `share` at any grade
  Quantity share;
  Quantity less;
  Order order = Order::lower_of;
  std::optional<Quantity> own_price;
  Quantity price;  ///< its own or the plan's
  Quantity price_share;
  std::optional<Quantity> mass_step;  ///< the payable mass is rounded to whole ones
  std::optional<Quantity> refining;
  RefiningOf refining_of = RefiningOf::payable;
};

/// What a charge's rate multiplies.
enum class ChargeBasis { settled, wet, dry, payable_metal, lot, payable_value };

struct Charge {
  std::string what;
  Quantity rate;
  ChargeBasis basis = ChargeBasis::settled;
  Analyte metal = 0;  ///< of a charge on payable metal
  std::optional<Quantity> at_least, at_most;
};

/// A charge for every `each` of the assay above `above`, up to the next step's `above`.
struct PenaltyStep {
  Quantity above, each, rate;
};

/// A rate on all of the settled mass for an assay up to and including `up_to`.
struct PenaltyBand {
  Quantity up_to, rate;
};

struct Penalty {
  std::string what;  ///< "As + Sb"
  std::vector<Analyte> analytes;
  std::vector<PenaltyStep> steps;
  std::vector<PenaltyBand> bands;
  bool whole_steps = false;
  std::optional<Quantity> refuse_above;
};

struct Participation {
  std::string metal;
  Analyte analyte;
  Quantity price;  ///< the metal's own or the plan's
  Quantity above, each, rate;
};

struct Advance {
  Quantity share, after;
  std::optional<Quantity> interest;
};

/// A balance that shows whole steps, and the next one only once it is passed by `turn`.
struct Weighing {
  Quantity step, turn;
};

struct Rounding {
  std::vector<AnalyteQuantity> assays;
  std::optional<Weighing> mass;
  std::vector<AnalyteQuantity> payable;  ///< step of a metal's payable mass
  std::optional<Quantity> money;
  RoundingMode mode = RoundingMode::half_even;
};

struct MeltLoss {
  Quantity mass;
  std::vector<AnalyteQuantity> analytes;
};

struct Terms {
  std::string name;
  Buys buys = Buys::concentrate;
  Quantity transit;
  Accepts accepts;
  std::optional<MeltLoss> melt_loss;
  Quantity sample_kept;
  Quantity mass_deduction;
  std::vector<AnalyteQuantity> deemed;
  std::vector<Payable> pay;
  std::vector<Charge> charges;
  std::vector<Penalty> penalties;
  std::vector<Participation> participation;
  std::optional<Advance> advance;
  Quantity final_after;
  Rounding rounding;
  std::vector<Analyte> untested;  ///< limited here, but never assayed in this plan
};

enum class LevyOf { payable_value, proceeds, gross_value };

/// A royalty or tax on each sale.
struct Levy {
  struct Refund {
    Quantity share, after;
  };
  std::string what;
  Quantity rate;
  LevyOf of = LevyOf::payable_value;
  Quantity after;
  std::optional<Refund> refund;
};

}  // namespace buttonworth
