#include "document/terms_form.hpp"

#include <algorithm>

namespace buttonworth {
namespace {

constexpr Companion reciprocal = Companion::reciprocal;
constexpr Companion discount = Companion::discount;

Form<Quantity> delay() { return quantity(Dimension::time, Allowed::not_negative, discount); }
Form<Quantity> share() { return quantity(Dimension::share, Allowed::share); }
/// A grade that something is measured against: one that no assay reaches is harmless.
Form<Quantity> grade() { return quantity(Dimension::grade); }
Form<Quantity> price() { return quantity(Dimension::price); }

void name_analyte(Reader& reader, const std::string& name, AnalyteQuantity& out) {
  out.analyte = reader.analyte(name);
}

Form<AnalyteQuantity> only_quantity(Form<Quantity> form) {
  return {[form](const Value& value, const Place& place, Reader& reader, AnalyteQuantity& out) {
            form.read(value, place, reader, out.quantity);
          },
          form.schema};
}

/// Starts of bands and steps rise strictly, or each later one would never be met.
template <class Entries, class Start>
void require_rising(const Entries& entries, Start start, const Place& list, const char* field,
                    Reader& reader) {
  for (std::size_t i = 1; i < entries.size(); ++i) {
    const Quantity last = start(entries[i - 1]), next = start(entries[i]);
    if (last.index == 0 || next.index == 0 || reader.mean(next) > reader.mean(last)) continue;
    const Place entry(list, i);
    reader.complain(Code::range, field != nullptr ? Place(entry, field) : Place(entry, std::size_t{0}),
                    "the starts of bands and steps must rise strictly");
  }
}

Form<Range> range(Dimensions dimensions, Allowed allowed) {
  return Fields<Range>()
      .may("min", &Range::min, quantity(dimensions, allowed))
      .may("max", &Range::max, quantity(dimensions, allowed))
      .form("an object with min, max or both");
}

Form<Accepts> accepts() {
  const auto limits = range(Dimension::grade, Allowed::not_negative);
  const Form<AssayLimit> assay{[limits](const Value& value, const Place& place, Reader& reader,
                                        AssayLimit& out) { limits.read(value, place, reader, out.range); },
                               limits.schema};
  return Fields<Accepts>()
      .may("mass", &Accepts::mass, range(Dimension::mass, Allowed::not_negative))
      .may("moisture", &Accepts::moisture, range(Dimension::share, Allowed::not_negative))
      .others(&Accepts::assays, assay, {[](Reader& reader, const std::string& name, AssayLimit& out) {
        out.analyte = reader.analyte(name);
      }})
      .form();
}

Form<Payable> payable() {
  const auto band = pair_of(&Payable::Band::start, grade(), &Payable::Band::share, share(),
                            "[from this grade, share paid]");
  return Fields<Payable>()
      .may("bands", &Payable::bands, list_of(band, 1))
      .may("share", &Payable::share, share(), "100 %")
      .may("less", &Payable::less, grade(), "0 %")
      .may("order", &Payable::order,
           choice<Order>({{"lower of", Order::lower_of},
                          {"less first", Order::less_first},
                          {"share first", Order::share_first}}))
      .may("price", &Payable::own_price, price())
      .may("price_share", &Payable::price_share, quantity(Dimension::share), "100 %")
      .may("refining", &Payable::refining, price())
      .may("refining_of", &Payable::refining_of,
           choice<RefiningOf>({{"payable", RefiningOf::payable},
                               {"gross", RefiningOf::gross},
                               {"settled", RefiningOf::settled}}))
      .not_both("bands", "share")
      .check([](const Value&, const Place& place, Reader& reader, Payable& out) {
        require_rising(
            out.bands, [](const Payable::Band& b) { return b.start; }, Place(place, "bands"), nullptr,
            reader);
      })
      .form();
}

/// "wet", "payable value", "payable Au", …
struct Basis {
  ChargeBasis basis = ChargeBasis::settled;
  Analyte metal = 0;
};
Form<Basis> basis() {
  return {
      [](const Value& value, const Place& place, Reader& reader, Basis& out) {
        if (!require_kind(value, Value::Kind::text, place, reader, "a text")) return;
        const std::string& text = value.text;
        constexpr std::string_view payable = "payable ";
        if (text == "wet") out.basis = ChargeBasis::wet;
        else if (text == "dry" || text == "gross") out.basis = ChargeBasis::dry;
        else if (text == "payable value") out.basis = ChargeBasis::payable_value;
        else if (text.starts_with(payable) && text.size() > payable.size())
          out = {ChargeBasis::payable_metal, reader.analyte(text.substr(payable.size()))};
        else
          reader.complain(
              Code::range, place,
              '"' + text +
                  "\" is none of wet, dry, gross, payable value, or payable with a metal such as payable Au");
      },
      [](SchemaBook&) {
        return Json{{"type", "string"}, {"pattern", "^(wet|dry|gross|payable .+)$"}};
      }};
}

struct ChargeDraft : Charge {
  std::optional<Basis> of;
};

void settle_basis(const Value&, const Place& place, Reader& reader, ChargeDraft& out) {
  const Dimension dimension = reader.quantities[out.rate].dimension;
  const bool by_value = out.of && out.of->basis == ChargeBasis::payable_value;
  if (out.rate.index == 0) return;  // told already
  if (dimension == Dimension::per_lot) {
    if (out.of)
      reader.complain(Code::conflict, Place(place, "of"),
                      "a rate per lot multiplies nothing else: leave of out");
    out.basis = ChargeBasis::lot;
  } else if (dimension == Dimension::share) {
    if (!by_value) reader.complain(Code::conflict, place, "a rate in % wants \"of\": \"payable value\"");
    out.basis = ChargeBasis::payable_value;
  } else {
    if (by_value) reader.complain(Code::conflict, Place(place, "of"), "of payable value wants a rate in %");
    if (out.of) out.basis = out.of->basis, out.metal = out.of->metal;
  }
}

Form<Charge> charge() {
  const auto draft = Fields<ChargeDraft>()
                         .need("what", &ChargeDraft::what, text_form())
                         .need("rate", &ChargeDraft::rate,
                               quantity(Dimension::price | Dimension::per_lot | Dimension::share))
                         .may("of", &ChargeDraft::of, basis())
                         .may("at_least", &ChargeDraft::at_least, quantity(Dimension::money))
                         .may("at_most", &ChargeDraft::at_most, quantity(Dimension::money))
                         .check(settle_basis)
                         .form();
  return {[draft](const Value& value, const Place& place, Reader& reader, Charge& out) {
            ChargeDraft made;
            draft.read(value, place, reader, made);
            out = std::move(made);
          },
          draft.schema};
}

/// One analyte or several, summed.
Form<std::vector<std::string>> names_form() { return one_or_list(text_form()); }

struct PenaltyDraft : Penalty {
  std::vector<std::string> names;
  std::optional<PenaltyStep> only;
  std::optional<Quantity> above, each, rate;
  std::optional<bool> counted_whole;
};

void settle_penalty(const Value& value, const Place& place, Reader& reader, PenaltyDraft& out) {
  const bool steps = value.find("marginal") != nullptr, bands = value.find("whole") != nullptr;
  const bool single = out.above || out.each || out.rate;
  if (single + steps + bands > 1)
    reader.complain(Code::conflict, place,
                    "a penalty has one form: above with each and rate, or marginal, or whole");
  if (single + steps + bands == 0)
    reader.complain(Code::missing_field, place,
                    "a penalty wants above with each and rate, or marginal, or whole");
  if (single && !(out.above && out.each && out.rate))
    reader.complain(Code::missing_field, place, "above, each and rate go together");
  if (out.above && out.each && out.rate) out.steps = {{*out.above, *out.each, *out.rate}};
  if (out.counted_whole && bands)
    reader.complain(Code::conflict, Place(place, "count"),
                    "count belongs to above and marginal, not to whole");
  out.whole_steps = out.counted_whole.value_or(false);
  if (steps)
    require_rising(
        out.steps, [](const PenaltyStep& s) { return s.above; }, Place(place, "marginal"), "above", reader);
  if (bands)
    require_rising(
        out.bands, [](const PenaltyBand& b) { return b.up_to; }, Place(place, "whole"), "up_to", reader);
  for (const std::string& name : out.names) {
    const Analyte analyte = reader.analyte(name);
    if (std::find(out.analytes.begin(), out.analytes.end(), analyte) != out.analytes.end())
      reader.complain(Code::repeated, Place(place, "for"), name + " stands twice: remove one of the two");
    out.analytes.push_back(analyte);
    out.what += (out.what.empty() ? "" : " + ") + name;
  }
}

Form<Penalty> penalty() {
  const auto step =
      Fields<PenaltyStep>()
          .need("above", &PenaltyStep::above, grade())
          .need("each", &PenaltyStep::each, quantity(Dimension::grade, Allowed::positive, reciprocal))
          .need("rate", &PenaltyStep::rate, price())
          .form();
  const auto band = Fields<PenaltyBand>()
                        .need("up_to", &PenaltyBand::up_to, grade())
                        .need("rate", &PenaltyBand::rate, price())
                        .form();
  const auto draft =
      Fields<PenaltyDraft>()
          .need("for", &PenaltyDraft::names, names_form())
          .may("above", &PenaltyDraft::above, grade())
          .may("each", &PenaltyDraft::each, quantity(Dimension::grade, Allowed::positive, reciprocal))
          .may("rate", &PenaltyDraft::rate, price())
          .may("marginal", &PenaltyDraft::steps, list_of(step, 1))
          .may("whole", &PenaltyDraft::bands, list_of(band, 1))
          .may("count", &PenaltyDraft::counted_whole, choice<bool>({{"whole", true}}))
          .may("refuse_above", &PenaltyDraft::refuse_above, grade())
          .check(settle_penalty)
          .form();
  return {[draft](const Value& value, const Place& place, Reader& reader, Penalty& out) {
            PenaltyDraft made;
            draft.read(value, place, reader, made);
            out = std::move(made);
          },
          draft.schema};
}

Form<Participation> participation() {
  return Fields<Participation>()
      .need("for", &Participation::metal, text_form())
      .need("above", &Participation::above, price())
      .need("each", &Participation::each, quantity(Dimension::price, Allowed::positive, reciprocal))
      .need("rate", &Participation::rate, price())
      .check([](const Value&, const Place&, Reader& reader, Participation& out) {
        out.analyte = reader.analyte(out.metal);
      })
      .form();
}

Form<Weighing> weighing() {
  return Fields<Weighing>()
      .need("step", &Weighing::step, quantity(Dimension::mass, Allowed::positive, reciprocal))
      .may("turn", &Weighing::turn, quantity(Dimension::mass), "0 kg")
      .form();
}

Form<Rounding> rounding() {
  return Fields<Rounding>()
      .may("mass", &Rounding::mass, weighing())
      .may("payable", &Rounding::payable,
           analyte_quantities(quantity(Dimension::mass, Allowed::positive, reciprocal)))
      .may("money", &Rounding::money, quantity(Dimension::money, Allowed::positive, reciprocal))
      .may("mode", &Rounding::mode,
           choice<RoundingMode>({{"half even", RoundingMode::half_even},
                                 {"half up", RoundingMode::half_up},
                                 {"down", RoundingMode::down}}))
      .others(&Rounding::assays, only_quantity(quantity(Dimension::grade, Allowed::positive, reciprocal)),
              {name_analyte})
      .form();
}

Form<MeltLoss> melt_loss() {
  return Fields<MeltLoss>()
      .may("mass", &MeltLoss::mass, quantity(Dimension::share, Allowed::below_all), "0 %")
      .others(&MeltLoss::analytes, only_quantity(share()), {name_analyte})
      .form();
}

Form<Advance> advance() {
  return Fields<Advance>()
      .need("share", &Advance::share, share())
      .may("after", &Advance::after, delay(), "0 d")
      .may("interest", &Advance::interest, quantity(Dimension::annual))
      .form();
}

/// A step of a payable mass belongs to a metal that is paid.
void give_steps(const Place& place, Reader& reader, Terms& out) {
  for (const auto& [analyte, step] : out.rounding.payable) {
    const auto paid = std::find_if(out.pay.begin(), out.pay.end(),
                                   [a = analyte](const Payable& pay) { return pay.analyte == a; });
    if (paid != out.pay.end()) paid->mass_step = step;
    else {
      const Place rounding(place, "rounding"), payable(rounding, "payable");
      reader.complain(Code::name, Place(payable, reader.analytes[analyte]),
                      "this buyer does not pay " + reader.analytes[analyte]);
    }
  }
}

void check_terms(const Value&, const Place& place, Reader& reader, Terms& out) {
  give_steps(place, reader, out);
  if (out.advance && reader.exceeds(out.advance->after, out.final_after))
    reader.complain(Code::conflict, Place(place, "advance"),
                    "the advance comes after final: state an earlier advance or a later final");
  for (std::size_t i = 0; i < out.charges.size(); ++i) {
    const Charge& charge = out.charges[i];
    if (charge.basis != ChargeBasis::payable_metal) continue;
    bool paid = false;
    for (const Payable& pay : out.pay) paid |= pay.analyte == charge.metal;
    const Place list(place, "charges"), entry(list, i);
    if (!paid)
      reader.complain(Code::name, Place(entry, "of"),
                      "this buyer does not pay " + reader.analytes[charge.metal]);
  }
}

void name_payable(Reader& reader, const std::string& name, Payable& out) {
  out.metal = name;
  out.analyte = reader.analyte(name);
}

/// A metal's own price, or the market's; a complaint where there is neither.
void give_price(const MarketPrices& prices, const std::optional<Quantity>& own, Analyte analyte,
                const Place& place, Reader& reader, Quantity& out) {
  if (own) out = *own;
  else if (analyte < prices.size() && prices[analyte]) out = *prices[analyte];
  else
    reader.complain(Code::name, place,
                    "there is no price of " + reader.analytes[analyte] +
                        ": state it in prices, or here as its own price");
}

Form<Levy::Refund> refund() {
  return Fields<Levy::Refund>()
      .need("share", &Levy::Refund::share, share())
      .may("after", &Levy::Refund::after, delay(), "0 d")
      .form();
}

}  // namespace

Form<std::vector<AnalyteQuantity>> analyte_quantities(Form<Quantity> form) {
  return map_of<AnalyteQuantity>(only_quantity(std::move(form)), name_analyte,
                                 "an object from analytes to quantities");
}

void require_within_whole(const std::vector<AnalyteQuantity>& assays, const Place& place, Reader& reader) {
  Decimal sum = 0;
  for (const auto& [analyte, grade] : assays) sum += reader.quantities[grade].mean;
  if (const auto fault = fault_of_sum(sum)) reader.complain(Code::assays, Place(place, "assays"), *fault);
}

void give_prices(const MarketPrices& prices, Terms& terms, const Place& at, Reader& reader) {
  const Place pay(at, "pay"), participation(at, "participation");
  for (Payable& one : terms.pay)
    give_price(prices, one.own_price, one.analyte, Place(pay, one.metal), reader, one.price);
  for (std::size_t i = 0; i < terms.participation.size(); ++i) {
    Participation& one = terms.participation[i];
    std::optional<Quantity> own;
    for (const Payable& paid : terms.pay)
      if (paid.analyte == one.analyte) own = paid.own_price;
    const Place entry(participation, i);
    give_price(prices, own, one.analyte, Place(entry, "for"), reader, one.price);
  }
}

std::vector<Analyte> limited(const Terms& terms) {
  std::vector<Analyte> analytes;
  for (const AssayLimit& limit : terms.accepts.assays)
    if (limit.range.min || limit.range.max) analytes.push_back(limit.analyte);
  for (const Penalty& penalty : terms.penalties)
    if (penalty.refuse_above)
      analytes.insert(analytes.end(), penalty.analytes.begin(), penalty.analytes.end());
  return analytes;
}

std::vector<Analyte> analytes_of(const Terms& terms) {
  std::vector<Analyte> analytes = limited(terms);
  for (const Payable& pay : terms.pay) analytes.push_back(pay.analyte);
  for (const Penalty& penalty : terms.penalties)
    analytes.insert(analytes.end(), penalty.analytes.begin(), penalty.analytes.end());
  return analytes;
}

const Form<Terms>& terms_form() {
  static const Form<Terms> form = with_own_factors(
      Fields<Terms>()
          .effect<StatedFactors>("factors", factors_form(), put_in_force)
          .need("buys", &Terms::buys,
                choice<Buys>(
                    {{"concentrate", Buys::concentrate}, {"nuggets", Buys::nuggets}, {"bar", Buys::bar}}))
          .may("transit", &Terms::transit, delay(), "0 d")
          .may("accepts", &Terms::accepts, accepts())
          .may("melt_loss", &Terms::melt_loss, melt_loss())
          .may("sample_kept", &Terms::sample_kept, quantity(Dimension::mass), "0 kg")
          .may("mass_deduction", &Terms::mass_deduction, share(), "0 %")
          .may("deemed", &Terms::deemed, analyte_quantities(quantity(Dimension::grade, Allowed::share)))
          .may("pay", &Terms::pay,
               map_of<Payable>(payable(), name_payable, "an object from metals to how they are paid"))
          .may("charges", &Terms::charges, list_of(charge()))
          .may("penalties", &Terms::penalties, list_of(penalty()))
          .may("participation", &Terms::participation, list_of(participation()))
          .may("advance", &Terms::advance, advance())
          .may("final", &Terms::final_after, delay(), "0 d")
          .may("rounding", &Terms::rounding, rounding())
          .check(check_terms)
          .form());
  return form;
}

const Form<Levy>& levy_form() {
  static const Form<Levy> form = Fields<Levy>()
                                     .need("what", &Levy::what, text_form())
                                     .need("rate", &Levy::rate, share())
                                     .need("of", &Levy::of,
                                           choice<LevyOf>({{"payable value", LevyOf::payable_value},
                                                           {"proceeds", LevyOf::proceeds},
                                                           {"gross value", LevyOf::gross_value}}))
                                     .may("after", &Levy::after, delay(), "0 d")
                                     .may("refund", &Levy::refund, refund())
                                     .form();
  return form;
}

}  // namespace buttonworth
