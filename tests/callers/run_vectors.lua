-- Runs every vector through the Lua module: lua5.4 run_vectors.lua core.json [told.txt]
local bw = require "buttonworth"

local nowhere = {}

--- What stands at a JSON pointer, or nowhere.
local function stands_at(answer, pointer)
  for part in pointer:gmatch("/([^/]*)") do
    if type(answer) ~= "table" then return nowhere end
    local name = part:gsub("~1", "/"):gsub("~0", "~")
    local index = math.tointeger(tonumber(name))
    if #answer > 0 and index then answer = answer[index + 1] else answer = answer[name] end
    if answer == nil then return nowhere end
  end
  return answer
end

local function says(text, words)
  for _, word in ipairs(words or {}) do
    if not text:lower():find(word:lower(), 1, true) then return false end
  end
  return true
end

--- The number and the unit of a text, or nothing.
local function number_of(text)
  local number, rest = text:match("^(%-?%d+%.?%d*)(.*)$")
  if not number or number:sub(-1) == "." or not (rest == "" or rest:match("^ %S+$")) then return nil end
  return tonumber(number), rest
end

--- Whether two texts are numbers of one unit and near enough; nil if they are not both numbers.
local function numbers_agree(found, expected, tolerance, relative)
  local one, unit = number_of(found)
  local other, wanted_unit = number_of(expected)
  if not one or not other then return nil end
  return unit == wanted_unit and math.abs(one - other) <= math.max(tolerance, math.abs(other) * relative)
end

local function holds(found, expected, tolerance, relative)
  if type(expected) == "table" then
    if expected.exists ~= nil then return (found ~= nowhere) == expected.exists end
    return type(found) == "string" and says(found, expected.says)
  end
  if found == expected then return true end
  if type(found) ~= "string" or type(expected) ~= "string" then return false end
  return numbers_agree(found, expected, tolerance, relative) or false
end

local on_a_request = { settle = true, reconcile = true, book = true, dispute = true, metal_call = true, bench = true,
  allocate = true }

local function answer_of(vector, options)
  local request = vector.request
  if on_a_request[vector.call] then return bw[vector.call](vector.text or request) end
  if vector.call == "convert" then return bw.convert(request.quantity, request.to, request.factors) end
  if vector.call == "formula" then
    return string.format("%.17g", bw.formula(request.name, table.unpack(request.arguments)))
  end
  if vector.call ~= "compare" then
    local context <close> = bw.context()
    local plan <close> = context:plan(vector.text or request)
    return plan[vector.call](plan, options)
  end
  return bw.compare(vector.text or request, options)
end

local function shown(value)
  if value == nowhere then return "nothing" end
  return bw.encode(value)
end

--- What differs from what is expected. Text of many digits must be the same text: a double lacks them.
local function check_good(vector, options, relative)
  local answer = answer_of(vector, options)
  local faults, tolerance = {}, tonumber(vector.tolerance or "0")
  for pointer, expected in pairs(vector.expected) do
    local found = pointer == "" and answer or stands_at(answer, pointer)
    local right = holds(found, expected, tolerance, relative)
    if vector.id == "unit-many-digits" then right = found == expected end
    if not right then
      faults[#faults + 1] = pointer .. ": " .. shown(found) .. " stands there, expected is " .. shown(expected)
    end
  end
  return faults
end

local function is_error(one, expected)
  for _, field in ipairs { "class", "code", "pointer" } do
    if expected[field] ~= nil and one[field] ~= expected[field] then return false end
  end
  return says(one.text, expected.says)
end

local function among(errors, expected)
  for _, one in ipairs(errors) do
    if is_error(one, expected) then return true end
  end
  return false
end

local function check_bad(vector, options)
  local went_well, raised = pcall(answer_of, vector, options)
  if went_well then return { "no error came" } end
  if not bw.is_error(raised) then return { "another kind of error: " .. tostring(raised) } end
  local faults, first = {}, raised.errors[1]
  if raised.class ~= first.class or raised.code ~= first.code or raised.status ~= first.status then
    faults[1] = "the error's fields are not those of the first of the list"
  end
  for _, expected in ipairs(vector.errors or { vector.error }) do
    if not among(raised.errors, expected) then
      faults[#faults + 1] = "not among the errors: " .. bw.encode(expected) .. "; they are " .. bw.encode(raised.errors)
    end
  end
  return faults
end

local function joined_names(object)
  local names = {}
  for name in pairs(object) do
    if name ~= "note" then names[#names + 1] = name end
  end
  return table.concat(names, "\n")
end

--- The order of routes of a table that remembers it is the answer's.
local function check_order(vector)
  local found = joined_names(answer_of(vector).routes)
  return found == joined_names(vector.request.routes) and {} or { "the routes come as " .. found }
end

local function with_double(options)
  local copy = { arithmetic = "double" }
  for name, value in pairs(options or {}) do copy[name] = value end
  return copy
end

local passed, failed, told = 0, 0, {}

--- Whether a check finds no fault.
local function run(name, check, ...)
  local went_well, faults = pcall(check, ...)
  if not went_well then faults = { tostring(faults) } end
  if #faults == 0 then passed = passed + 1 else failed = failed + 1 end
  for _, fault in ipairs(faults) do print(name .. ": " .. fault) end
  return #faults == 0
end

--- For the table of all languages: what kind of vector passed, and what an error said.
local function tell(vector, kind, text)
  told[#told + 1] = table.concat({ vector.call, kind, vector.id, (text:gsub("[\r\n\t]", " ")) }, "\t") .. "\n"
end

local function run_vector(vector)
  local id, options = vector.id, vector.options
  if not vector.expected then
    if run(id, check_bad, vector, options) then tell(vector, "bad", tostring(select(2, pcall(answer_of, vector, options)))) end
    return
  end
  if run(id, check_good, vector, options, 0) then tell(vector, "good", "") end
  if vector.call ~= "compare" then return end
  if not (options and options.routes) then run(id .. " (order)", check_order, vector) end
  if options and options.arithmetic then return end
  run(id .. " (double)", check_good, vector, with_double(options), id:find("^edge%-") and 0 or 1e-9)
end

local file <close> = assert(io.open(arg[1], "rb"))
for _, vector in ipairs(bw.decode(file:read "a").vectors) do run_vector(vector) end
if arg[2] then
  local out <close> = assert(io.open(arg[2], "wb"))
  out:write(table.concat(told))
end
print(passed .. " passed, " .. failed .. " failed")
os.exit(failed == 0 and passed > 0, true)
