#include "document/book_document.hpp"

#include <algorithm>

#include "document/bench_figures.hpp"
#include "document/figure_text.hpp"
#include "document/schema_parts.hpp"
#include "quantity/date.hpp"

namespace buttonworth {
namespace {

constexpr std::array kind_names{"value", "refining", "charges", "penalties", "participation", "interest"};
constexpr std::array received_names{"advance", "balance", "priced", "unallocated"};

std::string ounces_text(const Decimal& kilograms) {
  return to_text(Decimal(kilograms * exact_factors().per_kilogram(MassUnit::ozt))) + " ozt";
}
std::string ounces_number(const Decimal& kilograms) {
  std::string text = ounces_text(kilograms);
  return text.substr(0, text.find(' '));
}
std::string day_or_nothing(const std::optional<Day>& day) { return day ? date_text(*day) : std::string(); }

std::string purpose(const OwedItem& item) {
  return item.what == OwedFor::priced ? item.metal + " priced"
                                      : received_names[static_cast<std::size_t>(item.what)];
}
std::string line_name(const LineSum& line) { return line_text({line.kind, nullptr, &line.what}); }

/// Sums of lines of the six kinds of a statement.
std::array<Decimal, kind_names.size()> by_kind(const std::vector<LineSum>& lines) {
  std::array<Decimal, kind_names.size()> kinds{};
  for (const LineSum& line : lines) kinds[static_cast<std::size_t>(line.kind)] += line.amount;
  return kinds;
}

// ---- The answer ------------------------------------------------------------------------------

class BookJson {
 public:
  BookJson(const Book& book, const MonthReading& month) : book_(book), month_(month) {}

  JsonText& head() {
    const MonthHeading& heading = month_.heading();
    out_.open('{').field("format", "buttonworth-book/1").field("currency", month_.currency());
    out_.field("from", date_text(heading.days.from)).field("to", date_text(heading.days.to));
    out_.key("buyers").open('{');
    for (std::size_t i = 0; i < heading.buyers.size(); ++i) {
      out_.key(heading.buyers[i].name);
      sums(book_.buyers[i], true);
    }
    out_.close('}').key("total");
    sums(book_.total, false);
    on_hand();
    passed_over();
    return out_;
  }
  std::string end() {
    write_cautions(out_, book_.cautions);
    out_.close('}');
    return out_.take();
  }

 private:
  void count(const char* name, std::int64_t number) { out_.field(name, std::to_string(number)); }
  void money(std::string_view name, const Decimal& amount) { out_.field(name, money_text(amount)); }
  void ounces(const char* name, const Decimal& mass) { out_.field(name, ounces_text(mass)); }

