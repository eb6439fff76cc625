import pathlib
import sys

import buttonworth

print(buttonworth.allocate(pathlib.Path(sys.argv[1]).read_bytes())["present_value"])
