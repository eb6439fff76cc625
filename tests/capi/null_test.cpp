// NULL for every pointer parameter of every function. The header and the list of symbols say which
// there are, so that a new function or a new pointer fails here until it has its row.

#include <algorithm>
#include <fstream>
#include <functional>
#include <regex>
#include <set>
#include <sstream>

#include "support.hpp"

namespace capi {
namespace {

void ignore_log(void*, int32_t, const char*, size_t) {}
void ignore_progress(void*, int64_t, int64_t) {}

/// Everything a call could want, in order, so that only the NULL can be wrong.
struct Things {
  Context context;
  Plan plan = read_good(context, minimal_plan());
  Answer answer;
  // Handles that hold something else before: a failed call must leave NULL there.
  bw_plan* new_plan = plan;
  bw_answer* new_answer = nullptr;
  std::string text = minimal_plan().dump();
  std::string request = R"({"quantity": "1 lb", "to": "g"})";
  std::string month = R"({"format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01",
                          "to": "2026-03-31", "buyers": {"smelter": {"terms": {"buys": "concentrate"}}}})";
  bw_month* open_month = nullptr;
  bw_month* new_month = nullptr;
  std::vector<const char*> pointers{"/format"}, values{"buttonworth-plan/1"};
  double number = 1;
  double numbers[2] = {1, 2};
  const double* columns[1] = {numbers};
  int64_t strides[1] = {1};
  const char* lots[1] = {"/lot/wet_mass"};
  Answer fresh;
  double results[2] = {5, 5};
  int64_t limit = 1;
  size_t size = 5;
  char buffer[64] = "before";

  Things() {
    EXPECT_EQ(compare(context, plan, answer), BW_OK);
    new_answer = answer;
    EXPECT_EQ(bw_month_open(context, month.data(), month.size(), &open_month), BW_OK);
    new_month = open_month;
  }
  bw_status value_lots(bw_context* in, const bw_plan* by) {
    return bw_value_lots(in, by, nullptr, 0, lots, columns, strides, 1, 1, results, nullptr, 2, &new_answer);
  }
  ~Things() { bw_month_destroy(&open_month); }
  Things(const Things&) = delete;
  Things& operator=(const Things&) = delete;
};

struct Row {
  const char* function;
  const char* parameter;
  bw_status expected;  ///< of functions that give none: BW_OK, and the call checks what it gave
  std::function<bw_status(Things&)> call;
};

/// A function that gives text or nothing: what it must give is checked in place.
bw_status seen(bool right) {
  EXPECT_TRUE(right);
  return BW_OK;
}
bool is_empty_list(const char* text) { return std::string_view(text) == "[]"; }

/// The rows of a call that works on a plan under options.
using PlanJob = bw_status (*)(bw_context*, const bw_plan*, const char*, size_t, bw_answer**);
constexpr std::pair<const char*, PlanJob> plan_jobs[] = {{"bw_simulate", bw_simulate},
                                                         {"bw_worth", bw_worth},
                                                         {"bw_break_even", bw_break_even},
                                                         {"bw_counter_offers", bw_counter_offers},
                                                         {"bw_forgiving_cut", bw_forgiving_cut},
                                                         {"bw_sensitivity", bw_sensitivity},
                                                         {"bw_map", bw_map}};
bool is_plan_job(std::string_view function) {
  return std::any_of(std::begin(plan_jobs), std::end(plan_jobs),
                     [&](const auto& one) { return one.first == function; });
}
void add_plan_jobs(std::vector<Row>& rows) {
  for (const auto& [name, job] : plan_jobs) {
    rows.push_back({name, "context", BW_USAGE_NULL,
                    [job = job](Things& t) { return job(nullptr, t.plan, nullptr, 0, &t.new_answer); }});
    rows.push_back({name, "plan", BW_USAGE_NULL,
                    [job = job](Things& t) { return job(t.context, nullptr, nullptr, 0, &t.new_answer); }});
    rows.push_back({name, "options", BW_USAGE_NULL,
                    [job = job](Things& t) { return job(t.context, t.plan, nullptr, 2, &t.new_answer); }});
    rows.push_back({name, "out", BW_USAGE_NULL,
                    [job = job](Things& t) { return job(t.context, t.plan, nullptr, 0, nullptr); }});
  }
}

