#include <algorithm>

#include "bench/flux.hpp"
#include "document/bench_document.hpp"
#include "document/bench_figures.hpp"
#include "document/heading_form.hpp"
#include "document/schema_parts.hpp"
#include "document/steps_form.hpp"
#include "document/terms_form.hpp"
#include "material/formula.hpp"

namespace buttonworth {
namespace {

using namespace answer_units;

constexpr const char* charge_format = "buttonworth-charge/1";
constexpr const char* flux_format = "buttonworth-flux/1";

// ---- The request -----------------------------------------------------------------------------

struct ChargeDraft {
  Quantity mass;
  std::vector<AnalyteQuantity> minerals;
};
struct FluxDraft {
  std::string reagent;
  Quantity dose;
  std::optional<bool> of_charge;
  std::optional<Quantity> price;
};
struct OxidisingDraft {
  std::string with;
  SulphurTo sulphur_to = SulphurTo::dioxide;
  std::optional<Quantity> excess;
  bool ore_oxygen = false;
};
struct ReagentPrice {
  std::string reagent;
  Quantity price;
};
struct RetreatmentDraft {
  std::vector<AnalyteQuantity> recovery;
  Quantity cost;
};
struct Request {
  std::string format;
  std::optional<std::string> currency;
  std::vector<CurrencyWorth> exchange;
  ChargeDraft charge;
  std::vector<FluxDraft> flux;
  std::optional<double> degree;
  std::optional<OxidisingDraft> oxidise;
  std::vector<ReagentPrice> reagent_prices;
  std::vector<AnalyteQuantity> slag_grade, prices;
  std::optional<RetreatmentDraft> retreatment;
  std::optional<Crucible> crucible;
};

bool holds_mercury(std::string_view formula) { return hazard_of(formula).mercury; }

void refuse_mercury(const Place& place, Reader& reader) {
  reader.complain(Code::mercury, place,
                  "mercury does not go into a furnace: a retort and licensed handling come first");
}

void check_minerals(const Value&, const Place& place, Reader& reader, ChargeDraft& out) {
  const Place minerals(place, "minerals");
  Decimal sum = 0;
  for (const auto& [analyte, share] : out.minerals) {
    const std::string& name = reader.analytes[analyte];
    const std::string_view formula = mineral_formula(name);
    if (formula.empty())
      reader.complain(
          Code::name, Place(minerals, name),
          name + " is no mineral of the list and no formula" + nearest_text(name, mineral_names()));
    sum += reader.quantities[share].mean;
    if (holds_mercury(formula) && reader.quantities[share].mean > 0)
      refuse_mercury(Place(minerals, name), reader);
  }
  if (above(sum, Decimal(1)))
    reader.complain(
        Code::assays, minerals,
        "the minerals add up to " + Figures<Decimal>::percent_text(sum) +
            ", over 100 %: check their units, and that a metal is not counted in its mineral too");
}

Form<ChargeDraft> charge_form() {
  return Fields<ChargeDraft>()
      .need("mass", &ChargeDraft::mass, quantity(Dimension::mass, Allowed::positive))
      .need("minerals", &ChargeDraft::minerals,
            analyte_quantities(quantity(Dimension::grade, Allowed::share)))
      .check(check_minerals)
      .form("an object: mass, and minerals with their shares");
}

void check_reagent(const std::string& name, const Place& place, Reader& reader) {
  if (name.empty()) return;
  const std::string_view formula = reagent_formula(name);
  if (formula.empty())
    return reader.complain(
        Code::name, place,
        name + " is no reagent of the list and no formula" + nearest_text(name, reagent_names()));
  if (holds_mercury(formula)) return refuse_mercury(place, reader);
  if (above(left_in_slag(formula), 1.0))
    reader.complain(Code::range, place,
                    name + " takes up oxygen and is no flux: count it among the charge's minerals");
}

Form<FluxDraft> flux_form() {
  return Fields<FluxDraft>()
      .need("reagent", &FluxDraft::reagent, text_form())
      .need("dose", &FluxDraft::dose, quantity(Dimension::dose))
      .may("of", &FluxDraft::of_charge, choice<bool>({{"charge", true}}))
      .may("price", &FluxDraft::price, quantity(Dimension::price))
      .check([](const Value&, const Place& place, Reader& reader, FluxDraft& out) {
        check_reagent(out.reagent, Place(place, "reagent"), reader);
      })
      .form("an object: reagent and dose");
}

/// A plain number, or its name.
Form<double> degree_form() {
  constexpr double highest = 6;
  const auto number = plain_number(Allowed::positive);
  return {[number](const Value& value, const Place& place, Reader& reader, double& out) {
            for (const SilicateDegree& one : silicate_degrees)
              if (value.kind == Value::Kind::text && value.text == one.name) {
                out = one.degree;
                return;
              }
            if (value.kind == Value::Kind::text && read_number(without_spaces(value.text)).length == 0) {
              std::vector<std::string> names;
              for (const SilicateDegree& one : silicate_degrees) names.emplace_back(one.name);
              return reader.complain(
                  Code::quantity, place,
                  '"' + value.text.substr(0, 60) +
                      "\" is no silicate degree: write a number, as in \"1.5\", or its name" +
                      nearest_text(value.text, names));
            }
            Decimal read = 1;
            number.read(value, place, reader, read);
            out = to_double(read);
            if (out > highest)
              reader.complain(Code::range, place,
                              "a degree is above 0 and at most 6; slags are made up to a trisilicate, 3");
          },
          [number](SchemaBook& book) {
            Json names = Json::array();
            for (const SilicateDegree& one : silicate_degrees) names.push_back(one.name);
            return Json{{"anyOf", {number.schema(book), Json{{"enum", names}}}}};
          }};
}

Form<OxidisingDraft> oxidising_form() {
  return Fields<OxidisingDraft>()
      .need("with", &OxidisingDraft::with,
            choice<std::string>(
                {{"potassium nitrate", "potassium nitrate"}, {"sodium nitrate", "sodium nitrate"}}))
      .may("sulphur_to", &OxidisingDraft::sulphur_to,
           choice<SulphurTo>({{"sulphur dioxide", SulphurTo::dioxide}, {"sulphate", SulphurTo::sulphate}}))
      .may("excess", &OxidisingDraft::excess, quantity(Dimension::share))
      .may("ore_oxygen", &OxidisingDraft::ore_oxygen, boolean_form())
      .form("an object: with what nitrate");
}

Form<std::vector<ReagentPrice>> reagent_prices_form() {
  const auto price = quantity(Dimension::price);
  const Form<ReagentPrice> one{
      [price](const Value& value, const Place& place, Reader& reader, ReagentPrice& out) {
        check_reagent(out.reagent, place, reader);
        price.read(value, place, reader, out.price);
      },
      price.schema};
  return map_of<ReagentPrice>(
      one, [](Reader&, const std::string& name, ReagentPrice& out) { out.reagent = name; },
      "an object from reagents to prices");
}

Form<RetreatmentDraft> retreatment_form() {
  return Fields<RetreatmentDraft>()
      .need("recovery", &RetreatmentDraft::recovery,
            analyte_quantities(quantity(Dimension::share, Allowed::share)))
      .need("cost", &RetreatmentDraft::cost, quantity(Dimension::price))
      .form("an object: recovery and cost");
}

const AnalyteQuantity* entry_of(const std::vector<AnalyteQuantity>& list, Analyte analyte) {
  for (const AnalyteQuantity& one : list)
    if (one.analyte == analyte) return &one;
  return nullptr;
}

/// Share of a metal in the charge.
double metal_share(const Request& request, const Reader& reader, Analyte metal) {
  double share = 0;
  for (const auto& [analyte, quantity] : request.charge.minerals)
    share += value_of(reader, quantity) *
             to_double(element_share(mineral_formula(reader.analytes[analyte]), reader.analytes[metal]));
  return share;
}

void check_slag_metals(const Place& place, Reader& reader, const Request& out) {
  const Place grades(place, "slag_grade");
  for (const auto& [analyte, grade] : out.slag_grade) {
    const std::string& metal = reader.analytes[analyte];
    const Oxide* oxide = oxide_of(metal);
    if (oxide == nullptr || oxide->leaves != Leaves::bar)
      reader.complain(Code::name, Place(grades, metal),
                      metal + " does not go to the bar: slag_grade is of gold, silver and the like");
    else if (!(metal_share(out, reader, analyte) > 0))
      reader.complain(Code::name, Place(grades, metal), "the charge's minerals hold no " + metal);
  }
  if (!out.retreatment) return;
  const Place retreatment(place, "retreatment"), recovery(retreatment, "recovery");
  for (const auto& [analyte, share] : out.retreatment->recovery) {
    const std::string& metal = reader.analytes[analyte];
    if (entry_of(out.slag_grade, analyte) == nullptr)
      reader.complain(Code::name, Place(recovery, metal), "slag_grade says nothing of " + metal);
    else if (entry_of(out.prices, analyte) == nullptr)
      reader.complain(Code::name, Place(recovery, metal),
                      "prices has no price of " + metal + " to work its worth out at");
  }
}

void check_request(const Value&, const Place& place, Reader& reader, Request& out) {
  const bool money =
      !out.exchange.empty() || !out.reagent_prices.empty() || !out.prices.empty() || out.retreatment ||
      std::any_of(out.flux.begin(), out.flux.end(), [](const FluxDraft& one) { return one.price; });
  if (money && !out.currency)
    reader.complain(Code::missing_field, place,
                    "prices want currency beside them, as in \"currency\": \"USD\"");
  if (reader.complaints.empty()) check_slag_metals(place, reader, out);
}

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(charge_format))
          .may("currency", &Request::currency, currency_form())
          .may("exchange", &Request::exchange, exchange_form())
          .need("charge", &Request::charge, charge_form())
          .may("flux", &Request::flux, list_of(flux_form()))
          .may("degree", &Request::degree, degree_form())
          .may("oxidise", &Request::oxidise, oxidising_form())
          .may("reagent_prices", &Request::reagent_prices, reagent_prices_form())
          .may("slag_grade", &Request::slag_grade,
               analyte_quantities(quantity(Dimension::grade, Allowed::below_all)))
          .may("prices", &Request::prices, analyte_quantities(quantity(Dimension::price)))
          .may("retreatment", &Request::retreatment, retreatment_form())
          .may("crucible", &Request::crucible, crucible_form())
          .check(check_request)
          .form("an object: charge, flux, degree, oxidise");
  return form;
}

