"""Random requests of the bench, sections 15 to 21, mostly good and repeatable from a seed. All data invented.

`random_request(kind, seed)` gives one request. All fields and units are met with in time; uncertain quantities of
every form stand in about a third of the requests. Some few cannot be worked out, and must then be refused.
"""

from __future__ import annotations

import copy
import math
import random
from decimal import Decimal
from typing import Any, Callable, Optional

import bench_flux
import evaluator as ev
import plans

MASS = {**{u: s for u, s in plans.MASS.items()}}
GRADE = plans.GRADE
SHARE = plans.SHARE
LENGTH = {"um": 1e-4, "mm": 0.1, "cm": 1.0, "m": 100.0}
VOLUME = {"L": 1.0, "m3": 1000.0}
DENSITY = {"kg/L": 1.0, "t/m3": 1.0}


def plain(value: float, digits: int) -> str:
    return format(Decimal(f"{value:.{digits}g}"), "f")


class Maker:
    """Makes quantities from one stream of random numbers."""

    def __init__(self, rng: random.Random):
        self.rng = rng
        self.unsure = rng.choice((0.0, 0.0, 0.15, 0.5))

    def chance(self, p: float) -> bool:
        return self.rng.random() < p

    def around(self, low: float, high: float) -> float:
        """Even by ratio."""
        return math.exp(self.rng.uniform(math.log(low), math.log(high)))

    def text(self, value: float, units: dict[str, float], wanted: Optional[str] = None, digits: int = 0) -> str:
        """The figure in a unit in which it is no absurd number."""
        fit = [u for u, s in units.items() if 1e-4 < abs(value) / s < 1e7] or list(units)
        unit = wanted or self.rng.choice(fit)
        return f"{plain(value / units[unit], digits or self.rng.choice((2, 3, 4, 5, 8)))} {unit}"

    def certain(self, value: float, units: dict[str, float]) -> Any:
        return self.text(value, units)

    def q(self, value: float, units: dict[str, float], spread: Optional[float] = None) -> Any:
        """A quantity, uncertain where chance has it so."""
        if not self.chance(self.unsure):
            return self.text(value, units)
        return self.uncertain(value, units, self.around(0.002, 0.06) if spread is None else spread)

    def uncertain(self, value: float, units: dict[str, float], spread: float) -> dict:
        form = self.rng.choice(("sd", "sd", "rsd", "gsd", "triangle", "even", "values", "one"))
        unit = self.text(value, units).split()[-1]

        def at(factor: float, digits: int = 6) -> str:
            return self.text(value * factor, units, unit, digits)
        if form == "sd":
            return {"value": at(1), "sd": at(spread, 3)}
        if form == "rsd":
            return {"value": at(1), "rsd": f"{plain(100 * spread, 3)} %"}
        if form == "gsd":
            return {"median": at(1), "gsd": plain(1 + spread, 5)}
        if form == "triangle":
            return {"low": at(1 - 2 * spread), "mode": at(1 + 0.3 * spread), "high": at(1 + 3 * spread)}
        if form == "even":
            return {"low": at(1 - spread), "high": at(1 + 2 * spread)}
        count = 1 if form == "one" else self.rng.randint(2, 6)
        return {"values": [at(1 + spread * self.rng.uniform(-1, 1)) for _ in range(count)]}

    def mass(self, kg: float) -> Any:
        return self.q(kg, MASS)

    def grade(self, share: float) -> Any:
        return self.q(share, GRADE)

    def share(self, share: float) -> Any:
        return self.q(share, SHARE)

    def plain_share(self, share: float) -> str:
        return self.text(share, SHARE)

    def maybe(self, request: dict, name: str, p: float, make: Callable[[], Any]) -> None:
        if self.chance(p):
            request[name] = make()


# ---------------------------------------------------------------- section 15

