%% VALUE = ask (CALL, REQUEST, WHAT) -- the answer to a request of its own, with a context of its own.
function value = ask (call, request, what)
  json = buttonworth.own.document (request, what);
  context = buttonworth.own.core ("ContextHandle");
  value = buttonworth.own.finish (context.(call) (json));
endfunction
