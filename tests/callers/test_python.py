"""The Python module beyond the vectors: handles, kinds of values, errors, memory, threads, the README."""

import array
import ast
import copy
import ctypes
import enum
import gc
import inspect
import io
import json
import math
import os
import pickle
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
import typing
import unittest
from collections import OrderedDict
from contextlib import redirect_stdout
from decimal import Decimal
from types import MappingProxyType

import buttonworth
from buttonworth import Context, DocumentError, DomainError, UsageError

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../..")
README = os.path.join(ROOT, "bindings/python/README.md")
HEADERS = [os.path.join(ROOT, "include", name) for name in ("buttonworth.h", "buttonworth_schedule.h")]
DEMO = os.path.join(ROOT, "examples/demo")
WITH_SCHEDULE = os.environ.get("BUTTONWORTH_SCHEDULE") == "1"  # whether the library for it is built

PLAN = {
    "format": "buttonworth-plan/1", "currency": "USD", "prices": {"Au": "100 USD/g"}, "discount": "0 %/a",
    "lot": {"wet_mass": "1000 kg", "assays": {"Au": "50 g/t"}}, "steps": {},
    "terms": {"smelter": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}}}},
    "routes": {"zinc": {"sell": "smelter"}, "as it is": {"sell": "smelter"}, "Meg/1": {"keep": True}},
}  # 1 t x 50 g/t x 90 % x 100 USD/g = 4500 USD
ROWS = [
    ("/format", "buttonworth-plan/1"), ("/currency", "USD"), ("/prices/Au", "100 USD/g"), ("/discount", "0 %/a"),
    ("/lot/wet_mass", "1000 kg"), ("/lot/assays/Au", "50 g/t"), ("/steps", "{}"),
    ("/terms/smelter/buys", "concentrate"), ("/terms/smelter/pay/Au/share", "90 %"),
    ("/routes/zinc/sell", "smelter"), ("", ""), (None, None), ("/routes/as it is/sell", "smelter"),
    ["/routes/Meg~11/keep", True],
]


MANY_LOTS = {  # that share one table
    "format": "buttonworth-allocation/1", "currency": "USD", "prices": {"Au": "100 USD/g"}, "discount": "0 %/a",
    "lots": {f"K-{i}": {"wet_mass": f"{300 + 37 * i % 101} kg", "assays": {"Au": f"{40 + 53 * i % 89} g/t"}}
             for i in range(100)},
    "steps": {"shaker": {"kind": "table", "rate": "50 kg/h", "curve": {"Au": [["20 %", "80 %"]]}, "cut": {"pull": "20 %"}}},
    "terms": {"smelter": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}}, "accepts": {"mass": {"min": "150 kg"}}},
              "trader": {"buys": "concentrate", "pay": {"Au": {"share": "50 %"}}}},
    "routes": {"as it is": {"sell": "trader"},
               "tabled": {"step": "shaker", "concentrate": {"sell": "smelter"}, "tailings": {"keep": True}}},
    "capacity": {"shaker": {"hours": "300 h"}}, "gap": "0 %",
}


def changed(**fields):
    return {**PLAN, **fields}


def net(answer, route="zinc"):
    return Decimal(answer["routes"][route]["net"])


def resident_bytes():
    with open("/proc/self/statm", encoding="ascii") as file:
        return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")


class Documents(unittest.TestCase):
    def nets(self, document):
        answer = buttonworth.compare(document)
        return {name: net(answer, name) for name in answer["routes"]}

    def test_every_kind_of_document_is_the_same_plan(self):
        text = json.dumps(PLAN)
        expected = [("zinc", 4500), ("as it is", 4500), ("Meg/1", 0)]
        for document in (text, text.encode(), bytearray(text.encode()), PLAN, MappingProxyType(PLAN), ROWS,
                         iter(ROWS), dict(row for row in ROWS if row[0]).items()):
            with self.subTest(kind=type(document).__name__):
                self.assertEqual(list(self.nets(document).items()), expected)

    def test_the_order_of_a_dict_is_kept(self):
        names = [f"route {number * 7 % 20}" for number in range(20)]
        routes = {name: {"sell": "smelter"} for name in names}
        self.assertEqual(list(buttonworth.compare(changed(routes=routes))["routes"]), names)
        with Context() as context, context.plan(changed(routes=routes)) as plan:
            self.assertEqual(list(json.loads(plan.text())["routes"]), names)

    def test_values_of_rows(self):
        rows = [*ROWS, ("/lot/moisture", "0 %"), ("/routes/none/keep", True), ("/note", None)]
        self.assertEqual(net(buttonworth.compare(rows), "none"), 0)
        # A number in a cell is its text, which is no quantity without a unit.
        without_mass = [row for row in ROWS if row[0] != "/lot/wet_mass"]
        for number, text in ((5, "5"), (2.5, "2.5"), (Decimal("0.10"), "0.10"), (10**400, "1" + "0" * 400)):
            with self.subTest(number=number), self.assertRaises(DocumentError) as caught:
                buttonworth.compare([*without_mass, ("/lot/wet_mass", number)])
            self.assertEqual(caught.exception.pointer, "/lot/wet_mass")
            with Context() as context, context.plan([*ROWS, ("/note", number)]) as plan:
                self.assertEqual(json.loads(plan.text())["note"], text)

    def test_rows_that_are_none(self):
        for row, kind in ((("/a",), UsageError), (("/a", "b", "c"), UsageError), ("ab", TypeError), (5, TypeError),
                          ((5, "b"), TypeError), (("/a", object()), TypeError), (("/a", b"b"), TypeError)):
            with self.subTest(row=row), self.assertRaises(kind):
                buttonworth.compare([row])

    def test_text_that_is_not_utf_8(self):
        for document in (b'{"\xff": 1}', '{"\ud800": 1}'):
            with self.subTest(document=document), self.assertRaises(DocumentError) as caught:
                buttonworth.compare(document)
            self.assertEqual(caught.exception.code, "utf8")
        with self.assertRaises(DocumentError):
            buttonworth.compare({"\ud800": 1})
        with self.assertRaises((UsageError, DocumentError)):
            buttonworth.compare([("/\ud800", "\ud800")])

    def test_deep_and_circular_documents(self):
        deep = last = []
        for _ in range(100_000):
            last.append([])
            last = last[0]
        circle = {}
        circle["again"] = circle
        for document, says in (({"a": deep}, "deep"), (circle, "itself")):
            with self.subTest(says=says), self.assertRaisesRegex(UsageError, says):
                buttonworth.compare(document)
        while deep:  # or Python would run out of stack in freeing it
            deep = deep.pop()

    def test_the_answer_is_json_text_too(self):
        with Context() as context, context.plan(PLAN) as plan:
            self.assertEqual(json.loads(plan.compare_text()), plan.compare())
            self.assertEqual(plan.compare('{"how": false}'), plan.compare({"how": False}))
            self.assertEqual(plan.compare(b""), plan.compare(None))


