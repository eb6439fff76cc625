#include "cases.hpp"

#include <cstring>
#include <map>

namespace memory {

const std::string& plan_text() {
  static const std::string text = [] {
    Json plan = capi::minimal_plan();
    plan["lot"]["assays"]["As"] = "0.3 %";
    plan["steps"] = Json::parse(R"({
      "shaker": {"kind": "table", "cut": "best",
                 "curve": {"Au": [["10 %", "80 %"], ["40 %", "96 %"]], "As": {"as": "gangue"}}},
      "pan": {"kind": "dry", "to": "0 %", "dust": "0.1 %"},
      "furnace": {"kind": "melt", "to_bar": {"Au": "99 %"},
                  "flux": [{"reagent": "borax", "dose": "0.8 kg/kg"}]}})");
    plan["terms"]["refiner"] = Json::parse(R"({"buys": "bar", "pay": {"Au": {}}})");
    plan["routes"]["melted"] = Json::parse(R"({
      "step": "shaker", "tailings": {"return": {"Au": "50 %"}},
      "concentrate": {"step": "pan",
                      "dried": {"step": "furnace", "bar": {"sell": "refiner"}, "slag": {"keep": true}}}})");
    return plan.dump();
  }();
  return text;
}

namespace {

// ---- Documents: small, with something of everything ------------------------------------------------

const std::string& small_plan() {
  static const std::string text = capi::minimal_plan().dump();
  return text;
}

/// A price that is not sure, and with it which route is the best.
const std::string& unsure_plan() {
  static const std::string text = [] {
    Json plan = capi::minimal_plan();
    plan["prices"]["Au"] = {{"low", "80 USD/g"}, {"high", "120 USD/g"}};
    return plan.dump();
  }();
  return text;
}

/// Three mistakes of different kinds.
const std::string& bad_plan() {
  static const std::string text = [] {
    Json plan = Json::parse(plan_text());
    plan["unknown"] = plan["lot"]["moisture"] = plan["discount"] = 1;
    return plan.dump();
  }();
  return text;
}

/// Exchanged masses and assays, quotes, an advance, and the statement before.
const std::string delivery = R"({
    "format": "buttonworth-delivery/1", "currency": "USD", "id": "L1", "buyer": "smelter", "arrived": "2026-03-09",
    "terms": {"buys": "concentrate", "pay": {"Au": {"share": "95 %", "less": "1 g/t"}},
              "charges": [{"what": "treatment", "rate": "450 USD/t"}],
              "penalties": [{"for": "As", "above": "0.2 %", "each": "0.1 %", "rate": "3 USD/t"}],
              "advance": {"share": "85 %", "after": "7 d", "interest": "9 %/a"}, "final": "45 d",
              "rounding": {"mass": {"step": "1 kg"}, "payable": {"Au": "0.001 ozt"}, "money": "0.01 USD"}},
    "delivered": {"wet_mass": {"seller": "806 kg", "buyer": "805 kg", "limit_relative": "0.2 %"}, "moisture": "11 %"},
    "assays": {"Au": {"seller": ["1840 g/t", "1852 g/t"], "buyer": "1810 g/t", "limit": "30 g/t"}, "As": "0.46 %"},
    "quotes": {"Au": {"unit": "USD/ozt", "days": {"2026-04-01": "2650.10", "2026-04-02": "2655"}}},
    "period": {"Au": {"months_after": 1}},
    "previous": {"format": "buttonworth-statement/1", "advance": "40000.00",
                 "lines": [{"what": "Au value", "amount": "60000.00"}, {"what": "samples", "amount": "-1.00"}]}})";

const std::string month_heading = R"({"format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01",
    "to": "2026-03-31", "list": true, "csv": true,
    "buyers": {"refiner": {"terms": {"buys": "bar", "pay": {"Au": {}}}, "credits": ["Au"],
      "account": {"Au": {"priced": [{"date": "2026-03-04", "mass": "2 ozt", "price": "2600 USD/ozt"}]}}}},
    "on_hand": {"Au": {"opening": "90 ozt"}})";
