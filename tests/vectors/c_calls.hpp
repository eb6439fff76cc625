// Calls through the C interface, on documents as text.
#pragma once

#include <map>
#include <memory>

#include "vector_file.hpp"
#ifdef BUTTONWORTH_SCHEDULE
#include "buttonworth_schedule.h"
#endif

namespace vectors {

struct ContextDeleter {
  void operator()(bw_context* context) const { bw_context_destroy(&context); }
};
using Context = std::unique_ptr<bw_context, ContextDeleter>;

inline Context make_context() {
  bw_context* context = nullptr;
  bw_context_create(&context);
  return Context(context);
}

inline Outcome outcome(bw_context* context, bw_status status, bw_answer* answer) {
  Outcome result{status, "", nullptr, Json::parse(bw_error_list(context, nullptr))};
  if (status == BW_OK) result.text = bw_answer_text(answer, nullptr);
  if (status == BW_OK) result.answer = Json::parse(result.text);
  bw_answer_destroy(&answer);
  return result;
}

/// A call on a request of its own.
using RequestCall = bw_status (*)(bw_context*, const char*, size_t, bw_answer**);
inline Outcome ask(RequestCall function, const std::string& text) {
  const Context context = make_context();
  bw_answer* answer = nullptr;
  const bw_status status = function(context.get(), text.data(), text.size(), &answer);
  return outcome(context.get(), status, answer);
}

/// Those calls, by the name that vectors call them by.
inline RequestCall request_call(const std::string& name) {
  static const std::map<std::string, RequestCall> calls{
      {"convert", bw_convert},       {"settle", bw_settle},         {"reconcile", bw_reconcile},
      {"book", bw_book},             {"dispute", bw_dispute},       {"metal_call", bw_metal_call},
#ifdef BUTTONWORTH_SCHEDULE
      {"allocate", bw_allocate},
#endif
      {"bench", bw_bench}};
  const auto found = calls.find(name);
  return found != calls.end() ? found->second : nullptr;
}

/// One figure of plain numbers, as the text of a number.
inline Outcome work_formula(const Json& request) {
  const Context context = make_context();
  const auto name = request.at("name").get<std::string>();
  const auto arguments = request.at("arguments").get<std::vector<double>>();
  double result = 0;
  const bw_status status =
      bw_formula(context.get(), name.c_str(), arguments.data(), arguments.size(), &result);
  const Json answer = status == BW_OK ? Json(Json(result).dump()) : Json();
  return {status, answer.dump(), answer, Json::parse(bw_error_list(context.get(), nullptr))};
}

/// A call that works on a plan under options.
using PlanCall = bw_status (*)(bw_context*, const bw_plan*, const char*, size_t, bw_answer**);

/// Three lots that differ by the price of gold, of which one states none.
inline bw_status value_three_lots(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                                  bw_answer** out) {
  const char* const pointers[] = {"/prices/Au"};
  const double prices[] = {2500, -1, 3000};
  const double* const columns[] = {prices};
  const int64_t strides[] = {1};
  return bw_value_lots(context, plan, options, size, pointers, columns, strides, 1, 3, nullptr, nullptr, 0,
                       out);
}

/// Those besides the comparison, by the name that vectors call them by.
inline PlanCall plan_call(const std::string& name) {
  static const std::map<std::string, PlanCall> calls{{"simulate", bw_simulate},
                                                     {"worth", bw_worth},
                                                     {"break_even", bw_break_even},
                                                     {"counter_offers", bw_counter_offers},
                                                     {"forgiving_cut", bw_forgiving_cut},
                                                     {"sensitivity", bw_sensitivity},
                                                     {"map", bw_map},
                                                     {"lot_values", value_three_lots}};
  const auto found = calls.find(name);
  return found != calls.end() ? found->second : nullptr;
}

inline Outcome work_plan(PlanCall function, const std::string& text, const Json& options) {
  const Context context = make_context();
  bw_plan* plan = nullptr;
  bw_answer* answer = nullptr;
  bw_status status = bw_plan_read(context.get(), text.data(), text.size(), &plan);
  const std::string chosen = options.is_null() ? "" : options.dump();
  if (status == BW_OK) status = function(context.get(), plan, chosen.data(), chosen.size(), &answer);
  bw_plan_destroy(&plan);
  return outcome(context.get(), status, answer);
}
inline Outcome compare(const std::string& text, const Json& options) {
  return work_plan(bw_compare, text, options);
}

/// Whether a plan is read, without working it out; the errors if not.
inline Outcome read_only(const std::string& text) {
  const Context context = make_context();
  bw_plan* plan = nullptr;
  const bw_status status = bw_plan_read(context.get(), text.data(), text.size(), &plan);
  bw_plan_destroy(&plan);
  return {status, "", nullptr, Json::parse(bw_error_list(context.get(), nullptr))};
}

}  // namespace vectors
