// The Python module _buttonworth: thin, for the package buttonworth, which is what programs import.
%module buttonworth

%{
#include <chrono>
#include <exception>
#include <future>
#include <new>

#include "caller.hpp"
#include "values.hpp"

namespace {

/// Lets the other threads of Python run while the library works.
class WithoutInterpreter {
 public:
  WithoutInterpreter() : state_(PyEval_SaveThread()) {}
  ~WithoutInterpreter() { PyEval_RestoreThread(state_); }
  WithoutInterpreter(const WithoutInterpreter&) = delete;
  WithoutInterpreter& operator=(const WithoutInterpreter&) = delete;

 private:
  PyThreadState* state_;
};

/// Runs a call while other threads of Python run, and where it may take long beside this thread, which then looks
/// after Python's signals. Where a signal's handler raises, as Ctrl-C's does, the call is cancelled and this throws
/// Raised: what the call came to is dropped. A thread costs a twentieth of a small comparison, most of it for memory
/// that is not this thread's.
template <class Call>
void watched(caller::ContextHandle& context, bool may_take_long, Call call) {
  constexpr std::chrono::milliseconds now_and_then(50);
  std::future<void> done = std::async(may_take_long ? std::launch::async : std::launch::deferred, call);
  const auto goes_on = [&] {
    const WithoutInterpreter others_run;
    if (!may_take_long) done.wait();
    return may_take_long && done.wait_for(now_and_then) != std::future_status::ready;
  };
  bool raised = false;
  while (goes_on()) {
    raised = raised || PyErr_CheckSignals() != 0;
    if (raised) context.cancel();  // again and again: the call may not have begun
  }
  if (raised) throw Raised{};
  done.get();
}

/// Texts of more bytes may keep a call busy for longer than a tenth of a second.
constexpr size_t long_text = 32768;

bool is_long(const caller::PlanHandle& plan) {
  size_t size = 0;
  bw_plan_text(plan.peek().get(), &size);
  return size > long_text;
}

/// Text as UTF-8, borrowed from the object.
bool text_of(PyObject* object, const char** text, size_t* size) {
  Py_ssize_t length = 0;
  if (PyBytes_Check(object)) {
    *text = PyBytes_AS_STRING(object);
    length = PyBytes_GET_SIZE(object);
  } else if (PyUnicode_Check(object)) {
    *text = PyUnicode_AsUTF8AndSize(object, &length);
  } else {
    PyErr_Format(PyExc_TypeError, "text is wanted here, not %s", Py_TYPE(object)->tp_name);
    return false;
  }
  *size = (size_t)length;
  return *text != nullptr;
}

/// A row of doubles of some object that shares its memory; released by PyBuffer_Release.
bool doubles_of(PyObject* object, int flags, Py_buffer* view, int64_t* stride, size_t* count) {
  if (PyObject_GetBuffer(object, view, flags | PyBUF_STRIDES | PyBUF_FORMAT) != 0) return false;
  const int64_t width = sizeof(double);
  const bool doubles = view->format != nullptr && std::string(view->format) == "d" && view->itemsize == width;
  if (!doubles || view->ndim != 1 || view->strides[0] % width != 0) {
    PyErr_SetString(PyExc_TypeError, "one row of doubles is wanted here");
    return false;
  }
  *count = (size_t)view->shape[0];
  *stride = *count > 1 ? view->strides[0] / width : 1;
  return true;
}

}  // namespace
%}

%define BW_CATCH
  catch (const Raised&) { SWIG_fail; }
  catch (const caller::Failure& failure) { raise_failure(failure); SWIG_fail; }
  catch (const std::bad_alloc&) { PyErr_NoMemory(); SWIG_fail; }
  catch (const std::exception& fault) { PyErr_SetString(PyExc_RuntimeError, fault.what()); SWIG_fail; }
%enddef

%exception {
  try { $action }
  BW_CATCH
}

// Of calls that take a second at most. The guard is gone before an error is raised, so that raising has the
// interpreter again.
%define BW_SHORT_CALL(NAME)
%exception caller::ContextHandle::NAME {
  try {
    const WithoutInterpreter others_run;
    $action
  }
  BW_CATCH
}
%enddef
BW_SHORT_CALL(plan)
BW_SHORT_CALL(plan_of_rows)
BW_SHORT_CALL(plan_with)
BW_SHORT_CALL(convert_array)
BW_SHORT_CALL(formula_array)
BW_SHORT_CALL(month)
BW_SHORT_CALL(lot_routes)

