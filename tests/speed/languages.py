"""What calling from Python costs, beside C and NumPy: languages.py DEMO.json [--quick]; prints JSON, times in ns.

C is called in the same process and in turn with Python, so that both meet the same disturbances; what it takes to
call it from here, some microseconds, is nothing beside what it does.
"""

import ctypes
import json
import statistics
import sys
import time
import timeit

import buttonworth


def each(function, times, rounds):
    """The median time of one call: as NumPy's own, the processor's."""
    found = timeit.repeat(function, number=times, repeat=rounds, timer=time.process_time)
    return statistics.median(found) / times * 1e9


def in_turn(functions, rounds):
    """{name: [ns of each round]}."""
    found = {name: [] for name in functions}
    for function in functions.values():
        function()
    for _ in range(rounds):
        for name, function in functions.items():
            begun = time.process_time()
            function()
            found[name].append((time.process_time() - begun) * 1e9)
    return found


def against(found, name, base):
    return statistics.median(a / b for a, b in zip(found[name], found[base]))


class C:
    """The library that the module has loaded, as a program in C calls it."""

    def __init__(self):
        self.library = ctypes.CDLL("libbuttonworth.so.0")
        self.library.bw_answer_text.restype = ctypes.c_void_p
        self.context = ctypes.c_void_p()
        self.must(self.library.bw_context_create(ctypes.byref(self.context)))

    def must(self, status):
        if status != 0:
            sys.exit(f"the C interface gave {status}")

    def compare(self, text):
        plan, answer, size = ctypes.c_void_p(), ctypes.c_void_p(), ctypes.c_size_t()
        self.must(self.library.bw_plan_read(self.context, text, ctypes.c_size_t(len(text)), ctypes.byref(plan)))
        self.must(self.library.bw_compare(self.context, plan, None, ctypes.c_size_t(0), ctypes.byref(answer)))
        self.library.bw_answer_text(answer, ctypes.byref(size))
        self.library.bw_answer_destroy(ctypes.byref(answer))
        self.library.bw_plan_destroy(ctypes.byref(plan))


def single_figures(rounds):
    empty = buttonworth._buttonworth.version
    formula = buttonworth.formula
    return {"empty": each(empty, 20000, rounds), "loop": each(lambda: None, 20000, rounds),
            "formula": each(lambda: formula("moisture", 110.0, 98.0, 10.0), 20000, rounds)}


def weights(rounds):
    try:
        import numpy
    except ImportError:
        return None
    ounces = numpy.linspace(0.001, 1000, 1_000_000)
    found = in_turn({"numpy": lambda: ounces * 31.1034768,
                     "here": lambda: buttonworth.convert_array(ounces, "ozt", "g")}, 10 * rounds)
    same = numpy.allclose(buttonworth.convert_array(ounces, "ozt", "g"), ounces * 31.1034768, rtol=1e-15, atol=0)
    return {"numpy": statistics.median(found["numpy"]), "here": statistics.median(found["here"]),
            "ratio": against(found, "here", "numpy"), "same": bool(same)}


def comparisons(path, rounds):
    with open(path, encoding="utf-8") as file:
        text = file.read()
    c, document, encoded = C(), json.loads(text), text.encode("utf-8")
    found = in_turn({"c": lambda: c.compare(encoded), "text": lambda: buttonworth.compare(text),
                     "dict": lambda: buttonworth.compare(document)}, 4 * rounds)
    return {"c": statistics.median(found["c"]),
            **{name: {"ns": statistics.median(found[name]), "ratio": against(found, name, "c")} for name in ("text", "dict")}}


def main(path, quick):
    rounds = 3 if quick else 11
    print(json.dumps({"figures": single_figures(rounds), "weights": weights(rounds),
                      "comparisons": comparisons(path, rounds)}))


if __name__ == "__main__":
    main(sys.argv[1], "--quick" in sys.argv)
