#include "schedule/allocate.hpp"

#include <algorithm>
#include <cmath>

#include "route/cash_days.hpp"
#include "schedule/draws.hpp"
#include "schedule/part_watch.hpp"
#include "schedule/repair.hpp"

namespace buttonworth {
namespace {

constexpr double looking = 0.6;                                      // of the work, as it is told to the host
constexpr std::size_t most_drawn = 2000, most_drawn_by_worst = 600;  // candidates
constexpr int most_mendings = 6;                                     // of a timetable that misses a limit
constexpr double more_hours = 10, more_melts = 1, more_shipments = 1, more_kilograms = 100;

class Allocating {
 public:
  Allocating(const Allocation& allocation, const Watch& watch)
      : allocation_(allocation),
        plan_(*allocation.plan),
        whole_(watch),
        watch_(watch, looking, allocation.options.seconds),
        candidates_(std::make_unique<Candidates>(allocation, limits_of(allocation))),
        worker_(allocation),
        chooser_(allocation, *candidates_),
        repair_(allocation, *candidates_, chooser_) {}

  Allocated run() {
    candidates_->look(whole_);
    chooser_.grow(seconds(0.2), watch_);
    draw();
    const Timed timed = choose();
    note_choice(timed);
    work_out(timed);
    note_limits(timed);
    note_worths();
    note_left(timed);
    if (drawn_) note_draws(timed);
    made_.lot_by_lot = lot_by_lot(allocation_, *candidates_);
    made_.without_limits = without_limits(allocation_, *candidates_);
    made_.greedy = greedy(allocation_, *candidates_);
    whole_.progress(PartWatch::all, PartWatch::all);
    return {std::move(candidates_), std::move(made_)};
  }

 private:
  /// A share of the time the host allows, of which something is always left.
  double seconds(double share) const {
    return std::max({0.2, share * clock_.seconds() * 0.05, share * clock_.left()});
  }
  const std::vector<Limit>& limits() const { return candidates_->limits(); }

  // ---- Under draws -------------------------------------------------------------------------------

  /// Only what promises most at the plan's values is drawn; the rest is no longer chosen from.
  void draw() {
    if (!allocation_.options.draws) return;
    const bool by_worst = allocation_.options.draws->prefer == Preference::worst_mean;
    const auto which = chooser_.promising(by_worst ? most_drawn_by_worst : most_drawn);
    drawn_ = draw_values(allocation_, *candidates_, which, watch_);
    chooser_.use(&*drawn_);
  }

  // ---- Choosing ----------------------------------------------------------------------------------

  /// Chosen, put on a timetable and, where that misses a limit, repaired; then again with that limit drawn
  /// tighter by what was missed. The one that misses least and leaves most is kept.
  Timed choose() {
    const std::vector<Row> stated = chooser_.bounds();
    std::vector<Row> tighter = stated;
    Timed best;
    for (int round = 0; round <= most_mendings; ++round) {
      Choice choice = chooser_.choose(tighter, seconds(round == 0 ? 0.7 : 0.15), nullptr, watch_);
      const bool possible = choice.possible;
      if (!possible && round > 0) break;
      if (!possible) choice = chooser_.nearest(stated, seconds(0.5), watch_);
      if (round == 0) on_paper_ = choice;
      choice.bound = on_paper_.bound;
      Timed made = repair_.place(std::move(choice), watch_);
      const bool is_on_time = made.table.missed <= missed_least;
      tighter = tightened(std::move(tighter), made.table);
      if (!is_on_time || round > 0) made = repair_.repaired(std::move(made), stated, seconds(0.1), watch_);
      if (round == 0 || is_better(made, best)) best = std::move(made);
      if (is_on_time || !possible || clock_.left() <= 0) break;
    }
    return best;
  }

  std::vector<Row> tightened(std::vector<Row> bounds, const Timetable& table) const {
    for (std::size_t k = 0; k < limits().size(); ++k) {
      Row& bound = bounds[allocation_.lots.size() + k];
      const Limit& limit = limits()[k];
      if (limit.timed() && table.reached[k] < limit.least)
        bound.least += (limit.least - table.reached[k]) * 1.01;
      if (table.late[k] > 0) bound.most = std::max(0.0, bound.most - table.late[k] * 1.01);
    }
    return bounds;
  }

  // ---- The answer --------------------------------------------------------------------------------

  void note_choice(const Timed& timed) {
    made_.possible = timed.missed <= missed_least;
    made_.finished = timed.choice.finished;
    made_.bound = timed.choice.bound;
    for (const Outcome* one : timed.outcomes) made_.before_waiting += one->value;
    made_.columns = timed.choice.columns;
  }

