#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "bench/bar.hpp"
#include "bench/run_sheet.hpp"
#include "document/bench_document.hpp"
#include "document/bench_figures.hpp"
#include "document/heading_form.hpp"
#include "document/return_document.hpp"
#include "document/schema_parts.hpp"
#include "document/terms_form.hpp"
#include "quantity/edge.hpp"

namespace buttonworth {
namespace {

using namespace answer_units;

constexpr const char* bar_format = "buttonworth-bar/1";
constexpr const char* bar_check_format = "buttonworth-bar-check/1";

// ---- The request -----------------------------------------------------------------------------

using Assays = std::vector<AnalyteQuantity>;

struct Charge {
  Quantity mass, moisture;
  Assays assays;
};
struct Bar {
  std::optional<Quantity> mass;
  Assays assays;
};
struct Weighing {
  Quantity air, water, water_density;
  std::optional<Assays> densities;
};
struct MeltState {
  Quantity mass;
  Assays assays;
};
struct MeltDraft {
  std::string what;
  MeltState before, after;
};
struct Request {
  std::string format;
  std::optional<Charge> charge;
  Assays to_bar;
  std::optional<Bar> bar;
  std::optional<Weighing> weighing;
  std::vector<MeltDraft> melts;
};

Form<Quantity> mass() { return quantity(Dimension::mass, Allowed::positive); }
Form<Assays> assays_form() { return analyte_quantities(quantity(Dimension::grade, Allowed::share)); }

template <class T>
Fields<T> with_assays(Fields<T> fields) {
  return fields.check([](const Value&, const Place& place, Reader& reader, T& out) {
    require_within_whole(out.assays, place, reader);
  });
}

Form<Charge> charge_form() {
  return with_assays(
             Fields<Charge>()
                 .need("mass", &Charge::mass, mass())
                 .may("moisture", &Charge::moisture, quantity(Dimension::share, Allowed::below_all), "0 %")
                 .need("assays", &Charge::assays, assays_form()))
      .form("an object: mass, moisture and assays");
}
Form<Bar> bar_form() {
  return with_assays(Fields<Bar>().may("mass", &Bar::mass, mass()).may("assays", &Bar::assays, assays_form()))
      .form("an object: the bar as found, mass, assays or both");
}

constexpr double heaviest = 19;  // kg/L: nearer to gold a density tells nothing

void check_weighing(const Value&, const Place& place, Reader& reader, Weighing& out) {
  const Place densities(place, "densities");
  for (const AnalyteQuantity& one : out.densities.value_or(Assays()))
    if (at_least(value_of(reader, one.quantity), heaviest))
      reader.complain(
          Code::range, Place(densities, reader.analytes[one.analyte]),
          "so near to gold's density no other metal can be told from gold: it must be below 19 kg/L");
  if (out.air.index == 0 || out.water.index == 0) return;
  if (value_of(reader, out.water) >= value_of(reader, out.air))
    reader.complain(Code::range, Place(place, "water"),
                    "in water a bar weighs less than in air: are they exchanged?");
}
Form<Weighing> weighing_form() {
  const auto density = quantity(Dimension::density, Allowed::positive);
  return Fields<Weighing>()
      .need("air", &Weighing::air, mass())
      .need("water", &Weighing::water, mass())
      .may("water_density", &Weighing::water_density, density, "0.9982 kg/L")
      .may("densities", &Weighing::densities, analyte_quantities(density))
      .check([](const Value&, const Place& place, Reader& reader, Weighing& out) {
        if (out.densities && out.densities->empty())
          reader.complain(Code::range, Place(place, "densities"), "name at least one metal beside gold");
      })
      .check(check_weighing)
      .form("an object: the bar weighed in air and in water");
}

Form<MeltState> state_form() {
  return with_assays(Fields<MeltState>()
                         .need("mass", &MeltState::mass, mass())
                         .may("assays", &MeltState::assays, assays_form()))
      .form("an object: mass and assays");
}
Form<MeltDraft> melt_form() {
  return Fields<MeltDraft>()
      .need("what", &MeltDraft::what, text_form())
      .need("before", &MeltDraft::before, state_form())
      .need("after", &MeltDraft::after, state_form())
      .form("an object: what, before and after");
}

const AnalyteQuantity* find(const Assays& assays, Analyte analyte) {
  const auto at = std::find_if(assays.begin(), assays.end(),
                               [&](const AnalyteQuantity& one) { return one.analyte == analyte; });
  return at == assays.end() ? nullptr : &*at;
}

void check_request(const Value&, const Place& place, Reader& reader, Request& out) {
  if (!out.charge && !out.weighing && out.melts.empty())
    reader.complain(Code::missing_field, place, "one of charge, weighing and melts is wanted here");
  if (out.charge && out.to_bar.empty())
    reader.complain(Code::missing_field, place,
                    "a charge wants to_bar: what share of each metal goes to the bar");
  if (!out.charge && !out.to_bar.empty())
    reader.complain(Code::missing_field, place, "to_bar wants a charge");
  if (out.bar && !out.charge)
    reader.complain(Code::missing_field, place, "a bar as found wants the charge that it came from");
  const Place to_bar(place, "to_bar");
  for (const AnalyteQuantity& one : out.charge ? out.to_bar : Assays())
    if (find(out.charge->assays, one.analyte) == nullptr)
      reader.complain(Code::name, Place(to_bar, reader.analytes[one.analyte]),
                      "the charge was not assayed for " + reader.analytes[one.analyte]);
}

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(bar_format))
          .may("charge", &Request::charge, charge_form())
          .may("to_bar", &Request::to_bar, analyte_quantities(quantity(Dimension::share, Allowed::share)))
          .may("bar", &Request::bar, bar_form())
          .may("weighing", &Request::weighing, weighing_form())
          .may("melts", &Request::melts, list_of(melt_form(), 1))
          .check(check_request)
          .form("an object: charge and to_bar, weighing, or melts");
  return form;
}

