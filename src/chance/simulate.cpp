#include "chance/simulate.hpp"

#include <algorithm>
#include <cmath>
#include <list>
#include <numeric>
#include <utility>

#include "chance/rank.hpp"

namespace buttonworth {
namespace {

/// Held in memory between looks; beyond, draws are worked out again.
constexpr std::size_t most_held_bytes = std::size_t{1} << 26;
/// Sums by class for each part and thread; beyond, inputs are not told apart.
constexpr std::size_t most_class_sums = 2'000'000;

/// A value's rank among a route's: the exact order statistic is gathered from one step of its histogram.
struct Wanted {
  std::int64_t rank = 0, before = 0;
  std::size_t step = 0;
  std::map<double, std::int64_t> found;

  double value() const {
    std::int64_t left = rank - before;
    for (const auto& [value, times] : found)
      if ((left -= times) <= 0) return value;
    return found.empty() ? 0 : found.rbegin()->first;
  }
};

enum { low, worst, middle, high, wanted_count };
constexpr std::array<std::int64_t, wanted_count> wanted_thousandths{25, worst_thousandths, 500, 975};

/// What a second look gathers of a route.
struct RouteLook {
  std::array<Wanted, wanted_count> wanted;
  double below_worst = 0;  ///< worth less its centre, in the steps before the one of the worst 5 %
};

/// The lead of one route over another, draw by draw, less its mean over all draws.
struct LeadSums {
  explicit LeadSums(std::size_t dimensions = 0) : classes(dimensions, 1) {}

  std::int64_t ahead_twice = 0;  ///< 2 where ahead, 1 where equal
  double squares = 0;

  // Of the draws in which neither is refused: one refusal in a hundred would drown the rest.
  Moments taken;
  ClassSums classes;

  void add(const LeadSums& more) {
    ahead_twice += more.ahead_twice;
    squares += more.squares;
    taken.add(more.taken);
    classes.add(more.classes);
  }
};

class Simulating {
 public:
  Simulating(const Plan& plan, const SimulateOptions& options, const Watch& watch)
      : plan_(plan),
        options_(options),
        watch_(watch),
        means_(plan),
        drawing_(plan, options.together, options.numbers),
        comparison_(compare(means_, {false, options.routes}, QuietWatch(watch))),
        worths_(worth_program(means_, drawing_, hold_cuts(comparison_))),
        drawn_{&drawing_, &worths_, options.keep},
        places_(options.numbers.draws) {
    for (const RouteResult<double>& route : comparison_.routes)
      centres_.push_back(route.refused() ? 0 : route.ledger.sums.present_value);
    const std::size_t dimensions = drawing_.dimensions().size();
    told_dimensions_ = dimensions * class_count * (routes() + 1) <= most_class_sums ? dimensions : 0;
    lead_ = LeadSums(told_dimensions_);
    looks_ = by_worst() ? 3 : 2;
  }

  Simulation run() {
    look_ahead();
    first_look();
    refuse_if_broken();
    Simulation out;
    begin(out);
    find_by_mean(out);
    if (!by_worst()) choose(out);
    second_look(out);
    find_by_worst(out);
    if (by_worst()) look_at_lead(out);
    find_lead(out);
    find_inputs(out);
    if (options_.keep) hand_out(out);
    return out;
  }

 private:
  std::size_t routes() const { return centres_.size(); }
  bool by_worst() const { return options_.prefer == Preference::worst_mean; }
  std::size_t block_bytes() const { return block_draws * (routes() * 9 + 1 + drawing_.dimensions().size()); }
  bool holds() const { return options_.keep || places_.size() * block_bytes() <= most_held_bytes; }

  // ---- Blocks ----------------------------------------------------------------------------------

  template <class Make, class Take, class Merge>
  void look(Make make, Take take, Merge merge) {
    const auto blocks = static_cast<std::int64_t>(places_.size());
    Turns(places_.size(), watch_, looked_ * blocks, looks_ * blocks).run(options_.threads, make, take, merge);
    ++looked_;
  }

