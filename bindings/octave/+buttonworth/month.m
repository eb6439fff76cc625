%% MONTH = buttonworth.month (HEADING) -- opens a month whose tables come in pieces.
%%
%% HEADING is a struct or JSON text, usually without its deliveries. Then buttonworth.month_take and, at the end,
%% buttonworth.month_book.
function made = month (heading, context)
  if (nargin < 2)
    context = buttonworth.context ();
  endif
  handle = buttonworth.own.handle_of (context, "ContextHandle");
  made = struct ("handle", handle.month (buttonworth.own.document (heading, "a month")), "context", handle);
endfunction