  void sums(const MonthSums& sums, bool of_buyer) {
    out_.open('{');
    count("deliveries", sums.deliveries), count("refused", sums.refused),
        count("provisional", sums.provisional);
    out_.field("wet_mass", kilograms_text(sums.wet)).field("dry_mass", kilograms_text(sums.dry));
    out_.field("settled_mass", kilograms_text(sums.settled));
    money("proceeds", sums.proceeds), money("interest", sums.interest);
    lines(sums.lines);
    metal(sums.metal);
    cash(sums.cash);
    out_.key("received").open('{');
    for (std::size_t i = 0; i < owed_kinds; ++i) money(received_names[i], sums.received[i]);
    out_.close('}');
    accounts(sums.accounts);
    due(sums);
    if (of_buyer) outstanding(sums.outstanding);
    out_.close('}');
  }
  void lines(const std::vector<LineSum>& lines) {
    const auto kinds = by_kind(lines);
    out_.key("kinds").open('{');
    for (std::size_t i = 0; i < kinds.size(); ++i) money(kind_names[i], kinds[i]);
    out_.close('}').key("lines").open('{');
    for (const auto& [name, amount] : by_name(lines)) money(name, amount);
    out_.close('}');
  }
  /// A charge may bear the name of another line.
  static std::vector<std::pair<std::string, Decimal>> by_name(const std::vector<LineSum>& lines) {
    std::vector<std::pair<std::string, Decimal>> named;
    for (const LineSum& line : lines) {
      const std::string name = line_name(line);
      const auto known =
          std::find_if(named.begin(), named.end(), [&](const auto& one) { return one.first == name; });
      if (known == named.end()) named.emplace_back(name, line.amount);
      else known->second += line.amount;
    }
    return named;
  }
  void metal(const std::vector<MetalSum>& metals) {
    out_.key("metal").open('{');
    for (const MetalSum& one : metals) {
      out_.key(one.metal).open('{').field("contained", grams_text(one.contained));
      out_.field("payable", grams_text(one.payable));
      money("value", one.value);
      out_.close('}');
    }
    out_.close('}');
  }
  void cash(const CashAccount& cash) {
    out_.key("cash").open('{');
    money("opening", cash.opening), money("due", cash.due), money("changed", cash.changed);
    money("priced", cash.priced), money("received", cash.received), money("closing", cash.closing());
    out_.close('}');
  }
  void accounts(const std::vector<RefinerAccount>& accounts) {
    out_.key("account").open('{');
    for (const RefinerAccount& one : accounts) {
      out_.key(one.metal).open('{');
      ounces("opening", one.opening), ounces("credited", one.credited), ounces("priced", one.priced);
      ounces("withdrawn", one.withdrawn), ounces("closing", one.closing());
      out_.close('}');
    }
    out_.close('}');
  }
  void day(const std::optional<Day>& day) {
    if (day) out_.string(date_text(*day));
    else out_.null();
  }
  void due(const MonthSums& sums) {
    out_.key("due").open('[');
    for (const DueDay& one : sums.due) {
      out_.open('{').key("day");
      day(one.day);
      money("amount", one.amount);
      out_.close('}');
    }
    out_.close(']');
    money("overdue", sums.overdue);
  }
  void outstanding(const std::vector<OwedItem>& items) {
    out_.key("outstanding").open('[');
    for (const OwedItem& item : items) {
      out_.open('{');
      if (!item.delivery.empty()) out_.field("delivery", item.delivery);
      out_.field("what", purpose(item));
      if (item.due) out_.field("due", date_text(*item.due));
      money("amount", item.amount);
      out_.close('}');
    }
    out_.close(']');
  }
  void on_hand() {
    out_.key("on_hand").open('{');
    for (const MetalOnHand& one : book_.on_hand) {
      out_.key(one.metal).open('{');
      ounces("opening", one.opening), ounces("produced", one.produced), ounces("delivered", one.delivered);
      ounces("closing", one.closing());
      if (one.counted) ounces("counted", *one.counted), ounces("difference", *one.counted - one.closing());
      out_.close('}');
    }
    out_.close('}');
  }
  void passed_over() {
    out_.key("passed_over").open('{');
    count("deliveries", book_.passed_over[static_cast<std::size_t>(Entry::delivery)]);
    count("received", book_.passed_over[static_cast<std::size_t>(Entry::money)]);
    count("metal", book_.passed_over[static_cast<std::size_t>(Entry::metal)]);
    out_.close('}');
  }

  const Book& book_;
  const MonthReading& month_;
  JsonText out_;
};

// ---- Tables ----------------------------------------------------------------------------------

class BookTables {
 public:
  BookTables(const Book& book, const MonthReading& month)
      : book_(book), buyers_(month.heading().buyers), money_(" (" + month.currency() + ")") {}

  std::string buyers() const {
    CsvWriter out;
    for (const char* name : {"buyer", "deliveries", "refused", "provisional", "wet_mass (kg)",
                             "dry_mass (kg)", "settled_mass (kg)"})
      out.cell(name);
    for (const char* name :
         {"proceeds", "interest", "opening", "due", "changed", "priced", "received", "closing", "overdue"})
      out.cell(name + money_);
    out.end_row();
    for (std::size_t i = 0; i < buyers_.size(); ++i) buyer(out, buyers_[i].name, book_.buyers[i]);
    return out.take();
  }
  std::string metals() const {
    CsvWriter out;
    for (const char* name : {"buyer", "metal", "contained (g)", "payable (g)"}) out.cell(name);
    out.cell("value" + money_);
    for (const char* name :
         {"opening (ozt)", "credited (ozt)", "priced (ozt)", "withdrawn (ozt)", "closing (ozt)"})
      out.cell(name);
    out.end_row();
    for (std::size_t i = 0; i < buyers_.size(); ++i) metals(out, buyers_[i].name, book_.buyers[i]);
    return out.take();
  }
  std::string lines() const {
    CsvWriter out;
    out.cell("buyer").cell("kind").cell("line").cell("amount" + money_).end_row();
    for (std::size_t i = 0; i < buyers_.size(); ++i)
      for (const LineSum& line : book_.buyers[i].lines)
        out.cell(buyers_[i].name)
            .cell(kind_names[static_cast<std::size_t>(line.kind)])
            .cell(line_name(line))
            .cell(money_text(line.amount))
            .end_row();
    return out.take();
  }
  std::string outstanding() const {
    CsvWriter out;
    out.cell("buyer").cell("delivery").cell("what").cell("due").cell("amount" + money_).end_row();
    for (std::size_t i = 0; i < buyers_.size(); ++i)
      for (const OwedItem& item : book_.buyers[i].outstanding)
        out.cell(buyers_[i].name)
            .cell(item.delivery)
            .cell(purpose(item))
            .cell(day_or_nothing(item.due))
            .cell(money_text(item.amount))
            .end_row();
    return out.take();
  }

