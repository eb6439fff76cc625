#!/usr/bin/env python3
"""Changes the rooms of src in small ways, one at a time, and counts how many changes some test notices.

    mutate.py [--count 200] [--seed 1] [--jobs 1] [--work FOLDER] [--resume]

Works on a copy of the tree. The copy is built once without optimisation and with line tables; these tell
which objects hold code of a changed line, so that only those are compiled again, and the library is linked
beside the good one. Then a command (check.py, unless --command says otherwise) tests the changed library: a
change is caught where it fails or takes far too long. One that does not compile counts apart. What survives is
tried with --unit by the programs of tests/unit, first by the one named after the changed file.

The table is FOLDER/results.json. --resume goes on from it, and from what known.txt says of changes that were caught
and accepted.txt of those that cannot be; --again tries the table's survivors once more, after tests were added, but
not those that are accepted. --note writes known.txt. Survivors that change no answer are listed in accepted.txt with
the reason, and do not count. Why others are left stands in survivors.txt; these count.
"""

import argparse
import concurrent.futures
import difflib
import fnmatch
import hashlib
import json
import os
import pathlib
import queue
import re
import resource
import shlex
import shutil
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
FILES = ["src/*/*.hpp", "src/*/*.cpp"]
CHECK = f"{shlex.quote(sys.executable)} {{tree}}/tests/mutation/check.py {{library}}"
COMMAND = f"{CHECK} --room {{room}} --program {{build}}/tests/capi/capi_test"
SCHEDULE_COMMAND = f"{CHECK} --schedule {{schedule}} --program {{build}}/tests/capi/capi_schedule_test"
LIBRARY, SCHEDULE = "capi/libbuttonworth.so", "capi/libbuttonworth_schedule.so"
OF_SCHEDULE = re.compile(r"src/schedule/|(allocation|schedule)_document")  # what only the second library comes to
KNOWN = HERE / "known.txt"
MEMORY = 4 << 30  # a change may make a loop endless


# ---- What can be changed -----------------------------------------------------------------------------

TOKEN = re.compile(
    r'//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])\'|^[ \t]*#[^\n]*', re.DOTALL | re.MULTILINE
)
# Words for people: the lambdas that write an explanation, a refusal or an error, and functions of texts.
WORDS = re.compile(
    r"\]\(const auto& ?(?:say[^)]*)?\)\s*\{|\bthrow\s+Error\(|\breturn\s+Error\("
    r"|\b(?:cost_how|stream_kind_name|buys_name|nothing_taken|percent|steepest|caution_ends)\([^;{]*\)\s*(?:const\s*)?\{"
)


def blank(text, start, end):
    """Spaces instead of what must not be changed; lines stay where they are."""
    return text[:start] + re.sub(r"[^\n]", " ", text[start:end]) + text[end:]


def closing(text, at):
    """The place after the bracket that closes the one at `at`."""
    pairs, depth = {"(": ")", "{": "}", "[": "]"}, 0
    for i in range(at, len(text)):
        if text[i] in pairs:
            depth += 1
        elif text[i] in pairs.values():
            depth -= 1
            if depth == 0:
                return i + 1
    return len(text)


def code_only(text):
    """The file with comments, texts, includes and words for people blanked."""
    for found in list(TOKEN.finditer(text)):
        text = blank(text, *found.span())
    for found in list(WORDS.finditer(text)):
        text = blank(text, found.start(), closing(text, found.end() - 1))
    return text


class Rule:
    """A pattern and what stands in its place; a function of the match gives one or more."""

    def __init__(self, name, pattern, change):
        self.name, self.pattern, self.change = name, re.compile(pattern, re.MULTILINE), change

    def candidates(self, code):
        for found in self.pattern.finditer(code):
            changes = self.change(found, code) if callable(self.change) else self.change
            for start, end, text in changes if callable(self.change) else [(*found.span(), t) for t in changes]:
                yield start, end, text


def swaps(name, pairs, left="", right=""):
    return [Rule(f"{name} {a}", left + re.escape(a) + right, b) for a, b in pairs]


def in_place(group, make):
    """A rule's change: the group of the match, changed by `make`."""
    return lambda found, code: [(*found.span(group), text) for text in make(found.group(group))]