def sampling(m: Maker) -> dict:
    grade = m.around(2e-7, 0.02)
    request: dict[str, Any] = {"format": "buttonworth-sampling/1", "grade": m.grade(grade)}
    both = m.rng.choice(("material", "grains", "both", "both"))
    by_mass = m.chance(0.25)
    if both != "grains":
        request["material"] = material(m, grade)
    if both != "material":
        request["grains"] = {"mass": m.q(m.around(1e-9, 1e-5), MASS)} if by_mass else grains(m)
        m.maybe(request["grains"], "mass_spread", 0.5, lambda: m.q(m.around(0.1, 2.5), SHARE))
    request["stages"] = [stage(m, request, by_mass) for _ in range(m.rng.randint(1, 4))]
    if m.chance(0.5):
        request["determinations"] = [m.text(grade * m.rng.uniform(0.5, 1.6), GRADE) for _ in range(m.rng.randint(1, 7))]
        if m.chance(0.3):
            del request["grade"]
    if m.chance(0.4):
        request["duplicates"] = [[m.text(grade * m.rng.uniform(0.6, 1.5), GRADE) for _ in range(2)] for _ in range(m.rng.randint(1, 6))]
    m.maybe(request, "target", 0.5, lambda: m.plain_share(m.around(0.005, 0.5)))
    return request


def material(m: Maker, grade: float) -> dict:
    made = {"top_size": m.q(m.around(0.003, 2), LENGTH), "liberation_size": m.q(m.around(0.001, 0.3), LENGTH),
            "mineral_grade": m.q(max(m.rng.uniform(0.05, 1.0), min(1.0, 2 * grade)) * 0.999, SHARE, 1e-4),
            "mineral_density": m.q(m.rng.uniform(4, 19), DENSITY), "gangue_density": m.q(m.rng.uniform(2.2, 4.8), DENSITY)}
    m.maybe(made, "shape", 0.5, lambda: plain(m.rng.uniform(0.2, 1.0), 2))
    m.maybe(made, "size_range", 0.5, lambda: plain(m.rng.uniform(0.2, 1.0), 2))
    return made


def grains(m: Maker) -> dict:
    made = {"size": m.q(m.around(0.002, 0.2), LENGTH), "density": m.q(m.rng.uniform(14, 19.3), DENSITY)}
    m.maybe(made, "fineness", 0.6, lambda: m.q(m.rng.uniform(0.6, 0.99), SHARE, 0.001))
    return made


def stage(m: Maker, request: dict, by_mass: bool) -> dict:
    made: dict[str, Any] = {"what": m.rng.choice(("scooped", "riffled", "portion", "pulp"))}
    if m.chance(0.8):
        sample = m.around(0.005, 20)
        made["sample"] = m.mass(sample)
        if m.chance(0.05):
            made["lot"] = made["sample"]                # all of it: no error
        else:
            m.maybe(made, "lot", 0.6, lambda: m.mass(sample * m.around(1.3, 300)))
        if "material" in request:
            m.maybe(made, "top_size", 0.5, lambda: m.q(m.around(0.003, 1), LENGTH))
        if "grains" in request and not by_mass:
            m.maybe(made, "grain_size", 0.4, lambda: m.q(m.around(0.002, 0.1), LENGTH))
    if "sample" not in made or m.chance(0.25):
        made["error"] = m.plain_share(m.around(0.003, 0.1))
    m.maybe(made, "repeated", 0.5, lambda: m.chance(0.8))
    return made


def screen_assay(m: Maker) -> dict:
    coarse, grade = m.around(0.0005, 0.1), m.around(1e-6, 1e-2)
    part: dict[str, Any] = {"mass": m.mass(coarse)}
    if m.chance(0.6):
        part["metal"] = m.mass(coarse * grade * m.around(1, 50)) if m.chance(0.95) else "0 g"
    else:
        part["grade"] = m.grade(grade * m.around(1, 50))
    return {"format": "buttonworth-screen-assay/1", "coarse": part, "fine": {"mass": m.mass(coarse * m.around(5, 80)), "grade": m.grade(grade)}}


# ---------------------------------------------------------------- section 16

ASSAYED = {"Au": (2e-5, 4e-3), "Ag": (2e-5, 6e-3), "As": (5e-4, 2.5e-2), "SiO2": (0.05, 0.35)}


