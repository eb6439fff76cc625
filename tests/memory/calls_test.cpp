// Memory that runs out, at every allocation of a call in turn: each alone, and each with all that follow. Each call
// gives BW_MEMORY or its very answer, leaves its places as the contract says, loses nothing, and can be made again.

#include <cstring>
#include <fstream>
#include <set>

#include "runs.hpp"

namespace memory {
namespace {

/// The first thousand are tried one by one, then each twentieth part further on.
long next_after(long number) { return number < 1000 ? number + 1 : number + number / 20; }

void expect_memory_told(const Case& one, const Stage& stage, const Good& good) {
  stage.expect_failed(one.places, good.results);
  if ((one.places & a_context) != 0) return;  // there is no other context to ask
  EXPECT_EQ(bw_error_status(stage.context), BW_MEMORY);
  EXPECT_STREQ(bw_error_text(stage.context), "there is not enough memory for this");
  EXPECT_NE(std::strstr(bw_error_list(stage.context, nullptr), R"("code":"memory")"), nullptr);
}

/// BW_MEMORY as it must be told, or what the call comes to with all the memory it wants.
void expect_right(const Case& one, const Stage& stage, const Good& good, bw_status status) {
  if (status == BW_MEMORY) return expect_memory_told(one, stage, good);
  EXPECT_EQ(status, one.expected) << bw_error_text(stage.context);
  EXPECT_EQ(stage.told(one.places), good.told);
}

/// One call while memory runs out, and the same again with all it wants. Returns whether it got that far.
Trial expect_survived(const Case& one, Stage& stage, const Good& good, allocations::Refusal refusal) {
  const long before = allocations::live();
  const Trial trial = call_refused(one, stage, refusal);
  expect_right(one, stage, good, trial.status);
  stage.free_results();
  EXPECT_EQ(allocations::live(), before) << "something was lost";
  EXPECT_EQ(call_good(one, stage).told, good.told) << "the context goes on";
  EXPECT_EQ(allocations::live(), before) << "something was lost later";
  return trial;
}

/// What is made once a process, or once a context, is made here.
Good warmed_up(const Case& one, Stage& stage) {
  call_good(one, stage);
  call_refused(one, stage, {1, true});
  stage.free_results();
  return call_good(one, stage);
}

class Call : public testing::TestWithParam<Case> {};

TEST_P(Call, survives_every_allocation) {
  const Case& one = GetParam();
  Stage stage;
  const Good good = warmed_up(one, stage);
  for (const bool lasting : {false, true}) {
    long ran_out = 0;
    for (long number = 1;; number = next_after(number)) {
      const Trial trial = expect_survived(one, stage, good, {number, lasting});
      ASSERT_FALSE(HasFailure()) << "at " << in_words({number, lasting}) << " of " << good.allocations;
      if (!trial.refused) break;
      ran_out += trial.status == BW_MEMORY;
    }
    EXPECT_EQ(ran_out > 0, good.allocations > 0);
  }
}

std::string case_name(const testing::TestParamInfo<Case>& info) {
  std::string name = info.param.name;
  for (char& letter : name)
    if (std::isalnum(static_cast<unsigned char>(letter)) == 0) letter = '_';
  return name;
}
INSTANTIATE_TEST_SUITE_P(Memory, Call, testing::ValuesIn(cases()), case_name);

/// A stream of plain values that none of the test's own allocations disturbs.
struct Free {
  const char* function;
  void (*call)(Stage&);
};
constexpr Free needing_none[] = {
    {"bw_abi_version", [](Stage&) { bw_abi_version(); }},
    {"bw_answer_text", [](Stage& s) { bw_answer_text(s.answer, &s.size); }},
    {"bw_answer_destroy", [](Stage& s) { bw_answer_destroy(&s.new_answer); }},
    {"bw_cancel", [](Stage& s) { bw_cancel(s.context); }},
    {"bw_context_destroy", [](Stage& s) { bw_context_destroy(&s.new_context); }},
    {"bw_error_list", [](Stage& s) { bw_error_list(s.context, &s.size); }},
    {"bw_error_status", [](Stage& s) { bw_error_status(s.context); }},
    {"bw_error_text", [](Stage& s) { bw_error_text(s.context); }},
    {"bw_month_destroy", [](Stage& s) { bw_month_destroy(&s.new_month); }},
    {"bw_plan_destroy", [](Stage& s) { bw_plan_destroy(&s.new_plan); }},
    {"bw_plan_text", [](Stage& s) { bw_plan_text(s.plan, &s.size); }},
    {"bw_status_class", [](Stage&) { bw_status_class(BW_MEMORY); }},
    {"bw_status_name", [](Stage&) { bw_status_name(BW_MEMORY); }},
    {"bw_status_text", [](Stage&) { bw_status_text(BW_MEMORY); }},
    {"bw_version", [](Stage&) { bw_version(); }},
};

/// Handles of every kind, to be asked and freed.
void fill(Stage& stage) {
  const std::string plan = capi::minimal_plan().dump();
  EXPECT_EQ(capi::read(stage.context, plan, stage.plan), BW_OK);
  EXPECT_EQ(bw_plan_read(stage.context, plan.data(), plan.size(), &stage.new_plan), BW_OK);
  EXPECT_EQ(bw_compare(stage.context, stage.plan, nullptr, 0, stage.answer.out()), BW_OK);
  EXPECT_EQ(bw_compare(stage.context, stage.plan, nullptr, 0, &stage.new_answer), BW_OK);
  EXPECT_EQ(bw_context_create(&stage.new_context), BW_OK);
  const std::string month = R"({"format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01",
                                "to": "2026-03-31", "buyers": {"smelter": {"terms": {"buys": "concentrate"}}}})";
  EXPECT_EQ(bw_month_open(stage.context, month.data(), month.size(), &stage.new_month), BW_OK);
}

