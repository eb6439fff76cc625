#include "document/month_document.hpp"

#include <algorithm>

#include "document/heading_form.hpp"

namespace buttonworth {

struct StatedMove {
  Day date;
  Quantity mass;
};
struct StatedPricing : StatedMove {
  Quantity price;
  std::optional<Day> due;
};
struct StatedAccount {
  Analyte analyte = 0;
  std::optional<Quantity> opening;
  std::vector<StatedPricing> priced;
  std::vector<StatedMove> withdrawn;
};
struct MonthBuyer : BuyersContract {
  std::vector<StatedAccount> accounts;
  std::vector<OwedItem> opening;
};
struct StatedStock {
  Analyte analyte = 0;
  std::optional<Quantity> opening, counted;
  std::vector<StatedMove> produced;
};

struct MonthReading::Request {
  std::string format, currency;
  std::vector<CurrencyWorth> exchange;
  std::optional<Day> from, to;
  std::vector<ReadBuyer<MonthBuyer>> buyers;
  std::vector<StatedStock> on_hand;
  bool entries = false;  // deliveries and received are read after the heading
  bool list = false, csv = false;

  static const Form<Request>& form();
};

namespace {

constexpr const char* month_format = "buttonworth-month/1";

// ---- Forms of the heading --------------------------------------------------------------------

template <class T>
Fields<T> move_fields() {
  return Fields<T>().need("date", &T::date, day_form()).need("mass", &T::mass, quantity(Dimension::mass));
}

Form<std::vector<StatedAccount>> accounts_form() {
  const auto priced = move_fields<StatedPricing>()
                          .need("price", &StatedPricing::price, quantity(Dimension::price))
                          .may("due", &StatedPricing::due, day_form())
                          .form("an object with date, mass and price");
  const auto account = Fields<StatedAccount>()
                           .may("opening", &StatedAccount::opening, quantity(Dimension::mass, Allowed::any))
                           .may("priced", &StatedAccount::priced, list_of(priced))
                           .may("withdrawn", &StatedAccount::withdrawn,
                                list_of(move_fields<StatedMove>().form("an object with date and mass")))
                           .form("an object: a metal account");
  return map_of<StatedAccount>(
      account,
      [](Reader& reader, const std::string& name, StatedAccount& out) { out.analyte = reader.analyte(name); },
      "an object from metals to accounts");
}

Form<std::vector<StatedStock>> stocks_form() {
  const auto stock = Fields<StatedStock>()
                         .may("opening", &StatedStock::opening, quantity(Dimension::mass))
                         .may("produced", &StatedStock::produced,
                              list_of(move_fields<StatedMove>().form("an object with date and mass")))
                         .may("counted", &StatedStock::counted, quantity(Dimension::mass))
                         .form("an object: the metal on hand");
  return map_of<StatedStock>(
      stock,
      [](Reader& reader, const std::string& name, StatedStock& out) { out.analyte = reader.analyte(name); },
      "an object from metals to what is on hand");
}

/// "advance", "balance", "unallocated", or a metal and "priced".
Form<OwedItem> opening_form() {
  const Form<OwedItem> what{
      [](const Value& value, const Place& place, Reader& reader, OwedItem& out) {
        constexpr std::string_view priced = " priced";
        if (!require_kind(value, Value::Kind::text, place, reader, "\"advance\" or \"balance\"")) return;
        const std::string& text = value.text;
        if (text == "advance") out.what = OwedFor::advance;
        else if (text == "balance") out.what = OwedFor::balance;
        else if (text == "unallocated") out.what = OwedFor::unallocated;
        else if (text.size() > priced.size() && text.ends_with(priced)) {
          out.what = OwedFor::priced;
          out.metal = text.substr(0, text.size() - priced.size());
        } else
          reader.complain(
              Code::range, place,
              '"' + text + "\" is none of \"advance\", \"balance\", \"unallocated\" or \"Au priced\"");
      },
      text_form().schema};
  struct Draft : OwedItem {
    OwedItem purpose;
  };
  const auto draft = Fields<Draft>()
                         .may("delivery", &Draft::delivery, text_form())
                         .may("what", &Draft::purpose, what)
                         .may("due", &Draft::due, day_form())
                         .need("amount", &Draft::amount, plain_number(Allowed::any))
                         .form("an object: an item that is open");
  return {[draft](const Value& value, const Place& place, Reader& reader, OwedItem& out) {
            Draft made;
            draft.read(value, place, reader, made);
            made.what = made.purpose.what;
            made.metal = made.purpose.metal;
            out = std::move(made);
          },
          draft.schema};
}

const Form<MonthBuyer>& buyer_form() {
  static const Form<MonthBuyer> form = contract_fields<MonthBuyer>()
                                           .may("account", &MonthBuyer::accounts, accounts_form())
                                           .may("opening", &MonthBuyer::opening, list_of(opening_form()))
                                           .form("an object: a buyer");
  return form;
}

struct MoneyDraft {
  Day date;
  std::string buyer, delivery;
  Quantity amount;
};
const Form<MoneyDraft>& money_form() {
  static const Form<MoneyDraft> form =
      Fields<MoneyDraft>()
          .need("date", &MoneyDraft::date, day_form())
          .need("buyer", &MoneyDraft::buyer, text_form())
          .need("amount", &MoneyDraft::amount, quantity(Dimension::money, Allowed::any))
          .may("delivery", &MoneyDraft::delivery, text_form())
          .form("an object: money received");
  return form;
}

// ---- What the heading says -------------------------------------------------------------------

MetalMoved moved(const Reader& reader, Analyte metal, const StatedMove& stated) {
  return {reader.analytes[metal], stated.date, reader.quantities[stated.mass].mean};
}
Decimal mass_of(const Reader& reader, const std::optional<Quantity>& mass) {
  return mass ? reader.quantities[*mass].mean : Decimal(0);
}

void take_account(const Reader& reader, const StatedAccount& stated, BuyersMonth& out) {
  out.brought.push_back({reader.analytes[stated.analyte], Day(), mass_of(reader, stated.opening)});
  for (const StatedMove& gone : stated.withdrawn)
    out.withdrawn.push_back(moved(reader, stated.analyte, gone));
  for (const StatedPricing& one : stated.priced)
    out.priced.push_back({moved(reader, stated.analyte, one), one.due, reader.worth(one.price)});
}

void check_accounts(const MonthBuyer& stated, ContractReader& contract) {
  Reader& reader = contract.reader();
  const Place accounts(contract.place(), "account");
  for (const StatedAccount& account : stated.accounts)
    if (std::find(stated.credits.begin(), stated.credits.end(), account.analyte) == stated.credits.end())
      reader.complain(
          Code::name, Place(accounts, reader.analytes[account.analyte]),
          "the buyer does not credit " + reader.analytes[account.analyte] + ": name it in credits");
}

BuyersMonth month_of(ContractReader& contract, MonthBuyer&& stated) {
  check_accounts(stated, contract);
  BuyersMonth month;
  month.name = contract.name();
  for (const StatedAccount& account : stated.accounts) take_account(contract.reader(), account, month);
  month.opening = std::move(stated.opening);
  contract.begin(std::move(stated));
  month.rounding = contract.rounding();
  month.credited = contract.credited();
  return month;
}

}  // namespace

const Form<MonthReading::Request>& MonthReading::Request::form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(month_format))
          .need("currency", &Request::currency, currency_form())
          .may("exchange", &Request::exchange, exchange_form())
          .need("from", &Request::from, day_form())
          .need("to", &Request::to, day_form())
          .need("buyers", &Request::buyers, buyers_form(buyer_form()))
          .may("deliveries", &Request::entries, entries_form(listed_delivery_schema, "id"))
          .may("received", &Request::entries, entries_form(money_form().schema, "date"))
          .may("on_hand", &Request::on_hand, stocks_form())
          .may("list", &Request::list, boolean_form())
          .may("csv", &Request::csv, boolean_form())
          .check([](const Value&, const Place& place, Reader& reader, Request& out) {
            if (reader.complaints.empty() && *out.to < *out.from)
              reader.complain(Code::range, Place(place, "to"), "the month ends before it begins");
          })
          .form("an object: a month");
  return form;
}

