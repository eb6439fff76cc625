%% JSON = document (VALUE, WHAT) -- a request or options: text as it stands, a struct as JSON.
function json = document (value, what)
  if (ischar (value) && rows (value) <= 1)
    json = value;
  elseif (isstruct (value) && isscalar (value))
    json = buttonworth.own.core ("buttonworth_encode", value, "");
  else
    buttonworth.own.refuse ("", [what " is text or a struct, not a " class(value)]);
  endif
endfunction
