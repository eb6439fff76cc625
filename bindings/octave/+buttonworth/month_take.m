%% buttonworth.month_take (MONTH, TABLE, CSV) -- the next piece of a table, "deliveries" or "received".
%%
%% The first piece has the table's header; pieces may be cut anywhere.
function month_take (month, table, csv)
  handle = buttonworth.own.handle_of (month, "MonthHandle");
  month.context.month_take (handle, buttonworth.own.text (table, "a table's name"), buttonworth.own.text (csv, "a table"));
endfunction
