// Writes comma-separated text (RFC 4180).
#pragma once

#include <string>
#include <string_view>

namespace buttonworth {

class CsvWriter {
 public:
  CsvWriter& cell(std::string_view text) {
    if (!fresh_) text_ += ',';
    fresh_ = false;
    if (text.find_first_of(",;\t\"\r\n") == text.npos) text_ += text;
    else quote(text);
    return *this;
  }
  CsvWriter& end_row() {
    text_ += "\r\n";
    fresh_ = true;
    return *this;
  }
  std::string take() { return std::move(text_); }

 private:
  void quote(std::string_view text) {
    text_ += '"';
    for (char c : text) {
      if (c == '"') text_ += '"';
      text_ += c;
    }
    text_ += '"';
  }

  std::string text_;
  bool fresh_ = true;
};

}  // namespace buttonworth
