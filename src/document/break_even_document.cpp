// What would tip the choice, as a document: section 25.

#include <algorithm>

#include "document/bench_figures.hpp"
#include "document/draw_options.hpp"
#include "document/figure_text.hpp"
#include "document/heading_form.hpp"
#include "document/plan_document.hpp"
#include "document/plan_job.hpp"
#include "document/plan_places.hpp"
#include "document/schema_parts.hpp"

namespace buttonworth {
namespace {

constexpr const char* break_even_format = "buttonworth-break-even/1";

struct OptionsDraft : PlanPlaces::EndsDraft {
  std::optional<std::vector<std::string>> routes;
  std::optional<BestCuts> cuts;
};

const Form<OptionsDraft>& options_form() {
  static const Form<OptionsDraft> form = Fields<OptionsDraft>()
                                             .need("of", &OptionsDraft::of, pointers_form())
                                             .may("from", &OptionsDraft::from, text_form())
                                             .may("to", &OptionsDraft::to, text_form())
                                             .may("routes", &OptionsDraft::routes, route_names_form())
                                             .may("cuts", &OptionsDraft::cuts, best_cuts_form())
                                             .form("an object of options: of, and what else is wanted");
  return form;
}

// ---- The answer --------------------------------------------------------------------------------

/// A found break-even with what its figures are figures of.
struct Found {
  const Plan& plan;
  const Worths& worths;
  const Along& along;
  const BreakEven& break_even;

