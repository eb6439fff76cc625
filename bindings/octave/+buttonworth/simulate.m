%% [ANSWER, DRAWS] = buttonworth.simulate (PLAN, OPTIONS) -- draws the uncertain quantities many times.
%%
%% Where the options had keep = true, DRAWS (NAME) is what a route is worth, or an input of this JSON pointer is,
%% draw by draw; NaN where a draw was left out. PLAN and OPTIONS as for buttonworth.compare.
function [answer, draws] = simulate (plan, options)
  if (nargin < 2)
    options = [];
  endif
  handle = buttonworth.own.ask_plan ("simulate", plan, options);
  answer = buttonworth.own.core ("buttonworth_decode", handle.text ());
  draws = @(name) buttonworth.own.draws (handle, name);
endfunction
