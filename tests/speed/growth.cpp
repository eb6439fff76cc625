// How cost grows with lot parts, routes and steps: text to text, so that nothing is left out.
#include "support.hpp"

namespace {

std::string part(int i) {
  const std::string n = std::to_string(100 + i % 900);
  return R"({"wet_mass": ")" + n + R"( kg", "moisture": "11.)" + n + R"( %", "assays": {"Au": ")" + n +
         R"( g/t", "Ag": "1)" + n + R"( g/t", "As": "0.)" + n + R"( %"}})";
}

std::string step(int i) {
  return R"("magnet )" + std::to_string(i) +
         R"(": {"kind": "split", "into": {"magnetics": {"mass": "3 %", "Au": "0.1 %"}, "rest": {}}, "rate": "50 kg/h",)"
         R"( "cost": [{"what": "labour", "rate": "21 USD/h"}]})";
}

/// One path of so many steps, each of which keeps a little back.
std::string path(int steps) {
  std::string node = R"({"sell": "smelter"})";
  for (int i = steps; i-- > 0;)
    node = R"({"step": "magnet )" + std::to_string(i) + R"(", "magnetics": {"keep": true}, "rest": )" + node +
           "}";
  return node;
}

template <class F>
std::string joined(int count, F f) {
  std::string list;
  for (int i = 0; i < count; ++i) list += (i > 0 ? "," : "") + f(i);
  return list;
}

std::string plan(int parts, int routes, int steps) {
  return R"({"format": "buttonworth-plan/1", "currency": "USD", "prices": {"Au": "2650 USD/ozt", "Ag": "31.20 USD/ozt"},)"
         R"( "discount": "18 %/a", "lot": {"parts": [)" +
         joined(parts, part) + R"(]}, "steps": {)" + joined(steps, step) +
         R"(}, "terms": {"smelter": {"buys": "concentrate", "transit": "9 d",)"
         R"( "pay": {"Au": {"share": "95 %", "less": "1 g/t", "refining": "8 USD/ozt"}, "Ag": {"share": "80 %"}},)"
         R"( "charges": [{"what": "treatment", "rate": "450 USD/t"}, {"what": "freight", "rate": "900 USD/t", "of": "wet"}],)"
         R"( "penalties": [{"for": "As", "above": "0.2 %", "each": "0.1 %", "rate": "3 USD/t"}], "final": "45 d"}},)"
         R"( "routes": {)" +
         joined(routes, [&](int i) { return "\"way " + std::to_string(i) + "\": " + path(steps); }) + "}}";
}

void grow(benchmark::State& state, const std::string& text) {
  speed::Host host;
  for (auto _ : state) benchmark::DoNotOptimize(host.text_to_text(text, ""));
}

void parts(benchmark::State& state) { grow(state, plan(static_cast<int>(state.range(0)), 1, 1)); }
void routes(benchmark::State& state) { grow(state, plan(1, static_cast<int>(state.range(0)), 1)); }
void steps(benchmark::State& state) { grow(state, plan(1, 1, static_cast<int>(state.range(0)))); }
BENCHMARK(parts)->Arg(1)->Arg(10)->Arg(100)->Arg(1000);
BENCHMARK(routes)->Arg(1)->Arg(10)->Arg(100);
BENCHMARK(steps)->Arg(1)->Arg(4)->Arg(16);

}  // namespace