def other_constant(text):
    return {"0": ["1"], "1": ["0", "2"], "2": ["1", "3"]}.get(text, [str(int(text) + 1)])


def arguments(code, at):
    """Spans of the arguments of the call whose bracket is at `at`."""
    end, depth, start, spans = closing(code, at) - 1, 0, at + 1, []
    for i in range(at + 1, end):
        depth += (code[i] in "([{") - (code[i] in ")]}")
        if code[i] == "," and depth == 0:
            spans.append((start, i))
            start = i + 1
    return spans + [(start, end)]


def swapped_arms(found, code):
    spans = arguments(code, found.end() - 1)
    if len(spans) != 3:
        return []
    (a, b), (c, d) = spans[1:]
    return [(a, d, " " + code[c:d].strip() + ", " + code[a:b].strip())]


def unwrapped(found, code):
    """not_negative(x) becomes (x)."""
    return [(found.start(), found.end() - 1, "")]


def dropped(found, code):
    return [(*found.span(1), "")] if found.group(1).count("(") == found.group(1).count(")") else []


WORD, BRACKET = r"(?<![\w.>:])", r"(?=\()"
RULES = (
    swaps("arithmetic", [(" + ", [" - "]), (" * ", [" / "]), (" / ", [" * "]), (" - ", [" + "])])
    + swaps("assignment", [(" += ", [" -= "]), (" -= ", [" += "]), (" *= ", [" /= "])])
    + [Rule("sign", r"(?<=[(\s,])-(?=[a-z])", [""])]
    + swaps("comparison", [(" < ", [" <= ", " > "]), (" <= ", [" < "]), (" > ", [" >= ", " < "]), (" >= ", [" > "]),
                           (" == ", [" != "]), (" != ", [" == "])])
    + swaps("edge", [("at_least", ["above", "at_most"]), ("at_most", ["at_least"]), ("above", ["at_least", "at_most"]),
                     ("same", ["above"])], WORD, BRACKET)
    + swaps("logic", [("both", ["either"]), ("either", ["both"]), ("least", ["most"]), ("most", ["least"])], WORD, BRACKET)
    + swaps("logic", [(" && ", [" || "]), (" || ", [" && "])])
    + swaps("logic", [("true", ["false"]), ("false", ["true"])], r"\b", r"\b")
    + [
        Rule("negation", r"\bno(?=\()", [""]),
        Rule("negation", r"(?<=[( ])!(?=[\w(*])", [""]),
        Rule("constant", r"(?<![\w.<])(\d+)(?![\w.'>])(?!\.)", in_place(1, other_constant)),
        Rule("share", r"(?<![\w.])(0\.\d+)\b", in_place(1, lambda text: [str(float(text) * 1.5)])),
        Rule("arms", r"\bchoose\(", swapped_arms),
        Rule("not_negative", r"\bnot_negative\(", unwrapped),
        Rule("dropped", r"^ *(?!return|const |auto |static |using |if |for |else)([\w:\[\].>*()-]+(?:\.\w+)*"
                        r"(?: [-+*]?= [^;\n]*|\([^;\n]*\)));$", dropped),
        Rule("discount", r"( \* s_?\.discount\([^()]*\))", in_place(1, lambda text: [""])),
    ]
    + swaps("mass", [("delivered_.dry", ["settled_.mass", "delivered_.wet()"]), ("settled_.mass", ["delivered_.dry"]),
                     ("delivered_.wet()", ["delivered_.dry"]), ("feed.wet()", ["feed.dry"]), ("feed.dry", ["feed.wet()"]),
                     ("melted", ["delivered.dry"]), ("first.mass", ["second.mass"]), ("second.mass", ["first.mass"])],
            r"\b", r"(?![\w(])")
    + swaps("money", [("sold_.payable_value", ["sold_.proceeds"]), ("sold_.proceeds", ["sold_.payable_value"])], r"\b", r"\b")
    + swaps("day", [("final_day_", ["arrival_day_"]), ("arrival_day_", ["final_day_"]),
                    ("final_discount_", ["arrival_discount_"]), ("arrival_discount_", ["final_discount_"])], r"\b", r"\b")
    + swaps("choice", [("StreamKind::bar", ["StreamKind::piece"]), ("StreamKind::slag", ["StreamKind::concentrate"]),
                       ("StreamKind::piece", ["StreamKind::bar"]), ("StreamKind::split_output", ["StreamKind::concentrate"]),
                       ("StreamKind::concentrate", ["StreamKind::split_output"]),
                       ("RoundingMode::half_even", ["RoundingMode::half_up"]), ("Order::lower_of", ["Order::less_first"]),
                       ("RefiningOf::payable", ["RefiningOf::gross"]), ("RefiningOf::gross", ["RefiningOf::settled"]),
                       ("LevyOf::payable_value", ["LevyOf::proceeds"]), ("LevyOf::proceeds", ["LevyOf::gross_value"]),
                       ("LevyOf::gross_value", ["LevyOf::proceeds"]), ("ChargeBasis::settled", ["ChargeBasis::dry"]),
                       ("LineKind::cost", ["LineKind::reagent"]), ("LineKind::levy", ["LineKind::refund"]),
                       ("LineKind::charge", ["LineKind::penalty"])], r"(?<!case )\b", r"\b(?!:)")
)


