// The JSON Schemas and the reader come from one table of fields, and must agree: what the schema
// refuses the reader refuses, and what is wrong in a document's structure both refuse.

#include <filesystem>
#include <functional>
#include <map>
#include <set>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include "buttonworth.hpp"
#include "c_calls.hpp"

namespace vectors {
namespace {

using Adapter = valijson::adapters::NlohmannJsonAdapter;
using Pointer = Json::json_pointer;

nlohmann::json plain(const Json& document) { return nlohmann::json::parse(document.dump()); }

class Schema {
 public:
  explicit Schema(const char* name) {
    const Context context = make_context();
    bw_answer* answer = nullptr;
    EXPECT_EQ(bw_schema(context.get(), name, &answer), BW_OK);
    text_ = Json::parse(bw_answer_text(answer, nullptr));
    bw_answer_destroy(&answer);
    const nlohmann::json document = plain(text_);
    valijson::SchemaParser(valijson::SchemaParser::kDraft7).populateSchema(Adapter(document), schema_);
  }
  bool accepts(const Json& document) { return check(document, nullptr); }
  /// What the schema has against a document, for the message of a test.
  std::string objections(const Json& document) {
    valijson::ValidationResults results;
    check(document, &results);
    std::string said;
    valijson::ValidationResults::Error error;
    while (results.popError(error)) {
      for (const std::string& step : error.context) said += step;
      said += ": " + error.description + '\n';
    }
    return said.substr(0, 2000);
  }
  const Json& text() const { return text_; }

