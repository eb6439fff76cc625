// The nodes of several routes, those that do the same with the same stream found to be one.
#pragma once

#include <optional>
#include <vector>

#include "route/walk.hpp"

namespace buttonworth {

/// A route at the cuts that hold in every draw.
struct HeldRoute {
  const Route* route;
  HeldCuts<double> held;  ///< by visit; none where the plan states the pull
};

/// A node and the stream that comes to it.
struct SharedNode {
  static constexpr std::size_t lot = static_cast<std::size_t>(-1);     // of `from`
  static constexpr std::size_t pieces = static_cast<std::size_t>(-2);  // apart: `output` says which

  const Node* node;            ///< null where the route says nothing of the stream
  std::size_t from, output;    ///< the node that makes the stream, and which of its outputs it is
  std::optional<double> held;  ///< of a table: the pull
};

/// Every node once, those that make a stream before those that take it, and which of them are each route's.
class SharedNodes {
 public:
  SharedNodes(const Plan& plan, const std::vector<HeldRoute>& routes);

  const std::vector<SharedNode>& nodes() const { return nodes_; }
  const std::vector<std::size_t>& of_route(std::size_t route) const { return routes_[route]; }

 private:
  void add(const Node* node, std::size_t from, std::size_t output, const HeldRoute& route,
           std::vector<std::size_t>& own);
  std::size_t place(const SharedNode& node);
  bool alike(const SharedNode& a, const SharedNode& b) const;
  bool same_figure(Quantity a, Quantity b) const;

  const Plan& plan_;
  std::vector<SharedNode> nodes_;
  std::vector<std::vector<std::size_t>> routes_;
};

}  // namespace buttonworth