def run_sheet(m: Maker) -> dict:
    request: dict[str, Any] = {"format": "buttonworth-run-sheet/1"}
    m.maybe(request, "id", 0.5, lambda: m.rng.choice(("week 14", "K-7", "Größe ½")))
    m.maybe(request, "date", 0.5, lambda: "2026-03-14")
    if m.chance(0.6):
        rinses(m, request)
    else:
        several = [bucket(m) for _ in range(m.rng.randint(1, 3))]
        request["buckets"] = several[0] if len(several) == 1 and m.chance(0.7) else several
    moisture = m.around(0.008, 0.4)
    if m.chance(0.5):
        request["moisture"] = [moisture_sample(m, moisture) for _ in range(m.rng.randint(1, 8))]
    elif m.chance(0.7):
        request["moisture"] = m.share(moisture)
    which = m.rng.sample(list(ASSAYED), m.rng.randint(1, 4))
    if m.chance(0.5):
        request["assays"] = {a: m.grade(m.around(*ASSAYED[a])) for a in which}
    elif m.chance(0.8):
        weighed = m.chance(0.6)
        request["composites"] = [composite(m, which, weighed) for _ in range(m.rng.randint(1, 5))]
    return request


def rinses(m: Maker, request: dict) -> None:
    one, n = m.around(2, 20), m.rng.randint(1, 12)
    spread = m.rng.choice((0.02, 0.1, 0.3))
    request["rinses"] = [m.mass(one * m.rng.uniform(1 - spread, 1 + spread)) for _ in range(n)]
    if n > 4 and m.chance(0.2):
        request["rinses"][2] = m.mass(one * m.rng.choice((0.3, 2.5)))
    if m.chance(0.7):
        request["cycles"] = str(n if m.chance(0.1) else n + m.rng.randint(0, 90))


def bucket(m: Maker) -> dict:
    made = {"count": str(m.rng.randint(1, 60)), "volume": m.q(m.around(5, 60), VOLUME), "bulk_density": m.q(m.rng.uniform(0.9, 4.2), DENSITY)}
    m.maybe(made, "fill", 0.6, lambda: m.share(m.rng.uniform(0.5, 1.05)))
    return made


def moisture_sample(m: Maker, moisture: float) -> dict:
    container, wet = m.around(0.02, 0.5), m.around(0.1, 1.5)
    dry = wet * (1 - moisture * m.rng.uniform(0.8, 1.2))
    if m.chance(0.3):
        return {"wet": m.q(wet, MASS, 2e-4), "dry": m.q(dry, MASS, 2e-4)}
    return {"wet": m.q(wet + container, MASS, 2e-4), "dry": m.q(dry + container, MASS, 2e-4), "container": m.q(container, MASS, 2e-4)}


def composite(m: Maker, which: list[str], weighed: bool) -> dict:
    made: dict[str, Any] = {"what": "day", "assays": {a: m.grade(m.around(*ASSAYED[a])) for a in which if m.chance(0.9)}}
    if weighed:
        made["mass"] = m.mass(m.around(50, 500))
    return made


# ---------------------------------------------------------------- section 17

NETWORKS = (
    [("feed",), ("concentrate", "tailings")],
    [("feed",), ("concentrate", "middlings", "tailings")],
    [("feed",), ("rougher", "tailings"), ("rougher",), ("concentrate", "middlings")],
    [("feed", "return"), ("rougher", "tailings"), ("rougher",), ("concentrate", "return")],
    [("ore", "water"), ("pulp",), ("pulp",), ("concentrate", "tailings")],
    [("feed",), ("left", "right"), ("left",), ("left out",), ("right",), ("right out",), ("left out", "right out"), ("all",)])


class Truth:
    """Flows and grades that balance: products are drawn, what feeds them follows."""

    def __init__(self, m: Maker, network: list, analytes: list[str]):
        self.nodes = [{"what": f"node {i // 2}", "in": list(network[i]), "out": list(network[i + 1])} for i in range(0, len(network), 2)]
        self.streams = list(dict.fromkeys(s for part in network for s in part))
        while not self.draw(m, analytes):
            pass

    def draw(self, m: Maker, analytes: list[str]) -> bool:
        """Each quantity flows in on the feeds and is split at every node by shares drawn; circuits by repetition."""
        enters = [s for s in self.streams if not any(s in n["out"] for n in self.nodes)]
        self.flow: dict[str, dict[str, float]] = {s: {} for s in self.streams}
        feed = {s: m.around(100, 5000) for s in enters}
        for what in ["mass", *analytes]:
            rich = m.around(1e-6, 1e-3) if what != "mass" else 1.0
            now = {s: feed.get(s, 0.0) * (rich * m.rng.uniform(0.5, 1.5) if what != "mass" else 1.0) for s in self.streams}
            shares = [self.split(m, n["out"], what) for n in self.nodes]
            for _ in range(400):
                for node, share in zip(self.nodes, shares):
                    inflow = sum(now[s] for s in node["in"])
                    now.update({s: inflow * f for s, f in zip(node["out"], share)})
            for s in self.streams:
                self.flow[s][what] = now[s]
        return all(f["mass"] > sum(v for k, v in f.items() if k != "mass") for f in self.flow.values())

    @staticmethod
    def split(m: Maker, out: list[str], what: str) -> list[float]:
        weights = [m.around(0.02, 0.3) if what == "mass" else m.rng.uniform(0.3, 0.9) for _ in out]
        if what == "mass":
            weights[-1] = 1.0
        else:
            weights[-1] = m.rng.uniform(0.05, 0.5)
        return [w / sum(weights) for w in weights]


