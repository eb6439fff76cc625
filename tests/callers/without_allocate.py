"""The vectors without those of a month of lots: python3 without_allocate.py core.json fewer.json"""

import json
import sys

with open(sys.argv[1], encoding="utf-8") as file:
    whole = json.load(file)
whole["vectors"] = [vector for vector in whole["vectors"] if vector["call"] != "allocate"]
with open(sys.argv[2], "w", encoding="utf-8") as file:
    json.dump(whole, file)
