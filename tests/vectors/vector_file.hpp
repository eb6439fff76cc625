// The vectors and the documents they hold, as the tests of this folder read them.
#pragma once

#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "buttonworth.h"

namespace vectors {

using Json = nlohmann::ordered_json;

inline Json read_file(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error("there is no file " + path);
  return Json::parse(file);
}

/// The vectors of core.json, read once.
inline const Json& core() {
  static const Json file = read_file(BUTTONWORTH_VECTORS "/core.json");
  return file;
}
inline bool is_bad(const Json& vector) { return vector.contains("error") || vector.contains("errors"); }

/// The document of a vector as text, as it is to be handed over.
inline std::string request_text(const Json& vector) {
  return vector.contains("text") ? vector.at("text").get<std::string>() : vector.at("request").dump();
}

/// What a call came to: its answer, or the errors it reported together.
struct Outcome {
  bw_status status = BW_OK;
  std::string text;  ///< of the answer
  Json answer;
  Json errors;
};

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
inline Outcome ask(bw_status (*function)(bw_context*, const char*, size_t, bw_answer**),
                   const std::string& text) {
  const Context context = make_context();
  bw_answer* answer = nullptr;
  const bw_status status = function(context.get(), text.data(), text.size(), &answer);
  return outcome(context.get(), status, answer);
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

/// Those besides the comparison, by the name that vectors call them by.
inline PlanCall plan_call(const std::string& name) {
  static const std::map<std::string, PlanCall> calls{{"simulate", bw_simulate},
                                                     {"worth", bw_worth},
                                                     {"break_even", bw_break_even},
                                                     {"counter_offers", bw_counter_offers},
                                                     {"forgiving_cut", bw_forgiving_cut},
                                                     {"sensitivity", bw_sensitivity},
                                                     {"map", bw_map}};
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

inline Outcome call(const Json& vector, const Json& options) {
  if (vector.at("call") == "convert") return ask(bw_convert, request_text(vector));
  if (vector.at("call") == "settle") return ask(bw_settle, request_text(vector));
  if (vector.at("call") == "reconcile") return ask(bw_reconcile, request_text(vector));
  if (vector.at("call") == "book") return ask(bw_book, request_text(vector));
  if (vector.at("call") == "dispute") return ask(bw_dispute, request_text(vector));
  if (vector.at("call") == "metal_call") return ask(bw_metal_call, request_text(vector));
  if (vector.at("call") == "bench") return ask(bw_bench, request_text(vector));
  if (vector.at("call") == "formula") return work_formula(vector.at("request"));
  const PlanCall on_plan = plan_call(vector.at("call"));
  return work_plan(on_plan != nullptr ? on_plan : bw_compare, request_text(vector), options);
}

}  // namespace vectors
