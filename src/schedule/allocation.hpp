// A month of lots: what there is to decide over, and what the decision has to keep to.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "chance/simulate.hpp"
#include "route/plan.hpp"

namespace buttonworth {

/// So many of the equal parts that a lot may be parted into; of an undivided lot its one.
struct Share {
  std::uint32_t lot;
  std::uint32_t parts;
};
/// What is joined, by rising number of the lot.
using Shares = Few<Share, 4>;

struct OfferedLot {
  std::string name;
  double ready = 0;          ///< day on which it can be worked or sent
  std::uint32_t parts = 1;   ///< equal parts it may be parted into
  bool must = false;         ///< whether it has to go in the period
  bool alone = false;        ///< whether it is never joined with another
  std::vector<bool> routes;  ///< by route: whether it may go that way
};

/// What a step can do in the period.
struct Capacity {
  std::size_t step = 0;
  std::optional<double> hours, melts;
};

/// What a buyer takes in the period, if anything is sent.
struct BuyerLimits {
  std::size_t terms = 0;
  std::optional<double> least_shipments, most_shipments;
  std::optional<double> least_mass, most_mass;  ///< kg as delivered, wet
};

struct CashWanted {
  double by = 0;  ///< day
  double amount = 0;
};

struct MetalLimit {
  Analyte analyte = 0;
  double most = 0;  ///< kg
};

struct DrawsWanted {
  DrawNumbers numbers;
  DrawTogether together;
  Preference prefer = Preference::mean;
};

struct AllocateOptions {
  std::size_t most_joined = 6;         ///< lots of a shipment
  std::int64_t looked_at = 1'000'000;  ///< blends worked out, at most
  double seconds = 60;
  double gap = 1e-3;  ///< of the bound: near enough
  int threads = 1;
  bool lists_candidates = false;
  std::optional<DrawsWanted> draws;
};

/// The request. Lots are the parts of the plan's lot, in this order.
struct Allocation {
  std::shared_ptr<const Plan> plan;
  std::vector<OfferedLot> lots;
  std::optional<double> period;  ///< d
  std::vector<Capacity> capacities;
  std::vector<BuyerLimits> buyers;
  std::vector<CashWanted> cash;
  std::vector<MetalLimit> on_hand;
  AllocateOptions options;
  /// The plan of these lots joined and nothing else, as anyone would write it.
  std::function<std::shared_ptr<const Plan>(const Shares&)> plan_of;
};

}  // namespace buttonworth
