// What a model does with its numbers, noted once and played over many draws.
//
// The formulas are run once on numbers that note what is done with them (noted.hpp). What no draw changes is
// worked out there and then, what is done twice is noted once, what nothing hangs on is left out; the rest is
// a list of plain operations, each of which is played for a row of draws at a time (tape_player.hpp).
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <unordered_map>
#include <vector>

namespace buttonworth {

// An operation, what it gives (number or mask), what it takes, and how. A formula that is used everywhere is
// one operation, by its own template.
#define BUTTONWORTH_TAPE_OPERATIONS(X)                                                             \
  X(add, number, (number a, number b), a + b)                                                      \
  X(subtract, number, (number a, number b), a - b)                                                 \
  X(multiply, number, (number a, number b), a* b)                                                  \
  X(divide, number, (number a, number b), a / b)                                                   \
  X(ratio, number, (number a, number b), ratio(a, b))                                              \
  X(least, number, (number a, number b), least(a, b))                                              \
  X(most, number, (number a, number b), most(a, b))                                                \
  X(size, number, (number a), abs(a))                                                              \
  X(floor, number, (number a), plain_floor(a))                                                     \
  X(ceiling, number, (number a), ceiling(a))                                                       \
  X(exponential, number, (number a), exponential(a))                                               \
  X(natural_log, number, (number a), natural_log(a))                                               \
  X(content_left, number, (number a, number b), content_left(a, b))                                \
  X(remainder, number, (number a, number b), remainder_of(a, b))                                   \
  X(half_even, number, (number a, number b, number c), round_to(a, b, c, RoundingMode::half_even)) \
  X(half_up, number, (number a, number b, number c), round_to(a, b, c, RoundingMode::half_up))     \
  X(down, number, (number a, number b, number c), round_to(a, b, c, RoundingMode::down))           \
  X(choose, number, (mask a, number b, number c), choose(a, b, c))                                 \
  X(less, mask, (number a, number b), a < b)                                                       \
  X(at_most, mask, (number a, number b), a <= b)                                                   \
  X(beyond, mask, (number a, number b), no(a <= b))                                                \
  X(about_least, mask, (number a, number b), at_least(a, b))                                       \
  X(short_of, mask, (number a, number b), no(at_least(a, b)))                                      \
  X(about_same, mask, (number a, number b), same(a, b))                                            \
  X(both, mask, (mask a, mask b), both(a, b))                                                      \
  X(either, mask, (mask a, mask b), either(a, b))                                                  \
  X(no, mask, (mask a), no(a))

// Two operations in one, where nothing else takes what the first gives: the last three columns say which
// takes it, in which of its places, and which gives it. The numbers stay the same; one is not put down in
// between.
#define BUTTONWORTH_TAPE_PAIRS(X)                                                                            \
  X(multiply_add, number, (number a, number b, number c), a* b + c, add, 0, multiply)                        \
  X(add_add, number, (number a, number b, number c), a + b + c, add, 0, add)                                 \
  X(subtract_add, number, (number a, number b, number c), a - b + c, add, 0, subtract)                       \
  X(choose_add, number, (mask a, number b, number c, number d), choose(a, b, c) + d, add, 0, choose)         \
  X(multiply_subtract, number, (number a, number b, number c), a* b - c, subtract, 0, multiply)              \
  X(add_subtract, number, (number a, number b, number c), a + b - c, subtract, 0, add)                       \
  X(subtract_subtract, number, (number a, number b, number c), a - b - c, subtract, 0, subtract)             \
  X(subtract_product, number, (number a, number b, number c), a - b * c, subtract, 1, multiply)              \
  X(multiply_multiply, number, (number a, number b, number c), a* b* c, multiply, 0, multiply)               \
  X(add_multiply, number, (number a, number b, number c), (a + b) * c, multiply, 0, add)                     \
  X(subtract_multiply, number, (number a, number b, number c), (a - b) * c, multiply, 0, subtract)           \
  X(most_multiply, number, (number a, number b, number c), most(a, b) * c, multiply, 0, most)                \
  X(choose_multiply, number, (mask a, number b, number c, number d), choose(a, b, c) * d, multiply, 0,       \
    choose)                                                                                                  \
  X(multiply_most, number, (number a, number b, number c), most(L(a* b), c), most, 0, multiply)              \
  X(subtract_most, number, (number a, number b, number c), most(L(a - b), c), most, 0, subtract)             \
  X(least_most, number, (number a, number b, number c), most(least(a, b), c), most, 0, least)                \
  X(multiply_half_even, number, (number a, number b, number c, number d),                                    \
    round_to(L(a* b), c, d, RoundingMode::half_even), half_even, 0, multiply)                                \
  X(multiply_half_even_add, number, (number a, number b, number c, number d, number e),                      \
    round_to(L(a* b), c, d, RoundingMode::half_even) + e, add, 0, multiply_half_even)                        \
  X(half_even_add, number, (number a, number b, number c, number d),                                         \
    round_to(a, b, c, RoundingMode::half_even) + d, add, 0, half_even)                                       \
  X(less_choose, number, (number a, number b, number c, number d), choose(a < b, c, d), choose, 0, less)     \
  X(at_most_choose, number, (number a, number b, number c, number d), choose(a <= b, c, d), choose, 0,       \
    at_most)                                                                                                 \
  X(both_either, mask, (mask a, mask b, mask c), either(both(a, b), c), either, 0, both)                     \
  X(beyond_either, mask, (number a, number b, mask c), either(no(a <= b), c), either, 0, beyond)             \
  X(short_of_either, mask, (number a, number b, mask c), either(no(at_least(a, b)), c), either, 0, short_of) \
  X(less_both, mask, (number a, number b, mask c), both(a < b, c), both, 0, less)

enum class TapeOp : std::uint8_t {
  input,
#define BUTTONWORTH_TAPE_NAME(name, ...) name,
  BUTTONWORTH_TAPE_OPERATIONS(BUTTONWORTH_TAPE_NAME) BUTTONWORTH_TAPE_PAIRS(BUTTONWORTH_TAPE_NAME)
#undef BUTTONWORTH_TAPE_NAME
};

/// How many numbers or masks an operation takes at most.
constexpr std::size_t most_taken = 5;

/// A number or a mask: what a node of the tape gives, or a constant.
struct TapeValue {
  std::int32_t node = -1;  ///< none: a constant
  double value = 0;        ///< of a constant; of a mask 1 or 0

