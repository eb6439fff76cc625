// Names in a sentence.
#pragma once

#include <string>

namespace buttonworth {

/// "a", "a and b", "a, b, c, d and 14 more": five at most. `name` gives the name of each by its number.
template <class Name>
std::string listed(std::size_t count, const Name& name) {
  constexpr std::size_t most_named = 5;
  const std::size_t named = count > most_named ? most_named - 1 : count;
  std::string text;
  for (std::size_t k = 0; k < named; ++k) {
    if (k > 0) text += k + 1 == count ? " and " : ", ";
    text += name(k);
  }
  return named < count ? text + " and " + std::to_string(count - named) + " more" : text;
}

}  // namespace buttonworth
