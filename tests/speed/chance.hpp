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
    return {&*drawing_, &worths_, keeps_values};
  }
  /// The same draws with nothing done with them: drawing alone.
  buttonworth::DrawnPlan bare() const { return {&*drawing_, &nothing_, false}; }

 private:
  std::shared_ptr<const buttonworth::Plan> plan_;
  buttonworth::SimulateOptions options_;
  std::optional<buttonworth::Prepared<double>> means_;
  std::optional<buttonworth::Drawing> drawing_;
  std::optional<buttonworth::Comparison<double>> comparison_;
  std::vector<buttonworth::HeldRoute> held_;
  buttonworth::Program worths_, nothing_;
};

/// Draws, worths and pulls of the plan with twelve inputs, as the C interface hands them out: one line of
/// JSON that says what follows, then doubles, inputs first and then routes.
void write_draws(const char* file, std::int64_t draws);

/// Error of each route's mean, Sobol's points against Philox: one line of JSON.
void print_errors();

/// Bytes of the program at its largest after so many draws: one line of JSON.
void print_memory(std::int64_t draws);

}  // namespace speed
