// A plan as rows, and a plan like another.

#include <algorithm>
#include <fstream>

#include "buttonworth.hpp"
#include "support.hpp"

namespace capi {
namespace {

using Cells = std::vector<std::pair<std::string, std::string>>;

bw_status read_rows(bw_context* context, const Cells& cells, Plan& plan) {
  std::vector<const char*> pointers, values;
  for (const auto& [pointer, value] : cells) {
    pointers.push_back(pointer.c_str());
    values.push_back(value.c_str());
  }
  return bw_plan_read_rows(context, pointers.data(), values.data(), cells.size(), plan.out());
}

std::string escaped(const std::string& name) {
  std::string text;
  for (char c : name) text += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
  return text;
}

/// The rows of a document: section 6 of the format.
void add_rows(const Json& value, const std::string& pointer, Cells& cells) {
  if (value.is_structured() && !value.empty()) {
    for (const auto& [name, member] : value.items()) add_rows(member, pointer + "/" + escaped(name), cells);
  } else {
    cells.emplace_back(pointer, value.is_string() ? value.get<std::string>() : value.dump());
  }
}
Cells rows_of(const Json& document) {
  Cells cells;
  add_rows(document, "", cells);
  return cells;
}

/// Lists, lists in lists, {}, true, and names that need escaping.
Json rich_plan() {
  Json plan = minimal_plan();
  plan["note"] = {{"nothing", nullptr}, {"empty", Json::array()}, {"no", false}};
  plan["lot"]["assays"] =
      Json::parse(R"({"Au": {"values": ["48 g/t", "49 g/t", "51 g/t", "52 g/t"]}, "As": "0.3 %"})");
  plan["steps"] = Json::parse(R"({
    "table / shaker ~": {"kind": "table", "cut": {"pull": "10 %"},
                         "curve": {"Au": [["10 %", "80 %"], ["40 %", "96 %"]], "As": {"as": "gangue"}}},
    "magnet": {"kind": "split", "into": {"magnetics": {"mass": "35 %"}, "rest": {}}}})");
  plan["terms"]["smelter"]["penalties"] =
      Json::parse(R"([{"for": ["As", "Sb"], "above": "0.2 %", "each": "0.1 %", "rate": "3 USD/t"}])");
  plan["routes"]["tabled"] = Json::parse(R"({
    "step": "table / shaker ~", "concentrate": {"sell": "smelter"},
    "tailings": {"step": "magnet", "magnetics": {"keep": true}, "rest": {"keep": true}}})");
  return plan;
}

Json document_of(const bw_plan* plan) {
  const char* text = bw_plan_text(plan, nullptr);
  return text != nullptr ? Json::parse(text) : Json();
}

// ---- Rows ------------------------------------------------------------------------------------

TEST(Rows, are_the_same_document) {
  Context context;
  Plan plan;
  ASSERT_EQ(read_rows(context, rows_of(rich_plan()), plan), BW_OK) << bw_error_text(context);
  EXPECT_EQ(document_of(plan), rich_plan());
  EXPECT_EQ(compared(context, plan), compared(context, read_good(context, rich_plan())));
}

TEST(Rows, of_any_document_give_its_text) {
  const Json delivery = Json::parse(
      R"({"format": "buttonworth-delivery/1", "assays": {"Au": {"seller": ["1 g/t", "2 g/t"]}}, "how": false})");
  bw::Context context;
  EXPECT_EQ(Json::parse(context.document(rows_of(delivery)).text()), delivery);
  EXPECT_THROW(context.document({{"assays", "1 g/t"}}), bw::Error);
}

