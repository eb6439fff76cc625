// The Python module _buttonworth: thin, for the package buttonworth, which is what programs import.
%module buttonworth

%{
#include <exception>
#include <new>

#include "caller.hpp"

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

/// Raises the error that buttonworth.errors makes of a failure. Texts may quote what is not UTF-8.
void raise_failure(const caller::Failure& failure) {
  PyObject* errors = PyImport_ImportModule("buttonworth.errors");
  if (errors == nullptr) return;
  PyObject* text = PyUnicode_DecodeUTF8(failure.text.data(), (Py_ssize_t)failure.text.size(), "replace");
  PyObject* list = PyUnicode_DecodeUTF8(failure.list.data(), (Py_ssize_t)failure.list.size(), "replace");
  PyObject* error = text && list ? PyObject_CallMethod(errors, "from_failure", "OO", text, list) : nullptr;
  if (error != nullptr) PyErr_SetObject((PyObject*)Py_TYPE(error), error);
  Py_XDECREF(error);
  Py_XDECREF(list);
  Py_XDECREF(text);
  Py_DECREF(errors);
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
  catch (const caller::Failure& failure) { raise_failure(failure); SWIG_fail; }
  catch (const std::bad_alloc&) { PyErr_NoMemory(); SWIG_fail; }
  catch (const std::exception& fault) { PyErr_SetString(PyExc_RuntimeError, fault.what()); SWIG_fail; }
%enddef

%exception {
  try { $action }
  BW_CATCH
}

// The guard is gone before an error is raised, so that raising has the interpreter again.
%define BW_LONG_CALL(NAME)
%exception caller::ContextHandle::NAME {
  try {
    const WithoutInterpreter others_run;
    $action
  }
  BW_CATCH
}
%enddef
BW_LONG_CALL(plan)
BW_LONG_CALL(plan_of_rows)
BW_LONG_CALL(plan_with)
BW_LONG_CALL(compare)
BW_LONG_CALL(simulate)
BW_LONG_CALL(worth)
BW_LONG_CALL(break_even)
BW_LONG_CALL(counter_offers)
BW_LONG_CALL(forgiving_cut)
BW_LONG_CALL(sensitivity)
BW_LONG_CALL(map)
BW_LONG_CALL(convert_array)
BW_LONG_CALL(reconcile)
BW_LONG_CALL(book)
BW_LONG_CALL(month)
BW_LONG_CALL(month_take)
BW_LONG_CALL(month_close)
BW_LONG_CALL(dispute)
BW_LONG_CALL(bench)
BW_LONG_CALL(formula_array)

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

// The bytes of the doubles, for NumPy or an array to take over.
%typemap(out) std::vector<double> {
  const std::vector<double>& numbers = $1;
  $result = PyByteArray_FromStringAndSize(reinterpret_cast<const char*>(numbers.data()),
                                          (Py_ssize_t)(numbers.size() * sizeof(double)));
}

%include <std_string.i>
%include "common.i"
