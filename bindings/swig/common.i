// The C interface as every language's module has it: opaque handles, no default arguments (not every
// language can have them), text as a pair of bytes and length. A language's own file says what such a
// pair, an array of doubles and a failure are there, and then includes this one.
//
// Typemaps a language must give:
//   (const char* TEXT, size_t SIZE)                         text going in
//   (const double* values, int64_t stride, size_t count)    numbers going in
//   (double* out, int64_t out_stride, size_t out_count)     the place for results, or how many there will be
//   std::vector<double>                                     numbers coming out
//   std::string                                             text coming out
// and an %exception that turns a caller::Failure into the language's own error.

%include <stdint.i>

%{
#include "caller.hpp"
%}

%apply (const char* TEXT, size_t SIZE) {
  (const char* json, size_t json_size), (const char* options, size_t options_size),
  (const char* pointer, size_t pointer_size), (const char* value, size_t value_size),
  (const char* name, size_t name_size), (const char* text, size_t text_size),
  (const char* table, size_t table_size), (const char* csv, size_t csv_size),
  (const char* from, size_t from_size), (const char* to, size_t to_size)
};

// What a call makes is the caller's, who frees it.
%newobject caller::ContextHandle::plan;
%newobject caller::ContextHandle::plan_of_rows;
%newobject caller::ContextHandle::plan_with;
%newobject caller::ContextHandle::compare;
%newobject caller::ContextHandle::simulate;
%newobject caller::ContextHandle::worth;
%newobject caller::ContextHandle::break_even;
%newobject caller::ContextHandle::counter_offers;
%newobject caller::ContextHandle::forgiving_cut;
%newobject caller::ContextHandle::sensitivity;
%newobject caller::ContextHandle::map;
%newobject caller::ContextHandle::settle;
%newobject caller::ContextHandle::reconcile;
%newobject caller::ContextHandle::book;
%newobject caller::ContextHandle::month;
%newobject caller::ContextHandle::month_close;
%newobject caller::ContextHandle::dispute;
%newobject caller::ContextHandle::metal_call;
%newobject caller::ContextHandle::bench;
%newobject caller::ContextHandle::allocate;
%newobject caller::ContextHandle::formulas;
%newobject caller::ContextHandle::convert;
%newobject caller::ContextHandle::schema;

%nodefaultctor;
%nodefaultdtor;

namespace caller {

struct PlanHandle {};
struct AnswerHandle {};
struct MonthHandle {};
struct RowList {};
struct ContextHandle {};

void refuse(const char* pointer, size_t pointer_size, const char* text, size_t text_size);

}  // namespace caller

#ifndef SWIGOCTAVE  // where a module's functions are everybody's, and version is taken
%rename(version) bw_version;
#endif
const char* bw_version(void);

%extend caller::PlanHandle {
  ~PlanHandle() { delete $self; }
  void close() { $self->close(); }
  std::string text() { return bw_plan_text($self->open().get(), nullptr); }
}

%extend caller::AnswerHandle {
  ~AnswerHandle() { delete $self; }
  void close() { $self->close(); }
  std::string text() { return bw_answer_text($self->open().get(), nullptr); }
}

%extend caller::MonthHandle {
  ~MonthHandle() { delete $self; }
  void close() { $self->close(); }
}

%extend caller::RowList {
  RowList() { return new caller::RowList; }
  ~RowList() { delete $self; }
  void add(const char* pointer, size_t pointer_size, const char* value, size_t value_size) {
    $self->pointers.push_back(caller::zero_ended(pointer, pointer_size));
    $self->values.push_back(caller::zero_ended(value, value_size));
  }
}

