// Calls that answer a request of their own, and quantities and formulas alone.
#include <cmath>
#include <cstring>

#include "check.hpp"
#include "target.hpp"
#include "tree.hpp"
#ifdef BUTTONWORTH_SCHEDULE
#include "buttonworth_schedule.h"
#endif

namespace fuzz {
namespace {

using Request = bw_status (*)(bw_context*, const char*, size_t, bw_answer**);

template <Request request>
void answer(std::string_view input) {
  examine(input, [&](bw_context* context, bw_answer** out) {
    return request(context, input.data(), input.size(), out);
  });
}

/// What is before the first end of a line, and what is after it.
std::pair<std::string, std::string> lines_of(std::string_view input) {
  const std::size_t end = std::min(input.find('\n'), input.size());
  return {std::string(input.substr(0, end)), std::string(input.substr(std::min(end + 1, input.size())))};
}

/// Text between quotes as it is, so that what is no UTF-8 comes through.
std::string raw_request(std::string_view quantity, std::string_view unit) {
  return "{\"quantity\": \"" + std::string(quantity) + "\", \"to\": \"" + std::string(unit) + "\"}";
}

Result convert(std::string_view input, const std::string& request) {
  return examine(input, [&](bw_context* context, bw_answer** out) {
    return bw_convert(context, request.data(), request.size(), out);
  });
}

/// A quantity and, on the next line, a unit: what was converted converts to itself.
void quantity(std::string_view input) {
  const auto [text, unit] = lines_of(input);
  const Result first = convert(input, raw_request(text, unit));
  if (first.status == BW_OK) {
    const std::string again = "{\"quantity\": " + first.text + ", \"to\": \"" + unit + "\"}";
    expect_same(first, convert(input, again), "a quantity converted to its own unit");
  }
  double values[3] = {1, -0.0, NAN}, results[3] = {};
  const Host host;
  bw_convert_array(host, values, 1, 3, text.c_str(), unit.c_str(), results, 1);
  bw_convert_array(host, values, 1, 3, unit.c_str(), unit.c_str(), results, 1);
  const bool worked = bw_error_status(host) == BW_OK;
  expect(worked ? results[0] == 1 : std::isnan(results[0]), "a unit converted to itself", unit);
}

/// The name of a formula and, on the next line, the bytes of its numbers: one row alone is a row among
/// others.
void formula(std::string_view input) {
  const auto [name, bytes] = lines_of(input);
  double numbers[24] = {};
  const std::size_t count = std::min(bytes.size() / sizeof(double), std::size_t{24});
  if (count > 0) std::memcpy(numbers, bytes.data(), count * sizeof(double));
  double alone = 0, rows[2] = {};
  Host host;
  const bw_status status = bw_formula(host, name.c_str(), numbers, count, &alone);
  expect(status == BW_OK ? std::isfinite(alone) : std::isnan(alone), "a formula's figure",
         std::to_string(alone));
  host.check(status);
  const double* columns[24];
  int64_t strides[24] = {};
  for (std::size_t i = 0; i < count; ++i) columns[i] = &numbers[i];
  const bw_status in_rows = bw_formula_array(host, name.c_str(), columns, strides, count, 2, rows, 1);
  expect((in_rows == BW_OK) == (status == BW_OK), "a row of a formula with another end", bw_error_text(host));
  for (const double row : rows)
    expect(row == alone || (std::isnan(row) && std::isnan(alone)), "a row of a formula with another figure");
  host.check(in_rows);
}

#ifdef BUTTONWORTH_SCHEDULE
/// A month of lots, with little time to decide.
void allocate(std::string_view input) {
  std::string request{input};
  if (auto tree = read_tree(input); tree && tree->kind == Tree::Kind::object) {
    tree->set("time", scalar("\"0.00001 h\""));
    request = write_tree(*tree);
  }
  Host host;  // once: how far it comes in a time is never the same
  ask(host, [&](bw_context* context, bw_answer** out) {
    return bw_allocate(context, request.data(), request.size(), out);
  });
}
#endif

}  // namespace

void add_request_targets(std::vector<Target>& list) {
  using Form = Target::Form;
  list.insert(list.end(), {{"quantity", Form::bytes, quantity},
                           {"formula", Form::bytes, formula},
                           {"convert", Form::json, answer<bw_convert>},
                           {"settle", Form::json, answer<bw_settle>},
                           {"reconcile", Form::json, answer<bw_reconcile>},
                           {"dispute", Form::json, answer<bw_dispute>},
                           {"metal_call", Form::json, answer<bw_metal_call>}});
  for (const char* bench :
       {"sampling", "screen-assay", "run-sheet", "balance", "table-test", "charge", "bar", "lot-size"})
    list.push_back({bench, Form::json, answer<bw_bench>});
#ifdef BUTTONWORTH_SCHEDULE
  list.push_back({"allocate", Form::json, allocate});
#endif
}

}  // namespace fuzz