MonthReading::MonthReading(const Value& request, const DocumentLimits& limits)
    : limits_(limits), reader_(limits_) {
  Request read;
  Request::form().read(request, Place(), reader_, read);
  heading_end_ = reader_.mark();
  if (reader_.complaints.empty()) take_heading(std::move(read));
}

void MonthReading::take_heading(Request&& request) {
  heading_.days = {*request.from, *request.to};
  wishes_ = {request.list, request.csv};
  for (auto& [contract, stated] : request.buyers) {
    heading_.buyers.push_back(month_of(*contract, std::move(stated)));
    contract->hand_over_complaints(reader_);
    contracts_.add(std::move(contract));
  }
  for (const StatedStock& stock : request.on_hand) {
    MetalOnHand& hand = heading_.on_hand.emplace_back();
    hand.metal = reader_.analytes[stock.analyte];
    hand.opening = mass_of(reader_, stock.opening);
    if (stock.counted) hand.counted = mass_of(reader_, stock.counted);
    for (const StatedMove& made : stock.produced)
      heading_.produced.push_back(moved(reader_, stock.analyte, made));
  }
}

// ---- Deliveries and money --------------------------------------------------------------------

void MonthReading::give_to(TakeDelivery deliveries, TakeMoney money) {
  give_delivery_ = std::move(deliveries);
  give_money_ = std::move(money);
  deliveries_.emplace(
      TableKind::deliveries, "deliveries", contracts_.analytes(), reader_,
      [this](const Value& entry, const Place& place, std::size_t) { take_delivery(entry, place); });
  received_.emplace(
      TableKind::received, "received", std::vector<std::string>(), reader_,
      [this](const Value& entry, const Place& place, std::size_t) { take_money(entry, place); });
}

