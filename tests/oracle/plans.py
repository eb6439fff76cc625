"""Random plans of format 1: wide, mostly valid, repeatable from a seed.

`random_plan(seed)` gives one plan. About one in four is an edge case: a limit,
band, step, tie or whole melt put exactly (or a hair beside) where the plan's own
figures land. A few are broken on purpose and must be refused as a whole.
"""

from __future__ import annotations

import copy
import random
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Any, Callable, Optional

import evaluator as ev

ANALYTES = {            # lowest and highest assay of a lot, as a mass fraction
    "Au": (2e-5, 4e-3), "Ag": (2e-5, 6e-3), "As": (5e-4, 2.5e-2), "Sb": (1e-4, 8e-3),
    "Hg": (5e-7, 1.5e-4), "Cu": (1e-4, 1.5e-2), "Pb": (1e-4, 3e-2), "S": (5e-3, 0.12),
    "Bi": (1e-5, 3e-3), "SiO2": (0.05, 0.35), "Fe": (0.02, 0.2)}
PAYABLE = ("Au", "Ag", "Cu", "Pb")
HARMFUL = ("As", "Sb", "Hg", "Bi", "Pb", "S")
PRICE = {"Au": 85000.0, "Ag": 1000.0, "Cu": 9.0, "Pb": 2.0}          # USD per kg
WORTH = {"USD": 1.0, "PEN": 0.268, "EUR": 1.08, "GHS": 0.065, "USc": 0.01}
MASS = {"g": 1e-3, "kg": 1.0, "t": 1e3, "lb": 0.45359237, "st": 907.18474, "lt": 1016.0469088,
        "ozt": 0.0311034768, "dwt": 0.00155517384, "gr": 6.479891e-5}
GRADE = {"%": 1e-2, "g/t": 1e-6, "mg/kg": 1e-6, "ppm": 1e-6, "kg/t": 1e-3, "ppb": 1e-9,
         "ozt/st": 3.4285714e-5, "ozt/lt": 3.0612245e-5, "ozt/t": 3.11034768e-5,
         "dwt/st": 1.7142857e-6, "fine": 1e-3, "kt": 1 / 24}
SHARE = {"%": 1e-2, "fine": 1e-3}
TIME = {"min": 1 / 60, "h": 1.0, "d": 24.0}                           # hours
REAGENTS = ("borax", "borax decahydrate", "soda ash", "silica", "potassium nitrate",
            "sodium nitrate", "fluorspar")


def plain(value: float, digits: int) -> str:
    """A decimal without exponent, of so many significant digits."""
    return format(Decimal(f"{value:.{max(digits, 1)}g}"), "f")


def long_decimal(x: Fraction, digits: int = 24) -> str:
    with localcontext() as context:
        context.prec = digits
        return format(Decimal(x.numerator) / Decimal(x.denominator), "f")


