#include "bench/fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

#include "quantity/error.hpp"

namespace buttonworth {
namespace {

constexpr std::array form_names{"odds", "logit", "saturating"};

double logit(double share) { return std::log(share / (1 - share)); }

/// The recovery at a pull, and how it changes with each constant.
struct Sloped {
  double recovery;
  Constants slopes;
};

Sloped sloped(FitForm form, const Constants& c, double pull) {
  if (form == FitForm::saturating) {
    const double left = std::exp(-c[1] * pull), gone = -std::expm1(-c[1] * pull);
    return {c[0] * gone, {gone, c[0] * pull * left}};
  }
  if (!(pull > 0 && pull < 1)) return {pull, {}};  // nothing or all, whatever the constants
  const double x = logit(pull);
  const double z = form == FitForm::odds ? std::log(c[0]) + x : c[0] + c[1] * x;
  const double r = 1 / (1 + std::exp(-z)), bend = r / (1 + std::exp(z));
  return {r, form == FitForm::odds ? Constants{bend / c[0], 0} : Constants{bend, bend * x}};
}

// ---- Least squares -------------------------------------------------------------------------------

/// Points with the roots of their weights.
struct Weighed {
  std::vector<double> pull, recovery, root;

  explicit Weighed(const std::vector<TestPoint>& points) {
    known = std::all_of(points.begin(), points.end(), [](const TestPoint& p) { return p.recovery.sd > 0; });
    for (const TestPoint& point : points) {
      pull.push_back(point.pull);
      recovery.push_back(point.recovery.value);
      root.push_back(known ? 1 / point.recovery.sd : 1.0);
    }
  }
  std::size_t size() const { return pull.size(); }
  /// The others of a point, each with the weight it has among all.
  Weighed without(std::size_t i) const {
    Weighed others = *this;
    for (auto* list : {&others.pull, &others.recovery, &others.root})
      list->erase(list->begin() + static_cast<std::ptrdiff_t>(i));
    return others;
  }

  bool known = false;  ///< whether all have an error
};

double squares(FitForm form, const Constants& c, const Weighed& points) {
  double sum = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double miss = points.root[i] * (points.recovery[i] - sloped(form, c, points.pull[i]).recovery);
    sum += miss * miss;
  }
  return sum;
}

/// The squares about the weighed mean: what a curve of any form must beat to tell more than a level line
/// does.
double squares_about_level(const Weighed& points) {
  double weights = 0, mean = 0, sum = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double weight = points.root[i] * points.root[i];
    weights += weight;
    mean += weight * points.recovery[i];
  }
  mean /= weights;
  for (std::size_t i = 0; i < points.size(); ++i)
    sum += std::pow(points.root[i] * (points.recovery[i] - mean), 2);
  return sum;
}

/// Which constants may move; those above 0 move by their logarithms.
struct Moving {
  std::array<bool, 2> free{true, true};
};

/// The constants that may move, as the way down moves them; at most two, so that they need no memory that can
/// run out.
using Theta = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, 2, 1>;
using Bend = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, 2, 2>;

/// At some constants: half the squares' slope, Jᵀr, and their bend as far as the curve's own slopes tell it,
/// JᵀJ.
struct Normal {
  double squares = 0;
  Theta slope;
  Bend bend;
};

class Misses {
 public:
  Misses(FitForm form, const Weighed& points, const Constants& start, Moving moving)
      : form_(form), points_(points), start_(start) {
    for (std::size_t c = 0; c < constants_of(form); ++c)
      if (moving.free[c]) free_[count_++] = c;
  }

  Theta theta() const {
    Theta theta(count_);
    for (Eigen::Index i = 0; i < count_; ++i)
      theta[i] = by_log(free(i)) ? std::log(start_[free(i)]) : start_[free(i)];
    return theta;
  }
  Constants constants(const Theta& theta) const {
    Constants c = start_;
    for (Eigen::Index i = 0; i < count_; ++i)
      c[free(i)] = by_log(free(i)) ? std::exp(std::clamp(theta[i], -300.0, 300.0)) : theta[i];
    return c;
  }
  Normal at(const Theta& theta) const {
    const Constants c = constants(theta);
    Normal normal{0, Theta::Zero(count_), Bend::Zero(count_, count_)};
    Theta row(count_);
    for (std::size_t i = 0; i < points_.size(); ++i) {
      const Sloped here = sloped(form_, c, points_.pull[i]);
      const double miss = points_.root[i] * (here.recovery - points_.recovery[i]);
      for (Eigen::Index k = 0; k < count_; ++k)
        row[k] = points_.root[i] * here.slopes[free(k)] * (by_log(free(k)) ? c[free(k)] : 1.0);
      normal.squares += miss * miss;
      normal.slope += miss * row;
      normal.bend += row * row.transpose();
    }
    return normal;
  }

