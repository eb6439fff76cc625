// A settlement through the C interface, and a month of deliveries from a table to its book.
#include "support.hpp"

namespace speed {
namespace {

const char* const terms = R"("terms": {"buys": "concentrate", "transit": "4 d",
  "accepts": {"mass": {"min": "1 kg"}, "moisture": {"max": "18 %"}, "Au": {"min": "30 g/t"}},
  "mass_deduction": "0.5 %",
  "pay": {"Au": {"bands": [["20 g/t", "90 %"], ["100 g/t", "94 %"], ["500 g/t", "95.5 %"]], "less": "2 g/t",
                 "refining": "7.50 USD/ozt"}, "Ag": {"share": "80 %", "less": "40 g/t", "refining": "0.60 USD/ozt"}},
  "charges": [{"what": "treatment", "rate": "620 USD/t", "at_least": "120 USD"},
              {"what": "sampling and assay", "rate": "620 USD/lot"},
              {"what": "freight", "rate": "940 USD/t", "of": "wet", "at_least": "150 USD"},
              {"what": "insurance", "rate": "0.25 %", "of": "payable value"}],
  "penalties": [{"for": ["As", "Sb"], "above": "0.2 %", "each": "0.1 %", "rate": "3.50 USD/t", "count": "whole"}],
  "advance": {"share": "85 %", "after": "10 d", "interest": "9 %/a"}, "final": "60 d",
  "rounding": {"Au": "0.1 g/t", "Ag": "1 g/t", "As": "0.01 %", "money": "0.01 USD"}},
  "prices": {"Au": "2650.10 USD/ozt", "Ag": "31.20 USD/ozt"})";

std::string month_heading() {
  std::string buyers;
  for (const char* name : {"harbour smelter", "river refiner", "coast smelter"})
    buyers += std::string(buyers.empty() ? "" : ", ") + '"' + name + "\": {" + terms +
              R"(, "limits": {"assays": {"Au": {"limit": "15 g/t", "rule": "middle"}}}})";
  return R"({"format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01", "to": "2026-03-31",
             "buyers": {)" +
         buyers + "}}";
}

std::string month_table(std::int64_t rows) {
  std::string text =
      "id,buyer,arrived,wet_mass (kg),moisture (%),Au seller (g/t),Au buyer (g/t),Ag (g/t),As (%),Sb (%)\n";
  const char* const buyers[] = {"harbour smelter", "river refiner", "coast smelter"};
  for (std::int64_t i = 0; i < rows; ++i) {
    const std::int64_t gold = 300 + i * 7919 % 1500;
    text += "WM-" + std::to_string(i) + ',' + buyers[i % 3] + ",2026-03-" + (i % 28 < 9 ? "0" : "") +
            std::to_string(i % 28 + 1) + ',' + std::to_string(100 + i % 300) + ".5," +
            std::to_string(i % 12) + ".3," + std::to_string(gold) + ".2," + std::to_string(gold - 6) + ".9," +
            std::to_string(100 + i % 90) + ",0." + std::to_string(10 + i % 60) + ",0.05\n";
  }
  return text;
}

void month(benchmark::State& state) {
  const std::string heading = month_heading(), table = month_table(state.range(0));
  Host host;
  for (auto _ : state) benchmark::DoNotOptimize(host.book(heading, table));
  state.counters["deliveries"] = static_cast<double>(state.range(0));
  state.counters["bytes"] = static_cast<double>(table.size());
}
BENCHMARK(month)->Arg(1)->Arg(1000)->Arg(10'000)->Arg(100'000)->Unit(benchmark::kMillisecond);

void settle_text(benchmark::State& state) {
  const std::string request = std::string(R"({"format": "buttonworth-delivery/1", "currency": "USD", )") +
                              terms +
                              R"(, "delivered": {"wet_mass": "412.5 kg", "moisture": "6.2 %"},
    "assays": {"Au": {"seller": "1180 g/t", "buyer": "1174 g/t", "limit": "15 g/t", "rule": "middle"},
               "Ag": "158 g/t", "As": "0.45 %", "Sb": "0.05 %"}})";
  Host host;
  for (auto _ : state) benchmark::DoNotOptimize(host.settle(request));
}
BENCHMARK(settle_text)->Unit(benchmark::kMicrosecond);

}  // namespace
}  // namespace speed
