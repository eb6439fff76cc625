#!/usr/bin/env python3
"""Every command that the documents show is run here, or by a test that is named here.

    commands_test.py SOURCES BUILD VERSION PYTHON

A command in a block or between backquotes is one that begins with a program's name. What runs here runs in a place of
its own: the examples of the tree with the programs of the build, and files under the names that the pages give them.
tests/run is not looked for, as it is what runs this.
"""

import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

ROOT, BUILD, VERSION, PYTHON = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), sys.argv[3], sys.argv[4]
DEMO = ROOT / "examples" / "demo"
PAGES = sorted(page for where in (".", "src", "capi", "bindings", "examples", "tests")
               for page in (ROOT / where).glob("*.md" if where == "." else "**/*.md"))
PROGRAMS = (r"examples/run|tests/[\w/.]+|cmake|ctest|ninja|pip|python3|R CMD|Rscript|luarocks|dpkg|java|unopkg|"
            r"apt|apt-get|cc|g\+\+|pkg-config|pkg|lua|octave")
COMMAND = re.compile(rf"(?:{PROGRAMS})(?= |$)")

# Run as they stand, in the place below.
RUN = """
examples/run
examples/run examples/demo/plan-small.json
examples/run my-plan.json
examples/run statement
examples/run statement examples/demo/delivery-bar.json
examples/run statement mine.json
examples/run month
examples/run month my-folder
examples/run bench
examples/run bench my-request.json
examples/run bench --json examples/demo/bench/5-table-test.json
examples/run bench --plan
examples/run bench --plan > my-plan.json && examples/run my-plan.json
examples/run sure
examples/run sure my-plan.json my-options.json
examples/run sure --picture out
examples/run monthly
examples/run monthly my-folder --out my-report
examples/run portfolio
examples/run portfolio my-lots.csv --plan my-plan.json
examples/run portfolio my-lots.csv --plan my-plan.json --dask 2
examples/run together
python3 examples/monthly examples/demo/month --out made
python3 examples/portfolio/value.py lots.csv --results out.csv --sums sums.json
python3 examples/portfolio/value.py lots.csv --dask 4
""".strip().split("\n")

# Run with other words for what is long, or has no name of its own.
RUN_AS = {
    "python3 examples/portfolio/make_lots.py 1000000 --out lots.csv":
        "python3 examples/portfolio/make_lots.py 1000 --out lots.csv",
    "ctest --test-dir build-tests -L docs": f"ctest --test-dir {BUILD} -L docs --show-only",
    "ctest --test-dir build-tests -R NAME": f"ctest --test-dir {BUILD} -R vectors.core --show-only",
    "cmake --install BUILD --component calc": f"cmake --install {BUILD} --component calc --prefix installed",
    "python3 office/exchange.py excel FROM.xlsx TO.xlsx":
        "python3 bindings/spreadsheet/office/exchange.py excel examples/workbook/buttonworth.xlsx to.xlsx",
    # These build for themselves: whether they know the options.
    "tests/speed/run --only portfolio": "tests/speed/run --only portfolio --help",
    "tests/speed/run --only allocate": "tests/speed/run --only allocate --help",
    "tests/speed/run --only languages": "tests/speed/run --only languages --help",
    "tests/fuzz/run [TARGET…] --minutes N": "tests/fuzz/run plan --minutes 1 --help",
    "tests/fuzz/run --minutes 10": "tests/fuzz/run --minutes 10 --help",
    "tests/mutation/mutate.py --count 500": "tests/mutation/mutate.py --count 500 --help",
}

