"""The module of VBA against the table, the entries it declares, and what the library exports.

    test_excel.py [--library buttonworth.dll --module Buttonworth.bas --objdump objdump] [--native libbuttonworth.so]

Without a library what needs no Windows tools: the module is made and parsed, each Declare compared with excel/entries.hpp.
VBA itself compiles nothing here.
"""

import argparse
import ctypes
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent))
from documents import ROOT, TABLE  # noqa: E402
import excel  # noqa: E402

FOLDER = ROOT / "bindings" / "spreadsheet"
OPTIONS = None
SYSTEM = {"kernel32.dll", "msvcrt.dll", "oleaut32.dll"}

# A parameter by its type: bytes handed over, and whether they are a pointer to what VBA holds. All on 64-bit Windows.
C_TYPES = {"BSTR": (8, False), "std::intptr_t": (8, False), "std::int32_t": (4, False), "const VARIANT*": (8, "Variant"),
           "VARIANT*": (8, "Variant"), "double*": (8, "Double"), "void": (0, False)}
VBA_TYPES = {"LongPtr": 8, "Long": 4, "Double": 8}
# As Windows documents them: what each takes and gives.
KERNEL = {"LoadLibraryW": ([(8, False)], 8), "FreeLibrary": ([(8, False)], 4), "GetModuleHandleW": ([(8, False)], 8)}


def made(version="0.9.0"):
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "Buttonworth.bas"
        subprocess.run([sys.executable, "-B", FOLDER / "generate", FOLDER / "functions.json", "excel", path, "--version", version], check=True)
        return path.read_bytes()


def lines_of(module):
    """Whole statements: what goes on in the next line is joined."""
    return re.sub(r" _\n\s*", " ", module).split("\n")


def declares(module):
    """{name: (library, parameters as (bytes, pointed to), bytes of the result)}"""
    found = {}
    form = re.compile(r'(?:Public|Private) Declare (PtrSafe )?(Function|Sub) (\w+) Lib "([^"]+)" \((.*)\)(?: As (\w+))?$')
    for line in lines_of(module):
        if "Declare" in line and not line.startswith("'"):
            match = form.match(line)
            assert match and match[1], f"no Declare PtrSafe: {line}"
            assert (match[2] == "Function") == bool(match[6]), line
            parameters = [parameter(one) for one in match[5].split(", ") if one]
            found[match[3]] = match[4], parameters, VBA_TYPES[match[6]] if match[6] else 0
    return found


# What a procedure may name without declaring it: VBA's own and Excel's, as far as the module uses them.
KNOWN = frozenset("""array cverr ismissing isobject ubound strptr err vbobjecterror xlerrname xlerrnull xlerrvalue thisworkbook application range
win64 mac function sub end if then else elseif exit for to next select case with set not and on error goto resume dim redim as byval
byref optional paramarray public private typeof is true false variant string long longptr boolean static""".split())


def names(code):
    """The names of a statement: no texts, comments, labels, members of objects and names of arguments."""
    code = re.sub(r'"[^"]*"', '""', code).split("'")[0]
    return {name.lower() for name in re.findall(r"(?<![\w.])([A-Za-z]\w*)(?!\w)(?!:=)", code)}


def parameter(text):
    match = re.fullmatch(r"(ByVal|ByRef) \w+ As (\w+)", text)
    assert match, text
    return (8, match[2]) if match[1] == "ByRef" else (VBA_TYPES[match[2]], False)


def entries():
    """The same of the header."""
    text = re.sub(r"//.*", "", (FOLDER / "excel" / "entries.hpp").read_text(encoding="utf-8"))
    found = {}
    for result, name, parameters in re.findall(r"([\w:]+) (buttonworth_\w+)\(([^)]*)\) noexcept;", text):
        types = [re.sub(r"\s*\w+$", "", one.strip()) if one.strip()[-1] not in "*" else one for one in parameters.split(",") if one.strip()]
        found[name] = [C_TYPES[one] for one in types], C_TYPES[result][0]
    return found


