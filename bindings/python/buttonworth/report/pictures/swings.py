"""What the lead becomes at the low and at the high of each uncertain figure, the widest swing first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Optional, Sequence

from matplotlib.figure import Figure

from . import rows, style


@dataclass(frozen=True)
class Swing:
    name: str
    figure: str
    low: Optional[float]  #: the lead there; None where a route is refused
    high: Optional[float]


def draw(sheet: style.Sheet, swings: Sequence[Swing], lead: float, currency: str) -> Figure:
    figure, axes, placed = rows.drawn([(one.name, one.figure, False) for one in swings], sheet, 13, 62)
    reached = [lead, 0.0, *(end for one in swings for end in (one.low, one.high) if end is not None)]
    room = 0.04 * (max(reached) - min(reached)) or 1.0
    axes.set_xlim(min(reached) - room, max(reached) + room)
    for one, row in zip(swings, placed):
        for end, colour, hatch in ((one.low, style.SKY, ""), (one.high, style.ORANGE, "////")):
            if end is not None:
                style.bar(axes, lead, end, row.bar, 13, colour, hatch)
    height = axes.get_ylim()[0]
    axes.vlines([0], 0, height, color=style.VERMILION, linewidth=1.4, linestyles=[(0, (5, 3))])
    axes.vlines([lead], 0, height, color=style.INK, linewidth=1)
    style.money_axis(axes, f"lead over the next route, {currency}\nplain: at the low; hatched: at the high; "
                     "dashed: no lead" if not sheet.is_narrow else
                     f"lead over the next route, {currency}\nplain: low; hatched: high; dashed: no lead", sheet)
    return figure
