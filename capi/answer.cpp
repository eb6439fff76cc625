#include <charconv>
#include <cmath>
#include <cstring>
#include <limits>
#include <optional>

#include "document/convert.hpp"
#include "guard.hpp"

using namespace buttonworth;

namespace {

const Value& stands_at(const bw_answer* answer, const char* pointer) {
  require_pointer(answer, "the answer is NULL");
  require_pointer(pointer, "the pointer is NULL");
  const Value* found = find_at(answer->document(), pointer);
  if (found == nullptr) throw Error(Code::usage_pointer, "the answer has nothing at this pointer", pointer);
  return *found;
}

/// The number of "-12.5" or "713.9 kg". A user's name such as "inf" or "5 barrels" is none.
std::optional<double> number_in(std::string_view text) {
  const std::size_t sign = text.starts_with('-') ? 1 : 0;
  if (text.size() == sign || text[sign] < '0' || text[sign] > '9') return std::nullopt;
  double number = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), number);
  std::string_view rest = text.substr(static_cast<std::size_t>(end - text.data()));
  if (fault != std::errc{} || rest.empty())
    return fault == std::errc{} ? std::optional(number) : std::nullopt;
  const bool unit = rest.front() == ' ' && is_unit(rest.substr(1));
  return unit ? std::optional(number) : std::nullopt;
}

/// Puts a text into the caller's buffer, or tells how large it must be.
void put_text(const std::string& text, char* buffer, size_t capacity, size_t* needed) {
  if (needed != nullptr) *needed = text.size() + 1;
  if (capacity == 0 && needed != nullptr) return;
  require(text.size() < capacity, Code::usage_buffer,
          "the buffer is too small for this text and its final zero");
  std::memcpy(buffer, text.c_str(), text.size() + 1);
}

/// The text that a caller's buffer holds before anything is known.
void empty_text(char* buffer, size_t capacity, size_t* needed) {
  if (needed != nullptr) *needed = 0;
  if (buffer != nullptr && capacity > 0) *buffer = '\0';
}

std::string plain_text(const Value& value) {
  return value.kind == Value::Kind::text ? value.text : write_json(value);
}

}  // namespace

const char* bw_answer_text(const bw_answer* answer, size_t* size) noexcept {
  if (size != nullptr) *size = answer != nullptr ? answer->text.size() : 0;
  return answer != nullptr ? answer->text.c_str() : nullptr;
}

bw_status bw_answer_number(bw_context* context, const bw_answer* answer, const char* pointer,
                           double* out) noexcept {
  if (out != nullptr) *out = std::numeric_limits<double>::quiet_NaN();
  return guarded(context, [&] {
    require_pointer(out, "the place for the number is NULL");
    const Value& value = stands_at(answer, pointer);
    const auto number = number_in(value.text);
    if (!number)
      throw Error(Code::usage_type, "no number stands here, but " + plain_text(value).substr(0, 60), pointer);
    *out = *number;
  });
}

bw_status bw_answer_string(bw_context* context, const bw_answer* answer, const char* pointer, char* buffer,
                           size_t capacity, size_t* needed) noexcept {
  empty_text(buffer, capacity, needed);
  return guarded(context, [&] {
    require(buffer != nullptr || capacity == 0, Code::usage_null,
            "the buffer is NULL and its capacity is not 0");
    put_text(plain_text(stands_at(answer, pointer)), buffer, capacity, needed);
  });
}

bw_status bw_answer_count(bw_context* context, const bw_answer* answer, const char* pointer,
                          size_t* out) noexcept {
  if (out != nullptr) *out = 0;
  return guarded(context, [&] {
    require_pointer(out, "the place for the count is NULL");
    const Value& value = stands_at(answer, pointer);
    const bool structured = value.kind == Value::Kind::list || value.kind == Value::Kind::object;
    if (!structured) throw Error(Code::usage_type, "neither a list nor an object stands here", pointer);
    *out = value.items.size();
  });
}

bw_status bw_answer_name(bw_context* context, const bw_answer* answer, const char* pointer, size_t index,
                         char* buffer, size_t capacity, size_t* needed) noexcept {
  empty_text(buffer, capacity, needed);
  return guarded(context, [&] {
    require(buffer != nullptr || capacity == 0, Code::usage_null,
            "the buffer is NULL and its capacity is not 0");
    const Value& value = stands_at(answer, pointer);
    if (value.kind != Value::Kind::object) throw Error(Code::usage_type, "no object stands here", pointer);
    require(index < value.names.size(), Code::usage_size, "the index is beyond the last entry");
    put_text(value.names[index], buffer, capacity, needed);
  });
}

void bw_answer_destroy(bw_answer** answer) noexcept { destroy(answer); }
