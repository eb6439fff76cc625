// Scenarios side by side: a number type that is a block of doubles in native vectors.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <iterator>

namespace buttonworth {

/// `Count` native vectors of `Width` doubles each. Two to four vectors hide the latency of the
/// arithmetic; vectors wider than the hardware's are slow under GCC 12.
template <int Width, int Count>
struct Pack {
  using Vector [[gnu::vector_size(Width * 8)]] = double;
  using Bits [[gnu::vector_size(Width * 8)]] = std::int64_t;
  static constexpr int size = Width * Count;

  /// Per lane all ones (true) or all zeros (false).
  struct Mask {
    Bits m[Count];
    Mask() = default;
    Mask(bool value) {
      for (auto& bits : m) bits = Bits{} - static_cast<std::int64_t>(value);
    }
    bool operator[](int lane) const { return m[lane / Width][lane % Width] != 0; }
  };

  Vector v[Count];

  Pack() = default;
  Pack(double value) {
    for (auto& vector : v) vector = Vector{} + value;
  }
  Pack(int value) : Pack(static_cast<double>(value)) {}

  double operator[](int lane) const { return v[lane / Width][lane % Width]; }
  void set(int lane, double value) { v[lane / Width][lane % Width] = value; }
};

template <class F, int W, int C>
inline Pack<W, C> each_vector(const Pack<W, C>& a, const Pack<W, C>& b, F f) {
  Pack<W, C> r;
  for (int i = 0; i < C; ++i) r.v[i] = f(a.v[i], b.v[i]);
  return r;
}

#define BUTTONWORTH_PACK_OPERATOR(op)                                       \
  template <int W, int C>                                                   \
  inline Pack<W, C> operator op(const Pack<W, C>& a, const Pack<W, C>& b) { \
    return each_vector(a, b, [](auto x, auto y) { return x op y; });        \
  }                                                                         \
  template <int W, int C>                                                   \
  inline Pack<W, C> operator op(const Pack<W, C>& a, double b) {            \
    return a op Pack<W, C>(b);                                              \
  }                                                                         \
  template <int W, int C>                                                   \
  inline Pack<W, C> operator op(double a, const Pack<W, C>& b) {            \
    return Pack<W, C>(a) op b;                                              \
  }                                                                         \
  template <int W, int C>                                                   \
  inline Pack<W, C>& operator op##=(Pack<W, C>& a, const Pack<W, C>& b) {   \
    return a = a op b;                                                      \
  }
BUTTONWORTH_PACK_OPERATOR(+)
BUTTONWORTH_PACK_OPERATOR(-)
BUTTONWORTH_PACK_OPERATOR(*)
BUTTONWORTH_PACK_OPERATOR(/)
#undef BUTTONWORTH_PACK_OPERATOR

template <int W, int C>
inline Pack<W, C> operator-(const Pack<W, C>& a) {
  return Pack<W, C>(0.0) - a;
}

#define BUTTONWORTH_PACK_COMPARISON(op)                                                    \
  template <int W, int C>                                                                  \
  inline typename Pack<W, C>::Mask operator op(const Pack<W, C>& a, const Pack<W, C>& b) { \
    typename Pack<W, C>::Mask r;                                                           \
    for (int i = 0; i < C; ++i) r.m[i] = a.v[i] op b.v[i];                                 \
    return r;                                                                              \
  }                                                                                        \
  template <int W, int C>                                                                  \
  inline typename Pack<W, C>::Mask operator op(const Pack<W, C>& a, double b) {            \
    return a op Pack<W, C>(b);                                                             \
  }
BUTTONWORTH_PACK_COMPARISON(<)
BUTTONWORTH_PACK_COMPARISON(<=)
BUTTONWORTH_PACK_COMPARISON(>)
BUTTONWORTH_PACK_COMPARISON(>=)
#undef BUTTONWORTH_PACK_COMPARISON

template <class M>
concept LaneMask = requires(M mask) {
  mask.m[0][0];
};

