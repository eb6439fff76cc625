%% buttonworth.set_limit (CONTEXT, NAME, VALUE) -- sets a limit; the C interface names them.
function set_limit (context, name, value)
  handle = buttonworth.own.handle_of (context, "ContextHandle");
  if (! isnumeric (value) || ! isscalar (value) || ! isreal (value) || value != fix (value) || abs (value) > 1e15)
    buttonworth.own.refuse ("", ["a limit is a whole number, not " disp(value)(1:end-1)]);
  endif
  handle.set_limit (buttonworth.own.text (name, "a limit's name"), double (value));
endfunction
