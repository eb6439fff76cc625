"""Writes the description by an office that runs: cells, styles, charts, files."""

import uno
from com.sun.star.awt import Rectangle
from com.sun.star.table import BorderLine2, CellAddress
from com.sun.star.table.CellHoriJustify import CENTER, LEFT, RIGHT
from com.sun.star.table.CellVertJustify2 import TOP

from office import column_name
from running import value

INPUT, RESULT, RULE = 0xFFF1D6, 0xE3F0EC, 0xC9A15A
INPUT_INK, RESULT_INK, QUIET = 0x5A3A00, 0x0B3D33, 0x555555
#: Of routes on the map: light enough for a number to be read on them.
ROUTES = [0xDDDDDD, 0x9BC4E2, 0xF7D08A, 0xF4A582, 0xC7B9E2, 0xB8E0D2, 0x7FCDA9, 0xF3E57B, 0xE7B1CC, 0xBFA98A, 0xA6D1F2]


def _look(paper=None, ink=None, number=None, **more):
    look = dict(more)
    if paper is not None:
        look["CellBackColor"] = paper
    if ink is not None:
        look["CharColor"] = ink
    return look, number


_WIDE = {"IsTextWrapped": True, "VertJustify": TOP}
STYLES = {
    "title": _look(CharHeight=17.0, CharWeight=150.0), "head": _look(CharWeight=150.0, CharHeight=11.0, IsTextWrapped=True, VertJustify=TOP),
    "headnumber": _look(CharWeight=150.0, CharHeight=10.0, IsTextWrapped=True, HoriJustify=RIGHT),
    "section": _look(CharWeight=150.0, CharHeight=12.0), "unit": _look(ParaIndent=150), "blank": _look(0xFFFFFF), "words": _look(), "sentence": _look(), "note": _look(ink=QUIET, CharHeight=9.0), "plain": _look(ink=QUIET, CharHeight=8.0),
    "small": _look(ink=QUIET, CharHeight=9.0, HoriJustify=RIGHT), "step": _look(ink=QUIET, **_WIDE), "wrapped": _look(CharHeight=9.0, ParaIndent=200, **_WIDE),
    "input": _look(INPUT, INPUT_INK, HoriJustify=RIGHT), "inputleft": _look(INPUT, INPUT_INK, HoriJustify=RIGHT),
    "inputhead": _look(INPUT, INPUT_INK, CharWeight=150.0, HoriJustify=CENTER), "choice": _look(INPUT, INPUT_INK, CharHeight=8.0, **_WIDE),
    "cell": _look(INPUT, INPUT_INK, "@", CharHeight=8.0), "column": _look(ink=QUIET, CharHeight=8.0, CharWeight=150.0, **_WIDE),
    "result": _look(RESULT, RESULT_INK), "big": _look(RESULT, RESULT_INK, CharHeight=13.0, CharWeight=150.0, **_WIDE),
    "answer": _look(RESULT, RESULT_INK, **_WIDE), "caution": _look(RESULT, RESULT_INK, CharHeight=9.0, **_WIDE),
    "number": _look(ink=QUIET, HoriJustify=RIGHT, VertJustify=TOP), "money": _look(RESULT, RESULT_INK, "#,##0", HoriJustify=RIGHT),
    "cents": _look(RESULT, RESULT_INK, "#,##0.00", HoriJustify=RIGHT), "gram": _look(RESULT, RESULT_INK, "#,##0.00", HoriJustify=RIGHT),
    "one": _look(RESULT, RESULT_INK, "#,##0.0", HoriJustify=RIGHT), "count": _look(RESULT, RESULT_INK, "0", HoriJustify=RIGHT),
    "share": _look(RESULT, RESULT_INK, "0.00%", HoriJustify=RIGHT), "ratio": _look(RESULT, RESULT_INK, "0.0000", HoriJustify=RIGHT),
    "map": _look(RESULT, RESULT_INK, "0", HoriJustify=CENTER), "rowinput": _look(INPUT, INPUT_INK, CharHeight=8.0, HoriJustify=LEFT),
    "rowresult": _look(RESULT, RESULT_INK, CharHeight=8.0, HoriJustify=LEFT),
    **{f"route{k}": _look(colour, 0x000000, "0", HoriJustify=CENTER) for k, colour in enumerate(ROUTES)},
}


