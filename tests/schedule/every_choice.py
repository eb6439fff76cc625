"""A month by trying everything: every blend valued by bw_compare on a plan of its own, then every set of blends.

What the limits count is worked out here from the comparison's answer: hours and melts of its work, its products, its
cash by days, and the days on which products leave. It holds for routes that are chains, as the invented ones are: then
all work ends after the sum of its hours.
"""

from __future__ import annotations

import argparse
import itertools
from collections import Counter
from dataclasses import dataclass, field
from typing import Callable, Iterator, Optional

import invented
from library import Library, Refused

EDGE = 1e-9  # of a limit: sums in doubles


def figure(text: str) -> float:
    """The number before a unit; shares and hours come as they are written."""
    return float(str(text).split()[0])


GRAMS = {"g/t": 1e-6, "%": 1e-2, "fine": 1e-3, "ppm": 1e-6}


def content(product: dict, metal: str) -> float:
    """kg."""
    for table in ("assays", "fineness"):
        if metal in product.get(table, {}):
            number, unit = product[table][metal].split()
            return float(number) * GRAMS[unit] * figure(product["dry_mass"])
    return 0.0


@dataclass
class Blend:
    """Lots, or parts of them, joined on a route."""

    shares: tuple[tuple[str, int], ...]
    route: str
    ready: float
    result: dict
    value: float
    takes: list[float] = field(default_factory=list)


@dataclass
class Limit:
    """least ≤ the sum of what the blends take ≤ most; a buyer's counts only if anything is sent to him."""

    kind: str
    of: str
    least: float = -float("inf")
    most: float = float("inf")
    day: float = 0.0
    buyer: Optional[str] = None


def parts_of(lot: dict) -> int:
    return int(lot.get("divisible", 1))


def blend_plan(request: dict, shares: tuple[tuple[str, int], ...]) -> dict:
    parts = []
    for name, count in shares:
        lot = request["lots"][name]
        mass = figure(lot["wet_mass"]) * count / parts_of(lot)
        parts.append({"wet_mass": f"{mass:.12g} kg", "moisture": lot["moisture"], "assays": lot["assays"]})
    plan = {name: request[name] for name in invented.PLAN_FIELDS}
    return {"format": "buttonworth-plan/1", **plan, "lot": parts[0] if len(parts) == 1 else {"parts": parts}}


def ready_of(request: dict, shares: tuple[tuple[str, int], ...]) -> float:
    return max(figure(request["lots"][name].get("ready", "0 d")) for name, _ in shares)


def discounted(request: dict, value: float, days: float) -> float:
    return value * (1 + figure(request["discount"]) / 100) ** (-days / 365)


def possible_shares(request: dict, most_joined: int) -> Iterator[tuple[tuple[str, int], ...]]:
    lots = request["lots"]
    for size in range(1, most_joined + 1):
        for names in itertools.combinations(lots, size):
            if size > 1 and any(lots[name].get("alone") for name in names):
                continue
            yield from itertools.product(*([(name, k) for k in range(1, parts_of(lots[name]) + 1)] for name in names))


def every_blend(library: Library, request: dict, most_joined: int) -> list[Blend]:
    blends = []
    for shares in possible_shares(request, most_joined):
        plan, ready = blend_plan(request, shares), ready_of(request, shares)
        for route, result in results(library, plan).items():
            allowed = all(route in request["lots"][name].get("routes", [route]) for name, _ in shares)
            if allowed and not result.get("refused"):
                value = discounted(request, float(result["present_value"]), ready)
                blends.append(Blend(shares, route, ready, result, value))
    return blends


def results(library: Library, plan: dict) -> dict:
    """By route; impossible physics in one is no answer for that one."""
    try:
        return library.compare(plan)["routes"]
    except Refused:
        found = {}
        for route in plan["routes"]:
            try:
                found.update(library.compare(plan, routes=[route])["routes"])
            except Refused:
                pass
        return found


# ---- Limits ------------------------------------------------------------------------------------------


def hours_a_day(request: dict) -> float:
    return figure(request["day"])


def limits_of(request: dict) -> list[Limit]:
    limits = []
    period = figure(request["period"]) * hours_a_day(request) if "period" in request else float("inf")
    for step in request["steps"]:
        stated = request.get("capacity", {}).get(step, {})
        hours = min(period, figure(stated.get("hours", "inf h")))
        if hours < float("inf"):
            limits.append(Limit("hours", step, most=hours))
        if "melts" in stated:
            limits.append(Limit("melts", step, most=float(stated["melts"])))
    for buyer, stated in request.get("buyers", {}).items():
        for kind in ("shipments", "mass"):
            ends = stated.get(kind, {})
            if ends:
                limits.append(Limit(kind, buyer, least=figure(ends.get("min", "0")), most=figure(ends.get("max", "inf")), buyer=buyer))
    for one in request.get("cash", []):
        limits.append(Limit("cash", "", least=figure(one["amount"]), day=figure(one["by"])))
    for metal, most in request.get("on_hand", {}).items():
        limits += on_hand(request, metal, figure(most) / 1000)
    return limits


def lot_content(lot: dict, metal: str) -> float:
    number, unit = lot["assays"][metal].split()
    dry = figure(lot["wet_mass"]) * (1 - figure(lot["moisture"]) / 100)
    return dry * float(number) * GRAMS[unit]


def on_hand(request: dict, metal: str, most: float) -> list[Limit]:
    """As much must have left by each day on which lots come in as is too much then."""
    found = []
    for day in sorted({figure(lot.get("ready", "0 d")) for lot in request["lots"].values()}):
        come = sum(lot_content(lot, metal) for lot in request["lots"].values() if figure(lot.get("ready", "0 d")) <= day)
        if come > most * (1 + EDGE):
            found.append(Limit("gone", metal, least=come - most, day=day))
    return found