// ---- The sums --------------------------------------------------------------------------------

/// Of one metal, each as far as it is stated.
struct SlagMetal {
  Analyte metal;
  Figure content, of_charge;
  std::optional<Figure> worth, retreating_leaves;
};

/// What the request says, as the bench takes it, and what rests on its uncertain figures.
class Sums {
 public:
  Sums(const Request& request, const Reader& reader) : request_(request), reader_(reader) {
    charge.mass = number(request.charge.mass);
    for (const auto& [analyte, share] : request.charge.minerals)
      charge.minerals.push_back({std::string(mineral_formula(reader.analytes[analyte])), number(share)});
    for (const FluxDraft& one : request.flux)
      charge.flux.push_back({one.reagent, std::string(reagent_formula(one.reagent)), number(one.dose)});
    if (request.oxidise)
      charge.oxidising =
          Oxidising{request.oxidise->with, request.oxidise->sulphur_to,
                    figure_of(reader, request.oxidise->excess).value, request.oxidise->ore_oxygen};
  }

  SlagMetal in_slag(const AnalyteQuantity& stated) const {
    const AnalyteQuantity* price = entry_of(request_.prices, stated.analyte);
    const AnalyteQuantity* recovery =
        request_.retreatment ? entry_of(request_.retreatment->recovery, stated.analyte) : nullptr;
    const std::vector<Figure> found = propagated(
        inputs(stated, price, recovery),
        [&](const std::vector<double>& x) { return slag_figures(x, reader_.analytes[stated.analyte]); });
    SlagMetal metal{stated.analyte, found[0], found[1], {}, {}};
    if (price != nullptr) metal.worth = found[2];
    if (price != nullptr && recovery != nullptr) metal.retreating_leaves = found[3];
    return metal;
  }

