// What every step has: a rate, a wait and costs. Each kind of step has a file of its own.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "material/ledger.hpp"

namespace buttonworth {

/// Money for something a step does; the unit of the rate says what it multiplies.
struct Cost {
  std::string what;
  Quantity rate;
  Dimension per = Dimension::per_lot;
  bool wet = false;  ///< money per mass: of wet feed, not of dry
};

struct StepBasics {
  std::string name;
  std::optional<Quantity> rate;  ///< kg of dry feed per hour
  Quantity wait;                 ///< d
  std::vector<Cost> costs;
};

/// Outputs in the order of the step's output names.
template <class N>
using Outputs = Few<Stream<N>, 4>;

template <class N>
inline N hours_at_rate(const StepBasics& step, const N& dry_feed, const Scenario<N>& s) {
  return step.rate ? N(dry_feed * s.per(*step.rate)) : N(0);
}

/// An empty output that is ready at feed's day + hours ÷ working day + wait.
template <class N>
Stream<N> ready_output(const StepBasics& step, const Stream<N>& feed, const N& hours, Quantity day,
                       const Scenario<N>& s, StreamKind kind) {
  static const N days_per_hour = number<N>(Decimal(1) / Decimal(24));
  Stream<N> output;
  output.kind = kind;
  output.content.assign(feed.content.size(), N(0));
  output.day = feed.day + s[step.wait];
  output.discount = feed.discount * s.discount(step.wait);
  if (any((hours > N(0)))) {
    const N worked = hours * days_per_hour * s.per(day);
    output.day += worked;
    output.discount = output.discount * s.discount_over(worked);
  }
  return output;
}

/// What a cost's rate multiplies.
template <class N>
N cost_base(const Cost& cost, const Stream<N>& feed, const Work<N>& work) {
  switch (cost.per) {
    case Dimension::price: return cost.wet ? feed.wet() : feed.dry;
    case Dimension::per_hour: return work.hours;
    case Dimension::per_melt: return *work.melts;
    case Dimension::per_energy: return *work.energy;
    case Dimension::per_volume: return *work.fuel;
    default: return N(1);
  }
}

template <class N>
std::string cost_how(const Cost& cost, const N& base, const Figures<N>& say) {
  switch (cost.per) {
    case Dimension::price: return say.mass(base) + (cost.wet ? " wet" : " dry") + " × " + say.of(cost.rate);
    case Dimension::per_hour: return say.hours(base) + " × " + say.of(cost.rate);
    case Dimension::per_melt: return say.number(base) + " melts × " + say.of(cost.rate);
    case Dimension::per_energy: return say.energy(base) + " × " + say.of(cost.rate);
    case Dimension::per_volume: return say.number(base) + " L × " + say.of(cost.rate);
    default: return "1 lot × " + say.of(cost.rate);
  }
}

/// Costs fall on the feed's day.
template <class N, class Record>
void pay_costs(const StepBasics& step, const Stream<N>& feed, const Work<N>& work, const Scenario<N>& s,
               Record& record) {
  for (const Cost& cost : step.costs) {
    const N base = cost_base(cost, feed, work);
    pay(record, {LineKind::cost, &step.name, &cost.what}, N(-base * s[cost.rate]), feed,
        [&](const auto& say) { return cost_how(cost, base, say); });
  }
}

/// One pass through the step, for the list of the day's work.
template <class N, class Record>
void note_work(Record& record, Work<N>&& work) {
  if constexpr (Record::keeps_lines) record.work.push_back(std::move(work));
}

}  // namespace buttonworth
