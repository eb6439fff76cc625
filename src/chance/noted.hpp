// A number that notes on a tape what is done with it: the formulas' third arithmetic where draws are many.
#pragma once

#include "chance/tape.hpp"
#include "material/stream.hpp"

namespace buttonworth {

struct Noted : TapeValue {
  struct Mask : TapeValue {
    Mask() = default;
    Mask(bool known) : TapeValue{-1, known ? 1.0 : 0.0} {}
    Mask(const TapeValue& value, Tape* on) : TapeValue(value), tape(on) {}
    Tape* tape = nullptr;
  };

  Noted() = default;
  Noted(double known) : TapeValue{-1, known} {}
  Noted(int known) : Noted(static_cast<double>(known)) {}
  Noted(const TapeValue& value, Tape* on) : TapeValue(value), tape(on) {}
  Tape* tape = nullptr;  ///< none: a constant
};

namespace noting {
template <class Gives, class A, class B = Noted, class C = Noted>
Gives note(TapeOp op, const A& a, const B& b = {}, const C& c = {}) {
  Tape* const tape = a.tape != nullptr ? a.tape : b.tape != nullptr ? b.tape : c.tape;
  if (tape == nullptr) return Gives({-1, Tape::worked_out(op, a.value, b.value, c.value)}, nullptr);
  const TapeValue noted = tape->note(op, a, b, c);
  return Gives(noted, noted.constant() ? nullptr : tape);
}
inline Noted number(TapeOp op, const Noted& a, const Noted& b = {}, const Noted& c = {}) {
  return note<Noted>(op, a, b, c);
}
inline Noted::Mask mask(TapeOp op, const Noted& a, const Noted& b) { return note<Noted::Mask>(op, a, b); }
}  // namespace noting

inline Noted operator+(const Noted& a, const Noted& b) { return noting::number(TapeOp::add, a, b); }
inline Noted operator-(const Noted& a, const Noted& b) { return noting::number(TapeOp::subtract, a, b); }
inline Noted operator*(const Noted& a, const Noted& b) { return noting::number(TapeOp::multiply, a, b); }
inline Noted operator/(const Noted& a, const Noted& b) { return noting::number(TapeOp::divide, a, b); }
inline Noted operator-(const Noted& a) { return Noted(0.0) - a; }
inline Noted& operator+=(Noted& a, const Noted& b) { return a = a + b; }
inline Noted& operator-=(Noted& a, const Noted& b) { return a = a - b; }

inline Noted::Mask operator<(const Noted& a, const Noted& b) { return noting::mask(TapeOp::less, a, b); }
inline Noted::Mask operator<=(const Noted& a, const Noted& b) { return noting::mask(TapeOp::at_most, a, b); }
inline Noted::Mask operator>(const Noted& a, const Noted& b) { return b < a; }
inline Noted::Mask operator>=(const Noted& a, const Noted& b) { return b <= a; }

inline Noted::Mask both(const Noted::Mask& a, const Noted::Mask& b) {
  return noting::note<Noted::Mask>(TapeOp::both, a, b);
}
inline Noted::Mask either(const Noted::Mask& a, const Noted::Mask& b) {
  return noting::note<Noted::Mask>(TapeOp::either, a, b);
}
inline Noted::Mask no(const Noted::Mask& a) { return noting::note<Noted::Mask>(TapeOp::no, a); }
/// What hangs on the draw may be.
inline bool any(const Noted::Mask& mask) { return !mask.constant() || mask.value != 0; }
inline Noted choose(const Noted::Mask& mask, const Noted& yes, const Noted& no) {
  return noting::note<Noted>(TapeOp::choose, mask, yes, no);
}

// ---- Formulas that are one operation ---------------------------------------------------------------

inline Noted least(const Noted& a, const Noted& b) { return noting::number(TapeOp::least, a, b); }
inline Noted most(const Noted& a, const Noted& b) { return noting::number(TapeOp::most, a, b); }
inline Noted not_negative(const Noted& a) { return most(a, Noted(0)); }
inline Noted ratio(const Noted& a, const Noted& b) { return noting::number(TapeOp::ratio, a, b); }
inline Noted abs(const Noted& a) { return noting::number(TapeOp::size, a); }
inline Noted plain_floor(const Noted& a) { return noting::number(TapeOp::floor, a); }
inline Noted ceiling(const Noted& a) { return noting::number(TapeOp::ceiling, a); }
inline Noted exponential(const Noted& a) { return noting::number(TapeOp::exponential, a); }
inline Noted natural_log(const Noted& a) { return noting::number(TapeOp::natural_log, a); }
inline Noted content_left(const Noted& whole, const Noted& taken) {
  return noting::number(TapeOp::content_left, whole, taken);
}
inline Noted remainder_of(const Noted& whole, const Noted& taken) {
  return noting::number(TapeOp::remainder, whole, taken);
}
inline Noted::Mask at_least(const Noted& a, const Noted& b) {
  return noting::mask(TapeOp::about_least, a, b);
}
inline Noted::Mask at_most(const Noted& a, const Noted& b) { return at_least(b, a); }
inline Noted::Mask above(const Noted& a, const Noted& b) { return no(at_most(a, b)); }
inline Noted::Mask same(const Noted& a, const Noted& b) { return noting::mask(TapeOp::about_same, a, b); }
inline Noted round_to(const Noted& value, const Noted& step, const Noted& per_step, RoundingMode mode) {
  const TapeOp op = mode == RoundingMode::half_even ? TapeOp::half_even
                    : mode == RoundingMode::half_up ? TapeOp::half_up
                                                    : TapeOp::down;
  return noting::number(op, value, step, per_step);
}

}  // namespace buttonworth
