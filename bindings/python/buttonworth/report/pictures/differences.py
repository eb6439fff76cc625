"""How far a buyer's figures lie from ours, each with its 95 % interval."""

from __future__ import annotations

from dataclasses import dataclass
from typing import List, Optional, Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from . import rows, style

#: Colour, marker: what is as expected is hollow.
_VERDICTS = {"as expected": (style.PAPER, "o"), "questioned": (style.ORANGE, "D"),
             "to be acted on": (style.VERMILION, "s")}


@dataclass(frozen=True)
class Difference:
    """In percent of our figure."""

    name: str
    figure: str
    middle: float
    low: Optional[float]
    high: Optional[float]
    verdict: str


def draw(sheet: style.Sheet, found: Sequence[Difference]) -> Figure:
    labels = [(one.name, one.figure, one.verdict == "to be acted on") for one in found]
    figure, axes, placed = rows.drawn(labels, sheet, 12, 60)
    reached: List[float] = [0.0]
    for one, row in zip(found, placed):
        reached += _one(axes, one, row.bar + 6)
    room = 0.05 * (max(reached) - min(reached)) or 1.0
    axes.set_xlim(min(reached) - room, max(reached) + room)
    axes.axvline(0, color=style.INK, linewidth=1)
    words = "theirs less ours, % of ours, with 95 % interval\n" if not sheet.is_narrow else "theirs less ours, %\n"
    style.money_axis(axes, words + "ring: as expected; diamond: worth a question;"
                     + ("\n" if sheet.is_narrow else " ") + "square: take it up", sheet)
    return figure


def _one(axes: Axes, one: Difference, height: float) -> List[float]:
    colour, marker = _VERDICTS.get(one.verdict, (style.PAPER, "o"))
    if one.low is not None and one.high is not None:
        axes.plot([one.low, one.high], [height, height], color=style.INK, linewidth=2, solid_capstyle="butt")
    axes.plot([one.middle], [height], marker=marker, markersize=8, color=colour, markeredgecolor=style.INK,
              markeredgewidth=1.4)
    return [one.middle, *(end for end in (one.low, one.high) if end is not None)]
