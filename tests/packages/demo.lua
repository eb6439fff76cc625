local bw = require "buttonworth"

local function all_of(path)
  local file <close> = assert(io.open(path, "rb"))
  return file:read "a"
end

local answer = bw.compare(all_of "plan.json")
print(answer.best .. " " .. answer.routes[answer.best].net)
print(all_of "/proc/self/maps")
