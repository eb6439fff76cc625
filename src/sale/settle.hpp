// A sale: what is delivered, what of it is settled and paid, what is charged, and when.
//
// The functions stand in the order of the format's "Terms of sale" and each is one of its rules.
// One implementation serves plans, searches, simulations and statements.
#pragma once

#include <span>

#include "material/ledger.hpp"
#include "sale/terms.hpp"

namespace buttonworth {

/// Market prices by analyte, none where the plan has none.
using MarketPrices = std::vector<std::optional<Quantity>>;

/// A delivery once the buyer has melted, sampled and weighed it.
template <class N>
struct Settled {
  N mass = N(0);      ///< settled mass, kg
  Contents<N> assay;  ///< settled assays, shares
};

/// 1. What the buyer's balance shows of a delivery: dry solids, water and metal go together, so that
/// moisture and assays stay.
template <class N>
Stream<N> weighed(const Weighing& weighing, const Stream<N>& delivered, const Scenario<N>& s) {
  const N wet = delivered.wet();
  const N shown = weighed_down(wet, s[weighing.step], s.per(weighing.step), s[weighing.turn]);
  const N part = ratio(shown, wet);
  Stream<N> stream = delivered;
  stream.dry = choose(delivered.water > N(0), N(delivered.dry * part), shown);
  stream.water = shown - stream.dry;
  for (N& one : stream.content) one = one * part;
  return stream;
}

/// 1. Settled mass: of what was melted, less the sample kept and the mass deduction.
template <class N>
N settled_mass(const Terms& terms, const N& melted, const Scenario<N>& s) {
  return not_negative(N((melted - s[terms.sample_kept]) * (N(1) - s[terms.mass_deduction])));
}

/// 1. Deemed assays stand in place of found ones.
template <class N>
void put_deemed(const Terms& terms, Settled<N>& settled, const Scenario<N>& s) {
  for (const auto& [analyte, grade] : terms.deemed) settled.assay[analyte] = s[grade];
}

/// 1. Settled mass and assays: after the buyer's own melt; deemed assays stand in place of found ones.
template <class N>
Settled<N> settled_delivery(const Terms& terms, const Stream<N>& delivered, const Scenario<N>& s) {
  N melted = delivered.dry;
  Contents<N> content = delivered.content;
  if (terms.melt_loss) {
    melted = melted * (N(1) - s[terms.melt_loss->mass]);
    for (const auto& [analyte, share] : terms.melt_loss->analytes)
      content[analyte] = content[analyte] * (N(1) - s[share]);
  }
  Settled<N> settled;
  settled.mass = settled_mass(terms, melted, s);
  const N per_mass = ratio(N(1), melted);
  for (const N& one : content) settled.assay.push_back(one * per_mass);
  put_deemed(terms, settled, s);
  return settled;
}

/// 2. Assays are rounded where the terms name them.
template <class N>
void round_assays(const Rounding& rounding, Settled<N>& settled, const Scenario<N>& s) {
  for (const auto& [analyte, step] : rounding.assays)
    settled.assay[analyte] = round_to(settled.assay[analyte], s[step], s.per(step), rounding.mode);
}

inline bool takes(Buys buys, StreamKind kind) {
  switch (buys) {
    case Buys::bar: return kind == StreamKind::bar;
    case Buys::nuggets: return kind == StreamKind::piece || kind == StreamKind::split_output;
    case Buys::concentrate: return kind != StreamKind::bar && kind != StreamKind::piece;
  }
  return false;
}

inline const char* stream_kind_name(StreamKind kind) {
  switch (kind) {
    case StreamKind::concentrate: return "concentrate";
    case StreamKind::piece: return "pieces taken out by hand";
    case StreamKind::split_output: return "a split output";
    case StreamKind::bar: return "a bar";
    case StreamKind::slag: return "slag";
  }
  return "";
}

inline const char* buys_name(Buys buys) {
  switch (buys) {
    case Buys::concentrate: return "concentrate";
    case Buys::nuggets: return "nuggets";
    case Buys::bar: return "bars";
  }
  return "";
}

/// Refuses where a value is outside a range; `figure(say, value)` writes the value.
template <class N, class Record, class Figure>
void test_range(const Terms& terms, const std::string& of, const char* what, const Range& range,
                const N& value, const Scenario<N>& s, Record& record, Figure figure) {
  if (range.min)
    record.refuse(no(at_least(value, s[*range.min])), [&](const auto& say) {
      return terms.name + ": " + of + what + " of " + figure(say, value) + " is below the least taken, " +
             say.of(*range.min);
    });
  if (range.max)
    record.refuse(above(value, s[*range.max]), [&](const auto& say) {
      return terms.name + ": " + of + what + " of " + figure(say, value) + " is above the most taken, " +
             say.of(*range.max);
    });
}

/// 2. The buyer's limits, on settled mass, delivered moisture and rounded assays.
template <class N, class Record>
void test_acceptance(const Terms& terms, const std::vector<std::string>& analytes, const Stream<N>& delivered,
                     const Settled<N>& settled, const Scenario<N>& s, Record& record) {
  record.refuse(Mask<N>(!takes(terms.buys, delivered.kind)), [&](const auto&) {
    return terms.name + ": buys " + buys_name(terms.buys) + ", not " + stream_kind_name(delivered.kind);
  });
  const Accepts& accepts = terms.accepts;
  test_range(terms, {}, "settled mass", accepts.mass, settled.mass, s, record,
             [](const auto& say, const N& kilograms) { return say.mass(kilograms); });
  test_range(terms, {}, "moisture", accepts.moisture, delivered.moisture(), s, record,
             [](const auto& say, const N& share) { return say.percent(share); });
  for (const AssayLimit& limit : accepts.assays)
    test_range(terms, analytes[limit.analyte], " assay", limit.range, settled.assay[limit.analyte], s, record,
               [](const auto& say, const N& share) { return say.grade(share); });
}

/// 3. The share paid at an assay: of the last band whose start is not above it, none below the first.
template <class N>
N paid_share(const Payable& pay, const N& assay, const Scenario<N>& s) {
  if (pay.bands.empty()) return s[pay.share];
  N share(0);
  for (const auto& band : pay.bands) share = choose(at_least(assay, s[band.start]), s[band.share], share);
  return share;
}

/// 3. Payable grade of a metal with assay a: min(share·a, a − less), share·(a − less), or
/// share·a − less; never below 0.
template <class N>
N payable_grade(const Payable& pay, const N& assay, const Scenario<N>& s) {
  const N share = paid_share(pay, assay, s);
  const N& less = s[pay.less];
  switch (pay.order) {
    case Order::less_first: return not_negative(N(share * (assay - less)));
    case Order::share_first: return not_negative(N(share * assay - less));
    case Order::lower_of: break;
  }
  return not_negative(least(N(share * assay), N(assay - less)));
}

/// 7. A penalty's money per kilogram of settled mass, on the rounded assay.
template <class N>
N penalty_rate(const Penalty& penalty, const N& assay, const Scenario<N>& s) {
  N sum(0);
  for (std::size_t i = 0; i < penalty.steps.size(); ++i) {
    const PenaltyStep& step = penalty.steps[i];
    N worked_to = assay;
    if (i + 1 < penalty.steps.size()) worked_to = least(assay, s[penalty.steps[i + 1].above]);
    const N steps = penalty.whole_steps
                        ? whole_steps(worked_to, s[step.above], s[step.each], s.per(step.each))
                        : N((worked_to - s[step.above]) * s.per(step.each));
    sum += not_negative(steps) * s[step.rate];
  }
  N band_rate(0);
  for (std::size_t i = penalty.bands.size(); i-- > 0;)
    band_rate = choose(at_most(assay, s[penalty.bands[i].up_to]), s[penalty.bands[i].rate], band_rate);
  return N(sum + band_rate);
}

/// What a sale came to.
template <class N>
struct Sold {
  N payable_value = N(0);
  N proceeds = N(0);
  N advance = N(0), interest = N(0);
  Contents<N> payable;  ///< kg of each metal paid for
};

/// One sale being worked out: its lines show the day of the final settlement.
template <class N, class Record>
class Sale {
 public:
  Sale(const Terms& terms, const Stream<N>& delivered, const Settled<N>& settled, const Scenario<N>& s,
       Record& record)
      : terms_(terms), delivered_(delivered), settled_(settled), s_(s), record_(record) {
    arrival_day_ = delivered.day + s[terms.transit];
    arrival_discount_ = delivered.discount * s.discount(terms.transit);
    final_day_ = arrival_day_ + s[terms.final_after];
    final_discount_ = arrival_discount_ * s.discount(terms.final_after);
    sold_.payable.assign(settled.assay.size(), N(0));
  }

