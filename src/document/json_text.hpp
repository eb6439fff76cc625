// Writes JSON straight into a text: answers are long and made once.
#pragma once

#include <string>
#include <string_view>

namespace buttonworth {

class JsonText {
 public:
  explicit JsonText(std::size_t expected = 0) { text_.reserve(expected); }

  JsonText& open(char bracket) {
    separate();
    text_ += bracket;
    fresh_ = true;
    return *this;
  }
  JsonText& close(char bracket) {
    text_ += bracket;
    fresh_ = false;
    return *this;
  }
  JsonText& key(std::string_view name) {
    string(name);
    text_ += ':';
    fresh_ = true;
    return *this;
  }
  JsonText& string(std::string_view text) {
    separate();
    text_ += '"';
    // Whole runs of what needs no escape.
    std::size_t plain = 0;
    for (std::size_t i = 0; i < text.size(); ++i) {
      if (static_cast<unsigned char>(text[i]) >= 0x20 && text[i] != '"' && text[i] != '\\') continue;
      text_.append(text, plain, i - plain);
      escape(text[i]);
      plain = i + 1;
    }
    text_.append(text, plain);
    text_ += '"';
    return *this;
  }
  /// A number, true, false or null: what JSON writes without quotes.
  JsonText& bare(std::string_view text) {
    separate();
    text_ += text;
    return *this;
  }
  JsonText& null() { return bare("null"); }
  JsonText& field(std::string_view name, std::string_view text) { return key(name).string(text); }

  std::string take() { return std::move(text_); }

 private:
  void separate() {
    if (!fresh_) text_ += ',';
    fresh_ = false;
  }
  void escape(char c) {
    constexpr const char* hex = "0123456789abcdef";
    if (c == '"' || c == '\\') {
      text_ += '\\';
      text_ += c;
    } else if (c == '\n') {
      text_ += "\\n";
    } else {
      text_ += "\\u00";
      text_ += hex[c >> 4];
      text_ += hex[c & 15];
    }
  }

  std::string text_;
  bool fresh_ = true;  // no comma before what comes next
};

}  // namespace buttonworth
