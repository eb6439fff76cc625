#!/usr/bin/env python3
"""Many lots by one plan: figures against single comparisons, the same sums in one process and in workers, a worker killed.

    portfolio_test.py PROGRAM_FOLDER
"""

import contextlib
import csv
import io
import itertools
import json
import os
import pathlib
import random
import signal
import subprocess
import sys
import tempfile
import time
import unittest
from decimal import Decimal

import buttonworth
import numpy

PROGRAM = pathlib.Path(sys.argv[1])
sys.path.insert(0, str(PROGRAM))

import make_lots
import reading
import valuing
import value as program
from valuing import Sums, Work

PLAN = PROGRAM / "plan.json"
POINTERS = ["/lot/wet_mass", "/lot/moisture", "/lot/assays/Au", "/lot/assays/Ag", "/lot/assays/As"]
UNITS = ["kg", "%", "g/t", "g/t", "%"]
HEADING = "lot," + ",".join(f"{pointer} ({unit})" for pointer, unit in zip(POINTERS, UNITS)) + "\n"


def run(*arguments):
    return subprocess.run([sys.executable, PROGRAM / "value.py", *map(str, arguments)], capture_output=True, text=True, timeout=300)


class Portfolio(unittest.TestCase):
    maxDiff = None

    @classmethod
    def setUpClass(cls):
        place = tempfile.TemporaryDirectory()
        cls.addClassCleanup(place.cleanup)
        cls.place = pathlib.Path(place.name)
        cls.lots = cls.place / "lots.csv"
        make_lots.main(["12000", "--seed", "4", "--out", str(cls.lots)])
        cls.done = run(cls.lots, "--draws", 20, "--sums", cls.place / "sums.json", "--results", cls.place / "results.csv")
        cls.sums = json.loads((cls.place / "sums.json").read_text(encoding="utf-8"))
        cls.rows = list(csv.DictReader(cls.lots.read_text().splitlines()[1:]))

    def written(self, name, text):
        path = self.place / name
        path.write_bytes(text.encode() if isinstance(text, str) else text)
        return path

    def work(self, lots=None, **changes):
        table = reading.open_table(lots or self.lots)
        return Work(**{"plan": PLAN.read_text(encoding="utf-8"), "table": table, "draws": 20, "seed": 1, "threads": 1,
                       "lists": False, **changes})

    @staticmethod
    def summed(work, pieces):
        sums = Sums.of(valuing.look(work))
        for piece in pieces:
            sums.add(valuing.value(work, piece)[0])
        return sums.as_document()

    # ---- Lots ----

    def test_lots_are_the_same_again_and_fewer_are_the_first_of_more(self):
        few, many = ("".join(make_lots.lines(count, 4)).splitlines() for count in (60, 60_000))
        self.assertIn("invented", few[0])
        self.assertEqual(few[1:], many[1:62])
        self.assertEqual(self.lots.read_text().splitlines()[1:62], few[1:])
        self.assertNotEqual(few[2:], "".join(make_lots.lines(60, 5)).splitlines()[2:])

    # ---- The page and the files ----

    def test_done(self):
        self.assertEqual((self.done.returncode, self.done.stderr), (0, ""))
        page = self.done.stdout
        self.assertIn("12,000 lots, ", page)
        self.assertIn("tabled, bar and tailings sold", page)
        self.assertIn("9 in 10 between", page)
        self.assertIn("Mercury was not tested", page)
        self.assertLessEqual(max(len(line) for line in page.split("Cautions")[0].splitlines() if not line.startswith("  line ")), 80)

    def test_every_lot_is_counted(self):
        self.assertEqual(self.sums["rows"], 12_000)
        gaps = sum(row["/lot/assays/Au (g/t)"] == "" for row in self.rows)
        self.assertGreater(gaps, 0, "some assays are not in yet")
        self.assertEqual(self.sums["unreadable"], gaps)
        self.assertEqual(self.sums["counted"] + self.sums["impossible"], 12_000 - gaps)
        self.assertEqual(sum(route["best"] for route in self.sums["routes"].values()),
                         self.sums["counted"] - self.sums["refused"])
        self.assertGreater(min(route["best"] for route in self.sums["routes"].values()), 0, "each is somebody's best")
        first = next(number for number, row in enumerate(self.rows) if not row["/lot/assays/Au (g/t)"])
        self.assertIn(f"line {first + 3}, /lot/assays/Au: no number stands here", self.done.stdout)

    def test_results_are_those_of_the_sums(self):
        with open(self.place / "results.csv", encoding="utf-8", newline="") as file:
            results = list(csv.DictReader(file))
        self.assertEqual([row["lot"] for row in results], [row["lot"] for row in self.rows])
        for name, route in self.sums["routes"].items():
            self.assertEqual(sum(row["best"] == name for row in results), route["best"])
            figures = [float(row[name]) for row in results if row[name]]
            self.assertAlmostEqual(sum(figures), float(route["sum"]), delta=0.01 * len(figures))
            self.assertTrue(all(float(row[f"{name}, sd"]) > 0 for row in results if row[name]))

    def test_a_lot_is_the_plan_with_its_values(self):
        """Against the comparison, in doubles, of the plan with each value put in."""
        out = self.place / "values.csv"
        self.assertEqual(run(self.lots, "--draws", 0, "--results", out).returncode, 0)
        with open(out, encoding="utf-8", newline="") as file:
            results = list(csv.DictReader(file))
        document = json.loads(PLAN.read_text(encoding="utf-8"))
        for number in random.Random(1).sample(range(12_000), 60):
            row = self.rows[number]
            if not row["/lot/assays/Au (g/t)"]:
                continue
            values = [f"{row[f'{pointer} ({unit})']} {unit}" for pointer, unit in zip(POINTERS, UNITS)]
            document["lot"] = {"wet_mass": values[0], "moisture": values[1], "assays": dict(zip(("Au", "Ag", "As"), values[2:]))}
            answer = buttonworth.compare(document, {"how": False, "arithmetic": "double"})
            self.assertEqual(results[number]["best"], answer["best"] or "")
            for name, route in answer["routes"].items():
                shown = results[number][name]
                self.assertEqual(shown, "" if route["refused"] else f"{Decimal(route['present_value']):.2f}", name)

    # ---- The same in any pieces ----

    def test_pieces_of_any_size_in_any_order(self):
        work = self.work()
        pieces = list(work.table.pieces(30_000))
        self.assertGreater(len(pieces), 15)
        random.Random(2).shuffle(pieces)
        self.assertEqual(self.summed(work, pieces), self.sums)
        self.assertEqual(self.summed(self.work(threads=3), work.table.pieces(100_000)), self.sums)

    def test_lots_in_another_order_leave_the_same(self):
        lines = self.lots.read_text().splitlines(keepends=True)
        head, rows = lines[:2], lines[2:]
        random.Random(3).shuffle(rows)
        shuffled = self.written("shuffled.csv", "".join(head + rows))
        one, other = (self.summed(self.work(lots, draws=0), reading.open_table(lots).pieces()) for lots in (self.lots, shuffled))
        for figures in (one, other):
            del figures["left_out"]  # the first are others
        self.assertEqual(one, other)

    def test_workers_give_the_same_bytes(self):
        for workers in (1, 2):
            done = run(self.lots, "--draws", 20, "--dask", workers, "--sums", self.place / "dask.json", "--results", self.place / "dask.csv")
            self.assertEqual((done.returncode, done.stderr), (0, ""))
            self.assertEqual(done.stdout, self.done.stdout)
            for one, other in (("sums.json", "dask.json"), ("results.csv", "dask.csv")):
                self.assertEqual((self.place / one).read_bytes(), (self.place / other).read_bytes())

    def test_a_killed_worker_loses_nothing(self):
        """Of two workers one is killed while it has pieces in hand; another takes its place."""
        import workers
        from distributed import default_client

        work = self.work(draws=400)
        pieces = list(work.table.pieces(25_000))
        whole = self.summed(work, pieces)
        sums, seen, killed = Sums.of(valuing.look(work)), [], None
        with contextlib.closing(workers.by_workers(work, iter(pieces), 2)) as valued:
            for piece, more, _ in valued:
                if len(seen) == 2:
                    killed = self.kill_a_busy_worker(default_client())
                if len(seen) == 10:
                    self.assertNotIn(killed, default_client().run(os.getpid).values())
                sums.add(more)
                seen.append(piece)
        self.assertIsNotNone(killed)
        self.assertEqual(seen, pieces)
        self.assertEqual(sums.as_document(), whole)

    def kill_a_busy_worker(self, client):
        processes = client.run(os.getpid)
        for _ in range(200):
            busy = [address for address, keys in client.processing().items() if keys]
            if busy:
                os.kill(processes[busy[0]], signal.SIGKILL)
                return processes[busy[0]]
            time.sleep(0.01)
        self.fail("no worker has anything in hand")

    # ---- Tables as people make them ----

    def columns(self, rows, text=HEADING):
        table = reading.open_table(self.written("some.csv", text + rows))
        pieces = list(table.pieces(1 << 20))
        self.assertEqual(sum(piece.size for piece in pieces), len(rows.encode()))
        numbers = [table.numbers(table.read(piece), piece.rows) for piece in pieces]
        return {pointer: [float(one) for piece in numbers for one in piece[pointer]] for pointer in table.columns}, table, pieces

    def test_cells_that_hold_no_number(self):
        rows = 'a,1,2,3,4,5\n"b, c",1,,3,,\nd,1,two,3,4,5\n\ne,1\nf,1,2,3,4,5,6,7\r\ng,1,2,3,4,5'
        columns, table, pieces = self.columns(rows)
        self.assertEqual([piece.rows for piece in pieces], [7])
        nan = float("nan")
        numpy.testing.assert_equal(columns["/lot/wet_mass"], [1, 1, 1, nan, 1, 1, 1])
        numpy.testing.assert_equal(columns["/lot/moisture"], [2, nan, nan, nan, nan, 2, 2])
        numpy.testing.assert_equal(columns["/lot/assays/As"], [5, nan, 5, nan, nan, 5, 5])
        self.assertEqual(table.names_of(table.read(pieces[0])), ["a", "b, c", "d", "", "e", "f", "g"])

    def test_slow_and_quick_reading_agree(self):
        table = reading.open_table(self.lots)
        for piece in itertools.islice(table.pieces(50_000), 3):
            text = table.read(piece)
            quick, slow = table.numbers(text, piece.rows), table._numbers_slowly(text)
            numpy.testing.assert_array_equal(numpy.array(list(quick.values())).T, slow)

    def test_mistakes_are_told(self):
        for heading, says in (("lot,mass\n", 'no column is named by a pointer and its unit, as "/lot/wet_mass (kg)"'),
                              ("lot,/lot/wet_mass (t)\n", 'name the column "/lot/wet_mass (kg)"'),
                              ("lot,/lot/wet_mass\n", 'name the column "/lot/wet_mass (kg)"'),
                              ("lot,/lot/weight (kg)\n", "the plan states no quantity at /lot/weight"),
                              ("lot,/lot/wet_mass (kg),/lot/wet_mass (kg)\n", "the column /lot/wet_mass stands twice")):
            with self.subTest(heading=heading):
                done = run(self.written("wrong.csv", heading + "a,1,2\n"))
                self.assertEqual((done.returncode, done.stdout), (1, ""))
                self.assertIn(says, done.stderr)
                self.assertNotIn("Traceback", done.stderr)
        for arguments in ((self.place / "none.csv",), (self.lots, "--plan", self.place / "none.json"), (self.lots, "--draws", 50_000)):
            done = run(*arguments)
            self.assertEqual(done.returncode, 1)
            self.assertNotIn("Traceback", done.stderr)
            self.assertTrue(done.stderr)
        self.assertEqual(run().returncode, 2)

    def test_no_lots_are_no_trouble(self):
        shown = io.StringIO()
        with contextlib.redirect_stdout(shown):
            self.assertEqual(program.main([str(self.written("empty.csv", HEADING)), "--quiet"]), 0)
        self.assertIn("0 lots, 0 valued", shown.getvalue())


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], *sys.argv[2:]], verbosity=2)
