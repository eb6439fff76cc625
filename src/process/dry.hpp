// Drying in a pan or an oven.
#pragma once

#include <optional>

#include "process/step.hpp"

namespace buttonworth {

struct Dry {
  Quantity to;                   ///< target moisture
  Quantity dust;                 ///< share of the dry solids lost from the dried output
  Quantity ambient;              ///< degC
  Quantity efficiency;           ///< share of the heat that reaches the charge
  std::optional<Quantity> heat;  ///< kWh in a litre of fuel
};

/// Heat of evaporation of water at 100 degC and specific heats of water and of dry solids.
/// Source: the format's constants; steam tables print 2256.4 kJ/kg at 100 degC.
template <class N>
struct DryingConstants {
  N latent = number<N>(Decimal("2256.4"));     // kJ/kg
  N water_heat = number<N>(Decimal("4.19"));   // kJ/(kg K)
  N solids_heat = number<N>(Decimal("0.75"));  // kJ/(kg K)
  N kwh = number<N>(Decimal(1) / 3600);        // kWh per kJ
};

/// kWh to take a feed from ambient to 100 degC and evaporate so much of its water.
template <class N>
N drying_energy(const Dry& dry, const Stream<N>& feed, const N& evaporated, const Scenario<N>& s) {
  static const DryingConstants<N> c;
  const N rise = N(100) - s[dry.ambient];
  const N left = feed.water - evaporated;
  const N kilojoules = evaporated * (c.latent + c.water_heat * rise) + feed.dry * c.solids_heat * rise +
                       left * c.water_heat * rise;
  return N(kilojoules * c.kwh * s.per(dry.efficiency));
}

template <class N, class Record>
Outputs<N> run_dry(const StepBasics& step, const Dry& dry, const Stream<N>& feed, Quantity day,
                   const Scenario<N>& s, Record& record) {
  const N target = water_at(feed.dry, s[dry.to]);
  const auto dry_already = at_most(feed.water, target);
  const N left = choose(dry_already, feed.water, target);

  Work<N> work;
  work.at = &step.name;
  work.feed = feed.dry;
  work.hours = hours_at_rate(step, feed.dry, s);
  work.energy = choose(dry_already, N(0), drying_energy(dry, feed, N(feed.water - left), s));
  if (dry.heat) work.fuel = *work.energy * s.per(*dry.heat);
  pay_costs(step, feed, work, s, record);

  Outputs<N> outputs(1, ready_output(step, feed, work.hours, day, s, feed.kind));
  Stream<N>& dried = outputs[0];
  const N& dust = s[dry.dust];
  const N stays = N(1) - dust;
  dried.dry = feed.dry * stays;
  dried.water = left * stays;
  for (std::size_t a = 0; a < feed.content.size(); ++a) dried.content[a] = feed.content[a] * stays;
  if constexpr (Record::keeps_lines) {
    Contents<N> lost(feed.content);
    for (std::size_t a = 0; a < lost.size(); ++a) lost[a] -= dried.content[a];
    record.metal.lose(step.name, "dust", lost);
  }
  note_work(record, std::move(work));
  return outputs;
}

}  // namespace buttonworth