TEST(Wrapper, what_stands_behind_a_zero_byte_is_not_left_unread) {
  using namespace std::string_literals;
  bw::Context context;
  const bw::Plan plan = context.read(minimal_plan().dump());
  const auto refused = [](auto call) {
    try {
      call();
    } catch (const bw::Error& error) {
      EXPECT_EQ(error.status(), BW_USAGE_TYPE);
      return;
    }
    ADD_FAILURE() << "taken";
  };
  refused([&] { context.with(plan, "/lot/wet_mass\0/of"s, "2 t"); });
  refused([&] { context.with(plan, "/lot/wet_mass", "2 t\0"s); });
  refused([&] { context.set_limit("errors\0s"s, 5); });
  refused([&] { context.document({{"/format\0"s, "buttonworth-plan/1"}}); });
  const bw::Answer answer = context.compare(plan);
  refused([&] { answer.string("/best\0"s); });
  refused([&] { answer.draws("as it is\0"s); });
}

TEST(Rows, in_any_order_of_list_entries) {
  Context context;
  Cells cells = rows_of(rich_plan());
  const auto entry = [](const auto& cell) { return cell.first.find("/values/") != std::string::npos; };
  const auto first = std::find_if(cells.begin(), cells.end(), entry);
  std::reverse(first, std::find_if_not(first, cells.end(), entry));
  Plan plan;
  ASSERT_EQ(read_rows(context, cells, plan), BW_OK) << bw_error_text(context);
  EXPECT_EQ(document_of(plan), rich_plan());
}

TEST(Rows, empty_pairs_are_passed_over) {
  Context context;
  Cells cells = rows_of(minimal_plan());
  for (size_t at : {size_t{0}, size_t{3}, cells.size()})
    cells.insert(cells.begin() + static_cast<ptrdiff_t>(at), {"", ""});
  Plan plan;
  ASSERT_EQ(read_rows(context, cells, plan), BW_OK) << bw_error_text(context);
  EXPECT_EQ(document_of(plan), minimal_plan());
}

TEST(Rows, of_the_demonstration_file) {
  std::ifstream file(BUTTONWORTH_DEMO "/rows.csv");
  ASSERT_TRUE(file);
  Cells cells;
  for (std::string line; std::getline(file, line);) {
    const size_t comma = line.find(',');
    ASSERT_NE(comma, std::string::npos) << line;
    ASSERT_EQ(line.find('"'), std::string::npos) << "quotes are not read here: " << line;
    cells.emplace_back(line.substr(0, comma), line.substr(comma + 1));
  }
  Json document = Json::object();
  for (const auto& [pointer, value] : cells)
    document[Json::json_pointer(pointer)] = value == "true" ? Json(true)
                                            : value == "{}" ? Json::object()
                                                            : Json(value);
  Context context;
  Plan plan;
  ASSERT_EQ(read_rows(context, cells, plan), BW_OK) << bw_error_text(context);
  EXPECT_EQ(compared(context, plan), compared(context, read_good(context, document)));
}

struct BadRow {
  const char* why;
  Cells more;
  bw_status status;
  const char* pointer;
};

TEST(Rows, bad_ones_are_refused_with_their_pointer) {
  const BadRow bad[] = {
      {"twice", {{"/discount", "0 %/a"}}, BW_DOCUMENT_REPEATED, "/discount"},
      {"above another", {{"/lot", "all of it"}}, BW_DOCUMENT_REPEATED, "/lot"},
      {"below a value", {{"/discount/of", "x"}}, BW_DOCUMENT_CONFLICT, "/discount/of"},
      {"below an empty list", {{"/note", "[]"}, {"/note/0", "x"}}, BW_DOCUMENT_CONFLICT, "/note/0"},
      {"the whole", {{"", "x"}}, BW_DOCUMENT_REPEATED, ""},
  };
  for (const BadRow& one : bad) {
    Context context;
    Cells cells = rows_of(minimal_plan());
    cells.insert(cells.end(), one.more.begin(), one.more.end());
    Plan plan;
    EXPECT_EQ(read_rows(context, cells, plan), one.status) << one.why << bw_error_text(context);
    EXPECT_EQ(plan, nullptr);
    EXPECT_EQ(errors(context).at(0).at("pointer"), one.pointer) << one.why;
  }
}

