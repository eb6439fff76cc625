#include "chance/tape.hpp"

#include <algorithm>
#include <bit>
#include <utility>

#include "chance/tape_player.hpp"

namespace buttonworth {
namespace {

template <class T>
struct Constant;  // of lanes or their mask
template <>
struct Constant<Lanes> {
  static Lanes of(double value) { return Lanes(value); }
  static double back(const Lanes& lanes) { return lanes[0]; }
};
template <>
struct Constant<Mask<Lanes>> {
  static Mask<Lanes> of(double value) { return Mask<Lanes>(value != 0); }
  static double back(const Mask<Lanes>& mask) { return mask[0] ? 1 : 0; }
};

template <class Gives, class... Takes, std::size_t... I>
double worked_out_by(Gives (*how)(Takes...), const std::array<double, 3>& from, std::index_sequence<I...>) {
  return Constant<Gives>::back(how(Constant<std::remove_cvref_t<Takes>>::of(from[I])...));
}

template <class Gives, class... Takes>
constexpr std::size_t count_of(Gives (*)(Takes...)) {
  return sizeof...(Takes);
}

bool takes_in_any_order(TapeOp op) {
  switch (op) {
    case TapeOp::add:
    case TapeOp::multiply:
    case TapeOp::about_same:
    case TapeOp::both:
    case TapeOp::either: return true;
    default: return false;
  }
}

/// What needs no operation: exact, but for the sign of a 0.
const TapeValue* without_doing(TapeOp op, const TapeValue& a, const TapeValue& b, const TapeValue& c) {
  const bool alike = a.node == b.node && !a.constant();
  switch (op) {
    case TapeOp::add: return a.is(0) ? &b : b.is(0) ? &a : nullptr;
    case TapeOp::subtract: return b.is(0) ? &a : nullptr;
    case TapeOp::multiply: return a.is(1) ? &b : b.is(1) ? &a : nullptr;
    case TapeOp::divide: return b.is(1) ? &a : nullptr;
    case TapeOp::least:
    case TapeOp::most: return alike ? &a : nullptr;
    case TapeOp::both: return alike || b.is(1) || a.is(0) ? &a : a.is(1) || b.is(0) ? &b : nullptr;
    case TapeOp::either: return alike || b.is(0) || a.is(1) ? &a : a.is(0) || b.is(1) ? &b : nullptr;
    case TapeOp::choose:
      if (a.constant()) return a.value != 0 ? &b : &c;
      return b.node == c.node && (!b.constant() || b.value == c.value) ? &b : nullptr;
    default: return nullptr;
  }
}

}  // namespace

std::size_t taken_by(TapeOp op) {
  switch (op) {
#define BUTTONWORTH_TAPE_COUNT(name, ...) \
  case TapeOp::name: return count_of(&TapeOperation<Lanes, TapeOp::name>::of);
    BUTTONWORTH_TAPE_OPERATIONS(BUTTONWORTH_TAPE_COUNT)
    BUTTONWORTH_TAPE_PAIRS(BUTTONWORTH_TAPE_COUNT)
#undef BUTTONWORTH_TAPE_COUNT
    default: return 0;
  }
}

double Tape::worked_out(TapeOp op, double a, double b, double c) {
  switch (op) {
#define BUTTONWORTH_TAPE_WORK_OUT(name, ...)                                       \
  case TapeOp::name: {                                                             \
    constexpr auto of = &TapeOperation<Lanes, TapeOp::name>::of;                   \
    return worked_out_by(of, {a, b, c}, std::make_index_sequence<count_of(of)>()); \
  }
    BUTTONWORTH_TAPE_OPERATIONS(BUTTONWORTH_TAPE_WORK_OUT)
#undef BUTTONWORTH_TAPE_WORK_OUT
    default: return 0;
  }
}

std::size_t Tape::NodeHash::operator()(const Node& node) const {
  std::uint64_t hash = static_cast<std::uint64_t>(node.op);
  for (std::int32_t from : node.from) {
    hash = (hash ^ static_cast<std::uint32_t>(from)) * 0x9e3779b97f4a7c15;
    hash ^= hash >> 32;
  }
  return hash;
}

TapeValue Tape::input(bool not_negative) {
  inputs_.push_back(static_cast<std::int32_t>(nodes_.size()));
  nodes_.push_back({TapeOp::input, {}});
  not_negative_.push_back(not_negative);
  return {inputs_.back()};
}

TapeValue Tape::note(TapeOp op, const TapeValue& a, const TapeValue& b, const TapeValue& c) {
  if (const TapeValue* known = without_doing(op, a, b, c)) return *known;
  if (const auto other = in_other_words(op, a, b, c)) return *other;
  if (const auto other = without_sign(op, a, b, c)) return *other;
  return intern(op, a, b, c);
}

/// The same by something that costs less; exact but for products of constants, which are rounded once more.
std::optional<TapeValue> Tape::in_other_words(TapeOp op, const TapeValue& a, const TapeValue& b,
                                              const TapeValue& c) {
  auto constant = [](double value) { return TapeValue{-1, value}; };
  switch (op) {
    case TapeOp::most:
      if (b.is(0) && not_negative(a)) return a;
      break;
    case TapeOp::about_least:  // within an edge's width of what is known
      if (b.constant())
        return note(TapeOp::at_most, constant(b.value - std::abs(b.value) * edge_width<double>()), a, c);
      break;
    case TapeOp::no:
      if (is(a, TapeOp::no)) return taken(a, 0);
      if (is(a, TapeOp::at_most)) return note(TapeOp::beyond, taken(a, 0), taken(a, 1), c);
      if (is(a, TapeOp::about_least)) return note(TapeOp::short_of, taken(a, 0), taken(a, 1), c);
      break;
    case TapeOp::multiply: {
      const TapeValue &known = a.constant() ? a : b, &other = a.constant() ? b : a;
      if (known.constant() && is(other, TapeOp::multiply) && taken(other, 0).constant())
        return note(op, constant(known.value * taken(other, 0).value), taken(other, 1), c);
      break;
    }
    default: break;
  }
  return std::nullopt;
}

/// Signs are moved out of products and roundings, into sums.
std::optional<TapeValue> Tape::without_sign(TapeOp op, const TapeValue& a, const TapeValue& b,
                                            const TapeValue& c) {
  const TapeValue zero{};
  auto minus = [&](const TapeValue& value) { return note(TapeOp::subtract, zero, value, {}); };
  switch (op) {
    case TapeOp::add:
      if (negated(b)) return note(TapeOp::subtract, a, taken(b, 1), c);
      if (negated(a)) return note(TapeOp::subtract, b, taken(a, 1), c);
      break;
    case TapeOp::subtract:
      if (negated(b)) return note(TapeOp::add, a, taken(b, 1), c);
      if (!a.is(0)) break;
      if (is(b, TapeOp::subtract)) return note(op, taken(b, 1), taken(b, 0), c);
      if (is(b, TapeOp::multiply) && taken(b, 0).constant())
        return note(TapeOp::multiply, {-1, -taken(b, 0).value}, taken(b, 1), c);
      break;
    case TapeOp::multiply:
      if (negated(a) && b.constant()) return note(op, {-1, -b.value}, taken(a, 1), c);
      if (negated(b) && a.constant()) return note(op, {-1, -a.value}, taken(b, 1), c);
      if (negated(a)) return minus(note(op, taken(a, 1), b, c));
      if (negated(b)) return minus(note(op, a, taken(b, 1), c));
      break;
    case TapeOp::half_even:
    case TapeOp::half_up:
    case TapeOp::down:
      if (negated(a)) return minus(note(op, taken(a, 1), b, c));
      break;
    case TapeOp::size:
      if (negated(a)) return note(op, taken(a, 1), b, c);
      break;
    default: break;
  }
  return std::nullopt;
}

TapeValue Tape::intern(TapeOp op, const TapeValue& a, const TapeValue& b, const TapeValue& c) {
  Node node{op, {}};
  const TapeValue* const from[] = {&a, &b, &c};
  for (std::size_t i = 0; i < taken_by(op); ++i) node.from[i] = reference_to(*from[i]);
  if (takes_in_any_order(op) && node.from[0] > node.from[1]) std::swap(node.from[0], node.from[1]);
  const auto [at, fresh] = known_.try_emplace(node, static_cast<std::int32_t>(nodes_.size()));
  if (fresh) {
    nodes_.push_back(node);
    not_negative_.push_back(gives_not_negative(op, a, b, c));
  }
  return {at->second};
}

bool Tape::gives_not_negative(TapeOp op, const TapeValue& a, const TapeValue& b, const TapeValue& c) const {
  switch (op) {
    case TapeOp::add:
    case TapeOp::multiply:
    case TapeOp::divide:
    case TapeOp::ratio:
    case TapeOp::least: return not_negative(a) && not_negative(b);
    case TapeOp::most: return not_negative(a) || not_negative(b);
    case TapeOp::choose: return not_negative(b) && not_negative(c);
    case TapeOp::floor:
    case TapeOp::ceiling:
    case TapeOp::content_left:
    case TapeOp::half_even:
    case TapeOp::half_up:
    case TapeOp::down: return not_negative(a);
    case TapeOp::size:
    case TapeOp::exponential: return true;
    default: return false;
  }
}

bool Tape::not_negative(const TapeValue& value) const {
  return value.constant() ? value.value >= 0 : not_negative_[static_cast<std::size_t>(value.node)];
}
bool Tape::is(const TapeValue& value, TapeOp op) const {
  return !value.constant() && nodes_[static_cast<std::size_t>(value.node)].op == op;
}
bool Tape::negated(const TapeValue& value) const {
  return is(value, TapeOp::subtract) && taken(value, 0).is(0);
}

TapeValue Tape::taken(const TapeValue& by, std::size_t place) const {
  const std::int32_t from = nodes_[static_cast<std::size_t>(by.node)].from[place];
  if (from >= 0) return {from};
  return {-1, constants_[static_cast<std::size_t>(-1 - from)]};
}

std::int32_t Tape::reference_to(const TapeValue& value) {
  if (!value.constant()) return value.node;
  const auto [at, fresh] = known_constants_.try_emplace(std::bit_cast<std::uint64_t>(value.value),
                                                        -1 - static_cast<std::int32_t>(constants_.size()));
  if (fresh) constants_.push_back(value.value);
  return at->second;
}

namespace {
/// Two operations that are one.
struct Pair {
  TapeOp both, later;
  std::size_t place;  ///< in which the later takes what the earlier gives
  TapeOp earlier;
};
constexpr Pair pairs[] = {
#define BUTTONWORTH_TAPE_PAIR(name, gives, takes, how, later, place, earlier) \
  {TapeOp::name, TapeOp::later, place, TapeOp::earlier},
    BUTTONWORTH_TAPE_PAIRS(BUTTONWORTH_TAPE_PAIR)
#undef BUTTONWORTH_TAPE_PAIR
};
}  // namespace

/// Pairs the operations that are wanted and gives their numbers places.
class ProgramMaker {
 public:
  ProgramMaker(const Tape& tape, const std::vector<TapeValue>& outputs)
      : nodes_(tape.nodes_), uses_(nodes_.size()), last_use_(nodes_.size()), place_(nodes_.size()) {
    count_uses(outputs);
    for (std::size_t node = 0; node < nodes_.size(); ++node)
      if (uses_[node] > 0) pair_up(node);
    find_last_uses(outputs);
    program_.constants = tape.constants_;
    program_.places = static_cast<std::uint32_t>(program_.constants.size());
    for (std::int32_t node : tape.inputs_) program_.inputs.push_back(place_[at(node)] = fresh_place());
    for (std::size_t node = 0; node < nodes_.size(); ++node)
      if (uses_[node] > 0 && nodes_[node].op != TapeOp::input) add_step(node);
    for (const TapeValue& one : outputs)
      program_.outputs.push_back({one, one.constant() ? 0 : place_[at(one.node)]});
  }
  Program take() { return std::move(program_); }