 private:
  bool check(const Json& document, valijson::ValidationResults* results) {
    const nlohmann::json target = plain(document);
    return validator_.validate(schema_, Adapter(target), results);
  }
  Json text_;
  valijson::Schema schema_;
  valijson::Validator validator_{valijson::Validator::kStrongTypes};
};

Schema& plan_schema() {
  static Schema schema("plan");
  return schema;
}
Schema& comparison_schema() {
  static Schema schema("comparison");
  return schema;
}
Schema& options_schema() {
  static Schema schema("options");
  return schema;
}
Schema& delivery_schema() {
  static Schema schema("delivery");
  return schema;
}
Schema& return_schema() {
  static Schema schema("return");
  return schema;
}
Schema& reconciliation_schema() {
  static Schema schema("reconciliation");
  return schema;
}
Schema& dispute_schema() {
  static Schema schema("dispute");
  return schema;
}
Schema& contest_schema() {
  static Schema schema("contest");
  return schema;
}
Schema& call_schema() {
  static Schema schema("call");
  return schema;
}
Schema& accounted_schema() {
  static Schema schema("accounted");
  return schema;
}
struct JobSchemas {
  explicit JobSchemas(const std::string& name)
      : options((name + "-options").c_str()), answer(name == "simulate" ? "simulation" : name.c_str()) {}
  Schema options, answer;
};
/// Of a call that works on a plan, by its name in the vectors.
JobSchemas& job_schemas(std::string call) {
  static std::map<std::string, JobSchemas> made;
  std::replace(call.begin(), call.end(), '_', '-');
  return made.try_emplace(call, call).first->second;
}
struct BenchSchemas {
  BenchSchemas(const char* of_request, const char* of_answer) : request(of_request), answer(of_answer) {}
  Schema request, answer;
};
/// Of a request to the bench, by its format.
BenchSchemas& bench_schemas(const Json& request) {
  static const std::map<std::string, std::pair<const char*, const char*>> names{
      {"sampling", {"sampling", "sampling-error"}},
      {"screen-assay", {"screen-assay", "screened-grade"}},
      {"run-sheet", {"run-sheet", "lot"}},
      {"balance", {"balance", "balanced"}},
      {"table-test", {"table-test", "fitted-curve"}},
      {"charge", {"charge", "flux"}},
      {"bar", {"bar", "bar-check"}},
      {"lot-size", {"lot-size", "waiting"}}};
  static std::map<std::string, BenchSchemas> made;
  const auto format = request.at("format").get<std::string>();
  const std::string kind = format.substr(12, format.size() - 14);  // buttonworth-…/1
  const auto& [of_request, of_answer] = names.at(kind);
  return made.try_emplace(kind, of_request, of_answer).first->second;
}
Schema& returns_schema() {
  static Schema schema("returns");
  return schema;
}
Schema& reconciliations_schema() {
  static Schema schema("reconciliations");
  return schema;
}
Schema& month_schema() {
  static Schema schema("month");
  return schema;
}
Schema& book_schema() {
  static Schema schema("book");
  return schema;
}
Schema& allocation_schema() {
  static Schema schema("allocation");
  return schema;
}
Schema& schedule_schema() {
  static Schema schema("schedule");
  return schema;
}
Schema& statement_schema() {
  static Schema schema("statement");
  return schema;
}

// ---- Good documents --------------------------------------------------------------------------

void expect_valid(Schema& schema, const Json& document, const std::string& what) {
  EXPECT_TRUE(schema.accepts(document)) << what << '\n' << schema.objections(document);
}

void expect_valid_answers(const Json& request, Json options, const std::string& what) {
  for (const char* arithmetic : {"decimal", "double"}) {
    options["arithmetic"] = arithmetic;
    const Outcome result = compare(request.dump(), options);
    ASSERT_EQ(result.status, BW_OK) << what << result.errors.dump(1);
    expect_valid(comparison_schema(), result.answer, what + " in " + arithmetic);
    EXPECT_NE(read_only(result.text).status, BW_DOCUMENT_REPEATED)
        << what << ": a name stands twice in the answer";
  }
}

TEST(Schema, accepts_good_vectors_and_their_answers) {
  int plans = 0;
  for (const Json& vector : core().at("vectors")) {
    if (is_bad(vector) || vector.at("call") != "compare") continue;
    const std::string id = vector.at("id");
    expect_valid(plan_schema(), vector.at("request"), id);
    if (vector.contains("options")) expect_valid(options_schema(), vector.at("options"), id);
    expect_valid_answers(vector.at("request"), vector.value("options", Json::object()), id);
    ++plans;
  }
  EXPECT_GE(plans, 150);
}

void expect_valid_delivery(const Json& delivery, const std::string& what) {
  expect_valid(delivery_schema(), delivery, what);
  const Outcome result = ask(bw_settle, delivery.dump());
  ASSERT_EQ(result.status, BW_OK) << what << result.errors.dump(1);
  expect_valid(statement_schema(), result.answer, what);
  EXPECT_NE(read_only(result.text).status, BW_DOCUMENT_REPEATED) << what << ": a name stands twice";
}

TEST(Schema, accepts_good_deliveries_and_their_statements) {
  int deliveries = 0;
  for (const Json& vector : core().at("vectors")) {
    if (is_bad(vector) || vector.at("call") != "settle") continue;
    expect_valid_delivery(vector.at("request"), vector.at("id"));
    ++deliveries;
  }
  EXPECT_GE(deliveries, 40);
}

TEST(Schema, accepts_good_months_and_many_returns) {
  int months = 0, returns = 0;
  for (const Json& vector : core().at("vectors")) {
    if (is_bad(vector)) continue;
    const std::string id = vector.at("id");
    if (vector.at("call") == "book") {
      expect_valid(month_schema(), vector.at("request"), id);
      expect_valid(book_schema(), ask(bw_book, request_text(vector)).answer, id);
      ++months;
    } else if (vector.contains("request") &&
               vector.at("request").value("format", "") == "buttonworth-returns/1") {
      expect_valid(returns_schema(), vector.at("request"), id);
      expect_valid(reconciliations_schema(), ask(bw_reconcile, request_text(vector)).answer, id);
      ++returns;
    }
  }
  EXPECT_GE(months, 4);
  EXPECT_GE(returns, 2);
}

TEST(Schema, accepts_good_requests_to_the_bench_and_their_answers) {
  std::map<std::string, int> seen;
  for (const Json& vector : core().at("vectors")) {
    if (is_bad(vector) || vector.at("call") != "bench") continue;
    const Json& request = vector.at("request");
    expect_valid(bench_schemas(request).request, request, vector.at("id"));
    const Outcome result = ask(bw_bench, request_text(vector));
    expect_valid(bench_schemas(request).answer, result.answer, vector.at("id"));
    EXPECT_NE(read_only(result.text).status, BW_DOCUMENT_REPEATED)
        << vector.at("id") << ": a name stands twice";
    ++seen[request.at("format")];
  }
  EXPECT_EQ(seen.size(), 8U) << "every kind of request has vectors";
}

TEST(Schema, accepts_good_months_of_lots) {
  int requests = 0;
  for (const Json& vector : core().at("vectors")) {
    if (is_bad(vector) || vector.at("call") != "allocate") continue;
    expect_valid(allocation_schema(), vector.at("request"), vector.at("id"));
    ++requests;
    if (!is_there(vector)) continue;
    const Outcome result = ask(request_call("allocate"), request_text(vector));
    expect_valid(schedule_schema(), result.answer, vector.at("id"));
    EXPECT_NE(read_only(result.text).status, BW_DOCUMENT_REPEATED)
        << vector.at("id") << ": a name stands twice";
  }
  EXPECT_GE(requests, 10);
}

void expect_valid_job(const std::string& call, const std::string& plan, const Json& options,
                      const std::string& what) {
  if (!options.is_null()) expect_valid(job_schemas(call).options, options, what);
  const Outcome result = work_plan(plan_call(call), plan, options);
  ASSERT_EQ(result.status, BW_OK) << what << result.errors.dump(1);
  expect_valid(job_schemas(call).answer, result.answer, what);
  EXPECT_NE(read_only(result.text).status, BW_DOCUMENT_REPEATED) << what << ": a name stands twice";
}

TEST(Schema, accepts_good_jobs_on_plans_and_their_answers) {
  std::map<std::string, int> seen;
  for (const Json& vector : core().at("vectors")) {
    const std::string call = vector.at("call");
    if (is_bad(vector) || plan_call(call) == nullptr) continue;
    expect_valid_job(call, request_text(vector), vector.value("options", Json()), vector.at("id"));
    ++seen[call];
  }
  EXPECT_GE(seen.size(), 7U) << "every such call has vectors";
}

TEST(Schema, accepts_jobs_on_the_demonstration_and_the_plan_with_every_field) {
  const Json of_price{{"of", "/prices/Au"}};
  const Json worth{
      {"draws", 1024},
      {"candidates", {{{"of", "/prices/Au"}, {"error", "1 %"}, {"cost", "50 USD"}, {"count", 2}}}}};
  const Json map{{"x", {{"of", "/prices/Au"}, {"steps", 5}}},
                 {"y", {{"of", {"/discount"}}, {"from", "1 %/a"}, {"to", "30 %/a"}, {"steps", "4"}}}};
  for (const std::string& file :
       {std::string(BUTTONWORTH_DEMO "/plan.json"), std::string(BUTTONWORTH_VECTORS "/every-field.json")}) {
    const std::string plan = read_file(file).dump();
    expect_valid_job("simulate", plan, Json{{"draws", 1024}}, file);
    expect_valid_job("worth", plan, worth, file);
    expect_valid_job("break_even", plan, of_price, file);
    expect_valid_job("counter_offers", plan, Json(), file);
    expect_valid_job("forgiving_cut", plan, Json(), file);
    expect_valid_job("sensitivity", plan, Json(), file);
    expect_valid_job("map", plan, map, file);
    expect_valid_job("lot_values", plan, Json(), file);
    expect_valid_job("lot_values", plan, Json{{"draws", 8}, {"first", 40}}, file);
  }
}

/// Options of calls on the demonstration's plan, by the name of the call.
void expect_valid_calls(const Json& calls, const std::string& what) {
  for (const auto& [call, options] : calls.items())
    if (plan_call(call) != nullptr && options.is_object())
      expect_valid(job_schemas(call).options, options, what + " at " + call);
}

TEST(Schema, accepts_the_demonstrations_and_their_answers) {
  int plans = 0, deliveries = 0, months = 0;
  for (const auto& file : std::filesystem::directory_iterator(BUTTONWORTH_DEMO)) {
    if (file.path().extension() != ".json") continue;
    const std::string name = file.path().string();
    const Json document = read_file(name);
    if (!document.contains("format")) {
      expect_valid_calls(document, name);
    } else if (document.at("format") == "buttonworth-delivery/1") {
      expect_valid_delivery(document, name);
      ++deliveries;
    } else if (document.at("format") == "buttonworth-allocation/1") {
      expect_valid(allocation_schema(), document, name);
      ++months;
    } else {
      expect_valid(plan_schema(), document, name);
      expect_valid_answers(document, Json::object(), name);
      ++plans;
    }
  }
  EXPECT_GE(plans, 2);
  EXPECT_GE(deliveries, 3);
  EXPECT_GE(months, 1);
}

/// The plan with every field, from which documents with one thing wrong are made.
const Json& every_field() {
  static const Json plan = read_file(BUTTONWORTH_VECTORS "/every-field.json");
  return plan;
}

TEST(Schema, accepts_the_plan_with_every_field) {
  expect_valid(plan_schema(), every_field(), "every-field.json");
  expect_valid_answers(every_field(), Json::object(), "every-field.json");
}

void gather_fields(const Json& schema, std::set<std::string>& names) {
  if (schema.is_object() && schema.contains("properties"))
    for (const auto& [name, one] : schema.at("properties").items()) names.insert(name);
  if (schema.is_structured())
    for (const Json& one : schema) gather_fields(one, names);
}
void gather_names(const Json& document, std::set<std::string>& names) {
  if (document.is_object())
    for (const auto& [name, one] : document.items()) names.insert(name);
  if (document.is_structured())
    for (const Json& one : document) gather_names(one, names);
}

TEST(Schema, every_field_is_in_the_plan_with_every_field) {
  std::set<std::string> fields, names;
  gather_fields(plan_schema().text(), fields);
  gather_names(every_field(), names);
  EXPECT_GE(fields.size(), 100U);
  for (const std::string& field : fields)
    EXPECT_TRUE(names.count(field)) << field << " is not in every-field.json";
}

// ---- Bad vectors -----------------------------------------------------------------------------

/// The document of a vector, where its text is JSON that a parsed document can stand for.
Json document_of(const Json& vector) {
  const Json document = Json::parse(request_text(vector), nullptr, false);
  const bool wrong_text = vector.contains("text") && !vector.at("schema").get<bool>();
  return wrong_text || document.is_discarded() ? Json() : document;
}

TEST(Schema, refuses_the_bad_vectors_that_are_its_matter) {
  int refused = 0;
  for (const Json& vector : core().at("vectors")) {
    if (!is_bad(vector) || !vector.at("schema").get<bool>()) continue;
    const std::string call = vector.at("call");
    Schema& schema = call == "settle"             ? delivery_schema()
                     : call == "reconcile"        ? return_schema()
                     : call == "book"             ? month_schema()
                     : call == "dispute"          ? dispute_schema()
                     : call == "metal_call"       ? call_schema()
                     : call == "allocate"         ? allocation_schema()
                     : call == "bench"            ? bench_schemas(vector.at("request")).request
                     : plan_call(call) != nullptr ? job_schemas(call).options
                                                  : plan_schema();
    const Json document = plan_call(call) != nullptr ? vector.at("options") : document_of(vector);
    EXPECT_FALSE(schema.accepts(document)) << vector.at("id");
    ++refused;
  }
  EXPECT_GE(refused, 40);
}

TEST(Schema, refuses_no_bad_vector_that_the_reader_reads) {
  int read = 0;
  for (const Json& vector : core().at("vectors")) {
    if (!is_bad(vector) || vector.at("call") != "compare" || document_of(vector).is_null()) continue;
    if (read_only(request_text(vector)).status != BW_OK) continue;
    ++read;
    expect_valid(plan_schema(), document_of(vector), vector.at("id"));
  }
  EXPECT_GE(read, 10) << "vectors whose physics is wrong are plans all the same";
}

// ---- One thing wrong in the structure --------------------------------------------------------

/// Visits every value of a document with its pointer, parents first.
void each_value(const Json& value, const std::string& pointer,
                const std::function<void(const std::string&, const Json&)>& visit) {
  visit(pointer, value);
  if (value.is_structured())
    for (const auto& [name, member] : value.items()) each_value(member, pointer + bw::step(name), visit);
}

/// A document with one thing changed, and what was changed where.
struct Mutant {
  std::string what, at;
  Json document;
};

Json without(const Json& object, const std::string& name) {
  Json made = object;
  made.erase(name);
  return made;
}
Json renamed(const Json& object, const std::string& name, const std::string& to) {
  Json made = Json::object();
  for (const auto& [key, member] : object.items()) made[key == name ? to : key] = member;
  return made;
}
Json with_member(const Json& object, const std::string& name, const Json& member) {
  Json made = object;
  made[name] = member;
  return made;
}

class Mutants {
 public:
  explicit Mutants(const Json& original) : original_(original) {
    each_value(original, "", [this](const std::string& pointer, const Json& value) {
      if (pointer.find("/note") != pointer.npos) return;  // carried, not read
      of_any(pointer, value);
      if (value.is_object()) of_object(pointer, value);
      if (value.is_array()) of_list(pointer, value);
      if (value.is_string()) of_text(pointer, value.get<std::string>());
    });
  }
  const std::vector<Mutant>& all() const { return all_; }

