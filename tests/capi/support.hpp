// What the tests of the C interface share: handles that free themselves, and plans small enough to
// work out by hand.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "buttonworth.h"

namespace capi {

using Json = nlohmann::ordered_json;

/// Owns what a call gave through an out-parameter.
template <class T, void (*destroy)(T**) noexcept>
class Handle {
 public:
  Handle() = default;
  Handle(Handle&& other) noexcept : held_(std::exchange(other.held_, nullptr)) {}
  Handle& operator=(Handle&& other) noexcept {
    std::swap(held_, other.held_);
    return *this;
  }
  ~Handle() { destroy(&held_); }

  /// Where a call puts a new object; what was held is freed.
  T** out() {
    destroy(&held_);
    return &held_;
  }
  operator T*() const { return held_; }

 private:
  T* held_ = nullptr;
};

using Plan = Handle<bw_plan, bw_plan_destroy>;
using Answer = Handle<bw_answer, bw_answer_destroy>;

struct Context : Handle<bw_context, bw_context_destroy> {
  Context() { EXPECT_EQ(bw_context_create(out()), BW_OK); }
};

/// 1 t at 50 g/t, 90 % of 100 USD/g paid: 4500 USD; or kept, for nothing.
inline Json minimal_plan() {
  return Json::parse(R"({
    "format": "buttonworth-plan/1", "currency": "USD", "prices": {"Au": "100 USD/g"}, "discount": "0 %/a",
    "lot": {"wet_mass": "1 t", "assays": {"Au": "50 g/t"}},
    "terms": {"smelter": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}},
                          "charges": [{"what": "sampling", "rate": "0 USD/lot"}]}},
    "routes": {"as it is": {"sell": "smelter"}, "kept": {"keep": true}}})");
}

inline bw_status read(bw_context* context, std::string_view text, Plan& plan) {
  return bw_plan_read(context, text.data(), text.size(), plan.out());
}

inline Plan read_good(bw_context* context, const Json& document) {
  Plan plan;
  EXPECT_EQ(read(context, document.dump(), plan), BW_OK) << bw_error_text(context);
  return plan;
}

inline bw_status compare(bw_context* context, const bw_plan* plan, Answer& answer,
                         std::string_view options = {}) {
  return bw_compare(context, plan, options.empty() ? nullptr : options.data(), options.size(), answer.out());
}

/// The comparison's text; fails the test where there is none.
inline std::string compared(bw_context* context, const bw_plan* plan, std::string_view options = {}) {
  Answer answer;
  EXPECT_EQ(compare(context, plan, answer, options), BW_OK) << bw_error_text(context);
  return answer != nullptr ? bw_answer_text(answer, nullptr) : "";
}

/// The amount a route leaves, as text.
inline std::string net(const std::string& comparison, const std::string& route) {
  return Json::parse(comparison).at("routes").at(route).at("net").get<std::string>();
}

/// The last call's errors.
inline Json errors(const bw_context* context) {
  size_t size = 0;
  const char* text = bw_error_list(context, &size);
  EXPECT_EQ(std::string_view(text).size(), size);
  return Json::parse(text);
}

/// The statuses of the last call's errors, in their order.
inline std::vector<bw_status> statuses(const bw_context* context) {
  std::vector<bw_status> all;
  for (const Json& one : errors(context)) all.push_back(one.at("status").get<bw_status>());
  return all;
}

/// What a plan of this text is refused with.
inline bw_status refusal(bw_context* context, std::string_view text) {
  Plan plan;
  const bw_status status = read(context, text, plan);
  EXPECT_EQ(plan == nullptr, status != BW_OK);
  return status;
}

}  // namespace capi
