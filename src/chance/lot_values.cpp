#include "chance/lot_values.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

#include "chance/blocks.hpp"
#include "chance/lot_model.hpp"
#include "chance/simulate.hpp"
#include "chance/tape_player.hpp"
#include "chance/uniform.hpp"
#include "chance/worths.hpp"
#include "quantity/short_text.hpp"

namespace buttonworth {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double impossible_mark = -std::numeric_limits<double>::infinity();

/// Lots of a block: some rows of the tape.
constexpr std::size_t block_lots = 4096;
constexpr std::size_t most_left_out = 10;
/// What no route of a lot leaves: sums stay exact below it.
constexpr double too_much_money = 1e14;

/// Nearest, halves away from 0.
std::int64_t ten_thousandths(double amount) {
  const double scaled = amount * 1e4;
  return static_cast<std::int64_t>(scaled + (scaled < 0 ? -0.5 : 0.5));
}

/// Sums over lots: the same in any order.
struct LotSums {
  explicit LotSums(std::size_t routes = 0, std::size_t draws = 0, std::size_t inputs = 0)
      : routes(routes), draws(draws), held(inputs) {}

  struct OfRoute {
    std::int64_t best = 0, refused = 0;
    TenThousandths sum = 0, best_sum = 0;
  };
  std::vector<OfRoute> routes;
  std::vector<TenThousandths> draws;
  std::vector<std::int64_t> held;
  TenThousandths sum = 0;
  std::int64_t counted = 0, refused = 0, impossible = 0, unreadable = 0, impossible_draws = 0;
  std::vector<std::int64_t> left_out;  ///< rows, the first few

  void clear() { *this = LotSums(routes.size(), draws.size(), held.size()); }
  void leave_out(std::int64_t row) {
    if (left_out.size() < most_left_out) left_out.push_back(row);
  }
  void add(const LotSums& more) {
    for (std::size_t r = 0; r < routes.size(); ++r) {
      routes[r].best += more.routes[r].best;
      routes[r].refused += more.routes[r].refused;
      routes[r].sum += more.routes[r].sum;
      routes[r].best_sum += more.routes[r].best_sum;
    }
    for (std::size_t j = 0; j < draws.size(); ++j) draws[j] += more.draws[j];
    for (std::size_t i = 0; i < held.size(); ++i) held[i] += more.held[i];
    sum += more.sum;
    counted += more.counted;
    refused += more.refused;
    impossible += more.impossible;
    unreadable += more.unreadable;
    impossible_draws += more.impossible_draws;
    for (std::int64_t row : more.left_out) leave_out(row);
  }
};

class Valuing {
 public:
  Valuing(const Plan& plan, const LotOptions& options, const std::vector<LotColumn>& columns,
          std::size_t rows, const LotFigures& out, const Watch& watch)
      : plan_(plan),
        options_(options),
        columns_(columns),
        rows_(rows),
        out_(out),
        watch_(watch),
        means_(plan),
        drawing_(plan, options.together,
                 {static_cast<std::int64_t>(options.draws), options.seed, DrawMethod::philox}),
        comparison_(compare(means_, {false, options.routes}, QuietWatch(watch))) {
    take_inputs();
    worths_ = worth_program(means_, quantities(), hold_cuts(comparison_), too_much_money);
    soundness_ = soundness_program(means_, quantities());
    model_.drawing = &drawing_;
    model_.worths = &worths_;
    model_.routes = comparison_.routes.size();
    model_.draws = options.draws;
    draw_market();
  }

  LotValues run() {
    LotSums sums(model_.routes, model_.draws, model_.inputs.size());
    const std::size_t blocks = (rows_ + block_lots - 1) / block_lots;
    Turns(blocks, watch_, 0, static_cast<std::int64_t>(std::max<std::size_t>(1, blocks)))
        .run(
            options_.threads, [&] { return State(model_, soundness_, sums); },
            [&](State& state, std::size_t number) { work(state, number * block_lots); },
            [&](State& state, std::size_t) { sums.add(state.sums); });
    return told(sums);
  }

 private:
  struct State {
    State(const LotModel& model, const Program& soundness, const LotSums& like)
        : worker(make_lot_worker(model)),
          checks(soundness),
          row(model),
          sums(like.routes.size(), like.draws.size(), like.held.size()),
          readable(lot_row),
          sound(lot_row),
          best(lot_row),
          mean(model.routes * lot_row),
          sd(model.routes * lot_row) {}
    std::unique_ptr<LotWorker> worker;
    TapePlayer<Lanes> checks;
    LotRow row;
    LotSums sums;
    std::vector<std::uint8_t> readable;  // by lot: whether every number is one that its field allows
    std::vector<std::uint8_t> sound;     // by lot: whether the plan could be read with them
    std::vector<std::size_t> best;       // by lot; the number of routes where there is none
    std::vector<double> mean, sd;        // by route, then lot
  };

