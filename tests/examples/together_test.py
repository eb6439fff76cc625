#!/usr/bin/env python3
"""A month of lots together, on paper: the page's figures against the answer's, options, exit codes, errors, width.

    together_test.py PROGRAM FOLDER_OF_DEMONSTRATIONS
"""

import json
import pathlib
import re
import subprocess
import sys
import unittest

PROGRAM, DEMO = sys.argv[1], pathlib.Path(sys.argv[2])
LOTS = DEMO / "lots.json"
WIDTH = 100


def run(*arguments, text=None):
    return subprocess.run([PROGRAM, *map(str, arguments)], input=text, capture_output=True, text=True, timeout=120)


def plainly(text):
    return re.sub(r"\s+", " ", text.replace("\u00a0", " "))


def whole(amount):
    return f"{float(amount):,.0f}"


def request(**changes):
    document = json.loads(LOTS.read_text(encoding="utf-8"))
    document.update(changes)
    return {name: value for name, value in document.items() if value is not None}


class Demonstration(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.done = run(LOTS)
        cls.page = cls.done.stdout
        cls.said = plainly(cls.page)
        cls.answer = json.loads(run("--json", LOTS).stdout)

    def test_it_is_good_and_silent_on_errors(self):
        self.assertEqual((self.done.returncode, self.done.stderr), (0, ""))

    def test_no_line_is_wider_than_the_page(self):
        self.assertLessEqual(max(map(len, self.page.splitlines())), WIDTH)

    def test_the_library_s_words_come_first(self):
        first = plainly(self.page.split("What to do")[0])
        for words in self.answer["words"]:
            self.assertIn(plainly(words), first)

    def test_every_shipment_has_its_row_and_its_lots(self):
        part = self.page.split("What to do")[1].split("What has to be kept to")[0]
        for number, one in enumerate(self.answer["shipments"], 1):
            row = next(line for line in part.splitlines() if re.match(rf"  {number} .*{re.escape(one['route'])}", line))
            self.assertTrue(row.endswith(whole(one["result"]["present_value"])), row)
            self.assertIn(f" {float(one['start']):g} ", row)
            for lot in one["lots"]:
                self.assertIn(lot, plainly(part.split(f"\n  {number}: ")[1].split(f"\n  {number + 1}: ")[0]))

    def test_lots_of_the_demonstration_are_joined_because_alone_they_are_refused(self):
        shares = [share for one in self.answer["shipments"] for share in one["lots"].values()]
        self.assertTrue(any(len(one["lots"]) > 1 for one in self.answer["shipments"]))
        self.assertEqual(set(shares), {"100 %"})

    def test_limits_stand_with_what_more_would_bring(self):
        part = self.page.split("What has to be kept to")[1].split("The steps, by day")[0]
        for limit in self.answer["limits"]:
            asked = limit.get("more") or limit.get("without") or {"worth": "0"}
            worth = float(asked["worth"])
            if worth >= 0.5:
                row = next(line for line in part.splitlines() if limit["what"] in line)
                self.assertTrue(row.endswith(whole(worth)), row)

    def test_hours_that_nobody_stated_and_hardly_used_are_left_out(self):
        part = self.page.split("What has to be kept to")[1].split("The steps, by day")[0]
        self.assertNotIn("hours of pan for sale", part)
        self.assertIn("hours of table ", part)

    def test_metal_on_hand_is_told_on_its_fullest_day(self):
        part = plainly(self.page.split("What has to be kept to")[1].split("The steps, by day")[0])
        days = [limit for limit in self.answer["limits"] if limit["at"] == "/on_hand/Au"]
        fullest = max(days, key=lambda limit: float(limit["reached"].split()[0]))
        self.assertIn(fullest["what"], part)
        self.assertEqual(part.count("Au on hand on day"), 1)

    def test_cash_is_the_answer_s(self):
        part = self.page.split("\nCash, USD")[1].split("What simpler ways")[0]
        rows = [line.split() for line in part.splitlines() if re.match(r"  [0-9]", line)]
        self.assertEqual(len(rows), len(self.answer["cash_days"]))
        for row, one in zip(rows, self.answer["cash_days"]):
            self.assertEqual(row[1:], [f"{float(one['amount']):,.2f}", f"{float(one['total']):,.2f}"])

    def test_simpler_ways_stand_beside_it_with_what_they_miss(self):
        part = plainly(self.page.split("What simpler ways")[1])
        for name, one in self.answer["compared"].items():
            self.assertIn(whole(one["present_value"]), part, name)
            for missed in one["misses"]:
                self.assertIn(missed, part)

    def test_cautions_are_each_said_once_and_the_rules_last(self):
        self.assertTrue(self.said.rstrip().endswith("Local rules and licensed practice come first."))
        self.assertEqual(self.said.count("poisonous fume"), 1)


class Otherwise(unittest.TestCase):
    def test_what_cannot_be_kept_is_said_and_tells_scripts(self):
        done = run("-", text=json.dumps(request(cash=[{"by": "3 d", "amount": "900000 USD"}])))
        self.assertEqual(done.returncode, 5)
        self.assertIn("Not kept: cash by day 3, 900000.00 USD wanted", plainly(done.stdout))
        self.assertIn("NOT KEPT", done.stdout)

    def test_what_stays_is_told_with_reasons(self):
        lots = {"poor": {"wet_mass": "5 kg", "assays": {"Au": "1 g/t", "Hg": "0 ppm"}}}
        done = run("-", text=json.dumps(request(lots=lots, cash=None, buyers=None, routes={"to the refiner": {"sell": "river refiner, sand"}})))
        self.assertEqual(done.returncode, 5)
        self.assertIn("poor - route to the refiner:", plainly(done.stdout))

    def test_errors_are_told_by_file_and_place(self):
        bad = request(capacity={"tabel": {"hours": "3 h"}})
        done = run("-", text=json.dumps(bad))
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        told = done.stderr.splitlines()
        self.assertEqual(len(told), 1, told)
        self.assertTrue(told[0].startswith("standard input: /capacity/tabel: "), told)
        self.assertIn("table", told[0].split(": ", 2)[2])  # what was meant

    def test_a_lot_s_fault_stands_at_its_name(self):
        bad = request()
        bad["lots"]["WM-jig-21"]["assays"]["Au"] = "940"
        done = run("-", text=json.dumps(bad))
        self.assertEqual(done.returncode, 2)
        self.assertTrue(done.stderr.startswith("standard input: /lots/WM-jig-21/assays/Au: "), done.stderr)

    def test_usage(self):
        self.assertEqual(run("--wrong").returncode, 1)
        self.assertEqual(run("a.json", "b.json").returncode, 1)
        self.assertEqual(run("no such file.json").returncode, 1)
        self.assertEqual(run("--help").returncode, 0)
        self.assertIn("buttonworth ", run("--version").stdout)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=2)
