# The jar and Gson's, and nothing else: the library is inside, and nothing of it stays in the folder for what is temporary.
. "$(dirname "$0")/common.sh"
java=$1 gson=$2

cp "$(only "$made"/buttonworth-*.jar)" buttonworth.jar
alone "$java" -Djava.io.tmpdir="$folder/tmp" -cp "buttonworth.jar:$gson" "$programs/Demo.java" >said
expect_demo said
if find tmp -name '*buttonworth*' | grep .; then fail "this was left behind"; fi
says_missing alone "$java" -Djava.io.tmpdir="$folder/tmp" -cp "buttonworth.jar:$gson" "$programs/Allocate.java"
