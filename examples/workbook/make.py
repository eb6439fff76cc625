"""Makes the workbook of the demonstration: .ods for Calc, .xlsx for Excel, and a PDF.

    make.py BUTTONWORTH.oxt FOLDER
"""

import pathlib
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent.parent / "bindings" / "spreadsheet" / "office")]

from book import Book  # noqa: E402
from exchange import exchange  # noqa: E402
from office import Office  # noqa: E402
from running import running, value  # noqa: E402
from writing import Writer  # noqa: E402

FILES = {"ods": "calc8", "xlsx": "Calc MS Excel 2007 XML", "pdf": "calc_pdf_Export"}


def filter_of(end):
    return value("FilterName", FILES[end])


def make(desktop, folder):
    """Writes the files; gives the document, still open, and its description."""
    folder.mkdir(parents=True, exist_ok=True)
    writer, book = Writer(desktop), Book()
    writer.write(book)
    for end in FILES:
        writer.save(folder / f"buttonworth.{end}", filter_of(end))
    exchange("excel", folder / "buttonworth.xlsx", folder / "buttonworth.xlsx")
    return writer.document, book


def main():
    package, folder = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    with tempfile.TemporaryDirectory() as held, running(Office(pathlib.Path(held) / "office", [package])) as calc:
        document, _ = make(calc.desktop, folder)
        document.close(True)


if __name__ == "__main__":
    main()