TEST(Memory, is_not_needed_to_ask_and_to_free) {
  Stage stage;
  fill(stage);
  for (const Free& one : needing_none) {
    allocations::refuse({1, true});
    one.call(stage);
    EXPECT_EQ(allocations::allow(), 0) << one.function;
  }
}

void add_lines(std::set<std::string>& all, const char* file) {
  std::ifstream lines(file);
  EXPECT_TRUE(lines) << file;
  for (std::string line; std::getline(lines, line);) all.insert(line);
}

TEST(Memory, runs_out_in_every_function) {
  std::set<std::string> tested, exported;
  for (const Case& one : cases()) tested.insert(one.function);
  for (const Free& one : needing_none) tested.insert(one.function);
  add_lines(exported, BUTTONWORTH_SYMBOLS "/symbols.txt");
#ifdef BUTTONWORTH_SCHEDULE
  add_lines(exported, BUTTONWORTH_SYMBOLS "/schedule_symbols.txt");
#endif
  EXPECT_EQ(tested, exported);
}

/// A system that gives no more threads: the work is done by those that are there.
TEST(Memory, is_not_what_a_thread_too_few_is_called) {
  int tried = 0;
  for (const Case& one : cases()) {
    if (!one.on_threads) continue;
    Stage stage;
    const Good good = warmed_up(one, stage);
    for (const long count : {0, 1}) {
      const long before = allocations::live();
      if (one.prepare) one.prepare(stage);
      stage.soil();
      allocations::refuse_threads_after(count);
      const bw_status status = one.call(stage);
      allocations::allow();
      EXPECT_TRUE(allocations::was_refused()) << one.name << " asked for no more than " << count << " threads";
      EXPECT_EQ(status, one.expected) << one.name << ": " << bw_error_text(stage.context);
      EXPECT_EQ(stage.told(one.places), good.told) << one.name;
      stage.free_results();
      EXPECT_EQ(allocations::live(), before) << one.name << " lost something";
      ++tried;
    }
  }
  EXPECT_GE(tried, 6);
}

#ifdef BUTTONWORTH_SCHEDULE
// The solver does not live through a failed allocation: where there is too little for it, it is not entered. What is
// asked for inside it counts here.
TEST(Memory, is_there_before_the_solver_is_entered) {
  for (const Case& one : cases()) {
    if (one.function != "bw_allocate") continue;
    Stage stage;
    const Good good = warmed_up(one, stage);
    int ran_out = 0;
    for (std::size_t room = 1000;; room += room / 8) {
      const long before = allocations::live();
      stage.soil();
      allocations::refuse_beyond(room);
      const bw_status status = one.call(stage);
      allocations::allow();
      expect_right(one, stage, good, status);
      stage.free_results();
      EXPECT_EQ(allocations::live(), before) << "something was lost";
      ASSERT_FALSE(HasFailure()) << one.name << " with room for " << room << " bytes";
      if (!allocations::was_refused()) break;
      ++ran_out;
    }
    EXPECT_GT(ran_out, 20) << one.name;
  }
}
#endif

/// A month that met its end of memory is over.
TEST(Memory, ends_a_month_that_ran_out_of_it) {
  for (const Case& one : cases()) {
    if (one.function != "bw_month_take" && one.function != "bw_month_close") continue;
    Stage stage;
    warmed_up(one, stage);
    ASSERT_EQ(call_refused(one, stage, {1, true}).status, BW_MEMORY) << one.name;
    EXPECT_EQ(bw_month_take(stage.context, stage.open, "received", "", 0), BW_USAGE_OVER) << one.name;
  }
}

// Every vector, at some places: what the cases above do not have.
TEST(Vectors, survive_some_allocations) {
  const std::vector<Case> all = vector_cases();
  EXPECT_GE(all.size(), 600U);
  for (std::size_t v = 0; v < all.size(); ++v) {
    Stage stage;
    Case one = all[v];
    one.expected = call_refused(one, stage, {-1, false}).status;  // a mistake's own status
    stage.free_results();
    const Good good = warmed_up(one, stage);
    for (long part = 1; part <= 4; ++part) {
      const long number = 1 + good.allocations * part / 5 + static_cast<long>(v) % 7;  // not the same in all
      const allocations::Refusal refusal{number, part % 2 == 0};
      expect_survived(one, stage, good, refusal);
      ASSERT_FALSE(HasFailure()) << one.name << " at " << in_words(refusal) << " of " << good.allocations;
    }
  }
}

}  // namespace
}  // namespace memory
