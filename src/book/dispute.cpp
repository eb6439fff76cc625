#include "book/dispute.hpp"

#include <algorithm>
#include <cmath>

#include "book/normal.hpp"
#include "book/taken.hpp"
#include "book/traced.hpp"

namespace buttonworth {
namespace {

// Two neighbours of Fibonacci's, the first even and the second odd, so that the lattice is its own mirror
// image and an even bet comes out even.
constexpr std::size_t pair_count = 46368, lattice_step = 28657;
constexpr std::size_t beyond_each_end = pair_count / 20;  // leaves the middle 90 %

/// One of the things that may be found.
struct Found {
  double accepted, contested;  ///< what settles either way
  double umpire_paid;          ///< by the seller
  bool umpire_called;
};

/// What settles, once the buyer's and the umpire's figures are there.
struct Exchange {
  double seller, umpire_cost;
  std::optional<double> limit, limit_relative, offer;
  std::optional<UmpireRule> rule;

  Found operator()(double buyer, double umpire) const {
    const Agreement<double> agreed = agree(Findings<double>{seller, buyer, limit_at(buyer), umpire, rule});
    return {offer.value_or(buyer), agreed.settled, umpire_cost * share_paid(agreed.umpire_paid_by),
            agreed.umpire_paid_by.has_value()};
  }

 private:
  double limit_at(double buyer) const {
    return limit ? *limit : relative_limit(*limit_relative, seller, buyer);
  }
  static double share_paid(const std::optional<Party>& payer) {
    if (!payer || *payer == Party::buyer) return 0;
    return *payer == Party::both ? 0.5 : 1;
  }
};

/// Where the figures to come may lie: normal, and the umpire's goes along with the buyer's, as both are of
/// one lot.
struct Prospect {
  double buyer, buyer_sd = 0;
  double umpire, umpire_follows = 0, umpire_sd = 0;
};

std::vector<Found> findings(const Exchange& exchange, const Prospect& prospect) {
  static const std::vector<double> strata = normal_strata(pair_count);
  std::vector<Found> found;
  found.reserve(pair_count);
  for (std::size_t i = 0; i < pair_count; ++i) {
    const std::size_t twin = (2 * i + 1) * lattice_step % (2 * pair_count) / 2;
    const double away = prospect.buyer_sd * strata[i];
    const double umpire =
        prospect.umpire + prospect.umpire_follows * away + prospect.umpire_sd * strata[twin];
    found.push_back(exchange(std::clamp(prospect.buyer + away, 0.0, 1.0), std::clamp(umpire, 0.0, 1.0)));
  }
  return found;
}

class Contesting {
 public:
  Contesting(const Delivery& delivery, const Dispute& dispute)
      : at_(taken(delivery)), dispute_(dispute), s_(at_.quantities, Quantity{}) {
    while (at_.assays[assay_].analyte != dispute.of) ++assay_;
    exchanged_ = at_.assays[assay_].found;
  }

  Contest run() {
    take_figures(settle(at_, false).assays[assay_].second);
    estimate();
    suppose();
    if (out_.stage == ContestStage::within_limit) out_.contested = out_.accepted = known(agreed_);
    else weigh_up(findings(exchange(), prospect()));
    if (dispute_.sample) keep(*dispute_.sample);
    return std::move(out_);
  }

 private:
  // ---- What is known -------------------------------------------------------------------------

  void take_figures(const SettledFigure& figure) {
    out_.like = figure.like;
    agreed_ = figure.agreed.settled;
    seller_ = *figure.seller;
    buyer_ = figure.buyer;
    out_.stage = !buyer_              ? ContestStage::before_exchange
                 : figure.agreed.open ? ContestStage::before_umpire
                                      : ContestStage::within_limit;
    if (seller_ == 0)
      throw Error(Code::range, "the seller found nothing: there is nothing to contest", exchanged_.pointer);
  }

  Decimal sd_of(const AssayError& error, const Decimal& figure, const char* pointer) const {
    const Decimal sd = error.sd ? s_[*error.sd] : Decimal(s_[*error.rsd] * figure);
    if (sd == 0)
      throw Error(Code::range,
                  "a share of a figure of 0 says nothing: state the sd, as in {\"sd\": \"0.5 g/t\"}",
                  pointer);
    return sd;
  }

  /// The true assay, of one figure or of two.
  void estimate() {
    if (dispute_.bias) seen_ += s_[*dispute_.bias];
    seller_sd_ = sd_of(dispute_.errors.seller, seller_, "/errors/seller");
    buyer_sd_ = sd_of(dispute_.errors.buyer, buyer_.value_or(seller_), "/errors/buyer");
    const Decimal weight = 1 / (seller_sd_ * seller_sd_);
    const Decimal their_weight = buyer_ ? Decimal(seen_ * seen_ / (buyer_sd_ * buyer_sd_)) : Decimal(0);
    const Decimal both = weight + their_weight;
    out_.best = (seller_ * weight + buyer_.value_or(0) / seen_ * their_weight) / both;
    out_.best_sd = sqrt(Decimal(1 / both));
    umpire_sd_ = sd_of(dispute_.errors.umpire, out_.best, "/errors/umpire");
  }

  // ---- What may be found ---------------------------------------------------------------------

