#!/usr/bin/env python3
"""Runs the vectors through the C interface of one built library, and stops at the first that fails.

    check.py LIBRARY [--vectors FILE] [--room ROOM] [--program FILE] [--all]
    check.py LIBRARY --schedule LIBRARY [--vectors FILE] [--program FILE] [--all]

Fast things first: the schemas against the committed files, the vectors, then a program of tests/capi that runs with
this library, then what tests/oracle says of a room of src, at random. With the second library only what is of schedules: their vectors, then tests/schedule. Ends
with 0 if all is as expected, with 1 and one line that says what is not.
What is expected, and how it is compared: tests/vectors/README.md.
"""

import argparse
import ctypes
import itertools
import json
import os
import pathlib
import re
import subprocess
import sys
from decimal import Decimal

TESTS = pathlib.Path(__file__).resolve().parent.parent
NUMBER = re.compile(r"(-?\d+(?:\.\d+)?)( \S+)?")
ABSENT = object()
REQUEST_CALLS = ("convert", "settle", "reconcile", "book", "dispute", "metal_call", "bench")
PLAN_CALLS = ("compare", "simulate", "worth", "break_even", "counter_offers", "forgiving_cut", "sensitivity", "map")


class Refused(Exception):
    """The library refused; the list of errors is the only argument."""


class Library:
    """The few functions of the C interface that vectors call."""

    def __init__(self, path, schedule=None):
        self.c = ctypes.CDLL(str(path))
        self.schedule = ctypes.CDLL(str(schedule)) if schedule else None
        for name in ("bw_error_list", "bw_answer_text"):
            getattr(self.c, name).restype = ctypes.c_char_p
            getattr(self.c, name).argtypes = [ctypes.c_void_p, ctypes.c_void_p]
        text = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_size_t, ctypes.c_void_p]
        for name in ("plan_read", *REQUEST_CALLS):
            getattr(self.c, f"bw_{name}").argtypes = text
        self.c.bw_formula.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_void_p, ctypes.c_size_t,
                                      ctypes.c_void_p]
        for name in PLAN_CALLS:
            getattr(self.c, f"bw_{name}").argtypes = [ctypes.c_void_p] + text
        self.c.bw_schema.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_void_p]
        self.context = ctypes.c_void_p()
        self.check(self.c.bw_context_create(ctypes.byref(self.context)))

    def check(self, status):
        if status != 0:
            raise Refused(json.loads(self.c.bw_error_list(self.context, None)))

    def answer(self, make):
        answer = ctypes.c_void_p()
        self.check(make(ctypes.byref(answer)))
        text = self.c.bw_answer_text(answer, None)
        result = json.loads(text)
        self.c.bw_answer_destroy(ctypes.byref(answer))
        return result

    def schema(self, name):
        return self.answer(lambda out: self.c.bw_schema(self.context, name.encode(), out))

    def __getattr__(self, name):
        """A call on a request of its own or on a plan, by its name in the vectors."""
        if name in REQUEST_CALLS:
            return lambda text, _options: self.on_request(getattr(self.c, f"bw_{name}"), text)
        if name not in PLAN_CALLS:
            raise AttributeError(name)
        return lambda text, options: self.on_plan(getattr(self.c, f"bw_{name}"), text, options)

    def on_request(self, call, text):
        data = text.encode("utf-8", "surrogatepass")
        return self.answer(lambda out: call(self.context, data, len(data), out))

    def on_plan(self, call, text, options):
        data, wanted = text.encode("utf-8", "surrogatepass"), json.dumps(options).encode()
        plan = ctypes.c_void_p()
        self.check(self.c.bw_plan_read(self.context, data, len(data), ctypes.byref(plan)))
        try:
            return self.answer(lambda out: call(self.context, plan, wanted, len(wanted), out))
        finally:
            self.c.bw_plan_destroy(ctypes.byref(plan))

    def allocate(self, text, _options):
        self.schedule.bw_allocate.argtypes = self.c.bw_settle.argtypes
        return self.on_request(self.schedule.bw_allocate, text)

    def formula(self, text, _options):
        request, result = json.loads(text), ctypes.c_double()
        arguments = (ctypes.c_double * len(request["arguments"]))(*request["arguments"])
        self.check(self.c.bw_formula(self.context, request["name"].encode(), arguments,
                                     len(arguments), ctypes.byref(result)))
        return repr(result.value)


