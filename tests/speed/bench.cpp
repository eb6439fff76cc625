// Requests to the bench, and a formula over whole columns against a loop of its own.
#include <nlohmann/json.hpp>

#include "support.hpp"

namespace speed {
namespace {

void ask(benchmark::State& state, const std::string& request) {
  Host host;
  for (auto _ : state) benchmark::DoNotOptimize(host.bench(request));
}

/// One benchmark a request, by what it asks: "bench/charge".
const bool registered = [] {
  for (const auto& request : nlohmann::ordered_json::parse(file_text(BENCH_REQUESTS))) {
    const auto format = request.at("format").get<std::string>();
    const std::string name = "bench/" + format.substr(12, format.size() - 14);  // buttonworth-…/1
    benchmark::RegisterBenchmark(name.c_str(), [text = request.dump()](benchmark::State& state) {
      ask(state, text);
    })->Unit(benchmark::kMicrosecond);
  }
  return true;
}();

constexpr std::size_t rows = 100'000;

std::vector<double> column(double first, double step) {
  std::vector<double> values(rows);
  for (std::size_t i = 0; i < rows; ++i) values[i] = first + step * static_cast<double>(i) / rows;
  return values;
}

void formula_column(benchmark::State& state) {
  const std::vector<double> feed = column(0.8, 0.1), concentrate = column(20, 5), tailings = column(0.1, 0.1);
  std::vector<double> out(rows);
  Host host;
  for (auto _ : state) {
    host.recoveries(feed, concentrate, tailings, out);
    benchmark::DoNotOptimize(out.data());
    benchmark::ClobberMemory();
  }
  state.counters["rows"] = rows;
}
BENCHMARK(formula_column)->Unit(benchmark::kMicrosecond);

void formula_loop(benchmark::State& state) {
  const std::vector<double> feed = column(0.8, 0.1), concentrate = column(20, 5), tailings = column(0.1, 0.1);
  std::vector<double> out(rows);
  for (auto _ : state) {
    for (std::size_t i = 0; i < rows; ++i)
      out[i] = concentrate[i] * (feed[i] - tailings[i]) / (feed[i] * (concentrate[i] - tailings[i]));
    benchmark::DoNotOptimize(out.data());
    benchmark::ClobberMemory();
  }
  state.counters["rows"] = rows;
}
BENCHMARK(formula_loop)->Unit(benchmark::kMicrosecond);

}  // namespace
}  // namespace speed
