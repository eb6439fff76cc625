// Every example and mistake of the table of functions, and the vectors, in the cells: cases.json says what
// they show.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>

#include "library.hpp"

namespace excel {
namespace {

using Json = nlohmann::json;

Value value_of(const Json& value) {
  if (value.is_number()) return Value(value.get<double>());
  if (value.is_string()) return Value(std::string_view(value.get_ref<const std::string&>()));
  return {};
}

Value argument_of(const Json& argument) {
  if (argument.is_null()) return Value::missing();
  if (!argument.is_array()) return value_of(argument);
  const std::size_t columns = argument.at(0).size();
  std::vector<Value> cells;
  for (const Json& row : argument)
    for (std::size_t column = 0; column < columns; ++column) cells.push_back(value_of(row.at(column)));
  return range(argument.size(), columns, cells);
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return std::tolower(c); });
  return text;
}

/// The number of CVErr's names.
unsigned long number_of(const std::string& error) {
  static const std::map<std::string, unsigned long> numbers{
      {"xlErrValue", 2015}, {"xlErrNum", 2036}, {"xlErrNA", 2042}};
  return numbers.at(error);
}

bool is_right(const Value& found, const Json& one) {
  const Json& shows = one.at("shows");
  if (shows.is_number()) {
    const double wanted = shows,
                 allowed = std::max(one.at("tolerance").get<double>(), 1e-14 * std::abs(wanted));
    return found.is_number() && std::abs(found.dblVal - wanted) <= allowed;
  }
  if (shows.is_string()) return found.vt == VT_BSTR && found.text() == shows;
  if (shows.contains("error")) return found.is_error(number_of(shows.at("error")));
  return std::all_of(shows.at("says").begin(), shows.at("says").end(), [&](const std::string& word) {
    return lower(found.text()).find(lower(word)) != std::string::npos;
  });
}

std::string described(const Value& found) {
  if (found.is_number()) return std::to_string(found.dblVal);
  if (found.vt == VT_ERROR) return "error " + std::to_string(found.scode & 0xFFFF);
  return found.vt == VT_BSTR ? found.text() : "type " + std::to_string(found.vt);
}

TEST(Cells, show_what_the_table_and_the_vectors_say) {
  const Library library;
  std::ifstream file(BUTTONWORTH_CASES);
  const Json cases = Json::parse(file);
  std::map<std::string, int> functions;
  for (const Json& one : cases) {
    std::vector<Value> arguments;
    for (const Json& argument : one.at("arguments")) arguments.push_back(argument_of(argument));
    const std::string function = one.at("function");
    const Value result = shown(library, function, std::move(arguments));
    const Value found = cell(result, one.at("row"), one.at("column"));
    EXPECT_TRUE(is_right(found, one))
        << function << " (" << one.at("why") << ") shows " << described(found) << " for " << one.at("shows");
    ++functions[function];
  }
  EXPECT_GE(functions.size(), 36U);
  EXPECT_GT(functions["BW_FIGURE"], 1000);
  std::cout << cases.size() << " cells\n";
}

}  // namespace
}  // namespace excel