// ---- What the charge promises ----------------------------------------------------------------

struct Promise {
  Figure mass;
  std::vector<Analyte> metals;
  std::vector<Figure> metal, fineness;  ///< of each
};

Promise promise_of(const Request& request, const Reader& reader) {
  const Charge& charge = *request.charge;
  Promise promise;
  std::vector<Figure> inputs{figure_of(reader, charge.mass), figure_of(reader, charge.moisture)};
  for (const AnalyteQuantity& one : request.to_bar) {
    promise.metals.push_back(one.analyte);
    inputs.push_back(figure_of(reader, find(charge.assays, one.analyte)->quantity));
    inputs.push_back(figure_of(reader, one.quantity));
  }
  const std::size_t n = promise.metals.size();
  const auto found = propagated(inputs, [n](const std::vector<double>& x) {
    std::vector<double> out(1 + 2 * n);
    for (std::size_t i = 0; i < n; ++i)
      out[0] += out[1 + i] = dry_mass(x[0], x[1]) * x[2 + 2 * i] * x[3 + 2 * i];
    for (std::size_t i = 0; i < n; ++i) out[1 + n + i] = out[0] > 0 ? out[1 + i] / out[0] : 0;
    return out;
  });
  promise.mass = found[0];
  promise.metal.assign(found.begin() + 1, found.begin() + 1 + static_cast<std::ptrdiff_t>(n));
  promise.fineness.assign(found.begin() + 1 + static_cast<std::ptrdiff_t>(n), found.end());
  return promise;
}

Figure promised(const Promise& promise, const std::vector<Figure>& of, Analyte metal) {
  const auto at = std::find(promise.metals.begin(), promise.metals.end(), metal);
  return at == promise.metals.end() ? Figure{} : of[static_cast<std::size_t>(at - promise.metals.begin())];
}

void write_promise(JsonText& out, const Promise& promise, const Reader& reader) {
  out.key("expected").open('{');
  write_figure(out, "mass", promise.mass, kilograms);
  out.key("fineness").open('{');
  for (std::size_t i = 0; i < promise.metals.size(); ++i)
    write_figure(out, reader.analytes[promise.metals[i]], promise.fineness[i], fine);
  out.close('}').key("metal").open('{');
  for (std::size_t i = 0; i < promise.metals.size(); ++i)
    write_figure(out, reader.analytes[promise.metals[i]], promise.metal[i], grams);
  out.close('}').close('}');
}

