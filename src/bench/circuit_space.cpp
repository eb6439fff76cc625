#include "bench/circuit_space.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include "material/listed.hpp"
#include "quantity/edge.hpp"

namespace buttonworth {
namespace {

using Eigen::Index;

/// Exact figures that miss each other by less agree: answers carry eight digits, and what was read there may
/// be given here.
constexpr double exact_width = 1e-7;
/// What falls below its limit by less, without any freedom, is on it.
constexpr double rounding_width = 1e-9;
/// A figure this near its limit, beside its own size, lies on it.
constexpr double limit_width = 1e-10;

[[noreturn]] void contradiction(const CircuitLayout& layout, const CircuitEquations& exact,
                                const Vector& miss) {
  require_within_products(layout);
  const auto& stages = layout.circuit().nodes;
  const double much = 1e-6 * miss.cwiseAbs().maxCoeff();
  std::vector<std::string> figures;
  std::vector<std::size_t> nodes;
  for (std::size_t i = 0; i < exact.rows().size(); ++i) {
    const CircuitEquations::Row& row = exact.rows()[i];
    if (std::abs(miss[static_cast<Index>(i)]) <= much) continue;
    if (!row.figure.empty()) figures.push_back(row.figure);
    if (row.node && (nodes.empty() || nodes.back() != *row.node)) nodes.push_back(*row.node);
  }
  std::string text =
      one_after_another(figures) + (figures.size() == 1 ? " holds" : " hold") + " exactly and ";
  text += figures.size() == 1 ? "contradicts the balances" : "contradict each other";
  if (!nodes.empty())
    text += " at " + listed(nodes.size(), [&](std::size_t k) { return stages[nodes[k]].what; });
  text += ": give an error to what was measured, or correct it";
  if (nodes.size() == 1) throw CircuitError(text, CircuitError::About::node, nodes.front());
  throw CircuitError(text);
}

/// What a node splits into two, or makes of two.
struct Meeting {
  std::size_t node, whole, one, other;
  bool split;
};

[[noreturn]] void assay_again(const CircuitLayout& layout, const Meeting& at, std::size_t a,
                              const std::string& reason) {
  const Circuit& circuit = layout.circuit();
  throw CircuitError(circuit.nodes[at.node].what + ": " + reason + "; assay all three for " +
                         circuit.analytes[a] + " again, or weigh the streams",
                     CircuitError::About::node, at.node);
}

std::string told(const CircuitLayout& layout, std::size_t stream, std::size_t a) {
  return layout.circuit().streams[stream].name + " (" +
         in_grams_per_tonne(layout.grade_of(stream, a)->value) + ')';
}

/// An analyte's, where things meet.
struct Grades {
  double whole, one, other;
};

void require_between(const CircuitLayout& layout, const Meeting& at, std::size_t a, const Grades& grades) {
  const auto [poor, rich] = std::minmax(grades.one, grades.other);
  if (at_least(grades.whole, poor) && at_most(grades.whole, rich)) return;
  const bool tailings = at.split && grades.whole < poor;  // the usual case, in the usual words
  assay_again(layout, at, a,
              told(layout, at.whole, a) + (grades.whole > rich ? " is richer" : " is poorer") +
                  " than both that it is " + (at.split ? "split into, " : "made of, ") +
                  told(layout, at.one, a) + " and " + told(layout, at.other, a) +
                  (tailings ? ": tailings richer than feed" : ""));
}

void require_unlike(const CircuitLayout& layout, const Meeting& at, std::size_t a, const Grades& grades) {
  const bool as_one = same(grades.whole, grades.one);
  if (as_one == same(grades.whole, grades.other)) return;
  assay_again(layout, at, a,
              told(layout, at.whole, a) + " assays as " + told(layout, as_one ? at.one : at.other, a) +
                  " does, which leaves nothing for " + told(layout, as_one ? at.other : at.one, a));
}

/// Where one of the two that a stream is split into or made of is not weighed, each analyte that all three
/// are assayed for.
template <class Require>
void each_assayed_alike(const CircuitLayout& layout, std::optional<std::size_t> among, Require require) {
  const auto& nodes = layout.circuit().nodes;
  for (std::size_t n = 0; n < nodes.size(); ++n) {
    const bool split = nodes[n].in.size() == 1 && nodes[n].out.size() == 2;
    const bool blend = nodes[n].in.size() == 2 && nodes[n].out.size() == 1;
    if (!split && !blend) continue;
    const auto& pair = split ? nodes[n].out : nodes[n].in;
    if (among && pair[0] != *among && pair[1] != *among) continue;
    if (layout.mass_of(pair[0]) && layout.mass_of(pair[1])) continue;
    const Meeting at{n, (split ? nodes[n].in : nodes[n].out).front(), pair[0], pair[1], split};
    for (std::size_t a = 0; a < layout.analytes(); ++a) {
      const auto &whole = layout.grade_of(at.whole, a), &one = layout.grade_of(at.one, a),
                 &other = layout.grade_of(at.other, a);
      if (whole && one && other) require(layout, at, a, Grades{whole->value, one->value, other->value});
    }
  }
}

}  // namespace

void require_within_products(const CircuitLayout& layout, std::optional<std::size_t> among) {
  each_assayed_alike(layout, among, require_between);
}

void require_inside_products(const CircuitLayout& layout) {
  require_within_products(layout);
  each_assayed_alike(layout, {}, require_unlike);
}

CircuitEquations exact_equations(const CircuitLayout& layout, const std::vector<bool>& empty) {
  CircuitEquations exact(layout);
  exact.add_balances();
  for (std::size_t s = 0; s < layout.streams(); ++s)
    if (empty[s]) exact.add_empty(s);
    else if (holds_exactly(layout.mass_of(s)))
      exact.add_value(layout.mass(s), layout.mass_of(s)->value, layout.mass_name(s));
  layout.each_grade([&](std::size_t s, std::size_t a) {
    if (!empty[s] && holds_exactly(layout.grade_of(s, a)))
      exact.add_grade(s, a, layout.grade_of(s, a)->value, layout.grade_name(s, a));
  });
  return exact;
}

CircuitSpace::CircuitSpace(const CircuitLayout& layout, const CircuitLimits& limits, Vector sizes)
    : layout_(layout), sizes_(std::move(sizes)) {
  const CircuitEquations exact = exact_equations(layout, limits.empty);
  std::tie(left_, right_) = exact.scaled(sizes_);
  across_.setThreshold(rank_width);
  across_.compute(left_.transpose());
  const Matrix turned = across_.householderQ() * Matrix::Identity(layout.count(), layout.count());
  seen_ = turned.leftCols(across_.rank());
  directions_ = turned.rightCols(layout.count() - across_.rank());
  origin_ = toward(right_);
  if (right_.size() > 0 && (left_ * origin_ - right_).cwiseAbs().maxCoeff() > exact_width) {
    // In the least of all misses every equation that takes part has its share.
    Eigen::CompleteOrthogonalDecomposition<Matrix> whole;
    whole.setThreshold(rank_width);
    contradiction(layout, exact, left_ * whole.compute(left_).solve(right_) - right_);
  }
  find_limits(limits);
}

/// The shortest way that changes the equations' left sides by so much, as far as they are independent.
Vector CircuitSpace::toward(const Vector& miss) const {
  const Index rank = across_.rank();
  const Vector ordered = across_.colsPermutation().transpose() * miss;
  const auto triangle = across_.matrixR().topLeftCorner(rank, rank).triangularView<Eigen::Upper>();
  return seen_ * triangle.transpose().solve(ordered.head(rank));
}

Vector CircuitSpace::straightened(const Vector& base) const { return base - toward(left_ * base - right_); }

void CircuitSpace::find_limits(const CircuitLimits& limits) {
  for (std::size_t s = 0; s < layout_.streams(); ++s) {
    if (limits.empty[s] || holds_exactly(layout_.mass_of(s))) continue;
    const Index m = layout_.mass(s);
    limits_.push_back({m, -1, 0, limits.floors[s] / sizes_[m], layout_.mass_name(s) + " would be below 0"});
  }
  layout_.each_grade([&](std::size_t s, std::size_t a) {
    if (limits.empty[s] || holds_exactly(layout_.grade_of(s, a))) return;
    const Index m = layout_.mass(s), c = layout_.content(s, a);
    limits_.push_back({c, -1, 0, 0, layout_.grade_name(s, a) + " would be below 0"});
    limits_.push_back({m, c, sizes_[c] / sizes_[m], 0, layout_.grade_name(s, a) + " would be above 100 %"});
  });
  limit_rows_.resize(static_cast<Index>(limits_.size()), freedom());
  for (std::size_t i = 0; i < limits_.size(); ++i) {
    const Limit& limit = limits_[i];
    limit_rows_.row(static_cast<Index>(i)) = directions_.row(limit.plus);
    if (limit.minus >= 0) limit_rows_.row(static_cast<Index>(i)) -= limit.less * directions_.row(limit.minus);
  }
}

double CircuitSpace::room(const Limit& limit, const Vector& base) const {
  return base[limit.plus] - (limit.minus >= 0 ? limit.less * base[limit.minus] : 0) - limit.least;
}

Matrix CircuitSpace::reduced(const StreamBlocks& curvature) const {
  Matrix sum = Matrix::Zero(freedom(), freedom());
  Index row = 0;
  for (const Matrix& block : curvature) {
    const auto part = directions_.middleRows(row, block.rows());
    sum.noalias() += part.transpose() * (block * part);
    row += block.rows();
  }
  return sum;
}

Matrix CircuitSpace::stiffened(const Matrix& reduced, const Vector& base, double stiffness) const {
  Matrix stiff = reduced;
  for (std::size_t i = 0; i < limits_.size(); ++i) {
    if (room(limits_[i], base) > limit_width) continue;
    const Vector row = limit_rows_.row(static_cast<Index>(i)).transpose();
    stiff.noalias() += stiffness * row * row.transpose();
  }
  return stiff;
}

bool CircuitSpace::stays_at_limits(const Vector& base, const Vector& aim) const {
  return std::all_of(limits_.begin(), limits_.end(), [&](const Limit& limit) {
    return room(limit, base) > limit_width || room(limit, aim) <= limit_width;
  });
}

std::optional<Vector> CircuitSpace::least_from(const Vector& base, const Matrix& reduced,
                                               const Vector& slope) const {
  Vector short_of(static_cast<Index>(limits_.size()));
  for (std::size_t i = 0; i < limits_.size(); ++i) short_of[static_cast<Index>(i)] = -room(limits_[i], base);
  if (freedom() == 0) {
    if (short_of.size() > 0 && short_of.maxCoeff() > rounding_width) return std::nullopt;
    return base;
  }
  const auto q = least_quadratic(reduced, directions_.transpose() * slope, limit_rows_, short_of);
  if (!q) return std::nullopt;
  return Vector(base + directions_ * *q);
}

std::vector<std::string> CircuitSpace::broken_at_origin() const {
  std::vector<std::string> names;
  for (const Limit& limit : limits_)
    if (room(limit, origin_) < -rounding_width) names.push_back(limit.name);
  return names;
}

}  // namespace buttonworth
