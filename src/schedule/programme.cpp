#include "schedule/programme.hpp"

#include <CbcEventHandler.hpp>
#include <CbcHeuristicDiveCoefficient.hpp>
#include <CbcModel.hpp>
#include <CglZeroHalf.hpp>
#include <ClpEventHandler.hpp>
#include <ClpSimplex.hpp>
#include <CoinPackedMatrix.hpp>
#include <OsiClpSolverInterface.hpp>
#include <algorithm>
#include <cmath>
#include <functional>

#include "schedule/clock.hpp"

namespace buttonworth {
namespace {

/// The solver leaks, or ends the program, where an allocation fails inside it. So it is entered only where
/// more can be had than it was measured to take (5 MB for 6,000 columns and 1,500 rows, 15 MB for a whole
/// programme), and memory runs out here instead. More than malloc keeps for itself, so that nothing stays
/// behind.
void require_room(std::size_t rows, std::size_t columns) {
  constexpr std::size_t least = std::size_t{64} << 20, each = 8 << 10;
  void* volatile const room = ::operator new(least + each * (rows + columns));
  ::operator delete(room);
}

double bound_of(double value) {
  if (value == unbounded) return COIN_DBL_MAX;
  return value == -unbounded ? -COIN_DBL_MAX : value;
}

/// Columns as the solver takes them; it minimises, so gains are costs below zero.
struct ColumnArrays {
  explicit ColumnArrays(const std::vector<Column>& columns) {
    starts.push_back(0);
    for (const Column& column : columns) {
      least.push_back(bound_of(column.least));
      most.push_back(bound_of(column.most));
      cost.push_back(-column.gain);
      for (const auto& [row, value] : column.entries) {
        rows.push_back(row);
        values.push_back(value);
      }
      starts.push_back(static_cast<CoinBigIndex>(rows.size()));
    }
  }
  int count() const { return static_cast<int>(cost.size()); }

  std::vector<double> least, most, cost, values;
  std::vector<int> rows;
  std::vector<CoinBigIndex> starts;
};

}  // namespace

struct LinearProgramme::Solver {
  ClpSimplex clp;
};

LinearProgramme::LinearProgramme(const std::vector<Row>& rows) {
  require_room(rows.size(), 0);
  solver_ = std::make_unique<Solver>();
  ClpSimplex& clp = solver_->clp;
  clp.setLogLevel(0);
  clp.resize(static_cast<int>(rows.size()), 0);
  for (std::size_t i = 0; i < rows.size(); ++i) set(i, rows[i]);
}

LinearProgramme::~LinearProgramme() = default;

void LinearProgramme::set(std::size_t row, const Row& bounds) {
  solver_->clp.setRowBounds(static_cast<int>(row), bound_of(bounds.least), bound_of(bounds.most));
}

void LinearProgramme::bound(std::size_t column, double least, double most) {
  solver_->clp.setColumnBounds(static_cast<int>(column), bound_of(least), bound_of(most));
}

void LinearProgramme::add(const std::vector<Column>& columns) {
  if (columns.empty()) return;
  const ColumnArrays arrays(columns);
  require_room(rows(), columns.size());
  solver_->clp.addColumns(arrays.count(), arrays.least.data(), arrays.most.data(), arrays.cost.data(),
                          arrays.starts.data(), arrays.rows.data(), arrays.values.data());
}

std::size_t LinearProgramme::rows() const { return static_cast<std::size_t>(solver_->clp.numberRows()); }

bool LinearProgramme::solve() {
  if (solver_->clp.numberColumns() == 0) return true;  // which the solver does not take
  require_room(rows(), static_cast<std::size_t>(solver_->clp.numberColumns()));
  solver_->clp.primal();
  return solver_->clp.status() == 0;
}

double LinearProgramme::gain() const {
  return solver_->clp.numberColumns() == 0 ? 0 : -solver_->clp.objectiveValue();
}

std::vector<double> LinearProgramme::prices() const {
  std::vector<double> prices(rows());
  const double* const dual = solver_->clp.dualRowSolution();
  if (solver_->clp.numberColumns() > 0)
    std::transform(dual, dual + prices.size(), prices.begin(), std::negate<>());
  return prices;
}

std::vector<double> LinearProgramme::values() const {
  const double* const found = solver_->clp.primalColumnSolution();
  return {found, found + solver_->clp.numberColumns()};
}

namespace {

/// Tells the host that the search goes on, and ends it when the host asks for it.
class StopWhenAsked : public CbcEventHandler {
 public:
  explicit StopWhenAsked(const Watch& watch) : watch_(&watch) {}
  CbcAction event(CbcEvent) override {
    watch_->progress(0, 1);
    return watch_->cancelled() ? stop : noAction;
  }
  CbcEventHandler* clone() const override { return new StopWhenAsked(*this); }

 private:
  const Watch* watch_;
};

/// Ends a linear programme with its time or when the host asks for it.
class StopInTime : public ClpEventHandler {
 public:
  StopInTime(const Watch& watch, const Clock& clock) : watch_(&watch), clock_(&clock) {}
  int event(Event what) override {
    if (what != endOfFactorization) return go_on;
    watch_->progress(0, 1);
    return watch_->cancelled() || clock_->left() <= 0 ? end : go_on;
  }
  ClpEventHandler* clone() const override { return new StopInTime(*this); }

