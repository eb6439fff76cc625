"""Random deliveries of section 8 of the format page: valid, wide, repeatable from a seed.

`delivery(random)` gives one that has a statement; `spoiled(random)` one that must be
refused as an error; `follow_up(random, request, statement)` the same delivery later on,
with the statement written before; `halves(request)` the same as two equal halves.
"""

from __future__ import annotations

import copy
import random
from datetime import date, timedelta
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Any, Callable, Optional

import deliveries
import evaluator as ev
import plans

LEFT_OPEN = ("seller alone", "buyer alone", "a hair above", "beyond")
MODES = ("half even", "half up", "down")
SETTLED = ("within", "at the limit", "umpire", "middle", "nearer")
HAIR_COUNTED_EQUAL, HAIR_BEYOND = Decimal("3e-13"), Decimal("2e-11")
UMPIRES = [Decimal(x) for x in ("-3", "-1", "-0.5", "0", "0.25", "0.7", "1", "2.5")]   # in half differences
MASSES = {"concentrate": (60.0, 9000.0), "nuggets": (0.01, 0.9), "bar": (0.4, 40.0)}
STEPS = {"concentrate": (("1 kg", "0.4 kg"), ("0.5 kg", None), ("10 lb", "1 lb"), ("2 kg", "0 kg")),
         "nuggets": (("0.1 g", None), ("1 gr", "0.1 gr"), ("0.1 dwt", "0.01 dwt")),
         "bar": (("0.025 ozt", "0.002 ozt"), ("0.025 ozt", None), ("0.1 g", "0.02 g"), ("0.01 ozt", "0.001 ozt"))}
PAYABLE_STEPS = {"concentrate": ("0.01 t", "1 g", "0.001 ozt", "0.1 kg"), "nuggets": ("0.001 ozt", "0.01 g"),
                 "bar": ("0.001 ozt", "0.1 g", "0.01 dwt")}
ARRIVALS = ("2024-02-29", "2023-12-31", "2024-01-31", "2027-11-30", "2028-02-28", "2025-02-28", "2024-12-01")


def written(x: Decimal, unit: str) -> str:
    return f"{format(x.normalize(), 'f')} {unit}"


