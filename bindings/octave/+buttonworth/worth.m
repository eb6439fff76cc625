%% ANSWER = buttonworth.worth (PLAN, OPTIONS) -- what measuring an uncertain quantity once more is worth; OPTIONS name the candidates.
%%
%% PLAN is one that was read, or a document as buttonworth.plan takes it; OPTIONS a struct or JSON text
%% (the format's section on this call).
function answer = worth (plan, options)
  answer = buttonworth.own.finish (buttonworth.own.ask_plan ("worth", plan, options));
endfunction
