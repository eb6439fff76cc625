-- The Lua module beyond the vectors: handles, kinds of values, errors, memory, the README.
--     lua5.4 test_lua.lua bindings/lua/README.md
local bw = require "buttonworth"

local plan_table = {
  format = "buttonworth-plan/1", currency = "USD", prices = { Au = "100 USD/g" }, discount = "0 %/a",
  lot = { wet_mass = "1000 kg", assays = { Au = "50 g/t" } }, steps = {},
  terms = { smelter = { buys = "concentrate", pay = { Au = { share = "90 %" } } } },
  routes = { zinc = { sell = "smelter" }, ["as it is"] = { sell = "smelter" }, ["Meg/1"] = { keep = true } },
} -- 1 t x 50 g/t x 90 % x 100 USD/g = 4500 USD

local plan_rows = {
  { "/format", "buttonworth-plan/1" }, { "/currency", "USD" }, { "/prices/Au", "100 USD/g" },
  { "/discount", "0 %/a" }, { "/lot/wet_mass", "1000 kg" }, { "/lot/assays/Au", "50 g/t" }, { "/steps", "{}" },
  { "/terms/smelter/buys", "concentrate" }, { "/terms/smelter/pay/Au/share", "90 %" },
  { "/routes/zinc/sell", "smelter" }, { "", "" }, { "/routes/as it is/sell", "smelter" },
  { "/routes/Meg~11/keep", true },
}

local plan_text = [[{"format":"buttonworth-plan/1","currency":"USD","prices":{"Au":"100 USD/g"},"discount":"0 %/a",
  "lot":{"wet_mass":"1000 kg","assays":{"Au":"50 g/t"}},"steps":{},
  "terms":{"smelter":{"buys":"concentrate","pay":{"Au":{"share":"90 %"}}}},
  "routes":{"zinc":{"sell":"smelter"},"as it is":{"sell":"smelter"},"Meg/1":{"keep":true}}}]]

local function changed(field, value)
  local copy = {}
  for name, other in pairs(plan_table) do copy[name] = other end
  copy[field] = value
  return copy
end

local function net(answer, route)
  return tonumber(answer.routes[route or "zinc"].net)
end

