%% ANSWER = buttonworth.map (PLAN, OPTIONS) -- which route leads over two quantities.
%%
%% PLAN is one that was read, or a document as buttonworth.plan takes it; OPTIONS a struct or JSON text
%% (the format's section on this call).
function answer = map (plan, options)
  answer = buttonworth.own.finish (buttonworth.own.ask_plan ("map", plan, options));
endfunction