class Maker:
    """Makes one plan from one stream of random numbers."""

    def __init__(self, rng: random.Random):
        self.rng = rng
        self.unsure = rng.choice((0.0, 0.0, 0.04, 0.15))
        self.plan: dict[str, Any] = {}
        self.codes: list[str] = []
        self.has: list[str] = []
        self.grade_guess: dict[str, float] = {}

    # -- choices

    def maybe(self, chance: float) -> bool:
        return self.rng.random() < chance

    def between(self, low: float, high: float) -> float:
        return self.rng.uniform(low, high)

    def spread(self, low: float, high: float) -> float:
        """Between low and high, evenly in the logarithm."""
        return low * (high / low) ** self.rng.random()

    def some(self, of: Any, least: int, most: int) -> list:
        of = list(of)
        k = min(len(of), self.rng.randint(least, most))
        keep = set(self.rng.sample(of, k))
        return [x for x in of if x in keep]

    # -- quantities

    def write(self, value: float, units: dict[str, float], unit: str, digits: int) -> str:
        return f"{plain(value / units[unit], digits)} {unit}"

    def quantity(self, value: float, units: dict[str, float], sure: bool = False) -> Any:
        unit = self.rng.choice(list(units))
        digits = self.rng.choice((2, 3, 3, 4, 5, 7))
        def one(v: float) -> str:
            return self.write(v, units, unit, digits)
        if sure or not self.maybe(self.unsure):
            return one(value)
        return self.uncertain(value, one, units, unit)

    def uncertain(self, value: float, one: Callable[[float], str], units: dict[str, float],
                  unit: str) -> dict:
        form = self.rng.randrange(6)
        wide = abs(value) * self.between(0.01, 0.1)
        if form == 0:
            return {"value": one(value), "sd": self.write(wide, units, unit, 2)}
        if form == 1:
            return {"value": one(value), "rsd": f"{plain(self.between(0.5, 9), 2)} %"}
        if form == 2:
            return {"median": one(value), "gsd": plain(self.between(1.01, 1.25), 3)}
        if form == 3:
            return {"low": one(value - wide - wide), "mode": one(value), "high": one(value + wide)}
        if form == 4:
            return {"low": one(value - wide), "high": one(value + wide)}
        n = self.rng.randint(2, 6)
        return {"values": [one(value * self.between(0.97, 1.03)) for _ in range(n)]}

    def mass(self, kg: float, sure: bool = False) -> Any:
        return self.quantity(kg, MASS, sure)

    def grade(self, fraction: float, sure: bool = False) -> Any:
        return self.quantity(fraction, GRADE, sure)

    def share(self, fraction: float, sure: bool = False) -> Any:
        """Near 100 % always sure, so that no mean comes out above it."""
        return self.quantity(fraction, SHARE, sure or 0.85 < fraction <= 1)

    def time(self, hours: float, sure: bool = False) -> Any:
        return self.quantity(hours, TIME, sure)

    def days(self, low: int, high: int) -> Any:
        if self.maybe(0.7):
            return f"{self.rng.randint(low, high)} d"
        return self.time(self.between(low, high) * 24, sure=True)

    def money(self, usd: float, sure: bool = False) -> Any:
        return self.quantity(usd, {c: WORTH[c] for c in self.codes}, sure)

    def per(self, usd: float, what: Optional[str] = None, sure: bool = False) -> Any:
        """Money per mass (what None: usd per kg), or per anything else."""
        if what is None:
            units = {f"{c}/{m}": WORTH[c] / MASS[m] for c in self.codes for m in MASS}
        else:
            units = {f"{c}/{what}": WORTH[c] for c in self.codes}
        return self.quantity(usd, units, sure)

    def factors(self) -> dict[str, str]:
        table = {"g per ozt": self.rng.choice(("31.1035", "31.103", "31.1")),
                 "lb per t": self.rng.choice(("2204.62", "2204.6", "2205")),
                 "st per t": self.rng.choice(("1.1023", "1.102"))}
        return {k: table[k] for k in self.some(table, 1, 3)}

    # -- section 2

    def make(self) -> dict:
        plan = self.plan
        plan["format"] = "buttonworth-plan/1"
        self.currencies()
        plan["prices"] = {a: self.per(PRICE[a] * self.between(0.7, 1.3)) for a in PAYABLE}
        plan["discount"] = self.quantity(self.rng.choice((0.0, 0.08, 0.18, 0.35)), {"%/a": 0.01})
        if self.maybe(0.7):
            plan["day"] = self.time(self.between(5, 24), sure=True)
        self.lot()
        plan["steps"], plan["terms"], plan["routes"] = {}, {}, {}
        self.make_terms()
        self.make_steps()
        self.make_routes()
        if self.maybe(0.45):
            plan["levies"] = [self.levy(i) for i in range(self.rng.randint(1, 3))]
        if self.maybe(0.1):
            plan["note"] = "made at random"
        return plan

    def currencies(self) -> None:
        own = self.rng.choice(("USD", "USD", "USD", "PEN", "EUR", "GHS"))
        self.plan["currency"] = own
        self.codes = [own]
        others = self.some([c for c in ("USD", "PEN", "EUR", "GHS") if c != own], 0, 2)
        if others:
            self.plan["exchange"] = {
                c: f"{plain(WORTH[c] / WORTH[own] * self.between(0.9, 1.1), 4)} {own}" for c in others}
            self.codes += others
        if "USD" in self.codes:
            self.codes.append("USc")

    def levy(self, i: int) -> dict:
        levy = {"what": f"levy {i + 1}", "rate": self.share(self.between(0.005, 0.08)),
                "of": self.rng.choice(("payable value", "proceeds", "gross value"))}
        if self.maybe(0.6):
            levy["after"] = self.days(0, 60)
        if self.maybe(0.4):
            levy["refund"] = {"share": self.share(self.between(0.1, 1.0))}
            if self.maybe(0.7):
                levy["refund"]["after"] = self.days(5, 200)
        return levy

    def lot(self) -> None:
        self.has = ["Au"] + self.some([a for a in ANALYTES if a != "Au"], 1, 6)
        self.grade_guess = {a: self.spread(*ANALYTES[a]) for a in self.has}
        lot: dict[str, Any] = {"id": "A-17"} if self.maybe(0.2) else {}
        if self.maybe(0.5):
            lot["parts"] = [self.part(1) for _ in range(self.rng.randint(1, 4))]
        else:
            lot.update(self.plain_lot(self.spread(60, 9000), self.has))
        if self.maybe(0.25):
            lot["factors"] = self.factors()
        if self.maybe(0.15):
            lot["credited"] = self.money(self.spread(50, 5000), sure=True)
        if self.maybe(0.3):
            lot["apart"] = {n: self.piece() for n in self.some(("nuggets", "pickings"), 1, 2)}
        self.plan["lot"] = lot

    def part(self, depth: int) -> dict:
        if depth < 3 and self.maybe(0.15):
            part: dict[str, Any] = {"parts": [self.part(depth + 1) for _ in range(self.rng.randint(1, 3))]}
        else:
            keep = [a for a in self.has if a == "Au" or self.maybe(0.85)]
            part = self.plain_lot(self.spread(40, 3000), keep)
        if self.maybe(0.2):
            part["factors"] = self.factors()
        return part

    def plain_lot(self, kg: float, analytes: list[str]) -> dict:
        lot: dict[str, Any] = {"wet_mass": self.mass(kg)}
        if self.maybe(0.85):
            lot["moisture"] = self.share(self.between(0, 0.22))
        lot["assays"] = {a: self.grade(self.grade_guess[a] * self.between(0.6, 1.5)) for a in analytes}
        return lot

    def piece(self) -> dict:
        gold = self.between(0.55, 0.85)
        return {"mass": self.mass(self.spread(0.005, 0.8)),
                "assays": {"Au": self.grade(gold), "Ag": self.grade((1 - gold) * 0.6)}}

    # -- section 4

    def make_terms(self) -> None:
        for i in range(self.rng.randint(1, 3)):
            self.plan["terms"][f"smelter {i + 1}"] = self.terms("concentrate")
        for i in range(self.rng.randint(1, 2)):
            self.plan["terms"][f"refiner {i + 1}"] = self.terms("bar")
        if "apart" in self.plan["lot"] or self.maybe(0.4):
            self.plan["terms"]["nugget buyer"] = self.terms("nuggets")

    def terms(self, buys: str) -> dict:
        terms: dict[str, Any] = {"buys": buys}
        if self.maybe(0.6):
            terms["transit"] = self.days(0, 40)
        if self.maybe(0.5):
            terms["accepts"] = self.accepts(buys)
        if self.maybe(0.4):
            terms["mass_deduction"] = self.share(self.between(0.001, 0.01))
        metals = ["Au"] + [a for a in self.some(PAYABLE[1:], 0, 2)]
        if self.maybe(0.05):
            metals = ["Ag"]
        terms["pay"] = {a: self.pay(a, buys) for a in metals}
        if buys != "concentrate" and self.maybe(0.5):
            terms["melt_loss"] = {"mass": self.share(self.between(0.001, 0.02)),
                                  "Au": self.share(self.between(0.0001, 0.02))}
        if buys != "concentrate" and self.maybe(0.15):
            terms["deemed"] = {"Au": self.grade(self.between(0.5, 0.9), sure=True)}
        if self.maybe(0.3):
            terms["sample_kept"] = self.mass(self.spread(0.001, 2.0) if buys == "concentrate"
                                             else self.spread(0.0002, 0.01))
        if self.maybe(0.85):
            terms["charges"] = [self.charge(metals) for _ in range(self.rng.randint(1, 5))]
        if self.maybe(0.55):
            terms["penalties"] = [self.penalty() for _ in range(self.rng.randint(1, 3))]
        if self.maybe(0.25):
            terms["participation"] = [self.participation(metals[0])]
        self.payment(terms)
        if self.maybe(0.25):
            terms["factors"] = self.factors()
        if self.maybe(0.4):
            terms["rounding"] = self.rounding(metals)
            self.weighing(terms)
        return terms

    def weighing(self, terms: dict) -> None:
        if self.maybe(0.3):
            step, turn = self.rng.choice((("0.025 ozt", "0.002 ozt"), ("1 g", "0.1 g"), ("0.01 kg", "0 kg")))
            terms["rounding"]["mass"] = {"step": step} | ({"turn": turn} if self.maybe(0.6) else {})
        paid = self.some(list(terms.get("pay", {})), 0, 2)
        if paid:
            terms["rounding"]["payable"] = {a: self.rng.choice(("0.001 ozt", "0.1 g", "0.005 kg")) for a in paid}

    def payment(self, terms: dict) -> None:
        final = self.rng.randint(0, 90)
        if self.maybe(0.8):
            terms["final"] = f"{final} d"
        if "final" in terms and self.maybe(0.5):
            terms["advance"] = {"share": self.share(self.between(0.5, 0.9)),
                                "after": f"{self.rng.randint(0, final)} d"}
            if self.maybe(0.7):
                terms["advance"]["interest"] = self.quantity(self.between(0.03, 0.2), {"%/a": 0.01})

    def rounding(self, metals: list[str]) -> dict:
        rounding: dict[str, Any] = {}
        for a in self.some(metals + list(HARMFUL), 0, 3):
            rounding[a] = self.rng.choice(("0.01 g/t", "0.1 g/t", "1 g/t", "0.01 %", "0.001 ozt/st",
                                           "0.1 fine", "0.5 ppm"))
        if self.maybe(0.7):
            code = self.rng.choice([c for c in self.codes if c != "USc"])
            rounding["money"] = f"{self.rng.choice(('0.01', '0.01', '0.05', '1', '0.10'))} {code}"
        if self.maybe(0.85):
            rounding["mode"] = self.rng.choice(("half even", "half up", "down"))
        return rounding

    def accepts(self, buys: str) -> dict:
        tight = self.maybe(0.12)
        accepts: dict[str, Any] = {}
        if self.maybe(0.4):
            accepts["mass"] = {"min": self.mass(self.spread(1, 50) if tight else 1e-5)}
        if self.maybe(0.3):
            accepts["moisture"] = {"max": self.share(0.08 if tight else self.between(0.28, 0.5))}
        if self.maybe(0.5):
            accepts["Au"] = {"min": self.grade(self.grade_guess["Au"] * (1.5 if tight else 0.001))}
        for a in self.some(HARMFUL, 0, 2):
            top = ANALYTES[a][1] * (0.5 if tight else 60)
            accepts[a] = {"max": self.grade(min(top, 0.95))}
        if buys != "concentrate":
            accepts.pop("moisture", None)
        return accepts

    def pay(self, metal: str, buys: str) -> dict:
        pay: dict[str, Any] = {}
        low = self.grade_guess.get(metal, 1e-3)
        if buys == "concentrate" and self.maybe(0.5):
            start, share, bands = low * self.between(0.05, 0.5), self.between(0.6, 0.85), []
            for _ in range(self.rng.randint(1, 5)):
                bands.append([self.grade(start, sure=True), self.share(share)])
                start *= self.between(1.5, 3.0)
                share = min(0.99, share + self.between(0.005, 0.05))
            pay["bands"] = bands
        elif self.maybe(0.9):
            pay["share"] = self.share(self.between(0.75, 0.995))
        if self.maybe(0.5):
            pay["less"] = self.grade(low * self.between(0.005, 0.2))
        if self.maybe(0.6):
            pay["order"] = self.rng.choice(("lower of", "less first", "share first"))
        if self.maybe(0.5):
            pay["refining"] = self.per(self.between(0.02, 0.4) * (1 if buys == "concentrate" else 40))
            if self.maybe(0.5):
                pay["refining_of"] = self.rng.choice(("gross", "settled"))
        if self.maybe(0.15):
            pay["price"] = self.per(PRICE[metal] * self.between(0.8, 1.2))
        if self.maybe(0.15):
            pay["price_share"] = self.share(self.between(0.9, 1.2))
        return pay

    def charge(self, metals: list[str]) -> dict:
        form = self.rng.randrange(8)
        if form == 0:
            charge = {"what": "sampling", "rate": self.per(self.spread(20, 900), "lot")}
        elif form == 1:
            charge = {"what": "insurance", "rate": self.share(self.between(0.001, 0.01)),
                      "of": "payable value"}
        elif form == 2:
            charge = {"what": "metal handling", "rate": self.per(self.spread(5, 300)),
                      "of": f"payable {self.rng.choice(metals)}"}
        else:
            charge = {"what": self.rng.choice(("treatment", "freight", "bagging")),
                      "rate": self.per(self.spread(0.01, 1.0))}
            if form > 3:
                charge["of"] = ("wet", "dry", "gross", "wet")[form - 4]
        if self.maybe(0.3):
            charge["at_least"] = self.money(self.spread(5, 600))
        if self.maybe(0.2):
            charge["at_most"] = self.money(self.spread(700, 4000))
        return charge

    def penalty(self) -> dict:
        names = self.some(HARMFUL, 1, 2)
        top = sum(ANALYTES[a][1] for a in names)
        penalty: dict[str, Any] = {"for": names}
        form = self.rng.randrange(3)
        if form == 0:
            penalty.update({"above": self.grade(top * 0.1), "each": self.grade(top * 0.05),
                            "rate": self.per(self.spread(0.001, 0.02))})
        elif form == 1:
            starts = sorted(self.between(0.02, 0.9) for _ in range(self.rng.randint(1, 3)))
            penalty["marginal"] = [{"above": self.write(top * (s + i), GRADE, "ppm", 6),
                                    "each": self.grade(top * 0.07, sure=True),
                                    "rate": self.per(self.spread(0.001, 0.02))}
                                   for i, s in enumerate(starts)]
        else:
            starts = sorted(self.between(0.02, 0.9) for _ in range(self.rng.randint(1, 4)))
            penalty["whole"] = [{"up_to": self.write(top * (s + i), GRADE, "%", 6),
                                 "rate": self.per(self.spread(0.001, 0.05) * (i + 0.2))}
                                for i, s in enumerate(starts)]
        if form < 2 and self.maybe(0.5):
            penalty["count"] = "whole"
        if self.maybe(0.2):
            penalty["refuse_above"] = self.grade(min(0.95, top * (0.9 if self.maybe(0.3) else 30)))
        return penalty

    def participation(self, metal: str) -> dict:
        return {"for": metal, "above": self.per(PRICE[metal] * self.between(0.6, 1.1)),
                "each": self.per(PRICE[metal] * 0.0004), "rate": self.per(self.spread(1e-5, 3e-4))}

    # -- section 3

    def make_steps(self) -> None:
        steps = self.plan["steps"]
        for i in range(self.rng.randint(1, 2)):
            steps[f"table {i + 1}"] = self.table()
        for i in range(self.rng.randint(0, 2)):
            steps[f"screen {i + 1}"] = self.split()
        for i in range(self.rng.randint(1, 2)):
            steps[f"pan {i + 1}"] = self.dry()
        for i in range(self.rng.randint(1, 2)):
            steps[f"furnace {i + 1}"] = self.melt()

    def common(self, step: dict, more_rates: list[str]) -> dict:
        if self.maybe(0.6) and "per_melt" not in step:
            rate = self.spread(5, 800)
            step["rate"] = self.quantity(rate, {"kg/h": 1.0, "t/h": 1000.0})
        if self.maybe(0.4):
            step["wait"] = self.time(self.spread(0.5, 80))
        rates = ["mass", "wet", "lot"] + more_rates
        if "rate" in step or "per_melt" in step:
            rates.append("h")
        costs = [self.cost(self.rng.choice(rates)) for _ in range(self.rng.randint(0, 4))]
        if costs:
            step["cost"] = costs
        return step

    def cost(self, kind: str) -> dict:
        if kind in ("mass", "wet"):
            cost = {"what": "handling", "rate": self.per(self.spread(0.002, 0.2))}
            return {**cost, "of": "wet"} if kind == "wet" else cost
        usd = {"lot": self.spread(5, 200), "h": self.spread(2, 30), "melt": self.spread(3, 60),
               "kWh": self.spread(0.05, 0.4), "L": self.spread(0.6, 1.6)}[kind]
        return {"what": f"per {kind}", "rate": self.per(usd, kind)}

    def needed(self) -> list[str]:
        """What any buyer or melt may name: every analyte there is a list for here."""
        return list(dict.fromkeys(self.has + list(PAYABLE) + list(HARMFUL)))

    def table(self) -> dict:
        curve: dict[str, Any] = {"Au": self.curve(strong=True)}
        for a in self.needed():
            if a == "Au":
                continue
            big = ANALYTES[a][1] > 0.02
            pick = self.rng.random()
            if big or pick < 0.3:
                curve[a] = {"as": "gangue"} if pick < 0.7 or ANALYTES[a][1] > 0.15 else self.curve(False)
            elif pick < 0.6:
                curve[a] = {"as": "Au"}
            else:
                curve[a] = self.curve(strong=self.maybe(0.4))
        step: dict[str, Any] = {"kind": "table", "curve": curve}
        if self.maybe(0.2):
            step["limit"] = {"Au": self.grade(min(0.93, self.grade_guess["Au"] * self.spread(8, 300)))}
        self.cut(step)
        if self.maybe(0.4):
            step["middlings"] = self.share(self.between(0.02, 0.3))
        if self.maybe(0.5):
            step["moisture"] = {o: self.share(self.between(0, 0.3)) for o in
                                self.some(ev.TABLE_OUTPUTS, 1, 3)}
        return self.common(step, [])

    def cut(self, step: dict) -> None:
        pick = self.rng.random()
        if pick < 0.35:
            step["cut"] = {"pull": self.share(self.spread(0.01, 0.4))}
        elif pick < 0.62:
            step["cut"] = {"grade": self.grade(self.grade_guess["Au"] * self.spread(1.6, 7))}
        elif pick < 0.9:
            step["cut"] = {"recovery": self.share(self.between(0.3, 0.96))}
        else:
            step["cut"] = "best"
            if isinstance(step["curve"]["Au"], dict) or self.maybe(0.4):
                step["search"] = [f"{plain(self.between(1, 6), 2)} %", f"{plain(self.between(12, 45), 3)} %"]
        if isinstance(step["cut"], dict) and "pull" not in step["cut"] and self.maybe(0.6):
            step["cut"]["of"] = "Au"

    def power_curve(self, strong: bool) -> Any:
        """A logit or a saturating curve; some constants uncertain."""
        def constant(low: float, high: float) -> Any:
            text = plain(self.between(low, high), 4)
            return {"value": text, "rsd": "6 %"} if self.maybe(self.unsure) else text

        if self.maybe(0.5):
            return {"logit": [constant(2.6, 5.3) if strong else constant(-0.4, 1.6), constant(0.75, 1.35)]}
        return {"limit_recovery": self.share(self.between(0.85, 1) if strong else self.between(0.4, 0.95)),
                "rate": constant(10, 80) if strong else constant(1, 4)}

    def curve(self, strong: bool) -> Any:
        if self.maybe(0.3):
            return self.power_curve(strong)
        if self.maybe(0.35):
            s = self.spread(15, 300) if strong else self.spread(0.5, 6)
            if self.maybe(self.unsure):
                return {"odds": {"median": plain(s, 3), "gsd": "1.3"}}
            return {"odds": plain(s, 4)}
        pull, left, points = 0.0, 1.0, []
        for _ in range(self.rng.randint(1, 6)):
            pull += self.between(0.01, 0.12)
            left *= self.between(0.25, 0.75) if strong else self.between(0.85, 0.97)
            recovery = 1 - left if self.maybe(0.93) or not points else None
            text = points[-1][1] if recovery is None else f"{plain(recovery * 100, 5)} %"
            points.append([f"{plain(pull * 1000, 4)} fine" if self.maybe(0.2)
                           else f"{plain(pull * 100, 4)} %", text])
        if self.maybe(0.25):
            points.append(["100 %", "100 %"])
        return points

    def split(self) -> dict:
        into: dict[str, Any] = {}
        left = 1.0
        for name in self.some(("magnetics", "oversize", "fines"), 1, 2):
            mass = self.between(0.05, 0.45) * left
            into[name] = {"mass": self.share(mass)}
            left -= mass
            for a in self.some([a for a in self.has if ANALYTES[a][1] < 0.05], 0, 3):
                into[name][a] = self.share(self.between(0.005, 0.45))
        names = list(into)
        at = self.rng.randint(0, len(names))
        ordered = names[:at] + ["rest"] + names[at:]
        return self.common({"kind": "split", "into": {n: into.get(n, {}) for n in ordered}}, [])

    def dry(self) -> dict:
        to = "0.5 %" if self.maybe(0.25) else self.share(self.between(0.0005, 0.0045), sure=True)
        if self.maybe(0.1):
            to = self.share(self.between(0.02, 0.08))
        step: dict[str, Any] = {"kind": "dry", "to": to,
                                "dust": self.share(self.rng.choice((0.0, self.between(0.0005, 0.02))))}
        if self.maybe(0.3):
            step["ambient"] = f"{self.rng.randint(-5, 38)} degC"
        if self.maybe(0.4):
            step["efficiency"] = self.share(self.between(0.15, 0.85))
        rates = ["kWh", "kWh"]
        if self.maybe(0.5):
            step["fuel"] = {"heat": self.quantity(self.between(20, 40), {"MJ/L": 1.0})}
            rates = ["L", "L", "kWh"]
        return self.common(step, rates)

    def melt(self) -> dict:
        step: dict[str, Any] = {"kind": "melt"}
        if self.maybe(0.6):
            step["to_bar"] = {"Au": self.share(self.between(0.9, 0.995))}
        else:
            step["slag_grade"] = {"Au": self.grade(self.grade_guess["Au"] * self.between(0.002, 0.03))}
        for a in self.some(("Ag", "Cu", "Pb"), 0, 3):
            step.setdefault("to_bar", {})[a] = self.share(self.between(0.2, 0.97))
        if self.maybe(0.5):
            step["to_fume"] = {a: self.share(self.between(0.001, 0.02) if a == "Au" else
                                             self.between(0.01, 0.8))
                               for a in self.some(("As", "Sb", "S", "Bi"), 1, 3)}
        if self.maybe(0.8):
            step["flux"] = [self.flux(r) for r in self.some(REAGENTS + ("fluxing sand",), 1, 4)]
        if self.maybe(0.6):
            step["crucible"] = {"volume": self.quantity(self.spread(2, 60), {"L": 1.0, "m3": 1000.0}),
                                "fill": self.share(self.between(0.4, 0.85)),
                                "density": self.quantity(self.between(1.2, 2.6), {"kg/L": 1.0, "t/m3": 1.0})}
        if self.maybe(0.5):
            step["per_melt"] = self.time(self.between(0.4, 3))
        if self.maybe(0.15):
            step["dry_below"] = self.share(self.between(0.0046, 0.005), sure=True)
            if self.maybe(0.5):
                step["dry_below"] = "0.5 %"
        return self.common(step, ["melt", "melt"])

    def flux(self, reagent: str) -> dict:
        flux = {"reagent": reagent, "dose": self.quantity(self.between(0.05, 0.7), {"kg/kg": 1.0}),
                "of": self.rng.choice(("charge", "gangue"))}
        if reagent not in REAGENTS:
            flux["stays"] = self.share(self.between(0.3, 1.0))
        if self.maybe(0.6):
            flux["price"] = self.per(self.between(0.3, 4))
        return flux

    # -- routes

    def make_routes(self) -> None:
        pieces = [n for n in self.plan["lot"].get("apart", {})]
        for i in range(self.rng.choice((1, 2, 3, 3, 4, 5, 6))):
            depth = self.rng.randint(1, 4)
            node = self.node("concentrate", depth, False)
            if pieces:
                node = {"lot": node, **{n: self.node("piece", self.rng.randint(0, 2), False) for n in pieces}}
            self.plan["routes"][f"route {i + 1}"] = node

    def steps_of(self, kind: str) -> list[str]:
        return [n for n, s in self.plan["steps"].items() if s["kind"] == kind]

    def node(self, kind: str, depth: int, is_dry: bool) -> dict:
        if depth <= 0 or self.maybe(0.12):
            return self.end(kind)
        if kind == "bar":
            return self.step("split", kind, depth, is_dry) if self.maybe(0.1) and self.steps_of("split") \
                else self.end(kind)
        if kind == "piece" and self.maybe(0.85):
            return self.end(kind) if self.maybe(0.5) else self.step("melt", kind, depth, True)
        if is_dry and self.maybe(0.85):
            return self.step("melt", kind, depth, True)
        wanted = self.rng.choice(("table", "table", "split", "dry", "dry", "melt" if self.maybe(0.12) else "dry"))
        if wanted == "split" and not self.steps_of("split"):
            wanted = "table"
        if depth == 1 and wanted == "dry" and self.maybe(0.5):
            depth = 2
        return self.step(wanted, kind, depth, is_dry)

    def step(self, wanted: str, kind: str, depth: int, is_dry: bool) -> dict:
        name = self.rng.choice(self.steps_of(wanted))
        step = self.plan["steps"][name]
        node: dict[str, Any] = {"step": name}
        if wanted == "table":
            node["concentrate"] = self.node("concentrate", depth - 1, False)
            if "middlings" in step:
                node["middlings"] = self.node("concentrate", depth - 2, False)
            node["tailings"] = self.node("concentrate", depth - 3, False)
        elif wanted == "split":
            same = kind if kind in ("piece", "bar", "slag") else "split"
            for output in step["into"]:
                node[output] = self.node(same, depth - 1, is_dry)
        elif wanted == "dry":
            node["dried"] = self.node(kind, depth - 1, step["to"] == "0.5 %" or self.maybe(0.9))
        else:
            node["bar"] = self.node("bar", depth - 1, True)
            node["slag"] = self.node("slag", depth - 2, True)
        return node

    def end(self, kind: str) -> dict:
        pick = self.rng.random()
        if pick < (0.1 if kind == "bar" else 0.3):
            return {"keep": True}
        if pick < (0.13 if kind == "bar" else 0.5):
            node: dict[str, Any] = {"return": {a: self.share(self.between(0.3, 0.95))
                                               for a in self.some(PAYABLE, 1, 2)}}
            if self.maybe(0.6):
                node["after"] = self.days(0, 60)
            return node
        return {"sell": self.buyer(kind)}

    def buyer(self, kind: str) -> str:
        wanted = {"bar": ["bar"], "piece": ["nuggets"], "split": ["concentrate", "nuggets"]}.get(
            kind, ["concentrate"])
        if self.maybe(0.03):
            wanted = ["bar", "concentrate", "nuggets"]
        return self.rng.choice([n for n, t in self.plan["terms"].items() if t["buys"] in wanted]
                               or list(self.plan["terms"]))


