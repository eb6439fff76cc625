"""The draws of a plan's uncertain quantities, worked out from the format page alone (sections 1, 7 and 23).

`Inputs(plan, options)` finds the uncertain quantities, their distributions, ranges, what is the same, correlated or
averaged; `values(p)` are the inputs' values where the dimensions have these p. Quantities are held in kg, shares of 1,
days and the currency in which they are stated. Where the page is silent, the comment says "Decided:".
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Iterator, Optional

import numpy as np
from scipy import special, stats
from scipy.stats import qmc

import evaluator as ev

WORD = 0xFFFFFFFF
BITS, SCRAMBLINGS = 52, 8


class ChanceError(Exception):
    """The options do not fit the plan."""


# ---------------------------------------------------------------- Philox

MULTIPLY = (0xD2511F53, 0xCD9E8D57)
BUMP = (0x9E3779B9, 0xBB67AE85)


def philox(counter: tuple[int, int, int, int], key: tuple[int, int]) -> tuple[int, int, int, int]:
    """Philox4x32-10 (Salmon and others, Parallel random numbers: as easy as 1, 2, 3; 2011)."""
    c0, c1, c2, c3 = counter
    k0, k1 = key
    for _ in range(10):
        a, b = MULTIPLY[0] * c0, MULTIPLY[1] * c2
        c0, c1, c2, c3 = (b >> 32) ^ c1 ^ k0, b & WORD, (a >> 32) ^ c3 ^ k1, a & WORD
        k0, k1 = (k0 + BUMP[0]) & WORD, (k1 + BUMP[1]) & WORD
    return c0, c1, c2, c3


def philox_k(seed: int, dimension: int, draw: int, stream: int = 0) -> int:
    """The 52 bits of one draw."""
    even = draw - draw % 2
    words = philox(((even >> 1) & WORD, (even >> 33) & WORD, dimension, stream), (seed & WORD, (seed >> 32) & WORD))
    low, high = words[2 * (draw % 2):2 * (draw % 2) + 2]
    return (high << 32 | low) >> 12


def philox_column(seed: int, dimension: int, draws: int, stream: int = 0) -> np.ndarray:
    """philox_k of draws 0, 1, …, all at once; the tests hold it against the plain one."""
    word, shift = np.uint64(WORD), np.uint64(32)
    at = np.arange((draws + 1) // 2, dtype=np.uint64)
    c = [at & word, at >> shift, np.full_like(at, dimension), np.full_like(at, stream)]
    k = [seed & WORD, (seed >> 32) & WORD]
    for _ in range(10):
        a, b = np.uint64(MULTIPLY[0]) * c[0], np.uint64(MULTIPLY[1]) * c[2]
        c = [(b >> shift) ^ c[1] ^ np.uint64(k[0]), b & word, (a >> shift) ^ c[3] ^ np.uint64(k[1]), a & word]
        k = [(k[0] + BUMP[0]) & WORD, (k[1] + BUMP[1]) & WORD]
    pairs = np.stack([c[1] << shift | c[0], c[3] << shift | c[2]], axis=1).reshape(-1)[:draws]
    return pairs >> np.uint64(12)


def share_of(k: Any) -> Any:
    """In the middle of the k-th of 2^52 equal steps from 0 to 1."""
    return (k + 0.5) / 2.0**BITS


# ---------------------------------------------------------------- Sobol

def directions(dimensions: int, points: int) -> list[list[int]]:
    """Joe and Kuo's as SciPy has them, of each bit of a point's number: SciPy's points come in Gray's order, where that bit
    stands alone in the number of point 2^(bit + 1) - 1."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        plain = qmc.Sobol(dimensions, scramble=False, bits=BITS).random(points)
    bits = points.bit_length() - 1
    return [[int(plain[2**(b + 1) - 1, d] * 2**BITS) for b in range(bits)] for d in range(dimensions)]


def scrambled(plain: list[int], seed: int, dimension: int, scrambling: int) -> tuple[list[int], int]:
    """One dimension's directions under a lower triangular matrix, row by row, and its shift."""
    random = [int(k) for k in philox_column(seed, dimension, BITS + 1, scrambling + 1)]
    new = [0] * len(plain)
    for j in range(BITS):
        digit = 1 << (BITS - 1 - j)
        row = random[j] & ~(2 * digit - 1) | digit
        for b, direction in enumerate(plain):
            if bin(row & direction).count("1") % 2:
                new[b] |= digit
    return new, random[BITS]