 private:
  void add(const std::string& what, const std::string& pointer, const Json& value) {
    if (value == original_.at(Pointer(pointer))) return;
    Json document = original_;
    document[Pointer(pointer)] = value;
    all_.push_back({what, pointer, std::move(document)});
  }
  void of_any(const std::string& pointer, const Json& value) {
    const Json others[] = {nullptr, true, 7, "words", Json::array(), Json::object()};
    for (const Json& other : others)
      if (other.type() != value.type()) add("replaced by " + other.dump(), pointer, other);
    if (!value.is_array()) add("put into a list", pointer, Json::array({value}));
    if (!value.is_object()) add("put into an object", pointer, {{"value", value}});
  }
  void of_object(const std::string& pointer, const Json& object) {
    add("another field: unknown", pointer, with_member(object, "unknown", 1));
    for (const auto& [name, member] : object.items()) {
      if (name == "note") continue;
      add("dropped: " + name, pointer, without(object, name));
      add("renamed: " + name, pointer, renamed(object, name, name + "x"));
    }
  }
  void of_list(const std::string& pointer, const Json& list) {
    Json longer = list, shorter = list;
    longer.push_back(7);
    add("one more entry", pointer, longer);
    shorter.erase(shorter.size() - 1);
    add("one entry less", pointer, shorter);
  }
  void of_text(const std::string& pointer, const std::string& text) {
    add("emptied", pointer, "");
    const size_t space = text.find(' ');
    const std::string number = text.substr(0, space);
    if (space == text.npos || number.find_first_not_of("0123456789.") != number.npos) return;
    for (const char* unit : {"degC", "kg", "%", "g/t", "USD/t", "%/a", "oz", "KG", ""})
      add("another unit", pointer, number + " " + unit);
    add("a bare number", pointer, Json::parse(number));
    add("a decimal comma", pointer, "1,5" + text.substr(space));
  }

