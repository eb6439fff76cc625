"""A plain, slow evaluator of plan documents of format 1, for checking the library.

Written from the format page alone, one function per paragraph, in exact
fractions. Section numbers in the comments are those of the format page.
Nothing here is meant to be fast.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from decimal import Decimal, getcontext
from fractions import Fraction
from typing import Any, Callable, Optional

getcontext().prec = 60

ZERO = Fraction(0)
ONE = Fraction(1)
EDGE = Fraction(1, 10**12)


class PlanError(Exception):
    """The plan cannot be compared at all."""


# ---------------------------------------------------------------- numbers

def exact(text: str) -> Fraction:
    """An exact decimal number (section 1)."""
    body = text[1:] if text[:1] in "+-" else text
    whole, dot, part = body.partition(".")
    if not whole.isdecimal() or (dot and not part.isdecimal()):
        raise PlanError(f"not a decimal number: {text!r}")
    return Fraction(text)


def to_decimal(x: Fraction) -> Decimal:
    return Decimal(x.numerator) / Decimal(x.denominator)


def trim(x: Fraction) -> Fraction:
    """Round to 60 digits, but only fractions that have grown very long."""
    if x.denominator.bit_length() < 600:
        return x
    return Fraction(to_decimal(x))


def root(x: Fraction) -> Fraction:
    return Fraction(to_decimal(x).sqrt())


# Section 1, Edges: equal to 1 part in 10^12 counts as equal.

def equal(a: Fraction, b: Fraction) -> bool:
    return abs(a - b) <= EDGE * max(abs(a), abs(b))


def above(a: Fraction, b: Fraction) -> bool:
    return a > b and not equal(a, b)


def at_least(a: Fraction, b: Fraction) -> bool:
    return a >= b or equal(a, b)


def round_up(n: Fraction) -> int:
    """Smallest whole number not below n, edges counted as equal."""
    near = round(n)
    return near if equal(n, Fraction(near)) else math.ceil(n)


def round_to(x: Fraction, step: Fraction, mode: str) -> Fraction:
    """Section 4, rounding; works on the size of the amount, the sign put back."""
    n = abs(x) / step
    k = math.floor(n)
    if equal(n, Fraction(k + 1)):
        k, rest_is = k + 1, "none"
    elif equal(n, k + Fraction(1, 2)):
        rest_is = "tie"
    else:
        rest_is = "more" if n - k > Fraction(1, 2) else "less"
    if mode == "half even":
        up = rest_is == "more" or (rest_is == "tie" and k % 2 == 1)
    elif mode == "half up":
        up = rest_is in ("more", "tie")
    elif mode == "down":
        up = False
    else:
        raise PlanError(f"unknown rounding mode {mode!r}")
    size = (k + 1 if up else k) * step
    return size if x >= 0 else -size


# ---------------------------------------------------------------- section 1, units

GRAM = Fraction(1, 1000)                       # masses are held in kg
OUNCE = Fraction("31.1034768") * GRAM
POUND = Fraction("453.59237") * GRAM

SHARES = {"%": Fraction(1, 100), "fine": Fraction(1, 1000)}
HOURS = {"min": Fraction(1, 60), "h": ONE, "d": Fraction(24)}
CURRENCY_LENGTH = 3


def mass_units(factors: dict[str, str]) -> dict[str, Fraction]:
    """Mass units in kg, by the exact values or by a contract's own factors."""
    ounce, pound = OUNCE, POUND
    if "g per ozt" in factors:
        ounce = exact(factors["g per ozt"]) * GRAM
    if "lb per t" in factors:
        pound = 1000 / exact(factors["lb per t"])
    short = 2000 * pound
    if "st per t" in factors:
        short = 1000 / exact(factors["st per t"])
    return {"g": GRAM, "kg": ONE, "t": Fraction(1000), "lb": pound, "st": short,
            "lt": 2240 * pound, "ozt": ounce, "dwt": ounce / 20, "gr": ounce / 480}


def grade_units(mass: dict[str, Fraction]) -> dict[str, Fraction]:
    table = {"%": Fraction(1, 100), "g/t": Fraction(1, 10**6), "mg/kg": Fraction(1, 10**6),
             "ppm": Fraction(1, 10**6), "kg/t": Fraction(1, 1000), "ppb": Fraction(1, 10**9),
             "fine": Fraction(1, 1000), "kt": Fraction(1, 24)}
    for name in ("ozt/st", "ozt/lt", "ozt/t", "dwt/st"):
        top, bottom = name.split("/")
        table[name] = mass[top] / mass[bottom]
    return table


def split_quantity(text: Any) -> tuple[Fraction, str]:
    if not isinstance(text, str):
        raise PlanError(f"a quantity is a string with a unit, found {text!r}")
    number, _, unit = text.strip().partition(" ")
    return exact(number), unit.strip()


class Units:
    """How quantities are read in one place of the plan: its factors and its money."""

    def __init__(self, money: dict[str, Fraction], factors: Optional[dict[str, str]] = None):
        self.money_table = money
        self.factors = dict(factors or {})
        self.masses = mass_units(self.factors)
        self.grades = grade_units(self.masses)

    def inside(self, factors: Optional[dict[str, str]]) -> "Units":
        """Own factors first, then those of what it stands in."""
        return Units(self.money_table, {**self.factors, **(factors or {})})

    def one(self, text: Any, table: dict[str, Fraction]) -> Fraction:
        number, unit = split_quantity(text)
        if unit not in table:
            raise PlanError(f"unit of {text!r} is not one of {sorted(table)}")
        return number * table[unit]

    def mass(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, self.masses))

    def grade(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, self.grades))

    def share(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, SHARES))

    def hours(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, HOURS))

    def days(self, q: Any) -> Fraction:
        return self.hours(q) / 24

    def money(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, self.money_table))

    def per_year(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, {"%/a": Fraction(1, 100)}))

    def feed_rate(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, {"kg/h": ONE, "t/h": Fraction(1000)}))

    def dose(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, {"kg/kg": ONE}))

    def litres(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, {"L": ONE, "m3": Fraction(1000)}))

    def density(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, {"kg/L": ONE, "t/m3": ONE}))

    def celsius(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, {"degC": ONE}))

    def megajoule_per_litre(self, q: Any) -> Fraction:
        return mean(q, lambda s: self.one(s, {"MJ/L": ONE, "kWh/L": Fraction(18, 5)}))

    def one_rate(self, text: Any) -> tuple[Fraction, str]:
        """A rate and what it is per: "mass", "lot", "melt", "h", "kWh", "L" or "%"."""
        number, unit = split_quantity(text)
        if unit in SHARES:
            return number * SHARES[unit], "%"
        money, slash, per = unit.partition("/")
        if not slash or money not in self.money_table:
            raise PlanError(f"{text!r} is not a rate")
        number *= self.money_table[money]
        if per in self.masses:
            return number / self.masses[per], "mass"
        if per in ("lot", "melt", "h", "kWh", "L"):
            return number, per
        raise PlanError(f"{text!r} is not a rate")

    def rate(self, q: Any) -> tuple[Fraction, str]:
        per = {self.one_rate(s)[1] for s in written(q)}
        if len(per) != 1:
            raise PlanError(f"{q!r} mixes rates of several kinds")
        return mean(q, lambda s: self.one_rate(s)[0]), per.pop()

    def per_mass(self, q: Any) -> Fraction:
        amount, per = self.rate(q)
        if per != "mass":
            raise PlanError(f"{q!r} is not money per mass")
        return amount


def number_only(q: Any) -> Fraction:
    """A figure without a unit: odds, and the factor of a gsd."""
    return mean(q, lambda s: exact(s) if isinstance(s, str) else exact(""))


# ---------------------------------------------------------------- section 1, uncertain quantities

def written(q: Any) -> list[Any]:
    """The quantity strings of q that carry its unit."""
    if not isinstance(q, dict):
        return [q]
    if "values" in q:
        return list(q["values"])
    return [q[k] for k in ("value", "median", "low", "mode", "high") if k in q]