const std::string delivered = "id,buyer,arrived,gross (ozt),Au (fine)\nB-1,refiner,2026-03-02,100,900\nB-2,";
const std::string misspelt = "id,buyer,arrived,gross (ozt),Au (fine)\nB-1,refinery,2026-03-02,100,900\n";

const std::string returned = R"({"format": "buttonworth-returns/1", "currency": "USD",
    "buyers": {"smelter": {"terms": {"buys": "concentrate", "pay": {"Au": {}}}, "prices": {"Au": "80 USD/g"}}},
    "deliveries": "id,buyer,arrived,wet_mass (kg),Au (g/t)\nK-1,smelter,2026-03-02,100,900\n",
    "returns": "id,Au (g/t),proceeds\nK-1,890,7000\n"})";

// ---- Making cases ----------------------------------------------------------------------------------

using Call = bw_status (*)(bw_context*, const char*, size_t, bw_answer**);
using Job = bw_status (*)(bw_context*, const bw_plan*, const char*, size_t, bw_answer**);
using Fresh = std::function<void(Stage&)>;

void read_plan(Stage& stage, const std::string& text) {
  if (stage.plan != nullptr) return;
  EXPECT_EQ(capi::read(stage.context, text, stage.plan), BW_OK) << bw_error_text(stage.context);
}
/// Reads the plan once: plans do not change.
Fresh with_plan(const std::string& text) {
  return [&text](Stage& stage) { read_plan(stage, text); };
}

Case asking(std::string name, const char* function, Call call, std::string text, bw_status expected = BW_OK) {
  return {std::move(name), function, an_answer, {},
          [call, text = std::move(text)](Stage& s) {
            return call(s.context, text.data(), text.size(), &s.new_answer);
          },
          expected};
}

Case planning(std::string name, const char* function, Job job, const std::string& plan, std::string options,
              bw_status expected = BW_OK) {
  Case made{std::move(name), function, an_answer, with_plan(plan),
            [job, options = std::move(options)](Stage& s) {
              return job(s.context, s.plan, options.data(), options.size(), &s.new_answer);
            },
            expected};
  return made;
}

/// Draws among three threads, of which two are new.
Case on_threads(Case made) {
  made.on_threads = true;
  return made;
}

/// The same with a logger that is told everything.
Case logged(Case made) {
  made.prepare = [before = std::move(made.prepare)](Stage& stage) {
    if (before) before(stage);
    EXPECT_EQ(bw_set_log(stage.context, Stage::count_record, &stage, 0), BW_OK);
  };
  return made;
}

// ---- Cases by kind ---------------------------------------------------------------------------------

void add_settings(std::vector<Case>& all) {
  all.push_back({"context", "bw_context_create", a_context, {},
                 [](Stage& s) { return bw_context_create(&s.new_context); }});
  all.push_back({"set_limit", "bw_set_limit", 0, {}, [](Stage& s) { return bw_set_limit(s.context, "depth", 64); }});
  all.push_back({"set_limit_misspelt", "bw_set_limit", 0, {},
                 [](Stage& s) { return bw_set_limit(s.context, "depths", 64); }, BW_USAGE_NAME});
  all.push_back({"get_limit", "bw_get_limit", a_limit, {},
                 [](Stage& s) { return bw_get_limit(s.context, "depth", &s.limit); }});
  all.push_back({"set_log", "bw_set_log", 0, {},
                 [](Stage& s) { return bw_set_log(s.context, Stage::count_record, &s, 0); }});
  all.push_back({"set_progress", "bw_set_progress", 0, {}, [](Stage& s) {
                   return bw_set_progress(s.context, [](void*, int64_t, int64_t) {}, nullptr);
                 }});
}

bw_status read_rows(Stage& stage, bool as_plan) {
  static const char* const pointers[] = {
      "/format",      "/currency",           "/prices/Au",       "/discount", "/lot/wet_mass", "/lot/assays/Au",
      "/terms/t/buys", "/terms/t/pay/Au/share", "/routes/sold/sell", "/routes/kept/keep"};
  static const char* const values[] = {"buttonworth-plan/1", "USD",         "100 USD/g", "0 %/a", "1 t", "50 g/t",
                                       "concentrate",        "90 %",        "t",         "true"};
  return as_plan ? bw_plan_read_rows(stage.context, pointers, values, std::size(pointers), &stage.new_plan)
                 : bw_read_rows(stage.context, pointers, values, std::size(pointers), &stage.new_answer);
}