class WrongKinds(unittest.TestCase):
    def test_none_and_others_where_a_plan_is_wanted(self):
        for document in (None, 5, 2.5, True, object()):
            with self.subTest(document=document), self.assertRaisesRegex(TypeError, "a plan is text"):
                buttonworth.compare(document)
        for value in (object(), {1, 2}, b"bytes", Decimal(1)):
            with self.subTest(value=value), self.assertRaises(TypeError):
                buttonworth.compare(changed(lot=value))

    def test_none_inside_a_plan_is_null(self):
        with self.assertRaises(DocumentError) as caught:
            buttonworth.compare(changed(lot=None))
        self.assertEqual((caught.exception.code, caught.exception.pointer), ("type", "/lot"))

    def test_nan_and_infinity(self):
        lot = {"wet_mass": "1000 kg", "assays": {"A/u~": [1.0, math.nan]}}
        for document in (changed(lot=lot), [("/lot/assays/A~1u~0/1", math.nan)]):
            with self.subTest(kind=type(document).__name__), self.assertRaises(UsageError) as caught:
                buttonworth.compare(document)
            self.assertEqual(caught.exception.pointer, "/lot/assays/A~1u~0/1")
            self.assertIn("nan", caught.exception.text)
        for document in ({math.nan: 1}, {"a": math.inf}):
            with self.subTest(document=document), self.assertRaises(UsageError):
                buttonworth.compare(document)
        for number in (math.inf, -math.inf, Decimal("NaN"), Decimal("sNaN"), Decimal("Infinity")):
            with self.subTest(number=number), self.assertRaises(UsageError):
                buttonworth.compare([("/lot", number)])
        with self.assertRaises(UsageError):
            buttonworth.convert("1 kg", "g", {"g per ozt": math.nan})

    def test_options(self):
        with Context() as context, context.plan(PLAN) as plan:
            for options in (5, True, ["how"], object()):
                with self.subTest(options=options), self.assertRaisesRegex(TypeError, "options"):
                    plan.compare(options)
            with self.assertRaises(buttonworth.Error):
                plan.compare({"hwo": True})
            with self.assertRaises(UsageError):
                plan.compare({"how": math.nan})

    def test_other_calls(self):
        for call in (lambda: buttonworth.convert(5, "g"), lambda: buttonworth.convert("1 kg", None),
                     lambda: buttonworth.convert(math.nan, "g"), lambda: buttonworth.convert("1 kg", "g", 5),
                     lambda: buttonworth.schema(None), lambda: buttonworth.schema(math.nan),
                     lambda: Context().limit(5), lambda: Context().set_limit("depth", 2.5),
                     lambda: Context().set_limit("depth", math.nan), lambda: Context().set_limit("depth", None)):
            with self.assertRaises((TypeError, DocumentError)):
                call()
        with self.assertRaises(UsageError):
            buttonworth.schema("plans")

    def test_zero_bytes_do_not_cut_a_text_short(self):
        with Context() as context, context.plan(PLAN) as plan:
            for call in (lambda: plan.with_value("/discount\0x", "0 %/a"),
                         lambda: plan.with_value("/discount", "0 %/a\0x"), lambda: context.limit("depth\0x"),
                         lambda: buttonworth.schema("plan\0x"), lambda: context.plan([("/format\0", "x")]),
                         lambda: buttonworth.convert_array([1], "g\0", "kg"),
                         lambda: buttonworth.convert("1 g\0", "kg")):
                with self.assertRaises((UsageError, DocumentError)):
                    call()


class Handles(unittest.TestCase):
    def assert_closed(self, call):
        with self.assertRaisesRegex(UsageError, "closed") as caught:
            call()
        self.assertEqual((caught.exception.code, caught.exception.status), ("null", 101))

    def test_closed_twice_and_used_again(self):
        context = Context()
        plan = context.plan(PLAN)
        plan.close()
        plan.close()
        for call in (plan.compare, plan.compare_text, plan.text, lambda: plan.with_value("/discount", "1 %/a")):
            self.assert_closed(call)
        other = context.plan(PLAN)
        context.close()
        context.close()
        context.cancel()
        for call in (lambda: context.plan(PLAN), lambda: context.plan(ROWS), lambda: context.limit("depth"),
                     lambda: context.set_limit("depth", 5), other.compare,
                     lambda: other.with_value("/discount", "1 %/a")):
            self.assert_closed(call)
        self.assertEqual(json.loads(other.text()), PLAN)  # a plan outlives its context

    def test_with_closes(self):
        with Context() as context, context.plan(PLAN) as plan:
            plan.compare()
        self.assert_closed(plan.text)
        self.assert_closed(lambda: context.plan(PLAN))

    def test_copies_share_a_handle_and_nothing_is_pickled(self):
        context = Context()
        plan = context.plan(PLAN)
        copy.copy(plan).close()
        self.assert_closed(plan.compare)
        for thing in (plan, context):
            with self.assertRaises((TypeError, pickle.PicklingError)):
                pickle.dumps(thing)

    def test_none_is_no_handle(self):
        low = buttonworth._buttonworth
        for call in (lambda: low.ContextHandle().compare(None, ""), lambda: low.ContextHandle().plan_of_rows(None),
                     low.PlanHandle, low.AnswerHandle):
            with self.assertRaises((TypeError, ValueError)):
                call()


class WithValue(unittest.TestCase):
    def test_one_value_replaced(self):
        with Context() as context, context.plan(PLAN) as plan:
            with plan.with_value("/prices/Au", "110 USD/g") as dearer:
                self.assertEqual(net(dearer.compare()), 4950)
            self.assertEqual(net(plan.compare()), 4500)
            other = plan.with_value("/terms/smelter/pay", {"Au": {"share": "50 %"}})
            self.assertEqual(net(other.compare()), 2500)
            kept = other.with_value("/routes/zinc", {"keep": True})
            self.assertEqual(net(kept.compare()), 0)
            self.assertEqual(list(kept.compare()["routes"]), ["zinc", "as it is", "Meg/1"])

    def test_what_cannot_be(self):
        with Context() as context, context.plan(PLAN) as plan:
            with self.assertRaises(UsageError) as caught:
                plan.with_value("/prices/Ag", "1 USD/g")
            self.assertEqual((caught.exception.code, caught.exception.pointer), ("pointer", "/prices/Ag"))
            with self.assertRaises(DocumentError) as caught:
                plan.with_value("/lot/wet_mass", "5 oz")
            self.assertEqual((caught.exception.code, caught.exception.pointer), ("unit", "/lot/wet_mass"))
            with self.assertRaises(DocumentError):
                plan.with_value("/lot/wet_mass", None)
            with self.assertRaises(UsageError):
                plan.with_value("/lot/wet_mass", math.nan)
            for pointer, value in ((5, "x"), (None, "x"), ("/lot/wet_mass", object())):
                with self.subTest(pointer=pointer), self.assertRaises(TypeError):
                    plan.with_value(pointer, value)