template <LaneMask M>
inline M both(const M& a, const M& b) {
  M r;
  for (std::size_t i = 0; i < std::size(a.m); ++i) r.m[i] = a.m[i] & b.m[i];
  return r;
}
template <LaneMask M>
inline M either(const M& a, const M& b) {
  M r;
  for (std::size_t i = 0; i < std::size(a.m); ++i) r.m[i] = a.m[i] | b.m[i];
  return r;
}
template <LaneMask M>
inline M no(const M& a) {
  M r;
  for (std::size_t i = 0; i < std::size(a.m); ++i) r.m[i] = ~a.m[i];
  return r;
}
template <LaneMask M>
inline bool any(const M& mask) {
  std::int64_t seen = 0;
  for (const auto& bits : mask.m)
    for (std::size_t k = 0; k < sizeof(bits) / 8; ++k) seen |= bits[k];
  return seen != 0;
}

template <int W, int C>
inline Pack<W, C> choose(const typename Pack<W, C>::Mask& mask, const Pack<W, C>& yes, const Pack<W, C>& no) {
  Pack<W, C> r;
  for (int i = 0; i < C; ++i) r.v[i] = mask.m[i] ? yes.v[i] : no.v[i];
  return r;
}

/// 2 to the power of k, k whole and within -1022 to 1023: k is added to the low bits of a large
/// double and moved into the exponent.
inline double power_of_two(double k) {
  auto bits = std::bit_cast<std::int64_t>(k + 6755399441055744.0);
  return std::bit_cast<double>((bits + 1023) << 52);
}
template <int W, int C>
inline Pack<W, C> power_of_two(const Pack<W, C>& k) {
  using Bits = typename Pack<W, C>::Bits;
  using Vector = typename Pack<W, C>::Vector;
  Pack<W, C> r;
  for (int i = 0; i < C; ++i)
    r.v[i] = std::bit_cast<Vector>((std::bit_cast<Bits>(k.v[i] + 6755399441055744.0) + 1023) << 52);
  return r;
}

/// A positive, normal x as mantissa (1 to 2) and exponent: x = mantissa × 2^exponent.
inline double mantissa_of(double x, double& exponent) {
  auto bits = std::bit_cast<std::int64_t>(x);
  exponent = static_cast<double>(bits >> 52) - 1023.0;
  return std::bit_cast<double>((bits & 0xfffffffffffff) | 0x3ff0000000000000);
}
template <int W, int C>
inline Pack<W, C> mantissa_of(const Pack<W, C>& x, Pack<W, C>& exponent) {
  using Bits = typename Pack<W, C>::Bits;
  using Vector = typename Pack<W, C>::Vector;
  Pack<W, C> r;
  for (int i = 0; i < C; ++i) {
    Bits bits = std::bit_cast<Bits>(x.v[i]);
    // The exponent's whole number rides in the low bits of 1.5 × 2^52.
    exponent.v[i] = std::bit_cast<Vector>((bits >> 52) + 0x4338000000000000) - 6755399441056767.0;
    r.v[i] = std::bit_cast<Vector>((bits & 0xfffffffffffff) | 0x3ff0000000000000);
  }
  return r;
}

/// The whole number nearest to x, of two the even one, in plain additions; |x| < 2^51. Larger ones are
/// whole for every purpose here.
inline double nearest_whole(double x) { return (x + 6755399441055744.0) - 6755399441055744.0; }
template <int W, int C>
inline Pack<W, C> nearest_whole(const Pack<W, C>& x) {
  return (x + 6755399441055744.0) - 6755399441055744.0;
}

/// The largest whole number not above x, likewise.
inline double plain_floor(double x) {
  const double nearest = nearest_whole(x);
  return nearest > x ? nearest - 1.0 : nearest;
}
template <int W, int C>
inline Pack<W, C> plain_floor(const Pack<W, C>& x) {
  const Pack<W, C> nearest = nearest_whole(x);
  return choose(nearest > x, nearest - 1.0, nearest);
}

template <int W, int C>
inline Pack<W, C> abs(const Pack<W, C>& x) {
  using Bits = typename Pack<W, C>::Bits;
  using Vector = typename Pack<W, C>::Vector;
  Pack<W, C> r;
  for (int i = 0; i < C; ++i) r.v[i] = std::bit_cast<Vector>(std::bit_cast<Bits>(x.v[i]) & 0x7fffffffffffffff);
  return r;
}

}  // namespace buttonworth
