%% ANSWER = buttonworth.counter_offers (PLAN, OPTIONS) -- what each losing buyer would have to change for his route to win.
%%
%% PLAN is one that was read, or a document as buttonworth.plan takes it; OPTIONS a struct or JSON text
%% (the format's section on this call), or nothing.
function answer = counter_offers (plan, options)
  if (nargin < 2)
    options = [];
  endif
  answer = buttonworth.own.finish (buttonworth.own.ask_plan ("counter_offers", plan, options));
endfunction
