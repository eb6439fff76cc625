// JSON pointers (RFC 6901): how a place in a document is told.
#pragma once

#include <string>
#include <string_view>

namespace buttonworth {

/// "/" and a name, escaped.
inline std::string pointer_step(std::string_view name) {
  std::string text = "/";
  for (char c : name) {
    if (c == '~') text += "~0";
    else if (c == '/') text += "~1";
    else text += c;
  }
  return text;
}

}  // namespace buttonworth
