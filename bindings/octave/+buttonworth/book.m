%% ANSWER = buttonworth.book (MONTH) -- the book of a month of deliveries.
%%
%% MONTH is a struct or JSON text.
function answer = book (month)
  answer = buttonworth.own.ask ("book", month, "a month");
endfunction
