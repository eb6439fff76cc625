#include "document/delivery_document.hpp"

#include <algorithm>

#include "document/exchange_form.hpp"
#include "document/heading_form.hpp"
#include "document/quotes_form.hpp"
#include "document/terms_form.hpp"
#include "quantity/date.hpp"

namespace buttonworth {
namespace {

constexpr const char* delivery_format = "buttonworth-delivery/1";
constexpr const char* statement_format = "buttonworth-statement/1";

struct Masses {
  std::optional<ExchangedQuantity> wet_mass, moisture, gross, melted;
};

struct Request {
  std::string format, currency, id, buyer;
  std::vector<CurrencyWorth> exchange;
  std::optional<Day> arrived;
  Terms terms;
  std::vector<AnalyteQuantity> prices;
  std::vector<MetalQuotes> quotes;
  std::vector<MetalPeriod> periods;
  Masses delivered;
  std::vector<DeliveredAssay> assays;
  bool provisional = false;
  bool how = true;
  std::optional<PreviousStatement> previous;
};

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

void require_same(const Value& earlier, const Value& request, const char* name, const Place& place,
                  Reader& reader) {
  const Value *was = earlier.find(name), *is = request.find(name);
  if (was != nullptr && is != nullptr && was->text != is->text && !was->text.empty() && !is->text.empty())
    reader.complain(Code::conflict, Place(place, name),
                    "the earlier statement is of another " + std::string(name) + ", " + was->text);
}

void read_previous_line(const Value& value, const Place& place, Reader& reader, PreviousStatement& out) {
  if (!require_kind(value, Value::Kind::object, place, reader, "a line of a statement")) return;
  auto& [what, amount] = out.lines.emplace_back();
  text_form().read(member(value, "what"), Place(place, "what"), reader, what);
  amount_form().read(member(value, "amount"), Place(place, "amount"), reader, amount);
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
  const Value& lines = member(value, "lines");
  const Place all(place, "lines");
  if (!require_kind(lines, Value::Kind::list, all, reader, "a list of lines")) return;
  for (std::size_t i = 0; i < lines.items.size(); ++i)
    read_previous_line(lines.items[i], Place(all, i), reader, out);
}

Form<PreviousStatement> previous_form() {
  return {read_previous, [](SchemaBook& book) {
            const Json amount = amount_form().schema(book);
            const Json line{{"type", "object"},
                            {"required", {"what", "amount"}},
                            {"properties", {{"what", text_form().schema(book)}, {"amount", amount}}}};
            return Json{{"type", "object"},
                        {"required", {"format", "advance", "lines"}},
                        {"properties",
                         {{"format", {{"const", statement_format}}},
                          {"advance", {{"anyOf", {amount, {{"type", "null"}}}}}},
                          {"lines", {{"type", "array"}, {"items", line}}}}}};
          }};
}

// ---- The request -----------------------------------------------------------------------------

Form<Masses> masses_form() {
  return Fields<Masses>()
      .may("wet_mass", &Masses::wet_mass, exchanged(Dimension::mass, Allowed::positive))
      .may("moisture", &Masses::moisture, exchanged(Dimension::share, Allowed::below_all))
      .may("gross", &Masses::gross, exchanged(Dimension::mass, Allowed::positive))
      .may("melted", &Masses::melted, exchanged(Dimension::mass, Allowed::positive))
      .form("an object of masses");
}

void check_masses(const Place& place, Reader& reader, const Request& out) {
  const Masses& masses = out.delivered;
  const bool bar = out.terms.buys == Buys::bar;
  if (bar && (!masses.gross || masses.wet_mass || masses.moisture))
    reader.complain(Code::conflict, Place(place, "delivered"),
                    "these terms buy bars: state gross, and melted where it is known, nothing else");
  if (!bar && (!masses.wet_mass || masses.gross || masses.melted))
    reader.complain(Code::conflict, Place(place, "delivered"),
                    std::string("these terms buy ") + buys_name(out.terms.buys) +
                        ": state wet_mass and moisture, nothing else");
}

/// Nothing of value or danger is settled unseen.
void check_assays(const Place& place, Reader& reader, const Request& out) {
  std::vector<Analyte> told;
  for (Analyte a : analytes_of(out.terms)) {
    const bool found = std::any_of(out.assays.begin(), out.assays.end(),
                                   [&](const DeliveredAssay& one) { return one.analyte == a; });
    const bool deemed = std::any_of(out.terms.deemed.begin(), out.terms.deemed.end(),
                                    [&](const AnalyteQuantity& one) { return one.analyte == a; });
    if (found || deemed || std::find(told.begin(), told.end(), a) != told.end()) continue;
    told.push_back(a);
    reader.complain(Code::missing_field, Place(place, "assays"),
                    "the assay of " + reader.analytes[a] + " is missing: the terms name it");
  }
}

Form<std::vector<DeliveredAssay>> assays_form() {
  const auto figure = exchanged(Dimension::grade, Allowed::share);
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

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(delivery_format))
          .need("currency", &Request::currency, currency_form())
          .may("exchange", &Request::exchange, exchange_form())
          .may("id", &Request::id, text_form())
          .may("buyer", &Request::buyer, text_form())
          .may("arrived", &Request::arrived, day_form())
          .need("terms", &Request::terms, terms_form())
          .may("prices", &Request::prices, analyte_quantities(quantity(Dimension::price)))
          .may("quotes", &Request::quotes, quotes_form())
          .may("period", &Request::periods, periods_form())
          .need("delivered", &Request::delivered, masses_form())
          .may("assays", &Request::assays, assays_form())
          .may("stage", &Request::provisional, choice<bool>({{"final", false}, {"provisional", true}}))
          .may("how", &Request::how, boolean_form())
          .may("previous", &Request::previous, previous_form())
          .check([](const Value& value, const Place& place, Reader& reader, Request& out) {
            if (value.find("delivered") != nullptr && value.find("terms") != nullptr) {
              check_masses(place, reader, out);
              check_assays(place, reader, out);
            }
            const Value* earlier = value.find("previous");
            if (earlier == nullptr || earlier->kind != Value::Kind::object) return;
            require_same(*earlier, value, "currency", Place(place, "previous"), reader);
            require_same(*earlier, value, "id", Place(place, "previous"), reader);
          })
          .form("an object: a delivery");
  return form;
}

// ---- Prices ----------------------------------------------------------------------------------

/// Gives the metals their fixed or averaged prices.
class Pricing {
 public:
  Pricing(Request& request, Reader& reader, Delivery& delivery, const Place& place)
      : request_(request), reader_(reader), delivery_(delivery), root_(place) {}

