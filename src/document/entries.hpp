// Long lists of a document: stated as a list, as a table in a text, or as a table in pieces.
#pragma once

#include "document/table_rows.hpp"
#include "quantity/watch.hpp"

namespace buttonworth {

class Entries {
 public:
  /// Reads one entry; complaints go to the reader. An Error that it throws is a complaint too.
  using Take = std::function<void(const Value& entry, const Place& place, std::size_t index)>;

  /// `name`: of the list in its document. `analytes` may stand as columns by their names alone.
  Entries(TableKind table, const char* name, std::vector<std::string> analytes, Reader& reader, Take take);
  Entries(const Entries&) = delete;
  Entries& operator=(const Entries&) = delete;

  /// What stands in the document, a list or a table's text.
  void read(const Value& stated, const Watch& watch);
  /// A piece of a table.
  void take(std::string_view piece, const Watch& watch);
  /// No more pieces.
  void finish();

 private:
  void take_entry(const Value& entry, std::size_t index);

  const Place root_, place_;
  Reader& reader_;
  Take take_;
  TableRows rows_;
};

/// The form of such a list in its document, which only tells a list from a text; `entry` describes its entries,
/// and the first row of a table has a column of this name.
Form<bool> entries_form(std::function<Json(SchemaBook&)> entry, const char* wanted);

}  // namespace buttonworth
