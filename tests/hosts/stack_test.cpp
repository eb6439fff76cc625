// Every kind of call on a thread with a stack of 256 KiB, and its own threads with as much; as deep as
// documents and routes may be. How much was used is told by what of a pattern is left.

#include <pthread.h>
#include <signal.h>
#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <cstring>
#include <map>

#include "undisturbed.hpp"

namespace hosts {
namespace {

constexpr std::size_t stack_bytes = 256 * 1024;
constexpr unsigned char untouched = 0xA5;

/// A stack with a page below it that nobody may touch.
class Stack {
 public:
  Stack() {
    const auto page = static_cast<std::size_t>(sysconf(_SC_PAGESIZE));
    size_ = stack_bytes + page;
    memory_ = static_cast<unsigned char*>(
        mmap(nullptr, size_, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0));
    mprotect(memory_, page, PROT_NONE);
    start_ = memory_ + page;
  }
  ~Stack() { munmap(memory_, size_); }
  Stack(const Stack&) = delete;
  Stack& operator=(const Stack&) = delete;

  void paint() { std::memset(start_, untouched, stack_bytes); }
  std::size_t used() const {
    const unsigned char* end = start_ + stack_bytes;
    return static_cast<std::size_t>(end - std::find_if(start_, const_cast<unsigned char*>(end),
                                                       [](unsigned char c) { return c != untouched; }));
  }
  template <class Body>
  void run(Body& body) {
    pthread_attr_t attributes;
    pthread_attr_init(&attributes);
    pthread_attr_setstack(&attributes, start_, stack_bytes);
    pthread_t thread;
    const auto start = [](void* what) -> void* {
      (*static_cast<Body*>(what))();
      return nullptr;
    };
    ASSERT_EQ(pthread_create(&thread, &attributes, start, &body), 0);
    pthread_join(thread, nullptr);
    pthread_attr_destroy(&attributes);
  }

 private:
  std::size_t size_ = 0;
  unsigned char *memory_ = nullptr, *start_ = nullptr;
};

/// What is asked at the moment, for the one who overflows.
const char* under_way = "";
char emergency_stack[64 * 1024];
void tell_overflow(int) {
  const char text[] = "the stack was too small for: ";
  if (write(STDERR_FILENO, text, sizeof text - 1) < 0 ||
      write(STDERR_FILENO, under_way, std::strlen(under_way)) < 0)
    _exit(2);
  _exit(1);
}

void expect_room(const std::vector<Question>& questions) {
  Stack stack;
  std::map<std::string, std::size_t> most;
  for (const Question& question : questions) {
    under_way = question.name.c_str();
    const std::string expected = answer(linked(), question);
    std::string found;
    auto ask = [&] {
      const stack_t for_handler = {emergency_stack, 0, sizeof emergency_stack};
      sigaltstack(&for_handler, nullptr);
      found = answer(linked(), question);
    };
    stack.paint();
    stack.run(ask);
    EXPECT_TRUE(found == expected) << question.name;
    std::size_t& used = most[question.call];
    used = std::max(used, stack.used());
  }
  for (const auto& [call, used] : most) {
    std::printf("%-16s %4zu KiB\n", call.c_str(), (used + 1023) / 1024);
    EXPECT_LE(used, stack_bytes) << call;
  }
}

class Stacks : public testing::Test {
 protected:
  void SetUp() override {
    struct sigaction action = {};
    action.sa_handler = tell_overflow;
    action.sa_flags = SA_ONSTACK;
    sigaction(SIGSEGV, &action, nullptr);
    pthread_attr_t attributes;  // of the library's own threads
    pthread_attr_init(&attributes);
    pthread_attr_setstacksize(&attributes, stack_bytes);
    pthread_setattr_default_np(&attributes);
    pthread_attr_destroy(&attributes);
  }
};

/// A month of lots, for as long as it takes to begin with all of it; what is chosen by then is not the same
/// twice.
TEST_F(Stacks, hold_a_month_of_lots) {
  Stack stack;
  const Question& month = demonstration_month_of_lots();
  under_way = month.name.c_str();
  std::string found;
  auto ask = [&] { found = answer(linked(), month); };
  stack.paint();
  stack.run(ask);
  EXPECT_EQ(found.find("ok\n"), 0U) << found.substr(0, 200);
  std::printf("%-16s %4zu KiB\n", "allocate", (stack.used() + 1023) / 1024);
}
TEST_F(Stacks, hold_the_demonstration) { expect_room(demonstration_questions()); }
TEST_F(Stacks, hold_what_the_vectors_state) { expect_room(vector_questions()); }
TEST_F(Stacks, hold_the_deepest_documents) { expect_room(deep_questions()); }

}  // namespace
}  // namespace hosts
