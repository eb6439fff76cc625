%% TEXT = buttonworth.text (PLAN) -- the plan's document as JSON text.
function json = text (plan)
  handle = buttonworth.own.handle_of (plan, "PlanHandle");
  json = handle.text ();
endfunction
