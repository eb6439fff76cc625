// Documents: what is read, what is refused, and how it is told.
#include "document/form.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

const OrderedJson lot{{"wet_mass", "100 kg"}, {"assays", {{"Au", "100 g/t"}}}};

OrderedJson small_plan() {
  return plain_plan(lot, OrderedJson::object(),
                    {{"buyer", {{"buys", "concentrate"}, {"pay", {{"Au", OrderedJson::object()}}}}}},
                    {{"sell", "buyer"}});
}

/// The complaint at a pointer; a test fails without one.
Complaint at(const std::vector<Complaint>& complaints, const std::string& pointer) {
  std::string all;
  for (const Complaint& one : complaints) {
    if (one.pointer == pointer) return one;
    all += one.pointer + ": " + one.text + '\n';
  }
  ADD_FAILURE() << "no complaint at " << pointer << " among\n" << all;
  return {Code::ok, {}, {}};
}
Complaint only(const OrderedJson& document, const std::string& pointer) {
  const auto complaints = complaints_of(document.dump());
  EXPECT_EQ(complaints.size(), 1U) << document.dump();
  return at(complaints, pointer);
}
void expect_says(const Complaint& complaint, std::initializer_list<const char*> words) {
  for (const char* word : words)
    EXPECT_NE(complaint.text.find(word), std::string::npos) << complaint.text << " lacks " << word;
}

// ---- Quantities ----------------------------------------------------------------------------------

Decimal wet_mass_of(const OrderedJson& quantity) {
  OrderedJson document = small_plan();
  document["lot"]["wet_mass"] = quantity;
  const auto plan = plan_from(document);
  return plan->quantities[*plan->lot.wet_mass].mean;
}

TEST(Quantities, MeansOfEveryKind) {
  EXPECT_EQ(wet_mass_of("0.806 t"), 806);
  EXPECT_EQ(wet_mass_of({{"value", "806 kg"}, {"sd", "4 kg"}}), 806);
  EXPECT_EQ(wet_mass_of({{"value", "806 kg"}, {"rsd", "4 %"}}), 806);
  // A third is not exact in decimals.
  EXPECT_LE(abs(wet_mass_of({{"low", "700 kg"}, {"mode", "0.8 t"}, {"high", "900 kg"}}) - 800),
            Decimal("1e-45"));
  EXPECT_EQ(wet_mass_of({{"low", "700 kg"}, {"high", "800 kg"}}), 750);
  EXPECT_EQ(wet_mass_of({{"values", {"1 kg", "2 kg", "3 kg", "6000 g"}}}), 3);
  // Median 100, gsd 1.15: 100 x exp(ln²(1.15) / 2) = 100.981455014 [C].
  EXPECT_LE(abs(wet_mass_of({{"median", "100 kg"}, {"gsd", "1.15"}}) - Decimal("100.981455014")),
            Decimal("5e-10"));
  EXPECT_EQ(wet_mass_of({{"value", "806 kg"}, {"sd", "4 kg"}, {"note", "weighed twice"}}), 806);
}

TEST(Quantities, UncertainOnesThatAreWrong) {
  struct Row {
    OrderedJson quantity;
    const char* pointer;
    Code code;
  };
  for (const Row& row :
       {Row{{{"value", "806 kg"}}, "/lot/wet_mass", Code::type},
        Row{{{"low", "900 kg"}, {"high", "800 kg"}}, "/lot/wet_mass", Code::range},
        Row{{{"low", "1 kg"}, {"mode", "9 kg"}, {"high", "8 kg"}}, "/lot/wet_mass", Code::range},
        Row{{{"value", "806 kg"}, {"sd", "-4 kg"}}, "/lot/wet_mass", Code::range},
        Row{{{"median", "806 kg"}, {"gsd", "0.9"}}, "/lot/wet_mass", Code::range},
        Row{{{"median", "806 kg"}, {"gsd", "1.1 kg"}}, "/lot/wet_mass/gsd", Code::unit},
        Row{{{"values", OrderedJson::array()}}, "/lot/wet_mass/values", Code::range},
        Row{{{"values", {"1 kg", "2 h"}}}, "/lot/wet_mass/values/1", Code::unit},
        Row{{{"values", {"1 kg", 2}}}, "/lot/wet_mass/values/1", Code::type},
        Row{{{"value", "806 kg"}, {"rsd", "4 kg"}}, "/lot/wet_mass/rsd", Code::unit},
        Row{{{"value", "1 kg"}, {"sd", "1 kg"}, {"rsd", "1 %"}}, "/lot/wet_mass", Code::type}}) {
    OrderedJson document = small_plan();
    document["lot"]["wet_mass"] = row.quantity;
    EXPECT_EQ(only(document, row.pointer).code, row.code) << row.quantity.dump();
  }
}

