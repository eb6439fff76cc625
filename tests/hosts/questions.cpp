#include "questions.hpp"

#include <algorithm>
#include <cstring>
#include <fstream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace hosts {
namespace {

using Json = nlohmann::ordered_json;
using RequestCall = bw_status (*)(bw_context*, const char*, size_t, bw_answer**) noexcept;
using PlanCall = bw_status (*)(bw_context*, const bw_plan*, const char*, size_t, bw_answer**) noexcept;

std::string file_text(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw std::runtime_error("there is no file " + path);
  return {std::istreambuf_iterator<char>(file), {}};
}
std::string demonstration(const std::string& name) { return file_text(BUTTONWORTH_DEMO "/" + name); }

// ---- Calls -----------------------------------------------------------------------------------------

/// One question under way: what is made goes away with it, what is told is gathered.
class Asking {
 public:
  Asking(const Library& library, bw_context* context, const Question& question)
      : is_(library), context_(context), question_(question) {}
  ~Asking() {
    is_.bw_answer_destroy(&answer_);
    is_.bw_plan_destroy(&plan_);
  }
  Asking(const Asking&) = delete;
  Asking& operator=(const Asking&) = delete;

  std::string all() {
    tell(work());
    return std::move(told_);
  }

 private:
  bw_status work();
  bw_status ask_rows();
  bw_status ask_with();
  bw_status ask_month();
  bw_status ask_formula();
  bw_status ask_numbers();
  bw_status value_lots();
  bw_status on_plan(PlanCall call) {
    const bw_status status = is_.bw_plan_read(context_, text().data(), text().size(), &plan_);
    return status == BW_OK ? call(context_, plan_, options().data(), options().size(), &answer_) : status;
  }

  void tell(bw_status status);
  void add(const void* bytes, std::size_t size) { told_.append(static_cast<const char*>(bytes), size); }
  void add(double number) { add(&number, sizeof number); }  // every bit

  const std::string& text() const { return question_.text; }
  const std::string& options() const { return question_.options; }

