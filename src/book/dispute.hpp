// What contesting an assay is worth, before it is exchanged or before an umpire is called.
#pragma once

#include <optional>

#include "sale/statement.hpp"

namespace buttonworth {

/// The standard uncertainty of what a laboratory reports: one of the two.
struct AssayError {
  std::optional<Quantity> sd;   ///< in the assay's unit
  std::optional<Quantity> rsd;  ///< as a share of the figure
};

struct AssayErrors {
  AssayError seller, buyer, umpire;
};

/// What the laboratories weigh in, and how much the seller wants to keep for an umpire.
struct SampleWanted {
  Quantity portion;            ///< mass of one determination of the seller's
  Decimal determinations = 3;  ///< of the umpire, at least
  Decimal sets = 2;
};

/// The quantities stand in the delivery's table.
struct Dispute {
  Analyte of = 0;
  AssayErrors errors;
  std::optional<Quantity> bias;   ///< of the buyer's figures, a share of the truth
  std::optional<Quantity> offer;  ///< what may be settled at without the umpire or the exchange
  Quantity umpire_cost;
  std::optional<SampleWanted> sample;
};

enum class ContestStage { before_exchange, before_umpire, within_limit };
enum class ContestVerdict { contest, accept, too_close };

/// What settles, and what it comes to: means over what may be found. Proceeds of a figure that is known are
/// those of a statement, to the last digit.
struct Outlook {
  double settled = 0;  ///< kg/kg
  Decimal proceeds = 0;
};

/// Masses to keep, kg.
struct KeptSample {
  Decimal umpire, sample;
};

struct Contest {
  ContestStage stage;
  Quantity like;              ///< in whose unit the figures are written
  Decimal best = 0, best_sd;  ///< best estimate of the true assay and its standard uncertainty, kg/kg
  Outlook accepted, contested;
  double umpire_called = 0;  ///< chance
  Decimal umpire_paid = 0;   ///< by the seller, expected
  Decimal gain = 0;          ///< contested − umpire_paid − accepted
  double low = 0, high = 0;  ///< 5 % of the gains lie below, 5 % above
  double chance = 0;         ///< that the gain is above 0
  ContestVerdict verdict = ContestVerdict::too_close;
  std::optional<KeptSample> keep;
};

/// The true assay is unknown, no value likelier beforehand; each party finds a normal value about it with its
/// error, the buyer's about the truth × (1 + bias). Proceeds are those of `settle` with the analyte
/// settled at what comes of it, limits that refuse left aside. What may be found is 46,368 pairs, each
/// coordinate the middles of as many strata of equal chance, paired by a Fibonacci lattice: the same ones on
/// every run. Throws an Error where a figure of 0 has no relative error.
Contest contest(const Delivery& delivery, const Dispute& dispute);

}  // namespace buttonworth