  FurnaceCharge charge;

 private:
  double number(Quantity q) const { return value_of(reader_, q); }

  /// Grade, price, recovery, cost, excess; mass; minerals; doses.
  static constexpr std::size_t first_mineral = 6;
  std::vector<Figure> inputs(const AnalyteQuantity& stated, const AnalyteQuantity* price,
                             const AnalyteQuantity* recovery) const {
    auto figure = [&](const AnalyteQuantity* one) {
      return one ? figure_of(reader_, one->quantity) : Figure{};
    };
    std::vector<Figure> all{figure(&stated),
                            figure(price),
                            figure(recovery),
                            request_.retreatment ? figure_of(reader_, request_.retreatment->cost) : Figure{},
                            request_.oxidise ? figure_of(reader_, request_.oxidise->excess) : Figure{},
                            figure_of(reader_, request_.charge.mass)};
    for (const AnalyteQuantity& one : request_.charge.minerals) all.push_back(figure(&one));
    for (const FluxDraft& one : request_.flux) all.push_back(figure_of(reader_, one.dose));
    return all;
  }
  std::vector<double> slag_figures(const std::vector<double>& x, const std::string& metal) const {
    FurnaceCharge charged = charge;
    std::size_t next = first_mineral;
    if (charged.oxidising) charged.oxidising->excess = x[4];
    charged.mass = x[5];
    for (ChargedMineral& one : charged.minerals) one.share = x[next++];
    for (Reagent& one : charged.flux) one.dose = x[next++];
    const double slag = melt_charge(charged).slag_mass();
    const MetalInSlag kept = metal_in_slag(slag, x[0], x[1], x[2], x[3]);
    double there = 0;
    for (const ChargedMineral& one : charged.minerals)
      there += charged.mass * one.share * to_double(element_share(one.formula, metal));
    return {kept.content, kept.content / there, kept.worth, kept.retreating_leaves};
  }

