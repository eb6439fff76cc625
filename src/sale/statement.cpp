#include "sale/statement.hpp"

#include <algorithm>

#include "quantity/stated_text.hpp"

namespace buttonworth {
namespace {

/// One delivery being settled: figures first, then the sale.
class Settling {
 public:
  Settling(const Delivery& delivery, bool how)
      : delivery_(delivery),
        s_(delivery.quantities, Quantity{}),  // nothing is discounted
        figures_(delivery.quantities, delivery.analytes, delivery.currency),
        ledger_(delivery.analytes.size(), figures_, how) {
    out_.delivery = &delivery;
    out_.cautions = delivery.cautions;
  }

  Statement run() {
    settle_figures();
    weigh();
    sell();
    give_due_days();
    note_changes();
    return std::move(out_);
  }

 private:
  // ---- Exchange ------------------------------------------------------------------------------

  Decimal mean_of(const std::vector<Quantity>& determinations) const {
    Decimal sum = 0;
    for (Quantity one : determinations) sum += s_[one];
    return determinations.size() == 1 ? sum : Decimal(sum / Decimal(determinations.size()));
  }
  std::optional<Decimal> stated(const std::vector<Quantity>& determinations) const {
    if (determinations.empty()) return std::nullopt;
    return mean_of(determinations);
  }
  std::string text(const Decimal& value, Quantity like) const {
    return text_in_unit(delivery_.quantities[like], value, Digits{12, 12, 0});
  }

  SettledFigure settled(const ExchangedQuantity& exchanged) {
    SettledFigure figure;
    if (exchanged.alone) {
      figure.like = *exchanged.alone;
      figure.agreed.settled = s_[*exchanged.alone];
      return figure;
    }
    figure.seller = stated(exchanged.seller);
    figure.buyer = stated(exchanged.buyer);
    figure.umpire = stated(exchanged.umpire);
    figure.like = figure.seller ? exchanged.seller.front() : exchanged.buyer.front();
    if (figure.seller && figure.buyer) exchange(exchanged, figure);
    else take_the_only(exchanged, figure);
    return figure;
  }

  void take_the_only(const ExchangedQuantity& exchanged, SettledFigure& figure) {
    figure.agreed.settled = figure.seller ? *figure.seller : *figure.buyer;
    out_.open.push_back({exchanged.pointer, std::string("only the ") + (figure.seller ? "seller" : "buyer") +
                                                "'s figure is known, " +
                                                text(figure.agreed.settled, figure.like)});
  }

  void exchange(const ExchangedQuantity& exchanged, SettledFigure& figure) {
    Findings<Decimal> found{*figure.seller, *figure.buyer, limit_of(exchanged, figure), figure.umpire,
                            exchanged.rule};
    if (!within_limit(found) && found.umpire && !found.rule)
      throw Error(Code::missing_field,
                  difference_text(found, figure.like) +
                      ": with an umpire's figure the contract's rule is wanted, \"umpire\", \"middle\" or "
                      "\"nearer\"",
                  exchanged.pointer);
    figure.agreed = agree(found);
    if (figure.agreed.open)
      out_.open.push_back(
          {exchanged.pointer, difference_text(found, figure.like) +
                                  ": an umpire's figure is wanted; meanwhile the mean stands"});
  }
  Decimal limit_of(const ExchangedQuantity& exchanged, const SettledFigure& figure) const {
    if (exchanged.limit) return s_[*exchanged.limit];
    return relative_limit(s_[*exchanged.limit_relative], *figure.seller, *figure.buyer);
  }
  std::string difference_text(const Findings<Decimal>& found, Quantity like) const {
    return "seller's " + text(found.seller, like) + " and buyer's " + text(found.buyer, like) +
           " differ by " + text(abs(Decimal(found.seller - found.buyer)), like) + ", more than the limit, " +
           text(found.limit, like);
  }

  void settle_figures() {
    auto one = [&](const std::optional<ExchangedQuantity>& from, std::optional<SettledFigure>& to) {
      if (from) to = settled(*from);
    };
    one(delivery_.wet_mass, out_.wet_mass);
    one(delivery_.moisture, out_.moisture);
    one(delivery_.gross, out_.gross);
    one(delivery_.melted, out_.melted);
    Decimal sum = 0;
    for (const DeliveredAssay& assay : delivery_.assays) {
      out_.assays.emplace_back(assay.analyte, settled(assay.found));
      sum += out_.assays.back().second.agreed.settled;
    }
    if (delivery_.supposed) return;
    if (const auto fault = fault_of_sum(sum))
      throw Error(Code::assays, *fault, delivery_.pointer + "/assays");
  }

  // ---- Masses --------------------------------------------------------------------------------

  Decimal shown(const SettledFigure& mass) const {
    const std::optional<Weighing>& weighing = delivery_.terms.rounding.mass;
    if (!weighing) return mass.agreed.settled;
    return weighed_down(mass.agreed.settled, s_[weighing->step], s_.per(weighing->step), s_[weighing->turn]);
  }

