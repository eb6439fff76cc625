"""The table of functions: made again it is what the package and the page hold, and its figures are the vectors'.

    test_table.py BUTTONWORTH.oxt
"""

import pathlib
import re
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree
import zipfile

from documents import ROOT, TABLE, VECTORS
from exchange import exchange, renamed  # by documents' path
from exchange import names as names_for

PACKAGE = None
FOLDER = ROOT / "bindings" / "spreadsheet"


def generate(*words):
    subprocess.run([sys.executable, "-B", FOLDER / "generate", FOLDER / "functions.json", *words], check=True)


class Made(unittest.TestCase):
    def test_the_page_is_the_tables(self):
        with tempfile.TemporaryDirectory() as folder:
            page = pathlib.Path(folder) / "page.md"
            generate("page", page, "--vectors", ROOT / "tests" / "vectors" / "core.json")
            self.assertEqual(page.read_text(encoding="utf-8"), (FOLDER / "FUNCTIONS.md").read_text(encoding="utf-8"),
                             "make the page again: python3 generate functions.json page FUNCTIONS.md --vectors …")

    def test_the_package_is_the_tables(self):
        with tempfile.TemporaryDirectory() as folder, zipfile.ZipFile(PACKAGE) as package:
            description = package.read("description.xml").decode()
            version, platform = re.search(r'<version value="(.*)"/>', description)[1], re.search(r'<platform value="(.*)"/>', description)[1]
            generate("calc", folder, "--version", version, "--platform", platform)
            made = pathlib.Path(folder) / "package"
            for path in [one for one in made.rglob("*") if one.is_file()]:
                self.assertEqual(package.read(path.relative_to(made).as_posix()), path.read_bytes(), path.name)

    def test_the_package_lists_what_it_holds(self):
        with zipfile.ZipFile(PACKAGE) as package:
            manifest = ElementTree.fromstring(package.read("META-INF/manifest.xml"))
            listed = [value for entry in manifest for key, value in entry.attrib.items() if key.endswith("full-path")]
            self.assertTrue(listed)
            for path in [*listed, "buttonworth_cells.so", "LICENSE"]:
                self.assertIn(path, package.namelist())

    def test_the_component_needs_the_office_and_the_system_alone(self):
        with tempfile.TemporaryDirectory() as folder, zipfile.ZipFile(PACKAGE) as package:
            path = package.extract("buttonworth_cells.so", folder)
            needed = subprocess.run(["readelf", "-d", path], check=True, stdout=subprocess.PIPE, text=True).stdout
            names = re.findall(r"\(NEEDED\).*\[(.*)\]", needed)
            self.assertTrue(names)
            for name in names:
                self.assertRegex(name, r"^(libuno_|libstdc\+\+|libm|libgcc_s|libc|libdl|libpthread|ld-linux)")
            exported = subprocess.run(["nm", "-D", "--defined-only", path], check=True, stdout=subprocess.PIPE, text=True).stdout
            self.assertEqual([line.split()[-1] for line in exported.splitlines()], ["buttonworth_Cells_get_implementation"])


class Figures(unittest.TestCase):
    def examples(self):
        return [(one, example) for one in TABLE.functions for example in one.entry["examples"]]

    def test_every_example_names_its_source(self):
        for one, example in self.examples():
            self.assertTrue(example.get("vector") in VECTORS or example.get("source"), f"{one.name}: {example}")
            self.assertFalse("vector" in example and "source" in example, one.name)

    def test_examples_give_what_their_vectors_expect(self):
        compared = 0
        for one, example in self.examples():
            vector = VECTORS.get(example.get("vector"))
            expected = vector and self.expected(one, example, vector)
            if expected is None:
                continue
            compared += 1
            if isinstance(example["gives"], str):
                self.assertEqual(example["gives"], expected, one.name)
            else:
                number, _, unit = expected.partition(" ")
                per = 100 if unit == "%" else 1
                tolerance = max(float(vector.get("tolerance", 0)) / per, example["tolerance"])
                self.assertAlmostEqual(example["gives"], float(number) / per, delta=tolerance, msg=f"{one.name} {example}")
        self.assertGreater(compared, 25)

    def expected(self, one, example, vector):
        """Where the vector states it: at the pointer given, the function's own, or as the whole answer."""
        at = example.get("at") or one.at or next((a for a in example["arguments"] if isinstance(a, str) and a.startswith("/")), "")
        if at == "target":
            return vector["request"]["target"]
        if at in vector["expected"]:
            return vector["expected"][at]
        return next(iter(vector["expected"].values())) if len(vector["expected"]) == 1 else None


class Names(unittest.TestCase):
    def test_one_name_means_one_thing(self):
        """The same argument is the same object wherever it stands, with its unit, and no two read alike."""
        words = {}
        for one in TABLE.functions:
            for argument in one.arguments:
                self.assertIs(words.setdefault(argument.words, argument), argument)

    def test_methods_are_apart_in_capitals(self):
        names = [TABLE.long_name(one) for one in TABLE.functions]
        self.assertEqual(len(set(names)), len(names))

    def test_arguments_that_go_together_keep_their_order(self):
        """Any two arguments that stand in several functions stand in one order."""
        before = {}
        for one in TABLE.functions:
            for i, first in enumerate(one.arguments):
                for second in one.arguments[i + 1:]:
                    self.assertNotIn((second.name, first.name), before, f"{one.name}, {before.get((second.name, first.name))}")
                    before[first.name, second.name] = one.name


class Exchanged(unittest.TestCase):
    """Formulas of an .xlsx, with the names of either host."""

    CALC = ('<c r="A1"><f aca="false">BUTTONWORTH.CELLS.BESTROUTE(Plan)&amp;&quot; BUTTONWORTH.CELLS.TEXT(1) &quot;</f><v>TEXT(1)</v></c>'
            '<c r="B1"><f t="shared" si="0"/><v>BUTTONWORTH.CELLS.TEXT(1)</v></c>'
            '<c r="C1"><f>TEXT(MYBUTTONWORTH.CELLS.TEXT(1),"BUTTONWORTH.CELLS.TEXT(")+ButtonWorth.Cells.Fine_Mass(1)</f></c>'
            '<cfRule><formula>BUTTONWORTH.CELLS.FINEMASS(1,2)&gt;1</formula></cfRule>')
    EXCEL = CALC.replace("BUTTONWORTH.CELLS.BESTROUTE", "BW_BEST_ROUTE").replace("BUTTONWORTH.CELLS.FINEMASS", "BW_FINE_MASS")

    def exchanged(self, host, sheet):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "book.xlsx"
            with zipfile.ZipFile(path, "w") as package:
                for name in ("xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"):
                    package.writestr(name, sheet)
            exchange(host, path, path)
            with zipfile.ZipFile(path) as package:
                self.assertEqual(package.read("xl/sharedStrings.xml").decode(), sheet)
                return package.read("xl/worksheets/sheet1.xml").decode()

    def test_formulas_are_renamed_and_nothing_else(self):
        self.assertEqual(self.exchanged("excel", self.CALC), self.EXCEL)
        self.assertEqual(self.exchanged("calc", self.EXCEL), self.CALC)

    def test_every_function_goes_there_and_back(self):
        for one in TABLE.functions:
            there = renamed(f"{TABLE.long_name(one).lower()}(1)", names_for("excel"))
            self.assertEqual(there, f"{one.name}(1)")
            self.assertEqual(renamed(there, names_for("calc")), f"{TABLE.long_name(one)}(1)")


if __name__ == "__main__":
    PACKAGE = pathlib.Path(sys.argv.pop(1)).resolve()
    unittest.main()
