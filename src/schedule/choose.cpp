#include "schedule/choose.hpp"

#include <algorithm>
#include <cmath>

#include "schedule/draws.hpp"

namespace buttonworth {
namespace {

constexpr std::size_t columns_at_once = 2000;  // that the linear programme takes up in one round
constexpr std::size_t grown_at_once = 300;     // that are grown around, besides its solution's
constexpr std::size_t columns_first = 1200;    // that a first whole programme is solved over
constexpr std::size_t columns_near = 3000;     // that what comes nearest to the limits is looked for among
constexpr std::size_t columns_most = 6000;     // that any is
constexpr int dives_most = 8;
constexpr double whole_share =
    1e6;  // of a limit missed, to the solver, which takes less than 1e-5 for nothing

bool all_of(const Shares& shares, const std::vector<bool>& lots) {
  return std::all_of(shares.begin(), shares.end(), [&](const Share& share) { return lots[share.lot]; });
}

}  // namespace

// ---- Rows and columns ----------------------------------------------------------------------------
// Rows: one a lot, one a limit, and one a lot for each buyer who wants at least so much. Columns: one for
// each of these, whether anything is sent there; then the candidates. Such a lot goes there only if his
// column is 1, which then asks for what he wants.

Chooser::Chooser(const Allocation& allocation, Candidates& candidates)
    : allocation_(allocation), candidates_(candidates) {
  const std::vector<Limit>& limits = candidates.limits();
  for (std::size_t k = 0; k < limits.size(); ++k) {
    if (!limits[k].buyer || limits[k].least == -Limit::none) continue;
    if (asking_.empty() || limits[asking_.back().front()].buyer != limits[k].buyer) asking_.emplace_back();
    asking_.back().push_back(k);
  }
}

std::vector<Row> Chooser::bounds() const {
  std::vector<Row> bounds;
  for (const OfferedLot& lot : allocation_.lots) {
    const double parts = lot.parts;
    bounds.push_back({lot.must ? parts : -unbounded, parts});
  }
  for (const Limit& limit : candidates_.limits()) bounds.push_back({limit.least, limit.most});
  return bounds;
}

/// What a buyer wants hangs on whether anything is sent to him, so it stands in his column.
Row Chooser::row_of(const Limit& limit, const Row& bounds) const {
  if (!limit.buyer || bounds.least == -unbounded) return bounds;
  return {0, unbounded};
}

std::vector<Row> Chooser::rows(const std::vector<Row>& bounds) const {
  std::vector<Row> rows = bounds;
  const std::size_t lots = allocation_.lots.size();
  for (std::size_t k = 0; k < candidates_.limits().size(); ++k)
    rows[lots + k] = row_of(candidates_.limits()[k], bounds[lots + k]);
  rows.resize(rows.size() + asking_.size() * lots, {-unbounded, 0});
  return rows;
}

std::vector<Column> Chooser::fixed_columns() const {
  std::vector<Column> columns(asking_.size());
  const std::size_t lots = allocation_.lots.size();
  for (std::size_t b = 0; b < asking_.size(); ++b) {
    for (std::size_t k : asking_[b])
      columns[b].entries.emplace_back(static_cast<int>(lots + k), -candidates_.limits()[k].least);
    for (std::size_t lot = 0; lot < lots; ++lot)
      columns[b].entries.emplace_back(static_cast<int>(row_of_lot_at(b, lot)),
                                      -double(allocation_.lots[lot].parts));
  }
  return columns;
}

std::size_t Chooser::row_of_lot_at(std::size_t buyer, std::size_t lot) const {
  const std::size_t lots = allocation_.lots.size();
  return lots + candidates_.limits().size() + buyer * lots + lot;
}

/// By number in asking_.
bool Chooser::goes_to(std::size_t candidate, std::size_t buyer) const {
  return candidates_.takes(candidate)[asking_[buyer].front()] > 0;
}

/// The plan's value, or the mean over draws.
double Chooser::gain_of(std::size_t candidate) const {
  if (drawn_ == nullptr) return candidates_[candidate].value;
  return drawn_->means[static_cast<std::size_t>(drawn_->row_of[candidate])];
}

Column Chooser::column_of(std::size_t candidate) const {
  const Consignment& one = candidates_[candidate];
  Column column;
  column.gain = gain_of(candidate);
  column.most = unbounded;
  for (const Share& share : one.shares) {
    column.entries.emplace_back(static_cast<int>(share.lot), share.parts);
    column.most = std::min<double>(column.most, allocation_.lots[share.lot].parts / share.parts);
  }
  const auto takes = candidates_.takes(candidate);
  for (std::size_t k = 0; k < takes.size(); ++k)
    if (takes[k] != 0) column.entries.emplace_back(static_cast<int>(allocation_.lots.size() + k), takes[k]);
  for (std::size_t b = 0; b < asking_.size(); ++b)
    for (const Share& share : one.shares)
      if (goes_to(candidate, b))
        column.entries.emplace_back(static_cast<int>(row_of_lot_at(b, share.lot)), share.parts);
  return column;
}

// ---- The linear programme ------------------------------------------------------------------------

/// What every candidate gains beyond the prices of what it takes.
void Chooser::price() {
  prices_ = linear_->prices();
  promise_.assign(candidates_.size(), 0);
  const std::size_t lots = allocation_.lots.size();
  for (std::size_t i = 0; i < candidates_.size(); ++i) {
    const Consignment& one = candidates_[i];
    double gain = one.value;
    for (const Share& share : one.shares) gain -= prices_[share.lot] * share.parts;
    const auto takes = candidates_.takes(i);
    for (std::size_t k = 0; k < takes.size(); ++k) gain -= prices_[lots + k] * takes[k];
    for (std::size_t b = 0; b < asking_.size(); ++b)
      for (const Share& share : one.shares)
        if (goes_to(i, b)) gain -= prices_[row_of_lot_at(b, share.lot)] * share.parts;
    promise_[i] = gain;
  }
}

/// Takes up candidates until none gains anything beyond the prices. A row that has to reach something has a
/// column of its own that fills it at a loss, so that there always is a solution.
double Chooser::solve_linear(const std::vector<Row>& bounds, const Watch& watch) {
  const std::vector<Row> rows = this->rows(bounds);
  if (!linear_) {
    linear_ = std::make_unique<LinearProgramme>(rows);
    std::vector<Column> fixed = fixed_columns();
    double worth = 1;
    for (std::size_t i = 0; i < candidates_.size(); ++i)
      worth = std::max(worth, std::abs(candidates_[i].value));
    for (std::size_t i = 0; i < rows.size(); ++i)
      if (rows[i].least > -unbounded && rows[i].least != 0)
        fixed.push_back({.gain = -1000 * worth,
                         .least = 0,
                         .most = unbounded,
                         .whole = false,
                         .entries = {{static_cast<int>(i), std::abs(rows[i].least)}}});
    fixed_ = fixed.size();
    linear_->add(fixed);
  }
  for (std::size_t i = 0; i < rows.size(); ++i) linear_->set(i, rows[i]);
  take_up(watch);
  return linear_->gain();
}

/// False where the rows cannot be kept.
bool Chooser::take_up(const Watch& watch) {
  for (;;) {
    watch.keep_going();
    if (!linear_->solve()) return false;
    price();
    is_in_linear_.resize(candidates_.size());
    std::vector<std::size_t> better;
    const double scale = std::max(1.0, std::abs(linear_->gain()));
    for (std::size_t i = 0; i < promise_.size(); ++i)
      if (!is_in_linear_[i] && promise_[i] > 1e-10 * scale) better.push_back(i);
    if (better.empty()) return true;
    if (better.size() > columns_at_once) {
      std::nth_element(better.begin(), better.begin() + columns_at_once, better.end(),
                       [&](std::size_t a, std::size_t b) { return promise_[a] > promise_[b]; });
      better.resize(columns_at_once);
      std::sort(better.begin(), better.end());
    }
    std::vector<Column> columns;
    for (std::size_t i : better) {
      columns.push_back(column_of(i));
      columns.back().most = unbounded;  // the rows of its lots bound it
      in_linear_.push_back(i);
      is_in_linear_[i] = true;
    }
    linear_->add(columns);
  }
}

std::vector<std::size_t> Chooser::grown_around() const {
  std::vector<std::size_t> around;
  const std::vector<double> values = linear_->values();
  for (std::size_t i = 0; i < in_linear_.size(); ++i)
    if (values[fixed_ + i] > 1e-6) around.push_back(in_linear_[i]);
  return around;
}

namespace {

/// With a lot more, and without one of those it has.
Shares changed(const Shares& shares, const Share& more, std::size_t out) {
  Shares made;
  for (std::size_t i = 0; i < shares.size(); ++i) {
    if (more.lot < shares[i].lot && (made.empty() || made.back().lot < more.lot)) made.push_back(more);
    if (i != out) made.push_back(shares[i]);
  }
  if (made.empty() || made.back().lot < more.lot) made.push_back(more);
  return made;
}

/// A blend with one lot more, or one in place of another.
std::vector<Consignment> neighbours(const Allocation& allocation, const Consignment& one) {
  std::vector<Consignment> found;
  for (std::uint32_t lot = 0; lot < allocation.lots.size(); ++lot) {
    const bool there = std::any_of(one.shares.begin(), one.shares.end(),
                                   [&](const Share& share) { return share.lot == lot; });
    if (there) continue;
    const Share more{lot, allocation.lots[lot].parts};
    const std::size_t none = one.shares.size();
    for (std::size_t out = none < allocation.options.most_joined ? 0 : 1; out <= none; ++out)
      found.push_back({changed(one.shares, more, out == 0 ? none : out - 1), one.route, 0});
  }
  return found;
}

}  // namespace

/// Whether anything that was not looked at before is worth keeping.
bool Chooser::grow_once(const std::vector<std::size_t>& around, const Watch& watch) {
  std::vector<Consignment> wanted;
  for (std::size_t i : around)
    for (Consignment& one : neighbours(allocation_, candidates_[i])) wanted.push_back(std::move(one));
  return !candidates_.look_at(wanted, watch).empty() && take_up(watch);
}

void Chooser::grow(double seconds, const Watch& watch) {
  const Clock clock(seconds);
  solve_linear(bounds(), watch);
  if (allocation_.options.most_joined < 3) return;
  while (clock.left() > 0) {
    const double before = linear_->gain();
    std::vector<std::size_t> around = grown_around();
    if (candidates_.looked().blends() < allocation_.options.looked_at) {
      const std::vector<std::size_t> promising = within(unbounded, grown_at_once);
      around.insert(around.end(), promising.begin(), promising.end());
    }
    if (!grow_once(around, watch) || linear_->gain() <= before + 1e-9 * std::abs(before)) return;
  }
}

// ---- Diving ----------------------------------------------------------------------------------------

/// Columns to be made whole next: all that are; last, if there is one that is not, the one nearest to it.
std::pair<std::vector<std::size_t>, bool> Chooser::to_fix() const {
  std::vector<std::size_t> whole;
  std::optional<std::size_t> nearest;
  const std::vector<double> values = linear_->values();
  const std::size_t buyers = asking_.size();
  auto part_of = [&](std::size_t c) { return values[c] - std::floor(values[c] + 1e-6); };
  for (std::size_t c = 0; c < values.size(); ++c) {
    const bool is_slack = c >= buyers && c < fixed_;
    if (is_slack || values[c] < 1e-6 || (c < is_held_.size() && is_held_[c])) continue;
    if (part_of(c) < 1e-6) whole.push_back(c);
    else if (!nearest || part_of(c) > part_of(*nearest)) nearest = c;
  }
  if (nearest) whole.push_back(*nearest);
  return {std::move(whole), nearest.has_value()};
}

/// The linear programme's values, where all are whole and nothing is missed.
Choice Chooser::read_linear() const {
  Choice choice;
  const std::vector<double> values = linear_->values();
  for (std::size_t c = asking_.size(); c < fixed_; ++c)
    if (values[c] > 1e-9) choice.possible = false;
  for (std::size_t i = 0; i < in_linear_.size(); ++i)
    if (values[fixed_ + i] > 0.5) {
      const auto times = static_cast<std::uint32_t>(std::lround(values[fixed_ + i]));
      choice.picked.push_back({in_linear_[i], times});
      choice.value += candidates_[in_linear_[i]].value * times;
    }
  return choice;
}

/// A dive's column is at least as large as the next whole number; `out` leaves it out.
void Chooser::hold(std::size_t column, double least, bool out) {
  const double most = column < asking_.size() ? 1 : unbounded;
  linear_->bound(column, least, out ? 0 : most);
  is_held_.resize(fixed_ + in_linear_.size());
  is_held_[column] = least > 0 || out;
}

/// Makes one column after the other whole, each time, while there is any, looking for what goes best with
/// those, and leaves out what does not go with them. `without` some that earlier dives began with. Leaves the
/// linear programme as it was.
Choice Chooser::dive(const std::vector<std::size_t>& without, const Clock& clock, const Watch& watch) {
  is_held_.assign(fixed_ + in_linear_.size(), false);
  std::vector<std::size_t> held = without;
  for (std::size_t c : without) hold(c, 0, true);
  bool possible = take_up(watch);
  while (possible) {
    const auto [next, is_last_rounded] = to_fix();
    if (!is_last_rounded) break;
    const std::vector<double> values = linear_->values();
    for (std::size_t c : next) hold(c, std::ceil(values[c] - 1e-6), false);
    held.insert(held.end(), next.begin(), next.end());
    if (!take_up(watch)) {
      hold(next.back(), 0, true);
      possible = take_up(watch);
    }
    if (possible && allocation_.options.most_joined >= 3 && clock.left() > 0)
      grow_once(grown_around(), watch);
  }
  Choice choice = possible ? read_linear() : Choice{.possible = false};
  first_held_ = held.size() > without.size() ? std::optional(held[without.size()]) : std::nullopt;
  for (std::size_t c : held) hold(c, 0, false);
  return choice;
}

std::vector<std::size_t> Chooser::within(double window, std::size_t most) const {
  return within(window, most, std::vector<bool>(allocation_.lots.size(), true));
}

/// Of those that were drawn, where any were.
bool Chooser::may_pick(std::size_t candidate) const {
  return drawn_ == nullptr || drawn_->row_of[candidate] >= 0;
}

/// Candidates of these lots that lie within a window of the best promise; of more, those that promise most.
std::vector<std::size_t> Chooser::within(double window, std::size_t most,
                                         const std::vector<bool>& lots) const {
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < promise_.size(); ++i) {
    if (may_pick(i) && promise_[i] >= -window && all_of(candidates_[i].shares, lots)) found.push_back(i);
  }
  if (found.size() > most) {
    const auto promises_more = [&](std::size_t a, std::size_t b) {
      return promise_[a] != promise_[b] ? promise_[a] > promise_[b] : a < b;
    };
    std::nth_element(found.begin(), found.begin() + static_cast<std::ptrdiff_t>(most), found.end(),
                     promises_more);
    found.resize(most);
    std::sort(found.begin(), found.end());
  }
  return found;
}

