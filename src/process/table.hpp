// A shaking table: concentrate, middlings and tailings at a cut.
#pragma once

#include <algorithm>
#include <array>
#include <optional>
#include <variant>

#include "process/curve.hpp"
#include "process/step.hpp"

namespace buttonworth {

/// Goes as another analyte does, or as the gangue.
struct GoesAs {
  std::optional<Analyte> analyte;  ///< none: the gangue
};

struct AnalyteCurve {
  Analyte analyte;
  std::variant<PointCurve, OddsCurve, LogitCurve, SaturatingCurve, GoesAs> curve;
  std::optional<Quantity> limit;  ///< grade of the mineral: no concentrate is richer
};

/// Where the table is cut: the share of the dry feed taken as concentrate.
struct Cut {
  enum class How { pull, grade, recovery, best };
  How how = How::pull;
  Quantity target;  ///< pull, grade or recovery
  Analyte of = 0;   ///< the analyte of a grade or recovery
};

struct Table {
  std::vector<AnalyteCurve> curves;
  Cut cut;
  std::optional<std::pair<Quantity, Quantity>> search;  ///< pulls between which a best cut looks
  Quantity middlings;                                   ///< further pull taken as middlings
  std::array<Quantity, 3> moistures;                    ///< of concentrate, middlings, tailings
};

/// The table's own curves prepared for one scenario, in the order of `Table::curves`; an analyte
/// that goes as another has none.
template <class N>
using TableCurves = std::vector<std::optional<RecoveryCurve<N>>>;

/// Prepares the curves of a plan's tables. The same table at several cuts is several steps whose curves
/// are stated again: these are worked out once.
template <class N>
class CurveMaker {
 public:
  explicit CurveMaker(const Scenario<N>& s) : s_(s) {}

  TableCurves<N> prepare(const Table& table) {
    TableCurves<N> curves;
    for (const AnalyteCurve& entry : table.curves) {
      auto& made = curves.emplace_back();
      std::visit(
          [&]<class C>(const C& curve) {
            if constexpr (std::same_as<C, PointCurve>) made = prepared(curve);
            else if constexpr (!std::same_as<C, GoesAs>) made.emplace(curve, s_);
          },
          entry.curve);
    }
    return curves;
  }

 private:
  RecoveryCurve<N> prepared(const PointCurve& curve) {
    if constexpr (Scalar<N>)
      for (const auto& [other, made] : known_)
        if (equal(*other, curve)) return made;
    return known_.emplace_back(&curve, RecoveryCurve<N>(curve, s_)).second;
  }
  bool equal(const PointCurve& a, const PointCurve& b) const {
    return std::equal(a.points.begin(), a.points.end(), b.points.begin(), b.points.end(),
                      [&](const auto& x, const auto& y) {
                        return s_[x.pull] == s_[y.pull] && s_[x.recovery] == s_[y.recovery];
                      });
  }