std::vector<Row> plain_rows() {
  return {
      // Without a pointer.
      {"bw_status_name", "", BW_OK,
       [](Things&) { return seen(std::string_view(bw_status_name(BW_OK)) == "ok"); }},
      {"bw_status_class", "", BW_OK,
       [](Things&) { return seen(std::string_view(bw_status_class(BW_OK)) == "ok"); }},
      {"bw_status_text", "", BW_OK, [](Things&) { return seen(*bw_status_text(BW_OK) != '\0'); }},
      {"bw_version", "", BW_OK, [](Things&) { return seen(*bw_version() != '\0'); }},
      {"bw_abi_version", "", BW_OK, [](Things&) { return seen(bw_abi_version() >= 0); }},

      {"bw_context_create", "out", BW_USAGE_NULL, [](Things&) { return bw_context_create(nullptr); }},
      {"bw_context_destroy", "context", BW_OK, [](Things&) { return bw_context_destroy(nullptr), BW_OK; }},
      {"bw_error_text", "context", BW_OK,
       [](Things&) { return seen(std::string(bw_error_text(nullptr)).find("NULL") != std::string::npos); }},
      {"bw_error_status", "context", BW_USAGE_NULL, [](Things&) { return bw_error_status(nullptr); }},
      {"bw_error_list", "context", BW_OK,
       [](Things& t) { return seen(is_empty_list(bw_error_list(nullptr, &t.size)) && t.size == 2); }},
      {"bw_error_list", "size", BW_OK,
       [](Things& t) { return seen(is_empty_list(bw_error_list(t.context, nullptr))); }},
      {"bw_cancel", "context", BW_OK, [](Things&) { return bw_cancel(nullptr), BW_OK; }},
      {"bw_set_limit", "context", BW_USAGE_NULL, [](Things&) { return bw_set_limit(nullptr, "depth", 64); }},
      {"bw_set_limit", "name", BW_USAGE_NULL, [](Things& t) { return bw_set_limit(t.context, nullptr, 64); }},
      {"bw_get_limit", "context", BW_USAGE_NULL,
       [](Things& t) {
         const bw_status status = bw_get_limit(nullptr, "depth", &t.limit);
         EXPECT_EQ(t.limit, 0);
         return status;
       }},
      {"bw_get_limit", "name", BW_USAGE_NULL,
       [](Things& t) {
         const bw_status status = bw_get_limit(t.context, nullptr, &t.limit);
         EXPECT_EQ(t.limit, 0);
         return status;
       }},
      {"bw_get_limit", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_get_limit(t.context, "depth", nullptr); }},
      {"bw_set_log", "context", BW_USAGE_NULL,
       [](Things&) { return bw_set_log(nullptr, ignore_log, nullptr, 0); }},
      {"bw_set_log", "callback", BW_OK, [](Things& t) { return bw_set_log(t.context, nullptr, nullptr, 0); }},
      {"bw_set_log", "user", BW_OK, [](Things& t) { return bw_set_log(t.context, ignore_log, nullptr, 0); }},
      {"bw_set_progress", "context", BW_USAGE_NULL,
       [](Things&) { return bw_set_progress(nullptr, ignore_progress, nullptr); }},
      {"bw_set_progress", "callback", BW_OK,
       [](Things& t) { return bw_set_progress(t.context, nullptr, nullptr); }},
      {"bw_set_progress", "user", BW_OK,
       [](Things& t) { return bw_set_progress(t.context, ignore_progress, nullptr); }},

      {"bw_plan_read", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_read(nullptr, t.text.data(), t.text.size(), &t.new_plan); }},
      {"bw_plan_read", "json", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_read(t.context, nullptr, t.text.size(), &t.new_plan); }},
      {"bw_plan_read", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_read(t.context, t.text.data(), t.text.size(), nullptr); }},
      {"bw_plan_read_rows", "context", BW_USAGE_NULL,
       [](Things& t) {
         return bw_plan_read_rows(nullptr, t.pointers.data(), t.values.data(), 1, &t.new_plan);
       }},
      {"bw_plan_read_rows", "pointers", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_read_rows(t.context, nullptr, t.values.data(), 1, &t.new_plan); }},
      {"bw_plan_read_rows", "values", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_read_rows(t.context, t.pointers.data(), nullptr, 1, &t.new_plan); }},
      {"bw_plan_read_rows", "out", BW_USAGE_NULL,
       [](Things& t) {
         return bw_plan_read_rows(t.context, t.pointers.data(), t.values.data(), 1, nullptr);
       }},
      {"bw_read_rows", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_read_rows(nullptr, t.pointers.data(), t.values.data(), 1, &t.new_answer); }},
      {"bw_read_rows", "pointers", BW_USAGE_NULL,
       [](Things& t) { return bw_read_rows(t.context, nullptr, t.values.data(), 1, &t.new_answer); }},
      {"bw_read_rows", "values", BW_USAGE_NULL,
       [](Things& t) { return bw_read_rows(t.context, t.pointers.data(), nullptr, 1, &t.new_answer); }},
      {"bw_read_rows", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_read_rows(t.context, t.pointers.data(), t.values.data(), 1, nullptr); }},
      {"bw_plan_with", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_with(nullptr, t.plan, "/discount", "1 %/a", &t.new_plan); }},
      {"bw_plan_with", "plan", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_with(t.context, nullptr, "/discount", "1 %/a", &t.new_plan); }},
      {"bw_plan_with", "pointer", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_with(t.context, t.plan, nullptr, "1 %/a", &t.new_plan); }},
      {"bw_plan_with", "value", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_with(t.context, t.plan, "/discount", nullptr, &t.new_plan); }},
      {"bw_plan_with", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_plan_with(t.context, t.plan, "/discount", "1 %/a", nullptr); }},
      {"bw_plan_text", "plan", BW_OK,
       [](Things& t) { return seen(bw_plan_text(nullptr, &t.size) == nullptr && t.size == 0); }},
      {"bw_plan_text", "size", BW_OK,
       [](Things& t) { return seen(bw_plan_text(t.plan, nullptr) == t.text); }},
      {"bw_plan_destroy", "plan", BW_OK, [](Things&) { return bw_plan_destroy(nullptr), BW_OK; }},

      {"bw_compare", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_compare(nullptr, t.plan, nullptr, 0, &t.new_answer); }},
      {"bw_compare", "plan", BW_USAGE_NULL,
       [](Things& t) { return bw_compare(t.context, nullptr, nullptr, 0, &t.new_answer); }},
      {"bw_compare", "options", BW_USAGE_NULL,  // with a size; without one it means the defaults
       [](Things& t) { return bw_compare(t.context, t.plan, nullptr, 2, &t.new_answer); }},
      {"bw_compare", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_compare(t.context, t.plan, nullptr, 0, nullptr); }},

      {"bw_answer_text", "answer", BW_OK,
       [](Things& t) { return seen(bw_answer_text(nullptr, &t.size) == nullptr && t.size == 0); }},
      {"bw_answer_text", "size", BW_OK,
       [](Things& t) { return seen(bw_answer_text(t.answer, nullptr)[0] == '{'); }},
      {"bw_answer_number", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_number(nullptr, t.answer, "/routes/kept/net", &t.number); }},
      {"bw_answer_number", "answer", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_number(t.context, nullptr, "/routes/kept/net", &t.number); }},
      {"bw_answer_number", "pointer", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_number(t.context, t.answer, nullptr, &t.number); }},
      {"bw_answer_number", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_number(t.context, t.answer, "/routes/kept/net", nullptr); }},
      {"bw_answer_string", "context", BW_USAGE_NULL,
       [](Things& t) {
         return bw_answer_string(nullptr, t.answer, "/best", t.buffer, sizeof t.buffer, &t.size);
       }},
      {"bw_answer_string", "answer", BW_USAGE_NULL,
       [](Things& t) {
         return bw_answer_string(t.context, nullptr, "/best", t.buffer, sizeof t.buffer, &t.size);
       }},
      {"bw_answer_string", "pointer", BW_USAGE_NULL,
       [](Things& t) {
         return bw_answer_string(t.context, t.answer, nullptr, t.buffer, sizeof t.buffer, &t.size);
       }},
      {"bw_answer_string", "buffer", BW_USAGE_NULL,
       [](Things& t) {
         return bw_answer_string(t.context, t.answer, "/best", nullptr, sizeof t.buffer, &t.size);
       }},
      {"bw_answer_string", "needed", BW_OK,
       [](Things& t) {
         return bw_answer_string(t.context, t.answer, "/best", t.buffer, sizeof t.buffer, nullptr);
       }},
      {"bw_answer_count", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_count(nullptr, t.answer, "/routes", &t.size); }},
      {"bw_answer_count", "answer", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_count(t.context, nullptr, "/routes", &t.size); }},
      {"bw_answer_count", "pointer", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_count(t.context, t.answer, nullptr, &t.size); }},
      {"bw_answer_count", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_count(t.context, t.answer, "/routes", nullptr); }},
      {"bw_answer_name", "context", BW_USAGE_NULL,
       [](Things& t) {
         return bw_answer_name(nullptr, t.answer, "/routes", 0, t.buffer, sizeof t.buffer, &t.size);
       }},
      {"bw_answer_name", "answer", BW_USAGE_NULL,
       [](Things& t) {
         return bw_answer_name(t.context, nullptr, "/routes", 0, t.buffer, sizeof t.buffer, &t.size);
       }},
      {"bw_answer_name", "pointer", BW_USAGE_NULL,
       [](Things& t) {
         return bw_answer_name(t.context, t.answer, nullptr, 0, t.buffer, sizeof t.buffer, &t.size);
       }},
      {"bw_answer_name", "buffer", BW_USAGE_NULL,
       [](Things& t) {
         return bw_answer_name(t.context, t.answer, "/routes", 0, nullptr, sizeof t.buffer, &t.size);
       }},
      {"bw_answer_name", "needed", BW_OK,
       [](Things& t) {
         return bw_answer_name(t.context, t.answer, "/routes", 0, t.buffer, sizeof t.buffer, nullptr);
       }},
      {"bw_answer_draws", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_draws(nullptr, t.answer, "kept", t.results, 2, &t.size); }},
      {"bw_answer_draws", "answer", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_draws(t.context, nullptr, "kept", t.results, 2, &t.size); }},
      {"bw_answer_draws", "what", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_draws(t.context, t.answer, nullptr, t.results, 2, &t.size); }},
      {"bw_answer_draws", "values", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_draws(t.context, t.answer, "kept", nullptr, 2, &t.size); }},
      {"bw_answer_draws", "size", BW_USAGE_NULL,
       [](Things& t) { return bw_answer_draws(t.context, t.answer, "kept", t.results, 2, nullptr); }},
      {"bw_value_lots", "context", BW_USAGE_NULL, [](Things& t) { return t.value_lots(nullptr, t.plan); }},
      {"bw_value_lots", "plan", BW_USAGE_NULL, [](Things& t) { return t.value_lots(t.context, nullptr); }},
      {"bw_value_lots", "options", BW_USAGE_NULL,
       [](Things& t) {
         return bw_value_lots(t.context, t.plan, nullptr, 2, t.lots, t.columns, t.strides, 1, 1, t.results,
                              t.results, 2, &t.new_answer);
       }},
      {"bw_value_lots", "pointers", BW_USAGE_NULL,
       [](Things& t) {
         return bw_value_lots(t.context, t.plan, nullptr, 0, nullptr, t.columns, t.strides, 1, 1, t.results,
                              nullptr, 2, &t.new_answer);
       }},
      {"bw_value_lots", "columns", BW_USAGE_NULL,
       [](Things& t) {
         return bw_value_lots(t.context, t.plan, nullptr, 0, t.lots, nullptr, t.strides, 1, 1, t.results,
                              nullptr, 2, &t.new_answer);
       }},
      {"bw_value_lots", "strides", BW_USAGE_NULL,
       [](Things& t) {
         return bw_value_lots(t.context, t.plan, nullptr, 0, t.lots, t.columns, nullptr, 1, 1, t.results,
                              nullptr, 2, &t.new_answer);
       }},
      {"bw_value_lots", "values", BW_OK,
       [](Things& t) {
         return bw_value_lots(t.context, t.plan, nullptr, 0, t.lots, t.columns, t.strides, 1, 1, nullptr,
                              t.results, 2, t.fresh.out());
       }},
      {"bw_value_lots", "sds", BW_OK,
       [](Things& t) {
         return bw_value_lots(t.context, t.plan, nullptr, 0, t.lots, t.columns, t.strides, 1, 1, t.results,
                              nullptr, 2, t.fresh.out());
       }},
      {"bw_value_lots", "out", BW_USAGE_NULL,
       [](Things& t) {
         return bw_value_lots(t.context, t.plan, nullptr, 0, t.lots, t.columns, t.strides, 1, 1, t.results,
                              nullptr, 2, nullptr);
       }},
      {"bw_answer_destroy", "answer", BW_OK, [](Things&) { return bw_answer_destroy(nullptr), BW_OK; }},

      {"bw_settle", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_settle(nullptr, t.request.data(), t.request.size(), &t.new_answer); }},
      {"bw_settle", "json", BW_USAGE_NULL,
       [](Things& t) { return bw_settle(t.context, nullptr, t.request.size(), &t.new_answer); }},
      {"bw_settle", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_settle(t.context, t.request.data(), t.request.size(), nullptr); }},
      {"bw_reconcile", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_reconcile(nullptr, t.request.data(), t.request.size(), &t.new_answer); }},
      {"bw_reconcile", "json", BW_USAGE_NULL,
       [](Things& t) { return bw_reconcile(t.context, nullptr, t.request.size(), &t.new_answer); }},
      {"bw_reconcile", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_reconcile(t.context, t.request.data(), t.request.size(), nullptr); }},
      {"bw_book", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_book(nullptr, t.request.data(), t.request.size(), &t.new_answer); }},
      {"bw_book", "json", BW_USAGE_NULL,
       [](Things& t) { return bw_book(t.context, nullptr, t.request.size(), &t.new_answer); }},
      {"bw_book", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_book(t.context, t.request.data(), t.request.size(), nullptr); }},
      {"bw_month_open", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_month_open(nullptr, t.month.data(), t.month.size(), &t.new_month); }},
      {"bw_month_open", "json", BW_USAGE_NULL,
       [](Things& t) { return bw_month_open(t.context, nullptr, t.month.size(), &t.new_month); }},
      {"bw_month_open", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_month_open(t.context, t.month.data(), t.month.size(), nullptr); }},
      {"bw_month_take", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_month_take(nullptr, t.open_month, "deliveries", "", 0); }},
      {"bw_month_take", "month", BW_USAGE_NULL,
       [](Things& t) { return bw_month_take(t.context, nullptr, "deliveries", "", 0); }},
      {"bw_month_take", "table", BW_USAGE_NULL,
       [](Things& t) { return bw_month_take(t.context, t.open_month, nullptr, "", 0); }},
      {"bw_month_take", "csv", BW_USAGE_NULL,
       [](Things& t) { return bw_month_take(t.context, t.open_month, "deliveries", nullptr, 1); }},
      {"bw_month_close", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_month_close(nullptr, t.open_month, &t.new_answer); }},
      {"bw_month_close", "month", BW_USAGE_NULL,
       [](Things& t) { return bw_month_close(t.context, nullptr, &t.new_answer); }},
      {"bw_month_close", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_month_close(t.context, t.open_month, nullptr); }},
      {"bw_month_destroy", "month", BW_OK,
       [](Things&) {
         bw_month_destroy(nullptr);
         return BW_OK;
       }},
      {"bw_dispute", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_dispute(nullptr, t.request.data(), t.request.size(), &t.new_answer); }},
      {"bw_dispute", "json", BW_USAGE_NULL,
       [](Things& t) { return bw_dispute(t.context, nullptr, t.request.size(), &t.new_answer); }},
      {"bw_dispute", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_dispute(t.context, t.request.data(), t.request.size(), nullptr); }},
      {"bw_metal_call", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_metal_call(nullptr, t.request.data(), t.request.size(), &t.new_answer); }},
      {"bw_metal_call", "json", BW_USAGE_NULL,
       [](Things& t) { return bw_metal_call(t.context, nullptr, t.request.size(), &t.new_answer); }},
      {"bw_metal_call", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_metal_call(t.context, t.request.data(), t.request.size(), nullptr); }},
      {"bw_bench", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_bench(nullptr, t.request.data(), t.request.size(), &t.new_answer); }},
      {"bw_bench", "json", BW_USAGE_NULL,
       [](Things& t) { return bw_bench(t.context, nullptr, t.request.size(), &t.new_answer); }},
      {"bw_bench", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_bench(t.context, t.request.data(), t.request.size(), nullptr); }},
      {"bw_formula", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_formula(nullptr, "matte", t.numbers, 1, &t.number); }},
      {"bw_formula", "name", BW_USAGE_NULL,
       [](Things& t) { return bw_formula(t.context, nullptr, t.numbers, 1, &t.number); }},
      {"bw_formula", "arguments", BW_USAGE_NULL,
       [](Things& t) { return bw_formula(t.context, "matte", nullptr, 1, &t.number); }},
      {"bw_formula", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_formula(t.context, "matte", t.numbers, 1, nullptr); }},
      {"bw_formula_array", "context", BW_USAGE_NULL,
       [](Things& t) {
         return bw_formula_array(nullptr, "matte", t.columns, t.strides, 1, 2, t.results, 1);
       }},
      {"bw_formula_array", "name", BW_USAGE_NULL,
       [](Things& t) {
         return bw_formula_array(t.context, nullptr, t.columns, t.strides, 1, 2, t.results, 1);
       }},
      {"bw_formula_array", "arguments", BW_USAGE_NULL,
       [](Things& t) {
         return bw_formula_array(t.context, "matte", nullptr, t.strides, 1, 2, t.results, 1);
       }},
      {"bw_formula_array", "strides", BW_USAGE_NULL,
       [](Things& t) {
         return bw_formula_array(t.context, "matte", t.columns, nullptr, 1, 2, t.results, 1);
       }},
      {"bw_formula_array", "out", BW_USAGE_NULL,
       [](Things& t) {
         return bw_formula_array(t.context, "matte", t.columns, t.strides, 1, 2, nullptr, 1);
       }},
      {"bw_formulas", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_formulas(nullptr, &t.new_answer); }},
      {"bw_formulas", "out", BW_USAGE_NULL, [](Things& t) { return bw_formulas(t.context, nullptr); }},
      {"bw_convert", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_convert(nullptr, t.request.data(), t.request.size(), &t.new_answer); }},
      {"bw_convert", "json", BW_USAGE_NULL,
       [](Things& t) { return bw_convert(t.context, nullptr, t.request.size(), &t.new_answer); }},
      {"bw_convert", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_convert(t.context, t.request.data(), t.request.size(), nullptr); }},
      {"bw_convert_array", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_convert_array(nullptr, t.numbers, 1, 2, "lb", "g", t.results, 1); }},
      {"bw_convert_array", "values", BW_USAGE_NULL,
       [](Things& t) { return bw_convert_array(t.context, nullptr, 1, 2, "lb", "g", t.results, 1); }},
      {"bw_convert_array", "from", BW_USAGE_NULL,
       [](Things& t) { return bw_convert_array(t.context, t.numbers, 1, 2, nullptr, "g", t.results, 1); }},
      {"bw_convert_array", "to", BW_USAGE_NULL,
       [](Things& t) { return bw_convert_array(t.context, t.numbers, 1, 2, "lb", nullptr, t.results, 1); }},
      {"bw_convert_array", "out", BW_USAGE_NULL,
       [](Things& t) { return bw_convert_array(t.context, t.numbers, 1, 2, "lb", "g", nullptr, 1); }},
      {"bw_schema", "context", BW_USAGE_NULL,
       [](Things& t) { return bw_schema(nullptr, "plan", &t.new_answer); }},
      {"bw_schema", "name", BW_USAGE_NULL,
       [](Things& t) { return bw_schema(t.context, nullptr, &t.new_answer); }},
      {"bw_schema", "out", BW_USAGE_NULL, [](Things& t) { return bw_schema(t.context, "plan", nullptr); }},
  };
}
const std::vector<Row>& rows() {
  static const std::vector<Row> all = [] {
    std::vector<Row> rows = plain_rows();
    add_plan_jobs(rows);
    return rows;
  }();
  return all;
}

