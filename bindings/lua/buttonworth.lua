--- Buttonworth: which way of handling and selling gold concentrate leaves the most.
--
--     local bw = require "buttonworth"
--     local answer = bw.compare(io.open("plan.json"):read "a")
--     print(answer.best, answer.routes[answer.best].net)
--
-- Documents are JSON; the format's page describes them. Figures of answers are exact decimals, as text.
--
-- A plan is JSON text, a table, or rows: a list of {pointer, value}. A table of Lua has no order, so
-- its names are taken by the alphabet; where the order of routes matters, give text, rows, or a table
-- that bw.decode made, which remembers it. So do answers: pairs(answer.routes) goes in the plan's order.
-- JSON's null is bw.null. A list is a table with the keys 1 to n; an empty list is bw.list().
--
-- Errors are tables with class, code, status, pointer, text and errors (the list of all that were
-- found together); tostring(error) is the text. bw.is_error tells them from others.

local core = require "buttonworth_core"

local bw = {}

--- What stands for JSON's null. In a condition it is true: compare with ==.
bw.null = core.decode("null")

local list_type = {} -- the metatable of lists

-- ---- Tables and JSON text ------------------------------------------------------------------------

--- The names that a table remembers, in their order; see in_order.
local function remembered(object)
  local names = getmetatable(object)
  return type(names) == "table" and rawget(names, "__pairs") and names or {}
end

