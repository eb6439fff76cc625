// What results hold: after a failure, in buffers of every size, and by pointer into an answer.

#include <array>
#include <cstring>
#include <limits>

#include "support.hpp"

namespace capi {
namespace {

struct Compared {
  Context context;
  Plan plan;
  Answer answer;
  explicit Compared(const Json& document = minimal_plan()) : plan(read_good(context, document)) {
    EXPECT_EQ(compare(context, plan, answer), BW_OK) << bw_error_text(context);
  }
  double number(const char* pointer, bw_status expected = BW_OK) {
    double result = 7;
    EXPECT_EQ(bw_answer_number(context, answer, pointer, &result), expected) << pointer << " gave " << result;
    return result;
  }
  size_t count(const char* pointer, bw_status expected = BW_OK) {
    size_t result = 7;
    EXPECT_EQ(bw_answer_count(context, answer, pointer, &result), expected) << pointer;
    return result;
  }
  std::string string(const char* pointer, bw_status expected = BW_OK) {
    std::array<char, 4096> buffer{"before"};
    size_t needed = 7;
    EXPECT_EQ(bw_answer_string(context, answer, pointer, buffer.data(), buffer.size(), &needed), expected)
        << pointer;
    EXPECT_EQ(needed, expected == BW_OK ? std::strlen(buffer.data()) + 1 : 0);
    return buffer.data();
  }
  std::string name(const char* pointer, size_t index, bw_status expected = BW_OK) {
    std::array<char, 64> buffer{"before"};
    size_t needed = 7;
    EXPECT_EQ(bw_answer_name(context, answer, pointer, index, buffer.data(), buffer.size(), &needed),
              expected);
    EXPECT_EQ(needed, expected == BW_OK ? std::strlen(buffer.data()) + 1 : 0);
    return buffer.data();
  }
};

// ---- Status ----------------------------------------------------------------------------------

struct Known {
  bw_status status;
  const char* name;
  const char* class_name;
};
// As printed in the header: the numbers never change, and vectors name the codes.
constexpr Known known[] = {
    {BW_OK, "ok", "ok"},
    {BW_USAGE_NULL, "null", "usage"},
    {BW_USAGE_SIZE, "size", "usage"},
    {BW_USAGE_BUFFER, "buffer", "usage"},
    {BW_USAGE_POINTER, "pointer", "usage"},
    {BW_USAGE_TYPE, "kind", "usage"},
    {BW_USAGE_NAME, "no such name", "usage"},
    {BW_USAGE_OPTIONS, "options", "usage"},
    {BW_USAGE_OVER, "over", "usage"},
    {BW_DOCUMENT_UTF8, "utf8", "document"},
    {BW_DOCUMENT_JSON, "json", "document"},
    {BW_DOCUMENT_LIMIT, "limit", "document"},
    {BW_DOCUMENT_REPEATED, "repeated", "document"},
    {BW_DOCUMENT_UNKNOWN_FIELD, "unknown field", "document"},
    {BW_DOCUMENT_MISSING_FIELD, "missing field", "document"},
    {BW_DOCUMENT_TYPE, "type", "document"},
    {BW_DOCUMENT_QUANTITY, "quantity", "document"},
    {BW_DOCUMENT_UNIT, "unit", "document"},
    {BW_DOCUMENT_RANGE, "range", "document"},
    {BW_DOCUMENT_NAME, "name", "document"},
    {BW_DOCUMENT_CONFLICT, "conflict", "document"},
    {BW_DOCUMENT_FORMAT, "format", "document"},
    {BW_DOMAIN_ASSAYS, "assays", "domain"},
    {BW_DOMAIN_CURVE, "curve", "domain"},
    {BW_DOMAIN_SPLIT, "split", "domain"},
    {BW_DOMAIN_MELT, "melt", "domain"},
    {BW_DOMAIN_MERCURY, "mercury", "domain"},
    {BW_DOMAIN_BALANCE, "balance", "domain"},
    {BW_DOMAIN_FLUX, "flux", "domain"},
    {BW_DOMAIN_FIT, "fit", "domain"},
    {BW_NO_SOLUTION_GRADE, "grade", "no solution"},
    {BW_NO_SOLUTION_RECOVERY, "recovery", "no solution"},
    {BW_CANCELLED, "cancelled", "cancelled"},
    {BW_BUSY, "busy", "busy"},
    {BW_MEMORY, "memory", "memory"},
    {BW_INTERNAL, "internal", "internal"},
};

TEST(Status, names_and_classes_are_the_published_ones) {
  for (const Known& one : known) {
    EXPECT_STREQ(bw_status_name(one.status), one.name);
    EXPECT_STREQ(bw_status_class(one.status), one.class_name);
    EXPECT_GT(std::strlen(bw_status_text(one.status)), 3U) << one.name;
  }
}

TEST(Status, any_other_number_is_unknown) {
  constexpr bw_status outside[] = {-1,
                                   1,
                                   99,
                                   100,
                                   109,
                                   214,
                                   900,
                                   32767,
                                   std::numeric_limits<bw_status>::max(),
                                   std::numeric_limits<bw_status>::min()};
  for (bw_status status : outside) {
    EXPECT_STREQ(bw_status_name(status), "unknown") << status;
    EXPECT_STREQ(bw_status_class(status), "unknown") << status;
    EXPECT_GT(std::strlen(bw_status_text(status)), 3U) << status;
  }
}

TEST(Status, version_is_that_of_the_build) {
  EXPECT_STREQ(bw_version(), BUTTONWORTH_VERSION);
  EXPECT_EQ(bw_abi_version(), BUTTONWORTH_ABI_VERSION);
}

// ---- The last error --------------------------------------------------------------------------

TEST(LastError, is_of_the_last_call_only) {
  Context context;
  EXPECT_EQ(bw_error_status(context), BW_OK);
  EXPECT_STREQ(bw_error_text(context), "");
  EXPECT_EQ(errors(context), Json::array());
  EXPECT_EQ(refusal(context, "{"), BW_DOCUMENT_JSON);
  EXPECT_EQ(bw_error_status(context), BW_DOCUMENT_JSON);
  EXPECT_EQ(errors(context).size(), 1U);
  EXPECT_EQ(refusal(context, minimal_plan().dump()), BW_OK);
  EXPECT_EQ(bw_error_status(context), BW_OK);
  EXPECT_STREQ(bw_error_text(context), "");
  EXPECT_EQ(errors(context), Json::array());
}

TEST(LastError, belongs_to_its_context) {
  Context one, other;
  EXPECT_EQ(refusal(one, "{"), BW_DOCUMENT_JSON);
  EXPECT_EQ(bw_error_status(other), BW_OK);
  EXPECT_STREQ(bw_error_text(other), "");
}

TEST(LastError, handles_are_null_after_every_kind_of_failure) {
  Compared good;
  const std::string bad[] = {"", "{", "\xff", "[]", R"({"format": "other"})", R"({"a": 1, "a": 2})"};
  for (const std::string& text : bad) {
    bw_plan* plan = good.plan;
    EXPECT_NE(bw_plan_read(good.context, text.data(), text.size(), &plan), BW_OK) << text;
    EXPECT_EQ(plan, nullptr) << text;
    bw_answer* answer = good.answer;
    EXPECT_NE(bw_convert(good.context, text.data(), text.size(), &answer), BW_OK) << text;
    EXPECT_EQ(answer, nullptr) << text;
  }
  bw_answer* answer = good.answer;
  EXPECT_EQ(bw_compare(good.context, good.plan, "{", 1, &answer), BW_DOCUMENT_JSON);
  EXPECT_EQ(answer, nullptr);
  answer = good.answer;
  EXPECT_EQ(bw_schema(good.context, "plans", &answer), BW_USAGE_NAME);
  EXPECT_EQ(answer, nullptr);
  bw_plan* plan = good.plan;
  EXPECT_EQ(bw_plan_with(good.context, good.plan, "/nothing", "here", &plan), BW_USAGE_POINTER);
  EXPECT_EQ(plan, nullptr);
}

// ---- Numbers ---------------------------------------------------------------------------------

TEST(Number, is_the_figure_with_or_without_a_unit) {
  Compared c;
  EXPECT_EQ(c.number("/routes/as it is/net"), 4500);
  EXPECT_EQ(c.number("/lead"), 4500);
  EXPECT_EQ(c.number("/routes/as it is/metal/Au/payable"), 45);
  EXPECT_EQ(c.number("/routes/as it is/products/0/assays/Au"), 50);
  EXPECT_EQ(c.number("/routes/as it is/lines/1/amount"), 0);
}

TEST(Number, nothing_stands_there) {
  Compared c;
  for (const char* pointer :
       {"/nothing", "/routes/as it is/lines/9", "/routes/as it is/lines/-", "/best/deeper", "/routes/",
        "/routes/as it is/lines/00", "/routes/as it is/lines/ 0", "/routes/as it is/lines/+0",
        "/routes/as it is/lines/99999999999999999999", "best", "/routes~2", "/routes~"})
    EXPECT_TRUE(std::isnan(c.number(pointer, BW_USAGE_POINTER))) << pointer;
}

TEST(Number, no_number_stands_there) {
  Compared c;
  for (const char* pointer : {"", "/routes", "/best", "/format", "/untested", "/routes/as it is/lines",
                              "/routes/as it is/lines/0/what", "/routes/as it is/lines/0/how"})
    EXPECT_TRUE(std::isnan(c.number(pointer, BW_USAGE_TYPE))) << pointer;
}

TEST(Number, null_is_no_number) {
  Json plan = minimal_plan();
  plan["routes"].erase("kept");
  Compared c(plan);
  EXPECT_TRUE(std::isnan(c.number("/lead", BW_USAGE_TYPE)));
}

// Names are the user's: they are texts, whatever they look like.
TEST(Number, a_name_is_no_number) {
  for (const char* name : {"inf", "nan", "infinity", "-inf", "nan(1)", "inf kg", "5 barrels of sand"}) {
    Json plan = minimal_plan();
    plan["routes"] = {{name, {{"sell", "smelter"}}}};
    Compared c(plan);
    EXPECT_TRUE(std::isnan(c.number("/best", BW_USAGE_TYPE))) << name;
  }
}

TEST(Number, rounds_once_to_a_double) {
  Context context;
  Answer answer;
  const std::string request = R"({"quantity": "0.1 kg", "to": "kg"})";
  ASSERT_EQ(bw_convert(context, request.data(), request.size(), answer.out()), BW_OK);
  double number = 0;
  EXPECT_EQ(bw_answer_number(context, answer, "", &number), BW_OK);
  EXPECT_EQ(number, 0.1);
}

// ---- Texts, counts, names --------------------------------------------------------------------

TEST(String, is_plain_for_a_text_and_json_for_the_rest) {
  Compared c;
  EXPECT_EQ(c.string("/best"), "as it is");
  EXPECT_EQ(c.string("/routes/as it is/metal/Au/fed"), "50 g");
  EXPECT_EQ(c.string("/untested"), "[]");
  EXPECT_EQ(c.string("/routes/as it is/metal/Au/lost"), "{}");
  EXPECT_EQ(Json::parse(c.string("/routes/kept/metal/Au")).at("kept"), "50 g");
  EXPECT_EQ(c.string("/nothing", BW_USAGE_POINTER), "");
}

TEST(String, whole_answer_is_its_text) {
  Compared c;
  size_t size = 0;
  const char* text = bw_answer_text(c.answer, &size);
  EXPECT_EQ(std::strlen(text), size);
  EXPECT_EQ(Json::parse(c.string("")), Json::parse(text));
}

/// Whether a name stands twice in one object of a text: the reader of plans would say so.
bool repeats_a_name(bw_context* context, const bw_answer* answer) {
  size_t size = 0;
  const char* text = bw_answer_text(answer, &size);
  Plan none;
  return bw_plan_read(context, text, size, none.out()) == BW_DOCUMENT_REPEATED;
}

TEST(Names, stand_once_in_an_answer) {
  Json plan = minimal_plan();
  plan["steps"] = Json::parse(R"({
    "furnace": {"kind": "melt", "to_bar": {"Au": "99 %"},
                "flux": [{"reagent": "borax", "dose": "0.5 kg/kg"},
                         {"reagent": "borax", "dose": "0.1 kg/kg", "of": "gangue"}]},
    "pan": {"kind": "dry", "to": "0 %", "dust": "1 %"}})");
  plan["routes"]["melted"] = Json::parse(R"({
    "step": "pan", "dried": {"step": "pan", "dried": {
      "step": "furnace", "bar": {"keep": true}, "slag": {"keep": true}}}})");
  Compared c(plan);
  EXPECT_FALSE(repeats_a_name(c.context, c.answer)) << bw_error_text(c.context);
}