class Maker(plans.Maker):
    """Makes one delivery; terms are made as for plans."""

    def make(self) -> dict:
        request: dict[str, Any] = {"format": "buttonworth-delivery/1"}
        self.currencies()
        request.update(self.plan)
        self.buys = self.rng.choice(("concentrate", "concentrate", "bar", "bar", "nuggets"))
        self.arrived = self.day_of_arrival()
        self.outcomes = SETTLED if self.maybe(0.5) else SETTLED + LEFT_OPEN
        self.guess_grades()
        terms = self.own_terms()
        self.heading(request)
        request["terms"] = terms
        request["delivered"] = self.delivered(terms.get("rounding", {}).get("mass"))
        request["assays"] = self.assays(terms)
        self.price(request)
        if self.maybe(0.5):
            request["stage"] = self.rng.choice(("final", "provisional"))
        return request

    def day_of_arrival(self) -> date:
        if self.maybe(0.3):
            return date.fromisoformat(self.rng.choice(ARRIVALS))
        return date(2019, 1, 1) + timedelta(days=self.rng.randrange(3650))

    def heading(self, request: dict) -> None:
        if self.maybe(0.8):
            request["id"] = f"lot-{self.rng.randint(1, 999)}"
        if self.maybe(0.9):
            request["buyer"] = self.rng.choice(("coast smelter", "refiner A", "river house"))
        if self.maybe(0.85):
            request["arrived"] = self.arrived.isoformat()

    # -- terms

    def guess_grades(self) -> None:
        self.has = list(plans.ANALYTES)
        self.grade_guess = {a: self.spread(*plans.ANALYTES[a]) for a in self.has}
        if self.buys != "concentrate":
            for a, (low, high) in plans.ANALYTES.items():
                self.grade_guess[a] = self.spread(low, min(high, 0.01))
            self.grade_guess.update({"Au": self.between(0.55, 0.85), "Ag": self.spread(0.005, 0.08)})

    def own_terms(self) -> dict:
        terms = self.terms(self.buys)
        terms["penalties"] = self.once(terms.get("penalties", []), lambda p: tuple(p["for"]))
        terms["charges"] = self.once(terms.get("charges", []), lambda c: c["what"])
        for name in ("penalties", "charges"):
            if not terms[name]:
                del terms[name]
        self.in_hours(terms)
        if self.maybe(0.08):
            owed_by_the_seller = self.per(self.spread(500, 50000))
            terms["pay"]["Au"] = {"share": "90 %", "refining": owed_by_the_seller}
        self.more_rounding(terms)
        return terms

    def once(self, entries: list[dict], name: Callable[[dict], Any]) -> list[dict]:
        """Lines of one name only, so that `changes` is plain."""
        return list({name(e): e for e in entries}.values())

    def in_hours(self, terms: dict) -> None:
        if self.maybe(0.25):
            terms["final"] = self.rng.choice(("36 h", "24 h", "100 h", "1440 min", "2881 min", "0 d"))
            terms.pop("advance", None)
            if self.maybe(0.6):
                terms["advance"] = {"share": "85 %", "interest": "9 %/a"}
            if "advance" in terms and terms["final"] != "0 d":
                terms["advance"]["after"] = self.rng.choice(("5 h", "24 h", "0.5 d"))

    def more_rounding(self, terms: dict) -> None:
        """Besides what plans may round: the scale, and the payable mass."""
        rounding = terms.pop("rounding", {})
        if self.maybe(0.4):
            step, turn = self.rng.choice(STEPS[self.buys])
            rounding["mass"] = {"step": step, "turn": turn} if turn else {"step": step}
        if self.maybe(0.4):
            metals = self.some(terms["pay"], 1, 2)
            rounding["payable"] = {m: self.rng.choice(PAYABLE_STEPS[self.buys]) for m in metals}
            rounding.setdefault("mode", self.rng.choice(MODES))
        if rounding:
            terms["rounding"] = rounding

    # -- what was delivered

    def delivered(self, scale: Optional[dict]) -> dict:
        kg = self.spread(*MASSES[self.buys])
        if self.buys != "bar":
            delivered = {"wet_mass": self.found(kg, plans.MASS)}
            if self.maybe(0.85):
                delivered["moisture"] = self.found(self.between(0.001, 0.2), plans.SHARE)
            return delivered
        delivered = {"gross": self.found(kg, plans.MASS)}
        if scale == {"step": "0.025 ozt", "turn": "0.002 ozt"} and self.maybe(0.7):
            delivered["gross"] = self.on_the_turn(kg)
        if self.maybe(0.5):
            delivered["melted"] = self.found(kg * self.between(0.97, 0.99), plans.MASS)
        return delivered

    def on_the_turn(self, kg: float) -> str:
        """Right where 0.025 ozt turns by 0.002 ozt, or a hair beside it."""
        steps = int(kg / 0.0311034768 / 0.025)
        ounces = Decimal(steps) * Decimal("0.025") + Decimal(self.rng.choice(("0", "0.001", "0.002", "0.0021")))
        return written(ounces * (1 + self.rng.choice((Decimal(0), HAIR_COUNTED_EQUAL, -HAIR_COUNTED_EQUAL,
                                                      -HAIR_BEYOND))), "ozt")

    def assays(self, terms: dict) -> dict:
        wanted = {m for m in terms["pay"]} | {a for p in terms.get("penalties", []) for a in p["for"]}
        wanted |= {a for a in terms.get("accepts", {}) if a not in ("mass", "moisture")}
        for a in terms.get("deemed", {}):
            if self.maybe(0.5):
                wanted.discard(a)
        wanted |= set(self.some(("Au", "Fe", "Cu", "Hg"), 0, 1)) - set(terms.get("deemed", {}))
        return {a: self.found(self.grade_guess[a] * self.between(0.7, 1.15), plans.GRADE)
                for a in plans.ANALYTES if a in wanted}

    # -- what each party found

    def found(self, value: float, units: dict[str, float]) -> Any:
        if self.maybe(0.4):
            return self.quantity(value, units)
        unit = self.rng.choice(list(units))
        base = Decimal(plans.plain(value / units[unit], self.rng.choice((3, 4, 5))))
        with localcontext() as context:
            context.prec = 60
            return self.parties(base, unit, units, self.rng.choice(self.outcomes))

    def parties(self, base: Decimal, unit: str, units: dict[str, float], outcome: str) -> dict:
        half = base * self.rng.choice((Decimal("0.0005"), Decimal("0.001"), Decimal("0.004")))
        half *= self.rng.choice((1, 1, -1))
        exact = outcome in ("at the limit", "a hair above")
        e = {"seller": self.determinations(base + half, unit, exact),
             "buyer": self.determinations(base - half, unit, exact)}
        if outcome in ("seller alone", "buyer alone"):
            return {outcome.split()[0]: e[outcome.split()[0]]}
        self.limit(e, abs(2 * half), base, unit, outcome)
        if outcome in deliveries.RULES or (outcome == "within" and self.maybe(0.5)):
            e["umpire"] = self.umpire(base + half * self.rng.choice(UMPIRES), unit, units)
            e["rule"] = outcome if outcome != "within" else self.rng.choice(deliveries.RULES)
        elif self.maybe(0.3):
            e["rule"] = self.rng.choice(deliveries.RULES)
        return e

    def limit(self, e: dict, difference: Decimal, mean: Decimal, unit: str, outcome: str) -> None:
        """Absolute in the unit of the figures, or as a share of their mean."""
        hair = self.rng.choice((Decimal(0), HAIR_COUNTED_EQUAL, -HAIR_COUNTED_EQUAL))
        room = {"within": Decimal("1.5"), "at the limit": 1 + hair,
                "a hair above": 1 - HAIR_BEYOND}.get(outcome, Decimal("0.6"))
        if self.maybe(0.4):
            e["limit_relative"] = written(difference / mean * 100 * room, "%")
        else:
            e["limit"] = written(difference * room, unit)

    def determinations(self, value: Decimal, unit: str, exact: bool) -> Any:
        """One figure, or several with this mean, or a list of which it is not quite the mean."""
        pick, d = self.rng.random(), value * Decimal("0.0001")
        if pick < 0.55:
            return written(value, unit)
        if pick < 0.8 or exact:
            return [written(value + x, unit) for x in self.rng.choice(((-d, d), (d, 0, -d), (0,)))]
        return [written(value + d * x, unit) for x in (1, 0, self.rng.choice((1, -2, 0)))]

    def umpire(self, value: Decimal, unit: str, units: dict[str, float]) -> Any:
        if self.maybe(0.15):
            return self.quantity(float(value) * units[unit], units, sure=True)
        return self.determinations(value, unit, exact=self.maybe(0.6))

    # -- prices

    def price(self, request: dict) -> None:
        metals = list(request["terms"]["pay"])
        if self.maybe(0.1) and "Cu" not in metals:
            request["terms"].setdefault("participation", []).append(self.participation("Cu"))
        shared = [p["for"] for p in request["terms"].get("participation", [])]
        for metal in dict.fromkeys(metals + shared):
            pay = request["terms"]["pay"].get(metal, {})
            if "price" not in pay and self.maybe(0.65):
                self.quote(request, metal)
            elif "price" not in pay or self.maybe(0.5):
                request.setdefault("prices", {})[metal] = self.per(plans.PRICE[metal] * self.between(0.7, 1.3))

    def quote(self, request: dict, metal: str) -> None:
        period = self.period("arrived" in request)
        request.setdefault("period", {})[metal] = period
        first, last = deliveries.read_period(period, self.arrived)
        code, mass = self.rng.choice(self.codes), self.rng.choice(list(plans.MASS))
        worth = plans.PRICE[metal] * plans.MASS[mass] / plans.WORTH[code]
        days = self.quoted_days(first, last)
        digits = self.rng.choice((4, 6, 8))
        quotes = {}
        for d in days:
            keyed_wrong = self.rng.choice((1.3, 0.8)) if self.maybe(0.01) else 1
            quotes[d.isoformat()] = plans.plain(worth * self.between(0.96, 1.04) * keyed_wrong, digits)
        request.setdefault("quotes", {})[metal] = {"unit": f"{code}/{mass}", "days": quotes}

    def period(self, arrived_is_told: bool) -> dict:
        pick = self.rng.random()
        if pick < 0.4 and arrived_is_told:
            return {"months_after": self.rng.choice((0, 1, 1, 2, 3, 11, 14))}
        if pick < 0.65:
            month = self.rng.choice((self.arrived.isoformat()[:7], "2024-02", "2023-02", "2025-12", "2028-02"))
            return {"month": month}
        first = self.arrived + timedelta(days=self.rng.randint(-20, 60))
        return {"from": first.isoformat(),
                "to": (first + timedelta(days=self.rng.choice((0, 1, 4, 9, 13, 40)))).isoformat()}

    def quoted_days(self, first: date, last: date) -> list[date]:
        """Weekdays with gaps, a Saturday now and then, some days outside; one at least within."""
        around = [first + timedelta(days=i) for i in range(-8, (last - first).days + 9)]
        keep = self.rng.choice((0.5, 0.85, 1.0))
        days = {d for d in around if self.maybe(keep if d.weekday() < 5 else 0.04)}
        if not any(first <= d <= last for d in days):
            days.add(first + timedelta(days=self.rng.randint(0, (last - first).days)))
        listed = sorted(days)
        if self.maybe(0.2):
            self.rng.shuffle(listed)
        return listed