class Errors(unittest.TestCase):
    def raised(self, document):
        with self.assertRaises(buttonworth.Error) as caught:
            buttonworth.compare(document)
        return caught.exception

    def test_attributes_and_the_whole_list(self):
        error = self.raised(changed(discount="5 kg", lot={"wet_mass": "5 oz", "assays": {"Au": "50 g/t"}}))
        self.assertIsInstance(error, DocumentError)
        self.assertEqual((error.class_name, error.code, error.status), ("document", "unit", 209))
        self.assertEqual({one["pointer"] for one in error.errors}, {"/discount", "/lot/wet_mass"})
        self.assertEqual(error.pointer, error.errors[0]["pointer"])
        self.assertEqual(str(error), error.text)
        self.assertTrue(error.text.startswith(error.pointer + ": "))
        self.assertEqual(set(error.errors[0]), {"class", "code", "status", "pointer", "text"})

    def test_classes(self):
        self.assertIsInstance(self.raised("{"), DocumentError)
        over = {"wet_mass": "1 kg", "assays": {"Au": "60 %", "Ag": "60 %"}}
        self.assertIsInstance(self.raised(changed(lot=over)), buttonworth.DomainError)
        for name in ("UsageError", "DocumentError", "DomainError", "NoSolutionError", "Cancelled", "BusyError",
                     "MemoryFailure", "InternalError"):
            self.assertTrue(issubclass(getattr(buttonworth, name), buttonworth.Error), name)

    def test_an_error_goes_between_processes(self):
        error = self.raised("{")
        again = pickle.loads(pickle.dumps(error))
        self.assertEqual((type(again), str(again), again.errors), (type(error), str(error), error.errors))

    def test_a_success_after_a_failure(self):
        with Context() as context:
            with self.assertRaises(DocumentError):
                context.plan("{")
            self.assertEqual(net(context.plan(PLAN).compare()), 4500)

    def test_limits(self):
        with Context() as context:
            self.assertEqual(context.limit("depth"), 64)
            context.set_limit("depth", 3)
            self.assertEqual(context.limit("depth"), 3)
            with self.assertRaises(DocumentError) as caught:
                context.plan(PLAN)
            self.assertEqual(caught.exception.code, "limit")
            for name, value, status, text in (
                    ("depth", 0, 102, "limit depth is 1 to 512"), ("depth", -2**70, 102, "limit depth is 1 to 512"),
                    ("depth", 2**40, 102, "limit depth is 1 to 512"), ("nodes", 0, 102, "limit nodes is 1 or more"),
                    ("depth", 2**70, 105, "below 2^63"), ("deepness", 5, 106, "depth")):
                with self.subTest(name=name, value=value), self.assertRaises(UsageError) as caught:
                    context.set_limit(name, value)
                self.assertEqual(caught.exception.status, status)
                self.assertIn(text, str(caught.exception))


class Units(unittest.TestCase):
    grams = [31.1034768, 62.2069536]

    def test_convert(self):
        self.assertEqual(buttonworth.convert("1 lb", "g"), "453.59237 g")
        self.assertEqual(buttonworth.convert("1 ozt", "g", {"g per ozt": "31.1035"}), "31.1035 g")
        with self.assertRaises(DocumentError) as caught:
            buttonworth.convert("1 lb", "h")
        self.assertEqual(caught.exception.code, "unit")

    def test_arrays_of_python(self):
        row = array.array("d", [1.0, 2.0])
        spaced = memoryview(array.array("d", [1.0, 9.0, 2.0, 9.0]))[::2]
        backwards = memoryview(array.array("d", [2.0, 1.0]))[::-1]
        for values in ([1.0, 2.0], (1, 2), row, array.array("i", [1, 2]), spaced, backwards, iter([1, 2]),
                       (ctypes.c_double * 2)(1.0, 2.0), memoryview(row).toreadonly()):
            with self.subTest(values=values):
                grams = buttonworth.convert_array(values, "ozt", "g")
                self.assertIsInstance(grams, array.array)
                for found, expected in zip(grams, self.grams, strict=True):
                    self.assertAlmostEqual(found, expected, delta=1e-14 * expected)
        self.assertEqual(list(row), [1.0, 2.0])
        self.assertEqual(len(buttonworth.convert_array([], "ozt", "g")), 0)

    def test_nan_and_infinity_pass_through(self):
        nan, infinity = buttonworth.convert_array([math.nan, -math.inf], "ozt", "g")
        self.assertTrue(math.isnan(nan))
        self.assertEqual(infinity, -math.inf)

    def test_what_is_no_array(self):
        square = memoryview(bytes(32)).cast("d", [2, 2])
        for values in (None, 5, "12", b"12345678", bytearray(8), [None], ["1"], [[1.0]], [1j], square):
            with self.subTest(values=values), self.assertRaises(TypeError):
                buttonworth.convert_array(values, "ozt", "g")
        for units in (("oz", "g"), ("ozt", "h"), ("\ud800", "g")):
            with self.subTest(units=units), self.assertRaises((DocumentError, UsageError)):
                buttonworth.convert_array([1.0], *units)
        with self.assertRaises(TypeError):
            buttonworth.convert_array([1.0], None, "g")

    def test_numpy(self):
        try:
            import numpy
        except ImportError:
            self.skipTest("NumPy is not there")
        table = numpy.arange(12.0).reshape(3, 4)
        for values in (table, table.T, table[::-1, ::2], table[0], table[:, 1], table.astype("f4"),
                       table.astype("i8"), table.astype(">f8"), numpy.broadcast_to(2.0, (5,)),
                       numpy.float64(3.0), numpy.zeros((0, 3))):
            with self.subTest(shape=values.shape, kind=values.dtype):
                grams = buttonworth.convert_array(values, "ozt", "g")
                self.assertIsInstance(grams, numpy.ndarray)
                self.assertEqual((grams.shape, grams.dtype), (values.shape, numpy.float64))
                numpy.testing.assert_allclose(grams, values.astype("f8") * 31.1034768, rtol=1e-14)
        for values in (numpy.array([1j]), numpy.array(["1"]), numpy.array([None]), numpy.array([True])):
            with self.subTest(kind=values.dtype), self.assertRaises(TypeError):
                buttonworth.convert_array(values, "ozt", "g")

    def test_numpy_is_not_imported(self):
        code = "import sys, buttonworth; buttonworth.convert_array([1.0], 'ozt', 'g'); sys.exit('numpy' in sys.modules)"
        self.assertEqual(subprocess.run([sys.executable, "-c", code], check=False).returncode, 0)


class Formulas(unittest.TestCase):
    def test_one_figure(self):
        # Wills' Mineral Processing Technology: 81.7 %; quoted from memory.
        self.assertAlmostEqual(100 * buttonworth.formula("two_product_recovery", 0.8, 25, 0.15), 81.7, delta=0.05)
        self.assertAlmostEqual(buttonworth.formula("moisture", 110, 98, 10), 0.12, delta=1e-15)
        self.assertAlmostEqual(buttonworth.formula("moisture", 100, 88), 0.12, delta=1e-15)
        self.assertAlmostEqual(buttonworth.formula("moisture", Decimal(100), True), 0.99, delta=1e-15)

    def test_what_cannot_be(self):
        for kind, arguments in ((UsageError, ("moistness", 1)), (UsageError, ("moisture", 1)),
                                (DocumentError, ("moisture", 88, 100)), (DomainError, ("two_product_recovery", 1, 2, 2)),
                                (TypeError, ("moisture", "110", 98)), (TypeError, (None, 1)), (TypeError, ()),
                                (UsageError, ("moisture\0", 1, 2)), (UsageError, ("\ud800", 1)),
                                (UsageError, ("moisture", *range(1, 40)))):
            with self.subTest(arguments=arguments), self.assertRaises(kind):
                buttonworth.formula(*arguments)

    def test_columns(self):
        dry = buttonworth.formula_array("dry_mass", [100, 200.0], 0.1)
        self.assertIsInstance(dry, array.array)
        self.assertEqual(list(dry), [90.0, 180.0])
        self.assertEqual(len(buttonworth.formula_array("dry_mass", [], [])), 0)
        self.assertEqual(len(buttonworth.formula_array("dry_mass", [], 0.1)), 0)
        with self.assertRaises(UsageError):
            buttonworth.formula_array("moistness", [], [])
        with self.assertRaises(TypeError):
            buttonworth.formula_array("dry_mass", [1, 2, 3], [0.1, 0.2])
        with self.assertRaises(DocumentError) as caught:
            buttonworth.formula_array("dry_mass", [1, 2], [0.1, 1.2])
        self.assertIn("row 1", caught.exception.text)

    def test_numpy_broadcasts(self):
        try:
            import numpy
        except ImportError:
            self.skipTest("NumPy is not there")
        wet, moisture = numpy.array([[100.0], [200.0]]), numpy.array([0.1, 0.2, 0.5])
        numpy.testing.assert_allclose(buttonworth.formula_array("dry_mass", wet, moisture), wet * (1 - moisture))

    def test_the_list_has_every_formula_with_its_arguments(self):
        listed = {one["name"]: [argument["name"] for argument in one["arguments"]] for one in buttonworth.formulas()}
        self.assertEqual(listed["dry_mass"], ["wet", "moisture"])
        self.assertGreaterEqual(len(listed), 20)


