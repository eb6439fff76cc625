// The ledger of a route, which a walk reports to.
#pragma once

#include <algorithm>

#include "material/caution.hpp"
#include "material/mineral.hpp"
#include "route/walk.hpp"

namespace buttonworth {

/// The ledger of one route, with what a person must be told about the way.
template <Scalar N>
struct RouteLedger : Ledger<N> {
  using Ledger<N>::Ledger;

  std::vector<Caution> cautions;
  std::vector<HeatVisit> heat_visits;
  std::vector<Analyte> untested;
  std::vector<std::optional<N>> pulls;  ///< by visit; none of a table that no mass came to

  void note_cut(std::size_t visit, const N& pull) {
    if (pulls.size() <= visit) pulls.resize(visit + 1);
    pulls[visit] = pull;
  }

  template <class Path>
  void enter(const Plan& plan, const Step& step, const Stream<N>& feed, const Path& path, std::size_t index) {
    if (std::count(path.begin(), path.end(), index) == 1)  // told once a way
      cautions.push_back(
          {step.basics.name, "Met twice on one way: each pass wants its own curve and rates."});
    const HotWork work = hot_work(step);
    if (work.heat) heat_visits.push_back({&step.basics.name, work, dangers_of(plan.hazards, feed)});
  }

  void note_untested(const Plan& plan, const Terms& terms) {
    for (Analyte a : terms.untested) {
      untested.push_back(a);
      std::string reason =
          terms.name + ": limits " + plan.analytes[a] + ", which nobody tested here; it counts as 0";
      if (std::find(this->conditional.begin(), this->conditional.end(), reason) == this->conditional.end())
        this->conditional.push_back(std::move(reason));
    }
  }

 private:
  static HotWork hot_work(const Step& step) {
    HotWork work;
    if (std::get_if<Dry>(&step.kind) != nullptr) work.heat = work.dust = true;
    if (auto* melt = std::get_if<Melt>(&step.kind)) {
      work.heat = work.melts = true;
      for (const FluxDose& flux : melt->flux) work.nitrate |= is_nitrate(flux.reagent);
    }
    return work;
  }
};

}  // namespace buttonworth
