// Buttonworth for C++17: a thin wrapper over the C interface, in this header alone.
//
//     bw::Context context;
//     const bw::Plan plan = context.read(text);
//     const bw::Answer answer = context.compare(plan);
//     const std::string best = answer.string("/best");
//     const double leaves = answer.number("/routes" + bw::step(best) + "/present_value");
//
// What stands in buttonworth.h holds here too: documents are JSON text, one thread at a time uses a
// context, plans and answers are immutable and may be shared. What differs:
//
//   * What fails throws bw::Error.
//   * Handles are objects: they free what they hold, can be moved, and cannot be copied. One that
//     was moved from holds nothing: it may be destroyed or assigned to, and any other use of it
//     throws an Error of BW_USAGE_NULL.
//   * An answer is asked without a context: each thread keeps one of its own for that.
//
// Link with the library: buttonworth::buttonworth in CMake, `pkg-config --libs buttonworth` elsewhere.
#ifndef BUTTONWORTH_HPP
#define BUTTONWORTH_HPP

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "buttonworth.h"

namespace bw {

// ---- Errors ---------------------------------------------------------------------------------

/// What went wrong with a call. what() is one line: where, what was found, what would be right.
class Error : public std::runtime_error {
 public:
  /// Of a status, its line of text, and the list of all errors as bw_error_list gives it.
  Error(bw_status status, const std::string& text, std::string list);

  /// What the call came to.
  bw_status status() const noexcept { return status_; }
  /// The code's name, such as "unit" or "unknown field".
  const char* code() const noexcept { return bw_status_name(status_); }
  /// The class's name: "usage", "document", "domain", "no solution", …
  const char* class_name() const noexcept { return bw_status_class(status_); }
  /// The JSON pointer of the first error; empty where the error has no place in a document.
  const std::string& pointer() const noexcept { return pointer_; }
  /// All independent errors of the call, as JSON text (see bw_error_list).
  const std::string& list() const noexcept { return list_; }

