// Recovery curves of a table: cumulative recovery R against cumulative dry mass pull y.
#pragma once

#include <concepts>
#include <utility>
#include <variant>
#include <vector>

#include "material/stream.hpp"
#include "quantity/scenario.hpp"

namespace buttonworth {

/// Measured points; the curve passes through (0, 0), the points, and (1, 1).
struct PointCurve {
  struct Point {
    Quantity pull, recovery;
  };
  std::vector<Point> points;
};

/// R ÷ (1 − R) = odds × y ÷ (1 − y).
struct OddsCurve {
  Quantity odds;
};

/// ln(R ÷ (1 − R)) = a + b ln(y ÷ (1 − y)), b above 0.
struct LogitCurve {
  Quantity a, b;
};

/// R = limit × (1 − e^(−rate y)), limit above 0 to 1, rate above 0.
struct SaturatingCurve {
  Quantity limit, rate;
};

// ---- Powers of e, bounded ------------------------------------------------------------------------

/// e to the power of x, nothing or all alike in the three arithmetics beyond ±700.
template <class N>
N bounded_power(const N& x) {
  return exponential(least(most(x, N(-700)), N(700)));
}

/// 1 − e^(−x) for x ≥ 0, to the last digits where x is small too: what rounding took from u = e^(−x) goes out
/// of (1 − u) ÷ ln u again (W. Kahan).
template <class N>
N power_gone(const N& x) {
  const N u = bounded_power(N(-x)), gone = N(1) - u;
  if constexpr (std::same_as<N, Decimal>) return gone;  // it has digits to spare
  const auto some = gone > N(0), small = both(some, u > N(0.5));
  const N exact = gone * x / (N(0) - natural_log(choose(small, u, N(0.5))));
  return choose(small, exact, choose(some, gone, x));
}

/// The share whose logit is z.
template <class N>
N share_of_logit(const N& z) {
  return N(N(1) / (N(1) + bounded_power(N(-z))));
}
/// ln(share ÷ (1 − share)), of a share above 0 and below 1.
template <class N>
N logit_of(const N& share) {
  return natural_log(N(share / (N(1) - share)));
}

// ---- Points --------------------------------------------------------------------------------------

/// One cubic of the interpolant: R = r + t (d + t (c2 + t c3)), t = y − start.
template <class N>
struct CurvePiece {
  N start, end, r, d, c2, c3;

