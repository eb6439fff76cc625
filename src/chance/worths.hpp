// What the routes of a plan leave as some of its quantities change, all else at the means.
#pragma once

#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "chance/altered.hpp"
#include "route/compare.hpp"

namespace buttonworth {

/// What becomes of best cuts at other values: searched again, or held at the plan's own.
enum class BestCuts { again, held };

/// Which routes are looked at, and with which cuts.
struct WorthOptions {
  std::vector<std::size_t> routes;  ///< of the plan; empty: all
  BestCuts cuts = BestCuts::again;
};

/// Sums of a route. Impossible physics is thrown with its reason, as a ledger does.
template <Scalar N>
struct RouteSum : Tally<N> {
  explicit RouteSum(const Figures<N>& figures) : figures(&figures) {}

  const Figures<N>* figures;

  template <class Fault>
  void impossible(bool where, Fault&& fault) {
    if (where) throw fault(*figures);
  }
};

/// A route's present value at these cuts, nothing where it is refused. Throws an Error where its physics is
/// impossible or a cut is never reached.
template <Scalar N>
std::optional<N> route_worth(const Prepared<N>& prepared, const Route& route, const HeldCuts<N>& held,
                             const Figures<N>& figures) {
  RouteSum<N> sum(figures);
  Walk<N, RouteSum<N>>(prepared, held, sum).route(route);
  if (sum.refused_mask) return std::nullopt;
  return sum.present_value;
}

/// A route that could not be worked out, with the reason met first and the values it was met at.
struct ImpossibleRoute {
  std::size_t route;  ///< of those looked at
  std::string reason;
  std::vector<double> values;
};

class Worths {
 public:
  /// What a route leaves that is refused or impossible.
  static constexpr double nothing = -std::numeric_limits<double>::infinity();

  /// `set`: the quantities that change.
  Worths(const Plan& plan, WorthOptions options, std::vector<Quantity> set, const Watch& watch);

  /// Present values at these values of the quantities, in the order of `routes`. Values are in the library's
  /// units, of the currency a quantity is stated in.
  std::vector<double> at(const std::vector<double>& values);
  /// The same in decimals, best cuts as found in doubles.
  std::vector<std::optional<Decimal>> in_decimal(const std::vector<Decimal>& values);

  const Plan& plan() const { return plan_; }
  const std::vector<std::size_t>& routes() const { return options_.routes; }
  const Route& route(std::size_t i) const { return plan_.routes[options_.routes[i]]; }
  bool searches_again() const { return searches_ && options_.cuts == BestCuts::again; }
  /// The quantities at the means.
  std::vector<double> means() const;

  /// What was met so far: routes that could not be worked out, and the plan itself.
  const std::vector<ImpossibleRoute>& impossible() const { return impossible_; }
  struct Fault {
    std::string reason;
    std::vector<double> values;
  };
  const std::optional<Fault>& fault() const { return fault_; }

 private:
  template <Scalar N>
  std::optional<N> worth(std::size_t i, const Prepared<N>& prepared, CutFinder& finder,
                         const Figures<N>& figures);
  bool put(const std::vector<double>& values);
  void note(std::size_t route, const Error& error);

  const Plan& plan_;
  WorthOptions options_;
  const Watch& watch_;
  Figures<double> figures_;
  Figures<Decimal> decimal_figures_;
  AlteredPlan<double> altered_;
  std::unique_ptr<AlteredPlan<Decimal>> decimal_;  // made when first wanted
  CutFinder plan_cuts_;
  bool searches_ = false;
  std::vector<double> values_;  // set last
  std::vector<ImpossibleRoute> impossible_;
  std::optional<Fault> fault_;
};

/// The best of these, the first of those that are as good; nothing where all are refused.
std::optional<std::size_t> best_of(const std::vector<double>& worths);
/// The best of the others, likewise.
std::optional<std::size_t> next_to(const std::vector<double>& worths, std::size_t best);

}  // namespace buttonworth
