"""Rows of a picture: each a label, a figure, and room for a bar. On paper they stand side by side; on a phone the bar
stands beneath its words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import List, Sequence, Tuple

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from . import style

#: A row's label, its figure, and whether they are bold.
Label = Tuple[str, str, bool]

LINE = 1.3  #: of the letters' size
_EDGE = 12.0
_MOST_LABEL = 0.38  #: of the width, for labels beside bars


@dataclass(frozen=True)
class Row:
    """Where a row stands, in pixels from the top."""

    lines: List[str]
    figure: str
    bold: bool
    first: float  #: the foot of its first line
    bar: float  #: where its bar begins
    end: float


def drawn(labels: Sequence[Label], sheet: style.Sheet, bar: float = 13,
          bottom: float = 44) -> Tuple[Figure, Axes, List[Row]]:
    """Axes whose heights are pixels from the top, with the labels written."""
    figures = max(style.text_width(figure, sheet.letters, bold) for _, figure, bold in labels)
    names = max(style.text_width(label, sheet.letters, bold) for label, _, bold in labels)
    beside = not sheet.is_narrow
    room = min(names, _MOST_LABEL * sheet.width) if beside else sheet.width - 2 * _EDGE - figures - 10
    rows = _rows(labels, sheet, room + 1, bar, beside)
    left, right = (_EDGE + room + 14, _EDGE + figures + 12) if beside else (_EDGE, _EDGE)
    figure, axes = style.canvas(sheet, rows[-1].end + bottom + 4, left, right, 4, bottom)
    axes.set_ylim(rows[-1].end, 0)
    for row in rows:
        _write(axes, row, sheet, left, right)
    return figure, axes, rows


def _rows(labels: Sequence[Label], sheet: style.Sheet, room: float, bar: float, beside: bool) -> List[Row]:
    rows, top, line = [], 0.0, LINE * sheet.letters
    for label, figure, bold in labels:
        words = style.wrapped(label, room, sheet.letters, bold)
        text = len(words) * line
        height = max(text, bar) + 6 if beside else text + bar + 10
        middle = top + height / 2
        first, start = (middle - text / 2, middle - bar / 2) if beside else (top, top + text + 3)
        rows.append(Row(words, figure, bold, first + 0.92 * line, start, top + height))
        top += height
    return rows


def _write(axes: Axes, row: Row, sheet: style.Sheet, left: float, right: float) -> None:
    """The words at the edges of the picture, wherever its axes begin and end."""
    width = sheet.width - left - right
    look = {"transform": axes.get_yaxis_transform(), "weight": "bold" if row.bold else "normal", "va": "baseline",
            "bbox": style.UNDERLAY, "zorder": 6}
    foot = row.first
    for line in row.lines:
        axes.text((_EDGE - left) / width, foot, line, **look)
        foot += LINE * sheet.letters
    axes.text((sheet.width - _EDGE - left) / width, row.first, row.figure, ha="right", **look)