def delivery(rng: random.Random) -> dict:
    """A valid one: impossible requests, a few in a hundred, are thrown away."""
    while True:
        request = Maker(rng).make()
        edges(request, rng)
        if settles(request):
            return request


def settles(request: dict) -> bool:
    try:
        deliveries.settle(request)
    except ev.PlanError:
        return False
    return True


# ---------------------------------------------------------------- figures right at an edge

def ppm(x: Fraction, hair: Fraction = Fraction(0)) -> str:
    return plans.ppm(x, hair)


def edges(request: dict, rng: random.Random) -> None:
    """Now and then a band, limit, penalty or rounding step lands where the delivery's figure does."""
    if rng.random() > 0.45:
        return
    try:
        told = deliveries.settle(request)
    except ev.PlanError:
        return
    hair = rng.choice(plans.HAIRS)
    rng.choice((edge_assay, edge_assay, edge_mass, edge_payable_tie, edge_money_tie))(request, rng, hair, told)


def edge_assay(request: dict, rng: random.Random, hair: Fraction, told: dict) -> None:
    terms = request["terms"]
    changed = set(terms.get("rounding", {})) | set(terms.get("deemed", {}))
    found = {a: f["settled"] for a, f in told["assays"].items() if a not in changed}
    if "melt_loss" in terms or not found:
        return
    analyte = rng.choice(list(found))
    grade, code = found[analyte], request["currency"]
    if analyte in terms["pay"] and rng.random() < 0.5:
        terms["pay"][analyte].pop("share", None)
        terms["pay"][analyte]["bands"] = [[ppm(grade / 2), "70 %"], [ppm(grade, hair), "93 %"]]
    elif rng.random() < 0.4:
        terms.setdefault("accepts", {})[analyte] = {rng.choice(("min", "max")): ppm(grade, hair)}
    else:
        penalty = {"for": [analyte], **edge_penalty(grade, hair, code, rng)}
        terms["penalties"] = [p for p in terms.get("penalties", []) if p["for"] != [analyte]] + [penalty]


