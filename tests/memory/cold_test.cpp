// Memory that runs out at the first call of a process, when what is made once is being made. Each trial is a process
// of its own, so nothing here may call the library in the process of the test itself.

#include <sys/wait.h>
#include <unistd.h>

#include <cstring>
#include <functional>

#include "runs.hpp"

namespace memory {
namespace {

/// What a trial tells the process of the test.
struct Report {
  bw_status status;
  bool refused;
  bool as_good;      ///< BW_MEMORY, or told as good
  bool again_good;   ///< what the same call tells then
  long live;         ///< when all is freed
  std::size_t told;  ///< hash of what the last call told
};

Report try_it(const Case& one, allocations::Refusal refusal) {
  Report report{};
  {
    Stage stage;
    const Trial trial = call_refused(one, stage, refusal);
    const std::string told = stage.told(one.places);
    stage.free_results();
    const Good good = call_good(one, stage);
    report = {trial.status, trial.refused, trial.status == BW_MEMORY || told == good.told,
              !testing::Test::HasFailure(), 0, std::hash<std::string>()(good.told)};
  }
  report.live = allocations::live();
  return report;
}

/// The same in a process of its own; the wait status where it did not come to its end.
int in_own_process(const Case& one, allocations::Refusal refusal, Report& report) {
  int ends[2];
  EXPECT_EQ(pipe(ends), 0);
  const pid_t child = fork();
  if (child == 0) {
    const Report made = try_it(one, refusal);
    const bool written = write(ends[1], &made, sizeof made) == static_cast<ssize_t>(sizeof made);
    _exit(written ? 0 : 1);
  }
  close(ends[1]);
  int status = 0;
  const bool whole = read(ends[0], &report, sizeof report) == static_cast<ssize_t>(sizeof report);
  close(ends[0]);
  waitpid(child, &status, 0);
  return whole ? 0 : status;
}

/// The first fifty one by one, then each tenth part further on: a process each takes its time.
long next_after(long number) { return number < 50 ? number + 1 : number + number / 10; }

class First : public testing::TestWithParam<Case> {};

TEST_P(First, survives_some_allocations) {
  const Case& one = GetParam();
  Report good{}, report{};
  ASSERT_EQ(in_own_process(one, {-1, false}, good), 0);
  ASSERT_TRUE(good.again_good);
  for (long number = 1;; number = next_after(number)) {
    const allocations::Refusal refusal{number, number % 2 == 0};
    ASSERT_EQ(in_own_process(one, refusal, report), 0) << "the process ended at " << in_words(refusal);
    EXPECT_TRUE(report.status == BW_MEMORY || report.status == one.expected) << report.status;
    EXPECT_TRUE(report.as_good);
    EXPECT_TRUE(report.again_good);
    EXPECT_EQ(report.told, good.told);
    EXPECT_TRUE(report.live == good.live || one.on_threads) << "something was lost";
    ASSERT_FALSE(HasFailure()) << "at " << in_words(refusal);
    if (!report.refused) break;
  }
}

std::string case_name(const testing::TestParamInfo<Case>& info) {
  std::string name = info.param.name;
  for (char& letter : name)
    if (std::isalnum(static_cast<unsigned char>(letter)) == 0) letter = '_';
  return name;
}
INSTANTIATE_TEST_SUITE_P(Cold, First, testing::ValuesIn(cases()), case_name);

}  // namespace
}  // namespace memory
