// What a cell or a range shows of an answer.
#include "answers.hpp"
#include "arguments.hpp"
#include "buttonworth.hpp"

namespace cells {
namespace {

/// A value of the answer as a cell: a number and its unit where it is a quantity.
struct Shown {
  Cell cell;
  std::string unit;
  std::string text;
};

class Reader {
 public:
  explicit Reader(const bw_answer* answer) : answer_(answer), context_(context()) {}

  std::optional<std::size_t> count(const std::string& pointer) const {
    std::size_t count = 0;
    if (bw_answer_count(context_, answer_, pointer.c_str(), &count) != BW_OK) return std::nullopt;
    return count;
  }
  std::string text(const std::string& pointer) const {
    return buffered([&](char* buffer, std::size_t size, std::size_t* needed) {
      return bw_answer_string(context_, answer_, pointer.c_str(), buffer, size, needed);
    });
  }
  std::string name(const std::string& pointer, std::size_t i) const {
    return buffered([&](char* buffer, std::size_t size, std::size_t* needed) {
      return bw_answer_name(context_, answer_, pointer.c_str(), i, buffer, size, needed);
    });
  }
  bool is_object(const std::string& pointer) const {
    char buffer[1];
    const bw_status status =
        bw_answer_name(context_, answer_, pointer.c_str(), 0, buffer, sizeof buffer, nullptr);
    return status == BW_OK || status == BW_USAGE_BUFFER;
  }

  /// Shares are parts of one, as they are in every cell.
  Shown value(const std::string& pointer) const {
    Shown shown{{}, "", text(pointer)};
    double number = 0;
    if (bw_answer_number(context_, answer_, pointer.c_str(), &number) != BW_OK) {
      if (shown.text != "null") shown.cell = shown.text;
      return shown;
    }
    const std::size_t space = shown.text.find(' ');
    if (space != shown.text.npos) shown.unit = shown.text.substr(space + 1);
    shown.cell = shown.unit == "%" ? number / 100 : number;
    return shown;
  }

 private:
  template <class Ask>
  std::string buffered(Ask ask) const {
    char buffer[256];
    std::size_t needed = 0;
    const bw_status status = ask(buffer, sizeof buffer, &needed);
    if (status == BW_OK) return buffer;
    if (status != BW_USAGE_BUFFER) check(status);
    std::string longer(needed, '\0');
    check(ask(longer.data(), longer.size(), &needed));
    longer.pop_back();  // the zero byte
    return longer;
  }

  const bw_answer* answer_;
  bw_context* context_;
};

Cell one_value(const Call& call, const Reader& answer, const std::string& pointer) {
  if (answer.count(pointer))
    return call.refuse(Fault::argument,
                       [&] { return pointer + " is a list or an object: BW_TABLE shows it"; });
  Shown shown = answer.value(pointer);
  if (shown.text == "null")
    return call.refuse(Fault::missing, [&] { return pointer + " has no value here"; });
  return call.function.shape == Shape::text ? Cell(std::move(shown.text)) : std::move(shown.cell);
}

Cell value_or_fault(const Call& call, const Reader& answer, const Cell* pointer) {
  const std::string* text = std::get_if<std::string>(pointer);
  if (text == nullptr)
    return call.refuse(Fault::argument, [] { return std::string("at is to be a text, in quotes"); });
  try {
    return one_value(call, answer, *text);
  } catch (const Trouble& trouble) {
    return call.refuse(trouble.fault, [&] { return trouble.text; });
  }
}

// ---- Tables ----------------------------------------------------------------------------------------------

/// A list of plain values in one cell; nothing where the list holds more than that.
std::optional<std::string> joined(const Reader& answer, const std::string& pointer, std::size_t count) {
  std::string all;
  for (std::size_t i = 0; i < count; ++i) {
    const std::string one = pointer + "/" + std::to_string(i);
    if (answer.count(one)) return std::nullopt;
    const std::string text = answer.text(one);
    (all += i > 0 ? "; " : "") += text == "null" ? "-" : text;
  }
  return all;
}

/// A field of a row; nothing where it holds more than a cell can show.
std::optional<Shown> field(const Reader& answer, const std::string& pointer) {
  const auto count = answer.count(pointer);
  if (!count) return answer.value(pointer);
  if (answer.is_object(pointer)) return std::nullopt;
  const auto text = joined(answer, pointer, *count);
  if (!text) return std::nullopt;
  return Shown{*text, "", *text};
}

class Table {
 public:
  void add_row() { ++rows_; }
  void put(const std::string& column, Shown shown) {
    std::size_t k = 0;
    while (k < names_.size() && names_[k] != column) ++k;
    if (k == names_.size()) names_.push_back(column), columns_.emplace_back();
    columns_[k].resize(rows_);
    columns_[k].back() = std::move(shown);
  }
  /// The first row names the columns, with the unit where all of one have the same.
  Cells cells() && {
    Cells all(rows_ + 1, names_.size());
    for (std::size_t k = 0; k < names_.size(); ++k) {
      columns_[k].resize(rows_);
      const std::optional<std::string> unit = unit_of(columns_[k]);
      all.at(0, k) = names_[k] + (unit && !unit->empty() && *unit != "%" ? " (" + *unit + ")" : "");
      for (std::size_t row = 0; row < rows_; ++row) {
        Shown& shown = columns_[k][row];
        all.at(row + 1, k) = unit ? std::move(shown.cell) : Cell(std::move(shown.text));
      }
    }
    return all;
  }