  struct Worker {
    std::unique_ptr<DrawWorker> worker;
    DrawBlock own;
    const DrawBlock* block = nullptr;
  };

  /// The block's draws, as they were held or worked out anew.
  void obtain(Worker& state, std::size_t number) {
    if (number < held_.size()) {
      state.block = &held_[number];
      return;
    }
    if (number == 0 && ahead_.count > 0) {
      state.own = std::exchange(ahead_, {});
      state.block = &state.own;
      return;
    }
    if (!state.worker) state.worker = make_worker(drawn_);
    const BlockPlace place = places_[number];
    state.worker->work(place.first, place.count, state.own);
    state.block = &state.own;
  }

  /// The first block tells where the values lie.
  void look_ahead() {
    Worker state;
    obtain(state, 0);
    for (std::size_t r = 0; r < routes(); ++r) {
      std::vector<double> sample;
      for (std::size_t draw = 0; draw < state.block->count; ++draw)
        if (!state.block->broken[draw]) sample.push_back(state.block->worth_of(draw)[r]);
      histograms_.emplace_back(std::move(sample));
    }
    ahead_ = std::move(state.own);
  }

  // ---- First look: sums ------------------------------------------------------------------------

  struct FirstState : Worker {
    FirstState(const PartSums& empty, std::vector<Histogram>& counts) : sums(empty), histograms(&counts) {}
    PartSums sums;
    std::vector<Histogram>*
        histograms;  ///< of all the blocks that this state sees: counts add up in any order
  };

  void first_look() {
    const PartSums empty(told_dimensions_, routes());
    sums_.assign(part_count, empty);
    std::list<std::vector<Histogram>> counts;
    std::mutex counting;
    auto make = [&] {
      const std::scoped_lock lock(counting);
      return FirstState(empty, counts.emplace_back(histograms_));
    };
    std::vector<DrawBlock> kept(holds() ? places_.size() : 0);
    look(
        make,
        [&](FirstState& state, std::size_t number) {
          obtain(state, number);
          state.sums.clear();
          state.sums.take(*state.block, centres_, told_dimensions_);
          for (std::size_t draw = 0; draw < state.block->count; ++draw)
            if (!state.block->broken[draw])
              for (std::size_t r = 0; r < routes(); ++r)
                (*state.histograms)[r].count(state.block->worth_of(draw)[r]);
          if (!kept.empty()) kept[number] = std::move(state.own);
        },
        [&](FirstState& state, std::size_t number) { sums_[places_[number].part].add(state.sums); });
    for (const std::vector<Histogram>& some : counts)
      for (std::size_t r = 0; r < routes(); ++r) histograms_[r].add(some[r]);
    held_ = std::move(kept);
    for (const PartSums& part : sums_) {
      counted_ += part.counted;
      broken_ += part.broken;
    }
  }

  void refuse_if_broken() const {
    if (broken_ * 2 <= options_.numbers.draws) return;
    throw Error(Code::range,
                "more than half of the draws break physics (recoveries that fall, more metal than mass): the "
                "spreads stated are too wide for the values they stand beside");
  }

  // ---- Routes ----------------------------------------------------------------------------------

  double mean_of(std::size_t route) const {
    double sum = 0;
    for (const PartSums& part : sums_) sum += part.sum[route];
    return sum / static_cast<double>(counted_) + centres_[route];
  }
  double part_mean(std::size_t part, std::size_t route) const {
    const auto counted = static_cast<double>(std::max<std::int64_t>(1, sums_[part].counted));
    return sums_[part].sum[route] / counted + centres_[route];
  }
  /// From independent scramblings, or as of independent draws.
  double error_of_mean(const std::array<double, part_count>& part_means, double sd) const {
    if (options_.numbers.method == DrawMethod::philox) return sd / std::sqrt(static_cast<double>(counted_));
    return standard_error_of(part_means);
  }

