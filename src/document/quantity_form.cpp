// Quantities as they stand in a document: "806 kg", or an object that says how sure one is.

#include <algorithm>
#include <array>

#include "document/form.hpp"
#include "document/range_text.hpp"
#include "quantity/edge.hpp"
#include "quantity/stated_text.hpp"

namespace buttonworth {
namespace {

/// A number with its unit, understood.
struct Reading {
  Decimal value;  // in the library's own unit, of the currency's own for money
  Unit unit;
  std::string_view unit_text;
  std::string_view number_text;
};

std::string quoted(std::string_view text) { return '"' + std::string(text.substr(0, 60)) + '"'; }

std::string number_advice(std::string_view text) {
  if (text.find(',') != text.npos)
    return ": a decimal point is a point, and thousands are not separated, as in \"1250.5 kg\"";
  return ": write a number, a space and a unit, as in \"806 kg\"";
}

bool number_is_right(const NumberText& number, std::string_view text, const Place& place, Reader& reader) {
  const bool whole =
      number.fault == NumberFault::none && number.length > 0 &&
      (number.length == text.size() ||
       (text[number.length] != ',' && text[number.length] != '.' && text[number.length] != '\''));
  if (whole) return true;
  switch (number.fault) {
    case NumberFault::too_many_digits:
      reader.complain(
          Code::limit, place,
          quoted(text) + " has more than " + std::to_string(reader.limits.numbers.digits) + " digits");
      break;
    case NumberFault::too_large:
      reader.complain(Code::limit, place, out_of_proportion(quoted(text), reader.limits.numbers));
      break;
    default: reader.complain(Code::quantity, place, quoted(text) + " is no quantity" + number_advice(text));
  }
  return false;
}

/// The exchange rate of a currency, -1 for the plan's own; nothing if it is neither.
std::optional<std::int32_t> currency_rate(std::string_view currency, const Reader& reader) {
  const bool unsaid = reader.currency.empty();  // a fault of its own, told once
  if (currency.empty() || unsaid || currency == reader.currency) return -1;
  for (const auto& [code, rate] : reader.exchange)
    if (code == currency) return static_cast<std::int32_t>(rate.index);
  return std::nullopt;
}

std::string unit_fault(std::string_view text, std::string_view unit, Dimensions allowed,
                       const std::optional<Unit>& found) {
  const std::string wanted = "wanted is " + unit_examples(allowed);
  if (unit.empty()) return "the unit of " + quoted(text) + " is missing; " + wanted;
  if (auto advice = unit_advice(unit)) return *advice;
  if (found) return quoted(unit) + " is a unit of something else; " + wanted;
  return "there is no unit " + quoted(unit) + "; " + wanted;
}

std::optional<Reading> read_quantity_text(std::string_view text, Dimensions allowed, const Place& place,
                                          Reader& reader) {
  text = without_spaces(text);
  const NumberText number = read_number(text, reader.limits.numbers);
  if (!number_is_right(number, text, place, reader)) return std::nullopt;
  std::string_view unit_text = text.substr(number.length);
  if (!unit_text.empty() && unit_text.front() != ' ' && unit_text.front() != '%') {
    reader.complain(Code::quantity, place, quoted(text) + " wants a space between the number and the unit");
    return std::nullopt;
  }
  unit_text = without_spaces(unit_text);
  const auto unit = find_unit(unit_text, allowed, reader.factors);
  if (!unit || !allowed.holds(unit->dimension)) {
    reader.complain(Code::unit, place, unit_fault(text, unit_text, allowed, unit));
    return std::nullopt;
  }
  if (!currency_rate(unit->currency, reader)) {
    reader.complain(Code::unit, place,
                    quoted(unit_text) + " is money of another kind: the plan's currency is " +
                        reader.currency + ", and exchange does not say what one " +
                        std::string(unit->currency) + " is worth");
    return std::nullopt;
  }
  const bool one = unit->factor == 1;
  return Reading{one ? number.value : Decimal(number.value * unit->factor), *unit, unit_text,
                 text.substr(0, number.length)};
}

/// The mean must be allowed; the tails of a distribution may reach further, and draws stop at the range.
void require_range(const StatedQuantity& stated, Allowed allowed, const Place& place, Reader& reader) {
  if (in_range(stated.mean, allowed)) return;
  reader.complain(Code::range, place,
                  text_in_unit(stated, stated.mean, Digits{12, 12, 0}) + " is not allowed here: it must be " +
                      range_text(allowed));
}

/// Uncertain forms: the fields that name each, with the figures' dimension where it is not the
/// quantity's own.
enum class Part { own, share, number, list };
struct Uncertain {
  Distribution::Shape shape;
  std::vector<std::pair<const char*, Part>> fields;
};
const std::vector<Uncertain>& uncertain_forms() {
  using Shape = Distribution::Shape;
  static const std::vector<Uncertain> forms{
      {Shape::normal, {{"value", Part::own}, {"sd", Part::own}}},
      {Shape::normal, {{"value", Part::own}, {"rsd", Part::share}}},
      {Shape::lognormal, {{"median", Part::own}, {"gsd", Part::number}}},
      {Shape::triangular, {{"low", Part::own}, {"mode", Part::own}, {"high", Part::own}}},
      {Shape::uniform, {{"low", Part::own}, {"high", Part::own}}},
      {Shape::determinations, {{"values", Part::list}}},
  };
  return forms;
}

constexpr const char* uncertain_ways =
    "value with sd or rsd; median with gsd; low, mode, high; low, high; or values";

const Uncertain* find_uncertain(const Value& object) {
  for (const Uncertain& form : uncertain_forms()) {
    std::size_t members = 0;
    for (const std::string& name : object.names) members += name != "note";
    if (members != form.fields.size()) continue;
    if (std::all_of(form.fields.begin(), form.fields.end(),
                    [&](const auto& field) { return object.find(field.first) != nullptr; }))
      return &form;
  }
  return nullptr;
}

void set_statement(StatedQuantity& stated, const Reading& reading, Reader& reader) {
  stated.dimension = reading.unit.dimension;
  stated.unit = reading.unit_text;
  stated.unit_factor = reading.unit.factor;
  stated.currency_rate = *currency_rate(reading.unit.currency, reader);
}

class UncertainReader {
 public:
  UncertainReader(const Value& object, Dimensions allowed, const Place& place, Reader& reader)
      : object_(object), allowed_(allowed), place_(place), reader_(reader) {}