TEST(String, escaped_names_are_found) {
  Json plan = minimal_plan();
  plan["routes"] = {{"a/b ~ \"c\"", {{"sell", "smelter"}}}};
  Compared c(plan);
  EXPECT_EQ(c.string("/best"), "a/b ~ \"c\"");
  EXPECT_EQ(c.number("/routes/a~1b ~0 \"c\"/net"), 4500);
}

TEST(Buffer, of_every_size) {
  Compared c;
  const std::string text = "as it is";
  for (size_t capacity = 0; capacity < 12; ++capacity) {
    std::array<char, 16> buffer;
    buffer.fill('#');
    size_t needed = 0;
    const bool fits = capacity > text.size();
    EXPECT_EQ(bw_answer_string(c.context, c.answer, "/best", buffer.data(), capacity, &needed),
              fits || capacity == 0 ? BW_OK : BW_USAGE_BUFFER)
        << capacity;
    EXPECT_EQ(needed, text.size() + 1);
    if (capacity > 0) {
      EXPECT_STREQ(buffer.data(), fits ? text.c_str() : "");
    }
    for (size_t i = capacity; i < buffer.size(); ++i)
      EXPECT_EQ(buffer[i], '#') << "beyond a capacity of " << capacity;
  }
}

TEST(Buffer, nowhere_to_put_text_nor_size) {
  Compared c;
  EXPECT_EQ(bw_answer_string(c.context, c.answer, "/best", nullptr, 0, nullptr), BW_USAGE_BUFFER);
  EXPECT_EQ(bw_answer_name(c.context, c.answer, "/routes", 0, nullptr, 0, nullptr), BW_USAGE_BUFFER);
}

