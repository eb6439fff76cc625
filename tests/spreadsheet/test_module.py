"""Excel's module in LibreOffice's Basic: not VBA, but it knows most of it, Excel's ranges among them.

    test_module.py

The library is stood in for: its place is taken by functions that tell what they were given. What Basic lets pass, such as
brackets and names that are not declared, excel/test_excel.py looks at.
"""

import pathlib
import re
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent / "excel"))
from documents import TABLE  # noqa: E402
from office import Office  # noqa: E402
from running import running, value  # noqa: E402
import excel  # noqa: E402

HEADING = "Rem Attribute VBA_ModuleType=VBAModule\nOption VBASupport 1\n"  # as the office itself imports a module
URL = "vnd.sun.star.script:Standard.Buttonworth.{}?language=Basic&location=document"
MODULE = "\n".join(f"Rem {line}" if line.startswith("Attribute ") else line for line in excel.module(TABLE, "0").split("\n"))

# What Basic 7.4 has not, and what it has instead.
INSTEAD = {"LongPtr": "Long", "StrPtr(": "Given(", ".Value2": ".Value", "Err.LastDllError": "126", "vbObjectError": "-2147221504",
           "ThisWorkbook.Path": "Folder()", "#If Win64 And Not Mac Then": "", "#Else": "", "#End If": "", 'BwTrouble = "this is not': 'Rem "'}
STAND_IN = """
Function Given(one) As Variant
    Given = one
End Function
Function Folder() As String
    Folder = "C:\\gold"
End Function
Function LoadLibraryW(path) As Long
    LoadLibraryW = HANDLE
End Function
Function GetModuleHandleW(path) As Long
    GetModuleHandleW = 7
End Function
Function FreeLibrary(library) As Long
End Function
Function buttonworth_open() As Long
    buttonworth_open = 5
End Function
Function buttonworth_close(session) As Long
End Function
Function buttonworth_ask(session, job, request, options, answer) As Long
    answer = session & "|" & job & "|" & request & "|" & options
    If job = "wrong" Then buttonworth_ask = 206
End Function
Function buttonworth_last_error(session, text, list) As Long
    text = "the field is missing"
End Function
Sub buttonworth_cells_evaluate(name, arguments, result)
    Dim told, k
    told = name
    For k = LBound(arguments) To UBound(arguments)
        If IsArray(arguments(k)) Then
            told = told & "|" & UBound(arguments(k), 1) & " x " & UBound(arguments(k), 2)
        Else
            told = told & "|" & arguments(k)
        End If
    Next
    result = told
End Sub
"""
CASE = """
Function Case{number}() As String
    On Error GoTo failed
    Dim shown As Variant
    shown = {call}
    Case{number} = shown
    Exit Function
failed:
    Case{number} = "raised: " & Err.Description
End Function
"""


def stood_in(handle=7):
    module = re.sub(r" _\n\s*", " ", MODULE)
    module = re.sub(r"(?m)^(Public|Private) Declare .*$", "", module)
    for what, instead in INSTEAD.items():
        assert what in module, what
        module = module.replace(what, instead)
    return module + STAND_IN.replace("HANDLE", str(handle))


