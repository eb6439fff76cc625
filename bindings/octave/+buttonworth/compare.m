%% ANSWER = buttonworth.compare (PLAN, OPTIONS) -- works out every route: a comparison.
%%
%% PLAN is one that was read, or a document as buttonworth.plan takes it; OPTIONS a struct or JSON text
%% (the format's section on this call), or nothing.
function answer = compare (plan, options)
  if (nargin < 2)
    options = [];
  endif
  answer = buttonworth.own.finish (buttonworth.own.ask_plan ("compare", plan, options));
endfunction
