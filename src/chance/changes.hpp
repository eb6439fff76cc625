// What of a prepared plan must be worked out anew when some of its quantities change.
#pragma once

#include <vector>

#include "route/prepared.hpp"

namespace buttonworth {

/// Which parts of a plan depend on a set of its quantities: what no draw changes is worked out once.
struct Changes {
  Changes(const Plan& plan, const std::vector<Quantity>& set);

  std::vector<Quantity> foreign;  ///< stated in another currency, where they or its rate change
  std::vector<std::pair<Quantity, Companion>> companions;
  bool discount_rate = false;
  bool lot = false;
  std::vector<std::size_t> pieces;  ///< by number among the lot's pieces apart
  struct Curve {
    std::size_t step, entry;  ///< among the table's curves
  };
  std::vector<Curve> curves;  ///< of their own

 private:
  void find_companions(const Plan& plan, const std::vector<bool>& changed);
};

/// Works out anew what depends on the changed quantities, whose own values have been put.
/// `own` gives a quantity's value in the currency it is stated in.
template <class N, class Own>
void work_out_changes(const Changes& changes, Prepared<N>& prepared, const Own& own) {
  const Plan& plan = *prepared.plan;
  Scenario<N>& s = prepared.scenario;
  for (const Quantity& q : changes.foreign) {
    const Quantity rate{static_cast<std::uint32_t>(plan.quantities[q].currency_rate)};
    s.put(q, N(own(q) * s[rate]));
  }
  if (changes.discount_rate) s.put_discount_rate(s[plan.discount]);
  for (const auto& [q, companion] : changes.companions) s.refresh(q, companion);
  if (changes.lot) prepared.lot = blend(plan, plan.lot, s);
  for (std::size_t i : changes.pieces) prepared.apart[i] = piece_stream(plan, plan.lot.apart[i], s);
  for (const auto& [step, entry] : changes.curves)
    std::visit(
        [&, to = &prepared.curves[step][entry]]<class C>(const C& curve) {
          if constexpr (!std::same_as<C, GoesAs>) to->emplace(curve, s);
        },
        std::get<Table>(plan.steps[step].kind).curves[entry].curve);
}

}  // namespace buttonworth