 private:
  bw_status status_;
  std::string list_;
  std::string pointer_;
};

// ---- Small things that need no context ------------------------------------------------------

/// The library's version, "major.minor.patch". The version of this header's library is known only
/// when it runs.
inline std::string_view version() noexcept { return bw_version(); }

/// A name as one step of a JSON pointer: "a/b" gives "/a~1b".
inline std::string step(std::string_view name) {
  std::string text = "/";
  for (const char c : name) {
    if (c == '~') text += "~0";
    else if (c == '/') text += "~1";
    else text += c;
  }
  return text;
}

namespace detail {

/// Where a text begins: an empty view may have none at all, which the C interface would take for a mistake.
inline const char* start(std::string_view text) noexcept { return text.empty() ? "" : text.data(); }

/// A text as C reads it, up to its end: what stands behind a zero byte would be left unread, so that there is
/// to be none. Throws an Error (BW_USAGE_TYPE).
inline const char* to_c(const std::string& text) {
  if (text.find('\0') != text.npos)
    throw Error(BW_USAGE_TYPE, "a zero byte stands in the text; take it out", "[]");
  return text.c_str();
}

/// Frees a handle with the C function that belongs to it.
template <class Handle, void (*destroy)(Handle**) noexcept>
struct Free {
  void operator()(Handle* handle) const noexcept { destroy(&handle); }
};
template <class Handle, void (*destroy)(Handle**) noexcept>
using Held = std::unique_ptr<Handle, Free<Handle, destroy>>;

using HeldContext = Held<bw_context, bw_context_destroy>;
using HeldPlan = Held<bw_plan, bw_plan_destroy>;
using HeldAnswer = Held<bw_answer, bw_answer_destroy>;
using HeldMonth = Held<bw_month, bw_month_destroy>;

/// Throws what the context kept. A context that another thread is using keeps that thread's error,
/// and must not be read here.
inline void check(bw_status status, const bw_context* context) {
  if (status == BW_OK) return;
  const bool kept = status != BW_BUSY && context != nullptr;
  throw Error(status, kept ? bw_error_text(context) : bw_status_text(status),
              kept ? bw_error_list(context, nullptr) : "[]");
}

inline HeldContext new_context() {
  bw_context* context = nullptr;
  check(bw_context_create(&context), nullptr);
  return HeldContext(context);
}

/// This thread's context for asking answers.
inline bw_context* asking() {
  thread_local const HeldContext context = new_context();
  return context.get();
}

/// A text that a C function puts into a buffer of the size it says.
template <class Call>
std::string text_from(Call&& call) {
  std::size_t needed = 0;
  check(call(nullptr, std::size_t{0}, &needed), asking());
  std::string text(needed, '\0');
  check(call(text.data(), text.size(), &needed), asking());
  text.resize(needed - 1);  // without the final zero
  return text;
}

/// A JSON string's character after a backslash. The library escapes what JSON demands and no more:
/// quotes, backslashes and control characters.
inline char unescaped(std::string_view list, std::size_t& at) {
  switch (list[at]) {
    case 'b': return '\b';
    case 'f': return '\f';
    case 'n': return '\n';
    case 'r': return '\r';
    case 't': return '\t';
    case 'u': at += 4; return static_cast<char>(std::stoi(std::string(list.substr(at - 3, 4)), nullptr, 16));
    default: return list[at];
  }
}

/// The first pointer of a list of errors. Its other fields before it hold no quotes.
inline std::string first_pointer(std::string_view list) {
  constexpr std::string_view name = "\"pointer\":";
  std::string pointer;
  std::size_t at = list.find(name);
  if (at == list.npos) return pointer;
  at = list.find('"', at + name.size());
  if (at == list.npos) return pointer;
  for (++at; at < list.size() && list[at] != '"'; ++at)
    pointer += list[at] == '\\' ? unescaped(list, ++at) : list[at];
  return pointer;
}

}  // namespace detail

inline Error::Error(bw_status status, const std::string& text, std::string list)
    : std::runtime_error(text),
      status_(status),
      list_(std::move(list)),
      pointer_(detail::first_pointer(list_)) {}

// ---- Plans and answers ----------------------------------------------------------------------

/// A plan that was read and found in order. Context::read makes it.
class Plan {
 public:
  /// Takes over a handle of the C interface.
  explicit Plan(bw_plan* handle) noexcept : handle_(handle) {}

  /// The plan's document as JSON; lives as long as the plan.
  std::string_view text() const noexcept {
    std::size_t size = 0;
    const char* text = bw_plan_text(get(), &size);
    return {text, size};
  }
  /// The handle, which stays the plan's.
  const bw_plan* get() const noexcept { return handle_.get(); }

 private:
  detail::HeldPlan handle_;
};

/// An answer: JSON text, and single values of it by JSON pointer.
class Answer {
 public:
  /// Takes over a handle of the C interface.
  explicit Answer(bw_answer* handle) noexcept : handle_(handle) {}

  /// The whole answer as JSON; lives as long as the answer, and ends with a zero byte.
  std::string_view text() const noexcept {
    std::size_t size = 0;
    const char* text = bw_answer_text(get(), &size);
    return {text, size};
  }
  /// The number at a pointer; "12.4 kg" gives 12.4.
  double number(std::string_view pointer) const {
    double value = 0;
    detail::check(bw_answer_number(detail::asking(), get(), detail::to_c(std::string(pointer)), &value),
                  detail::asking());
    return value;
  }
  /// What stands at a pointer: a string without its quotes, anything else as JSON.
  std::string string(std::string_view pointer) const {
    const std::string at(pointer);
    return detail::text_from([&](char* buffer, std::size_t capacity, std::size_t* needed) {
      return bw_answer_string(detail::asking(), get(), detail::to_c(at), buffer, capacity, needed);
    });
  }
  /// How many entries the list or object at a pointer has.
  std::size_t count(std::string_view pointer) const {
    std::size_t entries = 0;
    detail::check(bw_answer_count(detail::asking(), get(), detail::to_c(std::string(pointer)), &entries),
                  detail::asking());
    return entries;
  }
  /// The name of an entry of the object at a pointer, in the answer's order; index from 0.
  std::string name(std::string_view pointer, std::size_t index) const {
    const std::string at(pointer);
    return detail::text_from([&](char* buffer, std::size_t capacity, std::size_t* needed) {
      return bw_answer_name(detail::asking(), get(), detail::to_c(at), index, buffer, capacity, needed);
    });
  }
  /// The draws that a simulation kept, of a route by its name or of an input by its pointer.
  std::vector<double> draws(std::string_view what) const {
    const std::string name(what);
    std::size_t size = 0;
    detail::check(bw_answer_draws(detail::asking(), get(), detail::to_c(name), nullptr, 0, &size),
                  detail::asking());
    std::vector<double> values(size);
    detail::check(bw_answer_draws(detail::asking(), get(), detail::to_c(name), values.data(), size, &size),
                  detail::asking());
    return values;
  }
  /// The handle, which stays the answer's.
  const bw_answer* get() const noexcept { return handle_.get(); }