def edge_mass(request: dict, rng: random.Random, hair: Fraction, told: dict) -> None:
    accepts = request["terms"].setdefault("accepts", {})
    mass, damp = told["delivered"]["settled_mass"], told["delivered"].get("moisture")
    if damp and damp["settled"] and rng.random() < 0.5:
        accepts["moisture"] = {"max": plans.at(damp["settled"], hair, "%", Fraction(1, 100))}
    elif mass:
        accepts["mass"] = {rng.choice(("min", "max")): plans.at(mass, hair, "kg", Fraction(1))}


def edge_payable_tie(request: dict, rng: random.Random, hair: Fraction, told: dict) -> None:
    """The payable mass of a metal half way between two steps."""
    metal = rng.choice(list(request["terms"]["pay"]))
    rounding = request["terms"].setdefault("rounding", {})
    mass = told["metal"].get(metal, {}).get("payable", 0)
    if not mass or metal in rounding.get("payable", {}):
        return
    step = mass / (rng.randint(1, 60) + Fraction(1, 2))
    rounding.setdefault("payable", {})[metal] = plans.at(step, hair, "g", Fraction(1, 1000))
    rounding["mode"] = rng.choice(MODES)


def edge_money_tie(request: dict, rng: random.Random, hair: Fraction, told: dict) -> None:
    """Half a cent, of a lot and of a mass."""
    code, mass = request["currency"], told["delivered"]["settled_mass"]
    tie = (rng.randint(1000, 99999) + Fraction(1, 2)) / 100
    charges = request["terms"].setdefault("charges", [])
    charges.append({"what": "tie per lot", "rate": f"{plans.long_decimal(tie)} {code}/lot"})
    if mass:
        charges.append({"what": "tie per mass", "rate": plans.at(tie / mass, hair, f"{code}/kg", Fraction(1))})
    request["terms"].setdefault("rounding", {}).update({"money": f"0.01 {code}", "mode": rng.choice(MODES)})


