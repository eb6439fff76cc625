#!/usr/bin/env python3
"""The printed month: its figures against sums worked here from the tables alone, errors, exit codes, width.

    month_test.py PROGRAM FOLDER_OF_THE_DEMONSTRATION_MONTH
"""

import csv
import datetime
import io
import json
import math
import os
import pathlib
import pty
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import unittest
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, getcontext

PROGRAM, DEMO = sys.argv[1], pathlib.Path(sys.argv[2])
getcontext().prec = 60
GRAMS_PER_OUNCE = Decimal("31.1034768")
WIDTH = 78
SMELTER, SAND, BARS = "harbour smelter", "river refiner, sand", "river refiner, bars"
TABLES = ("deliveries", "received", "returns")


def run(*arguments):
    return subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, timeout=60)


def heading():
    return json.loads((DEMO / "month.json").read_text(encoding="utf-8"))


def table(name):
    """The rows of a table, each a list of (column without its unit, unit, cell), empty cells left out."""
    header, *rows = csv.reader(io.StringIO((DEMO / f"{name}.csv").read_text(encoding="utf-8")))
    columns = [re.fullmatch(r"(.*?)(?: \((.*)\))?", one).groups() for one in header]
    return [[(column, unit, cell) for (column, unit), cell in zip(columns, row) if cell] for row in rows]


def cells(row, name):
    """All numbers in the columns of a name: several determinations."""
    return [Decimal(cell.split(" ")[0]) for column, _, cell in row if column == name]


def cell(row, name):
    return next((cell for column, _, cell in row if column == name), "")


def of(rows, buyer):
    return [row for row in rows if cell(row, "buyer") == buyer]


def cents(amount):
    """As these terms round money."""
    return Decimal(amount).quantize(Decimal("0.01"), ROUND_HALF_EVEN)


def shown(amount, places="0.01"):
    return f"{Decimal(amount).quantize(Decimal(places), ROUND_HALF_UP):,}"


def number(text):
    return Decimal(text.replace(",", ""))


def mean(values):
    return sum(values) / len(values)


def settled(row, limits, name="Au"):
    """A figure as the format's section 8 settles it, and whether it is open."""
    seller, buyer, umpire = (cells(row, f"{name} {party}") for party in ("seller", "buyer", "umpire"))
    if not seller:
        return cells(row, name)[0], False
    ours, theirs = mean(seller), mean(buyer)
    middle, limit = (ours + theirs) / 2, limits["assays"][name]
    most = Decimal(limit["limit"].split()[0]) if "limit" in limit else (
        middle * Decimal(limit["limit_relative"].split()[0]) / 100)
    if abs(ours - theirs) <= most:
        return middle, False
    if not umpire:
        return middle, True
    rule, third = limit["rule"], mean(umpire)
    if rule == "middle":
        return sorted([ours, theirs, third])[1], False
    nearer = ours if abs(ours - third) < abs(theirs - third) else theirs
    return (third if rule == "umpire" else (third + nearer) / 2), False


def gold_payable(row, limits):
    """Grams of gold that the sand and the bar buyer of the demonstration count."""
    assay = settled(row, limits)[0].quantize(Decimal("0.1"), ROUND_HALF_EVEN)
    if cell(row, "buyer") == BARS:  # 3 g of sample stay there; fine are parts per thousand
        return (cells(row, "melted")[0] - 3) * assay / 1000 * Decimal("0.993")
    share = next(share for start, share in ((5000, "0.965"), (1000, "0.955"), (300, "0.945")) if assay >= start)
    return dry(row) * assay / 1000 * Decimal(share)


def dry(row):
    return cells(row, "wet_mass")[0] * (1 - cells(row, "moisture")[0] / 100)


def sand_account(row, limits):
    """Proceeds, and interest on the advance, of the river refiner's sand."""
    gold, silver_assay = gold_payable(row, limits), settled(row, limits, "Ag")[0]
    silver = dry(row) * max(Decimal(0), min(silver_assay * Decimal("0.7"), silver_assay - 50)) / 1000
    tonnes, wet = dry(row) / 1000, cells(row, "wet_mass")[0] / 1000
    lines = [
        cents(gold / GRAMS_PER_OUNCE * cells(row, "price Au")[0]),
        cents(silver / GRAMS_PER_OUNCE * Decimal("33.20")),
        -cents(gold / GRAMS_PER_OUNCE * 9),
        -cents(tonnes * 880),
        Decimal(-980),
        -max(cents(wet * 700), Decimal(220)),
        -cents(max(Decimal(0), cells(row, "As")[0] - Decimal("0.5")) / Decimal("0.1") * 8 * tonnes),
    ]
    proceeds = sum(lines)
    return proceeds, cents(proceeds * Decimal("0.8") * Decimal("0.08") * (35 - 7) / 365)


def chance(t, freedom):
    """Two-sided chance of Student's t, by Simpson's rule over its density from -t to t."""
    log_scale = math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2) - math.log(freedom * math.pi) / 2
    density = lambda x: math.exp(log_scale - (freedom + 1) / 2 * math.log1p(x * x / freedom))
    steps = 4000
    width = abs(t) / steps
    inside = sum(density(i * width) * (1 if i in (0, steps) else 4 if i % 2 else 2) for i in range(steps + 1))
    return 1 - 2 * inside * width / 3