--- The names of an object: those it remembers first, the others by the alphabet.
local function names_of(object)
  local names, known = {}, {}
  for _, name in ipairs(remembered(object)) do
    known[name] = true
    if rawget(object, name) ~= nil then names[#names + 1] = name end
  end
  local others = {}
  for name in next, object do
    if not known[name] then others[#others + 1] = name end
  end
  table.sort(others, function(a, b) return tostring(a) < tostring(b) end)
  for _, name in ipairs(others) do names[#names + 1] = name end
  return names
end

--- The __pairs of tables that were read from JSON: goes through them in the document's order.
local function in_order(object)
  local names, index = names_of(object), 0
  return function()
    index = index + 1
    local name = names[index]
    if name ~= nil then return name, object[name] end
  end
end

--- The table of a JSON text.
function bw.decode(text)
  if type(text) ~= "string" then core.refuse("", "JSON text is wanted here, not " .. type(text)) end
  return core.decode(text, in_order, list_type)
end

--- Makes a list of a table, or an empty one: an empty table by itself is an object.
function bw.list(table_of_items)
  return setmetatable(table_of_items or {}, list_type)
end

local escapes = { ['"'] = '\\"', ["\\"] = "\\\\", ["\n"] = "\\n", ["\r"] = "\\r", ["\t"] = "\\t" }

local function quoted(text)
  return '"' .. text:gsub('[\0-\31"\\]', function(char)
    return escapes[char] or ("\\u%04x"):format(char:byte())
  end) .. '"'
end

local function part_of_pointer(name)
  return "/" .. tostring(name):gsub("~", "~0"):gsub("/", "~1")
end

local function number_text(number, pointer)
  if number ~= number or number == math.huge or number == -math.huge then
    local name = number ~= number and "NaN" or tostring(number)
    core.refuse(pointer, name .. " stands here; wanted is a number, or text")
  end
  if math.type(number) == "integer" then return tostring(number) end
  local short = ("%.15g"):format(number)
  -- A host may have set a locale that writes a comma.
  -- In brackets, since gsub tells a count too.
  return ((tonumber(short) == number and short or ("%.17g"):format(number)):gsub(",", "."))
end

local function is_list(value)
  return getmetatable(value) == list_type or #value > 0
end

local encode_value

local function encode_list(list, pointer, depth)
  local texts = {}
  for name in next, list do
    if math.type(name) ~= "integer" or name < 1 or name > #list then
      core.refuse(pointer, "a list has the keys 1 to n, but this one has " .. tostring(name) .. " too")
    end
  end
  for index = 1, #list do
    texts[index] = encode_value(list[index], pointer .. "/" .. (index - 1), depth)
  end
  return "[" .. table.concat(texts, ",") .. "]"
end

local function encode_object(object, pointer, depth)
  local texts = {}
  for _, name in ipairs(names_of(object)) do
    if type(name) ~= "string" then
      core.refuse(pointer, "the names of an object are text, but this one has " .. tostring(name) .. " too")
    end
    local member = encode_value(object[name], pointer .. part_of_pointer(name), depth)
    texts[#texts + 1] = quoted(name) .. ":" .. member
  end
  return "{" .. table.concat(texts, ",") .. "}"
end

local deepest = 512 -- the most that a context's limit can be set to

function encode_value(value, pointer, depth)
  local kind = type(value)
  if value == bw.null then return "null" end
  if kind == "string" then return quoted(value) end
  if kind == "boolean" then return tostring(value) end
  if kind == "number" then return number_text(value, pointer) end
  if kind ~= "table" then core.refuse(pointer, "a " .. kind .. " has no place in a document") end
  if depth == deepest then core.refuse("", "the document is nested too deeply, or holds itself") end
  return (is_list(value) and encode_list or encode_object)(value, pointer, depth + 1)
end

--- The JSON text of a value.
function bw.encode(value)
  return encode_value(value, "", 0)
end

-- ---- What comes in -------------------------------------------------------------------------------

local function kind_of(value)
  return value == bw.null and "null" or type(value)
end

local function need(value, kind, what)
  if type(value) ~= kind then core.refuse("", what .. " is a " .. kind .. ", not " .. kind_of(value)) end
  return value
end

--- One cell of a plan's spreadsheet form.
local function cell_text(value, pointer)
  if type(value) == "string" then return value end
  if value == nil then core.refuse(pointer, "no value stands here; null is bw.null") end
  return encode_value(value, pointer, 0)
end

local function row_list(rows)
  local gathered = core.RowList()
  for number = 1, #rows do
    local row = rows[number]
    local pointer = need(need(row, "table", "row " .. number)[1], "string", "the pointer of row " .. number)
    if row[3] ~= nil then core.refuse(pointer, "row " .. number .. " has more than a pointer and a value") end
    gathered:add(pointer, cell_text(row[2], pointer))
  end
  return gathered
end

local function options_text(options)
  if options == nil then return "" end
  if type(options) == "string" then return options end
  return bw.encode(need(options, "table", "the options"))
end

--- The text of an answer that is needed no longer.
local function finish(answer)
  local text = answer:text()
  answer:close()
  return text
end

-- ---- Context and plan ----------------------------------------------------------------------------

local Context = { __name = "buttonworth.context" }
Context.__index = Context

local Plan = { __name = "buttonworth.plan" }
Plan.__index = Plan

local Month = { __name = "buttonworth.month" }
Month.__index = Month

--- The handle of an object that was called with a colon.
local function handle_of(object, class)
  if getmetatable(object) ~= class then
    core.refuse("", "this is no " .. class.__name .. ": call with a colon, as in plan:compare()")
  end
  return object.handle
end

--- A context: limits of what is read. Frees itself; close does so at once, and so does <close>.
function bw.context()
  return setmetatable({ handle = core.ContextHandle() }, Context)
end

local function new_plan(context, handle)
  return setmetatable({ context = context, handle = handle }, Plan)
end

--- Reads a plan: text, a table, or rows.
function Context:plan(document)
  local handle = handle_of(self, Context)
  if type(document) == "string" then return new_plan(self, handle:plan(document)) end
  if type(document) ~= "table" then
    core.refuse("", "a plan is text, a table or rows of a pointer and a value, not " .. kind_of(document))
  end
  if is_list(document) then return new_plan(self, handle:plan_of_rows(row_list(document))) end
  return new_plan(self, handle:plan(bw.encode(document)))
end

--- One of the limits a document must keep to, such as "depth"; the C interface names them.
function Context:limit(name)
  return handle_of(self, Context):get_limit(need(name, "string", "a limit's name"))
end

--- Sets a limit.
function Context:set_limit(name, value)
  local whole = math.tointeger(need(value, "number", "a limit"))
  if whole == nil then core.refuse("", "a limit is a whole number, not " .. value) end
  handle_of(self, Context):set_limit(need(name, "string", "a limit's name"), whole)
end

--- Frees the context, again and again if you like. Its plans can then no longer be compared.
function Context:close()
  handle_of(self, Context):close()
end
Context.__close = Context.close

--- The answer of a call on a plan under options.
local function ask_plan(call, plan, options)
  local handle, context = handle_of(plan, Plan), plan.context.handle
  return context[call](context, handle, options_text(options))
end

local function compare_text(plan, options)
  return finish(ask_plan("compare", plan, options))
end

--- Works out every route: a comparison.
function Plan:compare(options)
  return bw.decode(compare_text(self, options))
end

--- The same as JSON text.
function Plan:compare_text(options)
  return compare_text(self, options)
end

--- Every value of one quantity at which another route takes the lead: plan:break_even { of = "/prices/Au" }.
function Plan:break_even(options)
  return bw.decode(finish(ask_plan("break_even", self, options)))
end

--- What each losing buyer would have to change for his route to win, in words too.
function Plan:counter_offers(options)
  return bw.decode(finish(ask_plan("counter_offers", self, options)))
end

--- How far the cut of a table may be off before it costs more than a sum.
function Plan:forgiving_cut(options)
  return bw.decode(finish(ask_plan("forgiving_cut", self, options)))
end

--- What each quantity does to every route and to the lead, what matters most first.
function Plan:sensitivity(options)
  return bw.decode(finish(ask_plan("sensitivity", self, options)))
end

--- Which route leads over two quantities: plan:map { x = { of = "/prices/Au" }, y = { of = "/lot/wet_mass" } }.
function Plan:map(options)
  return bw.decode(finish(ask_plan("map", self, options)))
end

--- Draws the uncertain quantities many times: how sure each route is, and what knowing more is worth. Gives
-- the answer and a function: where the options had keep = true, draws(name) is the list of what a route is
-- worth, or an input of this JSON pointer is, draw by draw; NaN where a draw was left out.
function Plan:simulate(options)
  local answer = ask_plan("simulate", self, options)
  return bw.decode(answer:text()), function(name)
    local context <close> = bw.context()
    return context.handle:draws(answer, need(name, "string", "a route or a pointer"))
  end
end

--- What measuring an uncertain quantity once or several times more is worth; options name the candidates.
function Plan:worth(options)
  return bw.decode(finish(ask_plan("worth", self, options)))
end

--- A plan like this one with the value at a JSON pointer replaced by a text, number, boolean, table or
-- bw.null. Text is taken as a spreadsheet's cell is: "true", "false" and "null" are not text, and
-- neither is JSON text of a list or an object.
function Plan:with_value(pointer, value)
  local handle = handle_of(self, Plan)
  local text = cell_text(value, need(pointer, "string", "a pointer"))
  return new_plan(self.context, self.context.handle:plan_with(handle, pointer, text))
end

--- The plan's document as JSON text.
function Plan:text()
  return handle_of(self, Plan):text()
end

--- Frees the plan, again and again if you like.
function Plan:close()
  handle_of(self, Plan):close()
end
Plan.__close = Plan.close

-- ---- Calls without a context ---------------------------------------------------------------------

--- Reads a plan and works out every route of it.
function bw.compare(document, options)
  local context <close> = bw.context()
  local plan <close> = context:plan(document)
  return plan:compare(options)
end

--- Reads a plan and draws it many times: the answer, and a function that gives its draws.
function bw.simulate(document, options)
  local context <close> = bw.context()
  local plan <close> = context:plan(document)
  return plan:simulate(options)
end

--- Reads a plan and tells what measuring an uncertain quantity of it once more is worth.
function bw.worth(document, options)
  local context <close> = bw.context()
  local plan <close> = context:plan(document)
  return plan:worth(options)
end

--- Each reads a plan and does the plan's job of that name: bw.break_even(document, options), and so on.
for _, name in ipairs { "break_even", "counter_offers", "forgiving_cut", "sensitivity", "map" } do
  bw[name] = function(document, options)
    local context <close> = bw.context()
    local plan <close> = context:plan(document)
    return plan[name](plan, options)
  end
end

-- A request of its own: a table or JSON text.
local function request_text(request, what)
  return type(request) == "table" and bw.encode(request) or need(request, "string", what)
end

-- A call on a request of its own, with a context of its own.
local function ask(call, request, what)
  local text = request_text(request, what)
  local context <close> = bw.context()
  return bw.decode(finish(context.handle[call](context.handle, text)))
end

--- What a buyer owes for one delivery, a table or JSON text: the statement.
function bw.settle(delivery)
  return ask("settle", delivery, "a delivery")
end

--- The book of a month of deliveries, a table or JSON text.
function bw.book(month)
  return ask("book", month, "a month")
end

--- Opens a month whose tables come in pieces: its heading, a table or JSON text.
function bw.month(heading)
  local text = request_text(heading, "a month")
  local context = bw.context()
  return setmetatable({ context = context, handle = context.handle:month(text) }, Month)
end

--- The next piece of a table, "deliveries" or "received", the first with its header, cut anywhere.
function Month:take(name, csv)
  local handle = handle_of(self, Month)
  self.context.handle:month_take(handle, need(name, "string", "a table's name"), need(csv, "string", "a table"))
end

--- Ends the tables: the book. The month is over after it.
function Month:book()
  return bw.decode(finish(self.context.handle:month_close(handle_of(self, Month))))
end

--- Frees the month, again and again if you like.
function Month:close()
  handle_of(self, Month):close()
end
Month.__close = Month.close

--- Where a buyer's return, or many returns, differ from what was due, part by part. A table or JSON text.
function bw.reconcile(delivery_and_return)
  return ask("reconcile", delivery_and_return, "a delivery and its return")
end

--- What contesting an assay is worth, before the exchange or before the umpire. A table or JSON text.
function bw.dispute(request)
  return ask("dispute", request, "a dispute")
end

--- Metal called for against metal accounted for, stage by stage. A table or JSON text.
function bw.metal_call(request)
  return ask("metal_call", request, "streams and stages")
end

--- Sampling, a lot from a run sheet, balances, curves, flux, bars, waiting: the request's format says which.
function bw.bench(request)
  return ask("bench", request, "a request to the bench")
end

--- A month of lots decided together, by the library of schedules. A table or JSON text.
function bw.allocate(request)
  return ask("allocate", request, "lots to allocate")
end

--- One figure of plain numbers: bw.formula("two_product_recovery", 0.008, 0.25, 0.0015) is 0.8174….
bw.formula = core.formula

--- A formula over whole columns: lists of one length, single numbers standing for every row. Where a row has no
-- result the error says which.
function bw.formula_array(name, ...)
  local columns, rows, values = table.pack(...), nil, {}
  for index = 1, columns.n do
    local column = columns[index]
    if type(column) ~= "table" then need(column, "number", "argument " .. index)
    elseif #column ~= (rows or #column) then
      core.refuse("", "the columns are not of one length: " .. rows .. ", " .. #column)
    else rows = #column end
  end
  rows = rows or math.min(columns.n, 1)
  for _, column in ipairs(columns) do  -- none is nil
    for row = 1, rows do
      local value = column
      if type(column) == "table" then value = need(column[row], "number", "entry " .. row) end
      values[#values + 1] = value
    end
  end
  local context <close> = bw.context()
  return context.handle:formula_array(need(name, "string", "a formula's name"), values, rows)
end

--- The formulas, each with its arguments in order.
function bw.formulas()
  local context <close> = bw.context()
  return bw.decode(finish(context.handle:formulas()))
end

--- A quantity in another unit of its dimension, exactly: bw.convert("1 lb", "g") is "453.59237 g".
-- factors is a table, as in a plan; nil for the exact ones.
function bw.convert(quantity, to, factors)
  local request = { quantity = need(quantity, "string", "a quantity"), to = need(to, "string", "a unit") }
  if factors ~= nil then request.factors = need(factors, "table", "the factors") end
  local context <close> = bw.context()
  return bw.decode(finish(context.handle:convert(bw.encode(request))))
end

--- A list of numbers in another unit. NaN and infinities pass through.
function bw.convert_array(values, from, to)
  for index = 1, #need(values, "table", "a list of numbers") do
    need(values[index], "number", "entry " .. index)
  end
  need(from, "string", "a unit")
  local context <close> = bw.context()
  return context.handle:convert_array(values, from, need(to, "string", "a unit"), #values)
end

--- The JSON Schema (draft 7) of a document: "plan", "comparison", "options", "delivery", "statement", …
function bw.schema(name)
  local context <close> = bw.context()
  return bw.decode(finish(context.handle:schema(need(name, "string", "a schema's name"))))
end

--- The library's version.
function bw.version()
  return core.version()
end

--- Whether a value is an error of this module.
function bw.is_error(value)
  local class = type(value) == "table" and getmetatable(value)
  return class and class.__name == "buttonworth.error" or false
end

return bw
