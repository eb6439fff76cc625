// What a split made of a feed, by the small formulas: two products, three products, and what is judged by
// them.
//
// Yields, recoveries and efficiencies are shares of 1, grades of one metal in one unit; densities in kg/L.
// What cannot be throws an Error (balance) that says what would mend it.
#pragma once

#include <array>

namespace buttonworth {

/// What a stream takes of a feed.
struct ProductShares {
  double yield = 0;     ///< share of the feed's dry mass
  double recovery = 0;  ///< share of the feed's metal
};

/// The concentrate's part from three grades: yield (f − t) ÷ (c − t), recovery c (f − t) ÷ (f (c − t)).
/// Concentrate and tailings may change places. Grades are 0 or more, in one unit, the feed's above 0. Errors:
/// products of equal grade, a feed outside them. Source: the two-product formula, as in Wills' Mineral
/// Processing Technology, ch. 1.
ProductShares two_products(double feed, double concentrate, double tailings);

/// A stream's grades in two analytes.
using TwoGrades = std::array<double, 2>;

/// Shares of the feed's dry mass that go to the first and the second concentrate; tailings take the rest. Two
/// balances, of either analyte, solved for two yields. Errors: grades that do not tell the three products
/// apart (a determinant of 0), a feed outside them (a yield below 0, or both above 1 together).
std::array<double, 2> three_products(const TwoGrades& feed, const TwoGrades& first, const TwoGrades& second,
                                     const TwoGrades& tailings);

/// Recovery of the mineral less that of the rest: R − (yield − R f ÷ m) ÷ (1 − f ÷ m), f the feed's grade of
/// the metal, above 0, m the mineral's, above f and up to 1. −1 to 1; 0 is a mere division. Error: a product
/// with more of the mineral than mass. Source: N. Schulz, Separation efficiency, Trans. SME-AIME 247 (1970),
/// cited from memory.
double separation_efficiency(double recovery, double yield, double feed, double mineral);

/// (heavy − fluid) ÷ (light − fluid). Above about 2.5, or below −2.5, gravity separates down to fine sand;
/// near 1 or below not at all. The heavy mineral is denser than the fluid; error where the light one is as
/// dense as the fluid. Source: A. F. Taggart, Handbook of Mineral Dressing, cited from memory.
double concentration_criterion(double heavy, double light, double fluid);

}  // namespace buttonworth
