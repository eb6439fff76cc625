%% ANSWER = buttonworth.forgiving_cut (PLAN, OPTIONS) -- how far the cut of a table may be off before it costs more than a sum.
%%
%% PLAN is one that was read, or a document as buttonworth.plan takes it; OPTIONS a struct or JSON text
%% (the format's section on this call), or nothing.
function answer = forgiving_cut (plan, options)
  if (nargin < 2)
    options = [];
  endif
  answer = buttonworth.own.finish (buttonworth.own.ask_plan ("forgiving_cut", plan, options));
endfunction
