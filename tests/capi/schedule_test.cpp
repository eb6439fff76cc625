// The library of schedules beside the other: what it refuses, tells on the way, and leaves alone.

#include <algorithm>
#include <array>
#include <cstring>
#include <thread>

#include "buttonworth_schedule.h"
#include "support.hpp"

namespace capi {
namespace {

/// Lots of 300 kg at 50 g/t and more, each too small for the smelter: joined they leave 90 %, alone 50 %.
Json small_lots(int count) {
  Json request = Json::parse(R"({
    "format": "buttonworth-allocation/1", "currency": "USD", "prices": {"Au": "100 USD/g"}, "discount": "0 %/a",
    "gap": "0 %", "lots": {},
    "terms": {"smelter": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}}, "accepts": {"mass": {"min": "400 kg"}},
                          "charges": [{"what": "sampling", "rate": "100 USD/lot"}]},
              "trader": {"buys": "concentrate", "pay": {"Au": {"share": "50 %"}}}},
    "routes": {"to the smelter": {"sell": "smelter"}, "to the trader": {"sell": "trader"}}})");
  for (int i = 0; i < count; ++i)
    request["lots"]["K-" + std::to_string(i)] = {{"wet_mass", "300 kg"},
                                                 {"assays", {{"Au", std::to_string(50 + i) + " g/t"}}}};
  return request;
}

bw_status allocate(bw_context* context, const std::string& request, Answer& answer) {
  return bw_allocate(context, request.data(), request.size(), answer.out());
}

std::string allocated(bw_context* context, const std::string& request) {
  Answer answer;
  EXPECT_EQ(allocate(context, request, answer), BW_OK) << bw_error_text(context);
  return answer != nullptr ? bw_answer_text(answer, nullptr) : "";
}

// Two lots of 15 g and 15.3 g: 30.3 g x 90 USD/g - 100.
TEST(Schedule, is_an_answer_as_all_others_are) {
  const Context context;
  Answer answer;
  ASSERT_EQ(allocate(context, small_lots(2).dump(), answer), BW_OK) << bw_error_text(context);
  double leaves = 0;
  EXPECT_EQ(bw_answer_number(context, answer, "/present_value", &leaves), BW_OK);
  EXPECT_DOUBLE_EQ(leaves, 2627);
  size_t joined = 0;
  EXPECT_EQ(bw_answer_count(context, answer, "/shipments/0/lots", &joined), BW_OK);
  EXPECT_EQ(joined, 2U);
}

TEST(Schedule, refuses_null) {
  const Context context;
  Answer kept;
  const std::string request = small_lots(2).dump();
  ASSERT_EQ(allocate(context, request, kept), BW_OK);
  bw_answer* answer = kept;
  EXPECT_EQ(bw_allocate(nullptr, request.data(), request.size(), &answer), BW_USAGE_NULL);
  EXPECT_EQ(answer, nullptr);
  answer = kept;
  EXPECT_EQ(bw_allocate(context, nullptr, request.size(), &answer), BW_USAGE_NULL);
  EXPECT_EQ(answer, nullptr);
  EXPECT_NE(std::strstr(bw_error_text(context), "NULL"), nullptr);
  EXPECT_EQ(bw_allocate(context, request.data(), request.size(), nullptr), BW_USAGE_NULL);
  EXPECT_EQ(bw_allocate(nullptr, nullptr, 0, nullptr), BW_USAGE_NULL);
}

TEST(Schedule, tells_every_mistake_with_its_place) {
  const Context context;
  Json request = small_lots(2);
  request["lots"]["K-1"]["wet_mass"] = "300 oz";
  request["lots"]["K-0"]["divisible"] = 3;
  const std::string text = request.dump();
  bw_answer* answer = nullptr;
  EXPECT_EQ(bw_allocate(context, text.data(), text.size(), &answer), BW_DOCUMENT_RANGE);
  EXPECT_EQ(answer, nullptr);
  EXPECT_EQ(statuses(context), (std::vector<bw_status>{BW_DOCUMENT_RANGE, BW_DOCUMENT_UNIT}));
  EXPECT_EQ(errors(context).at(1).at("pointer"), "/lots/K-1/wet_mass");
  EXPECT_FALSE(allocated(context, small_lots(2).dump()).empty()) << "the context goes on";
}

// The solver would end the program.
TEST(Schedule, refuses_amounts_that_no_shipment_has) {
  const Context context;
  Json request = small_lots(2);
  request["prices"]["Au"] = "1e29 USD/g";
  Answer answer;
  EXPECT_EQ(allocate(context, request.dump(), answer), BW_DOCUMENT_RANGE);
  EXPECT_NE(std::string(bw_error_text(context)).find("10^15"), std::string::npos) << bw_error_text(context);
}

// Its mean can be weighed, single draws cannot.
TEST(Schedule, refuses_amounts_that_draws_alone_come_to) {
  const Context context;
  Json request = small_lots(2);
  request["prices"]["Au"] = {{"value", "5e12 USD/g"}, {"rsd", "900 %"}};
  EXPECT_FALSE(allocated(context, request.dump()).empty());
  request["draws"] = 256;
  Answer answer;
  EXPECT_EQ(allocate(context, request.dump(), answer), BW_DOCUMENT_RANGE);
  EXPECT_NE(std::string(bw_error_text(context)).find("10^15"), std::string::npos) << bw_error_text(context);
}

