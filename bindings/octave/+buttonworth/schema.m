%% SCHEMA = buttonworth.schema (NAME) -- the JSON Schema (draft 7) of a document: "plan", "comparison", "options", ...
function value = schema (name)
  name = buttonworth.own.text (name, "a schema's name");
  context = buttonworth.own.core ("ContextHandle");
  value = buttonworth.own.finish (context.schema (name));
endfunction
