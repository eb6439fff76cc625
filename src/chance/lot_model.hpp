// Lots side by side: a row of lots, each with its own values, worked out in lanes at these or draw by draw.
//
// The routes' worth is the same tape as a simulation's (worth_tape.hpp); lots take the place of draws.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "chance/worth_tape.hpp"

namespace buttonworth {

/// Lots that stand together: a row of the tape's.
constexpr std::size_t lot_row = 256;

/// What stands in one of the tape's inputs.
struct LotInput {
  Quantity quantity;
  std::optional<std::size_t> column;  ///< that has each lot's own value; without one, the plan's
  std::optional<std::size_t> drawn;   ///< place among the drawing's inputs; without one, certain
  bool by_lot = false;                ///< drawn for each lot by itself, and not once for all of them
  bool relative = false;              ///< whether its spread follows its size or stays as wide as it is
  double mean = 0;                    ///< the plan's
  FieldRange range;
};

/// All that lots are valued by. Immutable.
struct LotModel {
  const Drawing* drawing;
  const Program* worths;
  std::vector<LotInput> inputs;  ///< in the tape's order
  std::size_t routes = 0;
  std::size_t draws = 0;       ///< 0: at the lots' own values alone
  std::vector<double> market;  ///< by draw, then input: what is drawn once for all lots

  std::size_t times() const { return draws > 0 ? draws : 1; }
};

/// A row of lots and what they came to.
struct LotRow {
  explicit LotRow(const LotModel& model)
      : values(model.inputs.size() * lot_row),
        worth(model.times() * model.routes * lot_row),
        broken(model.times() * lot_row),
        refused(model.routes * lot_row),
        times_broken(lot_row),
        held(model.inputs.size()) {}

  std::int64_t first = 0;  ///< number of the first among all lots
  std::size_t count = 0;
  std::vector<double> values;              ///< by input, then lot: in the library's units
  std::vector<double> worth;               ///< by draw, route and lot; 0 where refused or impossible
  std::vector<std::uint8_t> broken;        ///< by draw, then lot: whether its physics is impossible
  std::vector<std::int32_t> refused;       ///< by route, then lot: in how many possible draws
  std::vector<std::int32_t> times_broken;  ///< by lot
  std::vector<std::int64_t> held;          ///< by input: draws that stand at an end of the field's range

  const double* worth_of(std::size_t draw, std::size_t route, const LotModel& model) const {
    return &worth[(draw * model.routes + route) * lot_row];
  }
};

/// One thread's share of the work.
class LotWorker {
 public:
  virtual ~LotWorker() = default;
  virtual void work(LotRow& row) = 0;
};

/// A worker for the processor at hand. The model must outlive it.
std::unique_ptr<LotWorker> make_lot_worker(const LotModel& model);

/// For each instruction set.
std::unique_ptr<LotWorker> make_lot_worker_plain(const LotModel& model);
std::unique_ptr<LotWorker> make_lot_worker_avx2(const LotModel& model);
std::unique_ptr<LotWorker> make_lot_worker_avx512(const LotModel& model);

}  // namespace buttonworth
