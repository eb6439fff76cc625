#!/usr/bin/env python3
"""The reference has every function of the C interface and its wrapper, and Doxygen has no complaint.

    reference_test.py DOXYGEN DOXYFILE SYMBOLS_TXT...

The Doxyfile makes a warning an error; it writes members.xml beside itself.
"""

import pathlib
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml

DOXYGEN, DOXYFILE, *SYMBOLS = sys.argv[1:]
WRAPPER = {"bw::Context": 30, "bw::Plan": 2, "bw::Answer": 6, "bw::Month": 2, "bw::Error": 5}


class Reference(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.place = tempfile.TemporaryDirectory()
        folder = pathlib.Path(cls.place.name)
        other = folder / "Doxyfile"  # the target's own folder is left alone
        other.write_text(f'@INCLUDE = "{DOXYFILE}"\nOUTPUT_DIRECTORY = "{folder}"\n'
                         f'GENERATE_TAGFILE = "{folder}/members.xml"\n', encoding="utf-8")
        cls.done = subprocess.run([DOXYGEN, other], capture_output=True, text=True, cwd=folder)
        members = folder / "members.xml"
        cls.compounds = list(xml.parse(members).getroot()) if members.exists() else []
        cls.pages = {page.name for page in folder.glob("html/*.html")}

    @classmethod
    def tearDownClass(cls):
        cls.place.cleanup()

    def functions(self, compound):
        found = [each for each in self.compounds if each.findtext("name") == compound]
        self.assertEqual(len(found), 1, compound)
        return {each.findtext("name") for each in found[0].findall("member") if each.get("kind") == "function"}

    def test_doxygen_is_content(self):
        self.assertEqual(self.done.stderr, "")
        self.assertEqual(self.done.returncode, 0)
        self.assertIn("index.html", self.pages)

    def test_every_function_is_in_it(self):
        symbols = {name for file in SYMBOLS for name in pathlib.Path(file).read_text(encoding="utf-8").split()}
        self.assertGreater(len(symbols), 40)
        self.assertEqual(self.functions("buttonworth.h") | self.functions("buttonworth_schedule.h"), symbols)

    def test_the_wrapper_is_in_it(self):
        for name, least in WRAPPER.items():
            self.assertGreaterEqual(len(self.functions(name)), least, name)
        self.assertLessEqual({"version", "step", "allocate"}, self.functions("bw"))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
