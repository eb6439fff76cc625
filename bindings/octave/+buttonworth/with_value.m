%% PLAN = buttonworth.with_value (PLAN, POINTER, VALUE) -- a plan like this one with one value replaced.
%%
%% POINTER is a JSON pointer, VALUE text, a number, true, false, a struct, a cell array or []. Text is taken as a
%% spreadsheet's cell is: "true", "false" and "null" are not text, and neither is JSON text of a list or an object.
function made = with_value (plan, pointer, value)
  handle = buttonworth.own.handle_of (plan, "PlanHandle");
  pointer = buttonworth.own.text (pointer, "a pointer");
  read = plan.context.plan_with (handle, pointer, buttonworth.own.cell_text (value, pointer));
  made = struct ("handle", read, "context", plan.context);
endfunction
