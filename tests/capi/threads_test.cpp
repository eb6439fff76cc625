// Contexts, plans and answers among threads: busy, cancelled, shared, outliving.

#include <atomic>
#include <chrono>
#include <functional>
#include <thread>

#include "support.hpp"

namespace capi {
namespace {

/// Runs something while a comparison is under way: from its first progress report.
struct Meanwhile {
  std::function<void()> what;
  bool done = false;
  static void progress(void* user, int64_t, int64_t) {
    auto* self = static_cast<Meanwhile*>(user);
    if (!std::exchange(self->done, true)) self->what();
  }
};

void on_another_thread(const std::function<void()>& what) { std::thread(what).join(); }

/// Enough routes that there is always one left to be cancelled.
Json many_routes(int count) {
  Json plan = minimal_plan();
  for (int i = 0; i < count; ++i) plan["routes"]["route " + std::to_string(i)] = {{"sell", "smelter"}};
  return plan;
}

// ---- Busy ------------------------------------------------------------------------------------

/// Every call that uses a context for itself, each with results that hold something before.
struct BusyCalls {
  bw_context* context;
  const bw_plan* plan;
  const bw_answer* answer;

  void expect_busy() const {
    bw_plan* new_plan = const_cast<bw_plan*>(plan);
    const std::string text = minimal_plan().dump();
    EXPECT_EQ(bw_plan_read(context, text.data(), text.size(), &new_plan), BW_BUSY);
    EXPECT_EQ(new_plan, nullptr);
    new_plan = const_cast<bw_plan*>(plan);
    EXPECT_EQ(bw_plan_read_rows(context, nullptr, nullptr, 0, &new_plan), BW_BUSY);
    EXPECT_EQ(new_plan, nullptr);
    new_plan = const_cast<bw_plan*>(plan);
    EXPECT_EQ(bw_plan_with(context, plan, "/discount", "1 %/a", &new_plan), BW_BUSY);
    EXPECT_EQ(new_plan, nullptr);
    expect_busy_answers();
    expect_busy_results();
    expect_busy_settings();
  }
  void expect_busy_answers() const {
    bw_answer* new_answer = const_cast<bw_answer*>(answer);
    EXPECT_EQ(bw_compare(context, plan, nullptr, 0, &new_answer), BW_BUSY);
    EXPECT_EQ(new_answer, nullptr);
    for (const auto call : {bw_simulate, bw_worth, bw_break_even, bw_counter_offers, bw_forgiving_cut,
                            bw_sensitivity, bw_map}) {
      new_answer = const_cast<bw_answer*>(answer);
      EXPECT_EQ(call(context, plan, nullptr, 0, &new_answer), BW_BUSY);
      EXPECT_EQ(new_answer, nullptr);
    }
    EXPECT_EQ(bw_convert(context, "{}", 2, &new_answer), BW_BUSY);
    EXPECT_EQ(bw_settle(context, "{}", 2, &new_answer), BW_BUSY);
    EXPECT_EQ(new_answer, nullptr);
    new_answer = const_cast<bw_answer*>(answer);
    EXPECT_EQ(bw_schema(context, "plan", &new_answer), BW_BUSY);
    EXPECT_EQ(new_answer, nullptr);
  }
  void expect_busy_results() const {
    double number = 1, result = 1;
    EXPECT_EQ(bw_answer_number(context, answer, "/routes/kept/net", &number), BW_BUSY);
    EXPECT_TRUE(std::isnan(number));
    size_t size = 1;
    char buffer[8] = "before";
    EXPECT_EQ(bw_answer_string(context, answer, "/best", buffer, sizeof buffer, &size), BW_BUSY);
    EXPECT_STREQ(buffer, "");
    EXPECT_EQ(size, 0U);
    EXPECT_EQ(bw_answer_name(context, answer, "/routes", 0, buffer, sizeof buffer, &size), BW_BUSY);
    EXPECT_EQ(bw_answer_count(context, answer, "/routes", &size), BW_BUSY);
    EXPECT_EQ(size, 0U);
    size = 1;
    EXPECT_EQ(bw_answer_draws(context, answer, "kept", &result, 1, &size), BW_BUSY);
    EXPECT_TRUE(std::isnan(result));
    EXPECT_EQ(size, 0U);
    result = 1;
    EXPECT_EQ(bw_convert_array(context, &number, 1, 1, "lb", "g", &result, 1), BW_BUSY);
    EXPECT_TRUE(std::isnan(result));
  }
  void expect_busy_settings() const {
    int64_t limit = 1;
    EXPECT_EQ(bw_set_limit(context, "depth", 2), BW_BUSY);
    EXPECT_EQ(bw_get_limit(context, "depth", &limit), BW_BUSY);
    EXPECT_EQ(limit, 0);
    EXPECT_EQ(bw_set_log(context, nullptr, nullptr, 0), BW_BUSY);
    EXPECT_EQ(bw_set_progress(context, nullptr, nullptr), BW_BUSY);
  }
};

TEST(Busy, a_second_call_is_turned_away_and_the_first_goes_on) {
  Context context;
  const Plan plan = read_good(context, many_routes(5));
  const std::string undisturbed = compared(context, plan);
  Answer answer, first;
  ASSERT_EQ(compare(context, plan, answer), BW_OK);
  Meanwhile meanwhile{[&] { on_another_thread([&] { BusyCalls{context, plan, answer}.expect_busy(); }); }};
  ASSERT_EQ(bw_set_progress(context, Meanwhile::progress, &meanwhile), BW_OK);
  ASSERT_EQ(compare(context, plan, first), BW_OK) << bw_error_text(context);
  EXPECT_TRUE(meanwhile.done);
  EXPECT_EQ(bw_answer_text(first, nullptr), undisturbed);
  int64_t depth = 0;
  EXPECT_EQ(bw_get_limit(context, "depth", &depth), BW_OK);
  EXPECT_EQ(depth, 64);
}

TEST(Busy, leaves_the_last_error_alone) {
  Context context, other;
  const Plan plan = read_good(context, minimal_plan());
  Answer answer;
  ASSERT_EQ(compare(context, plan, answer), BW_OK);
  struct Log {
    BusyCalls calls;
    int records = 0;
    static void record(void* user, int32_t, const char*, size_t) {
      auto* self = static_cast<Log*>(user);
      ++self->records;
      on_another_thread([self] { self->calls.expect_busy(); });
    }
  } log{{context, plan, answer}};
  ASSERT_EQ(bw_set_log(context, Log::record, &log, 3), BW_OK);
  Json bad = minimal_plan();
  bad["lot"]["wet_mass"] = "1 oz";
  bad["unknown"] = 1;
  EXPECT_EQ(refusal(context, bad.dump()), BW_DOCUMENT_UNIT);
  EXPECT_GE(log.records, 1);
  const std::vector<bw_status> expected{BW_DOCUMENT_UNIT, BW_DOCUMENT_UNKNOWN_FIELD};
  EXPECT_EQ(statuses(context), expected);
  EXPECT_EQ(bw_error_status(context), BW_DOCUMENT_UNIT);
  EXPECT_NE(std::string(bw_error_text(context)).find("ozt"), std::string::npos);
}

TEST(Busy, ends_with_the_call) {
  Context context;
  const Plan plan = read_good(context, many_routes(3));
  Meanwhile meanwhile{[] {}};
  ASSERT_EQ(bw_set_progress(context, Meanwhile::progress, &meanwhile), BW_OK);
  Answer answer;
  ASSERT_EQ(compare(context, plan, answer), BW_OK);
  on_another_thread([&] { EXPECT_EQ(compare(context, plan, answer), BW_OK); });
  EXPECT_EQ(refusal(context, "{"), BW_DOCUMENT_JSON);
  on_another_thread([&] { EXPECT_EQ(compare(context, plan, answer), BW_OK); });
}

TEST(Busy, one_of_many_at_a_time) {
  Context context;
  const Plan plan = read_good(context, many_routes(20));
  const std::string expected = compared(context, plan);
  std::atomic<int> done{0}, busy{0}, others{0};
  std::vector<std::thread> threads;
  for (int t = 0; t < 4; ++t)
    threads.emplace_back([&] {
      for (int i = 0; i < 25; ++i) {
        Answer answer;
        const bw_status status = compare(context, plan, answer);
        if (status == BW_OK && bw_answer_text(answer, nullptr) == expected) ++done;
        else if (status == BW_BUSY && answer == nullptr) ++busy;
        else ++others;
      }
    });
  for (std::thread& thread : threads) thread.join();
  EXPECT_EQ(done + busy, 100);
  EXPECT_GE(done, 1);
  EXPECT_EQ(others, 0);
}

// ---- Cancel ----------------------------------------------------------------------------------

void expect_cancelled(bw_context* context, const bw_plan* plan) {
  bw_answer* answer = reinterpret_cast<bw_answer*>(context);
  EXPECT_EQ(bw_compare(context, plan, nullptr, 0, &answer), BW_CANCELLED);
  EXPECT_EQ(answer, nullptr);
  EXPECT_EQ(bw_error_status(context), BW_CANCELLED);
  ASSERT_EQ(errors(context).size(), 1U);
  EXPECT_EQ(errors(context).at(0).at("class"), "cancelled");
  EXPECT_EQ(errors(context).at(0).at("pointer"), "") << "no place in the plan is at fault";
  EXPECT_STRNE(bw_error_text(context), "");
}

TEST(Cancel, from_a_callback) {
  Context context;
  const Plan plan = read_good(context, many_routes(5));
  const std::string expected = compared(context, plan);
  Meanwhile meanwhile{[&] { bw_cancel(context); }};
  ASSERT_EQ(bw_set_progress(context, Meanwhile::progress, &meanwhile), BW_OK);
  expect_cancelled(context, plan);
  EXPECT_EQ(compared(context, plan), expected) << "the context is usable afterwards";
}

TEST(Cancel, from_another_thread) {
  Context context;
  const Plan plan = read_good(context, many_routes(5));
  const std::string expected = compared(context, plan);
  Meanwhile meanwhile{[&] { on_another_thread([&] { bw_cancel(context); }); }};
  ASSERT_EQ(bw_set_progress(context, Meanwhile::progress, &meanwhile), BW_OK);
  expect_cancelled(context, plan);
  EXPECT_EQ(compared(context, plan), expected);
}

TEST(Cancel, at_any_time) {
  Context context;
  const Plan plan = read_good(context, many_routes(50));
  const std::string expected = compared(context, plan);
  std::atomic<bool> enough{false};
  std::thread canceller([&] {
    while (!enough) bw_cancel(context);
  });
  int cancelled = 0;
  const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  while (cancelled < 20 && std::chrono::steady_clock::now() < end) {
    Answer answer;
    const bw_status status = compare(context, plan, answer);
    EXPECT_TRUE(status == BW_OK || status == BW_CANCELLED) << status;
    cancelled += status == BW_CANCELLED;
  }
  enough = true;
  canceller.join();
  EXPECT_EQ(cancelled, 20);
  EXPECT_EQ(compared(context, plan), expected);
}

/// A search for a best cut is one route's work, and long.
TEST(Cancel, in_the_middle_of_a_search) {
  Json document = minimal_plan();
  document["steps"] = Json::parse(R"({
    "shaker": {"kind": "table", "curve": {"Au": {"odds": "90"}}, "cut": "best", "search": ["1 %", "60 %"]}})");
  document["routes"] = Json::parse(R"({
    "best": {"step": "shaker", "concentrate": {"sell": "smelter"}, "tailings": {"keep": true}}})");
  Context context;
  const Plan plan = read_good(context, document);
  const std::string expected = compared(context, plan);
  std::atomic<bool> enough{false};
  std::thread canceller([&] {
    while (!enough) bw_cancel(context);
  });
  bool cancelled = false;
  const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  while (!cancelled && std::chrono::steady_clock::now() < end) {
    Answer answer;
    cancelled = compare(context, plan, answer) == BW_CANCELLED;
    if (cancelled) {
      EXPECT_EQ(errors(context).at(0).at("pointer"), "") << "no place in the plan is at fault";
    }
  }
  enough = true;
  canceller.join();
  EXPECT_TRUE(cancelled);
  EXPECT_EQ(compared(context, plan), expected);
}

