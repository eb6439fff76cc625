// Movements of cash as days on which money moves.
#pragma once

#include <algorithm>

#include "route/compare.hpp"

namespace buttonworth {

/// By rising day; a day on which as much goes out as comes in is none.
template <class N>
std::vector<CashDay<N>> cash_by_day(const std::vector<Movement<N>>& movements) {
  std::vector<const Movement<N>*> sorted;
  sorted.reserve(movements.size());
  for (const Movement<N>& one : movements) sorted.push_back(&one);
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const Movement<N>* a, const Movement<N>* b) { return a->day < b->day; });
  std::vector<CashDay<N>> days;
  N total(0);
  for (std::size_t i = 0; i < sorted.size();) {
    const N& day = sorted[i]->day;
    N in(0), out(0);
    for (; i < sorted.size() && same(sorted[i]->day, day); ++i) {
      in += not_negative(sorted[i]->amount);
      out += not_negative(N(-sorted[i]->amount));
    }
    if (same(in, out)) continue;  // what comes in goes out again: no money moves
    total += in - out;
    days.push_back({day, N(in - out), total});
  }
  return days;
}

}  // namespace buttonworth