local function names(object)
  local list = {}
  for name in pairs(object) do list[#list + 1] = name end
  return table.concat(list, ",")
end

local function same(found, expected)
  if found ~= expected then
    error("found " .. tostring(found) .. ", expected " .. tostring(expected), 2)
  end
end

--- The error that a call raises, with these fields.
local function fails(fields, call, ...)
  local went_well, raised = pcall(call, ...)
  if went_well then error("no error came", 2) end
  if not bw.is_error(raised) then error("another kind of error: " .. tostring(raised), 2) end
  for name, expected in pairs(fields) do
    if raised[name] ~= expected then
      error(name .. " is " .. tostring(raised[name]) .. ", expected " .. tostring(expected)
        .. "; " .. tostring(raised), 2)
    end
  end
  return raised
end

local usage = { class = "usage", code = "kind", status = 105 }
local closed = { class = "usage", code = "null", status = 101 }

local tests = {}

-- ---- Documents -----------------------------------------------------------------------------------

function tests.every_kind_of_document_is_the_same_plan()
  local read = bw.decode(plan_text)
  for kind, document in pairs { text = plan_text, table = plan_table, rows = plan_rows, read = read } do
    local answer = bw.compare(document)
    same(net(answer), 4500)
    same(net(answer, "as it is"), 4500)
    same(net(answer, "Meg/1"), 0)
    same(names(answer.routes), kind == "table" and "Meg/1,as it is,zinc" or "zinc,as it is,Meg/1")
  end
end

function tests.a_table_that_was_read_keeps_its_order()
  local read = bw.decode(plan_text)
  same(names(read), "format,currency,prices,discount,lot,steps,terms,routes")
  read.currency, read.later, read.also = nil, false, bw.null
  same(names(read), "format,prices,discount,lot,steps,terms,routes,also,later")
  same(bw.encode(bw.decode('{"z":1,"a":[],"b":{}}')), '{"z":1,"a":[],"b":{}}')
end

function tests.json_goes_in_and_out()
  for _, text in ipairs {
    "null", "true", "false", "0", "-5", "2.5", "9223372036854775807", '""', '"a\\"\\\\/\\n\\u0001"', "[]", "{}",
    "[1,[2,null],{}]", '{"":{"a":[null]}}', "0.1", "1e+300", '"\u{20ac}"',
  } do
    same(bw.encode(bw.decode(text)), text)
  end
  same(bw.decode("[null]")[1], bw.null)
  same(math.type(bw.decode("3")), "integer")
  same(bw.decode("18446744073709551615"), 2.0 ^ 64)
  same(bw.encode(bw.list()), "[]")
  same(bw.encode {}, "{}")
  same(bw.encode { 1.0, 2 ^ 53, -0.1 }, "[1,9007199254740992,-0.1]")
  for _, text in ipairs { "", "{", "nul", '{"a":1,"a":2}', "[1,]", "{} {}", "{}\0", ("["):rep(1000) } do
    same(fails({ class = "document", code = "json" }, bw.decode, text).pointer, "")
  end
  for _, value in ipairs { 5, true, {}, bw.null, print } do fails(usage, bw.decode, value) end
  fails(usage, bw.decode, nil)
end

function tests.what_no_document_can_hold()
  local circle = {}
  circle.again = circle
  assert(fails(usage, bw.compare, circle).text:find "itself")
  for _, value in ipairs { 0 / 0, math.huge, -math.huge, print, coroutine.create(print), io.stdout } do
    fails({ class = "usage", code = "kind", pointer = "/lot/A~1u~0/1" }, bw.compare,
      changed("lot", { ["A/u~"] = { 1, value } }))
  end
  fails({ class = "usage", code = "kind", pointer = "/lot" }, bw.compare, changed("lot", { 1, 2, x = 3 }))
  fails({ class = "usage", code = "kind", pointer = "/lot" }, bw.compare, changed("lot", { [2.5] = 1 }))
  fails({ class = "usage", code = "kind", pointer = "/lot" }, bw.compare, changed("lot", { [true] = 1 }))
  assert(fails(usage, bw.compare, { lot = 0 / 0 }).text:find "NaN")
end

function tests.rows()
  fails({ class = "document" }, bw.compare, { { "/discount", 0.5 } })  -- the number reaches the reader
  same(net(bw.compare(bw.decode(bw.encode(plan_rows)))), 4500)
  fails({ class = "usage", pointer = "/a" }, bw.compare, { { "/a", "b", "c" } })
  fails({ class = "usage", pointer = "/a" }, bw.compare, { { "/a" } })
  fails({ class = "usage", pointer = "/a" }, bw.compare, { { "/a", 0 / 0 } })
  for _, row in ipairs { "ab", 5, { 5, "b" }, { bw.null, "b" }, {} } do fails(usage, bw.compare, { row }) end
  fails({ class = "document" }, bw.compare, bw.list())
end

function tests.text_that_is_not_utf_8()
  fails({ class = "document", code = "utf8" }, bw.compare, '{"\xff":1}')
  fails({ class = "document", code = "utf8" }, bw.compare, { ["\xff"] = 1 })
end

-- ---- Wrong kinds ---------------------------------------------------------------------------------

function tests.where_a_plan_is_wanted()
  local context = bw.context()
  assert(fails(usage, bw.compare).text:find "a plan is text")
  for _, document in ipairs { 5, true, print, bw.null, io.stdout } do
    fails(usage, bw.compare, document)
    fails(usage, context.plan, context, document)
  end
  fails({ class = "document", pointer = "/lot", code = "type" }, bw.compare, changed("lot", bw.null))
end

function tests.other_parameters()
  local context = bw.context()
  local plan = context:plan(plan_table)
  for _, options in ipairs { 5, true, print, bw.null } do fails(usage, plan.compare, plan, options) end
  fails({ class = "usage" }, plan.compare, plan, { how = 0 / 0 })
  assert(not pcall(plan.compare, plan, { hwo = true }))
  for _, call in ipairs {
    function() bw.convert(5, "g") end, function() bw.convert("1 kg") end, function() bw.convert("1 kg", "g", 5) end,
    function() bw.schema() end, function() bw.schema "plans" end,
    function() bw.convert_array({ 1, "2" }, "g", "kg") end,
    function() bw.convert_array({ 1, nil, 3 }, "g", "kg") end, function() bw.convert_array({ 1 }, nil, "kg") end,
    function() bw.convert_array({ 1 }, "g", 5) end, function() bw.convert_array(5, "g", "kg") end,
    function() context:limit(5) end, function() context:set_limit("depth", 2.5) end,
    function() context:set_limit("depth", 0 / 0) end, function() context:set_limit("depth", "5") end,
    function() context:set_limit("depth", 0) end, function() context:set_limit("deepness", 5) end,
    function() context:set_limit(nil, 5) end,
    function() plan:with_value(nil, "x") end, function() plan:with_value("/discount") end,
    function() plan:with_value("/discount", print) end, function() plan:with_value("/discount", 0 / 0) end,
  } do
    fails({ class = "usage" }, call)
  end
end

function tests.a_dot_instead_of_a_colon()
  local context = bw.context()
  local plan = context:plan(plan_table)
  for _, call in ipairs { context.plan, plan.compare, plan.compare_text, plan.text, plan.close, context.close } do
    assert(fails(usage, call, "x").text:find "colon")
    fails(usage, call)
  end
  fails(usage, context.close, plan)
end

function tests.zero_bytes_do_not_cut_a_text_short()
  local context = bw.context()
  local plan = context:plan(plan_table)
  for _, call in ipairs {
    function() plan:with_value("/discount\0x", "0 %/a") end, function() plan:with_value("/discount", "0 %/a\0x") end,
    function() context:limit "depth\0x" end, function() bw.schema "plan\0x" end,
    function() context:plan { { "/format\0", "x" } } end, function() bw.convert_array({ 1 }, "g\0", "kg") end,
  } do
    fails(usage, call)
  end
  fails({ class = "document" }, bw.convert, "1 g\0", "kg")
end

-- ---- Handles -------------------------------------------------------------------------------------

function tests.closed_twice_and_used_again()
  local context = bw.context()
  local plan, other = context:plan(plan_table), context:plan(plan_table)
  plan:close()
  plan:close()
  fails(closed, plan.compare, plan)
  fails(closed, plan.compare_text, plan)
  fails(closed, plan.text, plan)
  fails(closed, plan.with_value, plan, "/discount", "1 %/a")
  context:close()
  context:close()
  fails(closed, context.plan, context, plan_table)
  fails(closed, context.plan, context, plan_rows)
  fails(closed, context.limit, context, "depth")
  fails(closed, context.set_limit, context, "depth", 5)
  fails(closed, other.compare, other)
  fails(closed, other.with_value, other, "/discount", "1 %/a")
  same(bw.decode(other:text()).currency, "USD") -- a plan outlives its context
end

function tests.to_be_closed_variables()
  local kept
  do
    local context <close> = bw.context()
    local plan <close> = context:plan(plan_table)
    kept = plan
    same(net(plan:compare()), 4500)
  end
  fails(closed, kept.text, kept)
end

function tests.a_plan_keeps_its_context()
  local plan = bw.context():plan(plan_table)
  collectgarbage()
  collectgarbage()
  same(net(plan:compare()), 4500)
end

function tests.coroutines_share_a_context()
  local context = bw.context()
  local function work()
    for _ = 1, 5 do
      same(net(context:plan(plan_table):compare()), 4500)
      fails({ code = "json" }, context.plan, context, "{")
      coroutine.yield()
    end
  end
  local one, other = coroutine.wrap(work), coroutine.wrap(work)
  for _ = 1, 5 do
    one()
    other()
  end
end

-- ---- Plans with one value replaced ---------------------------------------------------------------

function tests.with_value()
  local context = bw.context()
  local plan = context:plan(plan_text)
  same(net(plan:with_value("/prices/Au", "110 USD/g"):compare()), 4950)
  same(net(plan:compare()), 4500)
  local other = plan:with_value("/terms/smelter/pay", { Au = { share = "50 %" } })
  same(net(other:compare()), 2500)
  same(names(other:with_value("/routes/zinc", { keep = true }):compare().routes), "zinc,as it is,Meg/1")
  fails({ class = "usage", code = "pointer", pointer = "/prices/Ag" },
    plan.with_value, plan, "/prices/Ag", "1 USD/g")
  fails({ class = "document", code = "unit", pointer = "/lot/wet_mass" },
    plan.with_value, plan, "/lot/wet_mass", "5 oz")
  fails({ class = "document", pointer = "/lot/wet_mass" }, plan.with_value, plan, "/lot/wet_mass", bw.null)
end

-- ---- Errors --------------------------------------------------------------------------------------

function tests.fields_and_the_whole_list()
  local wrong = changed("discount", "5 kg")
  wrong.lot = { wet_mass = "5 oz", assays = { Au = "50 g/t" } }
  local raised = fails({ class = "document", code = "unit", status = 209 }, bw.compare, wrong)
  same(#raised.errors, 2)
  same(raised.pointer, raised.errors[1].pointer)
  same(tostring(raised), raised.text)
  same(raised.text:sub(1, #raised.pointer + 2), raised.pointer .. ": ")
  local pointers = { [raised.errors[1].pointer] = true, [raised.errors[2].pointer] = true }
  assert(pointers["/discount"] and pointers["/lot/wet_mass"])
  fails({ class = "domain" }, bw.compare, changed("lot", { wet_mass = "1 kg", assays = { Au = "60 %", Ag = "60 %" } }))
  for _, value in ipairs { "text", 5, {}, setmetatable({}, { __name = "other" }) } do
    same(bw.is_error(value), false)
  end
  same(bw.is_error(nil), false)
end

function tests.limits()
  local context = bw.context()
  same(context:limit "depth", 64)
  same(math.type(context:limit "depth"), "integer")
  context:set_limit("depth", 3.0)
  same(context:limit "depth", 3)
  fails({ class = "document", code = "limit" }, context.plan, context, plan_table)
end

-- ---- Units and others ----------------------------------------------------------------------------

function tests.convert()
  same(bw.convert("1 lb", "g"), "453.59237 g")
  same(bw.convert("1 ozt", "g", { ["g per ozt"] = "31.1035" }), "31.1035 g")
  fails({ class = "document", code = "unit" }, bw.convert, "1 lb", "h")
  local values = { 1, 2.0, 0 / 0, -math.huge }
  local grams = bw.convert_array(values, "ozt", "g")
  same(#grams, 4)
  same(grams[1], 31.1034768)
  same(grams[2], 62.2069536)
  assert(grams[3] ~= grams[3])
  same(grams[4], -math.huge)
  same(values[1], 1)
  same(#bw.convert_array({}, "ozt", "g"), 0)
  fails({ class = "document", code = "unit" }, bw.convert_array, { 1 }, "oz", "g")
end

function tests.formulas()
  assert(math.abs(bw.formula("moisture", 110, 98, 10) - 0.12) < 1e-15)
  assert(math.abs(bw.formula("moisture", 100, 88) - 0.12) < 1e-15)
  fails({ class = "usage", code = "no such name" }, bw.formula, "moistness", 1)
  fails({ class = "usage", code = "size" }, bw.formula, "moisture", 1)
  fails({ class = "document", code = "range" }, bw.formula, "moisture", 88, 100)
  fails({ class = "usage" }, bw.formula, "moisture", "110", 98)
  fails({ class = "usage" }, bw.formula, nil, 98)
  assert(fails(usage, bw.formula).text:find "not nil")
  assert(fails(usage, bw.formula, "moisture", bw.null).text:find "not null")
  fails({ class = "usage" }, bw.formula, "moisture\0", 100, 88)
  fails({ class = "usage", code = "size" }, bw.formula, "moisture", table.unpack({ 1, 2, 3, 4, 5, 6, 7, 8, 9 }))
  fails({ class = "usage", code = "size" }, bw.formula, "moisture", ("x"):rep(40):byte(1, 40))
  fails({ class = "document", code = "range" }, bw.formula, "moisture", 0 / 0, 88)
  local dry = bw.formula_array("dry_mass", { 100, 200.0 }, 0.1)
  same(#dry, 2)
  same(dry[2], 180.0)
  same(#bw.formula_array("dry_mass", {}, {}), 0)
  same(#bw.formula_array("dry_mass", {}, 0.1), 0)
  fails({ class = "usage", code = "no such name" }, bw.formula_array, "moistness", {}, {})
  assert(fails(usage, bw.formula_array, "grain_mass", { 0.1 }, nil, 0.9).text:find("argument 2", 1, true))
  same(bw.formula_array("dry_mass", 100, 0.1)[1], 90.0)
  assert(fails(usage, bw.formula_array, "dry_mass", { 1, 2, 3 }, { 0.1, 0.2 }).text:find("3, 2", 1, true))
  assert(fails({ class = "document" }, bw.formula_array, "dry_mass", { 1, 2 }, { 0.1, 1.2 }).text:find "row 1")
  for _, column in ipairs { "1", { 1, "2" }, bw.null } do
    fails({ class = "usage" }, bw.formula_array, "dry_mass", column, 0.1)
  end
  local found = false
  for _, one in ipairs(bw.formulas()) do found = found or one.name == "moisture" end
  assert(found)
end

function tests.schema_and_version()
  for _, name in ipairs { "plan", "comparison", "options" } do assert(bw.schema(name)["$schema"]) end
  assert(bw.version():match "^%d+%.%d+%.%d+$")
end

function tests.no_globals()
  same(rawget(_G, "buttonworth"), nil)
  same(rawget(_G, "buttonworth_core"), nil)
end

-- ---- Memory --------------------------------------------------------------------------------------

local function resident_bytes()
  local file <close> = assert(io.open "/proc/self/statm")
  return tonumber(file:read "a":match "^%d+ (%d+)") * 4096
end

--- Memory that grew while work ran.
local function growth(work)
  work(1000)
  collectgarbage()
  collectgarbage()
  local before = resident_bytes()
  work(9000)
  collectgarbage()
  collectgarbage()
  return resident_bytes() - before
end

function tests.failing_calls_leak_nothing()
  local context = bw.context()
  local plan, gone = context:plan(plan_table), context:plan(plan_table)
  gone:close()
  local wrong, long = changed("discount", "5 kg"), ("y"):rep(1000)
  local calls = {
    function() context:plan(wrong) end, function() context:plan "{" end, function() context:plan { { "/a", "b" } } end,
    function() context:plan { { "/a", long }, { "/c" } } end, function() gone:compare() end,
    function() plan:compare { x = 1 } end, function() plan:with_value("/x", long) end,
    function() plan:with_value("/lot/wet_mass", long) end, function() bw.convert("1 x", "g") end,
    function() bw.convert_array({ 1 }, "x", "g") end, function() bw.schema(long) end,
    function() bw.decode '{"a":[{"b"' end, function() bw.formula("moisture", 88, 100) end,
    function() bw.formula("moisture", long) end, function() bw.formula(long, 1) end,
  }
  local grown = growth(function(times)
    for _ = 1, times do
      for _, call in ipairs(calls) do fails({}, call) end
    end
  end)
  -- 135,000 calls, each with about 1 KB in hand.
  if grown > 8000000 then error("memory grew by " .. grown .. " bytes") end
  local held = collectgarbage "count"
  for _ = 1, 1000 do
    for _, call in ipairs(calls) do fails({}, call) end
  end
  collectgarbage()
  collectgarbage()
  assert(collectgarbage "count" - held < 200, "Lua holds what failing calls left") -- KB, of 15,000 calls
end

function tests.good_calls_leak_nothing()
  local context = bw.context()
  local grown = growth(function(times)
    for _ = 1, times // 10 do
      context:plan(plan_table):with_value("/discount", "1 %/a"):compare()
      context:plan(plan_rows):close()
    end
  end)
  if grown > 8000000 then error("memory grew by " .. grown .. " bytes") end
end

-- ---- The README ----------------------------------------------------------------------------------

function tests.the_program_of_the_readme_prints_what_it_says()
  local file <close> = assert(io.open(arg[1]))
  local text = file:read "a"
  local _, lines = text:gsub("\n", "")
  assert(lines <= 40)
  local program = assert(text:match "```lua\n(.-)```")
  local printed, expected = {}, {}
  local host = setmetatable({
    print = function(...)
      local shown = table.pack(...)
      for index = 1, shown.n do shown[index] = tostring(shown[index]) end
      printed[#printed + 1] = table.concat(shown, " ")
    end,
  }, { __index = _G })
  assert(load(program, "README.md", "t", host))()
  for comment in program:gmatch "\nprint%b() %-%- ([^\n]*)" do expected[#expected + 1] = comment end
  assert(#expected > 0)
  same(table.concat(printed, "\n"), table.concat(expected, "\n"))
end

-- ---- Months --------------------------------------------------------------------------------------

local heading = {
  format = "buttonworth-month/1", currency = "USD", from = "2026-03-01", to = "2026-03-31",
  buyers = { smelter = { terms = { buys = "concentrate", pay = { Au = {} } }, prices = { Au = "100 USD/g" } } },
}
local deliveries = "id,buyer,arrived,wet_mass (kg),Au (g/t)\nK-1,smelter,2026-03-02,1000,50\nK-2,smelter,2026-03-09,500,40\n"

function tests.a_month_in_pieces()
  local month <close> = bw.month(heading)
  month:take("deliveries", deliveries:sub(1, 17))
  month:take("deliveries", deliveries:sub(18))
  same(tonumber(month:book().total.proceeds), 7000) -- 50 g and 20 g at 100 USD/g
  fails({ class = "usage", code = "over", status = 108 }, month.book, month)
end

function tests.a_month_tells_the_row()
  local month <close> = bw.month(heading)
  local raised = fails({ class = "document", pointer = "/deliveries/1/arrived" }, month.take, month, "deliveries",
    (deliveries:gsub("2026%-03%-09", "9 March")))
  assert(tostring(raised):find("row 3", 1, true))
end

function tests.a_closed_month()
  local month = bw.month(heading)
  month:close()
  fails(closed, month.take, month, "deliveries", deliveries)
end

-- ---- What would change the answer ----------------------------------------------------------------

function tests.functions_ask_the_plan()
  local contested = changed("terms", {
    a = { buys = "concentrate", pay = { Au = { share = "90 %" } } },
    b = { buys = "concentrate", pay = { Au = { share = "95 %" } }, charges = bw.list { { what = "assay", rate = "9 USD/lot" } } },
  })
  contested.steps = { shaker = { kind = "table", curve = { Au = { odds = "60" } }, cut = { pull = "5 %" } } }
  contested.routes = {
    ["to a"] = { sell = "a" }, ["to b"] = { sell = "b" },
    tabled = { step = "shaker", concentrate = { sell = "a" }, tailings = { keep = true } },
  }
  local context <close> = bw.context()
  local plan <close> = context:plan(contested)
  local pair = { x = { of = "/prices/Au", steps = 2 }, y = { of = "/lot/wet_mass", steps = 3 } }
  for name, options in pairs {
    break_even = { of = "/prices/Au" }, counter_offers = {}, forgiving_cut = { points = 3 },
    sensitivity = { of = bw.list { "/prices/Au" } }, map = pair,
  } do
    local answer = bw.encode(bw[name](contested, options))
    same(answer, bw.encode(plan[name](plan, options)))
    assert(answer:find("buttonworth%-"), answer)
  end
  fails({ class = "usage", code = "options", pointer = "/of" }, bw.break_even, contested, { of = "/prices/Ag" })
end

-- ---- Simulations ---------------------------------------------------------------------------------

local unsure = changed("prices", { Au = { low = "80 USD/g", high = "120 USD/g" } })
unsure.lot = { wet_mass = "1000 kg", assays = { Au = { value = "50 g/t", sd = "2 g/t" } } }
local kept = { draws = 4096, keep = true }

function tests.draws_make_the_answer()
  local answer, draws = bw.simulate(unsure, kept)
  local worth, prices, grades = draws "zinc", draws "/prices/Au", draws "/lot/assays/Au"
  same(#worth, answer.draws)
  local sum = 0
  for i = 1, #worth do
    sum = sum + worth[i]
    -- USD/kg, a share, 1000 kg, 90 % paid
    assert(math.abs(prices[i] * grades[i] * 1000 * 0.9 - worth[i]) <= worth[i] * 1e-12)
  end
  assert(math.abs(sum / #worth - tonumber(answer.routes.zinc.mean)) < 1e-5)
end

function tests.draws_outlive_plan_and_context()
  local answer, draws
  do
    local context <close> = bw.context()
    local plan <close> = context:plan(unsure)
    answer, draws = plan:simulate(kept)
  end
  collectgarbage()
  collectgarbage()
  same(#draws "zinc", answer.draws)
end

function tests.draws_that_were_not_kept()
  local _, draws = bw.simulate(unsure, kept)
  assert(fails({ class = "usage", code = "pointer" }, draws, "/prices/Ag").text:find "no draws of this")
  fails(usage, draws)
  fails(usage, draws, 5)
  fails(usage, draws, "zinc\0")
  local _, none = bw.simulate(unsure, { draws = 4096 })
  assert(fails({ class = "usage", code = "pointer" }, none, "zinc").text:find "keep")
end

function tests.worth_of_one_more_assay()
  local candidate = { of = "/lot/assays/Au", error = "4 %", count = 3, cost = "65 USD" }
  local answer = bw.worth(unsure, { draws = 4096, candidates = { candidate } })
  same(#answer.candidates[1].counts, 3)
  same(answer.best, bw.null) -- one buyer: whatever it shows, the way is the same
  candidate.of = "/lot/assays/Ag"
  fails({ class = "usage", pointer = "/candidates/0/of" }, bw.worth, unsure, { candidates = { candidate } })
end

local passed, failed, order = 0, 0, {}
for name in pairs(tests) do order[#order + 1] = name end
table.sort(order)
for _, name in ipairs(order) do
  local went_well, fault = xpcall(tests[name], function(raised)
    return bw.is_error(raised) and debug.traceback(tostring(raised)) or debug.traceback(raised)
  end)
  if went_well then passed = passed + 1 else failed = failed + 1 end
  if not went_well then print(name .. ": " .. tostring(fault)) end
end
print(passed .. " passed, " .. failed .. " failed")
os.exit(failed == 0, true)