  const Json& original_;
  std::vector<Mutant> all_;
};

/// Codes that tell what a schema is about, if told of the very thing that was changed.
bool is_structural(const Json& error) {
  const bw_status status = error.at("status");
  return status == BW_DOCUMENT_TYPE || status == BW_DOCUMENT_UNKNOWN_FIELD ||
         status == BW_DOCUMENT_MISSING_FIELD || status == BW_DOCUMENT_UNIT ||
         status == BW_DOCUMENT_QUANTITY || status == BW_DOCUMENT_FORMAT;
}

/// What the reader alone can know: fields that depend on others, on names, or on the lot.
bool needs_more_than_structure(const Json& error) {
  const std::string text = error.at("text");
  for (const char* said : {"so a route has a node for",     // pieces apart
                           "does not say what happens to",  // an output of a step
                           "makes no ",                     // a node for no output of the step
                           "has no pieces named",           // a node for no pieces of the lot
                           "to_bar or slag_grade",          // one of them at least
                           "the cut wants \"of\"",          // where the curve has no Au
                           "wants search",                  // a best cut without points
                           "the curve of ",                 // of an analyte that a buyer names
                           "wants stays",                   // of a reagent that is not known
                           "want their density",            // grains of a size
                           "prices want currency",          // anywhere in a charge
                           "the stage wants a sample",      // or an error of its own
                           "other composites have a mass",  // all or none
                           "to_bar wants a charge",         // and a charge to_bar
                           "a charge wants to_bar",
                           "a bar as found wants",  // the charge that it came from
                           "one of charge, weighing",
                           "share of the mass is missing",  // of a split's output
                           "go together",                   // above, each, rate; from and to
                           "months after what",             // arrived
                           "the assay of ",                 // of an analyte that the terms name
                           "'s quotes is missing",          // their period
                           "two parties want a limit",      //
                           "contract's rule",               // beyond the limit, with an umpire
                           "to contest it, ",               // what the exchange must have
                           "a penalty wants",               // one of its forms
                           "money of another kind",         // a currency without an exchange rate
                           "of one kind and one currency"})
    if (text.find(said) != text.npos) return true;
  return false;
}

bool refused_for_structure(const Json& errors) {
  return std::any_of(errors.begin(), errors.end(),
                     [](const Json& one) { return is_structural(one) && !needs_more_than_structure(one); });
}

void expect_agreement(Schema& schema, const Mutant& mutant, const Outcome& reading) {
  const bool accepted = schema.accepts(mutant.document);
  const std::string what = mutant.what + " at " + mutant.at + '\n';
  EXPECT_TRUE(accepted || reading.status != BW_OK)
      << "the schema alone refuses: " << what << schema.objections(mutant.document);
  EXPECT_FALSE(accepted && refused_for_structure(reading.errors))
      << "the reader alone refuses: " << what << reading.errors.dump(1);
}

TEST(Mutants, schema_and_reader_agree_on_plans) {
  const Mutants mutants(every_field());
  EXPECT_GE(mutants.all().size(), 2000U);
  int refused = 0;
  for (const Mutant& mutant : mutants.all()) {
    const Outcome reading = read_only(mutant.document.dump());
    expect_agreement(plan_schema(), mutant, reading);
    refused += reading.status != BW_OK;
  }
  EXPECT_GE(refused, 1500) << "most of these changes are mistakes";
}

TEST(Mutants, schema_and_reader_agree_on_deliveries) {
  const Json original = read_file(std::string(BUTTONWORTH_VECTORS) + "/every-delivery.json");
  const Outcome good = ask(bw_settle, original.dump());
  ASSERT_EQ(good.status, BW_OK) << good.errors.dump(1);
  expect_valid(delivery_schema(), original, "every field of a delivery");
  expect_valid(statement_schema(), good.answer, "its statement");
  const Mutants mutants(original);
  EXPECT_GE(mutants.all().size(), 700U);
  int refused = 0;
  for (const Mutant& mutant : mutants.all()) {
    const Outcome reading = ask(bw_settle, mutant.document.dump());
    expect_agreement(delivery_schema(), mutant, reading);
    refused += reading.status != BW_OK;
  }
  EXPECT_GE(refused, 500) << "most of these changes are mistakes";
}

TEST(Mutants, schema_and_reader_agree_on_returns) {
  Json original = Json::parse(R"({"format": "buttonworth-return/1", "return": {
    "delivered": {"wet_mass": "800 kg", "moisture": {"value": "11.5 %", "sd": "0.2 %"}},
    "assays": {"Au": "1800 g/t"}, "prices": {"Ag": "30 USD/ozt"},
    "lines": [{"what": "Au value", "amount": "97000.00"}], "proceeds": "95000.00"}})");
  original["delivery"] = read_file(std::string(BUTTONWORTH_VECTORS) + "/every-delivery.json");
  const Outcome good = ask(bw_reconcile, original.dump());
  ASSERT_EQ(good.status, BW_OK) << good.errors.dump(1);
  expect_valid(return_schema(), original, "a delivery and its return");
  expect_valid(reconciliation_schema(), good.answer, "its reconciliation");
  int refused = 0;
  const Mutants mutants(original);
  for (const Mutant& mutant : mutants.all()) {
    if (mutant.at.starts_with("/delivery/")) continue;  // looked at alone
    const Outcome reading = ask(bw_reconcile, mutant.document.dump());
    expect_agreement(return_schema(), mutant, reading);
    refused += reading.status != BW_OK;
  }
  EXPECT_GE(refused, 80) << "most of these changes are mistakes";
}

