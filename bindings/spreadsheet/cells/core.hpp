// Between the cells and the C interface: a context a thread, statuses as faults, numbers as the format writes
// them.
#pragma once

#include <memory>
#include <string>

#include "buttonworth.h"
#include "cells.hpp"

namespace cells {

/// This thread's context.
bw_context* context();

/// What a cell shows for a status.
Fault fault_of(bw_status status);

/// A fault found on the way to a result, with its reason; ends a work.
struct Trouble {
  Fault fault;
  std::string text;
};
/// Throws the last error of this thread's context unless the status is a success.
void check(bw_status status);

struct DestroyAnswer {
  void operator()(bw_answer* answer) const { bw_answer_destroy(&answer); }
};
struct DestroyPlan {
  void operator()(bw_plan* plan) const { bw_plan_destroy(&plan); }
};
using Answer = std::unique_ptr<bw_answer, DestroyAnswer>;
using Plan = std::unique_ptr<bw_plan, DestroyPlan>;

/// The shortest decimal that reads as this number.
std::string decimal(double number);
/// A text as JSON has it.
std::string quoted(const std::string& text);

}  // namespace cells
