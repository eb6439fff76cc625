%% VALUE = buttonworth.limit (CONTEXT, NAME) -- one of the limits a document must keep to, such as "depth".
function value = limit (context, name)
  handle = buttonworth.own.handle_of (context, "ContextHandle");
  value = double (handle.get_limit (buttonworth.own.text (name, "a limit's name")));
endfunction
