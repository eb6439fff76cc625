// Where a circuit's unknowns may lie: what holds exactly, and what must not fall below nothing.
#pragma once

#include <vector>

#include "bench/circuit_layout.hpp"

namespace buttonworth {

/// Streams of 0 kg, and what the masses of the others stay above.
struct CircuitLimits {
  std::vector<bool> empty;
  std::vector<double> floors;
};

/// The balances and what holds exactly, of streams that are not empty.
CircuitEquations exact_equations(const CircuitLayout& layout, const std::vector<bool>& empty);

/// A curvature of the scaled unknowns: no two streams' are bent together. One block a stream.
using StreamBlocks = std::vector<Matrix>;

/// All points that keep the exact equations, scaled: origin + directions × q; and the limits that they keep.
class CircuitSpace {
 public:
  /// Throws a CircuitError where exact figures contradict each other.
  CircuitSpace(const CircuitLayout& layout, const CircuitLimits& limits, Vector sizes);

  const Vector& sizes() const { return sizes_; }
  const Vector& origin() const { return origin_; }
  Eigen::Index freedom() const { return directions_.cols(); }

  /// Back to where the exact equations hold, from where rounding has led.
  Vector straightened(const Vector& base) const;

  /// Along the directions alone.
  Matrix reduced(const StreamBlocks& curvature) const;
  /// The same with what is at its limit at `base` made stiff.
  Matrix stiffened(const Matrix& reduced, const Vector& base, double stiffness) const;
  /// Whether nothing that is at its limit at `base` has left it at `aim`.
  bool stays_at_limits(const Vector& base, const Vector& aim) const;

  /// Where a quadratic with this slope at `base` and this reduced curvature is least; nothing where no point
  /// keeps all limits.
  std::optional<Vector> least_from(const Vector& base, const Matrix& reduced, const Vector& slope) const;

  /// What of the limits is not kept at the origin, in words.
  std::vector<std::string> broken_at_origin() const;

 private:
  struct Limit {
    Eigen::Index plus, minus;  // x[plus] − less × x[minus] ≥ least; minus −1: nothing
    double less, least;
    std::string name;
  };
  void find_limits(const CircuitLimits& limits);
  double room(const Limit& limit, const Vector& base) const;
  Vector toward(const Vector& miss) const;

  const CircuitLayout& layout_;
  Vector sizes_;
  Matrix left_;
  Vector right_;
  Eigen::ColPivHouseholderQR<Matrix> across_;  // of the equations' transpose
  Matrix seen_, directions_;                   // what the equations see, and what not
  Vector origin_;
  std::vector<Limit> limits_;
  Matrix limit_rows_;  // along the directions
};

/// Throws a CircuitError where a feed lies outside the two products of which one at least is not weighed: in
/// an analyte that all three are assayed for, it is richer than both or poorer. `among`: only where this
/// stream is one of the two.
void require_within_products(const CircuitLayout& layout, std::optional<std::size_t> among = {});

/// Also where it assays as one of the two does and not as the other.
void require_inside_products(const CircuitLayout& layout);

}  // namespace buttonworth
