"""What falls due, day by day, a colour and hatch for each buyer; what is overdue stands before the line."""

from __future__ import annotations

from datetime import date
from typing import Dict, Mapping, Sequence, Tuple

from matplotlib.axes import Axes
from matplotlib.dates import AutoDateLocator, date2num, num2date
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from . import style

_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def draw(sheet: style.Sheet, due: Mapping[str, Sequence[Tuple[date, float]]], end: date, currency: str) -> Figure:
    """due: of each buyer, days and amounts; end: the month's last day."""
    below = 40 + 20 * len(due)
    left = style.money_margin(sheet, (amount for days in due.values() for _, amount in days))
    figure, axes = style.canvas(sheet, 230 + below, left, 14, 26, below)
    tops: Dict[date, float] = {}
    for number, (buyer, days) in enumerate(due.items()):
        for day, amount in days:
            _column(axes, day, tops.get(day, 0.0), amount, *style.SERIES[number % len(style.SERIES)])
            tops[day] = tops.get(day, 0.0) + amount
    _finish(axes, sheet, sorted(tops), end, currency)
    _legend(figure, sheet, list(due), 230 + below)
    return figure


def _column(axes: Axes, day: date, base: float, amount: float, colour: str, hatch: str) -> None:
    at, low = float(date2num(day)), min(base, base + amount)
    style.area(axes, lambda **look: Rectangle((at - 0.45, low), 0.9, abs(amount), **look), colour, hatch)


def _finish(axes: Axes, sheet: style.Sheet, days: Sequence[date], end: date, currency: str) -> None:
    line = float(date2num(end)) + 0.5
    first, last = min(float(date2num(days[0])), line), max(float(date2num(days[-1])), line)
    axes.set_xlim(first - 2, last + 2)
    axes.autoscale(axis="y")
    axes.axhline(0, color=style.INK, linewidth=0.8)
    axes.axvline(line, color=style.INK, linewidth=1.2, linestyle=(0, (5, 3)))
    axes.text(line, 1.01, f"{end.isoformat()} ", transform=axes.get_xaxis_transform(), va="bottom",
              ha="left" if line - first < (last - first) / 2 else "right")
    locator = AutoDateLocator(minticks=3, maxticks=4 if sheet.is_narrow else 8)
    ticks = [tick for tick in locator.tick_values(num2date(first - 2), num2date(last + 2))
             if first <= tick <= last - 0.04 * (last - first)]
    axes.set_xticks(ticks, [_day(tick) for tick in ticks])
    style.upright_money(axes, sheet)
    axes.set_title(currency, loc="left", fontsize=sheet.letters, x=(8 - axes.get_position().x0 * sheet.width) / (sheet.width - 80))


def _day(tick: float) -> str:
    """ "1 May", whatever the machine's language."""
    day = num2date(tick)
    return f"{day.day} {_MONTHS[day.month - 1]}"


def _legend(figure: Figure, sheet: style.Sheet, buyers: Sequence[str], height: float) -> None:
    for number, buyer in enumerate(buyers):
        colour, hatch = style.SERIES[number % len(style.SERIES)]
        foot = (height - 230 - 54 - 20 * number) / height
        for look in ({"facecolor": colour, "linewidth": 0.6}, {"facecolor": "none", "linewidth": 0, "hatch": hatch}):
            figure.add_artist(Rectangle((66 / sheet.width, foot), 24 / sheet.width, 13 / height,
                                        transform=figure.transFigure, edgecolor=style.INK, **look))
        figure.text(98 / sheet.width, foot + 2 / height, buyer)