std::string file_text(const char* path) {
  std::ifstream file(path);
  EXPECT_TRUE(file) << path;
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

using Parameter = std::pair<std::string, std::string>;  // function, pointer parameter ("" for none)

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> parts;
  std::istringstream stream(text);
  for (std::string part; std::getline(stream, part, at);) parts.push_back(part);
  return parts;
}

/// The pointer parameters of the header's functions; one with an empty name for a function without.
std::set<Parameter> declared() {
  std::string header =
      std::regex_replace(file_text(BUTTONWORTH_HEADER), std::regex("/\\*[^*]*\\*+([^/*][^*]*\\*+)*/"), "");
  header = std::regex_replace(header, std::regex("[ \n\t]+"), " ");
  const std::regex declaration("BW_API [^;]*?(bw_[a-z_]+)\\(([^)]*)\\) BW_NOEXCEPT;");
  std::set<Parameter> all;
  for (std::sregex_iterator at(header.begin(), header.end(), declaration), end; at != end; ++at) {
    const std::string function = (*at)[1];
    std::set<Parameter> pointers;
    for (const std::string& one : split((*at)[2], ',')) {
      const bool callback = one.find("_callback ") != one.npos;
      if (one.find('*') == one.npos && !callback) continue;
      pointers.emplace(function, one.substr(one.find_last_of(" *") + 1));
    }
    if (pointers.empty()) pointers.emplace(function, "");
    all.merge(pointers);
  }
  return all;
}