def balance(m: Maker) -> dict:
    analytes = m.rng.sample(["Au", "Ag", "S", "SnO2"], m.rng.randint(0, 3))
    truth = Truth(m, m.rng.choice(NETWORKS), analytes)
    error = m.rng.choice((0.0, 0.01, 0.03))
    weighed, assayed = m.rng.choice(((1.0, 1.0), (0.7, 1.0), (0.8, 0.9)) + (((0.0, 1.0), (0.4, 0.95)) if len(analytes) > 1 else ()))
    if not analytes:
        weighed = max(weighed, 0.9)
    streams = {s: measured(m, truth.flow[s], error, weighed, assayed) for s in truth.streams}
    request: dict[str, Any] = {"format": "buttonworth-balance/1", "streams": streams, "nodes": truth.nodes}
    if error or weighed or len(analytes) != 1 or len(truth.streams) != 3 or m.chance(0.3):
        request["errors"] = {"mass": m.plain_share(m.around(0.003, 0.05)), "assays": m.plain_share(m.around(0.01, 0.1))}
        if m.chance(0.05):
            del request["errors"]["mass"]
    if analytes and m.chance(0.5):
        request["minerals"] = {a: m.share(m.rng.uniform(0.3, 0.95)) for a in analytes if m.chance(0.7)}
    return request


def measured(m: Maker, flow: dict[str, float], error: float, weighed: float, assayed: float) -> dict:
    made: dict[str, Any] = {}

    def noisy(value: float) -> float:
        return value * (1 + error * max(-3.0, min(3.0, m.rng.gauss(0, 1))))

    def one(value: float, units: dict[str, float]) -> Any:
        if m.chance(m.unsure):
            return m.uncertain(noisy(value), units, max(error, 0.004) * m.rng.uniform(0.5, 2))
        return m.text(noisy(value), units, None, 9 if error == 0 else 5)
    moisture = m.rng.choice((0.0, 0.0, m.rng.uniform(0.01, 0.2)))
    if m.chance(weighed):
        made["mass"] = one(flow["mass"] / (1 - moisture), MASS)
        if moisture:
            made["moisture"] = f"{moisture * 100!r} %"
    assays = {a: one(v / flow["mass"], GRADE) for a, v in flow.items() if a != "mass" and m.chance(assayed)}
    if assays:
        made["assays"] = assays
    return made


# ---------------------------------------------------------------- section 18

def table_test(m: Maker) -> dict:
    request: dict[str, Any] = {"format": "buttonworth-table-test/1", "of": m.rng.choice(("Au", "Ag", "SnO2"))}
    kind = m.rng.choice(("points", "points", "graded", "products"))
    count = m.rng.randint(2, 8)
    pulls = sorted(m.around(0.004, 0.5) for _ in range(count))
    if count > 3 and m.chance(0.2):
        pulls[1] = pulls[0]
    found = [recovery(m, y) for y in pulls] if m.chance(0.03) else true_recoveries(m, pulls)
    if kind == "points":
        request["points"] = [[m.text(y, SHARE, None, 6), m.share(r)] for y, r in zip(pulls, found)]
    elif kind == "graded":
        feed = m.around(1e-6, 5e-3)
        request["graded"] = [[m.text(r * feed / y, GRADE, None, 6), m.share(r)] for y, r in zip(pulls, found)]
        request["feed"] = m.text(feed, GRADE, None, 6)
    else:
        request["products"] = products(m, pulls, found)
    m.maybe(request, "error", 0.5, lambda: m.plain_share(m.around(0.003, 0.04)))
    m.maybe(request, "mineral_grade", 0.4, lambda: m.plain_share(m.rng.uniform(0.3, 0.95)))
    m.maybe(request, "form", 0.25, lambda: m.rng.choice(("odds", "logit", "saturating")))
    m.maybe(request, "at", 0.6, lambda: [m.plain_share(m.around(0.003, 0.6)) for _ in range(m.rng.randint(1, 4))])
    m.maybe(request, "tables", 0.3, lambda: m.rng.choice((["shaker"], ["shaker", "second/table"])))
    return request


