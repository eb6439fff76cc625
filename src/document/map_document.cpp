// The map of two quantities as a document: section 29.

#include "chance/choice_map.hpp"
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

constexpr const char* map_format = "buttonworth-map/1";
constexpr std::int64_t most_steps = 1025;
constexpr std::int64_t most_points = 263'169;  // 513 by 513

struct AxisDraft : PlanPlaces::EndsDraft {
  std::optional<std::int64_t> steps;
};
struct OptionsDraft {
  AxisDraft x, y;
  std::optional<std::vector<std::string>> routes;
  std::optional<BestCuts> cuts;
};

Form<AxisDraft> axis_form() {
  return Fields<AxisDraft>()
      .need("of", &AxisDraft::of, pointers_form())
      .may("from", &AxisDraft::from, text_form())
      .may("to", &AxisDraft::to, text_form())
      .may("steps", &AxisDraft::steps, whole_number_form(2, most_steps))
      .form("an object: of, and what else is wanted of from, to and steps");
}

const Form<OptionsDraft>& options_form() {
  static const Form<OptionsDraft> form = Fields<OptionsDraft>()
                                             .need("x", &OptionsDraft::x, axis_form())
                                             .need("y", &OptionsDraft::y, axis_form())
                                             .may("routes", &OptionsDraft::routes, route_names_form())
                                             .may("cuts", &OptionsDraft::cuts, best_cuts_form())
                                             .form("an object of options: x and y");
  return form;
}

std::optional<MapAxis> axis_of(const Plan& plan, const AxisDraft& draft, const Place& place, Reader& reader) {
  const auto along = PlanPlaces(plan, reader).along(draft, place);
  if (!along) return std::nullopt;
  return MapAxis{*along, static_cast<int>(draft.steps.value_or(33))};
}

void require_apart(const Plan& plan, const MapAxis& x, const MapAxis& y, const Place& place, Reader& reader) {
  for (Quantity a : x.along.quantities)
    for (Quantity b : y.along.quantities)
      if (a.index == b.index)
        reader.complain(Code::conflict, place,
                        plan.quantities[a].place + " stands in x too: a map is of two quantities");
  if (std::int64_t{x.steps} * y.steps > most_points)
    reader.complain(Code::range, place,
                    "more than " + std::to_string(most_points) + " points: take fewer steps");
}

// ---- The answer --------------------------------------------------------------------------------

void write_axis(JsonText& out, const Plan& plan, const char* name, const MapAxis& axis) {
  const Quantity q = axis.along.quantities.front();
  const StatedQuantity& stated = plan.quantities[q];
  out.key(name).open('{');
  write_places(out, plan, axis.along.quantities);
  out.field("plan", stated_text(plan, q, stated.mean)).field("unit", stated.unit).key("values").open('[');
  for (int i = 0; i < axis.steps; ++i)
    out.string(to_text(Decimal(Decimal(axis.value(i)) / stated.unit_factor), Digits{12, 24, 0}));
  out.close(']').close('}');
}

/// A list of rows, each a list.
template <class Entry>
void write_grid(JsonText& out, const char* name, int rows, int columns, const Entry& entry) {
  out.key(name).open('[');
  for (int row = 0; row < rows; ++row) {
    out.open('[');
    for (int column = 0; column < columns; ++column) entry(static_cast<std::size_t>(row * columns + column));
    out.close(']');
  }
  out.close(']');
}

std::string map_text(const Plan& plan, const Worths& worths, const MapAxis& x, const MapAxis& y,
                     const ChoiceMap& map) {
  JsonText out(64 * map.winner.size());
  out.open('{').field("format", map_format).field("currency", plan.currency);
  write_axis(out, plan, "x", x);
  write_axis(out, plan, "y", y);
  out.key("routes").open('[');
  for (std::size_t i = 0; i < worths.routes().size(); ++i) out.string(worths.route(i).name);
  out.close(']');
  write_grid(out, "winner", y.steps, x.steps, [&](std::size_t i) {
    if (map.winner[i]) out.bare(std::to_string(*map.winner[i]));
    else out.null();
  });
  write_grid(out, "lead", y.steps, x.steps, [&](std::size_t i) {
    if (map.lead[i]) out.string(money_text(*map.lead[i]));
    else out.null();
  });
  const auto at = [&](const std::vector<double>& values) {
    return stated_text(plan, x.along.quantities.front(), values.front()) + " and " +
           stated_text(plan, y.along.quantities.front(), values.back());
  };
  write_cautions(out, cautions_of(worths, at));
  return out.close('}').take();
}

std::string answer(const PlanInHand& in_hand, const std::optional<Value>& options,
                   std::vector<Complaint>& complaints) {
  Reader reader(in_hand.limits);
  OptionsDraft draft;
  options_form().read(options_or_none(options), Place(), reader, draft);
  const Plan& plan = in_hand.plan;
  const Place root, at_x(root, "x"), at_y(root, "y");
  WorthOptions worth_options;
  worth_options.cuts = draft.cuts.value_or(BestCuts::again);
  if (draft.routes) worth_options.routes = routes_named(*draft.routes, plan, Place(root, "routes"), reader);
  std::optional<MapAxis> x, y;
  if (reader.complaints.empty())
    x = axis_of(plan, draft.x, at_x, reader), y = axis_of(plan, draft.y, at_y, reader);
  if (x && y) require_apart(plan, *x, *y, at_y, reader);
  move_complaints(reader, complaints);
  if (!complaints.empty()) return {};
  std::vector<Quantity> set = x->along.quantities;
  set.insert(set.end(), y->along.quantities.begin(), y->along.quantities.end());
  Worths worths(plan, worth_options, std::move(set), in_hand.watch);
  const ChoiceMap map = draw_map(worths, *x, *y, in_hand.watch);
  return map_text(plan, worths, *x, *y, map);
}

Json schema() { return whole_schema("Options of a map", options_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, number = text_with("");
  const Json axis = object_of({{"of", list(text)},
                               {"name", text},
                               {"plan", stated_value()},
                               {"unit", text},
                               {"values", list(number)}});
  return whole_schema("A map, by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of({{"format", {{"const", map_format}}},
                      {"currency", currency()},
                      {"x", axis},
                      {"y", axis},
                      {"routes", list(text)},
                      {"winner", list(list(or_null(Json{{"type", "integer"}})))},
                      {"lead", list(list(or_null(number)))},
                      {"cautions", cautions()}});
  });
}

}  // namespace

const PlanJob map_job{answer, "map-options", schema, "map", answer_schema};

}  // namespace buttonworth