def leaving_days(request: dict, blend: Blend, later: float) -> list[tuple[float, dict]]:
    """Arrival is the day of a sale's lines less `final`; it left `transit` before."""
    found = []
    for product in blend.result["products"]:
        terms = request["terms"][product["at"]]
        lines = [line for line in blend.result["lines"] if line["at"] == product["at"]]
        after = figure(terms["final"]) + figure(terms["transit"])
        found.append((blend.ready + later + figure(lines[0]["day"]) - after, product))
    return found


def gone_by(request: dict, blend: Blend, metal: str, day: float, later: float) -> float:
    worked = sum(figure(work.get("hours", "0")) for work in blend.result["work"]) / hours_a_day(request)
    leaving = leaving_days(request, blend, later)
    last = max([blend.ready + later + worked, *(when for when, _ in leaving)])
    if last <= day + 1e-9:
        places = blend.result["metal"][metal]
        return (figure(places["fed"]) - figure(places["kept"])) / 1000
    return sum(content(product, metal) for when, product in leaving if when <= day + 1e-9)


def take(request: dict, limit: Limit, blend: Blend, later: float = 0.0) -> float:
    result = blend.result
    if limit.kind in ("hours", "melts"):
        return sum(figure(work.get(limit.kind, "0")) for work in result["work"] if work["at"] == limit.of)
    if limit.kind == "cash":
        days = [(blend.ready + later + figure(one["day"]), figure(one["amount"])) for one in result["cash_days"]]
        return sum(amount for day, amount in days if day <= limit.day + 1e-9)
    if limit.kind == "gone":
        return gone_by(request, blend, limit.of, limit.day, later)
    products = [product for product in result["products"] if product["at"] == limit.of]
    return float(len(products)) if limit.kind == "shipments" else sum(figure(product["wet_mass"]) for product in products)


# ---- Choosing ----------------------------------------------------------------------------------------


@dataclass
class Best:
    """The largest value of those sets of blends that miss least."""

    missed: float = float("inf")
    value: float = -float("inf")
    blends: tuple[Blend, ...] = ()


class Search:
    """Every set of blends that fits into the lots, but those beyond a limit that only grows."""

    def __init__(self, request: dict, blends: list[Blend]):
        self.lots = list(request["lots"])
        self.parts = [parts_of(lot) for lot in request["lots"].values()]
        self.must = [bool(lot.get("must")) for lot in request["lots"].values()]
        self.limits = limits_of(request)
        at = {name: i for i, name in enumerate(self.lots)}
        self.with_first: list[list[tuple[list[tuple[int, int]], Blend]]] = [[] for _ in self.lots]
        for blend in blends:
            blend.takes = [take(request, limit, blend) for limit in self.limits]
            shares = sorted((at[name], count) for name, count in blend.shares)
            for i, _ in shares:
                self.with_first[i].append((shares, blend))
        self.best = Best()
        self.looked = 0

    def run(self) -> Best:
        self.from_lot(0, list(self.parts), [0.0] * len(self.limits), 0.0, ())
        return self.best

    def from_lot(self, lot: int, left: list[int], sums: list[float], value: float, chosen: tuple[Blend, ...]) -> None:
        """What is left of the lots before this one stays."""
        if lot == len(self.lots):
            return self.judge(left, sums, value, chosen)
        self.from_lot(lot + 1, left, sums, value, chosen)
        for shares, blend in self.with_first[lot]:
            if shares[0][0] < lot or any(count > left[i] for i, count in shares):
                continue
            total = [a + b for a, b in zip(sums, blend.takes)]
            if any(x > limit.most * (1 + EDGE) for x, limit in zip(total, self.limits)):
                continue
            for i, count in shares:
                left[i] -= count
            self.from_lot(lot, left, total, value + blend.value, chosen + (blend,))
            for i, count in shares:
                left[i] += count

    def judge(self, left: list[int], sums: list[float], value: float, chosen: tuple[Blend, ...]) -> None:
        self.looked += 1
        missed = sum(left[i] / self.parts[i] for i in range(len(left)) if self.must[i])
        for x, limit in zip(sums, self.limits):
            short = limit.least - x
            if short <= EDGE * abs(limit.least) or (limit.buyer and x == 0):
                continue
            if limit.buyer:
                return
            missed += short / limit.least
        if missed < self.best.missed - 1e-7 or (missed < self.best.missed + 1e-7 and value > self.best.value):
            self.best = Best(missed, value, chosen)


# ---- Month after month -------------------------------------------------------------------------------


def chosen(request: dict, answer: dict, blends: list[Blend]) -> list[Blend]:
    """The oracle's own blends of the answer's shipments."""
    by_key = {(blend.shares, blend.route): blend for blend in blends}
    found = []
    for shipment in answer["shipments"]:
        shares = tuple((name, round(figure(share) / 100 * parts_of(request["lots"][name]))) for name, share in shipment["lots"].items())
        found.append(by_key[(shares, shipment["route"])])
    return found


def every_month(library: Library, usual: int, month: Callable, differences: Callable) -> tuple[Counter, int]:
    """As many as the command line asks for: what was seen, and how many have differences, each of which is told."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--months", type=int, default=usual)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", type=int, help="one month alone")
    options = parser.parse_args()
    seen: Counter = Counter()
    wrong = 0
    months = [options.only] if options.only is not None else range(options.seed, options.seed + options.months)
    for seed in months:
        request, blends = month(library, seed)
        told = differences(library, request, blends, seen)
        wrong += bool(told)
        for one in told:
            print(f"month {seed}: {one}")
    print(f"{len(months)} months, {wrong} with differences;", ", ".join(f"{name} {count:.8g}" for name, count in sorted(seen.items())))
    return seen, wrong
