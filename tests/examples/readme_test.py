#!/usr/bin/env python3
"""What the README shows is what the program does.

    readme_test.py README PROGRAM PLAN
"""

import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

README, PROGRAM, PLAN = (pathlib.Path(word) for word in sys.argv[1:4])
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
