"""The gold's path of the best route: a tree of streams for the picture, and its ends in figures."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Dict, List, Mapping, Tuple

from markupsafe import Markup

from . import figures, tree
from .answers import Answers
from .figures import exact
from .pictures import gold_path, style
from .words import analyte, the

Fates = List[Tuple[str, Decimal]]

_SAID = {"paid": "paid for", "unpaid": "not paid for", "returned": "sent back", "kept": "kept", "lost": "lost"}


@dataclass
class End:
    """A row beneath the picture."""

    what: str
    fate: str
    grams: Decimal


@dataclass
class Path:
    metal: str
    name: str
    fed: Decimal
    ends: List[End]
    picture: Markup

    def rows(self) -> List[Dict[str, str]]:
        return [{"what": end.what, "fate": _SAID[end.fate], "grams": figures.grams(end.grams, self.fed),
                 "exact": str(end.grams), "share": figures.share(end.grams, self.fed)} for end in self.ends]

    def whole(self) -> str:
        return figures.grams(self.fed, self.fed)


def path(answers: Answers, route: str) -> Path:
    held, metal = answers.at("/gold/branches"), answers.at("/gold/metal")
    places = answers.at("/compare/routes")[route]["metal"][metal]
    grower = _Grower(held, places)
    start = tree.read(answers.at("/plan"), route)
    ends = [End(stream.what, fate, grams) for stream in gold_path.ends(grower.grown(start))
            for fate, grams in stream.fates]
    title = f"{figures.grams(places['fed'], places['fed'])} of {analyte(metal)} fed"
    picture = style.picture("gold", f"Where the {analyte(metal)} went",
                            lambda sheet: gold_path.draw(sheet, grower.grown(start), title))
    return Path(metal, analyte(metal), exact(places["fed"]), ends, picture)


class _Grower:
    """Makes streams of the route's nodes, from the ends backwards."""

    def __init__(self, held: Mapping[str, Mapping[str, str]], places: Mapping[str, Any]) -> None:
        self.held, self.places, self.fed = held, places, exact(places["fed"])

    def grown(self, start: tree.Node) -> gold_path.Stream:
        """The whole; what is lost at a place that is no step's goes away at the start."""
        lost = dict(self.places["lost"])
        streams = [stream for output in start.outputs for stream in [self.stream(output, lost)] if stream.grams > 0]
        streams += [self.loss(place, exact(amount)) for place, amount in lost.items() if exact(amount) > 0]
        if len(streams) == 1:
            return streams[0]
        return gold_path.Stream(sum(stream.grams for stream in streams), outputs=streams)

    def stream(self, node: tree.Node, lost: Dict[str, str]) -> gold_path.Stream:
        if node.is_end:
            return self.end(node)
        mine = [place for place in lost if place in (node.place, f"{node.place} dust", f"{node.place} fume")]
        losses = [self.loss(place, exact(lost.pop(place))) for place in mine]
        outputs = [self.stream(output, lost) for output in node.outputs]
        outputs = [stream for stream in (*losses, *outputs) if stream.grams > 0]
        return gold_path.Stream(sum(stream.grams for stream in outputs), node.place, outputs=outputs)

    def loss(self, place: str, grams: Decimal) -> gold_path.Stream:
        return self.told(f"lost: {place}", [("lost", grams)])

    def end(self, node: tree.Node) -> gold_path.Stream:
        held = {what: exact(amount) for what, amount in self.held[node.pointer].items()}
        name = "the lot" if node.name == "lot" else node.name
        if node.kind == "sell":
            return self.told(f"{name} to {the(node.place)}", [("paid", held["payable"]), ("unpaid", held["unpaid"])])
        back = f"{name}, back to the plant"
        return self.told(back, [("returned", held["returned"])]) if node.kind == "return" else \
            self.told(f"{name}, kept", [("kept", held["kept"])])

    def told(self, what: str, fates: Fates) -> gold_path.Stream:
        shown = [(fate, grams) for fate, grams in fates if grams > 0]
        amounts = [f"{_SAID[fate] + ' ' if fate in ('paid', 'unpaid') else ''}{figures.grams(grams, self.fed)}, "
                   f"{figures.share(grams, self.fed)}" for fate, grams in shown]
        return gold_path.Stream(float(sum(grams for _, grams in shown)), what=what, words=[what, *amounts], fates=shown)
