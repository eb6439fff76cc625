%% PLAN = buttonworth.plan (DOCUMENT, CONTEXT) -- reads a plan.
%%
%% DOCUMENT is JSON text, a struct, or rows: a cell array with a JSON pointer and a value in each row. In a struct
%% a scalar struct is an object in its order, a cell array a list, [] JSON's null. Where there is no CONTEXT the
%% plan has its own. All independent errors of the document are in buttonworth.last_error ().errors.
function made = plan (document, context)
  if (nargin < 2)
    context = buttonworth.context ();
  endif
  handle = buttonworth.own.handle_of (context, "ContextHandle");
  if (iscell (document))
    read = handle.plan_of_rows (buttonworth.own.row_list (document));
  elseif (ischar (document) || isstruct (document))
    read = handle.plan (buttonworth.own.document (document, "a plan"));
  else
    buttonworth.own.refuse ("", ["a plan is text, a struct or rows of a pointer and a value, not a " class(document)]);
  endif
  made = struct ("handle", read, "context", handle);
endfunction
