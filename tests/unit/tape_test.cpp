// A tape plays what was noted: the same bits as the formulas on the lanes themselves.
#include <gtest/gtest.h>

#include <bit>
#include <functional>
#include <random>
#include <set>

#include "chance/noted.hpp"
#include "chance/tape_player.hpp"

using namespace buttonworth;

namespace {

using Player = TapePlayer<Lanes>;

/// A tape of some inputs, and what a formula of them plays.
struct Played {
  Program program;
  std::vector<std::vector<double>> numbers;  // by output, a row each; of a mask 1 or 0

  /// `formula(inputs)` gives numbers; `values` a row for each input.
  template <class Formula>
  Played(const std::vector<std::vector<double>>& values, Formula formula) {
    Tape tape;
    std::vector<Noted> inputs;
    for (std::size_t i = 0; i < values.size(); ++i) inputs.emplace_back(tape.input(false), &tape);
    const std::vector<Noted> noted = formula(inputs);
    program = tape.program({noted.begin(), noted.end()});
    Player player(program);
    for (std::size_t i = 0; i < values.size(); ++i)
      std::copy(values[i].begin(), values[i].end(), player.numbers(program.inputs[i]));
    player.play(Player::packs);
    for (const Program::Output& one : program.outputs) {
      const double* const place = player.numbers(one.place);
      numbers.push_back(one.value.constant() ? std::vector<double>(Player::row, one.value.value)
                                             : std::vector<double>(place, place + Player::row));
    }
  }
};

/// Rows of numbers of every size, some whole, some equal, some of them 0.
std::vector<std::vector<double>> random_rows(std::size_t inputs, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::vector<std::vector<double>> rows(inputs);
  for (auto& row : rows)
    for (std::size_t i = 0; i < Player::row; ++i) {
      const double unit = std::uniform_real_distribution<>(-1, 1)(random);
      switch (random() % 6) {
        case 0: row.push_back(0); break;
        case 1: row.push_back(std::floor(unit * 10)); break;
        case 2: row.push_back(&row != &rows[0] ? rows[0][i] * (1 + 1e-13 * unit) : unit); break;
        default: row.push_back(unit * std::pow(10.0, static_cast<double>(random() % 7)));
      }
    }
  return rows;
}

/// What every formula of a tape is made of, in one number type.
template <class N>
std::vector<N> formulas(const N& a, const N& b, const N& c) {
  const N size = abs(a) + N(0.25);
  auto counted = [](const auto& mask) { return choose(mask, N(1), N(0)); };
  return {N(a + b),
          N(a - b),
          N(a * b),
          N(a / size),
          N(-a),
          ratio(a, b),
          least(a, b),
          most(a, b),
          abs(a),
          plain_floor(a),
          ceiling(a),
          exponential(N(a * 1e-4)),
          natural_log(size),
          content_left(a, b),
          remainder_of(a, b),
          not_negative(a),
          round_to(a, N(0.125), N(8), RoundingMode::half_even),
          round_to(a, N(0.1), N(10), RoundingMode::half_up),
          round_to(a, N(0.01), N(100), RoundingMode::down),
          choose(a < b, c, b),
          counted(a < b),
          counted(a <= b),
          counted(a > b),
          counted(a >= b),
          counted(at_least(a, b)),
          counted(at_most(a, b)),
          counted(above(a, b)),
          counted(same(a, b)),
          counted(at_least(a, N(3))),
          counted(at_least(N(3), a)),
          counted(both(a < b, c < N(0))),
          counted(either(a < b, c < N(0))),
          counted(no(a < b)),
          whole_steps(a, b, N(0.5), N(2)),
          weighed_down(size, N(0.25), N(4), N(0.01))};
}

/// Beside numbers that are the same in every draw, some of which need no operation.
template <class N>
std::vector<N> formulas_of_constants(const N& a, const N& b) {
  std::vector<N> out;
  for (double fixed : {0.0, 1.0, 2.0, -1.0, 0.5}) {
    const N k(fixed);
    out.insert(out.end(),
               {N(a + k), N(k + a), N(a - k), N(k - a), N(a * k), N(k * a), least(a, k), most(k, a)});
    if (fixed != 0) out.push_back(N(a / k));
  }
  const auto always = N(1) > N(0), never = N(0) > N(1), now = a < b;
  for (const auto& mask : {always, never, now})
    for (const auto& one : {both(now, mask), both(mask, now), either(now, mask), either(mask, now)})
      out.push_back(choose(one, a, b));
  out.insert(out.end(), {choose(always, a, b), choose(never, a, b), choose(now, a, a)});
  return out;
}

void expect_same_bits(double a, double b, std::size_t formula) {
  // The sign of a 0 is no figure: 0 + x is x on a tape.
  if (a == 0 && b == 0) return;
  EXPECT_EQ(std::bit_cast<std::uint64_t>(a), std::bit_cast<std::uint64_t>(b))
      << "formula " << formula << ": " << a << ", " << b;
}

/// `formula` of as many inputs as there are rows, played and on the lanes themselves.
template <class Formula>
void expect_as_on_lanes(const std::vector<std::vector<double>>& rows, Formula formula) {
  const Played played(rows, formula);
  for (std::size_t i = 0; i < Player::row; i += Lanes::size) {
    std::vector<Lanes> inputs(rows.size());
    for (std::size_t k = 0; k < rows.size(); ++k) std::memcpy(&inputs[k], &rows[k][i], sizeof(Lanes));
    const std::vector<Lanes> expected = formula(inputs);
    ASSERT_EQ(played.numbers.size(), expected.size());
    for (std::size_t f = 0; f < expected.size(); ++f)
      for (int lane = 0; lane < Lanes::size; ++lane)
        expect_same_bits(played.numbers[f][i + static_cast<std::size_t>(lane)], expected[f][lane], f);
  }
}

TEST(Tape, PlaysWhatTheLanesWorkOut) {
  for (std::uint64_t seed = 0; seed < 50; ++seed) {
    expect_as_on_lanes(random_rows(3, seed), [](const auto& in) { return formulas(in[0], in[1], in[2]); });
    expect_as_on_lanes(random_rows(2, seed),
                       [](const auto& in) { return formulas_of_constants(in[0], in[1]); });
  }
}

TEST(Tape, ConstantsAreWorkedOutAsTheLanesWould) {
  for (std::uint64_t seed = 0; seed < 50; ++seed) {
    const auto rows = random_rows(3, seed);
    const auto expected = formulas(Lanes(rows[0][0]), Lanes(rows[1][0]), Lanes(rows[2][0]));
    const auto found = formulas(Noted(rows[0][0]), Noted(rows[1][0]), Noted(rows[2][0]));
    for (std::size_t f = 0; f < expected.size(); ++f) {
      ASSERT_TRUE(found[f].constant());
      expect_same_bits(found[f].value, expected[f][0], f);
    }
    // Beside an input that changes nothing, too.
    const Played played(
        rows, [&](const auto& in) { return formulas(in[0], Noted(rows[1][0]), Noted(rows[2][0])); });
    Lanes a;
    std::memcpy(&a, &rows[0][0], sizeof a);
    const auto half = formulas(a, Lanes(rows[1][0]), Lanes(rows[2][0]));
    for (std::size_t f = 0; f < half.size(); ++f) expect_same_bits(played.numbers[f][0], half[f][0], f);
  }
}

std::size_t steps_of(const std::function<std::vector<Noted>(const std::vector<Noted>&)>& formula) {
  return Played(random_rows(3, 1), formula).program.steps.size();
}

TEST(Tape, NotesOnceWhatIsDoneTwice) {
  using In = const std::vector<Noted>&;
  EXPECT_EQ(steps_of([](In in) -> std::vector<Noted> { return {in[0] * in[1], in[0] * in[1]}; }), 1u);
  EXPECT_EQ(steps_of([](In in) -> std::vector<Noted> { return {in[0] * in[1], in[1] * in[0]}; }), 1u);
  EXPECT_EQ(steps_of([](In in) -> std::vector<Noted> { return {in[0] - in[1], in[1] - in[0]}; }), 2u);
  EXPECT_EQ(steps_of([](In in) -> std::vector<Noted> {
              return {in[0] / 3.0, in[0] / 3.0, in[0] / 4.0};
            }),
            2u);
}

TEST(Tape, LeavesOutWhatChangesNothing) {
  using In = const std::vector<Noted>&;
  EXPECT_EQ(steps_of([](In in) -> std::vector<Noted> { return {Noted(0) + in[0] * 1.0 - 0.0}; }), 0u);
  EXPECT_EQ(
      steps_of([](In in) -> std::vector<Noted> { return {choose(Noted::Mask(true), in[0], in[1] * in[2])}; }),
      0u);
  EXPECT_EQ(steps_of([](In in) -> std::vector<Noted> { return {choose(in[0] < in[1], in[2], in[2])}; }), 0u);
  EXPECT_EQ(steps_of([](In in) -> std::vector<Noted> {
              return {choose(both(in[0] < in[1], false), in[1], in[2])};
            }),
            0u);
  EXPECT_EQ(steps_of([](In in) -> std::vector<Noted> { return {in[0] + (Noted(2) * 3.0 - 1.0)}; }), 1u);
  EXPECT_EQ(steps_of([](In in) -> std::vector<Noted> {
              (void)(in[0] * in[1] / in[2]);  // nothing hangs on it
              return {in[0] + in[1]};
            }),
            1u);
}

TEST(Tape, UsesItsPlacesAgain) {
  const Played played(random_rows(2, 3), [](const auto& in) -> std::vector<Noted> {
    Noted sum = in[0];
    for (int i = 1; i <= 200; ++i) sum = sum * in[1] * 1e-7 + static_cast<double>(i);
    return {sum};
  });
  EXPECT_GE(played.program.steps.size(), 300u);
  EXPECT_LE(played.program.places - played.program.constants.size(), 4u);
}

/// Random formulas, each number made of some before it: however places are used, the figures stand.
TEST(Tape, RandomFormulasPlayAsTheyWorkOut) {
  std::mt19937_64 random(7);
  std::set<TapeOp> seen;
  for (int round = 0; round < 3000; ++round) {
    const auto rows = random_rows(4, random());
    std::vector<std::array<std::size_t, 4>> made;
    const std::size_t length = 5 + random() % 60;
    // Mostly of what was made just before, so that much is taken once alone and goes in pairs.
    auto pick = [&](std::size_t i) {
      return random() % 3 == 0 ? random() % (4 + i) : 3 + i - random() % std::min<std::size_t>(3, i + 1);
    };
    for (std::size_t i = 0; i < length; ++i) made.push_back({random() % 16, pick(i), pick(i), pick(i)});
    auto formula = [&]<class N>(std::vector<N> numbers) {
      for (const auto& [what, a, b, c] : made) {
        const N x = numbers[a], y = numbers[b], z = numbers[c];
        numbers.push_back(what == 0    ? N(x + y)
                          : what == 1  ? N(x - y)
                          : what == 2  ? N(x * y)
                          : what == 3  ? N(choose(x < y, y, z))
                          : what == 4  ? ratio(x, y)
                          : what == 5  ? N(choose(both(at_least(x, y), no(same(y, z))), x, N(1.5)))
                          : what == 6  ? round_to(x, N(0.01), N(100), RoundingMode::half_even)
                          : what == 7  ? round_to(N(0) - x, N(0.5), N(2), RoundingMode::half_up)
                          : what == 8  ? most(x, N(0))
                          : what == 9  ? N(-x)
                          : what == 10 ? N(choose(y <= x, N(0.25), z))
                          : what == 11
                              ? N(choose(either(x > y, either(no(y <= z), both(x < z, z < N(1)))), N(2), y))
                          : what == 12 ? least(x, y)
                          : what == 13 ? N(x * 0.5)
                          : what == 14 ? N(choose(either(no(at_least(x, N(3))), no(at_least(y, z))), x, y))
                                       : abs(x));
      }
      return std::vector<N>(numbers.end() - 5, numbers.end());
    };
    const Played played(rows, formula);
    for (const Program::Step& step : played.program.steps) seen.insert(step.op);
    std::vector<Lanes> in(4);
    for (std::size_t k = 0; k < 4; ++k) std::memcpy(&in[k], &rows[k][8], sizeof(Lanes));
    const std::vector<Lanes> expected = formula(in);
    for (std::size_t f = 0; f < 5; ++f)
      for (int lane = 0; lane < Lanes::size; ++lane) {
        const double found = played.numbers[f][8 + static_cast<std::size_t>(lane)];
        if (std::abs(expected[f][lane]) < 1e12) expect_same_bits(found, expected[f][lane], f);
      }
  }
#define SEEN(name, ...) EXPECT_TRUE(seen.contains(TapeOp::name)) << #name;
  BUTTONWORTH_TAPE_PAIRS(SEEN)
#undef SEEN
}

}  // namespace
