"""LibreOffice without a screen: a fresh profile with the add-in, documents written flat, recalculated and read back."""

import pathlib
import subprocess
import xml.etree.ElementTree as ElementTree
from xml.sax.saxutils import escape, quoteattr

OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"
TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"
CALC = "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"
NAMES = f'xmlns:office="{OFFICE}" xmlns:table="{TABLE}" xmlns:text="{TEXT}" xmlns:calcext="{CALC}" ' \
        'xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2"'

# Every document is worked out anew when it is opened, whatever values it holds.
ALWAYS_RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="ODFRecalcMode"><value>0</value></prop></item>
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode"><value>0</value></prop></item>
</oor:items>
"""


class Formula(str):
    """A cell that is worked out."""


class ArrayFormula(Formula):
    """One that fills rows and columns."""

    def __new__(cls, text, rows, columns):
        self = super().__new__(cls, text)
        self.rows, self.columns = rows, columns
        return self


class Failure(str):
    """What a cell shows instead of a value: Err:502, #N/A."""


def column_name(number):
    """A for 0."""
    name = ""
    number += 1
    while number:
        number, digit = divmod(number - 1, 26)
        name = chr(65 + digit) + name
    return name


def place(row, column, absolute=False):
    return f"${column_name(column)}${row + 1}" if absolute else f"{column_name(column)}{row + 1}"


def _cell(value):
    if value is None or value == "":
        return "<table:table-cell/>"
    if isinstance(value, Formula):
        spans = f' table:number-matrix-columns-spanned="{value.columns}" table:number-matrix-rows-spanned="{value.rows}"' \
            if isinstance(value, ArrayFormula) else ""
        return f"<table:table-cell table:formula={quoteattr('of:=' + value)}{spans}/>"
    if isinstance(value, str):
        return f'<table:table-cell office:value-type="string" calcext:value-type="string"><text:p>{escape(value)}</text:p></table:table-cell>'
    return f'<table:table-cell office:value-type="float" office:value="{value!r}"/>'


def write_flat(path, rows):
    """One sheet of rows of values and Formulas."""
    body = "".join(f"<table:table-row>{''.join(map(_cell, row))}</table:table-row>\n" for row in rows)
    path.write_text('<?xml version="1.0" encoding="UTF-8"?>\n'
                    f'<office:document {NAMES} office:version="1.3" office:mimetype="application/vnd.oasis.opendocument.spreadsheet">\n'
                    f'<office:body><office:spreadsheet><table:table table:name="Sheet1">\n{body}</table:table></office:spreadsheet></office:body>\n'
                    '</office:document>\n', encoding="utf-8")


def _value(cell):
    shown = "\n".join("".join(one.itertext()) for one in cell.findall(f"{{{TEXT}}}p"))
    if cell.get(f"{{{CALC}}}value-type") == "error" or shown.startswith(("Err:", "#")):
        return Failure(shown)
    kind = cell.get(f"{{{OFFICE}}}value-type")
    if kind in ("float", "percentage", "currency"):
        return float(cell.get(f"{{{OFFICE}}}value"))
    return shown


def read_flat(path):
    """{(row, column): value} of the first sheet, empty cells left out."""
    sheet = ElementTree.parse(path).getroot().find(f".//{{{TABLE}}}table")
    values, row = {}, 0
    for line in sheet.iter(f"{{{TABLE}}}table-row"):
        column = 0
        for cell in line:
            times = int(cell.get(f"{{{TABLE}}}number-columns-repeated", 1))
            if cell.get(f"{{{OFFICE}}}value-type") is not None or cell.get(f"{{{CALC}}}value-type") == "error":
                for k in range(times):
                    values[row, column + k] = _value(cell)
            column += times
        row += int(line.get(f"{{{TABLE}}}number-rows-repeated", 1))
    return values


def formulas(path):
    """The formulas of a flat document, as they are written in it."""
    return [cell.get(f"{{{TABLE}}}formula") for cell in ElementTree.parse(path).getroot().iter(f"{{{TABLE}}}table-cell")
            if cell.get(f"{{{TABLE}}}formula")]


class Office:
    """A profile of its own under `folder`, with the packages installed as a person would."""

    def __init__(self, folder, packages, soffice="soffice", unopkg="unopkg"):
        self.folder, self.soffice = pathlib.Path(folder), soffice
        profile = self.folder / "profile"
        (profile / "user").mkdir(parents=True)
        (profile / "user" / "registrymodifications.xcu").write_text(ALWAYS_RECALCULATE, encoding="utf-8")
        self.places = [f"-env:UserInstallation={profile.as_uri()}",
                       f"-env:UNO_SHARED_PACKAGES_CACHE={(self.folder / 'packages').as_uri()}"]
        for package in packages:  # shared, as a person who is root may not install for himself
            self.run(unopkg, "add", "--shared", "-f", "--suppress-license", str(package), *self.places)

    def run(self, *command, seconds=240):
        done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=seconds)
        if done.returncode != 0:
            raise RuntimeError(f"{' '.join(command)} ended with {done.returncode}:\n{done.stdout}")
        return done.stdout

    def convert_all(self, paths, to, where, *more):
        """Opens, works out and saves, all in one process."""
        where.mkdir(parents=True, exist_ok=True)
        said = self.run(self.soffice, "--headless", "--norestore", *self.places, *more, "--convert-to", to, "--outdir", str(where),
                        *map(str, paths))
        for path in paths:
            if not (where / f"{path.stem}.{to}").exists():
                raise RuntimeError(f"{path} was not made {to}:\n{said}")

    def recalculated(self, path):
        self.convert_all([path], "fods", self.folder / "worked")
        return read_flat(self.folder / "worked" / f"{path.stem}.fods")
