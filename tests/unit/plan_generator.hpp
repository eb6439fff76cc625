// Random plans, and other ways to write the same plan.
#pragma once

#include "document/form.hpp"
#include "ordered_json.hpp"
#include "random.hpp"

namespace buttonworth::test {

struct PlanWishes {
  bool rounding = true;
  bool participation = true;
  bool gross_levies = true;  ///< levies on the value of metal that is not paid for, too
  bool solved_cuts = true;   ///< cuts by grade and by recovery, besides pulls
  bool best_cut = false;     ///< every route begins with a table whose best cut is searched
  bool uncertain = true;     ///< some quantities stand as distributions
};

/// A plan with a lot (whole or in parts, with or without pieces apart), all kinds of steps, three buyers
/// with everything that terms of sale may hold, and up to three nested routes.
OrderedJson random_plan(Random& random, const PlanWishes& wishes = {});

/// A lot of one description: `wet_mass`, `moisture` and assays of these analytes.
OrderedJson random_lot(Random& random, const std::vector<std::string>& analytes);

/// The same document with the members of every object in another order. Lists keep theirs.
OrderedJson shuffled(const OrderedJson& document, Random& random);

/// The same document with every quantity in a unit chosen among those that say the same.
OrderedJson in_other_units(const OrderedJson& document, Random& random);

}  // namespace buttonworth::test
