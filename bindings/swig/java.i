// The Java package's compiled part: thin, for the classes in bindings/java, which are what programs call.
// What it makes is seen inside the package alone.
%module Core

%{
#include <exception>

#include "caller.hpp"

namespace {

jbyteArray bytes_of(JNIEnv* java, const std::string& text) {
  jbyteArray bytes = java->NewByteArray((jsize)text.size());
  if (bytes != nullptr)
    java->SetByteArrayRegion(bytes, 0, (jsize)text.size(), reinterpret_cast<const jbyte*>(text.data()));
  return bytes;
}

jdoubleArray doubles_of(JNIEnv* java, const std::vector<double>& numbers) {
  jdoubleArray array = java->NewDoubleArray((jsize)numbers.size());
  if (array != nullptr) java->SetDoubleArrayRegion(array, 0, (jsize)numbers.size(), numbers.data());
  return array;
}

/// Throws the exception that buttonworth.ButtonworthException makes of a failure.
void throw_failure(JNIEnv* java, const caller::Failure& failure) {
  jclass type = java->FindClass("buttonworth/ButtonworthException");
  jmethodID make = type ? java->GetStaticMethodID(type, "of", "([B[B)Lbuttonworth/ButtonworthException;") : nullptr;
  jbyteArray text = make ? bytes_of(java, failure.text) : nullptr;
  jbyteArray list = text ? bytes_of(java, failure.list) : nullptr;
  jobject made = list ? java->CallStaticObjectMethod(type, make, text, list) : nullptr;
  if (made != nullptr && !java->ExceptionCheck()) java->Throw(static_cast<jthrowable>(made));
}

}  // namespace
%}

// The library lies beside the classes, or where Java looks for libraries.
%pragma(java) jniclasscode=%{
  static { Library.load(); }
%}
%pragma(java) jniclassclassmodifiers="final class"
%pragma(java) moduleclassmodifiers="final class"
%typemap(javaclassmodifiers) SWIGTYPE "final class"

// A handle's object is freed when nothing leads to the handle any more.
%typemap(javabody) SWIGTYPE %{
  private final long swigCPtr;

  $javaclassname(long pointer, boolean owned) {
    swigCPtr = pointer;
    Library.CLEANER.register(this, () -> CoreJNI.delete_$javaclassname(pointer));
  }

  static long getCPtr($javaclassname handle) {
    return handle == null ? 0 : handle.swigCPtr;
  }
%}
%typemap(javafinalize) SWIGTYPE ""
%typemap(javadestruct) SWIGTYPE ""

%define BW_THROW(FAILURE)
  { throw_failure(jenv, FAILURE); return $null; }
%enddef

%javaexception("ButtonworthException") {
  try { $action }
  catch (const caller::Failure& failure) BW_THROW(failure)
  catch (const std::exception& fault) BW_THROW(caller::failure(BW_INTERNAL, fault.what()))
}
%javaexception("") caller::PlanHandle::~PlanHandle "$action"
%javaexception("") caller::AnswerHandle::~AnswerHandle "$action"
%javaexception("") caller::MonthHandle::~MonthHandle "$action"
%javaexception("") caller::RowList::~RowList "$action"
%javaexception("") caller::ContextHandle::~ContextHandle "$action"

// Arrays are copied: a call may be long, and the garbage collector must not wait for it.
%typemap(jni) (const char* TEXT, size_t SIZE), std::string "jbyteArray"
%typemap(jtype) (const char* TEXT, size_t SIZE), std::string "byte[]"
%typemap(jstype) (const char* TEXT, size_t SIZE), std::string "byte[]"
%typemap(javain) (const char* TEXT, size_t SIZE) "$javainput"
%typemap(in) (const char* TEXT, size_t SIZE) (std::string text) {
  if ($input == nullptr) BW_THROW(caller::failure(BW_USAGE_NULL))
  text.resize((size_t)jenv->GetArrayLength($input));
  jenv->GetByteArrayRegion($input, 0, (jsize)text.size(), reinterpret_cast<jbyte*>(text.data()));
  $1 = text.data();
  $2 = text.size();
}
%typemap(out) std::string { $result = bytes_of(jenv, $1); }
%typemap(javaout) std::string { return $jnicall; }

%typemap(jni) (const double* values, int64_t stride, size_t count), (double* out, int64_t out_stride, size_t out_count),
    std::vector<double> "jdoubleArray"
%typemap(jtype) (const double* values, int64_t stride, size_t count), (double* out, int64_t out_stride, size_t out_count),
    std::vector<double> "double[]"
%typemap(jstype) (const double* values, int64_t stride, size_t count), (double* out, int64_t out_stride, size_t out_count),
    std::vector<double> "double[]"
%typemap(javain) (const double* values, int64_t stride, size_t count), (double* out, int64_t out_stride, size_t out_count)
    "$javainput"
%typemap(in) (const double* values, int64_t stride, size_t count) (std::vector<double> numbers) {
  if ($input == nullptr) BW_THROW(caller::failure(BW_USAGE_NULL))
  $3 = (size_t)jenv->GetArrayLength($input);
  numbers.resize($3 + 1);  // an empty array has a place too
  jenv->GetDoubleArrayRegion($input, 0, (jsize)$3, numbers.data());
  $1 = numbers.data();
  $2 = 1;
}
%typemap(in) (double* out, int64_t out_stride, size_t out_count) (std::vector<double> results) {
  if ($input == nullptr) BW_THROW(caller::failure(BW_USAGE_NULL))
  $3 = (size_t)jenv->GetArrayLength($input);
  results.resize($3 + 1);
  $1 = results.data();
  $2 = 1;
}
%typemap(argout) (double* out, int64_t out_stride, size_t out_count) {
  jenv->SetDoubleArrayRegion($input, 0, jenv->GetArrayLength($input), results$argnum.data());
}
%typemap(out) std::vector<double> { $result = doubles_of(jenv, $1); }
%typemap(javaout) std::vector<double> { return $jnicall; }

%include "common.i"
