#include "chance/break_even.hpp"

#include <algorithm>
#include <cmath>

namespace buttonworth {
namespace {

constexpr double equal_worth = 1e-9;      // a tie, of the larger of two present values
constexpr double rounding_noise = 1e-12;  // of doubles, likewise
constexpr double together = 1e-4;         // changes closer than this share of the range are told as one

/// Lines that a sale makes: values, refining, charges, penalties, participation, interest.
std::size_t lines_of(const Terms& terms) {
  return 2 * terms.pay.size() + terms.charges.size() + terms.penalties.size() + terms.participation.size() +
         1;
}

double rounding_at(const Plan& plan, const Node* node, const Scenario<double>& s) {
  if (node == nullptr) return 0;
  if (auto* sold = std::get_if<SoldTo>(&node->what)) {
    const Terms& terms = plan.terms[sold->terms];
    return terms.rounding.money ? s[*terms.rounding.money] * static_cast<double>(lines_of(terms)) : 0;
  }
  double sum = 0;
  if (auto* worked = std::get_if<Worked>(&node->what))
    for (const auto& output : worked->outputs) sum += rounding_at(plan, output.get(), s);
  return sum;
}

class Search {
 public:
  Search(Worths& worths, const Along& along, const Watch& watch)
      : worths_(worths),
        along_(along),
        watch_(watch),
        scenario_(worths.plan().quantities, worths.plan().discount) {}

  BreakEven run() {
    const LeadScan scan([this](double at) { return look(at); }, along_.from, along_.to, width());
    BreakEven result;
    result.gave_up = scan.gave_up();
    gather(scan, result);
    for (Tip& tip : result.tips)
      if (tip.kind == TipKind::tie && tip.from == tip.to) confirm(tip);
    watch_.progress(expected_, expected_);
    return result;
  }

 private:
  ScanWidth width() const {
    ScanWidth width;
    if (worths_.searches_again()) width.points = 257, width.most_looks = 6'000;
    return width;
  }

  std::vector<double> look(double at) {
    watch_.progress(std::min(++looks_, expected_ - 1), expected_);
    return worths_.at(std::vector<double>(along_.quantities.size(), at));
  }

  /// Changes that stand close together are one; between them and the next is an interval.
  void gather(const LeadScan& scan, BreakEven& result) {
    const auto& looks = scan.looks();
    const auto& changes = scan.changes();
    Look start{looks.begin()->first, looks.begin()->second};
    for (std::size_t i = 0; i < changes.size();) {
      std::size_t last = i;
      bool level = true;  // no more than rounding between any two of them
      for (; last + 1 < changes.size(); ++last) {
        const bool still = flickers(scan, changes[last], changes[last + 1]);
        const double apart = changes[last + 1].before.at - changes[last].after.at;
        if (!still && apart >= together * (along_.to - along_.from)) break;
        level &= still;
      }
      add_lead(result, {start, changes[i].before, changes[i].first});
      if (!level || changes[i].first != changes[last].second)  // else a touch
        result.tips.push_back(i == last ? one_tip(changes[i]) : many_tips(changes[i], changes[last], level));
      start = changes[last].after;
      i = last + 1;
    }
    const auto end = std::prev(looks.end());
    add_lead(result, {start, {end->first, end->second}, leader(end->second)});
  }

  /// Intervals side by side in which the same route leads are one.
  static void add_lead(BreakEven& result, LeadInterval lead) {
    if (!result.leads.empty() && result.leads.back().best == lead.best)
      result.leads.back().to = std::move(lead.to);
    else result.leads.push_back(std::move(lead));
  }

  /// Whether between two changes no route leads by more than the rounding of lines.
  bool flickers(const LeadScan& scan, const LeadChange& a, const LeadChange& b) const {
    const auto end = scan.looks().upper_bound(b.before.at);
    for (auto at = scan.looks().lower_bound(a.after.at); at != end; ++at) {
      const auto best = leader(at->second);
      const auto next = best ? next_to(at->second, *best) : std::nullopt;
      if (!next || !level(at->second, *best, *next)) return false;
    }
    return true;
  }

