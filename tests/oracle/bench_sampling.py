"""Sampling, the screen assay and the lot from a run sheet: sections 15 and 16 of the format, from its page alone."""

from __future__ import annotations

import math
from statistics import median
from typing import Any, Optional

from bench_figures import (BenchError, Cautions, Plain, Reader, Shown, Un, Word, above, below, carried, mean_of, mean_variance,
                           named, per_tonne, percent, total, variance)

FEW_GRAINS = 20
MANY_GRAINS = 5000
PRINTED_SD = 5e-4       # four digits: the rsd of a quantity is an sd


# ---------------------------------------------------------------- section 15

def poisson_within(n: float, low: float, high: float) -> float:
    """Chance that a Poisson count of expectation n lies within low to high, ends included."""
    if n > MANY_GRAINS and low <= 0.5 * n and high >= 1.5 * n:
        return 1.0                              # what is outside is below exp(-n/12)
    first, last = max(math.ceil(low - 1e-12 * n), 0), math.floor(high + 1e-12 * n)
    return math.fsum(math.exp(k * math.log(n) - n - math.lgamma(k + 1)) for k in range(first, last + 1))


def poisson_cdf(count: int, n: float) -> float:
    return math.fsum(math.exp(k * math.log(n) - n - math.lgamma(k + 1)) for k in range(count + 1))


def exact_limits(count: int, outside: float = 0.05) -> tuple[float, float]:
    """The expectations that a count of so many leaves open, each end with half the chance outside, by bisection."""
    def solved(kept: int, chance: float) -> float:
        low, high = 1e-12, 10.0 * count + 50
        for _ in range(200):
            middle = (low + high) / 2
            low, high = (middle, high) if poisson_cdf(kept, middle) > chance else (low, middle)
        return low
    return (solved(count - 1, 1 - outside / 2) if count else 0.0), solved(count, outside / 2)


def gy_constant(grade: float, material: dict, top: Optional[float], r: Reader) -> float:
    """K of Gy's fundamental error, in kg: relative variance = K (1/sample - 1/lot)."""
    a = grade / r.grade(material.get("mineral_grade", "100 %")).value
    if not below(a, 1):
        raise BenchError("the grade is not below the mineral's")
    rho_m, rho_g = (r.density(material[k]).value for k in ("mineral_density", "gangue_density"))
    d = r.length(material["top_size"]).value if top is None else top
    liberation = min(1.0, math.sqrt(r.length(material["liberation_size"]).value / d))
    c = (1 - a) / a * ((1 - a) * rho_m + a * rho_g)
    f, g = (float(r.number(material.get(k, default)).value) for k, default in (("shape", "0.5"), ("size_range", "0.25")))
    return f * g * c * liberation * d**3 / 1000      # g/cm3 x cm3 is grams


def grain_mass(grains: dict, size: Optional[float], r: Reader) -> float:
    """Mean mass of gold in a grain, in kg."""
    if "mass" in grains:
        if size is not None:
            raise BenchError("a grain size goes with grains of a size")
        return r.mass(grains["mass"]).value
    d = r.length(grains["size"]).value if size is None else size
    return math.pi / 6 * d**3 * r.density(grains["density"]).value * r.grade(grains.get("fineness", "1000 fine")).value / 1000


class Stage:
    """One stage of sampling: relative variances and what is said of it."""

    def __init__(self, request: dict, stage: dict, grade: float, r: Reader, cautions: Cautions):
        self.r, self.stage, self.grade, self.cautions = r, stage, grade, cautions
        self.told: dict[str, Any] = {"what": Word(stage["what"])}
        self.constant: dict[str, float] = {}
        own = r.share(stage["error"]).value if "error" in stage else 0.0
        applies = "stated"
        if "sample" in stage:
            self.measure(request)
            applies = self.which()
        elif "error" not in stage:
            raise BenchError("a stage has a sample or an error")
        self.variance = own * own + (self.constant[applies] * self.thinned if applies != "stated" else 0.0)
        self.told.update(applies=Word(applies), error=percent(math.sqrt(self.variance)))
        if applies != "stated" and "target" in request:
            target = r.share(request["target"]).value
            wanted = 1 / (target * target / self.constant[applies] + self.per_lot)
            self.told["smallest_sample"] = Plain(wanted * 1000, "g")

    def length(self, name: str) -> Optional[float]:
        return self.r.length(self.stage[name]).value if name in self.stage else None

    def measure(self, request: dict) -> None:
        sample = self.r.mass(self.stage["sample"]).value
        self.per_lot = 1 / self.r.mass(self.stage["lot"]).value if "lot" in self.stage else 0.0
        if below(1, sample * self.per_lot):
            raise BenchError("the lot is smaller than the sample")
        self.thinned = max(0.0, 1 / sample - self.per_lot)
        if "material" not in request and "grains" not in request:
            raise BenchError("a sample wants material or grains")
        if "material" in request:
            self.fundamental(request["material"])
        if "grains" in request:
            self.count(request["grains"], sample)
        elif above(self.top, 0.1) and below(sample, 0.050):
            self.cautions.add("top size", "coarse")

    def fundamental(self, material: dict) -> None:
        top = self.length("top_size")
        self.top = self.r.length(material["top_size"]).value if top is None else top
        self.constant["fundamental error"] = k = gy_constant(self.grade, material, top, self.r)
        self.told["fundamental_error"] = percent(math.sqrt(k * self.thinned))

    def count(self, grains: dict, sample: float) -> None:
        one = grain_mass(grains, self.length("grain_size"), self.r)
        uneven = self.r.share(grains.get("mass_spread", "0 %")).value
        self.grains = sample * self.grade / one
        self.constant["grain count"] = k = one * (1 + uneven * uneven) / self.grade
        self.told.update(grains=Plain(self.grains), grain_error=percent(math.sqrt(k * self.thinned)),
                         within_half=percent(poisson_within(self.grains, 0.5 * self.grains, 1.5 * self.grains)))
        if below(self.grains, FEW_GRAINS):
            self.cautions.add("grains")

    def which(self) -> str:
        if "grain count" not in self.constant:
            return "fundamental error"
        if below(self.grains, FEW_GRAINS) or "fundamental error" not in self.constant:
            return "grain count"
        worse = above(self.constant["grain count"], self.constant["fundamental error"])
        return "grain count" if worse else "fundamental error"


