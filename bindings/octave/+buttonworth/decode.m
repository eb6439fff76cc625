%% VALUE = buttonworth.decode (JSON) -- the value of a JSON text, as answers have it.
%%
%% An object is a scalar struct, its fields in their order, a list a cell row, a number a double, null []. Unlike
%% jsondecode it makes no matrices or arrays of structs, so that a document goes back as it came.
function value = decode (json)
  value = buttonworth.own.core ("buttonworth_decode", buttonworth.own.text (json, "JSON text"));
endfunction
