%% The Octave package beyond the vectors: handles, kinds of values, errors, memory, the README.
%%     octave-cli test_octave.m bindings/octave/README.md
1;

function text = plan_text ()
  text = ['{"format":"buttonworth-plan/1","currency":"USD","prices":{"Au":"100 USD/g"},"discount":"0 %/a",' ...
          '"lot":{"wet_mass":"1000 kg","assays":{"Au":"50 g/t"}},"steps":{},' ...
          '"terms":{"smelter":{"buys":"concentrate","pay":{"Au":{"share":"90 %"}}}},' ...
          '"routes":{"zinc":{"sell":"smelter"},"as it is":{"sell":"smelter"},"Meg/1":{"keep":true}}}'];
endfunction % 1 t x 50 g/t x 90 % x 100 USD/g = 4500 USD

function plan = plan_struct ()
  plan.format = "buttonworth-plan/1";
  plan.currency = "USD";
  plan.prices.Au = "100 USD/g";
  plan.discount = "0 %/a";
  plan.lot = struct ("wet_mass", "1000 kg", "assays", struct ("Au", "50 g/t"));
  plan.steps = struct ();
  plan.terms.smelter = struct ("buys", "concentrate", "pay", struct ("Au", struct ("share", "90 %")));
  plan.routes.zinc.sell = "smelter";
  plan.routes.("as it is").sell = "smelter";
  plan.routes.("Meg/1").keep = true;
endfunction

function rows = plan_rows ()
  rows = {"/format", "buttonworth-plan/1"; "/currency", "USD"; "/prices/Au", "100 USD/g"; "/discount", "0 %/a";
          "/lot/wet_mass", "1000 kg"; "/lot/assays/Au", "50 g/t"; "/steps", struct(); "/terms/smelter/buys", "concentrate";
          "/terms/smelter/pay/Au/share", "90 %"; "/routes/zinc/sell", "smelter"; "", ""; [], [];
          "/routes/as it is/sell", "smelter"; "/routes/Meg~11/keep", true};
endfunction

function plan = changed (field, value)
  plan = plan_struct ();
  plan.(field) = value;
endfunction

function value = net (answer, route = "zinc")
  value = str2double (answer.routes.(route).net);
endfunction

function same (found, expected)
  if (! isequal (found, expected) || ! strcmp (class (found), class (expected)))
    error ("found %s, expected %s", disp (found), disp (expected));
  endif
endfunction

%% The error that a call raises, as a struct; its fields are these.
function found = fails (call, varargin)
  found = [];
  try
    call ();
  catch problem
    if (! strncmp (problem.identifier, "buttonworth:", 12))
      error ("another kind of error: %s %s", problem.identifier, problem.message);
    endif
    found = buttonworth.last_error ();
    same (problem.message, found.text);
    same (problem.identifier, ["buttonworth:" strrep(found.code, " ", "_")]);
  end_try_catch
  if (isempty (found))
    error ("no error came from %s", func2str (call));
  endif
  for index = 1:2:numel (varargin)
    if (strcmp (varargin{index}, "says"))
      if (isempty (strfind (found.text, varargin{index + 1})))
        error ("the error says: %s", found.text);
      endif
    else
      same (found.(varargin{index}), varargin{index + 1});
    endif
  endfor
endfunction

function found = wrong_kind (call, varargin)
  found = fails (call, "class", "usage", "code", "kind", "status", 105, varargin{:});
endfunction

function closed (call)
  fails (call, "class", "usage", "code", "null", "status", 101, "says", "closed");
endfunction

%% ---- Documents ----------------------------------------------------------------------------------

function test_every_kind_of_document_is_the_same_plan ()
  for document = {plan_text(), plan_struct(), plan_rows(), buttonworth.decode(plan_text ())}
    answer = buttonworth.compare (document{1});
    same (fieldnames (answer.routes), {"zinc"; "as it is"; "Meg/1"});
    same ([net(answer), net(answer, "as it is"), net(answer, "Meg/1")], [4500, 4500, 0]);
  endfor
endfunction