  void work_out(const Timed& timed) {
    std::vector<std::size_t> order(timed.outcomes.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return timed.table.starts[a] < timed.table.starts[b];
    });
    std::vector<Movement<Decimal>> movements;
    for (std::size_t i : order) {
      watch_.keep_going();
      const Consignment& candidate = (*candidates_)[timed.candidates[i]];
      made_.shipments.push_back(ship(candidate, *timed.outcomes[i], timed.table.starts[i]));
      const RouteResult<Decimal>& result = made_.shipments.back().result();
      made_.value += result.ledger.sums.present_value;
      made_.net += result.ledger.sums.net();
      made_.cash += result.ledger.sums.cash_sum;
      movements.insert(movements.end(), result.ledger.movements.begin(), result.ledger.movements.end());
    }
    made_.cash_days = cash_by_day(movements);
    const double value = drawn_ ? timed.choice.value : to_double(made_.value);
    if (made_.bound > value && made_.bound != 0) made_.gap = (made_.bound - value) / std::abs(made_.bound);
  }

  Shipment ship(const Consignment& candidate, const Outcome& outcome, double start) const {
    Shipment made{
        candidate.shares, candidate.route, outcome.start, start, allocation_.plan_of(candidate.shares), {},
        outcome.passes};
    for (Pass& pass : made.passes) pass.day += start - outcome.start;
    Prepared<Decimal> prepared(*made.plan);
    prepared.lot.day = written(start);
    prepared.lot.discount = prepared.scenario.discount_over(prepared.lot.day);
    CompareOptions options;
    options.routes = {candidate.route};
    made.worked = compare(prepared, options, Watch());
    return made;
  }

  /// A day as it is written: nobody starts to a billionth of one.
  static Decimal written(double day) { return read_number(to_text(day, Digits{15, 9, 0})).value; }

  void note_limits(const Timed& timed) {
    for (std::size_t k = 0; k < limits().size(); ++k) {
      LimitState state{.limit = limits()[k],
                       .name = limit_name(allocation_, limits()[k]),
                       .late = timed.table.late[k],
                       .worth = {}};
      if (state.limit.timed()) state.reached = timed.table.reached[k];
      else
        for (const Outcome* outcome : timed.outcomes) state.reached += share_of(state.limit, *outcome);
      const bool counts = !state.limit.buyer || state.reached > 0;
      state.kept =
          !counts || (at_least(state.reached, state.limit.least - 1e-7 * std::abs(state.limit.least)) &&
                      at_most(state.reached, state.limit.most * (1 + 1e-7)) && state.late == 0);
      made_.limits.push_back(std::move(state));
    }
  }

  /// Chosen again with more of a limit, or without one that has to be reached, as if no step were ever busy.
  /// Metal on hand is one limit, told at its first day.
  void note_worths() {
    if (!made_.possible || !on_paper_.possible || drawn_) return;
    std::vector<std::size_t> asked;
    for (std::size_t k = 0; k < limits().size(); ++k)
      if (is_worth_asking(k)) asked.push_back(k);
    for (std::size_t k : asked) {
      LimitState& state = made_.limits[k];
      const std::vector<Row> bounds = loosened(chooser_.bounds(), k);
      const Choice more =
          chooser_.choose(bounds, seconds(0.9 / static_cast<double>(asked.size())), &on_paper_, watch_);
      state.more = state.limit.least > -Limit::none ? 0 : more_of(state.limit.kind);
      state.worth = std::max(0.0, more.value - on_paper_.value);
      state.worth_most = std::max(*state.worth, more.bound - on_paper_.value);
    }
  }
  bool is_worth_asking(std::size_t k) const {
    const LimitState& state = made_.limits[k];
    const bool is_later_day = state.limit.kind == LimitKind::gone && k > 0 &&
                              limits()[k - 1].kind == LimitKind::gone &&
                              limits()[k - 1].stated == state.limit.stated;
    const bool is_idle = state.limit.stated == Limit::none_stated && 2 * state.reached < state.limit.most;
    return !is_later_day && !is_idle;
  }
  std::vector<Row> loosened(std::vector<Row> bounds, std::size_t k) const {
    const Limit& limit = limits()[k];
    for (std::size_t other = k; other < limits().size(); ++other) {
      const bool same = limits()[other].kind == LimitKind::gone && limit.kind == LimitKind::gone &&
                        limits()[other].stated == limit.stated;
      Row& bound = bounds[allocation_.lots.size() + other];
      if (other != k && !same) continue;
      if (limit.least > -Limit::none) bound.least = -unbounded;
      else bound.most += more_of(limit.kind);
    }
    return bounds;
  }
  static double more_of(LimitKind kind) {
    switch (kind) {
      case LimitKind::hours: return more_hours;
      case LimitKind::melts: return more_melts;
      case LimitKind::shipments: return more_shipments;
      default: return more_kilograms;
    }
  }