  // ---- What is valued --------------------------------------------------------------------------

  /// The columns' quantities, then what else is drawn.
  void take_inputs() {
    for (std::size_t c = 0; c < columns_.size(); ++c) add_input(columns_[c].quantity).column = c;
    const auto& drawn = drawing_.inputs();
    for (std::size_t i = 0; options_.draws > 0 && i < drawn.size(); ++i) {
      const auto is_it = [&](const LotInput& one) { return one.quantity.index == drawn[i].quantity.index; };
      const auto had = std::find_if(model_.inputs.begin(), model_.inputs.end(), is_it);
      LotInput& one = had != model_.inputs.end() ? *had : add_input(drawn[i].quantity);
      one.drawn = i;
      one.by_lot = is_of_the_lot(plan_, one.quantity);
      one.relative = one.column && columns_[*one.column].relative;
    }
  }
  LotInput& add_input(Quantity quantity) {
    const StatedQuantity& stated = plan_.quantities[quantity];
    LotInput& one = model_.inputs.emplace_back();
    one.quantity = quantity;
    one.mean = to_double(stated.mean);
    one.range = range_of(stated.allowed);
    return one;
  }
  std::vector<Quantity> quantities() const {
    std::vector<Quantity> all;
    for (const LotInput& one : model_.inputs) all.push_back(one.quantity);
    return all;
  }

  /// What is drawn once for all lots, as a simulation by Philox's numbers draws it.
  void draw_market() {
    const auto& dimensions = drawing_.dimensions();
    std::vector<double> share(dimensions.size()), score(dimensions.size());
    for (std::size_t draw = 0; draw < model_.draws; ++draw) {
      for (std::size_t d = 0; d < dimensions.size(); ++d) {
        share[d] =
            open_unit(philox_pair(options_.seed, static_cast<std::uint32_t>(d), draw / 2, 0)[draw % 2]);
        score[d] = normal_score(share[d]);
      }
      if (drawing_.copula().couples_any()) drawing_.copula().couple(score.data());
      for (const LotInput& one : model_.inputs)
        model_.market.push_back(one.drawn && !one.by_lot ? drawn(drawing_.inputs()[*one.drawn], share, score)
                                                         : 0);
    }
  }
  double drawn(const Input& input, const std::vector<double>& share, const std::vector<double>& score) const {
    const bool by_score = drawing_.dimensions()[input.dimension].coupled || input.marginal.wants_score();
    return by_score ? input.marginal.from_score(score[input.dimension])
                    : input.marginal.from_share(share[input.dimension]);
  }

  // ---- A block of lots -------------------------------------------------------------------------

  void work(State& state, std::size_t first) {
    state.sums.clear();
    const std::size_t end = std::min(first + block_lots, rows_);
    for (std::size_t at = first; at < end; at += lot_row) {
      watch_.keep_going();
      state.row.first = options_.first + static_cast<std::int64_t>(at);
      state.row.count = std::min(lot_row, end - at);
      read(state, at);
      check(state);
      state.worker->work(state.row);
      judge(state);
      sum_up(state);
      hand_out(state, at);
    }
  }

  /// What stands in a column, in the library's unit.
  double value(const LotInput& one, std::size_t row) const {
    return number(*one.column, row) * to_double(plan_.quantities[one.quantity].unit_factor);
  }
  double number(std::size_t column, std::size_t row) const {
    return columns_[column].numbers[static_cast<std::int64_t>(row) * columns_[column].stride];
  }

  /// The lots' values; in a row that cannot be read the plan's own stand instead, and are not counted.
  void read(State& state, std::size_t at) const {
    std::fill(state.readable.begin(), state.readable.end(), 1);
    for (std::size_t i = 0; i < model_.inputs.size(); ++i) {
      const LotInput& one = model_.inputs[i];
      double* const values = &state.row.values[i * lot_row];
      std::fill_n(values, lot_row, one.mean);
      if (!one.column) continue;
      const double unit = to_double(plan_.quantities[one.quantity].unit_factor);
      for (std::size_t k = 0; k < state.row.count; ++k) {
        const double value = number(*one.column, at + k) * unit;
        if (one.range.holds(value)) values[k] = value;
        else state.readable[k] = 0;
      }
    }
  }

  /// What a plan's reading checks between its values, of the lots' own.
  void check(State& state) const {
    const Program::Output& wrong = soundness_.outputs.front();
    if (wrong.value.constant()) {
      std::fill(state.sound.begin(), state.sound.end(), wrong.value.value == 0);
      return;
    }
    for (std::size_t i = 0; i < model_.inputs.size(); ++i)
      std::copy_n(&state.row.values[i * lot_row], lot_row, state.checks.numbers(soundness_.inputs[i]));
    state.checks.play(TapePlayer<Lanes>::packs);
    const double* const bits = state.checks.numbers(wrong.place);
    for (std::size_t k = 0; k < lot_row; ++k) state.sound[k] = std::bit_cast<std::uint64_t>(bits[k]) == 0;
  }

