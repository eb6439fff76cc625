# The source package: R's own check of it, and its use, with a library that pkg-config finds where it was installed.
. "$(dirname "$0")/common.sh"
r=$1 rscript=$2

package=$(only "$made"/buttonworth_*.tar.gz)
cp -r "$made/prefix" prefix # where nothing but the library is known
pc=$(only "$(find prefix -name buttonworth.pc)")
mkdir library
alone PKG_CONFIG_PATH="$folder/${pc%/*}" "$r" CMD INSTALL --library=library "$package" \
  >install.log 2>&1 || fail "$(cat install.log)"
alone R_LIBS="$folder/library" "$rscript" --vanilla "$programs/demo.R" >said
expect_demo said
# The library of schedules lies beside the library.
if [ -e "$(find prefix -name libbuttonworth_schedule.so.0)" ]; then
  allocated=$(alone R_LIBS="$folder/library" "$rscript" --vanilla -e \
    "cat(buttonworth::bw_allocate(paste(readLines('$programs/allocate.json'), collapse = ' '))\$present_value)")
  [ "$allocated" = 2790.00 ] || fail "R says: $allocated"
fi
# The check looks at the installation that was made, and does not make another. A clock on the network is not asked.
alone PKG_CONFIG_PATH="$folder/${pc%/*}" _R_CHECK_SYSTEM_CLOCK_=false "$r" CMD check --no-manual --library=library \
  --install=check:install.log "$package" >check.log 2>&1 || fail "$(cat check.log)"
if grep -E 'WARNING|ERROR' check.log; then fail "R's check is not content"; fi
grep -q '^Status: ' check.log
