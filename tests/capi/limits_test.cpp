// Limits: each one met exactly, passed by one, raised and lowered; and text meant to be costly.

#include <chrono>

#include "support.hpp"

namespace capi {
namespace {

/// A context with one limit set.
struct Limited : Context {
  Limited(const char* name, int64_t value) { EXPECT_EQ(bw_set_limit(*this, name, value), BW_OK) << name; }
};

/// The minimal plan with something in its note: it is carried, whatever it is, but must keep to the limits.
std::string with_note(const Json& note) {
  Json plan = minimal_plan();
  plan["note"] = note;
  return plan.dump();
}

/// A list in a list in a list …
std::string nested_lists(size_t depth) { return std::string(depth, '[') + std::string(depth, ']'); }

std::string with_raw_note(const std::string& note) {
  std::string plan = minimal_plan().dump();
  plan.pop_back();
  return plan + ",\"note\":" + note + "}";
}

/// Rows of the minimal plan, and more.
struct Rows {
  std::vector<std::pair<std::string, std::string>> cells;
  Rows() {
    cells = {{"/format", "buttonworth-plan/1"},
             {"/currency", "USD"},
             {"/discount", "0 %/a"},
             {"/lot/wet_mass", "1 t"},
             {"/routes/kept/keep", "true"}};
  }
  bw_status read(bw_context* context) const {
    Plan plan;
    return with_cells([&](const char* const* pointers, const char* const* values) {
      return bw_plan_read_rows(context, pointers, values, cells.size(), plan.out());
    });
  }
  bw_status read_document(bw_context* context) const {
    Answer document;
    return with_cells([&](const char* const* pointers, const char* const* values) {
      return bw_read_rows(context, pointers, values, cells.size(), document.out());
    });
  }

 private:
  template <class Call>
  bw_status with_cells(Call call) const {
    std::vector<const char*> pointers, values;
    for (const auto& [pointer, value] : cells) {
      pointers.push_back(pointer.c_str());
      values.push_back(value.c_str());
    }
    return call(pointers.data(), values.data());
  }
};

/// A lot of parts, each assayed for analytes of its own, or of `different` kinds of part.
std::string with_many_analytes(int parts, int analytes, int different = 1000) {
  std::string lot = "{\"parts\":[";
  for (int part = 0; part < parts; ++part) {
    lot += std::string(part == 0 ? "" : ",") + "{\"wet_mass\":\"1 kg\",\"assays\":{";
    for (int i = 0; i < analytes; ++i)
      lot += std::string(i == 0 ? "" : ",") + "\"X" + std::to_string(part % different) + "y" +
             std::to_string(i) + "\":\"0 %\"";
    lot += "}}";
  }
  Json plan = minimal_plan();
  plan.erase("lot");
  std::string text = plan.dump();
  text.pop_back();
  return text + ",\"lot\":" + lot + "]}}";
}

size_t nodes_of(const Json& value) {
  size_t count = 1;
  if (value.is_structured())
    for (const Json& one : value) count += nodes_of(one);
  return count;
}

// ---- Each limit, on its edge -----------------------------------------------------------------

TEST(DocumentBytes, on_the_edge) {
  const std::string text = minimal_plan().dump();
  const auto size = static_cast<int64_t>(text.size());
  EXPECT_EQ(refusal(Limited("document bytes", size), text), BW_OK);
  EXPECT_EQ(refusal(Limited("document bytes", size - 1), text), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("document bytes", 1), text), BW_DOCUMENT_LIMIT);
}

TEST(DocumentBytes, raised) {
  const std::string text = with_note(std::string(17'000'000, 'x'));
  EXPECT_EQ(refusal(Context(), text), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("document bytes", 20'000'000), text), BW_OK);
}