  void run() {
    prices_.resize(reader_.analytes.size());
    for (const auto& [analyte, price] : request_.prices) add(analyte, price, Place(root_, "prices"));
    for (const MetalQuotes& quotes : request_.quotes) average_of(quotes);
    const Place period(root_, "period");
    for (const MetalPeriod& one : request_.periods)
      if (!has_quotes(one.analyte))
        reader_.complain(Code::name, Place(period, reader_.analytes[one.analyte]),
                         "there are no quotes of " + reader_.analytes[one.analyte]);
    if (reader_.complaints.size() == told_before_)
      give_prices(prices_, request_.terms, Place(root_, "terms"), reader_);
  }

 private:
  void add(Analyte analyte, Quantity price, const Place& place) {
    if (prices_[analyte])
      reader_.complain(Code::conflict, Place(place, reader_.analytes[analyte]),
                       "the metal has a price and quotes: keep one of them");
    prices_[analyte] = price;
  }
  bool has_quotes(Analyte a) const {
    return std::any_of(request_.quotes.begin(), request_.quotes.end(),
                       [&](const MetalQuotes& one) { return one.analyte == a; });
  }

  std::optional<Period> period_of(const MetalPeriod& stated, const Place& place) const {
    if (stated.month) return calendar_month(*stated.month);
    if (stated.from && stated.to) return Period{*stated.from, *stated.to};
    if (!stated.months_after) return std::nullopt;  // told already
    if (request_.arrived) return months_after(*request_.arrived, *stated.months_after);
    reader_.complain(Code::missing_field, place, "months after what? state the day in arrived");
    return std::nullopt;
  }

