#include "document/comparison_document.hpp"

#include <algorithm>

#include "document/json_text.hpp"

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
void write_lines(JsonText& out, const std::vector<Line<N>>& lines, bool how) {
  out.key("lines").open('[');
  for (const Line<N>& line : lines) {
    out.open('{').field("at", line.name.at != nullptr ? std::string_view(*line.name.at) : "return");
    out.field("what", line_text(line.name)).field("amount", money(line.amount)).field("day", days(line.day));
    if (how) out.field("how", line.how);
    out.close('}');
  }
  out.close(']');
}

template <class N>
void write_cash_days(JsonText& out, const std::vector<CashDay<N>>& cash_days) {
  out.key("cash_days").open('[');
  for (const CashDay<N>& one : cash_days)
    out.open('{')
        .field("day", days(one.day))
        .field("amount", money(one.amount))
        .field("total", money(one.total))
        .close('}');
  out.close(']');
}

template <class N>
void write_metal(JsonText& out, const Plan& plan, const MetalPlaces<N>& metal) {
  for (Analyte a = 0; a < plan.analytes.size(); ++a) {
    if (!plan.assayed[a]) continue;
    out.key(plan.analytes[a]).open('{');
    out.field("fed", grams(metal.fed[a]))
        .field("payable", grams(metal.payable[a]))
        .field("unpaid", grams(metal.unpaid[a]));
    out.field("returned", grams(metal.returned[a])).field("kept", grams(metal.kept[a])).key("lost").open('{');
    for (const auto& [place, content] : metal.lost) out.field(place, grams(content[a]));
    out.close('}').close('}');
  }
}

template <class N>
void write_assays(JsonText& out, const Plan& plan, const Stream<N>& stream, const N& per_share,
                  const char* unit) {
  const N scale = ratio(per_share, stream.dry);
  for (Analyte a = 0; a < plan.analytes.size(); ++a)
    if (plan.assayed[a]) out.field(plan.analytes[a], figure(N(stream.content[a] * scale), unit));
}

template <class N>
void write_products(JsonText& out, const Plan& plan, const std::vector<Product<N>>& products) {
  out.key("products").open('[');
  for (const Product<N>& product : products) {
    const Stream<N>& stream = product.delivered;
    out.open('{')
        .field("at", *product.at)
        .field("wet_mass", kilograms(stream.wet()))
        .field("dry_mass", kilograms(stream.dry));
    write_assays(out.key("assays").open('{'), plan, stream, N(1000000), " g/t");
    out.close('}');
    if (stream.kind == StreamKind::bar) {
      write_assays(out.key("fineness").open('{'), plan, stream, N(1000), " fine");
      out.close('}');
    }
    out.close('}');
  }
  out.close(']');
}

template <class N>
void write_work(JsonText& out, const std::vector<Work<N>>& work) {
  out.key("work").open('[');
  for (const Work<N>& one : work) {
    out.open('{').field("at", *one.at).field("feed", kilograms(one.feed)).field("hours", to_text(one.hours));
    if (one.melts) out.field("melts", to_text(*one.melts));
    if (one.energy) out.field("energy", figure(*one.energy, " kWh"));
    if (one.fuel) out.field("fuel", figure(*one.fuel, " L"));
    if (!one.flux.empty()) {
      out.key("flux").open('{');
      for (const Flux<N>& dose : one.flux) out.field(*dose.reagent, kilograms(dose.mass));
      out.close('}');
    }
    out.close('}');
  }
  out.close(']');
}

/// A step met more than once gives a list of its cuts.
template <class N>
void write_cuts(JsonText& out, const std::vector<CutMade<N>>& cuts) {
  out.key("cut").open('{');
  for (std::size_t i = 0; i < cuts.size(); ++i) {
    auto same_step = [&](const CutMade<N>& other) { return other.at == cuts[i].at; };
    if (std::any_of(cuts.begin(), cuts.begin() + static_cast<std::ptrdiff_t>(i), same_step)) continue;
    const bool many = std::count_if(cuts.begin(), cuts.end(), same_step) > 1;
    out.key(*cuts[i].at);
    if (many) out.open('[');
    for (const CutMade<N>& cut : cuts)
      if (same_step(cut)) out.string(figure(N(cut.pull * N(100)), " %"));
    if (many) out.close(']');
  }
  out.close('}');
}

void write_texts(JsonText& out, const char* name, const std::vector<std::string>& texts) {
  out.key(name).open('[');
  for (const std::string& text : texts) out.string(text);
  out.close(']');
}