# ---------------------------------------------------------------- broken plans

def first(plan: dict, kind: str) -> Optional[dict]:
    return next((s for s in plan["steps"].values() if s["kind"] == kind), None)


def break_plan(plan: dict, rng: random.Random) -> None:
    """One fault that the page calls an error, whatever the routes are."""
    table, melt, dry = first(plan, "table"), first(plan, "melt"), first(plan, "dry")
    terms = rng.choice(list(plan["terms"].values()))
    fault = rng.randrange(12)
    if fault == 0:
        melt.setdefault("to_fume", {})["Hg"] = "50 %"
    elif fault == 1:
        melt["dry_below"] = "0.51 %"
    elif fault == 2:
        terms["final"], terms["advance"] = "10 d", {"share": "80 %", "after": "11 d"}
    elif fault == 3:
        table["curve"].pop("Au")
    elif fault == 4:
        melt["rate"], melt["per_melt"] = "20 kg/h", "1 h"
    elif fault == 5:
        dry.setdefault("cost", []).append({"what": "melts", "rate": f"3 {plan['currency']}/melt"})
    elif fault == 6:
        plan["lot"]["credited"] = "100 XAU"
    elif fault == 7:
        terms["pay"]["Pd"] = {"share": "90 %"}
    elif fault == 8:
        plan["steps"]["screen 9"] = {"kind": "split", "into": {"a": {"mass": "70 %"}, "b": {"mass": "40 %"}, "c": {}}}
        plan["routes"]["broken"] = wrap(plan, {"step": "screen 9", "a": {"keep": True}, "b": {"keep": True},
                                               "c": {"keep": True}})
    elif fault == 9:
        plan["routes"]["broken"] = wrap(plan, {"step": next(n for n, s in plan["steps"].items() if s is dry)})
    elif fault == 10:
        melt["to_bar"], melt["to_fume"] = {"Ag": "60 %"}, {"Ag": "41 %"}
        melt.pop("slag_grade", None)
    else:
        next(iter(terms["pay"].values()))["refining"] = f"5 {plan['currency']}/oz"
        next(iter(terms["pay"].values()))["less"] = "1 oz/ton"