std::vector<std::size_t> Chooser::promising(std::size_t most) const { return within(unbounded, most); }

// ---- Whole shipments -----------------------------------------------------------------------------

bool Chooser::by_worst() const { return drawn_ != nullptr && drawn_->worst > 0; }

double Chooser::value_of(const std::vector<Picked>& picked) const {
  if (by_worst()) return worst_mean_of(*drawn_, picked);
  double value = 0;
  for (const Picked& one : picked) value += one.times * gain_of(one.candidate);
  return value;
}

/// Of candidates, behind the fixed columns.
Programme Chooser::programme_of(const std::vector<Row>& bounds, const std::vector<std::size_t>& over) const {
  Programme programme{rows(bounds), fixed_columns()};
  for (std::size_t i : over) programme.columns.push_back(column_of(i));
  return programme;
}

/// The mean of the worst draws: y less what the draws fall short of y, over the share that counts.
void Chooser::prefer_worst(Programme& programme, const std::vector<std::size_t>& over) const {
  const DrawnValues& drawn = *drawn_;
  const std::size_t rows = programme.rows.size();
  for (std::size_t i = 0; i < over.size(); ++i) {
    Column& column = programme.columns[asking_.size() + i];
    column.gain = 0;
    const double* const values = &drawn.values[static_cast<std::size_t>(drawn.row_of[over[i]]) * drawn.draws];
    for (std::size_t d = 0; d < drawn.draws; ++d)
      if (values[d] != 0) column.entries.emplace_back(static_cast<int>(rows + d), values[d]);
  }
  Column level{.gain = 1, .least = -unbounded, .most = unbounded, .whole = false, .entries = {}};
  for (std::size_t d = 0; d < drawn.draws; ++d) {
    programme.rows.push_back({0, unbounded});
    level.entries.emplace_back(static_cast<int>(rows + d), -1);
    programme.columns.push_back({.gain = -1 / static_cast<double>(drawn.worst),
                                 .least = 0,
                                 .most = unbounded,
                                 .whole = false,
                                 .entries = {{static_cast<int>(rows + d), 1}}});
  }
  programme.columns.push_back(std::move(level));
}

