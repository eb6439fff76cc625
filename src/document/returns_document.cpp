#include "document/returns_document.hpp"

#include <cmath>

#include "document/figure_text.hpp"
#include "document/heading_form.hpp"
#include "document/return_document.hpp"
#include "document/schema_parts.hpp"

namespace buttonworth {

struct ReturnsReading::Request {
  std::string format, currency;
  std::vector<CurrencyWorth> exchange;
  std::vector<ReadBuyer<BuyersContract>> buyers;
  bool entries = false;  // deliveries and returns are read after the heading

  static const Form<Request>& form();
};

namespace {

std::string statistic_text(double value) { return to_text(value, Digits{6, 24, 0}); }

/// Questioned where the 95 % interval leaves 1 out; to be acted on where a normal value would lie beyond
/// three standard deviations.
const char* verdict(double p) {
  constexpr double outside_interval = 0.05, beyond_three = 0.0027;
  return p >= outside_interval ? "as expected" : p >= beyond_three ? "questioned" : "to be acted on";
}

std::string few_text(std::size_t pairs) {
  return std::to_string(pairs) + (pairs == 1 ? " lot tells" : " lots tell") + " little: wait for " +
         std::to_string(few_pairs) + " or more before leaning on these figures";
}

}  // namespace

const Form<ReturnsReading::Request>& ReturnsReading::Request::form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(returns_format))
          .need("currency", &Request::currency, currency_form())
          .may("exchange", &Request::exchange, exchange_form())
          .need("buyers", &Request::buyers,
                buyers_form(contract_fields<BuyersContract>().form("an object: a buyer")))
          .need("deliveries", &Request::entries, entries_form(listed_delivery_schema, "id"))
          .need("returns", &Request::entries, entries_form(listed_return_schema, "proceeds"))
          .form("an object: many returns");
  return form;
}

// ---- Reading ---------------------------------------------------------------------------------

ReturnsReading::ReturnsReading(const Value& request, const DocumentLimits& limits, const Watch& watch)
    : reader_(limits) {
  Request read;
  Request::form().read(request, Place(), reader_, read);
  if (!reader_.complaints.empty()) return;
  for (auto& [contract, stated] : read.buyers) {
    contract->begin(std::move(stated));
    contract->hand_over_complaints(reader_);
    names_.push_back(contract->name());
    contracts_.add(std::move(contract));
  }
  if (!reader_.complaints.empty()) return;
  buyers_.resize(names_.size());
  lots_text_.open('[');
  Entries deliveries(TableKind::deliveries, "deliveries", contracts_.analytes(), reader_,
                     [this](const Value& entry, const Place& place, std::size_t index) {
                       take_delivery(entry, place, index);
                     });
  deliveries.read(*request.find("deliveries"), watch);
  Entries returns(TableKind::returns, "returns", contracts_.analytes(), reader_,
                  [this](const Value& entry, const Place& place, std::size_t) { take_return(entry, place); });
  returns.read(*request.find("returns"), watch);
  check_others();
}

void ReturnsReading::take_delivery(const Value& entry, const Place& place, std::size_t index) {
  const auto buyer = contracts_.find(entry, place, reader_);
  const Value* id = entry.find("id");
  if (!buyer) return;
  if (id == nullptr || id->kind != Value::Kind::text)
    return reader_.complain(Code::missing_field, place, "the field id is missing");
  if (!numbers_.emplace(id->text, lots_.size()).second)
    return reader_.complain(Code::repeated, Place(place, "id"),
                            "the delivery " + id->text + " stands here already");
  lots_.push_back({*buyer, entry, index});
}

void ReturnsReading::take_return(const Value& entry, const Place& place) {
  const Value* id = entry.find("id");
  if (id == nullptr || id->kind != Value::Kind::text)
    return reader_.complain(Code::missing_field, place, "the field id is missing");
  const auto known = numbers_.find(id->text);
  if (known == numbers_.end())
    return reader_.complain(Code::name, Place(place, "id"), "there is no delivery " + id->text);
  Lot& lot = lots_[known->second];
  if (lot.returned)
    return reader_.complain(Code::repeated, Place(place, "id"),
                            "the return of " + id->text + " stands here already");
  lot.returned = true;
  reconcile_lot(lot, entry, place);
}

