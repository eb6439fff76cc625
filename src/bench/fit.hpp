// Recovery curves from a table test: forms fitted to its points by least squares.
//
// Pulls and recoveries are shares, 0 and 1 excluded.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "bench/figure.hpp"
#include "quantity/watch.hpp"

namespace buttonworth {

struct TestPoint {
  double pull = 0;
  Figure recovery;  ///< sd 0 where none is stated
};

/// R against y: odds R ÷ (1 − R) = S y ÷ (1 − y); logit ln(R ÷ (1 − R)) = a + b ln(y ÷ (1 − y)), b above 0;
/// saturating R = L (1 − e^(−k y)), L above 0 to 1, k above 0.
enum class FitForm { odds, logit, saturating };
inline constexpr std::array all_fit_forms{FitForm::odds, FitForm::logit, FitForm::saturating};

/// S; a, b; L, k.
using Constants = std::array<double, 2>;
std::size_t constants_of(FitForm form);

/// What of the constants depends on which: (JᵀWJ)⁻¹ s², in the order of the constants.
struct Covariance {
  double first = 0, second = 0, both = 0;
};

struct Fit {
  FitForm form = FitForm::odds;
  Constants constants{};
  std::optional<Covariance> covariance;  ///< none without errors and without points to spare
  std::optional<double> misfit;  ///< √(Σ r² ÷ (points − constants)), unweighed; none without points to spare
  std::optional<double> left_out;  ///< root mean square distance of each point from the fit to the others

  Figure constant(std::size_t which) const;
  /// The curve at a pull within 0 to 1, with the uncertainty that its constants give it.
  Figure at(double pull) const;
  /// Of the two constants, where both are uncertain.
  std::optional<double> correlation() const;
};

/// The form's best fit, weighed by 1 ÷ sd² where all points have one; `left_out` is not looked for. Throws an
/// Error (fit) where no constants within the form's bounds are best. Two points of different pull at least.
Fit fit_curve(FitForm form, const std::vector<TestPoint>& points);

struct Fits {
  std::vector<Fit> fits;      ///< in the order of the forms
  std::vector<FitForm> none;  ///< forms left out: no constants are best
  std::size_t chosen = 0;     ///< of `fits`
};

/// All forms, `left_out` with four points or more. Chosen is the form asked for, which must then have a fit;
/// else that of least `left_out`, or with fewer points of least `misfit`, the earlier where they are as good
/// as equal.
Fits fit_curves(const std::vector<TestPoint>& points, std::optional<FitForm> wanted, const Watch& watch);

/// A table test's product, in the order taken.
struct TestProduct {
  Figure mass;   ///< dry, kg
  Figure grade;  ///< share
};
/// Cumulative pull and recovery after each product but the last; masses and grades give the recoveries their
/// sd.
std::vector<TestPoint> points_of_products(const std::vector<TestProduct>& products);

}  // namespace buttonworth
