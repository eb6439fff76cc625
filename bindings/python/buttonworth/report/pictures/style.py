"""What all pictures have in common: widths, colours that colour-blind readers tell apart, hatching for grey, SVG
that stands inside a page."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Callable, Dict, Iterable, List, Tuple

from markupsafe import Markup
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Patch, Rectangle
from matplotlib.textpath import text_to_path
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from .. import figures

# Okabe and Ito's colours (2008).
BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
INK, QUIET, RULE, PAPER = "#1a1a1a", "#555555", "#bbbbbb", "#ffffff"

#: Colour and hatch of the first, second, … of things that stand side by side: told apart in grey too.
SERIES: List[Tuple[str, str]] = [(SKY, ""), (ORANGE, "////"), (GREEN, ".."), (YELLOW, "xxxx"), (PURPLE, "\\\\\\\\"),
                                 (BLUE, "||||"), (VERMILION, "----"), ("#cccccc", ""), (PAPER, "++++"),
                                 (SKY, "xx"), (ORANGE, "\\\\\\\\"), (GREEN, "////")]


#: Beneath words that lines would run through.
UNDERLAY = {"facecolor": PAPER, "edgecolor": "none", "pad": 1.0}


@dataclass(frozen=True)
class Sheet:
    """A width to draw for, in pixels of the page, and the size of letters there."""

    name: str
    width: float
    letters: float

    @property
    def is_narrow(self) -> bool:
        return self.width < 500


WIDE = Sheet("wide", 680, 12)
NARROW = Sheet("narrow", 350, 11.5)


def _settings(sheet: Sheet, name: str) -> Dict[str, Any]:
    return {"font.family": "sans-serif", "font.sans-serif": ["DejaVu Sans"], "font.size": sheet.letters,
            "axes.labelsize": sheet.letters, "xtick.labelsize": sheet.letters, "ytick.labelsize": sheet.letters,
            "axes.edgecolor": QUIET, "axes.labelcolor": INK, "text.color": INK, "xtick.color": INK,
            "ytick.color": INK, "axes.spines.top": False, "axes.spines.right": False, "axes.linewidth": 0.8,
            "hatch.linewidth": 0.7, "svg.fonttype": "none", "svg.hashsalt": f"{name} {sheet.name}",
            "text.parse_math": False}


def canvas(sheet: Sheet, height: float, left: float = 8, right: float = 8, top: float = 6,
           bottom: float = 42) -> Tuple[Figure, Axes]:
    """A figure of one axes; all lengths are pixels of the page."""
    figure = Figure(figsize=(sheet.width / 72, height / 72), dpi=72)
    axes = figure.add_axes((left / sheet.width, bottom / height, 1 - (left + right) / sheet.width,
                            1 - (top + bottom) / height))
    return figure, axes


def picture(name: str, title: str, draw: Callable[[Sheet], Figure]) -> Markup:
    """The picture at both widths; the page shows the one that fits."""
    return Markup("").join(_drawn(name, title, draw, sheet) for sheet in (WIDE, NARROW))


def _drawn(name: str, title: str, draw: Callable[[Sheet], Figure], sheet: Sheet) -> Markup:
    out = io.StringIO()
    with rc_context(_settings(sheet, name)):
        nothing = {"Date": None, "Creator": None, "Format": None, "Type": None}
        draw(sheet).savefig(out, format="svg", metadata=nothing, transparent=True)
    return Markup(_inline(out.getvalue(), f"{name}-{sheet.name}", title, sheet))


def _inline(svg: str, name: str, title: str, sheet: Sheet) -> str:
    """The drawing as a part of a page: its ids its own, its width the page's, nothing that points outside."""
    body = svg[svg.index(">", svg.index("<svg")) + 1:]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.S)
    body = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', body)
    body = re.sub(r'href="#', f'href="#{name}-', body)
    body = body.replace("url(#", f"url(#{name}-")
    body = _without_uses(body)
    body = re.sub(r"font: ([^;\"]*?)([\d.]+px) '[^;\"]*", _font, body)
    size = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert size is not None
    return (f'<svg class="{sheet.name}" viewBox="0 0 {size[1]} {size[2]}" role="img" '
            f'aria-label="{Markup.escape(title)}">{body}').strip()


