// Many lots by one plan through the C interface: columns of every kind, room of every size, what is told.

#include <cmath>
#include <cstring>
#include <limits>

#include "buttonworth.hpp"
#include "support.hpp"

namespace capi {
namespace {

/// Wet masses in t and assays in g/t: a lot of m t at a g/t leaves 90 m a USD, or is kept.
struct Lots {
  Context context;
  Plan plan = read_good(context, minimal_plan());
  Answer answer;
  std::vector<double> masses{1, 2, 0.5, 3}, assays{50, 10, 100, 5};
  std::vector<const char*> pointers{"/lot/wet_mass", "/lot/assays/Au"};
  std::vector<const double*> columns{masses.data(), assays.data()};
  std::vector<int64_t> strides{1, 1};
  std::vector<double> values = std::vector<double>(8, 7), sds = values;

  bw_status value(std::string_view options = {}, size_t rows = 4) {
    return bw_value_lots(context, plan, options.data(), options.size(), pointers.data(), columns.data(),
                         strides.data(), pointers.size(), rows, values.data(), sds.data(), values.size(),
                         answer.out());
  }
  Json told() const { return Json::parse(bw_answer_text(answer, nullptr)); }
  std::string error() const { return bw_error_text(context); }
};

TEST(Lots, are_valued_in_the_units_of_the_plan) {
  Lots lots;
  ASSERT_EQ(lots.value(), BW_OK) << lots.error();
  const std::vector<double> expected{4500, 0, 1800, 0, 4500, 0, 1350, 0};
  for (size_t i = 0; i < 8; ++i) EXPECT_NEAR(lots.values[i], expected[i], 1e-9);
  for (double sd : lots.sds) EXPECT_EQ(sd, 0);
  const Json told = lots.told();
  EXPECT_EQ(told.at("format"), "buttonworth-lot-values/1");
  EXPECT_EQ(told.at("sum"), "12150.0000");
  EXPECT_EQ(told.at("routes").at("as it is").at("best"), 4);
  EXPECT_EQ(told.at("routes").at("kept").at("sum"), "0.0000");
  EXPECT_EQ(told.at("columns").at(0).at("unit"), "t");
  EXPECT_EQ(told.at("draws"), nullptr);
  EXPECT_EQ(told.at("left_out"), Json::array());
}

TEST(Lots, lie_as_far_apart_as_the_caller_says) {
  Lots lots;
  std::vector<double> pairs;  // mass and assay in turn, the last lot first
  for (size_t i = 4; i-- > 0;) pairs.insert(pairs.end(), {lots.masses[i], lots.assays[i]});
  const std::vector<double> straight = (lots.value(), lots.values);
  lots.columns = {&pairs[6], &pairs[7]};
  lots.strides = {-2, -2};
  ASSERT_EQ(lots.value(), BW_OK) << lots.error();
  EXPECT_EQ(lots.values, straight);
  lots.columns = {lots.masses.data(), &lots.assays[3]};
  lots.strides = {1, 0};  // one assay for all
  ASSERT_EQ(lots.value(), BW_OK) << lots.error();
  EXPECT_NEAR(lots.values[2], 2 * 5 * 90, 1e-9);
  lots.strides = {1, INT64_MAX};
  EXPECT_EQ(lots.value(), BW_USAGE_SIZE);
  for (double one : lots.values) EXPECT_TRUE(std::isnan(one));
}

TEST(Lots, in_room_of_every_size) {
  Lots lots;
  for (size_t capacity : {0, 7, 8, 12}) {
    std::vector<double> room(13, 5);
    const bool fits = capacity >= 8;
    EXPECT_EQ(bw_value_lots(lots.context, lots.plan, nullptr, 0, lots.pointers.data(), lots.columns.data(),
                            lots.strides.data(), 2, 4, room.data(), nullptr, capacity, lots.answer.out()),
              fits ? BW_OK : BW_USAGE_BUFFER);
    EXPECT_EQ(lots.answer != nullptr, fits);
    for (size_t i = 0; i < 13; ++i)
      EXPECT_TRUE(i >= capacity ? room[i] == 5 : fits && i < 8 ? room[i] >= 0 : std::isnan(room[i])) << i;
  }
  // Without a place only the answer is wanted.
  EXPECT_EQ(bw_value_lots(lots.context, lots.plan, nullptr, 0, lots.pointers.data(), lots.columns.data(),
                          lots.strides.data(), 2, 4, nullptr, nullptr, 0, lots.answer.out()),
            BW_OK);
  EXPECT_EQ(lots.told().at("rows"), 4);
  EXPECT_EQ(bw_value_lots(lots.context, lots.plan, nullptr, 0, nullptr, nullptr, nullptr, 0, 0, nullptr,
                          nullptr, 0, lots.answer.out()),
            BW_OK);
  EXPECT_EQ(lots.told().at("rows"), 0);
}

TEST(Lots, with_numbers_that_are_none_are_counted_and_told) {
  Lots lots;
  lots.masses[1] = -2;
  lots.assays[3] = std::numeric_limits<double>::quiet_NaN();
  lots.assays[2] = 1e6 + 1;
  ASSERT_EQ(lots.value(R"({"first": 1000})"), BW_OK) << lots.error();
  for (size_t i = 0; i < 8; ++i) EXPECT_EQ(std::isnan(lots.values[i]), i >= 2) << i;
  const Json told = lots.told();
  EXPECT_EQ(told.at("unreadable"), 3);
  EXPECT_EQ(told.at("counted"), 1);
  EXPECT_EQ(told.at("left_out").at(0),
            Json({{"row", 1001},
                  {"of", "/lot/wet_mass"},
                  {"what", "-2 t stands here: it must be more than 0, as a number in t"}}));
  EXPECT_EQ(told.at("left_out").at(1).at("what"),
            "1000001 g/t stands here: it must be 0 to 100 %, as a number in g/t");
  EXPECT_EQ(told.at("left_out").at(2).at("what"),
            "no number stands here: it must be 0 to 100 %, as a number in g/t");
}

/// All gold into a hundredth of the mass, which cannot hold more than 10 kg/t of the lot.
Json panned_plan() {
  Json document = minimal_plan();
  document["steps"]["pan"] =
      Json::parse(R"({"kind": "split", "into": {"heads": {"mass": "1 %", "Au": "100 %"}, "rest": {}}})");
  document["routes"] =
      Json::parse(R"({"panned": {"step": "pan", "heads": {"sell": "smelter"}, "rest": {"keep": true}}})");
  return document;
}

TEST(Lots, that_a_step_cannot_part_are_told_with_the_reason) {
  Lots lots;
  lots.plan = read_good(lots.context, panned_plan());
  lots.assays[1] = 10'001;  // a hundredth of the mass cannot hold all of that
  ASSERT_EQ(lots.value(), BW_OK) << lots.error();
  EXPECT_NEAR(lots.values[0], 4500, 1e-9);
  EXPECT_NEAR(lots.values[2], 4500, 1e-9);
  const Json told = lots.told();
  EXPECT_EQ(told.at("impossible"), 1);
  ASSERT_EQ(told.at("left_out").size(), 1U);
  const Json& left = told.at("left_out").at(0);
  EXPECT_EQ(left.at("row"), 1);
  EXPECT_EQ(left.at("of"), nullptr);
  EXPECT_NE(left.at("what").dump().find("output heads of step pan would hold more"), std::string::npos);
}

TEST(Lots, that_make_no_plan_are_told_with_the_reason) {
  Json document = minimal_plan();
  document["terms"]["smelter"]["advance"] = {{"share", "80 %"}, {"after", "5 d"}};
  document["terms"]["smelter"]["final"] = "30 d";
  Lots lots;
  lots.plan = read_good(lots.context, document);
  lots.pointers = {"/lot/assays/Au", "/terms/smelter/advance/after"};
  std::vector<double> days{5, 31, 30, 0};
  lots.columns = {lots.assays.data(), days.data()};
  ASSERT_EQ(lots.value(), BW_OK) << lots.error();
  const Json told = lots.told();
  EXPECT_EQ(told.at("counted"), 3);
  EXPECT_EQ(told.at("impossible"), 1);
  ASSERT_EQ(told.at("left_out").size(), 1U);
  EXPECT_EQ(told.at("left_out").at(0).at("row"), 1);
  EXPECT_NE(told.at("left_out").at(0).at("what").dump().find("the advance comes after final"),
            std::string::npos);
}

void expect_refused(Lots& lots, const char* pointer, const char* says, std::string_view options = {}) {
  EXPECT_EQ(lots.value(options), BW_USAGE_OPTIONS) << says;
  EXPECT_EQ(lots.answer, nullptr);
  EXPECT_EQ(errors(lots.context).at(0).at("pointer"), pointer) << lots.error();
  EXPECT_NE(lots.error().find(says), std::string::npos) << lots.error();
  for (double one : lots.values) EXPECT_TRUE(std::isnan(one));
}

TEST(Lots, of_columns_that_the_plan_does_not_have) {
  Lots lots;
  lots.pointers[1] = "/lot/assays/Ag";
  expect_refused(lots, "/columns/1", "/lot/assays/Au");
  lots.pointers[1] = "/lot/wet_mass";
  expect_refused(lots, "/columns/1", "stands twice");
  lots.pointers[1] = "/lot";
  expect_refused(lots, "/columns/1", "the plan states no quantity at /lot");
}

TEST(Lots, under_options_that_are_not_right) {
  Lots lots;
  expect_refused(lots, "/draw", "there is no field draw", R"({"draw": 64})");
  expect_refused(lots, "/draws", "from 0 to 32768", R"({"draws": 32769})");
  expect_refused(lots, "/draws", "of 2 routes no more than 16384 draws", R"({"draws": 16385})");
  expect_refused(lots, "/routes/0", "kept", R"({"routes": ["keep"]})");
  Json unsure = minimal_plan();
  unsure["prices"]["Au"] = {{"low", "80 USD/g"}, {"high", "120 USD/g"}};
  unsure["lot"]["assays"]["Au"] = {{"value", "50 g/t"}, {"rsd", "5 %"}};
  lots.plan = read_good(lots.context, unsure);
  const char* const both = "/lot/assays/Au is drawn for each lot by itself, /prices/Au once for all lots";
  expect_refused(lots, "/correlate", both, R"({"correlate": [["/prices/Au", "/lot/assays/Au", "0.5"]]})");
  expect_refused(lots, "/same", both, R"({"same": [["/lot/assays/Au", "/prices/Au"]]})");
}

TEST(Lots, that_are_drawn) {
  Lots lots;
  Json unsure = minimal_plan();
  unsure["lot"]["assays"]["Au"] = {{"value", "50 g/t"}, {"rsd", "5 %"}};
  lots.plan = read_good(lots.context, unsure);
  ASSERT_EQ(lots.value(R"({"draws": 1024, "seed": 4, "threads": 2})"), BW_OK) << lots.error();
  for (size_t lot = 0; lot < 4; ++lot) {
    const double worth = 90 * lots.masses[lot] * lots.assays[lot];
    EXPECT_NEAR(lots.values[2 * lot], worth, 5 * 0.05 * worth / 32);
    EXPECT_NEAR(lots.sds[2 * lot], 0.05 * worth, 5 * 0.05 * worth / 45) << "five standard errors";
    EXPECT_EQ(lots.values[2 * lot + 1], 0);
  }
  const Json draws = lots.told().at("draws");
  EXPECT_EQ(draws.at("count"), 1024);
  EXPECT_EQ(draws.at("seed"), 4);
  ASSERT_EQ(draws.at("sums").size(), 1024U);
  double sum = 0, means = 0;
  for (const Json& one : draws.at("sums")) sum += std::stod(one.get<std::string>()) / 1024;
  for (size_t lot = 0; lot < 4; ++lot) means += lots.values[2 * lot];
  EXPECT_NEAR(sum, means, 0.001);
  ASSERT_EQ(lots.value(R"({"draws": 16})"), BW_OK) << lots.error();
  EXPECT_EQ(lots.told().at("draws").at("seed"), 1) << "where none is stated";
}

/// A spread stated in the unit of the quantity stays as wide as it is; what lies beyond the range is said.
TEST(Lots, that_are_drawn_beyond_their_range) {
  Lots lots;
  Json unsure = minimal_plan();
  unsure["lot"]["assays"]["Au"] = {{"value", "50 g/t"}, {"sd", "5 g/t"}};
  lots.plan = read_good(lots.context, unsure);
  ASSERT_EQ(lots.value(R"({"draws": 1024})"), BW_OK) << lots.error();
  for (size_t lot : {0, 2})  // 50 and 100 g/t; the others lie near 0
    EXPECT_NEAR(lots.sds[2 * lot], 90 * lots.masses[lot] * 5, 5 * 90 * lots.masses[lot] * 5 / 45);
  EXPECT_LT(lots.sds[6], 90 * 3 * 5 * 0.95) << "cut off at one standard deviation below";
  // Of four lots one lies one standard deviation above 0, one two: 0.1587 + 0.0228 of 4 (tables of the
  // normal).
  const std::string what = lots.told().at("cautions").back().at("what");
  EXPECT_EQ(lots.told().at("cautions").back().at("at"), "/lot/assays/Au");
  EXPECT_NEAR(std::stod(what), 100 * (0.1587 + 0.0228) / 4, 0.6) << what;
}

/// As many as are worked out at once and more, of which each breaks in some draws; to five standard errors.
TEST(Lots, that_cannot_be_in_some_draws) {
  Json unsure = panned_plan();
  unsure["lot"]["assays"]["Au"] = {{"value", "9000 g/t"}, {"rsd", "10 %"}};
  Lots lots;
  lots.plan = read_good(lots.context, unsure);
  lots.masses[0] = 1;
  lots.assays[0] = 9000;
  lots.strides = {0, 0};
  constexpr size_t rows = 512;
  lots.values.resize(rows);
  lots.sds.resize(rows);
  ASSERT_EQ(lots.value(R"({"draws": 256})", rows), BW_OK) << lots.error();
  const Json told = lots.told();
  EXPECT_EQ(told.at("counted"), rows);
  const double broken = 1 - std::erfc(-1'000.0 / 900 / std::sqrt(2)) / 2;
  const double draws = rows * 256;
  EXPECT_NEAR(told.at("draws").at("impossible"), broken * draws, 5 * std::sqrt(broken * draws));
}

TEST(Lots, report_progress_and_stop) {
  Lots lots;
  const std::vector<double> many(100'000, 1);
  lots.columns = {many.data(), many.data()};
  struct Told {
    bw_context* context;
    int times = 0;
    int64_t done = 0, total = 0;
    bool stops = false;
  } told{lots.context};
  const auto progress = [](void* user, int64_t done, int64_t total) {
    Told& told = *static_cast<Told*>(user);
    EXPECT_GT(done, told.done);
    told.done = done;
    told.total = total;
    if (++told.times == 3 && told.stops) bw_cancel(told.context);
  };
  ASSERT_EQ(bw_set_progress(lots.context, progress, &told), BW_OK);
  lots.values.resize(200'000);
  lots.sds.resize(200'000);
  ASSERT_EQ(lots.value({}, many.size()), BW_OK) << lots.error();
  EXPECT_EQ(told.done, told.total);
  EXPECT_GE(told.times, 20);
  told = {lots.context, 0, 0, 0, true};
  EXPECT_EQ(lots.value({}, many.size()), BW_CANCELLED);
  EXPECT_EQ(lots.answer, nullptr);
  EXPECT_LT(told.done, told.total);
}

TEST(Lots, through_the_wrapper_for_cpp) {
  bw::Context context;
  const bw::Plan plan = context.read(minimal_plan().dump());
  std::vector<double> values(4);
  const bw::Answer answer =
      context.value_lots(plan, {{"/lot/wet_mass", {1, 2}}, {"/lot/assays/Au", {50, 10}}}, R"({"threads": 2})",
                         values.data(), nullptr, values.size());
  EXPECT_NEAR(values[2], 1800, 1e-9);
  EXPECT_EQ(answer.string("/sum"), "6300.0000");
  EXPECT_THROW(context.value_lots(plan, {{"/lot/wet_mass", {1, 2}}, {"/lot/assays/Au", {50}}}), bw::Error);
}

}  // namespace
}  // namespace capi
