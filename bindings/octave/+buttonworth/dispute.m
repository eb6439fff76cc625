%% ANSWER = buttonworth.dispute (REQUEST) -- what contesting an assay is worth, before the exchange or the umpire.
%%
%% REQUEST is a struct or JSON text.
function answer = dispute (request)
  answer = buttonworth.own.ask ("dispute", request, "a dispute");
endfunction
