%% CONTEXT = buttonworth.context () -- limits of what is read. Frees itself; buttonworth.close does so at once.
function made = context ()
  made = struct ("handle", buttonworth.own.core ("ContextHandle"));
endfunction
