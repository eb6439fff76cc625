// Runs core.json through the C interface: every good vector in decimals and in doubles, every bad one
// for its errors. README.md of this folder says how answers are compared.

#include <algorithm>
#include <boost/multiprecision/cpp_dec_float.hpp>
#include <cctype>
#include <functional>
#include <optional>
#include <regex>
#include <set>

#include "vector_file.hpp"

namespace vectors {
namespace {

using Decimal = boost::multiprecision::cpp_dec_float_100;  // holds any figure of an answer exactly

// ---- What is expected at a pointer -----------------------------------------------------------

/// A decimal number, with or without a unit.
struct Figure {
  Decimal number;
  std::string unit;
};
std::optional<Figure> figure(const Json& value) {
  static const std::regex form("(-?[0-9]+(\\.[0-9]+)?)( ([^ ]+))?");
  std::smatch match;
  if (!value.is_string()) return std::nullopt;
  const auto& text = value.get_ref<const std::string&>();
  if (!std::regex_match(text, match, form)) return std::nullopt;
  return Figure{Decimal(match[1].str()), match[4].str()};
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return std::tolower(c); });
  return text;
}
bool says(const Json& value, const Json& words) {
  const std::string text = lower(value.is_string() ? value.get<std::string>() : value.dump());
  return std::all_of(words.begin(), words.end(),
                     [&](const Json& word) { return text.find(lower(word)) != text.npos; });
}

/// What stands at a pointer, or null.
const Json* find_at(const Json& answer, const std::string& pointer) {
  const Json::json_pointer at(pointer);
  return answer.contains(at) ? &answer.at(at) : nullptr;
}

/// Tolerances of a vector: its own, and a share of the number where doubles are asked for.
struct Tolerance {
  Decimal absolute, relative;
};

bool is_expected(const Json& found, const Json& expected, const Tolerance& tolerance) {
  if (expected.is_object()) return says(found, expected.at("says"));
  const auto wanted = figure(expected), got = figure(found);
  if (!wanted || !got) return found == expected;
  const Decimal allowed = std::max(tolerance.absolute, Decimal(tolerance.relative * abs(wanted->number)));
  return got->unit == wanted->unit && abs(got->number - wanted->number) <= allowed;
}

void expect_answer(const Json& vector, const Json& options, const Decimal& relative) {
  const Outcome result = call(vector, options);
  ASSERT_EQ(result.status, BW_OK) << result.errors.dump(1);
  const Tolerance tolerance{Decimal(vector.value("tolerance", "0")), relative};
  for (const auto& [pointer, expected] : vector.at("expected").items()) {
    const Json* found = find_at(result.answer, pointer);
    if (expected.is_object() && expected.contains("exists")) {
      EXPECT_EQ(found != nullptr, expected.at("exists").get<bool>()) << pointer;
    } else if (found == nullptr) {
      ADD_FAILURE() << "nothing stands at " << pointer;
    } else {
      EXPECT_TRUE(is_expected(*found, expected, tolerance))
          << pointer << " is " << *found << ", expected " << expected;
    }
  }
}

/// Whether one of the reported errors has all that is expected of it.
bool is_reported(const Json& reported, const Json& expected) {
  return std::any_of(reported.begin(), reported.end(), [&](const Json& one) {
    for (const char* field : {"class", "code", "pointer"})
      if (expected.contains(field) && one.at(field) != expected.at(field)) return false;
    return says(one.at("text"), expected.value("says", Json::array()));
  });
}

// ---- The vectors by kind ---------------------------------------------------------------------

std::vector<const Json*> chosen(const std::function<bool(const Json&)>& is_chosen) {
  std::vector<const Json*> all;
  for (const Json& vector : core().at("vectors"))
    if (is_there(vector) && is_chosen(vector)) all.push_back(&vector);
  return all;
}

class Vector : public testing::TestWithParam<const Json*> {};
class Good : public Vector {};
class InDoubles : public Vector {};
class Bad : public Vector {};