def squeezed(text):
    return " ".join(text.split())


class Mutant:
    def __init__(self, file, rule, start, end, text, source):
        self.file, self.rule, self.start, self.end, self.text = file, rule, start, end, text
        self.line = source.count("\n", 0, start) + 1
        self.last_line = source.count("\n", 0, end) + 1
        changed = self.apply(source)
        lines = slice(self.line - 1, self.last_line)
        self.before = "\n".join(source.split("\n")[lines])
        self.after = "\n".join(changed.split("\n")[self.line - 1 : self.last_line - source.count("\n") + changed.count("\n")])
        # Without its line's number, so that it is known again after changes elsewhere in the file.
        self.key = f"{file}: {rule}: {squeezed(self.before)} -> {squeezed(self.after)}"

    def apply(self, source):
        return source[: self.start] + self.text + source[self.end :]

    def diff(self):
        lines = difflib.ndiff(self.before.split("\n"), self.after.split("\n"))
        return "\n".join(line for line in lines if not line.startswith("?"))


def mutants_of(file, source):
    code = code_only(source)
    found = {}
    for rule in RULES:
        for start, end, text in rule.candidates(code):
            mutant = Mutant(file, rule.name, start, end, text, source)
            if mutant.before != mutant.after:
                found.setdefault((mutant.line, mutant.after), mutant)
    return told_apart(found.values())


def told_apart(mutants):
    """The same line may stand twice in a file."""
    seen = {}
    for mutant in mutants:
        seen[mutant.key] = seen.get(mutant.key, 0) + 1
        if seen[mutant.key] > 1:
            mutant.key += f" ({seen[mutant.key]})"
    return list(mutants)


def pick(mutants, count, seed):
    """At random, spread over files by their lines, and over lines before a line is met twice. By what a change is:
    where code is edited the others stay chosen."""
    by_line = {}
    for mutant in mutants:
        chance = hashlib.sha256(f"{seed} {mutant.key}".encode()).hexdigest()
        by_line.setdefault((mutant.file, mutant.line), []).append((chance, mutant.key, mutant))
    turns = [(turn, *one) for same_line in by_line.values() for turn, one in enumerate(sorted(same_line))]
    return [mutant for *_, mutant in sorted(turns, key=lambda one: one[:3])[:count]]


# ---- The copy and its build --------------------------------------------------------------------------


def run(command, folder=None, seconds=None, **more):
    return subprocess.run(command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          timeout=seconds, errors="replace", **more)


def must(command, folder=None):
    done = run(command, folder)
    if done.returncode != 0:
        sys.exit(f"{' '.join(map(str, command))} failed:\n{done.stdout[-3000:]}")
    return done.stdout