 private:
  std::size_t free(Eigen::Index i) const { return free_[static_cast<std::size_t>(i)]; }
  // A limit recovery and a logit's level are plain; odds, b and k are above 0.
  bool by_log(std::size_t constant) const { return form_ == FitForm::odds || constant == 1; }

  FitForm form_;
  const Weighed& points_;
  Constants start_;
  std::array<std::size_t, 2> free_{};
  Eigen::Index count_ = 0;
};

/// Newton's steps to where the squares' slope is 0, as long as they grow shorter: the sum of squares itself
/// is flat there, to the root of what a double tells.
void come_to_rest(const Misses& misses, Theta& theta) {
  constexpr double aside = 1e-5;
  Bend bend(theta.size(), theta.size());
  double last = 1e-2;  // nearer than that the way down has come
  for (int i = 0; i < 10; ++i) {
    for (Eigen::Index k = 0; k < theta.size(); ++k) {
      const Theta away = aside * Theta::Unit(theta.size(), k);
      bend.col(k) = (misses.at(theta + away).slope - misses.at(theta - away).slope) / (2 * aside);
    }
    const Theta step = bend.colPivHouseholderQr().solve(misses.at(theta).slope);
    const double size = step.norm();
    if (!(size < last)) return;
    theta -= step;
    last = size;
  }
}

/// Levenberg and Marquardt's way down from a start: the nearer to a step down the slope, the less the step of
/// least squares can be trusted.
Constants descend(FitForm form, const Weighed& points, const Constants& start, Moving moving = {}) {
  const Misses misses(form, points, start, moving);
  Theta theta = misses.theta();
  Normal here = misses.at(theta);
  double damping = 1e-3;
  for (int i = 0; i < 400 && damping < 1e12; ++i) {
    Bend damped = here.bend;
    damped.diagonal() *= 1 + damping;
    const Theta step = damped.colPivHouseholderQr().solve(here.slope);
    if (step.norm() < 1e-10) break;
    const Normal next = misses.at(theta - step);
    const bool better = next.squares < here.squares;
    damping *= better ? 0.1 : 10;
    if (!better) continue;
    const double gained = here.squares - next.squares;
    theta -= step;
    here = next;
    if (damping < 1 && gained < 1e-14 * here.squares) break;
  }
  come_to_rest(misses, theta);
  return misses.constants(theta);
}

// ---- Starts --------------------------------------------------------------------------------------

constexpr int looks = 24;

/// Where a function, looked at evenly from low to high, is below its neighbours; ends count.
template <class F>
std::vector<double> low_places(double low, double high, const F& f) {
  std::vector<double> place, value;
  for (int i = 0; i < looks; ++i) {
    place.push_back(low + (high - low) * i / (looks - 1));
    value.push_back(f(place.back()));
  }
  std::vector<double> found;
  for (std::size_t i = 0; i < place.size(); ++i)
    if ((i == 0 || value[i] < value[i - 1]) && (i + 1 == place.size() || value[i] <= value[i + 1]))
      found.push_back(place[i]);
  return found;
}

/// Between the odds of single points.
std::vector<Constants> odds_fits(const Weighed& points) {
  double low = std::numeric_limits<double>::infinity(), high = -low;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double one = logit(points.recovery[i]) - logit(points.pull[i]);
    low = std::min(low, one), high = std::max(high, one);
  }
  std::vector<Constants> fits;
  for (double t : low_places(low, high, [&](double t) {
         return squares(FitForm::odds, {std::exp(t), 0}, points);
       }))
    fits.push_back(descend(FitForm::odds, points, {std::exp(t), 0}));
  return fits;
}

/// The level of a logit curve of this slope: first from the points' logits, each as sure as its recovery
/// makes it, then by least squares.
Constants levelled(double b, const Weighed& points) {
  double weights = 0, sum = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double r = points.recovery[i], weight = std::pow(points.root[i] * r * (1 - r), 2);
    weights += weight;
    sum += weight * (logit(r) - b * logit(points.pull[i]));
  }
  return descend(FitForm::logit, points, {sum / weights, b}, {{true, false}});
}

