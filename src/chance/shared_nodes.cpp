#include "chance/shared_nodes.hpp"

#include <algorithm>

namespace buttonworth {

SharedNodes::SharedNodes(const Plan& plan, const std::vector<HeldRoute>& routes) : plan_(plan) {
  for (const HeldRoute& route : routes) {
    std::vector<std::size_t>& own = routes_.emplace_back();
    add(route.route->lot.node.get(), SharedNode::lot, 0, route, own);
    for (std::size_t i = 0; i < route.route->apart.size(); ++i)
      add(route.route->apart[i].node.get(), SharedNode::pieces, i, route, own);
  }
}

void SharedNodes::add(const Node* node, std::size_t from, std::size_t output, const HeldRoute& route,
                      std::vector<std::size_t>& own) {
  SharedNode shared{node, from, output, {}};
  const Worked* const worked = node != nullptr ? std::get_if<Worked>(&node->what) : nullptr;
  if (worked != nullptr && worked->visit < route.held.size() &&
      std::holds_alternative<Table>(plan_.steps[worked->step].kind))
    shared.held = route.held[worked->visit];
  const std::size_t at = place(shared);
  own.push_back(at);
  if (worked == nullptr) return;
  for (std::size_t i = 0; i < worked->outputs.size(); ++i) add(worked->outputs[i].get(), at, i, route, own);
}

std::size_t SharedNodes::place(const SharedNode& node) {
  std::size_t at = 0;
  while (at < nodes_.size() && !alike(nodes_[at], node)) ++at;
  if (at == nodes_.size()) nodes_.push_back(node);
  return at;
}

bool SharedNodes::alike(const SharedNode& a, const SharedNode& b) const {
  if (a.from != b.from || a.output != b.output) return false;
  if (a.node == nullptr || b.node == nullptr) return a.node == b.node;
  if (a.node->what.index() != b.node->what.index()) return false;
  if (auto* worked = std::get_if<Worked>(&a.node->what))
    return worked->step == std::get<Worked>(b.node->what).step && a.held == b.held;
  if (auto* sold = std::get_if<SoldTo>(&a.node->what))
    return sold->terms == std::get<SoldTo>(b.node->what).terms;
  if (auto* returned = std::get_if<Returned>(&a.node->what)) {
    const Returned& other = std::get<Returned>(b.node->what);
    return same_figure(returned->after, other.after) &&
           std::equal(returned->shares.begin(), returned->shares.end(), other.shares.begin(),
                      other.shares.end(), [&](const AnalyteQuantity& x, const AnalyteQuantity& y) {
                        return x.analyte == y.analyte && same_figure(x.quantity, y.quantity);
                      });
  }
  return true;
}

/// One quantity, or two that are certain and equal.
bool SharedNodes::same_figure(Quantity a, Quantity b) const {
  const StatedQuantity &one = plan_.quantities[a], &other = plan_.quantities[b];
  return a.index == b.index || (!one.spread && !other.spread && one.mean == other.mean &&
                                one.currency_rate < 0 && other.currency_rate < 0);
}

}  // namespace buttonworth
