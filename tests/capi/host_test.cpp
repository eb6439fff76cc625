// The host's surroundings: its logger, its progress display, its standard streams, its locale and its
// rounding mode.

#include <fcntl.h>
#include <unistd.h>

#include <cfenv>
#include <clocale>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <locale>
#include <thread>

#include "support.hpp"

// Of the C library, which keeps where locales were looked for.
extern "C" __attribute__((visibility("default"))) const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() { return "leak:__argz_add_sep\n"; }

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

// ---- Standard streams ------------------------------------------------------------------------

/// Turns a file descriptor to a file for as long as it lives.
class Captured {
 public:
  explicit Captured(int descriptor) : descriptor_(descriptor), kept_(dup(descriptor)), file_(std::tmpfile()) {
    std::fflush(nullptr);
    dup2(fileno(file_), descriptor_);
  }
  ~Captured() {
    give_back();
    std::fclose(file_);
  }
  /// Bytes written since, the descriptor being what it was again.
  long written() {
    give_back();
    std::fseek(file_, 0, SEEK_END);
    return std::ftell(file_);
  }

 private:
  void give_back() {
    if (kept_ < 0) return;
    std::fflush(nullptr);
    dup2(kept_, descriptor_);
    close(kept_);
    kept_ = -1;
  }
  int descriptor_, kept_;
  std::FILE* file_;
};

void use_everything() {
  Context context;
  const Plan plan = read_good(context, minimal_plan());
  compared(context, plan);
  Plan other;
  Answer answer;
  bw_plan_read(context, "{", 1, other.out());
  bw_plan_read(context, nullptr, 1, other.out());
  const std::string bad = bad_plan().dump();
  bw_plan_read(context, bad.data(), bad.size(), other.out());
  bw_plan_with(context, plan, "/nothing", "x", other.out());
  bw_compare(context, plan, "{", 1, answer.out());
  bw_convert(context, "\xff", 1, answer.out());
  bw_schema(context, "plan", answer.out());
  bw_schema(context, "none", answer.out());
}

TEST(Streams, nothing_is_written) {
  Captured out(STDOUT_FILENO), error(STDERR_FILENO);
  use_everything();
  const long to_error = error.written(), to_out = out.written();
  EXPECT_EQ(to_out, 0);
  EXPECT_EQ(to_error, 0);
}

// ---- Locale ----------------------------------------------------------------------------------

/// What of an answer and of an error a locale could spoil: numbers in, numbers out, letters.
std::string everything_said() {
  Context context;
  Json document = minimal_plan();
  document["lot"]["wet_mass"] = "1234567.5 kg";
  document["prices"]["Au"] = "1234.5678 USD/g";
  document["lot"]["assays"]["Ti"] = "0.25 %";
  document["note"] = 12.5;
  const Plan plan = read_good(context, document);
  std::string said = compared(context, plan) + compared(context, plan, R"({"arithmetic": "double"})");
  Plan other;
  EXPECT_EQ(bw_plan_with(context, plan, "/discount", "1.5 %/a", other.out()), BW_OK)
      << bw_error_text(context);
  said += other != nullptr ? bw_plan_text(other, nullptr) : "no plan";
  document["discount"] = 1234.5;
  document["LOT"] = "I i";
  EXPECT_EQ(refusal(context, document.dump()), BW_DOCUMENT_TYPE);
  said += bw_error_text(context);
  Answer answer;
  double number = 0;
  EXPECT_EQ(compare(context, plan, answer), BW_OK);
  EXPECT_EQ(bw_answer_number(context, answer, "/routes/as it is/net", &number), BW_OK);
  return said + Json(number).dump();
}

/// Makes the locale ready in a folder of its own, where the machine has only its description.
void make_locale(const std::string& name, const std::filesystem::path& folder) {
  const std::string command =
      "localedef --no-archive -i " + name + " -f UTF-8 '" + (folder / (name + ".UTF-8")).string() + "' 2>&1";
  if (std::FILE* run = popen((command + " >/dev/null").c_str(), "r")) pclose(run);
}

class Locale : public testing::TestWithParam<const char*> {
 protected:
  void TearDown() override {
    std::setlocale(LC_ALL, "C");
    std::locale::global(std::locale::classic());
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  bool set(const std::string& name) {
    if (std::setlocale(LC_ALL, (name + ".UTF-8").c_str()) != nullptr) return true;
    std::string pattern = (std::filesystem::temp_directory_path() / "locale-XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) return false;
    folder_ = pattern;
    make_locale(name, folder_);
    setenv("LOCPATH", folder_.c_str(), 1);
    return std::setlocale(LC_ALL, (name + ".UTF-8").c_str()) != nullptr;
  }
  std::filesystem::path folder_;
};

TEST_P(Locale, changes_no_answer) {
  const std::string expected = everything_said();
  const std::string name = GetParam();
  if (!set(name)) GTEST_SKIP() << "this machine has neither the locale " << name << " nor its description";
  char text[16];
  std::snprintf(text, sizeof text, "%.1f", 1.5);
  EXPECT_STREQ(text, "1,5") << "the locale is in force";
  EXPECT_EQ(everything_said(), expected);
  std::locale::global(std::locale(name + ".UTF-8"));
  EXPECT_EQ(everything_said(), expected);
}
INSTANTIATE_TEST_SUITE_P(All, Locale, testing::Values("de_DE", "tr_TR"),
                         [](const auto& info) { return std::string(info.param); });

// ---- Rounding mode ---------------------------------------------------------------------------

class Rounding : public testing::TestWithParam<int> {
 protected:
  void TearDown() override { std::fesetround(FE_TONEAREST); }
};

TEST_P(Rounding, changes_no_decimal) {
  Context context;
  Json document = minimal_plan();
  document["lot"]["wet_mass"] = "1 lb";
  document["discount"] = "7 %/a";
  document["terms"]["smelter"]["final"] = "11 d";
  const std::string expected = compared(context, read_good(context, document));
  ASSERT_EQ(std::fesetround(GetParam()), 0);
  const std::string decimal = compared(context, read_good(context, document));
  Answer answer;
  double number = 0;
  const Plan plan = read_good(context, document);
  EXPECT_EQ(compare(context, plan, answer, R"({"arithmetic": "double"})"), BW_OK);
  EXPECT_EQ(bw_answer_number(context, answer, "/routes/as it is/net", &number), BW_OK);
  EXPECT_EQ(std::fegetround(), GetParam()) << "the caller's mode is the caller's";
  std::fesetround(FE_TONEAREST);
  EXPECT_EQ(decimal, expected);
  EXPECT_NEAR(number, 2.041165665, 1e-9);  // 0.45359237 kg x 50 g/t x 90 % x 100 USD/g
}
INSTANTIATE_TEST_SUITE_P(All, Rounding, testing::Values(FE_UPWARD, FE_DOWNWARD, FE_TOWARDZERO));

}  // namespace
}  // namespace capi
