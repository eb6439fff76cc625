%% ANSWER = buttonworth.allocate (REQUEST) -- a month of lots decided together, by the library of schedules.
%%
%% REQUEST is a struct or JSON text.
function answer = allocate (request)
  answer = buttonworth.own.ask ("allocate", request, "lots to allocate");
endfunction
