# The package as pkg installs it, into lists and folders of its own.
. "$(dirname "$0")/common.sh"
octave=$1

package=$(only "$made"/buttonworth-octave-*.tar.gz)
pkg="pkg ('prefix', '$folder/packages', '$folder/packages'); pkg ('local_list', '$folder/list');"
alone "$octave" --norc --no-history --quiet --eval "$pkg pkg ('install', '-local', '$package');"
alone "$octave" --norc --no-history --quiet --eval "$pkg pkg ('load', 'buttonworth'); source ('$programs/demo.m');" >said
expect_demo said
says_missing alone "$octave" --norc --no-history --quiet --eval "$pkg pkg ('load', 'buttonworth'); buttonworth.allocate ('{}');"
alone "$octave" --norc --no-history --quiet --eval "$pkg pkg ('uninstall', '-local', 'buttonworth');"
if find packages -name '*buttonworth_core*' | grep .; then fail "this was left behind"; fi
