#!/usr/bin/env python3
"""The plan worked out by hand: its arithmetic is right, its figures come from the plan or a line above, and the
library's answer has them all.

    example_test.py EXAMPLE.md COMPARE
"""

import json
import pathlib
import re
import subprocess
import sys
import unittest
from decimal import ROUND_HALF_EVEN, Decimal, getcontext

EXAMPLE, COMPARE = pathlib.Path(sys.argv[1]), sys.argv[2]
NUMBER = r"\d+(?:\.\d+)?"
# What stands in the format's page and in the document's own words: years, ounces, and one for the whole.
CONSTANTS = {(Decimal("365"), "d"), (Decimal("31.1034768"), "g/ozt"), (Decimal(1), ""), (Decimal(0), "d"),
             (Decimal(0), "%")}
UNITS = {  # value in g, USD, h; the powers of mass, money and hours
    "": (1, (0, 0, 0)), "%": ("0.01", (0, 0, 0)), "d": (1, (0, 0, 0)), "h": (1, (0, 0, 1)), "USD": (1, (0, 1, 0)),
    "g": (1, (1, 0, 0)), "kg": (1000, (1, 0, 0)), "t": (1000000, (1, 0, 0)), "ozt": ("31.1034768", (1, 0, 0))}
getcontext().prec = 40


class Figure:
    """A number with its dimension: adding two of different ones is a mistake of the document."""

    def __init__(self, value, powers=(0, 0, 0)):
        self.value, self.powers = Decimal(value), powers

    def of_one_kind(self, other):
        assert self.powers == other.powers, f"{self.powers} and {other.powers} do not go together"

    def __add__(self, other):
        self.of_one_kind(other)
        return Figure(self.value + other.value, self.powers)

    def __neg__(self):
        return Figure(-self.value, self.powers)

    def __sub__(self, other):
        return self + -other

    def __mul__(self, other):
        return Figure(self.value * other.value, tuple(a + b for a, b in zip(self.powers, other.powers)))

    def __truediv__(self, other):
        return Figure(self.value / other.value, tuple(a - b for a, b in zip(self.powers, other.powers)))

    def __pow__(self, other):
        assert not any(self.powers + other.powers)
        return Figure(self.value**other.value)

    def __lt__(self, other):
        self.of_one_kind(other)
        return self.value < other.value

    def __gt__(self, other):
        return other < self


def unit(text):
    above, _, below = text.partition("/")
    figures = [Figure(*UNITS[name]) for name in (above, below)]
    return figures[0] / figures[1]


def work_out(arithmetic):
    """What a line of arithmetic comes to, and the figures that stand in it."""
    found = []

    def figure(match):
        found.append((Decimal(match[1]), match[2] or ""))
        return f"q({len(found) - 1})"

    text = re.sub(rf"({NUMBER})(?: ([A-Za-z%][\w%/]*))?", figure, arithmetic)
    for sign, python in (("×", "*"), ("÷", "/"), ("−", "-"), ("^", "**"), (";", ",")):
        text = text.replace(sign, python)
    assert re.fullmatch(r"(q\(\d+\)|min|max|[-+*/(), ])+", text), f"not arithmetic: {arithmetic}"
    names = {"q": lambda at: Figure(found[at][0]) * unit(found[at][1]), "min": min, "max": max, "__builtins__": {}}
    return eval(text, names), found  # nothing but the signs above is left


def at(answer, pointer):
    for name in pointer.split("/")[1:]:
        answer = answer[int(name)] if isinstance(answer, list) else answer[name]
    return answer


def stated(value):
    """Every quantity of a plan, as (number, unit); a rate of interest counts for a year of 365 days."""
    if isinstance(value, dict):
        return {figure for each in value.values() for figure in stated(each)}
    if isinstance(value, list):
        return {figure for each in value for figure in stated(each)}
    found = re.fullmatch(rf"({NUMBER})(?: (\S+))?", str(value))
    return {(Decimal(found[1]), re.sub("/(a|lot)$", "", found[2] or ""))} if found else set()


TEXT = EXAMPLE.read_text(encoding="utf-8")
PLAN = re.search(r"^```json\n(.*?)^```", TEXT, re.MULTILINE | re.DOTALL)[1]
ROWS = [[cell.strip(" `") for cell in row.strip("|").split("|")]
        for row in re.findall(r"^\|.*\|$", TEXT, re.MULTILINE)]
ROWS = [row for row in ROWS if row[0] != "what" and set(row[0]) != {"-"}]


def printed(text):
    """A figure as a row says it: number with its digits, unit."""
    number, _, name = text.replace("−", "-").partition(" ")
    return Decimal(number), name


class Example(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        done = subprocess.run([COMPARE, "--json", "-"], input=PLAN, capture_output=True, text=True, check=True)
        cls.answer = json.loads(done.stdout)

    def each_row(self, check):
        self.assertGreater(len(ROWS), 50)
        for row in ROWS:
            with self.subTest(row[0], arithmetic=row[1]):
                check(*row)

    def test_the_arithmetic_is_right(self):
        def check(_, arithmetic, result, place):
            number, name = printed(result)
            value = work_out(arithmetic)[0] / unit(name)
            self.assertEqual(value.powers, (0, 0, 0), f"{arithmetic} is no {name}")
            self.assertEqual(value.value.quantize(number, ROUND_HALF_EVEN), number)

        self.each_row(check)

    def test_no_figure_comes_from_nowhere(self):
        known = CONSTANTS | stated(json.loads(PLAN))

        def check(_, arithmetic, result, place):
            self.assertLessEqual(set(work_out(arithmetic)[1]), known)
            number, name = printed(result)
            known.add((abs(number), name))

        self.each_row(check)

    def test_the_answer_has_the_figures(self):
        def check(what, _, result, place):
            if not place:
                return
            found, (number, name) = at(self.answer, place), printed(result)
            value = Decimal(found.split(" ")[0])
            if " " in found:
                value = value * unit(found.split(" ")[1]).value / unit(name).value
            self.assertEqual(value.quantize(number, ROUND_HALF_EVEN), number)
            line = re.match(r"(/routes/[^/]*/lines/\d+)/amount", place)
            if line:
                self.assertEqual(at(self.answer, line[1])["what"], what)

        self.each_row(check)

    def test_every_line_of_the_answer_is_worked_out(self):
        places = {row[3] for row in ROWS}
        for name, route in self.answer["routes"].items():
            wanted = [f"lines/{i}/amount" for i in range(len(route["lines"]))] + ["net", "present_value"]
            for each in wanted:
                self.assertIn(f"/routes/{name}/{each}", places)
        self.assertEqual(self.answer["best"], "tabled")
        self.assertIn("/lead", places)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