def sampling(request: dict) -> dict:
    r, cautions = Reader(), Cautions()
    found = [r.grade(q).value for q in request.get("determinations", [])]
    if "grade" not in request and not found:
        raise BenchError("grade is wanted")
    grade = r.grade(request["grade"]).value if "grade" in request else mean_of(found)
    stages = [Stage(request, s, grade, r, cautions) for s in request["stages"]]
    again = [bool(s.get("repeated")) for s in request["stages"]]
    once = math.fsum(s.variance for s, a in zip(stages, again) if not a)
    repeated = math.fsum(s.variance for s, a in zip(stages, again) if a) / max(1, len(found))
    seen = mean_variance(found) / mean_of(found) ** 2 if found else 0.0
    error = math.sqrt(once + max(repeated, seen))
    answer: dict[str, Any] = {"format": Word("buttonworth-sampling-error/1"), "grade": Plain(grade * 1e6, "g/t"),
                              "stages": [s.told for s in stages], "error": percent(error)}
    if found:
        answer["determinations"] = determinations(found)
        if len(found) < 4:
            cautions.add("determination")
    if "duplicates" in request:
        answer["duplicates"] = duplicates([[r.grade(q).value for q in pair] for pair in request["duplicates"]])
    value = mean_of(found) if found else grade
    answer["result"] = {"value": Plain(value * 1e6, "g/t"), "rsd": percent(error, near=PRINTED_SD)} if error else Plain(value * 1e6, "g/t")
    answer["cautions"] = cautions
    return answer


def determinations(found: list[float]) -> dict:
    made: dict[str, Any] = {"count": Plain(len(found)), "mean": Plain(mean_of(found) * 1e6, "g/t")}
    if len(found) > 1:
        sd = math.sqrt(variance(found))
        made.update(sd=Plain(sd * 1e6, "g/t"), sd_of_mean=Plain(sd / math.sqrt(len(found)) * 1e6, "g/t"))
    return made


def duplicates(pairs: list[list[float]]) -> dict:
    if any(a + b == 0 for a, b in pairs):
        raise BenchError("a pair of zeros has no relative difference")
    squares = math.fsum(((a - b) / ((a + b) / 2)) ** 2 for a, b in pairs)
    return {"pairs": Plain(len(pairs)), "error": percent(math.sqrt(squares / (2 * len(pairs))))}


def screen_assay(request: dict) -> dict:
    r, cautions = Reader(), Cautions()
    coarse, fine = request["coarse"], request["fine"]
    coarse_mass, fine_mass = r.mass(coarse["mass"]), r.mass(fine["mass"])
    metal = r.mass(coarse["metal"]) if "metal" in coarse else coarse_mass * r.grade(coarse["grade"])
    if above(metal.value, coarse_mass.value):
        raise BenchError("more metal than the coarse part weighs")
    all_metal = metal + fine_mass * r.grade(fine["grade"])
    answer: dict[str, Any] = {"format": Word("buttonworth-screened-grade/1"),
                              "grade": per_tonne(all_metal / (coarse_mass + fine_mass)), "cautions": cautions}
    if all_metal.value > 0:
        share = metal / all_metal
        answer["coarse_share"] = percent(share)
        if above(share.value, 0.2):
            cautions.add("coarse")
    return answer


# ---------------------------------------------------------------- section 16

def far(figures: list[float]) -> int:
    """How many lie far from the rest: section 11's rule on the figures as they are, and beyond 1 % of the median."""
    if len(figures) < 5:
        return 0
    middle = median(figures)
    reach = 3.5 * 1.4826 * median(abs(f - middle) for f in figures)
    return sum(abs(f - middle) > max(reach, 0.01 * abs(middle)) for f in figures)