TEST(Quantities, TextsThatAreNone) {
  struct Row {
    OrderedJson quantity;
    Code code;
    std::initializer_list<const char*> words;
  };
  for (const Row& row :
       {Row{806, Code::type, {"806", "kg"}}, Row{"806", Code::unit, {"missing"}},
        Row{"806 oz", Code::unit, {"ozt", "lb"}}, Row{"806 ton", Code::unit, {"st", "lt"}},
        Row{"806 kgs", Code::unit, {"kg"}}, Row{"806kg", Code::quantity, {"space"}},
        Row{"1,250 kg", Code::quantity, {"thousands"}}, Row{"1.2.3 kg", Code::quantity, {"quantity"}},
        Row{"NaN kg", Code::quantity, {"number"}}, Row{"inf kg", Code::quantity, {"number"}},
        Row{"-5 kg", Code::range, {"more than 0"}}, Row{"0 kg", Code::range, {"more than 0"}},
        Row{"5 g/t", Code::unit, {"something else"}}, Row{"1e999999999 kg", Code::limit, {"30"}},
        Row{nullptr, Code::type, {"kg"}}, Row{true, Code::type, {"kg"}},
        Row{"1.2345678901234567890123456789012345678901 kg", Code::limit, {"40 digits"}}}) {
    OrderedJson document = small_plan();
    document["lot"]["wet_mass"] = row.quantity;
    const Complaint complaint = only(document, "/lot/wet_mass");
    EXPECT_EQ(complaint.code, row.code) << row.quantity.dump() << complaint.text;
    expect_says(complaint, row.words);
  }
  OrderedJson document = small_plan();
  document["lot"]["moisture"] = "12%";  // before % the space may be left out
  EXPECT_TRUE(complaints_of(document.dump()).empty());
}

TEST(Quantities, MoneyOfKnownCurrencies) {
  OrderedJson document = small_plan();
  document["prices"]["Au"] = "100 PEN/g";
  expect_says(at(complaints_of(document.dump()), "/prices/Au"), {"PEN", "exchange"});
  document["exchange"] = {{"PEN", "0.25 USD"}};
  expect_value(document, 250);  // 10 g
  document["exchange"]["USD"] = "1 USD";
  EXPECT_EQ(only(document, "/exchange/USD").code, Code::conflict);
  document["exchange"] = {{"pen", "1 USD"}};
  at(complaints_of(document.dump()), "/exchange/pen");
}

TEST(Quantities, FactorsOfTermsAndOfParts) {
  OrderedJson document = small_plan();
  OrderedJson& buyer = document["terms"]["buyer"];
  buyer["pay"]["Au"]["price"] = "31.1035 USD/ozt";
  buyer["factors"] = {{"g per ozt", "31.1035"}};
  expect_value(document, 10);  // 10 g at 1 USD/g
  document["lot"] = {
      {"factors", {{"lb per t", "2000"}}},
      {"parts",
       {{{"wet_mass", "2000 lb"}, {"assays", {{"Au", "10 g/t"}}}},
        {{"factors", {{"lb per t", "1000"}}}, {"wet_mass", "2000 lb"}, {"assays", {{"Au", "10 g/t"}}}}}}};
  expect_value(document, 30);                       // one tonne by the lot's pound, two by the part's own
  document["prices"]["Au"] = "31.1034768 USD/ozt";  // the plan's prices keep the exact ounce
  buyer["pay"]["Au"].erase("price");
  expect_value(document, 30);
}

// ---- Fields and names ----------------------------------------------------------------------------

