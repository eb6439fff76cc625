#include "bench/lot_size.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "quantity/error.hpp"
#include "quantity/quiet_watch.hpp"
#include "route/compare.hpp"

namespace buttonworth {
namespace {

constexpr double days_a_year = 365;

double force_of(double discount) { return std::log1p(discount) / days_a_year; }

constexpr int looks = 120;            // times looked at first
constexpr std::size_t near_best = 5;  // those between whose neighbours it is looked for closely
constexpr int shown = 12;
constexpr std::int64_t all_looks = looks + 30 * near_best;  // some thirty a closer look
constexpr double close_enough = 1e-6;

class WaitSearch {
 public:
  WaitSearch(Plan& plan, const Gathering& gathering, const Watch& watch)
      : plan_(plan),
        gathering_(gathering),
        watch_(watch),
        discount_(to_double(plan.quantities[plan.discount].mean)) {
    hours_ = 24 * to_double(plan.quantities[plan.day].mean);
  }

  Waiting run() {
    for (int i = 0; i < looks; ++i) looked_.push_back(lot_after(wait_number(i)));
    Waiting waiting;
    waiting.best = closest();
    for (int k = 0; k < shown; ++k) {
      const auto i = static_cast<std::size_t>(std::lround(double(looks - 1) * k / (shown - 1)));
      waiting.steps.push_back(looked_[i]);
    }
    if (waiting.best) put_in(waiting.steps, *waiting.best);
    else waiting.refused = std::move(reasons_);
    if (waiting.best)
      waiting.at_end = waiting.best->wait == wait_number(0) || waiting.best->wait == wait_number(looks - 1);
    waiting.closed_form = closed_form();
    watch_.progress(all_looks, all_looks);
    return waiting;
  }

 private:
  double wait_number(int i) const {
    if (i == looks - 1) return gathering_.longest;
    return gathering_.shortest * std::pow(gathering_.longest / gathering_.shortest, double(i) / (looks - 1));
  }

  GatheredLot lot_after(double wait) {
    watch_.progress(std::min(++done_, all_looks - 1), all_looks);
    GatheredLot lot{.wait = wait, .wet_mass = gathering_.makes * hours_ * wait, .route = {}};
    plan_.quantities.restate(*plan_.lot.wet_mass, Decimal(lot.wet_mass));
    const Comparison<double> compared =
        compare(Prepared<double>(plan_), CompareOptions{false, {}}, QuietWatch(watch_));
    if (!compared.best) {
      note_reasons(compared);
      return lot;
    }
    const RouteResult<double>& best = compared.routes[*compared.best];
    lot.route = best.route->name;
    lot.present_value = best.ledger.sums.present_value - gathering_.fixed;
    lot.per_day = even_income(lot.present_value, wait, discount_);
    return lot;
  }
  void note_reasons(const Comparison<double>& compared) {
    reasons_.clear();
    for (const auto& route : compared.routes)
      for (const std::string& reason : route.ledger.refused)
        reasons_.push_back(route.route->name + ": " + reason);
  }

  static bool better(const GatheredLot& a, const GatheredLot& b) {
    return a.route && (!b.route || a.per_day > b.per_day);
  }
  std::optional<GatheredLot> closest() {
    std::vector<std::size_t> order(looked_.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return better(looked_[a], looked_[b]); });
    GatheredLot best = looked_[order.front()];
    if (!best.route) return std::nullopt;
    for (std::size_t k = 0; k < near_best; ++k) {
      const std::size_t i = order[k];
      const GatheredLot found =
          look_between(looked_[i == 0 ? 0 : i - 1].wait, looked_[std::min(i + 1, looked_.size() - 1)].wait);
      if (better(found, best)) best = found;
    }
    return best;
  }
  /// By golden sections: towards a top, or towards the jump where a band or a minimum begins.
  GatheredLot look_between(double low, double high) {
    constexpr double part = 1 / std::numbers::phi;
    GatheredLot a = lot_after(high - part * (high - low)), b = lot_after(low + part * (high - low));
    while (high - low > close_enough * high) {
      if (better(a, b)) {
        high = b.wait, b = std::move(a);
        a = lot_after(high - part * (high - low));
      } else {
        low = a.wait, a = std::move(b);
        b = lot_after(low + part * (high - low));
      }
    }
    return better(a, b) ? a : b;
  }

  static void put_in(std::vector<GatheredLot>& steps, const GatheredLot& lot) {
    const auto at =
        std::find_if(steps.begin(), steps.end(), [&](const GatheredLot& s) { return s.wait >= lot.wait; });
    if (at == steps.end() || at->wait != lot.wait) steps.insert(at, lot);
  }

  std::optional<ClosedForm> closed_form() {
    const GatheredLot longest = looked_.back(), half = lot_after(gathering_.longest / 2);
    if (!longest.route || !half.route) return std::nullopt;
    const double v = (longest.present_value - half.present_value) / (longest.wait - half.wait);
    const double fixed = v * longest.wait - longest.present_value;
    if (!(fixed > 0 && v > 0 && discount_ > 0)) return std::nullopt;
    return ClosedForm{economic_wait(fixed, v, discount_), fixed, v};
  }

  Plan& plan_;
  const Gathering& gathering_;
  const Watch& watch_;
  double discount_, hours_;
  std::int64_t done_ = 0;
  std::vector<GatheredLot> looked_;
  std::vector<std::string> reasons_;
};

}  // namespace

double economic_wait(double fixed, double value_per_day, double discount) {
  if (!(fixed >= 0 && value_per_day > 0 && discount > 0))
    throw Error(
        Code::range,
        "what a lot costs is to be 0 or more, its value a day and the discount above 0: with nothing lost by "
        "waiting one would wait for ever");
  return std::sqrt(2 * fixed / (value_per_day * force_of(discount)));
}

double even_income(double value, double wait, double discount) {
  if (!(wait > 0 && discount >= 0))
    throw Error(Code::range, "the wait is to be above 0, the discount 0 or more");
  const double force = force_of(discount);
  return force > 0 ? value * force / std::expm1(force * wait) : value / wait;
}

Waiting find_wait(Plan& plan, const Gathering& gathering, const Watch& watch) {
  return WaitSearch(plan, gathering, watch).run();
}

}  // namespace buttonworth
