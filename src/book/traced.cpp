#include "book/traced.hpp"

#include <algorithm>
#include <cmath>
#include <queue>

namespace buttonworth {
namespace {

constexpr int even_stretches = 96;  // a dip narrower than half of one may be missed
constexpr double finest = 1e-6;     // of the whole, in figure and value together

/// Neighbours, what stands between them, and how much is amiss.
struct Stretch {
  double from, to, at_from, at_to, middle, at_middle;

  double amiss() const {
    const bool splits = from < middle && middle < to;
    return splits ? std::abs(at_middle - (at_from + at_to) / 2) * (to - from) : 0;
  }
  bool operator<(const Stretch& other) const { return amiss() < other.amiss(); }
};

void add_even(std::vector<double>& figures) {
  const auto [low, high] = std::minmax_element(figures.begin(), figures.end());
  const double from = *low, width = *high - *low;
  for (int i = 1; i < even_stretches; ++i) figures.push_back(from + width * i / even_stretches);
  std::sort(figures.begin(), figures.end());
  figures.erase(std::unique(figures.begin(), figures.end()), figures.end());
}

}  // namespace

Traced::Traced(const std::function<double(double)>& value, std::vector<double> known) {
  add_even(known);
  auto knot = [&](double figure) { return knots_.emplace_back(Knot{figure, value(figure)}).value; };
  for (double figure : known) knot(figure);
  const auto [least, largest] = std::minmax_element(
      knots_.begin(), knots_.end(), [](const Knot& a, const Knot& b) { return a.value < b.value; });
  const double allowed = finest * (largest->value - least->value) * (known.back() - known.front());

  std::priority_queue<Stretch> stretches;
  auto look_at = [&](double from, double to, double at_from, double at_to) {
    const double middle = from + (to - from) / 2;
    stretches.push({from, to, at_from, at_to, middle, knot(middle)});
  };
  for (std::size_t i = 0; i + 1 < known.size(); ++i)
    look_at(known[i], known[i + 1], knots_[i].value, knots_[i + 1].value);
  while (!stretches.empty() && stretches.top().amiss() > allowed && knots_.size() < most_evaluations) {
    const Stretch worst = stretches.top();
    stretches.pop();
    look_at(worst.from, worst.middle, worst.at_from, worst.at_middle);
    look_at(worst.middle, worst.to, worst.at_middle, worst.at_to);
  }
  std::sort(knots_.begin(), knots_.end(), [](const Knot& a, const Knot& b) { return a.figure < b.figure; });
}

double Traced::operator()(double figure) const {
  const auto next = std::lower_bound(knots_.begin(), knots_.end(), figure,
                                     [](const Knot& knot, double wanted) { return knot.figure < wanted; });
  if (next == knots_.end()) return knots_.back().value;
  if (next == knots_.begin() || next->figure == figure) return next->value;
  const Knot& last = *(next - 1);
  return last.value + (next->value - last.value) * ((figure - last.figure) / (next->figure - last.figure));
}

}  // namespace buttonworth
