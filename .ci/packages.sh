# Sourced by examples/run and tests/run: need_packages NAME... installs what is missing of Debian's
# packages as root or through sudo, or says what to install and stops.
need_packages() {
  missing=
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
  done
  [ -n "$missing" ] || return 0
  if [ "$(id -u)" = 0 ]; then
    as_root=
  elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
    as_root=sudo
  else
    echo "These packages are missing; install them, then run this again:" >&2
    echo "  apt-get install$missing" >&2
    exit 1
  fi
  echo "Installing:$missing" >&2
  log=$(mktemp)
  # The lists of a new machine are empty or old.
  if ! { $as_root apt-get update && $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $missing; } >"$log" 2>&1; then
    cat "$log" >&2
    rm -f "$log"
    exit 1
  fi
  rm -f "$log"
}