 private:
  /// Nothing where units differ, and each cell then shows its own.
  static std::optional<std::string> unit_of(const std::vector<Shown>& column) {
    std::optional<std::string> unit;
    for (const Shown& one : column) {
      if (!std::holds_alternative<double>(one.cell)) continue;
      if (unit && *unit != one.unit) return std::nullopt;
      unit = one.unit;
    }
    return unit.value_or("");
  }

  std::size_t rows_ = 0;
  std::vector<std::string> names_;
  std::vector<std::vector<Shown>> columns_;
};

void add_entry(const Reader& answer, const std::string& pointer, Table& table) {
  const auto count = answer.count(pointer);
  if (!count) return table.put("value", answer.value(pointer));
  const bool object = answer.is_object(pointer);
  for (std::size_t i = 0; i < *count; ++i) {
    const std::string name = object ? answer.name(pointer, i) : std::to_string(i + 1);
    if (auto shown = field(answer, pointer + (object ? bw::step(name) : '/' + std::to_string(i))))
      table.put(name, std::move(*shown));
  }
}

Cells table_of(const Reader& answer, const std::string& pointer) {
  const auto count = answer.count(pointer);
  if (!count) answer.text(pointer);  // says where nothing stands
  if (!count) throw Trouble{Fault::argument, pointer + " is one value: BW_FIGURE shows it"};
  if (*count == 0) throw Trouble{Fault::missing, pointer + " is empty here"};
  const bool object = answer.is_object(pointer);
  Table table;
  for (std::size_t i = 0; i < *count; ++i) {
    table.add_row();
    const std::string name = object ? answer.name(pointer, i) : std::to_string(i);
    if (object) table.put("name", {name, "", name});
    add_entry(answer, pointer + bw::step(name), table);
  }
  return std::move(table).cells();
}

// ---- Questions -------------------------------------------------------------------------------------------

/// The options that a range states, to stand behind others; nothing where it is left out or empty.
std::string more_options(const Call& call, std::size_t k) {
  const Cells* range = stated(call, k);
  if (range == nullptr) return "";
  const char* name = call.function.arguments[k].name;
  const Answer document = document_of(*range, name);
  const std::string text = bw_answer_text(document.get(), nullptr);
  if (text == "null" || text == "{}") return "";
  if (text.front() != '{')
    throw Trouble{Fault::argument,
                  std::string(name) + ": a pointer names what it states, such as /correlate/0/0"};
  return ", " + text.substr(1, text.size() - 2);
}

/// What the arguments after the plan say of a call on it.
std::string options_of(const Call& call) {
  const std::string name = call.function.core;
  if (name == "simulate")
    return "{\"draws\": " + decimal(number_of(call, 1)) + ", \"seed\": " + decimal(number_of(call, 2)) +
           more_options(call, 3) + "}";
  if (name != "break_even") return "";
  std::string options = "{\"of\": " + quoted(text_of(call, 1));
  const std::string from = text_of(call, 2), to = text_of(call, 3);
  if (!from.empty()) options += ", \"from\": " + quoted(from);
  if (!to.empty()) options += ", \"to\": " + quoted(to);
  return options + "}";
}

std::shared_ptr<const Kept> ask(const Call& call) {
  const Cells* document = stated(call, 0);
  if (document == nullptr) throw Trouble{Fault::missing, left_out(call.function.arguments[0])};
  auto kept =
      answers().ask({call.function.core, options_of(call), *document, call.function.arguments[0].name});
  if (kept->answer == nullptr) throw kept->trouble;
  return kept;
}

}  // namespace

Cells work_answer(const Call& call) {
  const auto kept = ask(call);
  const Reader answer(kept->answer.get());
  const char* at = call.function.at;
  if (call.function.shape == Shape::table) return table_of(answer, at != nullptr ? at : text_of(call, 1));
  if (at != nullptr) return Cells(one_value(call, answer, at));
  const Cells* pointers = stated(call, 1);
  if (pointers == nullptr) throw Trouble{Fault::missing, left_out(call.function.arguments[1])};
  return for_each_cell(call, [&](std::size_t row, std::size_t column) {
    return value_or_fault(call, answer, cell_for(*pointers, row, column));
  });
}

}  // namespace cells