  const Library& is_;
  bw_context* const context_;
  const Question& question_;
  bw_plan* plan_ = nullptr;
  bw_answer* answer_ = nullptr;
  std::string told_;
};

void Asking::tell(bw_status status) {
  told_ += is_.bw_status_name(status);
  std::size_t size = 0;
  if (const char* text = is_.bw_answer_text(answer_, &size)) told_.append("\n").append(text, size);
  if (const char* text = is_.bw_plan_text(plan_, &size)) told_.append("\n").append(text, size);
  told_.append("\n").append(is_.bw_error_text(context_)).append("\n");
  const char* list = is_.bw_error_list(context_, &size);
  told_.append(list, size);
  for (const char* pointer : {"/net", "/proceeds", "/routes/as it is/net", "/present_value", "/draws"}) {
    double number = 0;
    is_.bw_answer_number(context_, answer_, pointer, &number);
    add(number);
  }
}

RequestCall request_call(const Library& is, const std::string& name) {
  const std::map<std::string, RequestCall> calls{
      {"convert", is.bw_convert},       {"settle", is.bw_settle},
      {"reconcile", is.bw_reconcile},   {"book", is.bw_book},
      {"dispute", is.bw_dispute},       {"bench", is.bw_bench},
      {"metal_call", is.bw_metal_call}, {"allocate", is.bw_allocate},
  };
  const auto found = calls.find(name);
  return found != calls.end() ? found->second : nullptr;
}

PlanCall plan_call(const Library& is, const std::string& name) {
  const std::map<std::string, PlanCall> calls{{"compare", is.bw_compare},
                                              {"simulate", is.bw_simulate},
                                              {"worth", is.bw_worth},
                                              {"break_even", is.bw_break_even},
                                              {"counter_offers", is.bw_counter_offers},
                                              {"forgiving_cut", is.bw_forgiving_cut},
                                              {"sensitivity", is.bw_sensitivity},
                                              {"map", is.bw_map}};
  const auto found = calls.find(name);
  return found != calls.end() ? found->second : nullptr;
}

bw_status Asking::work() {
  const std::string& call = question_.call;
  if (const RequestCall request = request_call(is_, call))
    return request(context_, text().data(), text().size(), &answer_);
  if (const PlanCall job = plan_call(is_, call)) return on_plan(job);
  if (call == "lot_values") return value_lots();
  if (call == "rows") return ask_rows();
  if (call == "with") return ask_with();
  if (call == "month") return ask_month();
  if (call == "formula") return ask_formula();
  if (call == "numbers") return ask_numbers();
  if (call == "formulas") return is_.bw_formulas(context_, &answer_);
  if (call == "schema") return is_.bw_schema(context_, text().c_str(), &answer_);
  throw std::runtime_error("there is no call " + call);
}

/// Lots enough for more than one block, with room for all their figures.
bw_status Asking::value_lots() {
  constexpr std::size_t rows = 300, room = rows * 16;
  std::vector<double> masses(rows), values(room), sds(room);
  for (std::size_t i = 0; i < rows; ++i) masses[i] = 100 + 2.5 * static_cast<double>(i);
  const char* const pointers[] = {"/prices/Au"};
  const double* const columns[] = {masses.data()};
  const int64_t strides[] = {1};
  bw_status status = is_.bw_plan_read(context_, text().data(), text().size(), &plan_);
  if (status != BW_OK) return status;
  status = is_.bw_value_lots(context_, plan_, options().data(), options().size(), pointers, columns, strides,
                             1, rows, values.data(), sds.data(), room, &answer_);
  add(values.data(), room * sizeof(double));
  add(sds.data(), room * sizeof(double));
  return status;
}

/// Rows of a pointer, a tab and a value.
bw_status Asking::ask_rows() {
  std::vector<std::string> cells;
  for (std::size_t from = 0; from < text().size();) {
    const std::size_t end = std::min(text().find('\n', from), text().size());
    const std::string line = text().substr(from, end - from);
    const std::size_t tab = line.find('\t');
    cells.push_back(line.substr(0, tab));
    cells.push_back(line.substr(tab + 1));
    from = end + 1;
  }
  std::vector<const char*> pointers, values;
  for (std::size_t i = 0; i < cells.size(); i += 2) {
    pointers.push_back(cells[i].c_str());
    values.push_back(cells[i + 1].c_str());
  }
  is_.bw_read_rows(context_, pointers.data(), values.data(), pointers.size(), &answer_);
  return is_.bw_plan_read_rows(context_, pointers.data(), values.data(), pointers.size(), &plan_);
}

/// The options are a pointer, a tab and a value.
bw_status Asking::ask_with() {
  const std::size_t tab = options().find('\t');
  bw_plan* first = nullptr;
  bw_status status = is_.bw_plan_read(context_, text().data(), text().size(), &first);
  if (status == BW_OK)
    status = is_.bw_plan_with(context_, first, options().substr(0, tab).c_str(),
                              options().substr(tab + 1).c_str(), &plan_);
  is_.bw_plan_destroy(&first);
  return status;
}

/// A month whose deliveries, the options, come in small pieces.
bw_status Asking::ask_month() {
  bw_month* month = nullptr;
  bw_status status = is_.bw_month_open(context_, text().data(), text().size(), &month);
  for (std::size_t at = 0; at < options().size() && status == BW_OK; at += 1000) {
    const std::string piece = options().substr(at, 1000);
    status = is_.bw_month_take(context_, month, "deliveries", piece.data(), piece.size());
  }
  if (status == BW_OK) status = is_.bw_month_close(context_, month, &answer_);
  is_.bw_month_destroy(&month);
  return status;
}

bw_status Asking::ask_formula() {
  std::vector<double> arguments(options().size() / sizeof(double));
  std::memcpy(arguments.data(), options().data(), options().size());
  double result = 0;
  const bw_status status =
      is_.bw_formula(context_, text().c_str(), arguments.data(), arguments.size(), &result);
  add(result);
  return status;
}

/// Arrays of plain numbers, between the least and the greatest there are.
bw_status Asking::ask_numbers() {
  const double numbers[] = {1, 1.0 / 3, 5e-324, 2.2e-308, 1e308, -0.0, 12345.6789};
  constexpr std::size_t count = sizeof numbers / sizeof *numbers;
  double results[count];
  bw_status status = is_.bw_convert_array(context_, numbers, 1, count, "lb", "g", results, 1);
  add(results, sizeof results);
  const double* const columns[] = {numbers, numbers + 1, numbers};
  const int64_t strides[] = {1, 0, 1};
  is_.bw_formula_array(context_, "two_product_recovery", columns, strides, 3, count, results, 1);
  add(results, sizeof results);
  return status;
}

// ---- Questions -------------------------------------------------------------------------------------

std::string formula_arguments(const Json& request) {
  const auto arguments = request.at("arguments").get<std::vector<double>>();
  return {reinterpret_cast<const char*>(arguments.data()), arguments.size() * sizeof(double)};
}

Question of_vector(const Json& vector) {
  Question question{vector.at("id"), vector.at("call"), "", ""};
  if (question.call == "formula") {
    question.text = vector.at("request").at("name");
    question.options = formula_arguments(vector.at("request"));
    return question;
  }
  question.text =
      vector.contains("text") ? vector.at("text").get<std::string>() : vector.at("request").dump();
  if (vector.contains("options")) question.options = vector.at("options").dump();
  return question;
}

/// What examples/demo/sure.json asks, with few enough draws and points.
void add_sure_questions(std::vector<Question>& list) {
  const std::string plan = demonstration("plan.json");
  const Json sure = Json::parse(demonstration("sure.json"));
  Json draws = sure.at("simulate");
  draws.update({{"draws", 8192}, {"threads", 4}, {"keep", true}});
  Json worth = draws;
  worth.erase("keep");
  worth["candidates"] = sure.at("worth").at("candidates");
  Json forgiving = sure.at("forgiving_cut");
  forgiving["points"] = 33;
  list.insert(list.end(), {{"demo-simulate", "simulate", plan, draws.dump()},
                           {"demo-worth", "worth", plan, worth.dump()},
                           {"demo-break-even", "break_even", plan, sure.at("break_even").at(0).dump()},
                           {"demo-counter-offers", "counter_offers", plan, ""},
                           {"demo-forgiving-cut", "forgiving_cut", plan, forgiving.dump()},
                           {"demo-sensitivity", "sensitivity", plan, ""}});
  Json map = sure.at("maps").at(0);
  for (const char* axis : {"x", "y"}) map[axis]["steps"] = 9;
  list.push_back({"demo-map", "map", plan, map.dump()});
}

void add_request_questions(std::vector<Question>& list) {
  for (const char* name : {"settled", "disputed", "bar"})
    list.push_back({std::string("demo-") + name, "settle",
                    demonstration(std::string("delivery-") + name + ".json"), ""});
  for (const char* name : {"1-sampling", "2-screen-assay", "3-run-sheet-17", "3-run-sheet-18", "4-balance",
                           "5-table-test", "6-flux", "7-bar", "8-lot-size"})
    list.push_back(
        {std::string("demo-") + name, "bench", demonstration(std::string("bench/") + name + ".json"), ""});
  Json month = Json::parse(demonstration("month/month.json"));
  list.push_back({"demo-month", "month", month.dump(), demonstration("month/deliveries.csv")});
  month["deliveries"] = demonstration("month/deliveries.csv");
  month["received"] = demonstration("month/received.csv");
  list.push_back({"demo-book", "book", month.dump(), ""});
}

std::vector<Question> make_demonstrations() {
  const std::string plan = demonstration("plan.json"), small = demonstration("plan-small.json");
  std::vector<Question> list{
      {"demo-compare", "compare", plan, ""},
      {"demo-doubles", "compare", plan, R"({"arithmetic": "double"})"},
      {"demo-small", "compare", small, ""},
      {"demo-with", "with", plan, "/prices/Au\t3000.5 USD/ozt"},
      {"demo-lots", "lot_values", small, R"({"threads": 3})"},
      {"demo-lots-drawn", "lot_values", plan, R"({"draws": 64, "threads": 3})"},
      {"numbers", "numbers", "", ""},
      {"formulas", "formulas", "", ""},
  };
  for (const char* name : {"plan", "schedule", "simulation", "none such"})
    list.push_back({std::string("schema ") + name, "schema", name, ""});
  add_sure_questions(list);
  add_request_questions(list);
  return list;
}

Json small_plan() {
  return Json::parse(R"({
    "format": "buttonworth-plan/1", "currency": "USD", "discount": "7 %/a",
    "prices": {"Au": "1234.5678 USD/g"},
    "lot": {"wet_mass": "1234567.5 kg", "assays": {"Au": "50.25 g/t"}},
    "terms": {"smelter": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}}, "final": "11 d"}},
    "routes": {"as it is": {"sell": "smelter"}, "kept": {"keep": true}}})");
}