function test_json_goes_in_and_out ()
  for json = {'null', 'true', 'false', '0', '-5', '2.5', '0.1', '1e+300', '""', '"a\"\\/\u000a\u0001"', '[]', '{}', ...
              '[1,[2,null],{}]', '[1]', '{"":{"a b":[null]}}', '[{"a":1}]', '[{"a":1},{"a":2}]', '["ab","c"]', "\"\xe2\x82\xac\""}
    same (buttonworth.encode (buttonworth.decode (json{1})), json{1});
  endfor
  same (buttonworth.encode ([1, 2.5]), "[1,2.5]");
  same (buttonworth.encode ([true, false]), "[true,false]");
  same (buttonworth.encode (int32 (7)), "7");
  same (buttonworth.encode (struct ("a", {1, 2})), '[{"a":1},{"a":2}]');
  same (buttonworth.encode (1:3), "[1,2,3]");
  for json = {"", "{", "nul", "[1,]", "{} {}", repmat("[", 1, 1000), [repmat("[", 1, 600) repmat("]", 1, 600)]}
    fails (@() buttonworth.decode (json{1}), "class", "document", "code", "json");
  endfor
  wrong_kind (@() buttonworth.decode (5));
endfunction

function test_what_no_document_can_hold ()
  for value = {NaN, Inf, -Inf, NA, @sin, 1i, ["ab"; "cd"], containers.Map(), getfield(buttonworth.context (), "handle")}
    lot = struct ();
    lot.("A/u~") = {1, value{1}};
    wrong_kind (@() buttonworth.compare (changed ("lot", lot)), "pointer", "/lot/A~1u~0/1");
  endfor
  wrong_kind (@() buttonworth.compare (changed ("lot", NaN)), "says", "NaN stands here");
  deep = {};
  for level = 1:600
    deep = {deep};
  endfor
  wrong_kind (@() buttonworth.compare (changed ("lot", deep)), "says", "deep");
endfunction

function test_rows ()
  for table = {{"/a"}, {"/a", "b", "c"}, {5, "b"}, {[], "b"}, {"/a", NaN}, {"/a", @sin}}
    wrong_kind (@() buttonworth.compare (table{1}));
  endfor
  fails (@() buttonworth.compare ({}), "class", "document");
endfunction

function test_text_that_is_not_utf_8 ()
  fails (@() buttonworth.compare (char ([123 34 255 34 58 49 125])), "class", "document", "code", "utf8");
  fails (@() buttonworth.compare (changed ("lot", char (255))), "class", "document", "code", "utf8");
endfunction

function test_the_answer_is_json_text_too ()
  same (buttonworth.decode (buttonworth.compare_text (plan_text ())), buttonworth.compare (plan_text ()));
  same (buttonworth.compare (plan_text (), '{"how": false}'), buttonworth.compare (plan_text (), struct ("how", false)));
  document = buttonworth.decode (buttonworth.text (buttonworth.plan (plan_rows ())));
  same (document.currency, "USD");
endfunction

%% ---- Wrong kinds --------------------------------------------------------------------------------

function test_where_a_plan_is_wanted ()
  for document = {5, true, [], @sin, NaN, int8(1), containers.Map()}
    wrong_kind (@() buttonworth.compare (document{1}), "says", "a plan is text");
  endfor
  wrong_kind (@() buttonworth.compare (["{"; "}"]));
  fails (@() buttonworth.compare (changed ("lot", [])), "class", "document", "code", "type", "pointer", "/lot");
endfunction