def mean(q: Any, read: Callable[[Any], Fraction]) -> Fraction:
    """The quantity, or the mean of its distribution."""
    if not isinstance(q, dict):
        return read(q)
    q = {k: v for k, v in q.items() if k != "note"}
    names = set(q)
    if names in ({"value", "sd"}, {"value", "rsd"}):
        return read(q["value"])
    if names == {"median", "gsd"}:
        spread = to_decimal(exact(q["gsd"])).ln()
        return read(q["median"]) * Fraction((spread * spread / 2).exp())
    if names == {"low", "mode", "high"}:
        return (read(q["low"]) + read(q["mode"]) + read(q["high"])) / 3
    if names == {"low", "high"}:
        return (read(q["low"]) + read(q["high"])) / 2
    if names == {"values"} and q["values"]:
        figures = [read(v) for v in q["values"]]
        return sum(figures, ZERO) / len(figures)
    raise PlanError(f"not a quantity: {q!r}")


# ---------------------------------------------------------------- section 2, the lot

@dataclass
class Material:
    """Something in hand on a day. Masses in kg."""
    kind: str                       # "concentrate", "split", "piece", "bar" or "slag"
    dry: Fraction
    water: Fraction
    content: dict[str, Fraction]
    day: Fraction

    def wet(self) -> Fraction:
        return self.dry + self.water

    def moisture(self) -> Fraction:
        return self.water / self.wet() if self.wet() else ZERO


def read_lot(lot: dict, units: Units) -> Material:
    """A lot, or its parts blended by mass; each part's own factors first."""
    units = units.inside(lot.get("factors"))
    if "parts" in lot:
        whole = Material("concentrate", ZERO, ZERO, {}, ZERO)
        for part in lot["parts"]:
            one = read_lot(part, units)
            whole.dry += one.dry
            whole.water += one.water
            for analyte, mass in one.content.items():
                whole.content[analyte] = whole.content.get(analyte, ZERO) + mass
        return whole
    wet = units.mass(lot["wet_mass"])
    water = wet * units.share(lot.get("moisture", "0 %"))
    dry = wet - water
    content = read_content(lot.get("assays", {}), dry, units)
    return Material("concentrate", dry, water, content, ZERO)


def read_content(assays: dict, dry: Fraction, units: Units) -> dict[str, Fraction]:
    content = {a: dry * units.grade(q) for a, q in assays.items() if a != "note"}
    if above(sum(content.values(), ZERO), dry):
        raise PlanError("the assays come to more than 100 %")
    return content


def read_pieces(lot: dict, units: Units) -> dict[str, Material]:
    """Pieces taken out before the lot was sampled (`apart`)."""
    units = units.inside(lot.get("factors"))
    pieces = {}
    for name, piece in lot.get("apart", {}).items():
        if name == "note":
            continue
        if name in ("lot", "step", "sell", "return", "keep"):
            raise PlanError(f"pieces may not be named {name}")
        mass = units.mass(piece["mass"])
        pieces[name] = Material("piece", mass, ZERO,
                                read_content(piece["assays"], mass, units), ZERO)
    return pieces


# ---------------------------------------------------------------- section 3, table curves

class Odds:
    """R / (1 - R) = S y / (1 - y)."""

    def __init__(self, s: Fraction):
        if s <= 0:
            raise PlanError("the odds must be above 0")
        self.s = s

    def at(self, y: Fraction) -> Fraction:
        return self.s * y / (1 - y + self.s * y)

    def pull_for_recovery(self, r: Fraction) -> Fraction:
        return r / (self.s * (1 - r) + r)

    def largest_pull_with(self, slope: Fraction) -> Optional[Fraction]:
        """Largest y with R(y) >= slope y, that is S / (1 - y + S y) >= slope."""
        if at_least(ONE, slope):
            return ONE
        if self.s <= 1:
            return None
        if equal(self.s, slope):
            return None                            # reached with nothing pulled only, which is never
        y = (self.s / slope - 1) / (self.s - 1)
        return y if y > 0 else None


FURTHEST = Fraction(70)         # logits of pulls are looked at up to this: 1e-30 of the mass


def power_of_e(x: Fraction) -> Fraction:
    """e to the power of x, to 60 digits; beyond 700 nothing, or all, is meant."""
    return Fraction(to_decimal(max(Fraction(-700), min(Fraction(700), x))).exp())


def log(x: Fraction) -> Fraction:
    return Fraction(to_decimal(x).ln())


def share_of(z: Fraction) -> Fraction:
    return trim(1 / (1 + power_of_e(-z)))


def logit_of(x: Fraction) -> Fraction:
    return log(x / (1 - x))


class Logit:
    """ln(R / (1 - R)) = a + b ln(y / (1 - y))."""

    def __init__(self, a: Fraction, b: Fraction):
        if b <= 0:
            raise PlanError("the second constant of a logit curve must be above 0")
        self.a, self.b = a, b

    def at(self, y: Fraction) -> Fraction:
        if y <= 0 or y >= 1:
            return y
        return share_of(self.a + self.b * logit_of(y))

    def pull_for_recovery(self, r: Fraction) -> Fraction:
        return ONE if at_least(r, ONE) else share_of((logit_of(r) - self.a) / self.b)

    def steepest(self, w: Fraction) -> Fraction:
        """Above 0 where R / y rises with the logit w of the pull: b (1 - R) - (1 - y)."""
        return self.b / (1 + power_of_e(self.a + self.b * w)) - 1 / (1 + power_of_e(w))

    def largest_pull_with(self, slope: Fraction) -> Optional[Fraction]:
        """R / y falls from its peak, or all the way where b is below 1, to 1 at the end."""
        if at_least(ONE, slope):
            return ONE

        def short(w: Fraction) -> bool:
            return share_of(self.a + self.b * w) < slope * share_of(w)

        left = -FURTHEST
        if self.b > 1:
            left = bisect(lambda w: self.steepest(w) <= 0, -FURTHEST, FURTHEST)
        if not at_least(share_of(self.a + self.b * left), slope * share_of(left)):
            return None
        return share_of(bisect(short, left, FURTHEST))


class Saturating:
    """R = L (1 - e^(-k y))."""

    def __init__(self, limit: Fraction, rate: Fraction):
        if limit <= 0 or above(limit, ONE) or rate <= 0:
            raise PlanError("a limit recovery is above 0 to 100 %, its rate above 0")
        self.limit, self.rate = limit, rate

    def at(self, y: Fraction) -> Fraction:
        return trim(self.limit * (1 - power_of_e(-self.rate * y)))

    def pull_for_recovery(self, r: Fraction) -> Fraction:
        most = self.at(ONE)
        if at_least(r, most):
            if above(r, most):
                raise PlanError("that recovery is never reached")
            return ONE
        return trim(-log(1 - r / self.limit) / self.rate)

    def largest_pull_with(self, slope: Fraction) -> Optional[Fraction]:
        """R / y falls from L k at no pull."""
        if at_least(self.at(ONE), slope):
            return ONE
        if at_least(slope, self.limit * self.rate):
            return None
        return bisect(lambda y: self.at(y) < slope * y, Fraction(1, 10**30), ONE)


class Points:
    """Monotone piecewise cubic Hermite through (0,0), the points and (1,1)."""

    def __init__(self, points: list[tuple[Fraction, Fraction]]):
        knots = [(ZERO, ZERO)] + points
        if not equal(knots[-1][0], ONE):
            knots.append((ONE, ONE))
        for (x0, r0), (x1, r1) in zip(knots, knots[1:]):
            if x1 <= x0:
                raise PlanError("the pulls of a curve must rise")
            if r1 < r0:
                raise PlanError("the recoveries of a curve must not fall")
        if not equal(knots[-1][1], ONE):
            raise PlanError("the recovery at pull 100 % must be 100 %")
        self.x = [k[0] for k in knots]
        self.r = [k[1] for k in knots]
        self.d = hermite_slopes(self.x, self.r)

    def cubic(self, i: int) -> tuple[Fraction, Fraction, Fraction, Fraction]:
        """R on segment i as r + d s + b s^2 + c s^3, s = y - x[i]."""
        h = self.x[i + 1] - self.x[i]
        slope = (self.r[i + 1] - self.r[i]) / h
        b = (3 * slope - 2 * self.d[i] - self.d[i + 1]) / h
        c = (self.d[i] + self.d[i + 1] - 2 * slope) / (h * h)
        return self.r[i], self.d[i], b, c

    def at(self, y: Fraction) -> Fraction:
        i = 0
        while i < len(self.x) - 2 and y > self.x[i + 1]:
            i += 1
        r, d, b, c = self.cubic(i)
        s = y - self.x[i]
        return trim(r + s * (d + s * (b + s * c)))

    def pull_for_recovery(self, r: Fraction) -> Fraction:
        """Smallest y with R(y) >= r; R never falls."""
        for i in range(len(self.x) - 1):
            if self.r[i + 1] >= r:
                return bisect(lambda y: self.at(y) >= r, self.x[i], self.x[i + 1])
        return ONE

    def largest_pull_with(self, slope: Fraction) -> Optional[Fraction]:
        """Largest y with R(y) >= slope y, looked for from the right."""
        if at_least(ONE, slope):
            return ONE

        def short(y: Fraction) -> bool:
            return self.at(y) < slope * y

        for i in reversed(range(len(self.x) - 1)):
            ends = [self.x[i]] + self.turns(i, slope) + [self.x[i + 1]]
            for left, right in reversed(list(zip(ends, ends[1:]))):
                if not short(right):
                    return right
                if left > 0 and not short(left):
                    return bisect(short, left, right)
                if left == 0 and self.d[0] > slope:
                    return bisect(short, right * Fraction(1, 10**20), right)
        return None

    def turns(self, i: int, slope: Fraction) -> list[Fraction]:
        """Where R(y) - slope y turns inside segment i."""
        _, d, b, c = self.cubic(i)
        found = []
        if c == 0:
            if b != 0:
                found = [-(d - slope) / (2 * b)]
        else:
            inside = b * b - 3 * c * (d - slope)
            if inside > 0:
                found = [(-b - root(inside)) / (3 * c), (-b + root(inside)) / (3 * c)]
        h = self.x[i + 1] - self.x[i]
        return sorted(self.x[i] + s for s in found if 0 < s < h)