std::vector<Constants> logit_fits(const Weighed& points) {
  auto best = [&](double t) { return levelled(std::exp(t), points); };
  std::vector<Constants> fits;
  for (double t : low_places(std::log(0.05), std::log(20.0),
                             [&](double t) { return squares(FitForm::logit, best(t), points); }))
    fits.push_back(descend(FitForm::logit, points, best(t)));
  return fits;
}

/// The best limit of a saturating curve of this rate, no more than 1: a straight line's slope.
double best_limit(double rate, const Weighed& points) {
  double up = 0, down = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double gone = points.root[i] * -std::expm1(-rate * points.pull[i]);
    up += points.root[i] * points.recovery[i] * gone;
    down += gone * gone;
  }
  return std::min(1.0, up / down);
}

/// No rate is best that leaves all points above the curve even at a limit of 1, or that has risen before the
/// first pull. Where the free limit passes 1 and is out of bounds, the one held there is not.
std::vector<Constants> saturating_fits(const Weighed& points) {
  double least = std::numeric_limits<double>::infinity(), first = 1;
  for (std::size_t i = 0; i < points.size(); ++i) {
    least = std::min(least, -std::log1p(-points.recovery[i]) / points.pull[i]);
    first = std::min(first, points.pull[i]);
  }
  auto best = [&](double t) { return Constants{best_limit(std::exp(t), points), std::exp(t)}; };
  std::vector<Constants> fits;
  for (double t : low_places(std::log(least), std::log(std::max(40 / first, 2 * least)),
                             [&](double t) { return squares(FitForm::saturating, best(t), points); })) {
    fits.push_back(descend(FitForm::saturating, points, best(t)));
    fits.push_back(descend(FitForm::saturating, points, {1, std::exp(t)}, {{false, true}}));
  }
  return fits;
}

// ---- One form ------------------------------------------------------------------------------------

bool within_bounds(FitForm form, const Constants& c) {
  constexpr double least = 1e-9, most = 1e9;
  if (form == FitForm::odds) return c[0] > 0 && std::isfinite(c[0]);
  const bool steep = c[1] > least && c[1] < most;
  return steep && (form == FitForm::logit ? std::isfinite(c[0]) : c[0] > 0 && c[0] <= 1);
}

/// Nothing where no constants within the bounds are best: a level line does as well, as where recoveries do
/// not rise.
std::optional<Constants> best_constants(FitForm form, const Weighed& points) {
  std::optional<Constants> best;
  // One constant always has a best place between the points' own; of two, the second may run off to a level
  // line.
  double least = form == FitForm::odds ? std::numeric_limits<double>::infinity()
                                       : squares_about_level(points) * (1 - 1e-9);
  for (const Constants& one : form == FitForm::odds    ? odds_fits(points)
                              : form == FitForm::logit ? logit_fits(points)
                                                       : saturating_fits(points)) {
    const double here = squares(form, one, points);
    if (!within_bounds(form, one) || !(here < least)) continue;
    least = here;
    best = one;
  }
  return best;
}

std::optional<Covariance> covariance_of(const Fit& fit, const Weighed& points) {
  const std::size_t count = constants_of(fit.form);
  const bool spare = points.size() > count;
  if (!spare && !points.known) return std::nullopt;
  double scale =
      spare ? squares(fit.form, fit.constants, points) / static_cast<double>(points.size() - count) : 1;
  if (points.known) scale = std::max(scale, 1.0);
  double a = 0, b = 0, ab = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Constants slopes = sloped(fit.form, fit.constants, points.pull[i]).slopes;
    const double first = points.root[i] * slopes[0], second = points.root[i] * slopes[1];
    a += first * first, b += second * second, ab += first * second;
  }
  if (count == 1) return Covariance{scale / a, 0, 0};
  const double determinant = a * b - ab * ab;
  if (!(determinant > 0)) return std::nullopt;
  return Covariance{b * scale / determinant, a * scale / determinant, -ab * scale / determinant};
}

std::optional<double> misfit_of(const Fit& fit, const Weighed& points) {
  const std::size_t count = constants_of(fit.form);
  if (points.size() <= count) return std::nullopt;
  double sum = 0;
  for (std::size_t i = 0; i < points.size(); ++i)
    sum += std::pow(points.recovery[i] - sloped(fit.form, fit.constants, points.pull[i]).recovery, 2);
  return std::sqrt(sum / static_cast<double>(points.size() - count));
}