// The header: "a pointer that is none … is a document error".
TEST(Rows, what_is_no_pointer_is_a_document_error) {
  for (const char* pointer : {"discount", "/note/~", "/note/~2", " /note"}) {
    Context context;
    Cells cells = rows_of(minimal_plan());
    cells.emplace_back(pointer, "x");
    Plan plan;
    EXPECT_STREQ(bw_status_class(read_rows(context, cells, plan)), "document")
        << pointer << ": " << bw_error_text(context);
    EXPECT_EQ(plan, nullptr);
  }
}

TEST(Rows, a_list_with_a_gap_is_no_list) {
  Context context;
  Cells cells = rows_of(minimal_plan());
  cells.emplace_back("/terms/smelter/charges/2/what", "freight");
  cells.emplace_back("/terms/smelter/charges/2/rate", "1 USD/lot");
  Plan plan;
  EXPECT_EQ(read_rows(context, cells, plan), BW_DOCUMENT_TYPE);
  EXPECT_EQ(errors(context).at(0).at("pointer"), "/terms/smelter/charges");
}

TEST(Rows, errors_are_told_together) {
  Context context;
  Cells cells = rows_of(minimal_plan());
  cells.emplace_back("/lot/moisture", "5 kg");
  cells.emplace_back("/unknown", "x");
  Plan plan;
  EXPECT_EQ(read_rows(context, cells, plan), BW_DOCUMENT_UNIT);
  const std::vector<bw_status> expected{BW_DOCUMENT_UNIT, BW_DOCUMENT_UNKNOWN_FIELD};
  EXPECT_EQ(statuses(context), expected);
}

// ---- A plan like another ---------------------------------------------------------------------

Plan changed(bw_context* context, const bw_plan* plan, const char* pointer, const char* value) {
  Plan other;
  EXPECT_EQ(bw_plan_with(context, plan, pointer, value, other.out()), BW_OK) << bw_error_text(context);
  return other;
}

TEST(With, a_quantity) {
  Context context;
  const Plan plan = read_good(context, minimal_plan());
  const std::string before = compared(context, plan);
  const Plan other = changed(context, plan, "/prices/Au", "120 USD/g");
  EXPECT_EQ(net(compared(context, other), "as it is"), "5400.00");  // 45 g x 120 USD/g
  EXPECT_EQ(compared(context, plan), before);
  EXPECT_EQ(document_of(plan), minimal_plan());
}

TEST(With, a_text_a_true_and_an_empty_object) {
  Context context;
  const Plan plan = read_good(context, rich_plan());
  Json expected = rich_plan();
  EXPECT_EQ(document_of(changed(context, plan, "/note/nothing", "some words")).at("note").at("nothing"),
            "some words");
  expected["note"]["no"] = true;
  EXPECT_EQ(document_of(changed(context, plan, "/note/no", "true")), expected);
  expected = rich_plan();
  expected["terms"]["smelter"]["pay"] = Json::object();
  EXPECT_EQ(document_of(changed(context, plan, "/terms/smelter/pay", "{}")), expected);
}

TEST(With, a_list_and_an_object) {
  Context context;
  const Plan plan = read_good(context, rich_plan());
  const Plan bands = changed(context, plan, "/terms/smelter/pay/Au",
                             R"({"bands": [["1 g/t", "50 %"], ["30 g/t", "80 %"]]})");
  const double arsenic = 1 * 3;  // (0.3 % - 0.2 %) / 0.1 % x 3 USD/t x 1 t
  Answer answer;
  double number = 0;
  ASSERT_EQ(compare(context, bands, answer), BW_OK) << bw_error_text(context);
  ASSERT_EQ(bw_answer_number(context, answer, "/routes/as it is/net", &number), BW_OK);
  EXPECT_EQ(number, 50 * 0.8 * 100 - arsenic);
  const Plan charges =
      changed(context, plan, "/terms/smelter/charges", R"([{"what": "treatment", "rate": "450 USD/t"}])");
  ASSERT_EQ(compare(context, charges, answer), BW_OK) << bw_error_text(context);
  ASSERT_EQ(bw_answer_number(context, answer, "/routes/as it is/net", &number), BW_OK);
  EXPECT_EQ(number, 4500 - 450 - arsenic);
}

