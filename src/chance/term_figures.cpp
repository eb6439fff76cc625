#include "chance/term_figures.hpp"

#include <algorithm>

namespace buttonworth {
namespace {

constexpr int open_end = 1000;  // times itself

class Gathering {
 public:
  Gathering(const Plan& plan, const Terms& terms) : plan_(plan), terms_(terms) {}

  std::vector<TermFigure> run() {
    down(terms_.transit, 0, "transit", "transit in {to}");
    accepts();
    if (terms_.melt_loss) melt_loss(*terms_.melt_loss);
    down(terms_.sample_kept, 0, "sample kept", "a sample of {to} kept");
    down(terms_.mass_deduction, 0, "mass deduction", "a mass deduction of {to}");
    for (const auto& [analyte, grade] : terms_.deemed)
      up(grade, 1, name(analyte) + " deemed", name(analyte) + " deemed {to}");
    for (const Payable& pay : terms_.pay) this->pay(pay);
    for (const Charge& charge : terms_.charges) this->charge(charge);
    for (const Penalty& penalty : terms_.penalties) this->penalty(penalty);
    for (const Participation& one : terms_.participation) participation(one);
    if (terms_.advance) advance(*terms_.advance);
    down(terms_.final_after, terms_.advance ? mean(terms_.advance->after) : Decimal(0), "final",
         "final in {to}");
    return std::move(figures_);
  }

 private:
  const std::string& name(Analyte a) const { return plan_.analytes[a]; }
  const Decimal& mean(Quantity q) const { return plan_.quantities[q].mean; }
  const std::string& text(Quantity q) const { return plan_.quantities[q].text; }

  void add(TermFigure figure) {
    const bool stated = std::all_of(figure.quantities.begin(), figure.quantities.end(),
                                    [&](Quantity q) { return !plan_.quantities[q].place.empty(); });
    if (stated) figures_.push_back(std::move(figure));
  }
  void down(Quantity q, const Decimal& to, std::string what, std::string phrase) {
    add({{q}, std::move(what), std::move(phrase), false, false, mean(q) - to});
  }
  void down(const std::optional<Quantity>& q, std::string what, std::string phrase) {
    if (q) down(*q, 0, std::move(what), std::move(phrase));
  }
  void up(Quantity q, const Decimal& to, std::string what, std::string phrase) {
    add({{q}, std::move(what), std::move(phrase), true, false, to - mean(q)});
  }
  void up_open(Quantity q, std::string what, std::string phrase) {
    add({{q}, std::move(what), std::move(phrase), true, true, mean(q) * (open_end - 1)});
  }

  void accepts() {
    const Accepts& accepts = terms_.accepts;
    down(accepts.mass.min, "least mass taken", "taken from {to} on");
    if (accepts.mass.max) up_open(*accepts.mass.max, "most mass taken", "up to {to} taken");
    down(accepts.moisture.min, "least moisture taken", "taken from {to} of moisture on");
    if (accepts.moisture.max)
      up(*accepts.moisture.max, 1, "most moisture taken", "up to {to} of moisture taken");
    for (const AssayLimit& limit : accepts.assays) {
      const std::string& of = name(limit.analyte);
      down(limit.range.min, "least " + of + " taken", "taken from {to} " + of + " on");
      if (limit.range.max) up(*limit.range.max, 1, "most " + of + " taken", "up to {to} " + of + " taken");
    }
  }
  void melt_loss(const MeltLoss& loss) {
    down(loss.mass, 0, "melt loss of mass", "a melt loss of {to} of the mass");
    for (const auto& [analyte, share] : loss.analytes)
      down(share, 0, "melt loss of " + name(analyte), "a melt loss of {to} of the " + name(analyte));
  }

  void pay(const Payable& pay) {
    const std::string& metal = pay.metal;
    if (pay.bands.empty()) up(pay.share, 1, metal + " paid", "{to} of the " + metal + " paid");
    bands(pay);
    down(pay.less, 0, metal + " deduction", "a deduction of {to} of " + metal);
    if (pay.own_price) up_open(*pay.own_price, metal + " price", metal + " at {to}");
    up_open(pay.price_share, metal + " price share", "{to} of the price of " + metal);
    down(pay.refining, metal + " refining", "{to} for refining " + metal);
  }
  void bands(const Payable& pay) {
    const std::string& metal = pay.metal;
    std::vector<Quantity> shares;
    Decimal largest = 0, before = 0;
    for (const Payable::Band& band : pay.bands) {
      up(band.share, 1, metal + " paid from " + text(band.start) + " on",
         "{to} of the " + metal + " paid from " + text(band.start) + " on");
      down(band.start, before, metal + " band of " + text(band.share),
           metal + " paid " + text(band.share) + " from {to} on");
      shares.push_back(band.share);
      largest = std::max(largest, mean(band.share));
      before = mean(band.start);
    }
    if (shares.size() > 1)
      add({shares, metal + " paid, all bands", "every band of " + metal + " {change} higher", true, false,
           1 - largest});
  }

  void charge(const Charge& charge) {
    down(charge.rate, 0, charge.what, "{to} for " + charge.what);
    down(charge.at_least, charge.what + ", at least", charge.what + " of at least {to}");
    down(charge.at_most, charge.what + ", at most", charge.what + " of at most {to}");
  }
  void penalty(const Penalty& penalty) {
    const std::string of = penalty.what + " penalty";
    for (std::size_t i = 0; i < penalty.steps.size(); ++i) {
      const PenaltyStep& step = penalty.steps[i];
      const Decimal next = i + 1 < penalty.steps.size() ? mean(penalty.steps[i + 1].above) : Decimal(1);
      up(step.above, next, of + " above", "the " + of + " above {to} only");
      up_open(step.each, of + " each", "the " + of + " for each {to}");
      down(step.rate, 0, of, "{to} for the " + of);
    }
    for (std::size_t i = 0; i < penalty.bands.size(); ++i) {
      const PenaltyBand& band = penalty.bands[i];
      const Decimal next = i + 1 < penalty.bands.size() ? mean(penalty.bands[i + 1].up_to) : Decimal(1);
      up(band.up_to, next, of + " band of " + text(band.rate),
         "a " + of + " of " + text(band.rate) + " up to {to}");
      down(band.rate, 0, of + " up to " + text(band.up_to),
           "{to} for the " + of + " up to " + text(band.up_to));
    }
    if (penalty.refuse_above)
      up(*penalty.refuse_above, 1, penalty.what + " refusal limit", "up to {to} " + penalty.what + " taken");
  }
  void participation(const Participation& one) {
    const std::string of = one.metal + " participation";
    up_open(one.above, of + " above", of + " above {to} only");
    up_open(one.each, of + " each", of + " for each {to}");
    down(one.rate, 0, of, "{to} for the " + of);
  }
  void advance(const Advance& advance) {
    up(advance.share, 1, "advance", "an advance of {to}");
    down(advance.after, 0, "advance after", "the advance in {to}");
    down(advance.interest, "interest on the advance", "interest of {to} on the advance");
  }

  const Plan& plan_;
  const Terms& terms_;
  std::vector<TermFigure> figures_;
};

}  // namespace

std::vector<TermFigure> term_figures(const Plan& plan, const Terms& terms) {
  return Gathering(plan, terms).run();
}

std::vector<TermFigure> open_figures(const Plan& plan, const Terms& terms) {
  std::vector<TermFigure> figures = term_figures(plan, terms);
  std::erase_if(figures, [](const TermFigure& one) { return one.furthest <= 0; });
  return figures;
}

}  // namespace buttonworth
