#include "document/plan_places.hpp"

#include <algorithm>
#include <cmath>

#include "chance/marginal.hpp"
#include "document/figure_text.hpp"
#include "document/plan_document.hpp"
#include "material/listed.hpp"

namespace buttonworth {
namespace {

/// The currency that a quantity is stated in, empty where it is no money.
std::string currency_of(const StatedQuantity& stated) {
  const auto unit = find_unit(stated.unit, stated.dimension, exact_factors());
  return unit ? std::string(unit->currency) : std::string();
}

/// How far the double of a certain quantity may go.
double highest(Allowed allowed, double mean) {
  if (allowed == Allowed::share || allowed == Allowed::positive_share) return 1;
  if (allowed == Allowed::below_all) return (1 + mean) / 2;
  return std::numeric_limits<double>::infinity();
}

bool alike(const StatedQuantity& a, const StatedQuantity& b) {
  return a.unit == b.unit && a.unit_factor == b.unit_factor && a.allowed == b.allowed &&
         a.dimension == b.dimension;
}

}  // namespace

Form<std::vector<std::string>> pointers_form() {
  const auto one = text_form();
  const auto list = list_of(one, 1);
  return {[=](const Value& value, const Place& place, Reader& reader, std::vector<std::string>& out) {
            if (value.kind == Value::Kind::list) list.read(value, place, reader, out);
            else one.read(value, place, reader, out.emplace_back());
          },
          [=](SchemaBook& book) {
            return Json{{"oneOf", {one.schema(book), list.schema(book)}}};
          }};
}

Form<BestCuts> best_cuts_form() {
  return choice<BestCuts>({{"again", BestCuts::again}, {"held", BestCuts::held}});
}

PlanPlaces::PlanPlaces(const Plan& plan, Reader& reader) : plan_(plan), reader_(reader) {}

std::optional<Quantity> PlanPlaces::at(const std::string& pointer, const Place& place) const {
  std::vector<std::string> known;
  for (std::uint32_t i = 1; i < plan_.quantities.size(); ++i) {
    const std::string& there = plan_.quantities.at(i).place;
    if (!pointer.empty() && there == pointer) return Quantity{i};
    if (!there.empty()) known.push_back(there);
  }
  reader_.complain(Code::name, place,
                   "the plan states no quantity at " + pointer + nearest_text(pointer, known) +
                       "; a value that the plan leaves out is to be written out there first");
  return std::nullopt;
}

std::vector<Quantity> PlanPlaces::together(const std::vector<std::string>& pointers,
                                           const Place& place) const {
  std::vector<Quantity> set;
  const bool one = pointers.size() == 1;
  for (std::size_t i = 0; i < pointers.size(); ++i) {
    const Place entry(place, i);
    const auto found = at(pointers[i], one ? place : entry);
    if (!found) return {};
    for (Quantity before : set)
      if (before.index == found->index) {
        reader_.complain(Code::repeated, entry, pointers[i] + " stands twice: remove one of the two");
        return {};
      }
    if (!set.empty() && !alike(plan_.quantities[set.front()], plan_.quantities[*found])) {
      reader_.complain(Code::conflict, entry,
                       pointers[i] + " is stated in another unit, or may be something else, than " +
                           pointers.front() + ": they cannot be set to one value");
      return {};
    }
    set.push_back(*found);
  }
  return set;
}

std::optional<Decimal> PlanPlaces::value(Quantity q, const std::string& text, const Place& place) const {
  const StatedQuantity& stated = plan_.quantities[q];
  Reader reader(reader_.limits);
  reader.currency = currency_of(stated);
  Value written;
  written.kind = Value::Kind::text;
  written.text = text;
  Quantity read;
  quantity(stated.dimension, stated.allowed).read(written, place, reader, read);
  for (const Complaint& one : reader.complaints) {
    const bool money = one.code == Code::unit && !reader.currency.empty();
    reader_.complain(one.code, place,
                     money ? '"' + readable(text.substr(0, 60)) +
                                 "\" has another unit than what it is a value of: " + stated.place +
                                 " is stated in " + stated.unit
                           : one.text);
  }
  if (!reader.complaints.empty()) return std::nullopt;
  const StatedQuantity& value = reader.quantities[read];
  return value.unit == stated.unit ? Decimal(value.mean / value.unit_factor * stated.unit_factor)
                                   : value.mean;
}

/// Where nothing is said of an end.
bool PlanPlaces::give_ends(const EndsDraft& draft, const Place& place, Along& along) const {
  const StatedQuantity& stated = plan_.quantities[along.quantities.front()];
  const double mean = to_double(stated.mean);
  double low = std::min(mean / 2, mean * 2);
  double high = std::min(std::max(mean / 2, mean * 2), highest(stated.allowed, mean));
  if (stated.spread) {
    const Marginal marginal = Marginal::of(stated);
    if (!marginal.certain()) low = marginal.quantile(0.001), high = marginal.quantile(0.999);
  }
  if (stated.allowed == Allowed::at_least_one) low = std::max(low, 1.0);
  if (!draft.from) along.from = low;
  if (!draft.to) along.to = high;
  if (along.from < along.to) return true;
  const bool stated_both = draft.from && draft.to;
  reader_.complain(stated_both ? Code::range : Code::missing_field, stated_both ? Place(place, "to") : place,
                   stated_both ? "to is to be above from"
                               : "from and to cannot be told by the value of " + stated.place + ", " +
                                     stated.text + ", alone: state both, to above from");
  return false;
}

std::optional<Along> PlanPlaces::along(const EndsDraft& draft, const Place& place) const {
  Along along{together(draft.of, Place(place, "of")), 0, 0};
  if (along.quantities.empty()) return std::nullopt;
  const auto end = [&](const std::optional<std::string>& text, const char* field, double& out) {
    if (!text) return true;
    const auto value = this->value(along.quantities.front(), *text, Place(place, field));
    if (value) out = to_double(*value);
    return value.has_value();
  };
  const bool from = end(draft.from, "from", along.from), to = end(draft.to, "to", along.to);
  if (!from || !to || !give_ends(draft, place, along)) return std::nullopt;
  return along;
}

// ---- Writing -----------------------------------------------------------------------------------

namespace {
std::string with_unit(const Plan& plan, Quantity q, const Decimal& value, Digits digits) {
  const StatedQuantity& stated = plan.quantities[q];
  return to_text(Decimal(value / stated.unit_factor), digits) + (stated.unit.empty() ? "" : " ") +
         stated.unit;
}
}  // namespace

std::string stated_text(const Plan& plan, Quantity q, const Decimal& value) {
  return with_unit(plan, q, value, Digits{12, 24, 0});
}
std::string stated_text(const Plan& plan, Quantity q, double value) {
  return stated_text(plan, q, Decimal(value));
}
std::string spoken_text(const Plan& plan, Quantity q, double value) {
  return with_unit(plan, q, Decimal(value), Digits{6, 12, 0});
}
std::string full_stated_text(const Plan& plan, Quantity q, const Decimal& value) {
  return with_unit(plan, q, value, full_digits);
}

void write_places(JsonText& out, const Plan& plan, const std::vector<Quantity>& quantities) {
  out.key("of").open('[');
  for (Quantity q : quantities) out.string(plan.quantities[q].place);
  out.close(']');
}
std::string places_text(const Plan& plan, const std::vector<Quantity>& quantities) {
  return listed(quantities.size(), [&](std::size_t i) { return plan.quantities[quantities[i]].place; });
}

std::vector<Caution> cautions_of(const Worths& worths,
                                 const std::function<std::string(const std::vector<double>&)>& at) {
  std::vector<Caution> cautions;
  if (worths.fault())
    cautions.push_back({"plan", "some values make no plan, and leave no route there, as at " +
                                    at(worths.fault()->values) + ": " + worths.fault()->reason});
  for (const ImpossibleRoute& one : worths.impossible())
    cautions.push_back(
        {worths.route(one.route).name,
         "counts as refused where it cannot be worked out, as at " + at(one.values) + ": " + one.reason});
  return cautions;
}

std::string spoken_money(double amount, const std::string& currency) {
  const bool cents = std::abs(amount) < 100;
  return to_text(cents ? std::round(amount * 100) / 100 : std::round(amount), Digits{15, cents ? 2 : 0, 0}) +
         ' ' + currency;
}

void write_amount(JsonText& out, std::string_view name, const std::optional<double>& amount) {
  out.key(name);
  if (amount) out.string(money_text(*amount));
  else out.null();
}
void write_amount(JsonText& out, std::string_view name, const std::optional<Decimal>& amount) {
  out.key(name);
  if (amount) out.string(money_text(*amount));
  else out.null();
}
void write_name(JsonText& out, std::string_view name, const std::string* text) {
  out.key(name);
  if (text != nullptr) out.string(*text);
  else out.null();
}
void write_words(JsonText& out, const std::vector<std::string>& words) {
  out.key("words").open('[');
  for (const std::string& sentence : words) out.string(sentence);
  out.close(']');
}

namespace schema_parts {
Json stated_value() { return {{"type", "string"}, {"pattern", "^-?[0-9]+(\\.[0-9]+)?( [^ ]+)?$"}}; }
Json currency() { return {{"type", "string"}, {"pattern", "^[A-Z]{3}$"}}; }
}  // namespace schema_parts

}  // namespace buttonworth
