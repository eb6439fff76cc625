// The best cut: the pulls at which a route's present value is largest.
#pragma once

#include <deque>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "quantity/watch.hpp"
#include "route/sweep.hpp"

namespace buttonworth {

struct CutSearch {
  std::optional<Pulls> best;  ///< none where every pull is refused or impossible
  Pulls told_at;  ///< whose reasons are told where there is none: refused, nearest the middle, or that itself
  std::vector<std::pair<double, double>> range;  ///< where each cut was looked for
  std::size_t evaluated = 0;                     ///< settings that were worked out
};

/// The pulls between which a best cut is looked for: what the plan says, or the first and the last measured
/// one, short of what the middlings take; the first above the second where there are none.
std::pair<double, double> searched_range(const Table& table, const Scenario<double>& s);

/// Searches best cuts for the routes of one plan. What the searches share is made once, and routes
/// that differ only where no cut is searched are searched once.
class CutFinder {
 public:
  explicit CutFinder(const Plan& plan) : plan_(plan) {}
  CutFinder(const CutFinder&) = delete;
  CutFinder& operator=(const CutFinder&) = delete;
  /// At other values than the plan's. What is prepared outlives the finder and stays as it is.
  explicit CutFinder(const Prepared<double>& prepared) : plan_(*prepared.plan), prepared_(&prepared) {}

  /// Sweeps the pulls in lanes, then looks closer wherever more may be found. Accept limits, bands,
  /// whole melts and minimum deductions make the value jump, and a jump hides its top from a grid:
  /// so every stretch is judged by what its neighbours' slopes allow, and those that may beat the best
  /// so far by more than 1 part in 10^7 are looked into again, down to 10^-9 of the range.
  const CutSearch& search(const Route& route, const Watch& watch);

  /// Values of a plan's routes at other pulls.
  const Sweep& sweep();

 private:
  const Plan& plan_;
  std::optional<Prepared<double>> plain_;  // the plan's own, made when first wanted
  const Prepared<double>* prepared_ = nullptr;
  std::unique_ptr<Sweep> sweep_;
  std::deque<std::pair<const Route*, CutSearch>> known_;  // what was handed out stays
};

}  // namespace buttonworth
