%% NUMBERS = buttonworth.convert_array (VALUES, FROM, TO) -- numbers in another unit, in the shape of VALUES.
%%
%% NaN and infinities pass through.
function numbers = convert_array (values, from, to)
  context = buttonworth.own.core ("ContextHandle");
  from = buttonworth.own.text (from, "a unit");
  to = buttonworth.own.text (to, "a unit");
  numbers = reshape (context.convert_array (values, from, to, numel (values)), size (values));
endfunction
