#include "chance/scan.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

namespace buttonworth {
namespace {
constexpr double equal_to = 1e-13;
constexpr double safety = 2;  // by how much a slope may steepen within a stretch
}  // namespace

std::optional<std::size_t> leader(const std::vector<double>& worth) {
  const auto largest = std::max_element(worth.begin(), worth.end());
  if (largest == worth.end() || !std::isfinite(*largest)) return std::nullopt;
  const double enough = *largest - std::abs(*largest) * equal_to;
  const auto first = std::find_if(worth.begin(), worth.end(), [&](double one) { return one >= enough; });
  return static_cast<std::size_t>(first - worth.begin());
}

LeadScan::LeadScan(Curves curves, double from, double to, ScanWidth width)
    : curves_(std::move(curves)), from_(from), to_(to), width_(width) {
  const int last = width_.points - 1;
  for (int i = 0; i <= last; ++i) look(i == last ? to_ : from_ + (to_ - from_) * i / last);
  std::vector<At> first;
  for (At at = looks_.begin(); at != looks_.end(); ++at) first.push_back(at);
  for (std::size_t i = 0; i + 1 < first.size(); ++i) settle(first[i], first[i + 1]);
}

LeadScan::At LeadScan::look(double at) {
  const auto known = looks_.find(at);
  return known != looks_.end() ? known : looks_.emplace(at, curves_(at)).first;
}

void LeadScan::settle(At a, At b) {
  const auto first = leader(a->second), second = leader(b->second);
  const double width = b->first - a->first;
  const double size = std::max({std::abs(a->first), std::abs(b->first), 1e-3 * (to_ - from_)});
  const double middle = a->first + width / 2;
  const bool closest = width <= size * width_.converged || middle <= a->first || middle >= b->first;
  const bool quiet = first == second && (width <= width_.closest * (to_ - from_) || !may_change(a, b));
  if (closest && first != second)
    changes_.push_back({{a->first, a->second}, {b->first, b->second}, first, second});
  if (closest || quiet) return;
  if (static_cast<int>(looks_.size()) >= width_.most_looks) gave_up_ = true;
  if (gave_up_ && first == second) return;
  const At m = look(middle);
  settle(a, m);
  settle(m, b);
}

/// How far `one` may rise over `over` from a on, by the two stretches before it: a slope.
double LeadScan::rise_to(At a, std::size_t one, std::size_t over) const {
  double steepest = 0;
  for (int k = 0; k < 2 && a != looks_.begin(); ++k, --a) {
    const At before = std::prev(a);
    const double step = (a->second[one] - a->second[over]) - (before->second[one] - before->second[over]);
    if (std::isfinite(step)) steepest = std::max(steepest, step / (a->first - before->first));
  }
  return steepest;
}
double LeadScan::fall_from(At b, std::size_t one, std::size_t over) const {
  double steepest = 0;
  for (int k = 0; k < 2 && std::next(b) != looks_.end(); ++k, ++b) {
    const At after = std::next(b);
    const double step = (b->second[one] - b->second[over]) - (after->second[one] - after->second[over]);
    if (std::isfinite(step)) steepest = std::max(steepest, step / (after->first - b->first));
  }
  return steepest;
}

/// Whether another curve may lead somewhere between two neighbours that have the same leader. A curve that
/// is there at one end only may begin anywhere.
bool LeadScan::may_change(At a, At b) const {
  const auto leads = leader(a->second);
  const double width = b->first - a->first;
  for (std::size_t i = 0; i < a->second.size(); ++i) {
    if (leads && i == *leads) continue;
    const bool here = std::isfinite(a->second[i]), there = std::isfinite(b->second[i]);
    if (!here && !there) continue;
    if (!leads) return true;
    const double left = a->second[i] - a->second[*leads], right = b->second[i] - b->second[*leads];
    const double rise = safety * width * rise_to(a, i, *leads),
                 fall = safety * width * fall_from(b, i, *leads);
    const double none = std::max(std::abs(a->second[*leads]), std::abs(b->second[*leads])) * equal_to;
    if ((here && left + rise > none) || (there && right + fall > none)) return true;
  }
  return false;
}

}  // namespace buttonworth
