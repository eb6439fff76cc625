// A choice on its timetable, and other ways for its shipments where busy steps spoil it.
#pragma once

#include <map>

#include "schedule/choose.hpp"
#include "schedule/timetable.hpp"

namespace buttonworth {

struct Timed {
  Choice choice;
  std::vector<std::size_t> candidates;   ///< by shipment
  std::vector<const Outcome*> outcomes;  ///< by shipment; the repair holds them
  Timetable table;
  double missed = 0;  ///< shares of what has to be reached, summed; lots that have to go too

  double value() const { return choice.value - table.lost; }
};

/// Whether a misses less, or as little and leaves more.
bool is_better(const Timed& a, const Timed& b);

/// A choice knows nothing of queues. Here it is put on a timetable, and what the queues spoil is mended
/// there: shipments, first one and then two at a time, go other ways, are parted, joined, left, or lots that
/// were left are sent, as long as that misses less or leaves more.
class Repair {
 public:
  Repair(const Allocation& allocation, const Candidates& candidates, const Chooser& chooser);

  Timed place(Choice choice, const Watch& watch);
  /// Nothing in reach of it is better, unless the time has passed. Limits without days stay within bounds.
  Timed repaired(Timed now, const std::vector<Row>& bounds, double seconds, const Watch& watch);

  /// Parts that are in none of these candidates, by lot.
  std::vector<std::uint32_t> left_of(const std::vector<std::size_t>& candidates) const;

 private:
  using Numbers = std::vector<std::size_t>;
  using Bounds = std::vector<Row>;
  struct Opening;

  const Outcome& outcome_of(std::size_t candidate);
  Numbers candidates_of(const Shares& shares);
  std::optional<std::size_t> single_of(const Share& share, std::size_t route);
  std::vector<Opening> openings(const Timed& now) const;
  double missed_of(const Timed& made) const;
  static std::vector<Shares> less_of(const Shares& shares);
  std::vector<Numbers> ways(const Opening& opening);
  void add_parted(std::vector<Numbers>& ways, const Share& share);
  std::vector<Numbers> ways_of_two(const Opening& a, const Opening& b);
  void add_joined_anew(std::vector<Numbers>& ways, const Shares& lots);
  void insert(Timed& made, std::size_t candidate);
  void try_out(Timed& best, const Timed& now, const Numbers& out, const Numbers& in, const Bounds& bounds);
  bool try_all(Timed& best, const Timed& now, const Numbers& out, const std::vector<Numbers>& ways,
               const Bounds& bounds, const Clock& clock, const Watch& watch);
  Timed with_one(const Timed& now, const Bounds& bounds, const Clock& clock, const Watch& watch);
  Timed with_two(const Timed& now, const Bounds& bounds, const Clock& clock, const Watch& watch);
  void tidy(Timed& made, const Watch& watch) const;

  const Allocation& allocation_;
  const Candidates& candidates_;
  const Chooser& chooser_;
  ShipmentWorker worker_;
  std::map<std::size_t, Outcome> outcomes_;  // of candidates that were placed
  Numbers by_shares_;                        // candidates, those of the same shares together
};

}  // namespace buttonworth
