#include "allocations.hpp"

#include <dlfcn.h>
#include <execinfo.h>
#include <link.h>
#include <malloc.h>
#include <pthread.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <climits>
#include <cstdlib>
#include <cstring>
#include <new>

namespace {

std::atomic<long> asked{0}, first_refused{LONG_MAX}, last_refused{LONG_MAX}, blocks{0},
    threads_left{LONG_MAX};
std::atomic<std::size_t> bytes_asked{0}, bytes_out{0}, most_out{0}, out_before{0}, most_allowed{SIZE_MAX};
std::atomic<bool> refused{false};

struct Stretch {
  std::uintptr_t first, last;
};
std::array<Stretch, 16> solver;
std::size_t solver_parts = 0;

/// Notes where the solver's libraries lie.
int note_solver(dl_phdr_info* library, std::size_t, void*) {
  const char* const names[] = {"/libCbc", "/libCgl", "/libClp", "/libOsi", "/libCoinUtils"};
  const auto is_in = [&](const char* name) { return std::strstr(library->dlpi_name, name) != nullptr; };
  if (std::none_of(std::begin(names), std::end(names), is_in)) return 0;
  for (int i = 0; i < library->dlpi_phnum && solver_parts < solver.size(); ++i) {
    const auto& part = library->dlpi_phdr[i];
    if (part.p_type != PT_LOAD || (part.p_flags & PF_X) == 0) continue;
    const std::uintptr_t start = library->dlpi_addr + part.p_vaddr;
    solver[solver_parts++] = {start, start + part.p_memsz};
  }
  return 0;
}

/// Whether the solver is at work in this thread.
bool is_in_solver() {
  std::array<void*, 64> frames;
  const int depth = solver_parts > 0 ? backtrace(frames.data(), static_cast<int>(frames.size())) : 0;
  return std::any_of(frames.data(), frames.data() + depth, [](void* frame) {
    const auto at = reinterpret_cast<std::uintptr_t>(frame);
    return std::any_of(solver.data(), solver.data() + solver_parts,
                       [&](const Stretch& one) { return at >= one.first && at < one.last; });
  });
}

/// Whether the allocation that is asked for now is one of those to be refused.
bool is_refused(std::size_t size) {
  const long number = ++asked;
  bytes_asked += size;
  const bool chosen = number >= first_refused && number <= last_refused && !is_in_solver();
  if (!chosen && (size <= most_allowed && bytes_out <= most_allowed - size)) return false;
  refused = true;
  return true;
}

void* counted(void* made) {
  if (made == nullptr) {
    errno = ENOMEM;
    return nullptr;
  }
  ++blocks;
  const std::size_t out = bytes_out += malloc_usable_size(made);
  for (std::size_t most = most_out; most < out && !most_out.compare_exchange_weak(most, out);) continue;
  return made;
}
void uncounted(void* memory) {
  if (memory == nullptr) return;
  --blocks;
  bytes_out -= malloc_usable_size(memory);
}

void begin() {
  refused = false;
  asked = 0;
  out_before = most_out = bytes_out.load();
}

}  // namespace

namespace allocations {

void refuse(Refusal refusal) {
  begin();
  last_refused = refusal.lasting ? LONG_MAX : refusal.first;
  first_refused = refusal.first;
}

void refuse_beyond(std::size_t bytes) {
  begin();
  most_allowed = bytes_out + bytes;
}

void refuse_threads_after(long count) {
  begin();
  threads_left = count;
}

long allow() {
  first_refused = last_refused = threads_left = LONG_MAX;
  most_allowed = SIZE_MAX;
  return asked;
}

bool was_refused() { return refused; }
long live() { return blocks; }
std::size_t bytes() { return bytes_asked; }
std::size_t peak() { return most_out - out_before; }

}  // namespace allocations

