%% ANSWER = ask_plan (CALL, PLAN, OPTIONS) -- the handle of a call's answer; PLAN may be a document.
function answer = ask_plan (call, plan, options)
  json = "";
  if (! isempty (options))
    json = buttonworth.own.document (options, "the options");
  endif
  if (! (isstruct (plan) && isscalar (plan) && isfield (plan, "handle")))
    plan = buttonworth.plan (plan);
  endif
  handle = buttonworth.own.handle_of (plan, "PlanHandle");
  answer = plan.context.(call) (handle, json);
endfunction
