%% ANSWER = buttonworth.metal_call (REQUEST) -- metal called for against metal accounted for, stage by stage.
%%
%% REQUEST is a struct or JSON text.
function answer = metal_call (request)
  answer = buttonworth.own.ask ("metal_call", request, "streams and stages");
endfunction
