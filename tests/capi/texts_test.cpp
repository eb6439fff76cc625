// Bad text: what is not UTF-8, what is not JSON, what stands twice, and how errors are told.

#include <algorithm>

#include "support.hpp"

namespace capi {
namespace {

/// The minimal plan with these bytes in its note.
std::string with_bytes(const std::string& bytes) {
  std::string plan = minimal_plan().dump();
  plan.pop_back();
  return plan + ",\"note\":\"" + bytes + "\"}";
}

/// Whether this is UTF-8 as the JSON library understands it.
bool is_utf8(const std::string& text) {
  try {
    return !nlohmann::json(text).dump().empty();
  } catch (const nlohmann::json::exception&) {
    return false;
  }
}

// ---- UTF-8 -----------------------------------------------------------------------------------

TEST(Utf8, good_sequences_are_carried) {
  // The ends of each length's range (RFC 3629).
  for (const std::string bytes :
       {"\x7f", "\xc2\x80", "\xdf\xbf", "\xe0\xa0\x80", "\xed\x9f\xbf", "\xee\x80\x80", "\xef\xbf\xbf",
        "\xf0\x90\x80\x80", "\xf4\x8f\xbf\xbf", "gr\xc3\xbc\xc3\x9f"})
    EXPECT_EQ(refusal(Context(), with_bytes(bytes)), BW_OK) << bytes;
}

TEST(Utf8, bad_sequences_are_refused) {
  const std::pair<const char*, std::string> kinds[] = {
      {"a continuation alone", "\x80"},
      {"a first byte alone", "\xc3"},
      {"cut after two of three", "\xe2\x82"},
      {"cut after three of four", "\xf0\x9f\x98"},
      {"an overlong slash of two", "\xc0\xaf"},
      {"an overlong zero of two", "\xc1\xbf"},
      {"an overlong of three", "\xe0\x80\xaf"},
      {"an overlong of four", "\xf0\x80\x80\xaf"},
      {"the first surrogate", "\xed\xa0\x80"},
      {"the last surrogate", "\xed\xbf\xbf"},
      {"beyond the last code point", "\xf4\x90\x80\x80"},
      {"a first byte of five", "\xf8\x88\x80\x80\x80"},
      {"never a byte", "\xff"},
      {"Latin-1", "gr\xfc\xdf"},
      {"UTF-16", std::string("\xff\xfe{\0", 4)},
  };
  for (const auto& [kind, bytes] : kinds) {
    Context context;
    EXPECT_EQ(refusal(context, with_bytes(bytes)), BW_DOCUMENT_UTF8) << kind;
    EXPECT_TRUE(is_utf8(bw_error_text(context))) << kind;
    EXPECT_EQ(refusal(context, bytes), BW_DOCUMENT_UTF8) << kind << ", as the document";
  }
}

TEST(Utf8, cut_off_at_the_end_of_the_size) {
  const std::string text = "\"\xc3\xa4\"";
  EXPECT_EQ(refusal(Context(), text.substr(0, 2)), BW_DOCUMENT_UTF8);
  EXPECT_EQ(refusal(Context(), text), BW_DOCUMENT_TYPE);
}

TEST(Utf8, is_asked_of_every_text_that_comes_in) {
  Context context;
  const Plan plan = read_good(context, minimal_plan());
  Plan other;
  Answer answer;
  const std::string bad = "{\"\xff\": 1}";
  EXPECT_EQ(compare(context, plan, answer, bad), BW_DOCUMENT_UTF8);
  EXPECT_EQ(bw_convert(context, bad.data(), bad.size(), answer.out()), BW_DOCUMENT_UTF8);
  EXPECT_EQ(bw_settle(context, bad.data(), bad.size(), answer.out()), BW_DOCUMENT_UTF8);
  const char* pointers[] = {"/format", "/note"};
  const char* values[] = {"buttonworth-plan/1", "\xff"};
  EXPECT_EQ(bw_plan_read_rows(context, pointers, values, 2, other.out()), BW_DOCUMENT_UTF8);
  const char* bad_pointers[] = {"/format", "/note/\xff"};
  const char* good_values[] = {"buttonworth-plan/1", "x"};
  EXPECT_EQ(bw_plan_read_rows(context, bad_pointers, good_values, 2, other.out()), BW_DOCUMENT_UTF8);
  Json document = minimal_plan();
  document["note"] = "x";
  const Plan noted = read_good(context, document);
  EXPECT_EQ(bw_plan_with(context, noted, "/note", "\xff", other.out()), BW_DOCUMENT_UTF8);
  EXPECT_EQ(other, nullptr);
}

// ---- JSON ------------------------------------------------------------------------------------

TEST(JsonText, what_is_none_is_refused_with_its_place) {
  for (const std::string text : {"",
                                 " ",
                                 "{",
                                 "}",
                                 "{\"a\"}",
                                 "{\"a\":}",
                                 "[1,]",
                                 "{,}",
                                 "nul",
                                 "True",
                                 "'a'",
                                 "{\"a\": 1} x",
                                 "01",
                                 "1.",
                                 "+1",
                                 ".5",
                                 "\"\\x\"",
                                 "\"\\ud800\"",
                                 "\"a\nb\"",
                                 "NaN",
                                 "Infinity",
                                 "// nothing\n{}",
                                 "{\"a\": \xc3\xa4}"}) {
    Context context;
    EXPECT_EQ(refusal(context, text), BW_DOCUMENT_JSON) << text;
    EXPECT_NE(std::string(bw_error_text(context)).find("line "), std::string::npos) << bw_error_text(context);
  }
}

TEST(JsonText, zero_bytes_end_nothing) {
  const std::string text = minimal_plan().dump();
  EXPECT_EQ(refusal(Context(), text + std::string(1, '\0')), BW_DOCUMENT_JSON);
  EXPECT_EQ(refusal(Context(), std::string(1, '\0') + text), BW_DOCUMENT_JSON);
}

TEST(JsonText, any_value_but_a_plan_is_refused_as_such) {
  for (const char* text : {"[]", "null", "true", "1", "\"buttonworth-plan/1\""}) {
    Context context;
    EXPECT_EQ(refusal(context, text), BW_DOCUMENT_TYPE) << text;
  }
}

TEST(Repeated, names_are_refused_at_every_depth) {
  const std::pair<const char*, const char*> cases[] = {
      {R"({"a": 1, "b": 2, "a": 3})", "/a"},
      {R"({"x": [{"a": 1}, {"b": {"c": 1, "c": 1}}]})", "/x/1/b/c"},
      {R"({"note": {"a": 1, "\u0061": 2}})", "/note/a"},
      {R"({"a/b": {"~": 1, "~": 1}})", "/a~1b/~0"},
      {R"({"": 1, "": 2})", "/"},
  };
  for (const auto& [text, pointer] : cases) {
    Context context;
    EXPECT_EQ(refusal(context, text), BW_DOCUMENT_REPEATED) << text;
    EXPECT_EQ(errors(context).at(0).at("pointer"), pointer) << text;
  }
}

TEST(Repeated, among_many_names) {
  std::string text = "{";
  for (int i = 0; i < 5000; ++i) text += "\"n" + std::to_string(i) + "\":0,";
  Context context;
  EXPECT_EQ(refusal(context, text + "\"n4321\":0}"), BW_DOCUMENT_REPEATED);
  EXPECT_EQ(errors(context).at(0).at("pointer"), "/n4321");
}

// ---- Errors together -------------------------------------------------------------------------

struct Expected {
  const char* pointer;
  bw_status status;
  const char* code;
  const char* says;
};

/// Each error is in the list once, with all of its members, and the list holds nothing else.
void expect_errors(const bw_context* context, const std::vector<Expected>& expected) {
  const Json list = errors(context);
  EXPECT_EQ(list.size(), expected.size()) << list.dump(1);
  for (const Expected& one : expected) {
    const auto found = std::find_if(list.begin(), list.end(), [&](const Json& entry) {
      return entry.at("pointer") == one.pointer && entry.at("status") == one.status;
    });
    ASSERT_NE(found, list.end()) << one.pointer << ' ' << one.code << " is not in " << list.dump(1);
    EXPECT_EQ(found->size(), 5U);
    EXPECT_EQ(found->at("class"), bw_status_class(one.status));
    EXPECT_EQ(found->at("code"), one.code);
    EXPECT_NE(found->at("text").get<std::string>().find(one.says), std::string::npos) << found->dump();
  }
}

TEST(Together, all_independent_errors_of_a_plan) {
  const std::string text = R"({
    "format": "buttonworth-plan/1", "curency": "USD", "prices": {"Au": "100 USD/oz"}, "discount": 7,
    "lot": {"wet_mass": "1,000 kg", "moisture": "-1 %", "assays": {"Au": "50 g/t", "Ag": "5 kg"}},
    "steps": {"pan": {"kind": "dry", "to": "5 %"}, "magnet": {"kind": "sieve"}},
    "terms": {"smelter": {"buys": "sand", "pay": {"Au": {"share": "90 %", "bands": [["1 g/t", "80 %"]]}}}},
    "routes": {"a": {"sell": "smeltr"}, "b": {"step": "pan"}, "c": {},
      "d": {"step": "magnet", "magnetics": {"keep": true}, "rest": {"sell": "smelter"}}}})";
  Context context;
  const bw_status first = refusal(context, text);
  EXPECT_EQ(first, bw_error_status(context));
  EXPECT_EQ(first, statuses(context).front());
  expect_errors(context, {{"", BW_DOCUMENT_MISSING_FIELD, "missing field", "currency"},
                          {"/curency", BW_DOCUMENT_UNKNOWN_FIELD, "unknown field", "currency"},
                          {"/prices/Au", BW_DOCUMENT_UNIT, "unit", "ozt"},
                          {"/discount", BW_DOCUMENT_TYPE, "type", "%/a"},
                          {"/lot/wet_mass", BW_DOCUMENT_QUANTITY, "quantity", "1,000"},
                          {"/lot/moisture", BW_DOCUMENT_RANGE, "range", "-1"},
                          {"/lot/assays/Ag", BW_DOCUMENT_UNIT, "unit", "g/t"},
                          {"/steps/pan", BW_DOCUMENT_MISSING_FIELD, "missing field", "dust"},
                          {"/steps/magnet/kind", BW_DOCUMENT_RANGE, "range", "split"},
                          {"/terms/smelter/buys", BW_DOCUMENT_RANGE, "range", "concentrate"},
                          {"/terms/smelter/pay/Au", BW_DOCUMENT_CONFLICT, "conflict", "bands"},
                          {"/routes/a/sell", BW_DOCUMENT_NAME, "name", "smelter"},
                          {"/routes/b", BW_DOCUMENT_MISSING_FIELD, "missing field", "dried"},
                          {"/routes/c", BW_DOCUMENT_MISSING_FIELD, "missing field", "sell"}});
}