/// Umlauts, a dotted and a dotless i, Cyrillic, Greek, Arabic digits and a name beyond 16 bits.
std::vector<Question> make_foreign() {
  // clang-format off
  const std::vector<std::string> names{
      "Grüße aus Köln", "Iıİi ILIK ılık", "золото ВЯТКА", "ΣΊΣΥΦΟΣ σίσυφος ς", "٣٫٥ ذهب",
      "金鉱石 \U0001F9C8", "naïve\u00a0coût", "ﬁ ẞ ß"};
  // clang-format on
  std::vector<Question> list;
  for (const std::string& name : names) {
    Json plan = small_plan();
    plan["terms"][name] = plan["terms"]["smelter"];
    plan["routes"][name] = {{"sell", name}};
    list.push_back({"name " + name, "compare", plan.dump(), ""});
    list.push_back({"row " + name, "rows", "/note\t" + name + "\n/" + name + "\t12.5\n", ""});
    plan["routes"]["none"] = {{"sell", name + "x"}};
    plan[name] = 1.5;
    plan["lot"]["wet_mass"] = "1 " + name;
    plan["discount"] = 1234.5;
    list.push_back({"mistake " + name, "compare", plan.dump(), ""});
    list.push_back(
        {"quantity " + name, "convert", Json{{"quantity", "1,5 " + name}, {"to", name}}.dump(), ""});
  }
  for (const char* quantity :
       {"1,5 kg", "1.5 kg", "1.234,5 kg", "1'234.5 kg", "1e-7 KG", "1.5E3 lB", "1 ınch"})
    list.push_back({std::string("quantity ") + quantity, "convert",
                    Json{{"quantity", quantity}, {"to", "g"}}.dump(), ""});
  for (const char* text : {"{\"quantity\": 1.5e-7, \"to\": \"g\"}", "{\"a\": -1234567.25}", "[1.5, 2,5]",
                           "{\"quantity\": \"1 kg\", \"to\": 1e308}"})
    list.push_back({std::string("numbers ") + text, "convert", text, ""});
  return list;
}