@unittest.skipUnless(shutil.which("units"), "GNU units is not installed")
class SecondOpinion(unittest.TestCase):
    """The program GNU units holds the same factors."""

    MASSES = {"g": "gram", "kg": "kg", "t": "tonne", "lb": "pound", "st": "shortton", "lt": "longton", "ozt": "troyounce",
              "dwt": "dwt", "gr": "grain"}
    GRADES = {"%": "percent", "g/t": "gram/tonne", "kg/t": "kg/tonne", "ppm": "ppm", "ppb": "ppb", "ozt/st": "troyounce/shortton",
              "ozt/lt": "troyounce/longton", "ozt/t": "troyounce/tonne", "dwt/st": "dwt/shortton", "fine": "1|1000", "kt": "1|24"}
    OTHERS = [("h", "hour", "min", "minute"), ("d", "day", "h", "hour"), ("kWh", "kWh", "MJ", "MJ"), ("m3", "m^3", "L", "liter"),
              ("t/m3", "tonne/m^3", "kg/L", "kg/liter"), ("t/h", "tonne/hour", "kg/h", "kg/hour")]

    def expect(self, ours, theirs, to, to_theirs):
        said = subprocess.run(["units", "-t", "-o", "%.15g", theirs, to_theirs], capture_output=True, text=True, check=True)
        mine = buttonworth.convert(f"1 {ours}", to).split()[0]
        self.assertAlmostEqual(float(mine) / float(said.stdout), 1, delta=1e-13, msg=f"1 {ours} in {to}")

    def test_every_pair(self):
        for table in (self.MASSES, self.GRADES):
            for ours, theirs in table.items():
                for to, to_theirs in table.items():
                    self.expect(ours, theirs, to, to_theirs)
        for row in self.OTHERS:
            self.expect(*row)


class ManyLots(unittest.TestCase):
    """A lot of m kg at a g/t leaves 0.09 m a USD, or is kept."""

    TWO = {"routes": ["as it is", "Meg/1"]}

    def test_rows_of_numbers_give_rows(self):
        answer = buttonworth.value_lots(PLAN, {"/lot/wet_mass": [1000, 2000], "/lot/assays/Au": [50.0, 10.0]},
                                        self.TWO)
        self.assertEqual(list(answer["routes"]), ["as it is", "Meg/1"])
        self.assertIsInstance(answer.means, array.array)
        for found, expected in zip(answer.means, [4500, 0, 1800, 0]):
            self.assertAlmostEqual(found, expected, delta=1e-9)
        self.assertEqual(list(answer.sds), [0.0] * 4)
        self.assertEqual(answer["sum"], "6300.0000")
        self.assertEqual(answer["left_out"], [])
        self.assertEqual(len(buttonworth.value_lots(PLAN, {"/lot/wet_mass": []}).means), 0)
        self.assertEqual(buttonworth.value_lots(PLAN, {})["rows"], 0)

    def test_what_cannot_be_read_is_counted(self):
        answer = buttonworth.value_lots(PLAN, {"/lot/wet_mass": [1000, math.nan, -5]}, {"first": 10, "routes": ["zinc"]})
        self.assertEqual([answer[name] for name in ("rows", "counted", "unreadable")], [3, 1, 2])
        self.assertEqual([row["row"] for row in answer["left_out"]], [11, 12])
        self.assertEqual([math.isnan(one) for one in answer.means], [False, True, True])

    def test_what_is_no_column(self):
        for kind, columns in ((UsageError, {"/lot/weight": [1]}), (UsageError, {"/lot/wet_mass": [1, 2], "/lot/assays/Au": [1, 2, 3]}),
                              (TypeError, {"/lot/wet_mass": "1"}), (TypeError, {1: [1]}), (TypeError, [1]),
                              (TypeError, {"/lot/wet_mass": [None]})):
            with self.subTest(columns=columns), self.assertRaises(kind):
                buttonworth.value_lots(PLAN, columns)
        with self.assertRaises(UsageError) as caught:
            buttonworth.value_lots(PLAN, {"/lot/wet_mas": [1]})
        self.assertEqual(caught.exception.pointer, "/columns/0")
        self.assertIn("/lot/wet_mass", caught.exception.text)

    def test_numpy_gives_tables_and_pieces_add_up(self):
        try:
            import numpy
        except ImportError:
            self.skipTest("NumPy is not there")
        unsure = {**PLAN, "lot": {"wet_mass": "1000 kg", "assays": {"Au": {"value": "50 g/t", "rsd": "5 %"}}}}
        columns = {"/lot/wet_mass": numpy.linspace(100, 3000, 1001)[::2], "/lot/assays/Au": numpy.arange(1, 502)}
        with buttonworth.Context() as context, context.plan(unsure) as plan:
            whole = plan.value_lots(columns, {**self.TWO, "draws": 32, "threads": 2})
            self.assertEqual(whole.means.shape, (501, 2))
            self.assertEqual(whole.sds.shape, (501, 2))
            pieces = [plan.value_lots({place: column[part] for place, column in columns.items()},
                                      {**self.TWO, "draws": 32, "first": part.start})
                      for part in (slice(0, 77), slice(77, 400), slice(400, 501))]
        numpy.testing.assert_array_equal(numpy.vstack([piece.means for piece in pieces]), whole.means)
        numpy.testing.assert_array_equal(numpy.vstack([piece.sds for piece in pieces]), whole.sds)
        self.assertEqual(sum(Decimal(piece["sum"]) for piece in pieces), Decimal(whole["sum"]))
        for draw in range(32):
            self.assertEqual(sum(Decimal(piece["draws"]["sums"][draw]) for piece in pieces),
                             Decimal(whole["draws"]["sums"][draw]))
        with self.assertRaises(TypeError):
            buttonworth.value_lots(PLAN, {"/lot/wet_mass": numpy.ones((2, 2))})


class Others(unittest.TestCase):
    def test_schema_and_version(self):
        for name in ("plan", "comparison", "options"):
            self.assertIn("$schema", buttonworth.schema(name))
        self.assertRegex(buttonworth.version(), r"^\d+\.\d+\.\d+$")

    def test_all_names_are_there(self):
        for name in buttonworth.__all__:
            self.assertTrue(getattr(buttonworth, name).__doc__, name)


HEADING = {
    "format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01", "to": "2026-03-31",
    "buyers": {"smelter": {"terms": {"buys": "concentrate", "pay": {"Au": {}}}, "prices": {"Au": "100 USD/g"}}},
}
TABLE = "id,buyer,arrived,wet_mass (kg),Au (g/t)\nK-1,smelter,2026-03-02,1000,50\nK-2,smelter,2026-03-09,500,40\n"
# 50 g and 20 g at 100 USD/g