TEST(DocumentBytes, of_rows_options_and_conversions) {
  Limited context("document bytes", 40);
  EXPECT_EQ(Rows().read(context), BW_DOCUMENT_LIMIT);
  const std::string request = R"({"quantity": "1 lb", "to": "g", "note": "a long one"})";
  Answer answer;
  EXPECT_EQ(bw_convert(context, request.data(), request.size(), answer.out()), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(bw_settle(context, request.data(), request.size(), answer.out()), BW_DOCUMENT_LIMIT);
  Context plain;
  const Plan plan = read_good(plain, minimal_plan());
  EXPECT_EQ(compare(context, plan, answer, R"({"how": true, "note": "many words more than that"})"),
            BW_DOCUMENT_LIMIT);
}

TEST(Depth, on_the_edge) {
  // The plan is one deep, so the note adds what it has.
  EXPECT_EQ(refusal(Context(), with_raw_note(nested_lists(63))), BW_OK);
  EXPECT_EQ(refusal(Context(), with_raw_note(nested_lists(64))), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("depth", 65), with_raw_note(nested_lists(64))), BW_OK);
  EXPECT_EQ(refusal(Limited("depth", 512), with_raw_note(nested_lists(511))), BW_OK);
  EXPECT_EQ(refusal(Limited("depth", 512), with_raw_note(nested_lists(512))), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("depth", 1), minimal_plan().dump()), BW_DOCUMENT_LIMIT);
}

TEST(Depth, of_rows) {
  Rows rows;
  rows.cells.emplace_back("/note/a/b/c/d", "x");
  EXPECT_EQ(rows.read(Limited("depth", 5)), BW_OK);
  EXPECT_EQ(rows.read(Limited("depth", 4)), BW_DOCUMENT_LIMIT);
}

TEST(ListLength, on_the_edge) {
  const Json list = Json(std::vector<int>(30, 0));
  Json object;
  for (int i = 0; i < 30; ++i) object["name " + std::to_string(i)] = i;
  for (const Json& note : {list, object}) {
    EXPECT_EQ(refusal(Limited("list length", 30), with_note(note)), BW_OK);
    EXPECT_EQ(refusal(Limited("list length", 29), with_note(note)), BW_DOCUMENT_LIMIT);
  }
  EXPECT_EQ(refusal(Context(), with_note(std::vector<int>(20000, 0))), BW_OK);
  EXPECT_EQ(refusal(Context(), with_note(std::vector<int>(20001, 0))), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("list length", 20001), with_note(std::vector<int>(20001, 0))), BW_OK);
}

TEST(NameBytes, on_the_edge) {
  const Json longest{{std::string(1000, 'n'), 1}}, longer{{std::string(1001, 'n'), 1}};
  EXPECT_EQ(refusal(Context(), with_note(longest)), BW_OK);
  EXPECT_EQ(refusal(Context(), with_note(longer)), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("name bytes", 1001), with_note(longer)), BW_OK);
}

TEST(NameBytes, of_rows) {
  Rows rows;
  rows.cells.emplace_back("/note/" + std::string(1000, 'n'), "x");
  EXPECT_EQ(rows.read(Context()), BW_OK);
  EXPECT_EQ(rows.read_document(Context()), BW_OK);
  rows.cells.emplace_back("/note/" + std::string(1001, 'n'), "x");
  EXPECT_EQ(rows.read(Context()), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(rows.read_document(Context()), BW_DOCUMENT_LIMIT);
}

TEST(ListLength, of_rows) {
  Rows rows;
  for (int i = 0; i < 30; ++i) rows.cells.emplace_back("/note/" + std::to_string(i), "x");
  EXPECT_EQ(rows.read(Limited("list length", 30)), BW_OK);
  EXPECT_EQ(rows.read(Limited("list length", 29)), BW_DOCUMENT_LIMIT);
}

TEST(Nodes, on_the_edge) {
  const Json plan = minimal_plan();
  const auto count = static_cast<int64_t>(nodes_of(plan));
  EXPECT_EQ(refusal(Limited("nodes", count), plan.dump()), BW_OK);
  EXPECT_EQ(refusal(Limited("nodes", count - 1), plan.dump()), BW_DOCUMENT_LIMIT);
}

TEST(Nodes, raised) {
  Json note;
  for (int i = 0; i < 60; ++i) note.push_back(std::vector<int>(19000, 0));
  EXPECT_EQ(refusal(Context(), with_note(note)), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("nodes", 2'000'000), with_note(note)), BW_OK);
}

