// The demo plan: from text to text in parts, and the same comparison in the other arithmetics.
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "document/comparison_document.hpp"
#include "support.hpp"

using namespace buttonworth;

namespace {

const std::string& demo_text() {
  static const std::string text = speed::file_text(DEMO_PLAN);
  return text;
}

/// The demo plan, with the cuts of all its routes found once for all arithmetics.
struct Demo {
  std::shared_ptr<const Plan> plan = speed::plan_of(demo_text());
  Prepared<Decimal> exact{*plan};
  Prepared<double> plain{*plan};
  Figures<Decimal> exact_figures{plan->quantities, plan->analytes, plan->currency};
  Figures<double> plain_figures{plan->quantities, plan->analytes, plan->currency};
  std::vector<FoundCuts<Decimal>> exact_cuts;
  std::vector<FoundCuts<double>> plain_cuts;
  std::vector<std::vector<double>> pulls;  ///< of every table visit, solved ones too

  Demo() {
    CutFinder finder(*plan);
    for (const Route& route : plan->routes) {
      exact_cuts.push_back(find_cuts<Decimal>(*plan, route, finder, Watch()));
      plain_cuts.push_back(find_cuts<double>(*plan, route, finder, Watch()));
      hold_all(route);
    }
    check();
  }

  /// A cut by grade is solved once too: what is compared is the arithmetic, not the solver.
  void hold_all(const Route& route) {
    const auto result = work_out(exact, route, exact_cuts.back(), exact_figures, false);
    auto& mine = pulls.emplace_back();
    for (std::size_t i = 0; i < route.tables.size(); ++i) {
      exact_cuts.back().held[i] = result.ledger.cuts[i].pull;
      mine.push_back(to_double(result.ledger.cuts[i].pull));
      plain_cuts.back().held[i] = mine.back();
    }
  }

  double quick(std::size_t i) const {
    Tally<double> sums;
    Walk<double, Tally<double>>(plain, plain_cuts[i].held, sums).route(plan->routes[i]);
    return sums.present_value;
  }
  double decimal(std::size_t i, bool how) const {
    const auto result = work_out(exact, plan->routes[i], exact_cuts[i], exact_figures, how);
    return to_double(result.ledger.sums.present_value);
  }

  /// A ratio of times means nothing unless both did the same work.
  void check() const {
    const auto narrow = speed::narrow_lanes(plain);
    const auto wide = speed::wide_lanes(plain);
    for (std::size_t i = 0; i < plan->routes.size(); ++i) {
      const double want = decimal(i, false);
      agree(i, want, quick(i));
      agree(i, want, narrow->value(plan->routes[i], pulls[i]));
      if (wide) agree(i, want, wide->value(plan->routes[i], pulls[i]));
    }
  }
  void agree(std::size_t i, double want, double got) const {
    if (std::abs(got - want) <= 1e-9 * std::abs(want)) return;
    std::fprintf(stderr, "route %s: %.12g is not %.12g\n", plan->routes[i].name.c_str(), got, want);
    std::exit(1);
  }
};

const Demo& demo() {
  static const Demo one;
  return one;
}

// ---- Reading ---------------------------------------------------------------------------------------

void read_to_value(benchmark::State& state) {
  const DocumentLimits limits;
  for (auto _ : state) benchmark::DoNotOptimize(read_json(demo_text(), limits));
}
BENCHMARK(read_to_value);

void read_value_to_plan(benchmark::State& state) {
  const DocumentLimits limits;
  const Value value = read_json(demo_text(), limits);
  for (auto _ : state) benchmark::DoNotOptimize(read_plan(value, limits));
}
BENCHMARK(read_value_to_plan);

void read_in_c(benchmark::State& state) {
  speed::Host host;
  for (auto _ : state) benchmark::DoNotOptimize(host.read_only(demo_text()));
}
BENCHMARK(read_in_c);

// ---- Text to text ----------------------------------------------------------------------------------

void text_to_text(benchmark::State& state, const char* options) {
  speed::Host host;
  const std::string wanted = options;
  for (auto _ : state) benchmark::DoNotOptimize(host.text_to_text(demo_text(), wanted));
}
BENCHMARK_CAPTURE(text_to_text, decimal, "");
BENCHMARK_CAPTURE(text_to_text, without_how, R"({"how": false})");
BENCHMARK_CAPTURE(text_to_text, double, R"({"arithmetic": "double"})");

template <class N>
void prepare(benchmark::State& state) {
  const Plan& plan = *demo().plan;
  for (auto _ : state) benchmark::DoNotOptimize(Prepared<N>(plan));
}
BENCHMARK_TEMPLATE(prepare, Decimal);
BENCHMARK_TEMPLATE(prepare, double);

void search_cuts(benchmark::State& state) {
  const Plan& plan = *demo().plan;
  for (auto _ : state) {
    CutFinder finder(plan);
    for (const Route& route : plan.routes)
      benchmark::DoNotOptimize(find_cuts<Decimal>(plan, route, finder, Watch()));
  }
}
BENCHMARK(search_cuts);

void write_text(benchmark::State& state) {
  const auto comparison = compare(demo().exact, CompareOptions{}, Watch());
  for (auto _ : state) benchmark::DoNotOptimize(comparison_text(comparison, true));
}
BENCHMARK(write_text);

// ---- Evaluating ------------------------------------------------------------------------------------

void ledgers_decimal(benchmark::State& state) {
  const Demo& d = demo();
  for (auto _ : state)
    for (std::size_t i = 0; i < d.pulls.size(); ++i)
      benchmark::DoNotOptimize(d.decimal(i, state.range(0) != 0));
}
BENCHMARK(ledgers_decimal)->ArgName("how")->Arg(0)->Arg(1);

void ledgers_double(benchmark::State& state) {
  const Demo& d = demo();
  for (auto _ : state)
    for (std::size_t i = 0; i < d.pulls.size(); ++i)
      benchmark::DoNotOptimize(
          work_out(d.plain, d.plan->routes[i], d.plain_cuts[i], d.plain_figures, state.range(0) != 0));
}
BENCHMARK(ledgers_double)->ArgName("how")->Arg(0)->Arg(1);

void sums_double(benchmark::State& state) {
  const Demo& d = demo();
  for (auto _ : state)
    for (std::size_t i = 0; i < d.pulls.size(); ++i) benchmark::DoNotOptimize(d.quick(i));
}
BENCHMARK(sums_double);

/// Sums of all routes for a whole block of lanes; `draws` is how many scenarios that was.
void sums_lanes(benchmark::State& state, std::unique_ptr<speed::LaneWalk> (*make)(const Prepared<double>&)) {
  const Demo& d = demo();
  const auto walk = make(d.plain);
  if (!walk) {
    state.SkipWithError("this processor has no AVX2");
    return;
  }
  for (auto _ : state)
    for (std::size_t i = 0; i < d.pulls.size(); ++i)
      benchmark::DoNotOptimize(walk->value(d.plan->routes[i], d.pulls[i]));
  state.counters["draws"] = walk->lanes();
  state.counters["routes"] = static_cast<double>(d.pulls.size());
}
BENCHMARK_CAPTURE(sums_lanes, narrow, speed::narrow_lanes);
BENCHMARK_CAPTURE(sums_lanes, wide, speed::wide_lanes);

}  // namespace
