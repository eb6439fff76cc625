// The least of a quadratic function where some things must not fall below their limits.
#pragma once

#include <Eigen/Dense>
#include <optional>

namespace buttonworth {

using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

/// Where ½ xᵀ curvature x + slopeᵀ x is least with rows x ≥ limits; nothing where no x keeps the limits. The
/// curvature is symmetric and positive definite (its lower half is read), rows and x about 1 in size. Errors:
/// an Error (balance) where rounding keeps it from an end. Source: D. Goldfarb and A. Idnani, A numerically
/// stable dual method for solving strictly convex quadratic programs, Mathematical Programming 27 (1983),
/// cited from memory.
std::optional<Vector> least_quadratic(const Matrix& curvature, const Vector& slope, const Matrix& rows,
                                      const Vector& limits);

/// Directions that the rows do not see, orthonormal, one a column. Rows are about 1 in size; what is below
/// `width` beside that counts as nothing.
Matrix unseen(const Matrix& rows, Eigen::Index unknowns, double width);

}  // namespace buttonworth
