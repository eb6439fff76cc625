#include "document/plan_document.hpp"

#include <algorithm>

#include "document/heading_form.hpp"
#include "document/steps_form.hpp"
#include "document/terms_form.hpp"
#include "material/listed.hpp"

namespace buttonworth {
namespace {

constexpr const char* plan_format = "buttonworth-plan/1";

struct PlanReader : Reader {
  using Reader::Reader;
  Plan plan;
  std::vector<std::string> kindless;  ///< steps that could not be read, told once
};
bool is_kindless(const Reader& reader, const Step& step) {
  const auto& names = static_cast<const PlanReader&>(reader).kindless;
  return std::find(names.begin(), names.end(), step.basics.name) != names.end();
}
Plan& plan_of(Reader& reader) { return static_cast<PlanReader&>(reader).plan; }

// ---- The lot ---------------------------------------------------------------------------------

Form<std::vector<AnalyteQuantity>> assays_form() {
  return analyte_quantities(quantity(Dimension::grade, Allowed::share));
}

void mark_assayed(const LotPart& part, std::vector<char>& assayed) {
  for (const auto& one : part.assays) assayed[one.analyte] = 1;
  for (const LotPart& inner : part.parts) mark_assayed(inner, assayed);
}

std::string part_text(const std::vector<LotPart>& parts, std::size_t i) {
  return std::to_string(i + 1) + (parts[i].id.empty() ? "" : " (" + parts[i].id + ")");
}

/// "part 2", "parts 2 and 5", "parts 2, 5, 6 and 14 more".
std::string parts_text(const std::vector<LotPart>& parts, const std::vector<std::size_t>& which) {
  return (which.size() == 1 ? "part " : "parts ") +
         listed(which.size(), [&](std::size_t k) { return part_text(parts, which[k]); });
}

/// An analyte assayed in one part and not in another counts 0 there, which a person should know.
void caution_missing(const LotPart& part, Reader& reader) {
  if (part.parts.empty()) return;
  std::vector<std::vector<char>> assayed(part.parts.size(), std::vector<char>(reader.analytes.size(), 0));
  for (std::size_t i = 0; i < part.parts.size(); ++i) mark_assayed(part.parts[i], assayed[i]);
  for (Analyte a = 0; a < reader.analytes.size(); ++a) {
    std::vector<std::size_t> missing;
    for (std::size_t i = 0; i < part.parts.size(); ++i)
      if (assayed[i][a] == 0) missing.push_back(i);
    if (missing.empty() || missing.size() == part.parts.size()) continue;
    plan_of(reader).document_cautions.push_back(reader.analytes[a] + " was not assayed in " +
                                                parts_text(part.parts, missing) + " and counts as 0 there.");
  }
}

template <class T>
Fields<T> part_fields(const Form<LotPart>& part) {
  return Fields<T>()
      .template effect<StatedFactors>("factors", factors_form(), put_in_force)
      .may("id", &T::id, text_form())
      .may("date", &T::date, date_form())
      .may("wet_mass", &T::wet_mass, quantity(Dimension::mass, Allowed::positive))
      .may("moisture", &T::moisture, quantity(Dimension::share, Allowed::below_all), "0 %")
      .may("assays", &T::assays, assays_form())
      .may("parts", &T::parts, list_of(part, 1))
      .one_of({"wet_mass", "parts"})
      .not_both("parts", "moisture")
      .not_both("parts", "assays")
      .check([](const Value&, const Place& place, Reader& reader, T& out) {
        require_within_whole(out.assays, place, reader);
        caution_missing(out, reader);
      });
}

const Form<LotPart>& part_form() {
  static const Form<LotPart> form = defined<LotPart>(
      "part", {[](const Value& value, const Place& place, Reader& reader, LotPart& out) {
                 static const auto read = with_own_factors(part_fields<LotPart>(part_form()).form());
                 read.read(value, place, reader, out);
               },
               [](SchemaBook& book) { return part_fields<LotPart>(part_form()).schema(book); }});
  return form;
}

constexpr const char* reserved_names[] = {"lot", "step", "sell", "return", "keep"};

Form<std::vector<Pieces>> pieces_form() {
  const auto fields =
      with_own_factors(Fields<Pieces>()
                           .effect<StatedFactors>("factors", factors_form(), put_in_force)
                           .need("mass", &Pieces::mass, quantity(Dimension::mass, Allowed::positive))
                           .need("assays", &Pieces::assays, assays_form())
                           .check([](const Value&, const Place& place, Reader& reader, Pieces& out) {
                             require_within_whole(out.assays, place, reader);
                             for (const char* name : reserved_names)
                               if (out.name == name)
                                 reader.complain(Code::conflict, place,
                                                 "pieces cannot be named " + out.name +
                                                     ": a route could not tell them from its own words");
                           })
                           .form());
  return map_of<Pieces>(
      fields, [](Reader&, const std::string& name, Pieces& out) { out.name = name; },
      "an object from names to pieces");
}

Form<Lot> lot_form() {
  return with_own_factors(part_fields<Lot>(part_form())
                              .may("apart", &Lot::apart, pieces_form())
                              .may("credited", &Lot::credited, quantity(Dimension::money))
                              .form());
}

// ---- Routes ----------------------------------------------------------------------------------

template <class T>
std::vector<std::string> names_of(const std::vector<T>& things) {
  std::vector<std::string> names;
  for (const T& one : things) {
    if constexpr (std::same_as<T, Step>) names.push_back(one.basics.name);
    else names.push_back(one.name);
  }
  return names;
}

/// The index of a thing a route names, or nothing and a complaint.
std::optional<std::size_t> refer(const Value& value, const Place& place, Reader& reader,
                                 const std::vector<std::string>& names, const std::string& what) {
  if (!require_kind(value, Value::Kind::text, place, reader, "the name of " + what)) return std::nullopt;
  const auto found = std::find(names.begin(), names.end(), value.text);
  if (found != names.end()) return static_cast<std::size_t>(found - names.begin());
  reader.complain(Code::name, place,
                  "there is no " + what + " named " + value.text + nearest_text(value.text, names));
  return std::nullopt;
}

std::unique_ptr<Node> read_node(const Value& value, const Place& place, Reader& reader, std::int64_t depth);

/// Whether the step certainly makes none of this output, so that a route may leave it out.
bool makes_none(const Step& step, std::size_t output, const Reader& reader) {
  if (auto* table = std::get_if<Table>(&step.kind)) {
    if (output == 1) return reader.mean(table->middlings) == 0;
    if (output == 2) return table->cut.how == Cut::How::pull && reader.mean(table->cut.target) >= 1;
    return false;
  }
  if (auto* split = std::get_if<Split>(&step.kind)) {
    if (output != split->rest)
      return split->outputs[output].mass && reader.mean(*split->outputs[output].mass) == 0;
    Decimal taken = 0;
    for (const SplitOutput& one : split->outputs)
      if (one.mass) taken += reader.mean(*one.mass);
    return at_least(taken, Decimal(1));
  }
  return std::holds_alternative<Melt>(step.kind) && output == 1;  // known only once it is melted
}

void read_worked(const Value& value, const Place& place, Reader& reader, std::int64_t depth, Worked& out) {
  const Plan& plan = plan_of(reader);
  const auto step = refer(*value.find("step"), Place(place, "step"), reader, names_of(plan.steps), "step");
  if (!step) return;
  out.step = *step;
  if (is_kindless(reader, plan.steps[*step])) {
    each_member(value, place, [&](const std::string& key, const Value& node, const Place& at) {
      if (key != "step") read_node(node, at, reader, depth + 1);
    });
    return;
  }
  const std::vector<std::string> names = output_names(plan.steps[*step]);
  for (std::size_t i = 0; i < names.size(); ++i) {
    auto& node = out.outputs.emplace_back();
    if (const Value* output = value.find(names[i]))
      node = read_node(*output, Place(place, names[i]), reader, depth + 1);
    else if (!makes_none(plan.steps[*step], i, reader))
      reader.complain(Code::missing_field, place,
                      "the route does not say what happens to the " + names[i] + " of step " +
                          plan.steps[*step].basics.name);
  }
  each_member(value, place, [&](const std::string& key, const Value&, const Place& at) {
    if (key != "step" && std::find(names.begin(), names.end(), key) == names.end())
      reader.complain(
          Code::unknown_field, at,
          "step " + plan.steps[*step].basics.name + " makes no " + key + nearest_text(key, names));
  });
}

Form<Returned> return_form() {
  return Fields<Returned>()
      .need("return", &Returned::shares, analyte_quantities(quantity(Dimension::share, Allowed::share)))
      .may("after", &Returned::after, quantity(Dimension::time, Allowed::not_negative, Companion::discount),
           "0 d")
      .check([](const Value&, const Place& place, Reader& reader, Returned& out) {
        const Plan& plan = plan_of(reader);
        for (const auto& [analyte, share] : out.shares) {
          const Place shares(place, "return");
          if (analyte >= plan.prices.size() || !plan.prices[analyte])
            reader.complain(Code::name, Place(shares, reader.analytes[analyte]),
                            "prices has no price of " + reader.analytes[analyte] + " to credit it at");
        }
      })
      .form();
}

void read_end(const Value& value, const Place& place, Reader& reader, Node& out) {
  static const auto returns = return_form();
  if (value.find("return") != nullptr)
    return returns.read(value, place, reader, out.what.emplace<Returned>());
  const bool sells = value.find("sell") != nullptr;
  if (sells) {
    const auto terms =
        refer(*value.find("sell"), Place(place, "sell"), reader, names_of(plan_of(reader).terms), "terms");
    out.what = SoldTo{terms.value_or(0)};
  } else {
    out.what = Kept{};
    const Value& keep = *value.find("keep");
    if (keep.kind != Value::Kind::boolean || !keep.boolean)
      reader.complain(Code::type, Place(place, "keep"), "keep is written \"keep\": true");
  }
  each_member(value, place, [&](const std::string& key, const Value&, const Place& at) {
    if (key != (sells ? "sell" : "keep"))
      reader.complain(
          Code::unknown_field, at,
          "nothing follows " + std::string(sells ? "sell" : "keep") + ", so there is no " + key + " here");
  });
}

std::unique_ptr<Node> read_node(const Value& value, const Place& place, Reader& reader, std::int64_t depth) {
  auto node = std::make_unique<Node>();
  const std::string wanted = "an object with step, sell, return or keep";
  if (!require_kind(value, Value::Kind::object, place, reader, wanted)) return node;
  if (depth > reader.limits.route_steps) {
    reader.complain(Code::limit, place,
                    "more than " + std::to_string(reader.limits.route_steps) + " nodes on one way");
    return node;
  }
  std::vector<std::string> found;
  for (const char* word : {"step", "sell", "return", "keep"})
    if (value.find(word) != nullptr) found.emplace_back(word);
  if (found.size() > 1) {
    reader.complain(Code::conflict, place,
                    found[0] + " and " + found[1] + " exclude each other: a node is one of them");
  } else if (found.empty()) {
    reader.complain(Code::missing_field, place, "one of step, sell, return or keep is wanted here");
  } else if (found[0] == "step") {
    read_worked(value, place, reader, depth, node->what.emplace<Worked>());
  } else {
    read_end(value, place, reader, *node);
  }
  return node;
}

/// With pieces apart a route says where each goes, beside the lot.
void read_route_with_pieces(const Value& value, const Place& place, Reader& reader, Route& out) {
  const Plan& plan = plan_of(reader);
  std::vector<std::string> names{"lot"};
  for (const Pieces& pieces : plan.lot.apart) names.push_back(pieces.name);
  for (const std::string& name : names) {
    std::unique_ptr<Node> node;
    if (const Value* way = value.find(name)) node = read_node(*way, Place(place, name), reader, 1);
    else
      reader.complain(
          Code::missing_field, place,
          "the lot has pieces apart, so a route has a node for each; the one for " + name + " is missing");
    if (name == "lot") out.lot.node = std::move(node);
    else out.apart.push_back({std::move(node), false});
  }
  each_member(value, place, [&](const std::string& key, const Value&, const Place& at) {
    if (std::find(names.begin(), names.end(), key) == names.end())
      reader.complain(Code::unknown_field, at,
                      "the lot has no pieces named " + key + nearest_text(key, names));
  });
}

void number_tables(Node* node, const Plan& plan, Route& route) {
  auto* worked = node != nullptr ? std::get_if<Worked>(&node->what) : nullptr;
  if (worked == nullptr || worked->step >= plan.steps.size()) return;
  if (auto* table = std::get_if<Table>(&plan.steps[worked->step].kind)) {
    worked->visit = route.tables.size();
    if (table->cut.how == Cut::How::best) route.searched.push_back(worked->visit);
    route.tables.push_back(worked->step);
  }
  for (auto& output : worked->outputs) number_tables(output.get(), plan, route);
}

void number_way(Way& way, const Plan& plan, Route& route) {
  const std::size_t before = route.searched.size();
  number_tables(way.node.get(), plan, route);
  way.searched = route.searched.size() > before;
}

Json node_schema(SchemaBook& book) {
  const Json name{{"type", "string"}};
  const Json note = Json::object();
  Json returned = return_form().schema(book);
  const Json node{{"$ref", "#/definitions/node"}};
  auto object = [](const Json& properties, const Json& required, const Json& others) {
    return Json{{"type", "object"},
                {"properties", properties},
                {"required", required},
                {"additionalProperties", others}};
  };
  Json worked = object({{"note", note}, {"step", name}}, {"step"}, node);
  worked["not"] = {
      {"anyOf",
       {Json{{"required", {"sell"}}}, Json{{"required", {"return"}}}, Json{{"required", {"keep"}}}}}};
  return {{"oneOf",
           {worked, object({{"note", note}, {"sell", name}}, {"sell"}, false), returned,
            object({{"note", note}, {"keep", {{"const", true}}}}, {"keep"}, false)}}};
}

Form<Route> route_form() {
  const Form<Route> node = defined<Route>("node", {nullptr, node_schema});
  return {[](const Value& value, const Place& place, Reader& reader, Route& out) {
            if (!require_kind(value, Value::Kind::object, place, reader, "an object")) return;
            Plan& plan = plan_of(reader);
            // An output of a split may be named lot.
            const bool by_goods = value.find("lot") != nullptr && value.find("step") == nullptr;
            if (!plan.lot.apart.empty() || by_goods) read_route_with_pieces(value, place, reader, out);
            else out.lot.node = read_node(value, place, reader, 1);
            number_way(out.lot, plan, out);
            for (Way& pieces : out.apart) number_way(pieces, plan, out);
          },
          [node](SchemaBook& book) {
            const Json one = node.schema(book);
            return Json{{"oneOf",
                         {one, Json{{"type", "object"},
                                    {"required", {"lot"}},
                                    {"properties", {{"note", Json::object()}}},
                                    {"additionalProperties", one}}}}};
          }};
}

// ---- What only the whole plan can tell -------------------------------------------------------

void note_assayed(const LotPart& part, std::vector<bool>& assayed) {
  for (const auto& one : part.assays) assayed[one.analyte] = true;
  for (const LotPart& inner : part.parts) note_assayed(inner, assayed);
}

void give_prices(const Place& place, Reader& reader) {
  const Place all(place, "terms");
  for (Terms& terms : plan_of(reader).terms)
    give_prices(plan_of(reader).prices, terms, Place(all, terms.name), reader);
}

void note_untested(Plan& plan) {
  for (Terms& terms : plan.terms)
    for (Analyte a : limited(terms))
      if (!plan.assayed[a] &&
          std::find(terms.untested.begin(), terms.untested.end(), a) == terms.untested.end())
        terms.untested.push_back(a);
}

/// Nothing of value or danger follows the gangue unsaid.
std::vector<bool> analytes_that_matter(const Plan& plan, std::size_t count) {
  std::vector<bool> matter(count, false);
  for (const Terms& terms : plan.terms)
    for (Analyte a : analytes_of(terms)) matter[a] = true;
  for (const Step& step : plan.steps)
    if (auto* melt = std::get_if<Melt>(&step.kind))
      for (const auto* shares : {&melt->to_bar, &melt->to_fume, &melt->slag_grade})
        for (const MeltShare& one : *shares) matter[one.analyte] = true;
  return matter;
}

void require_curves(const Place& place, Reader& reader) {
  const Plan& plan = plan_of(reader);
  const std::vector<bool> matter = analytes_that_matter(plan, reader.analytes.size());
  std::vector<bool> in_lot(reader.analytes.size(), false);
  note_assayed(plan.lot, in_lot);
  for (const Step& step : plan.steps) {
    auto* table = std::get_if<Table>(&step.kind);
    if (table == nullptr || is_kindless(reader, step)) continue;
    const Place steps(place, "steps"), at(steps, step.basics.name);
    for (Analyte a = 0; a < matter.size(); ++a) {
      const bool entered = std::any_of(table->curves.begin(), table->curves.end(),
                                       [&](const AnalyteCurve& entry) { return entry.analyte == a; });
      if (matter[a] && in_lot[a] && !entered)
        reader.complain(Code::missing_field, Place(at, "curve"),
                        "the curve of " + reader.analytes[a] +
                            " is missing: a buyer or a melt names it, so say how it goes (points, odds, "
                            "logit, limit_recovery, as, or as gangue)");
    }
  }
}

Form<std::vector<AnalyteQuantity>> prices_form() { return analyte_quantities(quantity(Dimension::price)); }

/// Reads a part of the plan straight into it.
template <class T>
Form<bool> into(T Plan::*member, Form<T> form) {
  return {[=](const Value& value, const Place& place, Reader& reader, bool&) {
            form.read(value, place, reader, plan_of(reader).*member);
          },
          form.schema};
}

void name_step(Reader&, const std::string& name, Step& out) { out.basics.name = name; }
void name_terms(Reader&, const std::string& name, Terms& out) { out.name = name; }
void name_route(Reader&, const std::string& name, Route& out) { out.name = name; }

Form<bool> prices_into_plan() {
  const auto form = prices_form();
  return {[form](const Value& value, const Place& place, Reader& reader, bool&) {
            std::vector<AnalyteQuantity> prices;
            form.read(value, place, reader, prices);
            MarketPrices& all = plan_of(reader).prices;
            all.resize(reader.analytes.size());
            for (const auto& [analyte, price] : prices)
              all[analyte] = price;  // an unreadable one was told already
          },
          form.schema};
}

Form<bool> at_least_one_route(const Form<bool>& routes) {
  return {[routes](const Value& value, const Place& place, Reader& reader, bool& out) {
            routes.read(value, place, reader, out);
            if (value.kind == Value::Kind::object && plan_of(reader).routes.empty())
              reader.complain(Code::range, place, "there is no route to work out: name at least one");
          },
          [routes](SchemaBook& book) {
            Json schema = routes.schema(book);
            schema["minProperties"] = 1;
            return schema;
          }};
}

Form<Step> step_in_plan() {
  return {[](const Value& value, const Place& place, Reader& reader, Step& out) {
            step_form().read(value, place, reader, out);
            if (!has_kind(value)) static_cast<PlanReader&>(reader).kindless.push_back(out.basics.name);
          },
          step_form().schema};
}

struct Document {
  std::string format;
  std::vector<CurrencyWorth> exchange;
  bool prices = false, lot = false, steps = false, terms = false, levies = false, routes = false,
       discount = false, day = false, currency = false;
};

/// The fields of a plan in the order they are read: what others refer to comes first.
const Form<Document>& plan_form() {
  static const Form<Document> form =
      Fields<Document>()
          .need("format", &Document::format, format_form(plan_format))
          .need("currency", &Document::currency, into(&Plan::currency, currency_form()))
          .may("exchange", &Document::exchange, exchange_form())
          .may("prices", &Document::prices, prices_into_plan())
          .need("discount", &Document::discount, into(&Plan::discount, quantity(Dimension::annual)))
          .may("day", &Document::day,
               into(&Plan::day, quantity(Dimension::time, Allowed::positive, Companion::reciprocal)), "24 h")
          .need("lot", &Document::lot, into(&Plan::lot, lot_form()))
          .may("steps", &Document::steps,
               into(&Plan::steps, map_of<Step>(step_in_plan(), name_step, "an object from names to steps")))
          .may("terms", &Document::terms,
               into(&Plan::terms,
                    map_of<Terms>(terms_form(), name_terms, "an object from names to terms of sale")))
          .may("levies", &Document::levies, into(&Plan::levies, list_of(levy_form())))
          .need("routes", &Document::routes,
                at_least_one_route(into(&Plan::routes, map_of<Route>(route_form(), name_route,
                                                                     "an object from names to routes"))))
          .check(
              [](const Value&, const Place& place, Reader& reader, Document&) { give_prices(place, reader); })
          .check([](const Value&, const Place& place, Reader& reader, Document&) {
            require_curves(place, reader);
          })
          .form("an object: a plan");
  return form;
}

/// Repeated determinations below four are drawn as a normal, which understates the tails.
void caution_few_determinations(const QuantityTable& quantities, std::vector<std::string>& cautions) {
  for (std::size_t i = 1; i < quantities.size(); ++i) {
    const Distribution* d = quantities.at(i).spread.get();
    if (d != nullptr && d->shape == Distribution::Shape::determinations && d->determinations.size() < 4)
      cautions.push_back("A value rests on " + std::to_string(d->determinations.size()) +
                         " determinations (mean " + quantities.at(i).text +
                         "): four or more say how sure it is.");
  }
}

void finish(PlanReader& reader) {
  Plan& plan = reader.plan;
  const std::size_t count = reader.analytes.size();
  plan.prices.resize(count);
  plan.assayed.assign(count, false);
  note_assayed(plan.lot, plan.assayed);
  for (const Pieces& pieces : plan.lot.apart)
    for (const auto& one : pieces.assays) plan.assayed[one.analyte] = true;
  for (Analyte a = 0; a < count; ++a) {
    plan.hazards.push_back(hazard_of(reader.analytes[a]));
    plan.mercury_assayed |= reader.analytes[a] == "Hg" && plan.assayed[a];
  }
  note_untested(plan);
  caution_few_determinations(reader.quantities, plan.document_cautions);
  plan.analytes = std::move(reader.analytes);
  plan.quantities = std::move(reader.quantities);
}

// ---- Options ---------------------------------------------------------------------------------

struct OptionsDraft {
  std::optional<bool> how;
  std::optional<bool> in_decimal;
  std::optional<std::vector<std::string>> routes;
};

const Form<OptionsDraft>& options_form() {
  static const Form<OptionsDraft> form =
      Fields<OptionsDraft>()
          .may("how", &OptionsDraft::how, boolean_form())
          .may("arithmetic", &OptionsDraft::in_decimal, choice<bool>({{"decimal", true}, {"double", false}}))
          .may("routes", &OptionsDraft::routes, route_names_form())
          .form("an object of options");
  return form;
}

}  // namespace

PlanReading read_plan(const Value& document, const DocumentLimits& limits, bool keeps_places) {
  PlanReader reader(limits);
  reader.keeps_places = keeps_places;
  Document draft;
  plan_form().read(document, Place(), reader, draft);
  if (!reader.complaints.empty()) return {nullptr, std::move(reader.complaints)};
  finish(reader);
  return {std::make_shared<const Plan>(std::move(reader.plan)), {}};
}

Json plan_schema() { return whole_schema("A Buttonworth plan, format 1", plan_form().schema); }

Form<std::vector<std::string>> route_names_form() {
  auto form = list_of(text_form(), 1);
  form.schema = [names = form.schema](SchemaBook& book) {
    Json schema = names(book);
    schema["uniqueItems"] = true;
    return schema;
  };
  return form;
}

std::vector<std::size_t> routes_named(const std::vector<std::string>& names, const Plan& plan,
                                      const Place& place, Reader& reader) {
  const std::vector<std::string> known = names_of(plan.routes);
  std::vector<std::size_t> routes;
  for (std::size_t i = 0; i < names.size(); ++i) {
    const std::string& name = names[i];
    const auto found = std::find(known.begin(), known.end(), name);
    const auto first = std::find(names.begin(), names.end(), name) - names.begin();
    if (found == known.end())
      reader.complain(Code::name, Place(place, i),
                      "the plan has no route " + name + nearest_text(name, known));
    else if (static_cast<std::size_t>(first) < i)
      reader.complain(Code::repeated, Place(place, i),
                      "the route " + name + " stands twice: remove one of the two");
    else routes.push_back(static_cast<std::size_t>(found - known.begin()));
  }
  return routes;
}

RequestedComparison read_compare_options(const std::optional<Value>& document, const Plan& plan,
                                         const DocumentLimits& limits, std::vector<Complaint>& complaints) {
  RequestedComparison request;
  if (!document) return request;
  Reader reader(limits);
  OptionsDraft draft;
  options_form().read(*document, Place(), reader, draft);
  request.options.how = draft.how.value_or(true);
  request.in_decimal = draft.in_decimal.value_or(true);
  const Place root;
  if (draft.routes) request.options.routes = routes_named(*draft.routes, plan, Place(root, "routes"), reader);
  for (Complaint& one : reader.complaints) complaints.push_back({Code::usage_options, one.pointer, one.text});
  return request;
}

Json options_schema() { return whole_schema("Options of a comparison", options_form().schema); }

}  // namespace buttonworth