std::optional<double> left_out_of(FitForm form, const Weighed& points, const Watch& watch) {
  if (points.size() < 4) return std::nullopt;
  double sum = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    watch.keep_going();
    const auto found = best_constants(form, points.without(i));
    if (!found) return std::nullopt;
    sum += std::pow(points.recovery[i] - sloped(form, *found, points.pull[i]).recovery, 2);
  }
  return std::sqrt(sum / static_cast<double>(points.size()));
}

/// Below that, shares, two misfits are one.
constexpr double as_good = 1e-9;

std::size_t best_of(const std::vector<Fit>& fits, std::optional<double> Fit::*measure) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < fits.size(); ++i)
    if (fits[i].*measure && (!(fits[best].*measure) || *(fits[i].*measure) < *(fits[best].*measure)))
      best = i;
  for (std::size_t i = 0; i < best; ++i)
    if (fits[i].*measure && *(fits[i].*measure) - *(fits[best].*measure) < as_good) return i;
  return best;
}

}  // namespace

std::size_t constants_of(FitForm form) { return form == FitForm::odds ? 1 : 2; }

Figure Fit::constant(std::size_t which) const {
  if (!covariance) return {constants[which], 0};
  return without_noise({constants[which], std::sqrt(which == 0 ? covariance->first : covariance->second)});
}

Figure Fit::at(double pull) const {
  const Sloped here = sloped(form, constants, pull);
  if (!covariance) return {here.recovery, 0};
  const auto [first, second] = here.slopes;
  const double variance = first * first * covariance->first + 2 * first * second * covariance->both +
                          second * second * covariance->second;
  return without_noise({here.recovery, std::sqrt(std::max(0.0, variance))});
}

std::optional<double> Fit::correlation() const {
  if (!(constant(0).sd > 0) || !(constant(1).sd > 0)) return std::nullopt;
  return covariance->both / std::sqrt(covariance->first * covariance->second);
}

Fit fit_curve(FitForm form, const std::vector<TestPoint>& points) {
  const Weighed weighed(points);
  const auto found = best_constants(form, weighed);
  if (!found)
    throw Error(
        Code::fit,
        std::string("no ") + form_names[static_cast<std::size_t>(form)] +
            " curve fits these points better than a level line does: their recoveries do not rise with the "
            "pull. Look for samples mixed up, test further pulls, or ask for the form odds");
  Fit fit;
  fit.form = form;
  fit.constants = *found;
  fit.covariance = covariance_of(fit, weighed);
  fit.misfit = misfit_of(fit, weighed);
  return fit;
}

Fits fit_curves(const std::vector<TestPoint>& points, std::optional<FitForm> wanted, const Watch& watch) {
  Fits all;
  for (FitForm form : all_fit_forms) {
    if (wanted != form && !best_constants(form, Weighed(points))) {
      all.none.push_back(form);
      continue;
    }
    all.fits.push_back(fit_curve(form, points));
    all.fits.back().left_out = left_out_of(form, Weighed(points), watch);
  }
  if (!wanted) {
    all.chosen = best_of(all.fits, points.size() >= 4 ? &Fit::left_out : &Fit::misfit);
    return all;
  }
  while (all.fits[all.chosen].form != *wanted) ++all.chosen;
  return all;
}

std::vector<TestPoint> points_of_products(const std::vector<TestProduct>& products) {
  std::vector<Figure> inputs;
  double whole = 0;
  for (const TestProduct& one : products) {
    inputs.push_back(one.mass), inputs.push_back(one.grade);
    whole += one.mass.value;
  }
  const std::vector<Figure> recoveries = propagated(inputs, [](const std::vector<double>& x) {
    std::vector<double> metal;
    double sum = 0;
    for (std::size_t i = 0; i < x.size(); i += 2) metal.push_back(sum += x[i] * x[i + 1]);
    metal.pop_back();
    for (double& one : metal) one /= sum;
    return metal;
  });
  std::vector<TestPoint> points;
  double pulled = 0;
  for (std::size_t i = 0; i < recoveries.size(); ++i)
    points.push_back({(pulled += products[i].mass.value) / whole, recoveries[i]});
  return points;
}

}  // namespace buttonworth
