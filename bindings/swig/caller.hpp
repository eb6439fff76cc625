// What every language's module needs between SWIG and the C interface: handles that can be closed at
// any time, one call at a time on a context, and an error that is copied before the next call.
#pragma once

#include <atomic>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "buttonworth.h"

namespace caller {

/// What went wrong in a call: the line for people, and the list of all errors as JSON (never empty).
struct Failure {
  std::string text;
  std::string list;
};

/// A failure that the module itself has found; the status's own text if none is given.
Failure failure(bw_status status, const std::string& text = "", const std::string& pointer = "");
[[noreturn]] void fail(bw_status status, const std::string& text = "", const std::string& pointer = "");

/// The same for the part of a module that is written in its language: a value of the wrong kind.
[[noreturn]] void refuse(const char* pointer, std::size_t pointer_size, const char* text,
                         std::size_t text_size);

/// A text for a parameter of the C interface that ends with a zero byte.
std::string zero_ended(const char* text, std::size_t size);

/// A handle of the C interface. A thread may close it while another is in a call with it: that call
/// keeps the object to its end, and the next one finds the handle closed.
template <class T, void (*destroy)(T**)>
class Handle {
 public:
  explicit Handle(T* object) : object_(object, [](T* last) { destroy(&last); }) {}

  std::shared_ptr<T> open(const char* closed_text) const {
    const std::shared_ptr<T> object = peek();
    if (object == nullptr) fail(BW_USAGE_NULL, closed_text);
    return object;
  }
  std::shared_ptr<T> peek() const {
    const std::lock_guard<std::mutex> lock(mutex_);
    return object_;
  }
  void close() {
    std::shared_ptr<T> last;  // freed after the lock
    const std::lock_guard<std::mutex> lock(mutex_);
    last.swap(object_);
  }

 private:
  mutable std::mutex mutex_;
  std::shared_ptr<T> object_;
};

struct PlanHandle : Handle<bw_plan, bw_plan_destroy> {
  using Handle::Handle;
  std::shared_ptr<bw_plan> open() const { return Handle::open("this plan is closed"); }
};

struct AnswerHandle : Handle<bw_answer, bw_answer_destroy> {
  using Handle::Handle;
  std::shared_ptr<bw_answer> open() const { return Handle::open("this answer is closed"); }
};

struct MonthHandle : Handle<bw_month, bw_month_destroy> {
  using Handle::Handle;
  std::shared_ptr<bw_month> open() const { return Handle::open("this month is closed"); }
};

/// The rows of a plan's spreadsheet form, gathered one by one, as no two languages share a list.
struct RowList {
  std::vector<std::string> pointers;
  std::vector<std::string> values;
};

class ContextHandle {
 public:
  ContextHandle();
  void close() { handle_.close(); }
  void cancel();

  /// One call. The last error belongs to it: the C interface lets the next thread in as soon as a
  /// call returns, so the turn is held here until the error has been copied.
  template <class Body>
  void call(Body body) {
    const std::shared_ptr<bw_context> context = handle_.open("this context is closed");
    const Turn turn(turn_);
    const bw_status status = body(context.get());
    if (status != BW_OK) fail_with_last_error(*context, status);
  }

 private:
  class Turn {
   public:
    explicit Turn(std::atomic_flag& flag) : flag_(flag) {
      if (flag_.test_and_set(std::memory_order_acquire)) fail(BW_BUSY);
    }
    ~Turn() { flag_.clear(std::memory_order_release); }
    Turn(const Turn&) = delete;
    Turn& operator=(const Turn&) = delete;

   private:
    std::atomic_flag& flag_;
  };
  [[noreturn]] static void fail_with_last_error(const bw_context& context, bw_status status);

  Handle<bw_context, bw_context_destroy> handle_;
  std::atomic_flag turn_;
};

/// A call that works on a plan under options.
using PlanCall = bw_status(bw_context*, const bw_plan*, const char*, std::size_t, bw_answer**);

// The calls that want more than one line; the others stand in common.i.
AnswerHandle* ask_plan(PlanCall* call, ContextHandle& context, const PlanHandle& plan, const char* options,
                       std::size_t options_size);
/// By the library of schedules, which is looked for when this is first asked for: it needs a solver, and nothing
/// else here does.
AnswerHandle* allocate(ContextHandle& context, const char* json, std::size_t json_size);
std::vector<double> draws(ContextHandle& context, const AnswerHandle& answer, const std::string& name);
PlanHandle* read_rows(ContextHandle& context, const RowList& rows);
/// Numbers in the caller's memory: so many, so far apart.
template <class Number>
struct Numbers {
  Number* first;
  std::int64_t stride;
  std::size_t count;
};
/// How many routes a valuing of lots has figures of.
std::size_t lot_routes(ContextHandle& context, const PlanHandle& plan, const char* options,
                       std::size_t options_size);
/// Lots in columns, one after the other in the numbers, by the pointers of the rows; figures by lot and route.
AnswerHandle* value_lots(ContextHandle& context, const PlanHandle& plan, const char* options,
                         std::size_t options_size, const RowList& pointers, Numbers<const double> columns,
                         Numbers<double> values, Numbers<double> sds);
void convert_array(ContextHandle& context, const double* values, std::int64_t stride, std::size_t count,
                   const std::string& from, const std::string& to, double* out, std::int64_t out_stride,
                   std::size_t out_count);

/// One figure by a formula, with a context that the thread keeps for this: no handle is made for it.
double figure(std::string_view name, const double* arguments, std::size_t count);

double formula(ContextHandle& context, const std::string& name, const double* values, std::int64_t stride,
               std::size_t count);
/// The arguments lie one after the other, each as long as the results.
void formula_array(ContextHandle& context, const std::string& name, const double* values, std::int64_t stride,
                   std::size_t count, double* out, std::int64_t out_stride, std::size_t out_count);

/// A call that makes an object, and the handle around it.
template <class Object, class T, class Body>
Object* make(ContextHandle& context, Body body) {
  T* made = nullptr;
  context.call([&](bw_context* open) { return body(open, &made); });
  return new Object(made);
}

}  // namespace caller
