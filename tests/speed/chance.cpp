// A simulation of the demo plan, twelve inputs and all its routes: the model, the drawing, both, and the
// whole.
#include "chance.hpp"

#include <sys/resource.h>

#include <cmath>
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numeric>

#include "demo_loop.hpp"
#include "document/simulation_document.hpp"

using namespace buttonworth;

namespace speed {
namespace {

using Json = nlohmann::ordered_json;

const Json& twelve_document() {
  static const Json document = Json::parse(file_text(TWELVE_PLAN));
  return document;
}

std::shared_ptr<const Plan> plan_with_places() {
  const DocumentLimits limits;
  auto reading = read_plan(read_json(twelve_document().at("plan").dump(), limits), limits, true);
  if (reading.plan) return reading.plan;
  std::fprintf(stderr, "%s: %s\n", reading.complaints.front().pointer.c_str(),
               reading.complaints.front().text.c_str());
  std::exit(1);
}

SimulateOptions options_for(const Plan& plan) {
  const DocumentLimits limits;
  std::vector<Complaint> complaints;
  const Value document = read_json(twelve_document().at("options").dump(), limits);
  SimulateOptions options = read_simulate_options(document, plan, limits, complaints);
  if (complaints.empty()) return options;
  std::fprintf(stderr, "%s: %s\n", complaints.front().pointer.c_str(), complaints.front().text.c_str());
  std::exit(1);
}

}  // namespace

Twelve::Twelve(DrawMethod method, std::int64_t draws)
    : plan_(plan_with_places()), options_(options_for(*plan_)) {
  options_.numbers.method = method;
  options_.numbers.draws = draws;
  means_.emplace(*plan_);
  drawing_.emplace(*plan_, options_.together, options_.numbers);
  comparison_.emplace(compare(*means_, CompareOptions{false, {}}, Watch()));
  held_ = hold_cuts(*comparison_);
  worths_ = worth_program(*means_, *drawing_, held_);
  nothing_ = worth_program(*means_, *drawing_, {});
  if (drawing_->dimensions().size() == 12) return;
  std::fprintf(stderr, "%zu draws, not 12\n", drawing_->dimensions().size());
  std::exit(1);
}

std::vector<double> Twelve::pulls(std::size_t route) const {
  std::vector<double> pulls;
  for (const std::optional<double>& pull : comparison_->routes[route].ledger.pulls)
    pulls.push_back(pull.value());
  return pulls;
}

namespace {

const Twelve& twelve(DrawMethod method) {
  static const Twelve sobol(DrawMethod::sobol), philox(DrawMethod::philox);
  return method == DrawMethod::sobol ? sobol : philox;
}

// ---- In parts --------------------------------------------------------------------------------------

using MakeWorker = std::unique_ptr<DrawWorker> (*)(const DrawnPlan&);

/// Blocks of draws, one after the other; `route_draws` is how many worths one round gives.
void work(benchmark::State& state, MakeWorker make, DrawMethod method, bool whole) {
  const Twelve& demo = twelve(method);
  const DrawnPlan drawn = whole ? demo.whole() : demo.bare();
  const auto worker = make(drawn);
  const BlockPlaces places(demo.options().numbers.draws);
  DrawBlock block;
  std::size_t number = 0;
  for (auto _ : state) {
    const BlockPlace place = places[number++ % places.size()];
    worker->work(place.first, place.count, block);
    benchmark::DoNotOptimize(block.worth.data());
    benchmark::DoNotOptimize(block.classes.data());
  }
  state.counters["route_draws"] = static_cast<double>(places[0].count * demo.routes());
}

void register_parts(const char* width, MakeWorker make) {
  for (DrawMethod method : {DrawMethod::sobol, DrawMethod::philox})
    for (bool whole : {true, false}) {
      const std::string name = std::string("chance/") + (whole ? "both/" : "drawing/") + width +
                               (method == DrawMethod::sobol ? "/sobol" : "/philox");
      benchmark::RegisterBenchmark(name.c_str(), [=](benchmark::State& state) {
        work(state, make, method, whole);
      })->Unit(benchmark::kMicrosecond);
    }
}

const bool registered = [] {
  register_parts("widest", make_worker);
  register_parts("plain", make_worker_plain);
#if defined(SPEED_AVX2)
  if (__builtin_cpu_supports("avx2")) register_parts("avx2", make_worker_avx2);
#endif
  return true;
}();

// ---- By hand ---------------------------------------------------------------------------------------

#if defined(SPEED_AVX2)
/// Draws made beforehand, and the loop's worths of them.
struct ByHand {
  const Twelve& demo = twelve(DrawMethod::sobol);
  std::size_t count = static_cast<std::size_t>(demo.drawing().part_draws());
  std::vector<std::size_t> inputs = in_order(demo.drawing());
  std::vector<std::vector<double>> columns{12};
  LoopDraws draws{{}, count};
  LoopPulls pulls{demo.pulls(5)[0], demo.pulls(6)[0], demo.pulls(7)[0], demo.pulls(8)[0], demo.pulls(10)[0]};
  std::vector<double> worth = std::vector<double>(count * loop_routes);
  std::vector<std::uint8_t> broken = std::vector<std::uint8_t>(count);

