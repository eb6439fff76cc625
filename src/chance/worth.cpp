#include "chance/worth.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace buttonworth {
namespace {

constexpr std::size_t most_results = 4096;
constexpr std::size_t draws_per_result = 16;  // on average, where a measurement is very sharp
constexpr double reach = 6;                   // standard deviations of a result that count
constexpr double results_per_error = 3;       // steps between results, to one error

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
  // The routes' draws stand first, by names that are free.
  const auto inputs = draws.begin() + static_cast<std::ptrdiff_t>(s.routes.size());
  const auto input = std::find_if(inputs, draws.end(), [&](const auto& one) { return one.first == place; });
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

/// A smooth figure from one step to the next, by the share of the way passed: the cubic through it and its
/// neighbours.
class Between {
 public:
  Between(double here, double next) : c_{here, next - here, 0, 0} {}
  Between(double before, double here, double next, double after) {
    const double second = (next - 2 * here + before) / 2, third = (after - 3 * next + 3 * here - before) / 6;
    c_ = {here, next - here - second - third, second, third};
  }

  double at(double t) const { return c_[0] + t * (c_[1] + t * (c_[2] + t * c_[3])); }
  double slope(double t) const { return c_[1] + t * (2 * c_[2] + t * 3 * c_[3]); }
  /// Where it is 0, of a figure that falls through 0 between two places.
  double root(double from, double to) const {
    for (int i = 0; i < 50; ++i) {
      const double middle = (from + to) / 2;
      (at(middle) > 0 ? from : to) = middle;
    }
    return to;
  }
  /// The integral, less the sum over even steps, of what is this figure up to t and 0 from there: the formula
  /// of Euler and Maclaurin, with Bernoulli's polynomials at t.
  double missed(double t) const {
    const double b1 = t - 0.5, b2 = t * (t - 1) + 1.0 / 6, b3 = t * (t - 0.5) * (t - 1),
                 b4 = t * t * (t - 1) * (t - 1) - 1.0 / 30;
    return at(t) * b1 - slope(t) * b2 / 2 + (2 * c_[2] + 6 * c_[3] * t) * b3 / 6 - 6 * c_[3] * b4 / 24;
  }

 private:
  std::array<double, 4> c_;
};

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
    const std::size_t most = std::clamp<std::size_t>(world.input.size() / draws_per_result, 64, most_results);
    size_ = std::clamp<std::size_t>(static_cast<std::size_t>(std::min(wanted, 1e9)) + 2, 2, most);
    low_ = low;
    step_ = high > low ? (high - low) / static_cast<double>(size_ - 1) : 1;
    // Sharper than the steps no result can be: it would have too few draws to choose by.
    for (double& error : errors_) error = std::max(error, step_);
    sums_.resize(part_count * size_ * world.routes);
    for (std::size_t draw = 0; draw < world.input.size(); ++draw) spread(draw);
  }

  /// Summed over all draws: what choosing by the result adds, by parts.
  std::array<double, part_count> gains() const {
    std::vector<double> all(size_ * world_.routes);
    for (std::size_t p = 0; p < part_count; ++p)
      for (std::size_t i = 0; i < all.size(); ++i) all[i] += sums_[p * all.size() + i];
    std::array<double, part_count> gains;
    for (std::size_t p = 0; p < part_count; ++p) gains[p] = gain_of(p, all);
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
    for (std::size_t k = 0; k < weights_.size(); ++k) add(draw, from + k, weights_[k] / whole);
  }
  void add(std::size_t draw, std::size_t at, double weight) {
    double* const to = sums(world_.part[draw], at);
    const double* const lead = world_.lead_of(draw);
    for (std::size_t r = 0; r < world_.routes; ++r) to[r] += weight * lead[r];
  }

  /// What one part gains by the choices that the others make.
  double gain_of(std::size_t part, const std::vector<double>& all) const {
    double gain = 0;
    std::size_t had = world_.chosen;
    for (std::size_t at = 0; at < size_; ++at) {
      const std::size_t choice = choice_without(&all[at * world_.routes], sums(part, at));
      gain += sums(part, at)[choice];
      if (at > 0 && choice != had) gain += gain_between(part, all, at, had, choice);
      had = choice;
    }
    return gain;
  }
  /// The choice changes between two results, where by the others both routes are worth the same: what a sum
  /// over even steps misses of the integral, as it has a kink there. A third route may be the best on the
  /// way, and then there are two kinks.
  double gain_between(std::size_t part, const std::vector<double>& all, std::size_t at, std::size_t from,
                      std::size_t to) const {
    const auto own = [&](std::size_t one, std::size_t other) {
      return between(at, [&](std::size_t k) { return sums(part, k)[one] - sums(part, k)[other]; });
    };
    const auto others = [&](std::size_t one, std::size_t other) {
      return between(at, [&](std::size_t k) {
        const double* const whole = &all[k * world_.routes];
        return whole[one] - whole[other] - (sums(part, k)[one] - sums(part, k)[other]);
      });
    };
    const double change = others(from, to).root(0, 1);
    std::size_t third = from;
    for (std::size_t r = 0; r < world_.routes; ++r)
      if (r != to && others(r, third).at(change) > 0) third = r;
    if (third == from) return own(from, to).missed(change);
    return own(from, third).missed(others(from, third).root(0, change)) +
           own(third, to).missed(others(third, to).root(change, 1));
  }
  /// A figure from the result before `at` to `at`.
  template <class Figure>
  Between between(std::size_t at, Figure figure) const {
    if (at < 2 || at + 1 >= size_) return Between(figure(at - 1), figure(at));
    return Between(figure(at - 2), figure(at - 1), figure(at), figure(at + 1));
  }
  /// The route to take by what all parts but one show; the one that is best without a measurement, where none
  /// is better.
  std::size_t choice_without(const double* all, const double* own) const {
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

/// By classes of the input, or by results as sharp as can be, which tell apart what lies on either side of a
/// band's start or a limit within a class.
void find_known(const InputChance& input, const World& world, CandidateWorth& out) {
  constexpr double all = std::numeric_limits<double>::infinity();
  const CountedWorth sharp = worth_of(world, {out.candidate->of, false, 0, 1, 0, 0}, 1, all);
  const bool by_class = input.worth >= sharp.worth;
  out.known = by_class ? input.worth : sharp.worth;
  out.standard_error = by_class ? input.standard_error : sharp.standard_error;
}

CandidateWorth look_at(const Simulation& s, const Candidate& candidate, const Watch& watch) {
  CandidateWorth out;
  out.candidate = &candidate;
  const World world = world_of(s, s.plan->quantities[candidate.of].place);
  find_known(input_of(s, candidate.of), world, out);
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