class Copy:
    """A copy of the tree with a good build, and a place beside it for the changed library."""

    def __init__(self, folder):
        self.tree, self.build, self.changed = folder / "tree", folder / "build", folder / "changed"
        self.unit = folder / "unit"
        # Objects found again by ccache, although every copy has a path of its own.
        self.environment = dict(os.environ, CCACHE_BASEDIR=str(folder), CCACHE_NOHASHDIR="1")

    def prepare(self):
        self.copy_tree()
        compiler = shutil.which("clang++")  # in half the time of GCC
        chosen = [f"-DCMAKE_CXX_COMPILER={compiler}"] if compiler else []
        must(["cmake", "-S", self.tree, "-B", self.build, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Debug",
              "-DCMAKE_CXX_FLAGS_DEBUG=-O0 -g1 -D_GLIBCXX_ASSERTIONS", "-DBUTTONWORTH_SCHEDULE=ON", "-DBUTTONWORTH_EXAMPLES=OFF", "-DPython3_ROOT_DIR=/usr",
              f"-DCMAKE_PROJECT_buttonworth_INCLUDE={HERE / 'quick.cmake'}", *chosen])
        must(["env", f"CCACHE_BASEDIR={self.tree.parent}", "CCACHE_NOHASHDIR=1", "ninja", "-C", self.build,
              "buttonworth", "buttonworth_schedule", "capi_test", "capi_schedule_test"])
        self.read_build()

    def copy_tree(self):
        shutil.rmtree(self.tree, ignore_errors=True)
        leave = shutil.ignore_patterns("build*", ".git", "__pycache__", ".ccache")
        shutil.copytree(ROOT, self.tree, ignore=leave, symlinks=True)

    def read_build(self):
        commands = json.loads((self.build / "compile_commands.json").read_text())
        self.compile = {self.object_of(c["command"]): c["command"] for c in commands}
        self.links = {library: self.link_of(library) for library in (LIBRARY, SCHEDULE)}
        self.compile = {o: c for o, c in self.compile.items() if any(o in link for link in self.links.values())}
        self.users = self.objects_by_header()
        self.lines = self.objects_by_line()

    def link_of(self, library):
        told = must(["ninja", "-C", self.build, "-t", "commands", library]).strip().split("\n")
        return next(line for line in reversed(told) if " -shared " in line)

    @staticmethod
    def object_of(command):
        words = shlex.split(command)
        return words[words.index("-o") + 1]

    def objects_by_header(self):
        """Which objects include a file at all."""
        users, current = {}, None
        for line in must(["ninja", "-C", self.build, "-t", "deps"]).split("\n"):
            if line and not line.startswith(" "):
                current = line.split(":")[0]
            elif line.strip() and current in self.compile:
                users.setdefault(self.relative(line.strip()), set()).add(current)
        return users

    def relative(self, path):
        path = pathlib.Path(self.build, path).resolve()
        return str(path.relative_to(self.tree)) if path.is_relative_to(self.tree) else str(path)

    def objects_by_line(self):
        """Which objects hold code of a line; an object that merely includes it does not change with it."""
        lines = {}
        for name in self.compile:
            for file, number in set(self.decoded_lines(name)):
                lines.setdefault((file, number), set()).add(name)
        return lines

    def decoded_lines(self, name):
        table = must(["objdump", "--dwarf=decodedline", self.build / name])
        full = {}
        for found in re.finditer(r"^(\S+):$|^(\S+\.[ch]pp)\s+(\d+)\s", table, re.MULTILINE):
            if found[1]:
                full[os.path.basename(found[1])] = self.relative(re.sub(r"^CU: ", "", found[1]))
            elif found[2] in full:
                yield full[found[2]], int(found[3])

    # ---- One change ----

    def objects_for(self, mutant):
        found = set()
        for line in range(mutant.line, mutant.last_line + 1):
            found |= self.lines.get((mutant.file, line), set())
        return sorted(found or self.users.get(mutant.file, set()))

    def build_changed(self, mutant):
        """What the compiler had against it, or None. A document of schedules is in both libraries."""
        of_schedule = OF_SCHEDULE.search(mutant.file) is not None
        both = of_schedule and "/document/" in mutant.file
        shutil.rmtree(self.changed, ignore_errors=True)
        names = self.objects_for(mutant)
        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            for done in pool.map(self.compile_changed, names):
                if done.returncode != 0:
                    return done.stdout
        for which in (LIBRARY, SCHEDULE) if both else (SCHEDULE,) if of_schedule else (LIBRARY,):
            link = re.sub(r" -o \S+", f" -o {self.changed / pathlib.Path(which).name}", self.links[which], count=1)
            for name in names:
                link = link.replace(f" {name} ", f" {self.changed / name} ")
            done = run(["sh", "-c", link], self.build)
            if done.returncode != 0:
                return done.stdout
        return None

    def compile_changed(self, name):
        changed = self.changed / name
        changed.parent.mkdir(parents=True, exist_ok=True)
        command = self.compile[name].replace(f"-o {name}", f"-o {changed}").replace(" -g1", "")
        return run(["sh", "-c", command + " -w"], self.build, env=self.environment)

    def try_out(self, mutant, command, seconds):
        """("caught" | "survived" | "does not compile", why)."""
        place = self.tree / mutant.file
        source = place.read_text(encoding="utf-8")
        place.write_text(mutant.apply(source), encoding="utf-8")
        try:
            complaint = self.build_changed(mutant)
            if complaint is not None:
                return "does not compile", first_error(complaint)
            return self.test(command, seconds, mutant.file)
        finally:
            place.write_text(source, encoding="utf-8")

    def test(self, command, seconds, file):
        """Of the libraries that hold the change of a file; one that does not is the good one."""
        libraries = {"library": self.build / LIBRARY, "schedule": self.build / SCHEDULE}
        for kind, good in libraries.items():
            if (self.changed / good.name).exists():
                libraries[kind] = self.changed / good.name
        command = (SCHEDULE_COMMAND if OF_SCHEDULE.search(file) and command == COMMAND else command).format(
            **libraries, tree=self.tree, build=self.build, room=file.split("/")[1])
        limit = lambda: resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        try:
            done = run(["sh", "-c", "exec " + command], self.tree, seconds, preexec_fn=limit)
        except subprocess.TimeoutExpired:
            return "caught", "took far too long"
        last = done.stdout.strip().split("\n")[-1][:300]
        return ("survived", "") if done.returncode == 0 else ("caught", last or f"ended with {done.returncode}")

    def test_unchanged(self, command):
        """How many seconds the slowest takes."""
        shutil.rmtree(self.changed, ignore_errors=True)
        slowest = 0.0
        for file in ("src/any/file", "src/schedule/file"):
            start = time.monotonic()
            outcome, why = self.test(command, 3600, file)
            if outcome != "survived":
                raise SystemExit(f"the command fails on the unchanged {self.tree}, for {file}: {why}")
            slowest = max(slowest, time.monotonic() - start)
        return slowest

    # ---- Unit tests, which hold the templates themselves ----

    def prepare_unit(self):
        must(["cmake", "-S", self.tree, "-B", self.unit, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Debug",
              "-DCMAKE_CXX_FLAGS_DEBUG=-O1", "-DBUTTONWORTH_EXAMPLES=OFF", "-DPython3_ROOT_DIR=/usr"])
        listed = must(["ninja", "-C", self.unit, "-t", "targets", "all"])
        self.programs = sorted(set(re.findall(r"^(unit_\w+_test): phony", listed, re.MULTILINE)))
        why = self.unit_complaint("")
        if why:
            sys.exit(f"the unit tests fail on the unchanged tree: {why}")

    def unit_complaint(self, file):
        """The first unit program that does not build or fails, that of the file's name first; none if all are content."""
        own = f"unit_{pathlib.Path(file).stem}_test"
        for name in sorted(self.programs, key=lambda name: name != own):
            done = run(["ninja", "-C", self.unit, "-j1", name], env=self.environment)
            if done.returncode != 0:
                return f"{name}: {first_error(done.stdout)}"
            try:
                done = run(["ctest", "--no-tests=error", "-R", f"^{name.replace('unit_', 'unit[.]', 1)}$"], self.unit, 1800)
            except subprocess.TimeoutExpired:
                return f"{name} took far too long"
            if done.returncode != 0:
                return name
        return None

    def try_unit(self, mutant):
        place = self.tree / mutant.file
        source = place.read_text(encoding="utf-8")
        place.write_text(mutant.apply(source), encoding="utf-8")
        try:
            why = self.unit_complaint(mutant.file)
            return ("caught", why) if why else ("survived", "")
        finally:
            place.write_text(source, encoding="utf-8")


