#include "document/plan_job.hpp"

#include "chance/sensitivity.hpp"
#include "document/heading_form.hpp"
#include "document/plan_document.hpp"

namespace buttonworth {

Reader PlanInHand::options_reader() const {
  static const auto rates = exchange_form();
  Reader reader(limits);
  reader.currency = plan.currency;
  std::vector<CurrencyWorth> worths;
  if (const Value* stated = document.find("exchange")) rates.read(*stated, Place(), reader, worths);
  return reader;
}

std::shared_ptr<const Plan> PlanInHand::unrounded() const {
  const auto plan = std::const_pointer_cast<Plan>(read_plan(document, no_limits(), true).plan);
  take_rounding_out(*plan);  // read here, and nobody else's
  return plan;
}

const std::vector<const PlanJob*>& plan_jobs() {
  static const std::vector<const PlanJob*> all{&worth_job,         &break_even_job,  &counter_offers_job,
                                               &forgiving_cut_job, &sensitivity_job, &map_job};
  return all;
}

Value options_or_none(const std::optional<Value>& options) {
  Value none;
  none.kind = Value::Kind::object;
  return options ? *options : none;
}

}  // namespace buttonworth