def edge_penalty(grade: Fraction, hair: Fraction, code: str, rng: random.Random) -> dict:
    pick, rate = rng.randrange(3), f"0.7 {code}/kg"
    each = grade * (1 + hair) / 10
    if pick == 0:
        return {"above": ppm(grade / 2), "each": ppm(each), "rate": rate, "count": "whole"}
    if pick == 1:
        return {"count": "whole", "marginal": [{"above": ppm(grade / 2), "each": ppm(each), "rate": rate},
                                               {"above": ppm(grade * 8 / 10), "each": ppm(each), "rate": rate}]}
    penalty = {"whole": [{"up_to": ppm(grade / 2), "rate": f"0 {code}/t"}, {"up_to": ppm(grade, hair), "rate": rate}]}
    return {**penalty, "refuse_above": ppm(grade * rng.choice((1, 3)), hair)}


# ---------------------------------------------------------------- the same delivery, later on

def follow_up(rng: random.Random, request: dict, statement: dict) -> dict:
    """Some figures found anew, and the statement written before them."""
    later = copy.deepcopy(request)
    later["stage"] = "final"
    for e in [*later["assays"].values(), *later["delivered"].values()]:
        if isinstance(e, dict) and set(e) & {"seller", "buyer"} and rng.random() < 0.8:
            anew(rng, e)
    charges = later["terms"].get("charges", [])
    if charges and rng.random() < 0.4:
        charges[-1]["what"] += ", second sample"
    if "id" in later and rng.random() < 0.2:
        del later["id"]
    later["previous"] = statement
    return later


def anew(rng: random.Random, e: dict) -> None:
    """The other party has found something by now, and where needed the umpire."""
    e.setdefault("seller", e.get("buyer"))
    e.setdefault("buyer", e["seller"])
    if "limit" not in e and "limit_relative" not in e:
        e["limit_relative"] = "1 %"
    e.setdefault("umpire", e[rng.choice(("seller", "buyer"))])
    e.setdefault("rule", rng.choice(deliveries.RULES))