def bisect(holds: Callable[[Fraction], bool], left: Fraction, right: Fraction) -> Fraction:
    """Where `holds` turns true between left (false) and right (true)."""
    if holds(left):
        return left
    for _ in range(150):
        middle = trim((left + right) / 2)
        if holds(middle):
            right = middle
        else:
            left = middle
    return right


def hermite_slopes(x: list[Fraction], r: list[Fraction]) -> list[Fraction]:
    """Fritsch and Butland inside, three-point slopes at the ends."""
    n = len(x)
    h = [x[i + 1] - x[i] for i in range(n - 1)]
    m = [(r[i + 1] - r[i]) / h[i] for i in range(n - 1)]
    if n == 2:
        return [m[0], m[0]]
    inner = []
    for i in range(1, n - 1):
        if m[i - 1] == 0 or m[i] == 0 or (m[i - 1] > 0) != (m[i] > 0):
            inner.append(ZERO)
            continue
        w1, w2 = 2 * h[i] + h[i - 1], h[i] + 2 * h[i - 1]
        inner.append((w1 + w2) / (w1 / m[i - 1] + w2 / m[i]))
    first = end_slope(h[0], h[1], m[0], m[1])
    last = end_slope(h[-1], h[-2], m[-1], m[-2])
    return [first] + inner + [last]


def sign(x: Fraction) -> int:
    return (x > 0) - (x < 0)


def end_slope(h0: Fraction, h1: Fraction, m0: Fraction, m1: Fraction) -> Fraction:
    d = ((2 * h0 + h1) * m0 - h0 * m1) / (h0 + h1)
    if sign(d) != sign(m0):
        return ZERO
    if sign(m0) != sign(m1) and abs(d) > 3 * abs(m0):
        return 3 * m0
    return d


# ---------------------------------------------------------------- one route at a time

STAYS = {"borax": ONE, "borax decahydrate": Fraction("0.527621"),
         "soda ash": Fraction("0.584774"), "silica": ONE,
         "potassium nitrate": Fraction("0.465841"), "sodium nitrate": Fraction("0.364608"),
         "fluorspar": ONE}

WATER_HEAT = Fraction("4.19")            # kJ/(kg K)
SOLID_HEAT = Fraction("0.75")
VAPOUR_HEAT = Fraction("2256.4")         # kJ/kg
TABLE_OUTPUTS = ("concentrate", "middlings", "tailings")


@dataclass
class Flow:
    """One movement of money or of credit."""
    day: Fraction
    amount: Fraction
    credit: bool = False


@dataclass
class Ledger:
    """Everything one route gathers on its way."""
    pulls: dict[str, list[Fraction]]
    lines: list[dict] = field(default_factory=list)
    flows: list[Flow] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    conditional: list[str] = field(default_factory=list)
    untested: list[str] = field(default_factory=list)
    products: list[dict] = field(default_factory=list)
    work: list[dict] = field(default_factory=list)
    cut: dict[str, list[Fraction]] = field(default_factory=dict)
    metal: dict[str, dict] = field(default_factory=dict)
    sales: list["Sale"] = field(default_factory=list)      # for those who make edge cases

    def line(self, at: str, what: str, amount: Fraction, day: Fraction) -> None:
        self.lines.append({"at": at, "what": what, "amount": trim(amount), "day": day})

    def pay(self, amount: Fraction, day: Fraction, credit: bool = False) -> None:
        self.flows.append(Flow(day, trim(amount), credit))

    def cost(self, at: str, what: str, amount: Fraction, day: Fraction) -> None:
        self.line(at, what, -amount, day)
        self.pay(-amount, day)

    def account(self, analyte: str) -> dict:
        return self.metal.setdefault(analyte, {"fed": ZERO, "payable": ZERO, "unpaid": ZERO,
                                               "returned": ZERO, "kept": ZERO, "lost": {}})

    def lose(self, place: str, content: dict[str, Fraction]) -> None:
        for analyte, mass in content.items():
            lost = self.account(analyte)["lost"]
            lost[place] = lost.get(place, ZERO) + mass


class Comparison:
    """The plan, read once, and how each thing in it works."""

    def __init__(self, plan: dict, pulls: Optional[dict[str, dict[str, list[Fraction]]]] = None):
        self.plan = plan
        self.pulls = pulls or {}
        self.units = Units(read_currencies(plan))
        self.discount = self.units.per_year(plan["discount"])
        self.working_day = self.units.hours(plan.get("day", "24 h"))
        self.prices = {a: self.units.per_mass(q) for a, q in named(plan.get("prices", {}))}
        self.lot = read_lot(plan["lot"], self.units)
        self.pieces = read_pieces(plan["lot"], self.units)
        self.assayed = assayed(plan["lot"])
        for what in list(self.pieces.values()):
            self.assayed |= set(what.content)
        self.credited = self.units.money(plan["lot"]["credited"]) if "credited" in plan["lot"] else ZERO
        self.steps = dict(named(plan.get("steps", {})))
        self.terms = dict(named(plan.get("terms", {})))
        check_tables(self)
        for name, step in self.steps.items():
            check_step(name, step, self.units)
        for name, terms in self.terms.items():
            check_terms(name, terms, self.units.inside(terms.get("factors")), self.prices)


def named(table: dict) -> list[tuple[str, Any]]:
    """The entries of an object, its note left aside."""
    return [(k, v) for k, v in table.items() if k != "note"]


def read_currencies(plan: dict) -> dict[str, Fraction]:
    """Value of one unit of each currency in the plan's own (section 2)."""
    own = plan["currency"]
    table = {own: ONE}
    if own == "USD":
        table["USc"] = Fraction(1, 100)
    base = Units(dict(table))
    for code, q in named(plan.get("exchange", {})):
        table[code] = base.money(q)
    if "USD" in table:
        table["USc"] = table["USD"] / 100
    return table


def assayed(lot: dict) -> set[str]:
    if "parts" in lot:
        return set().union(*(assayed(p) for p in lot["parts"]))
    return {a for a in lot.get("assays", {}) if a != "note"}


# ---------------------------------------------------------------- checks of the whole plan

def check_tables(c: Comparison) -> None:
    """Section 3: what matters to a buyer or a melt needs an entry in every table."""
    wanted: set[str] = set()
    for _, terms in c.terms.items():
        wanted |= {a for a, _ in named(terms.get("pay", {}))}
        wanted |= {a for a, _ in named(terms.get("accepts", {})) if a not in ("mass", "moisture")}
        for penalty in terms.get("penalties", []):
            wanted |= set(penalty_names(penalty))
    for _, step in c.steps.items():
        if step["kind"] == "melt":
            for part in ("to_bar", "to_fume", "slag_grade"):
                wanted |= {a for a, _ in named(step.get(part, {}))}
    for name, step in c.steps.items():
        if step["kind"] == "table":
            for analyte in sorted(wanted & c.assayed):
                if analyte not in step["curve"]:
                    raise PlanError(f"table {name} has no curve for {analyte}")