std::vector<Picked> Chooser::picked_of(const std::vector<std::size_t>& over,
                                       const WholeAnswer& answer) const {
  std::vector<Picked> picked;
  for (std::size_t i = 0; i < over.size(); ++i)
    if (const double times = answer.values[asking_.size() + i]; times > 0.5)
      picked.push_back({over[i], static_cast<std::uint32_t>(times)});
  return picked;
}

Choice Chooser::chosen(const Programme& programme, const std::vector<std::size_t>& over,
                       const WholeOptions& options, const Watch& watch) const {
  const WholeAnswer answer = solve_whole(programme, options, watch);
  Choice choice{.value = answer.gain,
                .bound = answer.bound,
                .possible = answer.found,
                .finished = answer.finished,
                .columns = over.size()};
  if (answer.found) choice.picked = picked_of(over, answer);
  return choice;
}

/// Of candidates, beside those that stand.
Choice Chooser::solve(const std::vector<Row>& bounds, std::vector<std::size_t> over, double seconds,
                      std::optional<double> known, const Watch& watch,
                      const std::vector<Picked>& standing) const {
  Programme programme = programme_of(bounds, over);
  for (const Picked& one : standing) {
    over.push_back(one.candidate);
    programme.columns.push_back(column_of(one.candidate));
    programme.columns.back().least = programme.columns.back().most = one.times;
  }
  return chosen(
      programme, over,
      {.seconds = seconds, .gap = allocation_.options.gap, .known = known, .thorough = standing.empty()},
      watch);
}

