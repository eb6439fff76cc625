// The statement as a document.

#include <algorithm>
#include <array>

#include "document/bench_figures.hpp"
#include "document/delivery_document.hpp"
#include "document/figure_text.hpp"
#include "document/json_text.hpp"
#include "document/schema_parts.hpp"
#include "quantity/date.hpp"
#include "quantity/stated_text.hpp"

namespace buttonworth {
namespace {

constexpr std::array settled_by_words{"single", "mean", "umpire", "middle", "nearer"};
constexpr std::array party_words{"seller", "buyer", "both"};

class StatementText {
 public:
  StatementText(const Statement& statement, bool how)
      : statement_(statement), delivery_(*statement.delivery), how_(how), out_(usual_size) {}

  std::string run() {
    out_.open('{').field("format", "buttonworth-statement/1").field("currency", delivery_.currency);
    if (!delivery_.id.empty()) out_.field("id", delivery_.id);
    if (!delivery_.buyer.empty()) out_.field("buyer", delivery_.buyer);
    if (delivery_.arrived) out_.field("arrived", date_text(*delivery_.arrived));
    out_.field("stage", statement_.provisional() ? "provisional" : "final");
    amounts();
    texts("refused", statement_.refused);
    open_points();
    masses();
    assays();
    prices();
    metal();
    lines();
    changes();
    cautions();
    out_.close('}');
    return out_.take();
  }

 private:
  static constexpr std::size_t usual_size = 4096;

  void amount(const char* name, const Decimal& value) {
    out_.key(name);
    if (statement_.refused.empty()) out_.string(money_text(value));
    else out_.null();
  }
  void day(const char* name, const std::optional<Day>& day) {
    out_.key(name);
    if (day) out_.string(date_text(*day));
    else out_.null();
  }
  void amounts() {
    amount("proceeds", statement_.proceeds);
    amount("advance", statement_.advance);
    amount("interest", statement_.interest);
    amount("balance", statement_.balance());
    day("advance_due", statement_.advance_due);
    day("balance_due", statement_.balance_due);
  }

  void texts(const char* name, const std::vector<std::string>& list) {
    out_.key(name).open('[');
    for (const std::string& one : list) out_.string(one);
    out_.close(']');
  }
  void open_points() {
    out_.key("open").open('[');
    for (const OpenPoint& one : statement_.open)
      out_.open('{').field("at", one.at).field("what", one.what).close('}');
    out_.close(']');
  }
  void cautions() { write_cautions(out_, statement_.cautions); }

  // ---- Figures -------------------------------------------------------------------------------

  std::string text(const Decimal& value, Quantity like) const {
    return text_in_unit(delivery_.quantities[like], value);
  }
  void figure(std::string_view name, const SettledFigure& figure) {
    const Agreement<Decimal>& agreed = figure.agreed;
    out_.key(name).open('{').field("settled", text(agreed.settled, figure.like));
    out_.field("how", word(settled_by_words, agreed.how));
    if (figure.seller) out_.field("seller", text(*figure.seller, figure.like));
    if (figure.buyer) out_.field("buyer", text(*figure.buyer, figure.like));
    if (figure.seller && figure.buyer)
      out_.field("difference", text(Decimal(*figure.seller - *figure.buyer), figure.like));
    if (figure.umpire) out_.field("umpire", text(*figure.umpire, figure.like));
    if (agreed.umpire_paid_by) out_.field("umpire_paid_by", word(party_words, *agreed.umpire_paid_by));
    out_.close('}');
  }
  void figure(const char* name, const std::optional<SettledFigure>& one) {
    if (one) figure(std::string_view(name), *one);
  }
  void masses() {
    out_.key("delivered").open('{');
    figure("wet_mass", statement_.wet_mass);
    figure("moisture", statement_.moisture);
    figure("gross", statement_.gross);
    figure("melted", statement_.melted);
    if (!statement_.gross) out_.field("dry_mass", kilograms_text(statement_.delivered.dry));
    out_.field("settled_mass", kilograms_text(statement_.settled_mass)).close('}');
  }
  void assays() {
    out_.key("assays").open('{');
    for (const auto& [analyte, one] : statement_.assays) figure(delivery_.analytes[analyte], one);
    out_.close('}');
  }
  /// Of each metal that is paid or shared in, the price that was used.
  void prices() {
    out_.key("prices").open('{');
    std::vector<Analyte> told;
    auto one = [&](Analyte analyte, Quantity price) {
      if (std::find(told.begin(), told.end(), analyte) != told.end()) return;
      told.push_back(analyte);
      write_price(analyte, price);
    };
    for (const Payable& pay : delivery_.terms.pay) one(pay.analyte, pay.price);
    for (const Participation& shared : delivery_.terms.participation) one(shared.analyte, shared.price);
    out_.close('}');
  }
  void write_price(Analyte analyte, Quantity price) {
    out_.key(delivery_.analytes[analyte]).open('{');
    out_.field("average", text(delivery_.quantities[price].mean, price));
    for (const QuotedPrice& quoted : delivery_.quoted)
      if (quoted.price.index == price.index)
        out_.field("quoted_days", std::to_string(quoted.quoted_days))
            .field("unquoted_days", std::to_string(quoted.unquoted_days));
    out_.close('}');
  }