def check_step(name: str, step: dict, units: Units) -> None:
    kind = step["kind"]
    if kind not in ("table", "split", "dry", "melt"):
        raise PlanError(f"step {name}: unknown kind {kind}")
    if "rate" in step and "per_melt" in step:
        raise PlanError(f"step {name}: rate and per_melt together")
    for cost in step.get("cost", []):
        _, per = units.rate(cost["rate"])
        has = {"mass": True, "lot": True, "h": "rate" in step or "per_melt" in step,
               "melt": kind == "melt", "kWh": kind == "dry", "L": "fuel" in step}
        if not has.get(per, False):
            raise PlanError(f"step {name}: nothing to multiply for {cost['rate']}")
    if kind == "table":
        check_curves(name, step)
    if kind == "melt":
        check_melt(name, step, units)


def check_curves(name: str, step: dict) -> None:
    curve = dict(named(step["curve"]))
    own = {a for a, q in curve.items() if isinstance(q, list) or "as" not in q}
    for analyte, entry in curve.items():
        if isinstance(entry, dict) and "as" in entry:
            if entry["as"] != "gangue" and entry["as"] not in own:
                raise PlanError(f"table {name}: {analyte} goes as {entry['as']}, without a curve")
    for analyte, _ in named(step.get("limit", {})):
        if analyte not in own:
            raise PlanError(f"table {name}: limit on {analyte}, without a curve of its own")


def check_melt(name: str, step: dict, units: Units) -> None:
    to_bar = {a: units.share(q) for a, q in named(step.get("to_bar", {}))}
    to_fume = {a: units.share(q) for a, q in named(step.get("to_fume", {}))}
    if "Hg" in to_fume:
        raise PlanError(f"melt {name}: mercury is not driven off in a furnace")
    for analyte in to_bar:
        if above(to_bar[analyte] + to_fume.get(analyte, ZERO), ONE):
            raise PlanError(f"melt {name}: more than 100 % of {analyte} leaves")
        if analyte in step.get("slag_grade", {}):
            raise PlanError(f"melt {name}: to_bar and slag_grade for {analyte}")
    for analyte, share in to_fume.items():
        if above(share, ONE):
            raise PlanError(f"melt {name}: more than 100 % of {analyte} leaves")
    if above(units.share(step.get("dry_below", "0.5 %")), Fraction(5, 1000)):
        raise PlanError(f"melt {name}: dry_below is never above 0.5 %")
    for flux in step.get("flux", []):
        if flux["reagent"] not in STAYS and "stays" not in flux:
            raise PlanError(f"melt {name}: reagent {flux['reagent']} needs `stays`")


def check_terms(name: str, terms: dict, units: Units, prices: dict[str, Fraction]) -> None:
    for metal, pay in named(terms.get("pay", {})):
        if "price" not in pay and metal not in prices:
            raise PlanError(f"terms {name}: no price for {metal}")
        if "bands" in pay:
            rising([units.grade(b[0]) for b in pay["bands"]], name)
    for penalty in terms.get("penalties", []):
        forms = [f for f in ("above", "marginal", "whole") if f in penalty]
        if len(forms) != 1:
            raise PlanError(f"terms {name}: a penalty has one form")
        if "whole" in penalty:
            rising([units.grade(b["up_to"]) for b in penalty["whole"]], name)
        if "marginal" in penalty:
            rising([units.grade(b["above"]) for b in penalty["marginal"]], name)
    if "advance" in terms:
        after = units.days(terms["advance"].get("after", "0 d"))
        if above(after, units.days(terms.get("final", "0 d"))):
            raise PlanError(f"terms {name}: the advance comes after the final payment")


def rising(starts: list[Fraction], name: str) -> None:
    if any(b <= a for a, b in zip(starts, starts[1:])):
        raise PlanError(f"terms {name}: starts must rise")


# ---------------------------------------------------------------- section 2, nodes

def walk(c: Comparison, book: Ledger, node: dict, feed: Material) -> None:
    """Work, sell, return or keep one material."""
    ends = [k for k in ("step", "sell", "return", "keep") if k in node]
    if len(ends) != 1:
        raise PlanError("a node is one step or one end")
    if ends[0] == "sell":
        sell(c, book, node["sell"], feed)
    elif ends[0] == "return":
        give_back(c, book, node, feed)
    elif ends[0] == "keep":
        for analyte, mass in feed.content.items():
            book.account(analyte)["kept"] += mass
    else:
        work(c, book, node, feed)


def give_back(c: Comparison, book: Ledger, node: dict, feed: Material) -> None:
    """`return`: that share of the contained metal at market price."""
    day = feed.day + c.units.days(node.get("after", "0 d"))
    for metal, q in named(node["return"]):
        if metal not in c.prices:
            raise PlanError(f"return of {metal}: it has no price")
        credit = feed.content.get(metal, ZERO) * c.units.share(q) * c.prices[metal]
        book.line("return", f"credit {metal}", credit, day)
        book.pay(credit, day, credit=True)
    for analyte, mass in feed.content.items():
        book.account(analyte)["returned"] += mass


def work(c: Comparison, book: Ledger, node: dict, feed: Material) -> None:
    name = node["step"]
    if name not in c.steps:
        raise PlanError(f"no step named {name}")
    step = c.steps[name]
    does = {"table": table, "split": split, "dry": dry, "melt": melt}[step["kind"]]
    made = does(c, book, name, step, feed)
    if made is None:
        return                                    # refused: nothing after it is looked at
    for key in node:
        if key not in ("step", "note") and key not in made:
            raise PlanError(f"step {name} makes no {key}")
    for output, material in made.items():
        if material.dry <= EDGE * feed.dry:
            continue                              # an output of 0 kg
        if output not in node:
            raise PlanError(f"step {name}: the {output} goes nowhere")
        walk(c, book, node[output], material)


def hours_worked(c: Comparison, step: dict, feed: Material, melts: int = 1) -> Fraction:
    """Section 3: dry feed / rate, or melts x per_melt, 0 without either."""
    if "rate" in step:
        return feed.dry / c.units.feed_rate(step["rate"])
    if "per_melt" in step:
        return melts * c.units.hours(step["per_melt"])
    return ZERO


def ready(c: Comparison, step: dict, feed: Material, hours: Fraction) -> Fraction:
    wait = c.units.days(step["wait"]) if "wait" in step else ZERO
    return feed.day + hours / c.working_day + wait


def charge_costs(c: Comparison, book: Ledger, name: str, step: dict, feed: Material,
                 amounts: dict[str, Fraction]) -> None:
    """The cost lines of a step, on the feed's day."""
    for cost in step.get("cost", []):
        rate, per = c.units.rate(cost["rate"])
        if per == "mass":
            base = feed.wet() if cost.get("of") == "wet" else feed.dry
        elif per == "lot":
            base = ONE
        else:
            base = amounts[per]
        book.cost(name, cost["what"], rate * base, feed.day)


# ---------------------------------------------------------------- section 3, table

@dataclass
class Upgrading:
    """The curves of one table, for one feed."""
    feed: Material
    own: dict[str, Any]
    goes_as: dict[str, str]                # analyte -> the one whose recovery it has
    limit: dict[str, Fraction]

    def slope_limit(self, analyte: str) -> Optional[Fraction]:
        """R <= y x M x limit / content."""
        content = self.feed.content.get(analyte, ZERO)
        if analyte not in self.limit or content == 0:
            return None
        return self.feed.dry * self.limit[analyte] / content

    def recovery(self, analyte: str, y: Fraction) -> Fraction:
        lead = self.goes_as.get(analyte, analyte)
        r = self.own[lead].at(y)
        slope = self.slope_limit(lead)
        return r if slope is None else min(r, slope * y)

    def follows_curve(self) -> list[str]:
        return list(self.own) + list(self.goes_as)

    def gangue_share(self, y: Fraction) -> Fraction:
        """q = (y M - sum R C) / (M - sum C)."""
        feed = self.feed
        held = {a: feed.content.get(a, ZERO) for a in self.follows_curve()}
        rest = feed.dry - sum(held.values(), ZERO)
        if equal(feed.dry, feed.dry - rest):
            return y
        pulled = y * feed.dry
        metal = sum((self.recovery(a, y) * held[a] for a in held), ZERO)
        if equal(pulled, metal):
            return ZERO
        q = (pulled - metal) / rest
        return ONE if equal(q, ONE) else q


