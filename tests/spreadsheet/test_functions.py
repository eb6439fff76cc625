"""Every function in LibreOffice Calc: examples, mistakes, arrays; saved, reopened, and by two processes at once.

    test_functions.py BUTTONWORTH.oxt
"""

import concurrent.futures
import contextlib
import pathlib
import re
import sys
import tempfile
import unittest
import zipfile

from documents import MISSING, TABLE, VECTORS, WRONG, NotInRows, Sheet, formula, mistakes, rows_of, sheet_of, shows, shows_of_bad
from office import Office, formulas, read_flat, write_flat

PACKAGE = None
BY_NAME = {one.name: one for one in TABLE.functions}


def written(sheets, folder):
    folder.mkdir(parents=True, exist_ok=True)
    for name, sheet in sheets.items():
        write_flat(folder / f"{name}.fods", sheet.rows)
    return [folder / f"{name}.fods" for name in sheets]


class Functions(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.held.name)
        cls.office = Office(cls.folder / "office", [PACKAGE])
        cls.sheets = {one.name: sheet_of(one) for one in TABLE.functions}
        cls.paths = written(cls.sheets, cls.folder / "given")
        cls.office.convert_all(cls.paths, "fods", cls.folder / "worked")

    @classmethod
    def tearDownClass(cls):
        cls.held.cleanup()

    def assert_right(self, folder):
        found = [one for name, sheet in self.sheets.items()
                 for one in mistakes(sheet, read_flat(folder / f"{name}.fods"), name)]
        self.assertFalse(found, "\n" + "\n".join(found))

    def test_examples_mistakes_and_arrays(self):
        self.assert_right(self.folder / "worked")

    def test_every_function_has_an_example_and_a_mistake(self):
        for one in TABLE.functions:
            if one.work in ("version", "path"):
                continue
            self.assertTrue(self.sheets[one.name].expected, one.name)
            self.assertTrue(one.work == "explain" or "wrong" in one.entry, one.name)

    def test_saved_and_reopened(self):
        for kind in ("ods", "xlsx"):
            with self.subTest(kind):
                self.office.convert_all(self.paths, kind, self.folder / kind)
                saved = [self.folder / kind / f"{path.stem}.{kind}" for path in self.paths]
                self.office.convert_all(saved, "fods", self.folder / f"{kind} reopened")
                self.assert_right(self.folder / f"{kind} reopened")

    def test_a_document_outlives_an_office_without_the_add_in(self):
        bare = Office(self.folder / "bare", [])
        for kind in ("ods", "xlsx"):
            with self.subTest(kind):
                self.office.convert_all(self.paths[:6], kind, self.folder / f"{kind} lent")
                lent = [self.folder / f"{kind} lent" / f"{path.stem}.{kind}" for path in self.paths[:6]]
                bare.convert_all(lent, kind, self.folder / f"{kind} bare")
                back = [self.folder / f"{kind} bare" / path.name for path in lent]
                bare.convert_all(back, "fods", self.folder / f"{kind} there")
                self.office.convert_all(back, "fods", self.folder / f"{kind} back")
                for path in self.paths[:6]:
                    sheet = self.sheets[path.stem]
                    there = read_flat(self.folder / f"{kind} there" / path.name)
                    for at in sheet.expected:
                        self.assertEqual(there[at], "#NAME?", f"{path.stem} {at}")
                    self.assertEqual(mistakes(sheet, read_flat(self.folder / f"{kind} back" / path.name), path.stem), [])

    def test_documents_keep_the_long_names(self):
        for one in TABLE.functions:
            with self.subTest(one.name):
                for text in formulas(self.folder / "worked" / f"{one.name}.fods"):
                    self.assertRegex(text, rf"^of:={re.escape(TABLE.module.upper())}\.{TABLE.service.upper()}\.[A-Z]+\(")

    def test_short_names_as_typed(self):
        table = self.folder / "typed.csv"
        table.write_text("=BW_MOISTURE(110;98;10)\n=bw_fine_mass(401.125;995.8)\n", encoding="utf-8")
        # Separator comma, text in quotes, UTF-8, from line 1, and cells beginning with = as formulas.
        self.office.convert_all([table], "fods", self.folder / "typed", "--infilter=CSV:44,34,76,1,,0,false,true,false,false,false,-1,true")
        shown = read_flat(self.folder / "typed" / "typed.fods")
        self.assertAlmostEqual(shown[0, 0], 0.12, delta=1e-12)

    def test_version_and_path(self):
        sheet = Sheet()
        sheet.add([formula(BY_NAME["BW_VERSION"], [])])
        sheet.add([formula(BY_NAME["BW_PATH"], [])])
        [path] = written({"version": sheet}, self.folder / "given")
        shown = self.office.recalculated(path)
        with zipfile.ZipFile(PACKAGE) as package:
            self.assertIn(f'<version value="{shown[0, 0]}"/>', package.read("description.xml").decode())
            self.assertIn(pathlib.Path(shown[1, 0]).name, package.namelist())
        self.assertTrue(pathlib.Path(shown[1, 0]).is_relative_to(self.office.folder))

    def test_a_column_of_units(self):
        """806 | kg beside "806 kg", and a change of the number alone."""
        vector = VECTORS["gold-bands-30"]
        sheet = Sheet()
        rows = [[pointer, 2000, "kg"] if pointer == "/lot/wet_mass" else [pointer, value, None]
                for pointer, value in rows_of(vector["request"])]
        plan = sheet.put_range(rows)
        sheet.expect(formula(BY_NAME["BW_FIGURE"], [plan, '"/routes/as it is/net"']), 5520, 1e-6, "twice the printed 2760")
        sheet.expect(formula(BY_NAME["BW_FIGURE"], [plan, '"/routes/as it is/refused"']), WRONG, why="a list")
        sheet.expect(formula(BY_NAME["BW_FIGURE"], [plan, '"/lead"']), MISSING, why="null")
        [path] = written({"units": sheet}, self.folder / "given")
        self.assertFalse(mistakes(sheet, self.office.recalculated(path), "units"))

    def test_two_processes_at_once(self):
        second = Office(self.folder / "second", [PACKAGE])
        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            runs = [pool.submit(office.convert_all, self.paths, "fods", self.folder / f"at once {number}")
                    for number, office in enumerate((self.office, second))]
            for run in runs:
                run.result()
        for number in range(2):
            self.assert_right(self.folder / f"at once {number}")