def recovery(m: Maker, pull: float) -> float:
    return m.rng.uniform(0.2, 0.95)


def true_recoveries(m: Maker, pulls: list[float]) -> list[float]:
    form, noise = m.rng.choice(("odds", "logit", "saturating")), m.rng.choice((0.0, 0.005, 0.03))
    a, b, s = m.rng.uniform(2, 4), m.rng.uniform(0.5, 1.3), m.around(8, 200)
    limit, rate = m.rng.uniform(0.6, 0.98), m.around(5, 60)

    def at(y: float) -> float:
        odds = y / (1 - y)
        if form == "odds":
            return s * odds / (1 + s * odds)
        if form == "logit":
            return 1 / (1 + math.exp(-a - b * math.log(odds)))
        return -limit * math.expm1(-rate * y)
    return [min(0.995, max(0.01, at(y) + noise * m.rng.gauss(0, 1))) for y in pulls]


def products(m: Maker, pulls: list[float], found: list[float]) -> list[dict]:
    mass, grade, made, at = m.around(20, 2000), m.around(1e-6, 1e-3), [], (0.0, 0.0)
    for y, r in [*sorted(zip(pulls, sorted(found))), (1.0, 1.0)]:
        pull, metal = max(y - at[0], 1e-4), max(r - at[1], 1e-4)
        made.append({"what": f"product {len(made) + 1}", "mass": m.mass(mass * pull), "grade": m.grade(metal * grade / pull)})
        at = (y, r)
    return made


# ---------------------------------------------------------------- section 19

GENTLE = [n for n in bench_flux.MINERALS if n not in ("cinnabar",)]
FORMULAS = ("CaSO4", "PbO", "ZnO", "Fe", "Cu", "C", "Bi2S3", "MnO2", "FeCO3", "Al2(SO4)3", "Cu2O", "K2O", "NaCl", "As2S3", "PbTe", "TeO2",
            "U3O8", "ThSiO4", "YPO4", "FeNb2O6", "Ta2O5", "V2O5", "NiS", "CoAsS", "CdS", "FeSe", "B2O3", "Na3AlF6", "KCl", "MgF2", "K2SO4",
            "Na2SO4", "PbSO4", "Au2Te", "Cu5FeS4", "Al2SiO4F2")
NOBLE = ("Au", "Ag", "Pt", "Pd")


def charge(m: Maker) -> dict:
    minerals = {name: m.around(0.005, 0.4) for name in m.rng.sample(GENTLE, m.rng.randint(1, 6))}
    minerals.update({f: m.around(0.002, 0.05) for f in m.rng.sample(FORMULAS, m.rng.choice((0, 0, 1, 2)))})
    minerals.update({e: m.around(0.0005, 0.4) for e in m.rng.sample(NOBLE, m.rng.randint(1, 3))})
    scale = (0.999 if m.chance(0.15) else m.rng.uniform(0.5, 0.98)) / sum(minerals.values())
    mass = m.around(0.2, 60)
    request: dict[str, Any] = {"format": "buttonworth-charge/1", "currency": "USD",
                               "charge": {"mass": m.text(mass, MASS, "kg", 4), "minerals": {n: f"{plain(100 * s * scale, 4)} %" for n, s in minerals.items()}}}
    if m.chance(0.1):
        told = request["charge"]["minerals"]
        told["rutile"] = "0 %"
        told["rutile"] = f"{100 - sum(Decimal(q.split()[0]) for q in told.values())} %"        # exactly all of it
    m.maybe(request, "exchange", 0.3, lambda: {"PEN": "0.268 USD"})
    money = ["USD", "USc"] + (["PEN"] if "exchange" in request else [])
    m.maybe(request, "flux", 0.8, lambda: [reagent(m, money) for _ in range(m.rng.randint(1, 4))])
    m.maybe(request, "degree", 0.6, lambda: m.rng.choice((*bench_flux.DEGREES, "1.25", "0.8", "1.5")))
    m.maybe(request, "oxidise", 0.55, lambda: oxidise(m))
    m.maybe(request, "reagent_prices", 0.5, lambda: {r: price(m, money) for r in m.rng.sample(list(bench_flux.REAGENTS), 4)})
    in_slag(m, request, [e for e in NOBLE if e in minerals], money)
    m.maybe(request, "crucible", 0.5, lambda: {"volume": m.text(m.around(0.5, 30), VOLUME), "fill": m.plain_share(m.rng.uniform(0.4, 0.9)),
                                               "density": m.text(m.rng.uniform(1.5, 3.5), DENSITY)})
    return request


