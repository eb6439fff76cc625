"""What the preferred route is ahead by, over the draws; behind is hatched."""

from __future__ import annotations

from typing import Any

import numpy
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from . import style


def draw(sheet: style.Sheet, ahead: Any, behind_text: str, ahead_text: str, currency: str) -> Figure:
    """ahead: the lead in each draw."""
    figure, axes = style.canvas(sheet, 206, 12, 12, 42, 44)
    low, high = (float(end) for end in numpy.quantile(ahead, (0.002, 0.998)))
    low, high = min(low, 0.0), max(high, 0.0)
    room = 0.04 * (high - low) or 1.0
    heap, edges = numpy.histogram(ahead, bins=_edges(low - room, high + room))
    for count, left, right in zip(heap, edges[:-1], edges[1:]):
        look = (style.VERMILION, "////") if right <= 1e-9 * (high - low) else (style.BLUE, "")
        style.area(axes, lambda **more: Rectangle((left, 0), right - left, count, **more), *look)
    axes.axvline(0, color=style.INK, linewidth=1.4)
    axes.set_xlim(edges[0], edges[-1])
    axes.set_ylim(0, 1.05 * heap.max())
    axes.text(0, 1.17, f"\u2190 {behind_text}", transform=axes.transAxes, ha="left")
    axes.text(1, 1.03, f"{ahead_text} \u2192", transform=axes.transAxes, ha="right")
    style.money_axis(axes, f"lead in the draws, {currency}", sheet)
    return figure


def _edges(low: float, high: float) -> Any:
    """Equal steps, one of which ends at 0."""
    step = (high - low) / 60
    return step * numpy.arange(numpy.floor(low / step), numpy.ceil(high / step) + 1)
