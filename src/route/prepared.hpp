// A plan made ready for one arithmetic.
#pragma once

#include "route/plan.hpp"

namespace buttonworth {

template <class N>
Contents<N> contents(const Plan& plan, const N& dry, const std::vector<AnalyteQuantity>& assays,
                     const Scenario<N>& s) {
  Contents<N> content(plan.analytes.size(), N(0));
  for (const auto& [analyte, grade] : assays) content[analyte] = dry * s[grade];
  return content;
}

/// Blends by mass; an analyte missing in a part counts 0 there.
template <class N>
Stream<N> blend(const Plan& plan, const LotPart& part, const Scenario<N>& s) {
  Stream<N> stream;
  if (part.wet_mass) {
    stream.water = s[*part.wet_mass] * s[part.moisture];
    stream.dry = s[*part.wet_mass] - stream.water;
    stream.content = contents(plan, stream.dry, part.assays, s);
    return stream;
  }
  stream.content.assign(plan.analytes.size(), N(0));
  for (const LotPart& one : part.parts) {
    const Stream<N> more = blend(plan, one, s);
    stream.dry += more.dry;
    stream.water += more.water;
    add_to(stream.content, more.content);
  }
  return stream;
}

template <class N>
Stream<N> piece_stream(const Plan& plan, const Pieces& pieces, const Scenario<N>& s) {
  Stream<N> stream;
  stream.kind = StreamKind::piece;
  stream.dry = s[pieces.mass];
  stream.content = contents(plan, stream.dry, pieces.assays, s);
  return stream;
}

/// A plan made ready for one arithmetic: a scenario at the plan's values and what follows from it
/// whatever the route: the lot as it stands, pieces apart, curves.
template <class N>
struct Prepared {
  const Plan* plan;
  Scenario<N> scenario;
  std::vector<TableCurves<N>> curves;  ///< by step, empty where it is no table
  Stream<N> lot;
  std::vector<Stream<N>> apart;

  explicit Prepared(const Plan& plan) : Prepared(plan, Scenario<N>(plan.quantities, plan.discount)) {}
  Prepared(const Plan& plan, Scenario<N> scenario);
};

template <class N>
Prepared<N>::Prepared(const Plan& whole, Scenario<N> numbers)
    : plan(&whole), scenario(std::move(numbers)), lot(blend(whole, whole.lot, scenario)) {
  CurveMaker<N> maker(scenario);
  for (const Step& step : whole.steps) {
    auto* table = std::get_if<Table>(&step.kind);
    curves.push_back(table != nullptr ? maker.prepare(*table) : TableCurves<N>{});
  }
  for (const Pieces& pieces : whole.lot.apart) apart.push_back(piece_stream(whole, pieces, scenario));
}

}  // namespace buttonworth
