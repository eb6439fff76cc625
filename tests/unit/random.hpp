// Random numbers that are the same on every machine.
#pragma once

#include <charconv>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

namespace buttonworth::test {

class Random {
 public:
  explicit Random(std::uint64_t seed) : engine_(seed) {}

  std::uint64_t next() { return engine_(); }
  double real(double low, double high) {
    return low + (high - low) * (static_cast<double>(next() >> 11) * 0x1.0p-53);
  }
  /// From low to high, both included.
  int whole(int low, int high) {
    return low + static_cast<int>(next() % static_cast<std::uint64_t>(high - low + 1));
  }
  bool chance(double share) { return real(0, 1) < share; }
  template <class T>
  const T& pick(const std::vector<T>& from) {
    return from[next() % from.size()];
  }
  /// A decimal between low and high with so many places, as a document would write it.
  std::string decimal(double low, double high, int places) {
    char text[64];
    auto end = std::to_chars(text, text + sizeof text, real(low, high), std::chars_format::fixed, places);
    return std::string(text, end.ptr);
  }
  std::string quantity(double low, double high, int places, const char* unit) {
    return decimal(low, high, places) + ' ' + unit;
  }
  template <class T>
  void shuffle(std::vector<T>& list) {
    for (std::size_t i = list.size(); i > 1; --i) std::swap(list[i - 1], list[next() % i]);
  }

 private:
  std::mt19937_64 engine_;  // the standard fixes its numbers, not those of its distributions
};

}  // namespace buttonworth::test
