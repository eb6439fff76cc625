// Comma-separated text (RFC 4180) as it comes in, in pieces of any size.
//
// A cell, a row and a pair of quotes may be cut anywhere between two pieces, which none of the readers that
// come as headers alone can take.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace buttonworth {

class CsvText {
 public:
  using Row = std::vector<std::string>;

  /// Calls `row(const Row&)` for each row that ends in this piece.
  template <class Take>
  void take(std::string_view piece, Take&& row) {
    for (char c : piece)
      if (ends_row(c)) give(row);
  }
  /// The last row wants no line end. False where a quoted cell was never closed.
  template <class Take>
  bool finish(Take&& row) {
    if (state_ == State::quoted) return false;
    if (begun_) take("\n", row);
    return true;
  }

 private:
  enum class State { plain, quoted, after_quote };

  /// Takes one character; true where a row ends with it.
  bool ends_row(char c);
  bool ends_header(char c);
  void end_cell();

  template <class Take>
  void give(Take& row) {
    row(static_cast<const Row&>(cells_));
    cells_.clear();
    begun_ = false;
  }

  State state_ = State::plain;
  char separator_ = 0;  // until the header is read
  std::string header_;
  bool begun_ = false;  // the row has a character
  std::string cell_;
  Row cells_;
};

}  // namespace buttonworth
