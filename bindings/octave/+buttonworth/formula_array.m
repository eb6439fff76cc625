%% NUMBERS = buttonworth.formula_array (NAME, ...) -- a formula over whole columns.
%%
%% Single numbers stand for every row. Where a row has no result the error says which.
function numbers = formula_array (name, varargin)
  name = buttonworth.own.text (name, "a formula's name");
  if (! all (cellfun (@isnumeric, varargin)))
    buttonworth.own.refuse ("", "the columns are numbers");
  endif
  sizes = cellfun (@numel, varargin);
  count = max ([sizes(sizes != 1), min(numel (sizes), 1) * all(sizes == 1)]);
  if (any (sizes != 1 & sizes != count))
    buttonworth.own.refuse ("", ["the columns are not of one length:" sprintf(" %d", sizes)]);
  endif
  spread = cellfun (@(column) double (column(:)) + zeros (count, 1), varargin, "UniformOutput", false);
  context = buttonworth.own.core ("ContextHandle");
  numbers = context.formula_array (name, vertcat (zeros (0, 1), spread{:}), count);
endfunction
