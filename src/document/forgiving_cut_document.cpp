// The forgiving cut as a document: section 27.

#include "chance/forgiving_cut.hpp"

#include "document/bench_figures.hpp"
#include "document/draw_options.hpp"
#include "document/figure_text.hpp"
#include "document/heading_form.hpp"
#include "document/plan_document.hpp"
#include "document/plan_job.hpp"
#include "document/plan_places.hpp"
#include "document/schema_parts.hpp"
#include "quantity/short_text.hpp"

namespace buttonworth {
namespace {

using answer_units::percent;

constexpr const char* forgiving_cut_format = "buttonworth-forgiving-cut/1";

struct OptionsDraft {
  std::optional<std::string> route;
  std::optional<Quantity> costs;
  std::optional<std::int64_t> points;
};

const Form<OptionsDraft>& options_form() {
  static const Form<OptionsDraft> form = Fields<OptionsDraft>()
                                             .may("route", &OptionsDraft::route, text_form())
                                             .may("costs", &OptionsDraft::costs, quantity(Dimension::money))
                                             .may("points", &OptionsDraft::points, whole_number_form(2, 1025))
                                             .form("an object of options");
  return form;
}

constexpr const char* cuts[] = {"pull", "grade", "recovery", "best"};

// ---- The answer --------------------------------------------------------------------------------

std::string pull_text(double pull) { return to_text(pull * 100, Digits{12, 24, 0}) + " %"; }

void write_bands(JsonText& out, const CutLine& line) {
  out.key("bands").open('[');
  for (const PullBand& band : line.bands) {
    out.open('{').field("from", pull_text(band.from)).field("to", pull_text(band.to)).key("open").open('[');
    if (band.from_open) out.string("from");
    if (band.to_open) out.string("to");
    out.close(']').close('}');
  }
  out.close(']');
}

void write_line(JsonText& out, const CutLine& line) {
  out.open('{').field("at", line.step->basics.name).field("cut", pull_text(line.pull));
  out.field("how", word(cuts, line.how)).key("searched").open('[');
  out.string(pull_text(line.from)).string(pull_text(line.to)).close(']');
  write_bands(out, line);
  out.key("best");
  if (line.best) {
    out.open('{').field("pull", pull_text(line.best->first));
    out.field("present_value", money_text(line.best->second)).close('}');
  } else {
    out.null();
  }
  const auto per_percent = [](const std::optional<Decimal>& slope) {
    return slope ? std::optional(Decimal(*slope / 100)) : std::nullopt;
  };
  out.key("slope").open('{');
  write_amount(out, "less", per_percent(line.slope_less));
  write_amount(out, "more", per_percent(line.slope_more));
  out.close('}').key("jump").open('{');
  write_amount(out, "less", line.jump_less);
  write_amount(out, "more", line.jump_more);
  out.close('}').key("curve").open('[');
  for (const auto& [pull, value] : line.curve) {
    out.open('{').field("pull", pull_text(pull));
    write_amount(out, "present_value", value);
    out.close('}');
  }
  out.close(']').key("another_pass").open('[');
  for (const AnotherPass& pass : line.passes) {
    out.open('{').field("of", pass.of);
    write_amount(out, "at_most", pass.at_most);
    out.field("costs", money_text(pass.costs)).close('}');
  }
  out.close(']').close('}');
}

// ---- In words ----------------------------------------------------------------------------------

void say_band(const Plan& plan, const ForgivingCut& found, const CutLine& line,
              std::vector<std::string>& words) {
  const std::string cut = quoted(line.step->basics.name) + " is cut at " + short_percent(line.pull);
  if (line.bands.empty()) {
    words.push_back(cut + '.');
    return;
  }
  const PullBand& band = line.bands.front();
  words.push_back(cut + ": anywhere from " + short_percent(band.from) + " to " + short_percent(band.to) +
                  " costs no more than " + spoken_money(found.costs, plan.currency) + '.');
  if (line.how != Cut::How::best && line.best && above(line.best->second, found.present_value))
    words.push_back("At " + short_percent(line.best->first) + " it would leave " +
                    spoken_money(line.best->second - found.present_value, plan.currency) + " more.");
}
/// Where a little more or less costs at once.
void say_brink(const Plan& plan, const CutLine& line, std::vector<std::string>& words) {
  const auto falls = [](const std::optional<Decimal>& jump) { return jump && *jump < 0; };
  for (const bool more : {false, true})
    if (const auto& jump = more ? line.jump_more : line.jump_less; falls(jump))
      words.push_back("Any " + std::string(more ? "more" : "less") + " than " + short_percent(line.pull) +
                      " costs " + spoken_money(-to_double(*jump), plan.currency) +
                      " at once: aim a little to the other side.");
}
void say_pass(const Plan& plan, const AnotherPass& pass, std::vector<std::string>& words) {
  if (!pass.at_most) return;
  const double most = std::max(*pass.at_most, 0.0);
  words.push_back(std::string("Another pass over the ") + pass.of + " could bring " +
                  spoken_money(most, plan.currency) + " at the very most, and costs " +
                  spoken_money(pass.costs, plan.currency) + " of work" +
                  (most <= pass.costs ? ": it does not pay." : "."));
}

std::string forgiving_text(const Plan& plan, const ForgivingCut& found) {
  JsonText out(8192);
  out.open('{').field("format", forgiving_cut_format).field("currency", plan.currency);
  out.field("route", found.route->name).field("present_value", money_text(found.present_value));
  out.field("costs", money_text(found.costs)).key("cuts").open('[');
  std::vector<std::string> words;
  for (const CutLine& line : found.cuts) {
    write_line(out, line);
    say_band(plan, found, line, words);
    say_brink(plan, line, words);
    for (const AnotherPass& pass : line.passes) say_pass(plan, pass, words);
  }
  out.close(']');
  write_words(out, words);
  write_cautions(out, found.cautions);
  return out.close('}').take();
}

std::string answer(const PlanInHand& in_hand, const std::optional<Value>& options,
                   std::vector<Complaint>& complaints) {
  Reader reader = in_hand.options_reader();
  OptionsDraft draft;
  options_form().read(options_or_none(options), Place(), reader, draft);
  const Place root, at_route(root, "route");
  ForgivingOptions wanted;
  if (draft.route)
    for (std::size_t route : routes_named({*draft.route}, in_hand.plan, at_route, reader))
      wanted.route = route;
  if (wanted.route && in_hand.plan.routes[*wanted.route].tables.empty())
    reader.complain(Code::name, at_route, "this route has no table to cut");
  if (draft.costs && draft.costs->index != 0) wanted.costs = value_of(reader, *draft.costs);
  wanted.points = static_cast<int>(draft.points.value_or(wanted.points));
  for (Complaint& one : reader.complaints)
    if (one.pointer == "/route/0") one.pointer = "/route";
  move_complaints(reader, complaints);
  if (!complaints.empty()) return {};
  return forgiving_text(in_hand.plan,
                        find_forgiving_cut(in_hand.plan, *in_hand.unrounded(), wanted, in_hand.watch));
}

Json schema() { return whole_schema("Options of a forgiving cut", options_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, pull = value_in(percent), money = text_with(""),
                                       amount = or_null(money);
  const Json band = object_of({{"from", pull}, {"to", pull}, {"open", list({{"enum", {"from", "to"}}})}});
  const Json line = object_of({{"at", text},
                               {"cut", pull},
                               {"how", {{"enum", {"best", "pull", "grade", "recovery"}}}},
                               {"searched", list(pull)},
                               {"bands", list(band)},
                               {"best", or_null(object_of({{"pull", pull}, {"present_value", money}}))},
                               {"slope", object_of({{"less", amount}, {"more", amount}})},
                               {"jump", object_of({{"less", amount}, {"more", amount}})},
                               {"curve", list(object_of({{"pull", pull}, {"present_value", amount}}))},
                               {"another_pass", list(object_of({{"of", {{"enum", {"middlings", "tailings"}}}},
                                                                {"at_most", amount},
                                                                {"costs", money}}))}});
  return whole_schema("A forgiving cut, by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of({{"format", {{"const", forgiving_cut_format}}},
                      {"currency", currency()},
                      {"route", text},
                      {"present_value", money},
                      {"costs", money},
                      {"cuts", list(line)},
                      {"words", list(text)},
                      {"cautions", cautions()}});
  });
}

}  // namespace

const PlanJob forgiving_cut_job{answer, "forgiving-cut-options", schema, "forgiving-cut", answer_schema};

}  // namespace buttonworth
