%% ANSWER = buttonworth.reconcile (REQUEST) -- where a buyer's return, or many returns, differ from what was due.
%%
%% REQUEST is a struct or JSON text.
function answer = reconcile (request)
  answer = buttonworth.own.ask ("reconcile", request, "a delivery and its return");
endfunction
