#!/usr/bin/env python3
"""Runs the callers of a build under LeakSanitizer: leaks.py BUILD [LANGUAGE…]

What the test of a language loses counts where this project stands in the stack that allocated it: its library, or
the module that SWIG made. What an interpreter loses by itself does not. Java is left out: its machine raises and
handles signals of its own, and ends with threads running, so that LeakSanitizer finds nothing or stops; TestJava.java
watches the process grow instead.
"""

import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
PROJECT = HERE.parent.parent
LANGUAGES = ("python", "lua", "r", "octave")
# Near the allocation all that is ours stands; frames further down are the interpreter's and only cost time.
FRAMES = 16
VECTORS = PROJECT / "tests/vectors/core.json"


def tests_of(build, language):
    told = subprocess.run(["ctest", "--test-dir", build, "--show-only=json-v1", "-R", rf"^callers\.{language}(\.vectors)?$"],
                          check=True, capture_output=True, text=True).stdout
    for test in json.loads(told)["tests"]:
        environment = {p["name"]: p["value"] for p in test["properties"]}.get("ENVIRONMENT", [])
        yield test["name"], test["command"], dict(line.split("=", 1) for line in environment)


def runtime():
    return subprocess.run(["gcc", "-print-file-name=liblsan.so"], check=True, capture_output=True,
                          text=True).stdout.strip()


def fewer_vectors(folder):
    """The two smallest vectors of each call, format and outcome, as every allocation is followed and takes its time."""
    document = json.loads(VECTORS.read_text())
    kinds = {}
    for vector in sorted(document["vectors"], key=lambda one: len(json.dumps(one))):
        request = vector.get("request")
        kind = vector["call"], request.get("format") if isinstance(request, dict) else None, "expected" in vector
        kinds.setdefault(kind, []).append(vector)
    document["vectors"] = [vector for vectors in kinds.values() for vector in vectors[:2]]
    fewer = pathlib.Path(folder, "vectors.json")
    fewer.write_text(json.dumps(document))
    return str(fewer)


def leaks_in(report, places):
    """The blocks of a report with a frame in one of these places."""
    blocks = re.split(r"\n\s*\n", report)
    return [block for block in blocks if " leak of " in block and any(place in block for place in places)]


def run(name, command, environment, build):
    """Whether the test came to its end, and its leaks that are ours."""
    with tempfile.TemporaryDirectory() as folder:
        log = pathlib.Path(folder, "leaks")
        options = (f"exitcode=0:log_path={log}:fast_unwind_on_malloc=0:malloc_context_size={FRAMES}:"
                   f"suppressions={HERE / 'leaks.supp'}:print_suppressions=0")
        # Python keeps small objects in blocks of its own, in which nothing is seen to be lost.
        extra = {"LD_PRELOAD": runtime(), "LSAN_OPTIONS": options, "PYTHONMALLOC": "malloc"}
        if str(VECTORS) in command:  # and after it where the runner tells what passed
            at = command.index(str(VECTORS))
            command = command[:at] + [fewer_vectors(folder)]
        done = subprocess.run(command, env={**os.environ, **environment, **extra}, cwd=folder, capture_output=True,
                              text=True, check=False)
        reports = [path.read_text(errors="replace") for path in log.parent.glob(log.name + ".*")]
    # A language's own tests also watch their process grow, as it does under LeakSanitizer.
    ended = done.returncode == 0 or not name.endswith(".vectors")
    if not ended:
        print(f"{name}: ended with {done.returncode}\n{done.stdout[-2000:]}{done.stderr[-2000:]}")
    if "LeakSanitizer has encountered a fatal error" in "".join(reports):
        print(f"{name}: LeakSanitizer could not look\n" + "".join(reports)[-2000:])
        return False, []
    return ended, [leak for report in reports for leak in leaks_in(report, [str(PROJECT), build])]


def finds_a_leak(build):
    """Whether one that is made on purpose is found: contexts that nobody destroys."""
    program = ("import ctypes, sys; library = ctypes.CDLL(sys.argv[1])\n"
               "for i in range(100): library.bw_context_create(ctypes.byref(ctypes.c_void_p()))")
    command = [sys.executable, "-c", program, str(pathlib.Path(build, "capi", "libbuttonworth.so"))]
    leaks = run("a leak on purpose", command, {}, build)[1]
    return any("bw_context_create" in leak for leak in leaks)


def main():
    build = str(pathlib.Path(sys.argv[1]).resolve())
    wanted = sys.argv[2:] or LANGUAGES
    right = finds_a_leak(build)
    if not right:
        print("a leak made on purpose was not found: LeakSanitizer does not work here")
    for language in wanted:
        tests = list(tests_of(build, language))
        if not tests:
            print(f"{language}: not in this build")
            right = False
        for name, command, environment in tests:
            ended, leaks = run(name, command, environment, build)
            print(f"{name}: {len(leaks)} leaks", flush=True)
            print("\n".join(leaks[:20]))
            right = right and ended and not leaks
    return 0 if right else 1


sys.exit(main())
