// The counter-offer sheet as a document: section 26.

#include <algorithm>
#include <cmath>

#include "chance/counter_offers.hpp"
#include "document/bench_figures.hpp"
#include "document/draw_options.hpp"
#include "document/heading_form.hpp"
#include "document/plan_document.hpp"
#include "document/plan_job.hpp"
#include "document/plan_places.hpp"
#include "document/schema_parts.hpp"

namespace buttonworth {
namespace {

constexpr const char* counter_offers_format = "buttonworth-counter-offers/1";

struct OptionsDraft {
  std::optional<std::vector<std::string>> terms, routes;
  std::optional<BestCuts> cuts;
};

const Form<OptionsDraft>& options_form() {
  static const Form<OptionsDraft> form = Fields<OptionsDraft>()
                                             .may("terms", &OptionsDraft::terms, route_names_form())
                                             .may("routes", &OptionsDraft::routes, route_names_form())
                                             .may("cuts", &OptionsDraft::cuts, best_cuts_form())
                                             .form("an object of options");
  return form;
}

std::vector<std::size_t> terms_named(const std::vector<std::string>& names, const Plan& plan,
                                     const Place& place, Reader& reader) {
  std::vector<std::string> known;
  for (const Terms& terms : plan.terms) known.push_back(terms.name);
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < names.size(); ++i) {
    const auto at = std::find(known.begin(), known.end(), names[i]);
    const auto index = static_cast<std::size_t>(at - known.begin());
    if (at == known.end())
      reader.complain(Code::name, Place(place, i),
                      "the plan has no terms named " + names[i] + nearest_text(names[i], known));
    else if (std::find(found.begin(), found.end(), index) != found.end())
      reader.complain(Code::repeated, Place(place, i),
                      "the terms " + names[i] + " stand twice: remove one of the two");
    else found.push_back(index);
  }
  return found;
}

// ---- The answer --------------------------------------------------------------------------------

/// One value, or a list of several.
template <class Text>
void write_values(JsonText& out, const char* name, const TermFigure& figure, const Text& text) {
  out.key(name);
  if (figure.quantities.size() == 1) {
    out.string(text(std::size_t{0}));
    return;
  }
  out.open('[');
  for (std::size_t i = 0; i < figure.quantities.size(); ++i) out.string(text(i));
  out.close(']');
}

void write_offer(JsonText& out, const Plan& plan, const Offer& offer) {
  const TermFigure& figure = offer.figure;
  const auto after = [&](const Decimal& change) {
    return [&plan, &figure, values = moved(plan, figure, change)](std::size_t i) {
      return full_stated_text(plan, figure.quantities[i], values[i]);
    };
  };
  out.open('{');
  write_of(out, plan, figure.quantities);
  out.field("what", figure.what);
  write_values(out, "plan", figure, after(0));
  if (offer.change) {
    write_values(out, "to", figure, after(*offer.change));
    const Decimal change = figure.up ? *offer.change : Decimal(-*offer.change);
    out.field("change", full_stated_text(plan, figure.quantities.front(), change));
  } else {
    out.key("to").null().key("change").null();
  }
  write_values(out, "furthest", figure, after(figure.furthest));
  out.close('}');
}

// ---- In words ----------------------------------------------------------------------------------

/// Rounded towards the seller's favour: to four digits, of days to whole ones.
Decimal spoken_value(const StatedQuantity& stated, const Decimal& value, bool up) {
  const Decimal in_units = value / stated.unit_factor;
  if (in_units == 0) return 0;
  const int first = static_cast<int>(std::floor(std::log10(std::abs(to_double(in_units)))));
  const int last = stated.dimension == Dimension::time && first >= 0 ? 0 : first - 3;
  const Decimal step = power_of_ten(last), steps = in_units / step;
  return (up ? ceiling(steps) : plain_floor(Decimal(steps + edge_width<Decimal>() * abs(steps)))) * step;
}

std::string spoken(const StatedQuantity& stated, const Decimal& value, bool up) {
  return with_commas(to_text(spoken_value(stated, value, up), full_digits) +
                     (stated.unit.empty() ? "" : " ") + stated.unit);
}

/// Percent more of a percentage are points.
std::string spoken_change(const StatedQuantity& stated, const Decimal& change) {
  if (stated.unit != "%") return spoken(stated, change, true);
  return to_text(spoken_value(stated, change, true), full_digits) + " points";
}

void replace(std::string& text, const char* what, const std::string& by) {
  const std::size_t at = text.find(what);
  if (at != text.npos) text.replace(at, std::string(what).size(), by);
}

/// "97.04 % of the Au paid instead of 94 %"; of several, "every band of Au 3.038 points higher".
std::string phrase(const Plan& plan, const Offer& offer) {
  const TermFigure& figure = offer.figure;
  const StatedQuantity& stated = plan.quantities[figure.quantities.front()];
  std::string text = figure.phrase;
  replace(text, "{to}", spoken(stated, moved(plan, figure, *offer.change).front(), figure.up));
  replace(text, "{change}", spoken_change(stated, *offer.change));
  return figure.quantities.size() > 1 ? text : text + " instead of " + with_commas(stated.text);
}

void say_standing(const Plan& plan, const CounterOffers& sheet, const BuyerOffers& buyer,
                  std::vector<std::string>& words) {
  if (buyer.route == nullptr) {
    words.push_back(quoted(buyer.terms->name) +
                    " takes no route: " + (buyer.refused.empty() ? "" : buyer.refused.front()) + '.');
    return;
  }
  if (*buyer.missing <= 0) {
    words.push_back(quoted(buyer.terms->name) + " (" + quoted(buyer.route->name) + ") leaves as much as " +
                    quoted(sheet.best->name) + '.');
    return;
  }
  words.push_back(quoted(buyer.terms->name) + " (" + quoted(buyer.route->name) + ") leaves " +
                  spoken_money(*buyer.missing, plan.currency) + " less than " + quoted(sheet.best->name) +
                  '.');
}

void say_offers(const Plan& plan, const BuyerOffers& buyer, std::vector<std::string>& words) {
  if (buyer.missing && *buyer.missing <= 0) return;
  std::string wins;
  for (const Offer& offer : buyer.offers)
    if (offer.change) wins += (wins.empty() ? "" : ", or ") + phrase(plan, offer);
  if (buyer.per_lot) {
    const double grain = *buyer.per_lot < 10 ? 0.01 : 1;  // as money is spoken of, upwards
    const double money = std::ceil(*buyer.per_lot / grain - 1e-9) * grain;
    wins += (wins.empty() ? "" : ", or ") + spoken_money(money, plan.currency) +
            " more a lot, with the final settlement";
  }
  words.push_back(wins.empty() ? "No single figure of its terms makes it win."
                               : "It would win with " + wins + '.');
}

void write_buyer(JsonText& out, const Plan& plan, const CounterOffers& sheet, const BuyerOffers& buyer) {
  out.key(buyer.terms->name).open('{');
  write_name(out, "route", buyer.route != nullptr ? &buyer.route->name : nullptr);
  write_amount(out, "present_value", buyer.present_value);
  write_amount(out, "short", buyer.missing);
  write_amount(out, "per_lot", buyer.per_lot);
  write_texts(out, "refused", buyer.refused);
  out.key("offers").open('[');
  for (const Offer& offer : buyer.offers) write_offer(out, plan, offer);
  out.close(']');
  std::vector<std::string> words;
  say_standing(plan, sheet, buyer, words);
  say_offers(plan, buyer, words);
  write_words(out, words);
  out.close('}');
}

std::string answer(const PlanInHand& in_hand, const std::optional<Value>& options,
                   std::vector<Complaint>& complaints) {
  Reader reader(in_hand.limits);
  OptionsDraft draft;
  options_form().read(options_or_none(options), Place(), reader, draft);
  const Place root;
  const Plan& plan = in_hand.plan;
  CounterOptions wanted;
  if (draft.terms) wanted.terms = terms_named(*draft.terms, plan, Place(root, "terms"), reader);
  if (draft.routes) wanted.worths.routes = routes_named(*draft.routes, plan, Place(root, "routes"), reader);
  wanted.worths.cuts = draft.cuts.value_or(BestCuts::again);
  move_complaints(reader, complaints);
  if (!complaints.empty()) return {};
  const CounterOffers sheet = find_counter_offers(plan, wanted, in_hand.watch);
  JsonText out(8192);
  out.open('{').field("format", counter_offers_format).field("currency", plan.currency);
  write_name(out, "best", sheet.best != nullptr ? &sheet.best->name : nullptr);
  write_amount(out, "present_value", sheet.present_value);
  out.key("buyers").open('{');
  for (const BuyerOffers& buyer : sheet.buyers) write_buyer(out, plan, sheet, buyer);
  out.close('}');
  write_cautions(out, sheet.cautions);
  return out.close('}').take();
}

Json schema() { return whole_schema("Options of counter-offers", options_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, value = stated_value(), amount = or_null(text_with(""));
  const Json values{{"oneOf", {value, list(value)}}};
  const Json offer = object_of({{"of", list(text)},
                                {"what", text},
                                {"plan", values},
                                {"to", or_null(values)},
                                {"change", or_null(value)},
                                {"furthest", values}});
  const Json buyer = object_of({{"route", or_null(text)},
                                {"present_value", amount},
                                {"short", amount},
                                {"per_lot", amount},
                                {"refused", list(text)},
                                {"offers", list(offer)},
                                {"words", list(text)}});
  return whole_schema("Counter-offers, by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of({{"format", {{"const", counter_offers_format}}},
                      {"currency", currency()},
                      {"best", or_null(text)},
                      {"present_value", amount},
                      {"buyers", named(buyer)},
                      {"cautions", cautions()}});
  });
}

}  // namespace

const PlanJob counter_offers_job{answer, "counter-offers-options", schema, "counter-offers", answer_schema};

}  // namespace buttonworth
