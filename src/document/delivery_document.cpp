#include "document/delivery_document.hpp"

#include "document/delivery_form.hpp"
#include "document/heading_form.hpp"
#include "document/terms_form.hpp"

namespace buttonworth {
namespace {

constexpr const char* delivery_format = "buttonworth-delivery/1";

struct Request : StatedDelivery, StatedContract {
  std::string format, currency;
  std::vector<CurrencyWorth> exchange;
  bool how = true;
};

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
          .need("delivered", &Request::delivered, delivered_masses_form(LimitOf::figure))
          .may("assays", &Request::assays, delivered_assays_form(LimitOf::figure))
          .may("stage", &Request::provisional, stage_form())
          .may("how", &Request::how, boolean_form())
          .may("previous", &Request::previous, previous_form())
          .check([](const Value& value, const Place& place, Reader& reader, Request& out) {
            if (value.find("terms") != nullptr) check_delivery(out, out.terms, value, place, reader);
            check_previous(value, out.currency, place, reader);
          })
          .form("an object: a delivery");
  return form;
}

void take_request(Request&& request, Delivery& made) {
  made.currency = std::move(request.currency);
  take(std::move(request), made);
  made.terms.name = made.buyer.empty() ? "buyer" : made.buyer;
}

}  // namespace

bool read_delivery(const Value& document, const Place& place, Reader& reader, Delivery& out) {
  const std::size_t before = reader.told();
  Request request;
  request_form().read(document, place, reader, request);
  const bool how = request.how;
  out.terms = request.terms;
  Pricing pricing(request, place, reader);
  if (reader.told() == before) pricing.check();
  if (reader.told() == before) pricing.price({}, request.arrived, out);
  take_request(std::move(request), out);
  out.pointer = place.pointer();
  return how;
}

std::shared_ptr<const Delivery> with_tables(Delivery&& delivery, Reader&& reader) {
  auto whole = std::make_shared<Delivery>(std::move(delivery));
  whole->analytes = std::move(reader.analytes);
  whole->quantities = std::move(reader.quantities);
  return whole;
}

DeliveryReading read_delivery(const Value& document, const DocumentLimits& limits) {
  Reader reader(limits);
  Delivery delivery;
  const bool how = read_delivery(document, Place(), reader, delivery);
  if (!reader.complaints.empty()) return {nullptr, how, std::move(reader.complaints)};
  return {with_tables(std::move(delivery), std::move(reader)), how, {}};
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
