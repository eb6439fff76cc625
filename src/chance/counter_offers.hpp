// The counter-offer sheet: what each losing buyer would have to change for his route to win.
#pragma once

#include "chance/term_figures.hpp"
#include "chance/worths.hpp"

namespace buttonworth {

struct CounterOptions {
  std::vector<std::size_t> terms;  ///< of the plan; empty: all that the routes sell to
  WorthOptions worths;
};

/// A figure of the terms and what it would have to become.
struct Offer {
  TermFigure figure;
  std::optional<Decimal> change;  ///< the smallest that does, in the library's units; nothing where none does
};

struct BuyerOffers {
  const Terms* terms;
  const Route* route = nullptr;         ///< the best that sells to him; none where all are refused
  std::optional<double> present_value;  ///< of that route
  std::optional<double> missing;        ///< present value that it leaves less than the best
  std::optional<double> per_lot;        ///< paid with each of his final settlements, makes up for it
  std::vector<std::string> refused;     ///< why, where all are
  std::vector<Offer> offers;
};

struct CounterOffers {
  const Route* best = nullptr;  ///< none where all are refused: then there are no buyers
  std::optional<double> present_value;
  std::vector<BuyerOffers> buyers;
  std::vector<Caution> cautions;
};

/// Throws an Error: of the comparison at the plan's values; Code::cancelled.
CounterOffers find_counter_offers(const Plan& plan, const CounterOptions& options, const Watch& watch);

/// What a figure becomes by a change of this size, by quantity; library's units.
std::vector<Decimal> moved(const Plan& plan, const TermFigure& figure, const Decimal& change);

/// Whether a route sells to these terms.
bool sells_to(const Route& route, std::size_t terms);

}  // namespace buttonworth
