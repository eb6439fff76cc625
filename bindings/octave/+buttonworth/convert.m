%% QUANTITY = buttonworth.convert (QUANTITY, TO, FACTORS) -- a quantity in another unit of its dimension, exactly.
%%
%% buttonworth.convert ("1 lb", "g") is "453.59237 g". FACTORS is a struct, as in a plan; without it the exact ones.
function converted = convert (quantity, to, factors)
  request = struct ("quantity", buttonworth.own.text (quantity, "a quantity"), "to", buttonworth.own.text (to, "a unit"));
  if (nargin > 2 && ! isempty (factors))
    request.factors = factors;
  endif
  converted = buttonworth.own.ask ("convert", request, "a quantity");
endfunction
