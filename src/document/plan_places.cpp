#include "document/plan_places.hpp"

#include <algorithm>
#include <cmath>

#include "chance/marginal.hpp"
#include "chance/term_figures.hpp"
#include "document/figure_text.hpp"
#include "document/plan_document.hpp"
#include "material/listed.hpp"
#include "quantity/pointer.hpp"
#include "quantity/stated_text.hpp"

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

/// The table whose cut a pointer means, where the cut is no stated pull.
const Step* cut_step(const Plan& plan, const std::string& pointer) {
  for (const Step& step : plan.steps) {
    const auto* table = std::get_if<Table>(&step.kind);
    const std::string cut = "/steps" + pointer_step(step.basics.name) + "/cut";
    if (table != nullptr && table->cut.how != Cut::How::pull && (pointer == cut || pointer == cut + "/pull"))
      return &step;
  }
  return nullptr;
}

bool alike(const StatedQuantity& a, const StatedQuantity& b) {
  return a.unit == b.unit && a.unit_factor == b.unit_factor && a.allowed == b.allowed &&
         a.dimension == b.dimension;
}

}  // namespace

Form<std::vector<std::string>> pointers_form() { return one_or_list(text_form()); }

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
  if (const Step* step = cut_step(plan_, pointer); step != nullptr)
    reader_.complain(Code::name, place,
                     "the pull of " + quoted(step->basics.name) +
                         " is found by its cut, not stated: state it there as a fixed cut first, as in "
                         "\"cut\": {\"pull\": \"3.42 %\"}, with the pull that the comparison's answer "
                         "has, and name " +
                         "/steps" + pointer_step(step->basics.name) + "/cut/pull");
  else
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

std::string stated_text(const Plan& plan, Quantity q, const Decimal& value) {
  return text_in_unit(plan.quantities[q], value, Digits{12, 24, 0});
}
std::string stated_text(const Plan& plan, Quantity q, double value) {
  return stated_text(plan, q, Decimal(value));
}
std::string spoken_text(const Plan& plan, Quantity q, double value) {
  return with_commas(text_in_unit(plan.quantities[q], Decimal(value), Digits{4, 12, 0}));
}
std::string full_stated_text(const Plan& plan, Quantity q, const Decimal& value) {
  return text_in_unit(plan.quantities[q], value, full_digits);
}

void write_of(JsonText& out, const Plan& plan, const std::vector<Quantity>& quantities) {
  out.key("of").open('[');
  for (Quantity q : quantities) out.string(plan.quantities[q].place);
  out.close(']');
}
void write_places(JsonText& out, const Plan& plan, const std::vector<Quantity>& quantities) {
  write_of(out, plan, quantities);
  out.field("name", quantity_name(plan, quantities));
}

// ---- Names -------------------------------------------------------------------------------------

namespace {

/// What a quantity is called, and of which part of the plan it is, empty for one of the plan as a whole.
struct Named {
  std::string where, what;

  std::string text() const { return where.empty() ? what : where + ": " + what; }
};

bool is_number(const std::string& step) {
  return !step.empty() && step.find_first_not_of("0123456789") == step.npos;
}
std::string counted(const std::string& step) { return std::to_string(std::stoul(step) + 1); }

/// A pointer's steps.
class Way {
 public:
  explicit Way(const std::string& pointer) {
    for (std::size_t at = 0; at < pointer.size();) {
      const std::size_t next = std::min(pointer.find('/', at + 1), pointer.size());
      steps_.push_back(pointer_name(pointer.substr(at + 1, next - at - 1)));
      at = next;
    }
  }

  std::size_t size() const { return steps_.size(); }
  /// Empty beyond the last.
  const std::string& operator[](std::size_t i) const {
    static const std::string none;
    return i < steps_.size() ? steps_[i] : none;
  }
  /// The fields from one on, as they are: "Au, price share".
  std::string fields(std::size_t from) const {
    std::string text;
    for (std::size_t i = from; i < size(); ++i) {
      if (steps_[i] == "pay" || steps_[i] == "assays") continue;
      std::string field = is_number(steps_[i]) ? "no. " + counted(steps_[i]) : steps_[i];
      std::replace(field.begin(), field.end(), '_', ' ');
      text += (text.empty() ? "" : ", ") + field;
    }
    return text;
  }

 private:
  static std::string pointer_name(std::string_view step) {
    std::string name;
    for (std::size_t i = 0; i < step.size(); ++i)
      name += step[i] == '~' ? (step[++i] == '1' ? '/' : '~') : step[i];
    return name;
  }

  std::vector<std::string> steps_;
};

class Naming {
 public:
  explicit Naming(const Plan& plan) : plan_(plan) {}