TEST(Documents, ANearFieldIsNamed) {
  struct Row {
    const char *pointer, *nearest;
  };
  for (const Row& row :
       {Row{"/discuont", "discount"}, Row{"/lot/wetmass", "wet_mass"},
        Row{"/terms/buyer/penalites", "penalties"}, Row{"/terms/buyer/pay/Au/refinng", "refining"}}) {
    OrderedJson document = small_plan();
    document[OrderedJson::json_pointer(row.pointer)] = "1 kg";
    const Complaint complaint = only(document, row.pointer);
    EXPECT_EQ(complaint.code, Code::unknown_field);
    expect_says(complaint, {row.nearest});
  }
  EXPECT_NE(nearest_text("smelt", {"refiner", "smelter"}).find("smelter"), std::string::npos);
  for (const char* one : {"alpha", "beta"})
    EXPECT_NE(nearest_text("xyzzy", {"alpha", "beta"}).find(one), std::string::npos);
  EXPECT_EQ(nearest_text("anything", {}), "");
}

TEST(Documents, NotesStandAnywhere) {
  OrderedJson document = small_plan();
  for (const char* place :
       {"/note", "/lot/note", "/lot/assays/note", "/prices/note", "/terms/note", "/terms/buyer/note",
        "/terms/buyer/pay/note", "/terms/buyer/pay/Au/note", "/routes/note", "/routes/r/note"})
    document[OrderedJson::json_pointer(place)] = {{"any", {1, nullptr, "thing"}}};
  EXPECT_TRUE(complaints_of(document.dump()).empty()) << complaints_of(document.dump())[0].text;
}

TEST(Documents, AllFaultsAreToldTogether) {
  const std::string text =
      R"({"format": "buttonworth-plan/2", "currency": "usd", "lot": {"wet_mass": "1 oz", "assays": {"Au": "5"}, "wat": 1},
    "terms": {"a": {"buys": "gold", "transit": "-1 d", "charges": [{"what": "x", "rate": "5 USD/lot"}, {"rate": 3}]}}, "routes": {"r": {"sell": "b"}, "s": {"step": "q"}, "t": {}}})";
  const auto complaints = complaints_of(text);
  for (const char* pointer : {"/format", "/currency", "/lot/wet_mass", "/lot/assays/Au", "/lot/wat",
                              "/terms/a/buys", "/terms/a/transit", "/terms/a/charges/1",
                              "/terms/a/charges/1/rate", "/routes/r/sell", "/routes/s/step", "/routes/t", ""})
    at(complaints, pointer);
  EXPECT_EQ(at(complaints, "").code, Code::missing_field);  // discount
}

TEST(Documents, PointersAreEscaped) {
  OrderedJson document = small_plan();
  document["terms"]["a/b~c"] = {{"buys", "gold"}};
  at(complaints_of(document.dump()), "/terms/a~1b~0c/buys");
}

TEST(Documents, AtMostSoManyComplaints) {
  OrderedJson document = small_plan();
  for (int i = 0; i < 200; ++i) document["lot"]["assays"]["X" + std::to_string(i)] = "1 oz";
  EXPECT_EQ(complaints_of(document.dump()).size(), 100U);
}

/// What could not be read is told once, and not compared with what could.
TEST(Documents, AFigureThatCannotBeReadIsToldOnce) {
  OrderedJson document = small_plan();
  OrderedJson& terms = document["terms"].begin().value();
  terms["advance"] = {{"share", "80 %"}, {"after", "7 d"}};
  terms["final"] = "30 dd";
  only(document, "/terms/" + document["terms"].begin().key() + "/final");
  terms["final"] = "30 d";
  terms["pay"]["Au"] = {{"bands", pairs({{"0 g/t", "90 %"}, {"20 gt", "92 %"}, {"30 g/t", "93 %"}})}};
  only(document, "/terms/" + document["terms"].begin().key() + "/pay/Au/bands/1/0");
  document = small_plan();
  document["lot"]["wet_mass"] = {{"values", {"1 kgg", "2 kg", "3 kg"}}};
  only(document, "/lot/wet_mass/values/0");
}