def at(document, pointer):
    """What stands at a JSON pointer, or ABSENT."""
    for part in pointer.split("/")[1:]:
        part = part.replace("~1", "/").replace("~0", "~")
        try:
            document = document[int(part)] if isinstance(document, list) else document[part]
        except (KeyError, IndexError, ValueError, TypeError):
            return ABSENT
    return document


def says(text, words):
    text = text if isinstance(text, str) else json.dumps(text, ensure_ascii=False)
    return all(word.lower() in text.lower() for word in words)


def number_and_unit(text):
    found = NUMBER.fullmatch(text) if isinstance(text, str) else None
    return (Decimal(found[1]), found[2]) if found else None


def as_expected(found, expected, tolerance, relative):
    if isinstance(expected, dict):
        if "exists" in expected:
            return (found is not ABSENT) == expected["exists"]
        return found is not ABSENT and says(found, expected["says"])
    wanted, got = number_and_unit(expected), number_and_unit(found)
    if wanted and got:
        allowed = max(tolerance, abs(wanted[0]) * relative)
        return wanted[1] == got[1] and abs(wanted[0] - got[0]) <= allowed
    return type(found) is type(expected) and found == expected


def difference(answer, vector, relative):
    """The first pointer whose value is not as expected, in words; None if all are."""
    tolerance = Decimal(vector.get("tolerance", "0"))
    for pointer, expected in vector["expected"].items():
        found = at(answer, pointer)
        if not as_expected(found, expected, tolerance, relative):
            shown = "nothing" if found is ABSENT else json.dumps(found, ensure_ascii=False)
            return f"{pointer} is {shown}, not {json.dumps(expected, ensure_ascii=False)}"
    return None


def reported(errors, wanted):
    return any(
        all(error[key] == wanted[key] for key in ("class", "code", "pointer") if key in wanted)
        and says(error["text"], wanted.get("says", []))
        for error in errors
    )


def wrong_errors(errors, vector):
    for wanted in vector.get("errors") or [vector["error"]]:
        if not reported(errors, wanted):
            return f"no error {json.dumps(wanted)} among {json.dumps(errors, ensure_ascii=False)[:400]}"
    return None


def run_vector(library, vector, arithmetic):
    """None, or what is wrong."""
    bad = "error" in vector or "errors" in vector
    text = vector["text"] if "text" in vector else json.dumps(vector["request"])
    options = dict(vector.get("options") or {})
    if arithmetic == "double":
        options["arithmetic"] = arithmetic
    try:
        answer = getattr(library, vector["call"])(text, options)
    except Refused as refused:
        errors = refused.args[0]
        return wrong_errors(errors, vector) if bad else f"refused: {errors[0]['text'] if errors else '?'}"
    if bad:
        return "the call did not fail"
    return difference(answer, vector, Decimal("1e-9") if arithmetic == "double" else Decimal(0))


def arithmetics(vector):
    """Decimal; and double for every comparison that does not choose one itself."""
    own = "arithmetic" in (vector.get("options") or {})
    good = "error" not in vector and "errors" not in vector
    return ["decimal", "double"] if vector["call"] == "compare" and good and not own else ["decimal"]


def other_schemas(library):
    for file in sorted((TESTS.parent / "src" / "document" / "schema").glob("*.json")):
        if library.schema(file.stem) != json.loads(file.read_text(encoding="utf-8")):
            yield f"schema {file.stem} is not as in the file"