def read_upgrading(c: Comparison, step: dict, feed: Material) -> Upgrading:
    own: dict[str, Any] = {}
    goes_as: dict[str, str] = {}
    for analyte, entry in named(step["curve"]):
        if isinstance(entry, list):
            own[analyte] = Points([(c.units.share(p), c.units.share(r)) for p, r in entry])
        elif "odds" in entry:
            own[analyte] = Odds(number_only(entry["odds"]))
        elif "logit" in entry:
            own[analyte] = Logit(*map(number_only, entry["logit"]))
        elif "limit_recovery" in entry:
            own[analyte] = Saturating(c.units.share(entry["limit_recovery"]), number_only(entry["rate"]))
        elif entry["as"] != "gangue":
            goes_as[analyte] = entry["as"]
    limit = {a: c.units.grade(q) for a, q in named(step.get("limit", {}))}
    return Upgrading(feed, own, goes_as, limit)


def search_range(c: Comparison, step: dict) -> tuple[Fraction, Fraction]:
    """Where "best" looks; with several measured curves, where all were measured."""
    if "search" in step:
        low, high = step["search"]
        return c.units.share(low), c.units.share(high)
    if isinstance(step.get("cut"), dict) and "search" in step["cut"]:
        low, high = step["cut"]["search"]
        return c.units.share(low), c.units.share(high)
    measured = [q for _, q in named(step["curve"]) if isinstance(q, list)]
    if not measured:
        raise PlanError("curves without points need a search range")
    return (max(c.units.share(q[0][0]) for q in measured),
            min(c.units.share(q[-1][0]) for q in measured))


def cut_of(step: dict) -> str:
    """The analyte of a cut; left out where the curve has Au or one analyte only."""
    if "of" in step["cut"]:
        return step["cut"]["of"]
    analytes = [a for a, _ in named(step["curve"])]
    if "Au" in analytes:
        return "Au"
    if len(analytes) == 1:
        return analytes[0]
    raise PlanError("the cut does not say of which analyte")


def find_pull(c: Comparison, book: Ledger, name: str, step: dict, u: Upgrading) -> Fraction:
    cut = step["cut"]
    if cut == "best":
        held = book.pulls.get(name, [])
        visit = len(book.cut.get(name, []))
        if visit < len(held):
            return held[visit]
        low, high = search_range(c, step)
        return (low + high) / 2                   # nothing to hold: any pull of the range
    if "pull" in cut:
        if c.units.share(cut["pull"]) <= 0:
            raise PlanError(f"table {name}: a pull is above 0 %")
        return c.units.share(cut["pull"])
    analyte = cut_of(step)
    lead = u.goes_as.get(analyte, analyte)
    if lead not in u.own:
        raise PlanError(f"table {name}: {analyte} has no curve to cut by")
    if "recovery" in cut:
        return pull_by_recovery(name, u, lead, c.units.share(cut["recovery"]))
    return pull_by_grade(name, u, analyte, lead, c.units.grade(cut["grade"]))


def pull_by_recovery(name: str, u: Upgrading, lead: str, target: Fraction) -> Fraction:
    """Smallest pull that reaches the recovery, the limit counted."""
    y = u.own[lead].pull_for_recovery(target)
    slope = u.slope_limit(lead)
    if slope is not None:
        y = max(y, target / slope)
    if above(target, ONE) or above(y, ONE):
        raise PlanError(f"table {name}: that recovery is never reached")
    return min(y, ONE)


def pull_by_grade(name: str, u: Upgrading, analyte: str, lead: str, target: Fraction) -> Fraction:
    """Largest pull whose concentrate holds the grade: R(y) C / (y M) >= target."""
    fed = u.feed.content.get(analyte, ZERO) / u.feed.dry
    slope = u.slope_limit(lead)
    if fed == 0 or (slope is not None and above(target, slope * fed)):
        raise PlanError(f"table {name}: that grade is never reached")
    y = u.own[lead].largest_pull_with(target / fed)
    if y is None:
        raise PlanError(f"table {name}: that grade is never reached")
    return y


def table(c: Comparison, book: Ledger, name: str, step: dict, feed: Material) -> dict[str, Material]:
    u = read_upgrading(c, step, feed)
    y = trim(find_pull(c, book, name, step, u))
    book.cut.setdefault(name, []).append(y)
    more = c.units.share(step["middlings"]) if "middlings" in step else ZERO
    if y <= 0 or above(y, ONE):
        raise PlanError(f"table {name}: a pull lies between 0 and 100 %")
    if "middlings" in step and at_least(y + more, ONE):
        raise PlanError(f"table {name}: pull and middlings together stay below 100 %")
    q1, q2 = u.gangue_share(y), u.gangue_share(y + more)
    if q1 < 0 or above(q1, ONE) or above(q2, ONE) or above(q1, q2):
        raise PlanError(f"table {name}: the curve asks for more metal than the mass pulled")
    upto: dict[str, tuple[Fraction, Fraction]] = {}
    for analyte in feed.content:
        if analyte in u.follows_curve():
            upto[analyte] = (u.recovery(analyte, y), u.recovery(analyte, y + more))
        else:
            upto[analyte] = (q1, q2)
    hours = hours_worked(c, step, feed)
    day = ready(c, step, feed, hours)
    book.work.append({"at": name, "feed": feed.dry, "hours": hours})
    charge_costs(c, book, name, step, feed, {"h": hours})
    shares = {"concentrate": (y, {a: r1 for a, (r1, _) in upto.items()}),
              "middlings": (more, {a: r2 - r1 for a, (r1, r2) in upto.items()}),
              "tailings": (1 - y - more, {a: 1 - r2 for a, (_, r2) in upto.items()})}
    return {output: table_output(c, step, output, feed, day, *shares[output])
            for output in TABLE_OUTPUTS}


def table_output(c: Comparison, step: dict, output: str, feed: Material, day: Fraction,
                 pull: Fraction, share: dict[str, Fraction]) -> Material:
    wet_share = c.units.share(step.get("moisture", {}).get(output, "20 %"))
    dry_mass = trim(pull * feed.dry)
    content = {a: trim(share[a] * feed.content[a]) for a in share}
    return Material("concentrate", dry_mass, dry_mass * wet_share / (1 - wet_share), content, day)


# ---------------------------------------------------------------- section 3, split

def split(c: Comparison, book: Ledger, name: str, step: dict, feed: Material) -> dict[str, Material]:
    kind = feed.kind if feed.kind in ("piece", "bar", "slag") else "split"
    hours = hours_worked(c, step, feed)
    day = ready(c, step, feed, hours)
    book.work.append({"at": name, "feed": feed.dry, "hours": hours})
    charge_costs(c, book, name, step, feed, {"h": hours})
    outputs = named(step["into"])
    rest = [o for o, shares in outputs if not dict(named(shares))]
    if len(rest) != 1:
        raise PlanError(f"split {name}: exactly one output takes what is left")
    made: dict[str, Material] = {}
    left = Material(kind, feed.dry, feed.water, dict(feed.content), day)
    for output, shares in outputs:
        if output == rest[0]:
            made[output] = left
            continue
        one = split_output(c, shares, feed, kind, day)
        made[output] = one
        left.dry -= one.dry
        left.water -= one.water
        for analyte in left.content:
            left.content[analyte] -= one.content[analyte]
    for output, one in made.items():
        check_split(name, output, one, feed)
    return made


def split_output(c: Comparison, shares: dict, feed: Material, kind: str, day: Fraction) -> Material:
    mass = c.units.share(shares["mass"])
    content = {a: m * (c.units.share(shares[a]) if a in shares else mass)
               for a, m in feed.content.items()}
    return Material(kind, feed.dry * mass, feed.water * mass, content, day)


def check_split(name: str, output: str, one: Material, feed: Material) -> None:
    """No output below nothing, none with more analytes than mass."""
    slack = EDGE * feed.dry
    for analyte, mass in one.content.items():
        if mass < -EDGE * feed.content[analyte]:
            raise PlanError(f"split {name}: more than 100 % of {analyte} is shared out")
    if one.dry < -slack:
        raise PlanError(f"split {name}: more than 100 % of the mass is shared out")
    if above(sum(one.content.values(), ZERO), one.dry + (slack if one.dry <= slack else 0)):
        raise PlanError(f"split {name}: {output} holds more analytes than mass")


