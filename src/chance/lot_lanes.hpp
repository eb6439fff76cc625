// The working of lots in lanes of type L; included by one file for each instruction set.
#pragma once

#include "chance/lot_model.hpp"
#include "chance/row_drawing.hpp"

namespace buttonworth {

template <class L>
class LotLanes : public LotWorker {
 public:
  explicit LotLanes(const LotModel& model)
      : model_(model), drawing_(*model.drawing), player_(*model.worths), numbers_(drawing_), spreads_(model) {
    static_assert(TapePlayer<L>::row == lot_row);
    by_lot_.resize(drawing_.dimensions().size());
    for (const LotInput& one : model.inputs)
      if (one.drawn && one.by_lot) by_lot_[dimension_of(one)] = true;
    couples_ = false;
    for (std::size_t d = 0; d < by_lot_.size(); ++d)
      couples_ |= by_lot_[d] && drawing_.dimensions()[d].coupled;
  }

  void work(LotRow& row) override {
    packs_ = (row.count + lanes - 1) / lanes;
    std::fill(row.refused.begin(), row.refused.end(), 0);
    std::fill(row.times_broken.begin(), row.times_broken.end(), 0);
    std::fill(row.held.begin(), row.held.end(), 0);
    if (model_.draws > 0) spreads_.take(row);
    for (std::size_t draw = 0; draw < model_.times(); ++draw) {
      if (model_.draws > 0) draw_row(draw, row);
      for (std::size_t i = 0; i < model_.inputs.size(); ++i)
        put(i, draw, row, player_.numbers(model_.worths->inputs[i]));
      player_.play(packs_);
      hand_out(draw, row);
    }
  }

 private:
  static constexpr std::size_t lanes = L::size;

  std::size_t dimension_of(const LotInput& one) const { return drawing_.inputs()[*one.drawn].dimension; }

  // ---- Drawing ---------------------------------------------------------------------------------

  /// How an uncertain value that a lot has of its own lies to the plan's: so many times as large, or so much
  /// above it; and how far its draws may go.
  struct Spreads {
    explicit Spreads(const LotModel& model)
        : model(model), own(model.inputs.size() * lot_row), low(own), high(own) {}

    void take(const LotRow& row) {
      for (std::size_t i = 0; i < model.inputs.size(); ++i) {
        const LotInput& one = model.inputs[i];
        if (!one.column || !one.drawn) continue;
        for (std::size_t k = i * lot_row; k < i * lot_row + lot_row; ++k) {
          const double value = row.values[k];
          own[k] = one.relative ? value / one.mean : value - one.mean;
          low[k] = one.range.lowest(value);
          high[k] = one.range.highest(value);
        }
      }
    }

    const LotModel& model;
    std::vector<double> own, low, high;
  };

  /// Lot n's number is half of a pair that begins with an even one.
  void draw_row(std::size_t draw, const LotRow& row) {
    const auto first = static_cast<std::uint64_t>(row.first);
    const std::uint64_t odd = first % 2;
    std::uint64_t bits[lot_row + 2 * lanes];
    for (std::size_t d = 0; d < by_lot_.size(); ++d) {
      if (!by_lot_[d]) continue;
      for (std::size_t i = 0; i < packs_ * lanes + odd; i += 2 * lanes)
        philox_pairs<L>(drawing_.numbers().seed, static_cast<std::uint32_t>(d), (first + i) / 2, &bits[i],
                        static_cast<std::uint32_t>(draw + 1));
      numbers_.take(d, bits + odd, packs_);
    }
    if (couples_) numbers_.couple(packs_);
  }

  /// The values of an input in one draw.
  void put(std::size_t i, std::size_t draw, LotRow& row, double* numbers) {
    const LotInput& one = model_.inputs[i];
    const double* const values = &row.values[i * lot_row];
    if (!one.drawn) {
      std::copy_n(values, lot_row, numbers);
      return;
    }
    if (one.by_lot) numbers_.draw(drawing_.inputs()[*one.drawn], packs_, numbers);
    else std::fill_n(numbers, lot_row, model_.market[draw * model_.inputs.size() + i]);
    if (one.column) row.held[i] += about_own(i, row.count, one.relative, numbers);
  }
  /// Draws about the plan's value made draws about each lot's own; how many the range has held.
  std::int64_t about_own(std::size_t i, std::size_t count, bool relative, double* numbers) const {
    const double* const own = &spreads_.own[i * lot_row];
    const double* const low = &spreads_.low[i * lot_row];
    const double* const high = &spreads_.high[i * lot_row];
    std::int64_t held = 0;
    for (std::size_t k = 0; k < lot_row; ++k) {
      const double drawn = relative ? numbers[k] * own[k] : numbers[k] + own[k];
      const double within = drawn < low[k] ? low[k] : drawn > high[k] ? high[k] : drawn;
      held += k < count && (drawn < low[k] || drawn > high[k]);
      numbers[k] = within;
    }
    return held;
  }

  // ---- Handing out -----------------------------------------------------------------------------

  void hand_out(std::size_t draw, LotRow& row) {
    const auto& outputs = model_.worths->outputs;
    std::uint8_t* const broken = &row.broken[draw * lot_row];
    const bool any_broken = take_mask(outputs[0], row.count, broken);
    for (std::size_t r = 0; r < model_.routes; ++r) {
      double* const worth = &row.worth[(draw * model_.routes + r) * lot_row];
      const Program::Output& given = outputs[1 + 2 * r];
      if (given.value.constant()) std::fill_n(worth, lot_row, given.value.value);
      else std::copy_n(player_.numbers(given.place), lot_row, worth);
      std::uint8_t refused[lot_row];
      if (take_mask(outputs[2 + 2 * r], row.count, refused))
        for (std::size_t k = 0; k < row.count; ++k)
          row.refused[r * lot_row + k] += refused[k] != 0 && broken[k] == 0;
      if (any_broken)
        for (std::size_t k = 0; k < row.count; ++k) worth[k] = broken[k] != 0 ? 0 : worth[k];
    }
    if (any_broken)
      for (std::size_t k = 0; k < row.count; ++k) row.times_broken[k] += broken[k];
  }
  /// 1 where the mask is set, 0 elsewhere; whether it is anywhere.
  bool take_mask(const Program::Output& mask, std::size_t count, std::uint8_t* to) {
    if (mask.value.constant()) {
      std::fill_n(to, lot_row, static_cast<std::uint8_t>(mask.value.value != 0));
      return mask.value.value != 0;
    }
    const double* const bits = player_.numbers(mask.place);
    std::uint8_t any = 0;
    for (std::size_t k = 0; k < count; ++k) any |= to[k] = std::bit_cast<std::uint64_t>(bits[k]) != 0;
    return any != 0;
  }

  const LotModel& model_;
  const Drawing& drawing_;
  TapePlayer<L> player_;
  RowDrawing<L> numbers_;
  Spreads spreads_;
  std::vector<bool> by_lot_;  // by dimension
  bool couples_ = false;
  std::size_t packs_ = 0;
};

}  // namespace buttonworth