def _without_uses(body: str) -> str:
    """Marks drawn where they stand: what makes the PDF does not draw all that points to a definition."""
    shapes = dict(re.findall(r'<path id="([^"]+)" (d="[^"]*")', body))

    def shape(match: "re.Match[str]") -> str:
        if match[1] not in shapes:
            return match[0]
        return f'<path {shapes[match[1]]} transform="translate({match[2]} {match[3]})" {match[4]}/>'

    return re.sub(r'<use xlink:href="#([^"]+)" x="([^"]+)" y="([^"]+)" (style="[^"]*")/>', shape, body)


def _font(match: "re.Match[str]") -> str:
    weight = "bold" if "bold" in match[1] or "700" in match[1] else "normal"
    return f"font-family: 'DejaVu Sans', Verdana, sans-serif; font-size: {match[2]}; font-weight: {weight}"


# ---- Axes ----------------------------------------------------------------------------------------


def thousands(value: float, _: Any = None) -> str:
    """A tick's number: 1,500 or 0.5, a true minus."""
    return figures.figures(repr(round(float(value), 10)), 8, trim=True)


def money_axis(axes: Axes, label: str, sheet: Sheet) -> None:
    """Money along the bottom, a light grid behind it, no line at the left."""
    axes.xaxis.set_major_formatter(FuncFormatter(thousands))
    axes.xaxis.set_major_locator(FixedLocator(_ticks(axes, sheet)))
    axes.set_xlabel(label)
    axes.tick_params(length=3, color=QUIET)
    axes.grid(axis="x", color=RULE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines["left"].set_visible(False)
    axes.set_yticks([])


def _ticks(axes: Axes, sheet: Sheet) -> List[float]:
    """As many as there is room for, none whose number would be cut at the edge of the picture."""
    low, high = axes.get_xlim()
    place = axes.get_position()
    width = place.width * sheet.width
    ticks = MaxNLocator(nbins=max(2, int(width / 72)), steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    kept = []
    for tick in (float(tick) for tick in ticks if low <= tick <= high):
        middle = place.x0 * sheet.width + (tick - low) / (high - low) * width
        if min(middle, sheet.width - middle) >= text_width(thousands(tick), sheet.letters) / 2:
            kept.append(tick)
    return kept


def days_axis(axes: Axes, label: str, sheet: Sheet) -> None:
    axes.xaxis.set_major_locator(MaxNLocator(nbins=5 if sheet.is_narrow else 9, integer=True))
    axes.set_xlabel(label)


def money_margin(sheet: Sheet, amounts: Iterable[float]) -> float:
    """Room at the left for money up the side."""
    widest = max((abs(amount) for amount in amounts), default=0.0)
    return max(66.0, text_width(f"\u2212{widest:,.0f}", sheet.letters) + 14)


def upright_money(axes: Axes, sheet: Sheet) -> None:
    """Money up the left side."""
    axes.yaxis.set_major_formatter(FuncFormatter(thousands))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=5, steps=[1, 2, 2.5, 5, 10]))
    axes.grid(axis="y", color=RULE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(length=3, color=QUIET)


# ---- Areas and words -----------------------------------------------------------------------------


def area(axes: Axes, make: Callable[..., Patch], colour: str, hatch: str = "", **more: Any) -> Patch:
    """A filled patch, hatched by a second one on top: what draws patterns leaves seams in a coloured one."""
    axes.add_patch(make(facecolor=colour, edgecolor=INK, linewidth=0.6, **more))
    if hatch:
        axes.add_patch(make(facecolor="none", edgecolor=INK, linewidth=0, hatch=hatch))
    return axes.patches[-1]


def bar(axes: Axes, start: float, end: float, top: float, height: float, colour: str, hatch: str = "",
        **more: Any) -> None:
    """A lying bar; height counts downwards as the rows do."""
    area(axes, lambda **look: Rectangle((min(start, end), top), abs(end - start), height, **look), colour, hatch,
         **more)


@lru_cache(maxsize=4096)
def text_width(text: str, letters: float, bold: bool = False) -> float:
    """In pixels, in the widest of the fonts that the page may be shown in."""
    font = FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal", size=letters)
    return float(text_to_path.get_text_width_height_descent(text, font, False)[0]) if text.strip() else 0.0


def wrapped(text: str, width: float, letters: float, bold: bool = False) -> List[str]:
    """Lines that fit; a word that is too long stands on a line of its own."""
    lines: List[str] = []
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, letters, bold) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