TEST(Null, every_pointer_of_the_header_has_a_row) {
  std::set<Parameter> tested;
  for (const Row& row : rows())
    EXPECT_TRUE(tested.emplace(row.function, row.parameter).second) << row.function;
  EXPECT_GE(tested.size(), 70U);
  EXPECT_EQ(tested, declared());
}

TEST(Null, every_exported_symbol_has_a_row) {
  std::set<std::string> tested, exported;
  for (const Row& row : rows()) tested.insert(row.function);
  for (const std::string& symbol : split(file_text(BUTTONWORTH_SYMBOLS), '\n')) exported.insert(symbol);
  EXPECT_GE(exported.size(), 30U);
  EXPECT_EQ(tested, exported);
}

class NullRow : public testing::TestWithParam<std::size_t> {};

TEST_P(NullRow, is_answered) {
  const Row& row = rows()[GetParam()];
  Things things;
  const bw_status status = row.call(things);
  EXPECT_EQ(status, row.expected) << bw_error_text(things.context);
  if (status == BW_OK || std::string_view(row.parameter) == "context") return;
  if (std::string_view(row.function) == "bw_context_create") return;  // there is no context to ask
  EXPECT_EQ(bw_error_status(things.context), status);
  EXPECT_NE(std::string(bw_error_text(things.context)).find("NULL"), std::string::npos);
  EXPECT_EQ(statuses(things.context), std::vector<bw_status>{status});
}

