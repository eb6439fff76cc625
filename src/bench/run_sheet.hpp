// The lot from a run sheet: cycles or buckets, moisture, composites.
//
// Masses in one unit throughout, shares of one.
#pragma once

#include <optional>
#include <vector>

#include "bench/figure.hpp"

namespace buttonworth {

/// The mass of all cycles from those that were weighed: their sum where all were, else cycles × mean, with
/// the variance cycles² × s² ÷ n × (1 − n ÷ cycles) of a sample without replacement, and what the weighings
/// themselves give. Source: Cochran, Sampling Techniques (1977), 2.5 and 2.6; from memory.
Figure cycles_mass(const std::vector<Figure>& weighed, std::optional<double> cycles = {});

/// Buckets × volume × fill × bulk density; litres and kg/L give kg.
double buckets_mass(double count, double volume, double fill, double bulk_density);

/// Water over wet mass: (wet − dry) ÷ (wet − container), the container in both weighings.
double moisture_of(double wet, double dry, double container = 0);

/// Wet × (1 − moisture).
double dry_mass(double wet, double moisture);

/// The mean of several, no more certain than their scatter and their own uncertainties say.
Figure mean_figure(const std::vector<Figure>& values);

/// Σ mass × grade ÷ Σ mass of composites.
Figure composite_grade(const std::vector<Figure>& masses, const std::vector<Figure>& grades);

}  // namespace buttonworth
