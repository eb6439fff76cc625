# Sourced by the tests of packages, whose first arguments are: the folder of the packages, an empty folder to work
# in, the demonstration plan, the program that compares over the C interface, Python.
made=$1 folder=$2 demo=$3 compare=$4 python=$5
programs=$(cd "$(dirname "$0")" && pwd)
shift 5

fail() {
  printf '%s\n' "$*" >&2
  exit 1
}

# The one file that a pattern finds.
only() {
  [ $# -eq 1 ] && [ -f "$1" ] || fail "one package is wanted, not: $*"
  printf '%s\n' "$1"
}

# Runs a program with nothing of our environment.
alone() { env -i PATH=/usr/bin:/bin LANG=C.UTF-8 HOME="$folder/home" TMPDIR="$folder/tmp" "$@"; }

# A language's program printed the best route and what it leaves, then what it has loaded. All of ours that it
# loaded comes from our folder, and C says the same.
expect_demo() {
  answer=$(head -n 1 "$1")
  [ "$answer" = "$expected" ] || fail "the package says: $answer; in C: $expected"
  sed -n '1d; s|^[^/]*\(/.*buttonworth.*\)|\1|p' "$1" | sort -u >loaded
  grep -q 'libbuttonworth\.so' loaded || fail "the library is not among what was loaded"
  if grep -v "^$folder/" loaded; then fail "this was loaded from elsewhere"; fi
}

# Runs a program that asks for lots to be allocated where the library for that is not: it says what to do.
says_missing() {
  if "$@" >missing 2>&1; then fail "without the library of schedules: $(cat missing)"; fi
  for word in "libbuttonworth_schedule.so.0 is missing" BUTTONWORTH_SCHEDULE=ON CBC; do
    grep -qF -e "$word" missing || fail "$word is not said: $(cat missing)"
  done
}

rm -rf "$folder"
mkdir -p "$folder/tmp" "$folder/home"
cd "$folder"
cp "$demo" plan.json
expected=$("$compare" --json plan.json | "$python" -c '
import json, sys
answer = json.load(sys.stdin)
print(answer["best"], answer["routes"][answer["best"]]["net"])')
[ -n "$expected" ]
