// What can be wrong with a document or a plan, told to a person: a code, a place, a sentence.
#pragma once

#include <cstdint>
#include <exception>
#include <string>
#include <utility>

namespace buttonworth {

/// The numbers are those of bw_status in buttonworth.h and never change their meaning.
enum class Code : std::int32_t {
  ok = 0,
  usage_null = 101,
  usage_size = 102,
  usage_buffer = 103,
  usage_pointer = 104,
  usage_type = 105,
  usage_name = 106,
  usage_options = 107,
  usage_over = 108,
  utf8 = 201,
  json = 202,
  limit = 203,
  repeated = 204,
  unknown_field = 205,
  missing_field = 206,
  type = 207,
  quantity = 208,
  unit = 209,
  range = 210,
  name = 211,
  conflict = 212,
  format = 213,
  assays = 301,
  curve = 302,
  split = 303,
  melt = 304,
  mercury = 305,
  balance = 306,
  flux = 307,
  fit = 308,
  grade = 401,
  recovery = 402,
  cancelled = 501,
  busy = 601,
  memory = 701,
  internal = 801,
};

/// One thing wrong: `pointer` is an RFC 6901 JSON pointer into the document, empty for the whole.
struct Complaint {
  Code code;
  std::string pointer;
  std::string text;
};

/// Thrown where a calculation cannot go on; caught where the place in the document is known.
class Error : public std::exception {
 public:
  Error(Code code, std::string text, std::string pointer = {})
      : complaint_{code, std::move(pointer), std::move(text)} {}

  const char* what() const noexcept override { return complaint_.text.c_str(); }
  const Complaint& complaint() const noexcept { return complaint_; }

 private:
  Complaint complaint_;
};

}  // namespace buttonworth
