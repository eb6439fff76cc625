// A figure with its standard uncertainty, and how uncertainty goes through a formula.
#pragma once

#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "quantity/error.hpp"

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

/// f's results beside x, or nothing where the formula ends before it.
template <class F>
std::optional<std::vector<double>> results_beside(std::vector<double> x, std::size_t i, double step,
                                                  const F& f) {
  x[i] += step;
  try {
    return f(std::as_const(x));
  } catch (const Error&) {
    return std::nullopt;
  }
}

/// The uncertainty of f's results from that of its inputs, which are independent: first order, the slopes
/// by central differences a thousandth of an sd wide, of one side where an input stands at the end of what
/// the formula allows. `f` takes the inputs' values and gives a list of results, as many each time. Source:
/// JCGM 100:2008, 5.1.2 and note 2 of 5.1.3.
template <class F>
std::vector<Figure> propagated(const std::vector<Figure>& inputs, const F& f) {
  std::vector<double> x;
  x.reserve(inputs.size());
  for (const Figure& input : inputs) x.push_back(input.value);
  std::vector<Figure> out;
  for (double value : f(std::as_const(x))) out.push_back({value, 0});
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!(inputs[i].sd > 0)) continue;
    std::optional<std::vector<double>> above, below;
    double part = 2e-3;  // of the sd, less where the formula ends on both sides
    while (!above && !below && part > 1e-9) {
      part /= 2;
      above = results_beside(x, i, part * inputs[i].sd, f);
      below = results_beside(x, i, -part * inputs[i].sd, f);
    }
    const double steps = (above ? part : 0) + (below ? part : 0);
    for (std::size_t k = 0; steps > 0 && k < out.size(); ++k) {
      const double rise = (above ? (*above)[k] : out[k].value) - (below ? (*below)[k] : out[k].value);
      out[k].sd = std::hypot(out[k].sd, rise / steps);
    }
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