class Page(unittest.TestCase):
    """Rows of a page, found by their label, their columns parted by two spaces or more."""

    maxDiff = None

    def part(self, page, title):
        """The lines from a heading to the next empty line."""
        found = re.search(rf"^{re.escape(title)}.*?(?=\n\n|\Z)", page, re.MULTILINE | re.DOTALL)
        self.assertTrue(found, f"no {title!r} in\n{page}")
        return found[0]

    def row(self, page, label):
        found = re.search(rf"^ *{re.escape(label)} {{2,}}(.*)$", page, re.MULTILINE)
        self.assertTrue(found, f"no row {label!r} in\n{page}")
        return re.split(r" {2,}", found[1].strip())

    def said(self, page):
        return re.sub(r"\s+", " ", page)

    def assertNarrow(self, page):
        widest = max(page.split("\n"), key=len)
        self.assertLessEqual(len(widest), WIDTH, widest)


class Demonstration(Page):
    @classmethod
    def setUpClass(cls):
        done = run(DEMO)
        cls.code, cls.page, cls.errors = done.returncode, done.stdout, done.stderr
        cls.month = heading()
        cls.deliveries, cls.received, cls.returns = (table(name) for name in TABLES)

    def limits(self, buyer):
        return self.month["buyers"][buyer]["limits"]

    def refused(self, row):
        """The demonstration's only limit that is passed: the smelter takes 8 % of water."""
        return cell(row, "buyer") == SMELTER and cells(row, "moisture")[0] > 8

    def test_runs_without_a_word_on_standard_error(self):
        self.assertEqual((self.code, self.errors), (0, ""))
        self.assertTrue(self.page.startswith("The month's book, 2025-04-01 to 2025-04-30. Money in USD.\n"))

    def test_size_of_the_month(self):
        self.assertEqual(len(self.deliveries), 40)
        self.assertTrue(15 <= len(self.received) <= 25)
        self.assertEqual(len(self.returns), 34)

    def test_no_line_is_wider_than_the_sheet(self):
        self.assertNarrow(self.page)

    # ---- Delivered ------------------------------------------------------------------------------

    def masses(self, rows):
        taken = [row for row in rows if not self.refused(row)]
        wet = sum((cells(row, "wet_mass") or [cells(row, "gross")[0] / 1000])[0] for row in taken if row)
        dried = sum(dry(row) if cells(row, "wet_mass") else cells(row, "gross")[0] / 1000 for row in taken)
        return wet, dried

    def test_lots_and_masses(self):
        delivered = self.part(self.page, "Delivered")
        for label, rows in [(buyer, of(self.deliveries, buyer)) for buyer in (SMELTER, SAND, BARS)] + [
                ("together", self.deliveries)]:
            wet, dried = self.masses(rows)
            self.assertEqual(self.row(delivered, label)[:3], [str(len(rows)), shown(wet), shown(dried)], label)
        self.assertIn("1 of the lots was refused and is in no other figure.", self.said(delivered))

    def test_gold_and_proceeds_of_the_sand(self):
        rows, limits = of(self.deliveries, SAND), self.limits(SAND)
        gold = sum(gold_payable(row, limits) for row in rows)
        proceeds = sum(sand_account(row, limits)[0] for row in rows)
        self.assertEqual(self.row(self.part(self.page, "Delivered"), SAND)[3:], [shown(gold), shown(proceeds)])

    # ---- Owed -----------------------------------------------------------------------------------

    def opening(self, buyer):
        return sum(Decimal(item["amount"]) for item in self.month["buyers"][buyer]["opening"])

    def priced(self, buyer):
        parts = self.month["buyers"][buyer].get("account", {}).get("Au", {}).get("priced", [])
        return sum((Decimal(part["mass"].split()[0]) * Decimal(part["price"].split()[0]) for part in parts), Decimal(0))

    def test_what_is_owed_adds_up(self):
        owed = self.part(self.page, "Owed")
        sums = [Decimal(0)] * 5
        for buyer in (SMELTER, SAND, BARS):
            before, due, priced, received, closing = figures = [number(text) for text in self.row(owed, buyer)]
            self.assertEqual(before, self.opening(buyer))
            self.assertEqual(priced, self.priced(buyer))
            self.assertEqual(received, sum(cells(row, "amount")[0] for row in of(self.received, buyer)))
            self.assertEqual(before + due + priced - received, closing, buyer)
            sums = [one + other for one, other in zip(sums, figures)]
        self.assertEqual([number(text) for text in self.row(owed, "together")], sums)

    def test_due_of_the_sand_is_its_proceeds_less_interest(self):
        accounts = [sand_account(row, self.limits(SAND)) for row in of(self.deliveries, SAND)]
        due = sum(proceeds - interest for proceeds, interest in accounts)
        self.assertEqual(self.row(self.part(self.page, "Owed"), SAND)[1], shown(due))

    def test_overdue_and_days_to_come_are_all_that_is_owed(self):
        sums = []
        for title in ("Overdue on 2025-04-30", "Falls due after 2025-04-30"):
            lines = self.part(self.page, title).split("\n")[1:]
            amounts = [number(re.split(r" {2,}", line)[-1]) for line in lines if "--" not in line]
            self.assertEqual(sum(amounts[:-1]), amounts[-1], title)
            sums.append(amounts[-1])
        self.assertEqual(sum(sums), number(self.row(self.part(self.page, "Owed"), "together")[-1]))

    def test_days_of_the_sand(self):
        """Advances after 7 days, balances after 35, less what was received for them: nothing, on a day to come."""
        due = {}
        for row in of(self.deliveries, SAND):
            arrived = datetime.date.fromisoformat(cell(row, "arrived"))
            proceeds, interest = sand_account(row, self.limits(SAND))
            advance = cents(proceeds * Decimal("0.8"))
            for days, amount in ((7, advance), (35, proceeds - interest - advance)):
                day = arrived + datetime.timedelta(days=days)
                if day > datetime.date(2025, 4, 30):
                    due[str(day)] = due.get(str(day), Decimal(0)) + amount
        found, day = {}, None
        for line in self.part(self.page, "Falls due after 2025-04-30").split("\n")[1:]:
            dated = re.match(r"  (\d{4}-\d\d-\d\d)", line)
            day = dated[1] if dated else day
            if f"  {SAND}  " in line:
                found[day] = number(line.split()[-1])
        self.assertEqual(found, due)

    def test_overdue_by_name(self):
        overdue = self.part(self.page, "Overdue on 2025-04-30")
        self.assertRegex(overdue, r"2025-04-21  harbour smelter +WM-jig-19, advance +\d")
        self.assertRegex(overdue, r"2025-04-22  river refiner, sand  WM-tab-18, advance +25\.00\n")

    # ---- Metal ----------------------------------------------------------------------------------

    def test_metal_account(self):
        account = self.month["buyers"][BARS]["account"]["Au"]
        sums = [sum(Decimal(part["mass"].split()[0]) for part in account[name]) for name in ("priced", "withdrawn")]
        before = Decimal(account["opening"].split()[0])
        credited = sum(gold_payable(row, self.limits(BARS)) for row in of(self.deliveries, BARS)) / GRAMS_PER_OUNCE
        figures = [before, credited, *sums, before + credited - sum(sums)]
        self.assertEqual(self.row(self.part(self.page, "Metal accounts, ozt"), f"{BARS}, gold"),
                         [shown(figure, "0.001") for figure in figures])

    def contained(self, row):
        assay = settled(row, self.limits(cell(row, "buyer")))[0]
        return (cells(row, "melted")[0] if cells(row, "melted") else dry(row)) * assay / 1000

    def test_on_hand_against_the_count(self):
        hand = self.month["on_hand"]["Au"]
        before, counted = (Decimal(hand[name].split()[0]) for name in ("opening", "counted"))
        produced = sum(Decimal(part["mass"].split()[0]) for part in hand["produced"])
        taken = [row for row in self.deliveries if not self.refused(row)]
        delivered = sum(self.contained(row) for row in taken) / GRAMS_PER_OUNCE
        there = before + produced - delivered
        self.assertEqual(self.row(self.part(self.page, "On hand, ozt"), "gold"), [
            shown(figure, "0.001") for figure in (before, produced, delivered, there, counted, counted - there)])

    # ---- Kinds ----------------------------------------------------------------------------------

    def test_kinds_and_lines_come_to_what_is_due(self):
        owed, kinds = self.part(self.page, "Owed"), self.part(self.page, "Due, by kind")
        for label in (SMELTER, SAND, BARS, "together"):
            self.assertEqual(sum(number(text) for text in self.row(kinds, label)), number(self.row(owed, label)[1]))
        lines = self.part(self.page, "Line by line").split("\n")[1:]
        amounts = [number(line.split()[-1]) for line in lines if "--" not in line]
        self.assertEqual(sum(amounts[:-1]), amounts[-1])
        self.assertEqual(amounts[-1], number(self.row(owed, "together")[1]))

    def test_charges_per_lot(self):
        lots = {buyer: sum(not self.refused(row) for row in of(self.deliveries, buyer))
                for buyer in (SMELTER, SAND, BARS)}
        lines = self.part(self.page, "Line by line")
        self.assertEqual(self.row(lines, "courier"), [shown(-310 * lots[BARS])])
        self.assertEqual(self.row(lines, "sampling and assay"), [shown(-620 * lots[SMELTER] - 980 * lots[SAND])])

    # ---- Doubts ---------------------------------------------------------------------------------

    def test_refused_and_provisional_by_name(self):
        refused = [cell(row, "id") for row in self.deliveries if self.refused(row)]
        self.assertEqual(len(refused), 1)
        self.assertIn(f"  - {refused[0]}: harbour smelter: moisture of", self.part(self.page, "Refused by the terms"))
        provisional = self.part(self.page, "Provisional")
        for buyer in (SMELTER, SAND, BARS):
            names = [cell(row, "id") for row in of(self.deliveries, buyer)
                     if cell(row, "stage") == "provisional" or settled(row, self.limits(buyer))[1]]
            told = re.search(rf"  - {buyer}: (.*)", provisional)[1]
            self.assertEqual(re.split(", | and ", told), names)

    # ---- Returns --------------------------------------------------------------------------------

    def returned(self, buyer):
        """Pairs of a delivery and its return."""
        returns = {cell(row, "id"): row for row in self.returns}
        return [(row, returns[cell(row, "id")]) for row in of(self.deliveries, buyer) if cell(row, "id") in returns]

    def of_buyer(self, buyer):
        return self.part(self.page, f"{buyer}: returns of")

    def test_what_they_returned_and_what_is_missing(self):
        for buyer in (SMELTER, SAND, BARS):
            pairs, part = self.returned(buyer), self.of_buyer(buyer)
            theirs = sum(cells(back, "proceeds")[0] for _, back in pairs)
            self.assertEqual(self.row(part, "what they returned"), [shown(theirs)])
            there = {cell(row, "id") for row, _ in pairs}
            missing = [cell(row, "id") + (" (refused)" if self.refused(row) else "")
                       for row in of(self.deliveries, buyer) if cell(row, "id") not in there]
            told = re.search(r"returns of (\d+) lots; none yet of (.*?)\n {2}what", part, re.DOTALL)
            self.assertEqual(int(told[1]), len(pairs))
            self.assertEqual(re.split(r", | and ", self.said(told[2])), missing)

    def test_what_was_due_for_the_sand_that_was_returned(self):
        ours = sum(sand_account(row, self.limits(SAND))[0] for row, _ in self.returned(SAND))
        theirs = sum(cells(back, "proceeds")[0] for _, back in self.returned(SAND))
        part = self.of_buyer(SAND)
        self.assertEqual(self.row(part, "what was due"), [shown(ours)])
        self.assertEqual(self.row(part, "difference"), [shown(theirs - ours)])

    def test_parts_add_up_largest_first(self):
        for buyer in (SMELTER, SAND, BARS):
            part = self.of_buyer(buyer)
            parts = re.findall(r"^ {4}(\S.*?) {2,}(-?[\d,.]+)$", part.split("  of which\n")[1], re.MULTILINE)
            amounts = [number(amount) for _, amount in parts]
            self.assertEqual(sum(amounts), number(self.row(part, "difference")[0]), buyer)
            alone = [abs(amount) for (what, _), amount in zip(parts, amounts) if not what.startswith("other")]
            self.assertEqual(alone, sorted(alone, reverse=True))
            self.assertGreater(len(alone), 1)

    def test_one_return_does_not_add_up(self):
        off = {}
        for row in self.returns:
            lines = [Decimal(text) for column, _, text in row if column.startswith("line ")]
            if lines and sum(lines) != cells(row, "proceeds")[0]:
                off[cell(row, "id")] = cells(row, "proceeds")[0] - sum(lines)
        self.assertEqual(list(off), ["WM-jig-28"])
        self.assertEqual(self.row(self.of_buyer(SMELTER), "arithmetic"), [shown(off["WM-jig-28"])])
        told = re.findall(r"do not add up to what was returned: (.*?)\. -", self.said(self.page))
        self.assertEqual(told, [f"WM-jig-28 (by {shown(off['WM-jig-28'])})"])

    def ratios(self, buyer, name):
        return [(cell(row, "id"), math.log(cells(back, name)[0] / settled(row, self.limits(buyer), name)[0]))
                for row, back in self.returned(buyer)]

    def sentence(self, buyer, name):
        return re.search(rf"- {name}: (.*?)(?= - [A-Z]\w+ ?\w*: theirs|$)", self.said(self.of_buyer(buyer)))[1]

    def test_gold_credited_by_the_refiner(self):
        theirs = sum(Decimal(text) for _, back in self.returned(BARS) for column, _, text in back
                     if column == "payable Au")
        told = self.said(self.of_buyer(BARS))
        found = re.search(r"Gold paid for or credited: ([\d,.]+) g by their account, ([\d,.]+) g by ours: ([\d.]+) g less\.",
                          told)
        self.assertEqual(found[1], f"{theirs:,.2f}")
        ours = Decimal(found[2].replace(",", ""))
        self.assertAlmostEqual(ours - theirs, Decimal(found[3]), delta=Decimal("0.011"))  # both are rounded
        account = re.search(r"river refiner, bars, gold +\S+ +(\S+)", run(DEMO).stdout)[1]
        open_bar = Decimal(account) * GRAMS_PER_OUNCE - ours  # WM-bar-16 has no return yet
        self.assertGreater(open_bar, 100)
        self.assertLess(open_bar, 2500)

    def test_gold_of_one_buyer_lies_low(self):
        logs = [log for _, log in self.ratios(SAND, "Au")]
        count = len(logs)
        self.assertEqual(count, 13)
        centre, error = statistics.fmean(logs), statistics.stdev(logs) / math.sqrt(count)
        reach = 2.178813 * error  # Student's t for 12 degrees of freedom, 97.5 %
        off, near, far = (100 * (1 - math.exp(end)) for end in (centre, centre + reach, centre - reach))
        told = self.sentence(SAND, "Gold assays")
        self.assertIn(f"theirs are {off:.1f} % below ours over 13 lots (95 %: {near:.1f} to {far:.1f} % below)", told)
        times = 1 / chance(centre / error, count - 1)
        said = number(re.search(r"1 time in ([\d,]+):", told)[1])
        unit = 10 ** (math.floor(math.log10(times)) - 1)  # two digits
        self.assertEqual(said, round(times / unit) * unit)
        self.assertGreater(times, 1 / 0.0027)
        self.assertIn("to be taken up with them", told)

    def test_gold_of_another_agrees_but_for_a_slip(self):
        logs = dict(self.ratios(SMELTER, "Au"))
        slip = max(logs, key=lambda name: abs(logs[name]))
        told = self.sentence(SMELTER, "Gold assays")
        self.assertRegex(told, rf"Far from the rest: {slip} \({100 * (1 - math.exp(logs[slip])):.1f} % below ours\)")
        self.assertIn("nothing out of the ordinary", told)
        centre = 100 * (math.exp(statistics.fmean(logs.values())) - 1)
        off = re.search(r"theirs are ([\d.]+) % (below|above) ours", told)
        self.assertEqual(off[2], "below" if centre < 0 else "above")
        self.assertLess(abs(float(off[1]) - abs(centre)), 0.051)

    def test_lots_that_differ_most(self):
        off = {cell(row, "id"): cells(back, "proceeds")[0] - sand_account(row, self.limits(SAND))[0]
               for row, back in self.returned(SAND)}
        most = sorted(off, key=lambda name: -abs(off[name]))[:3]
        told = re.search(r"Lots that differ most: (.*?)\. -", self.said(self.of_buyer(SAND)))[1]
        self.assertEqual(re.split(r", | and |; ", told), [f"{name} ({shown(off[name])})" for name in most])

    def test_a_light_bar_by_name(self):
        told = self.sentence(BARS, "Gross masses")
        self.assertIn("Far from the rest: WM-bar-11 (", told)

    def test_nobody_is_accused(self):
        for word in ("cheat", "fraud", "wrong", "steal", "stole", "dishonest", "short-chang"):
            self.assertNotIn(word, self.page.lower())

    # ---- JSON -----------------------------------------------------------------------------------

    def test_json_is_both_answers(self):
        answers = json.loads(run("--json", DEMO).stdout)
        self.assertEqual(answers["book"]["format"], "buttonworth-book/1")
        self.assertEqual(answers["returns"]["format"], "buttonworth-reconciliations/1")
        figure = answers["returns"]["buyers"][SAND]["figures"]
        gold = next(one for one in figure if one["what"] == "Au assay")
        logs = [log for _, log in self.ratios(SAND, "Au")]
        self.assertAlmostEqual(float(gold["ratio"]), math.exp(statistics.fmean(logs)), places=5)


