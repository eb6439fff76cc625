#include "book/reconcile.hpp"

#include <algorithm>

#include "book/taken.hpp"

namespace buttonworth {
namespace {

class Reconciling {
 public:
  Reconciling(const Delivery& delivery, const BuyersReturn& theirs) : at_(taken(delivery)), theirs_(theirs) {}

  Reconciliation run() {
    statement_ = settle(at_, false);
    at_.supposed = true;  // his assays beside ours may pass 100 % together
    out_.ours = statement_.proceeds;
    out_.theirs = theirs_.proceeds;
    compare_payable();
    take_masses();
    take_assays();
    take_prices();
    compare_lines();
    return std::move(out_);
  }

 private:
  // ---- Their figures in place of ours --------------------------------------------------------

  void settle_again(const std::string& what) {
    const Decimal before = statement_.proceeds;
    statement_ = settle(at_, false);
    out_.parts.push_back({what, statement_.proceeds - before});
  }

  void take(const std::string& what, const std::optional<Quantity>& figure,
            std::optional<ExchangedQuantity>& ours, const std::optional<SettledFigure>& settled) {
    if (!figure) return;
    note(what, settled->like, settled->agreed.settled, *ours, *figure);
    ours = stated_alone(*figure);
    settle_again(what);
  }
  void take_masses() {
    take("wet mass", theirs_.wet_mass, at_.wet_mass, statement_.wet_mass);
    take("gross mass", theirs_.gross, at_.gross, statement_.gross);
    take("melted mass", theirs_.melted, at_.melted, statement_.melted);
    take("moisture", theirs_.moisture, at_.moisture, statement_.moisture);
  }

  void take_assays() {
    for (const auto& [analyte, figure] : theirs_.assays)
      for (std::size_t i = 0; i < at_.assays.size(); ++i)
        if (at_.assays[i].analyte == analyte) take_assay(i, figure);
  }
  void take_assay(std::size_t i, Quantity figure) {
    const std::string what = at_.analytes[at_.assays[i].analyte] + " assay";
    const SettledFigure& settled = statement_.assays[i].second;
    note(what, settled.like, settled.agreed.settled, at_.assays[i].found, figure);
    at_.assays[i].found = stated_alone(figure);
    settle_again(what);
  }

  /// A price has no uncertainty: it is agreed, or wrong.
  void take_prices() {
    for (const auto& [analyte, figure] : theirs_.prices)
      for (Payable& pay : at_.terms.pay)
        if (pay.analyte == analyte) take_price(pay, figure);
  }
  void take_price(Payable& pay, Quantity figure) {
    const std::string what = pay.metal + " price";
    out_.figures.push_back({what, pay.price, mean(pay.price), mean(figure), std::nullopt, false, 0});
    for (Participation& shared : at_.terms.participation)
      if (shared.analyte == pay.analyte) shared.price = figure;
    pay.price = figure;
    settle_again(what);
  }

  /// At our figures: what he should have paid for or credited.
  void compare_payable() {
    for (const auto& [analyte, mass] : theirs_.payable)
      out_.payable.push_back({at_.analytes[analyte], statement_.payable[analyte], mean(mass)});
  }

  // ---- How far apart -------------------------------------------------------------------------

  const Decimal& mean(Quantity q) const { return at_.quantities[q].mean; }
  std::optional<Decimal> variance(Quantity q) const {
    const auto& spread = at_.quantities[q].spread;
    return spread ? std::optional(buttonworth::variance(*spread)) : std::nullopt;
  }
  /// "53.1 kg" is written to 0.1 kg.
  Decimal written_step(Quantity q) const {
    const StatedQuantity& stated = at_.quantities[q];
    const std::string number = stated.text.substr(0, stated.text.find_first_of(" %"));
    if (stated.spread || number.find_first_of("eE") != number.npos) return 0;
    const std::size_t point = number.find('.');
    const std::size_t places = point == number.npos ? 0 : number.size() - point - 1;
    return power_of_ten(-static_cast<int>(places)) * stated.unit_factor;
  }
  void note(const std::string& what, Quantity like, const Decimal& ours, const ExchangedQuantity& stated,
            Quantity figure) {
    FigureDifference one{what, like, ours, mean(figure), std::nullopt};
    one.step = written_step(figure);
    if (stated.alone) one.step += written_step(*stated.alone);
    const auto mine = stated.alone ? variance(*stated.alone) : std::nullopt, other = variance(figure);
    if (mine && other && *mine + *other > 0) one.z = (one.theirs - one.ours) / sqrt(Decimal(*mine + *other));
    out_.figures.push_back(std::move(one));
  }

  // ---- Line by line --------------------------------------------------------------------------

  static std::string part_name(const LineName& line) {
    return line.kind == LineKind::value ? *line.what + " payable share" : line_text(line);
  }

  void compare_lines() {
    if (!theirs_.lines) {
      out_.parts.push_back({"terms and arithmetic", out_.theirs - statement_.proceeds});
      return;
    }
    StatedLines stated(*theirs_.lines);
    Decimal sum = 0;
    for (const Line<Decimal>& line : statement_.lines) {
      const Decimal his = stated.take(line_text(line.name));
      if (line.name.kind == LineKind::interest) continue;  // no part of proceeds
      sum += his;
      out_.parts.push_back({part_name(line.name), his - line.amount});
    }
    for (const auto* other : stated.left()) {
      sum += other->second;
      out_.parts.push_back({other->first + ", not in the terms", other->second});
    }
    out_.parts.push_back({"arithmetic", out_.theirs - sum});
  }

  Delivery at_;  // with the figures taken so far
  const BuyersReturn& theirs_;
  Statement statement_;
  Reconciliation out_;
};

}  // namespace

Reconciliation reconcile(const Delivery& delivery, const BuyersReturn& theirs) {
  return Reconciling(delivery, theirs).run();
}

}  // namespace buttonworth
