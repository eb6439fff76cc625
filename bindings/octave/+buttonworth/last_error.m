%% ERROR = buttonworth.last_error () -- what is known of the error that a call raised last.
%%
%% A struct with class, code, status, pointer and text, and errors, a cell array of all that were found together,
%% each with these fields; [] before the first. The error itself has the identifier "buttonworth:CODE", blanks of
%% the code being "_", and the text as its message.
function found = last_error ()
  found = buttonworth.own.core ("buttonworth_failure");
endfunction
