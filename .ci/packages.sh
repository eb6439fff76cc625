# Sourced by examples/run and tests/run. Both functions fail, having said why, where packages stay missing.

say() { printf '%s\n' "$*" >&2; }

# Runs a command without a word, unless it fails: then shows what it said.
quietly() {
  log=$(mktemp)
  if "$@" >"$log" 2>&1; then
    rm -f "$log"
  else
    cat "$log" >&2
    rm -f "$log"
    return 1
  fi
}

# Runs a command as root: as it is, or through sudo where that asks for no password.
as_root() {
  if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo -n "$@"; fi
}

can_install() {
  command -v apt-get >/dev/null || return 1
  [ "$(id -u)" -eq 0 ] || sudo -n true 2>/dev/null
}

# install_packages NAME... installs Debian's packages. The lists of a new machine are empty or old.
install_packages() {
  if ! can_install; then
    say "Please install these packages, then run this again (names as in Debian): $*"
    return 1
  fi
  say "Installing: $*"
  quietly as_root env DEBIAN_FRONTEND=noninteractive apt-get -q update &&
    quietly as_root env DEBIAN_FRONTEND=noninteractive apt-get -q install -y --no-install-recommends "$@"
}

# need_packages NAME... installs those that are missing.
need_packages() {
  missing=
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
  done
  # shellcheck disable=SC2086 # one word a package
  [ -z "$missing" ] || install_packages $missing
}
