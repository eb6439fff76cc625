%% Runs every vector through the Octave package: octave-cli run_vectors.m core.json [told.txt]
1;

%% Whether something stands at a JSON pointer, and what.
function [there, answer] = stands_at (answer, pointer)
  there = true;
  for part = strsplit (pointer, "/")(2:end)
    name = strrep (strrep (part{1}, "~1", "/"), "~0", "~");
    index = str2double (name) + 1;
    if (isstruct (answer) && isfield (answer, name))
      answer = answer.(name);
    elseif (iscell (answer) && index >= 1 && index <= numel (answer))
      answer = answer{index};
    else
      there = false;
      return;
    endif
  endfor
endfunction

function yes = says (text, words)
  yes = all (cellfun (@(word) ! isempty (strfind (lower (text), lower (word))), words));
endfunction

%% Whether two texts are numbers of one unit and near enough.
function yes = agree (found, expected, tolerance, relative)
  pattern = '^(-?\d+(?:\.\d+)?)( \S+)?$';
  one = regexp (found, pattern, "tokens", "once");
  other = regexp (expected, pattern, "tokens", "once");
  yes = false;
  if (! isempty (one) && numel (one) == numel (other) && isequal (one(2:end), other(2:end)))
    wanted = str2double (other{1});
    yes = abs (str2double (one{1}) - wanted) <= max (tolerance, abs (wanted) * relative);
  endif
endfunction

function yes = holds (there, found, expected, tolerance, relative)
  if (isstruct (expected) && isfield (expected, "exists"))
    yes = there == expected.exists;
  elseif (isstruct (expected))
    yes = there && ischar (found) && says (found, expected.says);
  elseif (! there || ! strcmp (class (found), class (expected)))
    yes = false;
  elseif (ischar (found))
    yes = strcmp (found, expected) || agree (found, expected, tolerance, relative);
  else
    yes = isequal (found, expected);
  endif
endfunction

function answer = answer_of (vector, options)
  if (isfield (vector, "text"))
    request = vector.text;
  else
    request = vector.request;
  endif
  switch (vector.call)
    case "convert"
      given = struct2cell (request);
      answer = buttonworth.convert (request.quantity, request.to, given{3:end});
    case "formula"
      answer = sprintf ("%.17g", buttonworth.formula (request.name, request.arguments{:}));
    case {"settle", "reconcile", "book", "dispute", "metal_call", "bench", "allocate"}
      answer = feval (["buttonworth." vector.call], request);
    otherwise
      answer = feval (["buttonworth." vector.call], request, options);
  endswitch
endfunction

function text = shown (value)
  text = buttonworth.encode (value);
endfunction

%% What differs from what is expected. Text of many digits must be the same text: a double lacks them.
function faults = check_good (vector, options, relative)
  answer = answer_of (vector, options);
  tolerance = 0;
  if (isfield (vector, "tolerance"))
    tolerance = str2double (vector.tolerance);
  endif
  faults = {};
  for [expected, pointer] = vector.expected
    [there, found] = stands_at (answer, pointer);
    if (strcmp (vector.id, "unit-many-digits"))
      right = strcmp (found, expected);
    else
      right = holds (there, found, expected, tolerance, relative);
    endif
    if (! right)
      faults{end+1} = [pointer ": " found_text(there, found) " stands there, expected is " shown(expected)];
    endif
  endfor
endfunction

function text = found_text (there, found)
  text = "nothing";
  if (there)
    text = shown (found);
  endif
endfunction

function yes = is_error (one, expected)
  yes = true;
  for field = {"class", "code", "pointer"}
    yes = yes && (! isfield (expected, field{1}) || strcmp (one.(field{1}), expected.(field{1})));
  endfor
  yes = yes && (! isfield (expected, "says") || says (one.text, expected.says));
endfunction

%% The error of a bad vector, as a struct; [] if none came.
function [found, faults] = raised (vector, options)
  found = [];
  faults = {"no error came"};
  try
    answer_of (vector, options);
  catch problem
    found = buttonworth.last_error ();
    same = strcmp (problem.identifier, ["buttonworth:" strrep(found.code, " ", "_")]) && strcmp (problem.message, found.text);
    faults = {"the error's identifier and message are not those of the struct"}(! same);
  end_try_catch
endfunction

function faults = check_bad (vector, options)
  [found, faults] = raised (vector, options);
  if (isempty (found))
    return;
  endif
  wanted = {};
  if (isfield (vector, "errors"))
    wanted = vector.errors;
  else
    wanted = {vector.error};
  endif
  for expected = wanted
    if (! any (cellfun (@(one) is_error (one, expected{1}), found.errors)))
      faults{end+1} = ["not among the errors: " shown(expected{1}) "; they are " shown(found.errors)];
    endif
  endfor
endfunction

%% The order of a struct's fields is the answer's.
function faults = check_order (vector)
  answer = answer_of (vector, []);
  found = fieldnames (answer.routes);
  expected = fieldnames (vector.request.routes);
  expected(strcmp (expected, "note")) = [];
  faults = {"the routes come in another order"}(! isequal (found, expected));
endfunction

%% How many checks found no fault, or one; and whether this one did.
function well = run (name, check)
  global passed failed;
  try
    faults = check ();
  catch problem % one vector must not end the others
    faults = {[problem.identifier " " problem.message]};
  end_try_catch
  well = isempty (faults);
  passed += well;
  failed += ! well;
  cellfun (@(fault) printf ("%s: %s\n", name, fault), faults);
endfunction

%% For the table of all languages: what kind of vector passed, and what an error said.
function tell (vector, kind, text)
  global told;
  told{end+1} = strjoin ({vector.call, kind, vector.id, regexprep(text, "[\r\n\t]", " ")}, "\t");
endfunction

function run_vector (vector)
  options = [];
  if (isfield (vector, "options"))
    options = vector.options;
  endif
  if (! isfield (vector, "expected"))
    if (run (vector.id, @() check_bad (vector, options)))
      tell (vector, "bad", raised (vector, options).text);
    endif
    return;
  endif
  if (run (vector.id, @() check_good (vector, options, 0)))
    tell (vector, "good", "");
  endif
  if (! strcmp (vector.call, "compare"))
    return;
  endif
  if (! isfield (options, "routes"))
    run ([vector.id " (order)"], @() check_order (vector));
  endif
  if (isfield (options, "arithmetic"))
    return;
  endif
  options.arithmetic = "double";
  relative = 1e-9 * ! strncmp (vector.id, "edge-", 5);
  run ([vector.id " (double)"], @() check_good (vector, options, relative));
endfunction

global passed failed told;
passed = failed = 0;
told = {};
core = buttonworth.decode (fileread (argv (){1}));
cellfun (@run_vector, core.vectors);
if (nargin > 1)
  file = fopen (argv (){2}, "w");
  fprintf (file, "%s\n", told{:});
  fclose (file);
endif
printf ("%d passed, %d failed\n", passed, failed);
exit (failed > 0 || passed == 0);