void write_found(JsonText& out, const std::string& what, const Figure& expected, const Figure& found,
                 AnswerUnit unit) {
  const double difference = found.value - expected.value, sd = std::hypot(found.sd, expected.sd);
  out.open('{').field("what", what);
  write_value(out, "expected", expected.value, unit);
  write_value(out, "found", found.value, unit);
  write_value(out, "difference", difference, unit);
  if (sd > 0) {
    write_value(out, "z", difference / sd, plain);
    out.field("verdict", verdict(Decimal(difference / sd)));
  }
  out.close('}');
}

void write_all_found(JsonText& out, const Bar& bar, const Promise& promise, const Reader& reader) {
  out.key("found").open('[');
  if (bar.mass) write_found(out, "mass", promise.mass, figure_of(reader, *bar.mass), kilograms);
  for (const AnalyteQuantity& one : bar.assays) {
    const std::string& name = reader.analytes[one.analyte];
    const Figure assay = figure_of(reader, one.quantity);
    write_found(out, name, promised(promise, promise.fineness, one.analyte), assay, fine);
    if (!bar.mass) continue;
    const Figure metal = propagated_one({figure_of(reader, *bar.mass), assay},
                                        [](const std::vector<double>& x) { return x[0] * x[1]; });
    write_found(out, name + " metal", promised(promise, promise.metal, one.analyte), metal, grams);
  }
  out.close(']');
}

// ---- What the density allows -----------------------------------------------------------------

constexpr double from_ideal = 0.01;  // share of the density that alloys depart from volumes that add up

struct Other {
  std::string name;
  Figure density;
};
std::vector<Other> others_of(const Weighing& weighing, const Reader& reader) {
  if (!weighing.densities) return {{"Ag", {silver_density, 0}}, {"Cu", {copper_density, 0}}};
  std::vector<Other> others;
  for (const AnalyteQuantity& one : *weighing.densities)
    others.push_back({reader.analytes[one.analyte], figure_of(reader, one.quantity)});
  return others;
}

double within_whole(double share) { return std::clamp(share, 0.0, 1.0); }

void caution_density(std::vector<Caution>& cautions, const Figure& density,
                     const std::vector<Other>& others) {
  cautions.push_back(
      {"weighing",
       "nothing is settled on density: hollows and slag in a bar read light, tungsten reads as "
       "gold, and a third metal reads as something else. Drill it and have it assayed."});
  double lightest = gold_density;
  for (const Other& one : others) lightest = std::min(lightest, one.density.value);
  if (above(density.value, gold_density))
    cautions.push_back({"weighing",
                        "denser than gold: weigh again, free of bubbles; or it holds platinum metals or "
                        "tungsten."});
  if (above(lightest, density.value))
    cautions.push_back(
        {"weighing", "lighter than any of these metals: hollow, or slag in it, or not a bar of gold."});
}

void write_weighing(JsonText& out, const Weighing& weighing, const Reader& reader,
                    std::vector<Caution>& cautions) {
  const Figure density =
      propagated_one({figure_of(reader, weighing.air), figure_of(reader, weighing.water),
                      figure_of(reader, weighing.water_density)},
                     [](const std::vector<double>& x) { return density_by_water(x[0], x[1], x[2]); });
  const std::vector<Other> others = others_of(weighing, reader);
  const double margin = 2 * density.sd + from_ideal * density.value;
  double low = 1, high = 0;
  for (const Other& one : others) {
    low = std::min(
        low, within_whole(gold_by_density(
                 std::max(density.value - margin, std::numeric_limits<double>::min()), one.density.value)));
    high = std::max(high, within_whole(gold_by_density(density.value + margin, one.density.value)));
  }
  out.key("weighing").open('{');
  write_figure(out, "density", density, kilograms_per_litre);
  out.key("Au").open('{');
  write_value(out, "low", low, fine), write_value(out, "high", high, fine);
  out.close('}').key("if").open('{');
  for (const Other& one : others)
    write_figure(out, one.name,
                 propagated_one({density, one.density},
                                [](const std::vector<double>& x) { return gold_by_density(x[0], x[1]); }),
                 fine);
  out.close('}').close('}');
  caution_density(cautions, density, others);
}

