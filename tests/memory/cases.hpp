// One call of every kind, as a host makes it, with everything it could want.
#pragma once

#include <array>
#include <functional>
#include <string>
#include <vector>

#include "capi/support.hpp"
#include "vectors/vector_file.hpp"
#ifdef BUTTONWORTH_SCHEDULE
#include "buttonworth_schedule.h"
#endif

namespace memory {

using capi::Json;

/// The places that a call may fill.
enum Place : unsigned {
  a_plan = 1,
  an_answer = 2,
  a_month = 4,
  a_context = 8,
  a_number = 16,
  numbers = 32,  ///< all NaN on failure
  rows = 64,     ///< on failure each is NaN, or its own result
  a_size = 128,
  a_buffer = 256,
  a_limit = 512,
};

/// What calls work on, made before memory runs out, and where their results go.
class Stage {
 public:
  Stage();
  ~Stage();
  Stage(const Stage&) = delete;
  Stage& operator=(const Stage&) = delete;

  capi::Context context;
  capi::Plan plan;          ///< of the case
  capi::Answer answer;      ///< fresh
  bw_month* open = nullptr;  ///< fresh

  bw_plan* new_plan = nullptr;
  bw_answer* new_answer = nullptr;
  bw_month* new_month = nullptr;
  bw_context* new_context = nullptr;
  double number = 0;
  std::array<double, 6> results{};
  std::size_t size = 0;
  std::array<char, 64> buffer{};
  int64_t limit = 0;
  long log_records = 0, log_bytes = 0;

  /// A logger that takes no memory; user is the stage.
  static void count_record(void* user, int32_t level, const char* text, std::size_t size);

  /// Puts into every place what no call may leave there when it fails.
  void soil();
  /// What stands in these places, as text, with the last error.
  std::string told(unsigned places) const;
  /// Whether these places are as a failed call must leave them, and the others as they were.
  void expect_failed(unsigned places, const std::array<double, 6>& good_rows) const;
  /// Frees what a call gave.
  void free_results();
};

struct Case {
  std::string name;
  std::string function;
  unsigned places = 0;
  std::function<void(Stage&)> prepare;  ///< may be empty
  std::function<bw_status(Stage&)> call;
  bw_status expected = BW_OK;
  bool on_threads = false;  ///< which allocation is the n-th is then chance
};

/// All of the kinds of steps and of terms, in a few lines.
const std::string& plan_text();

/// One of every kind; made without a call of the library.
const std::vector<Case>& cases();
/// Every vector.
std::vector<Case> vector_cases();

}  // namespace memory