TEST(Together, text_counts_what_the_list_holds) {
  Context context;
  Json plan = minimal_plan();
  for (const char* name : {"a", "b", "c"}) plan[name] = 1;
  EXPECT_EQ(refusal(context, plan.dump()), BW_DOCUMENT_UNKNOWN_FIELD);
  EXPECT_EQ(errors(context).size(), 3U);
  const std::string text = bw_error_text(context);
  EXPECT_EQ(text.rfind("/a: ", 0), 0U) << text;
  EXPECT_NE(text.find("2 more"), std::string::npos) << text;
}

TEST(Together, of_options_as_usage) {
  Context context;
  const Plan plan = read_good(context, minimal_plan());
  Answer answer;
  EXPECT_EQ(compare(context, plan, answer,
                    R"({"how": 1, "arithmetic": "float", "routes": ["kept", "keept"], "hw": 2})"),
            BW_USAGE_OPTIONS);
  expect_errors(context, {{"/how", BW_USAGE_OPTIONS, "options", "true"},
                          {"/arithmetic", BW_USAGE_OPTIONS, "options", "double"},
                          {"/routes/1", BW_USAGE_OPTIONS, "options", "kept"},
                          {"/hw", BW_USAGE_OPTIONS, "options", "how"}});
}

TEST(Together, of_a_conversion) {
  Context context;
  Answer answer;
  const std::string request = R"({"quantity": "1 oz", "too": "g"})";
  EXPECT_NE(bw_convert(context, request.data(), request.size(), answer.out()), BW_OK);
  expect_errors(context, {{"/quantity", BW_DOCUMENT_UNIT, "unit", "ozt"},
                          {"", BW_DOCUMENT_MISSING_FIELD, "missing field", "to"},
                          {"/too", BW_DOCUMENT_UNKNOWN_FIELD, "unknown field", "to"}});
}