  const Request& request_;
  const Reader& reader_;
};

/// The melt; a complaint at the place that an impossible one comes from.
std::optional<Melted> melted(FurnaceCharge& charge, const std::optional<double>& degree, Reader& reader) {
  const Place root;
  const char* at = "charge";
  try {
    Melted plain = melt_charge(charge);
    if (!degree) return plain;
    at = "degree";
    charge.degree = degree;
    return melt_charge(charge);
  } catch (const Error& error) {
    reader.complain(error.complaint().code, Place(root, at), error.complaint().text);
    return std::nullopt;
  }
}

// ---- The answer ------------------------------------------------------------------------------

class FluxText {
 public:
  FluxText(const Request& request, const Value& document, const Reader& reader, const Melted& melted)
      : request_(request),
        document_(document),
        reader_(reader),
        melted_(melted),
        mass_(value_of(reader, request.charge.mass)) {}

  std::string run(const std::vector<SlagMetal>& in_slag, std::vector<Caution> cautions) {
    out_.open('{').field("format", flux_format);
    if (request_.currency) out_.field("currency", *request_.currency);
    flux();
    degree("degree", melted_.degree);
    degree("acid_degree", melted_.acid_degree);
    out_.key("oxygen").open('{');
    write_value(out_, "wanted", melted_.oxygen_wanted, kilograms);
    write_value(out_, "given", melted_.oxygen_given, kilograms);
    out_.close('}');
    slag();
    write_value(out_, "matte", melted_.matte, kilograms);
    parts("bar", "metal", melted_.bar);
    gas();
    metals(in_slag);
    if (request_.crucible) melts(*request_.crucible);
    write_value(out_, "flux_mass", melted_.flux_mass, kilograms);
    if (priced_ > 0) write_value(out_, "cost", cost_, plain);
    if (priced_ > 0 && !unpriced_.empty())
      cautions.push_back({"cost", "No price is stated of " + unpriced_ + ": the cost is without."});
    write_cautions(out_, cautions);
    return out_.close('}').take();
  }