 private:
  static constexpr std::size_t for_ever = static_cast<std::size_t>(-1);
  static std::size_t at(std::int32_t node) { return static_cast<std::size_t>(node); }

  template <class Do>
  void each_taken(std::size_t node, Do take) const {
    const Tape::Node& one = nodes_[node];
    for (std::size_t i = 0; i < taken_by(one.op); ++i)
      if (one.from[i] >= 0) take(at(one.from[i]));
  }
  void count_uses(const std::vector<TapeValue>& outputs) {
    for (const TapeValue& one : outputs)
      if (!one.constant()) uses_[at(one.node)] += 2;  // never alone with one that takes it
    for (std::size_t node = nodes_.size(); node-- > 0;)
      if (uses_[node] > 0) each_taken(node, [&](std::size_t from) { ++uses_[from]; });
  }

  void pair_up(std::size_t node) {
    for (const Pair& pair : pairs) {
      if (pair.later != nodes_[node].op) continue;
      if (take_in(node, pair)) return;
      if (!takes_in_any_order(pair.later)) continue;
      std::swap(nodes_[node].from[0], nodes_[node].from[1]);
      if (take_in(node, pair)) return;
    }
  }
  /// Whether what the earlier gives goes to this node alone: then it is taken into it.
  bool take_in(std::size_t node, const Pair& pair) {
    Tape::Node& later = nodes_[node];
    const std::int32_t from = later.from[pair.place];
    if (from < 0 || uses_[at(from)] != 1 || nodes_[at(from)].op != pair.earlier) return false;
    const Tape::Node& earlier = nodes_[at(from)];
    Tape::Node both{pair.both, {}};
    auto end = std::copy_n(later.from.begin(), pair.place, both.from.begin());
    end = std::copy_n(earlier.from.begin(), taken_by(earlier.op), end);
    std::copy(later.from.begin() + pair.place + 1, later.from.begin() + taken_by(later.op), end);
    uses_[at(from)] = 0;
    later = both;
    return true;
  }

