#!/usr/bin/env python3
"""What the README shows is what the program does.

    readme_test.py README COMPARE PLAN STATEMENT DELIVERY BENCH REQUEST
"""

import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

README, PROGRAM, PLAN, STATEMENT, DELIVERY, BENCH, REQUEST = (pathlib.Path(word) for word in sys.argv[1:8])
BLOCKS = re.findall(r"^```(\w*)\n(.*?)^```", README.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)


def block(kind, begins):
    found = [text for language, text in BLOCKS if language == kind and text.startswith(begins)]
    assert len(found) == 1, f"{len(found)} blocks begin with {begins!r}"
    return found[0]


class Readme(unittest.TestCase):
    maxDiff = None

    def test_plan_is_the_file(self):
        self.assertEqual(block("json", "{"), PLAN.read_text(encoding="utf-8"))

    def test_page_begins_as_shown(self):
        done = subprocess.run([PROGRAM, PLAN], capture_output=True, text=True, check=True)
        shown = block("", "The lot:")
        self.assertEqual(done.stdout[: len(shown)], shown)

    def expect_shown(self, rest, pieces):
        """Each piece in its turn, beginning a line; between them lines are left out."""
        for shown in pieces:
            self.assertIn("\n" + shown, rest)
            rest = rest[rest.index("\n" + shown) + len(shown) :]

    def test_statement_holds_what_is_shown(self):
        page = subprocess.run([STATEMENT, DELIVERY], capture_output=True, text=True, check=True).stdout
        first, *others = block("", "Settlement statement").split("…\n")  # a mark for lines left out
        self.assertEqual(page[: len(first)], first)
        self.expect_shown(page[len(first) :], others)

    def test_table_test_holds_what_is_shown(self):
        page = subprocess.run([BENCH, REQUEST], capture_output=True, text=True, check=True).stdout
        self.expect_shown(page, block("", "Form ").split("…\n"))

    def test_mistake_is_told_as_shown(self):
        shown = block("", "mine.json:")
        with tempfile.TemporaryDirectory() as folder:
            mine = pathlib.Path(folder) / "mine.json"
            mine.write_text(PLAN.read_text(encoding="utf-8").replace('"640 kg"', '"15 oz"'), encoding="utf-8")
            done = subprocess.run([PROGRAM.resolve(), mine.name], cwd=folder, capture_output=True, text=True)
        self.assertEqual(done.returncode, 2)
        self.assertEqual(done.stderr.replace("compare: ", ""), shown)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