  const Scenario<N>& s_;
  std::vector<std::pair<const PointCurve*, RecoveryCurve<N>>> known_;
};

/// What the first share y of the feed's dry mass carries.
template <class N>
struct Pulled {
  N mass;
  Contents<N> content;
  N gangue_share;  ///< q: of the gangue, and of whatever goes as it
};

/// Refuses curves that ask for more metal than the pull's mass, or leave more than the rest's.
template <class N, class Record>
void require_room(const StepBasics& step, const Pulled<N>& pulled, const Few<bool, 16>& curved,
                  const Mask<N>& too_rich, const Mask<N>& left_too_rich, const N& y, Record& record) {
  record.impossible(either(too_rich, left_too_rich), [&](const auto& say) {
    if (!any(too_rich))
      return Error(Code::curve, "step " + step.name +
                                    ": the curves leave more metal than mass at a pull of " + say.percent(y) +
                                    ": pull less");
    std::size_t most_of = 0;
    for (std::size_t a = 1; a < curved.size(); ++a)
      if (curved[a] && any(pulled.content[a] > pulled.content[most_of])) most_of = a;
    return Error(Code::curve,
                 "step " + step.name +
                     ": the curves ask for more metal than the mass pulled allows at a pull of " +
                     say.percent(y) + ", most of it " + say.analyte(most_of) +
                     ": lower the recoveries, state a limit, or pull more");
  });
}

/// The cumulative pull at y. With M the dry feed and C the contents, the curved analytes take R C,
/// lowered to y M limit where the mineral is no richer, and the gangue the rest of the mass:
/// q = (y M − Σ R C) ÷ (M − Σ C); q = y where M = Σ C.
template <class N, class Record>
Pulled<N> pull_from(const StepBasics& step, const Table& table, const TableCurves<N>& curves,
                    const Stream<N>& feed, const N& y, const Scenario<N>& s, Record& record) {
  const std::size_t analytes = feed.content.size();
  Pulled<N> pulled{N(y * feed.dry), Contents<N>(analytes, N(0)), y};
  Contents<N> recovery(analytes, N(0));
  N curved_fed(0), curved_pulled(0);
  Few<bool, 16> curved(analytes, false);
  auto take = [&](Analyte a, const N& share) {
    recovery[a] = share;
    pulled.content[a] = share * feed.content[a];
    curved[a] = true;
    curved_fed += feed.content[a];
    curved_pulled += pulled.content[a];
  };
  for (std::size_t i = 0; i < curves.size(); ++i) {
    if (!curves[i]) continue;
    const AnalyteCurve& entry = table.curves[i];
    N share = curves[i]->at(y);
    if (entry.limit) {
      const N cap = pulled.mass * s[*entry.limit];
      share =
          choose(share * feed.content[entry.analyte] > cap, ratio(cap, feed.content[entry.analyte]), share);
    }
    take(entry.analyte, share);
  }
  for (const AnalyteCurve& entry : table.curves)
    if (auto* as = std::get_if<GoesAs>(&entry.curve); as != nullptr && as->analyte)
      take(entry.analyte, N(recovery[*as->analyte]));

  const N rest_fed = feed.dry - curved_fed;
  const N rest_pulled = pulled.mass - curved_pulled;
  const auto all_curved = same(feed.dry, curved_fed);
  const auto left_too_rich = both(no(all_curved), above(rest_pulled, rest_fed));
  require_room(step, pulled, curved, above(curved_pulled, pulled.mass), left_too_rich, y, record);
  pulled.gangue_share = choose(all_curved, y, ratio(rest_pulled, rest_fed));
  for (std::size_t a = 0; a < analytes; ++a)
    if (!curved[a]) pulled.content[a] = feed.content[a] * pulled.gangue_share;
  return pulled;
}

/// What was pulled up to the cut, what beyond it, and what is left.
template <class N>
void part(const Stream<N>& feed, const Pulled<N>& first, const Pulled<N>& second, Outputs<N>& outputs) {
  outputs[0].dry = first.mass;
  outputs[0].content = first.content;
  outputs[1].dry = second.mass - first.mass;
  outputs[2].dry = remainder_of(feed.dry, second.mass);
  const auto all_pulled = same(feed.dry, second.mass);
  for (std::size_t a = 0; a < feed.content.size(); ++a) {
    outputs[1].content[a] = content_left(second.content[a], first.content[a]);
    // A pull of the whole by an edge's width takes all of each analyte.
    const N left = content_left(feed.content[a], second.content[a]);
    outputs[0].content[a] += choose(all_pulled, left, N(0));
    outputs[2].content[a] = choose(all_pulled, N(0), left);
  }
}

/// Concentrate, middlings and tailings of a feed cut at `pull`.
template <class N, class Record>
Outputs<N> run_table(const StepBasics& step, const Table& table, const TableCurves<N>& curves,
                     const Stream<N>& feed, const N& pull, Quantity day, const Scenario<N>& s,
                     Record& record) {
  Work<N> work;
  work.at = &step.name;
  work.feed = feed.dry;
  work.hours = hours_at_rate(step, feed.dry, s);
  pay_costs(step, feed, work, s, record);

  const N& further = s[table.middlings];
  const auto with_middlings = further > N(0);
  record.impossible(either(above(pull, N(1)), both(with_middlings, at_least(N(pull + further), N(1)))),
                    [&](const auto& say) {
                      return Error(Code::range, "step " + step.name + ": a pull of " + say.percent(pull) +
                                                    " and the middlings together must stay below 100 %");
                    });
  const Pulled<N> first = pull_from(step, table, curves, feed, pull, s, record);
  Pulled<N> second = first;
  if (any(with_middlings)) {
    second = pull_from(step, table, curves, feed, N(pull + further), s, record);
    record.impossible(above(N(first.gangue_share + N(1)), N(second.gangue_share + N(1))), [&](const auto&) {
      return Error(Code::curve,
                   "step " + step.name +
                       ": the curves ask for more metal in the middlings than their mass allows: take "
                       "fewer middlings or lower the recoveries beyond the cut");
    });
  }

  Outputs<N> outputs(3, ready_output(step, feed, work.hours, day, s, StreamKind::concentrate));
  part(feed, first, second, outputs);
  for (std::size_t i = 0; i < 3; ++i) outputs[i].water = water_at(outputs[i].dry, s[table.moistures[i]]);
  if constexpr (Record::keeps_lines) record.cuts.push_back({&step.name, pull});
  note_work(record, std::move(work));
  return outputs;
}

}  // namespace buttonworth
