// The normal distribution, forth and back.
#pragma once

#include <array>
#include <cmath>

#include "quantity/arithmetic.hpp"

namespace buttonworth {

/// The chance that a standard normal is below z. The same bits on every processor with the same libm.
inline double normal_share(double z) { return 0.5 * std::erfc(z * -0.70710678118654752440); }

/// Correctly rounded, as IEEE 754 asks, so the same everywhere.
inline double square_root(double x) { return std::sqrt(x); }
template <int W, int C>
Pack<W, C> square_root(const Pack<W, C>& x) {
  Pack<W, C> r;
  for (int i = 0; i < C; ++i)
    for (int k = 0; k < W; ++k) r.v[i][k] = std::sqrt(x.v[i][k]);
  return r;
}

namespace score {
/// Lowest power first.
template <class N, std::size_t Count>
N polynomial(const double (&coefficients)[Count], const N& x) {
  N sum(coefficients[Count - 1]);
  for (std::size_t i = Count - 1; i-- > 0;) sum = sum * x + coefficients[i];
  return sum;
}

/// z ÷ (p − ½) by w = −ln(4 p (1 − p)), 0 to 7: a rational function fitted by least squares with weights that
/// level the error (Lawson), in 50 digits; relative error below 2e-17, that of rounding left aside.
template <class N>
N central(const N& w) {
  static constexpr double above[] = {2.5066282746310004571,      0.87884020538880061619,
                                     0.22626312541525321916,     0.041303391557746944942,
                                     0.0055879547970455950308,   0.00057480425056774365487,
                                     0.000043536192886697173288, 2.2279453079935785537e-6,
                                     6.3459844341890868527e-8,   5.2033573438161543202e-10};
  static constexpr double below[] = {1,
                                     0.088807127847120099482,
                                     0.053984238571734469175,
                                     0.0038221708811178289809,
                                     0.00090358235703302473499,
                                     0.000045423327022457506508,
                                     4.6216365873576691955e-6,
                                     1.2078437653835714072e-7,
                                     3.1799355551783321234e-9};
  return polynomial(above, w) / polynomial(below, w);
}

/// −z by r = √(−ln p): up to 5, and beyond. M. J. Wichura, "Algorithm AS 241", Appl. Statist. 37 (1988).
template <class N>
N near_tail(const N& r) {
  static constexpr double above[] = {1.42343711074968357734,    4.63033784615654529590,
                                     5.76949722146069140550,    3.64784832476320460504,
                                     1.27045825245236838258,    2.41780725177450611770e-1,
                                     2.27238449892691845833e-2, 7.74545014278341407640e-4};
  static constexpr double below[] = {1,
                                     2.05319162663775882187,
                                     1.67638483018380384940,
                                     6.89767334985100004550e-1,
                                     1.48103976427480074590e-1,
                                     1.51986665636164571966e-2,
                                     5.47593808499534494600e-4,
                                     1.05075007164441684324e-9};
  return polynomial(above, N(r - 1.6)) / polynomial(below, N(r - 1.6));
}
template <class N>
N far_tail(const N& r) {
  static constexpr double above[] = {6.65790464350110377720,    5.46378491116411436990,
                                     1.78482653991729133580,    2.96560571828504891230e-1,
                                     2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                     2.71155556874348757815e-5, 2.01033439929228813265e-7};
  static constexpr double below[] = {1,
                                     5.99832206555887937690e-1,
                                     1.36929880922735805310e-1,
                                     1.48753612908506148525e-2,
                                     7.86869131145613259100e-4,
                                     1.84631831751005468180e-5,
                                     1.42151175831644588870e-7,
                                     2.04426310338993978564e-15};
  return polynomial(above, N(r - 5.0)) / polynomial(below, N(r - 5.0));
}

/// The score where p or 1 − p is small, 1e-307 or more; of no meaning elsewhere, but never a division by
/// zero.
template <class N>
[[gnu::noinline, gnu::cold]] N tail(const N& p) {
  const N rest = 1.0 - p;
  const auto lower = p < rest;
  const N r = square_root(N(-natural_log(choose(lower, p, rest))));
  N size = near_tail(r);
  const auto beyond = r > N(5.0);
  if (any(beyond)) size = choose(beyond, far_tail(r), size);
  return choose(lower, N(-size), size);
}
}  // namespace score

/// The score that a standard normal stays below with chance p, 1e-307 to 1 − 2^-53; relative error below
/// 1e-15. In plain IEEE operations: every processor and every width gives the same bits.
template <class N>
N normal_score(const N& p) {
  const N w = -natural_log(N(4.0 * p * (1.0 - p)));
  const N near = (p - 0.5) * score::central(w);
  const auto outside = w > N(7.0);
  return any(outside) ? N(choose(outside, score::tail(p), near)) : near;
}

}  // namespace buttonworth