TEST(Documents, WrongOnesOfEachRule) {
  struct Row {
    const char *pointer, *value, *at;
    Code code;
  };
  const char* table = R"({"kind": "table", "curve": {"Au": {"odds": "9"}}, "cut": {"pull": "10 %"}})";
  const char* melt = R"({"kind": "melt", "to_bar": {"Au": "99 %"}})";
  const char* dry = R"({"kind": "dry", "to": "1 %", "dust": "0 %"})";
  const OrderedJson steps{
      {"shaker", OrderedJson::parse(table)},
      {"furnace", OrderedJson::parse(melt)},
      {"pan", OrderedJson::parse(dry)},
      {"magnet", OrderedJson::parse(R"({"kind": "split", "into": {"a": {"mass": "30 %"}, "b": {}}})")}};
  for (
      const Row& row : {
          Row{"/lot/assays/Fe", R"("99.995 %")", "/lot/assays", Code::assays},
          Row{"/lot/parts", R"([{"wet_mass": "1 kg"}])", "/lot", Code::conflict},
          Row{"/lot/date", R"("2026-02-30")", "/lot/date", Code::range},
          Row{"/lot/moisture", R"("100 %")", "/lot/moisture", Code::range},
          Row{"/lot/apart", R"({"step": {"mass": "1 g", "assays": {}}})", "/lot/apart/step", Code::conflict},
          Row{"/lot/apart", R"({"nuggets": {"mass": "1 g", "assays": {"Au": "90 %"}}})", "/routes/r",
              Code::missing_field},
          Row{"/day", R"("0 h")", "/day", Code::range},
          Row{"/steps/shaker/kind", R"("jig")", "/steps/shaker/kind", Code::range},
          Row{"/steps/shaker/curve/Au", R"([["5 %", "40 %"], ["5 %", "50 %"]])", "/steps/shaker/curve/Au/1/0",
              Code::range},
          Row{"/steps/shaker/curve/Au", R"([["5 %", "40 %"], ["8 %", "30 %"]])", "/steps/shaker/curve/Au/1/1",
              Code::range},
          Row{"/steps/shaker/curve/Au", R"([["5 %", "40 %"], ["100 %", "99 %"]])",
              "/steps/shaker/curve/Au/1/1", Code::range},
          Row{"/steps/shaker/curve/Au", R"([["0 %", "0 %"]])", "/steps/shaker/curve/Au/0/0", Code::range},
          Row{"/steps/shaker/curve/Au", R"([["5 %"]])", "/steps/shaker/curve/Au/0", Code::type},
          Row{"/steps/shaker/curve/Ag", R"({"as": "Cu"})", "/steps/shaker/curve/Ag/as", Code::name},
          Row{"/steps/shaker/limit", R"({"Ag": "50 %"})", "/steps/shaker/limit/Ag", Code::name},
          Row{"/steps/shaker/cut", R"("best")", "/steps/shaker", Code::missing_field},
          Row{"/steps/shaker/cut", R"("better")", "/steps/shaker/cut", Code::range},
          Row{"/steps/shaker/cut", R"({"pull": "5 %", "grade": "1 %"})", "/steps/shaker/cut", Code::conflict},
          Row{"/steps/shaker/cut", R"({"grade": "1 %", "of": "Ag"})", "/steps/shaker/cut/of", Code::name},
          Row{"/steps/shaker/curve", R"({"Ag": {"odds": "2"}})", "/steps/shaker/curve", Code::missing_field},
          Row{"/steps/shaker/cost", R"([{"what": "x", "rate": "1 USD/h"}])", "/steps/shaker/cost/0/rate",
              Code::conflict},
          Row{"/steps/shaker/cost", R"([{"what": "x", "rate": "1 USD/kWh"}])", "/steps/shaker/cost/0/rate",
              Code::conflict},
          Row{"/steps/shaker/cost", R"([{"what": "x", "rate": "1 USD/melt"}])", "/steps/shaker/cost/0/rate",
              Code::conflict},
          Row{"/steps/pan/cost", R"([{"what": "x", "rate": "1 USD/L"}])", "/steps/pan/cost/0/rate",
              Code::conflict},
          Row{"/steps/pan/cost", R"([{"what": "x", "rate": "1 USD/lot", "of": "wet"}])",
              "/steps/pan/cost/0/of", Code::conflict},
          Row{"/steps/magnet/into/b", R"({"mass": "10 %"})", "/steps/magnet/into", Code::conflict},
          Row{"/steps/magnet/into/a", R"({"mass": "100.1 %"})", "/steps/magnet/into/a/mass", Code::range},
          Row{"/steps/magnet/into/a", R"({"Au": "10 %"})", "/steps/magnet/into/a", Code::missing_field},
          Row{"/steps/furnace/to_fume", R"({"Hg": "50 %"})", "/steps/furnace/to_fume/Hg", Code::mercury},
          Row{"/steps/furnace/to_fume", R"({"Au": "2 %"})", "/steps/furnace/to_bar/Au", Code::melt},
          Row{"/steps/furnace/slag_grade", R"({"Au": "2 g/t"})", "/steps/furnace/slag_grade/Au",
              Code::conflict},
          Row{"/steps/furnace/dry_below", R"("0.6 %")", "/steps/furnace/dry_below", Code::range},
          Row{"/steps/furnace/flux", R"([{"reagent": "bone ash", "dose": "1 kg/kg"}])",
              "/steps/furnace/flux/0", Code::missing_field},
          Row{"/steps/furnace/flux", R"([{"reagent": "borax", "dose": "1 kg/t"}])",
              "/steps/furnace/flux/0/dose", Code::unit},
          Row{"/terms/buyer/pay/Au", R"({"bands": [["5 g/t", "80 %"], ["5 g/t", "90 %"]]})",
              "/terms/buyer/pay/Au/bands/1/0", Code::range},
          Row{"/terms/buyer/pay/Au", R"({"bands": [["5 g/t", "80 %"]], "share": "80 %"})",
              "/terms/buyer/pay/Au", Code::conflict},
          Row{"/terms/buyer/pay/Cu", R"({})", "/terms/buyer/pay/Cu", Code::name},
          Row{"/terms/buyer/charges", R"([{"what": "x", "rate": "1 %"}])", "/terms/buyer/charges/0",
              Code::conflict},
          Row{"/terms/buyer/charges", R"([{"what": "x", "rate": "1 USD/lot", "of": "wet"}])",
              "/terms/buyer/charges/0/of", Code::conflict},
          Row{"/terms/buyer/charges", R"([{"what": "x", "rate": "1 USD/ozt", "of": "payable Ag"}])",
              "/terms/buyer/charges/0/of", Code::name},
          Row{"/terms/buyer/penalties", R"([{"for": "As", "above": "1 %", "each": "1 %"}])",
              "/terms/buyer/penalties/0", Code::missing_field},
          Row{"/terms/buyer/penalties", R"([{"for": "As"}])", "/terms/buyer/penalties/0",
              Code::missing_field},
          Row{"/terms/buyer/penalties",
              R"([{"for": "As", "whole": [{"up_to": "2 %", "rate": "1 USD/t"}, {"up_to": "1 %", "rate": "2 USD/t"}]}])",
              "/terms/buyer/penalties/0/whole/1/up_to", Code::range},
          Row{"/terms/buyer/penalties",
              R"([{"for": "As", "count": "whole", "whole": [{"up_to": "2 %", "rate": "1 USD/t"}]}])",
              "/terms/buyer/penalties/0/count", Code::conflict},
          Row{"/terms/buyer/advance", R"({"share": "80 %", "after": "1 d"})", "/terms/buyer/advance",
              Code::conflict},
          Row{"/levies", R"([{"what": "x", "rate": "1 %", "of": "net value"}])", "/levies/0/of", Code::range},
          Row{"/routes/r", R"({"sell": "buyer", "keep": true})", "/routes/r", Code::conflict},
          Row{"/routes/r", R"({"keep": false})", "/routes/r/keep", Code::type},
          Row{"/routes/r", R"({"return": {"Cu": "50 %"}})", "/routes/r/return/Cu", Code::name},
          Row{"/routes/r", R"({"step": "pan"})", "/routes/r", Code::missing_field},
          Row{"/routes/r", R"({"step": "pan", "dried": {"keep": true}, "wet": {"keep": true}})",
              "/routes/r/wet", Code::unknown_field},
          Row{"/routes", "{}", "/routes", Code::range},
      }) {
    OrderedJson document = small_plan();
    document["steps"] = steps;
    ASSERT_TRUE(complaints_of(document.dump()).empty()) << complaints_of(document.dump())[0].text;
    document[OrderedJson::json_pointer(row.pointer)] = OrderedJson::parse(row.value);
    EXPECT_EQ(at(complaints_of(document.dump()), row.at).code, row.code) << row.pointer << ' ' << row.value;
  }
}