  /// `paid`: an advance that was paid already, on an earlier statement.
  Sold<N> settle(const std::optional<N>& paid = std::nullopt) {
    for (const Payable& pay : terms_.pay) value(pay);
    for (const Payable& pay : terms_.pay)
      if (pay.refining) refining(pay);
    for (const Charge& charge : terms_.charges) this->charge(charge);
    for (const Penalty& penalty : terms_.penalties) this->penalty(penalty);
    for (const Participation& participation : terms_.participation) participate(participation);
    settle_cash(paid);
    return sold_;
  }

  /// Levies on the sale, on the final day + after; a refund comes back after that.
  void levy(const Levy& levy, const N& gross_value) {
    const N& base = levy.of == LevyOf::payable_value ? sold_.payable_value
                    : levy.of == LevyOf::proceeds    ? sold_.proceeds
                                                     : gross_value;
    const N amount = not_negative(N(base * s_[levy.rate]));
    const N day = final_day_ + s_[levy.after];
    const N discount = final_discount_ * s_.discount(levy.after);
    record_.line({LineKind::levy, &terms_.name, &levy.what}, N(-amount), day,
                 [&](const auto& say) { return say.money(not_negative(base)) + " × " + say.of(levy.rate); });
    record_.cash(N(-amount), day, discount);
    if (!levy.refund) return;
    const N back = amount * s_[levy.refund->share];
    const N back_day = day + s_[levy.refund->after];
    record_.line({LineKind::refund, &terms_.name, &levy.what}, back, back_day,
                 [&](const auto& say) { return say.money(amount) + " × " + say.of(levy.refund->share); });
    record_.cash(back, back_day, N(discount * s_.discount(levy.refund->after)));
  }

