%% buttonworth.close (OBJECT) -- frees a plan, a context or a month, again and again if you like.
function close (object)
  handle = buttonworth.own.handle_of (object, {"PlanHandle", "ContextHandle", "MonthHandle"});
  handle.close ();
endfunction
