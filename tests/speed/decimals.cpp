// What one operation costs, in Decimal and in double.
#include <cmath>

#include "quantity/edge.hpp"
#include "support.hpp"

using namespace buttonworth;

namespace {

/// Operands as they come up: a grade, a mass and a price after a few multiplications, all digits used.
template <class N>
struct Operands {
  N a = number<N>(Decimal(2650) / Decimal("0.0311034768"));
  N b = number<N>(Decimal("713.9") / Decimal(7));
};

template <class N, class F>
void operation(benchmark::State& state, F f) {
  Operands<N> x;
  for (auto _ : state) {
    benchmark::DoNotOptimize(x);
    benchmark::DoNotOptimize(f(x.a, x.b));
  }
}

template <class N>
void register_operations(const std::string& name) {
  auto add = [&](const char* what, auto f) {
    benchmark::RegisterBenchmark((what + ("/" + name)).c_str(),
                                 [f](benchmark::State& state) { operation<N>(state, f); });
  };
  add("copy", [](const N& a, const N&) { return a; });
  add("compare", [](const N& a, const N& b) { return a < b; });
  add("add", [](const N& a, const N& b) { return N(a + b); });
  add("multiply", [](const N& a, const N& b) { return N(a * b); });
  add("divide", [](const N& a, const N& b) { return N(a / b); });
  add("floor", [](const N& a, const N&) { return plain_floor(a); });
  add("round to cents", [](const N& a, const N&) {
    static const N step = number<N>(Decimal("0.01"));
    return round_to(a, step, N(100), RoundingMode::half_even);
  });
  add("exp", [](const N&, const N& b) { return exponential(N(b * N(-0.001))); });
  add("log", [](const N& a, const N&) { return natural_log(a); });
  add("to text, 18 digits", [](const N& a, const N&) { return to_text(a); });
}

const bool registered = [] {
  register_operations<Decimal>("decimal");
  register_operations<double>("double");
  benchmark::RegisterBenchmark("to text, all digits/decimal", [](benchmark::State& state) {
    operation<Decimal>(state, [](const Decimal& a, const Decimal&) { return to_text(a, full_digits); });
  });
  benchmark::RegisterBenchmark("to double/decimal", [](benchmark::State& state) {
    operation<Decimal>(state, [](const Decimal& a, const Decimal&) { return to_double(a); });
  });
  benchmark::RegisterBenchmark("from text/decimal", [](benchmark::State& state) {
    operation<Decimal>(state, [](const Decimal&, const Decimal&) { return read_number("2650.125").value; });
  });
  return true;
}();

}  // namespace