  RouteChance chance_of(std::size_t r) const {
    RouteChance chance;
    chance.route = comparison_.routes[r].route;
    if (!comparison_.routes[r].refused()) chance.plan = centres_[r];
    chance.conditional = comparison_.routes[r].ledger.conditional;
    const auto n = static_cast<double>(counted_);
    double squares = 0, best = 0, refused = 0;
    std::array<double, part_count> part_means;
    for (std::size_t p = 0; p < part_count; ++p) {
      squares += sums_[p].squares[r];
      best += static_cast<double>(sums_[p].times_best[r]);
      refused += static_cast<double>(sums_[p].times_refused[r]);
      part_means[p] = part_mean(p, r);
    }
    chance.mean = mean_of(r);
    const double off = chance.mean - centres_[r];
    chance.sd = std::sqrt(std::max(0.0, (squares - n * off * off) / std::max(1.0, n - 1)));
    chance.standard_error = error_of_mean(part_means, chance.sd);
    chance.best_share = best / n;
    chance.refused_share = refused / n;
    return chance;
  }

  void begin(Simulation& out) const {
    out.plan = &plan_;
    out.draws = options_.numbers.draws;
    out.counted = counted_;
    out.plan_best = comparison_.best;
    out.cautions = comparison_.cautions;
    for (std::size_t r = 0; r < routes(); ++r) out.routes.push_back(chance_of(r));
  }

  /// A route that is refused in every draw is no choice, if there is another; of all, or of all but one.
  template <class Measure>
  std::size_t best_by(const Simulation& out, Measure measure, std::optional<std::size_t> but = {}) const {
    auto nobody_takes = [](const RouteChance& one) { return one.refused_share >= 1; };
    std::size_t best = but == std::size_t{0} ? 1 : 0;
    for (std::size_t r = 1; r < out.routes.size(); ++r) {
      if (but == r) continue;
      const RouteChance &one = out.routes[r], &had = out.routes[best];
      if (nobody_takes(one)) continue;
      if (nobody_takes(had) || measure(one) > measure(had)) best = r;
    }
    return best;
  }

  /// What follows from the sums: regrets, and what certainty is worth.
  void find_by_mean(Simulation& out) const {
    double best = 0;
    for (const PartSums& part : sums_) best += part.best;
    best = best / static_cast<double>(counted_) + centres_[0];
    for (RouteChance& route : out.routes) route.regret = std::max(0.0, best - route.mean);
    out.by_mean = best_by(out, [](const RouteChance& one) { return one.mean; });
    out.by_mean_less_sd =
        best_by(out, [&](const RouteChance& one) { return one.mean - options_.sds * one.sd; });
    out.worth_of_certainty = out.routes[out.by_mean].regret;
    std::array<double, part_count> part_worth;
    for (std::size_t p = 0; p < part_count; ++p) {
      const auto counted = static_cast<double>(std::max<std::int64_t>(1, sums_[p].counted));
      part_worth[p] = sums_[p].best / counted + centres_[0] - part_mean(p, out.by_mean);
    }
    out.worth_standard_error = standard_error_of(part_worth);
  }

  // ---- Second look: quantiles and the worst draws ------------------------------------------------

  std::vector<RouteLook> wanted() const {
    std::vector<RouteLook> looks(routes());
    for (std::size_t r = 0; r < routes(); ++r)
      for (std::size_t k = 0; k < wanted_count; ++k) {
        Wanted& one = looks[r].wanted[k];
        one.rank = rank_of(counted_, wanted_thousandths[k]);
        std::tie(one.step, one.before) = histograms_[r].step_at(one.rank);
      }
    return looks;
  }

  struct SecondState : Worker {
    std::vector<std::array<std::vector<double>, wanted_count>> values;
    std::vector<double> below;
    LeadSums lead;
  };