Case reading(std::string name, const std::string& text, bw_status expected = BW_OK) {
  return {std::move(name), "bw_plan_read", a_plan, {},
          [&text](Stage& s) { return bw_plan_read(s.context, text.data(), text.size(), &s.new_plan); }, expected};
}

void add_plans(std::vector<Case>& all) {
  all.push_back(reading("plan", plan_text()));
  all.push_back(logged(reading("plan_logged", plan_text())));
  all.push_back(reading("plan_with_mistakes", bad_plan(), BW_DOCUMENT_TYPE));
  all.push_back(logged(reading("plan_with_mistakes_logged", bad_plan(), BW_DOCUMENT_TYPE)));
  all.push_back({"plan_of_rows", "bw_plan_read_rows", a_plan, {}, [](Stage& s) { return read_rows(s, true); }});
  all.push_back({"rows", "bw_read_rows", an_answer, {}, [](Stage& s) { return read_rows(s, false); }});
  all.push_back({"plan_with", "bw_plan_with", a_plan, with_plan(plan_text()), [](Stage& s) {
                   return bw_plan_with(s.context, s.plan, "/prices/Au", "90 USD/g", &s.new_plan);
                 }});
}

void add_comparisons(std::vector<Case>& all) {
  all.push_back(planning("compare", "bw_compare", bw_compare, plan_text(), ""));
  all.push_back(logged(planning("compare_logged", "bw_compare", bw_compare, small_plan(), "")));
  all.push_back(planning("compare_double", "bw_compare", bw_compare, plan_text(), R"({"arithmetic": "double"})"));
  all.push_back(planning("compare_misspelt", "bw_compare", bw_compare, small_plan(), R"({"hows": 1})",
                         BW_USAGE_OPTIONS));
}

const std::string worth_of_price = R"("candidates": [{"of": "/prices/Au", "error": "2 %", "cost": "1 USD"}])";

void add_draws(std::vector<Case>& all) {
  all.push_back(planning("simulate", "bw_simulate", bw_simulate, unsure_plan(), R"({"draws": 256, "keep": true})"));
  all.push_back(on_threads(planning("simulate_on_threads", "bw_simulate", bw_simulate, unsure_plan(),
                                    R"({"draws": 1024, "keep": true, "threads": 3})")));
  all.push_back(planning("worth", "bw_worth", bw_worth, unsure_plan(), R"({"draws": 256, )" + worth_of_price + '}'));
  all.push_back(on_threads(planning("worth_on_threads", "bw_worth", bw_worth, unsure_plan(),
                                    R"({"draws": 1024, "threads": 3, )" + worth_of_price + '}')));
  all.push_back({"answer_draws", "bw_answer_draws", a_size,
                 [](Stage& s) {
                   read_plan(s, unsure_plan());
                   const std::string options = R"({"draws": 256, "keep": true})";
                   EXPECT_EQ(bw_simulate(s.context, s.plan, options.data(), options.size(), s.answer.out()), BW_OK);
                 },
                 [](Stage& s) {
                   return bw_answer_draws(s.context, s.answer, "as it is", nullptr, 0, &s.size);
                 }});
}

/// Three lots, of which one cannot be read, by two routes.
bw_status value_lots(Stage& stage, const std::string& options) {
  static const char* const pointers[] = {"/lot/wet_mass", "/lot/assays/Au"};
  static const double masses[] = {1, -1, 3}, assays[] = {50, 50, 60};
  static const double* const columns[] = {masses, assays};
  static const int64_t strides[] = {1, 1};
  return bw_value_lots(stage.context, stage.plan, options.data(), options.size(), pointers, columns, strides, 2, 3,
                       stage.results.data(), nullptr, stage.results.size(), &stage.new_answer);
}
Case valuing(std::string name, const std::string& plan, std::string options) {
  return {std::move(name), "bw_value_lots", an_answer | numbers, with_plan(plan),
          [options = std::move(options)](Stage& s) { return value_lots(s, options); }};
}