function test_other_parameters ()
  context = buttonworth.context ();
  plan = buttonworth.plan (plan_text (), context);
  for options = {5, true, {"how"}, @sin}
    wrong_kind (@() buttonworth.compare (plan, options{1}));
  endfor
  wrong_kind (@() buttonworth.compare (plan, struct ("how", NaN)), "pointer", "/how");
  for call = {@() buttonworth.convert(5, "g"), @() buttonworth.convert("1 kg", []), @() buttonworth.convert("1 kg", "g", struct("g per ozt", NaN)), ...
              @() buttonworth.schema(5), @() buttonworth.schema("plans"), @() buttonworth.convert_array("1", "g", "kg"), ...
              @() buttonworth.convert_array({1}, "g", "kg"), @() buttonworth.convert_array(true, "g", "kg"), ...
              @() buttonworth.convert_array(1i, "g", "kg"), @() buttonworth.convert_array(1, [1 2], "kg"), ...
              @() buttonworth.limit(context, 5), @() buttonworth.limit(5, "depth"), @() buttonworth.limit(plan, "depth"), ...
              @() buttonworth.set_limit(context, "depth", 2.5), @() buttonworth.set_limit(context, "depth", NaN), ...
              @() buttonworth.set_limit(context, "depth", "5"), @() buttonworth.set_limit(context, "depth", 0), ...
              @() buttonworth.set_limit(context, "deepness", 5), @() buttonworth.with_value(plan, [], 5), ...
              @() buttonworth.with_value(plan, "/discount", @sin), @() buttonworth.with_value(plan, "/discount", NaN), ...
              @() buttonworth.with_value(context, "/discount", "x"), @() buttonworth.text(context), @() buttonworth.close(5), ...
              @() buttonworth.month_take(plan, "deliveries", ""), @() buttonworth.plan(plan_text (), plan), @() buttonworth.settle(5), ...
              @() buttonworth.formula("moisture", "110", 98), @() buttonworth.formula(5, 98), @() buttonworth.formula("moisture", [1 2], 98)}
    fails (call{1}, "class", "usage");
  endfor
endfunction

function test_zero_bytes_do_not_cut_a_text_short ()
  context = buttonworth.context ();
  plan = buttonworth.plan (plan_text (), context);
  for call = {@() buttonworth.with_value(plan, "/discount\0x", "0 %/a"), @() buttonworth.with_value(plan, "/discount", "0 %/a\0x"), ...
              @() buttonworth.limit(context, "depth\0x"), @() buttonworth.schema("plan\0x"), @() buttonworth.plan({"/format\0", "x"}), ...
              @() buttonworth.convert_array(1, "g\0", "kg")}
    wrong_kind (call{1}, "says", "zero byte");
  endfor
  fails (@() buttonworth.convert ("1 g\0", "kg"), "class", "document");
endfunction

%% ---- Handles ------------------------------------------------------------------------------------

function test_closed_twice_and_used_again ()
  context = buttonworth.context ();
  plan = buttonworth.plan (plan_text (), context);
  other = buttonworth.plan (plan_text (), context);
  copy = plan;
  buttonworth.close (plan);
  buttonworth.close (copy);
  closed (@() buttonworth.compare (plan));
  closed (@() buttonworth.text (copy));
  closed (@() buttonworth.with_value (plan, "/discount", "1 %/a"));
  buttonworth.close (context);
  buttonworth.close (context);
  closed (@() buttonworth.plan (plan_text (), context));
  closed (@() buttonworth.plan (plan_rows (), context));
  closed (@() buttonworth.limit (context, "depth"));
  closed (@() buttonworth.compare (other));
  document = buttonworth.decode (buttonworth.text (other));
  same (document.currency, "USD"); % a plan outlives its context
endfunction

function test_a_plan_keeps_its_context ()
  plan = buttonworth.plan (plan_text ());
  same (net (buttonworth.compare (plan)), 4500);
endfunction

%% ---- Plans with one value replaced --------------------------------------------------------------

function test_with_value ()
  plan = buttonworth.plan (plan_text ());
  same (net (buttonworth.compare (buttonworth.with_value (plan, "/prices/Au", "110 USD/g"))), 4950);
  same (net (buttonworth.compare (plan)), 4500);
  other = buttonworth.with_value (plan, "/terms/smelter/pay", struct ("Au", struct ("share", "50 %")));
  same (net (buttonworth.compare (other)), 2500);
  same (net (buttonworth.compare (buttonworth.with_value (other, "/routes/zinc", struct ("keep", true)))), 0);
  fails (@() buttonworth.with_value (plan, "/prices/Ag", "1 USD/g"), "class", "usage", "code", "pointer", "pointer", "/prices/Ag");
  fails (@() buttonworth.with_value (plan, "/lot/wet_mass", "5 oz"), "class", "document", "code", "unit", "pointer", "/lot/wet_mass");
  fails (@() buttonworth.with_value (plan, "/lot/wet_mass", []), "class", "document", "pointer", "/lot/wet_mass");
endfunction

%% ---- Errors -------------------------------------------------------------------------------------