class Writer:
    def __init__(self, desktop):
        self.document = desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, (value("Hidden", True),))
        self.document.CharLocale = uno.createUnoStruct("com.sun.star.lang.Locale", "en", "US", "")
        self._styles()

    def write(self, book):
        self.document.lockControllers()
        self.document.enableAutomaticCalculation(False)
        for number, page in enumerate(book.pages):
            self.document.Sheets.insertNewByName(page.name, number)
        self.document.Sheets.removeByName(self.document.Sheets[len(book.pages)].Name)
        for name, place in book.names.items():
            self.document.NamedRanges.addNewByName(name, place, CellAddress(), 0)
        for number, page in enumerate(book.pages):
            self._page(self.document.Sheets[number], page, number)
        self.document.unlockControllers()
        self.document.enableAutomaticCalculation(True)
        self.document.calculateAll()
        for number, page in enumerate(book.pages):
            if page.even:
                self.document.Sheets[number].Rows.Height = 450
            else:
                self.document.Sheets[number].Rows.OptimalHeight = True
            for chart in page.charts:
                self._chart(self.document.Sheets[number], chart)

    def save(self, path, kind):
        self.document.storeToURL(path.as_uri(), (kind,))

    # ---- Styles ----

    def _styles(self):
        family, formats = self.document.StyleFamilies.getByName("CellStyles"), self.document.NumberFormats
        default = family.getByName("Default")
        default.CharFontName, default.CharHeight, default.VertJustify = "Liberation Sans", 10.0, TOP
        locale = uno.createUnoStruct("com.sun.star.lang.Locale", "en", "US", "")
        for name, (look, number) in STYLES.items():
            style = self.document.createInstance("com.sun.star.style.CellStyle")
            family.insertByName(f"bw {name}", style)
            for key, one in look.items():
                style.setPropertyValue(key, one)
            if number:
                key = formats.queryKey(number, locale, False)
                style.NumberFormat = key if key >= 0 else formats.addNew(number, locale)
            if look.get("CellBackColor") in (INPUT, RESULT):
                line = BorderLine2()
                line.Color, line.OuterLineWidth = (RULE, 18) if look["CellBackColor"] == INPUT else (0xFFFFFF, 18)
                for side in ("TopBorder", "BottomBorder", "LeftBorder", "RightBorder"):
                    style.setPropertyValue(side, line)

    # ---- Pages ----

    def _page(self, sheet, page, number):
        for column, width in enumerate(page.widths):
            sheet.Columns[column].Width = width * 100
        for (row, column), (content, style) in page.cells.items():
            cell = sheet.getCellByPosition(column, row)
            cell.CellStyle = f"bw {style}"
            if isinstance(content, (int, float)):
                cell.Value = content
            elif content is not None and content.startswith("="):
                cell.Formula = content
            elif content:
                cell.String = content
        for one in page.filled:
            place = sheet.getCellRangeByPosition(one.column, one.row, one.column + one.columns - 1, one.row + one.rows - 1)
            place.setArrayFormula(one.formula)
        for (row, column), (content, style) in page.cells.items():
            if style in ("answer", "caution", "result", "cents") and (content is None or str(content).startswith("=")):
                self._blank(sheet.getCellByPosition(column, row), f"{column_name(column)}{row + 1}")
        for place, styles in page.coloured:
            self._colour(sheet, place, styles)
        for row in page.breaks:
            sheet.Rows[row].IsStartOfNewPage = True
        self._paper(sheet, page, number)

    @staticmethod
    def _blank(cell, name):
        """A result that is empty here has no colour."""
        entries = cell.ConditionalFormat
        entries.addNew((value("Operator", uno.Enum("com.sun.star.sheet.ConditionOperator", "FORMULA")),
                        value("Formula1", f'IF(ISERROR({name});0;LEN({name})=0)'), value("StyleName", "bw blank"),
                        value("SourcePosition", cell.CellAddress)))
        cell.ConditionalFormat = entries

    @staticmethod
    def _colour(sheet, place, styles):
        cells = sheet.getCellRangeByName(place.rpartition(".")[2])
        entries = cells.ConditionalFormat
        for number, style in enumerate(styles):
            entries.addNew((value("Operator", uno.Enum("com.sun.star.sheet.ConditionOperator", "EQUAL")), value("Formula1", str(number + 1)),
                            value("StyleName", f"bw {style}")))
        cells.ConditionalFormat = entries

    def _paper(self, sheet, page, number):
        family = self.document.StyleFamilies.getByName("PageStyles")
        style = self.document.createInstance("com.sun.star.style.PageStyle")
        family.insertByName(f"bw page {number}", style)
        style.IsLandscape = not page.upright
        style.Width, style.Height = (21000, 29700) if page.upright else (29700, 21000)
        style.ScaleToPagesX, style.ScaleToPagesY = 1, 0
        style.HeaderIsOn = False
        if page.printed:
            sheet.setPrintAreas((sheet.getCellRangeByPosition(0, 0, page.printed - 1, page.row).RangeAddress,))
        sheet.PageStyle = f"bw page {number}"

    # ---- Charts ----

    def _chart(self, sheet, chart):
        corner = sheet.getCellByPosition(chart.at[1], chart.at[0]).Position
        place = Rectangle(corner.X, corner.Y, chart.size[0] * 100, chart.size[1] * 100)
        ranges = tuple(sheet.getCellRangeByName(one.rpartition(".")[2]).RangeAddress for one in chart.ranges)
        name = f"chart {sheet.Charts.Count}"
        sheet.Charts.addNewByName(name, place, ranges, True, True)
        drawn = sheet.Charts.getByName(name).EmbeddedObject
        drawn.HasMainTitle = True
        drawn.Title.String, drawn.Title.CharHeight = chart.title, 10.0
        lines = chart.kind == "lines"
        diagram = drawn.createInstance(f"com.sun.star.chart.{'Line' if lines else 'Bar'}Diagram")
        drawn.Diagram = diagram
        diagram.DataRowSource = uno.Enum("com.sun.star.chart.ChartDataRowSource", "COLUMNS")
        if not lines:
            diagram.Vertical, diagram.Stacked = True, True
            diagram.XAxis.ReverseDirection = True
            diagram.XAxis.LabelPosition = uno.Enum("com.sun.star.chart.ChartAxisLabelPosition", "OUTSIDE_START")
            diagram.YAxis.GapWidth, diagram.YAxis.Overlap = (0 if chart.kind == "path" else 40), 100
        diagram.YAxis.NumberFormat = self._number(drawn)
        diagram.YAxis.LinkNumberFormatToSource = False
        diagram.Wall.FillStyle = uno.Enum("com.sun.star.drawing.FillStyle", "NONE")
        drawn.Area.LineStyle = uno.Enum("com.sun.star.drawing.LineStyle", "NONE")
        all_series = drawn.FirstDiagram.CoordinateSystems[0].ChartTypes[0].DataSeries
        for number, (series, colour) in enumerate(zip(all_series, chart.colours)):
            self._series(series, colour, lines)
            series.ShowLegendEntry = colour is not None and number not in chart.unnamed
        drawn.HasLegend = True
        drawn.Legend.FillStyle = uno.Enum("com.sun.star.drawing.FillStyle", "NONE")
        drawn.Legend.LineStyle = uno.Enum("com.sun.star.drawing.LineStyle", "NONE")
        drawn.Legend.Alignment = uno.Enum("com.sun.star.chart.ChartLegendPosition", "BOTTOM")

    @staticmethod
    def _number(drawn):
        locale = uno.createUnoStruct("com.sun.star.lang.Locale", "en", "US", "")
        key = drawn.NumberFormats.queryKey("#,##0", locale, False)
        return key if key >= 0 else drawn.NumberFormats.addNew("#,##0", locale)

    @staticmethod
    def _series(series, colour, lines):
        if colour is None:
            series.Transparency = 100
            return
        series.Color = colour
        if lines:
            series.LineWidth = 60