  void take_second(SecondState& state) const {
    state.values.assign(routes(), {});
    state.below.assign(routes(), 0.0);
    for (std::size_t draw = 0; draw < state.block->count; ++draw) {
      if (state.block->broken[draw]) continue;
      for (std::size_t r = 0; r < routes(); ++r) {
        const double worth = state.block->worth_of(draw)[r];
        const std::size_t step = histograms_[r].step_of(worth);
        for (std::size_t k = 0; k < wanted_count; ++k)
          if (step == looks_of_[r].wanted[k].step) state.values[r][k].push_back(worth);
        if (step < looks_of_[r].wanted[worst].step) state.below[r] += worth - centres_[r];
      }
    }
  }

  void second_look(Simulation& out) {
    looks_of_ = wanted();
    look([] { return SecondState(); },
         [&](SecondState& state, std::size_t number) {
           obtain(state, number);
           take_second(state);
           state.lead = lead_in(*state.block, out.lead);
         },
         [&](SecondState& state, std::size_t) {
           for (std::size_t r = 0; r < routes(); ++r) {
             for (std::size_t k = 0; k < wanted_count; ++k)
               for (double value : state.values[r][k]) ++looks_of_[r].wanted[k].found[value];
             looks_of_[r].below_worst += state.below[r];
           }
           lead_.add(state.lead);
         });
    for (std::size_t r = 0; r < routes(); ++r) {
      const RouteLook& look = looks_of_[r];
      out.routes[r].low = look.wanted[low].value();
      out.routes[r].median = look.wanted[middle].value();
      out.routes[r].high = look.wanted[high].value();
      out.routes[r].worst_mean = worst_mean(look, centres_[r]);
    }
  }

  /// Mean of the smallest so many: those of lower steps, and the smallest of the step they end in.
  static double worst_mean(const RouteLook& look, double centre) {
    const Wanted& edge = look.wanted[worst];
    double sum = look.below_worst;
    std::int64_t left = edge.rank - edge.before;
    for (const auto& [value, times] : edge.found) {
      const std::int64_t some = std::min(left, times);
      sum += static_cast<double>(some) * (value - centre);
      if ((left -= some) <= 0) break;
    }
    return sum / static_cast<double>(edge.rank) + centre;
  }

  void find_by_worst(Simulation& out) const {
    out.by_worst_mean = best_by(out, [](const RouteChance& one) { return one.worst_mean; });
  }

  // ---- The choice and its lead -------------------------------------------------------------------

  double measure(const RouteChance& one) const {
    return options_.prefer == Preference::mean ? one.mean
           : by_worst()                        ? one.worst_mean
                                               : one.mean - options_.sds * one.sd;
  }

  /// The route preferred and the next one by the same measure.
  void choose(Simulation& out) const {
    out.preferred = options_.prefer == Preference::mean ? out.by_mean
                    : by_worst()                        ? out.by_worst_mean
                                                        : out.by_mean_less_sd;
    if (routes() < 2) return;
    const std::size_t next = best_by(
        out, [this](const RouteChance& one) { return measure(one); }, out.preferred);
    out.lead.emplace();
    out.lead->route = out.preferred;
    out.lead->over = next;
    out.lead->mean = out.routes[out.preferred].mean - out.routes[next].mean;
  }

  LeadSums lead_in(const DrawBlock& block, const std::optional<Lead>& lead) const {
    LeadSums sums(told_dimensions_);
    if (!lead) return sums;
    std::vector<double> taken;
    for (std::size_t draw = 0; draw < block.count; ++draw) {
      if (block.broken[draw]) continue;
      const double one = block.worth_of(draw)[lead->route], other = block.worth_of(draw)[lead->over];
      const double off = one - other - lead->mean;
      sums.ahead_twice += buttonworth::same(one, other) ? 1 : one > other ? 2 : 0;
      sums.squares += off * off;
      const std::uint8_t* const refused = &block.refused[draw * block.routes];
      if (refused[lead->route] || refused[lead->over]) continue;
      taken.push_back(off);
      class_lead(block, draw, off, sums);
    }
    sums.taken = Moments::of(taken);
    return sums;
  }
  void class_lead(const DrawBlock& block, std::size_t draw, double off, LeadSums& sums) const {
    for (std::size_t d = 0; d < told_dimensions_; ++d) {
      double* const at = sums.classes.at(d, block.classes[d * block.count + draw]);
      at[0] += 1;
      at[1] += off;
    }
  }

