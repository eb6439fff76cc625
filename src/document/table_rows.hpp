// Tables as spreadsheets write them: a header, then a row for each thing of a list.
#pragma once

#include <functional>

#include "document/csv_text.hpp"
#include "document/form.hpp"

namespace buttonworth {

/// What a table lists.
enum class TableKind { deliveries, received, returns };

/// Turns rows into the objects that the list would hold, so that one form reads both.
class TableRows {
 public:
  /// `analytes` may stand as columns by their names alone.
  TableRows(TableKind table, std::vector<std::string> analytes, const Place& place, Reader& reader);

  using Take = std::function<void(const Value& row, std::size_t index)>;
  /// Takes the next piece of the text; rows whose columns are in doubt are passed over.
  void take(std::string_view piece, const Take& take);
  /// A complaint where the text breaks off inside a quoted cell.
  void finish(const Take& take);
  /// Whether the first row was met.
  bool has_header() const { return has_header_; }

 private:
  /// Where a column's cells stand in the row's object.
  struct Column {
    std::string name;               ///< as in the header
    std::vector<std::string> path;  ///< {"assays", "Au", "buyer"}; empty: passed over
    std::string unit;
    bool one_party = false;  ///< several cells are its determinations
    bool line = false;       ///< a line of a return; the path is its name
  };

  void take_row(const CsvText::Row& row, const Take& take);
  void read_header(const CsvText::Row& row);
  Column read_column(const std::string& cell);
  bool find_path(std::string name, Column& column) const;
  bool is_of_words(const Column& column) const;
  void complain_of_column(const std::string& name);
  void require_columns();
  void complain_of_cell(Code code, const Column& column, const Place& at, std::string text);
  Value object_of(const CsvText::Row& row, const Place& at);
  void put(Value& object, const Column& column, const std::string& cell, const Place& at);
  void put_figure(Value& place, const Column& column, Value cell, const Place& at);

  TableKind table_;
  std::vector<std::string> analytes_;
  const Place& place_;
  Reader& reader_;
  CsvText text_;
  bool has_header_ = false, sound_ = false;
  std::vector<Column> columns_;
  std::size_t index_ = 0;
};

}  // namespace buttonworth