%extend caller::ContextHandle {
  ContextHandle() { return new caller::ContextHandle; }
  ~ContextHandle() { delete $self; }
  void close() { $self->close(); }
  void cancel() { $self->cancel(); }

  void set_limit(const char* name, size_t name_size, int64_t limit) {
    const std::string text = caller::zero_ended(name, name_size);
    $self->call([&](bw_context* open) { return bw_set_limit(open, text.c_str(), limit); });
  }
  int64_t get_limit(const char* name, size_t name_size) {
    const std::string text = caller::zero_ended(name, name_size);
    int64_t limit = 0;
    $self->call([&](bw_context* open) { return bw_get_limit(open, text.c_str(), &limit); });
    return limit;
  }

  caller::PlanHandle* plan(const char* json, size_t json_size) {
    return caller::make<caller::PlanHandle, bw_plan>(*$self, [&](bw_context* open, bw_plan** out) {
      return bw_plan_read(open, json, json_size, out);
    });
  }
  caller::PlanHandle* plan_of_rows(const caller::RowList& rows) { return caller::read_rows(*$self, rows); }
  caller::PlanHandle* plan_with(const caller::PlanHandle& plan, const char* pointer, size_t pointer_size,
                                const char* value, size_t value_size) {
    const auto kept = plan.open();
    const std::string where = caller::zero_ended(pointer, pointer_size);
    const std::string what = caller::zero_ended(value, value_size);
    return caller::make<caller::PlanHandle, bw_plan>(*$self, [&](bw_context* open, bw_plan** out) {
      return bw_plan_with(open, kept.get(), where.c_str(), what.c_str(), out);
    });
  }

  // Empty options are the defaults.
  caller::AnswerHandle* compare(const caller::PlanHandle& plan, const char* options, size_t options_size) {
    return caller::ask_plan(bw_compare, *$self, plan, options, options_size);
  }
  caller::AnswerHandle* simulate(const caller::PlanHandle& plan, const char* options, size_t options_size) {
    return caller::ask_plan(bw_simulate, *$self, plan, options, options_size);
  }
  caller::AnswerHandle* worth(const caller::PlanHandle& plan, const char* options, size_t options_size) {
    return caller::ask_plan(bw_worth, *$self, plan, options, options_size);
  }
  std::vector<double> draws(const caller::AnswerHandle& answer, const char* name, size_t name_size) {
    return caller::draws(*$self, answer, caller::zero_ended(name, name_size));
  }

  caller::AnswerHandle* break_even(const caller::PlanHandle& plan, const char* options, size_t options_size) {
    return caller::ask_plan(bw_break_even, *$self, plan, options, options_size);
  }
  caller::AnswerHandle* counter_offers(const caller::PlanHandle& plan, const char* options, size_t options_size) {
    return caller::ask_plan(bw_counter_offers, *$self, plan, options, options_size);
  }
  caller::AnswerHandle* forgiving_cut(const caller::PlanHandle& plan, const char* options, size_t options_size) {
    return caller::ask_plan(bw_forgiving_cut, *$self, plan, options, options_size);
  }
  caller::AnswerHandle* sensitivity(const caller::PlanHandle& plan, const char* options, size_t options_size) {
    return caller::ask_plan(bw_sensitivity, *$self, plan, options, options_size);
  }
  caller::AnswerHandle* map(const caller::PlanHandle& plan, const char* options, size_t options_size) {
    return caller::ask_plan(bw_map, *$self, plan, options, options_size);
  }

  caller::AnswerHandle* settle(const char* json, size_t json_size) {
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_settle(open, json, json_size, out);
    });
  }

  caller::AnswerHandle* reconcile(const char* json, size_t json_size) {
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_reconcile(open, json, json_size, out);
    });
  }

  caller::AnswerHandle* book(const char* json, size_t json_size) {
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_book(open, json, json_size, out);
    });
  }
  caller::MonthHandle* month(const char* json, size_t json_size) {
    return caller::make<caller::MonthHandle, bw_month>(*$self, [&](bw_context* open, bw_month** out) {
      return bw_month_open(open, json, json_size, out);
    });
  }
  void month_take(const caller::MonthHandle& month, const char* table, size_t table_size, const char* csv,
                  size_t csv_size) {
    const auto kept = month.open();
    const std::string name = caller::zero_ended(table, table_size);
    $self->call(
        [&](bw_context* open) { return bw_month_take(open, kept.get(), name.c_str(), csv, csv_size); });
  }
  caller::AnswerHandle* month_close(const caller::MonthHandle& month) {
    const auto kept = month.open();
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_month_close(open, kept.get(), out);
    });
  }

  caller::AnswerHandle* dispute(const char* json, size_t json_size) {
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_dispute(open, json, json_size, out);
    });
  }

  caller::AnswerHandle* metal_call(const char* json, size_t json_size) {
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_metal_call(open, json, json_size, out);
    });
  }

  caller::AnswerHandle* bench(const char* json, size_t json_size) {
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_bench(open, json, json_size, out);
    });
  }
  caller::AnswerHandle* allocate(const char* json, size_t json_size) {
    return caller::allocate(*$self, json, json_size);
  }
  double formula(const char* name, size_t name_size, const double* values, int64_t stride, size_t count) {
    return caller::formula(*$self, caller::zero_ended(name, name_size), values, stride, count);
  }
  // Columns one after the other, each as long as the results.
  void formula_array(const char* name, size_t name_size, const double* values, int64_t stride, size_t count,
                     double* out, int64_t out_stride, size_t out_count) {
    caller::formula_array(*$self, caller::zero_ended(name, name_size), values, stride, count, out, out_stride,
                          out_count);
  }
  caller::AnswerHandle* formulas() {
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_formulas(open, out);
    });
  }

  caller::AnswerHandle* convert(const char* json, size_t json_size) {
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_convert(open, json, json_size, out);
    });
  }
  void convert_array(const double* values, int64_t stride, size_t count, const char* from, size_t from_size,
                     const char* to, size_t to_size, double* out, int64_t out_stride, size_t out_count) {
    caller::convert_array(*$self, values, stride, count, caller::zero_ended(from, from_size),
                          caller::zero_ended(to, to_size), out, out_stride, out_count);
  }
  caller::AnswerHandle* schema(const char* name, size_t name_size) {
    const std::string text = caller::zero_ended(name, name_size);
    return caller::make<caller::AnswerHandle, bw_answer>(*$self, [&](bw_context* open, bw_answer** out) {
      return bw_schema(open, text.c_str(), out);
    });
  }
}
