# Debian's package, unpacked: its fields, a program in C, the examples' own, and the modules of Python and Lua.
. "$(dirname "$0")/common.sh"
cc=$1 consumers=$2 version=$3 with_schedule=$4

package=$(only "$made"/buttonworth_*.deb)
field() { dpkg-deb -f "$package" "$1"; }
[ "$(field Package)" = buttonworth ]
[ "$(field Version)" = "$version" ]
[ "$(field Architecture)" = "$(dpkg --print-architecture)" ]
case $(field Maintainer) in *@*) ;; *) fail "who maintains it: $(field Maintainer)" ;; esac
for needed in libc6 libstdc++6; do
  field Depends | grep -q "$needed (>= [0-9]" || fail "does not depend on $needed: $(field Depends)"
done
dpkg-deb -x "$package" root
dpkg-deb -e "$package" control
grep -q "^libbuttonworth [0-9]* buttonworth" control/shlibs
grep -q ldconfig control/postinst
(cd root && md5sum --quiet --check ../control/md5sums)
if find root/usr ! -perm -a=r -o -type f -perm /022 | grep .; then fail "these have odd permissions"; fi

# With the unpacked tree as the system: its pkg-config file, its header, its library.
pc=$(only "$(find root -name buttonworth.pc)")
flags=$(alone PKG_CONFIG_LIBDIR="$folder/${pc%/*}" pkg-config --cflags --libs buttonworth)
library=$(alone PKG_CONFIG_LIBDIR="$folder/${pc%/*}" pkg-config --variable=libdir buttonworth)
# shellcheck disable=SC2086 # flags are words
"$cc" "$consumers/consumer.c" -o consumer $flags
[ "$(alone LD_LIBRARY_PATH="$library" ./consumer)" = "sold leaves 4500.00, by version $version" ]
only root/usr/share/doc/buttonworth/FORMAT.md >/dev/null
examples=root/usr/share/doc/buttonworth/examples
# shellcheck disable=SC2086
"$cc" $examples/compare.c $examples/page/*.c -o compare $flags -lm
alone LD_LIBRARY_PATH="$library" ./compare --json $examples/demo/plan.json >answer.json
"$compare" --json plan.json | cmp - answer.json

if [ -d root/usr/lib/python3 ]; then
  alone PYTHONPATH="$folder/root/usr/lib/python3/dist-packages" PYTHONDONTWRITEBYTECODE=1 \
    "$python" "$programs/demo.py" >said
  expect_demo said
fi
if [ -d root/usr/share/lua ]; then
  alone LUA_PATH="$folder/root/usr/share/lua/5.4/?.lua" LUA_CPATH="$folder/root/usr/lib/lua/5.4/?.so" \
    lua5.4 "$programs/demo.lua" >said
  expect_demo said
fi

# The library of schedules is another package, which comes on top of this one.
if [ "$with_schedule" = 1 ]; then
  if find root -name '*schedule*.so*' | grep .; then fail "that belongs to the other package"; fi
  package=$(only "$made"/buttonworth-schedule_*.deb)
  [ "$(field Package)" = buttonworth-schedule ]
  field Depends | grep -q "buttonworth (= $version)" || fail "does not depend on its own version: $(field Depends)"
  field Depends | grep -q "coinor-libcbc" || fail "does not depend on the solver: $(field Depends)"
  field Depends | grep -q "libc6 (>= [0-9]" || fail "does not depend on libc6: $(field Depends)"
  if [ -d root/usr/lib/python3 ]; then
    says_missing alone PYTHONPATH="$folder/root/usr/lib/python3/dist-packages" PYTHONDONTWRITEBYTECODE=1 \
      "$python" "$programs/allocate.py" "$programs/allocate.json"
  fi
  dpkg-deb -x "$package" root
  only root/usr/share/doc/buttonworth-schedule/copyright >/dev/null
  flags=$(alone PKG_CONFIG_LIBDIR="$folder/${pc%/*}" pkg-config --cflags --libs buttonworth_schedule)
  # shellcheck disable=SC2086
  "$cc" "$consumers/schedule.c" -o schedule $flags
  [ "$(alone LD_LIBRARY_PATH="$library" ./schedule)" = "2 lots joined leave 2790.00" ]
  if [ -d root/usr/lib/python3 ]; then
    allocated=$(alone PYTHONPATH="$folder/root/usr/lib/python3/dist-packages" PYTHONDONTWRITEBYTECODE=1 \
      "$python" "$programs/allocate.py" "$programs/allocate.json")
    [ "$allocated" = 2790.00 ] || fail "with the other package Python says: $allocated"
  fi
fi