def rinse_mass(request: dict, r: Reader, answer: dict, cautions: Cautions) -> Un:
    weighed = [r.mass(q) for q in request["rinses"]]
    n, masses = len(weighed), [w.value for w in weighed]
    cycles = int(request.get("cycles", n))
    if n > cycles:
        raise BenchError("more rinses than cycles")
    answer["cycle"] = {"count": Plain(cycles), "weighed": Plain(n), "mean": Plain(mean_of(masses), "kg")}
    if n > 1:
        answer["cycle"]["sd"] = Plain(math.sqrt(variance(masses)), "kg")
    if far(masses):
        cautions.add("far", "rest", "cycle")
    if "cycles" not in request:
        return total(weighed)
    if n == 1 and cycles > 1:
        cautions.add("one", "alone", "spread")
    if below(n, cycles / 3):
        cautions.add("third", "weighed")
    among = mean_variance(masses) * (1 - n / cycles)
    weighing = math.fsum(w.sd() ** 2 for w in weighed) / n**2
    return Un.source(cycles * mean_of(masses), cycles * math.sqrt(among + weighing))


def bucket_mass(buckets: Any, r: Reader, cautions: Cautions) -> Un:
    masses = []
    for b in buckets if isinstance(buckets, list) else [buckets]:
        fill, density = r.share(b.get("fill", "100 %")), r.density(b["bulk_density"])
        if below(density.value, 1) or above(density.value, 4):
            cautions.add("density")
        if above(fill.value, 1):
            cautions.add("fill")
        masses.append(r.number(b["count"]) * r.litres(b["volume"]) * fill * density)
    return total(masses)


def unusual(moisture: float) -> bool:
    return below(moisture, 0.01) or above(moisture, 0.35)


def read_moisture(given: Any, r: Reader, answer: dict, cautions: Cautions) -> Un:
    if not isinstance(given, list):
        one = r.share(given)
        if unusual(one.value):
            cautions.add("moisture")
        return one
    several = []
    for m in given:
        wet, dry, container = r.mass(m["wet"]), r.mass(m["dry"]), r.mass(m.get("container", "0 g"))
        if above(dry.value, wet.value) or above(container.value, dry.value):
            raise BenchError("weighings that cannot be")
        several.append((wet - dry) / (wet - container))
    figures = [m.value for m in several]
    answer["moistures"] = [percent(m) for m in several]
    for m in figures:
        if unusual(m):
            cautions.add("moisture")
    if far(figures):
        cautions.add("far", "rest", "moisture")
    weighing = math.fsum(m.sd() ** 2 for m in several) / len(several) ** 2
    return Un.source(mean_of(figures), math.sqrt(max(mean_variance(figures), weighing)))


def composite_assays(composites: list, r: Reader, cautions: Cautions) -> dict[str, Un]:
    with_mass = ["mass" in c for c in composites]
    if any(with_mass) and not all(with_mass):
        raise BenchError("masses of all composites or of none")
    read = [(r.mass(c["mass"]) if "mass" in c else Un(1.0), {a: r.grade(q) for a, q in named(c["assays"])}) for c in composites]
    assays = {}
    for analyte in dict.fromkeys(a for _, has in read for a in has):
        having = [(m, has[analyte]) for m, has in read if analyte in has]
        if len(having) < len(read):
            cautions.add(analyte)
        assays[analyte] = total(m * a for m, a in having) / total(m for m, _ in having)
    return assays


def run_sheet(request: dict) -> dict:
    r, cautions = Reader(), Cautions()
    answer: dict[str, Any] = {"format": Word("buttonworth-lot/1")}
    wet = rinse_mass(request, r, answer, cautions) if "rinses" in request else bucket_mass(request["buckets"], r, cautions)
    moisture = read_moisture(request["moisture"], r, answer, cautions) if "moisture" in request else Un(0.0)
    if "composites" in request:
        assays = composite_assays(request["composites"], r, cautions)
        told = {a: per_tonne(q) for a, q in assays.items()}
    else:
        given = dict(named(request.get("assays", {})))
        assays = {a: r.grade(q) for a, q in given.items()}
        told = {a: Word(q) for a, q in given.items()}
    if above(sum(a.value for a in assays.values()), 1):
        raise BenchError("the assays come to more than 100 %")
    dry = wet * (1 - moisture)
    lot: dict[str, Any] = carried(request, "id", "date")
    lot["wet_mass"] = Shown(wet, "kg")
    if "moisture" in request:
        lot["moisture"] = percent(moisture) if isinstance(request["moisture"], list) else Word(request["moisture"])
    if assays:
        lot["assays"] = told
        answer["content"] = {a: Shown(dry * q * 1000, "g") for a, q in assays.items()}
    return {**answer, "lot": lot, "dry_mass": Shown(dry, "kg"), "cautions": cautions}