void MonthReading::read_entries(const Value& request, const Watch& watch) {
  const Value *deliveries = request.find("deliveries"), *received = request.find("received");
  has_deliveries_ = deliveries != nullptr;
  has_received_ = received != nullptr;
  if (has_deliveries_) deliveries_->read(*deliveries, watch);
  if (has_received_) received_->read(*received, watch);
}

void MonthReading::take(TableKind table, std::string_view piece, const Watch& watch) {
  const bool is_deliveries = table == TableKind::deliveries;
  if (is_deliveries ? has_deliveries_ : has_received_)
    throw Error(Code::conflict,
                "this table stands in the request already: leave it out there, or give no pieces of it",
                is_deliveries ? "/deliveries" : "/received");
  (is_deliveries ? deliveries_ : received_)->take(piece, watch);
}

void MonthReading::finish() {
  deliveries_->finish();
  received_->finish();
}

void MonthReading::take_delivery(const Value& entry, const Place& place) {
  const auto buyer = contracts_.find(entry, place, reader_);
  if (!buyer) return;
  ContractReader& contract = contracts_[*buyer];
  const Delivery* delivery = contract.delivery(entry, place);
  contract.hand_over_complaints(reader_);
  if (delivery == nullptr) return;
  if (!ids_.insert(delivery->id).second)
    return reader_.complain(Code::repeated, Place(place, "id"),
                            "the delivery " + delivery->id + " stands in the book already");
  give_delivery_(*buyer, *delivery);
}

void MonthReading::take_money(const Value& entry, const Place& place) {
  const auto buyer = contracts_.find(entry, place, reader_);
  const std::size_t told_before = reader_.told();
  MoneyDraft draft;
  money_form().read(entry, place, reader_, draft);
  if (!buyer || reader_.told() > told_before) return;
  give_money_(*buyer,
              {draft.date, reader_.worth(draft.amount), draft.delivery, Place(place, "delivery").pointer()});
  reader_.wind_back(heading_end_);
}

Json MonthReading::schema(SchemaBook& book) { return Request::form().schema(book); }

Json month_schema() {
  return whole_schema("A month of deliveries for Buttonworth, format 1", MonthReading::schema);
}

}  // namespace buttonworth