 private:
  detail::HeldAnswer handle_;
};

/// A month that is being read. Context::open_month makes it.
class Month {
 public:
  /// Takes over a handle of the C interface.
  explicit Month(bw_month* handle) noexcept : handle_(handle) {}
  /// The handle, which stays the month's.
  bw_month* get() const noexcept { return handle_.get(); }

 private:
  detail::HeldMonth handle_;
};

// ---- Context --------------------------------------------------------------------------------

/// A row of the spreadsheet form: a JSON pointer and a value.
using Row = std::pair<std::string, std::string>;

/// Limits, logger, progress, and the calls that make plans and answers.
class Context {
 public:
  Context() : handle_(detail::new_context()) {}

  /// Reads a plan from JSON text.
  Plan read(std::string_view json) {
    bw_plan* plan = nullptr;
    check(bw_plan_read(get(), detail::start(json), json.size(), &plan));
    return Plan(plan);
  }
  /// Reads a plan from its spreadsheet form.
  Plan read_rows(const std::vector<Row>& rows) {
    bw_plan* plan = nullptr;
    check(in_columns(rows, [&](auto... columns) { return bw_plan_read_rows(get(), columns..., &plan); }));
    return Plan(plan);
  }
  /// The document that rows state, as JSON text: a delivery for settle, a request for bench.
  Answer document(const std::vector<Row>& rows) {
    return answer([&](bw_answer** out) {
      return in_columns(rows, [&](auto... columns) { return bw_read_rows(get(), columns..., out); });
    });
  }
  /// A plan like another with the value at a pointer replaced.
  Plan with(const Plan& other, std::string_view pointer, std::string_view value) {
    bw_plan* plan = nullptr;
    check(bw_plan_with(get(), other.get(), detail::to_c(std::string(pointer)),
                       detail::to_c(std::string(value)), &plan));
    return Plan(plan);
  }
  /// Works out every route of a plan. options: JSON text, or empty for the defaults.
  Answer compare(const Plan& plan, std::string_view options = {}) { return job(bw_compare, plan, options); }

  /// Every value of one quantity at which another route takes the lead: {"of": "/prices/Au"}.
  Answer break_even(const Plan& plan, std::string_view options) { return job(bw_break_even, plan, options); }
  /// What each losing buyer would have to change for his route to win, in words too.
  Answer counter_offers(const Plan& plan, std::string_view options = {}) {
    return job(bw_counter_offers, plan, options);
  }
  /// How far the cut of a table may be off before it costs more than a sum.
  Answer forgiving_cut(const Plan& plan, std::string_view options = {}) {
    return job(bw_forgiving_cut, plan, options);
  }
  /// What each quantity does to every route and to the lead, what matters most first.
  Answer sensitivity(const Plan& plan, std::string_view options = {}) {
    return job(bw_sensitivity, plan, options);
  }
  /// Which route leads over two quantities: {"x": {"of": …}, "y": {"of": …}}.
  Answer map(const Plan& plan, std::string_view options) { return job(bw_map, plan, options); }