function test_fields_and_the_whole_list ()
  wrong = changed ("discount", "5 kg");
  wrong.lot.wet_mass = "5 oz";
  found = fails (@() buttonworth.compare (wrong), "class", "document", "code", "unit", "status", 209);
  same (numel (found.errors), 2);
  same (found.pointer, found.errors{1}.pointer);
  same (strncmp (found.text, [found.pointer ": "], numel (found.pointer) + 2), true);
  over = struct ("wet_mass", "1 kg", "assays", struct ("Au", "60 %", "Ag", "60 %"));
  fails (@() buttonworth.compare (changed ("lot", over)), "class", "domain");
  try
    buttonworth.formula ("moistness", 1);
  catch problem
    same (problem.identifier, "buttonworth:no_such_name");
  end_try_catch
endfunction

function test_limits ()
  context = buttonworth.context ();
  same (buttonworth.limit (context, "depth"), 64);
  buttonworth.set_limit (context, "depth", int8 (3));
  same (buttonworth.limit (context, "depth"), 3);
  fails (@() buttonworth.plan (plan_text (), context), "class", "document", "code", "limit");
endfunction

%% ---- Units and others ---------------------------------------------------------------------------

function test_convert ()
  same (buttonworth.convert ("1 lb", "g"), "453.59237 g");
  factors.("g per ozt") = "31.1035";
  same (buttonworth.convert ("1 ozt", "g", factors), "31.1035 g");
  fails (@() buttonworth.convert ("1 lb", "h"), "class", "document", "code", "unit");
  same (buttonworth.convert_array ([1 2; 2 1], "ozt", "g"), [31.1034768, 62.2069536; 62.2069536, 31.1034768]);
  same (isnan (buttonworth.convert_array ([1 NaN], "ozt", "g")), [false, true]);
  same (buttonworth.convert_array (-Inf, "ozt", "g"), -Inf);
  same (buttonworth.convert_array (int32 (2), "ozt", "g"), 62.2069536);
  same (size (buttonworth.convert_array (zeros (0, 3), "ozt", "g")), [0, 3]);
  fails (@() buttonworth.convert_array (1, "oz", "g"), "class", "document", "code", "unit");
endfunction

function test_formulas ()
  same (abs (buttonworth.formula ("moisture", 110, 98, 10) - 0.12) < 1e-15, true);
  fails (@() buttonworth.formula ("moistness", 1), "class", "usage", "code", "no such name");
  fails (@() buttonworth.formula ("moisture", 1), "class", "usage", "code", "size");
  fails (@() buttonworth.formula ("moisture", 88, 100), "class", "document", "code", "range");
  same (any (cellfun (@(one) strcmp (one.name, "moisture"), buttonworth.formulas ())), true);
  same (buttonworth.formula_array ("dry_mass", [100; 200], 0.1), [90; 180]);
  same (buttonworth.formula_array ("dry_mass", 100, 0.1), 90);
  same (numel (buttonworth.formula_array ("dry_mass", [], [])), 0);
  same (buttonworth.formula ("dry_mass", int32 (100), 0.1), 90);
  same (buttonworth.formula_array ("dry_mass", int32 ([100; 200]), 0.1), [90; 180]);
  fails (@() buttonworth.formula_array ("moistness", [], []), "class", "usage", "code", "no such name");
  wrong_kind (@() buttonworth.formula_array ("dry_mass", [1 2 3], [0.1 0.2]), "says", "3 2");
  fails (@() buttonworth.formula_array ("dry_mass", [1 2], [0.1 1.2]), "class", "document", "says", "row 1");
endfunction

function test_schema_and_version ()
  same (version (), OCTAVE_VERSION ()); % which stays Octave's
  for name = {"plan", "comparison", "options"}
    same (isfield (buttonworth.schema (name{1}), "$schema"), true);
  endfor
  same (isempty (regexp (buttonworth.version (), '^\d+\.\d+\.\d+$')), false);
endfunction

%% ---- Months -------------------------------------------------------------------------------------

function heading = month_heading ()
  heading = struct ("format", "buttonworth-month/1", "currency", "USD", "from", "2026-03-01", "to", "2026-03-31");
  heading.buyers.smelter.terms = struct ("buys", "concentrate", "pay", struct ("Au", struct ()));
  heading.buyers.smelter.prices.Au = "100 USD/g";