TEST(Buffer, size_is_asked_for_first) {
  Compared c;
  size_t needed = 0;
  ASSERT_EQ(bw_answer_name(c.context, c.answer, "/routes", 0, nullptr, 0, &needed), BW_OK);
  EXPECT_EQ(needed, std::strlen("as it is") + 1);
  std::string name(needed, '#');
  ASSERT_EQ(bw_answer_name(c.context, c.answer, "/routes", 0, name.data(), name.size(), nullptr), BW_OK);
  EXPECT_STREQ(name.c_str(), "as it is");
  EXPECT_EQ(bw_answer_name(c.context, c.answer, "/routes", 0, name.data(), needed - 1, &needed),
            BW_USAGE_BUFFER);
  EXPECT_STREQ(name.c_str(), "");
}

TEST(Count, entries_of_lists_and_objects) {
  Compared c;
  EXPECT_EQ(c.count("/routes"), 2U);
  EXPECT_EQ(c.count("/routes/as it is/lines"), 2U);
  EXPECT_EQ(c.count("/untested"), 0U);
  EXPECT_EQ(c.count("/best", BW_USAGE_TYPE), 0U);
  EXPECT_EQ(c.count("/nothing", BW_USAGE_POINTER), 0U);
}

TEST(Name, entries_in_the_answers_order) {
  Json plan = minimal_plan();
  plan["routes"] = {{"z", {{"keep", true}}}, {"a", {{"sell", "smelter"}}}, {"m", {{"keep", true}}}};
  Compared c(plan);
  EXPECT_EQ(c.name("/routes", 0), "z");
  EXPECT_EQ(c.name("/routes", 1), "a");
  EXPECT_EQ(c.name("/routes", 2), "m");
  EXPECT_EQ(c.name("/routes", 3, BW_USAGE_SIZE), "");
  EXPECT_EQ(c.name("/routes", SIZE_MAX, BW_USAGE_SIZE), "");
  EXPECT_EQ(c.name("/untested", 0, BW_USAGE_TYPE), "");
}

