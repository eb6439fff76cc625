"""What is in hand, day by day."""

from __future__ import annotations

from typing import Sequence, Tuple

from matplotlib.figure import Figure

from .. import figures
from . import style


def draw(sheet: style.Sheet, days: Sequence[Tuple[float, float]], currency: str) -> Figure:
    """days: each day on which money moves, and what is in hand after it."""
    figure, axes = style.canvas(sheet, 190, style.money_margin(sheet, [total for _, total in days]), 14, 22, 42)
    last = days[-1][0]
    across = [0.0, *(day for day, _ in days), last * 1.04 + 1]
    totals = [0.0, *(total for _, total in days), days[-1][1]]
    axes.step(across, totals, where="post", color=style.BLUE, linewidth=2)
    axes.fill_between(across, totals, step="post", color=style.SKY, alpha=0.45, linewidth=0)
    axes.axhline(0, color=style.INK, linewidth=0.8)
    axes.set_xlim(0, across[-1])
    axes.margins(y=0.13)
    above = totals[-1] + 0.02 * max(abs(total) for total in totals)
    axes.text(across[-1], above, figures.decimals(str(totals[-1]), 0), ha="right", va="bottom", weight="bold")
    style.upright_money(axes, sheet)
    style.days_axis(axes, "days from today", sheet)
    axes.set_title(f"in hand, {currency}", loc="left", fontsize=sheet.letters, pad=8)
    return figure
