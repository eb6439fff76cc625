#include "bench/quadratic.hpp"

#include <limits>
#include <vector>

#include "quantity/error.hpp"

namespace buttonworth {
namespace {

using Eigen::Index;
constexpr double endless = std::numeric_limits<double>::infinity();

/// The dual method: from the least of all, one limit after another is brought in, and let go again where it
/// pushes the wrong way. In u = Lᵀ x, L Lᵀ the curvature, every direction is curved alike.
class LeastQuadratic {
 public:
  LeastQuadratic(const Matrix& curvature, const Vector& slope, const Matrix& rows, const Vector& limits)
      : factor_(curvature), limits_(limits) {
    normals_ = factor_.matrixL().solve(rows.transpose());
    u_ = -factor_.matrixL().solve(slope);
  }

  std::optional<Vector> run() {
    const Index most_turns = 20 * (normals_.rows() + normals_.cols()) + 100;
    for (Index turn = 0; turn < most_turns; ++turn) {
      const Index worst = most_broken();
      if (worst < 0) return Vector(factor_.matrixU().solve(u_));
      if (!bring_in(worst)) return std::nullopt;
    }
    throw Error(Code::balance, "the figures are too ill matched in size to be balanced: check their units");
  }

 private:
  double excess(Index j) const { return normals_.col(j).dot(u_) - limits_[j]; }

  Index most_broken() const {
    const Vector excess = normals_.transpose() * u_ - limits_;
    Index worst = -1;
    double least = 0;
    for (Index j = 0; j < excess.size(); ++j) {
      const double rounding = 1e-13 * (1 + std::abs(limits_[j])) + 1e-14 * normals_.col(j).norm() * u_.norm();
      if (excess[j] >= -rounding || excess[j] >= least) continue;
      least = excess[j];
      worst = j;
    }
    return worst;
  }

  /// Moves until the limit is kept; false where the limits in force do not let it.
  bool bring_in(Index fresh) {
    double push = 0;
    while (true) {
      const auto [along, trade] = split(fresh);
      const double squared = along.squaredNorm();
      const bool free = squared > 1e-20 * normals_.col(fresh).squaredNorm();
      const double whole = free ? -excess(fresh) / squared : endless;
      Index gone = -1;
      double step = whole;
      for (std::size_t i = 0; i < held_.size(); ++i) {
        const double pull = trade[static_cast<Index>(i)];
        if (!(pull > 1e-14) || !(pushes_[i] / pull < step)) continue;
        step = pushes_[i] / pull;
        gone = static_cast<Index>(i);
      }
      if (step == endless) return false;
      if (free) u_ += step * along;
      for (std::size_t i = 0; i < held_.size(); ++i) pushes_[i] -= step * trade[static_cast<Index>(i)];
      push += step;
      if (gone < 0) break;
      held_.erase(held_.begin() + gone);
      pushes_.erase(pushes_.begin() + gone);
    }
    held_.push_back(fresh);
    pushes_.push_back(push);
    return true;
  }

  /// A limit's normal as what is free of those in force, and how much of each of these the rest is.
  std::pair<Vector, Vector> split(Index fresh) const {
    const Vector normal = normals_.col(fresh);
    const Index count = static_cast<Index>(held_.size());
    if (count == 0) return {normal, Vector()};
    Matrix held(normals_.rows(), count);
    for (Index i = 0; i < count; ++i) held.col(i) = normals_.col(held_[static_cast<std::size_t>(i)]);
    const Vector trade = held.colPivHouseholderQr().solve(normal);
    return {normal - held * trade, trade};
  }

  Eigen::LLT<Matrix> factor_;
  Vector limits_;
  Matrix normals_;  // one a column
  Vector u_;
  std::vector<Index> held_;
  std::vector<double> pushes_;
};

}  // namespace

std::optional<Vector> least_quadratic(const Matrix& curvature, const Vector& slope, const Matrix& rows,
                                      const Vector& limits) {
  return LeastQuadratic(curvature, slope, rows, limits).run();
}

Matrix unseen(const Matrix& rows, Eigen::Index unknowns, double width) {
  if (rows.rows() == 0) return Matrix::Identity(unknowns, unknowns);
  Eigen::ColPivHouseholderQR<Matrix> qr(rows.transpose());
  qr.setThreshold(width);
  const Matrix turned = qr.householderQ() * Matrix::Identity(unknowns, unknowns);
  return turned.rightCols(unknowns - qr.rank());
}

}  // namespace buttonworth