// ---- Sizes -----------------------------------------------------------------------------------

TEST(Size, of_nothing) {
  Context context;
  EXPECT_EQ(refusal(context, ""), BW_DOCUMENT_JSON);
  Compared c;
  Answer answer;
  EXPECT_EQ(bw_compare(c.context, c.plan, "not looked at", 0, answer.out()), BW_OK);
  EXPECT_NE(answer, nullptr);
}

TEST(Size, counts_bytes_and_needs_no_final_zero) {
  Context context;
  const std::string text = minimal_plan().dump();
  Plan plan;
  EXPECT_EQ(bw_plan_read(context, (text + "}").data(), text.size(), plan.out()), BW_OK);
  size_t size = 0;
  EXPECT_EQ(std::string(bw_plan_text(plan, &size)), text);
  EXPECT_EQ(size, text.size());
  EXPECT_EQ(bw_plan_read(context, text.data(), text.size() - 1, plan.out()), BW_DOCUMENT_JSON);
}

// A size over the limit is refused before a byte is read, or the copy runs past the text.
TEST(Size, over_the_limit_reads_nothing) {
  Context context;
  const std::string text = "{}";
  int64_t most = 0;
  ASSERT_EQ(bw_get_limit(context, "document bytes", &most), BW_OK);
  for (size_t size : {static_cast<size_t>(most) + 1, size_t{1} << 40, SIZE_MAX / 2, SIZE_MAX}) {
    Plan plan;
    Answer answer;
    const Plan good = read_good(context, minimal_plan());
    const auto is_refused = [&](bw_status status) {
      return status == BW_DOCUMENT_LIMIT || status == BW_USAGE_SIZE;
    };
    EXPECT_TRUE(is_refused(bw_convert(context, text.data(), size, answer.out())))
        << size << bw_error_text(context);
    EXPECT_TRUE(is_refused(bw_compare(context, good, text.data(), size, answer.out())))
        << size << bw_error_text(context);
    EXPECT_TRUE(is_refused(bw_plan_read(context, text.data(), size, plan.out())))
        << size << bw_error_text(context);
  }
}

