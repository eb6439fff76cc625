#!/usr/bin/env python3
"""The program behind examples/run: its exit codes, its lines for errors, its page and its JSON.

    compare_test.py PROGRAM FOLDER_OF_DEMONSTRATIONS
"""

import json
import pathlib
import re
import subprocess
import sys
import unittest
from decimal import Decimal

PROGRAM, DEMO = sys.argv[1], pathlib.Path(sys.argv[2])
SMALL = (DEMO / "plan-small.json").read_text(encoding="utf-8")


def run(*arguments, plan=None):
    """The program, with a plan on standard input."""
    return subprocess.run([PROGRAM, *arguments], input=plan, capture_output=True, text=True, timeout=60)


def changed(change):
    plan = json.loads(SMALL)
    change(plan)
    return json.dumps(plan)


class ExitCodes(unittest.TestCase):
    def expect(self, code, change, *says):
        done = run("-", plan=changed(change))
        self.assertEqual(done.returncode, code, done.stderr)
        for words in says:
            self.assertIn(words, done.stderr + done.stdout)
        return done

    def test_best(self):
        self.assertEqual(run("-", plan=SMALL).returncode, 0)
        self.assertEqual(run(plan=SMALL).returncode, 0)

    def test_usage(self):
        for wrong in (["--no-such-option"], ["--route"], [str(DEMO / "no such file.json")], ["-", "--route", "nowhere"]):
            done = run(*wrong, plan=SMALL)
            self.assertEqual(done.returncode, 1, wrong)
            self.assertEqual(done.stdout, "")
            self.assertEqual(len(done.stderr.strip().split("\n")), 1, done.stderr)

    def test_document_with_a_line_for_each_error(self):
        def two(plan):
            plan["lot"]["wet_mass"], plan["discount"] = "15 oz", 20

        done = self.expect(2, two, "/lot/wet_mass: oz is ambiguous", "/discount: the bare number 20")
        self.assertEqual(len(done.stderr.strip().split("\n")), 2)
        self.assertEqual(run("-", plan="{").returncode, 2)

    def test_physics(self):
        def table(plan):
            plan["steps"]["shaker"] = {"kind": "table", "cut": {"pull": "1 %"}, "curve": {"Au": {"odds": "100"}}}
            plan["lot"]["assays"]["Au"] = "30 %"
            plan["routes"] = {"tabled": {"step": "shaker", "concentrate": {"keep": True}, "tailings": {"keep": True}}}

        self.expect(3, table, "/routes/tabled")

    def test_no_solution(self):
        def table(plan):
            plan["steps"]["shaker"] = {"kind": "table", "cut": {"grade": "50 %"}, "curve": {"Au": {"odds": "100"}}}
            plan["routes"] = {"tabled": {"step": "shaker", "concentrate": {"keep": True}, "tailings": {"keep": True}}}

        self.expect(4, table, "the best it does reach")

    def test_none_accepted(self):
        def strict(plan):
            del plan["routes"]["sold at the gate to the trader"]
            plan["terms"]["harbour smelter"]["accepts"]["mass"] = {"min": "5 t"}

        self.expect(5, strict, "Refused", "below the least taken, 5 t")


class Answers(unittest.TestCase):
    def test_json_is_the_answer_and_nothing_else(self):
        answer = json.loads(run("--json", str(DEMO / "plan.json")).stdout)
        self.assertEqual(answer["format"], "buttonworth-comparison/1")
        self.assertEqual(len(answer["routes"]), 11)

    def test_only_the_routes_asked_for(self):
        answer = json.loads(run("--json", "--route", "sold at the gate to the trader", plan=SMALL).stdout)
        self.assertEqual(list(answer["routes"]), ["sold at the gate to the trader"])

    def test_double_agrees(self):
        exact, quick = (json.loads(run("--json", *option, plan=SMALL).stdout) for option in ([], ["--double"]))
        for name, route in exact["routes"].items():
            other = Decimal(quick["routes"][name]["present_value"])
            self.assertLess(abs(other - Decimal(route["present_value"])), Decimal("0.0001"))

    def test_how_lists_every_line(self):
        answer = json.loads(run("--json", plan=SMALL).stdout)
        page = run("--how", plan=SMALL).stdout
        for route in answer["routes"].values():
            for line in route["lines"]:
                self.assertIn(line["how"], page)

    def test_page_shows_each_route_with_what_it_leaves(self):
        demo = DEMO / "plan.json"
        answer = json.loads(run("--json", str(demo)).stdout)
        page = run(str(demo)).stdout
        for name, route in answer["routes"].items():
            line = re.search(rf"^[ ?] {re.escape(name)} +(\S+)", page, re.MULTILINE)
            self.assertIsNotNone(line, name)
            value = route["present_value"]
            leaves = "refused" if value is None else f"{Decimal(value):,.0f}"
            self.assertEqual(line[1], leaves, name)
        self.assertLess(max(map(len, page.split("\n"))), 101)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
