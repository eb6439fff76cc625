// The bench's formulas of plain numbers, by name: for cells of a spreadsheet and whole arrays.
//
// Masses in one unit, grades and shares as parts of one, sizes in cm, densities in kg/L, times in days.
#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "quantity/error.hpp"

namespace buttonworth {

struct FormulaArgument {
  std::string_view name;
  std::string_view meaning;
  std::string_view unit;
  std::optional<double> otherwise =
      {};  ///< what stands for it where it is left out; then so may all after it
};

struct NamedFormula {
  std::string_view name;
  std::string_view meaning;
  std::string_view unit;  ///< of the result
  std::vector<FormulaArgument> arguments;
  double (*work)(const double* arguments);
};

/// No formula takes more.
inline constexpr std::size_t most_arguments = 12;

/// All of them, in the order of the work at the bench.
const std::vector<NamedFormula>& named_formulas();

/// The formula of that name; throws an Error (usage_name) with the nearest ones.
const NamedFormula& find_formula(std::string_view name);

/// The formula at these arguments, those left out at the end standing for what they do. Throws an Error:
/// usage_size where there are too few or too many, range where one is no number, and the formula's own.
double work_formula(const NamedFormula& formula, std::span<const double> arguments);

/// Numbers `stride` apart; one number for all rows where that is 0.
struct FormulaColumn {
  const double* first;
  std::int64_t stride;
};

/// The formula row by row. A row that has no result gets NaN; the first such row's complaint comes back,
/// saying which row it is.
std::optional<Complaint> work_formula_rows(const NamedFormula& formula,
                                           const std::vector<FormulaColumn>& columns, std::size_t rows,
                                           double* out, std::int64_t out_stride);

}  // namespace buttonworth