  struct LeadState : Worker {
    LeadSums sums;
  };

  /// A third look: the choice hung on what the second found.
  void look_at_lead(Simulation& out) {
    choose(out);
    look([] { return LeadState(); },
         [&](LeadState& state, std::size_t number) {
           obtain(state, number);
           state.sums = lead_in(*state.block, out.lead);
         },
         [&](LeadState& state, std::size_t) { lead_.add(state.sums); });
  }

  void find_lead(Simulation& out) const {
    if (!out.lead) return;
    Lead& lead = *out.lead;
    const auto n = static_cast<double>(counted_);
    lead.taken = static_cast<std::int64_t>(lead_.taken.count);
    const double size = std::max(std::abs(out.routes[lead.route].mean), std::abs(out.routes[lead.over].mean));
    if (lead_.taken.sd() > edge_width<double>() * size) lead.sd = lead_.taken.sd();
    lead.ahead = static_cast<double>(lead_.ahead_twice) / (2 * n);
    std::array<double, part_count> part_leads;
    for (std::size_t p = 0; p < part_count; ++p)
      part_leads[p] = part_mean(p, lead.route) - part_mean(p, lead.over);
    lead.standard_error = error_of_mean(part_leads, std::sqrt(lead_.squares / std::max(1.0, n - 1)));
  }

  // ---- Inputs ------------------------------------------------------------------------------------

  void find_inputs(Simulation& out) const {
    out.has_inputs = told_dimensions_ == drawing_.dimensions().size();
    for (std::size_t d = 0; d < drawing_.dimensions().size(); ++d) {
      InputChance& input = out.inputs.emplace_back();
      for (const Input& one : drawing_.inputs()) {
        if (one.dimension != d) continue;
        input.quantities.push_back(one.quantity);
        input.cut_off = std::max(input.cut_off, one.marginal.cut_off());
      }
      if (!out.has_inputs) continue;
      if (out.lead && out.lead->sd > 0) input.share = share_of(d);
      find_worth(out.by_mean, d, input);
    }
    std::stable_sort(out.inputs.begin(), out.inputs.end(), [](const InputChance& a, const InputChance& b) {
      return a.share > b.share || (a.share == b.share && a.worth > b.worth);
    });
  }

  double share_of(std::size_t d) const {
    std::vector<ClassOfDraws> classes(class_count);
    for (std::size_t one = 0; one < class_count; ++one) {
      const double* const at = lead_.classes.at(d, one);
      classes[one] = {at[0], ratio(at[1], at[0])};
    }
    return share_between(classes, lead_.taken.mean, lead_.taken.squares, lead_.taken.count);
  }

  /// The gain of choosing class by class, each part by what the other parts show.
  void find_worth(std::size_t best, std::size_t d, InputChance& input) const {
    std::array<double, part_count> gains{};
    double gain = 0;
    for (std::size_t one = 0; one < class_count; ++one) {
      std::vector<double> all(routes() + 1, 0.0);
      for (const PartSums& part : sums_)
        for (std::size_t k = 0; k <= routes(); ++k) all[k] += part.classes.at(d, one)[k];
      for (std::size_t p = 0; p < part_count; ++p) {
        const double* const own = sums_[p].classes.at(d, one);
        const std::size_t choice = best_without(all, own, best);
        gains[p] += own[1 + choice] - own[1 + best] + own[0] * (centres_[choice] - centres_[best]);
      }
    }
    for (std::size_t p = 0; p < part_count; ++p) {
      gain += gains[p];
      gains[p] /= static_cast<double>(std::max<std::int64_t>(1, sums_[p].counted));
    }
    input.worth = std::max(0.0, gain / static_cast<double>(counted_));
    input.standard_error = standard_error_of(gains);
  }

