#include "document/return_document.hpp"

#include <algorithm>

#include "document/delivery_document.hpp"
#include "document/figure_text.hpp"
#include "document/heading_form.hpp"
#include "document/json_text.hpp"
#include "document/schema_parts.hpp"
#include "document/terms_form.hpp"
#include "quantity/stated_text.hpp"

namespace buttonworth {
namespace {

constexpr const char* return_format = "buttonworth-return/1";

using NamedAmount = std::pair<std::string, Decimal>;

struct Request {
  std::string format;
  std::optional<Delivery> delivery;
  BuyersReturn theirs;
};

/// The masses of a return stand in an object of their own, as those of a delivery.
Form<BuyersReturn> masses_form() {
  const auto mass = quantity(Dimension::mass, Allowed::positive);
  return Fields<BuyersReturn>()
      .may("wet_mass", &BuyersReturn::wet_mass, mass)
      .may("moisture", &BuyersReturn::moisture, quantity(Dimension::share, Allowed::below_all))
      .may("gross", &BuyersReturn::gross, mass)
      .may("melted", &BuyersReturn::melted, mass)
      .form("an object of masses");
}

struct ReturnDraft : BuyersReturn {
  std::string id;
  BuyersReturn delivered;
};

Form<NamedAmount> line_form() {
  return Fields<NamedAmount>()
      .need("what", &NamedAmount::first, text_form())
      .need("amount", &NamedAmount::second, plain_number(Allowed::any))
      .form("an object with what and amount");
}

/// Among others a return names its delivery.
Form<BuyersReturn> return_form(bool listed) {
  Fields<ReturnDraft> fields;
  if (listed) fields.need("id", &ReturnDraft::id, text_form());
  const auto draft =
      fields.may("delivered", &ReturnDraft::delivered, masses_form())
          .may("assays", &ReturnDraft::assays, analyte_quantities(quantity(Dimension::grade, Allowed::share)))
          .may("prices", &ReturnDraft::prices, analyte_quantities(quantity(Dimension::price)))
          .may("payable", &ReturnDraft::payable, analyte_quantities(quantity(Dimension::mass)))
          .may("lines", &ReturnDraft::lines, list_of(line_form()))
          .need("proceeds", &ReturnDraft::proceeds, plain_number(Allowed::any))
          .form("an object: the buyer's return");
  return {[draft](const Value& value, const Place& place, Reader& reader, BuyersReturn& out) {
            ReturnDraft made;
            draft.read(value, place, reader, made);
            made.wet_mass = made.delivered.wet_mass, made.moisture = made.delivered.moisture;
            made.gross = made.delivered.gross, made.melted = made.delivered.melted;
            out = std::move(made);
          },
          draft.schema};
}

const Form<BuyersReturn>& listed_return_form() {
  static const Form<BuyersReturn> form = return_form(true);
  return form;
}

// ---- What only both can tell -----------------------------------------------------------------

void require_counterpart(bool theirs, bool ours, const char* name, const Place& place, Reader& reader) {
  if (theirs && !ours)
    reader.complain(Code::name, Place(place, name),
                    std::string("the delivery states no ") + name + " of its own to set this against");
}

void check_masses(const Place& place, Reader& reader, const BuyersReturn& theirs, const Delivery& ours) {
  const Place delivered(place, "delivered");
  require_counterpart(theirs.wet_mass.has_value(), ours.wet_mass.has_value(), "wet_mass", delivered, reader);
  require_counterpart(theirs.moisture.has_value(), ours.moisture.has_value(), "moisture", delivered, reader);
  require_counterpart(theirs.gross.has_value(), ours.gross.has_value(), "gross", delivered, reader);
  require_counterpart(theirs.melted.has_value(), ours.melted.has_value(), "melted", delivered, reader);
}

void check_analytes(const Place& place, Reader& reader, const BuyersReturn& theirs, const Delivery& ours) {
  const Place assays(place, "assays"), prices(place, "prices"), payable(place, "payable");
  require_within_whole(theirs.assays, place, reader);
  for (const auto& one : theirs.assays)
    if (std::none_of(ours.assays.begin(), ours.assays.end(),
                     [&](const DeliveredAssay& own) { return own.analyte == one.analyte; }))
      reader.complain(Code::name, Place(assays, reader.analytes[one.analyte]),
                      "the delivery has no assay of " + reader.analytes[one.analyte]);
  auto require_paid = [&](const AnalyteQuantity& one, const Place& list) {
    if (std::none_of(ours.terms.pay.begin(), ours.terms.pay.end(),
                     [&](const Payable& own) { return own.analyte == one.analyte; }))
      reader.complain(Code::name, Place(list, reader.analytes[one.analyte]),
                      "the terms do not pay " + reader.analytes[one.analyte]);
  };
  for (const AnalyteQuantity& one : theirs.prices) require_paid(one, prices);
  for (const AnalyteQuantity& one : theirs.payable) require_paid(one, payable);
}

bool check_return(const Place& place, Reader& reader, const BuyersReturn& theirs, const Delivery& ours) {
  const std::size_t told_before = reader.told();
  check_masses(place, reader, theirs, ours);
  check_analytes(place, reader, theirs, ours);
  return reader.told() == told_before;
}

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(return_format))
          .need("delivery", &Request::delivery, whole_delivery())
          .need("return", &Request::theirs, return_form(false))
          .check([](const Value&, const Place& place, Reader& reader, Request& out) {
            if (!out.delivery || !reader.complaints.empty()) return;
            check_return(Place(place, "return"), reader, out.theirs, *out.delivery);
          })
          .form("an object: a delivery and its return");
  return form;
}

}  // namespace