void add_tipping(std::vector<Case>& all) {
  const std::string held = R"("cuts": "held")", of = R"("of": "/prices/Au")";
  all.push_back(valuing("value_lots", unsure_plan(), R"({"draws": 4})"));
  all.push_back(on_threads(valuing("value_lots_on_threads", unsure_plan(), R"({"draws": 4, "threads": 3})")));
  all.push_back(planning("break_even", "bw_break_even", bw_break_even, plan_text(), '{' + of + ',' + held + '}'));
  all.push_back(planning("counter_offers", "bw_counter_offers", bw_counter_offers, plan_text(), '{' + held + '}'));
  all.push_back(planning("forgiving_cut", "bw_forgiving_cut", bw_forgiving_cut, plan_text(), R"({"points": 3})"));
  all.push_back(planning("sensitivity", "bw_sensitivity", bw_sensitivity, plan_text(),
                         R"({"of": ["/prices/Au", "/lot/assays/Au"]})"));
  all.push_back(planning("map", "bw_map", bw_map, plan_text(), R"({"routes": ["as it is", "kept"],
                         "x": {"of": "/prices/Au", "steps": 2}, "y": {"of": "/lot/wet_mass", "steps": 2}})"));
}

/// A fresh answer that was not asked for anything yet: what it holds by pointer is found out at the first time.
void make_answer(Stage& stage) {
  read_plan(stage, small_plan());
  EXPECT_EQ(bw_compare(stage.context, stage.plan, nullptr, 0, stage.answer.out()), BW_OK);
}

void add_answers(std::vector<Case>& all) {
  const auto put = [&all](std::string name, const char* function, unsigned places,
                          std::function<bw_status(Stage&)> call, bw_status expected = BW_OK) {
    all.push_back({std::move(name), function, places, make_answer, std::move(call), expected});
  };
  put("answer_number", "bw_answer_number", a_number,
      [](Stage& s) { return bw_answer_number(s.context, s.answer, "/routes/as it is/net", &s.number); });
  put("answer_number_of_text", "bw_answer_number", a_number,
      [](Stage& s) { return bw_answer_number(s.context, s.answer, "/routes", &s.number); }, BW_USAGE_TYPE);
  put("answer_string", "bw_answer_string", a_buffer | a_size, [](Stage& s) {
    return bw_answer_string(s.context, s.answer, "/best", s.buffer.data(), s.buffer.size(), &s.size);
  });
  put("answer_string_of_nothing", "bw_answer_string", a_buffer | a_size,
      [](Stage& s) {
        return bw_answer_string(s.context, s.answer, "/worst", s.buffer.data(), s.buffer.size(), &s.size);
      },
      BW_USAGE_POINTER);
  put("answer_count", "bw_answer_count", a_size,
      [](Stage& s) { return bw_answer_count(s.context, s.answer, "/routes", &s.size); });
  put("answer_name", "bw_answer_name", a_buffer | a_size, [](Stage& s) {
    return bw_answer_name(s.context, s.answer, "/routes", 1, s.buffer.data(), s.buffer.size(), &s.size);
  });
}

void open_month(Stage& stage) {
  const std::string heading = month_heading + '}';
  EXPECT_EQ(bw_month_open(stage.context, heading.data(), heading.size(), &stage.open), BW_OK);
}
bw_status take_piece(Stage& stage, const std::string& piece) {
  return bw_month_take(stage.context, stage.open, "deliveries", piece.data(), piece.size());
}

