%% BOOK = buttonworth.month_book (MONTH) -- ends the tables: the book. The month is over after it.
function book = month_book (month)
  handle = buttonworth.own.handle_of (month, "MonthHandle");
  book = buttonworth.own.finish (month.context.month_close (handle));
endfunction
