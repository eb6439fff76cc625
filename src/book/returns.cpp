#include "book/returns.hpp"

#include <algorithm>

namespace buttonworth {
namespace {

template <class T>
T& named(std::vector<T>& list, const std::string& what) {
  for (T& one : list)
    if (one.what == what) return one;
  list.emplace_back().what = what;
  return list.back();
}

}  // namespace

void BuyersReturns::add(const std::string& id, const Reconciliation& lot) {
  ++returns;
  ours += lot.ours;
  theirs += lot.theirs;
  for (const DifferencePart& part : lot.parts) named(parts, part.what).amount += part.amount;
  for (const PayableDifference& one : lot.payable) {
    PayableDifference& sum = named(payable, one.what);
    sum.ours += one.ours;
    sum.theirs += one.theirs;
  }
  for (const FigureDifference& figure : lot.figures) {
    if (!figure.measured) continue;
    FigureOverLots& over = named(figures, figure.what);
    if (figure.ours <= 0 || figure.theirs <= 0) continue;
    over.lots.push_back(id);
    over.log_ratios.push_back(to_double(natural_log(Decimal(figure.theirs / figure.ours))));
    over.steps.push_back(to_double(Decimal(figure.step / figure.ours)));
  }
}

}  // namespace buttonworth
