// The drawing and working of a plan in lanes of type L; included by one file for each instruction set.
#pragma once

#include <algorithm>

#include "chance/model.hpp"
#include "chance/row_drawing.hpp"

namespace buttonworth {

template <class L>
class LaneWorker : public DrawWorker {
 public:
  explicit LaneWorker(const DrawnPlan& drawn)
      : drawn_(drawn), drawing_(*drawn.drawing), player_(*drawn.worths), numbers_(drawing_) {}

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
  static constexpr std::size_t lanes = L::size;

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
      numbers_.draw(drawing_.inputs()[i], row.packs, numbers);
      if (drawn_.keeps_values) std::copy_n(numbers, row.some, &block.values[i * block.count + row.at]);
    }
  }

  void draw_dimension(std::size_t d, const Row& row, std::uint8_t* classes) {
    std::uint64_t room[TapePlayer<L>::row + 2 * lanes];
    const std::uint64_t* const bits = draw_bits(d, row, room);
    for (std::size_t i = 0; i < row.some; ++i) classes[i] = static_cast<std::uint8_t>(bits[i] >> 46);
    numbers_.take(d, bits, row.packs);
  }

  /// Of whole packs, or pairs of them, however many draws are asked for: where in `room` they begin. A draw's
  /// number of Philox is half of a pair that begins with an even draw, but a part may begin with an odd one.
  const std::uint64_t* draw_bits(std::size_t d, const Row& row, std::uint64_t* room) const {
    const std::size_t some = row.packs * lanes;
    if (drawing_.numbers().method == DrawMethod::philox) {
      const std::size_t odd = row.first % 2;
      for (std::size_t i = 0; i < some + odd; i += 2 * lanes)
        philox_pairs<L>(drawing_.numbers().seed, static_cast<std::uint32_t>(d), (row.first + i) / 2,
                        &room[i]);
      return room + odd;
    }
    const auto draws = static_cast<std::uint64_t>(drawing_.part_draws());
    drawing_.sobol(row.first / draws, d).at(row.first % draws, some, room);
    return room;
  }

  void couple(const Row& row, DrawBlock& block) {
    numbers_.couple(row.packs);
    for (std::size_t d = 0; d < drawing_.dimensions().size(); ++d)
      if (drawing_.dimensions()[d].coupled)
        for (std::size_t i = 0; i < row.some; ++i)
          block.classes[d * block.count + row.at + i] = class_of_score(numbers_.score(d, i));
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
  RowDrawing<L> numbers_;
};

}  // namespace buttonworth
