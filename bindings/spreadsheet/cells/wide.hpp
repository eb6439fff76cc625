// Texts of hosts that keep UTF-16, to UTF-8 and back.
//
// Half a surrogate pair has no UTF-8. It goes out as the three bytes that would be its own, which the core
// refuses as no UTF-8: one stands for each such half, so that no two texts become one. What is not UTF-8
// comes back as U+FFFD.
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <string_view>

namespace cells {

/// The code point at `at`, which moves past it; half of a pair stands for itself.
template <class Unit>
char32_t next_point(std::basic_string_view<Unit> text, std::size_t& at) {
  const char32_t unit = text[at++];
  if (unit < 0xD800 || unit > 0xDBFF || at == text.size()) return unit;
  const char32_t low = text[at];
  if (low < 0xDC00 || low > 0xDFFF) return unit;
  ++at;
  return 0x10000 + ((unit - 0xD800) << 10) + (low - 0xDC00);
}

/// UTF-8 of a UTF-16 text; `Unit` is char16_t, or wchar_t where that has 16 bits.
template <class Unit>
std::string utf8(std::basic_string_view<Unit> text) {
  static_assert(sizeof(Unit) == 2);
  std::string bytes;
  bytes.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const char32_t point = next_point(text, at);
    const auto tail = [&](unsigned shift) { bytes += static_cast<char>(0x80 | ((point >> shift) & 0x3F)); };
    if (point < 0x80) {
      bytes += static_cast<char>(point);
    } else if (point < 0x800) {
      bytes += static_cast<char>(0xC0 | (point >> 6)), tail(0);
    } else if (point < 0x10000) {
      bytes += static_cast<char>(0xE0 | (point >> 12)), tail(6), tail(0);
    } else {
      bytes += static_cast<char>(0xF0 | (point >> 18)), tail(12), tail(6), tail(0);
    }
  }
  return bytes;
}
template <class Unit>
std::string utf8(const std::basic_string<Unit>& text) {
  return utf8(std::basic_string_view<Unit>(text));
}

/// The code point at `at`, which moves past it, or past one byte where there is none.
inline char32_t next_point(std::string_view text, std::size_t& at) {
  constexpr char32_t none = 0xFFFD;
  constexpr std::array<char32_t, 5> least{0, 0, 0x80, 0x800, 0x10000};
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(at++);
  if (first < 0x80) return first;
  const std::size_t size = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC0 || first > 0xF7 || at + size - 1 > text.size()) return none;
  char32_t point = first & (0x7F >> size);
  for (std::size_t i = 0; i + 1 < size; ++i) {
    if ((byte(at + i) & 0xC0) != 0x80) return none;
    point = (point << 6) | (byte(at + i) & 0x3F);
  }
  if (point < least[size] || point > 0x10FFFF || (point >= 0xD800 && point <= 0xDFFF)) return none;
  at += size - 1;
  return point;
}

/// UTF-16 of a UTF-8 text.
template <class Unit>
std::basic_string<Unit> utf16(std::string_view text) {
  static_assert(sizeof(Unit) == 2);
  std::basic_string<Unit> units;
  units.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const char32_t point = next_point(text, at);
    if (point < 0x10000) {
      units += static_cast<Unit>(point);
    } else {
      units += static_cast<Unit>(0xD7C0 + (point >> 10));
      units += static_cast<Unit>(0xDC00 | (point & 0x3FF));
    }
  }
  return units;
}

}  // namespace cells
