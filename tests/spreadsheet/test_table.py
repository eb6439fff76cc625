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


if __name__ == "__main__":
    PACKAGE = pathlib.Path(sys.argv.pop(1)).resolve()
    unittest.main()
