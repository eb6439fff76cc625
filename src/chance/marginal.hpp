// How one uncertain quantity is drawn: from a share of 0 to 1, or from a normal score.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <limits>
#include <memory>
#include <vector>

#include "chance/normal_score.hpp"
#include "quantity/scenario.hpp"

namespace buttonworth {

/// Values over normal scores from -8.5 to 8.5, as polynomials of the fifth degree that have the value, the
/// slope and the bend of the curve at both ends. Scores beyond count as the ends.
class ScoreTable {
 public:
  static constexpr double reach = 8.5;
  static constexpr double cells_per_score = 8;
  using Piece = std::array<double, 6>;  ///< coefficients of powers of the share of the piece passed

  /// Cells of 1/8 from `origin` on, each cut into so many pieces as its curve needs.
  explicit ScoreTable(double origin) : origin_(origin) {}
  double origin() const { return origin_; }
  void add_cell(const std::vector<Piece>& pieces) {
    cells_.push_back({static_cast<double>(pieces.size()), pieces_.size()});
    pieces_.insert(pieces_.end(), pieces.begin(), pieces.end());
  }

  double at(double z) const {
    const double passed = (std::clamp(z, -reach, reach) - origin_) * cells_per_score;
    const std::size_t cell = std::min(static_cast<std::size_t>(passed), cells_.size() - 1);
    const double along = (passed - static_cast<double>(cell)) * cells_[cell].pieces;
    const double piece = std::min(plain_floor(along), cells_[cell].pieces - 1);
    const Piece& c = pieces_[cells_[cell].first + static_cast<std::size_t>(piece)];
    const double t = along - piece;
    return c[0] + t * (c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5]))));
  }

 private:
  struct Cell {
    double pieces;
    std::size_t first;
  };
  double origin_;
  std::vector<Cell> cells_;
  std::vector<Piece> pieces_;
};

/// A distribution before it is cut, in doubles.
struct Spread {
  enum class Shape { normal, lognormal, uniform, triangular, student };
  Shape shape = Shape::normal;
  double a = 0;  ///< normal, student: mean; lognormal: ln of the median; else the low end
  double b =
      0;  ///< normal, student: sd, scale; lognormal: sd of the logarithm; uniform: high; triangular: mode
  double c = 0;  ///< triangular: high; student: degrees of freedom
};

/// The values a field allows; an open end is not one of them.
struct FieldRange {
  double low = -std::numeric_limits<double>::infinity(), high = std::numeric_limits<double>::infinity();
  bool low_open = false, high_open = false;

  /// As a document's quantity is: 100 % is reached within an edge's width.
  bool holds(double value) const {
    return std::isfinite(value) && (low_open ? value > low : value >= low) &&
           (high_open ? value < high : value <= high + 1e-12);
  }
  /// The nearest to an end that a draw about this mean comes: an open one is kept off by a part in 10^12 of
  /// the mean's distance from it. A mean at 100 % may be an edge's width above it.
  double lowest(double mean) const { return low_open ? low + 1e-12 * (mean - low) : low; }
  double highest(double mean) const {
    return high_open ? std::min(high - 1e-12 * (high - mean), 1 - 0x1p-53) : std::max(high, mean);
  }
};
FieldRange range_of(Allowed allowed);

/// The distribution a quantity is drawn from, cut to the range of its field: in the library's units and in
/// the currency the quantity is stated in.
class Marginal {
 public:
  /// Certain where there is no spread. `fixings`: of a price that is the average of so many equally spaced
  /// fixings, of which the last is on the day the spread is for; else 1.
  static Marginal of(const StatedQuantity& stated, int fixings = 1);

  /// Cannot differ from its mean.
  bool certain() const { return form_ == Form::certain; }
  /// Whether `from_score` is the way to draw it; else `from_share`.
  bool wants_score() const {
    return form_ == Form::normal || form_ == Form::lognormal || form_ == Form::table;
  }
  /// The share of the distribution beyond the field's range.
  double cut_off() const { return below_ + above_; }

  /// The value at the normal score z, to 1e-9 of its standard deviation, or of its distance from the mean
  /// where that is more; within the field's range whatever z is. The same bits in every width.
  template <class N>
  N from_score(const N& z) const {
    switch (form_) {
      case Form::certain: return N(spread_.a);
      case Form::normal: return within(N(spread_.a + spread_.b * z));
      case Form::lognormal: return within(exponential(N(spread_.a + spread_.b * z)));
      default: return within(looked_up(z));
    }
  }
  /// The value that is not passed with chance p, in closed form; only where `wants_score` is false.
  template <class N>
  N from_share(const N& p) const {
    if (form_ == Form::certain) return N(spread_.a);
    if (form_ == Form::uniform) return within(N(spread_.a + (spread_.b - spread_.a) * p));
    const double width = spread_.c - spread_.a, rise = spread_.b - spread_.a, fall = spread_.c - spread_.b;
    const N low = spread_.a + square_root(N(width * rise * p));
    const N high = spread_.c - square_root(N(width * fall * (1.0 - p)));
    return within(choose(p < N(rise / width), low, high));
  }
  /// The value that is not passed with chance p, 0 < p < 1; exact but slow.
  double quantile(double p) const;

 private:
  enum class Form { certain, normal, lognormal, uniform, triangular, table };

  double looked_up(double z) const { return table_->at(z); }
  template <int W, int C>
  Pack<W, C> looked_up(const Pack<W, C>& z) const {
    Pack<W, C> r;
    for (int i = 0; i < C; ++i)
      for (int k = 0; k < W; ++k) r.v[i][k] = table_->at(z.v[i][k]);
    return r;
  }
  template <class N>
  N within(const N& x) const {
    return bounded_ ? least(most(x, N(low_)), N(high_)) : x;
  }
  void cut_to(Allowed allowed, double mean);

  Form form_ = Form::certain;
  Spread spread_;
  double below_ = 0, above_ = 0;  // shares cut away
  bool bounded_ = false;
  double low_ = -std::numeric_limits<double>::infinity(), high_ = std::numeric_limits<double>::infinity();
  std::shared_ptr<const ScoreTable> table_;
};

}  // namespace buttonworth
