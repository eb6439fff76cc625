"""The bar: section 20 of the format, from its page alone."""

from __future__ import annotations

import math
from typing import Any

from bench_figures import (NOISE, BenchError, Cautions, Plain, Reader, Shown, Un, Word, above, below, named, percent, total, un)

GOLD = 19.30
WATER = "0.9982 kg/L"
Z_PRINTED = 6e-6        # section 9's z has six digits
DENSITIES = {"Ag": "10.49 kg/L", "Cu": "8.96 kg/L"}


def fine(x: Un) -> Shown:
    return Shown(x * 1000, "fine")


def verdict(z: float) -> str:
    if not above(abs(z), 2):
        return "as expected"
    return "questioned" if not above(abs(z), 3) else "to be acted on"


# ---------------------------------------------------------------- expected and found

class Expected:
    def __init__(self, request: dict, r: Reader):
        charge, to_bar = request["charge"], dict(named(request["to_bar"]))
        assays = dict(named(charge["assays"]))
        missing = [a for a in to_bar if a not in assays]
        if missing:
            raise BenchError(f"{missing[0]} goes to the bar without an assay")
        dry = r.mass(charge["mass"]) * (1 - r.share(charge.get("moisture", "0 %")))
        self.metal = {a: dry * r.grade(assays[a]) * r.share(q) for a, q in to_bar.items()}
        self.mass = total(self.metal.values())

    def fineness(self, analyte: str) -> Un:
        return self.metal[analyte] / self.mass if analyte in self.metal else Un(0.0)

    def told(self) -> dict:
        return {"mass": Shown(self.mass, "kg"), "fineness": {a: fine(self.fineness(a)) for a in self.metal},
                "metal": {a: Shown(q * 1000, "g") for a, q in self.metal.items()}}


def compared(what: str, expected: Un, found: Un, scale: float, unit: str) -> dict:
    size = scale * max(abs(expected.value), abs(found.value))
    difference = found - expected
    told: dict[str, Any] = {"what": Word(what), "expected": Plain(expected * scale, unit), "found": Plain(found * scale, unit),
                            "difference": Plain(difference * scale, unit, floor=1e-12 * size)}
    sd = math.hypot(*(x.sd() if x.sd() > NOISE * abs(x.value) else 0.0 for x in (expected, found)))
    if sd > 0:
        z = difference.value / sd
        told.update(z=Plain(z, near=Z_PRINTED, floor=1e-12 * size / sd / scale), verdict=Word(verdict(z)))
    return told


def found_told(bar: dict, expected: Expected, r: Reader) -> list[dict]:
    told = []
    if "mass" in bar:
        told.append(compared("mass", expected.mass, r.mass(bar["mass"]), 1.0, "kg"))
    for analyte, q in named(bar.get("assays", {})):
        assay = r.grade(q)
        told.append(compared(analyte, expected.fineness(analyte), assay, 1000.0, "fine"))
        if "mass" in bar:
            metal = expected.metal.get(analyte, Un(0.0))
            told.append(compared(analyte + " metal", metal, r.mass(bar["mass"]) * assay, 1000.0, "g"))
    return told


# ---------------------------------------------------------------- weighed in water

def gold_share(density: Un, other: Un) -> Un:
    return (1 / density - 1 / other) / (Un(1 / GOLD) - 1 / other)


def weighing_told(weighing: dict, r: Reader, cautions: Cautions) -> dict:
    air, water = r.mass(weighing["air"]), r.mass(weighing["water"])
    if not (below(0, water.value) and below(water.value, air.value)):
        raise BenchError("weighed in water is less than in air, and above 0")
    density = air / (air - water) * r.density(weighing.get("water_density", WATER))
    others = {a: r.density(q) for a, q in named(weighing.get("densities", DENSITIES))}
    if any(not below(o.value, 19) for o in others.values()):
        raise BenchError("a metal as dense as gold tells nothing")
    cautions.add("density")
    if above(density.value, GOLD):
        cautions.add("gold")
    if below(density.value, min(o.value for o in others.values())):
        cautions.add("light")
    slack = 2 * density.sd() + 0.01 * density.value
    low = min(gold_share(un(density.value - slack), un(o.value)).value for o in others.values())
    high = max(gold_share(un(density.value + slack), un(o.value)).value for o in others.values())
    held = [Plain(1000 * min(1.0, max(0.0, w)), "fine", floor=1e-9) for w in (low, high)]
    return {"density": Shown(density, "kg/L"), "Au": {"low": held[0], "high": held[1]},
            "if": {a: Shown(gold_share(density, o) * 1000, "fine", floor=1e-9) for a, o in others.items()}}


# ---------------------------------------------------------------- melts

def lost(before: Un, after: Un) -> Shown:
    return percent((before - after) / before, floor=1e-11)


def gained(loss: Shown) -> bool:
    return loss.value < -2 * loss.sd and loss.value < -loss.floor


def melt_told(melt: dict, r: Reader, cautions: Cautions) -> dict:
    before, after = melt["before"], melt["after"]
    masses = r.mass(before["mass"]), r.mass(after["mass"])
    told: dict[str, Any] = {"what": Word(melt["what"]), "weight_loss": lost(*masses)}
    later = dict(named(after.get("assays", {})))
    both = [(a, q) for a, q in named(before.get("assays", {})) if a in later]
    if both:
        told["metal_loss"] = {a: lost(masses[0] * r.grade(q), masses[1] * r.grade(later[a])) for a, q in both}
        for loss in told["metal_loss"].values():
            if gained(loss):
                cautions.add("gain", "more", "made")
    return told


def bar(request: dict) -> dict:
    r, cautions = Reader(), Cautions()
    answer: dict[str, Any] = {"format": Word("buttonworth-bar-check/1"), "cautions": cautions}
    if not {"charge", "weighing", "melts"} & set(request):
        raise BenchError("a charge, a weighing or melts")
    if ("charge" in request) != ("to_bar" in request) or ("bar" in request and "charge" not in request):
        raise BenchError("charge and to_bar go together, a bar with them")
    if "charge" in request:
        expected = Expected(request, r)
        answer["expected"] = expected.told()
        if "bar" in request:
            answer["found"] = found_told(request["bar"], expected, r)
    if "weighing" in request:
        answer["weighing"] = weighing_told(request["weighing"], r, cautions)
    if "melts" in request:
        answer["melts"] = [melt_told(m, r, cautions) for m in request["melts"]]
    return answer
