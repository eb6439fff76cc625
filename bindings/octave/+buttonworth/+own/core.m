%% [VALUE] = core (NAME, ...) -- calls a function of the compiled part, which is loaded when it is first asked for.
function varargout = core (name, varargin)
  persistent loaded = load_core ();
  [varargout{1:nargout}] = loaded.(name) (varargin{:});
endfunction

function loaded = load_core ()
  buttonworth_core; % the function, which makes the global variable of the same name
  global buttonworth_core;
  loaded = buttonworth_core;
endfunction