TEST(Nodes, of_rows) {
  // 5 rows, which make an object of 5 members, a lot, a route and what they hold.
  EXPECT_EQ(Rows().read(Limited("nodes", 4)), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(Rows().read(Limited("nodes", 9)), BW_OK);
}

TEST(Digits, on_the_edge) {
  const auto with_mass = [](const std::string& number) {
    Json plan = minimal_plan();
    plan["lot"]["wet_mass"] = number + " t";
    return plan.dump();
  };
  const std::string digits(39, '3');
  EXPECT_EQ(refusal(Context(), with_mass("0." + digits + "3")), BW_OK);
  EXPECT_EQ(refusal(Context(), with_mass("0." + digits + "33")), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Context(), with_mass("1234567890.123456789012345678901234567891")), BW_OK);
  EXPECT_EQ(refusal(Context(), with_mass("1234567890.1234567890123456789012345678912")), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Context(), with_mass("1234567890.12345678901234567890123456789100000")), BW_OK)
      << "zeros are no digits";
  EXPECT_EQ(refusal(Context(), with_mass("0000000000001")), BW_OK);
  EXPECT_EQ(refusal(Limited("digits", 5), with_mass("123.45")), BW_OK);
  EXPECT_EQ(refusal(Limited("digits", 5), with_mass("123.456")), BW_DOCUMENT_LIMIT);
}

TEST(Exponent, on_the_edge) {
  const auto with_price = [](const std::string& number) {
    Json plan = minimal_plan();
    plan["prices"]["Au"] = number + " USD/g";
    return plan.dump();
  };
  for (const char* right :
       {"1e30", "1E+30", "1e-30", "9.99e30", "0.001e33", "1000e27", "0e999", "0.000e-999999999999"})
    EXPECT_EQ(refusal(Context(), with_price(right)), BW_OK) << right;
  for (const char* wrong :
       {"1e31", "10e30", "1e-31", "0.1e-30", "1e999999999", "1e-999999999", "1e99999999999999999999999"})
    EXPECT_EQ(refusal(Context(), with_price(wrong)), BW_DOCUMENT_LIMIT) << wrong;
  EXPECT_EQ(refusal(Limited("exponent", 31), with_price("1e31")), BW_OK);
  EXPECT_EQ(refusal(Limited("exponent", 60), with_price("1e60")), BW_OK);
  EXPECT_EQ(refusal(Limited("exponent", 60), with_price("1e61")), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("exponent", 2), with_price("999")), BW_OK);
  EXPECT_EQ(refusal(Limited("exponent", 2), with_price("1000")), BW_DOCUMENT_LIMIT);
}

TEST(Exponent, largest_numbers_are_worked_with) {
  Limited context("exponent", 60);
  Json document = minimal_plan();
  document["prices"]["Au"] = "1e60 USD/g";
  document["lot"]["wet_mass"] = "1e60 t";
  const Plan plan = read_good(context, document);
  Answer answer;
  ASSERT_EQ(compare(context, plan, answer), BW_OK) << bw_error_text(context);
  double number = 0;
  ASSERT_EQ(bw_answer_number(context, answer, "/routes/as it is/net", &number), BW_OK);
  EXPECT_DOUBLE_EQ(number, 45e120);  // 1e60 t x 45 g/t x 1e60 USD/g
}

TEST(Errors, on_the_edge) {
  Json plan = minimal_plan();
  for (int i = 0; i < 150; ++i) plan["unknown " + std::to_string(i)] = 1;
  const auto reported = [&](bw_context* context) {
    EXPECT_EQ(refusal(context, plan.dump()), BW_DOCUMENT_UNKNOWN_FIELD);
    return errors(context).size();
  };
  EXPECT_EQ(reported(Context()), 100U);
  EXPECT_EQ(reported(Limited("errors", 1)), 1U);
  EXPECT_EQ(reported(Limited("errors", 7)), 7U);
  EXPECT_EQ(reported(Limited("errors", 1000)), 150U);
}