 private:
  /// The reagent's own price, or that of reagent_prices.
  void price(const Value* own, std::optional<Quantity> price, const Reagent& reagent) {
    const Value* stated = own;
    for (std::size_t i = 0; !price && i < request_.reagent_prices.size(); ++i)
      if (request_.reagent_prices[i].reagent == reagent.name) {
        price = request_.reagent_prices[i].price;
        stated = document_.find("reagent_prices")->find(reagent.name);
      }
    if (!price) {
      unpriced_ += (unpriced_.empty() ? "" : ", ") + reagent.name;
      return;
    }
    ++priced_;
    cost_ += reagent.dose * mass_ * value_of(reader_, *price);
    const std::string per_kilogram = ' ' + *request_.currency + "/kg";
    if (reader_.quantities[*price].currency_rate < 0) out_.key("price").bare(write_json(*stated));
    else write_figure(out_, "price", figure_of(reader_, *price), {1, per_kilogram.c_str()});
  }
  void flux() {
    out_.key("flux").open('[');
    for (std::size_t i = 0; i < melted_.flux.size(); ++i) {
      const Reagent& one = melted_.flux[i];
      if (!(one.dose > 0)) continue;
      const bool given = i < request_.flux.size();
      const Value* as_given = given ? &document_.find("flux")->items[i] : nullptr;
      out_.open('{').field("reagent", one.name);
      if (given) out_.key("dose").bare(write_json(*as_given->find("dose")));
      else write_value(out_, "dose", one.dose, dose);
      price(given ? as_given->find("price") : nullptr, given ? request_.flux[i].price : std::nullopt, one);
      if (!stays_in_slag(one.name)) write_value(out_, "stays", left_in_slag(one.formula), percent);
      out_.close('}');
    }
    out_.close(']');
  }
  void degree(const char* name, const std::optional<double>& degree) {
    if (degree) write_value(out_, name, *degree, plain);
    else out_.key(name).null();
  }
  void slag() {
    const double mass = melted_.slag_mass();
    out_.key("slag").open('{');
    write_value(out_, "mass", mass, kilograms);
    write_value(out_, "per_charge", mass / mass_, plain);
    out_.key("oxides").open('{');
    for (const MeltPart& one : melted_.slag) write_value(out_, one.formula, one.mass / mass, percent);
    if (melted_.inert > 0) write_value(out_, "rest", melted_.inert / mass, percent);
    out_.close('}').close('}');
  }
  void list(const char* name, const MeltParts& parts) {
    out_.key(name).open('{');
    for (const MeltPart& one : parts) write_value(out_, one.formula, one.mass, kilograms);
    out_.close('}');
  }
  void parts(const char* name, const char* of, const MeltParts& parts) {
    out_.key(name).open('{');
    write_value(out_, "mass", mass_of(parts), kilograms);
    list(of, parts);
    out_.close('}');
  }
  void gas() {
    out_.key("gas").open('{');
    write_value(out_, "mass", mass_of(melted_.gas), kilograms);
    write_value(out_, "volume", melted_.gas_volume, litres);
    list("of", melted_.gas);
    out_.close('}');
  }
  void metals(const std::vector<SlagMetal>& in_slag) {
    if (in_slag.empty()) return;
    out_.key("in_slag").open('{');
    for (const SlagMetal& one : in_slag) {
      out_.key(reader_.analytes[one.metal]).open('{');
      write_figure(out_, "content", one.content, grams);
      write_figure(out_, "of_charge", one.of_charge, percent);
      if (one.worth) write_figure(out_, "worth", *one.worth, plain);
      if (one.retreating_leaves) write_figure(out_, "retreating_leaves", *one.retreating_leaves, plain);
      out_.close('}');
    }
    out_.close('}');
  }
  void melts(const Crucible& crucible) {
    write_value(out_, "melts",
                crucible_charges(mass_ + melted_.flux_mass, value_of(reader_, crucible.density),
                                 value_of(reader_, crucible.volume), value_of(reader_, crucible.fill)),
                plain);
  }