/// What brings most over the draws. By the mean first, which takes a moment and which the mean of the worst
/// never passes; then, of the worst, only what is better.
Choice Chooser::most_drawn(Programme programme, const std::vector<std::size_t>& over, double seconds,
                           const Watch& watch) const {
  const Clock clock(seconds);
  const double gap = allocation_.options.gap;
  Choice best = chosen(programme, over, {.seconds = seconds * (by_worst() ? 0.25 : 1), .gap = gap}, watch);
  if (!by_worst()) return best;
  best.value = value_of(best.picked);
  prefer_worst(programme, over);
  const auto known = best.possible ? std::optional(best.value) : std::nullopt;
  Choice found = chosen(programme, over, {.seconds = clock.left(), .gap = gap, .known = known}, watch);
  const double bound = std::min(best.bound, found.bound);
  const bool finished = found.finished;
  if (found.possible) best = std::move(found);
  best.bound = std::max(bound, best.value);
  best.finished = finished;
  return best;
}

/// Dives find a choice, each without what the one before it began with.
Choice Chooser::dive_often(const std::vector<Row>& bounds, double seconds, const Watch& watch) {
  const Clock clock(seconds);
  Choice best{.possible = false};
  std::vector<std::size_t> without;
  for (int dives = 0; dives < dives_most && clock.left() > 0; ++dives) {
    Choice found = dive(without, clock, watch);
    if (found.possible && keeps(found, bounds, Timing::on_paper) &&
        (!best.possible || found.value > best.value))
      best = std::move(found);
    best.bound = solve_linear(bounds, watch);
    if (best.possible && is_near(best)) break;
    if (!first_held_) break;
    without.push_back(*first_held_);
  }
  return best;
}

