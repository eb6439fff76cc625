#!/usr/bin/env python3
"""The monthly command: what it writes against the tables it read and the answers, the report of a month, mistakes.

    monthly_test.py PROGRAM_FOLDER FOLDER_OF_THE_DEMONSTRATION_MONTH
"""

import csv
import io
import json
import os
import pathlib
import pty
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
from decimal import Decimal

import buttonworth
from buttonworth import report
from pages import Page, PageTest, at, cut_labels, drawings, labels, number, outside, overlaps, plainly, pointed_at, rounded

PROGRAM, DEMO = sys.argv[1], pathlib.Path(sys.argv[2])


def run(*arguments, code=None):
    program = [sys.executable, *(["-c", code] if code else []), PROGRAM, *map(str, arguments)]
    return subprocess.run(program, capture_output=True, text=True, timeout=300)


def rows(text):
    return list(csv.DictReader(io.StringIO(text)))


def table(folder, name):
    return rows((folder / f"{name}.csv").read_text(encoding="utf-8"))


class Demonstration(PageTest):
    maxDiff = None

    @classmethod
    def setUpClass(cls):
        cls.place = tempfile.TemporaryDirectory()
        cls.out = pathlib.Path(cls.place.name) / "out"
        cls.done = run(DEMO, "--out", cls.out)
        cls.book = json.loads((cls.out / "book.json").read_text(encoding="utf-8"))
        cls.returns = json.loads((cls.out / "reconciliation.json").read_text(encoding="utf-8"))
        cls.page = Page((cls.out / "report.html").read_text(encoding="utf-8"))
        cls.drawn = drawings(cls.page)

    def statement(self, name):
        return plainly_lines((self.out / "statements" / f"{name}.txt").read_text(encoding="utf-8"))

    # ---- What is written ----

    def test_done(self):
        self.assertEqual((self.done.returncode, self.done.stderr), (0, ""))
        self.assertEqual(sorted(os.listdir(self.out)), ["book.json", "reconciliation.json", "report.html", "report.pdf",
                                                        "statements", "tables"])
        self.assertIn("40 deliveries", self.done.stdout)

    def test_book_is_the_library_s(self):
        """Read row by row or at once, it is one book."""
        heading = json.loads((DEMO / "month.json").read_text(encoding="utf-8"))
        tables = {name: (DEMO / f"{name}.csv").read_text(encoding="utf-8") for name in ("deliveries", "received")}
        self.assertEqual(self.book, buttonworth.book({**heading, **tables, "list": True, "csv": True}))

    def test_tables_are_the_library_s(self):
        for name, text in self.book["csv"].items():
            with open(self.out / "tables" / f"{name}.csv", encoding="utf-8", newline="") as file:
                self.assertEqual(file.read(), text)
        self.assertEqual(len(table(self.out / "tables", "deliveries")), 40)

    # ---- Statements ----

    def test_a_statement_for_each_delivery(self):
        wanted = sorted(row["id"] for row in table(DEMO, "deliveries"))
        self.assertEqual(sorted(name[:-4] for name in os.listdir(self.out / "statements")), wanted)

    def test_statements_are_the_book_s(self):
        for delivery in self.book["deliveries"]:
            said = self.statement(delivery["id"])
            if delivery["refused"]:
                self.assertIn(delivery["refused"][0], said["Refused"])
                continue
            account = said["Account, USD"]
            self.assertEqual(amount(account, "proceeds"), rounded(delivery["proceeds"], 2))
            self.assertEqual(amount(account, "balance"), rounded(delivery["balance"], 2))

    def test_statements_add_up(self):
        """Lines to proceeds; proceeds less advance and interest to the balance, but for half a cent of each."""
        added = 0
        for delivery in self.book["deliveries"]:
            if delivery["refused"]:
                continue
            account = self.statement(delivery["id"])["Account, USD"]
            figures = [(line, number(line.split()[-1])) for line in account if re.search(r"\d\.\d\d$", line)]
            names = [line for line, _ in figures]
            end = next(i for i, name in enumerate(names) if name.startswith("proceeds"))
            lines, proceeds = sum(figure for _, figure in figures[:end]), figures[end][1]
            self.assertEqual(lines, proceeds, delivery["id"])
            rest = sum(figure for _, figure in figures[end:-1])
            self.assertLessEqual(abs(rest - figures[-1][1]), Decimal("0.02"), delivery["id"])
            added += proceeds
        total = sum(Decimal(delivery.get("proceeds", "0")) for delivery in self.book["deliveries"])
        self.assertLess(abs(added - total), Decimal("0.4"))

    def test_statements_tell_what_was_found_and_returned(self):
        for row in table(DEMO, "deliveries"):
            found = " ".join(self.statement(row["id"])["Found"])
            for name in ("wet_mass (kg)", "moisture (%)", "gross (g)", "Au (g/t)"):
                if row[name]:
                    self.assertIn(f"{name} {row[name]}", found)
        for lot in self.returns["returns"]:
            returned = self.statement(lot["id"])["Returned by the buyer, USD"]
            self.assertEqual(amount(returned, "what they returned"), rounded(lot["theirs"], 2))
            self.assertEqual(amount(returned, "difference"), rounded(lot["difference"], 2))

    # ---- The report ----

    def test_stands_alone(self):
        self.assertEqual((self.page.faults, outside(self.page)), ([], []))
        self.assertEqual(len(self.page.ids), len(set(self.page.ids)))
        self.assertEqual(pointed_at(self.page) - set(self.page.ids), set())

    def test_figures_are_the_answers(self):
        answers = {"book": self.book, "returns": self.returns}
        traced = [figure for figure in self.page.figures if "data-at" in figure]
        self.assertGreater(len(traced), 180)
        for figure in traced:
            answer = at(answers, figure["data-at"])
            self.assertEqual(figure["value"], answer, figure)
            self.assertEqual(plainly(figure["text"]), rounded(answer, 2), figure)

    def test_what_is_owed(self):
        total = self.book["total"]
        self.said(f"Call in what is overdue: {rounded(total['overdue'], 2)} USD",
                  f"{rounded(total['cash']['closing'], 2)} USD")
        for name, buyer in self.book["buyers"].items():
            self.said(f"{name} {rounded(buyer['cash']['closing'], 2)}")
            for item in buyer["outstanding"]:
                if item["due"] <= self.book["to"]:
                    ours = ": we owe it" if Decimal(item["amount"]) < 0 else ""
                    self.said(f"{item['due']} {name} {item['delivery']}, {item['what']}{ours} {rounded(item['amount'], 2)}")
            for entry in buyer["due"]:
                if entry["day"] > self.book["to"]:
                    self.said(f"{name} {rounded(entry['amount'], 2)}")

    def test_bridge_adds_up(self):
        figures = [number(text) for text, *_ in labels(self.drawn["falls", "wide"]) if re.search(r"\.\d\d$", text)]
        self.assertEqual(len(figures), 5)
        self.assertEqual(sum(figures[:-1]), figures[-1])
        self.assertEqual(figures[-1], Decimal(rounded(self.book["total"]["cash"]["closing"], 2).replace(",", "")))

    def test_metal(self):
        account = self.book["buyers"]["river refiner, bars"]["account"]["Au"]
        self.said(f"gold with the river refiner, bars {rounded(account['closing'].split()[0], 3)} ozt")
        self.said(f"counted less book {rounded(self.book['on_hand']['Au']['difference'].split()[0], 2)} ozt")

    def test_differences_with_their_intervals(self):
        """Each figure of each buyer: how far, and between what, in percent of ours."""
        told = 0
        for name, buyer in self.returns["buyers"].items():
            for figure in buyer["figures"]:
                sentence = self.sentence(name, figure)
                for end in ("low", "high"):
                    percent = abs(100 * (Decimal(figure[end]) - 1))
                    said = [Decimal(value) for value in re.findall(r"[\d.]+", sentence.split("(95 %:")[1].split(")")[0])]
                    self.assertTrue(any(abs(value - percent) <= Decimal("0.051") for value in said), (sentence, percent))
                told += 1
            self.said(f"{name}: returns of {buyer['returns']} lots")
        self.assertGreater(told, 12)

    def sentence(self, buyer, figure):
        """The one of this figure after the buyer's heading."""
        names = {"Au": "Gold", "Ag": "Silver", "As": "Arsenic"}
        what = figure["what"].split()
        start = f"{names[what[0]]} assays" if what[-1] == "assay" else \
            figure["what"].capitalize() + ("es" if figure["what"].endswith("s") else "s")
        section = self.page.text.split(f"{buyer}: returns of")[1]
        found = re.search(rf"{start}: theirs are (.*?) over (\d+) lots [^;]*;", section)
        self.assertEqual(found[2], figure["pairs"])
        far, size = abs(100 * (Decimal(figure["ratio"]) - 1)), found[1].split()[0]
        if size == "the":
            self.assertLess(far, Decimal("0.051"))
        else:
            self.assertEqual(size, rounded(far, len(size.partition(".")[2])))
        return found[0]

    def test_what_to_take_up_comes_first(self):
        acted = [figure for buyer in self.returns["buyers"].values() for figure in buyer["figures"]
                 if figure.get("verdict") == "to be acted on"]
        self.assertEqual(len(acted), 1)
        first = self.page.text.split("What is owed")[0]
        self.assertIn("Ask the buyers about", first)
        self.assertEqual(first.count("to be taken up with them"), 1)

    def test_pictures(self):
        self.assertEqual({name for name, _ in self.drawn}, {"falls", "owed", "differences0", "differences1",
                                                           "differences2"})
        for name, svg in self.drawn.items():
            self.assertEqual((cut_labels(svg), overlaps(svg)), ([], []), name)
        said = plainly(" ".join(text for text, *_ in labels(self.drawn["owed", "narrow"])))
        for buyer in self.book["buyers"]:
            self.assertIn(buyer, said)
        self.assertIn("USD", said)

    def test_intervals_are_drawn_as_they_are(self):
        """All whiskers of a picture lie on one scale: their lengths go as the intervals."""
        for index, buyer in enumerate(self.returns["buyers"].values()):
            svg = self.drawn[f"differences{index}", "wide"]
            lines = re.findall(r'<path d="M ([\d.]+) ([\d.]+)\s+L ([\d.]+) ([\d.]+)\s+"[^>]*stroke-width: 2(?:;|")', svg)
            spans = [float(end) - float(start) for start, top, end, foot in lines if top == foot]
            wanted = [float(figure["high"]) - float(figure["low"]) for figure in buyer["figures"]]
            self.assertEqual(len(spans), len(wanted))
            scale = max(spans) / max(wanted)
            for span, interval in zip(spans, wanted):
                self.assertAlmostEqual(span, scale * interval, 2)

    def test_pdf(self):
        text = plainly(subprocess.run(["pdftotext", "-layout", str(self.out / "report.pdf"), "-"], capture_output=True,
                                      text=True, check=True).stdout)
        self.assertIn("page 1 of", text)
        for delivery in self.book["deliveries"]:
            self.assertIn(delivery["id"], text)
            if not delivery["refused"]:
                self.assertIn(rounded(delivery["proceeds"], 2), text)

    def test_report_of_requests(self):
        """Asked for at once, without the command, it is the same page."""
        heading = json.loads((DEMO / "month.json").read_text(encoding="utf-8"))
        tables = {name: (DEMO / f"{name}.csv").read_text(encoding="utf-8") for name in ("deliveries", "received")}
        made = report.month({**heading, **tables, "list": True}, self.returns)
        self.assertEqual(made.html, self.page.source)
        self.assertNotIn("What the buyers returned", report.month(self.book).html)