def price(m: Maker, money: list[str]) -> str:
    code = m.rng.choice(money)
    value = m.around(0.2, 8) / plans.WORTH[code]
    unit, scale = m.rng.choice((("kg", 1.0), ("t", 1000.0), ("lb", 0.45359237)))
    return f"{plain(value * scale, 4)} {code}/{unit}"


def reagent(m: Maker, money: list[str]) -> dict:
    names = list(bench_flux.REAGENTS) if m.chance(0.85) else ["MnO2", "CaO", "NaCl", "K2CO3", "Na2SO4", "NaOH", "Ca(NO3)2", "PbO", "Na3AlF6"]
    made = {"reagent": m.rng.choice(names), "dose": f"{plain(m.around(0.01, 0.6), 3)} kg/kg"}
    if m.chance(0.05):
        made["dose"] = "0 kg/kg"
    m.maybe(made, "price", 0.6, lambda: price(m, money))
    return made


def oxidise(m: Maker) -> dict:
    made: dict[str, Any] = {"with": m.rng.choice(bench_flux.NITRATES)}
    m.maybe(made, "sulphur_to", 0.6, lambda: m.rng.choice(("sulphur dioxide", "sulphate")))
    m.maybe(made, "excess", 0.5, lambda: m.plain_share(m.rng.uniform(0.0, 0.4)))
    m.maybe(made, "ore_oxygen", 0.6, lambda: m.chance(0.7))
    return made


def in_slag(m: Maker, request: dict, metals: list[str], money: list[str]) -> None:
    if m.chance(0.3):
        return
    request["slag_grade"] = {e: m.grade(m.around(5e-6, 5e-4)) for e in metals if m.chance(0.9)}
    if m.chance(0.7):
        worth = {"Au": 85000.0, "Ag": 1000.0, "Pt": 31000.0, "Pd": 33000.0}
        request["prices"] = {e: m.q(worth[e], {f"USD/{u}": 1 / s for u, s in MASS.items()}) for e in metals if m.chance(0.9)}
        if m.chance(0.7):
            request["retreatment"] = {"recovery": {e: m.share(m.rng.uniform(0.3, 0.95)) for e in request["slag_grade"]
                                                   if e in request["prices"] or m.chance(0.05)},
                                      "cost": m.q(0.15, {"USD/kg": 1.0, "USD/t": 1e-3})}


# ---------------------------------------------------------------- section 20

def bar(m: Maker) -> dict:
    request: dict[str, Any] = {"format": "buttonworth-bar/1"}
    parts = m.rng.sample(("charge", "weighing", "melts"), m.rng.randint(1, 3))
    if "charge" in parts:
        bar_charge(m, request)
    if "weighing" in parts:
        request["weighing"] = weighing(m)
    if "melts" in parts:
        request["melts"] = [melt(m) for _ in range(m.rng.randint(1, 3))]
    return request


