%% ANSWER = buttonworth.settle (DELIVERY) -- what a buyer owes for one delivery: the statement.
%%
%% DELIVERY is a struct or JSON text.
function answer = settle (delivery)
  answer = buttonworth.own.ask ("settle", delivery, "a delivery");
endfunction