TEST(Cancel, without_a_call_does_nothing) {
  Context context;
  bw_cancel(context);
  const Plan plan = read_good(context, many_routes(3));
  bw_cancel(context);
  bw_cancel(context);
  EXPECT_EQ(bw_error_status(context), BW_OK);
  EXPECT_EQ(net(compared(context, plan), "as it is"), "4500.00");
}

TEST(Cancel, stops_no_other_context) {
  Context context, other;
  const Plan plan = read_good(context, many_routes(5));
  Meanwhile meanwhile{[&] { bw_cancel(other); }};
  ASSERT_EQ(bw_set_progress(context, Meanwhile::progress, &meanwhile), BW_OK);
  EXPECT_EQ(net(compared(context, plan), "as it is"), "4500.00");
  EXPECT_TRUE(meanwhile.done);
}

// ---- Shared and outliving --------------------------------------------------------------------

TEST(Outlive, plans_and_answers_outlive_their_context) {
  Plan plan;
  Answer answer;
  {
    Context context;
    plan = read_good(context, minimal_plan());
    ASSERT_EQ(compare(context, plan, answer), BW_OK);
  }
  EXPECT_EQ(Json::parse(bw_plan_text(plan, nullptr)), minimal_plan());
  EXPECT_EQ(net(bw_answer_text(answer, nullptr), "as it is"), "4500.00");
  Context other;
  double number = 0;
  EXPECT_EQ(bw_answer_number(other, answer, "/routes/as it is/net", &number), BW_OK);
  EXPECT_EQ(number, 4500);
  EXPECT_EQ(compared(other, plan), bw_answer_text(answer, nullptr));
  Plan changed;
  EXPECT_EQ(bw_plan_with(other, plan, "/lot/wet_mass", "2 t", changed.out()), BW_OK);
  EXPECT_EQ(net(compared(other, changed), "as it is"), "9000.00");
}

