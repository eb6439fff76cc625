// Prints random curves and their values, for SciPy to judge: a line of knots, then lines of pull and value
// in doubles and in decimals, then an empty line.
#include <cstdio>
#include <iostream>

#include "process/curve.hpp"
#include "random.hpp"

namespace {

using buttonworth::Decimal;

std::string number(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.17g", value);
  return text;
}

void print_curve(buttonworth::test::Random& random, int knots) {
  std::vector<double> x{0}, r{0};
  for (int i = 2; i < knots; ++i) {
    x.push_back(x.back() + random.real(0.001, 0.9 / knots));
    r.push_back(random.chance(0.25) ? r.back() : r.back() + (1 - r.back()) * random.real(0, 0.8));
  }
  x.push_back(1);
  r.push_back(1);
  const auto plain = buttonworth::monotone_cubic<double>(x, r);
  const auto exact = buttonworth::monotone_cubic<Decimal>({x.begin(), x.end()}, {r.begin(), r.end()});
  for (std::size_t i = 0; i < x.size(); ++i)
    std::cout << (i == 0 ? "" : " ") << number(x[i]) << ' ' << number(r[i]);
  std::cout << '\n';
  for (int i = 0; i <= 100; ++i) {
    const double y = i / 100.0;
    std::size_t k = plain.size() - 1;
    while (k > 0 && y < plain[k].start) --k;
    std::cout << number(y) << ' ' << number(plain[k].at(y)) << ' '
              << exact[k].at(Decimal(y)).str(25, std::ios_base::fmtflags{}) << '\n';
  }
  std::cout << '\n';
}

}  // namespace

int main() {
  buttonworth::test::Random random(31);
  for (int i = 0; i < 200; ++i) print_curve(random, 2 + i % 8);
}