/// Mutants of a good request, those within a part that has a test of its own left out.
void expect_agreement_on_requests(const Json& original, Schema& schema, Schema& answers,
                                  bw_status (*function)(bw_context*, const char*, size_t, bw_answer**),
                                  const char* apart, int least) {
  const Outcome good = ask(function, original.dump());
  ASSERT_EQ(good.status, BW_OK) << good.errors.dump(1);
  expect_valid(schema, original, "the request");
  expect_valid(answers, good.answer, "its answer");
  int refused = 0;
  const Mutants mutants(original);
  for (const Mutant& mutant : mutants.all()) {
    if (mutant.at.starts_with(apart)) continue;
    const Outcome reading = ask(function, mutant.document.dump());
    expect_agreement(schema, mutant, reading);
    if (reading.status == BW_OK) expect_valid(answers, reading.answer, mutant.what + " at " + mutant.at);
    refused += reading.status != BW_OK;
  }
  EXPECT_GE(refused, least) << "most of these changes are mistakes";
}

TEST(Mutants, schema_and_reader_agree_on_disputes) {
  Json original = Json::parse(R"({"format": "buttonworth-dispute/1", "of": "Au", "bias": "-0.8 %",
    "errors": {"seller": {"rsd": "1.5 %"}, "buyer": {"sd": "20 g/t"}, "umpire": {"rsd": "1 %"}},
    "offer": "1700 g/t", "umpire_cost": "450 USD",
    "sample": {"portion": "30 g", "determinations": "3", "sets": "2"}})");
  Json delivery = read_file(std::string(BUTTONWORTH_VECTORS) + "/every-delivery.json");
  delivery["assays"]["Au"] = {
      {"seller", "1850 g/t"}, {"buyer", "1750 g/t"}, {"limit", "10 g/t"}, {"rule", "umpire"}};
  original["delivery"] = delivery;
  expect_agreement_on_requests(original, dispute_schema(), contest_schema(), bw_dispute, "/delivery/", 100);
}

TEST(Mutants, schema_and_reader_agree_on_metal_calls) {
  const Json original =
      Json::parse(R"({"format": "buttonworth-call/1", "from": "2026-03-01", "to": "2026-03-31",
    "streams": {
      "rinse": [{"mass": {"value": "1000 kg", "sd": "10 kg"}, "moisture": "10 %", "assays": {"Au": "50 g/t"}},
                {"content": {"Au": "1 g"}}],
      "concentrate": {"content": {"Au": {"value": "40 g", "sd": "2 g"}}},
      "tailings": {"mass": "900 kg", "assays": {"Au": "8 g/t"}}},
    "stages": [{"what": "table", "in": ["rinse"], "out": ["concentrate", "tailings"]}], "confidence": "95 %"})");
  expect_agreement_on_requests(original, call_schema(), accounted_schema(), bw_metal_call, "no such place",
                               150);
}

/// The plan within a lot size is looked at on its own.
TEST(Mutants, schema_and_reader_agree_on_requests_to_the_bench) {
  for (const Json& original : read_file(std::string(BUTTONWORTH_VECTORS) + "/every-bench.json")) {
    SCOPED_TRACE(original.at("format").get<std::string>());
    BenchSchemas& schemas = bench_schemas(original);
    expect_agreement_on_requests(original, schemas.request, schemas.answer, bw_bench, "/plan", 20);
  }
}

