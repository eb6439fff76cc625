// A plan: what the operator has, what can be done with it, who buys, and which ways there are.
// Immutable once read and found in order; any number of threads may share it.
#pragma once

#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "material/caution.hpp"
#include "process/cut.hpp"
#include "process/dry.hpp"
#include "process/melt.hpp"
#include "process/split.hpp"
#include "process/table.hpp"
#include "sale/settle.hpp"

namespace buttonworth {

/// A lot, or a part of one: weighed and assayed, or itself blended of parts.
struct LotPart {
  std::optional<Quantity> wet_mass;
  Quantity moisture;
  std::vector<AnalyteQuantity> assays;  ///< on dry solids
  std::vector<LotPart> parts;
  std::string id, date;
};

/// Pieces taken out before the lot was sampled.
struct Pieces {
  std::string name;
  Quantity mass;
  std::vector<AnalyteQuantity> assays;
};

struct Lot : LotPart {
  std::optional<Quantity> credited;  ///< money already counted for material that came back into the lot
  std::vector<Pieces> apart;
};

struct Step {
  StepBasics basics;
  std::variant<Table, Split, Dry, Melt> kind;
};

struct Node;

/// A step with a node for each of its outputs, null where an output has none.
struct Worked {
  std::size_t step = 0;
  std::vector<std::unique_ptr<Node>> outputs;
  std::size_t visit = 0;  ///< of a table: its number among the tables of the route
};
struct SoldTo {
  std::size_t terms = 0;
};
struct Returned {
  std::vector<AnalyteQuantity> shares;  ///< credited at market price
  Quantity after;
};
struct Kept {};

struct Node {
  std::variant<Worked, SoldTo, Returned, Kept> what;
};

/// Where one of the lot's goods goes.
struct Way {
  std::unique_ptr<Node> node;
  bool searched = false;  ///< whether a table on it has its best cut to find
};

struct Route {
  std::string name;
  Way lot;
  std::vector<Way> apart;             ///< in the order of the lot's pieces
  std::vector<std::size_t> tables;    ///< step of each table visit, by visit number
  std::vector<std::size_t> searched;  ///< visits whose cut is "best"
};

struct Plan {
  std::string currency;
  QuantityTable quantities;
  std::vector<std::string> analytes;
  MarketPrices prices;  ///< by analyte
  Quantity discount;    ///< share of value that waiting a year costs
  Quantity day;         ///< working time in a day, d
  Lot lot;
  std::vector<Step> steps;
  std::vector<Terms> terms;
  std::vector<Route> routes;
  std::vector<Levy> levies;
  std::vector<std::string> document_cautions;  ///< of the reading: analytes missing in parts, and so on

  std::vector<bool> assayed;    ///< by analyte: whether the lot, a part or pieces apart ever were
  std::vector<Hazard> hazards;  ///< by analyte
  bool mercury_assayed = false;
};

/// Names of a step's outputs, in order.
std::vector<std::string> output_names(const Step& step);

}  // namespace buttonworth
