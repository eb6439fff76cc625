%% TEXT = buttonworth.version () -- the library's version.
function text = version ()
  text = buttonworth.own.core ("bw_version");
endfunction