#ifdef BUTTONWORTH_SCHEDULE
/// Lots with every field of a request's own; those of the terms are looked at in a delivery.
TEST(Mutants, schema_and_reader_agree_on_lots_to_allocate) {
  const Json original = Json::parse(R"({"format": "buttonworth-allocation/1", "currency": "USD",
    "exchange": {"PEN": "0.27 USD"}, "prices": {"Au": {"value": "80 USD/g", "sd": "2 USD/g"}, "Ag": "1 USD/g"},
    "discount": "18 %/a", "day": "10 h",
    "lots": {
      "K-1": {"note": "the first", "id": "WM-1", "date": "2026-03-01", "factors": {"g per ozt": "31.1035"},
              "wet_mass": {"value": "300 kg", "sd": "3 kg"}, "moisture": "5 %", "assays": {"Au": "20 ozt/t", "As": "0.1 %"},
              "ready": "2 d", "divisible": 2, "must": true, "alone": true, "routes": ["tabled", "to the smelter"]},
      "K-2": {"parts": [{"wet_mass": "100 kg", "assays": {"Au": "80 g/t"}}, {"wet_mass": "60 kg", "assays": {"Au": "90 g/t"}}]}},
    "steps": {"shaker": {"kind": "table", "rate": "50 kg/h", "cut": {"pull": "20 %"},
                         "curve": {"Au": [["20 %", "80 %"]], "As": [["20 %", "30 %"]]}}},
    "terms": {"smelter": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}}}},
    "routes": {"to the smelter": {"sell": "smelter"},
               "tabled": {"step": "shaker", "concentrate": {"sell": "smelter"}, "tailings": {"keep": true}}},
    "period": "30 d", "capacity": {"shaker": {"hours": "20 h"}},
    "buyers": {"smelter": {"shipments": {"min": 1, "max": 3}, "mass": {"min": "50 kg", "max": "4 t"}}},
    "cash": [{"by": "20 d", "amount": "3000 PEN"}], "on_hand": {"Au": "2 kg"},
    "most_joined": 2, "looked_at": 1000, "time": "0.05 min", "gap": "0.1 %", "threads": 1, "candidates": true,
    "draws": 256, "prefer": "worst 5 % mean", "seed": 7, "method": "philox"})");
  expect_agreement_on_requests(original, allocation_schema(), schedule_schema(), bw_allocate, "/terms/", 300);
}
#endif

/// A month with every field of its own; those of the terms are looked at in a delivery.
const char* const every_month_field = R"({"format": "buttonworth-month/1", "currency": "USD",
  "exchange": {"PEN": "0.27 USD"}, "from": "2026-03-01", "to": "2026-03-31",
  "buyers": {"refiner": {"terms": {"buys": "bar", "pay": {"Au": {}, "Ag": {}}}, "prices": {"Ag": "31 USD/ozt"},
    "limits": {"gross": {"limit": "0.1 ozt"}, "melted": {"limit_relative": "0.1 %"},
               "assays": {"Au": {"limit": "0.5 fine", "rule": "umpire"}}},
    "credits": ["Au"],
    "account": {"Au": {"opening": "1 ozt", "withdrawn": [{"date": "2026-03-05", "mass": "1 ozt"}],
      "priced": [{"date": "2026-03-04", "mass": "2 ozt", "price": "2600 USD/ozt", "due": "2026-03-06"}]}},
    "opening": [{"delivery": "B-0", "what": "balance", "due": "2026-03-02", "amount": "5.5"}]},
   "smelter": {"terms": {"buys": "concentrate", "pay": {"Au": {}}},
    "limits": {"wet_mass": {"limit": "1 kg"}, "moisture": {"limit": "0.5 %"}},
    "quotes": {"Au": {"unit": "USD/ozt", "days": {"2026-02-03": "2600"}}}, "period": {"Au": {"month": "2026-02"}}}},
  "deliveries": [{"id": "B-1", "buyer": "refiner", "arrived": "2026-03-03",
    "delivered": {"gross": {"seller": "100 ozt", "buyer": "100.05 ozt"}},
    "assays": {"Au": {"seller": "900 fine", "buyer": "900.2 fine"}, "Ag": "80 fine"},
    "prices": {"Ag": "30 USD/ozt"}, "stage": "provisional"}],
  "received": [{"date": "2026-03-09", "buyer": "refiner", "amount": "100 PEN", "delivery": "B-0"}],
  "on_hand": {"Au": {"opening": "9 ozt", "produced": [{"date": "2026-03-01", "mass": "3 ozt"}], "counted": "1 ozt"}},
  "list": true, "csv": false})";

TEST(Mutants, schema_and_reader_agree_on_months) {
  expect_agreement_on_requests(Json::parse(every_month_field), month_schema(), book_schema(), bw_book,
                               "no such place", 250);
}

TEST(Mutants, schema_and_reader_agree_on_many_returns) {
  Json original = Json::parse(every_month_field);
  Json request{{"format", "buttonworth-returns/1"}, {"currency", "USD"}, {"exchange", original["exchange"]}};
  request["buyers"]["refiner"] = original["buyers"]["refiner"];
  for (const char* name : {"credits", "account", "opening"}) request["buyers"]["refiner"].erase(name);
  request["buyers"]["refiner"]["prices"]["Au"] = "2600 USD/ozt";
  request["deliveries"] = original["deliveries"];
  request["returns"] =
      Json::parse(R"([{"id": "B-1", "delivered": {"gross": "99 ozt"}, "assays": {"Au": "899 fine"},
    "prices": {"Ag": "29 USD/ozt"}, "lines": [{"what": "Au value", "amount": "1"}], "proceeds": "230000"}])");
  expect_agreement_on_requests(request, returns_schema(), reconciliations_schema(), bw_reconcile,
                               "no such place", 120);
}

