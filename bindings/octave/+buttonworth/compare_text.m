%% JSON = buttonworth.compare_text (PLAN, OPTIONS) -- buttonworth.compare as JSON text.
function json = compare_text (plan, options)
  if (nargin < 2)
    options = [];
  endif
  answer = buttonworth.own.ask_plan ("compare", plan, options);
  json = answer.text ();
endfunction
