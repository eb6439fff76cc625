#include "chance/counter_offers.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <functional>

#include "quantity/quiet_watch.hpp"

namespace buttonworth {
namespace {

constexpr int looks = 32;
constexpr int digits_of_change = 8;  // a change is told to as many

bool node_sells_to(const Node* node, std::size_t terms) {
  if (node == nullptr) return false;
  if (auto* sold = std::get_if<SoldTo>(&node->what)) return sold->terms == terms;
  auto* worked = std::get_if<Worked>(&node->what);
  return worked != nullptr &&
         std::any_of(worked->outputs.begin(), worked->outputs.end(),
                     [&](const auto& output) { return node_sells_to(output.get(), terms); });
}

/// The power of ten of a number's first digit.
int magnitude(const Decimal& x) { return static_cast<int>(std::floor(std::log10(to_double(x)))); }

/// One buyer's figures, each moved alone.
class Bargain {
 public:
  /// `routes`: those that sell to him; `target`: what the best of the others leaves; `tell` is told how many
  /// looks a figure has had.
  Bargain(const Plan& plan, std::vector<std::size_t> routes, BestCuts cuts, const Decimal& target,
          const Watch& watch, std::function<void(std::int64_t)> tell)
      : plan_(plan),
        options_{std::move(routes), cuts},
        target_(target),
        goal_(to_double(target)),
        watch_(watch),
        tell_(std::move(tell)) {}

  static constexpr std::int64_t looks_told = 64;

  /// The smallest change of this figure that does.
  std::optional<Decimal> smallest(const TermFigure& figure) {
    Worths worths(plan_, options_, figure.quantities, watch_);
    figure_ = &figure;
    worths_ = &worths;
    looked_ = 0;
    const double furthest = to_double(figure.furthest);
    double before = 0, short_of = over(0);
    if (short_of >= 0) return Decimal(0);
    for (int k = 1; k <= looks; ++k) {
      const double change = furthest * std::pow(double(k) / looks, figure.open ? 4 : 2), now = over(change);
      if (now >= 0) return written(narrowed(before, short_of, change, now));
      before = change, short_of = now;
    }
    return std::nullopt;
  }

 private:
  /// What the best of his routes leaves over the target.
  double over(double change) {
    tell_(std::min(++looked_, looks_told - 1));
    std::vector<double> values;
    for (const Decimal& one : moved(plan_, *figure_, Decimal(change))) values.push_back(to_double(one));
    const std::vector<double> worth = worths_->at(values);
    const auto best = best_of(worth);
    return best ? worth[*best] - goal_ : -std::max(std::abs(goal_), 1.0);
  }
  bool does(const Decimal& change) {
    for (const auto& worth : worths_->in_decimal(moved(plan_, *figure_, change)))
      if (worth && *worth >= target_) return true;
    return false;
  }

  /// The least change between one that does not and one that does.
  double narrowed(double low, double at_low, double high, double at_high) {
    std::uintmax_t most = 200;
    const auto near = [](double a, double b) { return std::abs(b - a) <= 1e-13 * std::abs(b); };
    return boost::math::tools::toms748_solve([this](double c) { return over(c); }, low, high, at_low, at_high,
                                             near, most)
        .second;
  }

  /// Rounded up to eight digits of its unit, and by as many steps of the last as decimals want.
  std::optional<Decimal> written(double change) {
    const Decimal& unit = plan_.quantities[figure_->quantities.front()].unit_factor;
    const Decimal in_units = Decimal(change) / unit;
    const Decimal step = power_of_ten(magnitude(in_units) - digits_of_change + 1);
    Decimal steps = ceiling(Decimal(in_units / step));
    Decimal more = 1;
    for (int i = 0; i < 24; ++i, more *= 2) {
      const Decimal rounded = std::min(Decimal(steps * step * unit), figure_->furthest);
      if (does(rounded)) return rounded;
      steps += more;
    }
    return std::nullopt;
  }

  const Plan& plan_;
  const WorthOptions options_;
  const Decimal target_;
  const double goal_;
  const Watch& watch_;
  const std::function<void(std::int64_t)> tell_;
  std::int64_t looked_ = 0;
  const TermFigure* figure_ = nullptr;
  Worths* worths_ = nullptr;
};

/// Who loses, by how much, and each of his figures bargained over.
class Sheet {
 public:
  Sheet(const Plan& plan, const CounterOptions& options, const Watch& watch)
      : plan_(plan), options_(options), watch_(watch) {}