void ReturnsReading::reconcile_lot(Lot& lot, const Value& theirs, const Place& place) {
  const Place root, all(root, "deliveries"), at(all, lot.index);
  ContractReader& contract = contracts_[lot.buyer];
  BuyersReturn stated;
  const Delivery* delivery = contract.returned(lot.stated, at, theirs, place, stated);
  contract.hand_over_complaints(reader_);
  if (delivery == nullptr) return;
  const Reconciliation found = reconcile(*delivery, stated);
  buyers_[lot.buyer].add(delivery->id, found);
  lots_text_.open('{').field("id", delivery->id).field("buyer", delivery->buyer);
  write_reconciliation(*delivery, found, lots_text_);
  lots_text_.close('}');
  lot.stated = Value();
}

/// Deliveries without a return are to be in order too.
void ReturnsReading::check_others() {
  const Place root, all(root, "deliveries");
  for (const Lot& lot : lots_) {
    if (lot.returned) continue;
    ContractReader& contract = contracts_[lot.buyer];
    contract.delivery(lot.stated, Place(all, lot.index));
    contract.hand_over_complaints(reader_);
  }
}

// ---- The answer ------------------------------------------------------------------------------

std::string ReturnsReading::text() {
  out_.open('{').field("format", "buttonworth-reconciliations/1").field("currency", reader_.currency);
  out_.key("buyers").open('{');
  for (std::size_t i = 0; i < names_.size(); ++i) write_buyer(i);
  lots_text_.close(']');
  out_.close('}').key("returns").bare(lots_text_.take()).close('}');
  return out_.take();
}

void ReturnsReading::write_buyer(std::size_t number) {
  const BuyersReturns& buyer = buyers_[number];
  out_.key(names_[number]).open('{').field("returns", std::to_string(buyer.returns)).key("missing").open('[');
  for (const Lot& lot : lots_)
    if (lot.buyer == number && !lot.returned) out_.string(lot.stated.find("id")->text);
  out_.close(']');
  write_sums(buyer.ours, buyer.theirs, buyer.parts, out_);
  out_.key("figures").open('[');
  for (const FigureOverLots& figure : buyer.figures) write_figure(figure);
  out_.close(']');
  write_payable(buyer.payable, out_);
  out_.close('}');
}

void ReturnsReading::write_figure(const FigureOverLots& figure) {
  const PairedDifference found = paired(figure.log_ratios, figure.steps);
  out_.open('{').field("what", figure.what).field("pairs", std::to_string(found.pairs));
  if (found.pairs > 0) out_.field("ratio", statistic_text(std::exp(found.mean)));
  if (found.spread) {
    out_.field("low", statistic_text(std::exp(found.spread->low)));
    out_.field("high", statistic_text(std::exp(found.spread->high)));
    out_.field("t", statistic_text(found.spread->t)).field("p", statistic_text(found.spread->p));
    out_.field("verdict", verdict(found.spread->p));
  }
  if (found.mean_of_rest) out_.field("ratio_of_rest", statistic_text(std::exp(*found.mean_of_rest)));
  out_.key("outliers").open('[');
  for (std::size_t i : found.outliers)
    out_.open('{')
        .field("id", figure.lots[i])
        .field("ratio", statistic_text(std::exp(figure.log_ratios[i])))
        .close('}');
  out_.close(']');
  if (found.pairs < few_pairs) out_.field("caution", few_text(found.pairs));
  out_.close('}');
}

// ---- Schemas ---------------------------------------------------------------------------------

Json ReturnsReading::schema(SchemaBook& book) { return Request::form().schema(book); }

Json returns_schema() {
  return whole_schema("Many returns for Buttonworth, format 1", ReturnsReading::schema);
}

Json reconciliations_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, number = text_with(""),
                                       count{{"type", "string"}, {"pattern", "^[0-9]+$"}};
  const Json figure = object_of({{"what", text},
                                 {"pairs", count},
                                 {"ratio", number},
                                 {"low", number},
                                 {"high", number},
                                 {"t", number},
                                 {"p", number},
                                 {"verdict", verdict_schema()},
                                 {"ratio_of_rest", number},
                                 {"outliers", list(object_of({{"id", text}, {"ratio", number}}))},
                                 {"caution", text}},
                                {"ratio", "low", "high", "t", "p", "verdict", "ratio_of_rest", "caution"});
  const Json buyer = object_of({{"returns", count},
                                {"missing", list(text)},
                                {"ours", number},
                                {"theirs", number},
                                {"difference", number},
                                {"parts", parts_schema()},
                                {"figures", list(figure)},
                                {"payable", payable_schema()}});
  Json schema = schema_parts::titled("Buttonworth reconciliations of many lots, format 1");
  schema.update(object_of({{"format", {{"const", "buttonworth-reconciliations/1"}}},
                           {"currency", schema_parts::currency()},
                           {"buyers", named(buyer)},
                           {"returns", list(listed_reconciliation_schema())}}));
  return schema;
}

}  // namespace buttonworth
