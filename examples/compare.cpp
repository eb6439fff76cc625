// The best route of a plan and what it leaves: compare.c's question in C++.
//     compare-cpp < plan.json
#include <buttonworth.hpp>
#include <iostream>
#include <iterator>

int main() try {
  const std::string text{std::istreambuf_iterator<char>(std::cin), {}};
  bw::Context context;
  const bw::Answer answer = context.compare(context.read(text));
  const std::string best = answer.string("/best");
  if (best == "null") return std::cout << "no route is accepted\n", 5;
  std::cout << best << " leaves " << answer.string("/routes" + bw::step(best) + "/present_value") << ' '
            << answer.string("/currency") << '\n';
} catch (const bw::Error& error) {
  std::cerr << error.what() << '\n';
  return 2;
}
