"""Runs every vector through the Python module: python3 run_vectors.py core.json [told.txt]"""

import json
import re
import sys
from decimal import Decimal

import buttonworth

NUMBER = re.compile(r"(-?\d+(?:\.\d+)?)( \S+)?")
NOWHERE = object()


def stands_at(answer, pointer):
    """What stands at a JSON pointer, or NOWHERE."""
    for part in pointer.split("/")[1:]:
        part = part.replace("~1", "/").replace("~0", "~")
        try:
            answer = answer[int(part)] if isinstance(answer, list) else answer[part]
        except (KeyError, IndexError, ValueError, TypeError):
            return NOWHERE
    return answer


def numbers_agree(found, expected, tolerance, relative):
    """Whether two texts are numbers of one unit and near enough; None if they are not both numbers."""
    one, other = NUMBER.fullmatch(found), NUMBER.fullmatch(expected)
    if one is None or other is None:
        return None
    wanted = Decimal(other[1])
    return one[2] == other[2] and abs(Decimal(one[1]) - wanted) <= max(tolerance, abs(wanted) * relative)


def holds(found, expected, tolerance, relative):
    if isinstance(expected, dict) and "exists" in expected:
        return (found is not NOWHERE) == expected["exists"]
    if isinstance(expected, dict) and "says" in expected:
        return isinstance(found, str) and all(word.lower() in found.lower() for word in expected["says"])
    if isinstance(expected, str) and isinstance(found, str):
        agree = numbers_agree(found, expected, tolerance, relative)
        if agree is not None:
            return agree
    return type(found) is type(expected) and found == expected


ON_A_REQUEST = ("settle", "reconcile", "book", "dispute", "metal_call", "bench", "allocate")


def answer_of(vector, options):
    if vector["call"] in ON_A_REQUEST:
        return getattr(buttonworth, vector["call"])(vector.get("text", vector.get("request")))
    if vector["call"] == "convert":
        return buttonworth.convert(**vector["request"])
    if vector["call"] == "formula":
        return repr(buttonworth.formula(vector["request"]["name"], *vector["request"]["arguments"]))
    if vector["call"] != "compare":
        with buttonworth.Context() as context, context.plan(vector.get("text", vector.get("request"))) as plan:
            return getattr(plan, vector["call"])(options)
    return buttonworth.compare(vector.get("text", vector.get("request")), options)


def check_good(vector, options, relative):
    """What differs from what is expected."""
    answer = answer_of(vector, options)
    tolerance = Decimal(vector.get("tolerance", "0"))
    for pointer, expected in vector["expected"].items():
        found = stands_at(answer, pointer)
        if not holds(found, expected, tolerance, relative):
            yield f"{pointer}: {found!r} stands there, expected is {expected!r}"


def is_error(error, expected):
    same = all(error[field] == expected[field] for field in ("class", "code", "pointer") if field in expected)
    return same and all(word.lower() in error["text"].lower() for word in expected.get("says", []))


def check_bad(vector, options):
    try:
        answer_of(vector, options)
    except buttonworth.Error as error:
        first = error.errors[0]
        if (error.class_name, error.code, error.status) != (first["class"], first["code"], first["status"]):
            yield "the error's attributes are not those of the first of the list"
        for expected in vector.get("errors") or [vector["error"]]:
            if not any(is_error(one, expected) for one in error.errors):
                yield f"not among the errors: {expected}; they are {error.errors}"
    else:
        yield "no error came"


def check_order(vector):
    """A dict's order of routes is the answer's."""
    routes = list(answer_of(vector, None)["routes"])
    if routes != [name for name in vector["request"]["routes"] if name != "note"]:
        yield f"the routes come as {routes}"


def runs(vector):
    """The name and the faults of each way a vector is run."""
    options = vector.get("options")
    if "expected" not in vector:
        yield vector["id"], check_bad(vector, options)
        return
    yield vector["id"], check_good(vector, options, Decimal(0))
    if vector["call"] != "compare":
        return
    if "routes" not in (options or {}):
        yield vector["id"] + " (order)", check_order(vector)
    if "arithmetic" not in (options or {}):
        in_double = dict(options or {}, arithmetic="double")
        relative = Decimal(0) if vector["id"].startswith("edge-") else Decimal("1e-9")
        yield vector["id"] + " (double)", check_good(vector, in_double, relative)


def told(vector):
    """For the table of all languages: what kind of vector passed, and what an error said."""
    kind, text = "good" if "expected" in vector else "bad", ""
    if kind == "bad":
        try:
            answer_of(vector, vector.get("options"))
        except buttonworth.Error as error:
            text = re.sub(r"[\r\n\t]", " ", error.text)
    return "\t".join((vector["call"], kind, vector["id"], text)) + "\n"


def main(path, told_path=None):
    with open(path, encoding="utf-8") as file:
        vectors = json.load(file)["vectors"]
    passed = failed = 0
    lines = []
    for vector in vectors:
        for name, faults in runs(vector):
            try:
                found = list(faults)
            except Exception as error:  # one vector must not end the others
                found = [f"{type(error).__name__}: {error}"]
            passed, failed = (passed, failed + 1) if found else (passed + 1, failed)
            for fault in found:
                print(f"{name}: {fault}")
            if name == vector["id"] and not found:
                lines.append(told(vector))
    if told_path is not None:
        with open(told_path, "w", encoding="utf-8") as file:
            file.writelines(lines)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