class Altered(Page):
    """Copies of the demonstration with something changed, and months of their own."""

    def setUp(self):
        self.holder = tempfile.TemporaryDirectory()
        self.addCleanup(self.holder.cleanup)
        self.folder = pathlib.Path(self.holder.name) / "month"
        shutil.copytree(DEMO, self.folder)

    def text(self, name):
        return (self.folder / name).read_text(encoding="utf-8")

    def write(self, name, text):
        (self.folder / name).write_text(text, encoding="utf-8")

    def change(self, name, old, new):
        text = self.text(name)
        self.assertEqual(text.count(old), 1, f"{old!r} in {name}")
        self.write(name, text.replace(old, new))

    def change_heading(self, change):
        month = json.loads(self.text("month.json"))
        change(month)
        self.write("month.json", json.dumps(month))

    def row_of(self, name, start):
        """The number a spreadsheet gives the row that starts so."""
        return [line.startswith(start) for line in self.text(name).split("\n")].index(True) + 1

    def expect_error(self, code, *lines):
        done = run(self.folder)
        self.assertEqual((done.returncode, done.stdout), (code, ""), done.stderr)
        told = done.stderr.strip().split("\n")
        self.assertEqual(len(told), len(lines), done.stderr)
        for line, start in zip(told, lines):
            self.assertTrue(line.startswith(start), f"{line!r} does not start with {start!r}")

    def small(self, deliveries, returns=None, received="date,buyer,amount,delivery\n", **more):
        """A month of a buyer who pays a dollar a gram."""
        terms = {"buys": "concentrate", "pay": {"Au": {}}, "final": "5 d"}
        month = {"format": "buttonworth-month/1", "currency": "USD", "from": "2025-01-01", "to": "2025-01-31",
                 "buyers": {"b": {"terms": terms, "prices": {"Au": "31.1034768 USD/ozt"}}}, **more}
        self.write("month.json", json.dumps(month))
        self.write("deliveries.csv", deliveries)
        self.write("received.csv", received)
        if returns is None:
            (self.folder / "returns.csv").unlink()
        else:
            self.write("returns.csv", returns)
        done = run(self.folder)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        return done.stdout

    # ---- Files ----------------------------------------------------------------------------------

    def test_without_returns(self):
        whole = run(self.folder).stdout
        (self.folder / "returns.csv").unlink()
        done = run(f"{self.folder}/")
        self.assertEqual(done.returncode, 0)
        self.assertEqual(done.stdout, whole[:whole.index("\nReturns against what was due")])
        self.assertEqual(list(json.loads(run("--json", self.folder).stdout)), ["book"])

    def test_missing_files(self):
        for name in ("received.csv", "deliveries.csv", "month.json"):
            (self.folder / name).unlink()
            self.expect_error(1, f"month: {self.folder}/{name} cannot be read")
        self.assertIn(f" {self.folder}/month.json ", run(f"{self.folder}/").stderr)

    def test_returns_that_are_there_are_not_passed_over(self):
        (self.folder / "returns.csv").unlink()
        (self.folder / "returns.csv").mkdir()
        self.expect_error(1, f"month: {self.folder}/returns.csv cannot be read")

    def test_tables_of_another_spreadsheet(self):
        page = run(self.folder).stdout
        for name in ("deliveries.csv", "received.csv"):
            out = io.StringIO()
            csv.writer(out, delimiter=";", lineterminator="\r\n").writerows(csv.reader(io.StringIO(self.text(name))))
            (self.folder / name).write_bytes(out.getvalue().encode())
        self.assertEqual(run(self.folder).stdout, page)

    # ---- Errors ---------------------------------------------------------------------------------

    def test_rows_and_columns_of_deliveries(self):
        for start in ("WM-tab-13,", "WM-bar-12,"):
            line = next(line for line in self.text("deliveries.csv").split("\n") if line.startswith(start))
            cut = line.split(",")
            cut[-2 if start == "WM-tab-13," else -6] = "x"
            self.change("deliveries.csv", line, ",".join(cut))
        self.expect_error(2, f"{self.folder}/deliveries.csv: row {self.row_of('deliveries.csv', 'WM-tab-13,')}, ",
                          f"{self.folder}/deliveries.csv: row {self.row_of('deliveries.csv', 'WM-bar-12,')}, ")

    def test_row_and_column_of_money(self):
        self.change("received.csv", "25.00 short: a bank charge, asked back", "x")
        self.change("received.csv", ",WM-tab-18,", ",WM-tab-81,")
        row = next(i for i, line in enumerate(self.text("received.csv").split("\n"), 1) if "WM-tab-81" in line)
        self.expect_error(2, f"{self.folder}/received.csv: row {row}, delivery: ")

    def test_row_and_column_of_returns(self):
        self.change("returns.csv", "\nWM-bar-12,", "\nWM-bar-99,")
        row = self.row_of("returns.csv", "WM-bar-99,")
        self.expect_error(2, f"{self.folder}/returns.csv: row {row}, id: there is no delivery WM-bar-99")

    def test_a_column_nobody_knows(self):
        self.change("returns.csv", "moisture (%)", "wetness (%)")
        self.expect_error(2, f"{self.folder}/returns.csv: ")

    def test_place_in_the_heading(self):
        self.change_heading(lambda month: month["buyers"][SMELTER]["prices"].update(Ag=33))
        self.expect_error(2, f"{self.folder}/month.json: /buyers/harbour smelter/prices/Ag: the bare number 33")
        self.write("month.json", "{")
        self.expect_error(2, f"{self.folder}/month.json: ")

    def test_physics(self):
        line = next(line for line in self.text("deliveries.csv").split("\n") if line.startswith("WM-bar-12,"))
        fine = line.split(",")[10]  # a comma stands in the buyer's name
        self.assertRegex(fine, r"^8\d\d\.\d$")
        self.change("deliveries.csv", line, line.replace(f",{fine},", ",960,"))
        row = self.row_of("deliveries.csv", "WM-bar-12,")
        self.expect_error(3, f"{self.folder}/deliveries.csv: row {row}, assays: ")

    # ---- What the page says ---------------------------------------------------------------------

    def test_another_month_is_passed_over(self):
        line = next(line for line in self.text("deliveries.csv").split("\n") if line.startswith("WM-tab-24,"))
        later = line.replace("WM-tab-24", "WM-tab-25").replace("2025-04-29", "2025-05-02")
        self.write("deliveries.csv", self.text("deliveries.csv") + later + "\n")
        page = run(self.folder).stdout
        self.assertIn("Passed over, as their days lie outside the month\n  - 1 delivery\n", page)
        self.assertEqual(self.row(self.part(page, "Delivered"), "together")[0], "40")

    def test_provisional_are_counted_where_no_list_is_asked_for(self):
        self.change_heading(lambda month: month.pop("list"))
        provisional = self.part(run(self.folder).stdout, "Provisional")
        self.assertIn("  - harbour smelter: 4\n  - river refiner, sand: 1\n  - river refiner, bars: 1", provisional)

    def test_more_priced_than_there_is(self):
        def price_all(month):
            month["buyers"][BARS]["account"]["Au"]["opening"] = "-80 ozt"
        self.change_heading(price_all)
        page = run(self.folder).stdout
        self.assertIn("To be looked at\n  - river refiner, bars: more Au was priced", page)
        self.assertTrue(self.row(self.part(page, "Metal accounts"), f"{BARS}, gold")[-1].startswith("-"))

    def test_nothing_overdue_and_money_without_an_item(self):
        received = "date,buyer,amount,delivery\n2025-01-30,b,12.5 USD,\n"
        page = self.small("id,buyer,arrived,wet_mass (t),Au (g/t)\nk,b,2025-01-30,1,10.5\n", received=received)
        self.assertIn("\nNothing is overdue on 2025-01-31.\n", page)
        self.assertEqual(self.row(self.part(page, "Owed"), "b"), ["0.00", "10.50", "12.50", "-2.00"])
        self.assertRegex(page, r"  without a day  b  -2\.00\n +-+\n +-2\.00\n")
        for words in ("priced", "Metal accounts", "On hand", "Refused", "Provisional", "Returns", "whole cents"):
            self.assertNotIn(words, page)

    def test_the_last_day_is_overdue_and_the_next_is_not(self):
        """As the book counts it: due on `to` or before."""
        page = self.small("id,buyer,arrived,wet_mass (t),Au (g/t)\nk,b,2025-01-26,1,3\nl,b,2025-01-27,1,4\n")
        self.assertIn("Overdue on 2025-01-31\n  2025-01-31  b  k, balance  3.00\n", page)
        self.assertIn("Falls due after 2025-01-31\n  2025-02-01  b  4.00\n", page)

    def test_items_without_a_day_come_last(self):
        self.write("received.csv", self.text("received.csv") + "2025-04-30,harbour smelter,70.00,WM-jig-26,\n")
        page = run(self.folder).stdout
        days = self.part(page, "Falls due after").split("\n")
        self.assertRegex(days[-3], r"^  without a day  harbour smelter +-70\.00$")
        self.assertEqual(sum(number(line.split()[-1]) for line in days[1:-2]), number(days[-1].strip()))

    def test_a_refused_delivery_is_not_provisional(self):
        line = next(line for line in self.text("deliveries.csv").split("\n") if line.startswith("WM-jig-26,"))
        self.change("deliveries.csv", line, line.replace("2025-04-22,,", "2025-04-22,provisional,"))
        self.assertNotIn("WM-jig-26", self.part(run(self.folder).stdout, "Provisional"))

    def test_a_price_beside_a_credit_is_in_no_money(self):
        page = run(self.folder).stdout
        self.change_heading(lambda month: month["buyers"][BARS]["prices"].update(Au="2900 USD/ozt"))
        done = run(self.folder)
        self.assertEqual((done.returncode, done.stdout, done.stderr), (0, page, ""))

    def test_parts_of_cents_are_told(self):
        page = self.small("id,buyer,arrived,wet_mass (t),Au (g/t)\nk,b,2025-01-02,1,10.125\n")
        self.assertIn("not whole cents", page)
        self.assertEqual(self.row(self.part(page, "Owed"), "b")[1], "10.13")

    LOTS = "id,buyer,arrived,wet_mass (t),Au (g/t)\n" + "".join(
        f"k{i},b,2025-01-02,1,{grade}\n" for i, grade in enumerate((10, 20, 40, 80, 100, 160)))

    def test_lots_that_are_all_alike(self):
        back = "id,wet_mass (t),Au (g/t),proceeds\n" + "".join(
            f"k{i},1,{grade},{grade}\n" for i, grade in enumerate((11, 22, 44, 88, 110, 176)))
        said = self.said(self.small(self.LOTS, back))
        self.assertIn("- Wet masses: theirs are the same as ours over 6 lots, all alike. 6 lots tell little", said)
        self.assertIn("- Gold assays: theirs are 10.00 % above ours over 6 lots, all alike.", said)
        self.assertIn("difference 41.00 of which Au assay 41.00 "
                      "- Lots that differ most: k5 (16.00), k4 (10.00) and k3 (8.00). - Wet", said)

    def test_lines_that_do_not_add_up_to_the_right_sum(self):
        said = self.said(self.small(self.LOTS, "id,line Au value,proceeds\nk0,9,10\nk1,20,20\n"))
        self.assertIn("difference 0.00 of which Au payable share -1.00 arithmetic 1.00 "
                      "- Lines that do not add up to what was returned: k0 (by 1.00).", said)

    def test_one_lot(self):
        said = self.said(self.small(self.LOTS, "id,Au (g/t),proceeds\nk2,39,40\n"))
        self.assertIn("b: returns of 1 lot; none yet of k0, k1, k3, k4 and k5", said)
        self.assertIn("- Gold assays: theirs are 2.50 % below ours over 1 lot. 1 lot tells little", said)
        self.assertIn("of which Au assay -1.00 terms and arithmetic 1.00", said)
        self.assertNotIn("chance alone would do so", said)

    def test_an_interval_about_nothing(self):
        back = "id,Au (g/t),proceeds\nk0,10.1,10.1\nk1,19.6,19.6\nk2,40.4,40.4\nk3,78.4,78.4\n"
        said = self.said(self.small(self.LOTS, back))
        told = re.search(r"Gold assays: theirs are (\S+) % below ours over 4 lots "
                         r"\(95 %: (\S+) % below to (\S+) % above\); "
                         r"chance alone would do so (\d) times in 10: nothing out of the ordinary\.", said)
        self.assertTrue(told, said)
        logs = [math.log(1.01), math.log(0.98)] * 2
        error = statistics.stdev(logs) / 2
        reach = 3.182446 * error  # Student's t for 3 degrees of freedom, 97.5 %
        centre = statistics.fmean(logs)
        for text, end in zip(told.groups(), (centre, centre - reach, centre + reach)):
            self.assertLess(abs(float(text) - abs(100 * (math.exp(end) - 1))), 0.0501)
        self.assertEqual(int(told[4]), round(10 * chance(centre / error, 3)))

    def test_as_often_as_not_the_same(self):
        back = "id,Au (g/t),proceeds\nk0,10.1,10.1\nk1,19.8,19.8\nk2,40.4,40.4\nk3,79.2,79.2\n"
        said = self.said(self.small(self.LOTS, back))
        self.assertIn("Gold assays: theirs are the same as ours over 4 lots (95 %: 1.8 % below to 1.8 % above); "
                      "chance alone would do so nearly every time: nothing out of the ordinary.", said)

    def parts_of(self, *amounts):
        """What the page shows of a return of 100 whose buyer takes off so much for c0, c1, ... ."""
        names = "".join(f",line c{i}" for i in range(len(amounts)))
        sums = "".join(f",-{amount}" for amount in amounts)
        back = f"id,line Au value{names},proceeds\nk4,100{sums},{100 - sum(amounts)}\n"
        part = self.part(self.small(self.LOTS, back), "b: returns of").split("  of which\n")[1]
        parts = re.findall(r"^ {4}(\S.*?) {2,}(\S+)$", part, re.MULTILINE)
        return [(what.replace(", not in the terms", ""), amount) for what, amount in parts]

    def test_parts_after_the_sixth_are_one(self):
        largest = [(f"c{i}", f"-{10 + i}.00") for i in (8, 7, 6, 5, 4, 3)]
        self.assertEqual(self.parts_of(*range(10, 19)), largest + [("other, 3 small parts", "-33.00")])
        self.assertEqual(self.parts_of(*range(12, 19)), [(f"c{i}", f"-{12 + i}.00") for i in (6, 5, 4, 3, 2, 1, 0)])

    def test_parts_below_a_fiftieth_of_the_largest_are_one(self):
        self.assertEqual(self.parts_of(5, 1000, 20, 19.5), [("c1", "-1,000.00"), ("c2", "-20.00"),
                                                            ("other, 2 small parts", "-24.50")])
        self.assertEqual(self.parts_of(5, 1000), [("c1", "-1,000.00"), ("c0", "-5.00")])

    def eight_lots(self, offs):
        lots = "id,buyer,arrived,wet_mass (t),Au (g/t)\n" + "".join(f"k{i},b,2025-01-02,1,1000\n" for i in range(8))
        back = "id,Au (g/t),proceeds\n" + "".join(
            f"k{i},{1000 * (1 + off):.0f},{1000 * (1 + off):.0f}\n" for i, off in enumerate(offs))
        return self.said(self.small(lots, back))

    def test_an_end_that_is_not_nothing_is_not_shown_as_nothing(self):
        offs = (0.033, -0.004, 0.012, 0.005, 0.02, 0.001, 0.008, 0.004)
        logs = [math.log(1 + off) for off in offs]
        reach = 2.364624 * statistics.stdev(logs) / math.sqrt(8)  # Student's t for 7 degrees of freedom, 97.5 %
        low, high = (100 * (math.exp(statistics.fmean(logs) + end) - 1) for end in (-reach, reach))
        self.assertTrue(0 < low < 0.005, low)
        self.assertIn(f"(95 %: {low:.3f} to {high:.3f} % above)", self.eight_lots(offs))

    def test_questioned(self):
        """Eight lots 1 % high, give or take: p lies between the chances beyond 2 and 3 of a normal."""
        offs = (0.03, -0.002, 0.012, 0.005, 0.02, 0.001, 0.008, 0.006)
        said = self.eight_lots(offs)
        logs = [math.log(1 + off) for off in offs]
        p = chance(statistics.fmean(logs) / (statistics.stdev(logs) / math.sqrt(8)), 7)
        self.assertTrue(0.0027 < p < 0.0455, p)
        self.assertIn(f"above); chance alone would do so 1 time in {1 / p:.0f}: worth a question.", said)
        self.assertNotIn("tell little", said)

    # ---- Width ----------------------------------------------------------------------------------

    def test_wide_figures_and_long_names(self):
        def rename(month):
            month["buyers"] = {("ü" * 90 if name == SAND else name): one for name, one in month["buyers"].items()}
        self.change_heading(rename)
        for name in TABLES[:2]:
            self.write(f"{name}.csv", self.text(f"{name}.csv").replace(f'"{SAND}"', "ü" * 90))
        done = run(self.folder)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertNarrow(done.stdout)

        page = self.small("id,buyer,arrived,wet_mass (t),Au (g/t)\n" + "k" * 300 + ",b,2025-01-02,987654321,987\n",
                          "id,Au (g/t),proceeds\n" + "k" * 300 + ",986,974814813827\n")
        self.assertNarrow(page)
        self.assertIn("974,814,814,827.00", page)

    def test_figures_stand_under_names_where_they_have_no_room(self):
        def grow(month):
            month["buyers"][SMELTER]["opening"][0]["amount"] = "98765432.10"
        self.change_heading(grow)
        page = run(self.folder).stdout
        self.assertNarrow(page)
        owed = self.part(page, "Owed").split("\n")
        at = owed.index(SMELTER)
        before, due, priced, received, closing = (number(text) for text in owed[at + 1].split())
        self.assertEqual(before, Decimal("98765432.10") + Decimal("8166.98"))
        self.assertEqual(before + due + priced - received, closing)


