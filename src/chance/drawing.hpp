// What of a plan is drawn, and how: its uncertain quantities, which of them go together, and where the
// numbers come from.
#pragma once

#include <optional>
#include <vector>

#include "chance/copula.hpp"
#include "chance/marginal.hpp"
#include "chance/sobol.hpp"
#include "route/plan.hpp"

namespace buttonworth {

/// Classes of equal probability by which an input's draws are sorted.
constexpr std::size_t class_count = 64;

/// Independent parts of a simulation: scramblings of Sobol's points, or just eighths of the draws.
constexpr std::size_t part_count = 8;

enum class DrawMethod { sobol, philox };

/// Which quantities of a plan are drawn together; places in its table.
struct DrawTogether {
  struct Correlated {
    Quantity a, b;
    double r;  ///< of their normal scores
  };
  struct Averaged {
    Quantity price;
    int fixings;
  };
  std::vector<Correlated> correlated;
  std::vector<std::vector<Quantity>> same;
  std::vector<Averaged> averaged;
};

struct DrawNumbers {
  std::int64_t draws = 65536;  ///< a multiple of 8; for Sobol's points a power of two
  std::uint64_t seed = 1;
  DrawMethod method = DrawMethod::sobol;
};

/// An uncertain quantity and the dimension that draws it.
struct Input {
  Quantity quantity;
  std::size_t dimension;
  Marginal marginal;
};

/// One independent number a draw.
struct DrawnDimension {
  std::size_t first_input;  ///< whose it is; later ones may share it
  bool by_score = false;    ///< whether a normal score is wanted
  bool coupled = false;     ///< whether it is correlated with another
};

/// All that is drawn of a plan. Immutable, shared by the workers of a simulation.
class Drawing {
 public:
  /// The plan's quantities know their places, by which they are drawn in turn.
  Drawing(const Plan& plan, const DrawTogether& together, const DrawNumbers& numbers);

  const std::vector<Input>& inputs() const { return inputs_; }
  const std::vector<DrawnDimension>& dimensions() const { return dimensions_; }
  const Copula& copula() const { return *copula_; }
  const DrawNumbers& numbers() const { return numbers_; }
  std::int64_t part_draws() const { return numbers_.draws / static_cast<std::int64_t>(part_count); }
  const SobolDimension& sobol(std::size_t part, std::size_t dimension) const {
    return sobol_[part * dimensions_.size() + dimension];
  }

 private:
  void gather(const Plan& plan, const DrawTogether& together);
  void number_dimensions(std::size_t quantities, const std::vector<std::vector<Quantity>>& same);
  void couple(const DrawTogether& together);
  /// Of an input.
  std::size_t dimension_of(Quantity quantity) const;

  DrawNumbers numbers_;
  std::vector<Input> inputs_;
  std::vector<DrawnDimension> dimensions_;
  std::optional<Copula> copula_;
  std::vector<SobolDimension> sobol_;  // by part and dimension
};

}  // namespace buttonworth