/// The handles, numbers, sizes and buffers that a failed call was to fill.
TEST_P(NullRow, leaves_results_defined) {
  const Row& row = rows()[GetParam()];
  const std::string function = row.function, parameter = row.parameter;
  if (row.expected == BW_OK) return;
  Things things;
  row.call(things);
  if (parameter == "out") return;  // there is no place for a result
  const bool makes_answer =
      function == "bw_compare" || function == "bw_settle" || function == "bw_reconcile" ||
      function == "bw_book" || function == "bw_month_close" || function == "bw_dispute" ||
      function == "bw_metal_call" || function == "bw_bench" || function == "bw_formulas" ||
      function == "bw_convert" || function == "bw_read_rows" || function == "bw_schema" ||
      function == "bw_value_lots" || is_plan_job(function);
  const bool fills_buffer = function == "bw_answer_string" || function == "bw_answer_name";
  EXPECT_EQ(things.new_plan == nullptr, function.starts_with("bw_plan_"));
  EXPECT_EQ(things.new_month == nullptr, function == "bw_month_open");
  EXPECT_EQ(things.new_answer == nullptr, makes_answer);
  EXPECT_EQ(std::isnan(things.number), function == "bw_answer_number" || function == "bw_formula");
  EXPECT_EQ(things.size, fills_buffer || function == "bw_answer_count" ||
                                 (function == "bw_answer_draws" && parameter != "size")
                             ? 0U
                             : 5U);
  EXPECT_STREQ(things.buffer, fills_buffer && parameter != "buffer" ? "" : "before");
  const bool fills_numbers = function == "bw_convert_array" || function == "bw_formula_array" ||
                             function == "bw_value_lots" ||
                             (function == "bw_answer_draws" && parameter != "values");
  for (double result : things.results) EXPECT_EQ(std::isnan(result), fills_numbers) << result;
}