  void average_of(const MetalQuotes& quotes) {
    const std::string& metal = reader_.analytes[quotes.analyte];
    const Place periods(root_, "period"), place(periods, metal), all(root_, "quotes");
    const auto stated = std::find_if(request_.periods.begin(), request_.periods.end(),
                                     [&](const MetalPeriod& one) { return one.analyte == quotes.analyte; });
    if (!quotes.like) return;  // told already
    if (stated == request_.periods.end())
      return reader_.complain(Code::missing_field, periods,
                              "the period of " + metal + "'s quotes is missing");
    const auto period = period_of(*stated, place);
    if (!period) return;
    const auto mean = average(quotes.quotes, *period);
    if (!mean)
      return reader_.complain(Code::range, place,
                              "there is no quote of " + metal + " from " + date_text(period->from) + " to " +
                                  date_text(period->to));
    for (Day day : doubtful(quotes.quotes))
      if (period->from <= day && day <= period->to) caution(metal, day);
    const Quantity price = priced(quotes, mean->price);
    delivery_.quoted.push_back({price, mean->quoted_days, mean->unquoted_days});
    add(quotes.analyte, price, all);
  }
  Quantity priced(const MetalQuotes& quotes, const Decimal& mean) {
    StatedQuantity stated = reader_.quantities[*quotes.like];
    stated.mean = mean;
    stated.text = to_text(Decimal(mean / stated.unit_factor), Digits{12, 12, 0}) + ' ' + stated.unit;
    return reader_.quantities.add(std::move(stated));
  }
  void caution(const std::string& metal, Day day) {
    delivery_.cautions.push_back(
        {metal, "the quote of " + date_text(day) +
                    " is more than 10 % off those before and after it: look whether it was mistyped"});
  }

  Request& request_;
  Reader& reader_;
  Delivery& delivery_;
  const Place& root_;
  MarketPrices prices_;
  std::size_t told_before_ = reader_.complaints.size();
};

void take_request(Request&& request, Delivery& made) {
  made.currency = std::move(request.currency);
  made.id = std::move(request.id);
  made.buyer = std::move(request.buyer);
  made.arrived = request.arrived;
  made.terms = std::move(request.terms);
  made.terms.name = made.buyer.empty() ? "buyer" : made.buyer;
  made.wet_mass = std::move(request.delivered.wet_mass);
  made.moisture = std::move(request.delivered.moisture);
  made.gross = std::move(request.delivered.gross);
  made.melted = std::move(request.delivered.melted);
  made.assays = std::move(request.assays);
  made.provisional = request.provisional;
  made.previous = std::move(request.previous);
}

}  // namespace

bool read_delivery(const Value& document, const Place& place, Reader& reader, Delivery& out) {
  const std::size_t before = reader.complaints.size();
  Request request;
  request_form().read(document, place, reader, request);
  if (reader.complaints.size() == before) Pricing(request, reader, out, place).run();
  const bool how = request.how;
  take_request(std::move(request), out);
  return how;
}

DeliveryReading read_delivery(const Value& document, const DocumentLimits& limits) {
  Reader reader(limits);
  auto delivery = std::make_shared<Delivery>();
  const bool how = read_delivery(document, Place(), reader, *delivery);
  if (!reader.complaints.empty()) return {nullptr, how, std::move(reader.complaints)};
  delivery->analytes = std::move(reader.analytes);
  delivery->quantities = std::move(reader.quantities);
  return {std::move(delivery), how, {}};
}

Json delivery_schema(SchemaBook& book) { return request_form().schema(book); }

Form<Delivery> whole_delivery() {
  return {[](const Value& value, const Place& place, Reader& reader, Delivery& out) {
            read_delivery(value, place, reader, out);
          },
          [](SchemaBook& book) { return delivery_schema(book); }};
}

Json delivery_schema() { return whole_schema("A Buttonworth delivery, format 1", request_form().schema); }

}  // namespace buttonworth
