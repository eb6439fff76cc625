// Many lots valued by one plan: each has its own values of some of the plan's quantities, a row a lot.
//
// A lot's figures hang on its values and its number alone, and sums are exact: lots can be valued in any
// order, in pieces, by any number of threads or machines, and the sums of the pieces are those of the whole.
#pragma once

#include <string>
#include <vector>

#include "chance/drawing.hpp"
#include "quantity/watch.hpp"
#include "route/compare.hpp"

namespace buttonworth {

/// Money in whole ten-thousandths.
__extension__ typedef __int128 TenThousandths;

/// A quantity of the plan of which each lot has its own value.
struct LotColumn {
  Quantity quantity;
  bool relative = false;            ///< whether its stated spread follows its size or stays as wide as it is
  const double* numbers = nullptr;  ///< in the plan's unit of it
  std::int64_t stride = 1;
};

struct LotOptions {
  std::vector<std::size_t> routes;  ///< of the plan; empty: all
  int threads = 1;
  std::int64_t first = 0;  ///< number of the first row among all lots
  std::size_t draws = 0;   ///< 0: at the lots' own values
  std::uint64_t seed = 1;
  DrawTogether together;
};

/// Draws times routes at most: what is held of a row of lots while it is drawn.
constexpr std::size_t most_draws_of_routes = 32768;

/// Lots and what they leave by a route. Means where they are drawn.
struct RouteOfLots {
  const Route* route = nullptr;
  std::vector<std::string> conditional;  ///< as the comparison has it
  std::int64_t best = 0, refused = 0;    ///< lots for which it is the best; that it is closed to
  TenThousandths sum = 0;                ///< of all lots that are not refused
  TenThousandths best_sum = 0;           ///< of those for which it is the best
};

/// A row without figures, and why.
struct RowLeftOut {
  std::int64_t row;                   ///< number among all lots
  std::optional<std::size_t> column;  ///< whose number is none, or outside what the field allows
  double number = 0;                  ///< that stands there
  std::string reason;                 ///< of impossible physics
};

struct LotValues {
  const Plan* plan = nullptr;
  std::int64_t rows = 0;
  std::int64_t counted = 0;     ///< rows with figures
  std::int64_t refused = 0;     ///< of these, rows that every route refuses
  std::int64_t impossible = 0;  ///< rows that break physics, or more than half of whose draws do
  std::int64_t unreadable = 0;  ///< rows with a number that is none, or outside what its field allows
  std::vector<RouteOfLots> routes;
  TenThousandths sum = 0;             ///< of every lot's best route
  std::vector<TenThousandths> draws;  ///< the same by draw, each lot by the route that is the best on average
  std::int64_t impossible_draws = 0;  ///< of lots that are counted: taken for their mean
  std::vector<std::int64_t> held;     ///< by column: draws of lots that stand at an end of the field's range
  std::vector<RowLeftOut> left_out;   ///< the first few
  std::vector<Caution> cautions;
};

/// Where the figures go, by row, then route: NaN where a route is refused or the row unreadable, −infinity
/// where it is impossible. Either may be null.
struct LotFigures {
  double* means = nullptr;  ///< the present value where nothing is drawn
  double* sds = nullptr;    ///< 0 where nothing is drawn
};

/// A quantity of the lot is drawn for each lot, any other once for all.
bool is_of_the_lot(const Plan& plan, Quantity quantity);

/// The plan's quantities know their places. Throws an Error: of the comparison at the plan's values;
/// Code::cancelled.
LotValues value_lots(const Plan& plan, const LotOptions& options, const std::vector<LotColumn>& columns,
                     std::size_t rows, const LotFigures& out, const Watch& watch);

}  // namespace buttonworth