TEST(Outlive, answers_outlive_their_plan) {
  Context context;
  Answer answer;
  {
    const Plan plan = read_good(context, minimal_plan());
    ASSERT_EQ(compare(context, plan, answer), BW_OK);
  }
  double number = 0;
  EXPECT_EQ(bw_answer_number(context, answer, "/routes/as it is/metal/Au/payable", &number), BW_OK);
  EXPECT_EQ(number, 45);
}

// ---- Every call at once ------------------------------------------------------------------------

using Job = bw_status (*)(bw_context*, const bw_plan*, const char*, size_t, bw_answer**);
using Request = bw_status (*)(bw_context*, const char*, size_t, bw_answer**);
/// A call of one kind on a shared plan: what it comes to, as text.
using Work = std::function<std::string(bw_context*, const bw_plan*)>;

std::string text_of(bw_context* context, bw_status status, const Answer& answer) {
  EXPECT_EQ(status, BW_OK) << bw_error_text(context);
  return answer != nullptr ? bw_answer_text(answer, nullptr) : "";
}
Work job(Job call, std::string options) {
  return [call, options = std::move(options)](bw_context* context, const bw_plan* plan) {
    Answer answer;
    return text_of(context, call(context, plan, options.data(), options.size(), answer.out()), answer);
  };
}
Work request(Request call, std::string text) {
  return [call, text = std::move(text)](bw_context* context, const bw_plan*) {
    Answer answer;
    return text_of(context, call(context, text.data(), text.size(), answer.out()), answer);
  };
}