def first_error(text):
    return next((line.split("error: ")[1] for line in text.split("\n") if "error: " in line), text[-200:])


# ---- The whole run -----------------------------------------------------------------------------------


def accepted_changes(name="accepted.txt"):
    """Lines "pattern  # reason": a pattern of `file: changed line`, or of `file: dropped` and a line of
    which nothing is left, with * and ?."""
    entries = []
    for line in (HERE / name).read_text(encoding="utf-8").split("\n"):
        pattern, _, reason = line.partition("  # ")
        if pattern.strip() and not line.startswith("#"):
            entries.append((pattern.strip(), reason.strip()))
    return entries


def accepted_reason(record, entries):
    # Brackets stand for themselves in code.
    after = squeezed(record["after"])
    shown = f"{record['file']}: {'dropped ' + squeezed(record['before']) if after == ';' else after}"
    for pattern, reason in entries:
        if fnmatch.fnmatchcase(shown, pattern.replace("[", "[[]")):
            return reason
    return None


class Table:
    """What is known so far, written after every change."""

    def __init__(self, path):
        self.path, self.records = path, {}

    def load(self):
        if self.path.exists():
            self.records = {r["key"]: r for r in json.loads(self.path.read_text(encoding="utf-8"))}

    def keep_only(self, keys):
        """Forgets changes of lines that have changed themselves."""
        self.records = {key: record for key, record in self.records.items() if key in keys}

    def recall(self, mutants, entries):
        """What known.txt says was caught, and accepted.txt need not be, of lines that are still the same."""
        caught = set(KNOWN.read_text(encoding="utf-8").split("\n")) if KNOWN.exists() else set()
        for mutant in mutants:
            if mutant.key in self.records:
                continue
            if mutant.key in caught:
                self.add(mutant, "caught", "known", 0)
            elif accepted_reason(vars(mutant), entries):
                self.add(mutant, "survived", "accepted", 0)

    def note(self):
        """Caught changes only: what survived is tried again."""
        caught = sorted(key for key, record in self.records.items() if record["outcome"] == "caught")
        KNOWN.write_text("\n".join(caught) + "\n", encoding="utf-8")

    def add(self, mutant, outcome, why, seconds):
        self.records[mutant.key] = {
            "key": mutant.key, "file": mutant.file, "line": mutant.line, "rule": mutant.rule, "outcome": outcome,
            "why": why, "seconds": round(seconds, 1), "before": mutant.before, "after": mutant.after, "diff": mutant.diff()}
        self.path.write_text(json.dumps(list(self.records.values()), indent=1, ensure_ascii=False), encoding="utf-8")


