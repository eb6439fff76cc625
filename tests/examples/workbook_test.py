"""The workbook in LibreOffice Calc: made, changed as a person would, saved and opened in both formats, against the
Python package's answers to the demonstration's plan. The .xlsx has Excel's names of the functions, which Calc takes when
they are typed but not from a file: its formulas are typed again.

    workbook_test.py BUTTONWORTH.oxt
"""

import copy
import json
import pathlib
import re
import sys
import tempfile
import unittest
import zipfile

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT / "examples" / "workbook"), str(ROOT / "bindings" / "spreadsheet" / "office")]

import buttonworth  # noqa: E402
import make  # noqa: E402
import exchange  # noqa: E402
import settlement  # noqa: E402
from comparison import ALONG, GRADES, MASSES  # noqa: E402
from office import Office  # noqa: E402
from running import running  # noqa: E402

PACKAGE = None
PLAN = json.loads((ROOT / "examples" / "demo" / "plan.json").read_text(encoding="utf-8"))
TOGETHER = {key: one for key, one in json.loads((ROOT / "examples" / "demo" / "sure.json").read_text(encoding="utf-8"))["simulate"].items()
            if key in ("same", "correlate", "averaged")}
MONTH = ROOT / "examples" / "demo" / "month"
ERRORS = 4  # com.sun.star.sheet.FormulaResult
TYPED = {"week 1": 629.85, "week 2": 541.5, "price": 2900}


def figure_times(text, factor):
    return re.sub(r"^[\d.]+", lambda number: repr(float(number[0]) * factor), text)


def with_grade(plan, factor):
    made = copy.deepcopy(plan)
    gold = [part["assays"]["Au"] for part in made["lot"]["parts"]]
    gold[0]["values"] = [figure_times(one, factor) for one in gold[0]["values"]]
    gold[1]["value"] = figure_times(gold[1]["value"], factor)
    return made


def with_mass(plan, factor):
    made = copy.deepcopy(plan)
    for part in made["lot"]["parts"]:
        part["wet_mass"]["value"] = figure_times(part["wet_mass"]["value"], factor)
    return made


def as_typed():
    made = copy.deepcopy(PLAN)
    for part, week in zip(made["lot"]["parts"], ("week 1", "week 2")):
        part["wet_mass"]["value"] = f"{TYPED[week]} kg"
    made["prices"]["Au"]["mode"] = f"{TYPED['price']} USD/ozt"
    return made


def used(sheet):
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    return sheet.getCellRangeByPosition(0, 0, cursor.RangeAddress.EndColumn, cursor.RangeAddress.EndRow)


def type_again(document):
    """Every formula, by = replaced by =, as the add-in's guide has it; gives how many."""
    document.enableAutomaticCalculation(False)
    count = 0
    for sheet in document.Sheets:
        replacing = sheet.createReplaceDescriptor()
        replacing.SearchString = replacing.ReplaceString = "="
        replacing.SearchType = 0  # in formulas
        count += sheet.replaceAll(replacing)
    document.enableAutomaticCalculation(True)
    document.calculateAll()
    return count


