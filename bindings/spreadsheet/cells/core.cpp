#include "core.hpp"

#include <charconv>
#include <cmath>

namespace cells {

bw_context* context() {
  struct Destroy {
    void operator()(bw_context* context) const { bw_context_destroy(&context); }
  };
  thread_local std::unique_ptr<bw_context, Destroy> mine;
  if (mine == nullptr) {
    bw_context* made = nullptr;
    const bw_status status = bw_context_create(&made);
    if (status != BW_OK) throw Trouble{fault_of(status), bw_status_text(status)};
    mine.reset(made);
  }
  return mine.get();
}

Fault fault_of(bw_status status) {
  if (status == BW_USAGE_POINTER) return Fault::missing;
  switch (status / 100) {
    case 1:
    case 2:
    case 3: return Fault::argument;
    case 4: return Fault::no_solution;
    default: return Fault::internal;
  }
}

void check(bw_status status) {
  if (status != BW_OK) throw Trouble{fault_of(status), bw_error_text(context())};
}

std::string decimal(double number) {
  if (!std::isfinite(number)) throw Trouble{Fault::argument, "a cell holds what is no number"};
  char text[400];
  const auto end = std::to_chars(text, text + sizeof text, number, std::chars_format::fixed).ptr;
  return {text, end};
}

std::string quoted(const std::string& text) {
  static const char digits[] = "0123456789abcdef";
  std::string json = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') (json += '\\') += c;
    else if (static_cast<unsigned char>(c) < 0x20) ((json += "\\u00") += digits[c >> 4]) += digits[c & 15];
    else json += c;
  }
  return json += '"';
}

}  // namespace cells
