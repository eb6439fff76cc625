"""What a person meets in Calc: help in the function wizard, results that follow a changed cell, names as typed.

    test_running.py BUTTONWORTH.oxt
"""

import pathlib
import re
import sys
import tempfile
import unittest

from documents import ROOT, TABLE, VECTORS, Sheet, formula, rows_of
from office import ArrayFormula, Office, write_flat
from running import running

PACKAGE = None
BY_NAME = {one.name: one for one in TABLE.functions}


class Person(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(cls.enterClassContext(tempfile.TemporaryDirectory()))
        cls.office = Office(cls.folder / "office", [PACKAGE])
        cls.calc = cls.enterClassContext(running(cls.office))  # and ends before its folder goes

    def opened(self, sheet):
        path = self.folder / f"{self.id().rsplit('.', 1)[1]}.fods"
        write_flat(path, sheet.rows)
        return self.calc.document(path)

    def test_the_wizard_helps(self):
        shown = self.calc.functions()
        for one in TABLE.functions:
            with self.subTest(one.name):
                self.assertEqual(shown[one.name], (one.help, [(a.words, a.help) for a in one.arguments]))

    def test_a_changed_cell_changes_the_winner(self):
        sheet = Sheet()
        rows = rows_of(VECTORS["tipping-two-buyers"]["request"])
        plan = sheet.put_range(rows)
        best = sheet.add([formula(BY_NAME["BW_BEST_ROUTE"], [plan])])
        routes = sheet.add([ArrayFormula(formula(BY_NAME["BW_ROUTES"], [plan]), 3, 2)])
        price = next(row for row, (pointer, _) in enumerate(rows) if pointer == "/prices/Au")
        with self.opened(sheet) as document:
            cells = document.Sheets[0]
            seen = []
            for stated in ("5 USD/g", "10 USD/g", "no price", "5 USD/g"):
                cells.getCellByPosition(1, price).String = stated
                shown = cells.getCellByPosition(0, best)
                seen.append((shown.String, shown.getError(), round(cells.getCellByPosition(1, routes + 1).Value, 6)))
        # 9 p - 1 and 9.5 p - 5: equal at 8 USD/g.
        self.assertEqual(seen, [("to a", 0, 44), ("to b", 0, 89), ("Err:502", 502, 0), ("to a", 0, 44)])

    def test_a_short_name_is_taken_as_typed(self):
        """And kept by its long one."""
        with self.opened(Sheet()) as document:
            cell = document.Sheets[0].getCellByPosition(0, 0)
            cell.Formula = "=BW_MOISTURE(110;98;10)"
            self.assertAlmostEqual(cell.Value, 0.12, delta=1e-15)
            self.assertEqual(cell.Formula.upper(), "=BUTTONWORTH.CELLS.MOISTURE(110;98;10)")

    def test_the_guide_is_right(self):
        """Its plan is typed into cells, and its formulas show what it says."""
        guide = (ROOT / "bindings" / "spreadsheet" / "GUIDE.md").read_text(encoding="utf-8")
        said = re.findall(r"`(=BW_[^`]+)` shows `([^`]*)`", guide)
        self.assertGreater(len(said), 3)
        plan = [line.split("\t") for line in re.search(r"```\n(/format\t.*?)```", guide, re.DOTALL)[1].splitlines()]
        with self.opened(Sheet()) as document:
            cells = document.Sheets[0]
            for row, line in enumerate(plan):
                for column, content in enumerate(line):
                    cells.getCellByPosition(column, row).setFormula(content)
            self.assertIn(f"A1:C{len(plan)}", guide)
            for typed, shown in said:
                with self.subTest(typed):
                    cell = cells.getCellByPosition(4, 0)
                    cell.Formula = typed
                    self.assertEqual(cell.getError(), 0)
                    self.assertEqual(f"{cell.Value:,.0f}" if re.fullmatch(r"[\d,]{4,}", shown) else cell.String, shown)
            self.the_guides_mistake(cells, guide)
        for picture in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", guide):
            self.assertLess((ROOT / "bindings" / "spreadsheet" / picture).stat().st_size, 150_000)

    def the_guides_mistake(self, cells, guide):
        explained = re.search(r"=BW_EXPLAIN\(.*\)", guide)[0]
        self.assertIn("`oz`", guide)
        cells.getCellByPosition(2, 4).String = "oz"
        cell = cells.getCellByPosition(4, 0)
        cell.Formula = "=BW_BEST_ROUTE(A1:C23)"
        self.assertEqual(cell.getError(), 502)
        cell.Formula = explained
        self.assertIn("write ozt", cell.String)


if __name__ == "__main__":
    PACKAGE = pathlib.Path(sys.argv.pop(1)).resolve()
    unittest.main()