def try_all(mutants, copies, table, options, seconds):
    free = queue.SimpleQueue()
    for copy in copies:
        free.put(copy)

    def one(mutant):
        copy, start = free.get(), time.monotonic()
        try:
            outcome, why = copy.try_out(mutant, options.command, seconds)
            if outcome == "survived" and options.unit:
                outcome, why = copy.try_unit(mutant)
            return mutant, outcome, why, time.monotonic() - start
        finally:
            free.put(copy)

    with concurrent.futures.ThreadPoolExecutor(len(copies)) as pool:
        for done, future in enumerate(concurrent.futures.as_completed([pool.submit(one, m) for m in mutants]), 1):
            mutant, outcome, why, took = future.result()
            table.add(mutant, outcome, why, took)
            print(f"{done:4}/{len(mutants)}  {outcome:16} {mutant.file}:{mutant.line}  {mutant.rule}  "
                  f"({took:.0f} s)  {why[:110]}", flush=True)


def is_open(record, entries):
    """A survivor that no reason accounts for."""
    return record is not None and record["outcome"] == "survived" and not accepted_reason(record, entries)


def report(records, entries):
    compiled = [r for r in records if r["outcome"] != "does not compile"]
    survivors = [r for r in compiled if r["outcome"] == "survived"]
    reasons = {r["key"]: accepted_reason(r, entries) for r in survivors}
    left = accepted_changes("survivors.txt")
    for file in sorted({r["file"] for r in compiled}):
        of_file = [r for r in compiled if r["file"] == file]
        print(f"{file:30} {sum(r['outcome'] == 'caught' for r in of_file):4} of {len(of_file):4} caught")
    for title, wanted in (("Survivors", False), ("Accepted survivors: they change no answer", True)):
        print(f"\n{title}")
        for r in survivors:
            if bool(reasons[r["key"]]) == wanted:
                reason = reasons[r["key"]] or accepted_reason(r, left)
                print(f"\n{r['file']}:{r['line']}  {r['rule']}" + (f"  ({reason})" if reason else ""))
                print(r["diff"])
    counted = [r for r in compiled if not reasons.get(r["key"])]
    caught = sum(r["outcome"] == "caught" for r in counted)
    print(f"\n{len(records) - len(compiled)} did not compile, {len(compiled) - len(counted)} accepted as changing no answer")
    print(f"{caught} of {len(counted)} caught ({100 * caught / max(1, len(counted)):.1f} %)")