// A route asked for twice would stand twice in one object of the answer.
TEST(Together, routes_asked_for_twice_do_not_stand_twice) {
  Context context;
  const Plan plan = read_good(context, minimal_plan());
  Answer answer;
  const bw_status status = compare(context, plan, answer, R"({"routes": ["kept", "kept"]})");
  if (status != BW_OK) {
    EXPECT_EQ(status, BW_USAGE_OPTIONS);
    EXPECT_EQ(errors(context).at(0).at("pointer"), "/routes/1");
    return;
  }
  const std::string text = bw_answer_text(answer, nullptr);
  EXPECT_EQ(text.find("\"kept\":{"), text.rfind("\"kept\":{")) << text.substr(0, 300);
  EXPECT_EQ(Json::parse(text).at("lead"), nullptr);
}

// ---- One line --------------------------------------------------------------------------------

void expect_one_line(const bw_context* context, const std::string& what) {
  std::vector<std::string> texts{bw_error_text(context)};
  for (const Json& one : errors(context)) texts.push_back(one.at("text"));
  EXPECT_FALSE(texts[0].empty()) << what;
  for (const std::string& text : texts) {
    const bool control =
        std::any_of(text.begin(), text.end(), [](unsigned char c) { return c < 0x20 || c == 0x7f; });
    EXPECT_FALSE(control) << what << ": " << text;
    EXPECT_TRUE(is_utf8(text)) << what << ": " << text;
  }
}