void add_months(std::vector<Case>& all) {
  all.push_back(asking("book", "bw_book", bw_book, month_heading + R"(,
    "deliveries": "id,buyer,arrived,gross (ozt),Au (fine)\nB-1,refiner,2026-03-02,100,900\n",
    "received": [{"date": "2026-03-09", "buyer": "refiner", "amount": "100 USD"}]})"));
  all.push_back({"month_open", "bw_month_open", a_month, {}, [text = month_heading + '}'](Stage& s) {
                   return bw_month_open(s.context, text.data(), text.size(), &s.new_month);
                 }});
  all.push_back({"month_take", "bw_month_take", 0, open_month, [](Stage& s) { return take_piece(s, delivered); }});
  all.push_back({"month_take_misspelt", "bw_month_take", 0, open_month,
                 [](Stage& s) { return take_piece(s, misspelt); }, BW_DOCUMENT_NAME});
  all.push_back({"month_close", "bw_month_close", an_answer,
                 [](Stage& s) {
                   open_month(s);
                   EXPECT_EQ(take_piece(s, delivered + "refiner,2026-03-03,50,850\n"), BW_OK);
                 },
                 [](Stage& s) { return bw_month_close(s.context, s.open, &s.new_answer); }});
}

void add_arrays(std::vector<Case>& all) {
  all.push_back({"convert_array", "bw_convert_array", numbers, {}, [](Stage& s) {
                   static const double pounds[] = {1, 2, 3, 4, 5, 6};
                   return bw_convert_array(s.context, pounds, 1, 6, "lb", "g", s.results.data(), 1);
                 }});
  all.push_back({"convert_array_unknown_unit", "bw_convert_array", numbers, {},
                 [](Stage& s) {
                   static const double pounds[] = {1, 2, 3, 4, 5, 6};
                   return bw_convert_array(s.context, pounds, 1, 6, "lbs.", "g", s.results.data(), 1);
                 },
                 BW_DOCUMENT_UNIT});
  static const double feed = 0.008, tailings = 0.0015, good = 0.25;
  static const double mixed[] = {0.25, 0.2, -1, 0.3, -1, 0.1};
  all.push_back({"formula", "bw_formula", a_number, {}, [](Stage& s) {
                   static const double grades[] = {feed, good, tailings};
                   return bw_formula(s.context, "two_product_recovery", grades, 3, &s.number);
                 }});
  all.push_back({"formula_misspelt", "bw_formula", a_number, {},
                 [](Stage& s) { return bw_formula(s.context, "two_product", &feed, 1, &s.number); }, BW_USAGE_NAME});
  all.push_back({"formula_array", "bw_formula_array", rows, {}, [](Stage& s) {
                   static const double* const columns[] = {&feed, &good, &tailings};
                   static const int64_t strides[] = {0, 0, 0};
                   return bw_formula_array(s.context, "two_product_recovery", columns, strides, 3, 6,
                                           s.results.data(), 1);
                 }});
  all.push_back({"formula_array_with_bad_rows", "bw_formula_array", rows, {},
                 [](Stage& s) {
                   static const double* const columns[] = {&feed, mixed, &tailings};
                   static const int64_t strides[] = {0, 1, 0};
                   return bw_formula_array(s.context, "two_product_recovery", columns, strides, 3, 6,
                                           s.results.data(), 1);
                 },
                 BW_DOCUMENT_RANGE});
}

// ---- The vectors -----------------------------------------------------------------------------------

const std::map<std::string, std::pair<const char*, Call>>& request_calls() {
  static const std::map<std::string, std::pair<const char*, Call>> all{
      {"convert", {"bw_convert", bw_convert}},
      {"settle", {"bw_settle", bw_settle}},
      {"reconcile", {"bw_reconcile", bw_reconcile}},
      {"book", {"bw_book", bw_book}},
      {"dispute", {"bw_dispute", bw_dispute}},
      {"metal_call", {"bw_metal_call", bw_metal_call}},
#ifdef BUTTONWORTH_SCHEDULE
      {"allocate", {"bw_allocate", bw_allocate}},
#endif
      {"bench", {"bw_bench", bw_bench}}};
  return all;
}
const std::map<std::string, std::pair<const char*, Job>>& plan_calls() {
  static const std::map<std::string, std::pair<const char*, Job>> all{
      {"compare", {"bw_compare", bw_compare}},
      {"simulate", {"bw_simulate", bw_simulate}},
      {"worth", {"bw_worth", bw_worth}},
      {"break_even", {"bw_break_even", bw_break_even}},
      {"counter_offers", {"bw_counter_offers", bw_counter_offers}},
      {"forgiving_cut", {"bw_forgiving_cut", bw_forgiving_cut}},
      {"sensitivity", {"bw_sensitivity", bw_sensitivity}},
      {"map", {"bw_map", bw_map}}};
  return all;
}