endfunction

function table = deliveries ()
  table = "id,buyer,arrived,wet_mass (kg),Au (g/t)\nK-1,smelter,2026-03-02,1000,50\nK-2,smelter,2026-03-09,500,40\n";
endfunction

function test_a_month_in_pieces ()
  month = buttonworth.month (month_heading ());
  buttonworth.month_take (month, "deliveries", deliveries ()(1:17));
  buttonworth.month_take (month, "deliveries", deliveries ()(18:end));
  book = buttonworth.month_book (month);
  same (str2double (book.total.proceeds), 7000); % 50 g and 20 g at 100 USD/g
  whole = month_heading ();
  whole.deliveries = deliveries ();
  same (buttonworth.book (whole), book);
  fails (@() buttonworth.month_book (month), "class", "usage", "code", "over", "status", 108);
endfunction

function test_a_month_tells_the_row ()
  month = buttonworth.month (month_heading ());
  fails (@() buttonworth.month_take (month, "deliveries", strrep (deliveries (), "2026-03-09", "9 March")), ...
         "class", "document", "pointer", "/deliveries/1/arrived", "says", "row 3");
  buttonworth.close (month);
  closed (@() buttonworth.month_take (month, "deliveries", deliveries ()));
endfunction

%% ---- What would change the answer, and how sure it is -------------------------------------------

function test_documents_and_plans_are_asked_alike ()
  contested = changed ("terms", struct ());
  contested.terms.a = struct ("buys", "concentrate", "pay", struct ("Au", struct ("share", "90 %")));
  contested.terms.b = struct ("buys", "concentrate", "pay", struct ("Au", struct ("share", "95 %")));
  contested.terms.b.charges = {struct("what", "assay", "rate", "9 USD/lot")};
  contested.steps.shaker = struct ("kind", "table", "curve", struct ("Au", struct ("odds", "60")), "cut", struct ("pull", "5 %"));
  contested.routes = struct ("tabled", struct ("step", "shaker", "concentrate", struct ("sell", "a"), "tailings", struct ("keep", true)));
  contested.routes.("to a").sell = "a";
  contested.routes.("to b").sell = "b";
  plan = buttonworth.plan (contested);
  pair = struct ("x", struct ("of", "/prices/Au", "steps", 2), "y", struct ("of", "/lot/wet_mass", "steps", 3));
  same (buttonworth.break_even (contested, struct ("of", "/prices/Au")), buttonworth.break_even (plan, struct ("of", "/prices/Au")));
  same (buttonworth.counter_offers (contested), buttonworth.counter_offers (plan));
  same (buttonworth.forgiving_cut (contested, struct ("points", 3)), buttonworth.forgiving_cut (plan, struct ("points", 3)));
  options.of = {"/prices/Au"};
  same (buttonworth.sensitivity (contested, options), buttonworth.sensitivity (plan, options));
  same (buttonworth.map (contested, pair), buttonworth.map (plan, pair));
  fails (@() buttonworth.break_even (contested, struct ("of", "/prices/Ag")), "class", "usage", "code", "options", "pointer", "/of");
endfunction

function plan = unsure ()
  plan = changed ("prices", struct ("Au", struct ("low", "80 USD/g", "high", "120 USD/g")));
  plan.lot.assays.Au = struct ("value", "50 g/t", "sd", "2 g/t");
endfunction

function test_draws_make_the_answer ()
  [answer, draws] = buttonworth.simulate (unsure (), struct ("draws", 4096, "keep", true));
  worth = draws ("zinc");
  same (size (worth), [4096, 1]);
  % USD/kg, a share, 1000 kg, 90 % paid
  off = draws ("/prices/Au") .* draws ("/lot/assays/Au") * 1000 * 0.9 - worth;
  same (all (abs (off) <= worth * 1e-12), true);
  same (abs (mean (worth) - str2double (answer.routes.zinc.mean)) < 1e-5, true);
  fails (@() draws ("/prices/Ag"), "class", "usage", "code", "pointer", "says", "no draws of this");
  wrong_kind (@() draws (5));
  [~, none] = buttonworth.simulate (unsure (), struct ("draws", 4096));
  fails (@() none ("zinc"), "class", "usage", "code", "pointer", "says", "keep");