/// The same lots with draws, valued by two threads.
std::string value_lots(bw_context* context, const bw_plan* plan) {
  const char* const pointers[] = {"/lot/wet_mass"};
  const std::vector<double> masses{1, 2, -1, 4, 5, 6, 7, 8, 9};
  const double* const columns[] = {masses.data()};
  const int64_t strides[] = {1};
  const std::string options = R"({"draws": 8, "threads": 2})";
  Answer answer;
  return text_of(context,
                 bw_value_lots(context, plan, options.data(), options.size(), pointers, columns, strides, 1,
                               masses.size(), nullptr, nullptr, 0, answer.out()),
                 answer);
}

std::string month_in_pieces(bw_context* context, const bw_plan*) {
  const std::string heading = R"({"format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01",
    "to": "2026-03-31", "buyers": {"refiner": {"terms": {"buys": "bar", "pay": {"Au": {}}}, "prices": {"Au": "80 USD/g"}}}})";
  const std::string first = "id,buyer,arrived,gross (ozt),Au (fine)\nB-1,refi", rest = "ner,2026-03-02,100,900\n";
  Handle<bw_month, bw_month_destroy> month;
  EXPECT_EQ(bw_month_open(context, heading.data(), heading.size(), month.out()), BW_OK) << bw_error_text(context);
  for (const std::string& piece : {first, rest})
    EXPECT_EQ(bw_month_take(context, month, "deliveries", piece.data(), piece.size()), BW_OK)
        << bw_error_text(context);
  Answer answer;
  const bw_status status = bw_month_close(context, month, answer.out());
  return text_of(context, status, answer);
}

std::string changed_and_asked(bw_context* context, const bw_plan* plan) {
  Plan changed;
  EXPECT_EQ(bw_plan_with(context, plan, "/lot/wet_mass", "2 t", changed.out()), BW_OK) << bw_error_text(context);
  return compared(context, changed);
}

std::string mistaken(bw_context* context, const bw_plan*) {
  Plan plan;
  EXPECT_EQ(read(context, R"({"format": "buttonworth-plan/1"})", plan), BW_DOCUMENT_MISSING_FIELD);
  return bw_error_list(context, nullptr);
}

std::string schema_and_formulas(bw_context* context, const bw_plan*) {
  Answer schema, formulas;
  const std::string first = text_of(context, bw_schema(context, "plan", schema.out()), schema);
  return first + text_of(context, bw_formulas(context, formulas.out()), formulas);
}

