%% LIST = buttonworth.formulas () -- the formulas, each with its arguments in order.
function list = formulas ()
  context = buttonworth.own.core ("ContextHandle");
  list = buttonworth.own.finish (context.formulas ());
endfunction