class Module(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        held = tempfile.TemporaryDirectory()
        cls.addClassCleanup(held.cleanup)
        cls.calc = cls.enterClassContext(running(Office(pathlib.Path(held.name) / "office", [])))

    def shown(self, module, calls):
        """What each call shows, in a workbook whose first sheet has four rows and three columns in use; None if it is not run."""
        module += "".join(CASE.format(number=number, call=call) for number, call in enumerate(calls))
        document = self.calc.desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, (value("Hidden", True), value("MacroExecutionMode", 4)))
        try:
            document.Sheets[0].getCellRangeByName("A1:C4").setDataArray(((1, 2, 3),) * 4)
            libraries = document.BasicLibraries
            libraries.VBACompatibilityMode = True
            if not libraries.hasByName("Standard"):
                libraries.createLibrary("Standard")
            libraries.getByName("Standard").insertByName("Buttonworth", HEADING + module)
            provider = document.getScriptProvider()
            return [provider.getScript(URL.format(f"Case{number}")).invoke((), (), ())[0] for number in range(len(calls))]
        finally:
            document.close(True)

    def assert_shown(self, module, wanted):
        self.assertEqual(dict(zip(wanted, self.shown(module, wanted))), wanted)

    def test_is_understood(self):
        self.assertEqual(self.shown(MODULE, ['"read"']), ["read"])

    def test_mistakes_would_be_seen(self):
        for right, wrong in (("    End Select\n", ""), ("    Next\n", ""), ("ByRef arguments As Variant", "ByRef arguments As"),
                             ("ParamArray arguments() As Variant", "ParamArray () As Variant"), ("PtrSafe Sub", "PtrSafe")):
            with self.subTest(right):
                self.assertIn(right, MODULE)
                self.assertNotEqual(self.shown(MODULE.replace(right, wrong, 1), ['"read"']), ["read"])

    def test_every_function_hands_its_arguments_on(self):
        wanted = {}
        for one in TABLE.functions:
            given = [str(number) for number in range(1, len(one.arguments) + 1)]
            wanted[f"{one.name}({', '.join(given)})"] = "|".join([one.name, *given])
        self.assert_shown(stood_in(), wanted)

    def test_arguments_left_out_stay_so(self):
        self.assert_shown(stood_in(), {"BW_BREAK_EVEN(1, 2)": "BW_BREAK_EVEN|1|2|Error 448|Error 448",
                                       "BW_BREAK_EVEN(1, 2, , 4)": "BW_BREAK_EVEN|1|2|Error 448|4",
                                       "BW_MOISTURE()": "BW_MOISTURE|Error 448|Error 448|Error 448",
                                       'BW_EXPLAIN("BW_MOISTURE")': "BW_EXPLAIN|BW_MOISTURE",
                                       'BW_EXPLAIN("BW_MOISTURE", 1, 2, 3)': "BW_EXPLAIN|BW_MOISTURE|1|2|3"})

    def test_ranges_come_as_values(self):
        self.assert_shown(stood_in(), {'BW_DRY_MASS(Range("A1"), Range("B2"))': "BW_DRY_MASS|1|2",
                                       'BW_BEST_ROUTE(Range("B2:C7"))': "BW_BEST_ROUTE|6 x 2",
                                       'BW_BEST_ROUTE(Range("A:C"))': "BW_BEST_ROUTE|4 x 3",  # down to the last row in use
                                       'BW_BEST_ROUTE(Range("A1:A2,C1:C2"))': "BW_BEST_ROUTE|Error 2015",
                                       'BW_EXPLAIN("BW_ROUTES", Range("A:C"))': "BW_EXPLAIN|BW_ROUTES|4 x 3"})

    def test_without_the_library_it_says_so(self):
        self.assert_shown(stood_in(0), {"BW_MOISTURE(1, 2, 3)": "Error 2029",
                                        "BW_TROUBLE()": "there is no file C:\\gold\\buttonworth.dll: copy buttonworth.dll there, a folder of this computer",
                                        'ButtonworthAnswer("compare", "{}")': "raised: there is no file C:\\gold\\buttonworth.dll: copy buttonworth.dll "
                                                                              "there, a folder of this computer"})
        other = self.shown(stood_in(8), ["BW_MOISTURE(1, 2, 3)", "BW_TROUBLE()"])
        self.assertEqual(other[0], "Error 2029")
        self.assertIn("another buttonworth.dll", other[1])

    def test_programs_get_an_answer_or_an_error(self):
        self.assert_shown(stood_in(), {'ButtonworthAnswer("compare", "{}", "{x}")': "5|compare|{}|{x}",
                                       'ButtonworthAnswer("settle", "{}")': "5|settle|{}|",
                                       'ButtonworthAnswer("wrong", "{}")': "raised: the field is missing"})


if __name__ == "__main__":
    unittest.main()
