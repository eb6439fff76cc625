#include "bench/formulas.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <string>

#include "bench/balance.hpp"
#include "bench/bar.hpp"
#include "bench/flux.hpp"
#include "bench/lot_size.hpp"
#include "bench/run_sheet.hpp"
#include "bench/sampling.hpp"

namespace buttonworth {
namespace {

using Arguments = const double*;

constexpr const char *share = "1", *mass = "any mass", *any_grade = "any grade", *gram = "g",
                     *centimetre = "cm", *density = "kg/L", *count = "number", *day = "d", *money = "money";

// ---- Sampling --------------------------------------------------------------------------------

SampledMaterial material(Arguments a) { return {a[0], a[1], a[2], a[3], a[4], a[5], a[6]}; }
std::vector<FormulaArgument> material_arguments() {
  return {
      {"top_size", "size of the screen that 95 % passes", centimetre},
      {"shape", "shape factor: 0.5 of rounded grains, 0.2 of flakes", share},
      {"size_range", "size range factor: 0.25 of broken material, 1 of one size", share},
      {"liberation_size", "size at which the mineral comes free", centimetre},
      {"mineral", "share by mass of the mineral that carries the metal: grade ÷ the mineral's grade", share},
      {"mineral_density", "density of that mineral", density},
      {"gangue_density", "density of the rest", density}};
}

std::vector<FormulaArgument> material_and(std::vector<FormulaArgument> more) {
  std::vector<FormulaArgument> all = material_arguments();
  all.insert(all.end(), more.begin(), more.end());
  return all;
}
/// A lot of 0 is one without limit.
std::optional<double> lot(double stated) { return stated > 0 ? std::optional(stated) : std::nullopt; }

const FormulaArgument sample{"sample", "mass of the sample", gram},
    lot_mass{"lot", "mass of the lot it is taken from; 0 for one without limit", gram, 0},
    grain_mass{"grain_mass", "mean mass of gold in a grain", gram},
    grade{"grade", "the metal's grade", share},
    mass_spread{"mass_spread", "relative standard deviation of a grain's mass", share, 0};

double sampling_error_of(Arguments a) {
  return sampling_error(sampling_constant(material(a)), a[7], lot(a[8]));
}
double sample_wanted(Arguments a) { return smallest_sample(sampling_constant(material(a)), a[7], lot(a[8])); }
double grain_error(Arguments a) {
  return sampling_error(sampling_constant(GoldGrains{a[0], a[3]}, a[2]), a[1]);
}
double sample_for_grains(Arguments a) {
  return smallest_sample(sampling_constant(GoldGrains{a[0], a[3]}, a[1]), a[2]);
}

// ---- Others ----------------------------------------------------------------------------------

double three_product(Arguments a, std::size_t which) {
  return three_products({a[0], a[1]}, {a[2], a[3]}, {a[4], a[5]}, {a[6], a[7]})[which];
}
/// A concentrate's share of the first metal.
double three_product_recovery(Arguments a, std::size_t which) {
  return three_product(a, which) * a[2 + 2 * which] / a[0];
}
std::vector<FormulaArgument> three_product_arguments() {
  return {{"feed_1", "feed's grade in the first metal", any_grade},
          {"feed_2", "feed's grade in the second metal", any_grade},
          {"first_1", "first concentrate's, in the first metal", any_grade},
          {"first_2", "first concentrate's, in the second", any_grade},
          {"second_1", "second concentrate's, in the first", any_grade},
          {"second_2", "second concentrate's, in the second", any_grade},
          {"tailings_1", "tailings', in the first metal", any_grade},
          {"tailings_2", "tailings', in the second metal", any_grade}};
}
std::vector<FormulaArgument> product_arguments() {
  return {{"feed", "feed's grade", any_grade},
          {"concentrate", "concentrate's grade", any_grade},
          {"tailings", "tailings' grade", any_grade}};
}

double fine_mass(double gross, double fineness) {
  if (!(fineness >= 0 && fineness <= 1))
    throw Error(Code::range, "a fineness lies within 0 and 1: 916.7 fine is 0.9167");
  return gross * fineness;
}

double screened(double coarse_mass, double coarse_metal, double fine_mass, double fine_grade) {
  if (coarse_metal > coarse_mass)
    throw Error(Code::range, "more metal was found in the coarse part than it weighs: are both in one unit?");
  return screened_grade(coarse_mass, coarse_metal, fine_mass, fine_grade);
}

std::vector<NamedFormula> all_formulas() {
  return {
      {"sampling_constant", "Gy's sampling constant: relative variance × sample mass", gram,
       material_arguments(), [](Arguments a) { return sampling_constant(material(a)); }},
      {"fundamental_error", "relative standard deviation of Gy's fundamental error", share,
       material_and({sample, lot_mass}), sampling_error_of},
      {"smallest_sample", "smallest sample for a fundamental error", gram,
       material_and({{"error", "relative standard deviation allowed", share}, lot_mass}), sample_wanted},
      {"grain_mass",
       "gold in a spherical grain",
       gram,
       {{"size", "diameter", centimetre},
        {"density", "of the grain", density, gold_density},
        {"fineness", "of the grain", share, 1}},
       [](Arguments a) { return sphere_mass(a[0], a[1], a[2]); }},
      {"expected_grains",
       "grains of gold that a sample is expected to hold",
       count,
       {grain_mass, sample, grade},
       [](Arguments a) {
         return expected_grains({a[0], 0}, a[1], a[2]);
       }},
      {"grain_error",
       "relative standard deviation of a grade by the count of grains",
       share,
       {grain_mass, sample, grade, mass_spread},
       grain_error},
      {"sample_for_grains",
       "smallest sample for an error by the count of grains",
       gram,
       {grain_mass, grade, {"error", "relative standard deviation allowed", share}, mass_spread},
       sample_for_grains},
      {"chance_within",
       "chance that a Poisson count lies within a share of its expectation",
       share,
       {{"expected", "grains expected", count}, {"within", "share of them, either way", share}},
       [](Arguments a) { return chance_within(a[0], a[1]); }},
      {"screened_grade",
       "grade of a screened sample",
       share,
       {{"coarse_mass", "mass on the screen", mass},
        {"coarse_metal", "metal found in all of it", mass},
        {"fine_mass", "mass through the screen", mass},
        {"fine_grade", "grade of that", share}},
       [](Arguments a) { return screened(a[0], a[1], a[2], a[3]); }},
      {"buckets_mass",
       "mass of buckets of concentrate",
       "kg",
       {{"count", "buckets", count},
        {"volume", "of one", "L"},
        {"fill", "share of it that is filled", share},
        {"bulk_density", "of the concentrate as it lies", density}},
       [](Arguments a) { return buckets_mass(a[0], a[1], a[2], a[3]); }},
      {"moisture",
       "moisture of a wet mass from two weighings",
       share,
       {{"wet", "wet sample, with its container", mass},
        {"dry", "dried, with its container", mass},
        {"container", "the container alone", mass, 0}},
       [](Arguments a) { return moisture_of(a[0], a[1], a[2]); }},
      {"dry_mass",
       "dry mass of a wet one",
       mass,
       {{"wet", "wet mass", mass}, {"moisture", "of the wet mass", share}},
       [](Arguments a) { return dry_mass(a[0], a[1]); }},
      {"two_product_yield", "concentrate's share of the feed's mass, from three grades", share,
       product_arguments(), [](Arguments a) { return two_products(a[0], a[1], a[2]).yield; }},
      {"two_product_recovery", "concentrate's share of the feed's metal, from three grades", share,
       product_arguments(), [](Arguments a) { return two_products(a[0], a[1], a[2]).recovery; }},
      {"three_product_first", "first concentrate's share of the feed's mass, from grades in two metals",
       share, three_product_arguments(), [](Arguments a) { return three_product(a, 0); }},
      {"three_product_second", "second concentrate's share of the feed's mass", share,
       three_product_arguments(), [](Arguments a) { return three_product(a, 1); }},
      {"three_product_first_recovery",
       "first concentrate's share of the feed's first metal; metals exchanged, of the second", share,
       three_product_arguments(), [](Arguments a) { return three_product_recovery(a, 0); }},
      {"three_product_second_recovery", "second concentrate's share of the feed's first metal", share,
       three_product_arguments(), [](Arguments a) { return three_product_recovery(a, 1); }},
      {"separation_efficiency",
       "recovery of the mineral less that of the rest",
       share,
       {{"recovery", "of the metal", share},
        {"yield", "share of the mass", share},
        {"feed", "feed's grade", share},
        {"mineral", "the mineral's grade", share}},
       [](Arguments a) { return separation_efficiency(a[0], a[1], a[2], a[3]); }},
      {"concentration_criterion",
       "how well gravity tells two minerals apart",
       count,
       {{"heavy", "density of the heavy mineral", density},
        {"light", "density of the light one", density},
        {"fluid", "density of the fluid", density, 1}},
       [](Arguments a) { return concentration_criterion(a[0], a[1], a[2]); }},
      {"silica_dose",
       "silica to add for a silicate degree",
       mass,
       {{"iron_oxide", "FeO in the slag", mass},
        {"lime", "CaO in the slag", mass},
        {"soda", "Na2O in the slag", mass},
        {"silica", "silica that is there", mass},
        {"degree", "oxygen of silica ÷ oxygen of bases", share}},
       [](Arguments a) { return silica_dose(a[0], a[1], a[2], a[3], a[4]); }},
      {"matte",
       "matte from sulphur left over",
       mass,
       {{"sulphur", "mass of it", mass}},
       [](Arguments a) { return matte_from(a[0]); }},
      {"fine_mass",
       "metal in a gross mass",
       mass,
       {{"gross", "gross mass", mass}, {"fineness", "of it", share}},
       [](Arguments a) { return fine_mass(a[0], a[1]); }},
      {"density_by_water",
       "density from weighing in air and in water",
       density,
       {{"air", "in air", mass},
        {"water", "in water", mass},
        {"water_density", "of the water", density, water_density_at_20}},
       [](Arguments a) { return density_by_water(a[0], a[1], a[2]); }},
      {"gold_by_density",
       "gold in an alloy with one other metal, by ideal volumes; nothing is settled on it",
       share,
       {{"density", "of the alloy", density},
        {"other", "density of the other metal", density, silver_density}},
       [](Arguments a) { return gold_by_density(a[0], a[1]); }},
      {"economic_wait",
       "how long to gather a lot, where value grows evenly",
       day,
       {{"fixed", "what a lot costs however large", money},
        {"value_per_day", "by which it grows", money},
        {"discount", "what waiting a year costs", share}},
       [](Arguments a) { return economic_wait(a[0], a[1], a[2]); }},
  };
}

}  // namespace

const std::vector<NamedFormula>& named_formulas() {
  static const std::vector<NamedFormula> formulas = all_formulas();
  return formulas;
}

const NamedFormula& find_formula(std::string_view name) {
  for (const NamedFormula& one : named_formulas())
    if (one.name == name) return one;
  std::string known;
  for (const NamedFormula& one : named_formulas())
    known += (known.empty() ? "" : ", ") + std::string(one.name);
  throw Error(Code::usage_name,
              "there is no formula named " + std::string(name.substr(0, 60)) + "; there is " + known);
}

double work_formula(const NamedFormula& formula, std::span<const double> arguments) {
  std::array<double, most_arguments> all{};
  const std::size_t wanted = formula.arguments.size();
  for (std::size_t i = 0; i < wanted; ++i) {
    const FormulaArgument& argument = formula.arguments[i];
    if (i >= arguments.size() && !argument.otherwise)
      throw Error(Code::usage_size, std::string(formula.name) + " wants one argument more: " +
                                        std::string(argument.name) + ", " + std::string(argument.meaning));
    all[i] = i < arguments.size() ? arguments[i] : *argument.otherwise;
    if (!std::isfinite(all[i])) throw Error(Code::range, std::string(argument.name) + " is no number");
    if (all[i] < 0) throw Error(Code::range, std::string(argument.name) + " is below 0");
  }
  if (arguments.size() > wanted)
    throw Error(Code::usage_size,
                std::string(formula.name) + " takes " + std::to_string(wanted) + " arguments");
  const double result = formula.work(all.data());
  if (!std::isfinite(result))
    throw Error(Code::range, std::string(formula.name) + " has no finite result here");
  return result;
}

namespace {

/// What is wrong with a row that has no result.
std::optional<Complaint> work_row(const NamedFormula& formula, std::span<const double> row,
                                  std::size_t number, double& out) {
  try {
    out = work_formula(formula, row);
    return std::nullopt;
  } catch (const Error& error) {
    Complaint fault = error.complaint();
    fault.text = "row " + std::to_string(number) + ": " + fault.text;
    return fault;
  }
}

}  // namespace

std::optional<Complaint> work_formula_rows(const NamedFormula& formula,
                                           const std::vector<FormulaColumn>& columns, std::size_t rows,
                                           double* out, std::int64_t out_stride) {
  std::optional<Complaint> first;
  std::exception_ptr no_memory;  // to tell of a row: the others are worked all the same
  std::array<double, most_arguments> row;
  for (std::size_t i = 0; i < rows; ++i) {
    const auto number = static_cast<std::int64_t>(i);
    for (std::size_t k = 0; k < columns.size(); ++k) row[k] = columns[k].first[number * columns[k].stride];
    out[number * out_stride] = std::numeric_limits<double>::quiet_NaN();
    try {
      if (auto fault = work_row(formula, {row.data(), columns.size()}, i, out[number * out_stride]))
        if (!first) first = std::move(fault);
    } catch (const std::bad_alloc&) {
      no_memory = std::current_exception();
    }
  }
  if (no_memory) std::rethrow_exception(no_memory);
  return first;
}

}  // namespace buttonworth