  static std::optional<double> gap(const Look& look, const Tip& tip) {
    if (!tip.first || !tip.second) return std::nullopt;
    const double a = look.worth[*tip.first], b = look.worth[*tip.second], gap = a - b;
    if (!std::isfinite(gap)) return std::nullopt;
    return std::abs(gap) <= rounding_noise * std::max(std::abs(a), std::abs(b)) ? 0 : gap;
  }

  Tip one_tip(const LeadChange& change) const {
    const double at = change.before.at / 2 + change.after.at / 2;
    Tip tip{at, at, at, change.first, change.second, TipKind::jump, {}, {}};
    tip.lead_before = gap(change.before, tip);
    tip.lead_after = gap(change.after, tip);
    const bool there = tip.lead_before && tip.lead_after;
    if (there && level(change.before.worth, *tip.first, *tip.second) &&
        level(change.after.worth, *tip.first, *tip.second))
      tip.kind = TipKind::tie;
    return tip;
  }
  Tip many_tips(const LeadChange& first, const LeadChange& last, bool level) const {
    const double from = first.before.at, to = last.after.at;
    const TipKind kind = level && one_tip(first).kind == TipKind::tie && one_tip(last).kind == TipKind::tie
                             ? TipKind::tie
                             : TipKind::several;
    Tip tip{from / 2 + to / 2, from, to, first.first, last.second, kind, {}, {}};
    if (tip.first == tip.second) tip.second = first.second;
    tip.lead_before = gap(first.before, tip);
    tip.lead_after = gap(last.after, tip);
    return tip;
  }

  /// Whether two routes leave the same, but for rounding.
  bool level(const std::vector<double>& worth, std::size_t a, std::size_t b) const {
    const double size = std::max(std::abs(worth[a]), std::abs(worth[b]));
    return std::abs(worth[a] - worth[b]) <= equal_worth * size + rounding(a) + rounding(b);
  }
  double rounding(std::size_t i) const { return rounding_of(worths_.plan(), worths_.route(i), scenario_); }

  // ---- In decimals -----------------------------------------------------------------------------

  std::optional<Decimal> decimal_gap(const Tip& tip, const Decimal& at) {
    const auto worth = worths_.in_decimal(std::vector<Decimal>(along_.quantities.size(), at));
    const auto &a = worth[*tip.first], &b = worth[*tip.second];
    return a && b ? std::optional(Decimal(*a - *b)) : std::nullopt;
  }

  /// The lead changes its sign between two values 1 part in 10^10 to either side, or further where a best
  /// cut was searched; within them the tie is taken where the chord is 0.
  void confirm(Tip& tip) {
    tip.confirmed = false;
    for (double part : {1e-10, 1e-9, 1e-8, 1e-7}) {
      const Decimal reach = Decimal(std::max(std::abs(tip.at), 1e-3 * (along_.to - along_.from)) * part);
      Decimal low = Decimal(tip.at) - reach, high = Decimal(tip.at) + reach;
      const Decimal from = along_.from, to = along_.to;
      if (low < from) low = from;
      if (high > to) high = to;
      const auto below = decimal_gap(tip, low), above = decimal_gap(tip, high);
      if (!below || !above || *below < 0 || *above > 0) continue;
      tip.confirmed = true;
      const Decimal fall = *below - *above;
      if (fall > 0) tip.at = tip.from = tip.to = to_double(Decimal(low + (high - low) * *below / fall));
      return;
    }
  }

  Worths& worths_;
  const Along& along_;
  const Watch& watch_;
  Scenario<double> scenario_;
  std::int64_t looks_ = 0;
  const std::int64_t expected_ = 4 * width().points;
};

}  // namespace

double rounding_of(const Plan& plan, const Route& route, const Scenario<double>& scenario) {
  double sum = rounding_at(plan, route.lot.node.get(), scenario);
  for (const Way& way : route.apart) sum += rounding_at(plan, way.node.get(), scenario);
  return sum;
}

std::optional<double> lead_of(const std::vector<double>& worth, std::size_t route) {
  const auto next = next_to(worth, route);
  if (!next || worth[route] == Worths::nothing) return std::nullopt;
  return worth[route] - worth[*next];
}

BreakEven find_break_even(Worths& worths, const Along& along, const Watch& watch) {
  return Search(worths, along, watch).run();
}

}  // namespace buttonworth
