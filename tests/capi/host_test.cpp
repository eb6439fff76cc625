// The host's logger and its progress display. What else is the host's: tests/hosts.

#include <thread>

#include "support.hpp"

namespace capi {
namespace {

struct Record {
  int32_t level;
  std::string text;
  std::thread::id thread;
};
struct Log {
  std::vector<Record> records;
  static void record(void* user, int32_t level, const char* text, size_t size) {
    EXPECT_EQ(text[size], '\0');
    static_cast<Log*>(user)->records.push_back({level, std::string(text, size), std::this_thread::get_id()});
  }
};

Json bad_plan() {
  Json plan = minimal_plan();
  plan["lot"]["wet_mass"] = "1 oz";
  return plan;
}

// ---- Logger and progress ---------------------------------------------------------------------

TEST(Logger, receives_records_of_its_level_and_above) {
  Context context;
  Log log;
  ASSERT_EQ(bw_set_log(context, Log::record, &log, 0), BW_OK);
  const Plan plan = read_good(context, minimal_plan());
  ASSERT_EQ(log.records.size(), 1U);
  EXPECT_EQ(log.records[0].level, 2);
  EXPECT_NE(log.records[0].text.find("2 routes"), std::string::npos) << log.records[0].text;
  compared(context, plan);
  ASSERT_EQ(log.records.size(), 2U);
  EXPECT_NE(log.records[1].text.find("as it is"), std::string::npos) << log.records[1].text;
  EXPECT_EQ(refusal(context, bad_plan().dump()), BW_DOCUMENT_UNIT);
  ASSERT_EQ(log.records.size(), 3U);
  EXPECT_EQ(log.records[2].level, 3);
  EXPECT_EQ(log.records[2].text, bw_error_text(context));
  for (const Record& one : log.records) EXPECT_EQ(one.thread, std::this_thread::get_id());
}

TEST(Logger, passes_nothing_below_its_level) {
  Context context;
  Log log;
  ASSERT_EQ(bw_set_log(context, Log::record, &log, 3), BW_OK);
  compared(context, read_good(context, minimal_plan()));
  EXPECT_EQ(log.records.size(), 0U);
  EXPECT_EQ(refusal(context, bad_plan().dump()), BW_DOCUMENT_UNIT);
  EXPECT_EQ(log.records.size(), 1U);
  ASSERT_EQ(bw_set_log(context, Log::record, &log, 4), BW_OK);
  EXPECT_EQ(refusal(context, bad_plan().dump()), BW_DOCUMENT_UNIT);
  EXPECT_EQ(log.records.size(), 1U);
}

TEST(Logger, ends_with_null_and_is_the_contexts_own) {
  Context context, other;
  Log log;
  ASSERT_EQ(bw_set_log(context, Log::record, &log, 0), BW_OK);
  read_good(other, minimal_plan());
  EXPECT_EQ(log.records.size(), 0U);
  ASSERT_EQ(bw_set_log(context, nullptr, nullptr, 0), BW_OK);
  read_good(context, minimal_plan());
  EXPECT_EQ(log.records.size(), 0U);
}

TEST(Logger, text_is_passed_as_it_is) {
  Context context;
  Log log;
  ASSERT_EQ(bw_set_log(context, Log::record, &log, 0), BW_OK);
  Json plan = minimal_plan();
  plan["routes"] = {{"{} %s %n {0} gr\xc3\xbc\xc3\x9f", {{"keep", true}}}};
  compared(context, read_good(context, plan));
  ASSERT_EQ(log.records.size(), 2U);
  EXPECT_NE(log.records[1].text.find("{} %s %n {0} gr\xc3\xbc\xc3\x9f"), std::string::npos)
      << log.records[1].text;
}

struct Progress {
  std::vector<std::pair<int64_t, int64_t>> reports;
  static void report(void* user, int64_t done, int64_t total) {
    static_cast<Progress*>(user)->reports.emplace_back(done, total);
  }
};

TEST(ProgressDisplay, rises_to_the_total) {
  Context context;
  Progress progress;
  ASSERT_EQ(bw_set_progress(context, Progress::report, &progress), BW_OK);
  Json document = minimal_plan();
  for (int i = 0; i < 8; ++i) document["routes"]["route " + std::to_string(i)] = {{"keep", true}};
  const Plan plan = read_good(context, document);
  compared(context, plan);
  ASSERT_GE(progress.reports.size(), 1U);
  int64_t last = 0;
  for (const auto& [done, total] : progress.reports) {
    EXPECT_GT(total, 0);
    EXPECT_GE(done, last);
    EXPECT_LE(done, total);
    last = done;
  }
  EXPECT_EQ(progress.reports.back().first, progress.reports.back().second);
  const size_t before = progress.reports.size();
  ASSERT_EQ(bw_set_progress(context, nullptr, nullptr), BW_OK);
  compared(context, plan);
  EXPECT_EQ(progress.reports.size(), before);
}

/// What a display throws is no Error of ours; it ends its call, and nothing else.
TEST(ProgressDisplay, that_throws_ends_its_call_alone) {
  Context context;
  const Plan plan = read_good(context, minimal_plan());
  const std::string before = compared(context, plan);
  const auto throwing = [](void*, int64_t, int64_t) { throw 7; };
  ASSERT_EQ(bw_set_progress(context, throwing, nullptr), BW_OK);
  bw_answer* answer = nullptr;
  EXPECT_EQ(bw_compare(context, plan, nullptr, 0, &answer), BW_INTERNAL);
  EXPECT_EQ(answer, nullptr);
  EXPECT_NE(std::string(bw_error_text(context)), "");
  ASSERT_EQ(bw_set_progress(context, nullptr, nullptr), BW_OK);
  EXPECT_EQ(compared(context, plan), before);
}

}  // namespace
}  // namespace capi
