%% ANSWER = buttonworth.break_even (PLAN, OPTIONS) -- every value of one quantity at which another route takes the lead.
%%
%% PLAN is one that was read, or a document as buttonworth.plan takes it; OPTIONS a struct or JSON text
%% (the format's section on this call).
function answer = break_even (plan, options)
  answer = buttonworth.own.finish (buttonworth.own.ask_plan ("break_even", plan, options));
endfunction
