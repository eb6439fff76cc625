// All that a schedule may be made of: lots, or lots joined, on a route, each worked out by the library.
#pragma once

#include <span>
#include <unordered_set>

#include "schedule/limits.hpp"

namespace buttonworth {

struct Consignment {
  Shares shares;
  std::uint32_t route;
  double value;  ///< present value from the day on which all of it is ready
};

/// Throws an Error (range) at figures that no shipment has, and no solver survives.
void require_weighable(const std::string& route, double value, std::span<const double> takes);

/// What was looked at.
struct Looked {
  std::int64_t singles = 0, pairs = 0, triples = 0, larger = 0;
  std::int64_t possible_pairs = 0, possible_triples = 0;
  std::int64_t refused = 0;
  std::int64_t all_up_to = 1;  ///< lots: every blend of as many or fewer

  std::int64_t blends() const { return pairs + triples + larger; }
};

/// The candidates worth keeping, and what each takes of the limits.
class Candidates {
 public:
  Candidates(const Allocation& allocation, std::vector<Limit> limits);

  /// Every lot alone, then pairs, then triples, as many as the request allows; then all blends of four lots,
  /// of five and so on, as long as these are few, and of the larger ones those of lots that are accepted in
  /// none so far. A blend that brings no more and takes no less than its lots apart on the same route is not
  /// kept.
  void look(const Watch& watch);
  /// Works out more of them, those that were not looked at before. The numbers of what was kept.
  std::vector<std::size_t> look_at(const std::vector<Consignment>& wanted, const Watch& watch);

  std::size_t size() const { return list_.size(); }
  const Consignment& operator[](std::size_t i) const { return list_[i]; }
  /// By limit.
  std::span<const double> takes(std::size_t i) const {
    return {takes_.data() + i * limits_.size(), limits_.size()};
  }
  const std::vector<Limit>& limits() const { return limits_; }
  const Looked& looked() const { return looked_; }
  /// Alone or in any blend that was looked at, on any route.
  bool is_accepted(std::uint32_t lot) const;
  /// The numbers of a lot's own candidates, unjoined.
  std::vector<std::size_t> singles_of(std::uint32_t lot) const;

 private:
  struct Found {
    bool taken = false;
    double value = 0;
    std::vector<double> takes;
  };
  using Places = std::vector<std::int64_t>;  // number of the kept one by place, −1 where there is none

  void look_at_singles(const Watch& watch);
  void look_at_pairs(const Watch& watch);
  void look_at_triples(const Watch& watch);
  void look_at_all_larger(const Watch& watch);
  void look_at_larger_of_refused(const Watch& watch);
  std::vector<Consignment> pairs_by_readiness(std::size_t most) const;
  void add_pairs(std::uint32_t a, std::uint32_t b, std::vector<Consignment>& to) const;
  std::vector<Consignment> triples();
  std::vector<Consignment> blends_of(std::size_t size) const;
  void join(Shares& shares, const std::vector<std::uint32_t>& routes, std::size_t first, std::size_t size,
            std::vector<Consignment>& to) const;
  std::int64_t blends_there_are(std::size_t size) const;
  std::int64_t room() const {
    return std::max<std::int64_t>(0, allocation_.options.looked_at - looked_.blends());
  }
  bool is_all_of(std::size_t size) const { return looked_.all_up_to >= static_cast<std::int64_t>(size); }
  bool may_go(const Shares& shares, std::size_t route) const;
  bool may_join(std::uint32_t lot, std::size_t route) const;
  Found find(ShipmentWorker& worker, const Consignment& wanted) const;
  std::vector<std::size_t> take(const std::vector<Consignment>& wanted, const Watch& watch);
  std::optional<std::size_t> keep(const Consignment& wanted, Found&& found);
  bool adds_nothing(const Consignment& wanted, const Found& found) const;
  double gain_of_joining(const Consignment& pair) const;
  std::size_t item_of(const Share& share) const;
  std::int64_t place_of(const Share& share, std::size_t route) const;

  const Allocation& allocation_;
  std::vector<Limit> limits_;
  std::vector<Consignment> list_;
  std::vector<double> takes_;
  std::vector<Share> items_;                           // what a shipment may hold of each lot
  Places singles_;                                     // by item and route
  std::vector<double> best_single_;                    // by item: over all routes
  std::vector<std::pair<double, Consignment>> pairs_;  // what joining brings, for the triples
  std::unordered_set<std::uint64_t> seen_;             // what was looked at besides whole sets of them
  std::vector<std::uint8_t> accepted_;                 // by lot and route, in whatever it was looked at in
  Looked looked_;
};

}  // namespace buttonworth
