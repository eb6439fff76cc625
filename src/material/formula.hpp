// Chemical formulas and standard atomic weights: held once, here.
#pragma once

#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "quantity/decimal.hpp"

namespace buttonworth {

/// Atoms of each element in a formula.
using Atoms = std::vector<std::pair<std::string_view, int>>;

/// "Na2CO3", "Na2B4O7(H2O)10"; nothing if the text is no formula of known elements.
std::optional<Atoms> read_formula(std::string_view formula);

/// Conventional standard atomic weight in g/mol, or nothing for an element not held.
/// Source: IUPAC Commission on Isotopic Abundances and Atomic Weights, conventional values 2021.
std::optional<Decimal> atomic_weight(std::string_view element);

/// g/mol of a formula; nothing if the text is no formula of known elements.
std::optional<Decimal> molar_mass(std::string_view formula);

/// Mass of an element in one of a formula, 0 where it holds none or the text is no formula.
Decimal element_share(std::string_view formula, std::string_view element);

}  // namespace buttonworth
