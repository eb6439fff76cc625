// The demo plan with twelve uncertain inputs (demo_plan.py), made ready to be drawn from the inside.
#pragma once

#include "chance/simulate.hpp"
#include "support.hpp"

namespace speed {

class Twelve {
 public:
  explicit Twelve(buttonworth::DrawMethod method, std::int64_t draws = 65536);

  const buttonworth::Plan& plan() const { return *plan_; }
  const buttonworth::SimulateOptions& options() const { return options_; }
  const buttonworth::Drawing& drawing() const { return *drawing_; }
  std::size_t routes() const { return held_.size(); }
  /// Where each route's tables are cut, stated pulls too; by visit.
  std::vector<double> pulls(std::size_t route) const;

  /// The whole model: draws and worth of all routes.
  buttonworth::DrawnPlan whole(bool keeps_values = false) const {
    return {plan_.get(), &*means_, &*drawing_, &*nodes_, held_.size(), keeps_values};
  }
  /// The same draws of a plan with nothing in it but the quantities: drawing alone.
  buttonworth::DrawnPlan bare() const { return {&bare_, &*means_, &*drawing_, &*no_nodes_, 0}; }

 private:
  std::shared_ptr<const buttonworth::Plan> plan_;
  buttonworth::Plan bare_;
  buttonworth::SimulateOptions options_;
  std::optional<buttonworth::Prepared<double>> means_;
  std::optional<buttonworth::Drawing> drawing_;
  std::optional<buttonworth::Comparison<double>> comparison_;
  std::vector<buttonworth::HeldRoute> held_;
  std::optional<buttonworth::SharedNodes> nodes_, no_nodes_;
};

/// Draws, worths and pulls of the plan with twelve inputs, as the C interface hands them out: one line of
/// JSON that says what follows, then doubles, inputs first and then routes.
void write_draws(const char* file, std::int64_t draws);

/// Error of each route's mean, Sobol's points against Philox: one line of JSON.
void print_errors();

/// Bytes of the program at its largest after so many draws: one line of JSON.
void print_memory(std::int64_t draws);

}  // namespace speed