TEST(OneLine, whatever_the_document_says) {
  const std::string line = "two\nlines\tand\ra\x1b[31mcolour";
  const auto replaced = [&](const char* pointer, const Json& value) {
    Json plan = minimal_plan();
    plan[Json::json_pointer(pointer)] = value;
    return plan.dump();
  };
  const std::pair<const char*, std::string> documents[] = {
      {"an unknown field", replaced("/lot", {{line, 1}})},
      {"a number", replaced("/lot/wet_mass", line + " kg")},
      {"a unit", replaced("/lot/wet_mass", "1 " + line)},
      {"a choice", replaced("/terms/smelter/buys", line)},
      {"a route's end", replaced("/routes/kept", {{"sell", line}})},
      {"a route's step", replaced("/routes/kept", {{"step", line}})},
      {"a format", replaced("/format", line)},
      {"a currency", replaced("/currency", line)},
      {"a date", replaced("/lot/date", line)},
      {"a step's kind", replaced("/steps", {{line, {{"kind", line}}}})},
      {"an analyte without a price", replaced("/terms/smelter/pay", {{line, Json::object()}})},
      {"a repeated name", "{\"a\\nb\": 1, \"a\\nb\": 2}"},
      {"a literal that is none", "{\"a\": \xc3\xa4\xc3\xb6}"},
      {"a control character", "{\"a\": \"\x01\"}"},
      {"a string that does not end", "{\"a\": \"\xc3\xa4"},
      {"a word cut in the middle of a letter",
       replaced("/lot/wet_mass", "1 x" + std::string(80, 'x').replace(58, 4, "\xc3\xa4\xc3\xa4"))},
      {"a value cut in the middle of a letter",
       replaced("/lot/wet_mass", std::string(59, 'x') + "\xc3\xa4 kg")},
      {"a value cut in the middle of a letter",
       replaced("/lot/wet_mass", std::string(58, 'x') + "\xe2\x82\xac kg")},
  };
  for (const auto& [what, text] : documents) {
    Context context;
    EXPECT_NE(refusal(context, text), BW_OK) << what;
    expect_one_line(context, what);
  }
}

