#include "chance/worth.hpp"

#include <algorithm>
#include <cmath>

namespace buttonworth {
namespace {

constexpr std::size_t most_results = 4096;
constexpr double reach = 6;              // standard deviations of a result that count
constexpr double results_per_error = 3;  // steps between results, to one error

/// The draws that were counted: what the input was, and each route's worth less the chosen one's.
struct World {
  std::vector<double> input;
  std::vector<std::size_t> part;
  std::vector<double> lead;  // by draw, then route
  std::size_t routes = 0, chosen = 0;

  const double* lead_of(std::size_t draw) const { return &lead[draw * routes]; }
};

World world_of(const Simulation& s, const std::string& place) {
  const auto& draws = s.kept.by_name;
  const auto input =
      std::find_if(draws.begin(), draws.end(), [&](const auto& one) { return one.first == place; });
  World world;
  world.routes = s.routes.size();
  world.chosen = s.by_mean;
  const std::vector<double>& chosen = draws[s.by_mean].second;
  for (std::size_t i = 0; i < chosen.size(); ++i) {
    if (std::isnan(chosen[i])) continue;
    world.input.push_back(input->second[i]);
    world.part.push_back(i * part_count / chosen.size());
    for (std::size_t r = 0; r < world.routes; ++r) world.lead.push_back(draws[r].second[i] - chosen[i]);
  }
  return world;
}

/// What may come out of the measurements, at even steps, and what the routes would then be worth.
class Results {
 public:
  Results(const World& world, const Candidate& candidate, int count) : world_(world) {
    const double shrink = 1 / std::sqrt(static_cast<double>(count));
    double low = world.input.front(), high = low;
    for (double x : world.input) {
      const double error = error_of(x, candidate) * shrink;
      errors_.push_back(error);
      low = std::min(low, x - reach * error);
      high = std::max(high, x + reach * error);
    }
    const double sharp = sharpest_but_few(errors_);
    const double wanted = sharp > 0 ? (high - low) * results_per_error / sharp : most_results;
    size_ = std::clamp<std::size_t>(static_cast<std::size_t>(std::min(wanted, 1e9)) + 2, 2, most_results);
    low_ = low;
    step_ = high > low ? (high - low) / static_cast<double>(size_ - 1) : 1;
    sums_.resize(part_count * size_ * world.routes);
    for (std::size_t draw = 0; draw < world.input.size(); ++draw) spread(draw);
  }

  /// Summed over all draws: what choosing by the result adds, by parts.
  std::array<double, part_count> gains() const {
    std::array<double, part_count> gains{};
    std::vector<double> all(world_.routes);
    for (std::size_t at = 0; at < size_; ++at) {
      std::fill(all.begin(), all.end(), 0.0);
      for (std::size_t p = 0; p < part_count; ++p)
        for (std::size_t r = 0; r < world_.routes; ++r) all[r] += sums(p, at)[r];
      for (std::size_t p = 0; p < part_count; ++p) gains[p] += sums(p, at)[choice_without(all, sums(p, at))];
    }
    return gains;
  }

 private:
  static double error_of(double x, const Candidate& candidate) {
    return candidate.relative ? candidate.error * std::abs(x) : candidate.error;
  }
  /// A few draws may be measured as sharply as they like: the steps between results need not follow.
  static double sharpest_but_few(std::vector<double> errors) {
    const auto few = errors.begin() + static_cast<std::ptrdiff_t>(errors.size() / 50);
    std::nth_element(errors.begin(), few, errors.end());
    return *few;
  }
  double* sums(std::size_t part, std::size_t at) { return &sums_[(part * size_ + at) * world_.routes]; }
  const double* sums(std::size_t part, std::size_t at) const {
    return &sums_[(part * size_ + at) * world_.routes];
  }