  /// The route that is best in a class by all parts but one's own.
  std::size_t best_without(const std::vector<double>& all, const double* own, std::size_t otherwise) const {
    const double count = all[0] - own[0];
    if (count <= 0) return otherwise;
    std::size_t best = otherwise;
    auto mean = [&](std::size_t r) { return (all[1 + r] - own[1 + r]) / count + centres_[r]; };
    for (std::size_t r = 0; r < routes(); ++r)
      if (mean(r) > mean(best)) best = r;
    return best;
  }

  // ---- Draws for hosts -----------------------------------------------------------------------------

  void hand_out(Simulation& out) const {
    for (std::size_t r = 0; r < routes(); ++r) {
      auto& [name, values] = out.kept.by_name.emplace_back();
      name = comparison_.routes[r].route->name;
      for (const DrawBlock& block : held_)
        for (std::size_t draw = 0; draw < block.count; ++draw)
          values.push_back(block.broken[draw] ? std::nan("") : block.worth_of(draw)[r]);
    }
    for (std::size_t i = 0; i < drawing_.inputs().size(); ++i) {
      auto& [name, values] = out.kept.by_name.emplace_back();
      name = plan_.quantities[drawing_.inputs()[i].quantity].place;
      for (const DrawBlock& block : held_)
        values.insert(values.end(), block.values.begin() + static_cast<std::ptrdiff_t>(i * block.count),
                      block.values.begin() + static_cast<std::ptrdiff_t>((i + 1) * block.count));
    }
  }

  const Plan& plan_;
  const SimulateOptions& options_;
  const Watch& watch_;
  Prepared<double> means_;
  Drawing drawing_;
  Comparison<double> comparison_;
  Program worths_;
  DrawnPlan drawn_;
  BlockPlaces places_;
  std::vector<double> centres_;
  std::size_t told_dimensions_ = 0;
  std::int64_t looks_ = 3, looked_ = 0;

  DrawBlock ahead_;  // the first, until it is asked for again
  std::vector<DrawBlock> held_;
  std::vector<Histogram> histograms_;
  std::vector<PartSums> sums_;
  std::vector<RouteLook> looks_of_;
  LeadSums lead_;
  std::int64_t counted_ = 0, broken_ = 0;
};

}  // namespace

double standard_error_of(const std::array<double, part_count>& figures) {
  constexpr double parts = static_cast<double>(part_count);
  const double mean = std::accumulate(figures.begin(), figures.end(), 0.0) / parts;
  double sum = 0;
  for (double one : figures) sum += (one - mean) * (one - mean);
  return std::sqrt(sum / ((parts - 1) * parts));
}

std::vector<HeldRoute> hold_cuts(const Comparison<double>& comparison) {
  std::vector<HeldRoute> routes;
  for (const RouteResult<double>& result : comparison.routes) {
    HeldRoute& one = routes.emplace_back();
    one.route = result.route;
    one.held.resize(result.route->tables.size());
    for (std::size_t visit = 0; visit < result.ledger.pulls.size(); ++visit) {
      const Step& step = comparison.plan->steps[result.route->tables[visit]];
      if (std::get<Table>(step.kind).cut.how != Cut::How::pull) one.held[visit] = result.ledger.pulls[visit];
    }
  }
  return routes;
}

Simulation simulate(const Plan& plan, const SimulateOptions& options, const Watch& watch) {
  return Simulating(plan, options, watch).run();
}

}  // namespace buttonworth
