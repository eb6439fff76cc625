// Where a curve reaches a grade or a recovery: the pull a table is set to.
#pragma once

#include <boost/math/tools/roots.hpp>
#include <limits>
#include <optional>

#include "process/table.hpp"

namespace buttonworth {

/// A cubic a + t (b + t (c + t d)) on 0 ≤ t ≤ width.
template <Scalar N>
struct Cubic {
  N a, b, c, d, width;
  N at(const N& t) const { return N(a + t * (b + t * (c + t * d))); }
  N slope(const N& t) const { return N(b + t * (N(2) * c + N(3) * t * d)); }
};

/// The zero between low and high, where the function changes its sign once: Newton steps that fall
/// back on halving.
template <Scalar N, class F>
N zero_between(const F& f, const N& low, const N& high) {
  if (f.at(low) == N(0)) return low;
  if (f.at(high) == N(0)) return high;
  std::uintmax_t most_steps = 400;
  return boost::math::tools::newton_raphson_iterate(
      [&](const N& t) { return std::make_pair(f.at(t), f.slope(t)); }, N((low + high) / N(2)), low, high,
      boost::math::tools::digits<N>() - 4, most_steps);
}

/// Where the cubic turns inside its width, from the right: the zeros of b + t (2 c + t 3 d), in the form
/// that neither cancels nor needs a d.
template <Scalar N>
std::vector<N> turns_from_right(const Cubic<N>& f) {
  using std::sqrt;
  std::vector<N> turns;
  const N root = f.c * f.c - N(3) * f.d * f.b;
  if (root < N(0)) return turns;
  const N q = f.c < N(0) ? N(sqrt(root) - f.c) : N(-sqrt(root) - f.c);
  for (const N& t : {ratio(q, N(N(3) * f.d)), ratio(f.b, q)})
    if (t > N(0) && t < f.width) turns.push_back(t);
  if (turns.size() == 2 && turns[0] < turns[1]) std::swap(turns[0], turns[1]);
  return turns;
}

/// The largest t of the cubic's width where it is not below 0, or nothing.
template <Scalar N>
std::optional<N> last_not_below(const Cubic<N>& f) {
  std::vector<N> ends = turns_from_right(f);
  ends.push_back(N(0));
  N right = f.width;
  if (f.at(right) >= N(0)) return right;
  for (const N& left : ends) {
    if (f.at(left) >= N(0)) return zero_between(f, left, right);
    right = left;
  }
  return std::nullopt;
}

/// S ÷ (1 − y + S y) ≥ slope: falling in y for S above 1, and rising to slope 1 otherwise.
template <Scalar N>
std::optional<N> largest_odds_pull(const N& odds, const N& slope) {
  if (odds <= N(1) || at_least(slope, odds)) return std::nullopt;
  return N((odds / slope - N(1)) / (odds - N(1)));
}

/// A logit curve over the line R = slope × y, at v = y ÷ (1 − y) = e^(from + t): there
/// e^a v^(b − 1) (1 − (slope − 1) v) ≥ slope, arranged so that it is smooth, and concave for slopes above 1.
template <Scalar N>
struct LogitOverLine {
  N c, bend, over, from;  ///< a − ln slope, b − 1, slope − 1
  N at(const N& t) const { return N(N(1) - over * bounded_power(N(from + t)) - other(t)); }
  N slope(const N& t) const { return N(bend * other(t) - over * bounded_power(N(from + t))); }
  N other(const N& t) const { return bounded_power(N(-(c + bend * (from + t)))); }
};

/// With b above 1 the curve is S-shaped, and R ÷ y rises to a peak before it falls; below 1 it falls from any
/// height. Pulls below 1e-30 are none.
template <Scalar N>
std::optional<N> largest_logit_pull(const RecoveryCurve<N>& curve, const N& slope, const N& most_pull) {
  static const N least_pull = logit_of(number<N>(power_of_ten(-30))), all = N(700), ln2 = natural_log(N(2));
  static const N noise = std::numeric_limits<N>::epsilon() * N(64);
  const N &a = curve.first(), &b = curve.second();
  const N c = a - natural_log(slope), bend = b - N(1), over = slope - N(1);
  if (bend == N(0)) return largest_odds_pull(bounded_power(a), slope);
  if (bend > N(0) && over <= N(0)) return std::nullopt;  // R ÷ y rises, and is too low at most_pull
  const N end = over > N(0) ? N(-natural_log(over)) : all;
  const N right = most_pull < N(1) ? least(end, logit_of(most_pull)) : end;
  const N peak = bend > N(0) ? N(end + natural_log(N(bend / b))) : least(N((ln2 - c) / bend), N(end - ln2));
  const N left = most(peak, least_pull);
  const N pull = share_of_logit(left);
  if (left >= right || !at_least(curve.at(pull), N(slope * pull))) return std::nullopt;
  // From one below the left end on: nowhere is rounding large beside that.
  const LogitOverLine<N> over_line{c, bend, over, N(left - N(1))};
  const N width = right - over_line.from;
  if (over_line.at(N(1)) <= noise) return pull;
  if (over_line.at(width) >= N(0)) return share_of_logit(right);
  return share_of_logit(N(over_line.from + zero_between(over_line, N(1), width)));
}

/// 1 − e^(−x) less the line m x.
template <Scalar N>
struct SaturatingOverLine {
  N m;
  N at(const N& x) const { return N(power_gone(x) - m * x); }
  N slope(const N& x) const { return N(bounded_power(N(-x)) - m); }
};

/// R ÷ y falls from limit × rate. Concave over the line, highest where e^(−x) = m, x = rate × y.
template <Scalar N>
std::optional<N> largest_saturating_pull(const RecoveryCurve<N>& curve, const N& slope, const N& most_pull) {
  const N &limit = curve.first(), &rate = curve.second();
  if (at_least(slope, N(limit * rate))) return std::nullopt;
  const SaturatingOverLine<N> over_line{N(slope / (limit * rate))};
  const N left = -natural_log(over_line.m), right = least(N(rate * most_pull), N(N(1) / over_line.m));
  if (over_line.at(left) <= N(0)) return N(left / rate);
  return N((over_line.at(right) >= N(0) ? right : zero_between(over_line, left, right)) / rate);
}

/// The largest pull up to `most` at which R ≥ slope × pull, or nothing. With slope = grade × M ÷ C
/// that is the largest pull whose concentrate holds the grade.
template <Scalar N>
std::optional<N> largest_pull(const RecoveryCurve<N>& curve, const N& slope, const N& most_pull) {
  if (at_least(curve.at(most_pull), N(slope * most_pull))) return most_pull;
  switch (curve.form()) {
    case CurveForm::odds: return largest_odds_pull(curve.first(), slope);
    case CurveForm::logit: return largest_logit_pull(curve, slope, most_pull);
    case CurveForm::saturating: return largest_saturating_pull(curve, slope, most_pull);
    default: break;
  }
  const auto& pieces = curve.pieces();
  for (std::size_t k = pieces.size(); k-- > 0;) {
    const CurvePiece<N>& p = pieces[k];
    if (p.start >= most_pull) continue;
    const N end = least(p.end, most_pull);
    const Cubic<N> over{N(p.r - slope * p.start), N(p.d - slope), p.c2, p.c3, N(end - p.start)};
    if (at_least(p.at(end), N(slope * end))) return end;
    if (auto t = last_not_below(over); t && p.start + *t > N(0)) return N(p.start + *t);
  }
  return std::nullopt;
}

/// The smallest pull at which R ≥ recovery, or nothing.
template <Scalar N>
std::optional<N> smallest_pull(const RecoveryCurve<N>& curve, const N& recovery) {
  if (curve.form() == CurveForm::saturating) {
    const N all = curve.at(N(1));
    if (at_least(recovery, all)) return same(recovery, all) ? std::optional(N(1)) : std::nullopt;
    return N(-natural_log(N(N(1) - recovery / curve.first())) / curve.second());
  }
  if (curve.form() != CurveForm::points) {
    if (at_least(recovery, N(1))) return N(1);
    const N odds = recovery / (N(1) - recovery);
    if (curve.form() == CurveForm::odds) return N(odds / (curve.first() + odds));
    return share_of_logit(N((natural_log(odds) - curve.first()) / curve.second()));
  }
  for (const CurvePiece<N>& p : curve.pieces()) {
    const N reached = p.at(p.end);
    if (!at_least(reached, recovery)) continue;
    if (same(reached, recovery)) return p.end;
    const Cubic<N> under{N(p.r - recovery), p.d, p.c2, p.c3, N(p.end - p.start)};
    return N(p.start + zero_between(under, N(0), under.width));
  }
  return std::nullopt;
}

/// The steepest R ÷ y of the curve: the most a concentrate can be enriched. For the words of an
/// error only, so it is looked for on a fine grid.
template <Scalar N>
double steepest(const RecoveryCurve<N>& curve) {
  double best = 0;
  for (int i = 1; i <= 10'000; ++i) {
    const double y = std::pow(10.0, -6.0 * (1.0 - i / 10'000.0));
    best = std::max(best, to_double(curve.at(N(y))) / y);
  }
  return best;
}

inline std::size_t curve_of(const Table& table, Analyte analyte) {
  for (std::size_t i = 0; i < table.curves.size(); ++i) {
    if (table.curves[i].analyte != analyte) continue;
    auto* as = std::get_if<GoesAs>(&table.curves[i].curve);
    return as != nullptr && as->analyte ? curve_of(table, *as->analyte) : i;
  }
  return table.curves.size();
}

/// The pull of a cut by grade: the largest whose concentrate holds at least that grade.
template <Scalar N>
N pull_at_grade(const StepBasics& step, const Table& table, const TableCurves<N>& curves,
                const Stream<N>& feed, const Scenario<N>& s, const std::string& analyte) {
  const Analyte of = table.cut.of;
  const std::size_t at = curve_of(table, of);
  const AnalyteCurve& entry = table.curves[at];
  const N fed_grade = feed.grade(of);
  const N& target = s[table.cut.target];
  std::optional<N> pull;
  // The cap is on the analyte that has the limit; what goes as it is capped in proportion.
  const bool capped = entry.limit && feed.content[entry.analyte] > N(0) &&
                      above(N(target * feed.grade(entry.analyte)), N(s[*entry.limit] * fed_grade));
  if (fed_grade > N(0) && !capped)
    pull = largest_pull(*curves[at], N(target / fed_grade), N(N(1) - s[table.middlings]));
  if (pull && s[table.middlings] > N(0) && at_least(N(*pull + s[table.middlings]), N(1)))
    throw Error(Code::grade, "step " + step.name + ": the largest pull that holds " +
                                 Figures<double>::grade_text(to_double(target)) + ' ' + analyte +
                                 " leaves nothing beside the middlings: ask for a higher grade or for fewer "
                                 "middlings");
  if (pull) return *pull;
  double best = to_double(fed_grade) * steepest(*curves[at]);
  if (capped) best = std::min(best, to_double(N(s[*entry.limit] * fed_grade / feed.grade(entry.analyte))));
  throw Error(Code::grade, "step " + step.name + ": no pull gives a concentrate of " +
                               Figures<double>::grade_text(to_double(target)) + ' ' + analyte +
                               "; the best it does reach is " + Figures<double>::grade_text(best));
}

/// The pull of a cut by recovery: the smallest that reaches it.
template <Scalar N>
N pull_at_recovery(const StepBasics& step, const Table& table, const TableCurves<N>& curves,
                   const Stream<N>& feed, const Scenario<N>& s, const std::string& analyte) {
  const std::size_t at = curve_of(table, table.cut.of);
  const AnalyteCurve& entry = table.curves[at];
  const N& target = s[table.cut.target];
  std::optional<N> pull = smallest_pull(*curves[at], target);
  double best = to_double(curves[at]->at(N(1)));
  if (pull && entry.limit) {
    // R is lowered to y M limit ÷ C, a line through the origin.
    const N per_pull = ratio(s[*entry.limit], feed.grade(entry.analyte));
    if (feed.content[entry.analyte] > N(0)) pull = most(*pull, N(target / per_pull));
    best = std::min(best, to_double(per_pull));
    if (above(*pull, N(1))) pull.reset();
  }
  if (pull) return *pull;
  throw Error(Code::recovery, "step " + step.name + ": no pull recovers " +
                                  Figures<double>::percent_text(to_double(target)) + " of the " + analyte +
                                  "; the best it does reach is " + Figures<double>::percent_text(best));
}

/// The pull of a cut that is stated, or follows from the feed; "best" is searched for elsewhere.
template <Scalar N>
N solve_cut(const StepBasics& step, const Table& table, const TableCurves<N>& curves, const Stream<N>& feed,
            const Scenario<N>& s, const std::string& analyte) {
  switch (table.cut.how) {
    case Cut::How::grade: return pull_at_grade(step, table, curves, feed, s, analyte);
    case Cut::How::recovery: return pull_at_recovery(step, table, curves, feed, s, analyte);
    default: return s[table.cut.target];
  }
}

}  // namespace buttonworth