#ifdef BUTTONWORTH_SANITIZED
// A sanitizer has a malloc of its own, so that here only C++ runs out of memory.
static void* made(std::size_t size) noexcept {
  return is_refused(size) ? nullptr : counted(std::malloc(size != 0 ? size : 1));
}
static void* made_or_thrown(std::size_t size) {
  if (void* memory = made(size)) return memory;
  throw std::bad_alloc();
}
static void freed(void* memory) noexcept {
  uncounted(memory);
  std::free(memory);
}
void* operator new(std::size_t size) { return made_or_thrown(size); }
void* operator new[](std::size_t size) { return made_or_thrown(size); }
void* operator new(std::size_t size, const std::nothrow_t&) noexcept { return made(size); }
void* operator new[](std::size_t size, const std::nothrow_t&) noexcept { return made(size); }
void operator delete(void* memory) noexcept { freed(memory); }
void operator delete[](void* memory) noexcept { freed(memory); }
void operator delete(void* memory, std::size_t) noexcept { freed(memory); }
void operator delete[](void* memory, std::size_t) noexcept { freed(memory); }
void operator delete(void* memory, const std::nothrow_t&) noexcept { freed(memory); }
void operator delete[](void* memory, const std::nothrow_t&) noexcept { freed(memory); }
#else
// What a program defines stands before the C library's, for all shared libraries too; operator new comes
// here.
#pragma GCC visibility push(default)  // Clang hides them otherwise
extern "C" {
void* __libc_malloc(std::size_t);
void* __libc_calloc(std::size_t, std::size_t);
void* __libc_realloc(void*, std::size_t);
void* __libc_memalign(std::size_t, std::size_t);
void __libc_free(void*);

void* malloc(std::size_t size) { return counted(is_refused(size) ? nullptr : __libc_malloc(size)); }
void* calloc(std::size_t count, std::size_t size) {
  return counted(is_refused(count * size) ? nullptr : __libc_calloc(count, size));
}
void* realloc(void* old, std::size_t size) {
  if (old == nullptr) return malloc(size);
  if (size == 0) return free(old), nullptr;
  if (is_refused(size)) return counted(nullptr);
  const std::size_t before = malloc_usable_size(old);
  void* const made = __libc_realloc(old, size);
  if (made != nullptr) bytes_out += malloc_usable_size(made) - before;
  return made;
}
void* memalign(std::size_t alignment, std::size_t size) {
  return counted(is_refused(size) ? nullptr : __libc_memalign(alignment, size));
}
void* aligned_alloc(std::size_t alignment, std::size_t size) { return memalign(alignment, size); }
int posix_memalign(void** out, std::size_t alignment, std::size_t size) {
  void* const made = memalign(alignment, size);
  if (made == nullptr) return ENOMEM;
  *out = made;
  return 0;
}
void free(void* memory) {
  uncounted(memory);
  __libc_free(memory);
}
}
#pragma GCC visibility pop
#endif

using Create = int (*)(pthread_t*, const pthread_attr_t*, void* (*)(void*), void*);
static Create next_create() {
  void* const found = dlsym(RTLD_NEXT, "pthread_create");
  Create create = nullptr;
  std::memcpy(&create, &found, sizeof create);
  return create;
}
/// Libraries may start threads before anything here is made, as OpenBLAS does, which the solver may come
/// with.
static Create create_thread() {
  static const Create create = next_create();
  return create;
}
// Now, as the first look at any of them may allocate.
static const bool create_known = create_thread() != nullptr;
static const int solver_noted = dl_iterate_phdr(note_solver, nullptr);
static const bool unwinder_loaded = (is_in_solver(), true);

extern "C" [[gnu::visibility("default")]] int pthread_create(pthread_t* thread,
                                                             const pthread_attr_t* attributes,
                                                             void* (*start)(void*), void* argument) {
  if (threads_left-- <= 0) {
    refused = true;
    return EAGAIN;
  }
  return create_thread()(thread, attributes, start, argument);
}