// Of calls that may take long. What a call made when it was cancelled too late is dropped.
%define BW_LONG_CALL(NAME, MAY_TAKE_LONG)
%exception caller::ContextHandle::NAME {
  try {
    std::unique_ptr<caller::AnswerHandle> made;
    watched(*arg1, MAY_TAKE_LONG, [&] {
      $action
      made.reset(result);
    });
    result = made.release();
  }
  BW_CATCH
}
%enddef
BW_LONG_CALL(compare, is_long(*arg2))
BW_LONG_CALL(simulate, true)
BW_LONG_CALL(worth, true)
BW_LONG_CALL(break_even, true)
BW_LONG_CALL(counter_offers, true)
BW_LONG_CALL(forgiving_cut, true)
BW_LONG_CALL(sensitivity, true)
BW_LONG_CALL(map, true)
BW_LONG_CALL(reconcile, true)
BW_LONG_CALL(book, true)
BW_LONG_CALL(month_close, true)
BW_LONG_CALL(dispute, true)
BW_LONG_CALL(value_lots, true)
BW_LONG_CALL(bench, true)
BW_LONG_CALL(allocate, true)

%exception caller::ContextHandle::month_take {
  try {
    watched(*arg1, arg6 > long_text, [&] { $action });
  }
  BW_CATCH
}

%typemap(in) (const char* TEXT, size_t SIZE) {
  const char* text = nullptr;
  if (!text_of($input, &text, &$2)) SWIG_fail;
  $1 = (char*)text;
}

%typemap(in) (const double* values, int64_t stride, size_t count) (Py_buffer view = Py_buffer()) {
  if (!doubles_of($input, 0, &view, &$2, &$3)) SWIG_fail;
  $1 = (double*)view.buf;
}
%typemap(freearg) (const double* values, int64_t stride, size_t count) { PyBuffer_Release(&view$argnum); }

%typemap(in) (double* out, int64_t out_stride, size_t out_count) (Py_buffer view = Py_buffer()) {
  if (!doubles_of($input, PyBUF_WRITABLE, &view, &$2, &$3)) SWIG_fail;
  $1 = (double*)view.buf;
}
%typemap(freearg) (double* out, int64_t out_stride, size_t out_count) { PyBuffer_Release(&view$argnum); }
%apply (double* out, int64_t out_stride, size_t out_count) { (double* sds, int64_t sds_stride, size_t sds_count) };

// The bytes of the doubles, for NumPy or an array to take over.
%typemap(out) std::vector<double> {
  const std::vector<double>& numbers = $1;
  $result = PyByteArray_FromStringAndSize(reinterpret_cast<const char*>(numbers.data()),
                                          (Py_ssize_t)(numbers.size() * sizeof(double)));
}

// Each says its parameters' names, so that the stub can be held against them.
%feature("autodoc", "0");

%include <std_string.i>
%include "common.i"

// Of many lots a language wants whole arrays.
%newobject caller::ContextHandle::value_lots;
%extend caller::ContextHandle {
  size_t lot_routes(const caller::PlanHandle& plan, const char* options, size_t options_size) {
    return caller::lot_routes(*$self, plan, options, options_size);
  }
  // Columns one after the other, by the pointers of the rows; places for a figure by lot and route.
  caller::AnswerHandle* value_lots(const caller::PlanHandle& plan, const char* options, size_t options_size,
                                   const caller::RowList& rows, const double* values, int64_t stride,
                                   size_t count, double* out, int64_t out_stride, size_t out_count, double* sds,
                                   int64_t sds_stride, size_t sds_count) {
    return caller::value_lots(*$self, plan, options, options_size, rows, {values, stride, count},
                              {out, out_stride, out_count}, {sds, sds_stride, sds_count});
  }
}

%extend caller::AnswerHandle {
  PyObject* value() {
    const auto kept = $self->open();
    size_t size = 0;
    const char* text = bw_answer_text(kept.get(), &size);
    return decode_answer(text, size);
  }
}
%rename(encode) encode_value;
PyObject* encode_value(PyObject* value, const char* pointer, size_t pointer_size);
%init %{
  if (add_formula(m) != 0) return NULL;
%}