def wrap(plan: dict, node: dict) -> dict:
    pieces = plan["lot"].get("apart", {})
    return {"lot": node, **{n: {"keep": True} for n in pieces}} if pieces else node


# ---------------------------------------------------------------- edge cases

HAIRS = (Fraction(0), Fraction(0), Fraction(3, 10**13), Fraction(-3, 10**13),
         Fraction(1, 10**11), Fraction(-1, 10**11))


def at(x: Fraction, hair: Fraction, unit: str, factor: Fraction) -> str:
    """x, or a hair beside it, in a unit; equal to x within 1e-12 for the small hairs."""
    return f"{long_decimal(x * (1 + hair) / factor)} {unit}"


def ppm(x: Fraction, hair: Fraction) -> str:
    return at(x, hair, "ppm", Fraction(1, 10**6))


def sales_and_work(plan: dict) -> tuple[list[ev.Sale], list[dict]]:
    c = ev.Comparison(plan)
    sales, work = [], []
    for name, route in ev.named(plan["routes"]):
        book = ev.run_route(c, name, route)
        sales += book.sales
        work += book.work
    return sales, work


def edge_plan(plan: dict, rng: random.Random) -> str:
    """Move one deciding value of the plan to where its own figures land."""
    sales, work = sales_and_work(plan)
    melts = [w for w in work if "melts" in w]
    choices: list[Callable[..., str]] = [edge_limit_cut, edge_dry_feed, edge_dry_below]
    if sales:
        choices += [edge_band, edge_accept, edge_whole_steps, edge_up_to, edge_refuse, edge_marginal,
                    edge_assay_tie, edge_money_tie, edge_rounded_band]
    if melts:
        choices += [edge_melts, edge_melts]
    sale = rng.choice(sales) if sales else None
    melted = rng.choice(melts) if melts else None
    return rng.choice(choices)(plan, rng, rng.choice(HAIRS), sale, melted)


