#include "document/delivery_form.hpp"

#include <algorithm>

#include "document/exchange_form.hpp"
#include "document/heading_form.hpp"
#include "document/schema_parts.hpp"
#include "document/terms_form.hpp"
#include "quantity/date.hpp"
#include "quantity/stated_text.hpp"

namespace buttonworth {
namespace {

constexpr const char* statement_format = "buttonworth-statement/1";

// ---- The earlier statement -------------------------------------------------------------------

const Value& member(const Value& object, const char* name) {
  static const Value nothing;
  const Value* found = object.find(name);
  return found != nullptr ? *found : nothing;
}

const Form<Decimal>& amount_form() {
  static const Form<Decimal> form = plain_number(Allowed::any);
  return form;
}

void require_same(const Value& earlier, const std::string& is, const char* name, const Place& place,
                  Reader& reader) {
  const Value* was = earlier.find(name);
  if (was != nullptr && was->text != is && !was->text.empty() && !is.empty())
    reader.complain(Code::conflict, Place(place, name),
                    "the earlier statement is of another " + std::string(name) + ", " + was->text);
}

void read_previous_line(const Value& value, const Place& place, Reader& reader, PreviousStatement& out) {
  if (!require_kind(value, Value::Kind::object, place, reader, "a line of a statement")) return;
  auto& [what, amount] = out.lines.emplace_back();
  text_form().read(member(value, "what"), Place(place, "what"), reader, what);
  amount_form().read(member(value, "amount"), Place(place, "amount"), reader, amount);
}

/// Only a book with metal accounts asks for it, so an older statement may lack it.
void read_previous_metal(const Value& value, const Place& place, Reader& reader, PreviousStatement& out) {
  static const auto mass = quantity(Dimension::mass);
  if (value.kind != Value::Kind::object) return;
  each_member(value, place, [&](const std::string& metal, const Value& of, const Place& at) {
    auto stated = [&](const char* name) -> Decimal {
      const Value* text = of.kind == Value::Kind::object ? of.find(name) : nullptr;
      if (text == nullptr) return 0;
      Quantity read;
      mass.read(*text, Place(at, name), reader, read);
      return reader.quantities[read].mean;
    };
    out.metal.push_back({metal, stated("contained"), stated("payable")});
  });
}

/// Of a statement only what the later one takes; it was written by this library. A refused delivery, whose
/// amounts are null, nothing was advanced on.
void read_previous(const Value& value, const Place& place, Reader& reader, PreviousStatement& out) {
  if (!require_kind(value, Value::Kind::object, place, reader, "a statement")) return;
  static const auto format = format_form(statement_format);
  std::string text;
  format.read(member(value, "format"), Place(place, "format"), reader, text);
  const Value& advance = member(value, "advance");
  if (advance.kind != Value::Kind::null || value.find("advance") == nullptr)
    amount_form().read(advance, Place(place, "advance"), reader, out.advance);
  read_previous_metal(member(value, "metal"), Place(place, "metal"), reader, out);
  const Value& lines = member(value, "lines");
  const Place all(place, "lines");
  if (!require_kind(lines, Value::Kind::list, all, reader, "a list of lines")) return;
  for (std::size_t i = 0; i < lines.items.size(); ++i)
    read_previous_line(lines.items[i], Place(all, i), reader, out);
}

// ---- What the terms ask of a delivery --------------------------------------------------------

void check_masses(const Place& place, Reader& reader, const StatedDelivery& out, const Terms& terms) {
  const DeliveredMasses& masses = out.delivered;
  const bool bar = terms.buys == Buys::bar;
  if (bar && (!masses.gross || masses.wet_mass || masses.moisture))
    reader.complain(Code::conflict, Place(place, "delivered"),
                    "these terms buy bars: state gross, and melted where it is known, nothing else");
  if (!bar && (!masses.wet_mass || masses.gross || masses.melted))
    reader.complain(Code::conflict, Place(place, "delivered"),
                    std::string("these terms buy ") + buys_name(terms.buys) +
                        ": state wet_mass and moisture, nothing else");
}

/// Nothing of value or danger is settled unseen.
void check_assays(const Place& place, Reader& reader, const StatedDelivery& out, const Terms& terms) {
  std::vector<Analyte> told;
  for (Analyte a : analytes_of(terms)) {
    const bool found = std::any_of(out.assays.begin(), out.assays.end(),
                                   [&](const DeliveredAssay& one) { return one.analyte == a; });
    const bool deemed = std::any_of(terms.deemed.begin(), terms.deemed.end(),
                                    [&](const AnalyteQuantity& one) { return one.analyte == a; });
    if (found || deemed || std::find(told.begin(), told.end(), a) != told.end()) continue;
    told.push_back(a);
    reader.complain(Code::missing_field, Place(place, "assays"),
                    "the assay of " + reader.analytes[a] + " is missing: the terms name it");
  }
}

}  // namespace

// ---- Forms -----------------------------------------------------------------------------------

Form<PreviousStatement> previous_form() {
  return {read_previous, [](SchemaBook& book) {
            using namespace schema_parts;
            const Json amount = amount_form().schema(book);
            const Json mass = quantity(Dimension::mass).schema(book);
            const Json metal{{"type", "object"}, {"properties", {{"contained", mass}, {"payable", mass}}}};
            const Json line{{"type", "object"},
                            {"required", {"what", "amount"}},
                            {"properties", {{"what", text_form().schema(book)}, {"amount", amount}}}};
            return Json{{"type", "object"},
                        {"required", {"format", "advance", "lines"}},
                        {"properties",
                         {{"format", {{"const", statement_format}}},
                          {"advance", {{"anyOf", {amount, {{"type", "null"}}}}}},
                          {"metal", named(metal)},
                          {"lines", {{"type", "array"}, {"items", line}}}}}};
          }};
}

Form<DeliveredMasses> delivered_masses_form(LimitOf limits) {
  return Fields<DeliveredMasses>()
      .may("wet_mass", &DeliveredMasses::wet_mass, exchanged(Dimension::mass, Allowed::positive, limits))
      .may("moisture", &DeliveredMasses::moisture, exchanged(Dimension::share, Allowed::below_all, limits))
      .may("gross", &DeliveredMasses::gross, exchanged(Dimension::mass, Allowed::positive, limits))
      .may("melted", &DeliveredMasses::melted, exchanged(Dimension::mass, Allowed::positive, limits))
      .form("an object of masses");
}

Form<std::vector<DeliveredAssay>> delivered_assays_form(LimitOf limits) {
  const auto figure = exchanged(Dimension::grade, Allowed::share, limits);
  const Form<DeliveredAssay> one{
      [figure](const Value& value, const Place& place, Reader& reader, DeliveredAssay& out) {
        figure.read(value, place, reader, out.found);
      },
      figure.schema};
  return map_of<DeliveredAssay>(
      one,
      [](Reader& reader, const std::string& name, DeliveredAssay& out) {
        out.analyte = reader.analyte(name);
      },
      "an object from analytes to assays");
}

Form<bool> stage_form() { return choice<bool>({{"final", false}, {"provisional", true}}); }

void check_delivery(const StatedDelivery& delivery, const Terms& terms, const Value& value,
                    const Place& place, Reader& reader) {
  if (value.find("delivered") == nullptr) return;  // told already
  check_masses(place, reader, delivery, terms);
  check_assays(place, reader, delivery, terms);
}

void check_previous(const Value& value, const std::string& currency, const Place& place, Reader& reader) {
  const Value* earlier = value.find("previous");
  if (earlier == nullptr || earlier->kind != Value::Kind::object) return;
  const Place at(place, "previous");
  require_same(*earlier, currency, "currency", at, reader);
  require_same(*earlier, member(value, "id").text, "id", at, reader);
}

void take(StatedDelivery&& stated, Delivery& delivery) {
  delivery.id = std::move(stated.id);
  delivery.buyer = std::move(stated.buyer);
  delivery.arrived = stated.arrived;
  delivery.wet_mass = std::move(stated.delivered.wet_mass);
  delivery.moisture = std::move(stated.delivered.moisture);
  delivery.gross = std::move(stated.delivered.gross);
  delivery.melted = std::move(stated.delivered.melted);
  delivery.assays = std::move(stated.assays);
  delivery.provisional = stated.provisional;
  delivery.previous = std::move(stated.previous);
}

// ---- Prices ----------------------------------------------------------------------------------

Pricing::Pricing(const StatedContract& contract, const Place& place, Reader& reader)
    : contract_(contract), place_(place), reader_(reader) {}

const MetalQuotes* Pricing::quotes_of(Analyte analyte) const {
  for (const MetalQuotes& one : contract_.quotes)
    if (one.analyte == analyte) return &one;
  return nullptr;
}
const MetalPeriod* Pricing::period_of(Analyte analyte) const {
  for (const MetalPeriod& one : contract_.periods)
    if (one.analyte == analyte) return &one;
  return nullptr;
}

void Pricing::check() const {
  const Place quotes(place_, "quotes"), period(place_, "period");
  for (const MetalQuotes& one : contract_.quotes) {
    const std::string& metal = reader_.analytes[one.analyte];
    if (period_of(one.analyte) == nullptr)
      reader_.complain(Code::missing_field, period, "the period of " + metal + "'s quotes is missing");
    for (const auto& [analyte, price] : contract_.prices)
      if (analyte == one.analyte)
        reader_.complain(Code::conflict, Place(quotes, metal),
                         "the metal has a price and quotes: keep one of them");
  }
  for (const MetalPeriod& one : contract_.periods)
    if (quotes_of(one.analyte) == nullptr)
      reader_.complain(Code::name, Place(period, reader_.analytes[one.analyte]),
                       "there are no quotes of " + reader_.analytes[one.analyte]);
}

void Pricing::price(const std::vector<AnalyteQuantity>& own, const std::optional<Day>& arrived,
                    Delivery& delivery) {
  const std::size_t told_before = reader_.told();
  MarketPrices prices(reader_.analytes.size());
  delivery.quoted.clear();
  delivery.cautions.clear();
  for (const auto& [analyte, price] : contract_.prices) prices[analyte] = price;
  for (const auto& [analyte, price] : own) prices[analyte] = price;
  for (const MetalQuotes& quotes : contract_.quotes)
    if (!prices[quotes.analyte]) average(quotes, arrived, prices, delivery);
  if (reader_.told() == told_before) give_prices(prices, delivery.terms, Place(place_, "terms"), reader_);
}

std::optional<Period> Pricing::days_of(const MetalPeriod& stated, const std::optional<Day>& arrived,
                                       const Place& place) const {
  if (stated.month) return calendar_month(*stated.month);
  if (stated.from && stated.to) return Period{*stated.from, *stated.to};
  if (arrived) return months_after(*arrived, static_cast<int>(*stated.months_after));
  reader_.complain(Code::missing_field, place, "months after what? state the day in arrived");
  return std::nullopt;
}

Pricing::Averaged& Pricing::averaged(const MetalQuotes& quotes, const Period& period) {
  for (Averaged& known : averages_)
    if (known.analyte == quotes.analyte && known.period == period) return known;
  Averaged& made = averages_.emplace_back();
  made.analyte = quotes.analyte;
  made.period = period;
  made.mean = buttonworth::average(quotes.quotes, period);
  for (Day day : doubtful(quotes.quotes))
    if (period.from <= day && day <= period.to)
      made.cautions.push_back(
          {reader_.analytes[quotes.analyte],
           "the quote of " + date_text(day) +
               " is more than 10 % off those before and after it: look whether it was mistyped"});
  return made;
}

void Pricing::average(const MetalQuotes& quotes, const std::optional<Day>& arrived, MarketPrices& prices,
                      Delivery& delivery) {
  const std::string& metal = reader_.analytes[quotes.analyte];
  const Place periods(place_, "period"), place(periods, metal);
  const auto period = days_of(*period_of(quotes.analyte), arrived, place);
  if (!period) return;
  Averaged& found = averaged(quotes, *period);
  if (!found.mean)
    return reader_.complain(Code::range, place,
                            "there is no quote of " + metal + " from " + date_text(period->from) + " to " +
                                date_text(period->to));
  delivery.cautions.insert(delivery.cautions.end(), found.cautions.begin(), found.cautions.end());
  const Quantity price = as_quantity(quotes, found.mean->price);
  delivery.quoted.push_back({price, found.mean->quoted_days, found.mean->unquoted_days});
  prices[quotes.analyte] = price;
}

Quantity Pricing::as_quantity(const MetalQuotes& quotes, const Decimal& mean) {
  StatedQuantity stated = reader_.quantities[*quotes.like];
  stated.mean = mean;
  stated.text = text_in_unit(stated, mean, Digits{12, 12, 0});
  return reader_.quantities.add(std::move(stated));
}

}  // namespace buttonworth