  /// How sure it is: the plan drawn many times. options as for compare.
  Answer simulate(const Plan& plan, std::string_view options = {}) { return job(bw_simulate, plan, options); }
  /// What measuring an uncertain quantity once more is worth; options name the candidates.
  Answer worth(const Plan& plan, std::string_view options) { return job(bw_worth, plan, options); }

  /// A column of lots: the pointer to a quantity of the plan, and each lot's number in the plan's unit of it.
  using Column = std::pair<std::string, std::vector<double>>;
  /// Many lots by one plan: columns of one length. values and sds: NULL, or room for a number by lot and
  /// route.
  Answer value_lots(const Plan& plan, const std::vector<Column>& columns, std::string_view options = {},
                    double* values = nullptr, double* sds = nullptr, std::size_t capacity = 0) {
    std::vector<const char*> pointers;
    std::vector<const double*> numbers;
    const std::size_t rows = columns.empty() ? 0 : columns.front().second.size();
    for (const auto& [pointer, column] : columns) {
      if (column.size() != rows) detail::check(BW_USAGE_SIZE, nullptr);
      pointers.push_back(detail::to_c(pointer));
      numbers.push_back(column.data());
    }
    const std::vector<std::int64_t> strides(columns.size(), 1);
    return answer([&](bw_answer** out) {
      return bw_value_lots(get(), plan.get(), options.data(), options.size(), pointers.data(), numbers.data(),
                           strides.data(), columns.size(), rows, values, sds, capacity, out);
    });
  }

  /// What a buyer owes for a delivery: the statement.
  Answer settle(std::string_view delivery) {
    return answer(
        [&](bw_answer** out) { return bw_settle(get(), detail::start(delivery), delivery.size(), out); });
  }

  /// Where a buyer's return differs from what was due.
  Answer reconcile(std::string_view delivery_and_return) {
    return answer([&](bw_answer** out) {
      return bw_reconcile(get(), detail::start(delivery_and_return), delivery_and_return.size(), out);
    });
  }

  /// The book of a month of deliveries.
  Answer book(std::string_view month) {
    return answer([&](bw_answer** out) { return bw_book(get(), detail::start(month), month.size(), out); });
  }
  /// Opens a month whose tables come in pieces.
  Month open_month(std::string_view heading) {
    bw_month* month = nullptr;
    check(bw_month_open(get(), detail::start(heading), heading.size(), &month));
    return Month(month);
  }
  /// Takes the next piece of a month's table, "deliveries" or "received".
  void take(const Month& month, std::string_view table, std::string_view csv) {
    check(
        bw_month_take(get(), month.get(), detail::to_c(std::string(table)), detail::start(csv), csv.size()));
  }
  /// Ends the tables and makes the book.
  Answer close(const Month& month) {
    return answer([&](bw_answer** out) { return bw_month_close(get(), month.get(), out); });
  }

  /// What contesting an assay of a delivery is worth.
  Answer dispute(std::string_view request) {
    return answer(
        [&](bw_answer** out) { return bw_dispute(get(), detail::start(request), request.size(), out); });
  }

  /// Metal called for against metal accounted for, stage by stage.
  Answer metal_call(std::string_view request) {
    return answer(
        [&](bw_answer** out) { return bw_metal_call(get(), detail::start(request), request.size(), out); });
  }

  /// Sampling, a lot from a run sheet, balances, curves, flux, bars, waiting: the request's format says
  /// which.
  Answer bench(std::string_view request) {
    return answer(
        [&](bw_answer** out) { return bw_bench(get(), detail::start(request), request.size(), out); });
  }
  /// One figure of plain numbers by a formula of the bench.
  double formula(std::string_view name, std::initializer_list<double> arguments) {
    double result = 0;
    check(bw_formula(get(), detail::to_c(std::string(name)), arguments.begin(), arguments.size(), &result));
    return result;
  }
  /// The formulas with their arguments.
  Answer formulas() {
    return answer([&](bw_answer** out) { return bw_formulas(get(), out); });
  }