  /// Means and spreads over a lot's possible draws, and its best route.
  void judge(State& state) const {
    const LotRow& row = state.row;
    std::fill(state.mean.begin(), state.mean.end(), 0.0);
    std::fill(state.sd.begin(), state.sd.end(), 0.0);
    for (std::size_t r = 0; r < model_.routes; ++r) {
      double* const mean = &state.mean[r * lot_row];
      for (std::size_t draw = 0; draw < model_.times(); ++draw) {
        const double* const worth = row.worth_of(draw, r, model_);
        for (std::size_t k = 0; k < lot_row; ++k) mean[k] += worth[k];
      }
      for (std::size_t k = 0; k < row.count; ++k) mean[k] /= possible_draws(row, k);
      if (model_.draws > 0) spread(state, r);
      for (std::size_t k = 0; k < row.count; ++k)
        if (closed(row, r, k)) mean[k] = state.sd[r * lot_row + k] = nan;
    }
    for (std::size_t k = 0; k < row.count; ++k) state.best[k] = best_of(state, k);
  }
  double possible_draws(const LotRow& row, std::size_t k) const {
    return std::max(1.0, static_cast<double>(model_.times()) - row.times_broken[k]);
  }
  /// Whether the route is refused in every possible draw.
  bool closed(const LotRow& row, std::size_t r, std::size_t k) const {
    return row.refused[r * lot_row + k] >= possible_draws(row, k);
  }
  void spread(State& state, std::size_t r) const {
    const LotRow& row = state.row;
    const double* const mean = &state.mean[r * lot_row];
    double* const sd = &state.sd[r * lot_row];
    for (std::size_t draw = 0; draw < model_.draws; ++draw) {
      const double* const worth = row.worth_of(draw, r, model_);
      const std::uint8_t* const broken = &row.broken[draw * lot_row];
      for (std::size_t k = 0; k < lot_row; ++k) {
        const double off = broken[k] != 0 ? 0 : worth[k] - mean[k];
        sd[k] += off * off;
      }
    }
    for (std::size_t k = 0; k < row.count; ++k)
      sd[k] = std::sqrt(sd[k] / std::max(1.0, possible_draws(row, k) - 1));
  }
  /// The first of those that are as good; the number of routes where all are closed.
  std::size_t best_of(const State& state, std::size_t k) const {
    std::size_t best = model_.routes;
    for (std::size_t r = 0; r < model_.routes; ++r) {
      const double mean = state.mean[r * lot_row + k];
      if (!std::isnan(mean) && (best == model_.routes || mean > state.mean[best * lot_row + k])) best = r;
    }
    return best;
  }

  bool impossible(const State& state, std::size_t k) const {
    return state.sound[k] == 0 || 2 * static_cast<std::size_t>(state.row.times_broken[k]) > model_.times();
  }

  void sum_up(State& state) const {
    LotSums& sums = state.sums;
    for (std::size_t k = 0; k < state.row.count; ++k) {
      const bool none = state.readable[k] == 0;
      if (!none && !impossible(state, k)) {
        count(state, k);
        continue;
      }
      state.best[k] = model_.routes;
      ++(none ? sums.unreadable : sums.impossible);
      sums.leave_out(state.row.first + static_cast<std::int64_t>(k));
    }
    sum_up_draws(state);
    for (std::size_t i = 0; i < sums.held.size(); ++i) sums.held[i] += state.row.held[i];
  }
  /// A lot with figures.
  void count(State& state, std::size_t k) const {
    LotSums& sums = state.sums;
    ++sums.counted;
    sums.impossible_draws += state.row.times_broken[k];
    for (std::size_t r = 0; r < model_.routes; ++r) {
      const double mean = state.mean[r * lot_row + k];
      if (std::isnan(mean)) ++sums.routes[r].refused;
      else sums.routes[r].sum += ten_thousandths(mean);
    }
    const std::size_t best = state.best[k];
    if (best == model_.routes) {
      ++sums.refused;
      return;
    }
    const double mean = state.mean[best * lot_row + k];
    ++sums.routes[best].best;
    sums.routes[best].best_sum += ten_thousandths(mean);
    sums.sum += ten_thousandths(mean);
  }
  /// Every counted lot by its best route, draw by draw.
  void sum_up_draws(State& state) const {
    for (std::size_t draw = 0; draw < model_.draws; ++draw) {
      const std::uint8_t* const broken = &state.row.broken[draw * lot_row];
      TenThousandths sum = 0;
      for (std::size_t k = 0; k < state.row.count; ++k) {
        const std::size_t best = state.best[k];
        if (best == model_.routes) continue;
        sum += ten_thousandths(broken[k] != 0 ? state.mean[best * lot_row + k]
                                              : state.row.worth_of(draw, best, model_)[k]);
      }
      state.sums.draws[draw] += sum;
    }
  }