TEST(Size, more_rows_than_the_limit_reads_nothing) {
  Context context;
  const char* pointers[] = {"/format"};
  const char* values[] = {"buttonworth-plan/1"};
  int64_t most = 0;
  ASSERT_EQ(bw_get_limit(context, "nodes", &most), BW_OK);
  for (size_t count : {static_cast<size_t>(most) + 1, SIZE_MAX / 16, SIZE_MAX}) {
    Plan plan;
    EXPECT_EQ(bw_plan_read_rows(context, pointers, values, count, plan.out()), BW_DOCUMENT_LIMIT) << count;
  }
}

TEST(Limit, of_each_name_is_read_back_and_bounded) {
  struct Named {
    const char* name;
    int64_t otherwise, most;
  };
  constexpr int64_t unbounded = std::numeric_limits<int64_t>::max();
  // The header's table of names, defaults and bounds.
  for (const Named& one :
       {Named{"document bytes", 16777216, unbounded}, Named{"depth", 64, 512},
        Named{"list length", 20000, unbounded}, Named{"errors", 100, unbounded},
        Named{"name bytes", 1000, unbounded}, Named{"digits", 40, 40}, Named{"exponent", 30, 60},
        Named{"nodes", 1000000, unbounded}, Named{"analytes", 200, 10000}, Named{"route steps", 64, 64}}) {
    Context context;
    int64_t value = 0;
    EXPECT_EQ(bw_get_limit(context, one.name, &value), BW_OK);
    EXPECT_EQ(value, one.otherwise) << one.name;
    for (int64_t right : {int64_t{1}, one.most}) {
      EXPECT_EQ(bw_set_limit(context, one.name, right), BW_OK) << one.name << right;
      EXPECT_EQ(bw_get_limit(context, one.name, &value), BW_OK);
      EXPECT_EQ(value, right) << one.name;
    }
    for (int64_t wrong : {int64_t{0}, int64_t{-1}, std::numeric_limits<int64_t>::min()})
      EXPECT_EQ(bw_set_limit(context, one.name, wrong), BW_USAGE_SIZE) << one.name << wrong;
    if (one.most < unbounded) {
      EXPECT_EQ(bw_set_limit(context, one.name, one.most + 1), BW_USAGE_SIZE) << one.name;
    }
    EXPECT_EQ(bw_get_limit(context, one.name, &value), BW_OK);
    EXPECT_EQ(value, one.most) << "a refused value changed " << one.name;
  }
}

