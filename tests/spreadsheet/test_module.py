"""Excel's module, read by LibreOffice's Basic: not VBA, but it knows VBA's blocks and declarations. What it lets pass, such as
brackets and names that are not declared, excel/test_excel.py looks at.

    test_module.py
"""

import pathlib
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent / "excel"))
from documents import TABLE  # noqa: E402
from office import Office  # noqa: E402
from running import running, value  # noqa: E402
import excel  # noqa: E402

HEADING = "Rem Attribute VBA_ModuleType=VBAModule\nOption VBASupport 1\n"  # as the office itself imports a module
PROBE = '\nPublic Function BwProbe() As String\n    BwProbe = "read"\nEnd Function\n'
URL = "vnd.sun.star.script:Standard.Buttonworth.BwProbe?language=Basic&location=document"


class Module(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        held = tempfile.TemporaryDirectory()
        cls.addClassCleanup(held.cleanup)
        cls.calc = cls.enterClassContext(running(Office(pathlib.Path(held.name) / "office", [])))
        cls.module = "\n".join(f"Rem {line}" if line.startswith("Attribute ") else line for line in excel.module(TABLE, "0").split("\n"))

    def is_read(self, module):
        """Whether a function at the end can be called, which takes all before it to be understood."""
        document = self.calc.desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, (value("Hidden", True), value("MacroExecutionMode", 4)))
        try:
            libraries = document.BasicLibraries
            libraries.VBACompatibilityMode = True
            if not libraries.hasByName("Standard"):
                libraries.createLibrary("Standard")
            libraries.getByName("Standard").insertByName("Buttonworth", HEADING + module + PROBE)
            return document.getScriptProvider().getScript(URL).invoke((), (), ())[0] == "read"
        finally:
            document.close(True)

    def test_is_understood(self):
        self.assertTrue(self.is_read(self.module))

    def test_mistakes_would_be_seen(self):
        for right, wrong in (("    End Select\n", ""), ("    Next\n", ""), ("ByRef arguments As Variant", "ByRef arguments As"),
                             ("ParamArray arguments() As Variant", "ParamArray () As Variant"), ("PtrSafe Sub", "PtrSafe")):
            with self.subTest(right):
                self.assertIn(right, self.module)
                self.assertFalse(self.is_read(self.module.replace(right, wrong, 1)))


if __name__ == "__main__":
    unittest.main()
