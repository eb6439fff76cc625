// Figures as answers carry them.
#pragma once

#include <string>

#include "quantity/arithmetic.hpp"

namespace buttonworth {

template <class N>
std::string money_text(const N& amount) {
  return to_text(amount, money_digits);
}
template <class N>
std::string figure_text(const N& value, const char* unit) {
  return to_text(value) + unit;
}
template <class N>
std::string kilograms_text(const N& mass) {
  return figure_text(mass, " kg");
}
template <class N>
std::string grams_text(const N& mass) {
  return figure_text(N(mass * N(1000)), " g");
}
template <class N>
std::string days_text(const N& day) {
  return to_text(day);
}

/// The word of an enumeration's value, of a list in its order.
template <class E>
const char* word(const auto& words, E value) {
  return words[static_cast<std::size_t>(value)];
}

}  // namespace buttonworth