  void weigh() {
    Stream<Decimal>& stream = out_.delivered;
    stream.day = -s_[delivery_.terms.transit];  // counted from arrival
    if (out_.gross) weigh_bar(stream);
    else weigh_wet(stream);
    stream.content.assign(delivery_.analytes.size(), Decimal(0));
    const Decimal& assayed = melted_ ? *melted_ : stream.dry;
    out_.known.assign(delivery_.analytes.size(), false);
    auto holds = [&](Analyte analyte, const Decimal& grade) {
      stream.content[analyte] = assayed * grade;
      out_.known[analyte] = true;
    };
    for (const auto& [analyte, grade] : delivery_.terms.deemed) holds(analyte, s_[grade]);
    for (const auto& [analyte, figure] : out_.assays) holds(analyte, figure.agreed.settled);
  }
  void weigh_bar(Stream<Decimal>& stream) {
    stream.kind = StreamKind::bar;
    stream.dry = shown(*out_.gross);
    if (!out_.melted) return;
    melted_ = shown(*out_.melted);
    if (above(*melted_, stream.dry))
      out_.cautions.push_back(
          {"melted", "the bar weighs more after the melt than before: look at both weighings"});
  }
  void weigh_wet(Stream<Decimal>& stream) {
    if (delivery_.terms.buys == Buys::nuggets) stream.kind = StreamKind::piece;
    const Decimal wet = shown(*out_.wet_mass);
    if (out_.moisture) stream.water = wet * out_.moisture->agreed.settled;
    stream.dry = wet - stream.water;
  }

  /// So much of what was delivered, its assays as they were settled.
  Stream<Decimal> one_kilogram() const {
    Stream<Decimal> stream = out_.delivered;
    stream.dry = 1;
    for (const auto& [analyte, figure] : out_.assays) stream.content[analyte] = figure.agreed.settled;
    return stream;
  }

  // ---- The sale ------------------------------------------------------------------------------

  /// Assays found on the melted bar hold for it as they stand.
  Settled<Decimal> settled_as_found() const {
    const Terms& terms = delivery_.terms;
    if (!melted_) {
      Settled<Decimal> settled = settled_delivery(terms, out_.delivered, s_);
      // A balance that shows nothing of a small piece leaves its assays what they are.
      if (terms.rounding.mass) settled.assay = settled_delivery(terms, one_kilogram(), s_).assay;
      return settled;
    }
    Settled<Decimal> settled;
    settled.mass = settled_mass(terms, *melted_, s_);
    settled.assay.assign(delivery_.analytes.size(), Decimal(0));
    for (const auto& [analyte, figure] : out_.assays) settled.assay[analyte] = figure.agreed.settled;
    put_deemed(terms, settled, s_);
    return settled;
  }

  void sell() {
    const Terms& terms = delivery_.terms;
    Settled<Decimal> settled = settled_as_found();
    round_assays(terms.rounding, settled, s_);
    test_acceptance(terms, delivery_.analytes, out_.delivered, settled, s_, ledger_);
    Sale<Decimal, Ledger<Decimal>> sale(terms, out_.delivered, settled, s_, ledger_);
    std::optional<Decimal> paid;
    if (delivery_.previous) paid = delivery_.previous->advance;
    const Sold<Decimal> sold = sale.settle(paid);
    out_.settled_mass = settled.mass;
    out_.payable.assign(delivery_.analytes.size(), Decimal(0));
    out_.refused = std::move(ledger_.refused);
    if (!out_.refused.empty()) return;  // no money
    out_.payable = sold.payable;
    out_.lines = std::move(ledger_.lines);
    out_.proceeds = sold.proceeds;
    out_.advance = sold.advance;
    out_.interest = sold.interest;
  }

  // ---- Days and changes ----------------------------------------------------------------------

  Day day_after_arrival(Quantity time) const {
    static const Day last{std::chrono::year(9999) / 12 / 31};
    const Decimal days = ceiling(s_[time]);
    if (days > (last - *delivery_.arrived).count())
      throw Error(Code::range, "the sale falls due after the year 9999: look at the times of its terms",
                  delivery_.pointer);
    return *delivery_.arrived + std::chrono::days(static_cast<int>(to_double(days)));
  }
  void give_due_days() {
    if (!delivery_.arrived || !out_.refused.empty()) return;
    if (delivery_.terms.advance) out_.advance_due = day_after_arrival(delivery_.terms.advance->after);
    out_.balance_due = day_after_arrival(delivery_.terms.final_after);
  }

  void note_changes() {
    if (!delivery_.previous) return;
    StatedLines before(delivery_.previous->lines);
    for (const Line<Decimal>& line : out_.lines) {
      const std::string what = line_text(line.name);
      out_.changes.push_back({what, before.take(what), line.amount});
    }
    for (const auto* gone : before.left()) out_.changes.push_back({gone->first, gone->second, 0});
    std::erase_if(out_.changes, [](const Change& one) { return is_nothing(Decimal(one.is - one.was)); });
  }

  const Delivery& delivery_;
  Scenario<Decimal> s_;
  Figures<Decimal> figures_;
  Ledger<Decimal> ledger_;
  Statement out_;
  std::optional<Decimal> melted_;
};

}  // namespace

Statement settle(const Delivery& delivery, bool how) { return Settling(delivery, how).run(); }

}  // namespace buttonworth