  ByHand() {
    const DrawnPlan drawn = demo.whole(true);
    const auto worker = make_worker(drawn);
    DrawBlock block;
    double worst = 0;
    for (std::size_t at = 0; at < count; at += block_draws) {
      worker->work(static_cast<std::int64_t>(at), std::min(block_draws, count - at), block);
      for (std::size_t d = 0; d < 12; ++d) {
        const double* const values = &block.values[inputs[d] * block.count];
        columns[d].insert(columns[d].end(), values, values + block.count);
      }
      work_on(at, block.count);
      for (std::size_t i = 0; i < block.count; ++i) worst = std::max(worst, apart(at + i, i, block));
    }
    if (worst <= 1e-9) return;
    std::fprintf(stderr, "the loop by hand is %.3g off\n", worst);
    std::exit(1);
  }

  /// The first input of each dimension, in the order in which the plan states them.
  static std::vector<std::size_t> in_order(const Drawing& drawing) {
    std::vector<std::size_t> all(drawing.inputs().size()), first;
    std::iota(all.begin(), all.end(), std::size_t{0});
    std::sort(all.begin(), all.end(), [&](std::size_t a, std::size_t b) {
      return drawing.inputs()[a].quantity.index < drawing.inputs()[b].quantity.index;
    });
    std::vector<bool> seen(drawing.dimensions().size());
    for (std::size_t input : all) {
      const std::size_t dimension = drawing.inputs()[input].dimension;
      if (!seen[dimension]) first.push_back(input);
      seen[dimension] = true;
    }
    return first;
  }
  void work() { work_demo_loop(pulls, draws, worth.data(), broken.data()); }
  void work_on(std::size_t at, std::size_t some) {
    LoopDraws part{{}, some};
    for (std::size_t d = 0; d < 12; ++d) part.input[d] = &columns[d][at];
    std::vector<double> out(some * loop_routes);
    work_demo_loop(pulls, part, out.data(), &broken[at]);
    for (std::size_t r = 0; r < loop_routes; ++r) std::copy_n(&out[r * some], some, &worth[r * count + at]);
    for (std::size_t d = 0; d < 12; ++d) draws.input[d] = columns[d].data();
  }
  double apart(std::size_t draw, std::size_t i, const DrawBlock& block) const {
    if (broken[draw] != block.broken[i]) return 1;
    double worst = 0;
    for (std::size_t r = 0; r < loop_routes; ++r) {
      const double mine = worth[r * count + draw], theirs = block.worth_of(i)[r];
      worst = std::max(worst, std::abs(mine - theirs) / std::max(1.0, std::abs(theirs)));
    }
    return worst;
  }
};

void loop_by_hand(benchmark::State& state) {
  static ByHand by_hand;
  for (auto _ : state) {
    by_hand.work();
    benchmark::DoNotOptimize(by_hand.worth.data());
    benchmark::ClobberMemory();
  }
  state.counters["route_draws"] = static_cast<double>(by_hand.count * loop_routes);
}
BENCHMARK(loop_by_hand)->Name("chance/loop")->Unit(benchmark::kMicrosecond);
#endif

// ---- The whole -------------------------------------------------------------------------------------

SimulateOptions asked(std::int64_t draws, DrawMethod method, std::uint64_t seed, int threads) {
  SimulateOptions options = twelve(method).options();
  options.numbers = {draws, seed, method};
  options.threads = threads;
  return options;
}

void simulate_whole(benchmark::State& state) {
  const SimulateOptions options =
      asked(std::int64_t{1} << state.range(0), DrawMethod::sobol, 1, static_cast<int>(state.range(1)));
  const Plan& plan = twelve(DrawMethod::sobol).plan();
  for (auto _ : state) benchmark::DoNotOptimize(simulate(plan, options, Watch()));
  state.counters["route_draws"] =
      static_cast<double>(options.numbers.draws) * static_cast<double>(plan.routes.size());
}
// By the clock: what two threads save shows there alone.
BENCHMARK(simulate_whole)
    ->Name("chance/simulate")
    ->ArgNames({"log2", "threads"})
    ->ArgsProduct({{10, 12, 14, 16, 18, 20, 22}, {1}})
    ->ArgsProduct({{16, 20}, {2}})
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond);

/// What a simulation takes before and after its draws, whatever their number: the cuts, the tables.
void prepare_whole(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(Twelve(DrawMethod::sobol));
}
BENCHMARK(prepare_whole)->Name("chance/prepare")->Unit(benchmark::kMicrosecond);

Simulation simulated(std::int64_t draws, DrawMethod method, std::uint64_t seed) {
  return simulate(twelve(method).plan(), asked(draws, method, seed, 1), Watch());
}

}  // namespace