  /// Converts a quantity exactly: request {"quantity": Q, "to": UNIT}, answer "number unit".
  Answer convert(std::string_view request) {
    return answer(
        [&](bw_answer** out) { return bw_convert(get(), detail::start(request), request.size(), out); });
  }
  /// Converts a number from one unit to another of the same dimension, in double.
  double convert(double value, std::string_view from, std::string_view to) {
    double result = 0;
    check(bw_convert_array(get(), &value, 1, 1, detail::to_c(std::string(from)),
                           detail::to_c(std::string(to)), &result, 1));
    return result;
  }
  /// The JSON Schema of a document: "plan", "comparison", "options".
  Answer schema(std::string_view name) {
    return answer([&](bw_answer** out) { return bw_schema(get(), detail::to_c(std::string(name)), out); });
  }

  /// Sets one of the limits a document must keep to; names as in bw_set_limit.
  void set_limit(std::string_view name, std::int64_t value) {
    check(bw_set_limit(get(), detail::to_c(std::string(name)), value));
  }
  /// One of these limits as it is now.
  std::int64_t limit(std::string_view name) {
    std::int64_t value = 0;
    check(bw_get_limit(get(), detail::to_c(std::string(name)), &value));
    return value;
  }

  /// A host's logger: level (0 trace to 4 error) and text. It must not throw.
  using Log = std::function<void(std::int32_t, std::string_view)>;
  /// Sends records of this level and above to the logger; an empty one ends it.
  void set_log(Log log, std::int32_t level) {
    auto next = std::make_unique<Log>(std::move(log));
    check(bw_set_log(get(), *next ? &Context::pass_log : nullptr, next.get(), level));
    log_ = std::move(next);
  }
  /// A host's progress display: done, of total. It must not throw.
  using Progress = std::function<void(std::int64_t, std::int64_t)>;
  /// Reports progress of long calls to the display; an empty one ends it.
  void set_progress(Progress progress) {
    auto next = std::make_unique<Progress>(std::move(progress));
    check(bw_set_progress(get(), *next ? &Context::pass_progress : nullptr, next.get()));
    progress_ = std::move(next);
  }
  /// Asks the call under way to stop; it throws an Error of BW_CANCELLED. Any thread, any time.
  void cancel() noexcept { bw_cancel(get()); }

  /// The handle, which stays the context's.
  bw_context* get() noexcept { return handle_.get(); }

 private:
  void check(bw_status status) const { detail::check(status, handle_.get()); }

  template <class Call>
  Answer answer(Call&& call) {
    bw_answer* made = nullptr;
    check(call(&made));
    return Answer(made);
  }

  /// Rows as the C interface takes them: pointers, values and their number.
  template <class Call>
  static bw_status in_columns(const std::vector<Row>& rows, Call call) {
    std::vector<const char*> pointers, values;
    for (const auto& [pointer, value] : rows) {
      pointers.push_back(detail::to_c(pointer));
      values.push_back(detail::to_c(value));
    }
    return call(pointers.data(), values.data(), rows.size());
  }

  /// A call that works on a plan under options.
  Answer job(bw_status (*call)(bw_context*, const bw_plan*, const char*, std::size_t, bw_answer**),
             const Plan& plan, std::string_view options) {
    return answer(
        [&](bw_answer** out) { return call(get(), plan.get(), options.data(), options.size(), out); });
  }

  // An exception must not pass through the C interface: noexcept ends the program instead.
  static void pass_log(void* user, std::int32_t level, const char* text, std::size_t size) noexcept {
    (*static_cast<Log*>(user))(level, std::string_view(text, size));
  }
  static void pass_progress(void* user, std::int64_t done, std::int64_t total) noexcept {
    (*static_cast<Progress*>(user))(done, total);
  }

  // Callbacks before the handle, so that they outlive it; on the heap, so that moving keeps their place.
  std::unique_ptr<Log> log_;
  std::unique_ptr<Progress> progress_;
  detail::HeldContext handle_;
};

}  // namespace bw

#endif
