"""Pages of the workbook as they are described: cells, ranges that one formula fills, charts. No office is needed here."""

from dataclasses import dataclass, field
from typing import Any, Dict, List, Optional, Tuple

from office import column_name


@dataclass
class Filled:
    """A formula whose table fills rows and columns."""

    row: int
    column: int
    rows: int
    columns: int
    formula: str


@dataclass
class Chart:
    """Kind "path" (bars without gaps), "bars" or "lines"; the first column of the range holds the names."""

    kind: str
    title: str
    at: Tuple[int, int]
    size: Tuple[int, int]  #: of the chart, in mm
    ranges: List[str]
    colours: List[Optional[int]]  #: one a series; None is not drawn
    axis: str = ""
    unnamed: Tuple[int, ...] = ()  #: series that the legend leaves out


@dataclass
class Page:
    name: str
    widths: List[int]  #: of the columns, in mm
    cells: Dict[Tuple[int, int], Tuple[Any, str]] = field(default_factory=dict)
    filled: List[Filled] = field(default_factory=list)
    charts: List[Chart] = field(default_factory=list)
    coloured: List[Tuple[str, List[str]]] = field(default_factory=list)  #: ranges of numbers, a style for 1, 2, …
    breaks: List[int] = field(default_factory=list)  #: rows that start a sheet of paper
    upright: bool = True
    printed: int = 0  #: so many columns are printed; all if 0
    even: bool = False  #: all rows of one height, whatever they hold
    row: int = 0

    def put(self, column: int, content: Any, style: str = "words", row: Optional[int] = None) -> str:
        """A cell, in the current row unless said otherwise; gives its place as formulas of any page name it."""
        at = self.row if row is None else row
        self.cells[at, column] = (content, style)
        return self.place(at, column)

    def line(self, *contents: Any, styles: str = "words") -> int:
        """Cells of a row from the left; None leaves one out. Styles as words, one for each or one for all."""
        each = ["section"] if len(contents) == 1 and styles == "head" else styles.split(",")
        for column, content in enumerate(contents):
            if content is not None:
                style = each[column] if len(each) > 1 else each[0]
                self.put(column, content, "headnumber" if style == "head" and column > 0 else style)
        self.row += 1
        return self.row - 1

    def fill(self, column: int, rows: int, columns: int, formula: str, styles: str = "result") -> str:
        """One formula over a range from the current row on; gives the range."""
        each = styles.split(",")
        self.filled.append(Filled(self.row, column, rows, columns, formula))
        for row in range(self.row, self.row + rows):
            for k in range(columns):
                self.cells[row, column + k] = (None, each[k] if len(each) > 1 else each[0])
        self.row += rows
        return self.range(self.row - rows, column, rows, columns)

    def table(self, column: int, rows: int, columns: int, call: str, styles: str = "result") -> str:
        """As many rows and columns of the table that a function gives; those that it does not reach are empty."""
        each, first = styles.split(","), self.row
        for row in range(rows):
            for k in range(columns):
                self.put(column + k, f'=IFERROR(INDEX({call};{row + 1};{k + 1});"")', each[k] if len(each) > 1 else each[0])
            self.row += 1
        return self.range(first, column, rows, columns)

    def place(self, row: int, column: int) -> str:
        return f"$'{self.name}'.${column_name(column)}${row + 1}"

    def range(self, row: int, column: int, rows: int, columns: int) -> str:
        return f"{self.place(row, column)}:${column_name(column + columns - 1)}${row + rows}"
