// The drawing and working of a plan in lanes of type L; included by one file for each instruction set.
#pragma once

#include <algorithm>

#include "chance/model.hpp"
#include "chance/normal_score.hpp"
#include "chance/tape_player.hpp"
#include "chance/uniform.hpp"

namespace buttonworth {

template <class L>
class LaneWorker : public DrawWorker {
 public:
  explicit LaneWorker(const DrawnPlan& drawn)
      : drawn_(drawn),
        drawing_(*drawn.drawing),
        player_(*drawn.worths),
        share_(drawing_.dimensions().size() * row_packs),
        score_(drawing_.dimensions().size() * row_packs) {}

  void work(std::int64_t first, std::size_t count, DrawBlock& block) override {
    block.count = count;
    block.routes = drawn_.worths->outputs.size() / 2;
    block.worth.resize(count * block.routes);
    block.refused.resize(count * block.routes);
    block.broken.resize(count);
    block.classes.resize(count * drawing_.dimensions().size());
    if (drawn_.keeps_values) block.values.resize(count * drawing_.inputs().size());
    for (Row row{static_cast<std::uint64_t>(first), 0, 0, 0}; row.at < count; row.at += row.some) {
      row.some = std::min(TapePlayer<L>::row, count - row.at);
      row.packs = (row.some + lanes - 1) / lanes;
      draw(row, block);
      player_.play(row.packs);
      hand_out(row, block);
      row.first += row.some;
    }
  }

 private:
  static constexpr std::size_t lanes = L::size, row_packs = TapePlayer<L>::row / lanes;

  /// Draws worked out at once.
  struct Row {
    std::uint64_t first;  ///< draw
    std::size_t at;       ///< of the block
    std::size_t some, packs;
  };

  // ---- Drawing ---------------------------------------------------------------------------------

  void draw(const Row& row, DrawBlock& block) {
    for (std::size_t d = 0; d < drawing_.dimensions().size(); ++d)
      draw_dimension(d, row, &block.classes[d * block.count + row.at]);
    if (drawing_.copula().couples_any()) couple(row, block);
    for (std::size_t i = 0; i < drawing_.inputs().size(); ++i) {
      double* const numbers = player_.numbers(drawn_.worths->inputs[i]);
      draw_input(drawing_.inputs()[i], row, numbers);
      if (drawn_.keeps_values) std::copy_n(numbers, row.some, &block.values[i * block.count + row.at]);
    }
  }

  void draw_dimension(std::size_t d, const Row& row, std::uint8_t* classes) {
    std::uint64_t bits[TapePlayer<L>::row];
    draw_bits(d, row, bits);
    for (std::size_t i = 0; i < row.some; ++i) classes[i] = static_cast<std::uint8_t>(bits[i] >> 46);
    L* const share = &share_[d * row_packs];
    for (std::size_t p = 0; p < row.packs; ++p) share[p] = open_units<L>(&bits[p * lanes]);
    if (drawing_.dimensions()[d].by_score) scores(share, row.packs, &score_[d * row_packs]);
  }
  [[gnu::flatten]] static void scores(const L* share, std::size_t packs, L* score) {
    for (std::size_t p = 0; p < packs; ++p) score[p] = normal_score(share[p]);
  }

  /// Of whole packs, or pairs of them, however many draws are asked for.
  void draw_bits(std::size_t d, const Row& row, std::uint64_t* bits) const {
    const std::size_t some = row.packs * lanes;
    if (drawing_.numbers().method == DrawMethod::philox) {
      for (std::size_t i = 0; i < some; i += 2 * lanes)
        philox_pairs<L>(drawing_.numbers().seed, static_cast<std::uint32_t>(d), (row.first + i) / 2,
                        &bits[i]);
      return;
    }
    const auto draws = static_cast<std::uint64_t>(drawing_.part_draws());
    drawing_.sobol(row.first / draws, d).at(row.first % draws, some, bits);
  }

  void couple(const Row& row, DrawBlock& block) {
    for (std::size_t p = 0; p < row.packs; ++p) drawing_.copula().couple(&score_[p], row_packs);
    for (std::size_t d = 0; d < drawing_.dimensions().size(); ++d)
      if (drawing_.dimensions()[d].coupled)
        for (std::size_t i = 0; i < row.some; ++i)
          block.classes[d * block.count + row.at + i] =
              class_of_score(score_[d * row_packs + i / lanes][static_cast<int>(i % lanes)]);
  }

  [[gnu::flatten]] void draw_input(const Input& one, const Row& row, double* numbers) const {
    const bool by_score = drawing_.dimensions()[one.dimension].coupled || one.marginal.wants_score();
    const L* const from = &(by_score ? score_ : share_)[one.dimension * row_packs];
    for (std::size_t p = 0; p < row.packs; ++p) {
      const L value = by_score ? one.marginal.from_score(from[p]) : one.marginal.from_share(from[p]);
      std::memcpy(numbers + p * lanes, &value, sizeof value);
    }
  }

  // ---- Handing out -----------------------------------------------------------------------------

  void hand_out(const Row& row, DrawBlock& block) {
    const auto& outputs = drawn_.worths->outputs;
    hand_out_mask(outputs[0], row.some, &block.broken[row.at], 1);
    for (std::size_t r = 0; r < block.routes; ++r) {
      const Program::Output& worth = outputs[1 + 2 * r];
      const double* const numbers = worth.value.constant() ? nullptr : player_.numbers(worth.place);
      for (std::size_t i = 0; i < row.some; ++i)
        block.worth[(row.at + i) * block.routes + r] = numbers != nullptr ? numbers[i] : worth.value.value;
      hand_out_mask(outputs[2 + 2 * r], row.some, &block.refused[row.at * block.routes + r], block.routes);
    }
  }
  void hand_out_mask(const Program::Output& mask, std::size_t some, std::uint8_t* to, std::size_t stride) {
    const double* const bits = mask.value.constant() ? nullptr : player_.numbers(mask.place);
    for (std::size_t i = 0; i < some; ++i)
      to[i * stride] = bits != nullptr ? std::bit_cast<std::uint64_t>(bits[i]) != 0 : mask.value.value != 0;
  }

  const DrawnPlan& drawn_;
  const Drawing& drawing_;
  TapePlayer<L> player_;
  std::vector<L> share_, score_;  // by dimension, then pack of the row
};

}  // namespace buttonworth