  bool constant() const { return node < 0; }
  bool is(double other) const { return constant() && value == other; }
};

/// A tape made ready to be played: operations in order, and the places of their numbers, each used again once
/// nothing more hangs on what it holds.
struct Program {
  struct Step {
    TapeOp op;
    std::uint32_t to;
    std::array<std::uint32_t, most_taken> from;
  };
  struct Output {
    TapeValue value;  ///< of a constant
    std::uint32_t place;
  };
  std::vector<double> constants;  ///< in the first places
  std::uint32_t places = 0;       ///< in all
  std::vector<Step> steps;
  std::vector<std::uint32_t> inputs;  ///< places, in the order of their making
  std::vector<Output> outputs;
};

class Tape {
 public:
  /// `not_negative`: it never is less than 0.
  TapeValue input(bool not_negative);
  /// What the operation gives: a constant, a node that was there before, or a new one.
  TapeValue note(TapeOp op, const TapeValue& a, const TapeValue& b, const TapeValue& c);
  /// All that these hang on and nothing else.
  Program program(const std::vector<TapeValue>& outputs) const;

  /// What constants alone give.
  static double worked_out(TapeOp op, double a, double b, double c);

 private:
  struct Node {
    TapeOp op;
    std::array<std::int32_t, most_taken> from;  // nodes from 0 up, constants from -1 down
    friend bool operator==(const Node&, const Node&) = default;
  };
  struct NodeHash {
    std::size_t operator()(const Node& node) const;
  };
  friend class ProgramMaker;

  TapeValue intern(TapeOp op, const TapeValue& a, const TapeValue& b, const TapeValue& c);
  std::int32_t reference_to(const TapeValue& value);
  TapeValue taken(const TapeValue& by, std::size_t place) const;
  bool is(const TapeValue& value, TapeOp op) const;
  bool negated(const TapeValue& value) const;
  bool not_negative(const TapeValue& value) const;
  bool gives_not_negative(TapeOp op, const TapeValue& a, const TapeValue& b, const TapeValue& c) const;
  std::optional<TapeValue> in_other_words(TapeOp op, const TapeValue& a, const TapeValue& b,
                                          const TapeValue& c);
  std::optional<TapeValue> without_sign(TapeOp op, const TapeValue& a, const TapeValue& b,
                                        const TapeValue& c);

  std::vector<Node> nodes_;
  std::vector<bool> not_negative_;  // by node
  std::vector<double> constants_;
  std::vector<std::int32_t> inputs_;
  std::unordered_map<Node, std::int32_t, NodeHash> known_;
  std::unordered_map<std::uint64_t, std::int32_t> known_constants_;  // by their bits
};

/// How many numbers or masks an operation takes.
std::size_t taken_by(TapeOp op);

}  // namespace buttonworth
