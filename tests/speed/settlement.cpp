// One settlement: `sell`, with the lot delivered as it stands.
#include <cstdio>

#include "route/records.hpp"
#include "support.hpp"

using namespace buttonworth;

namespace {

/// Every line's amount and the sums, and nothing else: what the same sums elsewhere give back.
template <class N>
struct Amounts : Tally<N> {
  std::array<N, 16> amounts;
  std::size_t count = 0;

  template <class How>
  void line(const LineName&, const N& amount, const N&, How&&) {
    amounts[count++] = amount;
  }
};

struct Case {
  std::shared_ptr<const Plan> plan = speed::plan_of(speed::file_text(SETTLEMENT_PLAN));
  Prepared<Decimal> exact{*plan};
  Prepared<double> plain{*plan};

  template <class N>
  const Prepared<N>& prepared() const {
    if constexpr (std::same_as<N, Decimal>) return exact;
    else return plain;
  }
  template <class N, class Record>
  void settle(Record& record) const {
    const Prepared<N>& p = prepared<N>();
    sell(plan->terms[0], std::span<const Levy>(plan->levies), plan->prices, plan->analytes, p.lot, p.scenario,
         record);
  }
};

const Case& sale() {
  static const Case one;
  return one;
}

template <class N>
void settle(benchmark::State& state) {
  const Case& one = sale();
  for (auto _ : state) {
    Amounts<N> record;
    one.settle<N>(record);
    benchmark::DoNotOptimize(record);
  }
}
BENCHMARK_TEMPLATE(settle, Decimal);
BENCHMARK_TEMPLATE(settle, double);

void settle_ledger(benchmark::State& state) {
  const Case& one = sale();
  const Figures<Decimal> figures(one.plan->quantities, one.plan->analytes, one.plan->currency);
  for (auto _ : state) {
    RouteLedger<Decimal> record(one.plan->analytes.size(), figures, state.range(0) != 0);
    one.settle<Decimal>(record);
    benchmark::DoNotOptimize(record);
  }
}
BENCHMARK(settle_ledger)->ArgName("how")->Arg(0)->Arg(1);

}  // namespace

namespace speed {

void print_settlement() {
  Amounts<Decimal> record;
  sale().settle<Decimal>(record);
  for (std::size_t i = 0; i < record.count; ++i)
    std::printf("%s\n", to_text(record.amounts[i], {40, 2, 2}).c_str());
  std::printf("cash %s\npresent value %s\n", to_text(record.cash_sum, {40, 2, 2}).c_str(),
              to_text(record.present_value, {40, 2, 2}).c_str());
}

}  // namespace speed