  void find_last_uses(const std::vector<TapeValue>& outputs) {
    for (std::size_t node = 0; node < nodes_.size(); ++node)
      if (uses_[node] > 0) each_taken(node, [&](std::size_t from) { last_use_[from] = node; });
    for (const TapeValue& one : outputs)
      if (!one.constant()) last_use_[at(one.node)] = for_ever;
  }
  void add_step(std::size_t node) {
    const Tape::Node& one = nodes_[node];
    Program::Step step{one.op, 0, {}};
    for (std::size_t i = 0; i < taken_by(one.op); ++i)
      step.from[i] =
          one.from[i] >= 0 ? place_[at(one.from[i])] : static_cast<std::uint32_t>(-1 - one.from[i]);
    // What is used for the last time makes room at once: every operation reads before it writes.
    each_taken(node, [&](std::size_t from) {
      if (last_use_[from] != node) return;
      free_.push_back(place_[from]);
      last_use_[from] = for_ever;  // taken twice by this node, it is free once
    });
    step.to = place_[node] = fresh_place();
    program_.steps.push_back(step);
  }
  /// The one that was in hand last.
  std::uint32_t fresh_place() {
    if (free_.empty()) return program_.places++;
    const std::uint32_t place = free_.back();
    free_.pop_back();
    return place;
  }

  std::vector<Tape::Node> nodes_;
  std::vector<std::size_t> uses_, last_use_;  // how many take it, and which is the last
  std::vector<std::uint32_t> place_, free_;
  Program program_;
};

Program Tape::program(const std::vector<TapeValue>& outputs) const {
  return ProgramMaker(*this, outputs).take();
}

}  // namespace buttonworth
