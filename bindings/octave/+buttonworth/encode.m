%% JSON = buttonworth.encode (VALUE) -- the JSON text of a value; see buttonworth.decode.
function json = encode (value)
  json = buttonworth.own.core ("buttonworth_encode", value, "");
endfunction
