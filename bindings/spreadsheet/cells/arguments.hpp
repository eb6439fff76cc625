// The arguments of one call, cell by cell where they are ranges.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>

#include "core.hpp"

namespace cells {

/// The argument, or nothing where it is left out.
inline const Cells* stated(const Call& call, std::size_t k) {
  return k < call.arguments.size() && !call.arguments[k].is_left_out() ? &call.arguments[k] : nullptr;
}

inline std::string left_out(const Argument& argument) {
  return std::string(argument.name) + " is empty: it is wanted";
}

inline bool is_empty(const Cell& cell) {
  const std::string* text = std::get_if<std::string>(&cell);
  return std::holds_alternative<std::monostate>(cell) || (text != nullptr && text->empty());
}

/// A number, or the fault to show instead; no cell is one beyond a range that is too short.
inline std::variant<double, Fault> number_in(const Call& call, const Argument& argument, const Cell* cell) {
  if (cell == nullptr)
    return call.refuse(Fault::missing, [&] {
      return std::string(argument.name) + " has fewer cells than another argument: take as many, or one";
    });
  if (const double* number = std::get_if<double>(cell)) return *number;
  if (const Fault* fault = std::get_if<Fault>(cell))
    return call.refuse(*fault, [&] { return std::string(argument.name) + " is itself an error"; });
  if (const std::string* text = std::get_if<std::string>(cell); text != nullptr && !is_empty(*cell))
    return call.refuse(Fault::argument, [&] {
      return std::string(argument.name) + " is the text \"" + *text + "\": type a number, without its unit";
    });
  return call.refuse(Fault::missing, [&] { return left_out(argument); });
}

/// One text of an argument, or what stands for it.
std::string text_of(const Call& call, std::size_t k);
/// One number, likewise.
double number_of(const Call& call, std::size_t k);

/// Works cell by cell: as many rows and columns as the largest argument has, those of one row or column being
/// the same for all. `work` makes the cell that stands at a row and a column.
template <class Work>
Cells for_each_cell(const Call& call, Work work) {
  std::size_t rows = 1, columns = 1;
  for (std::size_t k = 0; k < call.function.arguments.size(); ++k) {
    const Cells* one = stated(call, k);
    const Kind kind = call.function.arguments[k].kind;
    if (one == nullptr || (kind != Kind::number && kind != Kind::text)) continue;
    rows = std::max(rows, one->rows);
    columns = std::max(columns, one->columns);
  }
  Cells result(rows, columns);
  for (std::size_t row = 0; row < rows; ++row)
    for (std::size_t column = 0; column < columns; ++column) result.at(row, column) = work(row, column);
  return result;
}

/// The cell of an argument for a row and a column of the result; null beyond a range that is too short.
inline const Cell* cell_for(const Cells& range, std::size_t row, std::size_t column) {
  if (range.rows == 1) row = 0;
  if (range.columns == 1) column = 0;
  return row < range.rows && column < range.columns ? &range.at(row, column) : nullptr;
}

}  // namespace cells
