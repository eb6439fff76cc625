// A figure with its standard uncertainty, and how uncertainty goes through a formula.
#pragma once

#include <cmath>
#include <utility>
#include <vector>

namespace buttonworth {

/// A value and its standard uncertainty, 0 where it is certain.
struct Figure {
  double value = 0;
  double sd = 0;
};

/// Certain where its uncertainty is no more than rounding: 1 part in 10^9.
inline Figure without_noise(Figure figure) {
  if (figure.sd <= 1e-9 * std::abs(figure.value)) figure.sd = 0;
  return figure;
}

/// The uncertainty of f's results from that of its inputs, which are independent: first order, the slopes
/// by central differences a thousandth of an sd wide. `f` takes the inputs' values and gives a list of
/// results, as many each time. Source: JCGM 100:2008, 5.1.2 and note 2 of 5.1.3.
template <class F>
std::vector<Figure> propagated(const std::vector<Figure>& inputs, const F& f) {
  std::vector<double> x;
  for (const Figure& input : inputs) x.push_back(input.value);
  std::vector<Figure> out;
  for (double value : f(std::as_const(x))) out.push_back({value, 0});
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!(inputs[i].sd > 0)) continue;
    const double centre = x[i], step = inputs[i].sd * 1e-3;
    x[i] = centre + step;
    const std::vector<double> above = f(std::as_const(x));
    x[i] = centre - step;
    const std::vector<double> below = f(std::as_const(x));
    x[i] = centre;
    for (std::size_t k = 0; k < out.size(); ++k)
      out[k].sd = std::hypot(out[k].sd, (above[k] - below[k]) / 2e-3);
  }
  for (Figure& one : out) one = without_noise(one);  // of slopes found numerically where there are none
  return out;
}

/// The same where f gives one number.
template <class F>
Figure propagated_one(const std::vector<Figure>& inputs, const F& f) {
  return propagated(inputs, [&](const std::vector<double>& x) { return std::vector<double>{f(x)}; }).front();
}

}  // namespace buttonworth