def sobol_rows(seed: int, dimensions: int, draws: int) -> np.ndarray:
    """k of all draws, one row a dimension: eight scramblings one after the other, each in binary order."""
    plain, rows = directions(dimensions, draws // SCRAMBLINGS), []
    for d in range(dimensions):
        row = []
        for s in range(SCRAMBLINGS):
            new, shift = scrambled(plain[d], seed, d, s)
            points = np.array([shift], dtype=np.int64)
            for direction in new:
                points = np.concatenate([points, points ^ direction])
            row.append(points)
        rows.append(np.concatenate(row))
    return np.array(rows)


# ---------------------------------------------------------------- distributions

class Spread:
    """A distribution of section 1: its mean, its distribution function and its quantile function."""

    def __init__(self, kind: str, law: Any, mean: float):
        self.kind, self.law, self.mean = kind, law, mean
        self.pull = 1.0                               # towards the mean, where it is averaged

    def cdf(self, x: Any) -> Any:
        return self.law.cdf(self.mean + (np.asarray(x, float) - self.mean) / self.pull)

    def ppf(self, p: Any) -> Any:
        x = self.law.ppf(p)
        if self.kind == "t":                          # SciPy's quantile of t is good to some ten digits: two steps of Newton
            for _ in range(2):
                x = x - np.where(np.isfinite(x), (self.law.cdf(x) - p) / self.law.pdf(x), 0.0)
        return self.mean + (x - self.mean) * self.pull if self.pull != 1.0 else x

    def averaged(self, n: int) -> "Spread":
        """The mean of n equally spaced fixings, the last on the day that the spread is for."""
        ratio = (n + 1) * (2 * n + 1) / (6 * n * n)
        if self.kind == "normal":
            mean, sd = self.law.args
            return Spread("normal", stats.norm(mean, sd * math.sqrt(ratio)), mean)
        if self.kind == "lognormal":
            s = averaged_log_sd(self.law.args[0], n)
            return Spread("lognormal", stats.lognorm(s, scale=self.mean * math.exp(-s * s / 2)), self.mean)
        other = Spread(self.kind, self.law, self.mean)
        other.pull = math.sqrt(ratio)
        return other


def averaged_log_sd(s: float, n: int) -> float:
    return math.sqrt(math.log(sum(math.exp(s * s * min(i, j) / n) for i in range(1, n + 1)
                                  for j in range(1, n + 1)) / n**2))


def spread_of(q: dict, read: Any) -> Optional[Spread]:
    """The distribution of an uncertain quantity; None where it cannot differ from its mean."""
    names = set(q) - {"note"}
    if "value" in names:
        value = float(read(q["value"]))
        sd = float(read(q["sd"])) if "sd" in names else abs(value) * float(ev.Units({}).share(q["rsd"]))
        return Spread("normal", stats.norm(value, sd), value) if sd > 0 else None
    if "median" in names:
        median, s = float(read(q["median"])), math.log(float(ev.exact(q["gsd"])))
        return Spread("lognormal", stats.lognorm(s, scale=median), median * math.exp(s * s / 2)) if s > 0 and median else None
    if "values" in names:
        return repeated([float(read(v)) for v in q["values"]])
    low, high = float(read(q["low"])), float(read(q["high"]))
    if high == low:
        return None
    if "mode" in names:
        mode = float(read(q["mode"]))
        return Spread("triangular", stats.triang((mode - low) / (high - low), loc=low, scale=high - low),
                      (low + mode + high) / 3)
    return Spread("uniform", stats.uniform(low, high - low), (low + high) / 2)


def repeated(figures: list[float]) -> Optional[Spread]:
    """Repeated determinations: a Student t from four on, a normal below."""
    n = len(figures)
    mean = math.fsum(figures) / n
    if n == 1 or max(figures) == min(figures):
        return None
    error = math.sqrt(math.fsum((x - mean) ** 2 for x in figures) / (n - 1) / n)
    if n >= 4:
        return Spread("t", stats.t(n - 1, mean, error), mean)
    return Spread("normal", stats.norm(mean, error), mean)


# ---------------------------------------------------------------- ranges (section 7)

ANY, FREE = "*", (-math.inf, math.inf)
POSITIVE, WHOLE = (0.0, math.inf), (0.0, 1.0)
# Decided, each: a discount, an interest, a dose, odds, slopes and whatever is only compared with are not negative, without an
# upper end; a limit and the metal left in slag are grades of something, at most 100 %, and so is what is taken off an assay
# (`less`); `dry_below` is never above 0.5 %; an ambient temperature is free up to 100 degC; `credited` is free.
RANGES: list[tuple[str, tuple[float, float]]] = [
    ("exchange/*", POSITIVE), ("prices/*", POSITIVE), ("discount", POSITIVE), ("day", POSITIVE),
    ("lot/**/wet_mass", POSITIVE), ("lot/**/moisture", WHOLE), ("lot/**/assays/*", WHOLE), ("lot/apart/*/mass", POSITIVE),
    ("lot/credited", FREE),
    ("levies/*/rate", WHOLE), ("levies/*/refund/share", WHOLE), ("levies/**/after", POSITIVE),
    ("steps/*/cost/*/rate", POSITIVE), ("steps/*/rate", POSITIVE), ("steps/*/wait", POSITIVE), ("steps/*/per_melt", POSITIVE),
    ("steps/*/curve/*/odds", POSITIVE), ("steps/*/curve/*/logit/0", FREE), ("steps/*/curve/*/logit/1", POSITIVE),
    ("steps/*/curve/*/limit_recovery", WHOLE), ("steps/*/curve/*/rate", POSITIVE), ("steps/*/curve/*/*/*", WHOLE),
    ("steps/*/cut/grade", POSITIVE), ("steps/*/cut/*", WHOLE), ("steps/*/search/*", WHOLE), ("steps/*/middlings", WHOLE),
    ("steps/*/limit/*", WHOLE), ("steps/*/moisture/*", WHOLE), ("steps/*/into/*/*", WHOLE),
    ("steps/*/to", WHOLE), ("steps/*/dust", WHOLE), ("steps/*/ambient", (-math.inf, 100.0)), ("steps/*/efficiency", WHOLE),
    ("steps/*/fuel/heat", POSITIVE), ("steps/*/to_bar/*", WHOLE), ("steps/*/to_fume/*", WHOLE), ("steps/*/slag_grade/*", WHOLE),
    ("steps/*/flux/*/dose", POSITIVE), ("steps/*/flux/*/price", POSITIVE), ("steps/*/flux/*/stays", WHOLE),
    ("steps/*/crucible/fill", WHOLE), ("steps/*/crucible/*", POSITIVE), ("steps/*/dry_below", (0.0, 0.005)),
    ("terms/*/transit", POSITIVE), ("terms/*/final", POSITIVE),
    ("terms/*/accepts/*/*", POSITIVE),
    ("terms/*/mass_deduction", WHOLE), ("terms/*/melt_loss/*", WHOLE), ("terms/*/sample_kept", POSITIVE), ("terms/*/deemed/*", WHOLE),
    ("terms/*/pay/*/bands/*/0", POSITIVE), ("terms/*/pay/*/bands/*/1", WHOLE), ("terms/*/pay/*/share", WHOLE),
    ("terms/*/pay/*/less", WHOLE), ("terms/*/pay/*/refining", POSITIVE), ("terms/*/pay/*/price", POSITIVE),
    ("terms/*/pay/*/price_share", POSITIVE),
    ("terms/*/charges/*/at_least", POSITIVE), ("terms/*/charges/*/at_most", POSITIVE), ("terms/*/charges/*/rate", POSITIVE),
    ("terms/*/penalties/**", POSITIVE), ("terms/*/participation/**", POSITIVE),
    ("terms/*/advance/share", WHOLE), ("terms/*/advance/after", POSITIVE), ("terms/*/advance/interest", POSITIVE),
    ("terms/*/rounding/**", POSITIVE),
    ("routes/**/return/*", WHOLE), ("routes/**/after", POSITIVE)]


def fits(pattern: list[str], place: list[str]) -> bool:
    if not pattern:
        return not place
    if pattern[0] == "**":
        return any(fits(pattern[1:], place[i:]) for i in range(len(place) + 1))
    return bool(place) and pattern[0] in (ANY, place[0]) and fits(pattern[1:], place[1:])


def range_of(place: list[str], dimension: str) -> tuple[float, float]:
    for pattern, ends in RANGES:
        if fits(pattern.split("/"), place):
            if place[-1] == "rate" and place[0] == "terms" and dimension == "share":
                return WHOLE                          # a charge in % is a share
            return ends
    raise ChanceError(f"no range is known of {place}")


# ---------------------------------------------------------------- inputs

FORMS = ({"value", "sd"}, {"value", "rsd"}, {"median", "gsd"}, {"low", "mode", "high"}, {"low", "high"}, {"values"})
WRITTEN = {"mass": "kg", "share": "%", "time": "d", "per year": "%/a", "feed": "kg/h", "dose": "kg/kg", "volume": "L",
           "density": "kg/L", "temperature": "degC", "heat": "MJ/L", "number": ""}
HUNDREDTHS = ("share", "per year")


@dataclass
class Input:
    """One uncertain quantity of the plan."""
    place: list[str]
    spread: Spread
    dimension: str                  # a key of WRITTEN, "money" or "rate"
    unit: str                       # of money and rates: the currency, and what it is per
    ends: tuple[float, float]
    same: list[str] = field(default_factory=list)

    @property
    def pointer(self) -> str:
        return pointer_of(self.place)

    @property
    def currency(self) -> str:
        return self.unit.partition("/")[0] if self.dimension in ("money", "rate") else ""

    def below(self) -> tuple[float, float]:
        return float(self.spread.cdf(self.ends[0])), float(self.spread.cdf(self.ends[1]))

    def cut_off(self) -> float:
        low, high = self.below()
        return low + 1 - high

    def value(self, p: Any) -> Any:
        low, high = self.below()
        return self.spread.ppf(low + np.asarray(p) * (high - low))

    def p_of(self, x: Any) -> Any:
        low, high = self.below()
        return (self.spread.cdf(x) - low) / (high - low)

    def text(self, x: float) -> str:
        """The value as a quantity of the plan."""
        number = Decimal(repr(float(x))) * (100 if self.dimension in HUNDREDTHS else 1)
        unit = self.unit if self.dimension in ("money", "rate") else WRITTEN[self.dimension]
        return f"{number:f} {unit}".strip()


def pointer_of(place: list[str]) -> str:
    return "".join("/" + token.replace("~", "~0").replace("/", "~1") for token in place)


def is_uncertain(node: Any) -> bool:
    return isinstance(node, dict) and set(node) - {"note"} in FORMS


class OwnUnits(ev.Units):
    """Quantities in their own currency."""

    def __init__(self, codes: Any, factors: Optional[dict] = None):
        table = {code: ev.ONE for code in codes}
        if "USD" in table:
            table["USc"] = ev.Fraction(1, 100)
        super().__init__(table, factors)

    def inside(self, factors: Optional[dict[str, str]]) -> "OwnUnits":
        return OwnUnits([c for c in self.money_table if c != "USc"], {**self.factors, **(factors or {})})

    def kind(self, unit: str) -> tuple[str, str]:
        """The dimension of a unit; for money, the unit a value is held in."""
        tables = {"mass": self.masses, "share": self.grades, "time": ev.HOURS}
        for name, table in tables.items():
            if unit in table:
                return name, ""
        plain = {"%/a": "per year", "kg/h": "feed", "t/h": "feed", "kg/kg": "dose", "L": "volume", "m3": "volume",
                 "kg/L": "density", "t/m3": "density", "degC": "temperature", "MJ/L": "heat", "kWh/L": "heat", "": "number"}
        if unit in plain:
            return plain[unit], ""
        money, slash, per = unit.partition("/")
        if money not in self.money_table:
            raise ChanceError(f"unit {unit!r}")
        code = "USD" if money == "USc" else money
        if not slash:
            return "money", code
        return "rate", f"{code}/{'kg' if per in self.masses else per}"

    def reader(self, dimension: str) -> Any:
        return {"mass": self.mass, "share": self.grade, "time": self.days, "per year": self.per_year, "feed": self.feed_rate,
                "dose": self.dose, "volume": self.litres, "density": self.density, "temperature": self.celsius,
                "heat": self.megajoule_per_litre, "number": ev.number_only, "money": self.money,
                "rate": lambda q: self.rate(q)[0]}[dimension]


def uncertain(node: Any, place: list[str], units: OwnUnits) -> Iterator[Input]:
    """The uncertain quantities of a document, those left out that cannot differ from their mean."""
    if is_uncertain(node):
        figure = ev.written(node)[0]
        dimension, unit = units.kind(figure.strip().partition(" ")[2].strip() if " " in figure.strip() else
                                     ("%" if figure.strip().endswith("%") else ""))
        spread = spread_of(node, units.reader(dimension))
        if spread is not None:
            yield Input(place, spread, dimension, unit, range_of(place, dimension))
    elif isinstance(node, dict):
        if isinstance(node.get("factors"), dict):
            units = units.inside(node["factors"])
        for name, value in node.items():
            if name != "note":
                yield from uncertain(value, place + [name], units)
    elif isinstance(node, list):
        for i, value in enumerate(node):
            yield from uncertain(value, place + [str(i)], units)


# ---------------------------------------------------------------- what the options say

class Inputs:
    """The inputs of a plan in order, the dimension of each, and how the dimensions hang together."""

    def __init__(self, plan: dict, options: Optional[dict] = None):
        options = options or {}
        self.plan = plan
        codes = [plan["currency"], *(c for c in plan.get("exchange", {}) if c != "note")]
        self.all = sorted(uncertain(plan, [], OwnUnits(codes)), key=lambda one: one.pointer.encode())
        self.at = {one.pointer: i for i, one in enumerate(self.all)}
        for pointer, n in options.get("averaged", []):
            one = self.find(pointer)
            one.spread = one.spread.averaged(n)
        self.leader = list(range(len(self.all)))
        for group in options.get("same", []):
            self.join(group)
        self.first = sorted(set(self.leader))
        self.dimension = [self.first.index(i) for i in self.leader]
        self.root = self.correlated(options.get("correlate", []))

    def find(self, pointer: str) -> Input:
        if pointer not in self.at:
            raise ChanceError(f"{pointer} is no uncertain quantity")
        return self.all[self.at[pointer]]

    def beneath(self, pointer: str) -> dict[str, int]:
        return {p[len(pointer):]: i for p, i in self.at.items() if p == pointer or p.startswith(pointer + "/")}

    def join(self, group: list[str]) -> None:
        """Decided: every one of the list has inputs at just the same places."""
        places = [self.beneath(pointer) for pointer in group]
        if len(group) < 2 or not places[0] or any(set(p) != set(places[0]) for p in places):
            raise ChanceError(f"{group} do not have inputs at the same places")
        for suffix in places[0]:
            together = sorted(p[suffix] for p in places)
            if len(set(together)) < len(together) or any(self.leader[i] != i or self.all[i].same for i in together):
                raise ChanceError(f"{group}: an input stands in one list only")
            for i in together[1:]:
                self.leader[i] = together[0]
            self.all[together[0]].same = [self.all[i].pointer for i in together[1:]]

    def correlated(self, pairs: list) -> Optional[np.ndarray]:
        """The root of the matrix of the scores' correlations; any of the same inputs may stand for them."""
        if not pairs:
            return None
        matrix, told = np.eye(len(self.first)), set()
        for one, other, r in pairs:
            self.find(one), self.find(other)
            i, j = self.dimension[self.at[one]], self.dimension[self.at[other]]
            r = float(ev.exact(r))
            if i == j or not -1 < r < 1 or frozenset((i, j)) in told:
                raise ChanceError(f"{one} and {other} cannot be correlated so")
            told.add(frozenset((i, j)))
            matrix[i, j] = matrix[j, i] = r
        try:
            return np.linalg.cholesky(matrix)
        except np.linalg.LinAlgError as impossible:
            raise ChanceError("correlations that cannot hold together") from impossible

    def shares(self, p: np.ndarray) -> np.ndarray:
        """From independent p, one row a dimension, to the correlated ones."""
        if self.root is None:
            return p
        tied = np.any((self.root != 0) & ~np.eye(len(self.root), dtype=bool), axis=1)
        scores = self.root @ special.ndtri(p)
        return np.where(tied[:, None], special.ndtr(scores), p)

    def draw(self, method: str, seed: int, draws: int) -> np.ndarray:
        """p of all draws, one row a dimension."""
        many = len(self.first)
        k = sobol_rows(seed, many, draws) if method == "sobol" else np.array([philox_column(seed, d, draws) for d in range(many)])
        return self.shares(share_of(k).reshape(many, draws))

    def values(self, p: np.ndarray) -> np.ndarray:
        """One row an input, in its own currency; p as `shares` gives them, one row a dimension."""
        return np.array([one.value(p[d]) for one, d in zip(self.all, self.dimension)]).reshape(len(self.all), p.shape[1])
