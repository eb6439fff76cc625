#include "support.hpp"

#include <stdexcept>

#include "route/sweep_lanes.hpp"

namespace buttonworth::test {
namespace {

template <class N>
Outcome scalar_outcome(const Plan& plan, const Route& route) {
  const Prepared<N> prepared(plan);
  const Figures<N> figures(plan.quantities, plan.analytes, plan.currency);
  const HeldCuts<N> held(route.tables.size());
  RouteLedger<N> ledger(plan.analytes.size(), figures, false);
  Outcome outcome;
  try {
    Walk<N, RouteLedger<N>>(prepared, held, ledger).route(route);
  } catch (const Error& error) {
    outcome.fault = error.what();
    return outcome;
  }
  outcome.refused = !ledger.refused.empty();
  outcome.present_value = Decimal(ledger.sums.present_value);
  outcome.cash = Decimal(ledger.sums.cash_sum);
  outcome.credit = Decimal(ledger.sums.credit_sum);
  return outcome;
}

Outcome lane_outcome(const SweepTally<Lanes>& tally, int lane) {
  Outcome outcome;
  if (tally.impossible_mask[lane]) outcome.fault = "impossible";
  outcome.refused = tally.refused_mask[lane];
  outcome.present_value = Decimal(tally.present_value[lane]);
  outcome.cash = Decimal(tally.cash_sum[lane]);
  outcome.credit = Decimal(tally.credit_sum[lane]);
  return outcome;
}

template <class N>
double value_at(const Prepared<N>& prepared, const Route& route, const Pulls& pulls) {
  HeldCuts<N> held(route.tables.size());
  for (std::size_t i = 0; i < route.searched.size(); ++i) held[route.searched[i]] = N(pulls[i]);
  const Plan& plan = *prepared.plan;
  const Figures<N> figures(plan.quantities, plan.analytes, plan.currency);
  RouteLedger<N> ledger(plan.analytes.size(), figures, false);
  try {
    Walk<N, RouteLedger<N>>(prepared, held, ledger).searched_ways(route);
  } catch (const Error&) {
    return SweepPoint::nothing;
  }
  return ledger.refused.empty() ? static_cast<double>(ledger.sums.present_value) : SweepPoint::nothing;
}

std::string list_of_faults(const std::vector<Complaint>& complaints) {
  std::string text;
  for (const Complaint& one : complaints) text += one.pointer + ": " + one.text + '\n';
  return text;
}

}  // namespace

std::vector<Complaint> complaints_of(const std::string& text) {
  const DocumentLimits limits;
  try {
    return read_plan(read_json(text, limits), limits).complaints;
  } catch (const Error& error) {
    return {error.complaint()};
  }
}

std::shared_ptr<const Plan> plan_from(const OrderedJson& document) {
  const DocumentLimits limits;
  PlanReading reading = read_plan(read_json(document.dump(), limits), limits);
  if (!reading.plan) throw std::runtime_error(list_of_faults(reading.complaints) + document.dump(1));
  return reading.plan;
}

Outcome in_decimal(const Plan& plan, const Route& route) { return scalar_outcome<Decimal>(plan, route); }
Outcome in_double(const Plan& plan, const Route& route) { return scalar_outcome<double>(plan, route); }

Outcome in_lanes(const Plan& plan, const Route& route) {
  const Prepared<double> plain(plan);
  const Prepared<Lanes> lanes(plan, Scenario<Lanes>(plain.scenario));
  const HeldCuts<Lanes> held(route.tables.size());
  SweepTally<Lanes> tally(plain);
  Walk<Lanes, SweepTally<Lanes>>(lanes, held, tally).route(route);
  const Outcome first = lane_outcome(tally, 0);
  for (int lane = 1; lane < Lanes::size; ++lane) {
    const Outcome other = lane_outcome(tally, lane);
    EXPECT_EQ(first.refused, other.refused) << "lane " << lane;
    EXPECT_EQ(first.fault, other.fault) << "lane " << lane;
    if (first.impossible() || first.refused) continue;
    EXPECT_EQ(first.present_value, other.present_value) << "lane " << lane;
  }
  return first;
}

std::vector<Named> in_all_three(const Plan& plan, const Route& route) {
  return {{"decimal", in_decimal(plan, route)},
          {"double", in_double(plan, route)},
          {"lanes", in_lanes(plan, route)}};
}

double searched_value(const Prepared<Decimal>& prepared, const Route& route, const Pulls& pulls) {
  return value_at(prepared, route, pulls);
}
double searched_value(const Prepared<double>& prepared, const Route& route, const Pulls& pulls) {
  return value_at(prepared, route, pulls);
}

Decimal contained_value(const Plan& plan) {
  const Prepared<Decimal> prepared(plan);
  Decimal sum = gross_value(prepared.lot, plan.prices, prepared.scenario);
  for (const auto& pieces : prepared.apart) sum += gross_value(pieces, plan.prices, prepared.scenario);
  return sum;
}

Comparison<Decimal> compared(const Plan& plan) {
  return compare<Decimal>(Prepared<Decimal>(plan), CompareOptions{}, Watch{});
}

OrderedJson plain_plan(const OrderedJson& lot, const OrderedJson& steps, const OrderedJson& terms,
                       const OrderedJson& route) {
  return {{"format", "buttonworth-plan/1"},
          {"currency", "USD"},
          {"prices", {{"Au", "1 USD/g"}, {"Ag", "0.01 USD/g"}}},
          {"discount", "0 %/a"},
          {"lot", lot},
          {"steps", steps},
          {"terms", terms},
          {"routes", {{"r", route}}}};
}

void expect_value(const OrderedJson& document, const Decimal& value, const Decimal& scale) {
  const auto plan = plan_from(document);
  for (const auto& [arithmetic, outcome] : in_all_three(*plan, plan->routes.front())) {
    EXPECT_EQ(outcome.fault, "") << arithmetic << '\n' << document.dump(1);
    EXPECT_FALSE(outcome.refused) << arithmetic << '\n' << document.dump(1);
    EXPECT_TRUE(close_to(outcome.present_value, value, Decimal("1e-9"), scale))
        << arithmetic << ": " << outcome.present_value << ", expected " << value << '\n'
        << document.dump(1);
  }
}

void expect_taken(const OrderedJson& document) {
  const auto plan = plan_from(document);
  for (const auto& [arithmetic, outcome] : in_all_three(*plan, plan->routes.front())) {
    EXPECT_EQ(outcome.fault, "") << arithmetic << '\n' << document.dump(1);
    EXPECT_FALSE(outcome.refused) << arithmetic << '\n' << document.dump(1);
  }
}

void expect_refused(const OrderedJson& document) {
  const auto plan = plan_from(document);
  for (const auto& [arithmetic, outcome] : in_all_three(*plan, plan->routes.front()))
    EXPECT_TRUE(outcome.refused) << arithmetic << ' ' << outcome.fault << '\n' << document.dump(1);
}

void expect_impossible(const OrderedJson& document) {
  const auto plan = plan_from(document);
  for (const auto& [arithmetic, outcome] : in_all_three(*plan, plan->routes.front()))
    EXPECT_TRUE(outcome.impossible()) << arithmetic << '\n' << document.dump(1);
}

OrderedJson pairs(const std::vector<std::pair<std::string, std::string>>& list) {
  OrderedJson out = OrderedJson::array();
  for (const auto& [a, b] : list) out.push_back(OrderedJson::array({a, b}));
  return out;
}

std::string text_of(const Decimal& value, const char* unit) {
  const std::string text = value.str(40, std::ios_base::fmtflags{});
  return std::string(unit).empty() ? text : text + ' ' + unit;
}

bool close_to(const Decimal& a, const Decimal& b, const Decimal& relative, const Decimal& scale) {
  Decimal size = abs(a) > abs(b) ? abs(a) : abs(b);
  if (scale > size) size = scale;
  return abs(a - b) <= size * relative;
}

}  // namespace buttonworth::test