  std::optional<StatedQuantity> read(const Uncertain& form) {
    std::vector<Decimal> figures;
    for (const auto& [name, part] : form.fields) {
      const Value& value = *object_.find(name);
      const Place at(place_, name);
      if (part == Part::list) {
        read_determinations(value, at);
      } else if (auto reading = figure(value, at, part)) {
        figures.push_back(reading->value);
        if (part == Part::own && figures.size() == 1) set_statement(stated_, *reading, reader_);
        else if (part == Part::own) require_same_money(*reading, at);
      }
    }
    if (!complete_ || (form.fields[0].second != Part::list && figures.size() != form.fields.size()))
      return std::nullopt;
    spread_.shape = form.shape;
    if (!fill(form, figures)) return std::nullopt;
    stated_.mean = mean(spread_);
    stated_.spread = std::make_shared<const Distribution>(std::move(spread_));
    return std::move(stated_);
  }

 private:
  std::optional<Reading> figure(const Value& value, const Place& at, Part part) {
    const Dimensions wanted = part == Part::own     ? allowed_
                              : part == Part::share ? Dimensions(Dimension::share)
                                                    : Dimensions(Dimension::number);
    if (value.kind != Value::Kind::text) {
      require_kind(value, Value::Kind::text, at, reader_, "a text such as " + unit_examples(wanted));
      return std::nullopt;
    }
    return read_quantity_text(value.text, wanted, at, reader_);
  }
  /// One quantity is drawn in one currency.
  void require_same_money(const Reading& reading, const Place& at) {
    if (*currency_rate(reading.unit.currency, reader_) == stated_.currency_rate &&
        reading.unit.dimension == stated_.dimension)
      return;
    reader_.complain(Code::unit, at, "the figures of one quantity must be of one kind and one currency");
    complete_ = false;
  }
  void read_determinations(const Value& list, const Place& at) {
    complete_ = false;
    if (!require_kind(list, Value::Kind::list, at, reader_, "a list of determinations")) return;
    if (list.items.empty()) reader_.complain(Code::range, at, "the list of determinations is empty");
    complete_ = !list.items.empty();
    for (std::size_t i = 0; i < list.items.size(); ++i) {
      const auto reading = figure(list.items[i], Place(at, i), Part::own);
      if (!reading) {
        complete_ = false;
        continue;
      }
      if (spread_.determinations.empty()) set_statement(stated_, *reading, reader_);
      else require_same_money(*reading, Place(at, i));
      spread_.determinations.push_back(reading->value);
    }
  }
  bool fill(const Uncertain& form, const std::vector<Decimal>& figures) {
    Distribution& d = spread_;
    if (figures.size() > 0) d.a = figures[0];
    if (figures.size() > 1) d.b = figures[1];
    if (figures.size() > 2) d.c = figures[2];
    if (form.shape == Distribution::Shape::normal && form.fields[1].second == Part::share)
      d.b = abs(d.a) * d.b;
    return in_order(d);
  }
  bool in_order(const Distribution& d) {
    using Shape = Distribution::Shape;
    const bool spread = (d.shape == Shape::normal && d.b < 0) || (d.shape == Shape::lognormal && d.b < 1);
    const bool order = (d.shape == Shape::uniform && d.a > d.b) ||
                       (d.shape == Shape::triangular && (d.a > d.b || d.b > d.c));
    const bool median = d.shape == Shape::lognormal && d.a < 0;
    if (spread) reader_.complain(Code::range, place_, "a spread cannot be negative, and a gsd is 1 or more");
    if (order) reader_.complain(Code::range, place_, "low, mode and high must stand in rising order");
    if (median) reader_.complain(Code::range, place_, "a median with a gsd cannot be negative");
    return !spread && !order && !median;
  }

