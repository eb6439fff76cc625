"""How each route's worth is spread over the draws, one above the other on one scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, List, Sequence, Tuple

import numpy
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from . import rows, style

_HEIGHT = 24


@dataclass(frozen=True)
class Range:
    """A route: its draws, refused ones left out, and its figures as the answer has them."""

    name: str
    figure: str
    draws: Any
    low: float
    median: float
    high: float
    is_preferred: bool


def draw(sheet: style.Sheet, ranges: Sequence[Range], currency: str) -> Figure:
    figure, axes, placed = rows.drawn([(one.name, one.figure, one.is_preferred) for one in ranges], sheet, _HEIGHT)
    start, end = _ends(ranges)
    axes.set_xlim(start, end)
    edges = numpy.linspace(start, end, 181)
    for one, row in zip(ranges, placed):
        _spread(axes, one, row, edges)
    style.money_axis(axes, f"worth in the draws, {currency}", sheet)
    return figure


def _ends(ranges: Sequence[Range]) -> Tuple[float, float]:
    ends: List[float] = []
    for one in ranges:
        ends += [float(end) for end in numpy.quantile(one.draws, (0.002, 0.998))] if len(one.draws) else []
    ends = ends or [0.0]
    room = 0.03 * (max(ends) - min(ends)) or 1.0
    return min(ends) - room, max(ends) + room


def _spread(axes: Axes, one: Range, row: rows.Row, edges: Any) -> None:
    """The heap of the draws, the middle 95 in 100 beneath it and the median."""
    foot = row.bar + _HEIGHT - 5
    heap, _ = numpy.histogram(one.draws, bins=edges)
    tall = (_HEIGHT - 6) * heap / max(heap.max(), 1)
    middle = (edges[:-1] + edges[1:]) / 2
    held = numpy.flatnonzero(heap)
    part = slice(held[0], held[-1] + 1) if len(held) else slice(0, 0)
    colour = style.BLUE if one.is_preferred else style.SKY
    axes.fill_between(middle[part], foot - tall[part], foot, color=colour, linewidth=0)
    axes.plot([one.low, one.high], [foot + 3, foot + 3], color=style.INK, linewidth=1.6, solid_capstyle="butt")
    axes.plot([one.median, one.median], [foot - 5, foot + 5], color=style.INK, linewidth=2, solid_capstyle="butt")