void print_errors() {
  constexpr std::int64_t few = 1 << 14, many = 1 << 20, most = 1 << 22;
  constexpr int seeds = 8;
  const Simulation truth = simulated(most, DrawMethod::sobol, 1000);
  Json answer = Json::array();
  std::vector<double> sobol(truth.routes.size()), philox(truth.routes.size());
  std::vector<double> stated_sobol(truth.routes.size()), stated_philox(truth.routes.size());
  for (int seed = 1; seed <= seeds; ++seed) {
    const Simulation a = simulated(few, DrawMethod::sobol, static_cast<std::uint64_t>(seed));
    const Simulation b = simulated(many, DrawMethod::philox, static_cast<std::uint64_t>(seed));
    for (std::size_t r = 0; r < truth.routes.size(); ++r) {
      const double mean = truth.routes[r].mean;
      sobol[r] += std::pow(a.routes[r].mean - mean, 2) / seeds;
      philox[r] += std::pow(b.routes[r].mean - mean, 2) / seeds;
      stated_sobol[r] += std::pow(a.routes[r].standard_error, 2) / seeds;
      stated_philox[r] += std::pow(b.routes[r].standard_error, 2) / seeds;
    }
  }
  for (std::size_t r = 0; r < truth.routes.size(); ++r)
    answer.push_back({{"route", truth.routes[r].route->name},
                      {"mean", truth.routes[r].mean},
                      {"sd", truth.routes[r].sd},
                      {"sobol", std::sqrt(sobol[r])},
                      {"philox", std::sqrt(philox[r])},
                      {"sobol stated", std::sqrt(stated_sobol[r])},
                      {"philox stated", std::sqrt(stated_philox[r])},
                      {"of the reference", truth.routes[r].standard_error}});
  std::puts(answer.dump().c_str());
}

void print_memory(std::int64_t draws) {
  const Plan& plan = twelve(DrawMethod::sobol).plan();
  rusage before{}, after{};
  getrusage(RUSAGE_SELF, &before);
  benchmark::DoNotOptimize(simulate(plan, asked(draws, DrawMethod::sobol, 1, 1), Watch()));
  getrusage(RUSAGE_SELF, &after);
  std::printf("{\"draws\": %lld, \"before\": %ld, \"peak\": %ld}\n", static_cast<long long>(draws),
              before.ru_maxrss * 1024, after.ru_maxrss * 1024);
}

// ---- Draws for others ------------------------------------------------------------------------------

void write_draws(const char* file, std::int64_t draws) {
  const Twelve& demo = twelve(DrawMethod::sobol);
  Json options = twelve_document().at("options");
  options["draws"] = draws;
  options["keep"] = true;
  Host host;
  std::vector<std::string> names;
  Json header{{"draws", draws}, {"inputs", Json::array()}, {"routes", Json::object()}};
  for (const Input& input : demo.drawing().inputs()) {
    names.push_back(demo.plan().quantities[input.quantity].place);
    header["inputs"].push_back(names.back());
  }
  for (std::size_t r = 0; r < demo.routes(); ++r) {
    names.push_back(demo.plan().routes[r].name);
    header["routes"][names.back()] = demo.pulls(r);
  }
  const auto columns = host.draws(twelve_document().at("plan").dump(), options.dump(), names);
  std::ofstream out(file, std::ios::binary);
  out << header.dump() << '\n';
  for (const std::vector<double>& column : columns)
    out.write(reinterpret_cast<const char*>(column.data()),
              static_cast<std::streamsize>(column.size() * sizeof(double)));
}

}  // namespace speed
