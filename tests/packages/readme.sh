# The packages that the pages name are those that are made.
. "$(dirname "$0")/common.sh"

cat "$@" | grep -oE 'buttonworth[-_][^ `:]*\.(whl|rock|tar\.gz|jar|deb)' | sort -u >named
while read -r pattern; do
  # shellcheck disable=SC2086 # a pattern, as a reader types it
  only "$made"/$pattern >/dev/null
done <named
for page in "$@"; do
  grep -qE 'buttonworth[-_][^ `:]*\.(whl|rock|tar\.gz|jar|deb)' "$page" || fail "$page names no package"
done
[ "$(wc -l <named)" -eq 7 ] || fail "seven packages are wanted: $(cat named)"