def all_mutants(tree, patterns):
    files = sorted({str(p.relative_to(tree)) for pattern in patterns for p in tree.glob(pattern)})
    return [m for file in files for m in mutants_of(file, (tree / file).read_text(encoding="utf-8"))]


def arguments_given():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--count", type=int, default=200, help="how many changes (default 200)")
    parser.add_argument("--seed", type=int, default=1, help="which ones")
    parser.add_argument("--jobs", type=int, default=1, help="copies worked on side by side")
    parser.add_argument("--command", default=COMMAND, help="with {library}, {tree} and {build}; fails where it notices")
    parser.add_argument("--unit", action="store_true", help="try survivors with the programs of tests/unit too: slow")
    parser.add_argument("--files", nargs="+", default=FILES, metavar="PATTERN", help="what is changed")
    parser.add_argument("--work", type=pathlib.Path, help="folder for copies and table; kept")
    parser.add_argument("--resume", action="store_true", help="keep what the table in --work has")
    parser.add_argument("--again", action="store_true", help="try the table's survivors once more, and no others")
    parser.add_argument("--report", action="store_true", help="only show the table in --work")
    parser.add_argument("--note", action="store_true", help="write what was caught to known.txt")
    parser.add_argument("--list", action="store_true", help="only show what would be changed")
    return parser.parse_args()


def work_through(options, work):
    copies = [Copy(work / f"copy{i}") for i in range(options.jobs)]
    for copy in copies:
        print(f"building {copy.tree}", flush=True)
        copy.prepare()
    if options.unit:
        for copy in copies:
            copy.prepare_unit()
    with concurrent.futures.ThreadPoolExecutor(len(copies)) as pool:
        allowed = 60 + 3 * max(pool.map(lambda copy: copy.test_unchanged(options.command), copies))

    table = Table(work / "results.json")
    mutants, entries = all_mutants(copies[0].tree, options.files), accepted_changes()
    if options.resume or options.again:
        table.load()
        table.keep_only({m.key for m in mutants})
    if options.again:
        chosen = [m for m in mutants if is_open(table.records.get(m.key), entries)]
    else:
        picked = pick(mutants, options.count, options.seed)
        if options.resume:
            table.recall(picked, entries)
        chosen = [m for m in picked if m.key not in table.records]
    try_all(chosen, copies, table, options, allowed)
    return list(table.records.values())


def main():
    options = arguments_given()
    if options.list:
        for m in pick(all_mutants(ROOT, options.files), options.count, options.seed):
            print(f"{m.file}:{m.line}  {m.rule}\n{m.diff()}")
        return
    work = (options.work or pathlib.Path(tempfile.mkdtemp(prefix="buttonworth-mutation-"))).resolve()
    work.mkdir(parents=True, exist_ok=True)
    if options.report:
        table = Table(work / "results.json")
        table.load()
        records = list(table.records.values())
    else:
        records = work_through(options, work)
    report(records, accepted_changes())
    if options.note:
        table = Table(work / "results.json")
        table.load()
        table.note()
    print(f"table: {work / 'results.json'}")


if __name__ == "__main__":
    main()
