#include "bench/circuit_layout.hpp"

#include <cmath>

#include "material/listed.hpp"
#include "quantity/decimal.hpp"

namespace buttonworth {
namespace {

using Eigen::Index;

/// A point that keeps the balances and is special in no other way: what cannot be found there cannot be found
/// from any figures. Masses and contents are mixtures of the flows that the nodes allow.
class AnyPoint {
 public:
  explicit AnyPoint(const CircuitLayout& layout) : layout_(layout) {
    const std::vector<WorkStage>& stages = layout.circuit().nodes;
    const Index streams = static_cast<Index>(layout.streams());
    Matrix nodes = Matrix::Zero(static_cast<Index>(stages.size()), streams);
    for (Index n = 0; n < nodes.rows(); ++n) {
      for (std::size_t s : stages[static_cast<std::size_t>(n)].in) nodes(n, static_cast<Index>(s)) = 1;
      for (std::size_t s : stages[static_cast<std::size_t>(n)].out) nodes(n, static_cast<Index>(s)) = -1;
    }
    flows_ = unseen(nodes, streams, rank_width);
  }

  Vector point() {
    Vector at(layout_.count());
    for (std::size_t part = 0; part <= layout_.analytes(); ++part) {
      const Vector flow = flows_ * mixture();
      for (std::size_t s = 0; s < layout_.streams(); ++s)
        at[layout_.part(s, part)] = flow[static_cast<Index>(s)];
    }
    return at;
  }

 private:
  /// Multiples of the golden ratio, less their whole part, never fall into a pattern.
  Vector mixture() {
    Vector weights(flows_.cols());
    for (double& weight : weights) {
      turn_ += 0.6180339887498949;
      turn_ -= std::floor(turn_);
      weight = turn_ + 0.5;
    }
    return weights;
  }

  const CircuitLayout& layout_;
  Matrix flows_;
  double turn_ = 0;
};

double grade_at(const CircuitLayout& layout, const Vector& at, std::size_t s, std::size_t a) {
  const double mass = at[layout.mass(s)];
  return mass != 0 ? at[layout.content(s, a)] / mass : 0;
}

std::size_t count_missing(const CircuitLayout& layout) {
  std::size_t missing = 0;
  for (std::size_t s = 0; s < layout.streams(); ++s) missing += !layout.mass_of(s);
  layout.each_grade([&](std::size_t s, std::size_t a) { missing += !layout.grade_of(s, a); });
  return missing;
}

}  // namespace

void CircuitEquations::add_balances() {
  const std::vector<WorkStage>& nodes = layout_.circuit().nodes;
  for (std::size_t n = 0; n < nodes.size(); ++n)
    for (std::size_t part = 0; part <= layout_.analytes(); ++part) {
      Row row{{}, 0, n, {}};
      for (std::size_t s : nodes[n].in) row.parts.emplace_back(layout_.part(s, part), 1);
      for (std::size_t s : nodes[n].out) row.parts.emplace_back(layout_.part(s, part), -1);
      rows_.push_back(std::move(row));
    }
}

void CircuitEquations::add_value(Index unknown, double value, std::string figure) {
  rows_.push_back({{{unknown, 1}}, value, {}, std::move(figure)});
}

void CircuitEquations::add_grade(std::size_t s, std::size_t a, double grade, std::string figure) {
  rows_.push_back({{{layout_.content(s, a), 1}, {layout_.mass(s), -grade}}, 0, {}, std::move(figure)});
}

void CircuitEquations::add_empty(std::size_t s) {
  for (std::size_t part = 0; part <= layout_.analytes(); ++part) add_value(layout_.part(s, part), 0);
}

std::pair<Matrix, Vector> CircuitEquations::scaled(const Vector& sizes) const {
  Matrix left = Matrix::Zero(static_cast<Index>(rows_.size()), layout_.count());
  Vector right(left.rows());
  for (Index i = 0; i < left.rows(); ++i) {
    const Row& row = rows_[static_cast<std::size_t>(i)];
    double squares = 0;
    for (const auto& [unknown, factor] : row.parts) squares += std::pow(factor * sizes[unknown], 2);
    const double length = squares > 0 ? std::sqrt(squares) : 1;
    for (const auto& [unknown, factor] : row.parts) left(i, unknown) = factor * sizes[unknown] / length;
    right[i] = row.right / length;
  }
  return {std::move(left), std::move(right)};
}

CircuitEquations known_at(const CircuitLayout& layout, const Vector& at) {
  CircuitEquations known(layout);
  known.add_balances();
  for (std::size_t s = 0; s < layout.streams(); ++s)
    if (layout.mass_of(s)) known.add_value(layout.mass(s), 0);
  layout.each_grade([&](std::size_t s, std::size_t a) {
    if (layout.grade_of(s, a)) known.add_grade(s, a, grade_at(layout, at, s, a));
  });
  return known;
}

std::vector<std::string> unfound(const CircuitLayout& layout, const CircuitEquations& known, const Vector& at,
                                 const Vector& sizes) {
  const Matrix loose = unseen(known.scaled(sizes).first, layout.count(), rank_width);
  std::vector<std::string> names;
  if (loose.cols() == 0) return names;
  constexpr double moves = 1e-6;
  for (std::size_t s = 0; s < layout.streams(); ++s) {
    const Index m = layout.mass(s);
    if (!layout.mass_of(s) && loose.row(m).norm() > moves) names.push_back(layout.mass_name(s));
    for (std::size_t a = 0; a < layout.analytes(); ++a) {
      if (layout.grade_of(s, a)) continue;
      const Index c = layout.content(s, a);
      const double drawn_along = grade_at(layout, at, s, a) * sizes[m] / sizes[c];
      if ((loose.row(c) - drawn_along * loose.row(m)).norm() > moves)
        names.push_back(layout.grade_name(s, a));
    }
  }
  return names;
}

void require_findable(const CircuitLayout& layout) {
  const Vector at = AnyPoint(layout).point();
  const auto names = unfound(layout, known_at(layout, at), at, Vector::Ones(layout.count()));
  if (names.empty()) return;
  const std::size_t missing = count_missing(layout);
  const std::size_t equations = layout.circuit().nodes.size() * (1 + layout.analytes());
  std::string text = one_after_another(names) + " cannot be found: ";
  text += missing > equations ? "there are more unknowns (" + std::to_string(missing) + ") than equations (" +
                                    std::to_string(equations) + ")"
                              : "no balance leads to " + std::string(names.size() == 1 ? "it" : "them");
  throw CircuitError(text + "; measure some of what is missing, or leave out an analyte that is");
}

std::string one_after_another(const std::vector<std::string>& names) {
  return listed(names.size(), [&](std::size_t k) { return names[k]; });
}

std::string in_grams_per_tonne(double grade) { return to_text(grade * 1e6, Digits{6, 12, 0}) + " g/t"; }

}  // namespace buttonworth