  Quantity quantity() const { return along.quantities.front(); }
  std::string text(double value) const { return stated_text(plan, quantity(), value); }
  std::string spoken(double value) const { return spoken_text(plan, quantity(), value); }
  const std::string* name(const std::optional<std::size_t>& route) const {
    return route ? &worths.route(*route).name : nullptr;
  }
};

void write_ends(JsonText& out, const char* name, const std::optional<double>& from,
                const std::optional<double>& to) {
  out.key(name).open('[');
  for (const auto& one : {from, to}) {
    if (one) out.string(money_text(*one));
    else out.null();
  }
  out.close(']');
}

void write_leads(JsonText& out, const Found& found) {
  out.key("leads").open('[');
  for (const LeadInterval& lead : found.break_even.leads) {
    out.open('{').field("from", found.text(lead.from.at)).field("to", found.text(lead.to.at));
    write_name(out, "best", found.name(lead.best));
    const auto worth = [&](const Look& look) -> std::optional<double> {
      return lead.best ? std::optional(look.worth[*lead.best]) : std::nullopt;
    };
    const auto ahead = [&](const Look& look) {
      return lead.best ? lead_of(look.worth, *lead.best) : std::nullopt;
    };
    write_ends(out, "present_value", worth(lead.from), worth(lead.to));
    write_ends(out, "lead", ahead(lead.from), ahead(lead.to));
    out.close('}');
  }
  out.close(']');
}

constexpr const char* kinds[] = {"tie", "jump", "several"};

void write_changes(JsonText& out, const Found& found) {
  out.key("changes").open('[');
  for (const Tip& tip : found.break_even.tips) {
    out.open('{')
        .field("at", found.text(tip.at))
        .field("from", found.text(tip.from))
        .field("to", found.text(tip.to));
    out.key("between").open('[');
    for (const auto& route : {tip.first, tip.second}) {
      if (route) out.string(*found.name(route));
      else out.null();
    }
    out.close(']').field("how", word(kinds, tip.kind));
    write_ends(out, "lead", tip.lead_before, tip.lead_after);
    out.close('}');
  }
  out.close(']');
}

// ---- In words ----------------------------------------------------------------------------------

void say_now(const Found& found, const std::vector<double>& worth, std::vector<std::string>& words) {
  const std::string at = quantity_name(found.plan, found.along.quantities) + ' ' +
                         found.spoken(to_double(found.plan.quantities[found.quantity()].mean));
  const auto best = leader(worth);
  if (!best) {
    words.push_back("As planned (" + at + ") no route is taken.");
    return;
  }
  const auto lead = lead_of(worth, *best);
  words.push_back("As planned (" + at + ") " + quoted(*found.name(best)) +
                  (lead ? " leaves the most, by " + spoken_money(*lead, found.plan.currency) + '.'
                        : " is the only route taken."));
}

void say_change(const Found& found, const Tip& tip, bool below, std::vector<std::string>& words) {
  const auto& then = below ? tip.first : tip.second;
  const std::string where = (below ? "Below " : "Above ") + found.spoken(below ? tip.from : tip.to);
  words.push_back(where + (then ? ", " + quoted(*found.name(then)) + " leads" : ", no route is taken") +
                  (tip.kind == TipKind::jump      ? ", by a jump."
                   : tip.kind == TipKind::several ? ", after changes close together."
                                                  : "."));
}

/// The nearest changes on either side of the plan's value, or the one that it lies in; the rest stands in the
/// list.
std::vector<std::string> words_of(const Found& found, const std::vector<double>& at_plan) {
  std::vector<std::string> words;
  const double mean = to_double(found.plan.quantities[found.quantity()].mean);
  say_now(found, at_plan, words);
  const auto& tips = found.break_even.tips;
  const auto next = std::find_if(tips.begin(), tips.end(), [&](const Tip& tip) { return tip.to >= mean; });
  const bool amid = next != tips.end() && next->from <= mean;
  if (amid) say_change(found, *next, true, words);
  else if (next != tips.begin()) say_change(found, *std::prev(next), true, words);
  if (next != tips.end()) say_change(found, *next, false, words);
  if (tips.empty())
    words.push_back("From " + found.spoken(found.along.from) + " to " + found.spoken(found.along.to) +
                    " that does not change.");
  return words;
}

std::vector<Caution> all_cautions(const Found& found) {
  std::vector<Caution> cautions = cautions_of(
      found.worths, [&](const std::vector<double>& values) { return found.text(values.front()); });
  const std::string& of = found.plan.quantities[found.quantity()].place;
  if (found.break_even.gave_up)
    cautions.push_back(
        {of,
         "the routes change places too often to be followed everywhere: look at a narrower range, "
         "or at fewer routes"});
  for (const Tip& tip : found.break_even.tips)
    if (!tip.confirmed)
      cautions.push_back({of, "the tie at " + found.spoken(tip.at) +
                                  " is not as sharp in decimals: rounding or a searched cut blurs it"});
  return cautions;
}

std::string break_even_text(const Found& found, const std::vector<double>& at_plan) {
  JsonText out(4096);
  out.open('{').field("format", break_even_format).field("currency", found.plan.currency);
  write_places(out, found.plan, found.along.quantities);
  out.field("plan", stated_text(found.plan, found.quantity(), found.plan.quantities[found.quantity()].mean));
  out.field("from", found.text(found.along.from)).field("to", found.text(found.along.to));
  write_leads(out, found);
  write_changes(out, found);
  write_words(out, words_of(found, at_plan));
  write_cautions(out, all_cautions(found));
  return out.close('}').take();
}

std::string answer(const PlanInHand& in_hand, const std::optional<Value>& options,
                   std::vector<Complaint>& complaints) {
  Reader reader(in_hand.limits);
  OptionsDraft draft;
  options_form().read(options_or_none(options), Place(), reader, draft);
  std::optional<Along> along;
  const Place root;
  WorthOptions worth_options;
  worth_options.cuts = draft.cuts.value_or(BestCuts::again);
  if (draft.routes)
    worth_options.routes = routes_named(*draft.routes, in_hand.plan, Place(root, "routes"), reader);
  if (reader.complaints.empty()) along = PlanPlaces(in_hand.plan, reader).along(draft, root);
  move_complaints(reader, complaints);
  if (!complaints.empty()) return {};
  Worths worths(in_hand.plan, worth_options, along->quantities, in_hand.watch);
  const std::vector<double> at_plan = worths.at(worths.means());
  const BreakEven break_even = find_break_even(worths, *along, in_hand.watch);
  return break_even_text({in_hand.plan, worths, *along, break_even}, at_plan);
}

Json schema() { return whole_schema("Options of a break-even", options_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, value = stated_value(), amount = text_with("");
  const Json ends{{"type", "array"}, {"items", or_null(amount)}, {"minItems", 2}, {"maxItems", 2}};
  return whole_schema("What would tip the choice, by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of({{"format", {{"const", break_even_format}}},
                      {"currency", currency()},
                      {"of", list(text)},
                      {"name", text},
                      {"plan", value},
                      {"from", value},
                      {"to", value},
                      {"leads", list(object_of({{"from", value},
                                                {"to", value},
                                                {"best", or_null(text)},
                                                {"present_value", ends},
                                                {"lead", ends}}))},
                      {"changes", list(object_of({{"at", value},
                                                  {"from", value},
                                                  {"to", value},
                                                  {"between", list(or_null(text))},
                                                  {"how", {{"enum", {"tie", "jump", "several"}}}},
                                                  {"lead", ends}}))},
                      {"words", list(text)},
                      {"cautions", cautions()}});
  });
}

}  // namespace

const PlanJob break_even_job{answer, "break-even-options", schema, "break-even", answer_schema};

}  // namespace buttonworth
