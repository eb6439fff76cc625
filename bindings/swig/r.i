// The R package's compiled part: thin, for the functions in bindings/r/R, which is what programs call.
// R's own errors jump over C++ without destroying anything, so a failure is returned as a value of the
// class "buttonworth_failure", and raised by the code in R.
%module buttonworth

%{
#include <exception>

#include "caller.hpp"

namespace {

SEXP utf8(const std::string& text) { return Rf_mkCharLenCE(text.data(), (int)text.size(), CE_UTF8); }

/// The line for people, and the list of all errors.
SEXP failure_value(const caller::Failure& failure) {
  // A string of R holds no zero byte, which a text that is quoted may have.
  std::string text = failure.text;
  for (char& byte : text)
    if (byte == '\0') byte = ' ';
  SEXP value = PROTECT(Rf_allocVector(STRSXP, 2));
  SET_STRING_ELT(value, 0, utf8(text));
  SET_STRING_ELT(value, 1, utf8(failure.list));
  Rf_setAttrib(value, R_ClassSymbol, Rf_mkString("buttonworth_failure"));
  UNPROTECT(1);
  return value;
}

SEXP wrong_kind(const char* text) { return failure_value(caller::failure(BW_USAGE_TYPE, text)); }

/// Text as UTF-8, borrowed from R: a string, or bytes as they stand.
const char* text_of(SEXP value, size_t* size) {
  if (TYPEOF(value) == RAWSXP) {
    *size = (size_t)XLENGTH(value);
    return reinterpret_cast<const char*>(RAW(value));
  }
  if (TYPEOF(value) != STRSXP || XLENGTH(value) != 1 || STRING_ELT(value, 0) == NA_STRING) return nullptr;
  const char* text = Rf_translateCharUTF8(STRING_ELT(value, 0));
  *size = strlen(text);
  return text;
}

/// The object behind an external pointer of this type; null for any other value, and for a pointer
/// that was saved and loaded again.
void* object_of(SEXP value, const swig_type_info* type) {
  if (TYPEOF(value) != EXTPTRSXP || TYPEOF(R_ExternalPtrTag(value)) != EXTPTRSXP) return nullptr;
  return R_ExternalPtrAddr(R_ExternalPtrTag(value)) == type ? R_ExternalPtrAddr(value) : nullptr;
}

/// A handle that R frees.
template <class T>
SEXP owned(T* object, swig_type_info* type) {
  SEXP tag = PROTECT(R_MakeExternalPtr(type, R_NilValue, R_NilValue));
  SEXP value = PROTECT(R_MakeExternalPtr(object, tag, R_NilValue));
  R_RegisterCFinalizerEx(value, [](SEXP gone) {
    delete static_cast<T*>(R_ExternalPtrAddr(gone));
    R_ClearExternalPtr(gone);
  }, TRUE);
  UNPROTECT(2);
  return value;
}

}  // namespace
%}

%define BW_RETURN(VALUE)
  {
    SEXP returned = VALUE;
    if (r_nprotect) Rf_unprotect(r_nprotect);
    return returned;
  }
%enddef

%exception {
  try { $action }
  catch (const caller::Failure& failure) BW_RETURN(failure_value(failure))
  catch (const std::exception& fault) BW_RETURN(failure_value(caller::failure(BW_INTERNAL, fault.what())))
}

%typemap(in) (const char* TEXT, size_t SIZE) {
  $1 = (char*)text_of($input, &$2);
  if ($1 == nullptr) BW_RETURN(wrong_kind("text is wanted here"))
}

%typemap(in) int64_t {
  const double number = Rf_asReal($input);
  if (!(number > -9e15 && number < 9e15)) BW_RETURN(wrong_kind("a whole number is wanted here"))
  $1 = (int64_t)number;
}
%typemap(out) int64_t { $result = Rf_ScalarReal((double)$1); }

%typemap(in) (const double* values, int64_t stride, size_t count) {
  if (TYPEOF($input) != REALSXP) BW_RETURN(wrong_kind("numbers are wanted here"))
  $1 = REAL($input);
  $2 = 1;
  $3 = (size_t)XLENGTH($input);
}
// How many results there will be.
%typemap(in) (double* out, int64_t out_stride, size_t out_count) (SEXP results) {
  $3 = (size_t)Rf_asReal($input);
  $2 = 1;
  results = PROTECT(Rf_allocVector(REALSXP, (R_xlen_t)$3));
  r_nprotect++;
  $1 = REAL(results);
}
%typemap(argout) (double* out, int64_t out_stride, size_t out_count) { $result = results$argnum; }

%typemap(out) std::vector<double> {
  const std::vector<double>& numbers = $1;
  $result = Rf_allocVector(REALSXP, (R_xlen_t)numbers.size());
  std::copy(numbers.begin(), numbers.end(), REAL($result));
}

%typemap(out) std::string { $result = Rf_ScalarString(PROTECT(utf8($1))); UNPROTECT(1); }

%typemap(in) SWIGTYPE*, SWIGTYPE& {
  $1 = ($1_ltype)object_of($input, $1_descriptor);
  if ($1 == nullptr) BW_RETURN(wrong_kind("this handle is none: it may have been saved and loaded again"))
}
%typemap(out) SWIGTYPE* { $result = owned($1, $1_descriptor); }

%include "common.i"
