"""What a person meets in Calc: help in the function wizard, results that follow a changed cell, names as typed.

    test_running.py BUTTONWORTH.oxt
"""

import pathlib
import sys
import tempfile
import unittest

from documents import TABLE, VECTORS, Sheet, formula, rows_of
from office import ArrayFormula, Office, write_flat
from running import running

PACKAGE = None
BY_NAME = {one.name: one for one in TABLE.functions}


class Person(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.held.name)
        cls.office = Office(cls.folder / "office", [PACKAGE])
        cls.calc = cls.enterClassContext(running(cls.office))
        cls.addClassCleanup(cls.held.cleanup)

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


if __name__ == "__main__":
    PACKAGE = pathlib.Path(sys.argv.pop(1)).resolve()
    unittest.main()
