// The C interface as a table, so that a library that is linked and one that was loaded are asked alike.
#pragma once

#include <dlfcn.h>

#include "buttonworth.h"
#include "buttonworth_schedule.h"

namespace hosts {

// clang-format off
#define HOSTS_EACH_CALL(DO)                                                                                \
  DO(bw_context_create) DO(bw_context_destroy) DO(bw_error_text) DO(bw_error_status) DO(bw_error_list)     \
  DO(bw_status_name) DO(bw_set_limit) DO(bw_set_log) DO(bw_set_progress) DO(bw_plan_read)                  \
  DO(bw_plan_read_rows) DO(bw_read_rows) DO(bw_plan_with) DO(bw_plan_text) DO(bw_plan_destroy)             \
  DO(bw_compare) DO(bw_simulate) DO(bw_worth) DO(bw_break_even) DO(bw_counter_offers)                      \
  DO(bw_forgiving_cut) DO(bw_sensitivity) DO(bw_map) DO(bw_value_lots) DO(bw_answer_text)                  \
  DO(bw_answer_number) DO(bw_answer_string) DO(bw_answer_draws) DO(bw_answer_destroy) DO(bw_settle)        \
  DO(bw_reconcile) DO(bw_book) DO(bw_month_open) DO(bw_month_take) DO(bw_month_close)                      \
  DO(bw_month_destroy) DO(bw_dispute) DO(bw_metal_call) DO(bw_bench) DO(bw_formula) DO(bw_formula_array)   \
  DO(bw_formulas) DO(bw_convert) DO(bw_convert_array) DO(bw_schema)
// clang-format on

struct Library {
#define HOSTS_FIELD(name) decltype(&::name) name = nullptr;
  HOSTS_EACH_CALL(HOSTS_FIELD)
  HOSTS_FIELD(bw_allocate)
#undef HOSTS_FIELD
};

/// Those that this program is linked with.
inline Library linked() {
  Library library;
#define HOSTS_TAKE(name) library.name = &::name;
  HOSTS_EACH_CALL(HOSTS_TAKE)
  HOSTS_TAKE(bw_allocate)
#undef HOSTS_TAKE
  return library;
}

/// Those of two libraries as dlopen gave them; null where one has no such function.
inline Library loaded(void* core, void* schedule) {
  Library library;
#define HOSTS_LOOK_UP(name) library.name = reinterpret_cast<decltype(&::name)>(dlsym(core, #name));
  HOSTS_EACH_CALL(HOSTS_LOOK_UP)
#undef HOSTS_LOOK_UP
  library.bw_allocate = reinterpret_cast<decltype(&::bw_allocate)>(dlsym(schedule, "bw_allocate"));
  return library;
}

}  // namespace hosts