  Named of(Quantity q) const {
    const Way way(plan_.quantities[q].place);
    const std::string& head = way[0];
    if (head == "prices") return {"", way[1] + " price"};
    if (head == "exchange") return {"", "exchange rate of " + way[1]};
    if (head == "lot") return lot_figure(way);
    if (head == "steps") return {way[1], step_figure(way)};
    if (head == "terms") return {way[1], term_figure(q, way)};
    if (head == "routes") return {way[1], credit(way)};
    if (head == "levies") return {plan_.levies[std::stoul(way[1])].what, way.fields(2)};
    return {"", way.fields(0)};
  }

 private:
  static std::string assay(const Way& way, std::size_t from) {
    return way[from] == "assays" && way.size() == from + 2 ? way[from + 1] + " assay" : way.fields(from);
  }
  /// A part by its id, or by its number.
  Named lot_figure(const Way& way) const {
    if (way[1] == "apart") return {way[2], assay(way, 3)};
    const LotPart* part = &plan_.lot;
    std::size_t from = 1;
    std::string where = "lot";
    for (; way[from] == "parts"; from += 2) {
      part = &part->parts[std::stoul(way[from + 1])];
      where = part->id.empty() ? "part " + counted(way[from + 1]) : part->id;
    }
    return {where, assay(way, from)};
  }

  std::string step_figure(const Way& way) const {
    const auto step = std::find_if(plan_.steps.begin(), plan_.steps.end(),
                                   [&](const Step& one) { return one.basics.name == way[1]; });
    const std::string &field = way[2], &next = way[3];
    if (field == "curve") return next + " curve, " + curve_figure(way);
    if (field == "cost") return step->basics.costs[std::stoul(next)].what;
    if (field == "flux") return std::get<Melt>(step->kind).flux[std::stoul(next)].reagent + " " + way[4];
    if (field == "slag_grade") return next + " in the slag";
    if (field == "to_bar") return next + " to the bar";
    if (field == "to_fume") return next + " to the fume";
    if (field == "to" && std::holds_alternative<Dry>(step->kind)) return "moisture dried to";
    if (field == "into") return way[4] + " in the " + next;
    return field == "cut" && next == "pull" ? next : way.fields(2);
  }
  static std::string curve_figure(const Way& way) {
    if (way[4] == "logit") return way[5] == "0" ? "constant a" : "constant b";
    if (is_number(way[4])) return (way[5] == "0" ? "pull of point " : "recovery of point ") + counted(way[4]);
    return way.fields(4);
  }

  /// As counter-offers call it, where it is one of theirs.
  std::string term_figure(Quantity q, const Way& way) const {
    for (const Terms& terms : plan_.terms)
      if (terms.name == way[1])
        for (const TermFigure& figure : term_figures(plan_, terms))
          if (figure.quantities.size() == 1 && figure.quantities.front().index == q.index) return figure.what;
    return way.fields(2);
  }
  /// What an output that is sent back is credited with.
  static std::string credit(const Way& way) {
    const std::size_t last = way.size() - 1;
    if (way[last] == "after") return "time to the credit for " + (last > 2 ? way[last - 1] : "the lot");
    if (way[last - 1] != "return") return way.fields(2);
    return way[last] + " credited" + (way.size() > 4 ? " for " + way[last - 2] : "");
  }

  const Plan& plan_;
};

}  // namespace

std::string quantity_name(const Plan& plan, Quantity q) { return Naming(plan).of(q).text(); }

std::string quantity_name(const Plan& plan, const std::vector<Quantity>& quantities) {
  std::vector<Named> names;
  for (Quantity q : quantities) names.push_back(Naming(plan).of(q));
  const bool one_thing = names.size() > 1 && std::all_of(names.begin(), names.end(), [&](const Named& one) {
                           return one.what == names.front().what;
                         });
  if (one_thing) return names.front().what;
  return listed(names.size(), [&](std::size_t i) { return names[i].text(); });
}

std::string quoted(const std::string& name) { return '"' + name + '"'; }

std::string with_commas(std::string number) {
  const std::size_t first = number.starts_with('-');
  const std::size_t end = std::min(number.find_first_not_of("0123456789", first), number.size());
  for (std::size_t at = end; at > first + 3; at -= 3) number.insert(at - 3, ",");
  return number;
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
  const bool cents = std::abs(amount) < 10;
  const double rounded = cents ? std::round(amount * 100) / 100 : std::round(amount);
  return with_commas(
             to_text(rounded, Digits{15, cents ? 2 : 0, cents && rounded != std::round(rounded) ? 2 : 0})) +
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
void write_texts(JsonText& out, std::string_view name, const std::vector<std::string>& texts) {
  out.key(name).open('[');
  for (const std::string& text : texts) out.string(text);
  out.close(']');
}

namespace schema_parts {
Json stated_value() { return {{"type", "string"}, {"pattern", "^-?[0-9]+(\\.[0-9]+)?( [^ ]+)?$"}}; }
}  // namespace schema_parts

}  // namespace buttonworth
