// Scores that go together: a Gaussian copula.
#pragma once

#include <cstddef>
#include <vector>

namespace buttonworth {

/// Two dimensions, and the correlation of their normal scores, above -1 and below 1.
struct Correlation {
  std::size_t a, b;
  double r;
};

/// Turns independent normal scores into correlated ones: of each group of dimensions that hang together, the
/// Cholesky factor of their correlations times their scores. Pairs not named are 0; each is named once.
class Copula {
 public:
  /// Throws Error(range) where the correlations cannot hold together: their matrix is not positive definite.
  Copula(std::size_t dimensions, const std::vector<Correlation>& correlations);

  /// Whether the dimension is correlated with another.
  bool couples(std::size_t dimension) const { return coupled_[dimension]; }

  bool couples_any() const { return !groups_.empty(); }

  /// Independent scores in, one for each dimension, `stride` apart; correlated ones out, in their place.
  template <class N>
  void couple(N* scores, std::size_t stride = 1) const {
    for (const Group& group : groups_) {
      // A score hangs on itself and those before it, so the last comes first.
      for (std::size_t row = group.members.size(); row-- > 0;) {
        const double* factor = group.factor.data() + row * (row + 1) / 2;
        N sum = scores[group.members[0] * stride] * factor[0];
        for (std::size_t i = 1; i <= row; ++i) sum = sum + scores[group.members[i] * stride] * factor[i];
        scores[group.members[row] * stride] = sum;
      }
    }
  }

 private:
  struct Group {
    std::vector<std::size_t> members;
    std::vector<double> factor;  // row after row of the lower triangle
  };
  std::vector<Group> groups_;
  std::vector<bool> coupled_;
};

}  // namespace buttonworth
