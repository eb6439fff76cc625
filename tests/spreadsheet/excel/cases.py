"""What cells of Excel are to show: the table's examples and mistakes, each vector that a range of pointers can state.

    cases.py FILE

Writes a JSON list of {function, arguments, row, column, shows, tolerance, why}: an argument is null where it is left out, a
value, or a list of rows; `shows` is a number, a text, {"says": words} or {"error": CVErr's name}.
"""

import json
import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent))
from documents import MISSING, NO_SOLUTION, TABLE, VECTORS, WRONG, NotInRows, rows_of, shows, shows_of_bad  # noqa: E402

ERRORS = {WRONG: "xlErrValue", NO_SOLUTION: "xlErrNum", MISSING: "xlErrNA"}
EXPLAIN = next(one.name for one in TABLE.functions if one.work == "explain")
BY_FORMAT = ("compare", "settle", "bench", "reconcile", "book", "dispute", "metal_call")


def case(function, arguments, wanted, why, row=1, column=1, tolerance=0):
    return {"function": function, "arguments": arguments, "row": row, "column": column, "tolerance": tolerance, "why": why,
            "shows": {"error": ERRORS[wanted]} if not isinstance(wanted, dict) and wanted in ERRORS else wanted}


def filled(entry):
    return [rows_of(VECTORS[entry["vector"]]["request"]) if value == "@" else value for value in entry["arguments"]]


def of_function(one):
    for example in one.entry["examples"]:
        place = {name: example[name] for name in ("row", "column", "tolerance") if name in example}
        yield case(one.name, filled(example), example["gives"], "example", **place)
    if "wrong" in one.entry:
        yield case(one.name, filled(one.entry["wrong"]), WRONG, "mistake")
        yield case(EXPLAIN, [one.name, *filled(one.entry["wrong"])], {"says": [one.entry["wrong"]["says"]]}, "explained")
    if "missing" in one.entry:
        yield case(one.name, filled(one.entry["missing"]), MISSING, "missing")
    if one.work in ("formula", "convert", "payable"):
        yield case(one.name, [None] * len(one.arguments), MISSING, "all left out")
        yield from of_array(one)


def of_array(one):
    """The first example again as rows: right, wrong by a text, right, empty."""
    example = one.entry["examples"][0]
    numbers = [k for k, argument in enumerate(one.arguments[:len(example["arguments"])]) if argument.kind == "number"]
    arguments = list(example["arguments"])
    for k in numbers:
        first = k == numbers[0]
        arguments[k] = [[arguments[k]], ["no number" if first else arguments[k]], [arguments[k]], [None if first else arguments[k]]]
    for row, wanted in enumerate((example["gives"], WRONG, example["gives"], MISSING), 1):
        yield case(one.name, arguments, wanted, "array", row, tolerance=example["tolerance"])


def of_vector(vector):
    if vector["call"] not in BY_FORMAT or "request" not in vector or "options" in vector:
        return
    try:
        document = rows_of(vector["request"])
    except NotInRows:
        return
    for pointer, expected in vector.get("expected", {}).items():
        if (wanted := shows(vector, expected)) is not None:
            function, value, tolerance = wanted
            yield case(function, [document, pointer], value, vector["id"], tolerance=tolerance)
    if "error" in vector and (wanted := shows_of_bad(vector)) is not None:
        yield case("BW_FIGURE", [document, "/format"], wanted[0], vector["id"])
        yield case(EXPLAIN, ["BW_FIGURE", document, "/format"], {"says": wanted[1]}, vector["id"])


def main():
    cases = [one for function in TABLE.functions for one in of_function(function)]
    cases += [one for vector in VECTORS.values() for one in of_vector(vector)]
    pathlib.Path(sys.argv[1]).write_text(json.dumps(cases, ensure_ascii=False), encoding="utf-8")


if __name__ == "__main__":
    main()