TEST_P(Good, gives_its_answer) {
  const Json& vector = *GetParam();
  expect_answer(vector, vector.value("options", Json()), 0);
}

// On an edge a wrong decision is a jump, so those keep their own tolerance.
TEST_P(InDoubles, gives_its_answer) {
  const Json& vector = *GetParam();
  Json options = vector.value("options", Json::object());
  options["arithmetic"] = "double";
  const bool on_edge = vector.at("id").get<std::string>().starts_with("edge-");
  expect_answer(vector, options, on_edge ? Decimal(0) : Decimal("1e-9"));
}

TEST_P(Bad, reports_its_errors) {
  const Json& vector = *GetParam();
  const Outcome result = call(vector, vector.value("options", Json()));
  EXPECT_NE(result.status, BW_OK);
  const Json expected = vector.contains("errors") ? vector.at("errors") : Json::array({vector.at("error")});
  ASSERT_GE(expected.size(), 1U);
  for (const Json& one : expected)
    EXPECT_TRUE(is_reported(result.errors, one)) << one << " is not in " << result.errors.dump(1);
}

std::string vector_name(const testing::TestParamInfo<const Json*>& info) {
  std::string name = info.param->at("id");
  std::replace_if(
      name.begin(), name.end(), [](unsigned char c) { return !std::isalnum(c); }, '_');
  return name;
}
bool is_good(const Json& vector) { return !is_bad(vector); }
bool runs_in_doubles(const Json& vector) {
  return is_good(vector) && vector.at("call") == "compare" &&
         !vector.value("options", Json::object()).contains("arithmetic");
}
INSTANTIATE_TEST_SUITE_P(Core, Good, testing::ValuesIn(chosen(is_good)), vector_name);
INSTANTIATE_TEST_SUITE_P(Core, InDoubles, testing::ValuesIn(chosen(runs_in_doubles)), vector_name);
INSTANTIATE_TEST_SUITE_P(Core, Bad, testing::ValuesIn(chosen(is_bad)), vector_name);

// ---- The file itself -------------------------------------------------------------------------

TEST(File, says_what_its_page_asks_for) {
  EXPECT_EQ(core().at("format"), "buttonworth-vectors/1");
  const std::set<std::string> calls{"compare",    "simulate",       "worth",         "break_even",
                                    "map",        "counter_offers", "forgiving_cut", "sensitivity",
                                    "settle",     "reconcile",      "book",          "dispute",
                                    "metal_call", "bench",          "formula",       "convert",
                                    "allocate"};
  std::set<std::string> ids;
  for (const Json& vector : core().at("vectors")) {
    const std::string id = vector.at("id");
    EXPECT_TRUE(ids.insert(id).second) << id << " stands twice";
    EXPECT_TRUE(calls.count(vector.at("call"))) << id;
    EXPECT_NE(vector.contains("request"), vector.contains("text")) << id;
    EXPECT_NE(vector.contains("expected"), is_bad(vector)) << id;
    EXPECT_EQ(id.starts_with("bad-"), is_bad(vector)) << id;
    EXPECT_EQ(vector.contains("schema"), is_bad(vector)) << id;
    EXPECT_EQ(vector.contains("source") && vector.contains("tag") && vector.contains("how"), is_good(vector))
        << id;
    EXPECT_TRUE(is_bad(vector) || std::set<std::string>({"P", "M", "C", "CP"}).count(vector.at("tag"))) << id;
  }
  EXPECT_GE(ids.size(), 290U);
}

TEST(File, expects_something_of_every_vector) {
  for (const Json& vector : core().at("vectors")) {
    const Json& expected = is_good(vector)             ? vector.at("expected")
                           : vector.contains("errors") ? vector.at("errors")
                                                       : vector.at("error");
    EXPECT_FALSE(expected.empty()) << vector.at("id");
    EXPECT_TRUE(figure(vector.value("tolerance", "0"))) << vector.at("id");
  }
}

}  // namespace
}  // namespace vectors