class Months(unittest.TestCase):
    def test_pieces_make_the_book_at_once(self):
        at_once = buttonworth.book({**HEADING, "deliveries": TABLE})
        self.assertEqual(Decimal(at_once["total"]["proceeds"]), 7000)
        with buttonworth.Month(HEADING) as month:
            for piece in (TABLE[:11], TABLE[11:60].encode(), TABLE[60:]):
                month.take("deliveries", piece)
            self.assertEqual(month.book(), at_once)
            with self.assertRaises(UsageError):
                month.book()

    def test_errors_say_where(self):
        with buttonworth.Month(HEADING) as month, self.assertRaises(DocumentError) as caught:
            month.take("deliveries", TABLE.replace("2026-03-09", "9 March"))
        self.assertEqual(caught.exception.pointer, "/deliveries/1/arrived")
        self.assertIn("row 3", caught.exception.text)

    def test_a_closed_month(self):
        month = buttonworth.Month(HEADING)
        month.close()
        with self.assertRaises(UsageError):
            month.take("deliveries", TABLE)


UNSURE = changed(prices={"Au": {"low": "80 USD/g", "high": "120 USD/g"}}, lot={
    "wet_mass": "1000 kg", "assays": {"Au": {"value": "50 g/t", "sd": "2 g/t"}}})


class Simulations(unittest.TestCase):
    OPTIONS = {"draws": 4096, "keep": True}

    def test_a_dict_of_the_answer_and_draws_that_make_it(self):
        answer = buttonworth.simulate(UNSURE, self.OPTIONS)
        self.assertEqual(list(answer["routes"]), ["zinc", "as it is", "Meg/1"])
        self.assertEqual(json.loads(json.dumps(answer)), answer)
        worth = answer.draws("zinc")
        self.assertEqual(len(worth), answer["draws"])
        mean = math.fsum(worth) / len(worth)
        self.assertAlmostEqual(mean, float(answer["routes"]["zinc"]["mean"]), delta=1e-5)
        for price, grade, left in zip(answer.draws("/prices/Au"), answer.draws("/lot/assays/Au"), worth):
            self.assertAlmostEqual(price * grade * 1000 * 0.9, left, delta=left * 1e-12)  # USD/kg, share, kg, 90 % paid
        self.assertEqual(set(answer.draws("Meg/1")), {0.0})

    def test_draws_are_numpy_s_where_it_is(self):
        draws = buttonworth.simulate(UNSURE, self.OPTIONS).draws("zinc")
        try:
            import numpy
        except ImportError:
            self.assertEqual((type(draws), draws.typecode), (array.array, "d"))
            return
        self.assertEqual((type(draws), draws.dtype, draws.shape), (numpy.ndarray, numpy.float64, (4096,)))
        draws[0] = 1.0  # the caller's own

    def test_draws_without_numpy(self):
        code = ("import json, sys; sys.modules['numpy'] = None; import buttonworth; plan = json.loads(sys.argv[1]); "
                "draws = buttonworth.simulate(plan, {'draws': 4096, 'keep': True}).draws('zinc'); "
                "sys.exit(0 if (draws.typecode, len(draws)) == ('d', 4096) else 3)")
        ended = subprocess.run([sys.executable, "-c", code, json.dumps(UNSURE)], check=False)
        self.assertEqual(ended.returncode, 0)

    def test_what_was_not_kept(self):
        answer = buttonworth.simulate(UNSURE, self.OPTIONS)
        for name, told in (("/prices/Ag", "no draws of this"), ("", "no draws of this")):
            with self.assertRaises(UsageError) as caught:
                answer.draws(name)
            self.assertEqual(caught.exception.code, "pointer")
            self.assertIn(told, caught.exception.text)
        with self.assertRaises(UsageError) as caught:
            buttonworth.simulate(UNSURE, {"draws": 4096}).draws("zinc")
        self.assertIn("keep", caught.exception.text)
        with self.assertRaises(UsageError):
            answer.draws("zinc\0")
        for name in (None, 5, b"zinc"):
            with self.assertRaises(TypeError):
                answer.draws(name)

    def test_draws_outlive_plan_and_context(self):
        with Context() as context, context.plan(UNSURE) as plan:
            answer = plan.simulate(self.OPTIONS)
        gc.collect()
        self.assertEqual(len(answer.draws("zinc")), 4096)
        self.assertEqual(len(copy.copy(answer).draws("zinc")), 4096)

    def test_the_same_on_any_number_of_threads(self):
        one, seven = (buttonworth.simulate(UNSURE, {**self.OPTIONS, "threads": n}) for n in (1, 7))
        self.assertEqual(one, seven)
        self.assertEqual(bytes(one.draws("zinc")), bytes(seven.draws("zinc")))

    def test_worth(self):
        candidate = {"of": "/lot/assays/Au", "error": "4 %", "count": 3, "cost": "65 USD"}
        answer = buttonworth.worth(UNSURE, {"draws": 4096, "candidates": [candidate]})
        self.assertEqual(len(answer["candidates"][0]["counts"]), 3)
        self.assertIsNone(answer["best"])  # one buyer: whatever it shows, the way is the same
        with self.assertRaises(UsageError) as caught:
            buttonworth.worth(UNSURE, {"candidates": [{**candidate, "of": "/lot/assays/Ag"}]})
        self.assertEqual(caught.exception.pointer, "/candidates/0/of")
        with Context() as context, context.plan(UNSURE) as plan, self.assertRaises(TypeError):
            plan.worth()

    def test_draws_leak_nothing(self):
        def work(times):
            for _ in range(times):
                buttonworth.simulate(UNSURE, self.OPTIONS).draws("zinc")
            gc.collect()

        work(50)
        before = resident_bytes()
        work(300)
        # Every answer holds 5 x 32 KB of draws; ten of them would show.
        self.assertLess(resident_bytes() - before, 4_000_000)


