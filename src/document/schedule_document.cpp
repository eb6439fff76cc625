#include "document/schedule_document.hpp"

#include <algorithm>

#include "document/bench_figures.hpp"
#include "document/comparison_document.hpp"
#include "document/figure_text.hpp"
#include "document/plan_places.hpp"
#include "document/schema_parts.hpp"
#include "material/listed.hpp"
#include "quantity/pointer.hpp"

namespace buttonworth {
namespace {

constexpr const char* schedule_format = "buttonworth-schedule/1";

// ---- The answer --------------------------------------------------------------------------------------

/// Money that was worked out in doubles, without what they leave behind the twelfth digit.
std::string in_doubles(double amount) { return to_text(amount, Digits{12, 12, 2}); }

std::string rounded(double value) { return to_text(value, Digits{12, 6, 0}); }

std::string part_text(const OfferedLot& lot, std::uint32_t parts) {
  return to_text(100.0 * parts / lot.parts, Digits{6, 3, 0}) + " %";
}

void write_shares(JsonText& out, const Allocation& allocation, const Shares& shares) {
  out.key("lots").open('{');
  for (const Share& share : shares) {
    const OfferedLot& lot = allocation.lots[share.lot];
    out.field(lot.name, part_text(lot, share.parts));
  }
  out.close('}');
}

void write_shipment(JsonText& out, const Allocation& allocation, const Shipment& one) {
  out.open('{');
  write_shares(out, allocation, one.shares);
  out.field("route", one.result().route->name)
      .field("ready", rounded(one.ready))
      .field("start", rounded(one.start));
  write_route_result(out.key("result"), *one.plan, one.result(), false);
  out.key("untested").open('[');
  for (Analyte a : one.worked.untested) out.string(one.plan->analytes[a]);
  out.close(']');
  write_cautions(out, one.worked.cautions);
  out.close('}');
}

/// Where in the request a limit stands.
std::string place_of(const Allocation& allocation, const Limit& limit) {
  const Plan& plan = *allocation.plan;
  switch (limit.kind) {
    case LimitKind::hours:
      if (limit.stated == Limit::none_stated) return "/period";
      return "/capacity" + pointer_step(plan.steps[limit.of].basics.name) + "/hours";
    case LimitKind::melts: return "/capacity" + pointer_step(plan.steps[limit.of].basics.name) + "/melts";
    case LimitKind::shipments: return "/buyers" + pointer_step(plan.terms[limit.of].name) + "/shipments";
    case LimitKind::mass: return "/buyers" + pointer_step(plan.terms[limit.of].name) + "/mass";
    case LimitKind::cash: return "/cash/" + std::to_string(limit.stated);
    case LimitKind::gone: return "/on_hand" + pointer_step(plan.analytes[limit.of]);
  }
  return "";
}

/// A figure of a limit with its unit; of metal what is on hand, not what has gone.
void write_limit(JsonText& out, const Allocation& allocation, const LimitState& state) {
  const Limit& limit = state.limit;
  const bool reaches = limit.least > -Limit::none;
  out.open('{').field("at", place_of(allocation, limit)).field("what", state.name);
  const bool is_most = !reaches || limit.kind == LimitKind::gone;
  out.field(is_most ? "most" : "least", limit_figure(allocation, limit, reaches ? limit.least : limit.most));
  out.field("reached", limit_figure(allocation, limit, state.reached));
  if (state.late > 0) out.field("late", limit_figure(allocation, limit, state.late));
  out.key("kept").bare(state.kept ? "true" : "false");
  if (state.worth) {
    if (state.more > 0) out.key("more").open('{').field("of", limit_figure(allocation, limit, state.more));
    else out.key("without").open('{');
    out.field("worth", in_doubles(*state.worth)).field("at_most", in_doubles(state.worth_most)).close('}');
  }
  out.close('}');
}

void write_timetable(JsonText& out, const Allocation& allocation, const Schedule& schedule) {
  struct Stay {
    std::size_t shipment;
    const Pass* pass;
  };
  std::vector<Stay> stays;
  for (std::size_t i = 0; i < schedule.shipments.size(); ++i)
    for (const Pass& pass : schedule.shipments[i].passes) stays.push_back({i, &pass});
  std::stable_sort(stays.begin(), stays.end(),
                   [](const Stay& a, const Stay& b) { return a.pass->day < b.pass->day; });
  const Plan& plan = *allocation.plan;
  out.key("timetable").open('[');
  for (const auto& [shipment, pass] : stays) {
    out.open('{')
        .field("step", plan.steps[pass->step].basics.name)
        .field("from", rounded(pass->day))
        .field("to", rounded(pass->day + working_days(plan, pass->hours)))
        .field("hours", rounded(pass->hours));
    if (pass->melts > 0) out.field("melts", rounded(pass->melts));
    out.key("shipment").bare(std::to_string(shipment)).close('}');
  }
  out.close(']');
}

void write_baseline(JsonText& out, const char* name, const Schedule& schedule, const Baseline& baseline) {
  out.key(name)
      .open('{')
      .field("present_value", in_doubles(baseline.value))
      .field("more_by_schedule", in_doubles(schedule.before_waiting - baseline.value));
  out.key("misses").open('[');
  for (std::size_t k : baseline.missed) out.string(schedule.limits[k].name);
  out.close(']').close('}');
}

void write_looked(JsonText& out, const Looked& looked, const Schedule& schedule) {
  auto count = [&](const char* name, std::int64_t number) { out.key(name).bare(std::to_string(number)); };
  out.key("looked_at").open('{');
  count("lots_alone", looked.singles);
  count("pairs", looked.pairs);
  count("pairs_there_are", looked.possible_pairs);
  count("triples", looked.triples);
  count("triples_there_are", looked.possible_triples);
  count("larger", looked.larger);
  count("all_up_to", looked.all_up_to);
  count("refused", looked.refused);
  count("in_the_programme", static_cast<std::int64_t>(schedule.columns));
  out.close('}');
}

void write_candidates(JsonText& out, const Allocation& allocation, const Candidates& candidates) {
  out.key("candidates").open('[');
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    const Consignment& one = candidates[i];
    out.open('{');
    write_shares(out, allocation, one.shares);
    out.field("route", allocation.plan->routes[one.route].name).field("present_value", in_doubles(one.value));
    out.key("takes").open('[');
    for (double takes : candidates.takes(i)) out.bare(to_text(takes));
    out.close(']').close('}');
  }
  out.close(']');
}

void write_left(JsonText& out, const Allocation& allocation, const Schedule& schedule) {
  out.key("left").open('[');
  for (const LeftLot& one : schedule.left) {
    const OfferedLot& lot = allocation.lots[one.lot];
    out.open('{').field("lot", lot.name).field("share", part_text(lot, one.parts));
    write_texts(out, "reasons", one.reasons);
    out.close('}');
  }
  out.close(']');
}

// ---- In words ----------------------------------------------------------------------------------------

/// What comes nearest to limits of which no schedule was found that keeps them all.
std::string not_kept(const Allocation& allocation, const LimitState& state) {
  const Limit& limit = state.limit;
  if (state.late > 0)
    return "Not kept: " + state.name + ", of which " + limit_figure(allocation, limit, state.late) +
           " are worked after the period's end.";
  const bool reaches = limit.least > -Limit::none;
  return "Not kept: " + state.name + ", " +
         limit_figure(allocation, limit, reaches ? limit.least : limit.most) + " wanted; " +
         limit_figure(allocation, limit, state.reached) +
         " is reached, and nothing that was found comes nearer to all that is wanted.";
}

/// Lots that have to go and do not; empty where all of them do.
std::string not_gone(const Allocation& allocation, const Schedule& schedule) {
  std::vector<std::string> names;
  for (const LeftLot& one : schedule.left)
    if (const OfferedLot& lot = allocation.lots[one.lot]; lot.must) names.push_back(quoted(lot.name));
  if (names.empty()) return {};
  return "Not kept: " + listed(names.size(), [&](std::size_t i) { return names[i]; }) +
         (names.size() == 1 ? " has to go, and is" : " have to go, and are") + " left in whole or in part.";
}

/// "10 h more at shaker would bring ".
std::string worth_words(const Allocation& allocation, const LimitState& state) {
  const Plan& plan = *allocation.plan;
  const Limit& limit = state.limit;
  if (state.more == 0) return "Keeping to \"" + state.name + "\" costs ";
  const std::string more = limit_figure(allocation, limit, state.more);
  switch (limit.kind) {
    case LimitKind::hours: return more + " more at " + plan.steps[limit.of].basics.name + " would bring ";
    case LimitKind::melts:
      return more + " melt more at " + plan.steps[limit.of].basics.name + " would bring ";
    case LimitKind::shipments:
      return more + " shipment more to " + plan.terms[limit.of].name + " would bring ";
    default: return more + " more to " + plan.terms[limit.of].name + " would bring ";
  }
}

std::string what_goes(const std::vector<Shipment>& shipments, const std::string& value) {
  if (shipments.empty()) return "No shipment goes.";
  const auto joined = std::count_if(shipments.begin(), shipments.end(),
                                    [](const Shipment& one) { return one.shares.size() > 1; });
  const std::string leaves = value + " in today's money.";
  if (shipments.size() == 1)
    return "1 shipment, of " + std::string(joined > 0 ? "lots joined" : "one lot") + ", leaves " + leaves;
  const std::string of =
      joined == 0 ? ", each of one lot" : ", " + std::to_string(joined) + " of them of lots joined";
  return std::to_string(shipments.size()) + " shipments" + of + ", leave " + leaves;
}

std::vector<std::string> words_of(const Allocation& allocation, const Schedule& schedule) {
  const std::string& currency = allocation.plan->currency;
  auto money = [&](double amount) { return spoken_money(amount, currency); };
  std::vector<std::string> words{what_goes(schedule.shipments, money(to_double(schedule.value)))};
  words.push_back("Deciding lot by lot as they come would leave " + money(schedule.lot_by_lot.value) +
                  (schedule.lot_by_lot.missed.empty() ? "." : ", and would miss what has to be reached."));
  const double waiting = schedule.before_waiting - to_double(schedule.value);
  if (waiting > 0.5) words.push_back("Waiting for steps that are busy costs " + money(waiting) + " of it.");
  for (const LimitState& state : schedule.limits) {
    if (!state.kept) words.push_back(not_kept(allocation, state));
    if (!state.worth || *state.worth < 0.5) continue;
    words.push_back(worth_words(allocation, state) + money(*state.worth) + '.');
  }
  if (std::string lots = not_gone(allocation, schedule); !lots.empty()) words.push_back(std::move(lots));
  if (!schedule.left.empty())
    words.push_back(
        (schedule.left.size() == 1 ? "1 lot is" : std::to_string(schedule.left.size()) + " lots are") +
        " left, in whole or in part.");
  return words;
}

}  // namespace