# ---------------------------------------------------------------- section 3, dry

def dry(c: Comparison, book: Ledger, name: str, step: dict, feed: Material) -> dict[str, Material]:
    target = c.units.share(step["to"])
    dust = c.units.share(step["dust"])
    hours = hours_worked(c, step, feed)
    day = ready(c, step, feed, hours)
    if at_least(target, feed.moisture()):
        water, megajoules = feed.water, ZERO          # already as dry: passes with its water
    else:
        water = feed.dry * target / (1 - target)
        megajoules = drying_heat(c, step, feed, water) / 1000
    amounts = {"h": hours, "kWh": megajoules * 10 / 36}
    if "fuel" in step:
        amounts["L"] = megajoules / c.units.megajoule_per_litre(step["fuel"]["heat"])
    book.work.append({"at": name, "feed": feed.dry, "hours": hours, "energy": amounts["kWh"]})
    charge_costs(c, book, name, step, feed, amounts)
    book.lose(f"{name} dust", {a: m * dust for a, m in feed.content.items()})
    content = {a: trim(m * (1 - dust)) for a, m in feed.content.items()}
    dried = Material(feed.kind, trim(feed.dry * (1 - dust)), trim(water * (1 - dust)), content, day)
    return {"dried": dried}


def drying_heat(c: Comparison, step: dict, feed: Material, water_left: Fraction) -> Fraction:
    """kJ; the masses are those before dust."""
    evaporated = feed.water - water_left
    rise = 100 - c.units.celsius(step.get("ambient", "20 degC"))
    heat = (evaporated * (VAPOUR_HEAT + WATER_HEAT * rise) + feed.dry * SOLID_HEAT * rise
            + water_left * WATER_HEAT * rise)
    return heat / c.units.share(step.get("efficiency", "30 %"))


# ---------------------------------------------------------------- section 3, melt

def melt(c: Comparison, book: Ledger, name: str, step: dict,
         feed: Material) -> Optional[dict[str, Material]]:
    if above(feed.moisture(), c.units.share(step.get("dry_below", "0.5 %"))):
        book.refused.append(f"{name}: the charge is too wet, trapped water flashes to steam")
        return None
    bar = {a: feed.content.get(a, ZERO) * c.units.share(q) for a, q in named(step.get("to_bar", {}))}
    fume = {a: feed.content.get(a, ZERO) * c.units.share(q) for a, q in named(step.get("to_fume", {}))}
    doses = flux_doses(c, step, feed, bar, fume)
    stays = sum((dose * flux_stays(c, flux) for flux, dose in doses), ZERO)
    solve_slag(c, name, step, feed, bar, fume, stays)
    bar_mass = trim(sum(bar.values(), ZERO))
    if bar_mass == 0:
        raise PlanError(f"{name}: a bar with no metal")
    slag_mass = trim(feed.dry - bar_mass - sum(fume.values(), ZERO) + stays)
    melts = count_melts(c, step, feed.dry + sum((dose for _, dose in doses), ZERO))
    hours = hours_worked(c, step, feed, melts)
    day = ready(c, step, feed, hours)
    flux_used: dict[str, Fraction] = {}
    for flux, dose in doses:
        flux_used[flux["reagent"]] = flux_used.get(flux["reagent"], ZERO) + dose
    book.work.append({"at": name, "feed": feed.dry, "hours": hours, "melts": Fraction(melts),
                      "flux": flux_used})
    charge_costs(c, book, name, step, feed, {"h": hours, "melt": Fraction(melts)})
    for flux, dose in doses:
        if "price" in flux:
            book.cost(name, flux["reagent"], dose * c.units.per_mass(flux["price"]), feed.day)
    book.lose(f"{name} fume", {a: fume.get(a, ZERO) for a in feed.content})
    bar_content = {a: trim(bar.get(a, ZERO)) for a in feed.content}
    slag_content = {a: trim(feed.content[a] - bar.get(a, ZERO) - fume.get(a, ZERO))
                    for a in feed.content}
    return {"bar": Material("bar", bar_mass, ZERO, bar_content, day),
            "slag": Material("slag", slag_mass, ZERO, slag_content, day)}


def flux_doses(c: Comparison, step: dict, feed: Material, bar: dict, fume: dict) -> list:
    gangue = feed.dry - sum(bar.values(), ZERO) - sum(fume.values(), ZERO)
    return [(flux, c.units.dose(flux["dose"]) * (gangue if flux.get("of") == "gangue" else feed.dry))
            for flux in step.get("flux", [])]


def flux_stays(c: Comparison, flux: dict) -> Fraction:
    return c.units.share(flux["stays"]) if "stays" in flux else STAYS[flux["reagent"]]


def solve_slag(c: Comparison, name: str, step: dict, feed: Material, bar: dict, fume: dict,
               stays: Fraction) -> None:
    """Bar content = charge - fume - slag x grade, with the slag mass that follows."""
    grades = {a: c.units.grade(q) for a, q in named(step.get("slag_grade", {}))
              if feed.content.get(a, ZERO) > 0}
    if not grades:
        return
    free = {a: feed.content[a] - fume.get(a, ZERO) for a in grades}
    known = feed.dry - sum(bar.values(), ZERO) - sum(fume.values(), ZERO) + stays
    slag = (known - sum(free.values(), ZERO)) / (1 - sum(grades.values(), ZERO))
    for analyte, grade in grades.items():
        in_slag = slag * grade
        if above(in_slag, free[analyte]):
            raise PlanError(f"melt {name}: the slag would hold more {analyte} than the charge")
        bar[analyte] = max(ZERO, free[analyte] - in_slag)


def count_melts(c: Comparison, step: dict, mass: Fraction) -> int:
    if "crucible" not in step:
        return 1
    pot = step["crucible"]
    volume = c.units.litres(pot["volume"]) * c.units.share(pot["fill"])
    return round_up(mass / c.units.density(pot["density"]) / volume)


# ---------------------------------------------------------------- section 4, sales

@dataclass
class Sale:
    """What is known of one sale as it is worked through."""
    at: str
    terms: dict
    units: Units
    feed: Material
    weighed: Optional[Material] = None             # the feed in whole steps of the buyer's scale
    settled: Fraction = ZERO
    assay: dict[str, Fraction] = field(default_factory=dict)
    payable: dict[str, Fraction] = field(default_factory=dict)
    payable_value: Fraction = ZERO
    proceeds: Fraction = ZERO
    pending: list[tuple[str, Fraction]] = field(default_factory=list)

    def money(self, amount: Fraction) -> Fraction:
        """Rounded line by line, only where `rounding` has `money`."""
        rounding = self.terms.get("rounding", {})
        if "money" not in rounding:
            return amount
        step = self.units.money(rounding["money"])
        return round_to(amount, step, rounding.get("mode", "half even"))

    def add(self, what: str, amount: Fraction) -> Fraction:
        """A line of the sale; its day is put in once the final day is known."""
        amount = self.money(trim(amount))
        self.pending.append((what, amount))
        return amount

    def take(self, what: str, charge: Fraction) -> None:
        """A charge: rounded as an amount, then taken off."""
        charge = self.money(trim(charge))
        self.pending.append((what, -charge))
        self.proceeds -= charge


def sell(c: Comparison, book: Ledger, at: str, feed: Material) -> None:
    if at not in c.terms:
        raise PlanError(f"no terms named {at}")
    terms = c.terms[at]
    sale = Sale(at, terms, c.units.inside(terms.get("factors")), feed)
    deliver(sale)
    book.sales.append(sale)
    before = len(book.refused)
    test_kind(book, sale)
    test_accepts(c, book, sale)
    test_refuse_above(c, book, sale)
    if len(book.refused) > before:
        return
    value_metals(c, sale)
    charges(sale)
    penalties(sale)
    participation(c, sale)
    settle(c, book, sale)
    list_product(book, sale)


def whole_steps(sale: Sale, mass: Fraction) -> Fraction:
    """Section 8: a step counts once the mass passes it by `turn`."""
    rule = sale.terms.get("rounding", {}).get("mass")
    if rule is None:
        return mass
    step = sale.units.mass(rule["step"])
    turn = sale.units.mass(rule["turn"]) if "turn" in rule else ZERO
    k = max(0, math.floor((mass - turn) / step))
    return (k + 1 if at_least(mass, (k + 1) * step + turn) else k) * step