/// A dive's columns are whole to a millionth; made quite whole they may go beyond a limit.
bool Chooser::keeps(const Choice& choice, const std::vector<Row>& bounds, Timing timing) const {
  for (std::size_t k = 0; k < candidates_.limits().size(); ++k) {
    double sum = 0;
    for (const Picked& one : choice.picked) sum += one.times * candidates_.takes(one.candidate)[k];
    const Row& bound = bounds[allocation_.lots.size() + k];
    const double slack = 1e-7 * std::max(1.0, std::abs(sum));
    const Limit& limit = candidates_.limits()[k];
    const bool counts = (!limit.buyer || sum > 0) && !(limit.timed() && timing == Timing::by_timetable);
    if (counts && (sum > bound.most + slack || sum < bound.least - slack)) return false;
  }
  return true;
}

bool Chooser::is_near(const Choice& choice) const {
  return choice.bound - choice.value <= allocation_.options.gap * std::abs(choice.bound);
}

/// The whole programme over these: what is better than the best so far takes its place. What none of them can
/// pass.
double Chooser::improve(Choice& best, const std::vector<Row>& bounds, const std::vector<std::size_t>& over,
                        double seconds, const Watch& watch) const {
  std::optional<double> known;
  if (best.possible) known = best.value;
  Choice found = solve(bounds, over, seconds, known, watch);
  const double bound = best.bound, reached = found.bound;
  const bool finished = found.finished;
  if (found.possible && (!best.possible || found.value > best.value)) best = std::move(found);
  best.columns = over.size();
  best.finished = finished;
  best.bound = bound;
  return reached;
}