def edge_band(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    terms = plan["terms"][sale.at]
    metal = rng.choice(list(terms["pay"]))
    a = sale.assay.get(metal, Fraction(0))
    if a == 0:
        return ""
    pay = terms["pay"][metal]
    pay.pop("share", None)
    pay["bands"] = [[ppm(a / 3, Fraction(0)), "70 %"], [ppm(a, hair), "90 %"]]
    return "edge band"


def edge_rounded_band(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    terms = plan["terms"][sale.at]
    metal = rng.choice(list(terms["pay"]))
    a = sale.assay.get(metal, Fraction(0))
    if a == 0:
        return ""
    mode = rng.choice(("half even", "half up", "down"))
    step = Fraction(rng.choice((1, 10, 100)), 100 * 10**6)
    terms.setdefault("rounding", {}).update({metal: ppm(step, Fraction(0)), "mode": mode})
    pay = terms["pay"][metal]
    pay.pop("share", None)
    pay["bands"] = [[ppm(a / 3, Fraction(0)), "70 %"],
                    [ppm(ev.round_to(a, step, mode), Fraction(0)), "90 %"]]
    return "edge band on rounded assay"


def edge_accept(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    accepts = plan["terms"][sale.at].setdefault("accepts", {})
    side = rng.choice(("min", "max"))
    what = rng.choice(["mass", "moisture"] + list(sale.assay))
    if what == "mass":
        limit = at(sale.settled, hair, "kg", Fraction(1))
        if "sample_kept" in plan["terms"][sale.at] and sale.settled == 0:
            return ""
    elif what == "moisture":
        side = "max"
        limit = at(sale.feed.moisture(), hair, "%", Fraction(1, 100))
    else:
        limit = ppm(sale.assay[what], hair)
    accepts[what] = {side: limit}
    return "edge accept"


def some_impurity(rng: random.Random, sale: Any) -> Optional[str]:
    there = [a for a, x in sale.assay.items() if x > 0]
    return rng.choice(there) if there else None


def add_penalty(plan: dict, sale: Any, penalty: dict) -> None:
    plan["terms"][sale.at].setdefault("penalties", []).append(penalty)


def edge_whole_steps(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    name = some_impurity(rng, sale)
    if name is None:
        return ""
    x = sale.assay[name]
    start = Fraction(long_decimal(x * 2 / 5 * 10**6)) / 10**6
    each = (x * (1 + hair) - start) / rng.randint(1, 40)
    add_penalty(plan, sale, {"for": [name], "above": ppm(start, Fraction(0)),
                             "each": ppm(each, Fraction(0)), "count": "whole", "rate": steep(plan)})
    return "edge whole steps"


def edge_marginal(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    name = some_impurity(rng, sale)
    if name is None:
        return ""
    x = sale.assay[name]
    each = x / 10
    add_penalty(plan, sale, {"for": [name], "count": "whole", "marginal": [
        {"above": ppm(x / 2, Fraction(0)), "each": ppm(each, hair), "rate": steep(plan)},
        {"above": ppm(x * 8 / 10, Fraction(0)), "each": ppm(each, hair), "rate": steep(plan)}]})
    return "edge marginal steps"


def edge_up_to(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    name = some_impurity(rng, sale)
    if name is None:
        return ""
    x = sale.assay[name]
    add_penalty(plan, sale, {"for": [name], "whole": [
        {"up_to": ppm(x / 2, Fraction(0)), "rate": f"0 {plan['currency']}/t"},
        {"up_to": ppm(x, hair), "rate": steep(plan)},
        {"up_to": ppm(2 * x, Fraction(0)), "rate": f"3 {plan['currency']}/kg"}]})
    return "edge up_to"


def edge_refuse(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    name = some_impurity(rng, sale)
    if name is None:
        return ""
    x = sale.assay[name]
    add_penalty(plan, sale, {"for": [name], "above": ppm(x * 2, Fraction(0)),
                             "each": ppm(x, Fraction(0)), "rate": steep(plan),
                             "refuse_above": ppm(x, hair)})
    return "edge refuse_above"


def steep(plan: dict) -> str:
    return f"0.7 {plan['currency']}/kg"


def edge_assay_tie(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    terms = plan["terms"][sale.at]
    metal = rng.choice(list(terms["pay"]))
    a = sale.assay.get(metal, Fraction(0))
    if a == 0 or metal in terms.get("rounding", {}):
        return ""
    step = a / (rng.randint(1, 60) + Fraction(1, 2))
    terms.setdefault("rounding", {}).update(
        {metal: ppm(step, hair), "mode": rng.choice(("half even", "half up", "down"))})
    return "edge assay tie"


def edge_money_tie(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    terms = plan["terms"][sale.at]
    if sale.settled == 0:
        return ""
    code = plan["currency"]
    k = rng.randint(1000, 99999)
    tie = (k + Fraction(1, 2)) / 100
    terms.setdefault("rounding", {}).update(
        {"money": f"0.01 {code}", "mode": rng.choice(("half even", "half up", "down"))})
    terms.setdefault("charges", []).extend([
        {"what": "tie per lot", "rate": f"{long_decimal(tie)} {code}/lot"},
        {"what": "tie per mass", "rate": at(tie / sale.settled, hair, f"{code}/kg", Fraction(1))}])
    return "edge money tie"


def edge_melts(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    charge = melted["feed"] + sum(melted["flux"].values(), Fraction(0))
    step = plan["steps"][melted["at"]]
    density = charge / (rng.randint(1, 30) * Fraction(8))
    step["crucible"] = {"volume": "10 L", "fill": "80 %", "density": at(density, hair, "kg/L", Fraction(1))}
    step.setdefault("cost", []).append({"what": "crucible wear", "rate": f"7 {plan['currency']}/melt"})
    return "edge melts"


def edge_dry_feed(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    wet = ev.Comparison(plan).lot.moisture()
    dries = [s for s in plan["steps"].values() if s["kind"] == "dry"]
    step = rng.choice(dries)
    step["to"] = at(wet, hair, "%", Fraction(1, 100))
    step.setdefault("cost", []).append({"what": "power", "rate": f"0.3 {plan['currency']}/kWh"})
    return "edge dry feed"


def edge_dry_below(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    """Dried to a moisture, then melted where just that moisture is still let in."""
    for step in plan["steps"].values():
        if step["kind"] == "dry":
            step["to"] = "0.41 %"
        if step["kind"] == "melt":
            step["dry_below"] = at(Fraction(41, 10000), hair, "%", Fraction(1, 100))
    return "edge dry below"


def edge_limit_cut(plan: dict, rng: random.Random, hair: Fraction, sale: Any, melted: Any) -> str:
    """A cut that asks for just the grade the limit lets the concentrate reach."""
    tables = [s for s in plan["steps"].values() if s["kind"] == "table" and "limit" in s]
    if not tables:
        return ""
    step = rng.choice(tables)
    units = ev.Units(ev.read_currencies(plan))
    step["cut"] = {"grade": ppm(units.grade(step["limit"]["Au"]), hair), "of": "Au"}
    return "edge limit and cut"


# ---------------------------------------------------------------- the plan of a seed

def fails(plan: dict) -> bool:
    try:
        ev.compare(plan)
    except ev.PlanError:
        return True
    return False


def random_plan(seed: int) -> dict:
    """The plan of this seed; its evaluation may fail, and then the library's must."""
    rng = random.Random(seed)
    role = rng.random()
    while True:
        plan = Maker(rng).make()
        if role < 0.04:
            break_plan(plan, rng)
            if fails(plan):
                return plan
            continue
        if fails(plan):
            if rng.random() < 0.12:
                return plan
            continue
        if role > 0.35:
            return plan
        done = make_edges(plan, rng)
        if done is not None:
            return done


def make_edges(plan: dict, rng: random.Random) -> Optional[dict]:
    kinds = []
    for _ in range(rng.randint(1, 4)):
        changed = copy.deepcopy(plan)
        kind = edge_plan(changed, rng)
        if not kind or (fails(changed) and rng.random() < 0.9):
            continue
        kinds.append(kind)
        plan = changed
        if fails(plan):
            break
    if not kinds:
        return None
    plan["note"] = ", ".join(kinds)
    return plan


# ---------------------------------------------------------------- what a plan covers

def features(plan: dict) -> set[str]:
    """Names of the things of the page that a plan has, for the counts."""
    found: set[str] = set()
    lot = plan["lot"]
    for name in ("parts", "apart", "credited", "factors"):
        if name in lot:
            found.add(f"lot {name}")
    if any("parts" in p for p in lot.get("parts", [])):
        found.add("lot nested parts")
    if any("factors" in p for p in lot.get("parts", [])):
        found.add("lot part factors")
    for name in ("exchange", "levies", "day"):
        if name in plan:
            found.add(name)
    if any("refund" in levy for levy in plan.get("levies", [])):
        found.add("refund")
    for step in plan["steps"].values():
        found |= step_features(step)
    for terms in plan["terms"].values():
        found |= terms_features(terms)
    found |= node_features(plan["routes"])
    found |= uncertain_forms(plan)
    note = plan.get("note", "")
    found |= {n for n in note.split(", ") if n.startswith("edge")}
    return found


def step_features(step: dict) -> set[str]:
    kind = step["kind"]
    found = {kind} | {f"{kind} {k}" for k in step if k not in ("kind", "curve", "to", "dust", "into")}
    if kind == "table":
        found.add("cut best" if step["cut"] == "best" else f"cut by {next(iter(step['cut']))}")
        for entry in step["curve"].values():
            found.add("curve points" if isinstance(entry, list) else
                      f"curve {'gangue' if entry.get('as') == 'gangue' else next(iter(entry))}")
    for flux in step.get("flux", []):
        found.add(f"flux of {flux.get('of', 'charge')}")
    return found


def terms_features(terms: dict) -> set[str]:
    found = {f"buys {terms['buys']}"} | {f"terms {k}" for k in terms if k not in ("buys", "pay")}
    for pay in terms["pay"].values():
        found |= {f"pay {k}" for k in pay if k not in ("order", "refining_of")}
        found |= {f"order {pay['order']}"} if "order" in pay else set()
        found |= {f"refining of {pay['refining_of']}"} if "refining_of" in pay else set()
    for charge in terms.get("charges", []):
        found |= {f"charge {k}" for k in charge if k in ("at_least", "at_most")}
        found.add(f"charge of {charge.get('of', 'settled').split()[0]}")
    for penalty in terms.get("penalties", []):
        found |= {f"penalty {k}" for k in penalty if k not in ("for", "each", "rate")}
    if "mode" in terms.get("rounding", {}):
        found.add(f"rounding {terms['rounding']['mode']}")
    if "interest" in terms.get("advance", {}):
        found.add("interest")
    return found


def node_features(node: Any) -> set[str]:
    found: set[str] = set()
    if isinstance(node, dict):
        found |= {f"end {k}" for k in node if k in ("sell", "return", "keep")}
        for v in node.values():
            found |= node_features(v)
    return found


def uncertain_forms(value: Any) -> set[str]:
    found: set[str] = set()
    if isinstance(value, dict):
        for form in (("value", "sd"), ("value", "rsd"), ("median", "gsd"), ("low", "mode", "high"),
                     ("low", "high"), ("values",)):
            if set(value) == set(form):
                found.add("uncertain " + "/".join(form))
        for v in value.values():
            found |= uncertain_forms(v)
    elif isinstance(value, list):
        for v in value:
            found |= uncertain_forms(v)
    return found