def weigh(sale: Sale) -> Material:
    """Dry and wet mass and content go together, so that moisture and assays stay."""
    feed = sale.feed
    part = whole_steps(sale, feed.wet()) / feed.wet() if feed.wet() else ONE
    return Material(feed.kind, feed.dry * part, feed.water * part,
                    {a: mass * part for a, mass in feed.content.items()}, feed.day)


def settled_mass(sale: Sale, melted: Fraction) -> Fraction:
    """Order 1, what is left to be paid of the mass after the buyer's melt."""
    terms, units = sale.terms, sale.units
    kept = units.mass(terms["sample_kept"]) if "sample_kept" in terms else ZERO
    deduction = units.share(terms["mass_deduction"]) if "mass_deduction" in terms else ZERO
    return trim(max(ZERO, melted - kept) * (1 - deduction))


def deliver(sale: Sale) -> None:
    """Order 1: delivered, melt loss, sample kept, deduction, assay, deemed; 2: rounding."""
    sale.weighed = weigh(sale)
    loss = {a: sale.units.share(q) for a, q in named(sale.terms.get("melt_loss", {}))}
    left = 1 - loss.get("mass", ZERO)
    sale.settled = settled_mass(sale, sale.weighed.dry * left)
    melted = sale.feed.dry * left
    for analyte, content in sale.feed.content.items():
        sale.assay[analyte] = trim(content * (1 - loss.get(analyte, ZERO)) / melted) if melted else ZERO
    fix_assays(sale)


def fix_assays(sale: Sale) -> None:
    """The end of order 1, deemed assays, and the beginning of 2, rounded ones."""
    for analyte, q in named(sale.terms.get("deemed", {})):
        sale.assay[analyte] = sale.units.grade(q)
    rounding = sale.terms.get("rounding", {})
    for analyte, q in named(rounding):
        if analyte not in ("money", "mode", "mass", "payable") and analyte in sale.assay:
            sale.assay[analyte] = round_to(sale.assay[analyte], sale.units.grade(q),
                                           rounding.get("mode", "half even"))


def test_kind(book: Ledger, sale: Sale) -> None:
    """Bars only from a melt; nuggets are pieces and split outputs; concentrate the rest."""
    takes = {"bar": ("bar",), "nuggets": ("piece", "split"),
             "concentrate": ("concentrate", "split", "slag")}
    if sale.terms["buys"] not in takes:
        raise PlanError(f"terms {sale.at}: buys {sale.terms['buys']!r}")
    if sale.feed.kind not in takes[sale.terms["buys"]]:
        book.refused.append(f"{sale.at} buys {sale.terms['buys']}, not {sale.feed.kind}")


def must_know(c: Comparison, book: Ledger, sale: Sale, analyte: str) -> None:
    """A limited analyte that nothing was ever assayed for makes the route conditional."""
    if analyte in c.assayed:
        return
    reason = f"{sale.at}: {analyte} was never assayed"
    if reason not in book.conditional:
        book.conditional.append(reason)
    if analyte not in book.untested:
        book.untested.append(analyte)


def test_accepts(c: Comparison, book: Ledger, sale: Sale) -> None:
    """Order 2: settled mass, delivered moisture, rounded assays; limits included."""
    for what, limits in named(sale.terms.get("accepts", {})):
        if what == "mass":
            found, read = sale.settled, sale.units.mass
        elif what == "moisture":
            found, read = sale.feed.moisture(), sale.units.share
        else:
            found, read = sale.assay.get(what, ZERO), sale.units.grade
            must_know(c, book, sale, what)
        if "min" in limits and above(read(limits["min"]), found):
            book.refused.append(f"{sale.at}: {what} below {limits['min']}")
        if "max" in limits and above(found, read(limits["max"])):
            book.refused.append(f"{sale.at}: {what} above {limits['max']}")


def penalty_names(penalty: dict) -> list[str]:
    names = penalty["for"]
    return [names] if isinstance(names, str) else list(names)


def penalised(sale: Sale, penalty: dict) -> Fraction:
    return sum((sale.assay.get(a, ZERO) for a in penalty_names(penalty)), ZERO)


def test_refuse_above(c: Comparison, book: Ledger, sale: Sale) -> None:
    for penalty in sale.terms.get("penalties", []):
        if "refuse_above" not in penalty:
            continue
        for analyte in penalty_names(penalty):
            must_know(c, book, sale, analyte)
        if above(penalised(sale, penalty), sale.units.grade(penalty["refuse_above"])):
            book.refused.append(f"{sale.at}: {'+'.join(penalty_names(penalty))} above "
                                f"{penalty['refuse_above']}")


def payable_grade(sale: Sale, pay: dict, assay: Fraction) -> Fraction:
    """Order 3: bands or share, then `order` with `less`; never below 0."""
    share = sale.units.share(pay.get("share", "100 %"))
    if "bands" in pay:
        reached = [q for start, q in pay["bands"] if at_least(assay, sale.units.grade(start))]
        if not reached:
            return ZERO
        share = sale.units.share(reached[-1])
    less = sale.units.grade(pay["less"]) if "less" in pay else ZERO
    order = pay.get("order", "lower of")
    if order == "lower of":
        grade = min(share * assay, assay - less)
    elif order == "less first":
        grade = share * (assay - less)
    elif order == "share first":
        grade = share * assay - less
    else:
        raise PlanError(f"terms {sale.at}: unknown order {order!r}")
    return max(ZERO, grade)


def price_of(c: Comparison, sale: Sale, metal: str) -> Fraction:
    pay = sale.terms.get("pay", {}).get(metal, {})
    if "price" in pay:
        return sale.units.per_mass(pay["price"])
    if metal not in c.prices:
        raise PlanError(f"terms {sale.at}: no price for {metal}")
    return c.prices[metal]


def rounded_payable(sale: Sale, metal: str, mass: Fraction) -> Fraction:
    """Section 8: the payable mass is rounded before it is priced."""
    rounding = sale.terms.get("rounding", {})
    if metal not in rounding.get("payable", {}):
        return mass
    return round_to(mass, sale.units.mass(rounding["payable"][metal]), rounding.get("mode", "half even"))


def value_metals(c: Comparison, sale: Sale) -> None:
    """Orders 3 to 5, one metal after the other."""
    for metal, pay in named(sale.terms.get("pay", {})):
        grade = payable_grade(sale, pay, sale.assay.get(metal, ZERO))
        payable = rounded_payable(sale, metal, trim(grade * sale.settled))
        sale.payable[metal] = payable
        value = payable * price_of(c, sale, metal)
        if "price_share" in pay:
            value *= sale.units.share(pay["price_share"])
        value = sale.add(f"value {metal}", value)
        sale.payable_value += value
        sale.proceeds += value
        if "refining" in pay:
            base = {"payable": payable, "gross": sale.weighed.dry,
                    "settled": sale.settled}[pay.get("refining_of", "payable")]
            sale.take(f"refining {metal}", base * sale.units.per_mass(pay["refining"]))


def charges(sale: Sale) -> None:
    """Order 6."""
    for charge in sale.terms.get("charges", []):
        rate, per = sale.units.rate(charge["rate"])
        amount = rate * charge_base(sale, charge, per)
        if "at_least" in charge:
            amount = max(amount, sale.units.money(charge["at_least"]))
        if "at_most" in charge:
            amount = min(amount, sale.units.money(charge["at_most"]))
        sale.take(charge["what"], amount)


def charge_base(sale: Sale, charge: dict, per: str) -> Fraction:
    of = charge.get("of")
    if per == "lot":
        return ONE
    if per == "%" and of == "payable value":
        return sale.payable_value
    if per == "mass":
        if of is None:
            return sale.settled
        if of == "wet":
            return sale.weighed.wet()
        if of in ("dry", "gross"):
            return sale.weighed.dry
        if of.startswith("payable ") and of[8:] in sale.payable:
            return sale.payable[of[8:]]
    raise PlanError(f"terms {sale.at}: nothing to multiply for {charge['rate']} of {of!r}")


def worked(x: Fraction, start: Fraction, each: Fraction, whole: bool) -> Fraction:
    """Steps of `each` from `start` up to x, pro rata or whole only."""
    if not above(x, start):
        return ZERO
    n = (x - start) / each
    if not whole:
        return n
    k = math.floor(n)
    return Fraction(k + 1 if equal(x, start + (k + 1) * each) else k)