  const Value& object_;
  Dimensions allowed_;
  const Place& place_;
  Reader& reader_;
  StatedQuantity stated_;
  Distribution spread_;
  bool complete_ = true;
};

std::optional<StatedQuantity> read_stated(const Value& value, Dimensions allowed, const Place& place,
                                          Reader& reader) {
  if (value.kind == Value::Kind::object) {
    const Uncertain* form = find_uncertain(value);
    if (form == nullptr) {
      reader.complain(Code::type, place, std::string("an uncertain quantity is stated by ") + uncertain_ways);
      return std::nullopt;
    }
    auto stated = UncertainReader(value, allowed, place, reader).read(*form);
    if (!stated) return stated;
    stated->text = text_in_unit(*stated, stated->mean, Digits{8, 12, 0});
    return stated;
  }
  if (value.kind == Value::Kind::number) {
    reader.complain(Code::type, place,
                    "the bare number " + value.text.substr(0, 40) +
                        " stands here: write it as a text with its unit (" + unit_examples(allowed) + ')');
    return std::nullopt;
  }
  if (value.kind != Value::Kind::text) {
    require_kind(value, Value::Kind::text, place, reader, "a text: a number with " + unit_examples(allowed));
    return std::nullopt;
  }
  const auto reading = read_quantity_text(value.text, allowed, place, reader);
  if (!reading) return std::nullopt;
  StatedQuantity stated;
  set_statement(stated, *reading, reader);
  stated.mean = reading->value;
  stated.text = without_spaces(value.text);
  return stated;
}

constexpr const char* number_pattern = "-?[0-9]+(\\.[0-9]+)?([eE][-+]?[0-9]+)?";

/// A unit stands after a space, one that begins with a percent sign with or without.
Json text_schema(Dimensions dimensions) {
  std::string ways;
  for (int i = 0; i < static_cast<int>(Dimension::number); ++i) {
    const auto dimension = static_cast<Dimension>(i);
    if (!dimensions.holds(dimension)) continue;
    ways += (ways.empty() ? "" : "|") + (" +" + unit_pattern(dimension));
    if (dimension == Dimension::grade || dimension == Dimension::share) ways += "| *%";
    if (dimension == Dimension::annual) ways += "| *%/a";
  }
  std::string tail = ways.empty() ? "" : "(" + ways + ")";
  if (dimensions.holds(Dimension::number) && !ways.empty()) tail += "?";
  return {{"type", "string"}, {"pattern", "^ *" + std::string(number_pattern) + tail + " *$"}};
}

Json uncertain_schema(const Json& own) {
  Json ways = Json::array({own});
  for (const Uncertain& form : uncertain_forms()) {
    Json properties{{"note", Json::object()}};
    Json required = Json::array();
    for (const auto& [name, part] : form.fields) {
      required.push_back(name);
      properties[name] = part == Part::own      ? own
                         : part == Part::share  ? text_schema(Dimension::share)
                         : part == Part::number ? text_schema(Dimension::number)
                                                : Json{{"type", "array"}, {"items", own}, {"minItems", 1}};
    }
    ways.push_back({{"type", "object"},
                    {"properties", properties},
                    {"required", required},
                    {"additionalProperties", false}});
  }
  return {{"oneOf", ways}};
}

std::string definition_name(Dimensions dimensions) {
  constexpr std::array names{"mass",  "grade",   "share",   "money",       "price",     "per_lot", "per_melt",
                             "per_h", "per_kwh", "per_l",   "time",        "feed_rate", "dose",    "energy",
                             "heat",  "volume",  "density", "temperature", "annual",    "length",  "number"};
  std::string name = "quantity";
  for (std::size_t i = 0; i < names.size(); ++i)
    if (dimensions.holds(static_cast<Dimension>(i))) name += std::string("_") + names[i];
  return name;
}

}  // namespace

Form<Quantity> quantity(Dimensions dimensions, Allowed allowed, Companion companion) {
  Form<Quantity> form;
  form.read = [=](const Value& value, const Place& place, Reader& reader, Quantity& out) {
    auto stated = read_stated(value, dimensions, place, reader);
    if (!stated) return;
    require_range(*stated, allowed, place, reader);
    stated->companion = companion;
    stated->allowed = allowed;
    if (reader.keeps_places) stated->place = place.pointer();
    out = reader.quantities.add(std::move(*stated));
  };
  form.schema = [=](SchemaBook&) { return uncertain_schema(text_schema(dimensions)); };
  return defined(definition_name(dimensions), form);
}

std::string_view without_spaces(std::string_view text) {
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  return text;
}

Form<Decimal> plain_number(Allowed allowed) {
  return {[=](const Value& value, const Place& place, Reader& reader, Decimal& out) {
            if (!require_kind(value, Value::Kind::text, place, reader, "a text with a number")) return;
            const auto reading = read_quantity_text(value.text, Dimension::number, place, reader);
            if (!reading) return;
            if (!in_range(reading->value, allowed))
              reader.complain(Code::range, place,
                              value.text + " is not allowed here: it must be " + range_text(allowed));
            out = reading->value;
          },
          [](SchemaBook&) { return text_schema(Dimension::number); }};
}

Form<StatedFactors> factors_form() {
  return Fields<StatedFactors>()
      .may("g per ozt", &StatedFactors::grams_per_ounce, plain_number(Allowed::positive))
      .may("lb per t", &StatedFactors::pounds_per_tonne, plain_number(Allowed::positive))
      .may("st per t", &StatedFactors::short_tons_per_tonne, plain_number(Allowed::positive))
      .form();
}

MassFactors fixed_factors(const MassFactors& outer, const StatedFactors& stated) {
  MassFactors factors = outer;
  if (stated.grams_per_ounce && *stated.grams_per_ounce > 0)
    factors.fix_grams_per_ounce(*stated.grams_per_ounce);
  if (stated.short_tons_per_tonne && *stated.short_tons_per_tonne > 0)
    factors.fix_short_tons_per_tonne(*stated.short_tons_per_tonne);
  if (stated.pounds_per_tonne && *stated.pounds_per_tonne > 0)
    factors.fix_pounds_per_tonne(*stated.pounds_per_tonne);
  return factors;
}

}  // namespace buttonworth
