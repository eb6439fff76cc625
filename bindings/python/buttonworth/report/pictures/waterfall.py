"""Steps down and up from one level to the next, each with its amount."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import List, Sequence, Tuple

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from .. import figures
from . import rows, style


@dataclass(frozen=True)
class Fall:
    """A level that is reached, or a change."""

    what: str
    amount: Decimal
    is_level: bool = False


def draw(sheet: style.Sheet, falls: Sequence[Fall], currency: str) -> Figure:
    figure, axes, placed = rows.drawn([_label(fall) for fall in falls], sheet)
    spans = _spans(falls)
    start, end = _ends(spans)
    axes.set_xlim(start, end)
    for number, (fall, row, (before, after)) in enumerate(zip(falls, placed, spans)):
        _bar(axes, fall, row, max(before, start), after, number)
        if number + 1 < len(falls):
            axes.plot([after, after], [row.bar + 13, placed[number + 1].bar], color=style.QUIET, linewidth=0.8)
    if start > 0:
        _tear(axes, falls, placed, start, end)
    begins = f"; the axis begins at {style.thousands(start)}" if start > 0 else ""
    style.money_axis(axes, currency + begins, sheet)
    return figure


def _label(fall: Fall) -> Tuple[str, str, bool]:
    sign = "+" if fall.amount > 0 and not fall.is_level else ""
    return fall.what, sign + figures.decimals(fall.amount, 2), fall.is_level


def _spans(falls: Sequence[Fall]) -> List[Tuple[float, float]]:
    """From where to where each bar goes."""
    spans, reached = [], Decimal(0)
    for fall in falls:
        before = Decimal(0) if fall.is_level else reached
        reached = fall.amount if fall.is_level else reached + fall.amount
        spans.append((float(before), float(reached)))
    return spans


def _ends(spans: Sequence[Tuple[float, float]]) -> Tuple[float, float]:
    """The axis; where all levels are high it does not begin at 0, so that small steps can be seen."""
    reached = [after for _, after in spans]
    least, most = min(reached), max(reached + [0.0])
    room = max(most - min(least, 0), 1)
    if least > 0.6 * most:
        step = 10 ** math.floor(math.log10(most - least or most))
        start = math.floor((least - 0.25 * (most - least)) / step) * step
        return max(start, 0.0), most + 0.02 * (most - start)
    return min(least, 0) - (0.02 * room if least < 0 else 0), most + 0.02 * room


def _bar(axes: Axes, fall: Fall, row: rows.Row, before: float, after: float, number: int) -> None:
    if fall.is_level:
        style.bar(axes, before, after, row.bar, 13, style.BLUE, gid=f"level{number}")
    elif fall.amount < 0:
        style.bar(axes, before, after, row.bar, 13, style.VERMILION, "////", gid=f"down{number}")
    else:
        style.bar(axes, before, after, row.bar, 13, style.GREEN, "..", gid=f"up{number}")


def _tear(axes: Axes, falls: Sequence[Fall], placed: Sequence[rows.Row], start: float, end: float) -> None:
    """Levels are torn at the left where the axis does not begin at 0."""
    tooth = 0.012 * (end - start)
    for fall, row in zip(falls, placed):
        if fall.is_level:
            heights = [row.bar - 1 + 15 * i / 4 for i in range(5)]
            edge = [start + (2 + i % 2) * tooth for i in range(5)]
            axes.fill([*edge, *[x + tooth for x in reversed(edge)]], [*heights, *reversed(heights)],
                      color=style.PAPER, linewidth=0)
