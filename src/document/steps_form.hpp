// Steps as they stand in a document.
#pragma once

#include "document/form.hpp"
#include "route/plan.hpp"

namespace buttonworth {

const Form<Step>& step_form();

}  // namespace buttonworth
