// The Octave module buttonworth_core: thin, for the functions in +buttonworth, which are what programs call.
%module buttonworth_core

%{
#include <exception>

#include "caller.hpp"
#include "json_value.hpp"

namespace {

/// Numbers of an array, whatever its shape.
NDArray numbers_of(const octave_value& value) {
  if (!value.isnumeric() || !value.isreal()) caller::fail(BW_USAGE_TYPE, "numbers are wanted here");
  return value.array_value();
}

std::string text_of(const octave_value& value) {
  if (!value.is_string() || value.rows() > 1) caller::fail(BW_USAGE_TYPE, "text is wanted here");
  return value.string_value();
}

/// The object behind a handle of this type.
template <class T>
T* object_of(const octave_value& value, swig_type_info* type) {
  void* object = nullptr;
  if (!SWIG_IsOK(SWIG_ConvertPtr(value, &object, type, 0)) || object == nullptr)
    caller::fail(BW_USAGE_TYPE, "a handle of another kind is wanted here");
  return static_cast<T*>(object);
}

}  // namespace
%}

// Octave's errors are exceptions of C++: nothing is jumped over.
%define BW_TRY(DOES)
  try { DOES }
  catch (const caller::Failure& failure) { raise_failure(failure); }
%enddef

%exception {
  try { $action }
  catch (const caller::Failure& failure) { raise_failure(failure); }
  catch (const std::exception& fault) { raise_failure(caller::failure(BW_INTERNAL, fault.what())); }
}
%typemap(in) (const char* TEXT, size_t SIZE) (std::string text) {
  BW_TRY(text = text_of($input);)
  $1 = text.data();
  $2 = text.size();
}

%typemap(in) (const double* values, int64_t stride, size_t count) (NDArray numbers) {
  BW_TRY(numbers = numbers_of($input);)
  $1 = (double*)numbers.data();
  $2 = 1;
  $3 = (size_t)numbers.numel();
}
// How many results there will be.
%typemap(in) (double* out, int64_t out_stride, size_t out_count) (NDArray results) {
  results = NDArray(dim_vector($input.idx_type_value(), 1));
  $1 = results.fortran_vec();
  $2 = 1;
  $3 = (size_t)results.numel();
}
%typemap(argout) (double* out, int64_t out_stride, size_t out_count) {
  %append_output(octave_value(results$argnum));
}
%typemap(out) std::vector<double> {
  const std::vector<double>& numbers = $1;
  NDArray column(dim_vector((octave_idx_type)numbers.size(), 1));
  std::copy(numbers.begin(), numbers.end(), column.fortran_vec());
  $result = octave_value(column);
}

%typemap(in) SWIGTYPE*, SWIGTYPE& { BW_TRY($1 = object_of<$*1_ltype>($input, $1_descriptor);) }

%typemap(in) const octave_value& (octave_value value) { value = $input; $1 = &value; }
%typemap(out) octave_value "$result = $1;"

// The module's own functions are seen everywhere: they need names of their own.
%rename(buttonworth_refuse) caller::refuse;
%rename(buttonworth_decode) decode_json;
%rename(buttonworth_encode) encode_json;
%rename(buttonworth_failure) last_failure;

%include <std_string.i>
%include "common.i"

octave_value decode_json(const char* json, size_t json_size);
std::string encode_json(const octave_value& document, const char* pointer, size_t pointer_size);
octave_value last_failure();
