// Functions of plain numbers: the core's formulas, conversions, and what is paid by bands.
#include <map>

#include "arguments.hpp"

namespace cells {
namespace {

/// Where a function's arguments stand in the core's formula, and what stands for those left out.
struct Places {
  std::size_t count = 0;
  std::vector<std::size_t> of;                   ///< the place of each of the function's arguments
  std::vector<std::optional<double>> otherwise;  ///< of each place
};

/// The text or number at a pointer of the list of formulas.
std::string text_at(const bw_answer* list, const std::string& pointer) {
  char text[64];
  check(bw_answer_string(context(), list, pointer.c_str(), text, sizeof text, nullptr));
  return text;
}
std::optional<double> number_at(const bw_answer* list, const std::string& pointer) {
  double number = 0;
  if (bw_answer_number(context(), list, pointer.c_str(), &number) != BW_OK) return std::nullopt;
  return number;
}

Places places_of(const Function& function, const bw_answer* list, const std::string& formula) {
  Places places;
  check(bw_answer_count(context(), list, (formula + "/arguments").c_str(), &places.count));
  std::map<std::string, std::size_t> place;
  for (std::size_t i = 0; i < places.count; ++i) {
    const std::string argument = formula + "/arguments/" + std::to_string(i);
    place[text_at(list, argument + "/name")] = i;
    places.otherwise.push_back(number_at(list, argument + "/otherwise"));
  }
  for (const Argument& one : function.arguments) places.of.push_back(place.at(one.core));
  return places;
}

/// By the function's place in the table.
std::vector<Places> all_places() {
  bw_answer* made = nullptr;
  check(bw_formulas(context(), &made));
  const Answer list(made);
  std::size_t count = 0;
  check(bw_answer_count(context(), list.get(), "", &count));
  std::map<std::string, std::string> formulas;
  for (std::size_t i = 0; i < count; ++i) {
    const std::string pointer = "/" + std::to_string(i);
    formulas[text_at(list.get(), pointer + "/name")] = pointer;
  }
  std::vector<Places> all;
  for (const Function& one : functions())
    all.push_back(one.work == work_formula ? places_of(one, list.get(), formulas.at(one.core)) : Places{});
  return all;
}

const Places& places(const Function& function) {
  static const std::vector<Places> all = all_places();
  return all[static_cast<std::size_t>(&function - functions().data())];
}

std::variant<double, Fault> worked(const Call& call, const Places& places, bw_context* context,
                                   const Numbers& given) {
  double values[most_arguments];
  for (std::size_t i = 0; i < places.count; ++i) values[i] = places.otherwise[i].value_or(0);
  for (std::size_t k = 0; k < places.of.size(); ++k) {
    const Argument& argument = call.function.arguments[k];
    const std::size_t place = places.of[k];
    if (given.stated[k]) values[place] = given.values[k] / argument.per;
    else if (argument.has_otherwise) values[place] = argument.otherwise_number / argument.per;
    else if (!places.otherwise[place]) return call.refuse(Fault::missing, [&] { return left_out(argument); });
  }
  double result = 0;
  const bw_status status = bw_formula(context, call.function.core, values, places.count, &result);
  if (status == BW_OK) return result * call.function.per;
  return call.refuse(fault_of(status), [&] { return std::string(bw_error_text(context)); });
}

Cell formula_cell(const Call& call, const Places& places, bw_context* context, std::size_t row,
                  std::size_t column) {
  Numbers given;
  for (std::size_t k = 0; k < places.of.size(); ++k) {
    const Argument& argument = call.function.arguments[k];
    const Cells* range = stated(call, k);
    if (range == nullptr) continue;
    const Cell* one = cell_for(*range, row, column);
    if (one != nullptr && argument.optional && is_empty(*one)) continue;
    const auto number = number_in(call, argument, one);
    if (const Fault* fault = std::get_if<Fault>(&number)) return *fault;
    given.put(k, std::get<double>(number));
  }
  const auto result = worked(call, places, context, given);
  if (const Fault* fault = std::get_if<Fault>(&result)) return *fault;
  return std::get<double>(result);
}

/// A share of a cell in %, without a product that would round it.
std::string percent(double share) { return decimal(share) + "e2 %"; }

std::string bands_of(const Cells& bands) {
  const auto number = [&](std::size_t row, std::size_t column) {
    if (const double* one = std::get_if<double>(&bands.at(row, column))) return *one;
    throw Trouble{Fault::argument, "bands: row " + std::to_string(row + 1) + " is to hold two numbers"};
  };
  if (bands.is_one()) return "\"share\": " + quoted(percent(number(0, 0)));
  if (bands.columns != 2)
    throw Trouble{Fault::argument,
                  "bands: two columns are wanted, the grade where a band starts and its share"};
  std::string list;
  for (std::size_t row = 0; row < bands.rows; ++row)
    list += (row > 0 ? ", [" : "[") + quoted(decimal(number(row, 0)) + " g/t") + ", " +
            quoted(percent(number(row, 1))) + "]";
  return "\"bands\": [" + list + "]";
}

/// The delivery whose statement has the payable mass.
std::string delivery(double dry, double grade, const std::string& pay) {
  return R"({"format": "buttonworth-delivery/1", "currency": "USD", "how": false, "prices": {"Au": "1 USD/g"}, )"
         R"("terms": {"buys": "concentrate", "pay": {"Au": {)" +
         pay + R"(}}}, "delivered": {"wet_mass": )" + quoted(decimal(dry) + " kg") +
         R"(}, "assays": {"Au": )" + quoted(decimal(grade) + " g/t") + "}}";
}

double payable(double dry, double grade, const std::string& pay) {
  const std::string request = delivery(dry, grade, pay);
  bw_answer* made = nullptr;
  check(bw_settle(context(), request.data(), request.size(), &made));
  const Answer statement(made);
  double mass = 0;
  check(bw_answer_number(context(), statement.get(), "/metal/Au/payable", &mass));
  return mass;
}

/// A work on two numbers of a call, one of them the same for all.
template <class Work>
Cell with_numbers(const Call& call, std::initializer_list<std::size_t> which, std::size_t row,
                  std::size_t column, Work work) {
  double values[most_arguments];
  double* next = values;
  for (const std::size_t k : which) {
    const Cells* one = stated(call, k);
    const Cell none;
    const auto number =
        number_in(call, call.function.arguments[k], one != nullptr ? cell_for(*one, row, column) : &none);
    if (const Fault* fault = std::get_if<Fault>(&number)) return *fault;
    *next++ = std::get<double>(number);
  }
  try {
    return work(values);
  } catch (const Trouble& trouble) {
    return call.refuse(trouble.fault, [&] { return trouble.text; });
  }
}

}  // namespace

std::variant<double, Fault> evaluate_numbers(const Function& function, const Numbers& given) noexcept {
  try {
    return worked({function, {}, nullptr}, places(function), context(), given);
  } catch (...) {
    return Fault::internal;
  }
}

Cells work_formula(const Call& call) {
  const Places& known = places(call.function);
  bw_context* mine = context();
  return for_each_cell(call, [&](std::size_t row, std::size_t column) {
    return formula_cell(call, known, mine, row, column);
  });
}

Cells work_convert(const Call& call) {
  const std::string from = text_of(call, 1), to = text_of(call, 2);
  double factor = 1;
  check(bw_convert_array(context(), &factor, 1, 1, from.c_str(), to.c_str(), &factor, 1));
  return for_each_cell(call, [&](std::size_t row, std::size_t column) {
    return with_numbers(call, {0}, row, column, [&](const double* a) { return Cell(a[0] * factor); });
  });
}

Cells work_payable(const Call& call) {
  const Cells* bands = stated(call, 2);
  if (bands == nullptr) throw Trouble{Fault::missing, left_out(call.function.arguments[2])};
  const std::string pay = bands_of(*bands) + ", \"less\": " + quoted(decimal(number_of(call, 3)) + " g/t") +
                          ", \"order\": " + quoted(text_of(call, 4));
  return for_each_cell(call, [&](std::size_t row, std::size_t column) {
    return with_numbers(call, {0, 1}, row, column,
                        [&](const double* a) { return Cell(payable(a[0], a[1], pay)); });
  });
}

}  // namespace cells
