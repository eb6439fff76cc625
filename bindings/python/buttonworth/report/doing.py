"""What to do, in sentences: a walk of a route as the plan has it, beside what the answer says of each step and sale.
The answer lists both in the order in which the walk meets them, and says nothing of an output of 0 kg."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Dict, List, Mapping, Optional

from . import figures, tree
from .figures import NBSP, exact
from .words import capital, listed, the


def sentences(plan: Mapping[str, Any], route: str, answer: Mapping[str, Any], metal: str) -> List[str]:
    """One sentence for the lot and one for each kind of pieces apart."""
    walk = _Walk(answer, metal)
    told = (walk.sentence(start) for start in tree.read(plan, route).outputs)
    return [sentence for sentence in told if sentence]


class _Walk:
    def __init__(self, answer: Mapping[str, Any], metal: str) -> None:
        self.cuts, self.metal = answer.get("cut", {}), metal
        self.work, self.sold = list(answer["work"]), list(answer["products"])
        self.tabled: Dict[str, int] = {}
        self.aside: List[str] = []
        self.back: List[str] = []
        self.kept: List[str] = []

    def sentence(self, start: tree.Node) -> str:
        """The main way first, then what is done beside it."""
        self.aside, self.back, self.kept = [], [], []
        thing = "it" if start.name == "lot" else start.name
        clauses = [", ".join(self.follow(start, thing)), *self.aside]
        if self.back:
            clauses.append(f"send {self._these(self.back)} back to the plant")
        if self.kept:
            clauses.append(f"keep {self._these(self.kept)}")
        text = "; ".join(clause for clause in clauses if clause)
        return capital(text) + "." if text else ""

    @staticmethod
    def _these(names: List[str]) -> str:
        return "it" if names[0] == "it" else "the " + listed(names)

    def follow(self, node: tree.Node, thing: str, first: bool = True) -> List[str]:
        """What is done with a thing, link by link: "table it", "dry it", "send it to the smelter"."""
        if node.kind == "sell":
            return self.sale(node.place, thing, first)
        if node.kind in ("return", "keep"):
            (self.back if node.kind == "return" else self.kept).append(thing)
            return []
        return self.step(node, thing, first)

    def step(self, node: tree.Node, thing: str, first: bool) -> List[str]:
        work = self._meet(self.work, node.place)
        if work is None:
            return []
        chain, splits = [self.act(node, work, thing, first)], node.kind == "split"
        for number, output in enumerate(node.outputs):
            if number == 0 and not splits:
                chain += self.follow(output, thing if node.kind == "dry" else output.name, first=False)
            else:
                self.beside(output)
        return chain

    def beside(self, output: tree.Node) -> None:
        """An output beside the main way is told in a clause of its own."""
        clause = ", ".join(self.follow(output, output.name))
        if clause:
            self.aside.append(clause)

    def act(self, node: tree.Node, work: Mapping[str, Any], thing: str, first: bool) -> str:
        what = ("it" if thing == "it" else f"the {thing}") if first else "it"
        if node.kind == "split":
            return f"pass {what} over {the(node.place)}"
        if node.kind == "table":
            return f"table {what}, {self.cut(node.place, work)}"
        melts = int(exact(work["melts"])) if node.kind == "melt" else 0
        crucibles = f" in {melts} {'crucibles' if melts > 1 else 'crucible'}" if melts else ""
        return f"{node.kind} {what}{crucibles}"

    def cut(self, step: str, work: Mapping[str, Any]) -> str:
        """ "take 37.0 kg (5.39 % of 686 kg dry mass)"."""
        cut, before = self.cuts[step], self.tabled.get(step, 0)
        self.tabled[step] = before + 1
        pull, feed = exact(cut[before] if isinstance(cut, list) else cut), exact(work["feed"])
        return (f"take {figures.mass(feed * pull / 100)} ({figures.figures(pull)}{NBSP}% of "
                f"{figures.mass(feed)} dry mass)")

    def sale(self, buyer: str, thing: str, first: bool) -> List[str]:
        product = self._meet(self.sold, buyer)
        if product is None:
            return []
        amount = _sold_mass(exact(product["wet_mass"]), exact(product["dry_mass"]))
        fine = product.get("fineness", {}).get(self.metal)
        fineness = f" ({figures.figures(fine)}{NBSP}fine)" if fine is not None and exact(fine) > 0 else ""
        what = f"send {amount} of {thing}" if thing != "it" else f"send it, {amount}," if first else f"send {amount}"
        return [f"{what}{fineness} to {the(buyer)}"]

    @staticmethod
    def _meet(entries: List[Any], place: str) -> Optional[Mapping[str, Any]]:
        """The first entry of this place that was not met before."""
        for number, entry in enumerate(entries):
            if entry["at"] == place:
                met: Mapping[str, Any] = entries.pop(number)
                return met
        return None


def _sold_mass(wet: Decimal, dry: Decimal) -> str:
    """ "779 kg wet (686 kg dry)"; "808 g" where there is no water in it."""
    if wet - dry < Decimal("0.0005") * wet:
        return figures.mass(wet)
    return f"{figures.mass(wet)}{NBSP}wet ({figures.mass(dry)}{NBSP}dry)"
