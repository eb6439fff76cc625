#include "document/simulation_document.hpp"

#include <cmath>

#include "document/bench_figures.hpp"
#include "document/draw_options.hpp"
#include "document/figure_text.hpp"
#include "document/plan_document.hpp"
#include "document/plan_places.hpp"
#include "document/schema_parts.hpp"

namespace buttonworth {
namespace {

constexpr const char* simulation_format = "buttonworth-simulation/1";

// ---- Options ---------------------------------------------------------------------------------------

struct PreferDraft {
  Preference by = Preference::mean;
  Quantity sds;
};

struct OptionsDraft : DrawOptionsDraft {
  std::optional<std::int64_t> threads;
  std::optional<std::vector<std::string>> routes;
  std::optional<bool> keep;
  std::optional<PreferDraft> prefer;
};

/// "mean", "worst 5 % mean" or {"mean_less": k}.
Form<PreferDraft> prefer_form() {
  static const Form<Preference> words =
      choice<Preference>({{"mean", Preference::mean}, {"worst 5 % mean", Preference::worst_mean}});
  static const Form<PreferDraft> object =
      Fields<PreferDraft>()
          .need("mean_less", &PreferDraft::sds, quantity(Dimension::number))
          .form("an object such as {\"mean_less\": \"1\"}");
  return {[](const Value& value, const Place& place, Reader& reader, PreferDraft& out) {
            if (value.kind != Value::Kind::object) return words.read(value, place, reader, out.by);
            out.by = Preference::mean_less_sd;
            object.read(value, place, reader, out);
          },
          [](SchemaBook& book) {
            return Json{{"oneOf", {words.schema(book), object.schema(book)}}};
          }};
}

const Form<OptionsDraft>& options_form() {
  static const Form<OptionsDraft> form = [] {
    Fields<OptionsDraft> fields;
    return with_draw_fields(fields)
        .may("threads", &OptionsDraft::threads, whole_number_form(1, 256))
        .may("routes", &OptionsDraft::routes, route_names_form())
        .may("keep", &OptionsDraft::keep, boolean_form())
        .may("prefer", &OptionsDraft::prefer, prefer_form())
        .form("an object of options");
  }();
  return form;
}

// ---- The answer --------------------------------------------------------------------------------------

/// For a sentence: two digits do.
std::string percent_words(double share) { return to_text(share * 100, Digits{2, 4, 0}) + " %"; }

std::string share_text(double share) { return bench_text(share, answer_units::percent); }

void write_count(JsonText& out, const char* name, std::int64_t count) {
  out.key(name).bare(std::to_string(count));
}

void write_route(JsonText& out, const RouteChance& route) {
  out.key(route.route->name).open('{').key("plan");
  if (route.plan) out.string(money_text(*route.plan));
  else out.null();
  out.field("mean", money_text(route.mean))
      .field("standard_error", money_text(route.standard_error))
      .field("sd", money_text(route.sd))
      .field("low", money_text(route.low))
      .field("median", money_text(route.median))
      .field("high", money_text(route.high))
      .field("worst_mean", money_text(route.worst_mean))
      .field("best_share", share_text(route.best_share))
      .field("refused_share", share_text(route.refused_share))
      .field("regret", money_text(route.regret));
  write_texts(out, "conditional", route.conditional);
  out.close('}');
}

void write_lead(JsonText& out, const Simulation& simulation) {
  out.key("lead");
  if (!simulation.lead) {
    out.null();
    return;
  }
  const Lead& lead = *simulation.lead;
  out.open('{')
      .field("over", simulation.routes[lead.over].route->name)
      .field("mean", money_text(lead.mean))
      .field("standard_error", money_text(lead.standard_error))
      .field("sd", money_text(lead.sd))
      .field("ahead", share_text(lead.ahead));
  if (lead.taken < simulation.counted) write_count(out, "taken", lead.taken);
  out.close('}');
}

void write_inputs(JsonText& out, const Simulation& simulation) {
  out.key("inputs").open('[');
  for (const InputChance& input : simulation.inputs) {
    auto place = [&](Quantity q) -> const std::string& { return simulation.plan->quantities[q].place; };
    out.open('{').field("of", place(input.quantities.front()));
    out.field("name", quantity_name(*simulation.plan, input.quantities)).key("same").open('[');
    for (std::size_t i = 1; i < input.quantities.size(); ++i) out.string(place(input.quantities[i]));
    out.close(']').field("cut_off", share_text(input.cut_off));
    auto figure = [&](const char* name, const std::string& text) {
      out.key(name);
      if (simulation.has_inputs) out.string(text);
      else out.null();
    };
    figure("share", share_text(input.share));
    figure("worth", money_text(input.worth));
    figure("standard_error", money_text(input.standard_error));
    out.close('}');
  }
  out.close(']');
}

// ---- In words ----------------------------------------------------------------------------------------

/// "8 in 10", and at the ends of what tenths can say, hundredths.
std::string chances(double share) {
  if (share >= 0.995) return "more than 99 in 100";
  if (share < 0.005) return "less than 1 in 100";
  const bool tenths = share >= 0.095 && share < 0.905;
  return tenths ? std::to_string(std::lround(share * 10)) + " in 10"
                : std::to_string(std::lround(share * 100)) + " in 100";
}

constexpr double too_close = 0.6;

std::string name_of(const Simulation& s, std::size_t route) { return quoted(s.routes[route].route->name); }

/// The other route that is the best most often; none where none ever is.
std::optional<std::size_t> rival(const Simulation& s) {
  std::optional<std::size_t> found;
  for (std::size_t r = 0; r < s.routes.size(); ++r)
    if (r != s.preferred && s.routes[r].best_share > (found ? s.routes[*found].best_share : 0)) found = r;
  return found;
}

void say_best(const Simulation& s, std::vector<std::string>& words) {
  const auto other = rival(s);
  words.push_back("Of all routes it is the best in " + chances(s.routes[s.preferred].best_share) + " draws" +
                  (other ? ", " + name_of(s, *other) + " in " + chances(s.routes[*other].best_share) : "") +
                  '.');
}

void say_lead(const Simulation& s, const Lead& lead, std::vector<std::string>& words) {
  const std::string next = name_of(s, lead.over), often = chances(lead.ahead);
  const std::string by = spoken_money(std::abs(lead.mean), s.plan->currency);
  const std::string how =
      lead.mean < 0 ? ", though it leaves " + by + " less on average" : ", by " + by + " on average";
  if (lead.ahead < too_close)
    words.push_back("It and the next, " + next + ", are too close to call: it is ahead in " + often +
                    " draws" + how + '.');
  else words.push_back("It is ahead of the next, " + next + ", in " + often + " draws" + how + '.');
}

void say_choice(const Simulation& s, std::vector<std::string>& words) {
  const RouteChance& chosen = s.routes[s.preferred];
  const std::string& currency = s.plan->currency;
  const std::string leaves = name_of(s, s.preferred) + " leaves " + spoken_money(chosen.mean, currency);
  if (s.inputs.empty()) {
    words.push_back(
        leaves + "; nothing in the plan is stated as uncertain, so nothing can be said of how sure that is.");
    return;
  }
  words.push_back(leaves + " on average; 95 in 100 draws lie between " + spoken_money(chosen.low, currency) +
                  " and " + spoken_money(chosen.high, currency) + ", and the worst 5 in 100 leave " +
                  spoken_money(chosen.worst_mean, currency) + " on average.");
  if (!s.lead) return;
  say_best(s, words);
  say_lead(s, *s.lead, words);
}

void say_other_choices(const Simulation& s, std::vector<std::string>& words) {
  if (s.inputs.empty() || s.routes.size() < 2) return;
  const std::string& currency = s.plan->currency;
  const bool plan = s.plan_best == s.preferred, mean = s.by_mean == s.preferred,
             worst = s.by_worst_mean == s.preferred;
  if (plan && mean && worst)
    words.push_back("The average, the worst draws and the plan's own figures all choose it.");
  if (!plan && s.plan_best)
    words.push_back("At the plan's own figures the best is " + name_of(s, *s.plan_best) + '.');
  if (!mean)
    words.push_back("By the average the best is " + name_of(s, s.by_mean) + ", which leaves " +
                    spoken_money(s.routes[s.by_mean].mean, currency) + '.');
  if (!worst)
    words.push_back("Who fears the worst draws more takes " + name_of(s, s.by_worst_mean) +
                    ": the worst 5 in 100 leave " +
                    spoken_money(s.routes[s.by_worst_mean].worst_mean, currency) + " on average.");
}

void say_hanging(const Simulation& s, std::vector<std::string>& words) {
  const RouteChance& chosen = s.routes[s.preferred];
  if (chosen.refused_share > 0)
    words.push_back("It is refused in " + chances(chosen.refused_share) +
                    " draws, and is worth nothing in these.");
  for (const std::string& reason : chosen.conditional)
    words.push_back("It hangs on a test that was not made (" + reason + ").");
}

void say_knowing(const Simulation& s, std::vector<std::string>& words) {
  if (!s.has_inputs || s.inputs.empty()) return;
  const std::string& currency = s.plan->currency;
  words.push_back("Knowing every figure beforehand would bring " +
                  spoken_money(s.worth_of_certainty, currency) +
                  " more on average: no measurement is worth more.");
  const auto most = std::max_element(s.inputs.begin(), s.inputs.end(),
                                     [](const auto& a, const auto& b) { return a.worth < b.worth; });
  if (most->worth > 2 * most->standard_error && most->worth >= 0.5)
    words.push_back("Of single figures the one to know best, worth up to " +
                    spoken_money(most->worth, currency) + ", is " + quantity_name(*s.plan, most->quantities) +
                    '.');
}

std::vector<std::string> words_of(const Simulation& simulation) {
  std::vector<std::string> words;
  say_choice(simulation, words);
  say_hanging(simulation, words);
  say_other_choices(simulation, words);
  say_knowing(simulation, words);
  return words;
}

// ---- Cautions ----------------------------------------------------------------------------------------

std::vector<Caution> cautions_of(const Simulation& s) {
  std::vector<Caution> cautions = s.cautions;
  if (s.counted < s.draws)
    cautions.push_back(
        {"draws", std::to_string(s.draws - s.counted) + " of " + std::to_string(s.draws) +
                      " draws broke physics (more metal than mass, recoveries that fall) and were left "
                      "out: look at the spreads stated"});
  for (const InputChance& input : s.inputs)
    if (input.cut_off > 0.01)
      cautions.push_back({s.plan->quantities[input.quantities.front()].place,
                          percent_words(input.cut_off) +
                              " of its distribution lies beyond what the field allows and was cut "
                              "away: state a spread that stays within, such as low, mode, high"});
  if (s.inputs.empty())
    cautions.push_back({"inputs",
                        "no quantity of the plan is uncertain: state what is not sure with its spread, as in "
                        "{\"value\": \"1840 g/t\", \"rsd\": \"4 %\"}"});
  if (!s.has_inputs)
    cautions.push_back({"inputs", "too many inputs and routes to tell the inputs apart: name fewer routes"});
  return cautions;
}

// ---- Schema ------------------------------------------------------------------------------------------

using namespace schema_parts;

Json route_schema() {
  const Json money = text_with(""), share = text_with(" %");
  return object_of({{"plan", or_null(money)},
                    {"mean", money},
                    {"standard_error", money},
                    {"sd", money},
                    {"low", money},
                    {"median", money},
                    {"high", money},
                    {"worst_mean", money},
                    {"best_share", share},
                    {"refused_share", share},
                    {"regret", money},
                    {"conditional", list(Json{{"type", "string"}})}});
}

Json input_schema() {
  const Json text{{"type", "string"}}, money = text_with(""), share = text_with(" %");
  return object_of({{"of", text},
                    {"name", text},
                    {"same", list(text)},
                    {"cut_off", share},
                    {"share", or_null(share)},
                    {"worth", or_null(money)},
                    {"standard_error", or_null(money)}});
}

}  // namespace

SimulateOptions read_simulate_options(const std::optional<Value>& document, const Plan& plan,
                                      const DocumentLimits& limits, std::vector<Complaint>& complaints) {
  SimulateOptions options;
  if (!document) return options;
  Reader reader(limits);
  OptionsDraft draft;
  options_form().read(*document, Place(), reader, draft);
  const DrawOptionsReader draws(plan, reader);
  options.numbers = draws.numbers(draft);
  options.together = draws.together(draft);
  options.threads = static_cast<int>(draft.threads.value_or(1));
  options.keep = draft.keep.value_or(false);
  const Place root;
  if (draft.routes) options.routes = routes_named(*draft.routes, plan, Place(root, "routes"), reader);
  if (draft.prefer) {
    options.prefer = draft.prefer->by;
    if (draft.prefer->sds.index != 0) options.sds = value_of(reader, draft.prefer->sds);
  }
  move_complaints(reader, complaints);
  return options;
}

std::string simulation_text(const Simulation& s, const SimulateOptions& options) {
  JsonText out(4096);
  out.open('{').field("format", simulation_format).field("currency", s.plan->currency);
  write_count(out, "draws", s.draws);
  write_count(out, "counted", s.counted);
  out.field("impossible",
            share_text(static_cast<double>(s.draws - s.counted) / static_cast<double>(s.draws)));
  out.field("method", options.numbers.method == DrawMethod::sobol ? "sobol" : "philox");
  write_count(out, "seed", static_cast<std::int64_t>(options.numbers.seed));
  out.key("routes").open('{');
  for (const RouteChance& route : s.routes) write_route(out, route);
  auto name = [&](std::size_t route) -> std::string_view { return s.routes[route].route->name; };
  out.close('}').key("choices").open('{').key("plan");
  if (s.plan_best) out.string(name(*s.plan_best));
  else out.null();
  out.field("mean", name(s.by_mean))
      .field("worst 5 % mean", name(s.by_worst_mean))
      .field("mean less sd", name(s.by_mean_less_sd))
      .close('}')
      .field("preferred", name(s.preferred));
  write_lead(out, s);
  out.field("worth_of_certainty", money_text(s.worth_of_certainty))
      .field("worth_standard_error", money_text(s.worth_standard_error));
  write_inputs(out, s);
  write_words(out, words_of(s));
  write_cautions(out, cautions_of(s));
  return out.close('}').take();
}

Json simulate_options_schema() { return whole_schema("Options of a simulation", options_form().schema); }

Json simulation_schema() {
  const Json text{{"type", "string"}}, money = text_with(""), share = text_with(" %"),
                                       count{{"type", "integer"}};
  const Json lead = object_of({{"over", text},
                               {"mean", money},
                               {"standard_error", money},
                               {"sd", money},
                               {"ahead", share},
                               {"taken", count}},
                              {"taken"});
  Json schema = schema_parts::titled("A Buttonworth simulation, format 1");
  schema.update(object_of(
      {{"format", {{"const", simulation_format}}},
       {"currency", schema_parts::currency()},
       {"draws", count},
       {"counted", count},
       {"impossible", share},
       {"method", {{"enum", {"sobol", "philox"}}}},
       {"seed", count},
       {"routes", named(route_schema())},
       {"choices",
        object_of(
            {{"plan", or_null(text)}, {"mean", text}, {"worst 5 % mean", text}, {"mean less sd", text}})},
       {"preferred", text},
       {"lead", or_null(lead)},
       {"worth_of_certainty", money},
       {"worth_standard_error", money},
       {"inputs", list(input_schema())},
       {"words", list(text)},
       {"cautions", cautions()}}));
  return schema;
}

}  // namespace buttonworth
