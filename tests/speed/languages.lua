-- What calling from Lua costs: languages.lua DEMO.json [--quick]; prints JSON, the processor's times in ns.
local bw = require "buttonworth"
local core = require "buttonworth_core"

local rounds = arg[2] == "--quick" and 3 or 11

--- The median time of one call.
local function each(times, call)
  local found = {}
  for round = 1, rounds do
    local begun = os.clock()
    for _ = 1, times do call() end
    found[round] = (os.clock() - begun) / times * 1e9
  end
  table.sort(found)
  return found[(rounds + 1) // 2]
end

local file <close> = assert(io.open(arg[1]))
local text = file:read "a"
local document, formula, version = bw.decode(text), bw.formula, core.version
print(bw.encode {
  empty = each(100000, function() return version() end),
  formula = each(100000, function() return formula("moisture", 110.0, 98.0, 10.0) end),
  text = each(5, function() bw.compare(text) end),
  table = each(5, function() bw.compare(document) end),
})