// The list is JSON, which can hold any name: a host must be able to go to the place.
TEST(OneLine, pointers_of_the_list_lead_to_their_place) {
  Context context;
  Json plan = minimal_plan();
  plan["routes"]["two\nlines \x7f"] = {{"sell", "smeltr"}};
  EXPECT_EQ(refusal(context, plan.dump()), BW_DOCUMENT_NAME);
  const std::string pointer = errors(context).at(0).at("pointer");
  EXPECT_EQ(plan.value(Json::json_pointer(pointer), "nothing"), "smeltr") << pointer;
}

TEST(OneLine, whatever_the_caller_names) {
  Context context;
  Answer answer;
  const std::string names[] = {"a\nb", std::string(59, 'x') + "\xc3\xa4", "\xff\xfe", "~\n"};
  const Plan plan = read_good(context, minimal_plan());
  ASSERT_EQ(compare(context, plan, answer), BW_OK);
  for (const std::string& name : names) {
    Answer other;
    int64_t limit = 0;
    double number = 0;
    EXPECT_EQ(bw_get_limit(context, name.c_str(), &limit), BW_USAGE_NAME);
    expect_one_line(context, "a limit");
    EXPECT_EQ(bw_schema(context, name.c_str(), other.out()), BW_USAGE_NAME);
    expect_one_line(context, "a schema");
    EXPECT_EQ(bw_answer_number(context, answer, name.c_str(), &number), BW_USAGE_POINTER);
    expect_one_line(context, "a pointer");
    EXPECT_EQ(bw_answer_number(context, answer, ("/" + name).c_str(), &number), BW_USAGE_POINTER);
    expect_one_line(context, "a pointer");
    EXPECT_EQ(bw_convert_array(context, nullptr, 1, 0, name.c_str(), "g", nullptr, 1), BW_DOCUMENT_UNIT);
    expect_one_line(context, "a unit");
  }
}

TEST(OneLine, of_a_value_of_the_answer) {
  Context context;
  Json document = minimal_plan();
  document["routes"] = {{std::string(54, 'x') + "\n\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4", {{"sell", "smelter"}}}};
  const Plan plan = read_good(context, document);
  Answer answer;
  ASSERT_EQ(compare(context, plan, answer), BW_OK);
  double number = 0;
  EXPECT_EQ(bw_answer_number(context, answer, "/best", &number), BW_USAGE_TYPE);
  expect_one_line(context, "a name");
  EXPECT_EQ(bw_answer_number(context, answer, "/routes", &number), BW_USAGE_TYPE);
  expect_one_line(context, "an object");
}

TEST(OneLine, where_found_and_what_would_be_right) {
  Context context;
  Json plan = minimal_plan();
  plan["lot"]["wet_mass"] = "806 kilos";
  EXPECT_EQ(refusal(context, plan.dump()), BW_DOCUMENT_UNIT);
  const std::string text = bw_error_text(context);
  for (const char* part : {"/lot/wet_mass", "kilos", "kg"})
    EXPECT_NE(text.find(part), std::string::npos) << text;
}

}  // namespace
}  // namespace capi
