// Sensitivity as a document: section 28.

#include "chance/sensitivity.hpp"

#include <algorithm>

#include "document/bench_figures.hpp"
#include "document/draw_options.hpp"
#include "document/heading_form.hpp"
#include "document/plan_document.hpp"
#include "document/plan_job.hpp"
#include "document/plan_places.hpp"
#include "document/schema_parts.hpp"

namespace buttonworth {
namespace {

constexpr const char* sensitivity_format = "buttonworth-sensitivity/1";

struct OptionsDraft {
  std::optional<std::vector<std::string>> routes;
  std::optional<std::vector<std::vector<std::string>>> of;
  std::vector<std::vector<std::string>> same;
};

const Form<OptionsDraft>& options_form() {
  static const Form<OptionsDraft> form = Fields<OptionsDraft>()
                                             .may("routes", &OptionsDraft::routes, route_names_form())
                                             .may("of", &OptionsDraft::of, list_of(pointers_form(), 1))
                                             .may("same", &OptionsDraft::same, same_form())
                                             .form("an object of options");
  return form;
}

// ---- The answer --------------------------------------------------------------------------------

/// Some twenty digits are good.
std::string slope_text(const Decimal& slope) { return to_text(slope, Digits{20, 40, 0}); }

void write_slope(JsonText& out, std::string_view name, const std::optional<Decimal>& slope) {
  out.key(name);
  if (slope) out.string(slope_text(*slope));
  else out.null();
}

struct Found {
  const Plan& plan;
  const Sensitivity& result;

