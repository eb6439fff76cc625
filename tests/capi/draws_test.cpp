// Simulations through the C interface: draws that are handed out, progress, and stopping.

#include <atomic>
#include <cstring>
#include <limits>
#include <thread>

#include "buttonworth.hpp"
#include "support.hpp"

namespace capi {
namespace {

/// 1 t at 40 to 60 g/t, 90 % of 80 to 120 USD/g paid.
Json unsure_plan() {
  Json plan = minimal_plan();
  plan["prices"]["Au"] = {{"low", "80 USD/g"}, {"high", "120 USD/g"}};
  plan["lot"]["assays"]["Au"] = {{"low", "40 g/t"}, {"high", "60 g/t"}};
  return plan;
}

bw_status simulate(bw_context* context, const bw_plan* plan, Answer& answer, std::string_view options) {
  return bw_simulate(context, plan, options.data(), options.size(), answer.out());
}

struct Simulated {
  Context context;
  Plan plan = read_good(context, unsure_plan());
  Answer answer;
  Simulated() {
    EXPECT_EQ(simulate(context, plan, answer, R"({"draws": 256, "keep": true})"), BW_OK)
        << bw_error_text(context);
  }
};

TEST(Draws, are_handed_out_by_name_and_pointer) {
  Simulated s;
  std::vector<double> worth(256), price(256), grade(256);
  size_t size = 7;
  ASSERT_EQ(bw_answer_draws(s.context, s.answer, "as it is", worth.data(), 256, &size), BW_OK);
  EXPECT_EQ(size, 256U);
  ASSERT_EQ(bw_answer_draws(s.context, s.answer, "/prices/Au", price.data(), 256, &size), BW_OK);
  ASSERT_EQ(bw_answer_draws(s.context, s.answer, "/lot/assays/Au", grade.data(), 256, &size), BW_OK);
  for (size_t i = 0; i < 256; ++i) {
    EXPECT_GE(price[i], 80'000);  // USD/kg
    EXPECT_LE(price[i], 120'000);
    EXPECT_GE(grade[i], 40e-6);
    EXPECT_LE(grade[i], 60e-6);
    EXPECT_NEAR(worth[i], price[i] * grade[i] * 1000 * 0.9, 1e-8);
  }
}

TEST(Draws, in_room_of_every_size) {
  Simulated s;
  for (size_t capacity : {0, 1, 255, 256, 300}) {
    std::vector<double> values(301, 5);
    size_t size = 7;
    const bool fits = capacity == 0 || capacity >= 256;
    EXPECT_EQ(bw_answer_draws(s.context, s.answer, "kept", values.data(), capacity, &size),
              fits ? BW_OK : BW_USAGE_BUFFER);
    EXPECT_EQ(size, 256U) << "the size needed";
    for (size_t i = 0; i < 301; ++i) {
      const double expected = i < capacity ? 0 : 5;  // beyond the room nothing is touched
      const bool filled = i >= capacity || (fits && i < 256);
      EXPECT_TRUE(filled ? values[i] == expected : std::isnan(values[i])) << i << " is " << values[i];
    }
  }
  size_t size = 7;
  EXPECT_EQ(bw_answer_draws(s.context, s.answer, "kept", nullptr, 0, &size), BW_OK);
  EXPECT_EQ(size, 256U);
}

std::vector<double> drawn(const Json& document, const char* what) {
  Context context;
  const Plan plan = read_good(context, document);
  Answer answer;
  EXPECT_EQ(simulate(context, plan, answer, R"({"draws": 256, "keep": true, "method": "philox", "seed": 0})"),
            BW_OK);
  std::vector<double> values(256);
  size_t size = 0;
  EXPECT_EQ(bw_answer_draws(context, answer, what, values.data(), 256, &size), BW_OK);
  return values;
}

/// Random123's known answer of Philox4x32-10 for all words 0 begins 6627e8d5 e169c58d bc57ac4c 9b00dbd8
/// (kat_vectors): the first two draws of the first dimension, /lot/assays/Au, which the document may state
/// last.
TEST(Draws, hang_on_the_places_and_not_on_the_order_of_the_document) {
  const Json plan = unsure_plan();
  Json backwards;
  for (auto field = plan.rbegin(); field != plan.rend(); ++field) backwards[field.key()] = field.value();
  ASSERT_NE(plan.dump(), backwards.dump());
  const std::vector<double> grade = drawn(plan, "/lot/assays/Au");
  EXPECT_DOUBLE_EQ(grade[0], 40e-6 + 20e-6 * (0xe169c58d6627e + 0.5) / 0x1p52);
  EXPECT_DOUBLE_EQ(grade[1], 40e-6 + 20e-6 * (0x9b00dbd8bc57a + 0.5) / 0x1p52);
  for (const char* what : {"/lot/assays/Au", "/prices/Au"})
    EXPECT_EQ(drawn(plan, what), drawn(backwards, what));
}

void expect_none(bw_context* context, const bw_answer* answer, const char* what, const char* told) {
  double value = 5;
  size_t size = 7;
  EXPECT_EQ(bw_answer_draws(context, answer, what, &value, 1, &size), BW_USAGE_POINTER) << what;
  EXPECT_EQ(size, 0U);
  EXPECT_TRUE(std::isnan(value));
  EXPECT_NE(std::strstr(bw_error_text(context), told), nullptr) << bw_error_text(context);
}

TEST(Draws, that_are_not_there) {
  Simulated s;
  for (const char* what :
       {"", "as it", "as it is ", "/prices/Ag", "/prices", "/routes/kept", "/lot/wet_mass"})
    expect_none(s.context, s.answer, what, "no draws of this");
  Answer without;
  ASSERT_EQ(simulate(s.context, s.plan, without, ""), BW_OK);
  expect_none(s.context, without, "kept", "\"keep\": true");
  ASSERT_EQ(compare(s.context, s.plan, without), BW_OK);
  expect_none(s.context, without, "kept", "\"keep\": true");
}

TEST(Draws, outlive_plan_and_context) {
  Answer answer;
  {
    Simulated s;
    answer = std::move(s.answer);
  }
  Context other;
  size_t size = 0;
  EXPECT_EQ(bw_answer_draws(other, answer, "/prices/Au", nullptr, 0, &size), BW_OK);
  EXPECT_EQ(size, 256U);
}

TEST(Draws, through_the_wrapper_for_cpp) {
  bw::Context context;
  const bw::Plan plan = context.read(unsure_plan().dump());
  const bw::Answer answer = context.simulate(plan, R"({"draws": 256, "keep": true})");
  const std::vector<double> worth = answer.draws("as it is");
  ASSERT_EQ(worth.size(), 256U);
  double sum = 0;
  for (double one : worth) sum += one;
  EXPECT_NEAR(sum / 256, answer.number("/routes/as it is/mean"), 1e-6);
  try {
    answer.draws("/prices/Ag");
    ADD_FAILURE() << "there are no such draws";
  } catch (const bw::Error& error) {
    EXPECT_EQ(error.status(), BW_USAGE_POINTER);
  }
  const bw::Answer assay = context.worth(
      plan, R"({"draws": 256, "candidates": [{"of": "/lot/assays/Au", "error": "4 %", "cost": "65 USD"}]})");
  EXPECT_EQ(assay.number("/candidates/0/counts/0/net"), -65) << "one buyer: whatever it shows";
}

// ---- Progress and stopping -------------------------------------------------------------------------

/// What the calling thread was told.
struct Told {
  bw_context* stops = nullptr;  ///< once it was told `after` times
  int after = 3, times = 0;
  int64_t done = 0, total = 0;
  std::thread::id thread = std::this_thread::get_id();

  static void progress(void* user, int64_t done, int64_t total) {
    Told& told = *static_cast<Told*>(user);
    EXPECT_EQ(std::this_thread::get_id(), told.thread) << "callbacks run on the calling thread only";
    EXPECT_GT(total, 0);
    EXPECT_GT(done, told.done) << "progress never goes back";
    EXPECT_LE(done, total);
    told.done = done;
    told.total = total;
    if (++told.times == told.after && told.stops != nullptr) bw_cancel(told.stops);
  }
};

TEST(Progress, of_a_simulation_comes_to_its_end) {
  for (const char* options : {R"({"draws": 524288})", R"({"draws": 524288, "threads": 3})"}) {
    Simulated s;
    Told told;
    ASSERT_EQ(bw_set_progress(s.context, Told::progress, &told), BW_OK);
    ASSERT_EQ(simulate(s.context, s.plan, s.answer, options), BW_OK);
    EXPECT_EQ(told.done, told.total);
    EXPECT_GE(told.times, 20);
  }
}

TEST(Cancel, a_simulation_in_the_middle) {
  for (const char* options : {R"({"draws": 1048576})", R"({"draws": 1048576, "threads": 3})",
                              R"({"draws": 1048576, "method": "philox", "keep": true})"}) {
    Simulated s;
    Told told{s.context};
    ASSERT_EQ(bw_set_progress(s.context, Told::progress, &told), BW_OK);
    bw_answer* answer = s.answer;
    EXPECT_EQ(bw_simulate(s.context, s.plan, options, std::strlen(options), &answer), BW_CANCELLED);
    EXPECT_EQ(answer, nullptr);
    EXPECT_EQ(errors(s.context).at(0).at("class"), "cancelled");
    EXPECT_LT(told.done, told.total) << "stopped before the end";
    ASSERT_EQ(bw_set_progress(s.context, nullptr, nullptr), BW_OK);
    Answer again;
    ASSERT_EQ(simulate(s.context, s.plan, again, R"({"draws": 256, "keep": true})"), BW_OK);
    EXPECT_STREQ(bw_answer_text(again, nullptr), bw_answer_text(s.answer, nullptr));
  }
}

TEST(Cancel, a_simulation_or_a_worth_from_another_thread) {
  const std::string worth =
      R"({"candidates": [{"of": "/prices/Au", "error": "2 %", "count": 64, "cost": "1 USD"}], "draws": 1048576})";
  for (const bool of_worth : {false, true}) {
    Simulated s;
    std::atomic<bool> over{false};
    std::thread canceller([&] {
      std::this_thread::sleep_for(std::chrono::milliseconds(30));
      while (!over) bw_cancel(s.context);
    });
    const std::string options = of_worth ? worth : R"({"draws": 67108864})";
    Answer answer;
    const auto call = of_worth ? bw_worth : bw_simulate;
    EXPECT_EQ(call(s.context, s.plan, options.data(), options.size(), answer.out()), BW_CANCELLED);
    over = true;
    canceller.join();
    EXPECT_EQ(answer, nullptr);
  }
}

TEST(Draws, of_one_plan_on_several_threads_at_once) {
  Simulated s;
  std::vector<std::thread> threads;
  std::atomic<int> same{0};
  for (int i = 0; i < 4; ++i)
    threads.emplace_back([&] {
      Context own;
      Answer answer;
      if (simulate(own, s.plan, answer, R"({"draws": 256, "keep": true})") != BW_OK) return;
      std::vector<double> ours(256), theirs(256);
      size_t size = 0;
      bw_answer_draws(own, answer, "as it is", ours.data(), 256, &size);
      bw_answer_draws(own, s.answer, "as it is", theirs.data(), 256, &size);
      same += ours == theirs &&
              std::strcmp(bw_answer_text(answer, nullptr), bw_answer_text(s.answer, nullptr)) == 0;
    });
  for (std::thread& thread : threads) thread.join();
  EXPECT_EQ(same, 4);
}

}  // namespace
}  // namespace capi