class LongCalls(unittest.TestCase):
    """Calls of many seconds: Ctrl-C ends them soon, and other threads run meanwhile."""

    # Seconds; a library whose memory is watched is slower by as much.
    SOON = 3 if "san" in os.environ.get("LD_PRELOAD", "") else 0.5

    @classmethod
    def setUpClass(cls):
        def document(name):
            with open(os.path.join(DEMO, name), encoding="utf-8") as file:
                return json.load(file)

        cls.context = Context()
        cls.context.set_limit("list length", 10**7)
        cls.plan = cls.context.plan(document("plan.json"))
        cls.sure = document("sure.json")
        cls.many = cls.context.plan(changed(routes={f"route {number}": {"sell": "smelter"} for number in range(20_000)}))
        cls.rows = TABLE.split("\n")[0] + "\n" + "".join(
            f"K-{number},smelter,2026-03-02,1000,50\n" for number in range(300_000))

    @classmethod
    def tearDownClass(cls):
        cls.context.close()

    def take(self):
        with buttonworth.Month(HEADING, self.context) as month:
            month.take("deliveries", self.rows)

    def calls(self):
        drawn = {**self.sure["simulate"], "draws": 2**24}
        book = json.dumps({**HEADING, "deliveries": self.rows})
        allocate = {"allocate": lambda: buttonworth.allocate(MANY_LOTS)} if WITH_SCHEDULE else {}
        return {
            **allocate, "compare": self.many.compare, "simulate": lambda: self.plan.simulate(drawn),
            "simulate on threads": lambda: self.plan.simulate({**drawn, "threads": 3}),
            "worth": lambda: self.plan.worth({**self.sure["worth"], "draws": 2**20}),
            "sensitivity": self.plan.sensitivity, "counter_offers": self.plan.counter_offers,
            "break_even": lambda: self.plan.break_even({"of": "/prices/Au", "from": "1 USD/ozt", "to": "9000 USD/ozt"}),
            "map": lambda: self.plan.map({"x": {"of": "/prices/Au"}, "y": {"of": "/lot/parts/0/assays/Au"}}),
            "book": lambda: self.context._handle.book(book), "take": self.take,
        }

    def interrupted_at(self, seconds):
        """Presses Ctrl-C after that; the list gets the time when it was."""
        pressed = []

        def press():
            pressed.append(time.perf_counter())
            signal.raise_signal(signal.SIGINT)

        timer = threading.Timer(seconds, press)
        timer.start()
        return pressed, timer

    def test_ctrl_c_ends_each_of_them(self):
        before = self.plan.compare()
        for name, call in self.calls().items():
            with self.subTest(call=name):
                pressed, timer = self.interrupted_at(0.15)
                with self.assertRaises(KeyboardInterrupt) as caught:
                    try:
                        call()
                    finally:
                        timer.join()
                self.assertLess(time.perf_counter() - pressed[0], self.SOON)
                self.assertIsNone(caught.exception.__context__)
                self.assertEqual(self.context.limit("depth"), 64)  # nothing goes on, and it takes calls
        self.assertEqual(self.plan.compare(), before)

    def test_a_handler_that_goes_on_lets_the_call_go_on(self):
        alone = self.plan.simulate({"draws": 2**17})
        seen = []
        before = signal.signal(signal.SIGINT, lambda *_: seen.append(time.perf_counter()))
        try:
            _, timer = self.interrupted_at(0.02)
            answer = self.plan.simulate({"draws": 2**17})
            ended = time.perf_counter()
            timer.join()
        finally:
            signal.signal(signal.SIGINT, before)
        self.assertEqual(answer, alone)
        self.assertEqual([moment < ended for moment in seen], [True])

    def test_a_handler_s_own_exception_comes_out(self):
        class Stop(Exception):
            pass

        def stop(*_):
            raise Stop

        before = signal.signal(signal.SIGINT, stop)
        try:
            _, timer = self.interrupted_at(0.05)
            with self.assertRaises(Stop):
                self.plan.simulate({"draws": 2**24})
            timer.join()
        finally:
            signal.signal(signal.SIGINT, before)

    def test_other_threads_of_python_run_on(self):
        ended = threading.Event()
        ticks = []
        noted = json.dumps(changed(note=["x" * 50] * 200_000)).encode()

        def tick():
            while not ended.wait(0.002):
                ticks.append(time.perf_counter())

        ticker = threading.Thread(target=tick)
        ticker.start()
        try:
            for call in (lambda: self.plan.simulate({"draws": 2**18}), self.take,
                         lambda: self.context.plan(noted)):
                begun = time.perf_counter()
                call()
                took = time.perf_counter() - begun
                inside = [begun, *(moment for moment in ticks if begun < moment < begun + took), begun + took]
                longest = max(later - earlier for earlier, later in zip(inside, inside[1:]))
                self.assertLess(longest, took / 2, f"the lock was held for {longest:.3f} of {took:.3f} s")
        finally:
            ended.set()
            ticker.join()


class Memory(unittest.TestCase):
    def test_failing_calls_leak_nothing(self):
        context, closed = Context(), Context().plan(PLAN)
        closed.close()
        plan = context.plan(PLAN)
        wrong = json.dumps(changed(discount="5 kg", lot={"wet_mass": "5 oz"}))
        calls = (lambda: context.plan(wrong), lambda: context.plan("{"), lambda: context.plan([("/a", "b")]),
                 lambda: context.plan([("/a", "b" * 1000), ("/c",)]), closed.compare, lambda: plan.compare({"x": 1}),
                 lambda: plan.with_value("/x", "y" * 1000), lambda: plan.with_value("/lot/wet_mass", "y" * 1000),
                 lambda: buttonworth.convert("1 x", "g"), lambda: buttonworth.convert_array([1.0], "x", "g"),
                 lambda: buttonworth.schema("x" * 1000), lambda: context.plan({"a": math.nan}),
                 lambda: context.plan({"a": [object()] * 9}), lambda: context.plan(None),
                 lambda: buttonworth.formula("moisture", 88, 100), lambda: buttonworth.formula("moisture", "x"),
                 lambda: buttonworth.formula("x" * 1000), lambda: plan.simulate({"draws": 0}))

        def fail(times):
            for _ in range(times):
                for call in calls:
                    try:
                        call()
                    except buttonworth.Error:
                        continue
                    self.fail("a call that must fail did not")
            gc.collect()

        fail(1000)
        before, blocks = resident_bytes(), sys.getallocatedblocks()
        fail(100_000 // len(calls) + 1)
        # Each call handles about 1 KB; one that leaked would show with 8 MB or more, and 8,000 blocks of Python's.
        self.assertLess(resident_bytes() - before, 4_000_000)
        self.assertLess(sys.getallocatedblocks() - blocks, 1000)

    def test_good_calls_leak_nothing(self):
        def work(times):
            with Context() as context:
                for _ in range(times):
                    context.plan(PLAN).with_value("/discount", "1 %/a").compare()
                    context.plan(ROWS)
            gc.collect()

        work(500)
        before = resident_bytes()
        work(5000)
        self.assertLess(resident_bytes() - before, 4_000_000)


class Threads(unittest.TestCase):
    def run_together(self, *works):
        faults = []

        def guarded(work):
            try:
                work()
            except BaseException as fault:  # shown by the test, not lost with the thread
                faults.append(fault)

        threads = [threading.Thread(target=guarded, args=(work,)) for work in works]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.assertEqual(faults, [])

    def test_two_threads_at_one_context(self):
        routes = {f"route {number}": {"sell": "smelter"} for number in range(300)}
        with Context() as context, context.plan(changed(routes=routes)) as plan:
            results = []

            def compare():
                for _ in range(60):
                    try:
                        results.append(net(plan.compare(), "route 7"))
                    except buttonworth.BusyError as error:
                        results.append(error.code)
                    try:
                        context.plan("{")
                    except (DocumentError, buttonworth.BusyError) as error:
                        # An error is that of the call itself, whatever the other thread does.
                        self.assertEqual(error.code, "busy" if isinstance(error, buttonworth.BusyError) else "json")

            self.run_together(compare, compare)
            self.assertEqual(len(results), 120)
            self.assertEqual(set(results) - {"busy"}, {4500})

    def test_a_busy_context_says_so(self):
        routes = {f"route {number}": {"sell": "smelter"} for number in range(3000)}
        with Context() as context, context.plan(changed(routes=routes)) as plan:
            started = threading.Event()
            busy = []

            def long():
                started.set()
                plan.compare()

            def short():
                started.wait()
                while not busy:
                    try:
                        context.limit("depth")
                    except buttonworth.BusyError as error:
                        busy.append((error.class_name, error.status))

            for _ in range(20):  # the short calls may miss the long one
                started.clear()
                worker = threading.Thread(target=long)
                asker = threading.Thread(target=short, daemon=True)
                worker.start()
                asker.start()
                worker.join()
                busy = busy or [None]
                asker.join()
                if busy != [None]:
                    break
                busy = []
            self.assertEqual(busy[0], ("busy", 601))

    def test_threads_share_a_plan_text_and_have_contexts_of_their_own(self):
        def work():
            with Context() as context, context.plan(PLAN) as plan:
                for _ in range(200):
                    self.assertEqual(net(plan.compare()), 4500)

        self.run_together(work, work)

    def test_closing_while_another_thread_works(self):
        routes = {f"route {number}": {"sell": "smelter"} for number in range(200)}
        for _ in range(30):
            context = Context()
            plan = context.plan(changed(routes=routes))
            started = threading.Event()

            def compare():
                started.set()
                try:
                    self.assertEqual(net(plan.compare(), "route 7"), 4500)
                except UsageError as error:
                    self.assertEqual(error.code, "null")

            def close():
                started.wait()
                plan.close()
                context.close()

            self.run_together(compare, close)

    def test_cancel(self):
        routes = {f"route {number}": {"sell": "smelter"} for number in range(3000)}
        with Context() as context, context.plan(changed(routes=routes)) as plan:
            done = threading.Event()

            def cancel():
                while not done.is_set():
                    context.cancel()

            def compare():
                try:
                    with self.assertRaises(buttonworth.Cancelled):
                        plan.compare()
                finally:
                    done.set()

            self.run_together(compare, cancel)
            self.assertEqual(plan.with_value("/routes", {"a": {"sell": "smelter"}}).compare()["best"], "a")


class Tipping(unittest.TestCase):
    """Each function reads the plan and asks what the plan's own method answers."""

    PLAN = changed(
        terms={"a": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}}},
               "b": {"buys": "concentrate", "pay": {"Au": {"share": "95 %"}},
                     "charges": [{"what": "assay", "rate": "500 USD/lot"}]}},
        steps={"shaker": {"kind": "table", "curve": {"Au": {"odds": "60"}}, "cut": {"pull": "5 %"}}},
        routes={"to a": {"sell": "a"}, "to b": {"sell": "b"},
                "tabled": {"step": "shaker", "concentrate": {"sell": "a"}, "tailings": {"keep": True}}})

    def test_functions_ask_the_plan(self):
        pair = {"x": {"of": "/prices/Au", "steps": 2}, "y": {"of": "/lot/wet_mass", "steps": 3}}
        with buttonworth.Context() as context, context.plan(self.PLAN) as plan:
            for function, method, options in (
                    (buttonworth.break_even, plan.break_even, {"of": "/prices/Au"}),
                    (buttonworth.counter_offers, plan.counter_offers, None),
                    (buttonworth.forgiving_cut, plan.forgiving_cut, {"points": 3}),
                    (buttonworth.sensitivity, plan.sensitivity, {"of": ["/prices/Au"]}),
                    (buttonworth.choice_map, plan.map, pair)):
                self.assertEqual(function(self.PLAN, options), method(options))

    def test_a_tie_put_back_is_a_tie(self):
        ends = {"of": "/terms/b/charges/0/rate", "from": "1 USD/lot", "to": "2000 USD/lot"}
        tie = buttonworth.break_even(self.PLAN, ends)["changes"][0]
        with buttonworth.Context() as context, context.plan(self.PLAN) as plan:
            level = plan.with_value("/terms/b/charges/0/rate", tie["at"]).compare()
        self.assertLess(abs(Decimal(level["lead"])), Decimal("1e-6"))

    def test_mistakes_are_usage_errors(self):
        with self.assertRaises(UsageError) as caught:
            buttonworth.break_even(self.PLAN, {"of": "/prices/Ag"})
        self.assertEqual((caught.exception.code, caught.exception.pointer), ("options", "/of"))