class Module(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.bytes = made()
        cls.text = cls.bytes.decode("ascii").replace("\r\n", "\n")
        cls.functions = {one[0]: one[1] for one in re.findall(r"^Public Function (BW_\w+)\((.*)\) As", "\n".join(lines_of(cls.text)), re.M)}

    def test_is_text_as_the_editor_of_vba_reads_it(self):
        self.assertNotRegex(self.bytes.decode("ascii"), r"(?<!\r)\n|\r(?!\n)")
        for line in self.text.split("\n"):
            self.assertLessEqual(len(line), 1023, line)
            self.assertEqual(line.rstrip(), line)
        self.assertNotRegex(self.text, r"( _\n.*){25}")
        self.assertIn("\nOption Explicit\n", self.text)
        self.assertTrue(self.text.startswith('Attribute VB_Name = "Buttonworth"\n'))

    def test_quotes_and_brackets_are_closed(self):
        for line in lines_of(self.text):
            code = re.sub(r'"[^"]*"', "", line).split("'")[0] if line.count('"') % 2 == 0 else self.fail(line)
            self.assertEqual(code.count("("), code.count(")"), line)

    def test_blocks_are_closed(self):
        open_blocks, closing = [], {"Function": "Function", "Sub": "Sub", "If": "If", "With": "With", "Select": "Select", "For": "Next"}
        for line in lines_of(self.text):
            words = line.strip()
            if re.match(r"(Public|Private)?\s*(Function|Sub) ", words):
                open_blocks.append(re.search("Function|Sub", words)[0])
            elif re.match(r"If .* Then$", words) or re.match(r"(With|Select|For) ", words):
                open_blocks.append(words.split()[0])
            elif match := re.match(r"End (Function|Sub|If|With|Select)$|(Next)$", words):
                self.assertTrue(open_blocks, line)
                self.assertEqual(closing[open_blocks.pop()], match[1] or match[2], line)
        self.assertEqual(open_blocks, [])

    def test_every_name_is_declared(self):
        text = re.sub(r"(?m)^(Attribute .*|#.*)$", "", "\n".join(lines_of(self.text)))
        own = names(" ".join(re.findall(r"(?m)^(?:Public|Private)(?: Declare PtrSafe)?(?: Function| Sub)? (\w+)", text)))
        procedures = re.findall(r"(?ms)^(?:Public|Private) (?:Function|Sub) (\w+)\((.*?)\)( As \w+)?\n(.*?)^End (?:Function|Sub)$", text)
        self.assertGreater(len(procedures), len(TABLE.functions) + 8)
        for name, parameters, _, body in procedures:
            declared = names(parameters) | names(" ".join(re.findall(r"(?m)^\s*Dim (.*)$", body)))
            labels = {label.lower() for label in re.findall(r"(?m)^(\w+):$", body)}
            used = set().union(*[names(line) for line in body.split("\n")])
            self.assertEqual(used - declared - labels - own - KNOWN, set(), name)

    def test_shows_no_message_and_opens_no_file(self):
        self.assertNotRegex(self.text, r"(?i)\b(MsgBox|InputBox|Shell|CreateObject|Kill|Open [^=]*For)\b")

    def test_declares_are_the_entries(self):
        found, header = declares(self.text), entries()
        self.assertEqual({name: one[1:] for name, one in found.items() if one[0] == "buttonworth.dll"}, header)
        self.assertEqual({name: one[1:] for name, one in found.items() if one[0] != "buttonworth.dll"}, KERNEL)
        self.assertEqual({one[0] for one in found.values()}, {"kernel32", "buttonworth.dll"})
        self.assertGreaterEqual(len(header), 7)

    def test_every_function_of_the_table_is_there(self):
        self.assertEqual(set(self.functions) - {"BW_TROUBLE"}, {one.name for one in TABLE.functions})
        self.assertNotIn("BW_TROUBLE", {one.name for one in TABLE.functions})
        for one in TABLE.functions:
            with self.subTest(one.name):
                rest = bool(one.arguments) and one.arguments[-1].kind == "rest"
                wanted = [f"{'' if rest else 'Optional '}ByVal {excel.identifier(argument)} As Variant" for argument in one.arguments]
                if rest:
                    wanted[-1] = f"ParamArray {excel.identifier(one.arguments[-1])}() As Variant"
                self.assertEqual(self.functions[one.name], ", ".join(wanted))
                body = self.text.split(f"Public Function {one.name}(", 1)[1].split("End Function", 1)[0]
                for argument in one.arguments:
                    self.assertIn(f"BwValues({excel.identifier(argument)}", body)
                self.assertIn(f'{one.name} = BwShown("{one.name}", ', body)

    def test_names_of_arguments_are_no_words_of_vba_and_of_the_module(self):
        own = {name.lower() for name in re.findall(r"^(?:Public|Private)(?: Declare PtrSafe)? (?:Function|Sub)? ?(\w+)", self.text, re.M)}
        for one in TABLE.functions:
            names = [excel.identifier(argument).lower() for argument in one.arguments]
            self.assertEqual(len(set(names)), len(names), one.name)
            for name in names:
                self.assertNotIn(name, excel.RESERVED)
                self.assertNotIn(name, own)

    def test_help_of_the_wizard_is_the_tables(self):
        for one in TABLE.functions:
            told = next(line for line in lines_of(self.text) if line.startswith(f'    BwTell "{one.name}", '))
            texts = [text.replace('""', '"') for text in re.findall(r'"((?:[^"]|"")*)"', told)]
            self.assertEqual(texts, [one.name, one.help, *[argument.help for argument in one.arguments]])
            self.assertLessEqual(max(map(len, texts)), 255)
            described = one.help.replace('"', '""')
            self.assertIn(f'Attribute {one.name}.VB_Description = "{described}"\n', self.text)

    def test_the_library_is_loaded_from_beside_the_module_alone(self):
        self.assertIn('path = ThisWorkbook.Path & "\\buttonworth.dll"\n    BwLibrary = LoadLibraryW(StrPtr(path))', self.text)
        for name in (name for name in entries() if name != "buttonworth_close"):
            for body in re.findall(r"\n(?:Public|Private) Function .*?\nEnd Function", self.text, re.S):
                if re.search(rf"\b{name}\b", body):
                    self.assertIn("If Not BwLoaded() Then", body, name)


class Page(unittest.TestCase):
    """The page beside the module."""

    @classmethod
    def setUpClass(cls):
        cls.text = (FOLDER / "excel" / "README.md").read_text(encoding="utf-8")

    def test_the_program_in_vba_asks_what_can_be_answered(self):
        if OPTIONS.native is None:
            self.skipTest("no library of this system is given")
        program = re.search(r"```vba\n(.*?)```", self.text, re.S)[1]
        [plan] = re.findall(r"^ *plan = (.*)$", "\n".join(lines_of(program)), re.M)
        text = "".join(re.findall(r'"((?:[^"]|"")*)"', plan)).replace('""', '"').encode()
        library = ctypes.CDLL(OPTIONS.native)
        library.bw_answer_text.restype = library.bw_error_text.restype = ctypes.c_char_p
        context, read, answer = ctypes.c_void_p(), ctypes.c_void_p(), ctypes.c_void_p()
        self.assertEqual(library.bw_context_create(ctypes.byref(context)), 0)
        status = library.bw_plan_read(context, text, ctypes.c_size_t(len(text)), ctypes.byref(read))
        self.assertEqual(status, 0, library.bw_error_text(context))
        self.assertEqual(library.bw_compare(context, read, None, ctypes.c_size_t(0), ctypes.byref(answer)), 0)
        self.assertEqual(json.loads(library.bw_answer_text(answer, None))["best"], "sold as it is")

    def test_names_what_there_is(self):
        module = made().decode("ascii")
        for name in re.findall(r"`=?(BW_\w+|Bw\w+|Buttonworth[A-Z]\w*|buttonworth_\w+)[(`]", self.text):
            self.assertRegex(module, rf"(Function|Sub) {name}\b")
        listed = re.search(r"of a plan: (.*?)\.\n", self.text, re.S)[1]
        jobs = re.findall(r'{"(\w+)", ', (FOLDER / "cells" / "core.cpp").read_text(encoding="utf-8"))
        self.assertEqual(re.findall(r"`(\w+)`", listed), jobs)


class Library(unittest.TestCase):
    def setUp(self):
        if OPTIONS.library is None:
            self.skipTest("no library is given")
        self.tables = subprocess.run([OPTIONS.objdump, "-p", OPTIONS.library], check=True, stdout=subprocess.PIPE, text=True).stdout

    def test_exports_the_c_interface_and_the_entries(self):
        names = re.findall(r"^\s*\[ *\d+\] (\w+)$", self.tables.split("[Ordinal/Name Pointer] Table")[1], re.M)
        symbols = (ROOT / "capi" / "symbols.txt").read_text(encoding="utf-8").split()
        self.assertEqual(sorted(names), sorted([*symbols, *entries()]))

    def test_needs_the_system_alone(self):
        self.assertEqual({name.lower() for name in re.findall(r"DLL Name: (.*)", self.tables)}, SYSTEM)

    def test_is_for_64_bit_windows(self):
        self.assertIn("pei-x86-64", self.tables)

    def test_the_module_beside_it_is_the_tables(self):
        given = pathlib.Path(OPTIONS.module).read_bytes()
        version = re.search(rb"' Buttonworth ([\d.]+) ", given)[1].decode()
        self.assertEqual(given, made(version))


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    for name in ("library", "module", "objdump", "native"):
        parser.add_argument(f"--{name}")
    OPTIONS, rest = parser.parse_known_args()
    unittest.main(argv=[sys.argv[0], *rest])