std::string schedule_text(const Allocation& allocation, const Allocated& allocated) {
  const Schedule& schedule = allocated.schedule;
  JsonText out(4096 * (schedule.shipments.size() + 1));
  out.open('{').field("format", schedule_format).field("currency", allocation.plan->currency);
  write_texts(out, "words", words_of(allocation, schedule));
  out.field("present_value", money_text(schedule.value))
      .field("net", money_text(schedule.net))
      .field("cash", money_text(schedule.cash))
      .field("before_waiting", in_doubles(schedule.before_waiting))
      .field("bound", in_doubles(schedule.bound))
      .field("gap", to_text(schedule.gap * 100, Digits{6, 6, 0}) + " %");
  out.key("finished").bare(schedule.finished ? "true" : "false");
  out.key("limits_kept").bare(schedule.possible ? "true" : "false");
  if (schedule.mean)
    out.field("mean", in_doubles(*schedule.mean)).field("worst_mean", in_doubles(*schedule.worst_mean));
  out.key("shipments").open('[');
  for (const Shipment& one : schedule.shipments) write_shipment(out, allocation, one);
  out.close(']');
  write_left(out, allocation, schedule);
  out.key("limits").open('[');
  for (const LimitState& state : schedule.limits) write_limit(out, allocation, state);
  out.close(']');
  write_timetable(out, allocation, schedule);
  out.key("cash_days").open('[');
  for (const CashDay<Decimal>& one : schedule.cash_days)
    out.open('{')
        .field("day", rounded(to_double(one.day)))
        .field("amount", money_text(one.amount))
        .field("total", money_text(one.total))
        .close('}');
  out.close(']').key("compared").open('{');
  write_baseline(out, "lot_by_lot", schedule, schedule.lot_by_lot);
  write_baseline(out, "greedy", schedule, schedule.greedy);
  write_baseline(out, "without_limits", schedule, schedule.without_limits);
  out.close('}');
  write_looked(out, allocated.candidates->looked(), schedule);
  if (allocation.options.lists_candidates) write_candidates(out, allocation, *allocated.candidates);
  out.close('}');
  return out.take();
}

