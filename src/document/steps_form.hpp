// Steps as they stand in a document.
#pragma once

#include "document/form.hpp"
#include "route/plan.hpp"

namespace buttonworth {

const Form<Step>& step_form();

/// {"volume", "fill", "density"}.
Form<Crucible> crucible_form();

/// Whether a step says of what kind it is: without, nothing more can be said of it.
bool has_kind(const Value& step);

}  // namespace buttonworth
