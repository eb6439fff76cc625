%% NUMBER = buttonworth.formula (NAME, ...) -- one figure of plain numbers.
%%
%% buttonworth.formula ("two_product_recovery", 0.008, 0.25, 0.0015) is 0.8174...
function number = formula (name, varargin)
  name = buttonworth.own.text (name, "a formula's name");
  for index = 1:numel (varargin)
    if (! isnumeric (varargin{index}) || ! isscalar (varargin{index}))
      buttonworth.own.refuse ("", sprintf ("argument %d is a single number, not a %s", index, class (varargin{index})));
    endif
  endfor
  context = buttonworth.own.core ("ContextHandle");
  number = context.formula (name, cellfun (@double, varargin));  # integers beside doubles would round these
endfunction