class Program(unittest.TestCase):
    def test_usage(self):
        for wrong in ([], [""], ["--no-such-option"], ["-"], [DEMO, DEMO], [DEMO / "no such folder"],
                      [DEMO / "month.json"]):
            done = run(*wrong)
            self.assertEqual((done.returncode, done.stdout), (1, ""), wrong)
            self.assertEqual(len(done.stderr.strip().split("\n")), 1, done.stderr)
            self.assertTrue(done.stderr.startswith("month: "), done.stderr)

    def test_help_and_version(self):
        self.assertIn("usage: month", run("--help").stdout)
        self.assertRegex(run("--version").stdout, r"^buttonworth \d+\.\d+\.\d+\n$")

    def test_a_full_disk_is_told(self):
        with open("/dev/full", "w", encoding="utf-8") as full:
            done = subprocess.run([PROGRAM, DEMO], stdout=full, stderr=subprocess.PIPE, text=True, timeout=60)
        self.assertEqual((done.returncode, done.stderr), (1, "month: the output cannot be written\n"))

    def test_progress_on_a_terminal_only(self):
        ours, theirs = pty.openpty()
        done = subprocess.run([PROGRAM, DEMO], stdout=subprocess.PIPE, stderr=theirs, timeout=60)
        os.close(theirs)
        seen = os.read(ours, 1 << 16).decode()
        os.close(ours)
        self.assertEqual(done.stdout.decode(), run(DEMO).stdout)
        self.assertIn("deliveries.csv", seen)
        self.assertIn("comparing returns", seen)
        self.assertTrue(seen.endswith("\r"))
        self.assertEqual(seen.rsplit("\r", 2)[1].strip(), "")


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
