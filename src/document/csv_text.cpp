#include "document/csv_text.hpp"

#include <algorithm>
#include <utility>

namespace buttonworth {
namespace {

/// Commas, or else semicolons, or else tabs, quoted cells left aside.
char separator_of(std::string_view header) {
  bool quoted = false, semicolon = false, tab = false;
  for (char c : header) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if (c == ',') return ',';
    semicolon |= c == ';';
    tab |= c == '\t';
  }
  return semicolon ? ';' : tab ? '\t' : ',';
}

std::string_view without_mark(std::string_view header) {
  constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
  if (header.starts_with(byte_order_mark)) header.remove_prefix(byte_order_mark.size());
  return header;
}

}  // namespace

void CsvText::end_cell() { cells_.push_back(std::exchange(cell_, {})); }

/// The header is kept whole until it ends: only then is it known what separates.
bool CsvText::ends_header(char c) {
  header_ += c;
  if (c == '"') state_ = state_ == State::quoted ? State::plain : State::quoted;
  if (c != '\n' || state_ == State::quoted) return false;
  const std::string header = std::exchange(header_, {});
  separator_ = separator_of(header);
  bool ended = false;
  for (char one : without_mark(header)) ended = ends_row(one);
  return ended;
}

bool CsvText::ends_row(char c) {
  begun_ = true;
  if (separator_ == 0) return ends_header(c);
  if (state_ == State::quoted) {
    if (c == '"') state_ = State::after_quote;
    else cell_ += c;
    return false;
  }
  if (c == '"' && state_ == State::after_quote) cell_ += c;  // two of them stand for one
  if (c == '"' && (state_ == State::after_quote || cell_.empty())) {
    state_ = State::quoted;
    return false;
  }
  state_ = State::plain;
  const bool row = c == '\n';
  if (row || c == separator_) end_cell();
  else if (c != '\r') cell_ += c;
  return row;
}

}  // namespace buttonworth