def failures(library, vectors):
    for vector in vectors:
        for arithmetic in arithmetics(vector):
            wrong = run_vector(library, vector, arithmetic)
            if wrong:
                yield f"vector {vector['id']} ({arithmetic}): {wrong}"


SCHEDULES = (["textbook_test.py"], ["impossible_test.py"], ["timetable_test.py"], ["exhaustive_test.py", "--months", "20"], ["queues_test.py", "--months", "100"],
             ["larger_test.py", "--months", "12"], ["draws_test.py", "Draws"], ["same_test.py"])
PLANS = (["run.py", "--plans", "60"], ["best_cuts.py"], ["tipping_run.py", "--plans", "8"])
SALES = (["settle_run.py", "--deliveries", "80"], ["reconcile_run.py", "--returns", "50"])
DISPUTES = (["dispute_run.py", "--disputes", "8"],)
CHANCE = (["chance_run.py", "--plans", "5", "--worths", "2", "--seed", "9"], ["lots_run.py", "--plans", "10"])
BENCH = (["bench_run.py", "--requests", "40"], ["fits_by_scipy.py", "--tests", "12"])
BOOKS = (["month_run.py", "--months", "30"],)
COSTLY = "Costly.*:*/map:*.raised"  # of capi's tests, which take long in a library that nobody optimised
ORACLES = {"process": PLANS, "route": PLANS, "sale": (*SALES, *PLANS, *DISPUTES), "chance": (*CHANCE, *DISPUTES),
           "bench": BENCH, "book": (*BOOKS, *SALES), "document": (*SALES, *BENCH, *BOOKS), "any": (*PLANS, *SALES, *DISPUTES, *CHANCE, *BENCH, *BOOKS)}


def is_content(command, environment=None):
    """Whether a program of the tests finds nothing wrong."""
    done = subprocess.run(list(map(str, command)), env={**os.environ, **(environment or {})},
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace")
    if done.returncode != 0:
        print(f"{pathlib.Path(command[0 if environment else 2]).name}:", done.stdout.strip()[-400:])
    return done.returncode == 0


def others_are_content(options):
    """Programs beside the vectors."""
    core, schedule = options.library.resolve(), options.schedule and options.schedule.resolve()
    python = [sys.executable, "-B"]
    if options.program and not is_content([options.program, "--gtest_brief=1", f"--gtest_filter=-{COSTLY}"], {"LD_PRELOAD": f"{schedule or core}"}):
        return False
    if schedule:
        return all(is_content([*python, TESTS / "schedule" / name, core, schedule, *more]) for name, *more in SCHEDULES)
    asked = ORACLES.get(options.room, ORACLES["any"]) if options.room else ()
    return all(is_content([*python, TESTS / "oracle" / name, "--library", core, *more]) for name, *more in asked)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("library", type=pathlib.Path)
    parser.add_argument("--schedule", type=pathlib.Path, help="the library of schedules, and only what is of it")
    parser.add_argument("--vectors", type=pathlib.Path, default=TESTS / "vectors" / "core.json")
    parser.add_argument("--room", help="a room of src; of another name all oracles are asked")
    parser.add_argument("--program", type=pathlib.Path, help="of tests/capi, run with this library")
    parser.add_argument("--all", action="store_true", help="do not stop at the first failure")
    options = parser.parse_args()

    vectors = [vector for vector in json.loads(options.vectors.read_text(encoding="utf-8"))["vectors"]
               if (vector["call"] == "allocate") == bool(options.schedule)]
    failed = False
    library = Library(options.library.resolve(), options.schedule and options.schedule.resolve())
    for failure in itertools.chain(other_schemas(library), failures(library, vectors)):
        print(failure, flush=True)
        failed = True
        if not options.all:
            break
    return 1 if failed or not others_are_content(options) else 0


if __name__ == "__main__":
    sys.exit(main())
