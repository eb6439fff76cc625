#include "schedule/shipment.hpp"

#include <algorithm>

#include "route/compare.hpp"

namespace buttonworth {
namespace {

/// Thrown where the physics is impossible; what is wrong is only told where somebody asks.
struct Impossible {};

/// What a shipment takes and brings, without lines or words.
struct ShipmentRecord : RouteLedger<double> {
  using RouteLedger<double>::RouteLedger;

  bool is_refused = false;
  std::vector<std::pair<std::size_t, double>> begun;  // step and day

  template <class Reason>
  void refuse(bool where, Reason&&) {
    is_refused |= where;
  }
  template <class Fault>
  void impossible(bool where, Fault&&) {
    if (where) throw Impossible();
  }
  template <class How>
  void line(const LineName&, const double&, const double&, How&&) {}
  template <class Path>
  void enter(const Plan&, const Step&, const Stream<double>& feed, const Path&, std::size_t index) {
    begun.emplace_back(index, feed.day);
  }
  void note_untested(const Plan&, const Terms&) {}
};

/// Sums alone, at the values of a draw.
struct ValueRecord : Tally<double> {
  template <class Fault>
  void impossible(bool where, Fault&&) {
    if (where) throw Impossible();
  }
};

std::size_t terms_at(const Plan& plan, const std::string* name) {
  for (std::size_t i = 0; i < plan.terms.size(); ++i)
    if (&plan.terms[i].name == name) return i;
  return plan.terms.size();
}

/// Deliveries leave, and whatever is not kept is gone, once the last of them has left.
void note_deliveries(const Plan& plan, const ShipmentRecord& record, Outcome& out) {
  for (const Product<double>& product : record.products) {
    const Stream<double>& stream = product.delivered;
    out.deliveries.push_back({terms_at(plan, product.at),
                              stream.day,
                              stream.wet(),
                              {stream.content.begin(), stream.content.end()}});
    out.last_day = std::max(out.last_day, stream.day);
  }
}

void note_passes(const ShipmentRecord& record, double days_per_hour, Outcome& out) {
  for (std::size_t i = 0; i < record.work.size(); ++i) {
    const Work<double>& work = record.work[i];
    const auto& [step, day] = record.begun[i];
    out.passes.push_back({step, day, work.hours, work.melts.value_or(0)});
    out.last_day = std::max(out.last_day, day + work.hours * days_per_hour);
  }
}

}  // namespace

double ready_day(const Allocation& allocation, const Shares& shares) {
  double day = 0;
  for (const Share& share : shares) day = std::max(day, allocation.lots[share.lot].ready);
  return day;
}

ShipmentWorker::ShipmentWorker(const Allocation& allocation)
    : allocation_(allocation),
      plan_(*allocation.plan),
      figures_(plan_.quantities, plan_.analytes, plan_.currency),
      days_per_hour_(working_days(plan_, 1)),
      prepared_(plan_) {
  prepare(prepared_);
}

void ShipmentWorker::prepare(const Prepared<double>& prepared) {
  if (&prepared != &prepared_) prepared_ = prepared;
  lots_.clear();
  for (const LotPart& part : plan_.lot.parts) lots_.push_back(blend(plan_, part, prepared_.scenario));
}

void ShipmentWorker::put(const Shares& shares) {
  Stream<double>& stream = prepared_.lot;
  stream.dry = stream.water = 0;
  stream.content.assign(plan_.analytes.size(), 0);
  for (const Share& share : shares) {
    const Stream<double>& lot = lots_[share.lot];
    const double part = static_cast<double>(share.parts) / allocation_.lots[share.lot].parts;
    stream.dry += lot.dry * part;
    stream.water += lot.water * part;
    for (std::size_t a = 0; a < lot.content.size(); ++a) stream.content[a] += lot.content[a] * part;
  }
  stream.day = ready_day(allocation_, shares);
  stream.discount = prepared_.scenario.discount_over(stream.day);
}

HeldCuts<double> ShipmentWorker::cuts(const Shares& shares, std::size_t route) {
  const Route& way = plan_.routes[route];
  if (way.searched.empty()) return HeldCuts<double>(way.tables.size());
  put(shares);
  CutFinder finder(prepared_);
  return find_cuts<double>(plan_, way, finder, Watch()).held;
}

HeldCuts<double> ShipmentWorker::cuts_of_draws(const Shares& shares, std::size_t route) {
  const Route& way = plan_.routes[route];
  HeldCuts<double> held = cuts(shares, route);
  put(shares);
  ShipmentRecord record(plan_.analytes.size(), figures_, false);
  Walk<double, ShipmentRecord>(prepared_, held, record).route(way);
  for (std::size_t visit = 0; visit < record.pulls.size(); ++visit)
    if (std::get<Table>(plan_.steps[way.tables[visit]].kind).cut.how != Cut::How::pull)
      held[visit] = record.pulls[visit];
  return held;
}

Outcome ShipmentWorker::work(const Shares& shares, std::size_t route) {
  Outcome out;
  try {
    const HeldCuts<double> held = cuts(shares, route);
    put(shares);
    out.start = out.last_day = prepared_.lot.day;
    ShipmentRecord record(plan_.analytes.size(), figures_, false);
    Walk<double, ShipmentRecord>(prepared_, held, record).route(plan_.routes[route]);
    if (record.is_refused) return out;
    out.taken = true;
    out.value = record.sums.present_value;
    note_passes(record, days_per_hour_, out);
    note_deliveries(plan_, record, out);
    out.cash = std::move(record.movements);
    out.fed = prepared_.lot.content;
    out.kept = record.metal.kept;
  } catch (const Impossible&) {
    out.taken = false;
  } catch (const Error&) {  // a cut that no pull reaches
    out.taken = false;
  }
  return out;
}

double ShipmentWorker::value(const Shares& shares, std::size_t route, const HeldCuts<double>& held) {
  try {
    put(shares);
    ValueRecord record;
    Walk<double, ValueRecord>(prepared_, held, record).route(plan_.routes[route]);
    return record.refused_mask ? 0 : record.present_value;
  } catch (const Impossible&) {
    return 0;
  } catch (const Error&) {
    return 0;
  }
}

std::vector<std::string> ShipmentWorker::reasons(const Shares& shares, std::size_t route) {
  const Route& way = plan_.routes[route];
  try {
    put(shares);
    CutFinder finder(prepared_);
    const FoundCuts<double> found = find_cuts<double>(plan_, way, finder, Watch());
    return work_out(prepared_, way, found, figures_, false).ledger.refused;
  } catch (const Error& error) {
    return {error.complaint().text};
  }
}

}  // namespace buttonworth
