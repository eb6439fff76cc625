// Jobs on a plan whose quantities know their places, under options: each reads its options and writes its
// answer.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "document/form.hpp"
#include "quantity/watch.hpp"
#include "route/plan.hpp"

namespace buttonworth {

/// What a job has to work with.
struct PlanInHand {
  const Value& document;
  const Plan& plan;  ///< with places
  const DocumentLimits& limits;
  const Watch& watch;

  /// A reader of options, which may state money in any currency of the plan.
  Reader options_reader() const;
  /// The plan again, without rounding.
  std::shared_ptr<const Plan> unrounded() const;
};

struct PlanJob {
  /// The answer's text, or nothing of worth where there are complaints of the options.
  std::string (*answer)(const PlanInHand& in_hand, const std::optional<Value>& options,
                        std::vector<Complaint>& complaints);
  const char* name;  ///< of the options' schema
  Json (*schema)();
  const char* answer_name;
  Json (*answer_schema)();
};

extern const PlanJob worth_job, break_even_job, counter_offers_job, forgiving_cut_job, sensitivity_job,
    map_job;

/// In the order of the format's page, sections 24 to 29.
const std::vector<const PlanJob*>& plan_jobs();

/// Options that may be left out: an empty object.
Value options_or_none(const std::optional<Value>& options);

}  // namespace buttonworth
