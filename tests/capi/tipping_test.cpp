// What would change a plan's answer, asked through the C interface: defaults, mistakes, progress and
// stopping.

#include "support.hpp"

namespace capi {
namespace {

using Job = bw_status (*)(bw_context*, const bw_plan*, const char*, size_t, bw_answer**);

struct Case {
  const char* name;
  Job job;
  const char* options;  ///< that are in order
};
const Case cases[] = {
    {"break_even", bw_break_even, R"({"of": "/prices/Au", "from": "1 USD/g", "to": "200 USD/g"})"},
    {"counter_offers", bw_counter_offers, "{}"},
    {"forgiving_cut", bw_forgiving_cut, "{}"},
    {"sensitivity", bw_sensitivity, "{}"},
    {"map", bw_map, R"({"x": {"of": "/prices/Au"}, "y": {"of": "/lot/wet_mass"}})"},
};

/// Another buyer, and a table before him.
Json contested_plan() {
  Json plan = minimal_plan();
  plan["terms"]["trader"] = Json::parse(R"({"buys": "concentrate", "pay": {"Au": {"share": "80 %"}}})");
  plan["steps"] = Json::parse(R"({"shaker": {"kind": "table", "cut": "best",
    "curve": {"Au": [["10 %", "80 %"], ["40 %", "96 %"]]}}})");
  plan["routes"]["traded"] = Json::parse(R"({"sell": "trader"})");
  plan["routes"]["tabled"] = Json::parse(R"({"step": "shaker", "concentrate": {"sell": "smelter"},
    "tailings": {"keep": true}})");
  return plan;
}

class Jobs : public testing::TestWithParam<Case> {};

bw_status run(bw_context* context, const bw_plan* plan, const Case& one, const std::string& options,
              Answer& answer) {
  return one.job(context, plan, options.data(), options.size(), answer.out());
}

TEST_P(Jobs, gives_the_same_answer_again_and_to_another_context) {
  Context context, other;
  const Plan plan = read_good(context, contested_plan());
  Answer first, second, third;
  ASSERT_EQ(run(context, plan, GetParam(), GetParam().options, first), BW_OK) << bw_error_text(context);
  ASSERT_EQ(run(context, plan, GetParam(), GetParam().options, second), BW_OK);
  ASSERT_EQ(run(other, plan, GetParam(), GetParam().options, third), BW_OK);
  EXPECT_STREQ(bw_answer_text(first, nullptr), bw_answer_text(second, nullptr));
  EXPECT_STREQ(bw_answer_text(first, nullptr), bw_answer_text(third, nullptr));
}

// A plan that was read under wider limits than are in force now.
TEST_P(Jobs, needs_no_limits_for_a_plan_that_was_read) {
  Context context;
  const Plan plan = read_good(context, contested_plan());
  ASSERT_EQ(bw_set_limit(context, "list length", 4), BW_OK) << bw_error_text(context);
  Answer answer;
  EXPECT_EQ(run(context, plan, GetParam(), GetParam().options, answer), BW_OK) << bw_error_text(context);
}

TEST_P(Jobs, needs_no_limit_of_numbers_for_a_plan_that_was_read) {
  Context context;
  ASSERT_EQ(bw_set_limit(context, "exponent", 60), BW_OK);
  Json document = contested_plan();
  document["discount"] = "1e-40 %/a";
  const Plan plan = read_good(context, document);
  Answer answer;
  EXPECT_EQ(run(context, plan, GetParam(), GetParam().options, answer), BW_OK) << bw_error_text(context);
}

TEST_P(Jobs, tells_an_unknown_option) {
  Context context;
  const Plan plan = read_good(context, contested_plan());
  Answer answer;
  EXPECT_EQ(run(context, plan, GetParam(), R"({"route s": []})", answer), BW_USAGE_OPTIONS);
  EXPECT_NE(std::string(bw_error_list(context, nullptr)).find("route s"), std::string::npos);
  EXPECT_EQ(answer, nullptr);
  EXPECT_EQ(run(context, plan, GetParam(), "{", answer), BW_DOCUMENT_JSON);
}