  std::optional<double> stated(const std::optional<Quantity>& one) const {
    return one ? std::optional(to_double(s_[*one])) : std::nullopt;
  }
  Exchange exchange() const {
    return {to_double(seller_),       to_double(s_[dispute_.umpire_cost]),
            stated(exchanged_.limit), stated(exchanged_.limit_relative),
            stated(dispute_.offer),   exchanged_.rule};
  }

  /// What the buyer will find tells of the truth, and so of what the umpire finds: the umpire's figure given
  /// the buyer's is normal about a line.
  Prospect prospect() const {
    const Decimal truth = out_.best_sd * out_.best_sd, umpire = truth + umpire_sd_ * umpire_sd_;
    if (buyer_) return {to_double(*buyer_), 0, to_double(out_.best), 0, to_double(sqrt(umpire))};
    const Decimal buyer = seen_ * seen_ * truth + buyer_sd_ * buyer_sd_, follows = seen_ * truth / buyer;
    return {to_double(Decimal(seller_ * seen_)), to_double(sqrt(buyer)), to_double(seller_),
            to_double(follows), to_double(sqrt(Decimal(umpire - follows * follows * buyer)))};
  }

  // ---- What it comes to ----------------------------------------------------------------------

  /// From here on the assay is one figure, to be supposed.
  void suppose() {
    supposed_ = at_.quantities.add(at_.quantities[out_.like]);
    at_.assays[assay_].found = stated_alone(supposed_);
    at_.supposed = true;
  }
  Decimal proceeds(const Decimal& figure) {
    at_.quantities.restate(supposed_, figure);
    return settle(at_, false).proceeds;
  }
  Outlook known(const Decimal& figure) { return {to_double(figure), proceeds(figure)}; }

  Traced traced(const std::vector<Found>& found) {
    std::vector<double> figures{to_double(seller_)};
    if (buyer_) figures.push_back(to_double(*buyer_));
    for (auto settled : {&Found::accepted, &Found::contested}) {
      const auto [low, high] =
          std::minmax_element(found.begin(), found.end(),
                              [&](const Found& a, const Found& b) { return a.*settled < b.*settled; });
      figures.insert(figures.end(), {(*low).*settled, (*high).*settled});
    }
    return Traced([this](double figure) { return to_double(proceeds(Decimal(figure))); }, figures);
  }

  void weigh_up(const std::vector<Found>& found) {
    const Traced at = traced(found);
    std::vector<double> gains;
    gains.reserve(found.size());
    double settled = 0, contested = 0, accepted_at = 0, accepted = 0, paid = 0, called = 0, better = 0;
    for (const Found& one : found) {
      const double theirs = at(one.accepted), ours = at(one.contested);
      settled += one.contested, contested += ours, paid += one.umpire_paid;
      accepted_at += one.accepted, accepted += theirs;
      called += one.umpire_called;
      better += above(ours - one.umpire_paid, theirs);
      gains.push_back(ours - one.umpire_paid - theirs);
    }
    const auto count = static_cast<double>(found.size());
    out_.contested = {settled / count, contested / count};
    out_.accepted = {accepted_at / count, accepted / count};
    if (dispute_.offer) out_.accepted = known(s_[*dispute_.offer]);
    else if (buyer_) out_.accepted = known(*buyer_);
    out_.umpire_called = called / count, out_.umpire_paid = paid / count, out_.chance = better / count;
    judge(gains);
  }

  void judge(std::vector<double>& gains) {
    const auto low = gains.begin() + beyond_each_end, high = gains.end() - 1 - beyond_each_end;
    std::nth_element(gains.begin(), low, gains.end());
    std::nth_element(low + 1, high, gains.end());
    out_.low = *low, out_.high = *high;
    out_.gain = out_.contested.proceeds - out_.umpire_paid - out_.accepted.proceeds;
    const bool certain = out_.low == 0 && out_.high == 0;
    const double measure = certain ? to_double(s_[dispute_.umpire_cost]) : out_.high - out_.low;
    const double gain = to_double(out_.gain);
    if (std::abs(gain) > measure / 10)
      out_.verdict = gain > 0 ? ContestVerdict::contest : ContestVerdict::accept;
  }

  // ---- What to keep --------------------------------------------------------------------------

  /// A figure of several determinations was weighed in as often.
  Decimal determinations() const {
    std::size_t count = 0;
    for (Quantity one : exchanged_.seller) {
      const auto& spread = at_.quantities[one].spread;
      const bool several = spread && spread->shape == Distribution::Shape::determinations;
      count += several ? spread->determinations.size() : 1;
    }
    return count;
  }
  void keep(const SampleWanted& sample) {
    const Decimal& portion = s_[sample.portion];
    const Decimal times = seller_sd_ / seller_ / (umpire_sd_ / out_.best);
    const Decimal umpire =
        most(Decimal(determinations() * portion * times * times), Decimal(sample.determinations * portion));
    out_.keep = {umpire, umpire * sample.sets};
  }

  Delivery at_;
  const Dispute& dispute_;
  Scenario<Decimal> s_;
  std::size_t assay_ = 0;
  ExchangedQuantity exchanged_;
  Decimal seller_, seller_sd_, buyer_sd_, umpire_sd_, agreed_;
  std::optional<Decimal> buyer_;
  Decimal seen_ = 1;  // by the buyer, of the truth
  Quantity supposed_;
  Contest out_;
};

}  // namespace

Contest contest(const Delivery& delivery, const Dispute& dispute) {
  return Contesting(delivery, dispute).run();
}

}  // namespace buttonworth
