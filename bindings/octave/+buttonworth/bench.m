%% ANSWER = buttonworth.bench (REQUEST) -- sampling, run sheets, balances, curves, flux, bars, waiting: the request's format says which.
%%
%% REQUEST is a struct or JSON text.
function answer = bench (request)
  answer = buttonworth.own.ask ("bench", request, "a request to the bench");
endfunction