  /// One draw over the results it may give, by their chances.
  void spread(std::size_t draw) {
    const double x = world_.input[draw], error = errors_[draw];
    const double middle = (x - low_) / step_, wide = reach * error / step_;
    const auto last = static_cast<double>(size_ - 1);
    const auto from = static_cast<std::size_t>(std::clamp(std::ceil(middle - wide), 0.0, last));
    const auto to = static_cast<std::size_t>(std::clamp(std::floor(middle + wide), 0.0, last));
    weights_.clear();
    double whole = 0;
    for (std::size_t at = from; at <= to; ++at) {
      const double off = (static_cast<double>(at) - middle) * step_ / error;
      weights_.push_back(std::exp(-0.5 * off * off));
      whole += weights_.back();
    }
    if (whole > 0) {
      for (std::size_t k = 0; k < weights_.size(); ++k) add(draw, from + k, weights_[k] / whole);
    } else {  // a result as sharp as the steps
      add(draw, static_cast<std::size_t>(std::clamp(std::round(middle), 0.0, last)), 1);
    }
  }
  void add(std::size_t draw, std::size_t at, double weight) {
    double* const to = sums(world_.part[draw], at);
    const double* const lead = world_.lead_of(draw);
    for (std::size_t r = 0; r < world_.routes; ++r) to[r] += weight * lead[r];
  }

  /// The route to take by what all parts but one show; the one that is best without a measurement, where none
  /// is better.
  std::size_t choice_without(const std::vector<double>& all, const double* own) const {
    std::size_t best = world_.chosen;
    for (std::size_t r = 0; r < world_.routes; ++r)
      if (all[r] - own[r] > all[best] - own[best]) best = r;
    return best;
  }

  const World& world_;
  std::vector<double> errors_, weights_, sums_;
  double low_ = 0, step_ = 1;
  std::size_t size_ = 2;
};

CountedWorth worth_of(const World& world, const Candidate& candidate, int count, double known) {
  const std::array<double, part_count> gains = Results(world, candidate, count).gains();
  std::array<double, part_count> draws{};
  for (std::size_t part : world.part) draws[part] += 1;
  CountedWorth one;
  one.count = count;
  one.cost = count * candidate.cost + candidate.fixed;
  double sum = 0;
  std::array<double, part_count> means;
  for (std::size_t p = 0; p < part_count; ++p) {
    sum += gains[p];
    means[p] = draws[p] > 0 ? gains[p] / draws[p] : 0;
  }
  one.worth = std::clamp(sum / static_cast<double>(world.input.size()), 0.0, known);
  one.standard_error = standard_error_of(means);
  return one;
}

const InputChance& input_of(const Simulation& s, Quantity of) {
  return *std::find_if(s.inputs.begin(), s.inputs.end(), [&](const InputChance& input) {
    return std::any_of(input.quantities.begin(), input.quantities.end(),
                       [&](Quantity q) { return q.index == of.index; });
  });
}

CandidateWorth look_at(const Simulation& s, const Candidate& candidate, const Watch& watch) {
  CandidateWorth out;
  out.candidate = &candidate;
  const InputChance& input = input_of(s, candidate.of);
  out.known = input.worth;
  out.standard_error = input.standard_error;
  const World world = world_of(s, s.plan->quantities[candidate.of].place);
  for (int count = 1; count <= candidate.most; ++count) {
    watch.keep_going();
    out.counts.push_back(worth_of(world, candidate, count, out.known));
    const double had = out.best ? out.counts[*out.best].net() : 0;
    if (out.counts.back().net() > had) out.best = out.counts.size() - 1;
  }
  return out;
}

}  // namespace

SampleWorth find_worth(const Plan& plan, const std::vector<Candidate>& candidates, SimulateOptions options,
                       const Watch& watch) {
  options.keep = true;
  SampleWorth out;
  out.simulation = simulate(plan, options, watch);
  for (const Candidate& candidate : candidates) {
    CandidateWorth& one = out.candidates.emplace_back(look_at(out.simulation, candidate, watch));
    auto net = [](const CandidateWorth& of) { return of.counts[*of.best].net(); };
    if (one.best && (!out.best || net(one) > net(out.candidates[*out.best])))
      out.best = out.candidates.size() - 1;
  }
  out.simulation.kept = {};
  return out;
}

}  // namespace buttonworth