def penalty_rate(sale: Sale, penalty: dict) -> Fraction:
    """Order 7: money per mass of settled mass, of one of the three forms."""
    x, units = penalised(sale, penalty), sale.units
    whole = penalty.get("count") == "whole"
    if "whole" in penalty:
        for band in penalty["whole"]:
            if at_least(units.grade(band["up_to"]), x):
                return units.per_mass(band["rate"])
        return ZERO
    if "marginal" in penalty:
        total = ZERO
        tiers = penalty["marginal"]
        for tier, following in zip(tiers, tiers[1:] + [None]):
            upto = x if following is None else min(x, units.grade(following["above"]))
            total += (worked(upto, units.grade(tier["above"]), units.grade(tier["each"]), whole)
                      * units.per_mass(tier["rate"]))
        return total
    return (worked(x, units.grade(penalty["above"]), units.grade(penalty["each"]), whole)
            * units.per_mass(penalty["rate"]))


def penalties(sale: Sale) -> None:
    for penalty in sale.terms.get("penalties", []):
        sale.take("penalty " + "+".join(penalty_names(penalty)),
                  penalty_rate(sale, penalty) * sale.settled)


def participation(c: Comparison, sale: Sale) -> None:
    """Order 8: max(0, price - above) / each x rate x settled mass."""
    for share in sale.terms.get("participation", []):
        price = price_of(c, sale, share["for"])
        over = max(ZERO, price - sale.units.per_mass(share["above"]))
        amount = (over / sale.units.per_mass(share["each"]) * sale.units.per_mass(share["rate"])
                  * sale.settled)
        sale.take(f"participation {share['for']}", amount)


def settle(c: Comparison, book: Ledger, sale: Sale) -> None:
    """Orders 9 and 10: proceeds, cash, interest, then the levies."""
    units, terms = sale.units, sale.terms
    arrival = sale.feed.day + (units.days(terms["transit"]) if "transit" in terms else ZERO)
    final = units.days(terms["final"]) if "final" in terms else ZERO
    last = arrival + final
    rest = sale.proceeds
    if "advance" in terms:
        advance = terms["advance"]
        after = units.days(advance.get("after", "0 d"))
        amount = units.share(advance["share"]) * max(ZERO, sale.proceeds)
        book.pay(amount, arrival + after)
        rest -= amount
        if "interest" in advance:
            interest = sale.money(amount * units.per_year(advance["interest"]) * (final - after) / 365)
            sale.pending.append(("interest", -interest))
            rest -= interest
    book.pay(rest, last)
    for what, amount in sale.pending:
        book.line(sale.at, what, amount, last)
    levies(c, book, sale, last)
    account_sale(book, sale)


def levies(c: Comparison, book: Ledger, sale: Sale, final_day: Fraction) -> None:
    """Section 2: on each sale, never below 0, not rounded."""
    gross = sum((mass * c.prices[a] for a, mass in sale.feed.content.items() if a in c.prices), ZERO)
    bases = {"payable value": sale.payable_value, "proceeds": sale.proceeds, "gross value": gross}
    for levy in c.plan.get("levies", []):
        day = final_day + (c.units.days(levy["after"]) if "after" in levy else ZERO)
        rate, per = c.units.rate(levy["rate"])
        if per != "%" or levy["of"] not in bases:
            raise PlanError(f"levy {levy['what']}: a share of one of {sorted(bases)}")
        amount = max(ZERO, rate * bases[levy["of"]])
        book.cost(sale.at, levy["what"], amount, day)
        if "refund" in levy:
            refund = levy["refund"]
            back = day + (c.units.days(refund["after"]) if "after" in refund else ZERO)
            book.line(sale.at, f"refund {levy['what']}", amount * c.units.share(refund["share"]), back)
            book.pay(amount * c.units.share(refund["share"]), back)


def account_sale(book: Ledger, sale: Sale) -> None:
    """Section 5: payable is no more than the content, unpaid the rest."""
    for analyte, mass in sale.feed.content.items():
        payable = min(mass, sale.payable.get(analyte, ZERO))
        account = book.account(analyte)
        account["payable"] += payable
        account["unpaid"] += mass - payable


def list_product(book: Ledger, sale: Sale) -> None:
    """As delivered: before melt loss, deemed assays and rounding."""
    feed = sale.feed
    book.products.append({"at": sale.at, "kind": feed.kind, "wet_mass": feed.wet(),
                          "dry_mass": feed.dry,
                          "assays": {a: m / feed.dry for a, m in feed.content.items()}})


# ---------------------------------------------------------------- section 5, the comparison

def power(base: Fraction, exponent: Fraction) -> Fraction:
    if exponent == 0 or base == 1:
        return ONE
    return Fraction(to_decimal(base) ** to_decimal(exponent))


def present_value(c: Comparison, book: Ledger) -> Fraction:
    total = -c.credited
    for flow in book.flows:
        total += flow.amount / power(1 + c.discount, flow.day / 365)
    return trim(total)


def cash_days(book: Ledger) -> list[dict]:
    """Money only, day by day; days on which none moves are not listed."""
    days: list[list[Fraction]] = []
    for flow in sorted((f for f in book.flows if not f.credit), key=lambda f: f.day):
        if days and equal(days[-1][0], flow.day):
            days[-1][1] += flow.amount
        else:
            days.append([flow.day, flow.amount])
    listed, total = [], ZERO
    for day, amount in days:
        if amount != 0:
            total += amount
            listed.append({"day": day, "amount": amount, "total": total})
    return listed


def run_route(c: Comparison, name: str, route: dict) -> Ledger:
    book = Ledger(pulls=c.pulls.get(name, {}))
    fed = {"lot": c.lot, **c.pieces}
    for material in fed.values():
        for analyte, mass in material.content.items():
            book.account(analyte)["fed"] += mass
    if not c.pieces:
        start(c, book, route, c.lot)
        return book
    for what in route:
        if what not in fed and what != "note":
            raise PlanError(f"the lot has no pieces named {what}")
    for what, material in fed.items():
        if what not in route:
            raise PlanError(f"nothing is said of {what}")
        start(c, book, route[what], material)
    return book


def start(c: Comparison, book: Ledger, node: dict, material: Material) -> None:
    if material.dry > 0:
        walk(c, book, node, material)


def route_answer(c: Comparison, book: Ledger) -> dict:
    answer: dict[str, Any] = {"refused": book.refused, "conditional": book.conditional,
                              "untested": book.untested, "cut": book.cut}
    if book.refused:
        return {**answer, "net": None, "cash": None, "credit": None, "present_value": None,
                "last_cash_day": None, "cash_days": [], "lines": [], "metal": {},
                "products": [], "work": []}
    cash = sum((f.amount for f in book.flows if not f.credit), ZERO)
    credit = sum((f.amount for f in book.flows if f.credit), ZERO) - c.credited
    days = cash_days(book)
    return {**answer, "net": cash + credit, "cash": cash, "credit": credit,
            "present_value": present_value(c, book),
            "last_cash_day": days[-1]["day"] if days else None, "cash_days": days,
            "lines": book.lines, "metal": book.metal, "products": book.products, "work": book.work}


def compare(plan: dict, pulls: Optional[dict[str, dict[str, list[Fraction]]]] = None) -> dict:
    """The whole comparison. `pulls` holds, by route and table, the pull of each visit
    of a table cut at "best"; where nothing is held the middle of the search range is."""
    try:
        c = Comparison(plan, pulls)
    except (KeyError, TypeError, ValueError) as missing:
        raise PlanError(f"the plan cannot be read: {missing!r}") from missing
    routes = {}
    for name, route in named(plan["routes"]):
        try:
            routes[name] = route_answer(c, run_route(c, name, route))
        except PlanError as problem:
            raise PlanError(f"route {name}: {problem}") from problem
    open_routes = [n for n in routes if not routes[n]["refused"]]
    open_routes.sort(key=lambda n: -routes[n]["present_value"])
    best = open_routes[0] if open_routes else None
    lead = None
    if len(open_routes) > 1:
        lead = routes[open_routes[0]]["present_value"] - routes[open_routes[1]]["present_value"]
    untested = sorted({a for r in routes.values() for a in r["untested"]})
    return {"best": best, "lead": lead, "routes": routes, "untested": untested}