TEST(Limit, unknown_names_are_refused) {
  Context context;
  int64_t value = 5;
  EXPECT_EQ(bw_get_limit(context, "dept", &value), BW_USAGE_NAME);
  EXPECT_EQ(value, 0);
  EXPECT_NE(std::string(bw_error_text(context)).find("depth"), std::string::npos) << bw_error_text(context);
  for (const std::string& name : {std::string(), std::string("Depth"), std::string(100000, 'x')})
    EXPECT_EQ(bw_set_limit(context, name.c_str(), 3), BW_USAGE_NAME);
  EXPECT_LT(std::strlen(bw_error_text(context)), 400U);
}

TEST(Limit, log_levels_are_0_to_4) {
  Context context;
  for (int32_t level : {-1, 5, std::numeric_limits<int32_t>::min(), std::numeric_limits<int32_t>::max()})
    EXPECT_EQ(bw_set_log(context, nullptr, nullptr, level), BW_USAGE_NAME) << level;
  for (int32_t level = 0; level <= 4; ++level) EXPECT_EQ(bw_set_log(context, nullptr, nullptr, level), BW_OK);
}

// ---- Arrays ----------------------------------------------------------------------------------

TEST(Array, strides_and_a_single_value) {
  Context context;
  const double pounds[] = {1, 99, 2, 99, 3};
  double grams[] = {-1, -1, -1};
  ASSERT_EQ(bw_convert_array(context, pounds, 2, 3, "lb", "g", grams + 2, -1), BW_OK);
  // 453.59237 g in a pound, by definition.
  EXPECT_DOUBLE_EQ(grams[2], 453.59237);
  EXPECT_DOUBLE_EQ(grams[1], 907.18474);
  EXPECT_DOUBLE_EQ(grams[0], 1360.77711);
}

TEST(Array, in_place_and_not_finite) {
  Context context;
  constexpr double infinity = std::numeric_limits<double>::infinity();
  double values[] = {2, infinity, -infinity, std::nan("")};
  ASSERT_EQ(bw_convert_array(context, values, 1, 4, "t", "kg", values, 1), BW_OK);
  EXPECT_EQ(values[0], 2000);
  EXPECT_EQ(values[1], infinity);
  EXPECT_EQ(values[2], -infinity);
  EXPECT_TRUE(std::isnan(values[3]));
}

TEST(Array, wrong_strides_and_counts) {
  Context context;
  double values[] = {1, 2}, results[] = {7, 7};
  EXPECT_EQ(bw_convert_array(context, values, 0, 2, "lb", "g", results, 1), BW_USAGE_SIZE);
  EXPECT_EQ(bw_convert_array(context, values, 1, 2, "lb", "g", results, 0), BW_USAGE_SIZE);
  EXPECT_EQ(bw_convert_array(context, values, 1, SIZE_MAX, "lb", "g", results, 1), BW_USAGE_SIZE);
  EXPECT_EQ(bw_convert_array(context, values, 1, SIZE_MAX / sizeof(double), "lb", "g", results, 1),
            BW_USAGE_SIZE);
}

