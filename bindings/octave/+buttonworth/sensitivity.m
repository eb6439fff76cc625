%% ANSWER = buttonworth.sensitivity (PLAN, OPTIONS) -- what each quantity does to every route and to the lead, what matters most first.
%%
%% PLAN is one that was read, or a document as buttonworth.plan takes it; OPTIONS a struct or JSON text
%% (the format's section on this call), or nothing.
function answer = sensitivity (plan, options)
  if (nargin < 2)
    options = [];
  endif
  answer = buttonworth.own.finish (buttonworth.own.ask_plan ("sensitivity", plan, options));
endfunction
