// A plan: read, compared, put together from rows, changed, and every job on it.
#include <cmath>
#include <limits>
#include <map>
#include <memory>

#include "check.hpp"
#include "small_plan.hpp"
#include "target.hpp"
#include "tree.hpp"

namespace fuzz {
namespace {

using PlanCall = bw_status (*)(bw_context*, const bw_plan*, const char*, size_t, bw_answer**);

/// Reads a plan and does a job on it, as one call.
bw_status work(bw_context* context, std::string_view plan_text, PlanCall job, std::string_view options,
               bw_answer** out) {
  bw_plan* plan = nullptr;
  bw_status status = bw_plan_read(context, plan_text.data(), plan_text.size(), &plan);
  expect((status == BW_OK) == (plan != nullptr), "a plan with an error, or none without");
  if (status == BW_OK) status = job(context, plan, options.data(), options.size(), out);
  bw_plan_destroy(&plan);
  return status;
}

Result examine_work(std::string_view input, std::string_view plan_text, PlanCall job,
                    std::string_view options) {
  return examine(input, [&](bw_context* context, bw_answer** out) {
    return work(context, plan_text, job, options, out);
  });
}

/// The plan's own text, as an answer of the call: it must read as the plan it is of.
bw_status own_text(bw_context* context, const bw_plan* plan, const char*, size_t, bw_answer** out) {
  std::size_t size = 0;
  const char* text = bw_plan_text(plan, &size);
  expect_json({text, size}, "a plan's text");
  bw_plan* again = nullptr;
  const bw_status status = bw_plan_read(context, text, size, &again);
  expect(status == BW_OK, "a plan's text is no plan", bw_error_text(context));
  expect(std::string_view(bw_plan_text(again, nullptr)) == text, "a plan's text reads as another plan", text);
  bw_plan_destroy(&again);
  return bw_schema(context, "options", out);
}

void plan(std::string_view input) {
  Host host;
  ask(host, [&](bw_context* context, bw_answer** out) { return work(context, input, own_text, {}, out); });
  examine_work(input, input, bw_compare, R"({"arithmetic": "decimal"})");
  examine_work(input, input, bw_compare, R"({"arithmetic": "double", "how": false})");
}

/// Rows as lines of a pointer, a tab and a value: a plan from rows is the plan of the document they state.
void rows(std::string_view input) {
  std::vector<std::string> texts;  // pointer, value, pointer, value, …
  for (std::size_t from = 0; from < input.size();) {
    const std::size_t end = std::min(input.find('\n', from), input.size());
    const std::string_view line = input.substr(from, end - from);
    const std::size_t tab = std::min(line.find('\t'), line.size());
    texts.emplace_back(line.substr(0, tab));
    texts.emplace_back(line.substr(std::min(tab + 1, line.size())));
    from = end + 1;
  }
  std::vector<const char*> pointers, values;
  for (std::size_t i = 0; i < texts.size(); ++i) (i % 2 == 0 ? pointers : values).push_back(texts[i].c_str());
  const Result document = examine(input, [&](bw_context* context, bw_answer** out) {
    return bw_read_rows(context, pointers.data(), values.data(), pointers.size(), out);
  });
  const Result of_rows = examine(input, [&](bw_context* context, bw_answer** out) {
    bw_plan* plan = nullptr;
    bw_status status = bw_plan_read_rows(context, pointers.data(), values.data(), pointers.size(), &plan);
    if (status == BW_OK) status = bw_compare(context, plan, nullptr, 0, out);
    bw_plan_destroy(&plan);
    return status;
  });
  if (document.status == BW_OK)
    expect_same(of_rows, examine_work(input, document.text, bw_compare, {}), "rows and their document");
}

/// A pointer and, on the next line, a value: the small plan with it.
void with(std::string_view input) {
  const std::size_t end = std::min(input.find('\n'), input.size());
  const std::string pointer{input.substr(0, end)}, value{input.substr(std::min(end + 1, input.size()))};
  examine(input, [&](bw_context* context, bw_answer** out) {
    return work(
        context, small_plan,
        [](bw_context* inner, const bw_plan* plan, const char* what, size_t, bw_answer** answer) {
          const char* to = what + std::char_traits<char>::length(what) + 1;
          bw_plan* changed = nullptr;
          bw_status status = bw_plan_with(inner, plan, what, to, &changed);
          if (status == BW_OK) status = own_text(inner, changed, nullptr, 0, answer);
          bw_answer_destroy(answer);
          if (status == BW_OK) status = bw_compare(inner, changed, nullptr, 0, answer);
          bw_plan_destroy(&changed);
          return status;
        },
        std::string(pointer.c_str()) + '\0' + value, out);
  });
}

// ---- Jobs ------------------------------------------------------------------------------------------

void expect_lot_figures(const std::vector<double>& values, bw_status status) {
  for (const double value : values)
    expect(status == BW_OK ? value < std::numeric_limits<double>::infinity() || std::isnan(value)
                           : std::isnan(value),
           "a lot's value", std::to_string(value));
  expect(std::isnan(values.back()), "what is beyond the lots is not left out");
}

/// Six lots whose figures no reader of a table would let through.
bw_status value_lots(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                     bw_answer** out) {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  const double masses[] = {100, 0, -1, 1e300, std::numeric_limits<double>::denorm_min(), NAN};
  const double grades[] = {1000, 1e6, 1e7, -infinity, infinity, 5e-324};
  const char* const pointers[] = {"/lot/wet_mass", "/lot/assays/Au"};
  const double* const columns[] = {masses, grades};
  const int64_t strides[] = {1, 1};
  std::vector<double> values(6 * 40 + 1), sds(values.size());
  const bw_status status = bw_value_lots(context, plan, options, size, pointers, columns, strides, 2, 6,
                                         values.data(), sds.data(), values.size(), out);
  expect_lot_figures(values, status);
  expect_lot_figures(sds, status);
  return status;
}

/// Options with so few draws that a fuzzer gets on: where none are stated, or five digits of them and more.
std::string with_few_draws(PlanCall job, std::string_view options) {
  auto tree = read_tree(options.empty() ? "{}" : options);
  const bool draws = job == bw_simulate || job == bw_worth;
  if (!draws || !tree || tree->kind != Tree::Kind::object) return std::string(options);
  const Tree* stated = tree->find("draws");
  const bool many = stated != nullptr && stated->token.size() > 4 &&
                    stated->token.find_first_not_of("0123456789") == std::string::npos;
  if (stated == nullptr || many) tree->set("draws", scalar("256"));
  return write_tree(*tree);
}

template <PlanCall job>
void options_of(std::string_view input) {
  static const bool readable = examine_work("", small_plan, bw_compare, {}).status == BW_OK;
  expect(readable, "the small plan");
  examine_work(input, small_plan, job, with_few_draws(job, input));
}

PlanCall job_named(std::string_view name) {
  static const std::map<std::string_view, PlanCall> calls{{"compare", bw_compare},
                                                          {"simulate", bw_simulate},
                                                          {"worth", bw_worth},
                                                          {"break_even", bw_break_even},
                                                          {"map", bw_map},
                                                          {"counter_offers", bw_counter_offers},
                                                          {"sensitivity", bw_sensitivity},
                                                          {"forgiving_cut", bw_forgiving_cut},
                                                          {"lot_values", value_lots}};
  const auto found = calls.find(name);
  return found != calls.end() ? found->second : nullptr;
}

/// {"call": name, "plan": {…}, "options": {…}}: any job on any plan.
void job(std::string_view input) {
  const auto tree = read_tree(input);
  const Tree* call = tree ? tree->find("call") : nullptr;
  const Tree* document = tree ? tree->find("plan") : nullptr;
  if (call == nullptr || document == nullptr) return;
  const PlanCall work_on = job_named(text_of(*call).value_or(""));
  if (work_on == nullptr) return;
  const Tree* options = tree->find("options");
  examine_work(input, write_tree(*document), work_on,
               with_few_draws(work_on, options != nullptr ? write_tree(*options) : ""));
}

}  // namespace

void add_plan_targets(std::vector<Target>& list) {
  using Form = Target::Form;
  list.insert(list.end(), {{"plan", Form::json, plan},
                           {"rows", Form::bytes, rows},
                           {"with", Form::bytes, with},
                           {"compare", Form::json, options_of<bw_compare>},
                           {"simulate", Form::json, options_of<bw_simulate>},
                           {"worth", Form::json, options_of<bw_worth>},
                           {"break_even", Form::json, options_of<bw_break_even>},
                           {"counter_offers", Form::json, options_of<bw_counter_offers>},
                           {"forgiving_cut", Form::json, options_of<bw_forgiving_cut>},
                           {"sensitivity", Form::json, options_of<bw_sensitivity>},
                           {"map", Form::json, options_of<bw_map>},
                           {"lot_values", Form::json, options_of<value_lots>},
                           {"job", Form::json, job}});
}

}  // namespace fuzz