/// What is wrong beyond the limit of errors is wrong all the same.
TEST(Errors, that_are_not_told_are_met) {
  const char* delivery =
      R"({"format": "none", "currency": "USD", "id": "L", "buyer": "B", "arrived": "2026-03-01",
          "terms": {"buys": "concentrate", "pay": {"Au": {}}}, "delivered": {"wet_mass": "1 t"},
          "assays": {"Au": "9 g/t"}, "quotes": {"Au": {"unit": "USD/g", "days": {"2026-01-02": "80"}}}})";
  const std::string request =
      R"({"format": "none", "delivery": )" + std::string(delivery) + R"(, "return": {"proceeds": "1"}})";
  Limited context("errors", 1);
  bw_answer* answer = nullptr;
  EXPECT_NE(bw_settle(context, delivery, std::strlen(delivery), &answer), BW_OK);
  EXPECT_NE(bw_reconcile(context, request.data(), request.size(), &answer), BW_OK);
  EXPECT_EQ(answer, nullptr);
  EXPECT_EQ(errors(context).size(), 1U);
}

/// A route of dryers one after another, and an end: `nodes` nodes on the way.
Json long_route(int nodes) {
  Json plan = minimal_plan();
  plan["steps"]["pan"] = {{"kind", "dry"}, {"to", "0 %"}, {"dust", "0 %"}};
  Json route{{"keep", true}};
  for (int i = 1; i < nodes; ++i) route = {{"step", "pan"}, {"dried", route}};
  plan["routes"] = {{"long", route}};
  return plan;
}

TEST(Analytes, on_the_edge) {
  // Gold, which has the price, and those of the lot.
  EXPECT_EQ(refusal(Context(), with_many_analytes(1, 199)), BW_OK);
  EXPECT_EQ(refusal(Context(), with_many_analytes(1, 200)), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("analytes", 201), with_many_analytes(1, 200)), BW_OK);
  EXPECT_EQ(refusal(Limited("analytes", 10), with_many_analytes(2, 5)), BW_DOCUMENT_LIMIT);
  Limited context("analytes", 1);
  EXPECT_EQ(refusal(context, with_many_analytes(3, 50)), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(errors(context).size(), 1U) << "told once";
}

TEST(RouteSteps, on_the_edge) {
  EXPECT_EQ(refusal(Limited("route steps", 5), long_route(5).dump()), BW_OK);
  EXPECT_EQ(refusal(Limited("route steps", 5), long_route(6).dump()), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Limited("depth", 100), long_route(64).dump()), BW_OK);
  Limited deep("depth", 100);
  EXPECT_EQ(refusal(deep, long_route(65).dump()), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(errors(deep).size(), 1U);
}

TEST(Limits, are_the_contexts_and_not_the_plans) {
  Context wide;
  const Plan plan = read_good(wide, long_route(9));
  Limited narrow("route steps", 5);
  EXPECT_EQ(net(compared(narrow, plan), "long"), "0.00");
}

TEST(Limits, hold_for_a_plan_made_from_another) {
  Limited context("depth", 10);
  Plan plan, changed;
  ASSERT_EQ(read(context, with_raw_note(nested_lists(9)), plan), BW_OK) << bw_error_text(context);
  EXPECT_EQ(bw_plan_with(context, plan, "/note/0/0/0/0/0/0/0/0", "[[]]", changed.out()), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(bw_plan_with(context, plan, "/note", nested_lists(9).c_str(), changed.out()), BW_OK);
  ASSERT_EQ(bw_set_limit(context, "nodes", 40), BW_OK);
  EXPECT_EQ(
      bw_plan_with(context, plan, "/note/0", Json(std::vector<int>(35, 0)).dump().c_str(), changed.out()),
      BW_DOCUMENT_LIMIT);
  ASSERT_EQ(bw_set_limit(context, "document bytes", 600), BW_OK);
  EXPECT_EQ(bw_plan_with(context, plan, "/note", std::string(590, 'x').c_str(), changed.out()),
            BW_DOCUMENT_LIMIT);
}

// Each step passes the limit alone; together they would bury the reader's stack.
TEST(Limits, depth_does_not_add_up_from_plan_to_plan) {
  Limited context("depth", 512);
  Plan plan;
  ASSERT_EQ(read(context, with_raw_note("[]"), plan), BW_OK);
  std::string pointer = "/note";
  bw_status status = BW_OK;
  for (int i = 0; i < 4 && status == BW_OK; ++i) {
    Plan deeper;
    status = bw_plan_with(context, plan, pointer.c_str(), nested_lists(400).c_str(), deeper.out());
    plan = std::move(deeper);
    for (int step = 0; step < 399; ++step) pointer += "/0";
  }
  EXPECT_EQ(status, BW_DOCUMENT_LIMIT);
}

// ---- Text that is meant to be costly ---------------------------------------------------------

// Each of these would fill the memory, or not come back within ctest's time, if it were worked out.
// memory_test counts what the dearest of them take.

TEST(Costly, huge_exponents_and_deep_lists_are_answered_at_once) {
  Json plan = minimal_plan();
  plan["lot"]["wet_mass"] = "1e999999999 t";
  EXPECT_EQ(refusal(Context(), plan.dump()), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Context(), with_raw_note("1e999999999")), BW_DOCUMENT_JSON);
  EXPECT_EQ(refusal(Context(), with_raw_note(nested_lists(1000))), BW_DOCUMENT_LIMIT);
  EXPECT_EQ(refusal(Context(), std::string(10'000'000, '[')), BW_DOCUMENT_LIMIT);
}