const char* verdict(const Decimal& z) {
  const Decimal size = abs(z);
  return above(size, Decimal(3)) ? "to be acted on" : above(size, Decimal(2)) ? "questioned" : "as expected";
}

void write_sums(const Decimal& ours, const Decimal& theirs, const std::vector<DifferencePart>& parts,
                JsonText& out) {
  out.field("ours", money_text(ours)).field("theirs", money_text(theirs));
  out.field("difference", money_text(Decimal(theirs - ours))).key("parts").open('[');
  for (const DifferencePart& part : parts)
    out.open('{').field("what", part.what).field("amount", money_text(part.amount)).close('}');
  out.close(']');
}

void write_payable(const std::vector<PayableDifference>& payable, JsonText& out) {
  out.key("payable").open('{');
  for (const PayableDifference& one : payable) {
    out.key(one.what).open('{').field("ours", grams_text(one.ours)).field("theirs", grams_text(one.theirs));
    out.field("difference", grams_text(Decimal(one.theirs - one.ours))).close('}');
  }
  out.close('}');
}

namespace {

class ReconciliationText {
 public:
  ReconciliationText(const Delivery& delivery, JsonText& out) : delivery_(delivery), out_(out) {}

  void write(const Reconciliation& found) {
    write_sums(found.ours, found.theirs, found.parts, out_);
    out_.key("figures").open('[');
    for (const FigureDifference& figure : found.figures) write(figure);
    out_.close(']');
    write_payable(found.payable, out_);
  }

 private:
  std::string text(const Decimal& value, Quantity like) const {
    return text_in_unit(delivery_.quantities[like], value);
  }
  void write(const FigureDifference& figure) {
    out_.open('{').field("what", figure.what).field("ours", text(figure.ours, figure.like));
    out_.field("theirs", text(figure.theirs, figure.like));
    out_.field("difference", text(Decimal(figure.theirs - figure.ours), figure.like));
    if (figure.z) out_.field("z", to_text(*figure.z, Digits{6, 24, 0})).field("verdict", verdict(*figure.z));
    out_.close('}');
  }

  const Delivery& delivery_;
  JsonText& out_;
};

}  // namespace

ReturnReading read_return(const Value& document, const DocumentLimits& limits) {
  Reader reader(limits);
  Request request;
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {nullptr, {}, std::move(reader.complaints)};
  auto delivery = with_tables(std::move(*request.delivery), std::move(reader));
  return {std::move(delivery), std::move(request.theirs), {}};
}

bool read_listed_return(const Value& value, const Place& place, Reader& reader, const Delivery& ours,
                        BuyersReturn& out) {
  const std::size_t told_before = reader.told();
  listed_return_form().read(value, place, reader, out);
  return reader.told() == told_before && check_return(place, reader, out, ours);
}

Json listed_return_schema(SchemaBook& book) { return listed_return_form().schema(book); }

void write_reconciliation(const Delivery& delivery, const Reconciliation& reconciliation, JsonText& out) {
  ReconciliationText(delivery, out).write(reconciliation);
}

std::string reconciliation_text(const Delivery& delivery, const Reconciliation& reconciliation) {
  JsonText out;
  out.open('{').field("format", "buttonworth-reconciliation/1").field("currency", delivery.currency);
  if (!delivery.id.empty()) out.field("id", delivery.id);
  if (!delivery.buyer.empty()) out.field("buyer", delivery.buyer);
  write_reconciliation(delivery, reconciliation, out);
  return out.close('}').take();
}

Json return_schema() {
  return whole_schema("A buyer's return for Buttonworth, format 1", request_form().schema);
}

namespace {
/// What a reconciliation says of one lot, its heading left out.
Json lot_fields() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, number = text_with("");
  const Json figure = object_of({{"what", text},
                                 {"ours", text},
                                 {"theirs", text},
                                 {"difference", text},
                                 {"z", number},
                                 {"verdict", verdict_schema()}},
                                {"z", "verdict"});
  return {{"id", text},
          {"buyer", text},
          {"ours", number},
          {"theirs", number},
          {"difference", number},
          {"parts", parts_schema()},
          {"figures", list(figure)},
          {"payable", payable_schema()}};
}
}  // namespace

Json payable_schema() {
  using namespace schema_parts;
  const Json gram = text_with(" g");
  return named(object_of({{"ours", gram}, {"theirs", gram}, {"difference", gram}}));
}

Json verdict_schema() { return {{"enum", {"as expected", "questioned", "to be acted on"}}}; }

Json parts_schema() {
  using namespace schema_parts;
  return list(object_of({{"what", {{"type", "string"}}}, {"amount", text_with("")}}));
}

Json listed_reconciliation_schema() { return schema_parts::object_of(lot_fields()); }

Json reconciliation_schema() {
  using namespace schema_parts;
  Json fields{{"format", {{"const", "buttonworth-reconciliation/1"}}},
              {"currency", schema_parts::currency()}};
  fields.update(lot_fields());
  Json schema = schema_parts::titled("A Buttonworth reconciliation, format 1");
  schema.update(object_of(fields, {"id", "buyer"}));
  return schema;
}

}  // namespace buttonworth