# ---------------------------------------------------------------- requests that must be refused

def two_parties_without_a_limit(request: dict) -> None:
    request["assays"]["Au"] = {"seller": "12 g/t", "buyer": "12 g/t"}


def an_umpire_without_a_rule(request: dict) -> None:
    request["assays"]["Au"] = {"seller": "12 g/t", "buyer": "11 g/t", "limit": "0.2 g/t", "umpire": "11.5 g/t"}


def a_period_without_a_quote(request: dict) -> None:
    code = request["currency"]
    request["terms"].setdefault("pay", {})["Au"] = {}
    request.get("prices", {}).pop("Au", None)
    request.setdefault("quotes", {})["Au"] = {"unit": f"{code}/g", "days": {"2024-02-29": "80", "2024-04-01": "81"}}
    request.setdefault("period", {})["Au"] = {"month": "2024-03"}


def months_from_no_arrival(request: dict) -> None:
    a_period_without_a_quote(request)
    request.pop("arrived", None)
    request["period"]["Au"] = {"months_after": 1}


def a_limited_analyte_unseen(request: dict) -> None:
    request["terms"].setdefault("accepts", {})["Te"] = {"max": "1 %"}


def a_paid_metal_unseen(request: dict) -> None:
    request["terms"]["pay"]["Pd"] = {"share": "90 %"}
    request.setdefault("prices", {})["Pd"] = f"30 {request['currency']}/g"


def no_price(request: dict) -> None:
    request["terms"]["pay"]["Pt"] = {"share": "90 %"}
    request["assays"]["Pt"] = "1 g/t"


def the_wrong_mass(request: dict) -> None:
    mass = "gross" if "wet_mass" in request["delivered"] else "wet_mass"
    request["delivered"] = {mass: "20 kg"}


def an_advance_after_the_final_day(request: dict) -> None:
    request["terms"].update({"final": "10 d", "advance": {"share": "80 %", "after": "241 h"}})


def an_earlier_statement_in_another_currency(request: dict) -> None:
    request["previous"] = {**empty_statement(request), "currency": "CHF"}


def an_earlier_statement_of_another_delivery(request: dict) -> None:
    request["id"] = "lot-1"
    request["previous"] = {**empty_statement(request), "id": "lot-2"}


def no_such_day(request: dict) -> None:
    request["arrived"] = "2025-02-29"


def an_unknown_field(request: dict) -> None:
    request["asays"] = {}


def empty_statement(request: dict) -> dict:
    told = {"format": "buttonworth-statement/1", "currency": request["currency"], "id": request.get("id"),
            "buyer": request.get("buyer"), "arrived": request.get("arrived"), "stage": "provisional",
            "proceeds": "0", "advance": "0", "interest": "0", "balance": "0", "advance_due": None,
            "balance_due": None, "refused": [], "open": [], "delivered": {}, "assays": {}, "prices": {},
            "metal": {}, "lines": [], "changes": [], "cautions": []}
    return told


FAULTS: tuple[Callable[[dict], None], ...] = (
    two_parties_without_a_limit, an_umpire_without_a_rule, a_period_without_a_quote, months_from_no_arrival,
    a_limited_analyte_unseen, a_paid_metal_unseen, no_price, the_wrong_mass, an_advance_after_the_final_day,
    an_earlier_statement_in_another_currency, an_earlier_statement_of_another_delivery, no_such_day,
    an_unknown_field)


def spoiled(rng: random.Random, fault: Optional[Callable[[dict], None]] = None) -> dict:
    """One fault that the page calls an error, said in the request's note."""
    request = delivery(rng)
    fault = fault or rng.choice(FAULTS)
    fault(request)
    request["note"] = fault.__name__.replace("_", " ")
    return request


# ---------------------------------------------------------------- two equal halves

