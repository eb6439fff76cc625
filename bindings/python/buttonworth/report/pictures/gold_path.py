"""The gold's path: one stream from top to bottom, as wide as the gold it carries. At each step what goes another way
leaves it to the right, as wide as it is much, and ends in a block that tells what became of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Dict, List, Sequence, Tuple

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.path import Path
from matplotlib.patches import PathPatch, Rectangle

from . import style

#: What became of the gold: colour and hatch of its block.
FATES: Dict[str, Tuple[str, str]] = {
    "paid": (style.GREEN, ""), "unpaid": (style.VERMILION, "////"), "returned": (style.SKY, ".."),
    "kept": (style.YELLOW, "||||"), "lost": ("#444444", "xxxx")}


@dataclass
class Stream:
    """A part of the gold on its way: a step that it comes to, or an end with one block or two."""

    grams: float
    step: str = ""  #: the step's name; empty at an end, and where the lot parts from its pieces
    what: str = ""  #: of an end
    words: List[str] = field(default_factory=list)  #: of an end: what it is, how much
    fates: List[Tuple[str, Decimal]] = field(default_factory=list)  #: of an end: fate and grams
    outputs: List["Stream"] = field(default_factory=list)  #: of a step; the largest goes straight on


@dataclass
class _Slice:
    """A part of a lane that leaves it together: where it stands across, and where it leaves and for where."""

    grams: float
    left: float = 0.0
    top: float = 0.0
    row: float = 0.0  #: the middle of the row into which it turns
    lane: float = -1.0  #: the left edge of the lane it goes over to; -1 for an end
    end: Stream = field(default_factory=lambda: Stream(0.0))


class _Layout:
    """Rows from top to bottom, lanes from left to right."""

    def __init__(self, sheet: style.Sheet, whole: Stream, width: float) -> None:
        self.sheet, self.scale = sheet, width / whole.grams
        self.top = 8.0 + 1.5 * sheet.letters
        self.slices: List[_Slice] = []
        self.steps: List[Tuple[float, float, float, str]] = []
        self.right = 12.0 + width
        self.ends = 0.0
        self.lane(whole, 12.0, self.top)

    def lane(self, stream: Stream, left: float, top: float) -> None:
        """A stream and all that leaves it, the first to leave at its right edge."""
        right = left + stream.grams * self.scale
        while not stream.fates:
            if stream.step:
                self.steps.append((left, right, self.top + 9, stream.step))
                self.top += 1.7 * self.sheet.letters + 6
            main = max(stream.outputs, key=lambda output: output.grams)
            for output in stream.outputs:
                if output is not main:
                    right = self.leave(output, right, top)
            stream = main
        self.leave(stream, right, top)

    def leave(self, stream: Stream, right: float, top: float) -> float:
        """Takes a slice off the right edge; gives what is left of the lane's right edge."""
        width = stream.grams * self.scale
        taken = _Slice(stream.grams, right - width, top)
        self.slices.append(taken)
        if stream.fates:
            self.end(taken, stream, width)
        else:
            self.over(taken, stream, right, width)
        return right - width

    def end(self, taken: _Slice, stream: Stream, width: float) -> None:
        text = len(stream.words) * 1.3 * self.sheet.letters
        height = max(width, text) + 9
        taken.row, taken.end = max(self.top + height / 2, taken.top + width / 2 + 8), stream
        self.top = taken.row + height / 2

    def over(self, taken: _Slice, stream: Stream, right: float, width: float) -> None:
        """Into a lane of its own, further right."""
        taken.row = self.top + width / 2 + 6
        taken.lane = self.lane_edge(right)
        self.right = max(self.right, taken.lane + width)
        self.top += width + 14
        self.lane(stream, taken.lane, taken.row)

    def lane_edge(self, right: float) -> float:
        return max(right + 16, self.right + 10)


