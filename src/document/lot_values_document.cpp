#include "document/lot_values_document.hpp"

#include <cmath>

#include "document/bench_figures.hpp"
#include "document/draw_options.hpp"
#include "document/heading_form.hpp"
#include "document/plan_document.hpp"
#include "document/plan_places.hpp"
#include "document/range_text.hpp"
#include "document/schema_parts.hpp"

namespace buttonworth {
namespace {

constexpr const char* lot_values_format = "buttonworth-lot-values/1";

// ---- Options -----------------------------------------------------------------------------------

struct OptionsDraft : DrawOptionsDraft {
  std::optional<std::int64_t> threads, first;
  std::optional<std::vector<std::string>> routes;
};

const Form<OptionsDraft>& options_form() {
  static const Form<OptionsDraft> form =
      Fields<OptionsDraft>()
          .may("routes", &OptionsDraft::routes, route_names_form())
          .may("threads", &OptionsDraft::threads, whole_number_form(1, 256))
          .may("first", &OptionsDraft::first, whole_number_form(0, std::int64_t{1} << 53))
          .may("draws", &OptionsDraft::draws, whole_number_form(0, most_draws_of_routes))
          .may("seed", &OptionsDraft::seed, whole_number_form(0, std::int64_t{1} << 53))
          .may("correlate", &OptionsDraft::correlated, list_of(correlated_form()))
          .may("same", &OptionsDraft::same, same_form())
          .may("averaged", &OptionsDraft::averaged, list_of(averaged_form()))
          .form("an object of options");
  return form;
}

/// What is drawn for each lot does not go together with what is drawn once for all.
void require_apart(const Plan& plan, const LotOptions& options, Reader& reader) {
  const Place root;
  const auto check = [&](Quantity a, Quantity b, const Place& place) {
    if (is_of_the_lot(plan, a) == is_of_the_lot(plan, b)) return;
    const bool first = is_of_the_lot(plan, a);
    reader.complain(Code::conflict, place,
                    plan.quantities[first ? a : b].place + " is drawn for each lot by itself, " +
                        plan.quantities[first ? b : a].place +
                        " once for all lots: they cannot go together here");
  };
  for (const auto& one : options.together.correlated) check(one.a, one.b, Place(root, "correlate"));
  for (const auto& list : options.together.same)
    for (Quantity one : list) check(list.front(), one, Place(root, "same"));
}

void require_room(const Plan& plan, const LotOptions& options, Reader& reader) {
  const std::size_t routes = options.routes.empty() ? plan.routes.size() : options.routes.size();
  const std::size_t most = most_draws_of_routes / std::max<std::size_t>(1, routes);
  const Place root;
  if (options.draws > most)
    reader.complain(Code::range, Place(root, "draws"),
                    "of " + std::to_string(routes) + " routes no more than " + std::to_string(most) +
                        " draws are held at once: take fewer draws, or name fewer routes");
}

/// A spread stated as a share of the value follows it; one stated in the value's unit stays.
bool follows_size(const Value& document, const StatedQuantity& stated) {
  if (!stated.spread) return false;
  if (stated.spread->shape == Distribution::Shape::lognormal) return true;
  const Value* const there = find_at(document, stated.place);
  return there != nullptr && there->find("rsd") != nullptr;
}

// ---- The answer --------------------------------------------------------------------------------

std::string exact_text(TenThousandths amount) {
  const bool negative = amount < 0;
  std::string digits;
  for (TenThousandths left = negative ? -amount : amount; left > 0; left /= 10)
    digits.insert(digits.begin(), static_cast<char>('0' + static_cast<int>(left % 10)));
  if (digits.size() < 5) digits.insert(0, 5 - digits.size(), '0');
  digits.insert(digits.size() - 4, 1, '.');
  return (negative ? "-" : "") + digits;
}

void write_count(JsonText& out, const char* name, std::int64_t count) {
  out.key(name).bare(std::to_string(count));
}

void write_route(JsonText& out, const RouteOfLots& route) {
  out.key(route.route->name).open('{');
  write_count(out, "best", route.best);
  out.field("best_sum", exact_text(route.best_sum));
  write_count(out, "refused", route.refused);
  out.field("sum", exact_text(route.sum));
  write_texts(out, "conditional", route.conditional);
  out.close('}');
}

/// What is wrong with a number of a column.
std::string unreadable_text(const Plan& plan, Quantity quantity, double number) {
  const StatedQuantity& stated = plan.quantities[quantity];
  const std::string unit = stated.unit.empty() ? "" : " " + stated.unit;
  const std::string found = std::isnan(number)   ? "no number"
                            : std::isinf(number) ? "an infinite number"
                                                 : to_text(number, Digits{12, 24, 0}) + unit;
  const std::string in = unit.empty() ? "" : ", as a number in" + unit;
  return found + " stands here: it must be " + range_text(stated.allowed) + in;
}

void write_left_out(JsonText& out, const LotValues& values, const std::vector<LotColumn>& columns) {
  out.key("left_out").open('[');
  for (const RowLeftOut& row : values.left_out) {
    out.open('{');
    write_count(out, "row", row.row);
    out.key("of");
    if (row.column) {
      const Quantity quantity = columns[*row.column].quantity;
      out.string(values.plan->quantities[quantity].place)
          .field("what", unreadable_text(*values.plan, quantity, row.number));
    } else {
      out.null().field("what", row.reason);
    }
    out.close('}');
  }
  out.close(']');
}

void write_draws(JsonText& out, const LotValues& values, const LotOptions& options) {
  out.key("draws");
  if (options.draws == 0) {
    out.null();
    return;
  }
  out.open('{');
  write_count(out, "count", static_cast<std::int64_t>(options.draws));
  write_count(out, "seed", static_cast<std::int64_t>(options.seed));
  write_count(out, "impossible", values.impossible_draws);
  out.key("sums").open('[');
  for (const TenThousandths& sum : values.draws) out.string(exact_text(sum));
  out.close(']').close('}');
}

std::vector<Caution> all_cautions(const LotValues& values, const LotOptions& options,
                                  const std::vector<LotColumn>& columns) {
  std::vector<Caution> cautions = values.cautions;
  for (std::size_t c = 0; c < columns.size(); ++c) {
    const double drawn = static_cast<double>(values.rows) * static_cast<double>(options.draws);
    const double share = drawn > 0 ? static_cast<double>(values.held[c]) / drawn : 0;
    if (share > 0.01)
      cautions.push_back({values.plan->quantities[columns[c].quantity].place,
                          to_text(share * 100, Digits{2, 4, 0}) +
                              " % of the lots' draws lie beyond what the field allows and count as its end: "
                              "state a spread that follows the size, such as rsd"});
  }
  return cautions;
}

}  // namespace

LotOptions read_lot_options(const PlanInHand& in_hand, const std::optional<Value>& document,
                            std::vector<Complaint>& complaints) {
  LotOptions options;
  Reader reader(in_hand.limits);
  OptionsDraft draft;
  options_form().read(options_or_none(document), Place(), reader, draft);
  options.together = DrawOptionsReader(in_hand.plan, reader).together(draft);
  options.threads = static_cast<int>(draft.threads.value_or(1));
  options.first = draft.first.value_or(0);
  options.draws = static_cast<std::size_t>(draft.draws.value_or(0));
  options.seed = static_cast<std::uint64_t>(draft.seed.value_or(1));
  const Place root;
  if (draft.routes) options.routes = routes_named(*draft.routes, in_hand.plan, Place(root, "routes"), reader);
  require_apart(in_hand.plan, options, reader);
  require_room(in_hand.plan, options, reader);
  move_complaints(reader, complaints);
  return options;
}

std::vector<LotColumn> lot_columns(const PlanInHand& in_hand, const std::vector<std::string>& pointers,
                                   std::vector<Complaint>& complaints) {
  Reader reader(in_hand.limits);
  const PlanPlaces places(in_hand.plan, reader);
  const Place root, at(root, "columns");
  std::vector<LotColumn> columns;
  std::vector<bool> had(in_hand.plan.quantities.size());
  for (std::size_t i = 0; i < pointers.size(); ++i) {
    const Place place(at, i);
    const std::vector<Quantity> found = places.together({pointers[i]}, place);
    if (found.empty()) continue;
    if (had[found.front().index])
      reader.complain(Code::repeated, place, pointers[i] + " stands twice: remove one of the two");
    had[found.front().index] = true;
    columns.push_back(
        {found.front(), follows_size(in_hand.document, in_hand.plan.quantities[found.front()])});
  }
  move_complaints(reader, complaints);
  return columns;
}

std::string lot_values_text(const LotValues& values, const LotOptions& options,
                            const std::vector<LotColumn>& columns) {
  const Plan& plan = *values.plan;
  JsonText out(4096 + 24 * values.draws.size());
  out.open('{').field("format", lot_values_format).field("currency", plan.currency);
  write_count(out, "first", options.first);
  write_count(out, "rows", values.rows);
  write_count(out, "counted", values.counted);
  write_count(out, "refused", values.refused);
  write_count(out, "impossible", values.impossible);
  write_count(out, "unreadable", values.unreadable);
  out.key("columns").open('[');
  for (const LotColumn& column : columns) {
    const StatedQuantity& stated = plan.quantities[column.quantity];
    out.open('{').field("of", stated.place).field("name", quantity_name(plan, column.quantity));
    out.field("unit", stated.unit).close('}');
  }
  out.close(']').key("routes").open('{');
  for (const RouteOfLots& route : values.routes) write_route(out, route);
  out.close('}').field("sum", exact_text(values.sum));
  write_draws(out, values, options);
  write_left_out(out, values, columns);
  write_cautions(out, all_cautions(values, options, columns));
  return out.close('}').take();
}

Json lot_values_options_schema() {
  return whole_schema("Options of a valuing of lots", options_form().schema);
}

Json lot_values_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, count{{"type", "integer"}, {"minimum", 0}};
  const Json money{{"type", "string"}, {"pattern", "^-?[0-9]+\\.[0-9]{4}$"}};
  return whole_schema("Lots valued by one plan, by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of(
        {{"format", {{"const", lot_values_format}}},
         {"currency", currency()},
         {"first", count},
         {"rows", count},
         {"counted", count},
         {"refused", count},
         {"impossible", count},
         {"unreadable", count},
         {"columns", list(object_of({{"of", text}, {"name", text}, {"unit", text}}))},
         {"routes", named(object_of({{"best", count},
                                     {"best_sum", money},
                                     {"refused", count},
                                     {"sum", money},
                                     {"conditional", list(text)}}))},
         {"sum", money},
         {"draws", or_null(object_of(
                       {{"count", count}, {"seed", count}, {"impossible", count}, {"sums", list(money)}}))},
         {"left_out", list(object_of({{"row", count}, {"of", or_null(text)}, {"what", text}}))},
         {"cautions", cautions()}});
  });
}

}  // namespace buttonworth