std::string nested(int depth, const std::string& open, const std::string& inner, const std::string& close) {
  std::string text;
  for (int i = 0; i < depth; ++i) text += open;
  text += inner;
  for (int i = 0; i < depth; ++i) text += close;
  return text;
}

/// A route that goes through that many tables, one after the other.
std::string long_route(int steps) {
  Json plan = small_plan(), route = {{"sell", "smelter"}};
  plan["steps"]["shaker"] =
      Json::parse(R"({"kind": "table", "curve": {"Au": {"odds": "90"}}, "cut": {"pull": "50 %"}})");
  for (int i = 0; i < steps; ++i)
    route = {{"step", "shaker"}, {"concentrate", route}, {"tailings", {{"keep", true}}}};
  plan["routes"] = {{"long", route}};
  return plan.dump();
}

std::vector<Question> make_deep() {
  std::vector<Question> list;
  for (int depth : {512, 513, 100'000}) {
    const std::string name = std::to_string(depth) + " deep ";
    const std::string lists = nested(depth, "[", "1", "]"), objects = nested(depth, "{\"a\":", "1", "}");
    for (const char* call : {"compare", "settle", "bench", "book", "allocate"}) {
      list.push_back({name + "lists " + call, call, lists, ""});
      list.push_back({name + "objects " + call, call, objects, ""});
    }
    const std::string within = nested(depth - 2, "[", "1", "]");
    list.push_back({name + "within", "compare", "{\"lot\": {\"a\": " + within + "}}", ""});
    list.push_back({name + "rows", "rows", nested(depth - 1, "/a", "", "") + "\t1\n", ""});
    list.push_back({name + "with", "with", small_plan().dump(), "/lot\t" + within});
    list.push_back({name + "options", "simulate", small_plan().dump(), objects});
  }
  for (const char* call : {"compare", "simulate", "sensitivity"})
    for (int steps : {62, 63, 64})
      list.push_back({std::to_string(steps) + " steps " + call, call, long_route(steps), ""});
  return list;
}

}  // namespace

const std::vector<Question>& vector_questions() {
  static const std::vector<Question> list = [] {
    std::vector<Question> made;
    const Json file = Json::parse(file_text(BUTTONWORTH_VECTORS "/core.json"));
    for (const Json& vector : file.at("vectors")) made.push_back(of_vector(vector));
    return made;
  }();
  return list;
}
const std::vector<Question>& demonstration_questions() {
  static const std::vector<Question> list = make_demonstrations();
  return list;
}
const std::vector<Question>& foreign_questions() {
  static const std::vector<Question> list = make_foreign();
  return list;
}
const std::vector<Question>& deep_questions() {
  static const std::vector<Question> list = make_deep();
  return list;
}

const Question& demonstration_month_of_lots() {
  static const Question made = [] {
    Json month = Json::parse(demonstration("lots.json"));
    month["time"] = "0.1 min";
    return Question{"demo-month-of-lots", "allocate", month.dump(), ""};
  }();
  return made;
}

std::vector<Question> all_questions() {
  std::vector<Question> all;
  for (const auto* list : {&foreign_questions(), &vector_questions(), &demonstration_questions()})
    all.insert(all.end(), list->begin(), list->end());
  return all;
}

std::string answer(const Library& library, bw_context* context, const Question& question) {
  return Asking(library, context, question).all();
}

std::string answer(const Library& library, const Question& question) {
  bw_context* context = nullptr;
  library.bw_context_create(&context);
  library.bw_set_limit(context, "depth", 512);
  std::string told = answer(library, context, question);
  library.bw_context_destroy(&context);
  return told;
}

}  // namespace hosts
