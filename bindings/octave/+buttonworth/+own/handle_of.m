%% HANDLE = handle_of (OBJECT, KIND) -- the handle of a plan, context or month; KIND is the handle's.
function handle = handle_of (object, kind)
  handle = [];
  if (isstruct (object) && isscalar (object) && isfield (object, "handle") && strcmp (class (object.handle), "swig_ref"))
    handle = object.handle;
  endif
  if (isempty (handle) || ! any (strcmp (swig_type (handle), kind)))
    what = strjoin (lower (strrep (cellstr (kind), "Handle", "")), " or ");
    buttonworth.own.refuse ("", ["a " what " is wanted here, not a " class(object)]);
  endif
endfunction
