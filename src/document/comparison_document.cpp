#include "document/comparison_document.hpp"

#include <algorithm>

#include "document/bench_figures.hpp"
#include "document/figure_text.hpp"
#include "document/json_text.hpp"
#include "document/plan_places.hpp"
#include "document/schema_parts.hpp"

namespace buttonworth {
namespace {

template <class N>
void write_lines(JsonText& out, const std::vector<Line<N>>& lines, bool how) {
  out.key("lines").open('[');
  for (const Line<N>& line : lines) {
    out.open('{').field("at", line.name.at != nullptr ? std::string_view(*line.name.at) : "return");
    out.field("what", line_text(line.name))
        .field("amount", money_text(line.amount))
        .field("day", days_text(line.day));
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
        .field("day", days_text(one.day))
        .field("amount", money_text(one.amount))
        .field("total", money_text(one.total))
        .close('}');
  out.close(']');
}

template <class N>
void write_metal(JsonText& out, const Plan& plan, const MetalPlaces<N>& metal) {
  for (Analyte a = 0; a < plan.analytes.size(); ++a) {
    if (!plan.assayed[a]) continue;
    out.key(plan.analytes[a]).open('{');
    out.field("fed", grams_text(metal.fed[a]))
        .field("payable", grams_text(metal.payable[a]))
        .field("unpaid", grams_text(metal.unpaid[a]));
    out.field("returned", grams_text(metal.returned[a]))
        .field("kept", grams_text(metal.kept[a]))
        .key("lost")
        .open('{');
    for (const auto& [place, content] : metal.lost) out.field(place, grams_text(content[a]));
    out.close('}').close('}');
  }
}

template <class N>
void write_assays(JsonText& out, const Plan& plan, const Stream<N>& stream, const N& per_share,
                  const char* unit) {
  const N scale = ratio(per_share, stream.dry);
  for (Analyte a = 0; a < plan.analytes.size(); ++a)
    if (plan.assayed[a]) out.field(plan.analytes[a], figure_text(N(stream.content[a] * scale), unit));
}

template <class N>
void write_products(JsonText& out, const Plan& plan, const std::vector<Product<N>>& products) {
  out.key("products").open('[');
  for (const Product<N>& product : products) {
    const Stream<N>& stream = product.delivered;
    out.open('{')
        .field("at", *product.at)
        .field("wet_mass", kilograms_text(stream.wet()))
        .field("dry_mass", kilograms_text(stream.dry));
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
    out.open('{')
        .field("at", *one.at)
        .field("feed", kilograms_text(one.feed))
        .field("hours", to_text(one.hours));
    if (one.melts) out.field("melts", to_text(*one.melts));
    if (one.energy) out.field("energy", figure_text(*one.energy, " kWh"));
    if (one.fuel) out.field("fuel", figure_text(*one.fuel, " L"));
    if (!one.flux.empty()) {
      out.key("flux").open('{');
      for (const Flux<N>& dose : one.flux) out.field(*dose.reagent, kilograms_text(dose.mass));
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
      if (same_step(cut)) out.string(figure_text(N(cut.pull * N(100)), " %"));
    if (many) out.close(']');
  }
  out.close('}');
}

}  // namespace

template <class N>
void write_route_result(JsonText& out, const Plan& plan, const RouteResult<N>& result, bool how) {
  const RouteLedger<N>& ledger = result.ledger;
  const bool taken = !result.refused();
  auto amount = [&](const char* name, const N& value) {
    out.key(name);
    if (taken) out.string(money_text(value));
    else out.null();
  };
  out.open('{');
  amount("net", ledger.sums.net());
  amount("cash", ledger.sums.cash_sum);
  amount("credit", ledger.sums.credit_sum);
  amount("present_value", ledger.sums.present_value);
  out.key("last_cash_day");
  if (result.cash_days.empty()) out.null();
  else out.string(days_text(result.cash_days.back().day));
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

template void write_route_result(JsonText&, const Plan&, const RouteResult<Decimal>&, bool);
template void write_route_result(JsonText&, const Plan&, const RouteResult<double>&, bool);

// ---- Schema ----------------------------------------------------------------------------------

using namespace schema_parts;

Json route_result_schema() {
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

template <class N>
std::string comparison_text(const Comparison<N>& comparison, bool how) {
  constexpr std::size_t usual_route = 8192;
  const Plan& plan = *comparison.plan;
  JsonText out(usual_route * comparison.routes.size());
  out.open('{').field("format", "buttonworth-comparison/1").field("currency", plan.currency).key("best");
  if (comparison.best) out.string(comparison.routes[*comparison.best].route->name);
  else out.null();
  out.key("lead");
  if (comparison.lead) out.string(money_text(*comparison.lead));
  else out.null();
  out.key("routes").open('{');
  for (const RouteResult<N>& result : comparison.routes)
    write_route_result(out.key(result.route->name), plan, result, how);
  out.close('}').key("untested").open('[');
  for (Analyte a : comparison.untested) out.string(plan.analytes[a]);
  write_cautions(out.close(']'), comparison.cautions);
  out.close('}');
  return out.take();
}

template std::string comparison_text(const Comparison<Decimal>&, bool);
template std::string comparison_text(const Comparison<double>&, bool);

Json comparison_schema() {
  const Json text{{"type", "string"}};
  Json schema = schema_parts::titled("A Buttonworth comparison, format 1");
  schema.update(object_of({{"format", {{"const", "buttonworth-comparison/1"}}},
                           {"currency", schema_parts::currency()},
                           {"best", or_null(text)},
                           {"lead", or_null(text_with(""))},
                           {"routes", named({{"$ref", "#/definitions/route"}})},
                           {"untested", list(text)},
                           {"cautions", list(object_of({{"at", text}, {"what", text}}))}}));
  schema["definitions"] = {{"route", route_result_schema()}};
  return schema;
}

}  // namespace buttonworth