std::vector<Work> every_work() {
  const std::string of = R"("of": "/prices/Au")", draws = R"("draws": 2048, "threads": 2)";
  return {
      job(bw_compare, ""),
      job(bw_compare, R"({"arithmetic": "double"})"),
      job(bw_simulate, '{' + draws + '}'),
      job(bw_worth, '{' + draws + R"(, "candidates": [{)" + of + R"(, "error": "2 %", "cost": "1 USD"}]})"),
      value_lots,
      job(bw_break_even, '{' + of + '}'),
      job(bw_sensitivity, R"({"of": ["/prices/Au"]})"),
      job(bw_counter_offers, R"({"cuts": "held"})"),
      job(bw_map, R"({"x": {"of": "/prices/Au", "steps": 3}, "y": {"of": "/lot/wet_mass", "steps": 3}})"),
      request(bw_settle, R"({"format": "buttonworth-delivery/1", "currency": "USD", "arrived": "2026-03-09",
        "terms": {"buys": "concentrate", "pay": {"Au": {"share": "95 %"}}}, "prices": {"Au": "80 USD/g"},
        "delivered": {"wet_mass": "800 kg"}, "assays": {"Au": "50 g/t"}})"),
      request(bw_bench, R"({"format": "buttonworth-screen-assay/1", "coarse": {"mass": "1 g", "metal": "0.842 g"},
        "fine": {"mass": "399 g", "grade": "0.525 %"}})"),
      request(bw_convert, R"({"quantity": "17.5 dwt/st", "to": "g/t"})"),
      month_in_pieces,
      changed_and_asked,
      mistaken,
      schema_and_formulas,
  };
}

/// Does all of them, beginning somewhere; what each came to.
std::vector<std::string> done(const std::vector<Work>& all, std::size_t first, bw_context* context,
                              const bw_plan* plan) {
  std::vector<std::string> found(all.size());
  for (std::size_t i = 0; i < all.size(); ++i) {
    const std::size_t at = (first + i) % all.size();
    found[at] = all[at](context, plan);
  }
  return found;
}

// Before any other call where this test stands alone in its process, as it does in capi.threads.
TEST(Shared, one_plan_in_every_call_of_ten_threads) {
  Json unsure = minimal_plan();
  unsure["prices"]["Au"] = {{"low", "80 USD/g"}, {"high", "120 USD/g"}};
  Context context;
  const Plan plan = read_good(context, unsure);
  const std::vector<Work> all = every_work();
  std::vector<std::vector<std::string>> found(10);
  std::vector<std::thread> threads;
  for (std::size_t t = 0; t < found.size(); ++t)
    threads.emplace_back([&, t] {
      Context own;
      found[t] = done(all, t, own, plan);
    });
  for (std::thread& thread : threads) thread.join();
  const std::vector<std::string> alone = done(all, 0, context, plan);
  for (const std::string& one : alone) EXPECT_NE(one, "");
  for (const auto& one : found) EXPECT_EQ(one, alone);
}

TEST(Shared, one_plan_from_four_threads_gives_one_text) {
  Context context;
  const Plan plan = read_good(context, many_routes(10));
  const std::string expected = compared(context, plan);
  std::vector<std::string> texts(4);
  std::vector<std::thread> threads;
  for (std::string& text : texts)
    threads.emplace_back([&plan, &text] {
      Context own;
      for (int i = 0; i < 10; ++i) text = compared(own, plan);
    });
  for (std::thread& thread : threads) thread.join();
  for (const std::string& text : texts) EXPECT_EQ(text, expected);
}

TEST(Shared, one_answer_is_read_from_four_threads) {
  Context context;
  const Plan plan = read_good(context, minimal_plan());
  Answer answer;
  ASSERT_EQ(compare(context, plan, answer), BW_OK);
  std::vector<double> numbers(4);
  std::vector<std::thread> threads;
  for (double& number : numbers)
    threads.emplace_back([&answer, &number] {
      Context own;
      EXPECT_EQ(bw_answer_number(own, answer, "/routes/as it is/net", &number), BW_OK);
    });
  for (std::thread& thread : threads) thread.join();
  for (double number : numbers) EXPECT_EQ(number, 4500);
}

TEST(Shared, first_calls_of_a_process_may_be_many_at_once) {
  std::vector<std::thread> threads;
  std::vector<std::string> texts(4);
  for (std::string& text : texts)
    threads.emplace_back([&text] {
      Context own;
      text = compared(own, read_good(own, minimal_plan()));
    });
  for (std::thread& thread : threads) thread.join();
  for (const std::string& text : texts) EXPECT_EQ(text, texts[0]);
}

}  // namespace
}  // namespace capi
