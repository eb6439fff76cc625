#include "document/entries.hpp"

#include <algorithm>

namespace buttonworth {

Entries::Entries(TableKind table, const char* name, std::vector<std::string> analytes, Reader& reader,
                 Take take)
    : place_(root_, name),
      reader_(reader),
      take_(std::move(take)),
      rows_(table, std::move(analytes), place_, reader) {}

void Entries::take_entry(const Value& entry, std::size_t index) {
  const Place at(place_, index);
  if (!require_kind(entry, Value::Kind::object, at, reader_, "an object")) return;
  try {
    take_(entry, at, index);
  } catch (const Error& error) {
    reader_.take(error.complaint());
  }
}

void Entries::read(const Value& stated, const Watch& watch) {
  if (stated.kind == Value::Kind::text) {
    take(stated.text, watch);
    finish();
    if (!rows_.has_header())
      reader_.complain(Code::missing_field, place_, "the table is empty: its first row names the columns");
    return;
  }
  const auto count = static_cast<std::int64_t>(stated.items.size());
  constexpr std::size_t often = 64;
  for (std::size_t i = 0; i < stated.items.size(); ++i) {
    if (i % often == 0) {
      watch.keep_going();
      watch.progress(static_cast<std::int64_t>(i), count);
    }
    take_entry(stated.items[i], i);
  }
}

void Entries::take(std::string_view piece, const Watch& watch) {
  constexpr std::size_t often = 8192;
  const auto size = static_cast<std::int64_t>(piece.size());
  for (std::size_t at = 0; at < piece.size(); at += often) {
    watch.keep_going();
    watch.progress(static_cast<std::int64_t>(at), size);
    rows_.take(piece.substr(at, often),
               [this](const Value& row, std::size_t index) { take_entry(row, index); });
  }
}

void Entries::finish() {
  rows_.finish([this](const Value& row, std::size_t index) { take_entry(row, index); });
}

Form<bool> entries_form(std::function<Json(SchemaBook&)> entry, const char* wanted) {
  return {[](const Value& value, const Place& place, Reader& reader, bool&) {
            if (value.kind != Value::Kind::text)
              require_kind(value, Value::Kind::list, place, reader, "a list, or a table as CSV text");
          },
          [entry, column = std::string(wanted)](SchemaBook& book) {
            const Json table{{"type", "string"}, {"pattern", "^[^\\n]*" + column}};
            return Json{{"anyOf", {{{"type", "array"}, {"items", entry(book)}}, table}}};
          }};
}

}  // namespace buttonworth