TEST(With, an_entry_of_a_list_and_an_escaped_name) {
  Context context;
  const Plan plan = read_good(context, rich_plan());
  Json expected = rich_plan();
  expected["lot"]["assays"]["Au"]["values"][3] = "60 g/t";
  EXPECT_EQ(document_of(changed(context, plan, "/lot/assays/Au/values/3", "60 g/t")), expected);
  expected = rich_plan();
  expected["steps"]["table / shaker ~"]["cut"]["pull"] = "40 %";
  EXPECT_EQ(document_of(changed(context, plan, "/steps/table ~1 shaker ~0/cut/pull", "40 %")), expected);
}

TEST(With, the_whole_document) {
  Context context;
  const Plan plan = read_good(context, rich_plan());
  const Plan other = changed(context, plan, "", minimal_plan().dump().c_str());
  EXPECT_EQ(document_of(other), minimal_plan());
}

TEST(With, keeps_the_order_of_names) {
  Context context;
  Json document = minimal_plan();
  document["routes"] = {{"z", {{"keep", true}}}, {"a", {{"keep", true}}}, {"m", {{"keep", true}}}};
  const Plan plan = read_good(context, document);
  EXPECT_EQ(document_of(changed(context, plan, "/discount", "1 %/a")).at("routes").dump(),
            document.at("routes").dump());
}

TEST(With, bad_values_are_refused_and_nothing_changes) {
  Context context;
  const Plan plan = read_good(context, rich_plan());
  const std::string before = bw_plan_text(plan, nullptr);
  struct Bad {
    const char *pointer, *value;
    bw_status status;
  };
  for (const Bad& bad :
       {Bad{"/prices/Au", "120", BW_DOCUMENT_UNIT}, Bad{"/prices/Au", "", BW_DOCUMENT_QUANTITY},
        Bad{"/prices/Au", "true", BW_DOCUMENT_TYPE}, Bad{"/prices/Au", "[", BW_DOCUMENT_JSON},
        Bad{"/prices/Au", "{\"low\":\"1 USD/g\",\"low\":\"2 USD/g\"}", BW_DOCUMENT_REPEATED},
        Bad{"/prices/Ag", "1 USD/g", BW_USAGE_POINTER}, Bad{"prices", "1", BW_USAGE_POINTER},
        Bad{"/lot/assays/Au/values/4", "1 g/t", BW_USAGE_POINTER},
        Bad{"/lot/assays/Au/values/-", "1 g/t", BW_USAGE_POINTER},
        Bad{"/lot/assays/Au/values/00", "1 g/t", BW_USAGE_POINTER},
        Bad{"/routes/kept/sell", "smelter", BW_USAGE_POINTER},
        Bad{"/lot/assays/Au", "100.1 %", BW_DOCUMENT_RANGE},
        Bad{"/lot/assays/As", "99.999 %", BW_DOMAIN_ASSAYS}}) {
    Plan other;
    EXPECT_EQ(bw_plan_with(context, plan, bad.pointer, bad.value, other.out()), bad.status)
        << bad.pointer << ' ' << bad.value << ' ' << bw_error_text(context);
    EXPECT_EQ(other, nullptr);
  }
  EXPECT_EQ(bw_plan_text(plan, nullptr), before);
}

TEST(With, numbers_of_a_note_stay_as_written) {
  Context context;
  std::string text = minimal_plan().dump();
  text.pop_back();
  text += R"(,"note":{"long":0.1234567890123456789012345678,"power":1e5,"whole":12345678901234567890123}})";
  Plan plan;
  ASSERT_EQ(read(context, text, plan), BW_OK) << bw_error_text(context);
  const Plan other = changed(context, plan, "/discount", "1 %/a");
  ASSERT_NE(other, nullptr);
  const std::string after = bw_plan_text(other, nullptr);
  for (const char* number : {"0.1234567890123456789012345678", "1e5", "12345678901234567890123"})
    EXPECT_NE(after.find(number), std::string::npos) << number << " is not in " << after;
}

}  // namespace
}  // namespace capi