TEST(Costly, a_million_digits) {
  Json plan = minimal_plan();
  plan["lot"]["wet_mass"] = std::string(1'000'000, '9') + " t";
  EXPECT_EQ(refusal(Context(), plan.dump()), BW_DOCUMENT_LIMIT);
  plan["lot"]["wet_mass"] = "1." + std::string(1'000'000, '0') + "1 t";
  EXPECT_EQ(refusal(Context(), plan.dump()), BW_DOCUMENT_LIMIT);
}

TEST(Costly, as_many_names_as_fit) {
  std::string text = minimal_plan().dump();
  text.pop_back();
  for (int i = 0; i < 19'900; ++i) text += ",\"field " + std::to_string(i) + "\":1";
  EXPECT_EQ(refusal(Context(), text + "}"), BW_DOCUMENT_UNKNOWN_FIELD);
}

TEST(Costly, more_analytes_than_there_are_substances) {
  const std::string text = with_many_analytes(12, 15'000);
  EXPECT_EQ(refusal(Context(), text), BW_DOCUMENT_LIMIT);
}

// What is looked up by name must not be looked for one by one, and each part lacks what the others have.
TEST(Costly, as_many_analytes_as_may_be) {
  const std::string text = with_many_analytes(10, 990);
  Limited context("analytes", 10'000);
  Plan plan;
  Answer answer;
  EXPECT_EQ(read(context, text, plan), BW_OK) << bw_error_text(context);
  EXPECT_EQ(compare(context, plan, answer), BW_OK) << bw_error_text(context);
}

// What is missing in many parts must not be told of each: the answer would be hundreds of times the plan.
TEST(Costly, many_parts_that_lack_what_others_have) {
  const std::string many = with_many_analytes(19'000, 1, 190);
  Context context;
  Plan plan;
  Answer answer;
  EXPECT_EQ(read(context, many, plan), BW_OK) << bw_error_text(context);
  EXPECT_EQ(compare(context, plan, answer), BW_OK) << bw_error_text(context);
  size_t size = 0;
  bw_answer_text(answer, &size);
  EXPECT_LT(size, many.size());
}

TEST(Costly, many_rows_in_one_object) {
  Rows rows;
  for (int i = 0; i < 120'000; ++i) rows.cells.emplace_back("/note/n" + std::to_string(i), "x");
  EXPECT_EQ(rows.read(Context()), BW_DOCUMENT_LIMIT);
}

// Each error names its place, so a long name stands in each of them.
TEST(Costly, a_long_name_above_many_errors) {
  Json plan = minimal_plan();
  Json step{{"kind", "dry"}, {"to", "0 %"}, {"dust", "0 %"}};
  for (int i = 0; i < 150; ++i) step["unknown " + std::to_string(i)] = 1;
  plan["steps"][std::string(1000, 'n')] = step;
  Context context;
  EXPECT_EQ(refusal(context, plan.dump()), BW_DOCUMENT_UNKNOWN_FIELD);
  EXPECT_LT(errors(context).dump().size(), 200'000U) << "the list of errors is many times the document";
}

}  // namespace
}  // namespace capi
