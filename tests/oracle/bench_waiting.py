"""How long to wait: section 21 of the format, from its page alone, with the evaluator of plans.

The library's best wait is not asked to be this search's: a value in jumps has teeth. It must be worth as much, and
whatever wait the library names must be worth what it says. So the answer is built around the library's waits.
"""

from __future__ import annotations

import copy
import math
from fractions import Fraction
from typing import Any, Optional

import evaluator as ev
from bench_figures import BenchError, Cautions, Plain, Reader, Word, above, equal

TIMES = 120
NEAR = 2e-6             # a wait is printed to eight digits, and found to 1 part in 10^6
CENT = 0.0051
MONEY = 1e-7            # of the sums a present value is the difference of


class LotSize:
    def __init__(self, request: dict):
        self.plan = copy.deepcopy(request["plan"])
        if "parts" in self.plan["lot"] or "apart" in self.plan["lot"]:
            raise BenchError("a list of parts, or pieces apart")
        r = Reader(ev.read_currencies(self.plan))
        hours = r.units.hours(self.plan.get("day", "24 h"))
        self.per_day_mass = r.units.feed_rate(request["makes"]) * hours
        self.shortest = r.days(request.get("shortest", "1 d")).value
        self.longest = r.days(request["longest"]).value
        if not above(self.longest, self.shortest):
            raise BenchError("the longest wait is no longer than the shortest")
        self.fixed = r.cost(request["fixed"]).value if "fixed" in request else 0.0
        discount = float(r.units.per_year(self.plan.get("discount", "0 %/a")))
        self.decay = math.log1p(discount) / 365
        self.known: dict[float, tuple[Optional[str], Optional[float], float]] = {}

    def grid(self) -> list[float]:
        ratio = self.longest / self.shortest
        return [self.shortest * ratio ** (i / (TIMES - 1)) for i in range(TIMES)]

    def value(self, wait: float) -> tuple[Optional[str], Optional[float], float]:
        """Best route, its present value less `fixed`, and the size of the sums it is the difference of."""
        if wait not in self.known:
            self.plan["lot"]["wet_mass"] = f"{ev.to_decimal(self.per_day_mass * Fraction(wait)):f} kg"
            told = ev.compare(self.plan)
            if told["best"] is None:
                self.known[wait] = (None, None, 0.0)
            else:
                route = told["routes"][told["best"]]
                size = sum(abs(float(line["amount"])) for line in route["lines"]) + self.fixed
                self.known[wait] = (told["best"], float(route["present_value"]) - self.fixed, size)
        return self.known[wait]

    def rate(self, wait: float) -> float:
        """What one unit of V(T) gives a day."""
        return 1 / wait if self.decay == 0 else self.decay / math.expm1(self.decay * wait)

    def per_day(self, wait: float) -> float:
        value = self.value(wait)[1]
        return -math.inf if value is None else value * self.rate(wait)

    def best(self) -> float:
        """The wait of the largest income a day, by the grid and between the neighbours of the five best."""
        grid = self.grid()
        order = sorted(range(TIMES), key=lambda i: -self.per_day(grid[i]))
        found = grid[order[0]]
        for i in order[:5]:
            if self.value(grid[i])[0] is None:
                continue
            low, high = grid[max(i - 1, 0)], grid[min(i + 1, TIMES - 1)]
            tried = self.golden(low, high)
            found = max(found, tried, key=self.per_day)
        return found

    def golden(self, low: float, high: float) -> float:
        part = (math.sqrt(5) - 1) / 2
        while high - low > 1e-6 * high:
            a, b = high - part * (high - low), low + part * (high - low)
            low, high = (low, b) if self.per_day(a) >= self.per_day(b) else (a, high)
        return (low + high) / 2

    # -- told

    def step(self, wait: float) -> dict:
        route, value, size = self.value(wait)
        told: dict[str, Any] = {"wait": Plain(wait, "d", near=NEAR), "wet_mass": Plain(float(self.per_day_mass) * wait, "kg", near=NEAR)}
        if value is None:
            return {**told, "route": Word(None), "present_value": Word(None), "per_day": Word(None)}
        floor = MONEY * size
        return {**told, "route": Word(route), "present_value": Plain(value, near=NEAR, floor=floor + CENT),
                "per_day": Plain(value * self.rate(wait), near=NEAR, floor=floor * self.rate(wait) + CENT)}

    def closed_form(self) -> Optional[dict]:
        (_, far, size), (_, half, _) = self.value(self.longest), self.value(self.longest / 2)
        if far is None or half is None:
            return None
        slope = (far - half) / (self.longest / 2)
        fixed = slope * self.longest - far
        if fixed <= 1e-12 * size or slope <= 0 or self.decay <= 0:
            return None
        near = NEAR + 1e-6 * size / fixed
        return {"wait": Plain(math.sqrt(2 * fixed / (slope * self.decay)), "d", near=near),
                "fixed_per_lot": Plain(fixed, near=NEAR, floor=MONEY * size + CENT), "value_per_day": Plain(slope, near=NEAR, floor=MONEY * size / self.longest + CENT)}


def waiting(request: dict, library: Optional[dict] = None) -> dict:
    """The answer; around the wait that the library found where it is worth as much as ours."""
    lots = LotSize(request)
    best = lots.best()
    cautions = Cautions()
    cautions.others = True
    answer: dict[str, Any] = {"format": Word("buttonworth-waiting/1"), "currency": Word(lots.plan["currency"]), "cautions": cautions}
    grid = lots.grid()
    chosen = [grid[math.floor(119 * k / 11 + 0.5)] for k in range(12)]
    if lots.value(best)[0] is None:
        answer.update({name: Word(None) for name in ("wait", "wet_mass", "route", "per_day")})
    else:
        best = settled(lots, best, library)
        told = lots.step(best)
        del told["present_value"]
        answer.update(told)
        if not any(equal(best, t) for t in chosen):
            chosen = sorted([*chosen, best])
    answer["steps"] = [lots.step(t) for t in chosen]
    closed = lots.closed_form()
    if closed:
        answer["closed_form"] = closed
    return answer


def settled(lots: LotSize, best: float, library: Optional[dict]) -> float:
    """The library's wait, where it lies in the range and a day of it is worth no less than of ours."""
    if library is None or library.get("wait") is None:
        return best
    theirs = float(library["wait"].split()[0])
    theirs = min((t for t in lots.grid() if abs(t - theirs) <= 1e-7 * t), default=theirs)
    size = lots.value(best)[2] * lots.rate(best)
    if not lots.shortest * (1 - 1e-7) <= theirs <= lots.longest * (1 + 1e-7):
        return best
    # A best on the edge of a jump may have been printed on its far side.
    for near in (theirs, theirs * (1 - 1e-7), theirs * (1 + 1e-7)):
        if lots.per_day(near) >= lots.per_day(best) - 1e-6 * size:
            return near
    return best