class Vectors(unittest.TestCase):
    """Every vector that the spreadsheet form can state, pointer by pointer, through BW_FIGURE and BW_TEXT."""

    CALLS = ("compare", "settle", "bench", "reconcile", "book", "dispute", "metal_call")

    def assert_shown(self, add, field, at_least):
        sheet, counted = Sheet(), 0
        for vector in VECTORS.values():
            if vector["call"] not in self.CALLS or field not in vector or "request" not in vector or "options" in vector:
                continue
            with contextlib.suppress(NotInRows):
                add(sheet, vector, sheet.put_range(rows_of(vector["request"])))
                counted += 1
        self.assertGreater(counted, at_least)
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            office = Office(folder / "office", [PACKAGE])
            [path] = written({"vectors": sheet}, folder)
            found = mistakes(sheet, office.recalculated(path), "vectors")
        self.assertFalse(found, f"\n{len(found)} of {len(sheet.expected)}\n" + "\n".join(found[:40]))
        print(f"{counted} vectors, {len(sheet.expected)} cells")

    def test_figures(self):
        self.assert_shown(self.add_figures, "expected", 300)

    def test_mistakes(self):
        self.assert_shown(self.add_mistake, "error", 100)

    def add_figures(self, sheet, vector, document):
        for pointer, expected in vector["expected"].items():
            self.add_figure(sheet, document, vector, pointer, expected)

    def add_mistake(self, sheet, vector, document):
        """What the vector says is wrong, as the cell shows it and as it is explained."""
        if (wanted := shows_of_bad(vector)) is None:
            return
        sheet.expect(formula(BY_NAME["BW_FIGURE"], [document, '"/format"']), wanted[0], why=vector["id"])
        if wanted[1]:
            explained = formula(BY_NAME["BW_EXPLAIN"], ['"BW_FIGURE"', document, '"/format"'])
            sheet.expect(explained, {"says": wanted[1]}, why=vector["id"])

    def add_figure(self, sheet, document, vector, pointer, expected):
        if (wanted := shows(vector, expected)) is not None:
            function, value, tolerance = wanted
            at = sheet.put_range([[pointer]])
            sheet.expect(formula(BY_NAME[function], [document, at]), value, tolerance, vector["id"])


if __name__ == "__main__":
    PACKAGE = pathlib.Path(sys.argv.pop(1)).resolve()
    unittest.main()