// ---- The schema -------------------------------------------------------------------------------------

namespace {

using namespace schema_parts;

Json share() { return text_with(" %"); }
Json flag() { return {{"type", "boolean"}}; }
Json count() { return {{"type", "integer"}, {"minimum", 0}}; }

Json shipment_schema() {
  return object_of({{"lots", named(share())},
                    {"route", text()},
                    {"ready", number()},
                    {"start", number()},
                    {"result", {{"$ref", "#/definitions/route"}}},
                    {"untested", list(text())},
                    {"cautions", cautions()}});
}

Json limit_schema() {
  const Json figure{{"type", "string"}, {"pattern", "^-?[0-9]+(\\.[0-9]+)?( h| kg| g| [A-Z]{3})?$"}};
  return object_of({{"at", text()},
                    {"what", text()},
                    {"most", figure},
                    {"least", figure},
                    {"reached", figure},
                    {"late", figure},
                    {"kept", flag()},
                    {"more", object_of({{"of", figure}, {"worth", number()}, {"at_most", number()}})},
                    {"without", object_of({{"worth", number()}, {"at_most", number()}})}},
                   {"most", "least", "late", "more", "without"});
}

Json stay_schema() {
  return object_of({{"step", text()},
                    {"from", number()},
                    {"to", number()},
                    {"hours", number()},
                    {"melts", number()},
                    {"shipment", count()}},
                   {"melts"});
}

Json compared_schema() {
  const Json baseline =
      object_of({{"present_value", number()}, {"more_by_schedule", number()}, {"misses", list(text())}});
  return object_of({{"lot_by_lot", baseline}, {"greedy", baseline}, {"without_limits", baseline}});
}

Json looked_schema() {
  return object_of({{"lots_alone", count()},
                    {"pairs", count()},
                    {"pairs_there_are", count()},
                    {"triples", count()},
                    {"triples_there_are", count()},
                    {"larger", count()},
                    {"all_up_to", count()},
                    {"refused", count()},
                    {"in_the_programme", count()}});
}

Json candidate_schema() {
  return object_of({{"lots", named(share())},
                    {"route", text()},
                    {"present_value", number()},
                    {"takes", list({{"type", "number"}})}});
}

}  // namespace

Json schedule_schema() {
  Json schema = schema_parts::titled("A Buttonworth schedule, format 1");
  schema.update(object_of(
      {{"format", {{"const", schedule_format}}},
       {"currency", schema_parts::currency()},
       {"words", list(text())},
       {"present_value", number()},
       {"net", number()},
       {"cash", number()},
       {"before_waiting", number()},
       {"bound", number()},
       {"gap", share()},
       {"finished", flag()},
       {"limits_kept", flag()},
       {"mean", number()},
       {"worst_mean", number()},
       {"shipments", list(shipment_schema())},
       {"left", list(object_of({{"lot", text()}, {"share", share()}, {"reasons", list(text())}}))},
       {"limits", list(limit_schema())},
       {"timetable", list(stay_schema())},
       {"cash_days", list(object_of({{"day", number()}, {"amount", number()}, {"total", number()}}))},
       {"compared", compared_schema()},
       {"looked_at", looked_schema()},
       {"candidates", list(candidate_schema())}},
      {"mean", "worst_mean", "candidates"}));
  schema["definitions"] = {{"route", route_result_schema()}};
  return schema;
}

}  // namespace buttonworth
