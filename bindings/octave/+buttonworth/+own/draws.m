%% NUMBERS = draws (ANSWER, NAME) -- the draws of a simulation, by the handle of its answer.
function numbers = draws (answer, name)
  context = buttonworth.own.core ("ContextHandle");
  numbers = context.draws (answer, buttonworth.own.text (name, "a route or a pointer"));
endfunction