  const std::string* name(const std::optional<std::size_t>& route) const {
    return route ? &plan.routes[result.routes[*route]].name : nullptr;
  }
  std::optional<Decimal> lead() const {
    if (!result.best || !result.next) return std::nullopt;
    return Decimal(*result.worth[*result.best] - *result.worth[*result.next]);
  }
};

/// In the unit the quantity is stated in.
std::optional<Decimal> in_units(const std::optional<Decimal>& slope, const StatedQuantity& stated) {
  return slope ? std::optional(Decimal(*slope * stated.unit_factor)) : std::nullopt;
}

void write_route(JsonText& out, const StatedQuantity& stated, const RouteSlope& slope) {
  out.open('{');
  write_slope(out, "derivative", in_units(slope.slope, stated));
  write_slope(out, "elasticity", slope.elasticity);
  const auto where_there = [&](const char* name, const std::optional<Decimal>& value) {
    if (value) write_slope(out, name, value);
  };
  where_there("below", in_units(slope.below, stated));
  where_there("above", in_units(slope.above, stated));
  where_there("jump_below", slope.jump_below);
  where_there("jump_above", slope.jump_above);
  if (slope.refused_below) out.key("refused_below").bare("true");
  if (slope.refused_above) out.key("refused_above").bare("true");
  out.close('}');
}

void write_range(JsonText& out, const Plan& plan, const QuantitySensitivity& one) {
  if (!one.range) return;
  out.field("low", stated_text(plan, one.quantities.front(), one.range->low));
  out.field("high", stated_text(plan, one.quantities.front(), one.range->high));
  out.key("lead_at").open('{');
  write_amount(out, "low", one.range->lead_low);
  write_amount(out, "high", one.range->lead_high);
  out.close('}');
  write_amount(out, "swing", one.swing());
}

void write_quantity(JsonText& out, const Found& found, const QuantitySensitivity& one) {
  const StatedQuantity& stated = found.plan.quantities[one.quantities.front()];
  out.open('{');
  write_places(out, found.plan, one.quantities);
  out.field("plan", stated_text(found.plan, one.quantities.front(), stated.mean)).field("per", stated.unit);
  write_slope(out, "lead", in_units(one.lead, stated));
  write_slope(out, "lead_per_percent",
              one.lead_per_share ? std::optional(Decimal(*one.lead_per_share / 100)) : std::nullopt);
  out.key("routes").open('{');
  for (std::size_t i = 0; i < one.routes.size(); ++i)
    if (one.routes[i]) write_route(out.key(*found.name(i)), stated, *one.routes[i]);
  out.close('}');
  write_range(out, found.plan, one);
  out.close('}');
}

// ---- In words ----------------------------------------------------------------------------------

constexpr std::size_t most_named = 5;

std::string swing_sentence(const Found& found, const QuantitySensitivity& one) {
  const Plan& plan = found.plan;
  const Quantity q = one.quantities.front();
  const auto lead = [&](const std::optional<Decimal>& at) {
    return at ? spoken_money(to_double(*at), plan.currency) : std::string("none, a route being refused");
  };
  const auto& range = *one.range;
  const bool turns = (range.lead_low && *range.lead_low < 0) || (range.lead_high && *range.lead_high < 0);
  return "With " + quantity_name(plan, one.quantities) + " from " + spoken_text(plan, q, range.low) + " to " +
         spoken_text(plan, q, range.high) + ", the lead goes from " + lead(range.lead_low) + " to " +
         lead(range.lead_high) + (turns ? ", and another route may lead." : ".");
}

std::vector<std::string> words_of(const Found& found) {
  std::vector<std::string> words;
  if (!found.result.best) return {"No route is taken as planned."};
  if (const auto lead = found.lead())
    words.push_back(quoted(*found.name(found.result.best)) + " leads " +
                    quoted(*found.name(found.result.next)) + " by " +
                    spoken_money(to_double(*lead), found.plan.currency) + '.');
  for (const QuantitySensitivity& one : found.result.quantities) {
    if (words.size() > most_named || !found.result.next) break;
    if (one.range) words.push_back(swing_sentence(found, one));
    else if (one.lead_per_share)
      words.push_back("1 % more of " + quantity_name(found.plan, one.quantities) + " changes the lead by " +
                      spoken_money(to_double(*one.lead_per_share) / 100, found.plan.currency) + '.');
  }
  return words;
}

std::string sensitivity_text(const Found& found) {
  JsonText out(65536);
  out.open('{').field("format", sensitivity_format).field("currency", found.plan.currency);
  write_name(out, "best", found.name(found.result.best));
  write_name(out, "next", found.name(found.result.next));
  write_amount(out, "lead", found.lead());
  out.key("quantities").open('[');
  for (const QuantitySensitivity& one : found.result.quantities) write_quantity(out, found, one);
  out.close(']').key("without_effect").open('[');
  for (const auto& set : found.result.without_effect)
    for (Quantity q : set) out.string(found.plan.quantities[q].place);
  out.close(']');
  write_words(out, words_of(found));
  write_cautions(out, found.result.cautions);
  return out.close('}').take();
}

std::string answer(const PlanInHand& in_hand, const std::optional<Value>& options,
                   std::vector<Complaint>& complaints) {
  Reader reader(in_hand.limits);
  OptionsDraft draft;
  options_form().read(options_or_none(options), Place(), reader, draft);
  const auto plan = in_hand.unrounded();
  const Place root, of(root, "of");
  SensitivityOptions wanted;
  if (draft.routes) wanted.routes = routes_named(*draft.routes, *plan, Place(root, "routes"), reader);
  if (draft.of && reader.complaints.empty())
    for (std::size_t i = 0; i < draft.of->size(); ++i) {
      auto set = PlanPlaces(*plan, reader).together((*draft.of)[i], Place(of, i));
      if (!set.empty()) wanted.of.push_back(std::move(set));
    }
  wanted.same = DrawOptionsReader(*plan, reader).moving_together(draft.same);
  move_complaints(reader, complaints);
  if (!complaints.empty()) return {};
  return sensitivity_text({*plan, find_sensitivity(*plan, wanted, in_hand.watch)});
}

Json schema() { return whole_schema("Options of a sensitivity", options_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, value = stated_value(), number = text_with(""),
                                       or_none = or_null(number), yes{{"const", true}};
  const Json route =
      object_of({{"derivative", or_none},
                 {"elasticity", or_none},
                 {"below", number},
                 {"above", number},
                 {"jump_below", number},
                 {"jump_above", number},
                 {"refused_below", yes},
                 {"refused_above", yes}},
                {"below", "above", "jump_below", "jump_above", "refused_below", "refused_above"});
  const Json quantity = object_of({{"of", list(text)},
                                   {"name", text},
                                   {"plan", value},
                                   {"per", text},
                                   {"lead", or_none},
                                   {"lead_per_percent", or_none},
                                   {"routes", named(route)},
                                   {"low", value},
                                   {"high", value},
                                   {"lead_at", object_of({{"low", or_none}, {"high", or_none}})},
                                   {"swing", or_none}},
                                  {"low", "high", "lead_at", "swing"});
  return whole_schema("A sensitivity, by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of({{"format", {{"const", sensitivity_format}}},
                      {"currency", currency()},
                      {"best", or_null(text)},
                      {"next", or_null(text)},
                      {"lead", or_none},
                      {"quantities", list(quantity)},
                      {"without_effect", list(text)},
                      {"words", list(text)},
                      {"cautions", cautions()}});
  });
}

}  // namespace

const PlanJob sensitivity_job{answer, "sensitivity-options", schema, "sensitivity", answer_schema};

}  // namespace buttonworth
