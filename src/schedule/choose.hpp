// Which candidates together: the largest value within all limits.
#pragma once

#include <random>

#include "schedule/candidates.hpp"
#include "schedule/clock.hpp"
#include "schedule/programme.hpp"

namespace buttonworth {

struct Picked {
  std::size_t candidate;
  std::uint32_t times;  ///< how many such shipments, of equal parts of lots
};

struct Choice {
  std::vector<Picked> picked = {};
  double value = 0;
  double bound = 0;         ///< no choice among all the candidates is worth more
  bool possible = true;     ///< whether all limits can be kept
  bool finished = true;     ///< false: time ran out
  std::size_t columns = 0;  ///< candidates that the programme was solved over
};

/// Values by candidate and draw, of those that were drawn.
struct DrawnValues {
  std::size_t draws = 0;
  std::vector<std::ptrdiff_t> row_of;  ///< by candidate; −1: not drawn
  std::vector<double> values;          ///< by row, then draw
  std::vector<double> means;           ///< by row
  std::size_t worst = 0;               ///< so many of the worst draws together count; 0: the mean of all
};

/// Chooses again and again over the same candidates, going on from where it was.
class Chooser {
 public:
  Chooser(const Allocation& allocation, Candidates& candidates);

  /// The bound over all the candidates, and what each limit and lot is worth at it. Looks at larger blends
  /// around it until none promises more or the time has passed.
  void grow(double seconds, const Watch& watch);

  /// The best choice within these bounds of the limits. `known`: a choice that keeps them, if there is one.
  Choice choose(const std::vector<Row>& bounds, double seconds, const Choice* known, const Watch& watch);
  /// What comes nearest to limits that cannot all be kept: the shares they are missed by are least.
  Choice nearest(const std::vector<Row>& bounds, double seconds, const Watch& watch);

  /// Only candidates that were drawn, by the worst of their draws together or by their means.
  void use(const DrawnValues* drawn) { drawn_ = drawn; }
  /// Candidates that promise most at the bound, so many at most.
  std::vector<std::size_t> promising(std::size_t most) const;

  /// As the request states them.
  std::vector<Row> bounds() const;

  enum class Timing {
    on_paper,      ///< as if no step were ever busy
    by_timetable,  ///< limits of days are not looked at here
  };
  /// Whether a choice keeps to the limits; not whether the lots that have to go do.
  bool keeps(const Choice& choice, const std::vector<Row>& bounds, Timing timing) const;
  /// By the plan, or by the draws that are preferred.
  double value_of(const std::vector<Picked>& picked) const;
  bool may_pick(std::size_t candidate) const;

 private:
  using Random = std::minstd_rand;  // the same everywhere

  Row row_of(const Limit& limit, const Row& bounds) const;
  std::vector<Row> rows(const std::vector<Row>& bounds) const;
  double gain_of(std::size_t candidate) const;
  Column column_of(std::size_t candidate) const;
  std::vector<Column> fixed_columns() const;
  std::size_t row_of_lot_at(std::size_t buyer, std::size_t lot) const;
  bool goes_to(std::size_t candidate, std::size_t buyer) const;
  double solve_linear(const std::vector<Row>& bounds, const Watch& watch);
  bool take_up(const Watch& watch);
  void price();
  bool grow_once(const std::vector<std::size_t>& around, const Watch& watch);
  std::vector<std::size_t> grown_around() const;
  Choice dive(const std::vector<std::size_t>& without, const Clock& clock, const Watch& watch);
  void hold(std::size_t column, double least, bool out);
  std::pair<std::vector<std::size_t>, bool> to_fix() const;
  Choice read_linear() const;
  Choice dive_often(const std::vector<Row>& bounds, double seconds, const Watch& watch);
  bool is_near(const Choice& choice) const;
  bool is_done(Choice& best) const;
  void widen_bound(Choice& choice, const std::vector<Row>& bounds, const Watch& watch);
  std::optional<double> linear_bound(const std::vector<Row>& bounds, const Watch& watch);
  std::optional<double> linear_over_draws(const std::vector<Row>& bounds) const;
  bool linear_keeps_limits() const;
  bool settle(Choice& best, const std::vector<Row>& bounds, std::size_t columns, double seconds,
              const Watch& watch) const;
  double left_out_of(const std::vector<std::size_t>& over) const;
  double improve(Choice& best, const std::vector<Row>& bounds, const std::vector<std::size_t>& over,
                 double seconds, const Watch& watch) const;
  Choice solve(const std::vector<Row>& bounds, std::vector<std::size_t> over, double seconds,
               std::optional<double> known, const Watch& watch,
               const std::vector<Picked>& standing = {}) const;
  Programme programme_of(const std::vector<Row>& bounds, const std::vector<std::size_t>& over) const;
  Choice chosen(const Programme& programme, const std::vector<std::size_t>& over, const WholeOptions& options,
                const Watch& watch) const;
  std::vector<Picked> picked_of(const std::vector<std::size_t>& over, const WholeAnswer& answer) const;
  static WholeAnswer miss_least(Programme& programme, const WholeOptions& options, const Watch& watch);
  bool by_worst() const;
  void prefer_worst(Programme& programme, const std::vector<std::size_t>& over) const;
  Choice most_drawn(Programme programme, const std::vector<std::size_t>& over, double seconds,
                    const Watch& watch) const;
  std::vector<std::size_t> within(double window, std::size_t most) const;
  std::vector<std::size_t> within(double window, std::size_t most, const std::vector<bool>& lots) const;
  std::vector<double> joined_with(const std::vector<bool>& lots) const;
  std::vector<bool> opened(const Choice& choice, std::size_t many, Random& random) const;
  Choice step(const Choice& choice, const std::vector<bool>& open, bool aside, const std::vector<Row>& bounds,
              const Watch& watch);
  void look_among(const std::vector<bool>& lots, const Watch& watch);
  void improve_in_parts(Choice& best, const std::vector<Row>& bounds, double seconds, const Watch& watch);

  const Allocation& allocation_;
  Candidates& candidates_;
  std::vector<std::vector<std::size_t>> asking_;  // by buyer who wants at least so much: these limits
  const DrawnValues* drawn_ = nullptr;
  std::unique_ptr<LinearProgramme> linear_;
  std::vector<std::size_t> in_linear_;  // candidates, in the order of its columns
  std::vector<bool> is_in_linear_;
  std::size_t fixed_ = 0;                  // columns that are no candidates: buyers, then what is missed
  std::vector<bool> is_held_;              // columns that a dive has made whole
  std::optional<std::size_t> first_held_;  // of the last dive
  std::vector<double> prices_;             // by row
  std::vector<double> promise_;            // by candidate: what it gains beyond those prices; 0 is the most
};

}  // namespace buttonworth
