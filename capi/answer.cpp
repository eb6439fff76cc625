#include <charconv>
#include <cmath>
#include <cstring>
#include <limits>

#include "guard.hpp"

using namespace buttonworth;

namespace {

const Json& stands_at(const bw_answer* answer, const char* pointer) {
  require_pointer(answer, "the answer is NULL");
  require_pointer(pointer, "the pointer is NULL");
  const Json* at = &answer->document();
  for (const std::string& part : pointer_parts(pointer)) {
    const Json* next = nullptr;
    if (at->is_object() && at->contains(part)) next = &at->at(part);
    if (at->is_array()) {
      std::size_t index = 0;
      const auto [end, fault] = std::from_chars(part.data(), part.data() + part.size(), index);
      const bool whole = fault == std::errc{} && end == part.data() + part.size();
      if (whole && index < at->size()) next = &at->at(index);
    }
    if (next == nullptr) throw Error(Code::usage_pointer, "the answer has nothing at this pointer", pointer);
    at = next;
  }
  return *at;
}

/// Puts a text into the caller's buffer, or tells how large it must be.
void put_text(const std::string& text, char* buffer, size_t capacity, size_t* needed) {
  if (needed != nullptr) *needed = text.size() + 1;
  if (capacity == 0 && needed != nullptr) return;
  require(text.size() < capacity, Code::usage_buffer, "the buffer is too small for this text and its final zero");
  std::memcpy(buffer, text.c_str(), text.size() + 1);
}

/// The text that a caller's buffer holds before anything is known.
void empty_text(char* buffer, size_t capacity, size_t* needed) {
  if (needed != nullptr) *needed = 0;
  if (buffer != nullptr && capacity > 0) *buffer = '\0';
}

std::string plain_text(const Json& value) { return value.is_string() ? value.get<std::string>() : value.dump(); }

}  // namespace

const char* bw_answer_text(const bw_answer* answer, size_t* size) noexcept {
  if (size != nullptr) *size = answer != nullptr ? answer->text.size() : 0;
  return answer != nullptr ? answer->text.c_str() : nullptr;
}

bw_status bw_answer_number(bw_context* context, const bw_answer* answer, const char* pointer, double* out) noexcept {
  if (out != nullptr) *out = std::numeric_limits<double>::quiet_NaN();
  return guarded(context, [&] {
    require_pointer(out, "the place for the number is NULL");
    const Json& value = stands_at(answer, pointer);
    const std::string text = value.is_null() ? std::string() : plain_text(value);
    double number = 0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), number);
    const bool whole = fault == std::errc{} && (end == text.data() + text.size() || *end == ' ');
    if (!whole) throw Error(Code::usage_type, "no number stands here, but " + plain_text(value).substr(0, 60), pointer);
    *out = number;
  });
}

bw_status bw_answer_string(bw_context* context, const bw_answer* answer, const char* pointer, char* buffer, size_t capacity,
                           size_t* needed) noexcept {
  empty_text(buffer, capacity, needed);
  return guarded(context, [&] {
    require(buffer != nullptr || capacity == 0, Code::usage_null, "the buffer is NULL and its capacity is not 0");
    put_text(plain_text(stands_at(answer, pointer)), buffer, capacity, needed);
  });
}

bw_status bw_answer_count(bw_context* context, const bw_answer* answer, const char* pointer, size_t* out) noexcept {
  if (out != nullptr) *out = 0;
  return guarded(context, [&] {
    require_pointer(out, "the place for the count is NULL");
    const Json& value = stands_at(answer, pointer);
    if (!value.is_structured()) throw Error(Code::usage_type, "neither a list nor an object stands here", pointer);
    *out = value.size();
  });
}

bw_status bw_answer_name(bw_context* context, const bw_answer* answer, const char* pointer, size_t index, char* buffer,
                         size_t capacity, size_t* needed) noexcept {
  empty_text(buffer, capacity, needed);
  return guarded(context, [&] {
    require(buffer != nullptr || capacity == 0, Code::usage_null, "the buffer is NULL and its capacity is not 0");
    const Json& value = stands_at(answer, pointer);
    if (!value.is_object()) throw Error(Code::usage_type, "no object stands here", pointer);
    require(index < value.size(), Code::usage_size, "the index is beyond the last entry");
    put_text(std::next(value.begin(), static_cast<std::ptrdiff_t>(index)).key(), buffer, capacity, needed);
  });
}

void bw_answer_destroy(bw_answer** answer) noexcept { destroy(answer); }