template <class N>
void write_route(JsonText& out, const Plan& plan, const RouteResult<N>& result, bool how) {
  const RouteLedger<N>& ledger = result.ledger;
  const bool taken = !result.refused();
  auto amount = [&](const char* name, const N& value) {
    out.key(name);
    if (taken) out.string(money(value));
    else out.null();
  };
  out.key(result.route->name).open('{');
  amount("net", ledger.sums.net());
  amount("cash", ledger.sums.cash_sum);
  amount("credit", ledger.sums.credit_sum);
  amount("present_value", ledger.sums.present_value);
  out.key("last_cash_day");
  if (result.cash_days.empty()) out.null();
  else out.string(days(result.cash_days.back().day));
  write_texts(out, "refused", ledger.refused);
  write_texts(out, "conditional", ledger.conditional);
  write_cash_days(out, result.cash_days);
  write_lines(out, ledger.lines, how);
  out.key("metal").open('{');
  if (taken) write_metal(out, plan, ledger.metal);
  out.close('}');
  write_products(out, plan, ledger.products);
  write_work(out, ledger.work);
  write_cuts(out, ledger.cuts);
  out.close('}');
}

// ---- Schema ----------------------------------------------------------------------------------

Json text_with(const std::string& unit) {
  return {{"type", "string"}, {"pattern", "^-?[0-9]+(\\.[0-9]+)?" + unit + "$"}};
}
Json object_of(const Json& properties, const std::vector<std::string>& optional = {}) {
  Json required = Json::array();
  for (const auto& [name, schema] : properties.items())
    if (std::find(optional.begin(), optional.end(), name) == optional.end()) required.push_back(name);
  return {{"type", "object"},
          {"properties", properties},
          {"required", required},
          {"additionalProperties", false}};
}
Json named(const Json& schema) { return {{"type", "object"}, {"additionalProperties", schema}}; }
Json list(const Json& schema) { return {{"type", "array"}, {"items", schema}}; }
Json or_null(const Json& schema) { return {{"oneOf", {schema, Json{{"type", "null"}}}}}; }

Json route_schema() {
  const Json text{{"type", "string"}}, number = text_with(""), mass = text_with(" kg"),
                                       gram = text_with(" g");
  const Json line =
      object_of({{"at", text}, {"what", text}, {"amount", number}, {"day", number}, {"how", text}}, {"how"});
  const Json metal = object_of({{"fed", gram},
                                {"payable", gram},
                                {"unpaid", gram},
                                {"returned", gram},
                                {"kept", gram},
                                {"lost", named(gram)}});
  const Json product = object_of({{"at", text},
                                  {"wet_mass", mass},
                                  {"dry_mass", mass},
                                  {"assays", named(text_with(" g/t"))},
                                  {"fineness", named(text_with(" fine"))}},
                                 {"fineness"});
  const Json work = object_of({{"at", text},
                               {"feed", mass},
                               {"hours", number},
                               {"melts", number},
                               {"energy", text_with(" kWh")},
                               {"fuel", text_with(" L")},
                               {"flux", named(mass)}},
                              {"melts", "energy", "fuel", "flux"});
  const Json pull = text_with(" %");
  return object_of({{"net", or_null(number)},
                    {"cash", or_null(number)},
                    {"credit", or_null(number)},
                    {"present_value", or_null(number)},
                    {"last_cash_day", or_null(number)},
                    {"refused", list(text)},
                    {"conditional", list(text)},
                    {"cash_days", list(object_of({{"day", number}, {"amount", number}, {"total", number}}))},
                    {"lines", list(line)},
                    {"metal", named(metal)},
                    {"products", list(product)},
                    {"work", list(work)},
                    {"cut", named({{"oneOf", {pull, list(pull)}}})}});
}

}  // namespace

template <class N>
std::string comparison_text(const Comparison<N>& comparison, bool how) {
  constexpr std::size_t usual_route = 8192;
  const Plan& plan = *comparison.plan;
  JsonText out(usual_route * comparison.routes.size());
  out.open('{').field("format", "buttonworth-comparison/1").field("currency", plan.currency).key("best");
  if (comparison.best) out.string(comparison.routes[*comparison.best].route->name);
  else out.null();
  out.key("lead");
  if (comparison.lead) out.string(money(*comparison.lead));
  else out.null();
  out.key("routes").open('{');
  for (const RouteResult<N>& result : comparison.routes) write_route(out, plan, result, how);
  out.close('}').key("untested").open('[');
  for (Analyte a : comparison.untested) out.string(plan.analytes[a]);
  out.close(']').key("cautions").open('[');
  for (const Caution& one : comparison.cautions)
    out.open('{').field("at", one.at).field("what", one.what).close('}');
  out.close(']').close('}');
  return out.take();
}

template std::string comparison_text(const Comparison<Decimal>&, bool);
template std::string comparison_text(const Comparison<double>&, bool);

Json comparison_schema() {
  const Json text{{"type", "string"}};
  Json schema{{"$schema", "http://json-schema.org/draft-07/schema#"},
              {"title", "A Buttonworth comparison, format 1"}};
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
