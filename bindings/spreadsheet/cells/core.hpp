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

struct DestroyContext {
  void operator()(bw_context* context) const { bw_context_destroy(&context); }
};
struct DestroyAnswer {
  void operator()(bw_answer* answer) const { bw_answer_destroy(&answer); }
};
struct DestroyPlan {
  void operator()(bw_plan* plan) const { bw_plan_destroy(&plan); }
};
using Context = std::unique_ptr<bw_context, DestroyContext>;
using Answer = std::unique_ptr<bw_answer, DestroyAnswer>;
using Plan = std::unique_ptr<bw_plan, DestroyPlan>;

/// A call of the C interface that makes an answer: on a plan under options, or on a request of its own.
struct Job {
  const char* name;
  bw_status (*on_plan)(bw_context*, const bw_plan*, const char*, std::size_t, bw_answer**);
  bw_status (*on_request)(bw_context*, const char*, std::size_t, bw_answer**);
};
/// The call of that name, the C function's without its prefix; null if there is none.
const Job* find_job(std::string_view name);
/// Does it. The options of a call that takes none are to be empty.
bw_status run(const Job& job, bw_context* context, std::string_view request, std::string_view options,
              bw_answer** answer);

/// The file that this library was loaded from; empty where the system does not say.
std::string library_path();

/// The shortest decimal that reads as this number.
std::string decimal(double number);
/// A text as JSON has it.
std::string quoted(const std::string& text);

}  // namespace cells
