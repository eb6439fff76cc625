// The walk of a route: a stream goes through steps and ends in a sale, a return or the shed.
// One template for all arithmetics and any record.
#pragma once

#include "process/cut.hpp"
#include "route/prepared.hpp"

namespace buttonworth {

/// Cuts that were found before: by visit, none where the walk is to solve it itself.
template <class N>
using HeldCuts = Few<std::optional<N>, 4>;

/// What one node of a route does with the stream that comes to it.
template <class N, class Record>
class NodeWork {
 public:
  NodeWork(const Prepared<N>& prepared, Record& record)
      : prepared_(prepared), plan_(*prepared.plan), s_(prepared.scenario), record_(record) {}

  /// The step's outputs; of a table at the pull that is held, or solved for where none is.
  Outputs<N> outputs(const Worked& worked, const Stream<N>& feed, const std::optional<N>& held) {
    const Step& step = plan_.steps[worked.step];
    return std::visit([&](const auto& kind) { return run(step, kind, worked, feed, held); }, step.kind);
  }

  void end(const SoldTo& sold, const Stream<N>& stream) {
    const Terms& terms = plan_.terms[sold.terms];
    if constexpr (Record::keeps_lines) record_.note_untested(plan_, terms);
    sell(terms, std::span<const Levy>(plan_.levies), plan_.prices, plan_.analytes, stream, s_, record_);
  }

  /// Credits a share of the contained metal at market price.
  void end(const Returned& returned, const Stream<N>& stream) {
    const N day = stream.day + s_[returned.after];
    const N discount = stream.discount * s_.discount(returned.after);
    for (const auto& [analyte, share] : returned.shares) {
      const Quantity price = *plan_.prices[analyte];
      const N amount = stream.content[analyte] * s_[share] * s_[price];
      record_.line({LineKind::credit, nullptr, &plan_.analytes[analyte]}, amount, day,
                   [&, a = analyte, part = share](const auto& say) {
                     return say.mass(stream.content[a]) + " × " + say.of(part) + " × " + say.of(price);
                   });
      record_.credit(amount, day, discount);
    }
    if constexpr (Record::keeps_lines) add_to(record_.metal.returned, stream.content);
  }

  void end(const Kept&, const Stream<N>& stream) {
    if constexpr (Record::keeps_lines) add_to(record_.metal.kept, stream.content);
  }

  /// A stream that the route says nothing of.
  void missing(const Mask<N>& some) {
    record_.impossible(some, [](const auto&) {
      return Error(Code::missing_field, "the route says nothing of an output that the step does make");
    });
  }

 private:
  N solved(const Worked& worked, const Table& table, const TableCurves<N>& curves, const Stream<N>& feed) {
    if constexpr (Scalar<N>)
      return solve_cut(plan_.steps[worked.step].basics, table, curves, feed, s_,
                       plan_.analytes[table.cut.of]);
    else return record_.solve(plan_, worked.step, table, curves, feed, s_);
  }
  Outputs<N> run(const Step& step, const Table& table, const Worked& worked, const Stream<N>& feed,
                 const std::optional<N>& held) {
    const TableCurves<N>& curves = prepared_.curves[worked.step];
    const N pull = held ? *held : solved(worked, table, curves, feed);
    if constexpr (Record::keeps_lines) record_.note_cut(worked.visit, pull);
    Outputs<N> outputs = run_table(step.basics, table, curves, feed, pull, plan_.day, s_, record_);
    // A record may ask what else a table could have made.
    if constexpr (requires { record_.after_table(worked.visit, outputs); })
      record_.after_table(worked.visit, outputs);
    return outputs;
  }
  Outputs<N> run(const Step& step, const Split& split, const Worked&, const Stream<N>& feed,
                 const std::optional<N>&) {
    return run_split(step.basics, split, feed, plan_.day, s_, record_);
  }
  Outputs<N> run(const Step& step, const Dry& dry, const Worked&, const Stream<N>& feed,
                 const std::optional<N>&) {
    return run_dry(step.basics, dry, feed, plan_.day, s_, record_);
  }
  Outputs<N> run(const Step& step, const Melt& melt, const Worked&, const Stream<N>& feed,
                 const std::optional<N>&) {
    return run_melt(step.basics, melt, feed, plan_.day, s_, record_);
  }

  const Prepared<N>& prepared_;
  const Plan& plan_;
  const Scenario<N>& s_;
  Record& record_;
};

template <class N, class Record>
class Walk {
 public:
  Walk(const Prepared<N>& prepared, const HeldCuts<N>& held, Record& record)
      : prepared_(prepared), plan_(*prepared.plan), held_(held), record_(record), work_(prepared, record) {}

  void route(const Route& route) {
    if constexpr (Record::keeps_lines) {
      add_to(record_.metal.fed, prepared_.lot.content);
      for (const Stream<N>& pieces : prepared_.apart) add_to(record_.metal.fed, pieces.content);
    }
    if (plan_.lot.credited) record_.credit(N(-prepared_.scenario[*plan_.lot.credited]), N(0), N(1));
    each_way(route, [](const Way&) { return true; });
  }

  /// Only what depends on the cuts that are searched: all that a search has to compare.
  void searched_ways(const Route& route) {
    each_way(route, [](const Way& way) { return way.searched; });
  }

 private:
  using Path = Few<std::size_t, 16>;  // steps gone through

  template <class Taken>
  void each_way(const Route& route, Taken taken) {
    if (taken(route.lot)) follow(route.lot.node.get(), prepared_.lot, {});
    for (std::size_t i = 0; i < route.apart.size(); ++i)
      if (taken(route.apart[i])) follow(route.apart[i].node.get(), prepared_.apart[i], {});
  }

  /// Only a ledger asks where a stream has been.
  static Path with(const Path& path, std::size_t step) {
    Path further;
    if constexpr (Record::keeps_lines) {
      further = path;
      further.push_back(step);
    }
    return further;
  }

  /// An output of 0 kg is neither worked, tested, sold nor listed.
  void follow(const Node* node, const Stream<N>& stream, const Path& path) {
    const auto some = stream.dry > N(0);
    if (!any(some)) return;
    if (node == nullptr) return work_.missing(some);
    if constexpr (Scalar<N>) {
      go(*node, stream, path);
    } else {
      const auto outer = record_.live;
      record_.live = both(outer, some);
      go(*node, stream, path);
      record_.live = outer;
    }
  }

  void go(const Node& node, const Stream<N>& stream, const Path& path) {
    std::visit([&](const auto& what) { end_or_work(what, stream, path); }, node.what);
  }

  void end_or_work(const Worked& worked, const Stream<N>& feed, const Path& path) {
    if constexpr (Record::keeps_lines)
      record_.enter(plan_, plan_.steps[worked.step], feed, path, worked.step);
    const Outputs<N> outputs = work_.outputs(worked, feed, held(worked));
    for (std::size_t i = 0; i < outputs.size(); ++i)
      follow(worked.outputs[i].get(), outputs[i], with(path, worked.step));
  }
  /// What is no table has visit 0 too, and makes nothing of what it is given.
  const std::optional<N>& held(const Worked& worked) const {
    static const std::optional<N> none;
    return worked.visit < held_.size() ? held_[worked.visit] : none;
  }
  template <class End>
  void end_or_work(const End& end, const Stream<N>& stream, const Path&) {
    work_.end(end, stream);
  }

  const Prepared<N>& prepared_;
  const Plan& plan_;
  const HeldCuts<N>& held_;
  Record& record_;
  NodeWork<N, Record> work_;
};

}  // namespace buttonworth
