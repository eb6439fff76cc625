// Checks of a bar: what the charge promises, what its density allows, what a melt loses.
//
// Masses in one unit, shares of one, densities in kg/L (g/cm³).
#pragma once

#include <vector>

namespace buttonworth {

/// Density of pure metal at 20 °C. Source: CRC Handbook of Chemistry and Physics; from memory.
inline constexpr double gold_density = 19.30, silver_density = 10.49, copper_density = 8.96;
/// Of water at 20 °C. Source: the same.
inline constexpr double water_density_at_20 = 0.9982;

/// Density by weighing in air and in water: air ÷ (air − water) × density of water. The lift of the air is
/// left out, 0.1 % of a bar's own.
double density_by_water(double air, double water, double water_density = water_density_at_20);

/// Gold in an alloy of gold and one other metal whose volumes add up: (1 ÷ ρ − 1 ÷ o) ÷ (1 ÷ ρ_gold − 1 ÷ o),
/// o the other's density, which is less than gold's. Below 0 or above 1 no such alloy has that density.
double gold_by_density(double density, double other);

/// What a melt took away, of what was there: (before − after) ÷ before; below 0 for a gain.
double melt_loss(double before, double after);

}  // namespace buttonworth