 private:
  N rounded(const N& amount) const {
    if (!terms_.rounding.money) return amount;
    const Quantity step = *terms_.rounding.money;
    return round_to(amount, s_[step], s_.per(step), terms_.rounding.mode);
  }
  /// Books a line of the sale, rounded, and returns what was booked.
  template <class How>
  N book(LineKind kind, const std::string& what, const N& exact, How&& how) {
    const N amount = rounded(exact);
    record_.line({kind, &terms_.name, &what}, amount, final_day_, how);
    sold_.proceeds += amount;
    return amount;
  }

  // 3. Payable mass = payable grade × settled mass, rounded where the terms say so.
  N payable_mass(const Payable& pay, const N& grade) const {
    const N mass = grade * settled_.mass;
    if (!pay.mass_step) return mass;
    return round_to(mass, s_[*pay.mass_step], s_.per(*pay.mass_step), terms_.rounding.mode);
  }

  // 4. Payable value = payable mass × price × price share.
  void value(const Payable& pay) {
    const N grade = payable_grade(pay, settled_.assay[pay.analyte], s_);
    N& mass = sold_.payable[pay.analyte];
    mass = payable_mass(pay, grade);
    sold_.payable_value +=
        book(LineKind::value, pay.metal, N(mass * s_[pay.price] * s_[pay.price_share]), [&](const auto& say) {
          std::string text = say.mass(settled_.mass) + " × " + say.grade(grade);
          if (pay.mass_step) text += " to " + say.of(*pay.mass_step);
          text += " × " + say.of(pay.price);
          return any(same(s_[pay.price_share], N(1))) ? text : text + " × " + say.of(pay.price_share);
        });
  }

  // 5. Refining, on payable, settled or delivered dry mass.
  void refining(const Payable& pay) {
    const N& mass = pay.refining_of == RefiningOf::payable ? sold_.payable[pay.analyte]
                    : pay.refining_of == RefiningOf::gross ? delivered_.dry
                                                           : settled_.mass;
    book(LineKind::refining, pay.metal, N(-mass * s_[*pay.refining]),
         [&](const auto& say) { return say.mass(mass) + " × " + say.of(*pay.refining); });
  }

  N charge_base(const Charge& charge) const {
    switch (charge.basis) {
      case ChargeBasis::settled: return settled_.mass;
      case ChargeBasis::wet: return delivered_.wet();
      case ChargeBasis::dry: return delivered_.dry;
      case ChargeBasis::payable_metal: return sold_.payable[charge.metal];
      case ChargeBasis::payable_value: return sold_.payable_value;
      case ChargeBasis::lot: break;
    }
    return N(1);
  }

  // 6. Charges, bounded.
  void charge(const Charge& charge) {
    const N base = charge_base(charge);
    N amount = base * s_[charge.rate];
    if (charge.at_least) amount = most(amount, s_[*charge.at_least]);
    if (charge.at_most) amount = least(amount, s_[*charge.at_most]);
    book(LineKind::charge, charge.what, N(-amount), [&](const auto& say) {
      std::string text = charge.basis == ChargeBasis::lot             ? "1 lot"
                         : charge.basis == ChargeBasis::payable_value ? say.money(base)
                                                                      : say.mass(base);
      text += (charge.basis == ChargeBasis::wet ? " wet × " : " × ") + say.of(charge.rate);
      if (charge.at_least) text += ", at least " + say.of(*charge.at_least);
      if (charge.at_most) text += ", at most " + say.of(*charge.at_most);
      return text;
    });
  }