/// What promises most of those that are not in it, which is by rising number.
double Chooser::left_out_of(const std::vector<std::size_t>& over) const {
  double most = -unbounded;
  auto next = over.begin();
  for (std::size_t i = 0; i < promise_.size(); ++i) {
    if (next != over.end() && *next == i) ++next;
    else most = std::max(most, promise_[i]);
  }
  return most;
}

/// A candidate that promises less than a choice lies below the linear programme is in no better one, and no
/// choice with a candidate passes the linear programme by more than it promises. So the whole programme is
/// solved over those that promise most. Where that leaves too much open, the choice is made better in parts,
/// which takes many out, and the programme is solved over more of them.
Choice Chooser::choose(const std::vector<Row>& bounds, double seconds, const Choice* known,
                       const Watch& watch) {
  const Clock clock(seconds);
  if (drawn_ != nullptr) {
    const std::vector<std::size_t> over = within(unbounded, columns_most);
    return most_drawn(programme_of(bounds, over), over, seconds, watch);
  }
  Choice best = known != nullptr ? *known : dive_often(bounds, seconds / 10, watch);
  best.bound = solve_linear(bounds, watch);
  if (is_done(best)) return best;
  if (settle(best, bounds, columns_first, clock.left() / 6, watch)) return best;
  if (best.possible) {
    const double settled = best.bound;
    const std::size_t looked_at = candidates_.size();
    improve_in_parts(best, bounds, clock.left() * 0.6, watch);
    best.bound = solve_linear(bounds, watch);
    if (candidates_.size() == looked_at) best.bound = std::min(best.bound, settled);
    if (is_done(best)) return best;
  }
  settle(best, bounds, columns_most, clock.left(), watch);
  return best;
}

bool Chooser::is_done(Choice& best) const {
  best.finished = best.possible && is_near(best);
  return best.finished;
}

/// The whole programme over so many candidates at most. Whether nothing is left open.
bool Chooser::settle(Choice& best, const std::vector<Row>& bounds, std::size_t columns, double seconds,
                     const Watch& watch) const {
  const double linear = linear_->gain(), hair = 1e-9 * std::abs(linear);
  const std::vector<std::size_t> over =
      within(best.possible ? linear - best.value + hair : unbounded, columns);
  const double reached = improve(best, bounds, over, std::max(0.1, seconds), watch);
  const double others = linear + left_out_of(over);
  if (best.possible) best.bound = std::min(best.bound, std::max({reached, others, best.value}));
  const bool all = best.possible ? others <= best.value + hair : over.size() == promise_.size();
  const bool finished = all && best.finished;
  best.finished = is_done(best) || finished;
  return best.finished;
}

