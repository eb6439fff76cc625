// What a host keeps for itself: its signals, its streams, its locale, its random numbers, its surroundings.
// This program has functions of its own in place of the C library's that would touch them, and counts who
// calls them.

#include <dlfcn.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <clocale>
#include <cstdio>
#include <cstdlib>
#include <mutex>
#include <set>

#include "undisturbed.hpp"

namespace {

std::atomic<bool> in_library{false};
std::mutex mutex;
std::set<std::string>& touched() {
  static std::set<std::string> names;
  return names;
}

/// The C library's own, having noted that the library called it.
template <class Function>
Function passed_on(const char* name) {
  if (in_library.exchange(false)) {
    const std::scoped_lock lock(mutex);
    touched().insert(name);
    in_library = true;
  }
  return reinterpret_cast<Function>(dlsym(RTLD_NEXT, name));
}

}  // namespace

#define HOSTS_STANDS_IN(result, name, parameters, arguments)                 \
  extern "C" __attribute__((visibility("default"))) result name parameters { \
    return passed_on<result(*) parameters>(#name) arguments;                 \
  }
HOSTS_STANDS_IN(sighandler_t, signal, (int number, sighandler_t handler) noexcept, (number, handler))
HOSTS_STANDS_IN(int, sigaction, (int number, const struct sigaction* now, struct sigaction* before) noexcept,
                (number, now, before))
HOSTS_STANDS_IN(int, sigprocmask, (int how, const sigset_t* now, sigset_t* before) noexcept,
                (how, now, before))
HOSTS_STANDS_IN(int, pthread_sigmask, (int how, const sigset_t* now, sigset_t* before) noexcept,
                (how, now, before))
HOSTS_STANDS_IN(char*, setlocale, (int category, const char* name) noexcept, (category, name))
HOSTS_STANDS_IN(locale_t, uselocale, (locale_t own) noexcept, (own))
HOSTS_STANDS_IN(char*, getenv, (const char* name) noexcept, (name))
HOSTS_STANDS_IN(char*, secure_getenv, (const char* name) noexcept, (name))
HOSTS_STANDS_IN(int, setenv, (const char* name, const char* value, int replace) noexcept,
                (name, value, replace))
HOSTS_STANDS_IN(int, putenv, (char* line) noexcept, (line))
HOSTS_STANDS_IN(FILE*, fopen, (const char* path, const char* mode), (path, mode))
HOSTS_STANDS_IN(FILE*, fopen64, (const char* path, const char* mode), (path, mode))
HOSTS_STANDS_IN(int, socket, (int domain, int type, int protocol) noexcept, (domain, type, protocol))
HOSTS_STANDS_IN(int, rand, () noexcept, ())
HOSTS_STANDS_IN(void, srand, (unsigned seed) noexcept, (seed))
HOSTS_STANDS_IN(double, drand48, () noexcept, ())
HOSTS_STANDS_IN(void, srand48, (long seed) noexcept, (seed))
HOSTS_STANDS_IN(long, random, () noexcept, ())
HOSTS_STANDS_IN(int, chdir, (const char* path) noexcept, (path))
HOSTS_STANDS_IN(mode_t, umask, (mode_t mode) noexcept, (mode))
HOSTS_STANDS_IN(int, atexit, (void (*function)()) noexcept, (function))
HOSTS_STANDS_IN(int, system, (const char* command), (command))
#define HOSTS_STANDS_IN_FOR_OPEN(name)                                                           \
  extern "C" __attribute__((visibility("default"))) int name(const char* path, int flags, ...) { \
    va_list more;                                                                                \
    va_start(more, flags);                                                                       \
    const mode_t mode = va_arg(more, mode_t);                                                    \
    va_end(more);                                                                                \
    return passed_on<int (*)(const char*, int, mode_t)>(#name)(path, flags, mode);               \
  }
HOSTS_STANDS_IN_FOR_OPEN(open)
HOSTS_STANDS_IN_FOR_OPEN(open64)

namespace hosts {
namespace {

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
  Captured(const Captured&) = delete;
  Captured& operator=(const Captured&) = delete;
  /// What was written since, the descriptor being what it was again.
  std::string written() {
    give_back();
    std::string text(static_cast<std::size_t>(lseek(fileno(file_), 0, SEEK_END)), '\0');
    const ssize_t size = pread(fileno(file_), text.data(), text.size(), 0);
    return text.substr(0, static_cast<std::size_t>(std::max<ssize_t>(size, 0)));
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

std::string joined(const std::set<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += name + " ";
  return text;
}

/// Asks everything, once, noting who calls what.
void ask_everything() {
  in_library = true;
  for (const Question& one : all_questions()) answer(linked(), one);
  answer(linked(), demonstration_month_of_lots());
  in_library = false;
}

TEST(Host, keeps_its_signals_streams_and_surroundings) {
  all_questions();  // read from files before anybody looks
  demonstration_month_of_lots();
  Captured out(STDOUT_FILENO), error(STDERR_FILENO);
  ask_everything();
  const std::string to_error = error.written(), to_out = out.written();
  EXPECT_EQ(to_out, "");
  EXPECT_EQ(to_error, "");
  EXPECT_EQ(joined(touched()), "");
}

/// That the functions above are the ones that a library's calls come to.
TEST(Host, notes_who_calls) {
  in_library = true;
  std::getenv("PATH");
  signal(SIGUSR2, SIG_DFL);
  in_library = false;
  EXPECT_TRUE(touched().count("getenv") && touched().count("signal"));
}

}  // namespace
}  // namespace hosts
