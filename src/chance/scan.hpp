// Where along a range one of several curves takes the lead over the others: all places, jumps included.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <vector>

namespace buttonworth {

/// The curves at one value; −infinity where one is not there.
struct Look {
  double at = 0;
  std::vector<double> worth;
};

/// Where the lead changes hands: between two values as near as doubles tell apart.
struct LeadChange {
  Look before, after;
  std::optional<std::size_t> first, second;  ///< leaders before and after; none where no curve is there
};

/// How closely a range is scanned.
struct ScanWidth {
  int points = 1025;         ///< looked at first, evenly apart
  double closest = 1e-5;     ///< between two with the same leader, as a share of the range
  double converged = 1e-13;  ///< between two with different ones, relative to the value
  int most_looks = 40'000;
};

/// The curve that leads: the first in order of those within 1 part in 10^13 of the largest.
std::optional<std::size_t> leader(const std::vector<double>& worth);

/// Looks at a range evenly, then between neighbours wherever the lead changes or what the curves to either
/// side rise or fall by would let it change, and goes down to each change by halving.
class LeadScan {
 public:
  using Curves = std::function<std::vector<double>(double)>;

  LeadScan(Curves curves, double from, double to, ScanWidth width = {});

  /// In rising order.
  const std::vector<LeadChange>& changes() const { return changes_; }
  const std::map<double, std::vector<double>>& looks() const { return looks_; }
  /// Whether there was too much to look at: changes may be missing.
  bool gave_up() const { return gave_up_; }

 private:
  using At = std::map<double, std::vector<double>>::const_iterator;

  At look(double at);
  void settle(At a, At b);
  bool may_change(At a, At b) const;
  double rise_to(At a, std::size_t one, std::size_t over) const;
  double fall_from(At b, std::size_t one, std::size_t over) const;

  Curves curves_;
  double from_, to_;
  ScanWidth width_;
  std::map<double, std::vector<double>> looks_;
  std::vector<LeadChange> changes_;
  bool gave_up_ = false;
};

}  // namespace buttonworth
