%% TEXT = cell_text (VALUE, POINTER) -- one cell of a plan's spreadsheet form.
function text = cell_text (value, pointer)
  if (ischar (value) && rows (value) <= 1)
    text = value;
  else
    text = buttonworth.own.core ("buttonworth_encode", value, pointer);
  endif
endfunction