def plain_terms(request: dict) -> dict:
    """Without what makes money jump or bend with the mass of a lot."""
    plain = copy.deepcopy(request)
    terms = plain["terms"]
    for name in ("rounding", "sample_kept"):
        terms.pop(name, None)
    terms.get("accepts", {}).pop("mass", None)
    for charge in terms.get("charges", []):
        charge.pop("at_least", None)
        charge.pop("at_most", None)
    return plain


def per_lot(request: dict) -> set[str]:
    """The charges that two halves pay twice."""
    charges = request["terms"].get("charges", [])
    return {c["what"] for c in charges if any(q.endswith("/lot") for q in ev.written(c["rate"]))}


def halves(request: dict) -> list[dict]:
    """The same delivery as two equal halves: half of every mass that anyone found."""
    half = copy.deepcopy(request)
    half["delivered"] = {what: e if what in ("moisture", "note") else halved(e)
                         for what, e in half["delivered"].items()}
    return [half, copy.deepcopy(half)]


def halved(e: Any) -> Any:
    if isinstance(e, dict):
        as_is = ("limit_relative", "rule", "rsd", "gsd", "note")
        return {k: v if k in as_is else halved(v) for k, v in e.items()}
    if isinstance(e, list):
        return [halved(x) for x in e]
    number, unit = e.split(None, 1)
    with localcontext() as context:
        context.prec = 60
        return written(Decimal(number) / 2, unit)


# ---------------------------------------------------------------- what a delivery covers

def features(request: dict, statement: dict) -> set[str]:
    """Names of the things of the page that a delivery has, for the counts."""
    found = plans.terms_features(request["terms"]) | plans.uncertain_forms(request)
    found |= rounding_features(request["terms"].get("rounding", {}))
    found |= {f"delivered {k}" for k in request["delivered"]} | {f"stage {statement['stage']}"}
    stated = {**request["delivered"], **request["assays"]}
    for name, figure in {**statement["delivered"], **statement["assays"]}.items():
        if isinstance(figure, dict):
            found |= exchange_features(stated.get(name), figure)
    found |= price_features(request, statement)
    found |= {name for name in ("exchange", "previous", "stage", "arrived") if name in request}
    found |= {name for name in ("open", "changes", "refused") if statement[name]}
    if statement["proceeds"] is not None and statement["proceeds"] < 0:
        found.add("proceeds below nothing")
    if any(a not in request["assays"] for a in request["terms"].get("deemed", {})):
        found.add("deemed and not assayed")
    return found


def rounding_features(rounding: dict) -> set[str]:
    found = {f"rounding {k}" for k in ("mass", "payable", "money") if k in rounding}
    if "turn" in rounding.get("mass", {}):
        found.add("rounding turn")
    if set(rounding) & set(plans.ANALYTES):
        found.add("rounding of an assay")
    return found


def price_features(request: dict, statement: dict) -> set[str]:
    found = {f"period {k}" for period in request.get("period", {}).values() for k in period}
    for quotes in request.get("quotes", {}).values():
        if len({d[:4] for d in quotes["days"]}) > 1:
            found.add("quotes over a year's end")
    for told in statement["prices"].values():
        if "quoted_days" not in told:
            found.add("fixed price")
        else:
            found.add("gaps in quotes" if told["unquoted_days"] else "full quotes")
    if any(statement["suspect"].values()):
        found.add("suspect quote")
    return found


def exchange_features(stated: Any, figure: dict) -> set[str]:
    if not isinstance(stated, dict) or not set(stated) & deliveries.PARTS_OF_EXCHANGE:
        return {"one quantity"}
    found = {f"how {figure['how']}"} | {f"exchange {k}" for k in stated if k.startswith("limit")}
    if any(isinstance(v, list) for v in stated.values()):
        found.add("determinations")
    if "difference" not in figure:
        found.add("one party alone")
    elif "umpire_paid_by" in figure:
        found.add(f"umpire paid by {figure['umpire_paid_by']}")
        if figure["umpire_paid_by"] == "both" and figure["how"] == "nearer":
            found.add("umpire in the middle")
    elif "umpire" in stated:
        found.add("umpire not needed")
    return found
