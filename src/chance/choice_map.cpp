#include "chance/choice_map.hpp"

namespace buttonworth {

double MapAxis::value(int i) const {
  return i + 1 == steps ? along.to : along.from + (along.to - along.from) * i / (steps - 1);
}

ChoiceMap draw_map(Worths& worths, const MapAxis& x, const MapAxis& y, const Watch& watch) {
  ChoiceMap map;
  const std::size_t of_x = x.along.quantities.size();
  std::vector<double> values(of_x + y.along.quantities.size());
  const std::int64_t total = std::int64_t{x.steps} * y.steps;
  for (int row = 0; row < y.steps; ++row)
    for (int column = 0; column < x.steps; ++column) {
      for (std::size_t i = 0; i < values.size(); ++i) values[i] = i < of_x ? x.value(column) : y.value(row);
      const std::vector<double> worth = worths.at(values);
      const auto best = leader(worth);
      map.winner.push_back(best);
      map.lead.push_back(best ? lead_of(worth, *best) : std::nullopt);
      watch.progress(static_cast<std::int64_t>(map.winner.size()), total);
    }
  return map;
}

}  // namespace buttonworth
