// The unknowns of a circuit, and the linear equations that bind them.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "bench/circuit.hpp"
#include "bench/quadratic.hpp"

namespace buttonworth {

/// Below this, beside figures scaled to about 1, an equation says nothing new.
inline constexpr double rank_width = 1e-10;

inline bool holds_exactly(const std::optional<Figure>& figure) { return figure && !(figure->sd > 0); }
inline bool is_measured(const std::optional<Figure>& figure) { return figure && figure->sd > 0; }

/// The unknowns are every stream's dry mass and its contents of the analytes: in these the balances are
/// linear.
class CircuitLayout {
 public:
  explicit CircuitLayout(const Circuit& circuit) : circuit_(circuit), width_(1 + circuit.analytes.size()) {}

  std::size_t streams() const { return circuit_.streams.size(); }
  std::size_t analytes() const { return width_ - 1; }
  Eigen::Index count() const { return index(streams() * width_); }
  /// A stream's mass is part 0 of it, its content of the first analyte part 1.
  Eigen::Index part(std::size_t stream, std::size_t part) const { return index(stream * width_ + part); }
  Eigen::Index mass(std::size_t stream) const { return part(stream, 0); }
  Eigen::Index content(std::size_t stream, std::size_t analyte) const { return part(stream, 1 + analyte); }

  const Circuit& circuit() const { return circuit_; }
  const std::optional<Figure>& mass_of(std::size_t s) const { return circuit_.streams[s].mass; }
  const std::optional<Figure>& grade_of(std::size_t s, std::size_t a) const {
    return circuit_.streams[s].grades[a];
  }
  std::string mass_name(std::size_t s) const { return "the mass of " + circuit_.streams[s].name; }
  std::string grade_name(std::size_t s, std::size_t a) const {
    return "the grade of " + circuit_.analytes[a] + " in " + circuit_.streams[s].name;
  }

  template <class F>
  void each_grade(const F& f) const {
    for (std::size_t s = 0; s < streams(); ++s)
      for (std::size_t a = 0; a < analytes(); ++a) f(s, a);
  }

 private:
  static Eigen::Index index(std::size_t i) { return static_cast<Eigen::Index>(i); }

  const Circuit& circuit_;
  std::size_t width_;
};

/// Linear equations of the unknowns, each with what it says: the balance at a node, or a figure that holds.
class CircuitEquations {
 public:
  explicit CircuitEquations(const CircuitLayout& layout) : layout_(layout) {}

  struct Row {
    std::vector<std::pair<Eigen::Index, double>> parts;
    double right = 0;
    std::optional<std::size_t> node;
    std::string figure;
  };

  /// Of the mass and of every analyte at every node.
  void add_balances();
  /// An unknown equal to this.
  void add_value(Eigen::Index unknown, double value, std::string figure = {});
  /// A grade equal to this: content − grade × mass = 0.
  void add_grade(std::size_t s, std::size_t a, double grade, std::string figure = {});
  /// A stream of 0 kg.
  void add_empty(std::size_t s);

  const std::vector<Row>& rows() const { return rows_; }

  /// The left sides over unknowns of these sizes, each row 1 long; beside them the right sides.
  std::pair<Matrix, Vector> scaled(const Vector& sizes) const;

 private:
  const CircuitLayout& layout_;
  std::vector<Row> rows_;
};

/// The balances, and that what is measured or exact stays as it is: how the unknowns may move from a point.
CircuitEquations known_at(const CircuitLayout& layout, const Vector& at);

/// Names of missing figures that still move when all that is known is held. `at` is the point, its unknowns
/// of about these sizes.
std::vector<std::string> unfound(const CircuitLayout& layout, const CircuitEquations& known, const Vector& at,
                                 const Vector& sizes);

/// Throws a CircuitError that names what cannot be found, whatever the figures are.
void require_findable(const CircuitLayout& layout);

/// "a, b and c".
std::string one_after_another(const std::vector<std::string>& names);

/// A grade of 0 to 1, in words: "0.8 g/t".
std::string in_grams_per_tonne(double grade);

}  // namespace buttonworth
