// Melting with flux to a bar and a slag.
#pragma once

#include <optional>

#include "process/step.hpp"

namespace buttonworth {

struct MeltShare {
  Analyte analyte;
  Quantity share;  ///< share of the content, or for the slag a grade
};

struct FluxDose {
  std::string reagent;
  Quantity dose;                  ///< kg per kg
  bool of_gangue = false;         ///< per dry charge less what to_bar and to_fume take, not per charge
  std::optional<Quantity> price;  ///< money/kg
  Quantity stays;                 ///< share that stays in the slag
};

struct Crucible {
  Quantity volume, fill, density;
};

struct Melt {
  std::vector<MeltShare> to_bar, to_fume, slag_grade;
  std::vector<FluxDose> flux;
  std::optional<Crucible> crucible;
  std::optional<Quantity> per_melt;  ///< time of one melt
  Quantity dry_below;                ///< moisture above which no charge goes into the furnace
};

/// What a charge becomes; kilograms.
template <class N>
struct MeltBalance {
  Contents<N> bar, fume;
  N bar_mass = N(0), slag_mass = N(0), flux_mass = N(0);
  Few<N, 6> doses;  ///< in the order of the flux

  explicit MeltBalance(std::size_t analytes) : bar(analytes, N(0)), fume(analytes, N(0)) {}
};

/// Flux by dose; `gangue` is the charge less what goes to bar and fume by their shares.
template <class N>
N add_flux(const Melt& melt, const N& charge, const N& gangue, const Scenario<N>& s, MeltBalance<N>& out) {
  N stays(0);
  for (const FluxDose& flux : melt.flux) {
    const N mass = s[flux.dose] * (flux.of_gangue ? gangue : charge);
    out.doses.push_back(mass);
    out.flux_mass += mass;
    stays += mass * s[flux.stays];
  }
  return stays;
}

/// Fume and bar by shares of the content; what they take together.
template <class N, class Record>
N send_by_shares(const StepBasics& step, const Melt& melt, const Stream<N>& feed, const Scenario<N>& s,
                 MeltBalance<N>& out, Record& record) {
  N sent(0);
  for (const MeltShare& fume : melt.to_fume) {
    out.fume[fume.analyte] = feed.content[fume.analyte] * s[fume.share];
    sent += out.fume[fume.analyte];
  }
  for (const MeltShare& bar : melt.to_bar) {
    out.bar[bar.analyte] = feed.content[bar.analyte] * s[bar.share];
    sent += out.bar[bar.analyte];
    record.impossible(above(N(out.bar[bar.analyte] + out.fume[bar.analyte]), feed.content[bar.analyte]),
                      [&](const auto& say) {
                        return Error(Code::melt, "step " + step.name + " sends more than 100 % of the " +
                                                     say.analyte(bar.analyte) + " to bar and fume");
                      });
  }
  return sent;
}

/// The bar holds of each metal what a slag of its grade leaves.
template <class N, class Record>
void pour_what_slag_leaves(const StepBasics& step, const Melt& melt, const Stream<N>& feed,
                           const Scenario<N>& s, MeltBalance<N>& out, Record& record) {
  for (const MeltShare& metal : melt.slag_grade) {
    const N& fed = feed.content[metal.analyte];
    const N not_fume = fed - out.fume[metal.analyte];
    const N in_slag = out.slag_mass * s[metal.share];
    out.bar[metal.analyte] = content_left(not_fume, in_slag);
    record.impossible(both(fed > N(0), above(in_slag, not_fume)), [&](const auto& say) {
      return Error(Code::melt, "step " + step.name + ": the slag at its stated grade would hold more " +
                                   say.analyte(metal.analyte) +
                                   " than the charge: lower slag_grade or the flux, or melt a richer charge");
    });
  }
}

/// Slag = charge − bar − fume + what stays of the flux. A metal with a slag grade leaves
/// content − fume − slag × grade in the bar, so with A the slag were all of those metals in the bar,
/// slag = A ÷ (1 − Σ grades), over the metals the charge has.
template <class N, class Record>
MeltBalance<N> balance_melt(const StepBasics& step, const Melt& melt, const Stream<N>& feed,
                            const Scenario<N>& s, Record& record) {
  MeltBalance<N> out(feed.content.size());
  const N sent = send_by_shares(step, melt, feed, s, out, record);
  const N gangue = feed.dry - sent;
  const N flux_stays = add_flux(melt, feed.dry, gangue, s, out);
  N all_in_bar(0), grades(0);
  for (const MeltShare& metal : melt.slag_grade) {
    all_in_bar += feed.content[metal.analyte] - out.fume[metal.analyte];
    grades += choose(feed.content[metal.analyte] > N(0), s[metal.share], N(0));
  }
  const auto all_slag = at_least(grades, N(1));
  record.impossible(all_slag, [&](const auto&) {
    return Error(Code::melt, "step " + step.name + ": the grades of slag_grade add up to 100 % or more");
  });
  out.slag_mass = (gangue + flux_stays - all_in_bar) / choose(all_slag, N(1), N(N(1) - grades));
  pour_what_slag_leaves(step, melt, feed, s, out, record);
  for (const N& one : out.bar) out.bar_mass += one;
  record.impossible(out.bar_mass <= N(0), [&](const auto&) {
    return Error(Code::melt, "step " + step.name +
                                 " would pour a bar with no metal: nothing that to_bar or "
                                 "slag_grade names goes from the charge to the bar");
  });
  record.impossible(above(N(sent + all_in_bar), N(feed.dry + flux_stays)), [&](const auto&) {
    return Error(Code::melt, "step " + step.name + " would make less than no slag");
  });
  // What rounding leaves of a charge that all goes to bar and fume is no slag.
  out.slag_mass = choose(out.slag_mass <= feed.dry * rounding_residue<N>(), N(0), out.slag_mass);
  return out;
}

/// Crucibles filled, ⌈charge with flux ÷ density ÷ (volume × fill)⌉; 1 without a crucible.
template <class N>
N melts_needed(const Melt& melt, const N& charge_with_flux, const Scenario<N>& s) {
  if (!melt.crucible) return N(1);
  const Crucible& c = *melt.crucible;
  return ceiling(N(charge_with_flux * s.per(c.density) * s.per(c.volume) * s.per(c.fill)));
}

template <class N, class Record>
void pay_flux(const StepBasics& step, const Melt& melt, const Stream<N>& feed, const MeltBalance<N>& balance,
              const Scenario<N>& s, Record& record) {
  for (std::size_t i = 0; i < melt.flux.size(); ++i) {
    const FluxDose& flux = melt.flux[i];
    if (!flux.price) continue;
    const N& mass = balance.doses[i];
    pay(record, {LineKind::reagent, &step.name, &flux.reagent}, N(-mass * s[*flux.price]), feed,
        [&](const auto& say) { return say.mass(mass) + " × " + say.of(*flux.price); });
  }
}

/// Bar and slag of a charge that is dry.
template <class N, class Record>
Outputs<N> melt_dry(const StepBasics& step, const Melt& melt, const Stream<N>& feed, Quantity day,
                    const Scenario<N>& s, Record& record) {
  MeltBalance<N> balance = balance_melt(step, melt, feed, s, record);
  Work<N> work;
  work.at = &step.name;
  work.feed = feed.dry;
  work.melts = melts_needed(melt, N(feed.dry + balance.flux_mass), s);
  work.hours = melt.per_melt ? N(*work.melts * s[*melt.per_melt] * N(24)) : hours_at_rate(step, feed.dry, s);
  pay_costs(step, feed, work, s, record);
  pay_flux(step, melt, feed, balance, s, record);

  Outputs<N> outputs(2, ready_output(step, feed, work.hours, day, s, StreamKind::bar));
  outputs[1].kind = StreamKind::slag;
  outputs[0].dry = balance.bar_mass;
  outputs[0].content = balance.bar;
  outputs[1].dry = balance.slag_mass;
  for (std::size_t a = 0; a < feed.content.size(); ++a)
    outputs[1].content[a] = content_left(feed.content[a], N(balance.bar[a] + balance.fume[a]));
  if constexpr (Record::keeps_lines) {
    record.metal.lose(step.name, "fume", balance.fume);
    for (std::size_t i = 0; i < melt.flux.size(); ++i) work.add_flux(melt.flux[i].reagent, balance.doses[i]);
  }
  note_work(record, std::move(work));
  return outputs;
}

/// Bar and slag; no outputs where the charge is too wet to melt and the route is refused.
template <class N, class Record>
Outputs<N> run_melt(const StepBasics& step, const Melt& melt, const Stream<N>& feed, Quantity day,
                    const Scenario<N>& s, Record& record) {
  const auto wet = above(feed.moisture(), s[melt.dry_below]);
  record.refuse(wet, [&](const auto& say) {
    return "step " + step.name + ": the charge holds " + say.percent(feed.moisture()) +
           " moisture, more than " + say.percent(s[melt.dry_below]) +
           ": trapped water flashes to steam; dry it first";
  });
  if constexpr (Scalar<N>) {
    return wet ? Outputs<N>() : melt_dry(step, melt, feed, day, s, record);
  } else {
    const auto outer = record.live;
    record.live = both(outer, no(wet));
    Outputs<N> outputs = melt_dry(step, melt, feed, day, s, record);
    for (Stream<N>& output : outputs) output.dry = choose(wet, N(0), output.dry);
    record.live = outer;
    return outputs;
  }
}

}  // namespace buttonworth
