// Plays a tape over rows of draws in lanes of type L.
#pragma once

#include <algorithm>
#include <cstring>
#include <memory>
#include <new>

#include "chance/tape.hpp"
#include "material/stream.hpp"

namespace buttonworth {

/// One operation of the tape on lanes of type L.
template <class L, TapeOp op>
struct TapeOperation;

#define BUTTONWORTH_TAPE_OPERATION(name, gives, takes, how, ...) \
  template <class L>                                             \
  struct TapeOperation<L, TapeOp::name> {                        \
    using number = const L&;                                     \
    using mask = const Mask<L>&;                                 \
    static std::remove_cvref_t<gives> of takes { return how; }   \
  };
BUTTONWORTH_TAPE_OPERATIONS(BUTTONWORTH_TAPE_OPERATION)
BUTTONWORTH_TAPE_PAIRS(BUTTONWORTH_TAPE_OPERATION)
#undef BUTTONWORTH_TAPE_OPERATION

template <class L>
class TapePlayer {
 public:
  /// Draws in a row: so few that the numbers in hand stay near the processor, so many that finding out what
  /// to do next does not count.
  static constexpr std::size_t row = 256;
  static constexpr std::size_t packs = row / L::size;

  explicit TapePlayer(const Program& program)
      : constants_(program.constants.size()),
        numbers_(
            new (std::align_val_t{64}) double[constants_ * L::size + (program.places - constants_) * row]()) {
    for (std::size_t i = 0; i < constants_; ++i)
      std::fill_n(&numbers_[i * L::size], static_cast<std::size_t>(L::size), program.constants[i]);
    for (const Program::Step& step : program.steps) {
      Program::Step& mine = steps_.emplace_back(step);
      mine.to = at(step.to);
      std::transform(step.from.begin(), step.from.end(), mine.from.begin(),
                     [&](std::uint32_t from) { return at(from); });
    }
  }

  /// The numbers of a place, `row` of them; of a mask all bits or none.
  double* numbers(std::uint32_t place) { return &numbers_[at(place)]; }

  /// Plays every operation over the first so many packs of the row.
  void play(std::size_t some) {
    for (const Step& step : steps_) {
      switch (step.op) {
#define BUTTONWORTH_TAPE_PLAY(name, ...) \
  case TapeOp::name: each<TapeOp::name>(step, some, &TapeOperation<L, TapeOp::name>::of); break;
        BUTTONWORTH_TAPE_OPERATIONS(BUTTONWORTH_TAPE_PLAY)
        BUTTONWORTH_TAPE_PAIRS(BUTTONWORTH_TAPE_PLAY)
#undef BUTTONWORTH_TAPE_PLAY
        case TapeOp::input: break;
      }
    }
  }

 private:
  using Step = Program::Step;  // with places as they lie in memory
  struct Free {
    void operator()(double* numbers) const { operator delete[](numbers, std::align_val_t{64}); }
  };

  /// Constants are held once for a pack, other numbers for a row.
  std::uint32_t at(std::uint32_t place) const {
    return static_cast<std::uint32_t>(place < constants_ ? place * L::size
                                                         : constants_ * L::size + (place - constants_) * row);
  }
  std::size_t stride(std::uint32_t at) const {
    return at < constants_ * L::size ? 0 : static_cast<std::size_t>(L::size);
  }

  // Vector by vector: a copy of the whole would go through memory.
  using Vector = typename L::Vector;
  static constexpr std::size_t width = sizeof(Vector) / sizeof(double);
  static constexpr std::size_t vectors = sizeof(L) / sizeof(Vector);

  static Vector vector_at(const double* from) {
    Vector vector;
    std::memcpy(&vector, from, sizeof vector);
    return vector;
  }
  template <class T>
  static T load(const double* from) {
    T value;
    for (std::size_t i = 0; i < vectors; ++i) {
      if constexpr (std::same_as<T, L>) value.v[i] = vector_at(from + i * width);
      else value.m[i] = std::bit_cast<typename L::Bits>(vector_at(from + i * width));
    }
    return value;
  }
  template <class T>
  static void store(const T& value, double* to) {
    for (std::size_t i = 0; i < vectors; ++i) {
      if constexpr (std::same_as<T, L>) std::memcpy(to + i * width, &value.v[i], sizeof(Vector));
      else std::memcpy(to + i * width, &value.m[i], sizeof(Vector));
    }
  }

  template <TapeOp op, class Gives, class... Takes>
  void each(const Step& step, std::size_t some, Gives (*)(Takes...)) {
    each<op, Gives, Takes...>(step, some, std::index_sequence_for<Takes...>());
  }
  template <TapeOp op, class Gives, class... Takes, std::size_t... I>
  [[gnu::flatten]] void each(const Step& step, std::size_t some, std::index_sequence<I...>) {
    double* to = &numbers_[step.to];
    const double* from[] = {&numbers_[step.from[I]]...};
    const std::size_t strides[] = {stride(step.from[I])...};
    for (std::size_t i = 0; i < some; ++i) {
      store(TapeOperation<L, op>::of(load<std::remove_cvref_t<Takes>>(from[I])...), to);
      to += L::size;
      ((from[I] += strides[I]), ...);
    }
  }

  std::size_t constants_;
  std::unique_ptr<double[], Free> numbers_;
  std::vector<Step> steps_;
};

}  // namespace buttonworth