 private:
  static void buyer(CsvWriter& out, const std::string& name, const MonthSums& sums) {
    out.cell(name);
    for (std::int64_t number : {sums.deliveries, sums.refused, sums.provisional})
      out.cell(std::to_string(number));
    for (const Decimal& mass : {sums.wet, sums.dry, sums.settled}) out.cell(to_text(mass));
    const CashAccount& cash = sums.cash;
    for (const Decimal& amount : {sums.proceeds, sums.interest, cash.opening, cash.due, cash.changed,
                                  cash.priced, cash.received, cash.closing(), sums.overdue})
      out.cell(money_text(amount));
    out.end_row();
  }
  /// Metal that was delivered, and metal that stands in an account alone.
  static void metals(CsvWriter& out, const std::string& name, const MonthSums& sums) {
    for (const MetalSum& metal : sums.metal) metal_row(out, name, metal, account_of(sums, metal.metal));
    for (const RefinerAccount& account : sums.accounts)
      if (std::none_of(sums.metal.begin(), sums.metal.end(),
                       [&](const MetalSum& one) { return one.metal == account.metal; }))
        metal_row(out, name, {account.metal}, &account);
  }
  static const RefinerAccount* account_of(const MonthSums& sums, const std::string& metal) {
    for (const RefinerAccount& account : sums.accounts)
      if (account.metal == metal) return &account;
    return nullptr;
  }
  static void metal_row(CsvWriter& out, const std::string& name, const MetalSum& metal,
                        const RefinerAccount* account) {
    out.cell(name).cell(metal.metal).cell(to_text(Decimal(metal.contained * 1000)));
    out.cell(to_text(Decimal(metal.payable * 1000))).cell(money_text(metal.value));
    if (account == nullptr) out.cell("").cell("").cell("").cell("").cell("");
    else
      for (const Decimal& mass :
           {account->opening, account->credited, account->priced, account->withdrawn, account->closing()})
        out.cell(ounces_number(mass));
    out.end_row();
  }