  // ---- What is left ------------------------------------------------------------------------------

  void note_left(const Timed& timed) {
    const std::vector<std::uint32_t> parts = repair_.left_of(timed.candidates);
    for (std::size_t lot = 0; lot < parts.size(); ++lot)
      if (parts[lot] > 0) made_.left.push_back({lot, parts[lot], why_left(lot)});
  }

  std::vector<std::string> why_left(std::size_t lot) {
    const auto number = static_cast<std::uint32_t>(lot);
    const Shares whole{{number, allocation_.lots[lot].parts}};
    std::vector<std::string> reasons;
    std::optional<std::size_t> best;
    for (std::size_t i : candidates_->singles_of(number)) {
      const Consignment& one = (*candidates_)[i];
      if (one.shares[0].parts == whole[0].parts && (!best || one.value > (*candidates_)[*best].value))
        best = i;
    }
    if (best && (*candidates_)[*best].value > 0) {
      reasons.push_back(no_room(*best));
      return reasons;
    }
    if (best)
      reasons.push_back("the best way, " + plan_.routes[(*candidates_)[*best].route].name + ", would cost " +
                        money(-(*candidates_)[*best].value) + " more than it brings");
    for (std::size_t r = 0; r < plan_.routes.size(); ++r) {
      if (!allocation_.lots[lot].routes[r]) continue;
      for (const std::string& why : worker_.reasons(whole, r))
        reasons.push_back("route " + plan_.routes[r].name + ": " + why);
    }
    if (!candidates_->is_accepted(number)) note_no_blend(number, reasons);
    return reasons;
  }

  /// That company does not help a lot which nobody takes alone.
  void note_no_blend(std::uint32_t number, std::vector<std::string>& reasons) const {
    const auto joinable = static_cast<std::size_t>(std::count_if(
        allocation_.lots.begin(), allocation_.lots.end(), [](const OfferedLot& lot) { return !lot.alone; }));
    const std::size_t most = std::min(allocation_.options.most_joined, joinable);
    if (allocation_.lots[number].alone || most < 2) return;
    reasons.push_back("joined with others it is refused too, in every blend of up to " +
                      std::to_string(most) + " lots that was looked at" +
                      (joinable > most ? ": raise most_joined to join more" : ""));
  }

  /// It would bring something, but what it takes brings more elsewhere, or is too little for a buyer.
  std::string no_room(std::size_t candidate) const {
    const Consignment& one = (*candidates_)[candidate];
    std::string full, little;
    for (std::size_t k = 0; k < limits().size(); ++k) {
      const LimitState& state = made_.limits[k];
      const double takes = candidates_->takes(candidate)[k], would = state.reached + takes;
      if (takes <= 0) continue;
      if (state.limit.most < Limit::none && !at_most(would, state.limit.most))
        add_limit(full, state, would - state.limit.most, " more than what is left");
      if (state.limit.buyer && !at_least(would, state.limit.least))
        add_limit(little, state, state.limit.least - would, " short of the least");
    }
    return "alone it would leave " + money(one.value) + " by " + plan_.routes[one.route].name +
           (!full.empty()     ? ", but there is no room: " + full
            : !little.empty() ? ", but it is too little: " + little
                              : ", but the limits are kept better without it");
  }
  void add_limit(std::string& list, const LimitState& state, double figure, const char* what) const {
    list += (list.empty() ? "" : ", ") + state.name + " (" + limit_figure(allocation_, state.limit, figure) +
            what + ')';
  }
  std::string money(double amount) const { return to_text(amount, Digits{15, 2, 2}) + ' ' + plan_.currency; }

  void note_draws(const Timed& timed) {
    made_.mean = mean_of(*drawn_, timed.choice.picked);
    made_.worst_mean = worst_mean_of(*drawn_, timed.choice.picked);
  }

  const Allocation& allocation_;
  const Plan& plan_;
  const Watch& whole_;
  const ClockWatch watch_;
  const Clock clock_{allocation_.options.seconds};
  std::unique_ptr<Candidates> candidates_;
  ShipmentWorker worker_;
  Chooser chooser_;
  Repair repair_;
  std::optional<DrawnValues> drawn_;
  Choice on_paper_;  // as if no step were ever busy
  Schedule made_;
};

}  // namespace

Allocated allocate(const Allocation& allocation, const Watch& watch) {
  return Allocating(allocation, watch).run();
}

}  // namespace buttonworth
