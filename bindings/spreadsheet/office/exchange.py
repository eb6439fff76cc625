"""A workbook between Calc and Excel: the functions' names in the formulas of an .xlsx.

    exchange.py excel FROM.xlsx TO.xlsx      BW_MOISTURE, as Excel's module has them
    exchange.py calc FROM.xlsx TO.xlsx       BUTTONWORTH.CELLS.MOISTURE, as Calc 7.4 writes and reads them
"""

import pathlib
import re
import sys
import zipfile

HERE = pathlib.Path(__file__).resolve().parent.parent
sys.path.insert(0, str(HERE / "generate"))
import table as tables  # noqa: E402

_FORMULAS = re.compile(r"(<(f|formula[12]?|definedName)\b[^>]*(?<!/)>)(.*?)(</\2>)", re.DOTALL)
_CALLS = re.compile(r"""(?P<text>&quot;.*?&quot;|".*?")|(?<![\w.])(?P<name>[A-Za-z_][\w.]*)(?=\()""", re.DOTALL)


def names(host):
    """{a function's name in the other host, in capitals: its name in this one}."""
    table = tables.read(HERE / "functions.json")
    pairs = [(table.long_name(one), one.name) for one in table.functions]
    return dict(pairs) if host == "excel" else {short: long for long, short in pairs}


def renamed(formula, known):
    """The formula, as XML text, with the functions' names replaced; texts in it stay."""
    return _CALLS.sub(lambda found: found["text"] or known.get(found["name"].upper(), found["name"]), formula)


def _sheet(xml, known):
    return _FORMULAS.sub(lambda found: found[1] + renamed(found[3], known) + found[4], xml.decode("utf-8")).encode("utf-8")


def exchange(host, given, made):
    """Writes the workbook for that host; `made` may be the file itself."""
    known = names(host)
    with zipfile.ZipFile(given) as package:
        entries = [(entry, package.read(entry)) for entry in package.infolist()]
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as package:
        for entry, content in entries:
            formulas = re.fullmatch(r"xl/(worksheets/[^/]+|workbook)\.xml", entry.filename)
            package.writestr(entry, _sheet(content, known) if formulas else content)


def main():
    if len(sys.argv) != 4 or sys.argv[1] not in ("excel", "calc"):
        sys.exit(__doc__)
    exchange(*sys.argv[1:])


if __name__ == "__main__":
    main()