# Run by another test of this build, which goes through the same.
RUN_BY = {
    "cmake -S . -B build -DCMAKE_BUILD_TYPE=Release -DBUTTONWORTH_PYTHON=ON -DBUTTONWORTH_LUA=ON -DBUTTONWORTH_R=ON "
    "-DBUTTONWORTH_OCTAVE=ON -DBUTTONWORTH_JAVA=ON": "packages.made",
    "cmake --build build && cmake --build build --target packages": "packages.made",
    "cmake -S . -B build -DBUTTONWORTH_REFERENCE=ON": "docs.reference",
    "cmake --build build --target reference": "docs.reference",
    "cmake --build build-tests --target packages": "packages.made",
    "cmake --install build": "install.consumers",
    "cmake --install": "install.consumers",
    "pkg-config buttonworth": "install.consumers",
    "dpkg -i buttonworth_VERSION_*.deb": "packages.debian",
    "cc compare.c page/*.c -o ~/compare $(pkg-config --cflags --libs buttonworth) -lm": "packages.debian",
    "pip install buttonworth-VERSION-*.whl": "packages.python",
    "luarocks --lua-version 5.4 install buttonworth-VERSION-1.*.rock": "packages.lua",
    "R CMD INSTALL buttonworth_VERSION.tar.gz": "packages.r",
    "pkg install buttonworth-octave-VERSION.tar.gz": "packages.octave",
    "pkg load buttonworth": "packages.octave",
    "java -cp buttonworth-VERSION.jar:/usr/share/java/gson.jar": "packages.java",
    "java -cp buttonworth-VERSION.jar:/usr/share/java/gson.jar Example.java": "callers.java",
    "unopkg add buttonworth-VERSION.oxt": "spreadsheet.running",
    "python3 -m buttonworth.report plan.json --out reports [--sure options.json]": "examples.report",
    "python3 examples/workbook/make.py BUTTONWORTH.oxt FOLDER": "examples.workbook",
}

# Run by `tests/run --windows`, in a build of its own: what it says is the same there.
RUN_ON_WINDOWS = """
cmake -G Ninja -S . -B build-windows -DBUTTONWORTH_EXCEL=ON -DBUTTONWORTH_EXAMPLES=OFF \
-DCMAKE_TOOLCHAIN_FILE=bindings/spreadsheet/excel/windows.cmake
cmake --build build-windows
cmake --install build-windows --component excel --prefix FOLDER
""".strip().split("\n")


def commands_of(page):
    """The commands of a page, each on one line, without what is said about it."""
    text = page.read_text(encoding="utf-8").replace(VERSION, "VERSION")
    fence = re.compile(r"^```(\w*)\n(.*?)^```", re.MULTILINE | re.DOTALL)
    lines = [line for language, block in fence.findall(text) if language in ("", "sh")
             for line in re.sub(r" *\\\n *", " ", block).split("\n")]
    text = fence.sub("", text)
    lines += re.findall(r"^ {4}(\S.*)$", text, re.MULTILINE)
    lines += [" ".join(words.split()) for words in re.findall(r"`([^`]+)`", text) if " " in words]
    lines = [re.sub(r"\s+#.*", "", line).strip() for line in lines]
    return [line for line in lines if COMMAND.match(line) and not line.startswith("tests/run")]


COMMANDS = {}
for each_page in PAGES:
    for each in commands_of(each_page):
        COMMANDS.setdefault(each, str(each_page.relative_to(ROOT)))


def is_packages(command):
    return command.startswith("apt install ")


def is_preset(command):
    return "--preset" in command


def known():
    return {*RUN, *RUN_AS, *RUN_BY, *RUN_ON_WINDOWS}


class Documents(unittest.TestCase):
    maxDiff = None

    def test_every_command_is_run_somewhere(self):
        self.assertGreater(len(COMMANDS), 40)
        missing = {command: page for command, page in COMMANDS.items()
                   if command not in known() and not is_packages(command) and not is_preset(command)}
        self.assertEqual(missing, {}, "not run by any test: add each to a table of tests/docs/commands_test.py")

    def test_every_entry_is_a_command_that_is_shown(self):
        self.assertEqual(known() - set(COMMANDS), set(), "no page shows these any more")

    def test_the_tests_named_are_there(self):
        command = ["ctest", "--test-dir", BUILD, "--show-only=json-v1"]
        listed = subprocess.run(command, capture_output=True, text=True, check=True)
        names = {test["name"] for test in json.loads(listed.stdout)["tests"]}
        self.assertEqual(set(RUN_BY.values()) - names, set())

    def test_options_of_the_build_are_there(self):
        lists = "\n".join(file.read_text(encoding="utf-8") for file in ROOT.glob("CMakeLists.txt"))
        options = set(re.findall(r"(?:option|set)\((BUTTONWORTH_\w+)", lists))
        for command, page in COMMANDS.items():
            self.assertLessEqual(set(re.findall(r"-D(BUTTONWORTH_\w+)=", command)), options, page)

    def test_presets_are_there(self):
        presets = json.loads((ROOT / "CMakePresets.json").read_text(encoding="utf-8"))
        names = {preset["name"] for preset in presets["configurePresets"]}
        for command in filter(is_preset, COMMANDS):
            for name in re.findall(r"--preset (\S+)", command):
                self.assertIn(name, names, command)

    def test_packages_are_those_of_the_tests(self):
        installed = (ROOT / "tests" / "run").read_text(encoding="utf-8").split()
        for command in filter(is_packages, COMMANDS):
            self.assertLessEqual(set(command.split()[2:]), set(installed), command)

    def test_what_windows_runs(self):
        script = set((ROOT / "tests" / "run").read_text(encoding="utf-8").split())
        self.assertIn("--windows", script)
        files = (ROOT / "bindings" / "spreadsheet").rglob("*.cmake")
        rules = "\n".join(file.read_text(encoding="utf-8") for file in files)
        components = set(re.findall(r"\bCOMPONENT (\w+)", rules))
        for command in RUN_ON_WINDOWS:
            self.assertLessEqual(set(re.findall(r"-DBUTTONWORTH\w+=\w+", command)), script, command)
            self.assertLessEqual(set(re.findall(r"--component (\w+)", command)), components, command)


