"""A flat document for each function: its examples with their arguments in cells, a row of mistakes, arrays."""

import json
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT / "bindings" / "spreadsheet" / folder) for folder in ("generate", "office")]
import table as tables  # noqa: E402
from office import ArrayFormula, Failure, Formula, place  # noqa: E402

TABLE = tables.read(ROOT / "bindings" / "spreadsheet" / "functions.json")
VECTORS = {one["id"]: one for one in json.loads((ROOT / "tests" / "vectors" / "core.json").read_text(encoding="utf-8"))["vectors"]}
WRONG, NO_SOLUTION, MISSING = Failure("Err:502"), Failure("Err:523"), Failure("#N/A")


class NotInRows(ValueError):
    """A document that the spreadsheet form cannot state, as it holds plain numbers."""


def rows_of(value, pointer=""):
    """The spreadsheet form of a document: [pointer, value]."""
    if isinstance(value, (dict, list)) and value:
        entries = value.items() if isinstance(value, dict) else enumerate(value)
        return [row for name, one in entries
                for row in rows_of(one, f"{pointer}/{str(name).replace('~', '~0').replace('/', '~1')}")]
    if isinstance(value, str) and value not in ("true", "false", "null", "{}", "[]", ""):
        return [[pointer, value]]
    if value is True or value is False or value is None or value in ({}, []):
        return [[pointer, json.dumps(value)]]
    raise NotInRows(pointer)


def shows(vector, expected):
    """What a cell shows where a vector expects this: the function for it, the value, and a tolerance; nothing if any will do."""
    if expected == {"exists": True}:
        return None
    if expected is None or expected == {"exists": False}:
        return "BW_FIGURE", MISSING, 0
    if isinstance(expected, dict):
        return "BW_TEXT", expected, 0
    number = re.fullmatch(r"(-?\d+(?:\.\d+)?)(?: (\S+))?", expected) if isinstance(expected, str) else None
    if not number:
        return "BW_FIGURE", expected if isinstance(expected, str) else str(expected).lower(), 0
    per = 100 if number[2] == "%" else 1
    tolerance = max(float(vector.get("tolerance", 0)) / per, 1e-12 * abs(float(number[1])))
    return "BW_FIGURE", float(number[1]) / per, tolerance


def shows_of_bad(vector):
    """What a bad vector's cell shows, and the words that explain it; nothing if it is a document of another call."""
    if vector["error"].get("code") == "format":
        return None
    return NO_SOLUTION if vector["error"].get("class") == "no solution" else WRONG, vector["error"].get("says", [])


class Sheet:
    """Rows of cells, and what some of them must show after they are worked out."""

    def __init__(self):
        self.rows, self.expected = [], {}

    def add(self, values):
        self.rows.append(list(values))
        return len(self.rows) - 1

    def put_range(self, rows):
        """Cells that stand as given; what a formula calls them."""
        first = len(self.rows)
        for row in rows:
            self.add(row)
        width = max(len(row) for row in rows)
        if len(rows) == 1 and width == 1:
            return f"[.{place(first, 0, True)}]"
        return f"[.{place(first, 0, True)}:.{place(len(self.rows) - 1, width - 1, True)}]"

    def expect(self, formula, expected, tolerance=0, why=""):
        row = self.add([formula])
        self.expected[row, 0] = (expected, tolerance, why)
        return row


def argument(sheet, value, vector):
    """A value in cells of its own, as a formula names it; left out where it is null."""
    if value is None:
        return ""
    if value == "@":
        return sheet.put_range(rows_of(vector["request"]))
    return sheet.put_range(value if isinstance(value, list) else [[value]])


def formula(function, arguments):
    return Formula(f"{TABLE.long_name(function)}({';'.join(arguments)})")


def add_case(sheet, function, case, expected, why):
    vector = VECTORS.get(case.get("vector"))
    arguments = [argument(sheet, value, vector) for value in case["arguments"]]
    if "row" not in case:
        return sheet.expect(formula(function, arguments), expected, case.get("tolerance", 0), why)
    filled = ArrayFormula(formula(function, arguments), case["row"], case["column"])
    first = sheet.add([filled])
    for _ in range(case["row"] - 1):
        sheet.add([])
    sheet.expected[first + case["row"] - 1, case["column"] - 1] = (expected, case.get("tolerance", 0), why)
    return first


def add_array(sheet, function):
    """The first example again as an array of rows: right, wrong by a text, right, empty."""
    example = function.entry["examples"][0]
    numbers = [k for k, one in enumerate(function.arguments[:len(example["arguments"])]) if one.kind == "number"]
    given = example["arguments"]
    right = [given[k] for k in numbers]
    block = [right, ["no number", *right[1:]], right, [None, *right[1:]]]
    first = len(sheet.rows)
    sheet.put_range(block)
    names = {k: f"[.{place(first, column, True)}:.{place(first + 3, column, True)}]" for column, k in enumerate(numbers)}
    arguments = [names.get(k) or argument(sheet, value, None) for k, value in enumerate(given)]
    top = sheet.add([ArrayFormula(formula(function, arguments), 4, 1)])
    for _ in range(3):
        sheet.add([])
    for row, expected in enumerate((example["gives"], WRONG, example["gives"], MISSING)):
        sheet.expected[top + row, 0] = (expected, example["tolerance"], f"row {row} of the array")


def sheet_of(function):
    sheet = Sheet()
    for example in function.entry["examples"]:
        add_case(sheet, function, example, example["gives"], "example")
    wrong, missing = function.entry.get("wrong"), function.entry.get("missing")
    if wrong:
        row = add_case(sheet, function, wrong, WRONG, "mistake")
        explain = next(one for one in TABLE.functions if one.work == "explain")
        arguments = sheet.rows[row][0].split("(", 1)[1][:-1]
        sheet.expect(formula(explain, [f'"{function.name}"', arguments]), {"says": wrong["says"]}, why="its explanation")
    if missing:
        add_case(sheet, function, missing, MISSING, "missing")
    if function.work in ("formula", "convert", "payable"):
        sheet.expect(formula(function, []), MISSING, why="all arguments left out")
        add_array(sheet, function)
    return sheet


def differs(shown, expected, tolerance):
    if isinstance(expected, dict):
        words = expected["says"] if isinstance(expected["says"], list) else [expected["says"]]
        return not isinstance(shown, str) or any(word.lower() not in shown.lower() for word in words)
    if isinstance(expected, Failure) or isinstance(shown, Failure) or isinstance(expected, str):
        return type(shown) is not type(expected) or shown != expected
    return not isinstance(shown, float) or not abs(shown - expected) <= max(tolerance, 1e-14 * abs(expected))


def mistakes(sheet, shown, name):
    """What a worked document shows otherwise than it must."""
    found = []
    for at, (expected, tolerance, why) in sheet.expected.items():
        value = shown.get(at, "")
        if differs(value, expected, tolerance):
            cell = sheet.rows[at[0]][0] if sheet.rows[at[0]] else ""
            found.append(f"{name} {place(*at)} ({why}): {value!r} where {expected!r} is wanted: {cell}")
    return found
