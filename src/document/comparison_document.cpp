#include "document/comparison_document.hpp"

namespace buttonworth {
namespace {

template <class N>
std::string money(const N& amount) {
  return to_text(amount, money_digits);
}
template <class N>
std::string figure(const N& value, const char* unit) {
  return to_text(value) + unit;
}
template <class N>
std::string kilograms(const N& mass) {
  return figure(mass, " kg");
}
template <class N>
std::string grams(const N& mass) {
  return figure(N(mass * N(1000)), " g");
}
template <class N>
std::string grams_per_tonne(const N& share) {
  return figure(N(share * N(1000000)), " g/t");
}
template <class N>
std::string days(const N& day) {
  return to_text(day);
}

/// What a line is called: the name the plan gave it, and what became of it.
std::string line_text(const LineName& name) {
  switch (name.kind) {
    case LineKind::value: return *name.what + " value";
    case LineKind::refining: return *name.what + " refining";
    case LineKind::penalty: return *name.what + " penalty";
    case LineKind::participation: return *name.what + " participation";
    case LineKind::interest: return "interest on the " + *name.what;
    case LineKind::refund: return *name.what + " refund";
    case LineKind::credit: return *name.what + " credit";
    default: return *name.what;
  }
}

template <class N>
Json lines_document(const std::vector<Line<N>>& lines, bool how) {
  Json list = Json::array();
  for (const Line<N>& line : lines) {
    Json entry{{"at", line.name.at != nullptr ? *line.name.at : "return"},
               {"what", line_text(line.name)},
               {"amount", money(line.amount)},
               {"day", days(line.day)}};
    if (how) entry["how"] = line.how;
    list.push_back(std::move(entry));
  }
  return list;
}

template <class N>
Json cash_document(const std::vector<CashDay<N>>& cash_days) {
  Json list = Json::array();
  for (const CashDay<N>& one : cash_days)
    list.push_back({{"day", days(one.day)}, {"amount", money(one.amount)}, {"total", money(one.total)}});
  return list;
}

template <class N>
Json metal_document(const Plan& plan, const MetalPlaces<N>& metal) {
  Json all = Json::object();
  for (Analyte a = 0; a < plan.analytes.size(); ++a) {
    if (!plan.assayed[a]) continue;
    Json lost = Json::object();
    for (const auto& [place, content] : metal.lost) lost[place] = grams(content[a]);
    all[plan.analytes[a]] = {{"fed", grams(metal.fed[a])},           {"payable", grams(metal.payable[a])},
                             {"unpaid", grams(metal.unpaid[a])},     {"returned", grams(metal.returned[a])},
                             {"kept", grams(metal.kept[a])},         {"lost", std::move(lost)}};
  }
  return all;
}

template <class N>
Json products_document(const Plan& plan, const std::vector<Product<N>>& products) {
  Json list = Json::array();
  for (const Product<N>& product : products) {
    const Stream<N>& stream = product.delivered;
    Json assays = Json::object(), fineness = Json::object();
    for (Analyte a = 0; a < plan.analytes.size(); ++a) {
      if (!plan.assayed[a]) continue;
      const N grade = stream.grade(a);
      assays[plan.analytes[a]] = grams_per_tonne(grade);
      if (stream.kind == StreamKind::bar) fineness[plan.analytes[a]] = figure(N(grade * N(1000)), " fine");
    }
    Json entry{{"at", *product.at},
               {"wet_mass", kilograms(stream.wet())},
               {"dry_mass", kilograms(stream.dry)},
               {"assays", std::move(assays)}};
    if (stream.kind == StreamKind::bar) entry["fineness"] = std::move(fineness);
    list.push_back(std::move(entry));
  }
  return list;
}

template <class N>
Json work_document(const std::vector<Work<N>>& work) {
  Json list = Json::array();
  for (const Work<N>& one : work) {
    Json entry{{"at", *one.at}, {"feed", kilograms(one.feed)}, {"hours", to_text(one.hours)}};
    if (one.melts) entry["melts"] = to_text(*one.melts);
    if (one.energy) entry["energy"] = figure(*one.energy, " kWh");
    if (one.fuel) entry["fuel"] = figure(*one.fuel, " L");
    Json flux = Json::object();
    for (const Flux<N>& dose : one.flux) flux[*dose.reagent] = kilograms(dose.mass);
    if (!flux.empty()) entry["flux"] = std::move(flux);
    list.push_back(std::move(entry));
  }
  return list;
}

/// A step met more than once gives a list of its cuts.
template <class N>
Json cuts_document(const std::vector<CutMade<N>>& cuts) {
  Json all = Json::object();
  for (const CutMade<N>& cut : cuts) {
    const std::string pull = figure(N(cut.pull * N(100)), " %");
    Json& here = all[*cut.at];
    if (here.is_null()) here = pull;
    else if (here.is_string()) here = Json::array({here, pull});
    else here.push_back(pull);
  }
  return all;
}

template <class N>
Json route_document(const Plan& plan, const RouteResult<N>& result, bool how) {
  const RouteLedger<N>& ledger = result.ledger;
  const bool taken = !result.refused();
  auto amount = [&](const N& value) { return taken ? Json(money(value)) : Json(nullptr); };
  const bool paid = !result.cash_days.empty();
  return {{"net", amount(ledger.sums.net())},
          {"cash", amount(ledger.sums.cash_sum)},
          {"credit", amount(ledger.sums.credit_sum)},
          {"present_value", amount(ledger.sums.present_value)},
          {"last_cash_day", paid ? Json(days(result.cash_days.back().day)) : Json(nullptr)},
          {"refused", ledger.refused},
          {"conditional", ledger.conditional},
          {"cash_days", cash_document(result.cash_days)},
          {"lines", lines_document(ledger.lines, how)},
          {"metal", taken ? metal_document(plan, ledger.metal) : Json::object()},
          {"products", products_document(plan, ledger.products)},
          {"work", work_document(ledger.work)},
          {"cut", cuts_document(ledger.cuts)}};
}

// ---- Schema ----------------------------------------------------------------------------------

Json text_with(const std::string& unit) {
  return {{"type", "string"}, {"pattern", "^-?[0-9]+(\\.[0-9]+)?" + unit + "$"}};
}
Json object_of(const Json& properties, const std::vector<std::string>& optional = {}) {
  Json required = Json::array();
  for (const auto& [name, schema] : properties.items())
    if (std::find(optional.begin(), optional.end(), name) == optional.end()) required.push_back(name);
  return {{"type", "object"}, {"properties", properties}, {"required", required}, {"additionalProperties", false}};
}
Json named(const Json& schema) { return {{"type", "object"}, {"additionalProperties", schema}}; }
Json list(const Json& schema) { return {{"type", "array"}, {"items", schema}}; }
Json or_null(const Json& schema) { return {{"oneOf", {schema, Json{{"type", "null"}}}}}; }

Json route_schema() {
  const Json text{{"type", "string"}}, number = text_with(""), mass = text_with(" kg"), gram = text_with(" g");
  const Json line = object_of({{"at", text}, {"what", text}, {"amount", number}, {"day", number}, {"how", text}}, {"how"});
  const Json metal = object_of({{"fed", gram}, {"payable", gram}, {"unpaid", gram}, {"returned", gram}, {"kept", gram}, {"lost", named(gram)}});
  const Json product = object_of({{"at", text}, {"wet_mass", mass}, {"dry_mass", mass}, {"assays", named(text_with(" g/t"))},
                                  {"fineness", named(text_with(" fine"))}}, {"fineness"});
  const Json work = object_of({{"at", text}, {"feed", mass}, {"hours", number}, {"melts", number}, {"energy", text_with(" kWh")},
                               {"fuel", text_with(" L")}, {"flux", named(mass)}}, {"melts", "energy", "fuel", "flux"});
  const Json pull = text_with(" %");
  return object_of({{"net", or_null(number)}, {"cash", or_null(number)}, {"credit", or_null(number)}, {"present_value", or_null(number)},
                    {"last_cash_day", or_null(number)}, {"refused", list(text)}, {"conditional", list(text)},
                    {"cash_days", list(object_of({{"day", number}, {"amount", number}, {"total", number}}))},
                    {"lines", list(line)}, {"metal", named(metal)}, {"products", list(product)}, {"work", list(work)},
                    {"cut", named({{"oneOf", {pull, list(pull)}}})}});
}

}  // namespace

template <class N>
Json comparison_document(const Comparison<N>& comparison, bool how) {
  const Plan& plan = *comparison.plan;
  Json routes = Json::object();
  for (const RouteResult<N>& result : comparison.routes) routes[result.route->name] = route_document(plan, result, how);
  Json untested = Json::array(), cautions = Json::array();
  for (Analyte a : comparison.untested) untested.push_back(plan.analytes[a]);
  for (const Caution& one : comparison.cautions) cautions.push_back({{"at", one.at}, {"what", one.what}});
  return {{"format", "buttonworth-comparison/1"},
          {"currency", plan.currency},
          {"best", comparison.best ? Json(comparison.routes[*comparison.best].route->name) : Json(nullptr)},
          {"lead", comparison.lead ? Json(money(*comparison.lead)) : Json(nullptr)},
          {"routes", std::move(routes)},
          {"untested", std::move(untested)},
          {"cautions", std::move(cautions)}};
}

template Json comparison_document(const Comparison<Decimal>&, bool);
template Json comparison_document(const Comparison<double>&, bool);

Json comparison_schema() {
  const Json text{{"type", "string"}};
  Json schema{{"$schema", "http://json-schema.org/draft-07/schema#"}, {"title", "A Buttonworth comparison, format 1"}};
  schema.update(object_of({{"format", {{"const", "buttonworth-comparison/1"}}},
                           {"currency", {{"type", "string"}, {"pattern", "^[A-Z]{3}$"}}},
                           {"best", or_null(text)},
                           {"lead", or_null(text_with(""))},
                           {"routes", named({{"$ref", "#/definitions/route"}})},
                           {"untested", list(text)},
                           {"cautions", list(object_of({{"at", text}, {"what", text}}))}}));
  schema["definitions"] = {{"route", route_schema()}};
  return schema;
}

}  // namespace buttonworth
