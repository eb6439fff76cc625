// Whether a plan would still be read at other values of its quantities.
#pragma once

#include <optional>
#include <string>

#include "route/plan.hpp"

namespace buttonworth {

/// What single fields cannot say of a plan's values: the checks that its reading makes between them.
template <class N>
class Soundness {
 public:
  Soundness(const Plan& plan, const Scenario<N>& s) : plan_(plan), s_(s) {
    part(plan_.lot);
    for (const Pieces& pieces : plan_.lot.apart) assays(pieces.assays, pieces.name);
    for (const Step& step : plan_.steps)
      std::visit([&](const auto& kind) { this->step(kind, step.basics.name); }, step.kind);
    for (const Terms& terms : plan_.terms) this->terms(terms);
  }

  /// Where anything is.
  const Mask<N>& wrong() const { return wrong_; }
  /// What is wrong, or nothing.
  const std::optional<std::string>& fault() const requires Scalar<N> { return fault_; }

 private:
  void blame(const Mask<N>& wrong, const std::string& what) {
    wrong_ = either(wrong_, wrong);
    if constexpr (Scalar<N>)
      if (wrong && !fault_) fault_ = what;
  }
  void assays(const std::vector<AnalyteQuantity>& assays, const std::string& of) {
    N sum(0);
    for (const auto& [analyte, grade] : assays) sum += s_[grade];
    blame(above(sum, N(1)), of + ": the assays add up to more than 100 %");
  }
  void part(const LotPart& part) {
    assays(part.assays, "lot");
    for (const LotPart& inner : part.parts) this->part(inner);
  }

  void step(const Table& table, const std::string& name) {
    for (const AnalyteCurve& entry : table.curves)
      if (auto* curve = std::get_if<PointCurve>(&entry.curve)) points(*curve, name);
    if (table.search)
      blame(s_[table.search->first] > s_[table.search->second],
            "step " + name + ": the first pull of search is above the second");
  }
  void points(const PointCurve& curve, const std::string& name) {
    for (std::size_t i = 0; i < curve.points.size(); ++i) {
      const N &y = s_[curve.points[i].pull], &r = s_[curve.points[i].recovery];
      if (i > 0) blame(y <= s_[curve.points[i - 1].pull], "step " + name + ": pulls do not rise");
      if (i > 0) blame(r < s_[curve.points[i - 1].recovery], "step " + name + ": recoveries fall");
      blame(both(y >= N(1), r < N(1)), "step " + name + ": at a pull of 100 % the recovery is 100 %");
    }
  }
  void step(const Split& split, const std::string& name) {
    N taken(0);
    for (const SplitOutput& output : split.outputs)
      if (output.mass) taken += s_[*output.mass];
    blame(above(taken, N(1)), "step " + name + ": the outputs' shares add up to more than 100 %");
  }
  void step(const Dry& dry, const std::string& name) {
    blame(either(s_[dry.ambient] > N(100), s_[dry.ambient] < N(-90)),
          "step " + name + ": the ambient temperature is outside -90 to 100 degC");
  }
  void step(const Melt& melt, const std::string& name) {
    for (const MeltShare& bar : melt.to_bar)
      for (const MeltShare& fume : melt.to_fume)
        if (bar.analyte == fume.analyte)
          blame(above(N(s_[bar.share] + s_[fume.share]), N(1)),
                "step " + name + ": more than 100 % of " + plan_.analytes[bar.analyte] + " to bar and fume");
    static const N dry_enough = number<N>(Decimal("0.005"));
    blame(above(s_[melt.dry_below], dry_enough), "step " + name + ": dry_below is above 0.5 %");
  }

  template <class Entries, class Start>
  void rising(const Entries& entries, Start start, const std::string& of) {
    for (std::size_t i = 1; i < entries.size(); ++i)
      blame(s_[start(entries[i])] <= s_[start(entries[i - 1])],
            of + ": starts of bands or steps do not rise");
  }
  void terms(const Terms& terms) {
    for (const Payable& pay : terms.pay)
      rising(
          pay.bands, [](const Payable::Band& band) { return band.start; }, terms.name);
    for (const Penalty& penalty : terms.penalties) {
      rising(
          penalty.steps, [](const PenaltyStep& step) { return step.above; }, terms.name);
      rising(
          penalty.bands, [](const PenaltyBand& band) { return band.up_to; }, terms.name);
    }
    if (terms.advance)
      blame(above(s_[terms.advance->after], s_[terms.final_after]),
            terms.name + ": the advance comes after final");
  }

  const Plan& plan_;
  const Scenario<N>& s_;
  Mask<N> wrong_ = Mask<N>(false);
  std::optional<std::string> fault_;
};

}  // namespace buttonworth
