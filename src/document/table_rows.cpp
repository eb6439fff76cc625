#include "document/table_rows.hpp"

#include <algorithm>

namespace buttonworth {
namespace {

using Names = std::vector<std::string>;

const Names& own_columns(TableKind table) {
  static const Names deliveries{"id", "buyer", "arrived", "stage", "note"};
  static const Names received{"date", "buyer", "amount", "delivery", "note"};
  static const Names returns{"id", "proceeds", "note"};
  return table == TableKind::deliveries ? deliveries : table == TableKind::received ? received : returns;
}
const Names& wanted_columns(TableKind table) {
  static const Names deliveries{"id", "buyer", "arrived"};
  static const Names received{"date", "buyer", "amount"};
  static const Names returns{"id", "proceeds"};
  return table == TableKind::deliveries ? deliveries : table == TableKind::received ? received : returns;
}
const Names masses{"wet_mass", "moisture", "gross", "melted"};

bool is_among(const Names& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

std::string trimmed(std::string_view text) {
  constexpr std::string_view spaces = " \t";
  const std::size_t first = text.find_first_not_of(spaces);
  if (first == text.npos) return {};
  return std::string(text.substr(first, text.find_last_not_of(spaces) - first + 1));
}

bool is_gap(char c) { return c == ' ' || c == '_'; }

/// Takes the last word off a name if it is this one.
bool take_last(std::string& name, std::string_view word) {
  if (name.size() <= word.size() + 1 || !name.ends_with(word) || !is_gap(name[name.size() - word.size() - 1]))
    return false;
  name = trimmed(std::string_view(name).substr(0, name.size() - word.size() - 1));
  return true;
}
bool take_first(std::string& name, std::string_view word) {
  if (name.size() <= word.size() + 1 || !name.starts_with(word) || !is_gap(name[word.size()])) return false;
  name = trimmed(std::string_view(name).substr(word.size() + 1));
  return true;
}

/// "wet mass" and "wet_mass" are the same.
std::string with_underscores(std::string name) {
  std::replace(name.begin(), name.end(), ' ', '_');
  return name;
}

bool is_bare_number(std::string_view text) {
  return !text.empty() && text.back() >= '0' && text.back() <= '9';
}

/// Whether a cell ends in this unit.
bool is_in(std::string_view cell, std::string_view unit) {
  return cell.size() > unit.size() && cell.ends_with(unit) &&
         (cell[cell.size() - unit.size() - 1] == ' ' || unit == "%");
}

Value text_value(std::string text) {
  Value value;
  value.kind = Value::Kind::text;
  value.text = std::move(text);
  return value;
}

/// The member of that name, made if it is not there.
Value& member(Value& object, const std::string& name) {
  object.kind = Value::Kind::object;
  if (Value* found = object.find(name)) return *found;
  object.names.push_back(name);
  return object.items.emplace_back();
}

}  // namespace

TableRows::TableRows(TableKind table, std::vector<std::string> analytes, const Place& place, Reader& reader)
    : table_(table), analytes_(std::move(analytes)), place_(place), reader_(reader) {}

void TableRows::take(std::string_view piece, const Take& take) {
  text_.take(piece, [&](const CsvText::Row& row) { take_row(row, take); });
}

void TableRows::finish(const Take& take) {
  if (!text_.finish([&](const CsvText::Row& row) { take_row(row, take); }))
    reader_.complain(Code::quantity, place_,
                     "the table breaks off inside a cell: a quotation mark is not closed");
}

// ---- The header ------------------------------------------------------------------------------

void TableRows::read_header(const CsvText::Row& row) {
  const std::size_t told_before = reader_.told();
  for (const std::string& cell : row) columns_.push_back(read_column(cell));
  require_columns();
  sound_ = reader_.told() == told_before;
}

/// Whether its cells are names, days or words, which have no unit.
bool TableRows::is_of_words(const Column& column) const {
  if (column.line || column.path.size() != 1) return false;
  const std::string& name = column.path.front();
  return is_among(own_columns(table_), name) && name != "amount" && name != "proceeds";
}

/// "wet_mass (kg)" is wet_mass in kg.
TableRows::Column TableRows::read_column(const std::string& cell) {
  Column column;
  if (!is_utf8(cell)) {
    reader_.complain(Code::utf8, place_, "the table's first row is no UTF-8 text: save the table as UTF-8");
    return column;
  }
  column.name = trimmed(cell);
  std::string name = column.name;
  const std::size_t bracket = name.rfind('(');
  if (bracket != name.npos && name.ends_with(')')) {
    column.unit = trimmed(std::string_view(name).substr(bracket + 1, name.size() - bracket - 2));
    name = trimmed(std::string_view(name).substr(0, bracket));
  }
  if (!name.empty() && !find_path(name, column)) complain_of_column(column.name);
  if (!column.unit.empty() && is_of_words(column)) {
    reader_.complain(Code::unit, place_,
                     "the column " + column.name + " has no unit: write " + column.path.front() + " alone");
    column.unit.clear();
  }
  if (!column.unit.empty() && (column.line || name == "proceeds")) {
    if (column.unit != reader_.currency)
      reader_.complain(
          Code::unit, place_,
          "the column " + column.name + " is in " + reader_.currency + ", the document's own currency");
    column.unit.clear();
  }
  return column;
}

bool TableRows::find_path(std::string name, Column& column) const {
  if (is_among(own_columns(table_), name)) {
    if (name != "note") column.path = {name};
    return true;
  }
  if (table_ == TableKind::received) return false;
  if (table_ == TableKind::returns && take_first(name, "payable")) {
    column.path = {"payable", name};
    return true;
  }
  if (table_ == TableKind::returns && take_first(name, "line")) {
    column.path = {name};
    return column.line = true;
  }
  if (take_first(name, "price")) {
    column.path = {"prices", name};
    return true;
  }
  std::string party;
  for (const char* one : {"seller", "buyer", "umpire"})
    if (table_ == TableKind::deliveries && party.empty() && take_last(name, one)) party = one;
  const std::string mass = with_underscores(name);
  if (is_among(masses, mass)) column.path = {"delivered", mass};
  else if (take_first(name, "assay") || is_among(analytes_, name)) column.path = {"assays", name};
  else return false;
  if (!party.empty()) column.path.push_back(party);
  column.one_party = !party.empty();
  return true;
}

void TableRows::complain_of_column(const std::string& name) {
  Names known = own_columns(table_);
  if (table_ != TableKind::received) {
    known.insert(known.end(), masses.begin(), masses.end());
    known.insert(known.end(), analytes_.begin(), analytes_.end());
  }
  std::string text = "there is no column " + name + nearest_text(name, known);
  if (table_ != TableKind::received) text += "; an analyte that no terms name is written assay and its name";
  reader_.complain(Code::unknown_field, place_, std::move(text));
}

void TableRows::require_columns() {
  for (const std::string& wanted : wanted_columns(table_))
    if (std::none_of(columns_.begin(), columns_.end(),
                     [&](const Column& one) { return one.path == Names{wanted}; }))
      reader_.complain(Code::missing_field, place_,
                       "the column " + wanted + " is missing from the table's first row");
}

// ---- Rows ------------------------------------------------------------------------------------

void TableRows::take_row(const CsvText::Row& row, const Take& take) {
  if (!has_header_) {
    has_header_ = true;
    return read_header(row);
  }
  const std::size_t index = index_++, told_before = reader_.told(), first = reader_.complaints.size();
  if (!sound_) return;
  const Value object = object_of(row, Place(place_, index));
  if (reader_.told() == told_before && !object.names.empty()) take(object, index);
  // Where the person at the spreadsheet finds it: below the header, counted from 1.
  for (std::size_t i = first; i < reader_.complaints.size(); ++i)
    reader_.complaints[i].text =
        "row " + std::to_string(index + 2) + " of the table: " + reader_.complaints[i].text;
}

/// Without names where every cell is empty.
Value TableRows::object_of(const CsvText::Row& row, const Place& at) {
  Value object;
  for (std::size_t i = 0; i < row.size(); ++i) {
    const std::string cell = trimmed(row[i]);
    if (cell.empty()) continue;
    if (i < columns_.size()) put(object, columns_[i], cell, at);
    else reader_.complain(Code::unknown_field, at, "the row has more cells than the table has columns");
  }
  return object;
}

void TableRows::complain_of_cell(Code code, const Column& column, const Place& at, std::string text) {
  std::vector<Place> chain;
  chain.reserve(column.path.size());
  const Place* here = &at;
  if (!column.line)
    for (const std::string& name : column.path) here = &chain.emplace_back(*here, name);
  reader_.complain(code, *here, std::move(text));
}

void TableRows::put(Value& object, const Column& column, const std::string& cell, const Place& at) {
  if (column.path.empty()) return;
  if (!is_utf8(cell))
    return complain_of_cell(Code::utf8, column, at, "this cell is no UTF-8 text: save the table as UTF-8");
  if (!column.unit.empty() && !is_bare_number(cell) && !is_in(cell, column.unit))
    return complain_of_cell(Code::unit, column, at,
                            '"' + readable(cell) + "\" stands in the column " + column.name +
                                ": write the number alone, in " + column.unit);
  const bool add_unit = !column.unit.empty() && is_bare_number(cell);
  Value value = text_value(add_unit ? cell + ' ' + column.unit : cell);
  if (column.line) {
    Value& lines = member(object, "lines");
    lines.kind = Value::Kind::list;
    Value& line = lines.items.emplace_back();
    member(line, "what") = text_value(column.path.front());
    member(line, "amount") = std::move(value);
    return;
  }
  Value* place = &object;
  for (const std::string& name : column.path) {
    if (place->kind == Value::Kind::text)
      return reader_.complain(
          Code::conflict, at,
          column.name + " stands beside a column of the same for all parties: keep one of them");
    place = &member(*place, name);
  }
  put_figure(*place, column, std::move(value), at);
}

/// Cells of one name: a party's determinations, or those of a figure that stands alone.
void TableRows::put_figure(Value& place, const Column& column, Value cell, const Place& at) {
  if (column.one_party) {
    place.kind = Value::Kind::list;
    place.items.push_back(std::move(cell));
    return;
  }
  if (place.kind == Value::Kind::null) {
    place = std::move(cell);
    return;
  }
  if (column.path.size() < 2 || (place.kind == Value::Kind::object && place.find("values") == nullptr))
    return reader_.complain(Code::conflict, at, "two columns state " + column.name + ": keep one of them");
  if (place.kind == Value::Kind::text) {
    Value first = std::exchange(place, Value());
    Value& values = member(place, "values");
    values.kind = Value::Kind::list;
    values.items.push_back(std::move(first));
  }
  member(place, "values").items.push_back(std::move(cell));
}

}  // namespace buttonworth