TEST(Schedule, refuses_limits_that_no_month_reaches) {
  const Context context;
  for (const Json& beyond : {Json{{"cash", {{{"by", "20 d"}, {"amount", "1e30 USD"}}}}},
                             Json{{"buyers", {{"smelter", {{"mass", {{"max", "1e20 kg"}}}}}}}}}) {
    Json request = small_lots(2);
    request.update(beyond);
    Answer answer;
    EXPECT_EQ(allocate(context, request.dump(), answer), BW_DOCUMENT_RANGE);
    EXPECT_NE(std::string(bw_error_text(context)).find("10^15"), std::string::npos) << bw_error_text(context);
  }
}

TEST(Schedule, keeps_to_the_limits_of_the_context) {
  const Context context;
  ASSERT_EQ(bw_set_limit(context, "depth", 3), BW_OK);
  Answer answer;
  EXPECT_EQ(allocate(context, small_lots(2).dump(), answer), BW_DOCUMENT_LIMIT);
}

/// All that a library may look at in a context of which it does not know the version: its first 16 bytes.
TEST(Schedule, refuses_a_context_of_another_version) {
  alignas(std::max_align_t) std::array<char, 16> mark{"99.1.0"};
  const std::array<char, 16> before = mark;
  const std::string request = small_lots(2).dump();
  Answer kept;
  const Context context;
  ASSERT_EQ(allocate(context, request, kept), BW_OK);
  bw_answer* answer = kept;
  auto* const other = reinterpret_cast<bw_context*>(mark.data());
  EXPECT_EQ(bw_allocate(other, request.data(), request.size(), &answer), BW_USAGE_TYPE);
  EXPECT_EQ(answer, nullptr);
  EXPECT_EQ(bw_allocate(other, request.data(), request.size(), nullptr), BW_USAGE_TYPE);
  EXPECT_EQ(mark, before);
}

/// Progress as a host sees it, which may cancel at one of its reports.
struct Reports {
  bw_context* context;
  std::vector<std::pair<int64_t, int64_t>> all;
  size_t cancel_at = 0;  ///< 0: never
  static void note(void* user, int64_t done, int64_t total) {
    auto* self = static_cast<Reports*>(user);
    self->all.emplace_back(done, total);
    if (self->all.size() == self->cancel_at) bw_cancel(self->context);
  }
};

TEST(Schedule, reports_its_progress_to_the_end) {
  const Context context;
  Reports reports{context, {}};
  ASSERT_EQ(bw_set_progress(context, Reports::note, &reports), BW_OK);
  EXPECT_FALSE(allocated(context, small_lots(12).dump()).empty());
  ASSERT_GE(reports.all.size(), 3U);
  for (const auto& [done, total] : reports.all) {
    EXPECT_GE(done, 0);
    EXPECT_LE(done, total);
  }
  EXPECT_TRUE(std::is_sorted(reports.all.begin(), reports.all.end()));
  EXPECT_EQ(reports.all.back().first, reports.all.back().second);
}

TEST(Schedule, is_cancelled_at_every_report) {
  const Context context;
  Reports counted{context, {}};
  ASSERT_EQ(bw_set_progress(context, Reports::note, &counted), BW_OK);
  const std::string request = small_lots(12).dump(), whole = allocated(context, request);
  ASSERT_GE(counted.all.size(), 3U);
  for (const size_t at : {size_t{1}, size_t{2}, counted.all.size() / 2}) {
    Reports reports{context, {}, at};
    ASSERT_EQ(bw_set_progress(context, Reports::note, &reports), BW_OK);
    bw_answer* answer = nullptr;
    EXPECT_EQ(bw_allocate(context, request.data(), request.size(), &answer), BW_CANCELLED)
        << "at report " << at;
    EXPECT_EQ(answer, nullptr);
    EXPECT_EQ(bw_error_status(context), BW_CANCELLED);
  }
  ASSERT_EQ(bw_set_progress(context, nullptr, nullptr), BW_OK);
  EXPECT_EQ(allocated(context, request), whole) << "the context goes on";
}

TEST(Schedule, is_busy_while_it_decides) {
  struct Meanwhile {
    bw_context* context;
    std::vector<bw_status> got;
    static void call(void* user, int64_t, int64_t) {
      auto* self = static_cast<Meanwhile*>(user);
      if (!self->got.empty()) return;
      const std::string request = small_lots(2).dump();
      bw_answer* answer = nullptr;
      self->got.push_back(bw_allocate(self->context, request.data(), request.size(), &answer));
    }
  };
  const Context context;
  Meanwhile meanwhile{context, {}};
  ASSERT_EQ(bw_set_progress(context, Meanwhile::call, &meanwhile), BW_OK);
  EXPECT_FALSE(allocated(context, small_lots(3).dump()).empty());
  EXPECT_EQ(meanwhile.got, std::vector<bw_status>{BW_BUSY});
}

TEST(Schedule, is_the_same_from_two_threads_at_once) {
  Json month = small_lots(10);
  month["time"] = "1 d";  // what is found must not end with the time it took
  const std::string request = month.dump();
  const Context context;
  const std::string alone = allocated(context, request);
  std::vector<std::string> found(2);
  std::vector<std::thread> threads;
  for (std::string& one : found)
    threads.emplace_back([&one, &request] {
      const Context own;
      for (int i = 0; i < 3; ++i) one = allocated(own, request);
    });
  for (std::thread& one : threads) one.join();
  EXPECT_EQ(found[0], alone);
  EXPECT_EQ(found[1], alone);
}

}  // namespace
}  // namespace capi
