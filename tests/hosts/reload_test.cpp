// The libraries loaded, used, unloaded and loaded again, in both orders: they go away, and leave neither
// threads nor memory behind. And loaded while the host reckons in a way of its own. This program is not
// linked with them.

#include <malloc.h>

#include <cfenv>
#include <filesystem>
#include <iterator>
#include <memory>

#include <gtest/gtest.h>

#include "questions.hpp"
#if defined(__x86_64__)
#include <xmmintrin.h>
#endif

namespace hosts {
namespace {

constexpr int every_symbol_now = RTLD_NOW | RTLD_LOCAL;

/// Both libraries, loaded one after the other and unloaded the same way or the other way round.
class Pair {
 public:
  enum class Order { core_first, schedule_first };
  Pair(Order in, Order out) : out_(out) {
    for (int i = 0; i < 2; ++i) {
      const bool core = (i == 0) == (in == Order::core_first);
      void*& handle = core ? core_ : schedule_;
      handle = dlopen(core ? BUTTONWORTH_LIBRARY : BUTTONWORTH_SCHEDULE_LIBRARY, every_symbol_now);
      if (handle == nullptr) throw std::runtime_error(dlerror());
    }
    library_ = loaded(core_, schedule_);
  }
  ~Pair() {
    const bool core_first = out_ == Order::core_first;
    dlclose(core_first ? core_ : schedule_);
    dlclose(core_first ? schedule_ : core_);
  }
  Pair(const Pair&) = delete;
  Pair& operator=(const Pair&) = delete;
  const Library& operator*() const { return library_; }

 private:
  Order out_;
  void *core_ = nullptr, *schedule_ = nullptr;
  Library library_;
};

bool is_loaded(const char* path) {
  void* handle = dlopen(path, RTLD_NOW | RTLD_NOLOAD);
  if (handle != nullptr) dlclose(handle);
  return handle != nullptr;
}
std::ptrdiff_t threads() {
  return std::distance(std::filesystem::directory_iterator("/proc/self/task"),
                       std::filesystem::directory_iterator());
}

/// Threads, a solver, curves, a sheet of paper: a little of everything, quickly.
std::vector<Question> a_little() {
  std::vector<Question> chosen;
  for (const Question& one : demonstration_questions())
    for (const char* name : {"demo-small", "demo-simulate", "demo-settled", "demo-month", "demo-5-table-test",
                             "demo-lots", "schema plan", "schema none such"})
      if (one.name == name) chosen.push_back(one);
  for (const Question& one : vector_questions())
    if (one.call == "allocate" && one.name.find("bad") != 0 && chosen.size() < 10) chosen.push_back(one);
  chosen.push_back(foreign_questions().at(2));
  return chosen;
}

std::vector<std::string> asked(const Library& library, const std::vector<Question>& questions) {
  std::vector<std::string> answers;
  for (const Question& one : questions) answers.push_back(answer(library, one));
  return answers;
}

TEST(Reload, a_hundred_times_leaves_nothing_behind) {
  using Order = Pair::Order;
  constexpr Order orders[] = {Order::core_first, Order::schedule_first};
  const std::vector<Question> questions = a_little();
  std::vector<std::string> first;
  std::size_t in_use = 0;
  for (int i = 0; i < 100; ++i) {
    {
      const Pair pair(orders[i % 2], orders[i / 2 % 2]);
      std::vector<std::string> answers = asked(*pair, questions);
      if (first.empty()) first = std::move(answers);
      else ASSERT_TRUE(answers == first) << i;
    }
    ASSERT_FALSE(is_loaded(BUTTONWORTH_LIBRARY)) << "it cannot be unloaded";
    ASSERT_FALSE(is_loaded(BUTTONWORTH_SCHEDULE_LIBRARY)) << "it cannot be unloaded";
    ASSERT_EQ(threads(), 1) << "a thread outlives the library";
    if (i == 20) in_use = mallinfo2().uordblks;
  }
  EXPECT_LE(mallinfo2().uordblks, in_use + 16 * 1024) << "in eighty rounds";
}

/// What a library works out as it is loaded does not hang on how its host reckons.
TEST(Reload, takes_nothing_from_how_the_host_reckons) {
  const std::vector<Question> questions = a_little();
  const auto load_and_ask = [&] {
    const Pair pair(Pair::Order::core_first, Pair::Order::core_first);
    return asked(*pair, questions);
  };
  const std::vector<std::string> expected = load_and_ask();
  std::vector<std::vector<std::string>> found;
  for (const int mode : {FE_UPWARD, FE_DOWNWARD, FE_TOWARDZERO}) {
    std::fesetround(mode);
    feenableexcept(FE_DIVBYZERO | FE_INVALID | FE_OVERFLOW);
#if defined(__x86_64__)
    _mm_setcsr(_mm_getcsr() | 0x8040);
    const unsigned short short_long_double = 0x007F;
    asm volatile("fldcw %0" : : "m"(short_long_double));
#endif
    found.push_back(load_and_ask());
    std::fesetenv(FE_DFL_ENV);
  }
  for (const auto& answers : found) EXPECT_TRUE(answers == expected);
}

}  // namespace
}  // namespace hosts