/// First the least sum of what is missed, each as a share of what is wanted; then what leaves most at that
/// sum.
Choice Chooser::nearest(const std::vector<Row>& bounds, double seconds, const Watch& watch) {
  // Candidates that fill most of what has to be filled count beside those that bring most.
  const std::vector<std::size_t> over = within(unbounded, columns_near);
  Programme programme = programme_of(bounds, over);
  const WholeOptions options{.seconds = seconds / 2, .gap = allocation_.options.gap};
  const WholeAnswer reached = miss_least(programme, options, watch);
  Choice choice = drawn_ != nullptr ? most_drawn(programme, over, seconds / 2, watch)
                                    : chosen(programme, over, options, watch);
  const bool valued = choice.possible;
  if (!valued && reached.found) choice.picked = picked_of(over, reached);
  if (!valued) choice.value = choice.bound = value_of(choice.picked);
  choice.possible = -reached.gain < 1e-9 && (valued || reached.found);
  choice.finished = choice.finished && reached.finished;
  const bool all = drawn_ != nullptr || over.size() == promise_.size();
  if (!all || !valued || !(choice.possible || reached.finished)) widen_bound(choice, bounds, watch);
  return choice;
}

/// A row that has to reach something is filled by a column of its own, at a loss by the share of it; that is
/// the answer's gain. Another row sums these, so that from then on the programme misses no more: where the
/// least was not found in time, nothing.
WholeAnswer Chooser::miss_least(Programme& programme, const WholeOptions& options, const Watch& watch) {
  const std::vector<Column> stated = programme.columns;
  const std::size_t limited = programme.rows.size();
  for (Column& column : programme.columns) column.gain = 0;
  programme.rows.push_back({});
  for (std::size_t r = 0; r < limited; ++r)
    if (const double least = programme.rows[r].least; least > 0)
      programme.columns.push_back(
          {.gain = -whole_share,
           .least = 0,
           .most = unbounded,
           .whole = false,
           .entries = {{static_cast<int>(r), least}, {static_cast<int>(limited), 1}}});
  WholeAnswer answer = solve_whole(programme, options, watch);
  answer.gain = std::min(0.0, answer.gain / whole_share);
  programme.rows[limited].most = -answer.gain * (1 + 1e-7) + 1e-9;
  for (std::size_t c = 0; c < programme.columns.size(); ++c)
    programme.columns[c].gain = c < stated.size() ? stated[c].gain : 0;
  return answer;
}

/// What was looked for among some of the candidates, or in too little time, is bounded by the linear
/// programme over all: where that cannot keep the limits, no choice does.
void Chooser::widen_bound(Choice& choice, const std::vector<Row>& bounds, const Watch& watch) {
  const std::optional<double> linear =
      drawn_ != nullptr ? linear_over_draws(bounds) : linear_bound(bounds, watch);
  if (!linear) return;
  choice.bound = std::max(*linear, choice.value);
  choice.finished = choice.possible && is_near(choice);
}

std::optional<double> Chooser::linear_bound(const std::vector<Row>& bounds, const Watch& watch) {
  const double linear = solve_linear(bounds, watch);
  if (!linear_keeps_limits()) return std::nullopt;
  return linear;
}

/// By the means of what was drawn, which no mean of the worst draws passes.
std::optional<double> Chooser::linear_over_draws(const std::vector<Row>& bounds) const {
  const Programme programme = programme_of(bounds, within(unbounded, promise_.size()));
  LinearProgramme linear(programme.rows);
  linear.add(programme.columns);
  if (!linear.solve()) return std::nullopt;
  return linear.gain();
}

bool Chooser::linear_keeps_limits() const {
  const std::vector<double> values = linear_->values();
  return std::all_of(values.begin() + static_cast<std::ptrdiff_t>(asking_.size()),
                     values.begin() + static_cast<std::ptrdiff_t>(fixed_),
                     [](double miss) { return miss < 1e-6; });
}

}  // namespace buttonworth
