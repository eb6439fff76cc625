// Random numbers for a row of draws, in lanes of type L: shares, normal scores, and inputs made of them.
#pragma once

#include <algorithm>
#include <cstring>
#include <vector>

#include "chance/drawing.hpp"
#include "chance/normal_score.hpp"
#include "chance/tape_player.hpp"
#include "chance/uniform.hpp"

namespace buttonworth {

template <class L>
class RowDrawing {
 public:
  static constexpr std::size_t lanes = L::size, row_packs = TapePlayer<L>::row / lanes;

  explicit RowDrawing(const Drawing& drawing)
      : drawing_(drawing),
        share_(drawing.dimensions().size() * row_packs),
        score_(drawing.dimensions().size() * row_packs) {}

  /// A dimension's 52 random bits, of whole packs.
  void take(std::size_t d, const std::uint64_t* bits, std::size_t packs) {
    L* const share = &share_[d * row_packs];
    for (std::size_t p = 0; p < packs; ++p) share[p] = open_units<L>(&bits[p * lanes]);
    if (drawing_.dimensions()[d].by_score) scores(share, packs, &score_[d * row_packs]);
  }
  /// Makes correlated scores of the independent ones, once all dimensions are there.
  void couple(std::size_t packs) {
    for (std::size_t p = 0; p < packs; ++p) drawing_.copula().couple(&score_[p], row_packs);
  }
  double score(std::size_t d, std::size_t i) const {
    return score_[d * row_packs + i / lanes][static_cast<int>(i % lanes)];
  }
  /// An input's values.
  [[gnu::flatten]] void draw(const Input& one, std::size_t packs, double* numbers) const {
    const bool by_score = drawing_.dimensions()[one.dimension].coupled || one.marginal.wants_score();
    const L* const from = &(by_score ? score_ : share_)[one.dimension * row_packs];
    for (std::size_t p = 0; p < packs; ++p) {
      const L value = by_score ? one.marginal.from_score(from[p]) : one.marginal.from_share(from[p]);
      std::memcpy(numbers + p * lanes, &value, sizeof value);
    }
  }

 private:
  [[gnu::flatten]] static void scores(const L* share, std::size_t packs, L* score) {
    for (std::size_t p = 0; p < packs; ++p) score[p] = normal_score(share[p]);
  }

  const Drawing& drawing_;
  std::vector<L> share_, score_;  // by dimension, then pack of the row
};

}  // namespace buttonworth