class Values(unittest.TestCase):
    """Documents and answers are written and read by the module itself: json says what is right."""

    def test_documents(self):
        class Kind(enum.IntEnum):
            ONE = 1

        class Text(str):
            pass

        moved = OrderedDict(a=1, b=2)
        moved.move_to_end("a")
        for value in (None, True, False, 0, -5, 2**70, 0.1, -2.5e300, 5.0, 1e22, "", "a\"\\/\n\x01\x7f\u00e9\u20ac\U0001f600\0",
                      [], {}, [[], [{}]], (1, 2), {"": {"a/b~": [None]}}, {5: "x", "y": Kind.ONE}, Text("t"), moved,
                      MappingProxyType({"z": 1, "a": (True,)}), buttonworth._buttonworth.encode.__name__):
            text = buttonworth._buttonworth.encode(value, "")
            plain = dict(value) if isinstance(value, MappingProxyType) else value
            self.assertEqual(json.loads(text), json.loads(json.dumps(plain)), value)
            same = str(json.loads(json.dumps(plain)))  # the same order, and 5.0 is no whole number
            self.assertEqual(str(json.loads(text)), same)

    def test_answers(self):
        names = ['q"', "back\\", "\t\x01", "\u00e9\u20ac", "\U0001f600", "a/b~", "", "\\u0041", "\x7f"]
        routes = {name: {"keep": True} for name in names if name}
        with Context() as context, context.plan(changed(routes=routes)) as plan:
            self.assertEqual(plan.compare(), json.loads(plan.compare_text()))
            self.assertEqual(list(plan.compare()["routes"]), [name for name in names if name])
        low = buttonworth._buttonworth.ContextHandle()
        for name in ("plan", "comparison", "simulation", "month", "charge"):
            answer = low.schema(name)
            self.assertEqual(answer.value(), json.loads(answer.text()))
        self.assertEqual(buttonworth.formulas(), json.loads(low.formulas().text()))

    def test_where_a_value_of_the_wrong_kind_stands(self):
        for value, pointer, says in ((object(), "/lot/a~1b/1", "object"), (math.nan, "/lot/a~1b/1", "nan stands"),
                                     ({1.5: 1}, "/lot/a~1b/1", "1.5"), (Decimal(1), "/lot/a~1b/1", "Decimal")):
            with self.assertRaises(buttonworth.KindError) as caught:
                buttonworth.compare({"lot": {"a/b": [1, value]}})
            error = caught.exception
            self.assertEqual((error.class_name, error.code, error.status, error.pointer), ("usage", "kind", 105, pointer))
            self.assertIn(says, error.text)


class Kinds(unittest.TestCase):
    def test_every_mistake_of_kind_has_code_and_sentence(self):
        context = Context()
        plan = context.plan(PLAN)
        for call in (lambda: buttonworth.compare(None), lambda: context.plan(5), lambda: plan.compare(5),
                     lambda: plan.with_value(None, "x"), lambda: plan.with_value("/lot", object()),
                     lambda: context.limit(None), lambda: context.set_limit("depth", None),
                     lambda: buttonworth.convert(None, "g"), lambda: buttonworth.convert("1 g", math.nan),
                     lambda: buttonworth.convert_array(None, "g", "kg"), lambda: buttonworth.convert_array(["1"], "g", "kg"),
                     lambda: buttonworth.formula(None), lambda: buttonworth.formula("moisture", None),
                     lambda: buttonworth.formula("moisture", [1]), lambda: buttonworth.formula_array("dry_mass", None, 1),
                     lambda: buttonworth.formula_array("dry_mass", [1, 2, 3], [1, 2]), lambda: buttonworth.schema(None),
                     lambda: buttonworth.settle(None), lambda: buttonworth.book(5), lambda: buttonworth.Month(None),
                     lambda: buttonworth.bench([]), lambda: buttonworth.allocate(None), lambda: buttonworth.compare([5]), lambda: buttonworth.dispute(object())):
            with self.assertRaises(buttonworth.KindError) as caught:
                call()
            error = caught.exception
            self.assertIsInstance(error, TypeError)
            self.assertIsInstance(error, UsageError)
            self.assertEqual((error.class_name, error.code, error.status), ("usage", "kind", 105))
            self.assertGreater(len(error.text), 10)

    def test_nan_among_the_arguments_of_a_formula(self):
        for call in (lambda: buttonworth.formula("moisture", math.nan, 98),
                     lambda: buttonworth.formula_array("moisture", [math.nan], [98])):
            with self.assertRaises(DocumentError) as caught:
                call()
            self.assertEqual(caught.exception.code, "range")


