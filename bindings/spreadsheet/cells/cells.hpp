// The functions of the cells, whatever the host: what is in the cells goes in, what they show comes out.
//
// A host turns its own values into Cells, finds the function by its place in the table, and turns the result
// back. Nothing here throws to the host, and any thread may call.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace cells {

/// What a cell shows instead of a result. Each host has values of its own for these.
enum class Fault {
  argument,     ///< an argument is wrong, or asks for what cannot be
  no_solution,  ///< a target that cannot be reached
  missing,      ///< nothing stands there
  internal,     ///< no fault of the cell's
};

using Cell = std::variant<std::monostate, double, std::string, Fault>;

/// A range; without rows, an argument that was left out.
struct Cells {
  Cells() = default;
  explicit Cells(Cell one) : rows(1), columns(1), values{std::move(one)} {}
  Cells(std::size_t rows, std::size_t columns) : rows(rows), columns(columns), values(rows * columns) {}

  bool is_left_out() const { return rows == 0; }
  bool is_one() const { return rows == 1 && columns == 1; }
  Cell& at(std::size_t row, std::size_t column) { return values[row * columns + column]; }
  const Cell& at(std::size_t row, std::size_t column) const { return values[row * columns + column]; }

  std::size_t rows = 0, columns = 0;
  std::vector<Cell> values;  ///< row by row
};

enum class Kind { number, text, cells, document, rest };

struct Argument {
  const char* name;
  const char* core;  ///< what the core's formula calls it
  double per;        ///< of the cell's unit in one of the core's
  Kind kind;
  bool optional;
  bool has_otherwise;  ///< one of the next two stands for it where it is left out
  double otherwise_number;
  const char* otherwise_text;
};

/// What an answer is shown as.
enum class Shape { none, figure, text, table };

struct Call;

struct Function {
  const char* name;  ///< as the cells have it
  Cells (*work)(const Call&);
  const char* core;  ///< the core's formula, or the call that makes the answer
  double per;        ///< of the cell's unit in one of the core's, of the result
  Shape shape;
  const char* at;  ///< where in the answer; null: the argument says so
  std::span<const Argument> arguments;
};

/// One call of a function. The reason for a fault is told to whoever asks for it.
struct Call {
  const Function& function;
  std::span<const Cells> arguments;  ///< as many as the function has, or more of its rest
  std::string* why;                  ///< null where nobody asks; the first reason stays

  /// A fault; `text` makes its reason.
  template <class Text>
  Fault refuse(Fault fault, Text text) const {
    if (why != nullptr && why->empty()) *why = text();
    return fault;
  }
};

/// All functions, in the order of the table.
std::span<const Function> functions();
/// The one of that name, in capitals; null if there is none.
const Function* find(std::string_view name);

/// What the cells show. Arguments left out at the end may be missing.
Cells evaluate(const Function& function, std::vector<Cells> arguments, std::string* why = nullptr) noexcept;

/// The arguments of a formula of the core, each a number or left out.
inline constexpr std::size_t most_arguments = 12;
struct Numbers {
  void put(std::size_t k, double value) {
    values[k] = value;
    stated[k] = true;
  }
  double values[most_arguments];
  bool stated[most_arguments] = {};
};

/// The same for a function whose work is work_formula and whose arguments are single numbers, as in most
/// cells: in a third of the time.
std::variant<double, Fault> evaluate_numbers(const Function& function, const Numbers& given) noexcept;

// The works that functions() names.
Cells work_formula(const Call& call);
Cells work_answer(const Call& call);
Cells work_convert(const Call& call);
Cells work_payable(const Call& call);
Cells work_explain(const Call& call);
Cells work_version(const Call& call);
Cells work_path(const Call& call);

}  // namespace cells