  /// A refused delivery has none, as a refused route.
  void metal() {
    out_.key("metal").open('{');
    if (statement_.refused.empty())
      for (Analyte a = 0; a < delivery_.analytes.size(); ++a)
        if (statement_.known[a]) write_metal(a);
    out_.close('}');
  }
  void write_metal(Analyte a) {
    out_.key(delivery_.analytes[a])
        .open('{')
        .field("contained", grams_text(statement_.delivered.content[a]))
        .field("payable", grams_text(statement_.payable[a]))
        .close('}');
  }

  // ---- Lines ---------------------------------------------------------------------------------

  void lines() {
    out_.key("lines").open('[');
    for (const Line<Decimal>& line : statement_.lines) {
      out_.open('{').field("at", *line.name.at).field("what", line_text(line.name));
      out_.field("amount", money_text(line.amount)).field("day", days_text(line.day));
      if (how_) out_.field("how", line.how);
      out_.close('}');
    }
    out_.close(']');
  }
  void changes() {
    out_.key("changes").open('[');
    for (const Change& one : statement_.changes)
      out_.open('{')
          .field("what", one.what)
          .field("was", money_text(one.was))
          .field("is", money_text(one.is))
          .field("change", money_text(Decimal(one.is - one.was)))
          .close('}');
    out_.close(']');
  }

  const Statement& statement_;
  const Delivery& delivery_;
  bool how_;
  JsonText out_;
};

}  // namespace

std::string statement_text(const Statement& statement, bool how) {
  return StatementText(statement, how).run();
}

namespace {

using namespace schema_parts;

Json settled_figure_schema() {
  const Json text{{"type", "string"}};
  return object_of({{"settled", text},
                    {"how", {{"enum", settled_by_words}}},
                    {"seller", text},
                    {"buyer", text},
                    {"difference", text},
                    {"umpire", text},
                    {"umpire_paid_by", {{"enum", party_words}}}},
                   {"seller", "buyer", "difference", "umpire", "umpire_paid_by"});
}

Json delivered_schema() {
  const Json figure = settled_figure_schema(), mass = text_with(" kg");
  return object_of({{"wet_mass", figure},
                    {"moisture", figure},
                    {"gross", figure},
                    {"melted", figure},
                    {"dry_mass", mass},
                    {"settled_mass", mass}},
                   {"wet_mass", "moisture", "gross", "melted", "dry_mass"});
}

}  // namespace

Json statement_schema() {
  const Json text{{"type", "string"}}, number = text_with(""), gram = text_with(" g");
  const Json price = object_of({{"average", text}, {"quoted_days", number}, {"unquoted_days", number}},
                               {"quoted_days", "unquoted_days"});
  const Json line =
      object_of({{"at", text}, {"what", text}, {"amount", number}, {"day", number}, {"how", text}}, {"how"});
  const Json noted = object_of({{"at", text}, {"what", text}});
  Json schema = titled("A Buttonworth statement, format 1");
  schema.update(object_of(
      {{"format", {{"const", "buttonworth-statement/1"}}},
       {"currency", currency()},
       {"id", text},
       {"buyer", text},
       {"arrived", day()},
       {"stage", {{"enum", {"final", "provisional"}}}},
       {"proceeds", or_null(number)},
       {"advance", or_null(number)},
       {"interest", or_null(number)},
       {"balance", or_null(number)},
       {"advance_due", or_null(day())},
       {"balance_due", or_null(day())},
       {"refused", list(text)},
       {"open", list(noted)},
       {"delivered", delivered_schema()},
       {"assays", named(settled_figure_schema())},
       {"prices", named(price)},
       {"metal", named(object_of({{"contained", gram}, {"payable", gram}}))},
       {"lines", list(line)},
       {"changes", list(object_of({{"what", text}, {"was", number}, {"is", number}, {"change", number}}))},
       {"cautions", cautions()}},
      {"id", "buyer", "arrived"}));
  return schema;
}

}  // namespace buttonworth