 private:
  static constexpr int go_on = -1, end = 0;
  const Watch* watch_;
  const Clock* clock_;
};

/// The first linear programme, which takes minutes where thousands of draws are to be kept in sight. False:
/// there was too little time. Later ones go on from its answer.
bool solve_first(CbcModel& model, const Watch& watch, const Clock& clock) {
  ClpSimplex& clp = *dynamic_cast<OsiClpSolverInterface&>(*model.solver()).getModelPtr();
  StopInTime stop(watch, clock);
  clp.passInEventHandler(&stop);
  model.initialSolve();
  const ClpEventHandler nothing;
  clp.passInEventHandler(&nothing);
  watch.keep_going();
  constexpr int by_event = 5;
  return clp.status() != by_event;
}

void load(const Programme& programme, OsiClpSolverInterface& solver) {
  const ColumnArrays arrays(programme.columns);
  std::vector<double> least, most;
  for (const Row& row : programme.rows) {
    least.push_back(bound_of(row.least));
    most.push_back(bound_of(row.most));
  }
  solver.messageHandler()->setLogLevel(0);
  solver.setHintParam(OsiDoReducePrint, true, OsiHintTry);
  ClpSolve as_a_guest;
  as_a_guest.setSpecialOption(2, 1);  // Ctrl-C is the host's: the solver would take it while it solves
  solver.setSolveOptions(as_a_guest);
  solver.loadProblem(arrays.count(), static_cast<int>(programme.rows.size()), arrays.starts.data(),
                     arrays.rows.data(), arrays.values.data(), arrays.least.data(), arrays.most.data(),
                     arrays.cost.data(), least.data(), most.data());
  for (int i = 0; i < arrays.count(); ++i)
    if (programme.columns[static_cast<std::size_t>(i)].whole) solver.setInteger(i);
  solver.setDblParam(OsiPrimalTolerance, 1e-9);
}

/// Lots of which each goes into one shipment are a packing: of the solver's cuts the zero-half ones tell what
/// three pairs of three lots may not come to. The others, its preprocessing and its other heuristics took
/// three to six times as long for the same answers.
void add_cuts(CbcModel& model) {
  CglZeroHalf cuts;
  constexpr int near_the_root = -98;  // and further down only where they help
  model.addCutGenerator(&cuts, near_the_root, "zero-half");
  CbcHeuristicDiveCoefficient dive(model);
  model.addHeuristic(&dive, "dive");
}

/// A wrong answer of the solver's would be an order to somebody's plant, so that none goes unseen.
bool keeps_rows(const Programme& programme, const std::vector<double>& values) {
  std::vector<double> sums(programme.rows.size()), sizes(programme.rows.size(), 1);
  for (std::size_t i = 0; i < values.size(); ++i)
    for (const auto& [row, entry] : programme.columns[i].entries) {
      sums[static_cast<std::size_t>(row)] += entry * values[i];
      sizes[static_cast<std::size_t>(row)] += std::abs(entry * values[i]);
    }
  for (std::size_t r = 0; r < sums.size(); ++r) {
    const double slack = 1e-7 * sizes[r];
    if (sums[r] < programme.rows[r].least - slack || sums[r] > programme.rows[r].most + slack) return false;
  }
  return true;
}

WholeAnswer read_answer(const Programme& programme, const CbcModel& model, const WholeOptions& options) {
  WholeAnswer answer;
  answer.finished = model.status() == 0;
  answer.bound = -model.getBestPossibleObjValue();
  const double* const best = model.bestSolution();
  if (best == nullptr) {
    if (answer.finished && options.known) answer.bound = *options.known;
    return answer;
  }
  for (std::size_t i = 0; i < programme.columns.size(); ++i) {
    answer.values.push_back(programme.columns[i].whole ? std::round(best[i]) : best[i]);
    answer.gain += programme.columns[i].gain * answer.values.back();
  }
  answer.bound = std::max(answer.bound, answer.gain);
  answer.found = keeps_rows(programme, answer.values);
  answer.finished = answer.finished && answer.found;
  return answer;
}

}  // namespace

WholeAnswer solve_whole(const Programme& programme, const WholeOptions& options, const Watch& watch) {
  const Clock clock(options.seconds);
  watch.keep_going();
  if (programme.columns.empty())  // which the solver does not take
    return {.found = keeps_rows(programme, {}), .values = {}, .finished = true};
  require_room(programme.rows.size(), programme.columns.size());
  OsiClpSolverInterface solver;
  load(programme, solver);
  CbcModel model(solver);
  model.setLogLevel(0);
  StopWhenAsked stop(watch);
  model.passInEventHandler(&stop);
  if (options.thorough) add_cuts(model);
  model.setAllowableFractionGap(options.gap);
  model.setIntegerTolerance(1e-7);
  if (options.known) model.setCutoff(-*options.known - 1e-9 * std::abs(*options.known));
  if (!solve_first(model, watch, clock)) return {.values = {}, .bound = unbounded};
  if (model.solver()->isProvenPrimalInfeasible()) return {.values = {}, .finished = true};
  model.setUseElapsedTime(true);
  model.setMaximumSeconds(std::max(0.0, clock.left()));
  model.branchAndBound();
  watch.keep_going();
  return read_answer(programme, model, options);
}

}  // namespace buttonworth