def draw(sheet: style.Sheet, whole: Stream, title: str) -> Figure:
    """The path of one metal, fed from the top."""
    width = 60.0 if sheet.is_narrow else 150.0
    blocks = _Layout(sheet, whole, width).right + 18
    _wrap(whole, sheet, sheet.width - blocks - 40)
    layout = _Layout(sheet, whole, width)
    figure, axes = style.canvas(sheet, layout.top + 6, 0, 0, 0, 0)
    axes.set_xlim(0, sheet.width)
    axes.set_ylim(layout.top + 6, 0)
    axes.axis("off")
    axes.text(12, 8 + sheet.letters, title, va="baseline", weight="bold")
    for number, part in enumerate(layout.slices):
        _slice(axes, part, layout.scale, blocks, number)
    for left, right, top, name in layout.steps:
        _step(axes, left, right, top, name, sheet)
    return figure


def _wrap(stream: Stream, sheet: style.Sheet, width: float) -> None:
    words = [line for text in stream.words for line in style.wrapped(text, width, sheet.letters)]
    stream.words = words
    for output in stream.outputs:
        _wrap(output, sheet, width)


def _step(axes: Axes, left: float, right: float, top: float, name: str, sheet: style.Sheet) -> None:
    """A line across the stream, with the step's name beside it."""
    axes.plot([left - 5, right + 8], [top, top], color=style.INK, linewidth=1.6, solid_capstyle="butt", zorder=4)
    axes.text(right + 13, top, name, va="center", style="italic", zorder=5,
              bbox=style.UNDERLAY)


def _slice(axes: Axes, part: _Slice, scale: float, blocks: float, number: int) -> None:
    width = part.grams * scale
    gold = {"facecolor": style.ORANGE, "edgecolor": style.ORANGE, "linewidth": 0.4}
    if part.lane >= 0:
        axes.add_patch(PathPatch(_over(part, width), **gold))
        return
    axes.add_patch(PathPatch(_turned(part, width, blocks), gid=f"band{number}", **gold))
    _blocks(axes, part, scale, blocks, number)


def _turned(part: _Slice, width: float, end: float) -> Path:
    """Down the lane, a quarter turn to the right, and along the row."""
    left, right = part.left, part.left + width
    upper, lower, bend = part.row - width / 2, part.row + width / 2, 5.0
    points = [((left, part.top), Path.MOVETO), ((left, lower - width - bend), Path.LINETO),
              ((left, lower), Path.CURVE3), ((left + width + bend, lower), Path.CURVE3),
              ((end, lower), Path.LINETO), ((end, upper), Path.LINETO), ((right + bend, upper), Path.LINETO),
              ((right, upper), Path.CURVE3), ((right, upper - bend), Path.CURVE3), ((right, part.top), Path.LINETO),
              ((left, part.top), Path.CLOSEPOLY)]
    return Path([point for point, _ in points], [code for _, code in points])


def _over(part: _Slice, width: float) -> Path:
    """Down one lane and in a bend over to the next."""
    left, right, goal = part.left, part.left + width, part.lane
    start, end = part.row - width / 2 - 6, part.row
    middle = (start + end) / 2
    points = [((left, part.top), Path.MOVETO), ((left, start), Path.LINETO), ((left, middle + width / 2), Path.CURVE4),
              ((goal, middle - width / 2), Path.CURVE4), ((goal, end), Path.CURVE4), ((goal + width, end), Path.LINETO),
              ((goal + width, middle - width / 2), Path.CURVE4), ((right, middle + width / 2), Path.CURVE4),
              ((right, start), Path.CURVE4), ((right, part.top), Path.LINETO), ((left, part.top), Path.CLOSEPOLY)]
    return Path([point for point, _ in points], [code for _, code in points])


def _blocks(axes: Axes, part: _Slice, scale: float, left: float, number: int) -> None:
    """What became of it, and in words."""
    top = part.row - part.grams * scale / 2
    for fate, grams in part.end.fates:
        colour, hatch = FATES[fate]
        height = float(grams) * scale
        style.area(axes, lambda **look: Rectangle((left, top), 28, height, **look), colour, hatch,
                   gid=f"end{number}-{fate}")
        top += height
    axes.text(left + 36, part.row, "\n".join(part.end.words), va="center", linespacing=1.25)


def ends(stream: Stream) -> Sequence[Stream]:
    """All ends, in the order in which they are drawn."""
    if stream.fates:
        return [stream]
    main = max(stream.outputs, key=lambda output: output.grams)
    first = [end for output in stream.outputs if output is not main for end in ends(output)]
    return [*first, *ends(main)]