TEST(Mutants, schema_and_reader_agree_on_options) {
  const Json original{{"how", true}, {"arithmetic", "double"}, {"routes", {"as it is"}}, {"note", "any"}};
  const Mutants mutants(original);
  EXPECT_GE(mutants.all().size(), 30U);
  for (const Mutant& mutant : mutants.all()) {
    const Outcome reading = compare(every_field().dump(), mutant.document);
    if (mutant.document.is_null()) continue;  // stands for no options at all in this test's call
    EXPECT_EQ(reading.status == BW_OK,
              options_schema().accepts(mutant.document) && mutant.what != "renamed: routes")
        << mutant.what << " at " << mutant.at << ' ' << mutant.document << reading.errors.dump(1);
  }
}

TEST(Mutants, schema_and_reader_agree_on_options_of_jobs) {
  const std::string plan = every_field().dump();
  const std::map<std::string, Json> originals{
      {"simulate", Json::parse(R"({"draws": 512, "seed": 3, "method": "philox", "threads": 2, "keep": true,
                                   "routes": ["as it is"], "prefer": {"mean_less": "1"}, "note": "any",
                                   "correlate": [["/prices/Au", "/lot/parts/0/assays/Ag", "0.7"]],
                                   "same": [["/prices/Au", "/lot/parts/0/assays/As"]],
                                   "averaged": [["/prices/Au", 21]]})")},
      {"worth",
       Json::parse(R"({"draws": 512, "seed": 3, "method": "philox", "threads": 2, "routes": ["as it is"],
                                "candidates": [{"of": "/prices/Au", "error": "4 %", "count": 2, "cost": "65 USD"},
                                               {"of": "/prices/Au", "sd": "20 USD/ozt", "cost": "9 USD",
                                                "fixed": "5 USD"}]})")},
      {"break_even", Json::parse(R"({"of": ["/prices/Au"], "from": "2000 USD/ozt", "to": "3000 USD/ozt",
                                     "routes": ["as it is"], "cuts": "held", "note": "any"})")},
      {"lot_values", Json::parse(R"({"draws": 16, "seed": 3, "threads": 2, "first": 5, "routes": ["as it is"],
                                     "correlate": [["/lot/parts/0/assays/As", "/lot/parts/0/assays/Ag", "0.7"]],
                                     "averaged": [["/prices/Au", 21]], "note": "any"})")},
      {"counter_offers", Json::parse(R"({"terms": ["smelter"], "routes": ["as it is"], "cuts": "held"})")},
      {"forgiving_cut", Json::parse(R"({"costs": "500 USD", "points": 9})")},
      {"sensitivity", Json::parse(R"({"routes": ["as it is"], "of": ["/prices/Au", ["/discount"]]})")},
      {"map",
       Json::parse(R"({"x": {"of": "/prices/Au", "from": "2000 USD/ozt", "to": "3000 USD/ozt", "steps": 3},
                              "y": {"of": "/discount", "from": "1 %/a", "to": "9 %/a", "steps": 2},
                              "routes": ["as it is"], "cuts": "held"})")}};
  for (const auto& [call, original] : originals) {
    SCOPED_TRACE(call);
    const Outcome good = work_plan(plan_call(call), plan, original);
    ASSERT_EQ(good.status, BW_OK) << good.errors.dump(1);
    int refused = 0;
    const Mutants mutants(original);
    for (const Mutant& mutant : mutants.all()) {
      if (mutant.document.is_null()) continue;  // stands for no options at all in this test's call
      const Outcome reading = work_plan(plan_call(call), plan, mutant.document);
      const bool accepted = job_schemas(call).options.accepts(mutant.document);
      EXPECT_TRUE(accepted || reading.status != BW_OK)
          << "the schema alone refuses " << mutant.what << " at " << mutant.at;
      refused += reading.status != BW_OK;
    }
    EXPECT_GE(refused, 8) << "most of these changes are mistakes";
  }
}

TEST(Mutants, a_note_may_stand_in_any_object) {
  int objects = 0;
  each_value(every_field(), "", [&](const std::string& pointer, const Json& value) {
    if (!value.is_object() || pointer.find("/note") != pointer.npos) return;
    Json document = every_field();
    document[Pointer(pointer)]["note"] = {{"any", {1, "thing", nullptr}}};
    expect_valid(plan_schema(), document, "a note at " + pointer);
    const Outcome reading = read_only(document.dump());
    EXPECT_EQ(reading.status, BW_OK) << "a note at " << pointer << reading.errors.dump(1);
    ++objects;
  });
  EXPECT_GE(objects, 80);
}

// ---- Quantities ------------------------------------------------------------------------------

/// Puts a text where a quantity of each dimension is wanted; tells what reader and schema say of it.
struct Place {
  const char *pointer, *good;
};
constexpr Place places[] = {
    {"/lot/parts/1/wet_mass", "361 kg"},
    {"/lot/parts/0/moisture/sd", "0.5 %"},
    {"/lot/parts/1/assays/Au", "842 g/t"},
    {"/lot/credited", "120 USD"},
    {"/prices/Au/mode", "2650 USD/ozt"},
    {"/discount", "18 %/a"},
    {"/day", "8 h"},
    {"/steps/pan/rate", "70 kg/h"},
    {"/steps/pan/ambient", "12 degC"},
    {"/steps/pan/fuel/heat", "36 MJ/L"},
    {"/steps/pan/cost/0/rate", "1.32 USD/L"},
    {"/steps/shaker/curve/As/odds", "4"},
    {"/steps/third table/curve/Au/logit/0", "-4.1"},
    {"/steps/fourth table/curve/Au/limit_recovery", "96 %"},
    {"/steps/fourth table/curve/Au/rate", "40"},
    {"/steps/furnace/flux/0/dose", "0.8 kg/kg"},
    {"/steps/furnace/crucible/volume", "6 L"},
    {"/steps/furnace/crucible/density", "2.5 kg/L"},
    {"/terms/smelter/charges/0/rate", "450 USD/t"},
    {"/terms/smelter/factors/lb per t", "2204.62"},
    {"/lot/parts/0/assays/As/gsd", "1.15"},
    {"/lot/parts/0/assays/Ag/rsd", "6 %"},
};

void expect_agreement_on(const char* pointer, const std::string& text) {
  Json document = every_field();
  ASSERT_TRUE(document.contains(Pointer(pointer))) << pointer;
  document[Pointer(pointer)] = text;
  const Outcome reading = read_only(document.dump());
  const bool read = std::none_of(reading.errors.begin(), reading.errors.end(), [&](const Json& one) {
    return is_structural(one) && one.at("pointer") == pointer && !needs_more_than_structure(one);
  });
  EXPECT_EQ(read, plan_schema().accepts(document))
      << '"' << text << "\" at " << pointer << " is " << (read ? "read" : "refused")
      << " by the reader alone " << reading.errors.dump();
}

TEST(Quantities, schema_and_reader_know_the_same_units) {
  const char* units[] = {
      "g",       "kg",     "t",       "lb",       "st",          "lt",       "ozt",    "dwt",     "gr",
      "%",       "g/t",    "mg/kg",   "ppm",      "kg/t",        "ppb",      "ozt/st", "ozt/lt",  "ozt/t",
      "dwt/st",  "fine",   "kt",      "USD",      "USc",         "PEN",      "XYZ",    "usd",     "EUc",
      "USD/g",   "USc/lb", "USD/ozt", "USD/kg/t", "USD/lot",     "USD/melt", "USD/h",  "USD/min", "USD/d",
      "USD/kWh", "USD/MJ", "USD/L",   "USD/m3",   "USD/%",       "USD/",     "/t",     "min",     "h",
      "d",       "a",      "kg/h",    "t/h",      "g/h",         "kg/kg",    "g/g",    "kWh",     "MJ",
      "L",       "l",      "m3",      "kg/L",     "t/m3",        "degC",     "C",      "K",       "%/a",
      "%/d",     "MJ/L",   "kWh/L",   "MJ/m3",    "kWh/m3",      "oz",       "ton",    "Kg",      "KG",
      "",        "kg.",    "kg kg",   "percent",  "\xe2\x82\xac"};
  for (const Place& place : places) {
    expect_agreement_on(place.pointer, place.good);
    for (const char* unit : units) expect_agreement_on(place.pointer, std::string("1 ") + unit);
  }
}

TEST(Quantities, schema_and_reader_know_the_same_numbers) {
  const char* numbers[] = {"1",        "1.5",   "01.50", "0",     "0.0",  "1e2",      "1E+2",
                           "1e-2",     "1.5e0", "-1",    "-0",    "+1",   ".5",       "1.",
                           "1.e2",     "1e",    "1e+",   "e2",    "--1",  "- 1",      "1,5",
                           "1,000",    "1'000", "1 000", "1_000", "0x10", "NaN",      "inf",
                           "Infinity", "",      "one",   "1/2",   "1%",   "\xd9\xa1", "1\xc2\xa0"};
  for (const Place& place : places) {
    const std::string good = place.good;
    const size_t space = good.find(' ');
    const std::string unit = space == good.npos ? "" : good.substr(space);
    for (const char* number : numbers) expect_agreement_on(place.pointer, number + unit);
  }
}

TEST(Quantities, schema_and_reader_know_the_same_spaces) {
  for (const Place& place : places) {
    const std::string good = place.good;
    const size_t space = good.find(' ');
    const std::string number = good.substr(0, space), unit = space == good.npos ? "" : good.substr(space + 1);
    for (const std::string& text :
         {number + unit, number + "  " + unit, " " + good, good + " ", "  " + number + "   " + unit + "  ",
          number + "\t" + unit, good + "\n", "\n" + good, number + "\xc2\xa0" + unit, number + "%",
          number + " %", number + "%/a", number + "fine"})
      expect_agreement_on(place.pointer, text);
  }
}

// Texts that are no quantities: codes, dates, words.
TEST(Texts, schema_and_reader_agree) {
  const char* texts[] = {
      "",           " ",         "USD",      "usd",        "US",         "USDX",          "U5D",
      "2025-03-14", "2025-3-14", "25-03-14", "2025-13-01", "2025-02-30", "-000-01-01",    "2025-03-14T00:00",
      "wet",        "dry",       "gross",    "payable",    "payable ",   "payable value", "payable Au",
      "Wet",        "best",      "Best",     "half even",  "half-even",  "whole",         "payable A\nu"};
  for (const char* pointer :
       {"/currency", "/lot/date", "/lot/id", "/terms/smelter/charges/2/of", "/steps/shaker/cut",
        "/terms/smelter/rounding/mode", "/terms/smelter/penalties/0/count", "/terms/smelter/penalties/1/for",
        "/levies/0/what"})
    for (const char* text : texts) {
      Json document = every_field();
      ASSERT_TRUE(document.contains(Pointer(pointer))) << pointer;
      document[Pointer(pointer)] = text;
      if (plan_schema().accepts(document)) continue;
      EXPECT_NE(read_only(document.dump()).status, BW_OK)
          << "the schema alone refuses \"" << text << "\" at " << pointer;
    }
}

}  // namespace
}  // namespace vectors