std::string row_name(const testing::TestParamInfo<std::size_t>& info) {
  const Row& row = rows()[info.param];
  return std::string(row.function) + (*row.parameter != '\0' ? "__" : "") + row.parameter;
}
INSTANTIATE_TEST_SUITE_P(All, NullRow, testing::Range(std::size_t{0}, rows().size()), row_name);

TEST(Null, a_null_list_of_no_rows_is_an_empty_document) {
  Context context;
  Plan plan;
  EXPECT_EQ(bw_plan_read_rows(context, nullptr, nullptr, 0, plan.out()), BW_DOCUMENT_TYPE);
  EXPECT_EQ(plan, nullptr);
}

TEST(Null, a_null_cell_is_told) {
  Context context;
  Plan plan;
  const char* pointers[] = {"/format", nullptr};
  const char* values[] = {"buttonworth-plan/1", "x"};
  EXPECT_EQ(bw_plan_read_rows(context, pointers, values, 2, plan.out()), BW_USAGE_NULL);
  EXPECT_EQ(bw_plan_read_rows(context, values, pointers, 2, plan.out()), BW_USAGE_NULL);
  EXPECT_EQ(plan, nullptr);
}

TEST(Null, no_values_to_convert_need_no_arrays) {
  Context context;
  EXPECT_EQ(bw_convert_array(context, nullptr, 1, 0, "lb", "g", nullptr, 1), BW_OK);
}

TEST(Destroy, twice_and_null_handles) {
  bw_context* context = nullptr;
  bw_context_destroy(&context);
  ASSERT_EQ(bw_context_create(&context), BW_OK);
  const std::string text = minimal_plan().dump();
  bw_plan* plan = nullptr;
  bw_answer* answer = nullptr;
  bw_plan_destroy(&plan);
  bw_answer_destroy(&answer);
  ASSERT_EQ(bw_plan_read(context, text.data(), text.size(), &plan), BW_OK);
  ASSERT_EQ(bw_compare(context, plan, nullptr, 0, &answer), BW_OK);
  for (int twice = 0; twice < 2; ++twice) {
    bw_answer_destroy(&answer);
    bw_plan_destroy(&plan);
    bw_context_destroy(&context);
    EXPECT_EQ(answer, nullptr);
    EXPECT_EQ(plan, nullptr);
    EXPECT_EQ(context, nullptr);
  }
}

}  // namespace
}  // namespace capi
