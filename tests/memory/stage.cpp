#include <cmath>
#include <cstdio>
#include <cstring>
#include <limits>

#include "cases.hpp"

namespace memory {
namespace {

template <class T>
T* no_handle() {
  static char somewhere;
  return reinterpret_cast<T*>(&somewhere);
}
template <class T>
void free_result(T*& result, void (*destroy)(T**)) {
  if (result == no_handle<T>()) result = nullptr;
  destroy(&result);
}

std::string exactly(double number) {
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%a ", number);
  return text.data();
}

constexpr double before = 5;
constexpr char text_before[] = "before";

}  // namespace

Stage::Stage() { soil(); }
Stage::~Stage() { free_results(); }

void Stage::count_record(void* user, int32_t, const char* text, std::size_t size) {
  auto* const self = static_cast<Stage*>(user);
  ++self->log_records;
  self->log_bytes += static_cast<long>(size);
  EXPECT_EQ(text[size], '\0');
}

void Stage::soil() {
  new_plan = no_handle<bw_plan>();
  new_answer = no_handle<bw_answer>();
  new_month = no_handle<bw_month>();
  new_context = no_handle<bw_context>();
  number = before;
  results.fill(before);
  size = 5;
  std::strcpy(buffer.data(), text_before);
  limit = 5;
  log_records = log_bytes = 0;
}

std::string Stage::told(unsigned places) const {
  std::string all = std::to_string(log_records) + ' ' + std::to_string(log_bytes) + ' ';
  all += std::string(bw_error_text(context)) + bw_error_list(context, nullptr);
  if ((places & a_plan) != 0 && new_plan != nullptr) all += bw_plan_text(new_plan, nullptr);
  if ((places & an_answer) != 0 && new_answer != nullptr) all += bw_answer_text(new_answer, nullptr);
  if ((places & a_number) != 0) all += exactly(number);
  if ((places & (numbers | rows)) != 0)
    for (double one : results) all += exactly(one);
  if ((places & a_size) != 0) all += std::to_string(size);
  if ((places & a_buffer) != 0) all += buffer.data();
  if ((places & a_limit) != 0) all += std::to_string(limit);
  return all;
}

void Stage::expect_failed(unsigned places, const std::array<double, 6>& good_rows) const {
  EXPECT_EQ(new_plan, (places & a_plan) != 0 ? nullptr : no_handle<bw_plan>());
  EXPECT_EQ(new_answer, (places & an_answer) != 0 ? nullptr : no_handle<bw_answer>());
  EXPECT_EQ(new_month, (places & a_month) != 0 ? nullptr : no_handle<bw_month>());
  EXPECT_EQ(new_context, (places & a_context) != 0 ? nullptr : no_handle<bw_context>());
  EXPECT_TRUE((places & a_number) != 0 ? std::isnan(number) : number == before) << number;
  for (std::size_t i = 0; i < results.size(); ++i) {
    const bool own = (places & rows) != 0 && results[i] == good_rows[i];
    EXPECT_TRUE((places & (numbers | rows)) != 0 ? own || std::isnan(results[i]) : results[i] == before)
        << "number " << i << ": " << results[i];
  }
  EXPECT_EQ(size, (places & a_size) != 0 ? 0U : 5U);
  EXPECT_STREQ(buffer.data(), (places & a_buffer) != 0 ? "" : text_before);
  EXPECT_EQ(limit, (places & a_limit) != 0 ? 0 : 5);
}

void Stage::free_results() {
  free_result(new_plan, bw_plan_destroy);
  free_result(new_answer, bw_answer_destroy);
  free_result(new_month, bw_month_destroy);
  free_result(new_context, bw_context_destroy);
  answer.out();
  bw_month_destroy(&open);
  bw_set_log(context, nullptr, nullptr, 0);
  bw_set_progress(context, nullptr, nullptr);
}

}  // namespace memory