def bar_charge(m: Maker, request: dict) -> None:
    shares = {"Au": m.rng.uniform(0.05, 0.5), "Ag": m.rng.uniform(0.01, 0.2), "Cu": m.rng.uniform(0.001, 0.1), "Pb": 0.02}
    which = ["Au"] + [a for a in ("Ag", "Cu", "Pb") if m.chance(0.6)]
    mass = m.around(0.2, 50)
    request["charge"] = {"mass": m.mass(mass), "assays": {a: m.q(shares[a], SHARE) for a in which}}
    m.maybe(request["charge"], "moisture", 0.5, lambda: m.share(m.rng.uniform(0.001, 0.1)))
    sent = {a: m.rng.uniform(0.5, 0.94) for a in which if a == "Au" or m.chance(0.8)}
    request["to_bar"] = {a: m.q(s, SHARE, 0.01) for a, s in sent.items()}
    if m.chance(0.75):
        weight = mass * sum(shares[a] * s for a, s in sent.items())
        told: dict[str, Any] = {}
        if m.chance(0.85):
            told["mass"] = m.mass(weight * m.rng.uniform(0.95, 1.03))
        if not told or m.chance(0.8):
            told["assays"] = {a: m.q(mass * shares[a] * sent.get(a, 0.01) / weight * m.rng.uniform(0.9, 0.94), SHARE) for a in which if m.chance(0.8)}
        request["bar"] = told


def weighing(m: Maker) -> dict:
    air, density = m.around(0.05, 20), m.rng.uniform(9.0, 19.6)
    made: dict[str, Any] = {"air": m.q(air, MASS, 1e-4), "water": m.q(air * (1 - 0.998 / density), MASS, 1e-4)}
    m.maybe(made, "water_density", 0.4, lambda: m.q(m.rng.uniform(0.99, 1.0), DENSITY, 1e-4))
    densities = {"Ag": 10.49, "Cu": 8.96, "Pb": 11.34, "Fe": 7.87}
    m.maybe(made, "densities", 0.5, lambda: {a: m.q(densities[a], DENSITY, 1e-3) for a in m.rng.sample(list(densities), m.rng.randint(1, 4))})
    return made


def melt(m: Maker) -> dict:
    mass, which = m.around(0.1, 30), [a for a in ("Au", "Ag", "Cu") if m.chance(0.7)]
    shares = {"Au": 0.82, "Ag": 0.1, "Cu": 0.03}
    loss = m.rng.uniform(-0.001, 0.04)
    made: dict[str, Any] = {"what": m.rng.choice(("remelt", "with borax")), "before": {"mass": m.q(mass, MASS, 1e-4)}, "after": {"mass": m.q(mass * (1 - loss), MASS, 1e-4)}}
    for name, part in (("before", 1.0), ("after", 1 / (1 - loss))):
        if which and m.chance(0.85):
            made[name]["assays"] = {a: m.q(shares[a] * part * m.rng.uniform(0.995, 1.005), SHARE, 2e-3) for a in which if m.chance(0.9)}
    return made


# ---------------------------------------------------------------- section 21

def lot_size(m: Maker) -> dict:
    while True:
        plan = plans.random_plan(m.rng.randrange(10**9))
        if "parts" in plan.get("lot", {}) or "apart" in plan.get("lot", {}) or '"best"' in repr(plan).replace("'", '"'):
            continue
        day = m.around(50, 4000)
        if works(plan, day):
            break
    hours = float(ev.Units({}).hours(plan.get("day", "24 h")))
    request: dict[str, Any] = {"format": "buttonworth-lot-size/1", "plan": plan, "makes": f"{plain(day / 30 / hours, 4)} {m.rng.choice(('kg/h',))}",
                               "longest": f"{m.rng.randint(20, 120)} d"}
    m.maybe(request, "shortest", 0.6, lambda: m.rng.choice(("1 d", "12 h", "3 d", "5.5 d")))
    m.maybe(request, "fixed", 0.6, lambda: f"{m.rng.randint(0, 900)} {plan['currency']}")
    return request


def works(plan: dict, mass: float) -> bool:
    """Can it be worked out at a small lot and at a large one?"""
    tried = copy.deepcopy(plan)
    for factor in (0.01, 1.0, 4.0):
        try:
            tried["lot"]["wet_mass"] = f"{plain(mass * factor, 6)} kg"
            ev.compare(tried)
        except (ev.PlanError, KeyError):
            return False
    return True


KINDS: dict[str, Callable[[Maker], dict]] = {
    "sampling": sampling, "screen-assay": screen_assay, "run-sheet": run_sheet, "balance": balance, "table-test": table_test,
    "charge": charge, "bar": bar, "lot-size": lot_size}


def random_request(kind: str, seed: int) -> dict:
    return KINDS[kind](Maker(random.Random(f"{kind} {seed}")))
