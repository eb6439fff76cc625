// A host that rounds another way, traps exceptions, flushes small numbers to zero or shortens long double:
// the same bytes as everywhere, and its own setting when the call is over and in its callbacks.

#include <cfenv>
#include <functional>

#include "undisturbed.hpp"
#if defined(__x86_64__)
#include <xmmintrin.h>
#endif

namespace hosts {
namespace {

/// How this thread reckons: rounding, traps, flags, and what else the processor keeps there.
struct Setting {
  int rounding = std::fegetround(), traps = fegetexcept(), flags = std::fetestexcept(FE_ALL_EXCEPT);
#if defined(__x86_64__)
  unsigned vectors = _mm_getcsr();
  unsigned short long_double = control(), long_double_flags = status();
  static unsigned short control() {
    unsigned short word = 0;
    asm volatile("fnstcw %0" : "=m"(word));
    return word;
  }
  static unsigned short status() {
    unsigned short word = 0;
    asm volatile("fnstsw %0" : "=m"(word));
    return word & 0x80FF;  // without what comparisons leave behind
  }
#endif
  bool operator==(const Setting&) const = default;
};
std::ostream& operator<<(std::ostream& out, const Setting& one) {
  out << std::hex << "rounding " << one.rounding << ", traps " << one.traps << ", flags " << one.flags;
#if defined(__x86_64__)
  out << ", vectors " << one.vectors << ", long double " << one.long_double << " " << one.long_double_flags;
#endif
  return out;
}

struct Odd {
  const char* name;
  std::function<void()> set;
};
std::ostream& operator<<(std::ostream& out, const Odd& one) { return out << one.name; }
void round_to(int mode) { std::fesetround(mode); }
void trap(int exceptions) { feenableexcept(exceptions); }
#if defined(__x86_64__)
void set_long_double(unsigned short bits) {
  unsigned short word = static_cast<unsigned short>((Setting::control() & ~0x300) | bits);
  asm volatile("fldcw %0" : : "m"(word));
}
void raise_by_long_double() {
  volatile long double one = 1, none = 0;
  one = one / none;
}
#endif

const Odd settings[] = {
    {"upward", [] { round_to(FE_UPWARD); }},
    {"downward", [] { round_to(FE_DOWNWARD); }},
    {"toward_zero", [] { round_to(FE_TOWARDZERO); }},
    {"trapped", [] { trap(FE_DIVBYZERO | FE_INVALID | FE_OVERFLOW); }},
    {"all_trapped", [] { trap(FE_ALL_EXCEPT); }},
    {"flags", [] { std::feraiseexcept(FE_ALL_EXCEPT); }},
#if defined(__x86_64__)
    {"flushed", [] { _mm_setcsr(_mm_getcsr() | 0x8040); }},  // results and operands that are denormal
    {"short_long_double", [] { set_long_double(0); }},
    {"long_double_as_double", [] { set_long_double(0x200); }},
    {"flag_of_long_double", [] { raise_by_long_double(); }},
    {"flag_of_short_long_double",
     [] {
       raise_by_long_double();
       set_long_double(0);
     }},
#endif
};

/// What callbacks see, and how often they are called.
struct Callbacks {
  Setting wanted;
  long calls = 0, wrong = 0;
  void look() {
    ++calls;
    wrong += Setting() != wanted;
  }
  static void progress(void* user, int64_t, int64_t) { static_cast<Callbacks*>(user)->look(); }
  static void record(void* user, int32_t, const char*, size_t) { static_cast<Callbacks*>(user)->look(); }
};

class Arithmetic : public testing::TestWithParam<Odd> {
 protected:
  void SetUp() override { undisturbed(); }
  void TearDown() override { std::fesetenv(FE_DFL_ENV); }
};

TEST_P(Arithmetic, of_the_host_changes_nothing_and_stays) {
  std::vector<std::string> answers(undisturbed().questions.size()), changed;
  bw_context* context = nullptr;
  ASSERT_EQ(bw_context_create(&context), BW_OK);
  ASSERT_EQ(bw_set_limit(context, "depth", 512), BW_OK);
  GetParam().set();
  Callbacks callbacks;
  bw_set_progress(context, Callbacks::progress, &callbacks);
  bw_set_log(context, Callbacks::record, &callbacks, 0);
  bool stays = true;
  for (std::size_t i = 0; i < answers.size(); ++i) {
    answers[i] = answer(linked(), context, undisturbed().questions[i]);
    if (Setting() == callbacks.wanted) continue;
    stays = false;
    changed.push_back(undisturbed().questions[i].name);
    GetParam().set();
  }
  const Setting after;
  std::fesetenv(FE_DFL_ENV);
  bw_context_destroy(&context);
  EXPECT_TRUE(stays) << after << " instead of " << callbacks.wanted << "; changed by " << changed.size()
                     << " questions, such as " << changed.front();
  EXPECT_GT(callbacks.calls, 1000);
  EXPECT_EQ(callbacks.wrong, 0) << "callbacks run as the host reckons";
  expect_undisturbed(answers);
}
INSTANTIATE_TEST_SUITE_P(All, Arithmetic, testing::ValuesIn(settings),
                         [](const auto& info) { return std::string(info.param.name); });

/// A callback that changes the setting changes it for the host alone.
TEST(ArithmeticOfCallbacks, is_the_hosts) {
  const Question question = demonstration_questions().at(1);
  const std::string expected = answer(linked(), question);
  bw_context* context = nullptr;
  ASSERT_EQ(bw_context_create(&context), BW_OK);
  bw_set_progress(
      context, [](void*, int64_t, int64_t) { std::fesetround(FE_UPWARD); }, nullptr);
  const std::string found = answer(linked(), context, question);
  const int rounding = std::fegetround();
  std::fesetenv(FE_DFL_ENV);
  bw_context_destroy(&context);
  EXPECT_EQ(rounding, FE_UPWARD);
  EXPECT_TRUE(found == expected);
}

}  // namespace
}  // namespace hosts