  const Book& book_;
  const std::vector<BuyersMonth>& buyers_;
  std::string money_;
};

}  // namespace

// ---- Deliveries ------------------------------------------------------------------------------

DeliveriesText::DeliveriesText(BookWishes wishes, std::vector<std::string> metals, std::string currency)
    : wishes_(wishes), metals_(std::move(metals)) {
  list_.open('[');
  for (const char* name : {"id", "buyer", "arrived", "stage", "wet_mass (kg)", "dry_mass (kg)"})
    csv_.cell(name);
  for (const std::string& metal : metals_) csv_.cell(metal + " payable (g)");
  for (const char* name : {"proceeds", "advance", "interest", "balance"})
    csv_.cell(name + (" (" + currency + ")"));
  for (const char* name : {"advance_due", "balance_due", "refused"}) csv_.cell(name);
  csv_.end_row();
}

void DeliveriesText::add(const Statement& statement) {
  if (wishes_.list) write_list(statement);
  if (wishes_.csv) write_csv(statement);
}

std::string DeliveriesText::take_list() {
  list_.close(']');
  return list_.take();
}

void DeliveriesText::write_list(const Statement& statement) {
  const Delivery& delivery = *statement.delivery;
  const bool refused = !statement.refused.empty();
  auto amount = [&](const char* name, const Decimal& value) {
    if (!refused) list_.field(name, money_text(value));
  };
  list_.open('{').field("id", delivery.id).field("buyer", delivery.buyer);
  list_.field("arrived", date_text(*delivery.arrived));
  list_.field("stage", statement.provisional() ? "provisional" : "final");
  list_.field("wet_mass", kilograms_text(statement.delivered.wet()));
  list_.field("dry_mass", kilograms_text(statement.delivered.dry)).key("payable").open('{');
  for (const Payable& pay : delivery.terms.pay)
    list_.field(pay.metal, grams_text(statement.payable[pay.analyte]));
  list_.close('}');
  amount("proceeds", statement.proceeds), amount("advance", statement.advance);
  amount("interest", statement.interest), amount("balance", statement.balance());
  if (statement.advance_due) list_.field("advance_due", date_text(*statement.advance_due));
  if (statement.balance_due) list_.field("balance_due", date_text(*statement.balance_due));
  list_.key("refused").open('[');
  for (const std::string& reason : statement.refused) list_.string(reason);
  list_.close(']').close('}');
}

void DeliveriesText::write_csv(const Statement& statement) {
  const Delivery& delivery = *statement.delivery;
  csv_.cell(delivery.id).cell(delivery.buyer).cell(date_text(*delivery.arrived));
  csv_.cell(statement.provisional() ? "provisional" : "final");
  csv_.cell(to_text(statement.delivered.wet())).cell(to_text(statement.delivered.dry));
  for (const std::string& metal : metals_) {
    std::string mass;
    for (const Payable& pay : delivery.terms.pay)
      if (pay.metal == metal) mass = to_text(Decimal(statement.payable[pay.analyte] * 1000));
    csv_.cell(mass);
  }
  const bool refused = !statement.refused.empty();
  for (const Decimal& amount :
       {statement.proceeds, statement.advance, statement.interest, statement.balance()})
    csv_.cell(refused ? std::string() : money_text(amount));
  csv_.cell(day_or_nothing(statement.advance_due)).cell(day_or_nothing(statement.balance_due));
  csv_.cell(refused ? statement.refused.front() : std::string()).end_row();
}

std::string book_text(const Book& book, const MonthReading& month, DeliveriesText& deliveries) {
  BookJson json(book, month);
  JsonText& out = json.head();
  if (month.wishes().list) out.key("deliveries").bare(deliveries.take_list());
  if (month.wishes().csv) {
    const BookTables tables(book, month);
    out.key("csv").open('{').field("deliveries", deliveries.take_csv()).field("buyers", tables.buyers());
    out.field("metals", tables.metals()).field("lines", tables.lines());
    out.field("outstanding", tables.outstanding()).close('}');
  }
  return json.end();
}

namespace {

using namespace schema_parts;

Json count() { return {{"type", "string"}, {"pattern", "^[0-9]+$"}}; }
Json each(const Json& schema, const auto& names) {
  Json fields = Json::object();
  for (const char* name : names) fields[name] = schema;
  return fields;
}

/// Of one buyer, or of all.
Json sums_schema(bool of_buyer) {
  const Json ounce = text_with(" ozt"), gram = text_with(" g"), kilogram = text_with(" kg");
  Json fields = each(count(), std::array{"deliveries", "refused", "provisional"});
  fields.update(each(kilogram, std::array{"wet_mass", "dry_mass", "settled_mass"}));
  fields.update(each(number(), std::array{"proceeds", "interest", "overdue"}));
  fields["kinds"] = object_of(each(number(), kind_names));
  fields["lines"] = named(number());
  fields["metal"] = named(object_of({{"contained", gram}, {"payable", gram}, {"value", number()}}));
  fields["cash"] =
      object_of(each(number(), std::array{"opening", "due", "changed", "priced", "received", "closing"}));
  fields["received"] = object_of(each(number(), received_names));
  fields["account"] =
      named(object_of(each(ounce, std::array{"opening", "credited", "priced", "withdrawn", "closing"})));
  fields["due"] = list(object_of({{"day", or_null(day())}, {"amount", number()}}));
  if (of_buyer)
    fields["outstanding"] = list(object_of(
        {{"delivery", text()}, {"what", text()}, {"due", day()}, {"amount", number()}}, {"delivery", "due"}));
  return object_of(fields);
}

Json delivery_in_list_schema() {
  const Json kilogram = text_with(" kg");
  return object_of({{"id", text()},
                    {"buyer", text()},
                    {"arrived", day()},
                    {"stage", {{"enum", {"final", "provisional"}}}},
                    {"wet_mass", kilogram},
                    {"dry_mass", kilogram},
                    {"payable", named(text_with(" g"))},
                    {"proceeds", number()},
                    {"advance", number()},
                    {"interest", number()},
                    {"balance", number()},
                    {"advance_due", day()},
                    {"balance_due", day()},
                    {"refused", list(text())}},
                   {"proceeds", "advance", "interest", "balance", "advance_due", "balance_due"});
}

Json on_hand_schema() {
  return object_of(each(text_with(" ozt"),
                        std::array{"opening", "produced", "delivered", "closing", "counted", "difference"}),
                   {"counted", "difference"});
}

}  // namespace

Json book_schema() {
  Json schema = titled("A Buttonworth book, format 1");
  schema.update(object_of(
      {{"format", {{"const", "buttonworth-book/1"}}},
       {"currency", currency()},
       {"from", day()},
       {"to", day()},
       {"buyers", named(sums_schema(true))},
       {"total", sums_schema(false)},
       {"on_hand", named(on_hand_schema())},
       {"passed_over", object_of(each(count(), std::array{"deliveries", "received", "metal"}))},
       {"deliveries", list(delivery_in_list_schema())},
       {"csv", object_of(each(text(), std::array{"deliveries", "buyers", "metals", "lines", "outstanding"}))},
       {"cautions", cautions()}},
      {"deliveries", "csv"}));
  return schema;
}

}  // namespace buttonworth
