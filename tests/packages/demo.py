import pathlib

import buttonworth

answer = buttonworth.compare(pathlib.Path("plan.json").read_bytes())
print(answer["best"], answer["routes"][answer["best"]]["net"])
print(pathlib.Path("/proc/self/maps").read_text())
