%% refuse (POINTER, TEXT) -- raises the error for a mistake of the program that calls.
function refuse (pointer, text)
  buttonworth.own.core ("buttonworth_refuse", pointer, text);
endfunction
