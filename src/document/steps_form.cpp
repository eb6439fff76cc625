#include "document/steps_form.hpp"

#include <algorithm>

#include "document/terms_form.hpp"
#include "material/mineral.hpp"

namespace buttonworth {
namespace {

constexpr Companion reciprocal = Companion::reciprocal;

Form<Quantity> share() { return quantity(Dimension::share, Allowed::share); }

// ---- What every step has ---------------------------------------------------------------------

struct CostDraft : Cost {
  std::optional<bool> of_wet;
};

Form<Cost> cost() {
  const auto draft = Fields<CostDraft>()
                         .need("what", &CostDraft::what, text_form())
                         .need("rate", &CostDraft::rate,
                               quantity(Dimension::price | Dimension::per_lot | Dimension::per_melt |
                                        Dimension::per_hour | Dimension::per_energy | Dimension::per_volume))
                         .may("of", &CostDraft::of_wet, choice<bool>({{"wet", true}, {"dry", false}}))
                         .check([](const Value&, const Place& place, Reader& reader, CostDraft& out) {
                           out.per = reader.quantities[out.rate].dimension;
                           out.wet = out.of_wet.value_or(false);
                           if (out.of_wet && out.per != Dimension::price && out.rate.index != 0)
                             reader.complain(Code::conflict, Place(place, "of"),
                                             "of wet or dry goes with money per mass only");
                         })
                         .form();
  return {[draft](const Value& value, const Place& place, Reader& reader, Cost& out) {
            CostDraft made;
            draft.read(value, place, reader, made);
            out = std::move(made);
          },
          draft.schema};
}

/// What a step has that a cost's rate could multiply.
struct Multipliers {
  bool hours = false, melts = false, energy = false, fuel = false;
};

void check_costs(const StepBasics& step, const Multipliers& has, const Place& place, Reader& reader) {
  const Place list(place, "cost");
  for (std::size_t i = 0; i < step.costs.size(); ++i) {
    const Place entry(list, i), rate(entry, "rate");
    const Dimension per = step.costs[i].per;
    if (per == Dimension::per_hour && !has.hours)
      reader.complain(Code::conflict, rate,
                      "a cost per h has nothing to multiply: give the step a rate (or a melt per_melt)");
    if (per == Dimension::per_melt && !has.melts)
      reader.complain(Code::conflict, rate, "a cost per melt has nothing to multiply: only a melt has melts");
    if (per == Dimension::per_energy && !has.energy)
      reader.complain(Code::conflict, rate,
                      "a cost per kWh has nothing to multiply: only a dry step has energy");
    if (per == Dimension::per_volume && !has.fuel)
      reader.complain(Code::conflict, rate,
                      "a cost per L has nothing to multiply: give the dry step a fuel with its heat");
  }
}

template <class T>
Fields<T> basic_fields(const std::string& kind) {
  return Fields<T>()
      .template effect<bool>("kind", choice<bool>({{kind, true}}), [](Reader&, const bool&) {})
      .may("rate", &T::rate, quantity(Dimension::throughput, Allowed::positive, reciprocal))
      .may("wait", &T::wait, quantity(Dimension::time, Allowed::not_negative, Companion::discount), "0 d")
      .may("cost", &T::costs, list_of(cost()));
}

// ---- table -----------------------------------------------------------------------------------

Form<PointCurve> point_curve() {
  using Point = PointCurve::Point;
  const auto points = list_of(pair_of(&Point::pull, quantity(Dimension::share, Allowed::positive_share),
                                      &Point::recovery, share(), "[pull, recovery]"),
                              1);
  return {[points](const Value& value, const Place& place, Reader& reader, PointCurve& out) {
            const std::size_t before = reader.told();
            points.read(value, place, reader, out.points);
            if (reader.told() != before) return;
            for (std::size_t i = 0; i < out.points.size(); ++i) {
              const Place point(place, i), pull(point, std::size_t{0}), recovery(point, 1);
              const Decimal& y = reader.mean(out.points[i].pull);
              const Decimal& r = reader.mean(out.points[i].recovery);
              if (i > 0 && y <= reader.mean(out.points[i - 1].pull))
                reader.complain(Code::range, pull, "pulls must rise strictly");
              if (i > 0 && r < reader.mean(out.points[i - 1].recovery))
                reader.complain(Code::range, recovery, "cumulative recoveries do not fall");
              if (y >= 1 && r < 1)
                reader.complain(Code::range, recovery, "at a pull of 100 % the recovery is 100 %");
            }
          },
          points.schema};
}

struct CurveDraft {
  std::optional<Quantity> odds, limit_recovery, rate;
  std::optional<LogitCurve> logit;
  std::optional<std::string> as;
};

/// The rate belongs to the limit recovery.
void check_rate(const Value&, const Place& place, Reader& reader, CurveDraft& out) {
  if (out.limit_recovery && !out.rate)
    reader.complain(Code::missing_field, place,
                    "limit_recovery wants rate beside it: the k of R = L (1 − e^(−k y)), as in \"30\"");
  if (out.rate && !out.limit_recovery)
    reader.complain(Code::conflict, Place(place, "rate"), "rate goes with limit_recovery only");
}

Form<CurveDraft> curve_draft() {
  const auto number = quantity(Dimension::number, Allowed::any),
             positive = quantity(Dimension::number, Allowed::positive);
  Form<CurveDraft> form =
      Fields<CurveDraft>()
          .may("odds", &CurveDraft::odds, positive)
          .may("logit", &CurveDraft::logit,
               pair_of(&LogitCurve::a, number, &LogitCurve::b, positive, "[a, b]"))
          .may("limit_recovery", &CurveDraft::limit_recovery,
               quantity(Dimension::share, Allowed::positive_share))
          .may("rate", &CurveDraft::rate, positive)
          .may("as", &CurveDraft::as, text_form())
          .one_of({"odds", "logit", "limit_recovery", "as"})
          .check(check_rate)
          .form(
              "points [[pull, recovery], …], {\"odds\": …}, {\"logit\": [a, b]}, {\"limit_recovery\": …, "
              "\"rate\": …} or {\"as\": …}");
  const auto fields = form.schema;
  form.schema = [fields](SchemaBook& book) {
    Json schema = fields(book);
    const auto has = [](const char* name) { return Json{{"required", {name}}}; };
    schema["allOf"].push_back({{"oneOf",
                                {Json{{"required", {"limit_recovery", "rate"}}},
                                 Json{{"not", {{"anyOf", {has("limit_recovery"), has("rate")}}}}}}}});
    return schema;
  };
  return form;
}

Form<AnalyteCurve> analyte_curve() {
  const auto points = point_curve();
  const auto draft = curve_draft();
  return {[=](const Value& value, const Place& place, Reader& reader, AnalyteCurve& out) {
            if (value.kind == Value::Kind::list)
              return points.read(value, place, reader, out.curve.emplace<PointCurve>());
            CurveDraft made;
            draft.read(value, place, reader, made);
            if (made.odds) out.curve = OddsCurve{*made.odds};
            if (made.logit) out.curve = *made.logit;
            if (made.limit_recovery && made.rate)
              out.curve = SaturatingCurve{*made.limit_recovery, *made.rate};
            if (made.as && *made.as == "gangue") out.curve = GoesAs{};
            else if (made.as) out.curve = GoesAs{reader.analyte(*made.as)};
          },
          [=](SchemaBook& book) {
            return Json{{"oneOf", {points.schema(book), draft.schema(book)}}};
          }};
}

struct CutDraft {
  std::optional<Quantity> pull, grade, recovery;
  std::optional<std::string> of;
  bool best = false;
};

Form<CutDraft> cut() {
  const auto fields =
      Fields<CutDraft>()
          .may("pull", &CutDraft::pull, quantity(Dimension::share, Allowed::positive_share))
          .may("grade", &CutDraft::grade, quantity(Dimension::grade, Allowed::positive_share))
          .may("recovery", &CutDraft::recovery, quantity(Dimension::share, Allowed::positive_share))
          .may("of", &CutDraft::of, text_form())
          .one_of({"pull", "grade", "recovery"})
          .form("\"best\", or an object with pull, grade or recovery");
  return {[fields](const Value& value, const Place& place, Reader& reader, CutDraft& out) {
            if (value.kind != Value::Kind::text) return fields.read(value, place, reader, out);
            out.best = value.text == "best";
            if (!out.best)
              reader.complain(Code::range, place,
                              '"' + value.text +
                                  "\" is no cut: write \"best\", or an object with pull, grade or recovery");
          },
          [fields](SchemaBook& book) {
            return Json{{"oneOf", {Json{{"const", "best"}}, fields.schema(book)}}};
          }};
}

struct Moistures {
  Quantity concentrate, middlings, tailings;
};
struct SearchEnds {
  Quantity low, high;
};

struct TableStep : StepBasics, Table {
  CutDraft cut_draft;
  std::optional<Moistures> stated_moistures;
  std::optional<SearchEnds> ends;
  std::vector<AnalyteQuantity> limits;
};

Form<Quantity> moisture() { return quantity(Dimension::share, Allowed::below_all); }

Form<Moistures> moistures() {
  return Fields<Moistures>()
      .may("concentrate", &Moistures::concentrate, moisture(), "20 %")
      .may("middlings", &Moistures::middlings, moisture(), "20 %")
      .may("tailings", &Moistures::tailings, moisture(), "20 %")
      .form();
}

AnalyteCurve* entry_of(TableStep& table, Analyte analyte) {
  for (AnalyteCurve& entry : table.curves)
    if (entry.analyte == analyte) return &entry;
  return nullptr;
}
bool has_own_curve(const AnalyteCurve* entry) {
  return entry != nullptr && !std::holds_alternative<GoesAs>(entry->curve);
}

void check_references(const Place& place, Reader& reader, TableStep& out) {
  const Place curves(place, "curve"), limits(place, "limit");
  for (AnalyteCurve& entry : out.curves) {
    auto* as = std::get_if<GoesAs>(&entry.curve);
    if (as == nullptr || !as->analyte || has_own_curve(entry_of(out, *as->analyte))) continue;
    const Place at(curves, reader.analytes[entry.analyte]);
    reader.complain(Code::name, Place(at, "as"),
                    reader.analytes[*as->analyte] + " has no curve of its own to go as");
    as->analyte.reset();
  }
  for (const auto& [analyte, grade] : out.limits) {
    AnalyteCurve* entry = entry_of(out, analyte);
    if (has_own_curve(entry)) entry->limit = grade;
    else
      reader.complain(Code::name, Place(limits, reader.analytes[analyte]),
                      reader.analytes[analyte] + " has no curve of its own to limit");
  }
}

/// What goes as the gangue has none.
bool has_curve(const AnalyteCurve& entry) {
  const auto* as = std::get_if<GoesAs>(&entry.curve);
  return as == nullptr || as->analyte;
}

/// Au, or the only one, where the cut does not say of which analyte.
std::optional<Analyte> cut_analyte(const Place& at, Reader& reader, const TableStep& table) {
  if (table.cut_draft.of) {
    std::vector<std::string> names;
    for (const AnalyteCurve& entry : table.curves) {
      names.push_back(reader.analytes[entry.analyte]);
      if (names.back() == *table.cut_draft.of && has_curve(entry)) return entry.analyte;
    }
    reader.complain(
        Code::name, Place(at, "of"),
        *table.cut_draft.of + " has no curve to cut by" + nearest_text(*table.cut_draft.of, names));
    return std::nullopt;
  }
  for (const AnalyteCurve& entry : table.curves)
    if (has_curve(entry) && reader.analytes[entry.analyte] == "Au") return entry.analyte;
  if (table.curves.size() == 1 && has_curve(table.curves.front())) return table.curves.front().analyte;
  reader.complain(Code::missing_field, at,
                  "the cut wants \"of\": the analyte whose grade or recovery decides");
  return std::nullopt;
}

void settle_cut(const Place& place, Reader& reader, TableStep& out) {
  const CutDraft& draft = out.cut_draft;
  const Place at(place, "cut");
  if (draft.best) {
    out.cut.how = Cut::How::best;
    const bool points = std::any_of(out.curves.begin(), out.curves.end(), [](const AnalyteCurve& entry) {
      return std::holds_alternative<PointCurve>(entry.curve);
    });
    if (!points && !out.search)
      reader.complain(Code::missing_field, place,
                      "a best cut without points wants search: [from this pull, to this pull]");
    return;
  }
  if (draft.pull) out.cut = {Cut::How::pull, *draft.pull, 0};
  if (!draft.grade && !draft.recovery) return;
  if (draft.grade) out.cut = {Cut::How::grade, *draft.grade, 0};
  else out.cut = {Cut::How::recovery, *draft.recovery, 0};
  out.cut.of = cut_analyte(at, reader, out).value_or(0);
}

void check_table(const Value&, const Place& place, Reader& reader, TableStep& out) {
  check_costs(out, {.hours = out.rate.has_value()}, place, reader);
  check_references(place, reader, out);
  if (out.ends) {
    out.search = {out.ends->low, out.ends->high};
    if (reader.exceeds(out.ends->low, out.ends->high))
      reader.complain(Code::range, Place(place, "search"), "the first pull of search is above the second");
  }
  settle_cut(place, reader, out);
  const Moistures& m = *out.stated_moistures;
  out.moistures = {m.concentrate, m.middlings, m.tailings};
}

Fields<TableStep> table_fields() {
  const auto search =
      pair_of(&SearchEnds::low, quantity(Dimension::share, Allowed::positive_share), &SearchEnds::high,
              quantity(Dimension::share, Allowed::positive_share), "[from this pull, to this pull]");
  auto name = [](Reader& reader, const std::string& analyte, AnalyteCurve& out) {
    out.analyte = reader.analyte(analyte);
  };
  Form<Moistures> wet = moistures();
  return basic_fields<TableStep>("table")
      .need("curve", &TableStep::curves,
            map_of<AnalyteCurve>(analyte_curve(), name, "an object from analytes to curves"))
      .may("limit", &TableStep::limits,
           analyte_quantities(quantity(Dimension::grade, Allowed::positive_share)))
      .need("cut", &TableStep::cut_draft, cut())
      .may("search", &TableStep::ends, search)
      .may("middlings", &TableStep::middlings, moisture(), "0 %")
      .may("moisture", &TableStep::stated_moistures, wet)
      .check([wet](const Value&, const Place&, Reader& reader, TableStep& out) {
        Value nothing;
        nothing.kind = Value::Kind::object;
        if (!out.stated_moistures) wet.read(nothing, Place(), reader, out.stated_moistures.emplace());
      })
      .check(check_table);
}

// ---- split -----------------------------------------------------------------------------------

struct SplitStep : StepBasics, Split {};

Form<SplitOutput> split_output() {
  using Share = SplitOutput::Share;
  const auto form = share();
  const Form<Share> analyte_share{[form](const Value& value, const Place& place, Reader& reader, Share& out) {
                                    form.read(value, place, reader, out.share);
                                  },
                                  form.schema};
  return Fields<SplitOutput>()
      .may("mass", &SplitOutput::mass, form)
      .others(&SplitOutput::shares, analyte_share, {[](Reader& reader, const std::string& name, Share& out) {
        out.analyte = reader.analyte(name);
      }})
      .check([](const Value&, const Place& place, Reader& reader, SplitOutput& out) {
        if (!out.shares.empty() && !out.mass)
          reader.complain(
              Code::missing_field, place,
              "the output's share of the mass is missing: state mass, or leave it {} to take what is left");
        if (out.name == "step")
          reader.complain(Code::conflict, place, "an output cannot be named step: a route names the step so");
      })
      .form("an object of shares, or {} for what is left");
}

void check_split(const Value&, const Place& place, Reader& reader, SplitStep& out) {
  check_costs(out, {.hours = out.rate.has_value()}, place, reader);
  std::size_t rests = 0;
  Decimal taken = 0;
  for (std::size_t i = 0; i < out.outputs.size(); ++i) {
    if (out.outputs[i].mass) {
      taken += reader.mean(*out.outputs[i].mass);
    } else {
      ++rests;
      out.rest = i;
    }
  }
  const Place into(place, "into");
  if (rests != 1)
    reader.complain(
        Code::conflict, into,
        "exactly one output is {} and takes what is left; here " + std::to_string(rests) + " are");
  if (above(taken, Decimal(1)))
    reader.complain(Code::split, into,
                    "the outputs' shares of the mass add up to " + Figures<Decimal>::percent_text(taken) +
                        ", over 100 %");
}

Fields<SplitStep> split_fields() {
  auto name = [](Reader&, const std::string& output, SplitOutput& out) { out.name = output; };
  return basic_fields<SplitStep>("split")
      .need("into", &SplitStep::outputs,
            map_of<SplitOutput>(split_output(), name, "an object from outputs to their shares"))
      .check(check_split);
}

// ---- dry -------------------------------------------------------------------------------------

struct Fuel {
  Quantity heat;
};
struct DryStep : StepBasics, Dry {
  std::optional<Fuel> fuel;
};

Fields<DryStep> dry_fields() {
  const auto fuel = Fields<Fuel>()
                        .need("heat", &Fuel::heat, quantity(Dimension::heat, Allowed::positive, reciprocal))
                        .form();
  return basic_fields<DryStep>("dry")
      .need("to", &DryStep::to, moisture())
      .need("dust", &DryStep::dust, moisture())
      .may("ambient", &DryStep::ambient, quantity(Dimension::temperature, Allowed::any), "20 degC")
      .may("efficiency", &DryStep::efficiency,
           quantity(Dimension::share, Allowed::positive_share, reciprocal), "30 %")
      .may("fuel", &DryStep::fuel, fuel)
      .check([](const Value&, const Place& place, Reader& reader, DryStep& out) {
        if (out.fuel) out.heat = out.fuel->heat;
        check_costs(out, {.hours = out.rate.has_value(), .energy = true, .fuel = out.fuel.has_value()}, place,
                    reader);
        if (reader.mean(out.ambient) > 100 || reader.mean(out.ambient) < -90)
          reader.complain(Code::range, Place(place, "ambient"),
                          "the ambient temperature must be within -90 and 100 degC");
      });
}

// ---- melt ------------------------------------------------------------------------------------

struct MeltStep : StepBasics, Melt {};

struct FluxDraft : FluxDose {
  std::optional<bool> by_gangue;
  std::optional<Quantity> stated_stays;
};

Form<FluxDose> flux_dose() {
  const auto stays_form = share();
  const auto draft =
      Fields<FluxDraft>()
          .need("reagent", &FluxDraft::reagent, text_form())
          .need("dose", &FluxDraft::dose, quantity(Dimension::dose))
          .may("of", &FluxDraft::by_gangue, choice<bool>({{"charge", false}, {"gangue", true}}))
          .may("price", &FluxDraft::price, quantity(Dimension::price))
          .may("stays", &FluxDraft::stated_stays, stays_form)
          .check([stays_form](const Value&, const Place& place, Reader& reader, FluxDraft& out) {
            out.of_gangue = out.by_gangue.value_or(false);
            if (out.stated_stays) {
              out.stays = *out.stated_stays;
              return;
            }
            const auto known = stays_in_slag(out.reagent);
            if (!known) {
              if (!out.reagent.empty())
                reader.complain(
                    Code::missing_field, place,
                    "the reagent " + out.reagent + " wants stays: the share of it that stays in the slag");
              return;
            }
            StatedQuantity stated;
            stated.dimension = Dimension::share;
            stated.mean = *known;
            stated.text = to_text(*known);
            out.stays = reader.quantities.add(std::move(stated));
          })
          .form();
  return {[draft](const Value& value, const Place& place, Reader& reader, FluxDose& out) {
            FluxDraft made;
            draft.read(value, place, reader, made);
            out = std::move(made);
          },
          draft.schema};
}

Form<std::vector<MeltShare>> melt_shares(Form<Quantity> form) {
  const Form<MeltShare> one{[form](const Value& value, const Place& place, Reader& reader, MeltShare& out) {
                              form.read(value, place, reader, out.share);
                            },
                            form.schema};
  return map_of<MeltShare>(
      one,
      [](Reader& reader, const std::string& name, MeltShare& out) { out.analyte = reader.analyte(name); },
      "an object from analytes to shares");
}

void check_shares(const Place& place, Reader& reader, const MeltStep& out) {
  const Place fume(place, "to_fume"), slag(place, "slag_grade"), bar(place, "to_bar");
  for (const MeltShare& one : out.to_fume)
    if (hazard_of(reader.analytes[one.analyte]).mercury)
      reader.complain(Code::mercury, Place(fume, reader.analytes[one.analyte]),
                      "mercury is not driven off in a furnace: a retort and licensed handling come first");
  for (const MeltShare& one : out.slag_grade)
    for (const MeltShare& other : out.to_bar)
      if (one.analyte == other.analyte)
        reader.complain(
            Code::conflict, Place(slag, reader.analytes[one.analyte]),
            reader.analytes[one.analyte] + " stands in to_bar and in slag_grade: keep one of them");
  for (const MeltShare& one : out.to_bar)
    for (const MeltShare& other : out.to_fume)
      if (one.analyte == other.analyte &&
          above(Decimal(reader.mean(one.share) + reader.mean(other.share)), Decimal(1)))
        reader.complain(Code::melt, Place(bar, reader.analytes[one.analyte]),
                        "bar and fume together take more than 100 % of the " + reader.analytes[one.analyte]);
}

void check_melt(const Value&, const Place& place, Reader& reader, MeltStep& out) {
  const bool hours = out.rate || out.per_melt;
  check_costs(out, {.hours = hours, .melts = true}, place, reader);
  if (above(reader.mean(out.dry_below), Decimal("0.005")))
    reader.complain(Code::range, Place(place, "dry_below"),
                    "dry_below is never set higher than 0.5 %: trapped water flashes to steam");
  if (out.to_bar.empty() && out.slag_grade.empty())
    reader.complain(Code::missing_field, place, "to_bar or slag_grade is wanted: what goes to the bar");
  check_shares(place, reader, out);
}

Fields<MeltStep> melt_fields() {
  return basic_fields<MeltStep>("melt")
      .may("to_bar", &MeltStep::to_bar, melt_shares(share()))
      .may("to_fume", &MeltStep::to_fume, melt_shares(share()))
      .may("slag_grade", &MeltStep::slag_grade, melt_shares(quantity(Dimension::grade, Allowed::below_all)))
      .may("flux", &MeltStep::flux, list_of(flux_dose()))
      .may("crucible", &MeltStep::crucible, crucible_form())
      .may("per_melt", &MeltStep::per_melt, quantity(Dimension::time))
      .may("dry_below", &MeltStep::dry_below, share(), "0.5 %")
      .not_both("rate", "per_melt")
      .check(check_melt);
}

// ---- any step --------------------------------------------------------------------------------

struct Kind {
  std::string name;
  std::function<void(const Value&, const Place&, Reader&, Step&)> read;
  std::function<Json(SchemaBook&)> schema;
};

template <class T, class K>
Kind kind_of(const std::string& name, const Fields<T>& fields) {
  const Form<T> form = fields.form();
  return {name,
          [form](const Value& value, const Place& place, Reader& reader, Step& out) {
            T made;
            form.read(value, place, reader, made);
            made.name = out.basics.name;
            out.basics = std::move(static_cast<StepBasics&>(made));
            out.kind = std::move(static_cast<K&>(made));
          },
          [form](SchemaBook& book) {
            Json schema = form.schema(book);
            Json required = Json::array({"kind"});
            for (const Json& name : schema["required"]) required.push_back(name);
            schema["required"] = std::move(required);
            return schema;
          }};
}

const std::vector<Kind>& kinds() {
  static const std::vector<Kind> all{
      kind_of<TableStep, Table>("table", table_fields()), kind_of<SplitStep, Split>("split", split_fields()),
      kind_of<DryStep, Dry>("dry", dry_fields()), kind_of<MeltStep, Melt>("melt", melt_fields())};
  return all;
}

const Kind* kind_named(const std::string& name) {
  for (const Kind& one : kinds())
    if (one.name == name) return &one;
  return nullptr;
}

const Form<const Kind*>& kind_form() {
  static const Form<const Kind*> form = [] {
    std::vector<std::pair<std::string, const Kind*>> words;
    for (const Kind& one : kinds()) words.emplace_back(one.name, &one);
    return choice(words);
  }();
  return form;
}

void read_step(const Value& value, const Place& place, Reader& reader, Step& out) {
  if (!require_kind(value, Value::Kind::object, place, reader, "an object with kind")) return;
  const Value* const word = value.find("kind");
  if (word == nullptr) {
    std::vector<std::string> names;
    for (const Kind& one : kinds()) names.push_back(one.name);
    return reader.complain(Code::missing_field, place, "the field kind is missing: " + quoted_choices(names));
  }
  const Kind* known = nullptr;
  kind_form().read(*word, Place(place, "kind"), reader, known);
  if (known != nullptr) known->read(value, place, reader, out);
}

}  // namespace

const Form<Step>& step_form() {
  static const Form<Step> form = defined<Step>("step", {read_step, [](SchemaBook& book) {
                                                          Json ways = Json::array();
                                                          for (const Kind& one : kinds())
                                                            ways.push_back(one.schema(book));
                                                          return Json{{"oneOf", ways}};
                                                        }});
  return form;
}

Form<Crucible> crucible_form() {
  return Fields<Crucible>()
      .need("volume", &Crucible::volume, quantity(Dimension::volume, Allowed::positive, reciprocal))
      .need("fill", &Crucible::fill, quantity(Dimension::share, Allowed::positive_share, reciprocal))
      .need("density", &Crucible::density, quantity(Dimension::density, Allowed::positive, reciprocal))
      .form();
}

bool has_kind(const Value& step) {
  const Value* kind = step.find("kind");
  return kind != nullptr && kind_named(kind->text) != nullptr;
}

}  // namespace buttonworth