class Help(unittest.TestCase):
    """help() says what the header says, nothing lacks a word, and the stubs are the module's."""

    OF = {  # what tells of a C function; the others are for C, or told by what is done with an answer here
        "bw_context_create": ["Context"], "bw_cancel": ["Context.cancel"], "bw_set_limit": ["Context.set_limit"],
        "bw_get_limit": ["Context.limit"], "bw_plan_read": ["Context.plan"], "bw_plan_read_rows": ["Context.plan"],
        "bw_plan_with": ["Plan.with_value"], "bw_plan_text": ["Plan.text"], "bw_compare": ["compare", "Plan.compare"],
        "bw_simulate": ["simulate", "Plan.simulate"], "bw_worth": ["worth", "Plan.worth"],
        "bw_answer_draws": ["Simulation.draws"], "bw_value_lots": ["value_lots", "Plan.value_lots"],
        "bw_break_even": ["break_even", "Plan.break_even"],
        "bw_counter_offers": ["counter_offers", "Plan.counter_offers"],
        "bw_forgiving_cut": ["forgiving_cut", "Plan.forgiving_cut"],
        "bw_sensitivity": ["sensitivity", "Plan.sensitivity"], "bw_map": ["choice_map", "Plan.map"],
        "bw_settle": ["settle"], "bw_reconcile": ["reconcile"], "bw_book": ["book"], "bw_month_open": ["Month"],
        "bw_month_take": ["Month.take"], "bw_month_close": ["Month.book"], "bw_dispute": ["dispute"],
        "bw_metal_call": ["metal_call"], "bw_bench": ["bench"], "bw_allocate": ["allocate"], "bw_formula": ["formula"],
        "bw_formula_array": ["formula_array"], "bw_formulas": ["formulas"], "bw_convert": ["convert"],
        "bw_convert_array": ["convert_array"], "bw_schema": ["schema"], "bw_version": ["version"],
    }
    FOR_C = re.compile("bw_(status_.*|abi_version|error_.*|set_log|set_progress|.*_destroy|answer_(text|number|string|count|name)|read_rows)$")

    @staticmethod
    def comments():
        """The headers' functions and the words before each, signs taken off and spaces made one."""
        text = ""
        for header in HEADERS:
            with open(header, encoding="utf-8") as file:
                text += file.read()
        for block in text.split("/* ")[1:]:
            words, _, rest = block.partition("*/")
            words = " ".join(re.sub(r"(?m)^ \*", " ", words).split())
            for name in re.findall(r"\bBW_API\b[^;(]*\b(bw_\w+)\(", rest):
                yield name, re.sub(r"(Since [\d.]+\d\.).*", r"\1", words)

    def public(self):
        for name in buttonworth.__all__:
            thing = getattr(buttonworth, name)
            yield name, thing
            if inspect.isclass(thing):
                for method, function in vars(thing).items():
                    if inspect.isfunction(function) and not method.startswith("_"):
                        yield f"{name}.{method}", function

    def test_each_says_what_the_header_says(self):
        found = dict(self.public())
        comments = dict(self.comments())
        self.assertGreater(len(comments), 45)
        for name, words in comments.items():
            if self.FOR_C.match(name):
                continue
            self.assertIn(name, self.OF, "a function of the header that nothing here tells of")
            for mine in self.OF[name]:
                shown = io.StringIO()
                with redirect_stdout(shown):
                    help(found[mine])
                one_line = " ".join(re.sub(r"(?m)^( \|)+", " ", shown.getvalue()).split())
                self.assertIn(words, one_line, mine)
        self.assertLessEqual(set(self.OF), set(comments))

    def test_nothing_lacks_words_or_kinds(self):
        found = dict(self.public())
        self.assertGreater(len(found), 50)
        for name, thing in found.items():
            self.assertTrue((inspect.getdoc(thing) or "").strip(), name)
            if inspect.isfunction(thing):
                kinds = typing.get_type_hints(thing, {**vars(buttonworth), "Plan": buttonworth.Plan})
                wanted = {parameter for parameter in inspect.signature(thing).parameters if parameter != "self"}
                self.assertEqual(set(kinds) - {"return"}, wanted, name)
                self.assertIn("return", kinds, name)
        self.assertEqual(sorted(buttonworth.__all__), sorted(set(buttonworth.__all__)))
        own = {name for name, thing in vars(buttonworth).items()
               if not name.startswith("_") and getattr(thing, "__module__", "").startswith("buttonworth")}
        self.assertEqual(own - set(buttonworth.__all__), set())

    def stub(self):
        """The stub's functions and methods, and the parameters of each."""
        folder = os.path.dirname(buttonworth.__file__)
        with open(os.path.join(folder, "_buttonworth.pyi"), encoding="utf-8") as file:
            tree = ast.parse(file.read())
        self.assertTrue(os.path.exists(os.path.join(folder, "py.typed")))
        for node in tree.body:
            if isinstance(node, ast.FunctionDef):
                yield node.name, self.parameters(node)
            elif isinstance(node, ast.ClassDef):
                yield node.name, None
                for method in node.body:
                    yield f"{node.name}.{method.name}", self.parameters(method)[1:]

    def parameters(self, node):
        everything = node.args.posonlyargs + node.args.args
        self.assertTrue(all(one.annotation for one in everything if one.arg != "self"), node.name)
        self.assertIsNotNone(node.returns, node.name)
        return [one.arg for one in everything] + (["*" + node.args.vararg.arg] if node.args.vararg else [])

    @staticmethod
    def module():
        """The compiled module's own, from what SWIG says of it: name(parameter, …)."""
        def parameters(thing):
            told = thing.__text_signature__ or thing.__doc__ or ""
            names = re.search(r"\((.*?)\)", told.split("\n")[0])[1].split(", ")
            return [name for name in names if name not in ("", "self", "$module", "/")]

        low = buttonworth._buttonworth
        for name, thing in vars(low).items():
            if name.startswith("_") or name in ("SwigPyObject", "SwigPyPacked"):
                continue
            if not inspect.isclass(thing):
                if callable(thing):
                    yield name, parameters(thing)
                continue
            yield name, None
            for method, function in vars(thing).items():
                if inspect.ismethoddescriptor(function) and not method.startswith("_"):
                    yield f"{name}.{method}", parameters(function)

    def test_the_stub_is_the_module(self):
        module = dict(self.module())
        stub = {name: parameters for name, parameters in self.stub() if not name.endswith(".__init__")}
        self.assertGreater(len(module), 40)
        self.assertEqual(set(stub), set(module))
        for name in module:
            self.assertEqual(stub[name], module[name], name)


class Readme(unittest.TestCase):
    def test_its_program_prints_what_it_says(self):
        with open(README, encoding="utf-8") as file:
            text = file.read()
        self.assertLessEqual(len(text.splitlines()), 40)
        blocks = re.findall(r"```python\n(.*?)```", text, re.S)
        self.assertTrue(blocks)
        for block in blocks:
            printed = io.StringIO()
            with redirect_stdout(printed):
                exec(compile(block, README, "exec"), {})
            expected = re.findall(r"print\(.*\)  # (.*)", block)
            self.assertTrue(expected)
            self.assertEqual(printed.getvalue().splitlines(), expected)


if __name__ == "__main__":
    unittest.main()