  N at(const N& y) const {
    const N t = y - start;
    return N(r + t * (d + t * (c2 + t * c3)));
  }
};

/// Three-point slope at an end whose own piece has width h and slope s, the next one h2 and s2.
/// Slopes do not fall here, so it is kept between 0 and, beside a flat piece, three times its own.
template <class N>
N end_slope(const N& h, const N& h2, const N& s, const N& s2) {
  const N d = ((N(2) * h + h2) * s - h * s2) / (h + h2);
  const N kept = choose(both(s2 <= N(0), d > N(3) * s), N(N(3) * s), d);
  return choose(either(kept < N(0), s <= N(0)), N(0), kept);
}

/// The monotone piecewise cubic Hermite interpolant.
///
/// Slopes inside are the weighted harmonic means of Fritsch and Butland; at the ends three-point
/// slopes, kept from turning back. Two knots give a straight line.
/// Source: Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300.
template <class N>
std::vector<CurvePiece<N>> monotone_cubic(const std::vector<N>& x, const std::vector<N>& r) {
  const std::size_t pieces = x.size() - 1;
  std::vector<N> h(pieces), per_h(pieces), slope(pieces), d(x.size());
  for (std::size_t k = 0; k < pieces; ++k) {
    h[k] = x[k + 1] - x[k];
    per_h[k] = N(1) / h[k];
    slope[k] = (r[k + 1] - r[k]) * per_h[k];
  }
  if (pieces == 1) {
    d[0] = d[1] = slope[0];
  } else {
    for (std::size_t k = 1; k < pieces; ++k) {
      const N w1 = N(2) * h[k] + h[k - 1];
      const N w2 = h[k] + N(2) * h[k - 1];
      d[k] = ratio(N((w1 + w2) * slope[k - 1] * slope[k]), N(w1 * slope[k] + w2 * slope[k - 1]));
    }
    d[0] = end_slope(h[0], h[1], slope[0], slope[1]);
    d[pieces] = end_slope(h[pieces - 1], h[pieces - 2], slope[pieces - 1], slope[pieces - 2]);
  }
  std::vector<CurvePiece<N>> curve;
  for (std::size_t k = 0; k < pieces; ++k) {
    const N bend = d[k] + d[k + 1] - N(2) * slope[k];
    curve.push_back(
        {x[k], x[k + 1], r[k], d[k], N((slope[k] - d[k] - bend) * per_h[k]), N(bend * per_h[k] * per_h[k])});
  }
  return curve;
}

enum class CurveForm { points, odds, logit, saturating };

/// A curve prepared for one scenario: what does not depend on the pull is worked out once.
template <class N>
class RecoveryCurve {
 public:
  RecoveryCurve(const PointCurve& curve, const Scenario<N>& s) {
    std::vector<N> pull{N(0)}, recovery{N(0)};
    for (const auto& point : curve.points) {
      pull.push_back(s[point.pull]);
      recovery.push_back(s[point.recovery]);
    }
    if (any(no(at_least(pull.back(), N(1))))) {
      pull.push_back(N(1));
      recovery.push_back(N(1));
    }
    pieces_ = monotone_cubic(pull, recovery);
  }
  RecoveryCurve(const OddsCurve& curve, const Scenario<N>& s)
      : form_(CurveForm::odds), first_(s[curve.odds]) {}
  RecoveryCurve(const LogitCurve& curve, const Scenario<N>& s)
      : form_(CurveForm::logit), first_(s[curve.a]), second_(s[curve.b]) {}
  RecoveryCurve(const SaturatingCurve& curve, const Scenario<N>& s)
      : form_(CurveForm::saturating), first_(s[curve.limit]), second_(s[curve.rate]) {}

  CurveForm form() const { return form_; }
  const std::vector<CurvePiece<N>>& pieces() const { return pieces_; }
  /// The constants of the form: the odds; a and b; limit and rate.
  const N& first() const { return first_; }
  const N& second() const { return second_; }

  /// Cumulative recovery at a cumulative pull within 0 to 1.
  N at(const N& y) const {
    switch (form_) {
      case CurveForm::points: return piece_at(y).at(y);
      case CurveForm::odds: return N(first_ * y / (N(1) - y + first_ * y));
      case CurveForm::logit: return by_logit(y);
      default: return N(first_ * power_gone(N(second_ * y)));
    }
  }

 private:
  // All or nothing pulled has no logit: then R is y.
  N by_logit(const N& y) const {
    const auto inside = both(y > N(0), y < N(1));
    const N part = choose(inside, y, N(0.5));
    return choose(inside, share_of_logit(N(first_ + second_ * logit_of(part))), y);
  }

  // For scalars the piece is found; for lanes each lane picks its own.
  auto piece_at(const N& y) const {
    if constexpr (Scalar<N>) {
      std::size_t k = pieces_.size() - 1;
      while (k > 0 && y < pieces_[k].start) --k;
      return pieces_[k];
    } else {
      CurvePiece<N> mine = pieces_.front();
      for (std::size_t k = 1; k < pieces_.size(); ++k) {
        const CurvePiece<N>& piece = pieces_[k];
        const auto here = y >= piece.start;
        if (!any(here)) break;
        mine.start = choose(here, piece.start, mine.start);
        mine.r = choose(here, piece.r, mine.r);
        mine.d = choose(here, piece.d, mine.d);
        mine.c2 = choose(here, piece.c2, mine.c2);
        mine.c3 = choose(here, piece.c3, mine.c3);
      }
      return mine;
    }
  }

  CurveForm form_ = CurveForm::points;
  std::vector<CurvePiece<N>> pieces_;
  N first_ = N(0), second_ = N(0);
};

}  // namespace buttonworth