// No array reaches that far: the place of the second value cannot even be computed.
TEST(Array, strides_beyond_the_address_space) {
  Context context;
  double values[] = {1, 2}, results[] = {7, 7};
  constexpr int64_t far = std::numeric_limits<int64_t>::max() / 4;
  constexpr int64_t least = std::numeric_limits<int64_t>::min();
  for (int64_t stride : {far, -far, least}) {
    EXPECT_EQ(bw_convert_array(context, values, stride, 2, "lb", "g", results, 1), BW_USAGE_SIZE) << stride;
    EXPECT_EQ(bw_convert_array(context, values, 1, 2, "lb", "g", results, stride), BW_USAGE_SIZE) << stride;
  }
}

TEST(Array, bad_units_leave_no_numbers) {
  Context context;
  const double values[] = {1, 2};
  const auto refused = [&](const char* from, const char* to) {
    double results[] = {7, 7};
    EXPECT_EQ(bw_convert_array(context, values, 1, 2, from, to, results, 1), BW_DOCUMENT_UNIT)
        << from << ' ' << to;
    EXPECT_TRUE(std::isnan(results[0]) && std::isnan(results[1])) << from << ' ' << to;
  };
  refused("oz", "g");
  EXPECT_NE(std::string(bw_error_text(context)).find("ozt"), std::string::npos);
  refused("g", "ton");
  refused("g", "%");
  refused("USD", "EUR");
  refused("", "g");
  refused("\xff", "g");
}

// ---- Conversions and schemas -----------------------------------------------------------------

TEST(Convert, keeps_every_digit) {
  Context context;
  Answer answer;
  const std::string request = R"({"quantity": "0.1234567890123456789012345678901234567891 t", "to": "kg"})";
  ASSERT_EQ(bw_convert(context, request.data(), request.size(), answer.out()), BW_OK)
      << bw_error_text(context);
  EXPECT_STREQ(bw_answer_text(answer, nullptr), R"("123.4567890123456789012345678901234567891 kg")");
}

TEST(Convert, factors_hold_for_the_request) {
  Context context;
  Answer answer;
  const std::string request = R"({"quantity": "1 ozt", "to": "g", "factors": {"g per ozt": "31.1035"}})";
  ASSERT_EQ(bw_convert(context, request.data(), request.size(), answer.out()), BW_OK)
      << bw_error_text(context);
  EXPECT_STREQ(bw_answer_text(answer, nullptr), R"("31.1035 g")");
}

TEST(Schema, of_each_name_is_draft_7) {
  Context context;
  for (const char* name : {"plan", "comparison", "options"}) {
    Answer answer;
    ASSERT_EQ(bw_schema(context, name, answer.out()), BW_OK) << name;
    EXPECT_EQ(Json::parse(bw_answer_text(answer, nullptr)).at("$schema"),
              "http://json-schema.org/draft-07/schema#");
  }
  Answer answer;
  EXPECT_EQ(bw_schema(context, "", answer.out()), BW_USAGE_NAME);
  EXPECT_EQ(bw_schema(context, "Plan", answer.out()), BW_USAGE_NAME);
}

}  // namespace
// ---- Formulas --------------------------------------------------------------------------------

TEST(Formula, wills_copper) {
  Context context;
  const double grades[] = {0.8, 25, 0.15};
  double recovery = 0;
  ASSERT_EQ(bw_formula(context, "two_product_recovery", grades, 3, &recovery), BW_OK);
  // Wills' Mineral Processing Technology: 81.7 %; quoted from memory.
  EXPECT_NEAR(100 * recovery, 81.7, 0.05);
}

