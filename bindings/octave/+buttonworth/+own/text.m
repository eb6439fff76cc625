%% TEXT = text (VALUE, WHAT) -- one line of characters.
function value = text (value, what)
  if (! ischar (value) || rows (value) > 1)
    buttonworth.own.refuse ("", [what " is text, not a " class(value)]);
  endif
endfunction