  // 7. Penalties on the settled mass; an assay above the last word refuses.
  void penalty(const Penalty& penalty) {
    N assay(0);
    for (Analyte a : penalty.analytes) assay += settled_.assay[a];
    if (penalty.refuse_above)
      record_.refuse(above(assay, s_[*penalty.refuse_above]), [&](const auto& say) {
        return terms_.name + ": " + penalty.what + " of " + say.grade(assay) +
               " is above the refusal limit, " + say.of(*penalty.refuse_above);
      });
    const N rate = penalty_rate(penalty, assay, s_);
    book(LineKind::penalty, penalty.what, N(-settled_.mass * rate), [&](const auto& say) {
      return say.mass(settled_.mass) + " × " + say.money(N(rate * N(1000))) + "/t at " + say.grade(assay) +
             " " + penalty.what;
    });
  }

  // 8. Participation: max(0, price − above) ÷ each × rate × settled mass.
  void participate(const Participation& p) {
    const N over = not_negative(N(s_[p.price] - s_[p.above]));
    const N rate = over * s_.per(p.each) * s_[p.rate];
    book(LineKind::participation, p.metal, N(-rate * settled_.mass), [&](const auto& say) {
      if (!any(over > N(0))) return say.of(p.price) + " is not above " + say.of(p.above);
      return say.mass(settled_.mass) + " × (" + say.of(p.price) + " − " + say.of(p.above) + ") ÷ " +
             say.of(p.each) + " × " + say.of(p.rate);
    });
  }

  // 10. An advance on positive proceeds, its interest, and the rest on the final day.
  void settle_cash(const std::optional<N>& paid) {
    if (paid) sold_.advance = *paid;
    if (terms_.advance) {
      const Advance& a = *terms_.advance;
      if (!paid) sold_.advance = not_negative(sold_.proceeds) * s_[a.share];
      record_.cash(sold_.advance, N(arrival_day_ + s_[a.after]), N(arrival_discount_ * s_.discount(a.after)));
      if (a.interest) charge_interest(a);
    }
    record_.cash(N(sold_.proceeds - sold_.advance - sold_.interest), final_day_, final_discount_);
  }
  void charge_interest(const Advance& a) {
    static const std::string what = "advance";
    const N wait = s_[terms_.final_after] - s_[a.after];
    sold_.interest = rounded(N(sold_.advance * s_[*a.interest] * wait * Scenario<N>::year_share()));
    record_.line({LineKind::interest, &terms_.name, &what}, N(-sold_.interest), final_day_,
                 [&](const auto& say) {
                   return say.money(sold_.advance) + " × " + say.of(*a.interest) + " × " + say.days(wait);
                 });
  }

  const Terms& terms_;
  const Stream<N>& delivered_;
  const Settled<N>& settled_;
  const Scenario<N>& s_;
  Record& record_;
  N arrival_day_, arrival_discount_, final_day_, final_discount_;
  Sold<N> sold_;
};

/// Content delivered × market price, over the metals with a price.
template <class N>
N gross_value(const Stream<N>& delivered, const MarketPrices& prices, const Scenario<N>& s) {
  N sum(0);
  for (std::size_t a = 0; a < prices.size(); ++a)
    if (prices[a]) sum += delivered.content[a] * s[*prices[a]];
  return sum;
}

/// Where a sale's metal went: paid for (no more than was there), or not.
template <class N>
void place_sold(const Stream<N>& delivered, const Sold<N>& sold, MetalPlaces<N>& metal) {
  for (std::size_t a = 0; a < delivered.content.size(); ++a) {
    const N paid = least(sold.payable[a], delivered.content[a]);
    metal.payable[a] += paid;
    metal.unpaid[a] += delivered.content[a] - paid;
  }
}

/// Sells a stream under these terms, with the plan's levies.
template <class N, class Record>
Sold<N> sell(const Terms& terms, std::span<const Levy> levies, const MarketPrices& prices,
             const std::vector<std::string>& analytes, const Stream<N>& made, const Scenario<N>& s,
             Record& record) {
  const Stream<N> shown = terms.rounding.mass ? weighed(*terms.rounding.mass, made, s) : Stream<N>();
  const Stream<N>& delivered = terms.rounding.mass ? shown : made;
  Settled<N> settled = settled_delivery(terms, delivered, s);
  // A balance that shows nothing of a small bar leaves its assays what they are.
  if (terms.rounding.mass) settled.assay = settled_delivery(terms, made, s).assay;
  round_assays(terms.rounding, settled, s);
  test_acceptance(terms, analytes, delivered, settled, s, record);
  Sale<N, Record> sale(terms, delivered, settled, s, record);
  Sold<N> sold = sale.settle();
  for (const Levy& levy : levies)
    sale.levy(levy, levy.of == LevyOf::gross_value ? gross_value(made, prices, s) : N(0));
  if constexpr (Record::keeps_lines) {
    record.products.push_back({&terms.name, made});
    place_sold(made, sold, record.metal);
  }
  return sold;
}

}  // namespace buttonworth