TEST(Formula, what_is_left_out_and_what_is_too_much) {
  Context context;
  const double weighings[] = {110, 98, 10, 1};
  double moisture = 0;
  ASSERT_EQ(bw_formula(context, "moisture", weighings, 3, &moisture), BW_OK);
  EXPECT_DOUBLE_EQ(moisture, 0.12);
  ASSERT_EQ(bw_formula(context, "moisture", weighings, 2, &moisture), BW_OK);
  EXPECT_DOUBLE_EQ(moisture, 12.0 / 110);  // no container
  EXPECT_EQ(bw_formula(context, "moisture", weighings, 1, &moisture), BW_USAGE_SIZE);
  EXPECT_TRUE(std::isnan(moisture));
  EXPECT_EQ(bw_formula(context, "moisture", weighings, 4, &moisture), BW_USAGE_SIZE);
  EXPECT_EQ(bw_formula(context, "moistness", weighings, 3, &moisture), BW_USAGE_NAME);
  EXPECT_NE(std::string(bw_error_text(context)).find("dry_mass"), std::string::npos)
      << "it names those there are";
  const double nothing[] = {std::nan(""), 1};
  EXPECT_EQ(bw_formula(context, "moisture", nothing, 2, &moisture), BW_DOCUMENT_RANGE);
}

TEST(FormulaArray, rows_columns_and_a_number_for_all) {
  Context context;
  const double wet[] = {100, -1, 200, -1, 300}, moisture = 0.1;
  const double* columns[] = {wet, &moisture};
  const int64_t strides[] = {2, 0};
  double dry[3] = {0, 0, 0};
  ASSERT_EQ(bw_formula_array(context, "dry_mass", columns, strides, 2, 3, dry + 2, -1), BW_OK);
  EXPECT_DOUBLE_EQ(dry[2], 90);
  EXPECT_DOUBLE_EQ(dry[1], 180);
  EXPECT_DOUBLE_EQ(dry[0], 270);
}

TEST(FormulaArray, a_row_without_a_result_leaves_the_others) {
  Context context;
  double wet[] = {100, 200, 300};
  const double moisture[] = {0.1, 1.5, 0.2};
  const double* columns[] = {wet, moisture};
  const int64_t strides[] = {1, 1};
  EXPECT_EQ(bw_formula_array(context, "dry_mass", columns, strides, 2, 3, wet, 1),
            BW_DOCUMENT_RANGE);  // in place
  EXPECT_DOUBLE_EQ(wet[0], 90);
  EXPECT_TRUE(std::isnan(wet[1]));
  EXPECT_DOUBLE_EQ(wet[2], 240);
  EXPECT_NE(std::string(bw_error_text(context)).find("row 1"), std::string::npos) << bw_error_text(context);
}

TEST(FormulaArray, wrong_strides_and_counts) {
  Context context;
  const double value = 1;
  const double* columns[] = {&value};
  const int64_t strides[] = {1}, far[] = {std::numeric_limits<int64_t>::max() / 4};
  double results[] = {7, 7};
  EXPECT_EQ(bw_formula_array(context, "matte", columns, strides, 1, 2, results, 0), BW_USAGE_SIZE);
  EXPECT_EQ(bw_formula_array(context, "matte", columns, far, 1, 2, results, 1), BW_USAGE_SIZE);
  EXPECT_TRUE(std::isnan(results[0]) && std::isnan(results[1]));
  EXPECT_EQ(bw_formula_array(context, "matte", columns, strides, 99, 2, results, 1), BW_USAGE_SIZE);
  EXPECT_EQ(bw_formula_array(context, "matte", nullptr, nullptr, 0, 0, nullptr, 1), BW_OK);
}

TEST(Formulas, each_is_listed_and_takes_what_it_lists) {
  Context context;
  Answer answer;
  ASSERT_EQ(bw_formulas(context, answer.out()), BW_OK);
  const auto list = nlohmann::json::parse(bw_answer_text(answer, nullptr));
  EXPECT_GE(list.size(), 20U);
  for (const auto& formula : list) {
    const auto name = formula.at("name").get<std::string>();
    std::vector<double> arguments(formula.at("arguments").size() + 1, 0.5);
    double result = 0;
    EXPECT_EQ(bw_formula(context, name.c_str(), arguments.data(), arguments.size(), &result), BW_USAGE_SIZE)
        << name;
    const bw_status status =
        bw_formula(context, name.c_str(), arguments.data(), arguments.size() - 1, &result);
    EXPECT_NE(status / 100, 1) << name << ": " << bw_error_text(context);
  }
}

}  // namespace capi