TEST(Documents, MeltByRateAndByMeltsExcludeEachOther) {
  OrderedJson document = small_plan();
  document["steps"] = {
      {"furnace", {{"kind", "melt"}, {"to_bar", {{"Au", "99 %"}}}, {"rate", "5 kg/h"}, {"per_melt", "1 h"}}}};
  EXPECT_EQ(only(document, "/steps/furnace").code, Code::conflict);
}

TEST(Documents, AnAdvanceOnTheFinalDayIsInTime) {
  OrderedJson document = small_plan();
  document["terms"]["buyer"]["advance"] = {{"share", "80 %"}, {"after", "24 h"}};
  document["terms"]["buyer"]["final"] = "1 d";
  EXPECT_TRUE(complaints_of(document.dump()).empty());
}

// ---- Text ----------------------------------------------------------------------------------------

TEST(Text, JsonThatIsNone) {
  for (const auto& [text, code] :
       {std::pair{"{", Code::json}, std::pair{"", Code::json}, std::pair{"{} {}", Code::json},
        std::pair{"{\"a\": 01}", Code::json}, std::pair{"[1,]", Code::json},
        std::pair{"\"\xff\"", Code::utf8}, std::pair{"\"\xed\xa0\x80\"", Code::utf8},
        std::pair{"\"\xc0\xaf\"", Code::utf8}, std::pair{"{\"a\": 1, \"a\": 2}", Code::repeated}}) {
    const auto complaints = complaints_of(text);
    ASSERT_EQ(complaints.size(), 1U) << text;
    EXPECT_EQ(complaints[0].code, code) << text << ' ' << complaints[0].text;
  }
  expect_says(complaints_of("{\n  \"lot\": }")[0], {"line 2"});
  EXPECT_EQ(complaints_of(R"({"lot": {"b": 1, "b": 2}})")[0].pointer, "/lot/b");
}

