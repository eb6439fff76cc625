#include "chance/changes.hpp"

#include <algorithm>

namespace buttonworth {
namespace {

class Within {
 public:
  explicit Within(const std::vector<bool>& changed) : changed_(changed) {}

  bool operator()(Quantity q) const { return changed_[q.index]; }
  bool operator()(const std::optional<Quantity>& q) const { return q && changed_[q->index]; }
  bool operator()(const std::vector<AnalyteQuantity>& assays) const {
    return std::any_of(assays.begin(), assays.end(), [&](const auto& one) { return (*this)(one.quantity); });
  }
  bool operator()(const LotPart& part) const {
    return (*this)(part.wet_mass) || (*this)(part.moisture) || (*this)(part.assays) ||
           std::any_of(part.parts.begin(), part.parts.end(), *this);
  }
  bool operator()(const Pieces& pieces) const { return (*this)(pieces.mass) || (*this)(pieces.assays); }
  bool operator()(const PointCurve& curve) const {
    return std::any_of(curve.points.begin(), curve.points.end(),
                       [&](const auto& point) { return (*this)(point.pull) || (*this)(point.recovery); });
  }
  bool operator()(const OddsCurve& curve) const { return (*this)(curve.odds); }
  bool operator()(const LogitCurve& curve) const { return (*this)(curve.a) || (*this)(curve.b); }
  bool operator()(const SaturatingCurve& curve) const { return (*this)(curve.limit) || (*this)(curve.rate); }
  bool operator()(const GoesAs&) const { return false; }

 private:
  const std::vector<bool>& changed_;
};

}  // namespace

Changes::Changes(const Plan& plan, const std::vector<Quantity>& set) {
  const QuantityTable& table = plan.quantities;
  std::vector<bool> changed(table.size());
  for (const Quantity& q : set) changed[q.index] = true;
  for (std::uint32_t i = 1; i < table.size(); ++i) {
    const std::int32_t rate = table.at(i).currency_rate;
    if (rate < 0 || !(changed[i] || changed[static_cast<std::size_t>(rate)])) continue;
    changed[i] = true;
    foreign.push_back(Quantity{i});
  }
  find_companions(plan, changed);
  const Within within(changed);
  lot = within(plan.lot);
  for (std::size_t i = 0; i < plan.lot.apart.size(); ++i)
    if (within(plan.lot.apart[i])) pieces.push_back(i);
  for (std::size_t step = 0; step < plan.steps.size(); ++step)
    if (const auto* table = std::get_if<Table>(&plan.steps[step].kind))
      for (std::size_t entry = 0; entry < table->curves.size(); ++entry)
        if (std::visit(within, table->curves[entry].curve)) curves.push_back({step, entry});
}

/// Every delay's discount factor follows the rate of discount.
void Changes::find_companions(const Plan& plan, const std::vector<bool>& changed) {
  discount_rate = changed[plan.discount.index];
  for (std::uint32_t i = 1; i < plan.quantities.size(); ++i) {
    const Companion companion = plan.quantities.at(i).companion;
    const bool follows = changed[i] || (discount_rate && companion == Companion::discount);
    if (follows && companion != Companion::none) companions.emplace_back(Quantity{i}, companion);
  }
}

}  // namespace buttonworth