  CounterOffers run() {
    const Comparison<Decimal> compared =
        compare(Prepared<Decimal>(plan_), CompareOptions{false, options_.worths.routes}, QuietWatch(watch_));
    CounterOffers sheet;
    sheet.cautions = compared.cautions;
    if (!compared.best) return sheet;
    const RouteResult<Decimal>& best = compared.routes[*compared.best];
    sheet.best = best.route;
    target_ = best.ledger.sums.present_value;
    sheet.present_value = to_double(target_);
    std::vector<std::size_t> buyers;
    for (std::size_t terms = 0; terms < plan_.terms.size(); ++terms)
      if (wanted(terms) && !sells_to(*best.route, terms) && is_sold_to(compared, terms))
        buyers.push_back(terms);
    for (std::size_t terms : buyers) sheet.buyers.push_back(known_of(compared, terms));
    find_offers(compared, buyers, sheet);
    return sheet;
  }

 private:
  bool wanted(std::size_t terms) const {
    return options_.terms.empty() ||
           std::find(options_.terms.begin(), options_.terms.end(), terms) != options_.terms.end();
  }
  static bool is_sold_to(const Comparison<Decimal>& compared, std::size_t terms) {
    return std::any_of(compared.routes.begin(), compared.routes.end(),
                       [&](const auto& result) { return sells_to(*result.route, terms); });
  }

  /// What the comparison tells of a buyer.
  BuyerOffers known_of(const Comparison<Decimal>& compared, std::size_t terms) const {
    BuyerOffers buyer{&plan_.terms[terms], nullptr, {}, {}, {}, {}, {}};
    const RouteResult<Decimal>* best = nullptr;
    for (const auto& result : compared.routes) {
      if (!sells_to(*result.route, terms)) continue;
      if (result.refused())
        for (const std::string& reason : result.ledger.refused) buyer.refused.push_back(reason);
      else if (best == nullptr || result.ledger.sums.present_value > best->ledger.sums.present_value)
        best = &result;
    }
    if (best == nullptr) {
      std::sort(buyer.refused.begin(), buyer.refused.end());
      buyer.refused.erase(std::unique(buyer.refused.begin(), buyer.refused.end()), buyer.refused.end());
      return buyer;
    }
    buyer.refused.clear();
    buyer.route = best->route;
    buyer.present_value = to_double(best->ledger.sums.present_value);
    const Decimal missing = target_ - best->ledger.sums.present_value;
    buyer.missing = to_double(missing);
    buyer.per_lot = to_double(Decimal(missing / final_discount(*best, plan_.terms[terms])));
    return buyer;
  }

  /// The present value of 1 paid with each of his final settlements.
  Decimal final_discount(const RouteResult<Decimal>& result, const Terms& terms) const {
    const Scenario<Decimal> s(plan_.quantities, plan_.discount);
    Decimal sum = 0;
    for (const Product<Decimal>& product : result.ledger.products)
      if (product.at == &terms.name)
        sum += product.delivered.discount * s.discount(terms.transit) * s.discount(terms.final_after);
    return sum > 0 ? sum : Decimal(1);
  }

  void find_offers(const Comparison<Decimal>& compared, const std::vector<std::size_t>& buyers,
                   CounterOffers& sheet) {
    std::vector<std::vector<TermFigure>> figures;
    std::int64_t total = 1, done = 0;
    for (std::size_t terms : buyers)
      total +=
          Bargain::looks_told *
          static_cast<std::int64_t>(figures.emplace_back(open_figures(plan_, plan_.terms[terms])).size());
    for (std::size_t i = 0; i < buyers.size(); ++i) {
      std::vector<std::size_t> routes;
      for (const auto& result : compared.routes)
        if (sells_to(*result.route, buyers[i]))
          routes.push_back(static_cast<std::size_t>(result.route - plan_.routes.data()));
      Bargain bargain(plan_, std::move(routes), options_.worths.cuts, target_, watch_,
                      [&](std::int64_t looks) { watch_.progress(done + looks, total); });
      for (TermFigure& figure : figures[i]) {
        auto change = bargain.smallest(figure);
        sheet.buyers[i].offers.push_back({std::move(figure), std::move(change)});
        watch_.progress(done += Bargain::looks_told, total);
      }
    }
    watch_.progress(total, total);
  }

  const Plan& plan_;
  const CounterOptions& options_;
  const Watch& watch_;
  Decimal target_ = 0;
};

}  // namespace

bool sells_to(const Route& route, std::size_t terms) {
  return node_sells_to(route.lot.node.get(), terms) ||
         std::any_of(route.apart.begin(), route.apart.end(),
                     [&](const Way& way) { return node_sells_to(way.node.get(), terms); });
}

std::vector<Decimal> moved(const Plan& plan, const TermFigure& figure, const Decimal& change) {
  std::vector<Decimal> values;
  for (Quantity q : figure.quantities) {
    const Decimal& mean = plan.quantities[q].mean;
    values.push_back(figure.up ? Decimal(mean + change) : Decimal(mean - change));
  }
  return values;
}

CounterOffers find_counter_offers(const Plan& plan, const CounterOptions& options, const Watch& watch) {
  return Sheet(plan, options, watch).run();
}

}  // namespace buttonworth