endfunction

function test_worth_of_one_more_assay ()
  candidate = struct ("of", "/lot/assays/Au", "error", "4 %", "count", 3, "cost", "65 USD");
  options.draws = 4096;
  options.candidates = {candidate};
  answer = buttonworth.worth (unsure (), options);
  same (numel (answer.candidates{1}.counts), 3);
  same (answer.best, []); % one buyer: whatever it shows, the way is the same
  options.candidates{1}.of = "/lot/assays/Ag";
  fails (@() buttonworth.worth (unsure (), options), "class", "usage", "pointer", "/candidates/0/of");
endfunction

%% ---- Memory -------------------------------------------------------------------------------------

function bytes = resident_bytes ()
  bytes = sscanf (fileread ("/proc/self/statm"), "%d")(2) * 4096;
endfunction

%% Memory that grew while work ran.
function grown = growth (times, work)
  for index = 1:times
    work ();
  endfor
  before = resident_bytes ();
  for index = 1:9 * times
    work ();
  endfor
  grown = resident_bytes () - before;
endfunction

function fail_all (calls)
  global failed_calls;
  for call = calls
    try
      call{1} ();
    catch problem
      failed_calls += strncmp (problem.identifier, "buttonworth:", 12);
    end_try_catch
  endfor
endfunction

function test_failing_calls_leak_nothing ()
  global failed_calls;
  failed_calls = 0;
  context = buttonworth.context ();
  plan = buttonworth.plan (plan_text (), context);
  gone = buttonworth.plan (plan_text (), context);
  buttonworth.close (gone);
  long = repmat ("y", 1, 1000);
  wrong = strrep (plan_text (), "0 %/a", "5 kg");
  calls = {@() buttonworth.plan(wrong, context), @() buttonworth.plan("{", context), @() buttonworth.plan({"/a", "b"}, context), ...
           @() buttonworth.plan({"/a", long; "/c", NaN}, context), @() buttonworth.compare(gone), @() buttonworth.compare(plan, struct("x", 1)), ...
           @() buttonworth.with_value(plan, "/x", long), @() buttonworth.with_value(plan, "/lot/wet_mass", long), ...
           @() buttonworth.convert("1 x", "g"), @() buttonworth.convert_array(1, "x", "g"), @() buttonworth.schema(long)};
  grown = growth (150, @() fail_all (calls));
  same (failed_calls, 16500);
  % Each call has about 1 KB in hand; one in eleven that leaked would show with 1.3 MB. What grows is 0.
  if (grown > 1e6)
    error ("memory grew by %d bytes", grown);
  endif
endfunction

function good (context)
  buttonworth.compare (buttonworth.with_value (buttonworth.plan (plan_text (), context), "/discount", "1 %/a"));
  buttonworth.close (buttonworth.plan (plan_rows (), context));
endfunction

function test_good_calls_leak_nothing ()
  context = buttonworth.context ();
  grown = growth (40, @() good (context));
  if (grown > 1e6)
    error ("memory grew by %d bytes", grown);
  endif
endfunction

%% ---- The README ---------------------------------------------------------------------------------

function run_program (program__)
  eval (program__);
endfunction

function test_the_program_of_the_readme_prints_what_it_says ()
  text = fileread (argv (){1});
  same (sum (text == "\n") <= 40, true);
  program = regexp (text, '```octave\n(.*?)```', "tokens", "once"){1};
  printed = evalc ("run_program (program)");
  expected = cellfun (@(one) one{1}, regexp (program, 'disp \([^\n]*% ([^\n]*)', "tokens"), "UniformOutput", false);
  same (isempty (expected), false);
  same (strtrim (strsplit (strtrim (printed), "\n")), expected);
endfunction

passed = failed = 0;
lines = strsplit (fileread (mfilename ("fullpathext")), "\n");
names = regexp (lines, '^function (test_\w+) ', "tokens", "once");
for name = [names(! cellfun(@isempty, names)){:}]
  try
    feval (name{1});
    passed += 1;
  catch problem
    failed += 1;
    printf ("%s: %s\n", name{1}, problem.message);
  end_try_catch
endfor
printf ("%d passed, %d failed\n", passed, failed);
exit (failed > 0 || passed < 20);