  void hand_out(const State& state, std::size_t at) const {
    for (std::size_t k = 0; k < state.row.count; ++k) {
      const bool none = state.readable[k] == 0, broken = !none && impossible(state, k);
      for (std::size_t r = 0; r < model_.routes; ++r) {
        const std::size_t to = (at + k) * model_.routes + r, from = r * lot_row + k;
        const auto figure = [&](double given) { return none ? nan : broken ? impossible_mark : given; };
        if (out_.means != nullptr) out_.means[to] = figure(state.mean[from]);
        if (out_.sds != nullptr) out_.sds[to] = figure(state.sd[from]);
      }
    }
  }

  // ---- What is told ----------------------------------------------------------------------------

  RowLeftOut left_out(std::int64_t row) const {
    const auto at = static_cast<std::size_t>(row - options_.first);
    for (const LotInput& one : model_.inputs)
      if (one.column && !one.range.holds(value(one, at)))
        return {row, one.column, number(*one.column, at), {}};
    return {row, {}, 0, fault_of(at)};
  }
  /// Why a lot at its own values cannot be worked out, in the words of the comparison.
  std::string fault_of(std::size_t at) const {
    std::vector<Quantity> set;
    std::vector<double> values;
    for (const LotInput& one : model_.inputs) {
      if (!one.column) continue;
      set.push_back(one.quantity);
      values.push_back(value(one, at));
    }
    const QuietWatch quiet(watch_);
    Worths worths(plan_, {options_.routes, BestCuts::held}, set, quiet);
    worths.at(values);
    if (worths.fault()) return worths.fault()->reason;
    if (!worths.impossible().empty()) return worths.impossible().front().reason;
    return model_.draws > 0
               ? "more than half of its draws break physics"
               : "a stream that no cut was found for at the plan's values, or money beyond all measure";
  }

  LotValues told(const LotSums& sums) const {
    LotValues out;
    out.plan = &plan_;
    out.rows = static_cast<std::int64_t>(rows_);
    out.counted = sums.counted;
    out.refused = sums.refused;
    out.impossible = sums.impossible;
    out.unreadable = sums.unreadable;
    out.sum = sums.sum;
    out.draws = sums.draws;
    out.impossible_draws = sums.impossible_draws;
    for (std::int64_t row : sums.left_out) out.left_out.push_back(left_out(row));
    for (std::size_t r = 0; r < model_.routes; ++r) {
      const RouteResult<double>& route = comparison_.routes[r];
      const LotSums::OfRoute& of = sums.routes[r];
      out.routes.push_back({route.route, route.ledger.conditional, of.best, of.refused, of.sum, of.best_sum});
    }
    for (std::size_t i = 0; i < columns_.size(); ++i) out.held.push_back(sums.held[i]);
    out.cautions = comparison_.cautions;
    caution_cuts(out.cautions);
    return out;
  }
  /// A cut that was found is found for the plan's own lot.
  void caution_cuts(std::vector<Caution>& cautions) const {
    for (const RouteResult<double>& result : comparison_.routes)
      for (std::size_t visit = 0; visit < result.ledger.pulls.size(); ++visit) {
        const Step& step = plan_.steps[result.route->tables[visit]];
        const std::optional<double>& pull = result.ledger.pulls[visit];
        if (!pull || std::get<Table>(step.kind).cut.how == Cut::How::pull) continue;
        cautions.push_back({step.basics.name, "route " + result.route->name + ": every lot is cut at " +
                                                  short_percent(*pull) +
                                                  ", which was found for the plan's own lot"});
      }
  }

  const Plan& plan_;
  const LotOptions& options_;
  const std::vector<LotColumn>& columns_;
  const std::size_t rows_;
  const LotFigures out_;
  const Watch& watch_;
  Prepared<double> means_;
  Drawing drawing_;
  Comparison<double> comparison_;
  Program worths_, soundness_;
  LotModel model_;
};

}  // namespace

bool is_of_the_lot(const Plan& plan, Quantity quantity) {
  return plan.quantities[quantity].place.starts_with("/lot/");
}

LotValues value_lots(const Plan& plan, const LotOptions& options, const std::vector<LotColumn>& columns,
                     std::size_t rows, const LotFigures& out, const Watch& watch) {
  return Valuing(plan, options, columns, rows, out, watch).run();
}

}  // namespace buttonworth