class OtherFolders(unittest.TestCase):
    def setUp(self):
        self.place = tempfile.TemporaryDirectory()
        self.addCleanup(self.place.cleanup)
        self.folder = pathlib.Path(self.place.name) / "month"
        self.out = pathlib.Path(self.place.name) / "out"
        shutil.copytree(DEMO, self.folder)

    def change(self, name, row, column, cell):
        """Puts a cell into a table; rows count from 1 with the header, as a spreadsheet counts."""
        with open(self.folder / f"{name}.csv", encoding="utf-8", newline="") as file:
            lines = list(csv.reader(file))
        lines[row - 1][lines[0].index(column)] = cell
        with open(self.folder / f"{name}.csv", "w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(lines)

    def test_all_mistakes_at_once(self):
        self.change("deliveries", 2, "wet_mass (kg)", "64.8 oz")
        self.change("deliveries", 5, "buyer", "river refinery")
        self.change("deliveries", 9, "arrived", "2025-04-31")
        self.change("received", 3, "date", "7.4.2025")
        self.change("returns", 4, "proceeds (USD)", "-585,90")
        self.change("returns", 6, "id", "WM-none")
        done = run(self.folder, "--out", self.out)
        told = done.stderr.splitlines()
        self.assertEqual((done.returncode, done.stdout, len(told)), (1, "", 6), done.stderr)
        for start, words in [("deliveries.csv: row 2, wet_mass: ", "write the number alone, in kg"),
                             ("deliveries.csv: row 5, buyer: ", "the nearest is river refiner, sand"),
                             ("deliveries.csv: row 9, arrived: ", "write year-month-day"),
                             ("received.csv: row 3, date: ", "write year-month-day"),
                             ("returns.csv: row 4, proceeds: ", "-585,90"),
                             ("returns.csv: row 6, id: ", "there is no delivery WM-none")]:
            self.assertTrue(any(line.startswith(start) and words in line for line in told), (start, told))
        self.assertFalse(self.out.exists())

    def test_heading_and_files(self):
        heading = (self.folder / "month.json").read_text(encoding="utf-8")
        for text, words in [(heading.replace('"2025-04-30"', '"April"'), "month.json: /to: "),
                            (heading.replace("{", '{"currency": "USD",', 1), '"currency" stands twice'),
                            (heading[:-3], "month.json: "), ("[]", "an object is wanted")]:
            (self.folder / "month.json").write_text(text, encoding="utf-8")
            done = run(self.folder, "--out", self.out)
            self.assertEqual(done.returncode, 1)
            self.assertIn(words, done.stderr)
            self.assertNotIn("Traceback", done.stderr)
        (self.folder / "deliveries.csv").write_bytes("id;Gr\u00f6\u00dfe\n".encode("latin-1"))
        (self.folder / "month.json").write_text(heading, encoding="utf-8")
        self.assertIn("is not UTF-8", run(self.folder, "--out", self.out).stderr)
        (self.folder / "deliveries.csv").unlink()
        done = run(self.folder, "--out", self.out)
        self.assertEqual((done.returncode, done.stderr.count("\n")), (1, 1))
        self.assertIn("deliveries.csv cannot be read", done.stderr)
        self.assertEqual(run(self.folder).returncode, 2)

    def test_an_empty_table(self):
        (self.folder / "deliveries.csv").write_text("", encoding="utf-8")
        done = run(self.folder, "--out", self.out)
        self.assertEqual(done.returncode, 1)
        self.assertIn("deliveries.csv", done.stderr)
        self.assertNotIn("Traceback", done.stderr)

    def test_without_money_and_returns(self):
        """A month without money received and returns has a book and a report all the same, from semicolons too."""
        for name in ("received", "returns"):
            (self.folder / f"{name}.csv").unlink()
        with open(self.folder / "deliveries.csv", encoding="utf-8", newline="") as file:
            lines = list(csv.reader(file))
        with open(self.folder / "deliveries.csv", "w", encoding="utf-8", newline="") as file:
            csv.writer(file, delimiter=";").writerows(lines)
        done = run(self.folder, "--out", self.out, "--no-pdf")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertEqual(sorted(os.listdir(self.out)), ["book.json", "report.html", "statements", "tables"])
        self.assertEqual(len(os.listdir(self.out / "statements")), 40)
        page = Page((self.out / "report.html").read_text(encoding="utf-8"))
        self.assertEqual((page.faults, outside(page)), ([], []))
        self.assertNotIn("Ask the buyers about", page.text)

    def test_one_delivery(self):
        for name in ("received", "returns"):
            (self.folder / f"{name}.csv").unlink()
        lines = (self.folder / "deliveries.csv").read_text(encoding="utf-8").splitlines(keepends=True)
        (self.folder / "deliveries.csv").write_text("".join(lines[:2]), encoding="utf-8")
        done = run(self.folder, "--out", self.out, "--no-pdf")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        page = Page((self.out / "report.html").read_text(encoding="utf-8"))
        self.assertRegex(page.text, r"\b1 delivery to ")

    def test_progress(self):
        """A bar where somebody looks and tqdm is there; else not a word."""
        shown = self.on_a_terminal([PROGRAM])
        self.assertIn("%", shown)
        self.assertIn("report", shown)
        hidden = "import sys, runpy; sys.modules['tqdm'] = None; sys.argv = sys.argv[1:]; " \
                 "sys.path.insert(0, sys.argv[0]); runpy.run_path(sys.argv[0], run_name='__main__')"
        self.assertEqual(self.on_a_terminal(["-c", hidden, PROGRAM]), "")
        self.assertTrue((self.out / "report.html").exists())

    def on_a_terminal(self, program):
        """What comes to a terminal as errors."""
        ours, theirs = pty.openpty()
        with subprocess.Popen([sys.executable, *program, str(self.folder), "--out", str(self.out), "--no-pdf"],
                              stdout=subprocess.DEVNULL, stderr=theirs) as child:
            os.close(theirs)
            shown = b""
            try:
                while piece := os.read(ours, 4096):
                    shown += piece
            except OSError:
                pass  # the other side is closed
            self.assertEqual(child.wait(), 0)
        os.close(ours)
        return shown.decode()


def plainly_lines(text):
    """A statement by its headings: lines of words."""
    found, heading = {}, ""
    for line in text.splitlines():
        if line and not line.startswith(" "):
            heading = line
        elif line:
            found.setdefault(heading, []).append(plainly(line))
    return found


def amount(lines, name):
    return next(line.split()[-1] for line in lines if line.startswith(name))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