class Workbook(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        held = tempfile.TemporaryDirectory()
        cls.addClassCleanup(held.cleanup)
        cls.folder = pathlib.Path(held.name)
        cls.calc = cls.enterClassContext(running(Office(cls.folder / "office", [PACKAGE])))
        cls.made, cls.book = make.make(cls.calc.desktop, cls.folder / "made")
        cls.addClassCleanup(lambda: cls.made.close(True))

    # ---- Cells ----

    @staticmethod
    def cells(document, place):
        sheet, _, cells = place.rpartition(".")
        return document.Sheets[sheet.strip("$'")].getCellRangeByName(cells)

    def cell(self, document, place):
        return self.cells(document, place).getCellByPosition(0, 0)

    def named(self, document, name):
        return self.cell(document, self.book.names[name])

    def below(self, document, sheet, words, column, rows):
        """The cells of a column beneath the first cell of A that holds the words."""
        page = document.Sheets[sheet]
        start = next(row for row in range(200) if page.getCellByPosition(0, row).String.startswith(words))
        return [page.getCellByPosition(column, start + 1 + k) for k in range(rows)]

    def same(self, cell, expected):
        self.assertEqual(cell.getError(), 0, cell.AbsoluteName)
        expected = float(expected)
        self.assertLessEqual(abs(cell.Value - expected), 1e-9 * max(1, abs(expected)), cell.AbsoluteName)

    def type_in(self, document):
        for place, week in zip(self.book.weights, ("week 1", "week 2")):
            self.cell(document, place).Value = TYPED[week]
        self.cell(document, self.book.plan.cells["/prices/Au/mode"]).Value = TYPED["price"]

    def check_plan(self, document, plan):
        answer = buttonworth.compare(plan)
        self.assertEqual(self.named(document, "Best").String, answer["best"])
        self.same(self.named(document, "Best_leaves"), answer["routes"][answer["best"]]["present_value"])
        for cell, (name, route) in zip(self.below(document, "Routes", "route", 1, len(answer["routes"])), answer["routes"].items()):
            with self.subTest(name):
                if route["present_value"] is None:
                    self.assertEqual(cell.String, "refused")
                else:
                    self.same(cell, route["present_value"])
        return answer

    # ---- Tests ----

    def test_nothing_shows_an_error(self):
        for sheet in self.made.Sheets:
            found = sheet.queryFormulaCells(ERRORS)
            self.assertEqual(found.RangeAddressesAsString, "")

    def test_the_files_that_lie_there_are_these(self):
        """What is handed out is what the script makes today."""
        def formulas(document):
            return {sheet.Name: used(sheet).FormulaArray for sheet in document.Sheets}
        with self.calc.document(ROOT / "examples" / "workbook" / "buttonworth.ods") as lying:
            self.assertEqual(formulas(lying), formulas(self.made))
        with self.calc.document(ROOT / "examples" / "workbook" / "buttonworth.xlsx") as lying, \
                self.calc.document(self.folder / "made" / "buttonworth.xlsx") as made:
            self.assertEqual(formulas(lying), formulas(made))

    def test_the_plan_of_the_demonstration(self):
        """Its masses come from the run sheets, its terms from the sentences."""
        self.check_plan(self.made, PLAN)

    def test_changed_weights_and_price_in_both_formats(self):
        before = buttonworth.compare(PLAN)["best"]
        for end in ("ods", "xlsx"):
            with self.subTest(end), self.calc.document(self.folder / "made" / f"buttonworth.{end}") as document:
                if end == "xlsx":
                    self.assertGreater(type_again(document), 1500)
                    self.assertEqual([sheet.queryFormulaCells(ERRORS).RangeAddressesAsString for sheet in document.Sheets],
                                     [""] * document.Sheets.Count)
                self.assertEqual(self.named(document, "Best").String, before)
                self.type_in(document)
                answer = self.check_plan(document, as_typed())
                self.assertNotEqual(answer["best"], before)
                self.assertEqual(document.Sheets[0].getCellRangeByName("B4").String, answer["best"])
                saved = self.folder / f"changed.{end}"
                document.storeToURL(saved.as_uri(), (make.filter_of(end),))
                with self.calc.document(saved) as again:
                    self.check_plan(again, as_typed())

    def test_the_xlsx_has_excels_names(self):
        known = set(exchange.names("excel").values())
        with zipfile.ZipFile(self.folder / "made" / "buttonworth.xlsx") as package:
            sheets = [package.read(name).decode() for name in package.namelist() if name.startswith("xl/worksheets/")]
        formulas = [formula for sheet in sheets for formula in re.findall(r"<f\b[^>]*>([^<]*)</f>", sheet)]
        self.assertGreater(len(formulas), 1500)
        called = {name for formula in formulas for name in re.findall(r"\b(?:BW_|BUTTONWORTH)[\w.]*(?=\()", formula)}
        self.assertLess(called, known)
        self.assertGreater(len(called), 7)

    def test_no_axis_is_nailed_down(self):
        count = 0
        for sheet in self.made.Sheets:
            for name in sheet.Charts.ElementNames:
                axis = sheet.Charts.getByName(name).EmbeddedObject.Diagram.YAxis
                self.assertTrue(axis.AutoMin and axis.AutoMax, f"{sheet.Name}, {name}")
                count += 1
        self.assertEqual(count, 4)

    def test_net_against_grade(self):
        names = [self.below(self.made, "Comparison", "What four", column, 19)[18].String for column in range(1, 5)]
        for column, name in enumerate(names, 1):
            for factor, cell in zip(ALONG, self.below(self.made, "Comparison", "grade, times", column, len(ALONG))):
                self.same(cell, buttonworth.compare(with_grade(PLAN, factor))["routes"][name]["present_value"])

    def test_who_wins(self):
        order = list(PLAN["routes"])
        won = set()
        for column, grade in enumerate(GRADES, 1):
            for mass, cell in zip(MASSES, self.below(self.made, "Comparison", "mass, times", column, len(MASSES))):
                best = buttonworth.compare(with_grade(with_mass(PLAN, mass), grade))["best"]
                self.assertEqual(order[int(cell.Value) - 1], best)
                won.add(best)
        self.assertGreater(len(won), 1)

    def test_where_the_value_goes_adds_up(self):
        self.assertLess(abs(self.below(self.made, "Comparison", "left: present", 1, 1)[0].Value), 1e-6)

    def test_the_golds_path(self):
        answer = buttonworth.compare(PLAN)
        gold = answer["routes"][answer["best"]]["metal"]["Au"]
        lost = sum(float(amount.split()[0]) for amount in gold["lost"].values())
        cells = self.below(self.made, "Comparison", "fed", 1, 5)
        for cell, grams in zip(cells, (lost, *(gold[name].split()[0] for name in ("returned", "kept", "unpaid", "payable")))):
            self.same(cell, grams)
        self.assertLess(abs(self.below(self.made, "Comparison", "fed", 2, 5)[4].Value), 1e-9)

    def test_what_to_do(self):
        answer = buttonworth.compare(PLAN)
        best = answer["routes"][answer["best"]]
        page = self.made.Sheets["What to do"]
        shown = {page.getCellByPosition(0, row).String: page.getCellByPosition(1, row).String for row in range(45)}
        self.assertIn(f"{float(best['present_value']):,.0f} USD", shown["It leaves"])
        self.assertIn(f"{float(answer['lead']):,.0f} USD", shown["Over the next best"])
        for work in best["work"]:
            self.assertIn(f"{float(work['feed'].split()[0]):.1f} kg", shown[work["at"]])
        for one in best["products"]:
            self.assertIn(f"{1000 * float(one['wet_mass'].split()[0]):.1f} g", shown[f"to {one['at']}"])
        self.assertEqual(shown["by nobody here"], "mercury (Hg)")

    def test_range_of_outcomes(self):
        """Drawn together as examples/run sure draws; the bars are between low and high, from the middle of the best."""
        drawn = buttonworth.simulate(PLAN, {"draws": 4096, "seed": 1, **TOGETHER})["routes"]
        zero = float(drawn[self.named(self.made, "Best").String]["median"])
        crossing = 0
        for name, cells in zip(drawn, self.outcomes()):
            one = drawn[name]
            if one["refused_share"] == "100 %":
                self.assertEqual({cell.String for cell in cells[1:3]} | {cell.Value for cell in cells[3:]}, {"", 0})
                continue
            for cell, figure in zip(cells, ("median", "low", "high")):
                self.same(cell, one[figure])
            ends = [float(one[figure]) - zero for figure in ("low", "median", "high")]
            from_zero, to_zero, *parts = [cell.Value for cell in cells[3:]]
            self.assertTrue(min(from_zero, parts[0], parts[1]) >= 0 >= max(to_zero, parts[2], parts[3]), name)
            above = [from_zero, from_zero + parts[0], from_zero + parts[0] + parts[1]]
            below = [to_zero + parts[2] + parts[3], to_zero + parts[2], to_zero]
            for end, up, down in zip(ends, above, below):
                self.assertAlmostEqual(up, max(0, end), delta=1e-6)
                self.assertAlmostEqual(down, min(0, end), delta=1e-6)
            crossing += ends[0] < 0 < ends[2]
        self.assertGreater(crossing, 0)

    def outcomes(self):
        page = self.made.Sheets["Comparison"]
        start = next(row for row in range(300) if page.getCellByPosition(4, row).String == "middle")
        return [[page.getCellByPosition(column, start + 1 + k) for column in (4, 3, 5, *range(10, 16))]
                for k in range(len(PLAN["routes"]))]

    def test_the_month(self):
        """Its lists are typed into cells; the package reads the files."""
        month = json.loads((MONTH / "month.json").read_text(encoding="utf-8"))
        month.update({name: (MONTH / f"{name}.csv").read_text(encoding="utf-8") for name in ("deliveries", "received")})
        book = buttonworth.book(month)
        for column, one in enumerate([*book["buyers"].values(), book["total"]], 1):
            cells = self.below(self.made, "Month", "deliveries", column, 10)
            self.same(cells[3], one["proceeds"])
            self.same(cells[8], one["cash"]["closing"])
            self.same(cells[9], one["overdue"])

    def test_the_settlement_check(self):
        texts = {name: (MONTH / f"{name}.csv").read_text(encoding="utf-8") for name in ("deliveries", "returns")}
        month = json.loads((MONTH / "month.json").read_text(encoding="utf-8"))
        answer = buttonworth.reconcile({**settlement.many(month), **texts})
        cells = [self.below(self.made, "Settlement check", "buyer", column, 3) for column in range(1, 6)]
        for k, one in enumerate(answer["buyers"].values()):
            for column, name in enumerate(("ours", "theirs", "difference")):
                self.same(cells[column][k], one[name])
            gold = next(figure for figure in one["figures"] if figure["what"] == "Au assay")
            self.same(cells[3][k], gold["ratio"])
            self.assertEqual(cells[4][k].String, gold["verdict"])
        lot = next(one for one in answer["returns"] if one["id"] == settlement.LOT)
        self.assertEqual(self.below(self.made, "Settlement check", "proceeds", 1, 2)[1].String, "too little, by")
        self.same(self.below(self.made, "Settlement check", "proceeds", 2, 2)[1], -float(lot["difference"]))


if __name__ == "__main__":
    PACKAGE = pathlib.Path(sys.argv.pop(1)).resolve()
    unittest.main()
