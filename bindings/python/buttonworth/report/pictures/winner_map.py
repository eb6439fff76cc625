"""Which route leads over two quantities: an area each, named in it or beneath."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Dict, List, Optional, Sequence, Tuple

import numpy
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.ticker import FuncFormatter, MaxNLocator

from . import style


#: A colour and a hatch.
Look = Tuple[str, str]


@dataclass(frozen=True)
class Side:
    """One axis: its words with the unit, its values, the plan's own value where it is one."""

    label: str
    values: Sequence[float]
    plan: Optional[float]


def draw(sheet: style.Sheet, x: Side, y: Side, winner: Sequence[Sequence[Optional[int]]],
         names: Sequence[str], looks: Sequence[int]) -> Figure:
    """looks: of each route the number of its colour and hatch, the same in every map."""
    grid = numpy.array([[-1 if entry is None else entry for entry in row] for row in winner])
    shown = [number for number, _ in sorted(_areas(grid).items(), key=lambda item: -item[1])]
    legend = [(number, style.wrapped(_name(names, number), sheet.width - 56, sheet.letters)) for number in shown]
    lines = sum(len(words) for _, words in legend)
    below = 48 + lines * 17 + 6 * len(legend)
    figure, axes = style.canvas(sheet, 300 + below, 66, 24, 32, below)
    for number in shown:
        _region(axes, x.values, y.values, grid == number, *_look(looks, number))
    _finish(axes, sheet, x, y)
    _legend(figure, sheet, [(_look(looks, number), words) for number, words in legend], below)
    return figure


def _name(names: Sequence[str], number: int) -> str:
    return names[number] if number >= 0 else "every route is refused"


def _look(looks: Sequence[int], number: int) -> Look:
    return style.SERIES[looks[number] % len(style.SERIES)] if number >= 0 else ("#eeeeee", "xx")


def _areas(grid: Any) -> Dict[int, int]:
    numbers, counts = numpy.unique(grid, return_counts=True)
    return {int(number): int(count) for number, count in zip(numbers, counts)}


def _region(axes: Axes, across: Sequence[float], up: Sequence[float], held: Any, colour: str, hatch: str) -> None:
    """Row by row, stretches of the grid's cells; the hatching over all of them at once."""
    inside = held.astype(float)
    axes.contourf(across, up, inside, levels=[0.5, 1.5], colors=[colour])
    if hatch:
        axes.contourf(across, up, inside, levels=[0.5, 1.5], colors="none", hatches=[hatch])
    if 0 < inside.sum() < inside.size:
        axes.contour(across, up, inside, levels=[0.5], colors=[style.INK], linewidths=0.7)


def _finish(axes: Axes, sheet: style.Sheet, x: Side, y: Side) -> None:
    for axis, nbins in ((axes.xaxis, 4 if sheet.is_narrow else 7), (axes.yaxis, 6)):
        axis.set_major_formatter(FuncFormatter(style.thousands))
        axis.set_major_locator(MaxNLocator(nbins=nbins, steps=[1, 2, 2.5, 5, 10]))
    axes.set_xlim(min(x.values), max(x.values))
    axes.set_ylim(min(y.values), max(y.values))
    axes.set_xlabel(x.label)
    axes.set_title(y.label, loc="left", fontsize=sheet.letters, x=-54 / (sheet.width - 90), pad=12)
    axes.tick_params(length=3)
    if x.plan is not None and y.plan is not None:
        axes.plot([x.plan], [y.plan], marker="o", markersize=9, color=style.PAPER, markeredgecolor=style.INK,
                  markeredgewidth=2, clip_on=False)


def _legend(figure: Figure, sheet: style.Sheet, legend: List[Tuple[Look, List[str]]], below: float) -> None:
    """The routes beneath, the largest area first; the ring is the plan."""
    height = 300 + below
    top = below - 52
    for (colour, hatch), words in legend:
        for look in ({"facecolor": colour, "linewidth": 0.6}, {"facecolor": "none", "linewidth": 0, "hatch": hatch}):
            figure.add_artist(Rectangle((12 / sheet.width, (top - 12) / height), 24 / sheet.width, 14 / height,
                                        transform=figure.transFigure, edgecolor=style.INK, **look))
        for line in words:
            figure.text(44 / sheet.width, (top - 10) / height, line)
            top -= 17
        top -= 6