struct Watcher {
  bw_context* context = nullptr;
  std::vector<int64_t> done;
  int64_t total = 0;
  std::size_t stop_after = 0;  ///< 0: never
  static void see(void* user, int64_t done, int64_t total) {
    auto& watcher = *static_cast<Watcher*>(user);
    watcher.done.push_back(done);
    watcher.total = total;
    if (watcher.done.size() == watcher.stop_after) bw_cancel(watcher.context);
  }
};

TEST_P(Jobs, tells_how_far_it_is) {
  Context context;
  const Plan plan = read_good(context, contested_plan());
  Watcher watcher;
  ASSERT_EQ(bw_set_progress(context, Watcher::see, &watcher), BW_OK);
  Answer answer;
  ASSERT_EQ(run(context, plan, GetParam(), GetParam().options, answer), BW_OK);
  ASSERT_FALSE(watcher.done.empty());
  EXPECT_EQ(watcher.done.back(), watcher.total);
  // Of a search that found more to look at than was thought, it stands still before the end.
  for (std::size_t i = 1; i < watcher.done.size(); ++i) EXPECT_GE(watcher.done[i], watcher.done[i - 1]);
}

TEST_P(Jobs, stops_when_asked) {
  Context context;
  const Plan plan = read_good(context, contested_plan());
  if (std::string(GetParam().name) == "forgiving_cut") return;  // one table is told of once, at its end
  Watcher watcher{context, {}, 0, 3};
  ASSERT_EQ(bw_set_progress(context, Watcher::see, &watcher), BW_OK);
  Answer answer;
  EXPECT_EQ(run(context, plan, GetParam(), GetParam().options, answer), BW_CANCELLED);
  EXPECT_EQ(answer, nullptr);
  EXPECT_LE(watcher.done.size(), 4U);
  ASSERT_EQ(bw_set_progress(context, nullptr, nullptr), BW_OK);
  EXPECT_EQ(run(context, plan, GetParam(), GetParam().options, answer), BW_OK);
}

INSTANTIATE_TEST_SUITE_P(All, Jobs, testing::ValuesIn(cases),
                         [](const testing::TestParamInfo<Case>& info) { return info.param.name; });

TEST(Tipping, options_that_may_be_left_out_may_be_null) {
  Context context;
  const Plan plan = read_good(context, contested_plan());
  Answer answer;
  EXPECT_EQ(bw_counter_offers(context, plan, nullptr, 0, answer.out()), BW_OK);
  EXPECT_EQ(bw_forgiving_cut(context, plan, nullptr, 0, answer.out()), BW_OK);
  EXPECT_EQ(bw_sensitivity(context, plan, nullptr, 0, answer.out()), BW_OK);
  EXPECT_EQ(bw_break_even(context, plan, nullptr, 0, answer.out()), BW_USAGE_OPTIONS);
  EXPECT_EQ(bw_map(context, plan, nullptr, 0, answer.out()), BW_USAGE_OPTIONS);
}

// A route that is refused as planned has no cut to forgive; the place is the option's.
TEST(Tipping, a_forgiving_cut_wants_a_route_that_is_taken) {
  Context context;
  Answer answer;
  const Plan untabled = read_good(context, minimal_plan());
  EXPECT_EQ(bw_forgiving_cut(context, untabled, nullptr, 0, answer.out()), BW_USAGE_OPTIONS);
  Json document = contested_plan();
  document["terms"]["smelter"]["accepts"] = {{"Au", {{"min", "60 %"}}}};
  const Plan refused = read_good(context, document);
  const std::string options = R"({"route": "tabled"})";
  EXPECT_EQ(bw_forgiving_cut(context, refused, options.data(), options.size(), answer.out()),
            BW_USAGE_OPTIONS);
  EXPECT_NE(std::string(bw_error_list(context, nullptr)).find("/route"), std::string::npos);
}

}  // namespace
}  // namespace capi
