%% VALUE = finish (ANSWER) -- the value of an answer that is needed no longer.
function value = finish (answer)
  value = buttonworth.own.core ("buttonworth_decode", answer.text ());
  answer.close ();
endfunction
