// A program of somebody else's, in C++: the same plan through the wrapper.
#include <buttonworth.hpp>
#include <cstdio>
#include <string>

int main() {
  bw::Context context;
  const bw::Plan plan = context.read(R"({
    "format": "buttonworth-plan/1", "currency": "USD", "prices": {"Au": "100 USD/g"}, "discount": "0 %/a",
    "lot": {"wet_mass": "1 t", "assays": {"Au": "50 g/t"}},
    "terms": {"smelter": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}}}},
    "routes": {"kept": {"keep": true}, "sold": {"sell": "smelter"}}})");
  const bw::Answer answer = context.compare(plan);
  const std::string best = answer.string("/best"), version(bw::version());
  std::printf("%s leaves %.2f, by version %s\n", best.c_str(),
              answer.number("/routes" + bw::step(best) + "/net"), version.c_str());
}