// ---- What melts lose -------------------------------------------------------------------------

Figure loss(const std::vector<Figure>& before, const std::vector<Figure>& after) {
  std::vector<Figure> inputs = before;
  inputs.insert(inputs.end(), after.begin(), after.end());
  const std::size_t n = before.size();
  return propagated_one(inputs, [n](const std::vector<double>& x) {
    double was = 1, is = 1;
    for (std::size_t i = 0; i < n; ++i) was *= x[i], is *= x[n + i];
    return melt_loss(was, is);
  });
}

void caution_gain(std::vector<Caution>& cautions, const MeltDraft& melt, const std::string& metal,
                  const Figure& loss) {
  if (above(-loss.value, 2 * loss.sd) && above(-loss.value, 0.0))
    cautions.push_back(
        {melt.what, "the melt seems to have made " + metal + ": an assay or a weighing is wrong."});
}

void write_melt(JsonText& out, const MeltDraft& melt, const Reader& reader, std::vector<Caution>& cautions) {
  const Figure before = figure_of(reader, melt.before.mass), after = figure_of(reader, melt.after.mass);
  out.open('{').field("what", melt.what);
  write_figure(out, "weight_loss", loss({before}, {after}), percent);
  bool open = false;  // left out where no metal was assayed before and after
  for (const AnalyteQuantity& one : melt.before.assays) {
    const AnalyteQuantity* later = find(melt.after.assays, one.analyte);
    const Figure assay = figure_of(reader, one.quantity);
    if (later == nullptr || !(assay.value > 0)) continue;
    if (!std::exchange(open, true)) out.key("metal_loss").open('{');
    const Figure lost = loss({before, assay}, {after, figure_of(reader, later->quantity)});
    write_figure(out, reader.analytes[one.analyte], lost, percent);
    caution_gain(cautions, melt, reader.analytes[one.analyte], lost);
  }
  if (open) out.close('}');
  out.close('}');
}

// ---- The answer ------------------------------------------------------------------------------

std::string answer(const Value& document, Reader& reader, const Watch&) {
  Request request;
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {};
  std::vector<Caution> cautions;
  JsonText out;
  out.open('{').field("format", bar_check_format);
  if (request.charge) {
    const Promise promise = promise_of(request, reader);
    write_promise(out, promise, reader);
    if (request.bar) write_all_found(out, *request.bar, promise, reader);
  }
  if (request.weighing) write_weighing(out, *request.weighing, reader, cautions);
  if (!request.melts.empty()) {
    out.key("melts").open('[');
    for (const MeltDraft& melt : request.melts) write_melt(out, melt, reader, cautions);
    out.close(']');
  }
  write_cautions(out, cautions);
  return out.close('}').take();
}

Json schema() { return whole_schema("A bar to check, for Buttonworth, format 1", request_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, fineness = figure_in(fine), share = figure_in(percent);
  const Json found = object_of({{"what", text},
                                {"expected", text},
                                {"found", text},
                                {"difference", text},
                                {"z", value_in(plain)},
                                {"verdict", verdict_schema()}},
                               {"z", "verdict"});
  return whole_schema("A bar checked by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of(
        {{"format", {{"const", bar_check_format}}},
         {"expected", object_of({{"mass", figure_in(kilograms)},
                                 {"fineness", named(fineness)},
                                 {"metal", named(figure_in(grams))}})},
         {"found", list(found)},
         {"weighing", object_of({{"density", figure_in(kilograms_per_litre)},
                                 {"Au", object_of({{"low", value_in(fine)}, {"high", value_in(fine)}})},
                                 {"if", named(fineness)}})},
         {"melts", list(object_of({{"what", text}, {"weight_loss", share}, {"metal_loss", named(share)}},
                                  {"metal_loss"}))},
         {"cautions", cautions()}},
        {"expected", "found", "weighing", "melts"});
  });
}

}  // namespace

const BenchRequest bar_request{bar_format, answer, "bar", schema, "bar-check", answer_schema};

}  // namespace buttonworth
