"""Figures of the bench and how its quantities are read: sections 1 and 14 of the format, from its page alone.

An uncertain figure carries its first-order parts: for each independent input the slope times that input's
standard uncertainty. So the law of propagation (JCGM 100:2008, 5.1.2) is exact here, no slope is found
numerically, and a figure that meets the same input twice counts it once.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction
from typing import Any, Callable, Iterable, Optional, Union

import evaluator as ev

NOISE = 1e-9                # an sd below this share of the figure is noise of the sums, not an uncertainty
LENGTHS = {"um": Fraction(1, 10**4), "mm": Fraction(1, 10), "cm": Fraction(1), "m": Fraction(100)}   # in cm
EDGE = 1e-12


class BenchError(Exception):
    """The request cannot be worked out; the page calls it an error."""


class Unclear(Exception):
    """The page does not settle this request: nothing is compared."""


# ---------------------------------------------------------------- edges (section 1), in doubles

def equal(a: float, b: float) -> bool:
    return abs(a - b) <= EDGE * max(abs(a), abs(b))


def below(a: float, b: float) -> bool:
    return a < b and not equal(a, b)


def above(a: float, b: float) -> bool:
    return below(b, a)


def ceiling(n: float) -> int:
    near = round(n)
    return near if equal(n, near) else math.ceil(n)


# ---------------------------------------------------------------- uncertain figures

Number = Union[float, int, "Un"]
_names = itertools.count()


class Un:
    """A figure with its first-order parts by input."""

    __slots__ = ("value", "parts")

    def __init__(self, value: float, parts: Optional[dict[int, float]] = None):
        self.value, self.parts = float(value), parts or {}

    @staticmethod
    def source(value: float, sd: float) -> "Un":
        """A new input, independent of all others."""
        return Un(value, {next(_names): sd} if sd > 0 else None)

    def sd(self) -> float:
        return math.sqrt(math.fsum(p * p for p in self.parts.values()))

    def _with(self, value: float, slope: float, other: "Un", other_slope: float) -> "Un":
        parts = {k: slope * p for k, p in self.parts.items()}
        for k, p in other.parts.items():
            parts[k] = parts.get(k, 0.0) + other_slope * p
        return Un(value, parts)

    def __add__(self, other: Number) -> "Un":
        o = un(other)
        return self._with(self.value + o.value, 1.0, o, 1.0)

    def __sub__(self, other: Number) -> "Un":
        o = un(other)
        return self._with(self.value - o.value, 1.0, o, -1.0)

    def __mul__(self, other: Number) -> "Un":
        o = un(other)
        return self._with(self.value * o.value, o.value, o, self.value)

    def __truediv__(self, other: Number) -> "Un":
        o = un(other)
        return self._with(self.value / o.value, 1 / o.value, o, -self.value / o.value**2)

    __radd__ = __add__
    __rmul__ = __mul__

    def __rsub__(self, other: Number) -> "Un":
        return un(other) - self

    def __rtruediv__(self, other: Number) -> "Un":
        return un(other) / self


def un(x: Number) -> Un:
    return x if isinstance(x, Un) else Un(x)


def total(figures: Iterable[Number]) -> Un:
    return sum((un(f) for f in figures), Un(0.0))


# ---------------------------------------------------------------- what stands in an answer

class Shown:
    """A figure of an answer: value, standard uncertainty (0: a text alone), unit ("" for a bare number).

    `near` is the relative tolerance wanted beyond the printed digits, for figures that are searched for;
    `floor` the absolute one, for figures that are differences of larger ones.
    """

    def __init__(self, x: Number, unit: str = "", near: float = 0.0, floor: float = 0.0,
                 sd: Optional[float] = None):
        x = un(x)
        self.value, self.unit, self.near, self.floor = x.value, unit, near, floor
        given = x.sd() if sd is None else sd
        self.sd = given if given > NOISE * abs(x.value) and given > floor else 0.0

    def __repr__(self) -> str:
        return f"{self.value:.9g}{' ± %.5g' % self.sd if self.sd else ''} {self.unit}".strip()


class Plain(Shown):
    """A figure that the page gives as a text alone, whatever it rests on."""

    def __init__(self, x: Number, unit: str = "", near: float = 0.0, floor: float = 0.0):
        super().__init__(x, unit, near, floor, sd=0.0)


class MayBeNothing(Plain):
    """A figure that, where it is 0, the page leaves open to be told or left out."""


class Word:
    """A text or truth value that must stand as it is."""

    def __init__(self, text: Any):
        self.text = text

    def __repr__(self) -> str:
        return repr(self.text)


class Cautions:
    """The cautions of an answer: for each, words of which its text must hold one. None: not settled by the page."""

    def __init__(self, *about: tuple[str, ...]):
        self.about: list[tuple[str, ...]] = list(about)
        self.others = False           # whether the library may say more than these

    def add(self, *words: str) -> None:
        self.about.append(words)

    def __repr__(self) -> str:
        return repr(self.about)


def percent(x: Number, **how: float) -> Shown:
    return Shown(un(x) * 100, "%", **how)


def per_tonne(x: Number, **how: float) -> Shown:
    return Shown(un(x) * 1e6, "g/t", **how)


# ---------------------------------------------------------------- reading quantities

def told(q: Any) -> Any:
    return {k: v for k, v in q.items() if k != "note"} if isinstance(q, dict) else q


def spread(q: Any, read: Callable[[Any], Fraction]) -> float:
    """The standard uncertainty of a quantity (sections 1 and 14)."""
    q = told(q)
    if not isinstance(q, dict):
        return 0.0
    if "sd" in q:
        return float(read(q["sd"]))
    if "rsd" in q:
        return abs(float(read(q["value"]))) * float(ev.Units({}).one(q["rsd"], ev.SHARES))
    if "gsd" in q:
        s = math.log(float(ev.exact(q["gsd"])))
        return float(read(q["median"])) * math.exp(s * s / 2) * math.sqrt(math.expm1(s * s))
    if "mode" in q:
        a, b, c = (float(read(q[k])) for k in ("low", "mode", "high"))
        return math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18)
    if "low" in q:
        return float(read(q["high"]) - read(q["low"])) / math.sqrt(12)
    return math.sqrt(mean_variance([float(read(v)) for v in q["values"]]))


def mean_of(figures: list[float]) -> float:
    return math.fsum(figures) / len(figures)


def variance(figures: list[float]) -> float:
    """s², of two figures or more."""
    middle = mean_of(figures)
    return math.fsum((f - middle) ** 2 for f in figures) / (len(figures) - 1)


def mean_variance(figures: list[float]) -> float:
    """s²/n, 0 of one figure: one determination tells of none."""
    return variance(figures) / len(figures) if len(figures) > 1 else 0.0


class Reader:
    """Quantities of a request as uncertain figures, in kg, shares of one, litres, kg/L, cm, money."""

    def __init__(self, money: Optional[dict[str, Fraction]] = None):
        self.units = ev.Units(money or {})

    def take(self, q: Any, read: Callable[[Any], Fraction]) -> Un:
        try:
            return Un.source(float(ev.mean(q, read)), spread(q, read))
        except ev.PlanError as wrong:
            raise BenchError(str(wrong)) from wrong

    def mass(self, q: Any) -> Un:
        return self.take(q, self.units.mass)

    def grade(self, q: Any) -> Un:
        return self.take(q, self.units.grade)

    def share(self, q: Any) -> Un:
        return self.take(q, self.units.share)

    def litres(self, q: Any) -> Un:
        return self.take(q, self.units.litres)

    def density(self, q: Any) -> Un:
        return self.take(q, self.units.density)

    def dose(self, q: Any) -> Un:
        return self.take(q, self.units.dose)

    def days(self, q: Any) -> Un:
        return self.take(q, self.units.days)

    def number(self, q: Any) -> Un:
        return self.take(q, ev.exact)

    def length(self, q: Any) -> Un:
        return self.take(q, lambda s: self.units.one(s, LENGTHS))

    def per_mass(self, q: Any) -> Un:
        return self.take(q, self.units.per_mass)

    def cost(self, q: Any) -> Un:
        return self.take(q, self.units.money)


def named(table: dict) -> list[tuple[str, Any]]:
    return [(k, v) for k, v in table.items() if k != "note"]


def carried(request: dict, *names: str) -> dict:
    return {name: Word(request[name]) for name in names if name in request}