  const Request& request_;
  const Value& document_;
  const Reader& reader_;
  const Melted& melted_;
  const double mass_;
  JsonText out_;
  double cost_ = 0;
  int priced_ = 0;
  std::string unpriced_;
};

bool mercury_tested(const Request& request, const Reader& reader) {
  return std::any_of(request.charge.minerals.begin(), request.charge.minerals.end(),
                     [&](const AnalyteQuantity& one) {
                       return holds_mercury(mineral_formula(reader.analytes[one.analyte]));
                     });
}

std::string answer(const Value& document, Reader& reader, const Watch&) {
  Request request;
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {};
  Sums sums(request, reader);
  const auto found = melted(sums.charge, request.degree, reader);
  if (!found) return {};
  std::vector<SlagMetal> in_slag;
  const Place root, grades(root, "slag_grade");
  for (const AnalyteQuantity& one : request.slag_grade) {
    in_slag.push_back(sums.in_slag(one));
    const std::string& metal = reader.analytes[one.analyte];
    if (above(in_slag.back().of_charge.value, 1.0))
      reader.complain(Code::flux, Place(grades, metal),
                      "the slag at that grade would hold more " + metal + " than the charge");
  }
  std::vector<Caution> cautions = melt_cautions(sums.charge, *found, mercury_tested(request, reader));
  return FluxText(request, document, reader, *found).run(in_slag, std::move(cautions));
}

// ---- Schemas ---------------------------------------------------------------------------------

Json schema() {
  return whole_schema("A charge to be fluxed, for Buttonworth, format 1", request_form().schema);
}

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, kilogram = value_in(kilograms), number = value_in(plain);
  const Json weighed = named(kilogram), some = or_null(number);
  return whole_schema("Flux and slag by Buttonworth, format 1", [&](SchemaBook& book) {
    const Json doses = quantity(Dimension::dose).schema(book),
               price = quantity(Dimension::price).schema(book);
    const Json reagent =
        object_of({{"reagent", text}, {"dose", doses}, {"price", price}, {"stays", value_in(percent)}},
                  {"price", "stays"});
    const Json metal = object_of({{"content", figure_in(grams)},
                                  {"of_charge", figure_in(percent)},
                                  {"worth", figure_in(plain)},
                                  {"retreating_leaves", figure_in(plain)}},
                                 {"worth", "retreating_leaves"});
    return object_of(
        {{"format", {{"const", flux_format}}},
         {"currency", schema_parts::currency()},
         {"flux", list(reagent)},
         {"degree", some},
         {"acid_degree", some},
         {"oxygen", object_of({{"wanted", kilogram}, {"given", kilogram}})},
         {"slag",
          object_of({{"mass", kilogram}, {"per_charge", number}, {"oxides", named(value_in(percent))}})},
         {"matte", kilogram},
         {"bar", object_of({{"mass", kilogram}, {"metal", weighed}})},
         {"gas", object_of({{"mass", kilogram}, {"volume", value_in(litres)}, {"of", weighed}})},
         {"in_slag", named(metal)},
         {"melts", number},
         {"flux_mass", kilogram},
         {"cost", number},
         {"cautions", cautions()}},
        {"currency", "in_slag", "melts", "cost"});
  });
}

}  // namespace

const BenchRequest charge_request{charge_format, answer, "charge", schema, "flux", answer_schema};

}  // namespace buttonworth
