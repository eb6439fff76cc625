// Lines of a statement as someone stated them, by their names.
#pragma once

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "quantity/decimal.hpp"

namespace buttonworth {

using NamedAmounts = std::vector<std::pair<std::string, Decimal>>;

/// Finds stated lines by name. Lines of one name are taken in the order they stand in.
class StatedLines {
 public:
  explicit StatedLines(const NamedAmounts& lines) {
    for (const auto& line : lines) left_.push_back(&line);
  }
  /// The first line of this name that was not taken yet, 0 where there is none left.
  Decimal take(const std::string& name) {
    const auto at = std::find_if(left_.begin(), left_.end(), [&](auto line) { return line->first == name; });
    if (at == left_.end()) return 0;
    const Decimal amount = (*at)->second;
    left_.erase(at);
    return amount;
  }
  /// What nobody took.
  const std::vector<const NamedAmounts::value_type*>& left() const { return left_; }

 private:
  std::vector<const NamedAmounts::value_type*> left_;
};

}  // namespace buttonworth
