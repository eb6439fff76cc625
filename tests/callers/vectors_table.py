"""The table of vectors and languages, and whether an error says the same in all of them.

python3 vectors_table.py core.json libbuttonworth.so[,libbuttonworth_schedule.so] table.txt LANGUAGE=told.txt ...

Each runner tells its vectors that passed, a line each: call, good or bad, id, and the error's text, between
tabs. The table is printed and put into its file. Fails where a cell lacks a vector, and where a language's error is not the C interface's to the letter.
"""

import ctypes
import json
import sys
from collections import Counter

ON_A_PLAN = ("compare", "simulate", "worth", "break_even", "counter_offers", "forgiving_cut", "sensitivity", "map")


class Library:
    """The C interface, as far as errors are concerned."""

    def __init__(self, paths):
        self.libraries = [ctypes.CDLL(path) for path in paths]
        self.c = self.libraries[0]
        self.c.bw_error_text.restype = ctypes.c_char_p
        self.context = ctypes.c_void_p()
        self.c.bw_context_create(ctypes.byref(self.context))

    def call(self, name, *arguments):
        """A call's out-parameter, or None and the error stays with the context."""
        out = ctypes.c_void_p()
        function = next(getattr(library, name) for library in self.libraries if hasattr(library, name))
        status = function(self.context, *arguments, ctypes.byref(out))
        return out if status == 0 else None

    def ask(self, name, document, *before):
        return self.call(name, *before, document, ctypes.c_size_t(len(document)))

    def formula(self, request):
        numbers = request["arguments"]
        row = (ctypes.c_double * len(numbers))(*numbers)
        self.call("bw_formula", request["name"].encode(), row, ctypes.c_size_t(len(numbers)))

    def error_of(self, vector):
        """What the call of a bad vector says, in one line."""
        call = vector["call"]
        text = vector["text"] if "text" in vector else json.dumps(vector["request"])
        if call == "formula":
            self.formula(vector["request"])
        elif call in ON_A_PLAN:
            plan = self.ask("bw_plan_read", text.encode())
            if plan:
                options = json.dumps(vector["options"]).encode() if "options" in vector else b""
                self.ask(f"bw_{call}", options, plan)
        else:
            self.ask(f"bw_{call}", text.encode())
        return self.c.bw_error_text(self.context).decode("utf-8", "replace")


def read_told(path):
    """A language's passed vectors: (call, good or bad) and id, with what the error said."""
    with open(path, encoding="utf-8") as file:
        rows = [line.rstrip("\n").split("\t") for line in file]
    return {(call, kind, name): text for call, kind, name, text in rows}


def in_one_line(text):
    return text.replace("\n", " ").replace("\r", " ").replace("\t", " ")


def table_of(expected, columns):
    names = list(columns)
    lines = [f"{'vectors':<24}" + "".join(f"{name:>9}" for name in ["in file", *names])]
    for (call, kind), count in sorted(expected.items()):
        cells = [Counter(one[:2] for one in columns[name])[call, kind] for name in names]
        lines.append(f"{call + ', ' + kind:<24}" + "".join(f"{cell:>9}" for cell in [count, *cells]))
    totals = [sum(expected.values()), *(len(columns[name]) for name in names)]
    return "\n".join([*lines, f"{'all':<24}" + "".join(f"{cell:>9}" for cell in totals)])


def main(core, libraries, to, files):
    with open(core, encoding="utf-8") as file:
        vectors = {vector["id"]: vector for vector in json.load(file)["vectors"]}
    keys = [(one["call"], "good" if "expected" in one else "bad", name) for name, one in vectors.items()]
    columns = {name: read_told(path) for name, path in (file.split("=", 1) for file in files)}
    table = table_of(Counter(key[:2] for key in keys), columns)
    print(table)
    with open(to, "w", encoding="utf-8") as file:
        file.write(table + "\n")
    faults = [f"{name}: {key[2]} did not pass" for name, told in columns.items() for key in keys if key not in told]

    c = Library(libraries.split(","))
    bad = [key for key in keys if key[1] == "bad"]
    for key in bad:
        wanted = in_one_line(c.error_of(vectors[key[2]]))
        faults += [f"{name}: {key[2]} says {told[key]!r}, in C {wanted!r}"
                   for name, told in columns.items() if told.get(key, wanted) != wanted]
    print(f"{len(bad)} errors compared with the C interface's, to the letter")
    for fault in faults:
        print(fault)
    return 1 if faults or not bad or not columns else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], sys.argv[3], sys.argv[4:]))