Code limit_code(const std::string& text, const DocumentLimits& limits) {
  try {
    read_json(text, limits);
  } catch (const Error& error) {
    return error.complaint().code;
  }
  return Code::ok;
}

TEST(Text, Limits) {
  DocumentLimits limits;
  limits.depth = 3;
  EXPECT_EQ(limit_code("[[[1]]]", limits), Code::ok);
  EXPECT_EQ(limit_code("[[[[1]]]]", limits), Code::limit);
  limits.list_length = 4;
  EXPECT_EQ(limit_code("[1,2,3,4]", limits), Code::ok);
  EXPECT_EQ(limit_code("[1,2,3,4,5]", limits), Code::limit);
  limits.nodes = 4;
  EXPECT_EQ(limit_code("[1,2,3,4]", limits), Code::limit);  // and the list itself
  limits.document_bytes = 5;
  EXPECT_EQ(limit_code("[1,2]", limits), Code::ok);
  EXPECT_EQ(limit_code("[1, 2]", limits), Code::limit);
  EXPECT_EQ(limit_code(std::string(100'000, '['), DocumentLimits{}), Code::limit);
}

TEST(Text, NodesOnOneWayAreLimited) {
  OrderedJson route{{"keep", true}};
  for (int i = 0; i < 10; ++i) route = {{"step", "pan"}, {"dried", route}};
  OrderedJson document = plain_plan(lot, {{"pan", {{"kind", "dry"}, {"to", "1 %"}, {"dust", "0 %"}}}},
                                    OrderedJson::object(), route);
  DocumentLimits limits;
  limits.route_steps = 10;
  const Value value = read_json(document.dump(), DocumentLimits{});
  EXPECT_EQ(read_plan(value, limits).complaints.at(0).code, Code::limit);
  limits.route_steps = 11;
  EXPECT_TRUE(read_plan(value, limits).complaints.empty());
}

TEST(Text, PointersByRfc6901) {
  const Value value = read_json(R"({"a/b": 1, "m~n": [10, {"": "x"}], "01": 2})", DocumentLimits{});
  EXPECT_EQ(find_at(value, "/a~1b")->text, "1");
  EXPECT_EQ(find_at(value, "/m~0n/0")->text, "10");
  EXPECT_EQ(find_at(value, "/m~0n/1/")->text, "x");
  EXPECT_EQ(find_at(value, "/01")->text, "2");
  EXPECT_EQ(find_at(value, ""), &value);
  for (const char* pointer : {"/m~0n/01", "/m~0n/2", "/m~0n/-", "/x", "/a~1b/0"})
    EXPECT_EQ(find_at(value, pointer), nullptr) << pointer;
  for (const char* pointer : {"a", "/a~2", "/a~"}) EXPECT_THROW(find_at(value, pointer), Error) << pointer;
}

TEST(Text, WrittenAsItWasRead) {
  const std::string text = R"({"b":1,"a":[true,null,"é \" \\ \n",{}],"c":-0.5})";
  EXPECT_EQ(write_json(read_json(text, DocumentLimits{})), text);
}

// ---- Rows ----------------------------------------------------------------------------------------

using Rows = std::vector<std::pair<std::string_view, std::string_view>>;

TEST(Rows, AreTheSameDocument) {
  const Rows rows{{"/lot/wet_mass", "806 kg"},
                  {"", ""},
                  {"/list/1", "b"},
                  {"/list/0", "a"},
                  {"/routes/home/keep", "true"},
                  {"/steps/magnet/into/rest", "{}"},
                  {"/steps/magnet/into/rest/note", "x"},
                  {"/empty", "[]"},
                  {"/nothing", "null"},
                  {"/no", "false"},
                  {"/a~1b", "5"}};
  EXPECT_EQ(
      OrderedJson::parse(write_json(from_rows(rows, DocumentLimits{}))),
      OrderedJson::parse(
          R"({"lot": {"wet_mass": "806 kg"}, "list": ["a", "b"], "routes": {"home": {"keep": true}}, "steps": {"magnet": {"into": {"rest": {"note": "x"}}}},
                            "empty": [], "nothing": null, "no": false, "a/b": "5"})"));
}

TEST(Rows, ThatDoNotFitTogether) {
  struct Row {
    Rows rows;
    Code code;
    const char* pointer;
  };
  for (const Row& row :
       {Row{{{"/a", "1"}, {"/a", "2"}}, Code::repeated, "/a"},
        Row{{{"/a", "1"}, {"/a/b", "2"}}, Code::conflict, "/a/b"},
        Row{{{"/a/b", "1"}, {"/a", "2"}}, Code::repeated, "/a"}, Row{{{"a", "1"}}, Code::json, ""}}) {
    try {
      from_rows(row.rows, DocumentLimits{});
      ADD_FAILURE() << row.rows[0].first;
    } catch (const Error& error) {
      EXPECT_EQ(error.complaint().code, row.code) << error.what();
      EXPECT_EQ(error.complaint().pointer, row.pointer);
    }
  }
}

TEST(Rows, AListWithAGapIsNone) {
  const Value value = from_rows({{"/list/0", "a"}, {"/list/2", "c"}}, DocumentLimits{});
  EXPECT_EQ(value.find("list")->kind, Value::Kind::object);  // which the reader then refuses, with its place
}

// ---- Options -------------------------------------------------------------------------------------

TEST(Options, OfAComparison) {
  const auto plan = plan_from(small_plan());
  std::vector<Complaint> complaints;
  auto read = [&](const char* text) {
    complaints.clear();
    return read_compare_options(read_json(text, DocumentLimits{}), *plan, DocumentLimits{}, complaints);
  };
  EXPECT_TRUE(read("{}").in_decimal);
  EXPECT_TRUE(read("{}").options.how);
  const auto chosen = read(R"({"arithmetic": "double", "how": false, "routes": ["r"]})");
  EXPECT_TRUE(complaints.empty());
  EXPECT_FALSE(chosen.in_decimal);
  EXPECT_FALSE(chosen.options.how);
  EXPECT_EQ(chosen.options.routes, std::vector<std::size_t>{0});
  read(R"({"routes": ["q"], "arithmetic": "float", "hwo": true})");
  EXPECT_EQ(complaints.size(), 3U);
  at(complaints, "/routes/0");
  at(complaints, "/arithmetic");
  expect_says(at(complaints, "/hwo"), {"how"});
}

}  // namespace
}  // namespace buttonworth::test
