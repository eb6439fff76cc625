// A mixed-integer programme, and who solves it. The only place that knows the solver.
#pragma once

#include <limits>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "quantity/watch.hpp"

namespace buttonworth {

constexpr double unbounded = std::numeric_limits<double>::infinity();

struct Column {
  double gain = 0;
  double least = 0, most = 1;
  bool whole = true;
  std::vector<std::pair<int, double>> entries;  ///< by row, each once
};

struct Row {
  double least = -unbounded, most = unbounded;
};

/// The largest gain of columns whose sums keep within their rows.
struct Programme {
  std::vector<Row> rows;
  std::vector<Column> columns;
};

/// The same with columns of any size: its gain is never less. Columns may be added and rows moved, and it
/// goes on from where it was.
class LinearProgramme {
 public:
  explicit LinearProgramme(const std::vector<Row>& rows);
  ~LinearProgramme();
  LinearProgramme(const LinearProgramme&) = delete;
  LinearProgramme& operator=(const LinearProgramme&) = delete;

  void add(const std::vector<Column>& columns);
  void set(std::size_t row, const Row& bounds);
  void bound(std::size_t column, double least, double most);

  /// False where the rows cannot all be kept.
  bool solve();
  double gain() const;
  /// What one more of a row's sum would bring, by row.
  std::vector<double> prices() const;
  /// By column, in the order they were added.
  std::vector<double> values() const;

 private:
  std::size_t rows() const;

  struct Solver;
  std::unique_ptr<Solver> solver_;
};

struct WholeOptions {
  double seconds = 60;
  double gap = 1e-4;                 ///< of the bound
  std::optional<double> known = {};  ///< only what gains more is of interest
  bool thorough = true;              ///< with cuts and dives, which a small programme does not repay
};

struct WholeAnswer {
  bool found = false;
  std::vector<double> values;  ///< by column, if found
  double gain = 0;
  double bound = 0;       ///< no values gain more
  bool finished = false;  ///< false: time ran out
};

/// Values that are whole where they are to be. Throws an Error (cancelled).
WholeAnswer solve_whole(const Programme& programme, const WholeOptions& options, const Watch& watch);

}  // namespace buttonworth