/// Draws are many alike: few of them will do here.
std::string few_draws(const Json& vector) {
  Json options = vector.value("options", Json::object());
  const std::string call = vector.at("call");
  if (options.is_object() && (call == "simulate" || call == "worth")) options["draws"] = 256;
  return options.empty() ? "" : options.dump();
}

bw_status read_and_call(Stage& stage, Job job, const std::string& text, const std::string& options) {
  bw_plan* plan = nullptr;
  bw_status status = bw_plan_read(stage.context, text.data(), text.size(), &plan);
  if (status == BW_OK) status = job(stage.context, plan, options.data(), options.size(), &stage.new_answer);
  else stage.new_answer = nullptr;
  bw_plan_destroy(&plan);
  return status;
}

/// A vector as a case; what it comes to is found out by calling it.
Case of_vector(const Json& vector) {
  const std::string call = vector.at("call"), text = vectors::request_text(vector), name = vector.at("id");
  if (const auto found = request_calls().find(call); found != request_calls().end())
    return asking(name, found->second.first, found->second.second, text);
  const auto [function, job] = plan_calls().at(call);
  return {name, function, an_answer, {}, [job = job, text, options = few_draws(vector)](Stage& s) {
            return read_and_call(s, job, text, options);
          }};
}

bool is_case(const Json& vector) {
  return vectors::is_there(vector) &&
         (request_calls().contains(vector.at("call")) || plan_calls().contains(vector.at("call")));
}

/// The smallest good vector of every request and format.
void add_smallest_vectors(std::vector<Case>& all) {
  std::map<std::string, const Json*> smallest;
  for (const Json& vector : vectors::core().at("vectors")) {
    if (!is_case(vector) || vectors::is_bad(vector) || vector.contains("text")) continue;
    if (!request_calls().contains(vector.at("call"))) continue;
    const Json* &kept = smallest[vector.at("call").get<std::string>() + vector.at("request").value("format", "")];
    if (kept == nullptr || vector.at("request").dump().size() < kept->at("request").dump().size()) kept = &vector;
  }
  for (const auto& [kind, vector] : smallest) all.push_back(of_vector(*vector));
}

}  // namespace

const std::vector<Case>& cases() {
  static const std::vector<Case> made = [] {
    std::vector<Case> all;
    for (const auto add : {add_settings, add_plans, add_comparisons, add_draws, add_tipping, add_answers,
                           add_months, add_arrays, add_smallest_vectors})
      add(all);
    all.push_back(asking("settle_everything", "bw_settle", bw_settle, delivery));
    all.push_back(asking("settle_mistaken", "bw_settle", bw_settle, R"({"format": "buttonworth-delivery/1"})",
                         BW_DOCUMENT_MISSING_FIELD));
    all.push_back(asking("reconcile_tables", "bw_reconcile", bw_reconcile, returned));
    all.push_back({"formulas", "bw_formulas", an_answer, {},
                   [](Stage& s) { return bw_formulas(s.context, &s.new_answer); }});
    all.push_back({"schema", "bw_schema", an_answer, {},
                   [](Stage& s) { return bw_schema(s.context, "charge", &s.new_answer); }});
    all.push_back({"schema_misspelt", "bw_schema", an_answer, {},
                   [](Stage& s) { return bw_schema(s.context, "charges", &s.new_answer); }, BW_USAGE_NAME});
    return all;
  }();
  return made;
}

std::vector<Case> vector_cases() {
  std::vector<Case> all;
  for (const Json& vector : vectors::core().at("vectors"))
    if (is_case(vector)) all.push_back(of_vector(vector));
  return all;
}

}  // namespace memory
