// A document as it was written: order, repeated names refused, numbers kept as text.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "quantity/decimal.hpp"
#include "quantity/error.hpp"

namespace buttonworth {

/// How large a document may be.
struct DocumentLimits {
  std::int64_t document_bytes = 16'777'216;
  std::int64_t depth = 64;
  std::int64_t list_length = 20'000;
  std::int64_t name_bytes = 1000;
  std::int64_t errors = 100;
  std::int64_t nodes = 1'000'000;
  std::int64_t route_steps = 64;
  std::int64_t analytes = 200;
  NumberLimits numbers;
};

/// For what the library wrote itself.
DocumentLimits no_limits();

struct Value {
  enum class Kind { null, boolean, number, text, list, object };
  Kind kind = Kind::null;
  bool boolean = false;
  std::string text;          ///< of a text; of a number, as written
  std::vector<Value> items;  ///< of a list; of an object, the values of `names`
  std::vector<std::string> names;

  const Value* find(std::string_view name) const;
  Value* find(std::string_view name);
};

/// "an object", "a number", …
const char* kind_text(Value::Kind kind);

/// The chain of names and numbers that leads to a value; a pointer is written only when asked for.
class Place {
 public:
  Place() = default;
  Place(const Place& parent, std::string_view name) : parent_(&parent), name_(name) {}
  Place(const Place& parent, std::size_t index) : parent_(&parent), index_(index) {}

  std::string pointer() const;  ///< RFC 6901

 private:
  const Place* parent_ = nullptr;
  std::string_view name_;
  std::size_t index_ = npos;
  static constexpr std::size_t npos = static_cast<std::size_t>(-1);
};

/// Reads JSON text. Throws an Error (utf8, json, limit, repeated); a value that is too large or too
/// deep is given up at once.
Value read_json(std::string_view text, const DocumentLimits& limits);

bool is_utf8(std::string_view text);

/// Throws an Error (utf8) unless the text is UTF-8.
void require_utf8(std::string_view text);

/// A text as one line that any screen shows: what is no UTF-8 or no letter becomes U+FFFD.
std::string readable(std::string_view text);

/// The value as JSON text.
std::string write_json(const Value& value);

/// The parts of a JSON pointer; an Error of this code if it is none.
std::vector<std::string> pointer_parts(std::string_view pointer, Code fault = Code::usage_pointer);

/// What stands at a pointer, or null.
const Value* find_at(const Value& root, std::string_view pointer);

/// What a cell of the spreadsheet form stands for: true, false, null, {}, [] themselves, anything
/// else a text.
Value cell_value(std::string_view text);

/// A document from its spreadsheet form. Throws an Error whose pointer is the row's.
Value from_rows(const std::vector<std::pair<std::string_view, std::string_view>>& rows,
                const DocumentLimits& limits);

}  // namespace buttonworth