class Place:
    """A tree that looks as if it was built: the examples by their real scripts, nothing left to do for Ninja."""

    def __init__(self):
        self.held = tempfile.TemporaryDirectory()
        self.folder = pathlib.Path(os.path.realpath(self.held.name))
        for name in ("examples", "bindings", "tests", ".ci"):
            (self.folder / name).symlink_to(ROOT / name)
        build = self.folder / "build"
        build.mkdir()
        (build / "examples").symlink_to(BUILD / "examples")
        (build / "bindings").symlink_to(BUILD / "bindings")
        (build / "CMakeCache.txt").write_text(
            f"CMAKE_PROJECT_NAME:STATIC=buttonworth\nCMAKE_HOME_DIRECTORY:INTERNAL={self.folder}\n"
            f"CMAKE_GENERATOR:INTERNAL=Ninja\nCMAKE_MAKE_PROGRAM:FILEPATH={shutil.which('ninja')}\n"
            "BUTTONWORTH_PYTHON:BOOL=ON\nBUTTONWORTH_SCHEDULE:BOOL=ON\n")
        targets = ("compare", "statement", "month", "bench", "sure", "together", "bw_python")
        (build / "build.ninja").write_text("".join(f"build {target}: phony\n" for target in targets))

    def put_files(self):
        """What the pages call mine."""
        for name, source in (("mine.json", DEMO / "delivery-bar.json"),
                             ("my-request.json", DEMO / "bench" / "5-table-test.json"),
                             ("my-plan.json", ROOT / "examples" / "portfolio" / "plan.json")):
            shutil.copy(source, self.folder / name)
        (self.folder / "my-options.json").write_text('{"simulate": {"draws": 4096}}')
        shutil.copytree(DEMO / "month", self.folder / "my-folder", dirs_exist_ok=True)

    def run(self, command):
        """In a shell, as one types it; what python3 names is the Python that the module was built for."""
        words = re.sub(r"^python3\b", PYTHON, command)
        settings = str(self.folder / "settings")
        environment = {**os.environ, "PYTHONPATH": str(BUILD / "bindings" / "python"),
                       "PYTHONDONTWRITEBYTECODE": "1", "MPLCONFIGDIR": settings, "DASK_CONFIG": settings}
        return subprocess.run(["sh", "-c", words], cwd=self.folder, env=environment, capture_output=True, text=True,
                              timeout=600)


class Commands(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.place = Place()

    @classmethod
    def tearDownClass(cls):
        cls.place.held.cleanup()

    def expect(self, command):
        self.place.put_files()
        before = self.files()
        done = self.place.run(command)
        self.assertEqual(done.returncode, 0, done.stderr[-2000:])
        self.assertTrue(done.stdout.strip() or self.files() - before, "it says nothing and writes nothing")
        for written in re.findall(r"(?:--out|--results|--sums|--picture|>) ([\w./-]+)", command):
            self.assertTrue((self.place.folder / written).exists(), written)

    def files(self):
        found = set()
        for folder, folders, names in os.walk(self.place.folder):
            found |= {os.path.join(folder, name) for name in names}
        return found

    def test_they_run(self):
        lots = "python3 examples/portfolio/make_lots.py 300 --out my-lots.csv"
        for command in [lots, *RUN_AS.values(), *RUN]:
            with self.subTest(command):
                self.expect(command)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
