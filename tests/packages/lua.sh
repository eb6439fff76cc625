# The rock in an empty tree, and the tree by Lua's own two paths alone.
. "$(dirname "$0")/common.sh"
lua=$1 luarocks=$2

rock=$(only "$made"/buttonworth-*.rock)
alone "$luarocks" --lua-version 5.4 --tree tree install --deps-mode none "$rock" >installed 2>&1 || fail "$(cat installed)"
alone LUA_PATH="$folder/tree/share/lua/5.4/?.lua" LUA_CPATH="$folder/tree/lib/lua/5.4/?.so" "$lua" "$programs/demo.lua" >said
expect_demo said
says_missing alone LUA_PATH="$folder/tree/share/lua/5.4/?.lua" LUA_CPATH="$folder/tree/lib/lua/5.4/?.so" \
  "$lua" -e 'require("buttonworth").allocate {}'
alone "$luarocks" --lua-version 5.4 --tree tree remove --deps-mode none buttonworth >removed 2>&1 || fail "$(cat removed)"
if find tree -name '*buttonworth*' | grep .; then fail "this was left behind"; fi
