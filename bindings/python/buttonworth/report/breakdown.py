"""Where the money of a route went: from what its metals would fetch at the plan's prices to what is left.

The answer's lines are summed by what they are. What metal that was lost, kept or not paid for would have fetched is
its share of its metal's value; it has no line of its own, so a cent that rounding leaves over is put there."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Dict, Iterable, List, Mapping, Tuple

from .figures import exact
from .words import analyte

CENT = Decimal("0.01")


@dataclass
class Part:
    """One step down or up, or a level that is reached."""

    what: str
    amount: Decimal  #: in cents
    kind: str  #: "level", "metal", "terms", "levy", "work", "waiting"


def parts(plan: Mapping[str, Any], answer: Mapping[str, Any], contained: Mapping[str, Decimal]) -> List[Part]:
    """All parts, levels included: contained value, what is left before waiting, what is left."""
    net, left = exact(answer["net"]), exact(answer["present_value"])
    metal = _metal(answer, contained)
    lines = [(what, amount, kind) for what, amount, kind in _lines(plan, answer) if kind != "value"]
    start = Part("metal contained, at the plan's prices", _cents(sum(contained.values(), Decimal(0))), "level")
    steps = [Part(what, _cents(amount), kind) for what, amount, kind in (*metal, *lines)]
    _leave_over(steps, _cents(net) - start.amount)
    return [start, *(step for step in steps if step.amount), *_ends(_cents(net), _cents(left))]


def _ends(net: Decimal, left: Decimal) -> List[Part]:
    if left == net:
        return [Part("left", net, "level")]
    return [Part("left, at the end", net, "level"), Part("what waiting costs", left - net, "waiting"),
            Part("left, counted as of today", left, "level")]


def _cents(amount: Decimal) -> Decimal:
    return amount.quantize(CENT, ROUND_HALF_UP)


def _leave_over(steps: List[Part], change: Decimal) -> None:
    """Puts what rounding leaves over to the largest of those that no answer states."""
    over = change - sum((step.amount for step in steps), Decimal(0))
    metal = [step for step in steps if step.kind == "metal"]
    if over and metal:
        max(metal, key=lambda step: abs(step.amount)).amount += over


# ---- Metal ---------------------------------------------------------------------------------------


def _metal(answer: Mapping[str, Any], contained: Mapping[str, Decimal]) -> List[Tuple[str, Decimal, str]]:
    """What the metal would have fetched that was lost, kept or not paid for; what was paid beside the price."""
    lost: Dict[str, Decimal] = {}
    kept = unpaid = returned = payable = Decimal(0)
    for symbol, value in contained.items():
        places = answer["metal"].get(symbol)
        fed = exact(places["fed"]) if places else Decimal(0)
        if not fed:
            continue
        worth = value / fed
        for place, amount in places["lost"].items():
            lost[place] = lost.get(place, Decimal(0)) - worth * exact(amount)
        kept -= worth * exact(places["kept"])
        unpaid -= worth * exact(places["unpaid"])
        returned += worth * exact(places["returned"])
        payable += worth * exact(places["payable"])
    credits, paid = _sum_of(answer, "credit"), _sum_of(answer, "value")
    rows = [(f"metal lost: {place}", amount) for place, amount in lost.items()]
    rows += [("metal kept", kept), ("metal sent back that the plant does not credit", credits - returned),
             ("metal that buyers do not pay for", unpaid), ("paid above or below the plan's prices", paid - payable)]
    rows.append(("credited before this lot", exact(answer["credit"]) - credits))
    return [(what, amount, "metal") for what, amount in rows]


def _sum_of(answer: Mapping[str, Any], kind: str) -> Decimal:
    """Values or credits: a line of a metal is named after it."""
    symbols = answer["metal"]
    return sum((exact(line["amount"]) for line in answer["lines"]
                if line["what"] in {f"{symbol} {kind}" for symbol in symbols}
                and (line["at"] == "return") == (kind == "credit")), Decimal(0))


# ---- Lines ---------------------------------------------------------------------------------------


def _lines(plan: Mapping[str, Any], answer: Mapping[str, Any]) -> Iterable[Tuple[str, Decimal, str]]:
    """The answer's lines but values and credits, those of one name summed: terms, then levies, then work."""
    sums: Dict[Tuple[str, str], Decimal] = {}
    for line in answer["lines"]:
        name, kind = _named(plan, answer, line)
        sums[name, kind] = sums.get((name, kind), Decimal(0)) + exact(line["amount"])
    for wanted in ("terms", "levy", "work"):
        yield from ((name, amount, kind) for (name, kind), amount in sums.items() if kind == wanted)


def _named(plan: Mapping[str, Any], answer: Mapping[str, Any], line: Mapping[str, Any]) -> Tuple[str, str]:
    what, at = line["what"], line["at"]
    if at == "return":
        return what, "value"
    if at in plan.get("steps", {}) and at not in plan.get("terms", {}):
        return f"work: {at}", "work"
    for symbol in answer["metal"]:
        if what == f"{symbol} value":
            return what, "value"
        if what in (f"{symbol} refining", f"{symbol} participation"):
            return what.replace(symbol, analyte(symbol), 1), "terms"
    levies = [levy["what"] for levy in plan.get("levies", [])]
    return what, "levy" if what in levies or what in [f"{levy} refund" for levy in levies] else "terms"
