"""Flux and slag: section 19 of the format, from its page alone, by counting atoms.

Amounts of elements in kmol (kg over the atomic weight); IUPAC's abridged atomic weights.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from typing import Any, Optional

import evaluator as ev
from bench_figures import (BenchError, Cautions, MayBeNothing, Plain, Reader, Shown, Un, Word, above, below, ceiling, named, un)

WEIGHTS = 5e-5          # relative: tables of atomic weights differ by as much (boron 10.81, 10.811)
BEAM = 1e-9             # of charge and flux: what rounding leaves of a difference

WEIGHT = {
    "H": 1.008, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "F": 18.998, "Na": 22.990, "Mg": 24.305, "Al": 26.982,
    "Si": 28.085, "P": 30.974, "S": 32.06, "Cl": 35.45, "K": 39.098, "Ca": 40.078, "Ti": 47.867, "V": 50.942, "Cr": 51.996,
    "Mn": 54.938, "Fe": 55.845, "Co": 58.933, "Ni": 58.693, "Cu": 63.546, "Zn": 65.38, "As": 74.922, "Se": 78.971,
    "Y": 88.906, "Zr": 91.224, "Nb": 92.906, "Mo": 95.95, "Ru": 101.07, "Rh": 102.91, "Pd": 106.42, "Ag": 107.87, "Cd": 112.41,
    "Sn": 118.71, "Sb": 121.76, "Te": 127.60, "Ba": 137.33, "La": 138.91, "Ce": 140.12, "Ta": 180.95, "W": 183.84,
    "Os": 190.23, "Ir": 192.22, "Pt": 195.08, "Au": 196.97, "Hg": 200.59, "Pb": 207.2, "Bi": 208.98, "Th": 232.04, "U": 238.03}

NOBLE = ("Au", "Ag", "Pt", "Pd", "Rh", "Ru", "Ir", "Os")
SLAG = {o: e for e, o in (pair.split() for pair in """Fe FeO, Mn MnO, Ca CaO, Mg MgO, Na Na2O, K K2O, Ba BaO, Zn ZnO,
    Pb PbO, Cu Cu2O, Ni NiO, Co CoO, Cd CdO, Al Al2O3, Cr Cr2O3, Bi Bi2O3, Sb Sb2O3, B B2O3, Si SiO2, Ti TiO2, Zr ZrO2,
    Sn SnO2, P P2O5, V V2O5, W WO3, Mo MoO3, U UO2, Th ThO2, Ce Ce2O3, La La2O3, Y Y2O3, Nb Nb2O5, Ta Ta2O5""".split(","))}
FUME = {"As2O3": "As", "TeO2": "Te", "SeO2": "Se", "CO2": "C", "H2O": "H"}
OXIDE = {e: o for o, e in {**SLAG, **FUME}.items()}
HALIDES = (("F", "CaF2"), ("F", "MgF2"), ("F", "KF"), ("F", "NaF"), ("Cl", "KCl"), ("Cl", "NaCl"))
SULPHIDES = {"Cu": "Cu2S", "Ni": "NiS", "Co": "CoS", "Fe": "FeS", "Pb": "PbS", "Zn": "ZnS", "Cd": "CdS", "Bi": "Bi2S3", "Sb": "Sb2S3"}
AS_THEY_ARE = {"Te": "Te2", "Se": "Se2", "Cu": "", "Cd": "Cd", "Bi": "", "Pb": "", "Ni": "", "Co": "", "As": "As4", "Sb": "",
               "Sn": "", "Fe": "", "Zn": "Zn"}          # the vapour of each, "" to the bar
BASES = ("FeO", "MnO", "CaO", "MgO", "Na2O", "K2O", "BaO", "ZnO", "PbO", "Cu2O", "NiO", "CoO", "CdO")
ACIDS = ("SiO2", "B2O3", "TiO2", "P2O5")
DEGREES = {"subsilicate": 0.5, "singulosilicate": 1.0, "sesquisilicate": 1.5, "bisilicate": 2.0, "trisilicate": 3.0}
MOST_SODA = 5           # kg/kg

MINERALS = dict(pair.strip().rsplit(" ", 1) for pair in """magnetite Fe3O4, hematite Fe2O3, goethite FeO(OH),
    ilmenite FeTiO3, chromite FeCr2O4, rutile TiO2, cassiterite SnO2, scheelite CaWO4, wolframite FeWO4, zircon ZrSiO4,
    monazite CePO4, quartz SiO2, almandine Fe3Al2(SiO4)3, grossular Ca3Al2(SiO4)3, fayalite Fe2SiO4, forsterite Mg2SiO4,
    enstatite MgSiO3, diopside CaMgSi2O6, hornblende Ca2Mg4Al2Si7O22(OH)2, epidote Ca2Al2FeSi3O12(OH),
    biotite K2Fe3Mg3Al2Si6O20(OH)4, muscovite KAl3Si3O10(OH)2, kaolinite Al2Si2O5(OH)4, orthoclase KAlSi3O8, albite NaAlSi3O8,
    anorthite CaAl2Si2O8, tourmaline NaFe3Al6Si6O18(BO3)3(OH)4, staurolite Fe2Al9Si4O23(OH), kyanite Al2SiO5,
    sphene CaTiSiO5, calcite CaCO3, dolomite CaMg(CO3)2, siderite FeCO3, apatite Ca5(PO4)3F, fluorite CaF2, barite BaSO4,
    gypsum CaSO4(H2O)2, pyrite FeS2, marcasite FeS2, pyrrhotite Fe7S8, arsenopyrite FeAsS, galena PbS, sphalerite ZnS,
    chalcopyrite CuFeS2, chalcocite Cu2S, covellite CuS, bornite Cu5FeS4, stibnite Sb2S3, molybdenite MoS2, cinnabar HgS,
    cerussite PbCO3, steel Fe, lead shot Pb""".replace("\n", " ").split(","))
REAGENTS = {"borax": "Na2B4O7", "borax decahydrate": "Na2B4O7(H2O)10", "soda ash": "Na2CO3", "silica": "SiO2",
            "potassium nitrate": "KNO3", "sodium nitrate": "NaNO3", "fluorspar": "CaF2"}
NITRATES = ("potassium nitrate", "sodium nitrate")


# ---------------------------------------------------------------- formulas

def atoms(formula: str) -> Counter:
    """Atoms of a formula with brackets; figures may be decimals."""
    pieces = re.findall(r"[A-Z][a-z]?|\(|\)|\d+(?:\.\d+)?", formula)
    if "".join(pieces) != formula or not pieces:
        raise BenchError(f"not a formula: {formula}")
    stack: list[Counter] = [Counter()]
    at = 0
    while at < len(pieces):
        piece, at = pieces[at], at + 1
        if piece == "(":
            stack.append(Counter())
            continue
        times = 1.0
        if at < len(pieces) and pieces[at][0].isdigit():
            times, at = float(pieces[at]), at + 1
        if piece == ")":
            if len(stack) < 2:
                raise BenchError(f"brackets of {formula}")
            for element, n in stack.pop().items():
                stack[-1][element] += n * times
        elif piece in WEIGHT:
            stack[-1][piece] += times
        else:
            raise BenchError(f"{piece} is no element of the list")
    if len(stack) != 1:
        raise BenchError(f"brackets of {formula}")
    return stack[0]


def weight(formula: str) -> float:
    return sum(WEIGHT[e] * n for e, n in atoms(formula).items())


def oxygen_per_atom(element: str) -> float:
    """Oxygen that one atom takes with it in its oxide."""
    oxide = atoms(OXIDE[element])
    return oxide["O"] / oxide[element]


def left_oxygen(has: Counter, per_sulphur: float) -> float:
    """What a formula holds less what its oxides want; halogens hold none and want none."""
    wants = sum(n * oxygen_per_atom(element) for element, n in has.items() if element in OXIDE)
    return has["O"] - wants - has["S"] * per_sulphur


def is_sulphate(has: Counter) -> bool:
    return has["S"] > 0 and left_oxygen(has, 3.0) > -1e-9


# ---------------------------------------------------------------- the charge

class Melted:
    """Charge and reagents, by atoms, in kmol."""

    def __init__(self, per_sulphur: float):
        self.per_sulphur = per_sulphur
        self.atoms: Counter = Counter()
        self.given_flux: Counter = Counter()        # atoms of charge and given flux alone: halides take their metals from it
        self.sulphate = 0.0                         # S kept as sulphate
        self.borax_oxygen = 0.0                     # of the soda that goes with boron
        self.wants = self.mineral_left = self.reagent_left = 0.0        # O
        self.inert = 0.0                            # kg
        self.halides: dict[str, float] = {}

    def add(self, formula: str, mass: float, reagent: bool, added: bool = False) -> None:
        has = atoms(formula)
        if has["Hg"] and mass > 0:
            raise BenchError("mercury is not driven off in a furnace")
        n = mass / weight(formula)
        for element, count in has.items():
            self.atoms[element] += n * count
            if not added:
                self.given_flux[element] += n * count
        sulphate = is_sulphate(has)
        left = n * left_oxygen(has, 3.0 if sulphate else self.per_sulphur)
        self.sulphate += n * has["S"] if sulphate else 0.0
        if left < 0:
            self.wants -= left
        elif reagent:
            self.reagent_left += left
        else:
            self.mineral_left += left
        if reagent and has["B"]:
            self.borax_oxygen += n * min(has["Na"] / 2, has["B"] / 2)

    def bind_halogens(self, free_fluorine: bool = False) -> None:
        metals, free = Counter(self.given_flux), {"F": self.atoms["F"], "Cl": self.atoms["Cl"]}
        for halogen, salt in HALIDES:
            has = atoms(salt)
            metal = next(e for e in has if e != halogen)
            n = min(metals[metal], free[halogen] / has[halogen])
            if n > 0:
                self.halides[salt] = n
                metals[metal] -= n
                free[halogen] -= n * has[halogen]
        self.wants -= sum(n * atoms(s)[h] for h, s in HALIDES for t, n in self.halides.items() if t == s) / 2
        if free["F"] > 1e-9 * self.atoms["F"] and not free_fluorine:
            raise BenchError("fluorine that finds no metal")
        self.chlorine = free["Cl"]


class Products:
    """Where the atoms go."""

    def __init__(self, m: Melted, ore_oxygen: bool, to_sulphate: bool, free_fluorine: bool = False):
        self.m, self.to_sulphate = m, to_sulphate
        m.bind_halogens(free_fluorine)
        self.scale = max(sum(m.atoms[e] for e in ("O", "S", "Fe", "Pb")), 1e-300)      # against which rounding is nothing
        self.wanted = m.wants if m.wants > 1e-12 * self.scale else 0.0
        self.given = m.reagent_left + (m.mineral_left if ore_oxygen else 0.0) + max(0.0, -m.wants)
        self.free = Counter(m.atoms)
        for salt, n in m.halides.items():
            for element, count in atoms(salt).items():
                self.free[element] -= n * count
        self.sulphur = m.atoms["S"] - m.sulphate
        self.matte: dict[str, float] = {}
        self.metal: dict[str, float] = {e: m.atoms[e] for e in NOBLE if m.atoms[e]}
        self.vapour: dict[str, float] = {}
        self.lack(max(0.0, self.wanted - self.given))
        self.finish()

    # -- short of oxygen

    def lack(self, lacking: float) -> None:
        for metal, sulphide in SULPHIDES.items():
            has = atoms(sulphide)
            s = min(lacking / (self.m.per_sulphur + 1), self.sulphur, max(0.0, self.free[metal]) * has["S"] / has[metal])
            if s > 1e-12 * self.scale:
                self.matte[sulphide] = s / has["S"]
                self.free[metal] -= s * has[metal] / has["S"]
                self.sulphur -= s
                lacking -= s * (self.m.per_sulphur + 1)
        s = min(lacking / self.m.per_sulphur, self.sulphur)
        self.vapour["S2"] = s / 2
        self.sulphur -= s
        lacking -= s * self.m.per_sulphur
        for element, vapour in AS_THEY_ARE.items():
            n = min(max(0.0, lacking) / oxygen_per_atom(element), max(0.0, self.free[element]))
            if vapour:
                self.vapour[vapour] = n / atoms(vapour)[element]
            elif n > 1e-12 * self.scale:
                self.metal[element] = n
            self.free[element] -= n
            lacking -= n * oxygen_per_atom(element)
        if lacking > 1e-9 * self.scale:
            raise BenchError("more oxygen is wanted than anything can do without")

    def finish(self) -> None:
        m = self.m
        self.oxides = {o: self.free[e] / atoms(o)[e] for o, e in SLAG.items() if self.free[e] > 0}
        self.oxides["SO3"] = m.sulphate + (self.sulphur if self.to_sulphate else 0.0)
        self.gas = {o: self.free[e] / atoms(o)[e] for o, e in FUME.items() if self.free[e] > 0}
        self.gas.update(self.vapour)
        self.gas.update({"N2": m.atoms["N"] / 2, "Cl2": m.chlorine / 2, "SO2": 0.0 if self.to_sulphate else self.sulphur})
        bound = sum(n * atoms(o)["O"] for o, n in {**self.oxides, **self.gas}.items())
        self.gas["O2"] = (m.atoms["O"] - bound) / 2

    def base_oxygen(self, acid: bool) -> float:
        n = sum(self.oxides.get(o, 0.0) for o in BASES) - self.oxides["SO3"]
        return n if acid else n - self.borax_soda()

    def borax_soda(self) -> float:
        """Na2O that came with boron, no more than halides left of the soda of charge and given flux."""
        taken = sum(n for salt, n in self.m.halides.items() if salt in ("NaF", "NaCl"))
        return max(0.0, min(self.m.borax_oxygen, (self.m.given_flux["Na"] - taken) / 2))

    def acid_oxygen(self, names: tuple[str, ...]) -> float:
        return sum(self.oxides.get(o, 0.0) * atoms(o)["O"] for o in names)

    def slag_masses(self) -> dict[str, float]:
        salts = {**self.oxides, **self.m.halides}
        return {**{o: n * weight(o) for o, n in salts.items()}, "rest": self.m.inert}

    def matte_mass(self) -> float:
        return sum(n * weight(s) for s, n in self.matte.items())

    def bar_masses(self) -> dict[str, float]:
        return {e: n * WEIGHT[e] for e, n in self.metal.items()}


def stays(formula: str) -> float:
    """What a reagent by itself leaves in the slag with oxygen enough, per kg; fluorine that finds no metal in it is not counted."""
    m = Melted(2.0)
    m.add(formula, 1.0, True)
    m.reagent_left += max(0.0, m.wants)
    return sum(Products(m, False, False, True).slag_masses().values())


def molar_volume() -> float:
    """Litres a kmol of an ideal gas takes at 1100 degC and 101.325 kPa."""
    return 8.314462618 * 1373.15 / 101325 * 1e6


# ---------------------------------------------------------------- the request

class Charge:
    def __init__(self, request: dict):
        self.request = request
        self.money = ev.read_currencies(request) if "currency" in request else {}
        self.r = Reader(self.money)
        self.mass = self.r.mass(request["charge"]["mass"]).value
        self.shares = {m: self.r.grade(q) for m, q in named(request["charge"]["minerals"])}
        if above(sum(s.value for s in self.shares.values()), 1):
            raise BenchError("minerals over 100 %")
        oxidise = request.get("oxidise", {})
        self.to_sulphate = oxidise.get("sulphur_to") == "sulphate"
        self.ore_oxygen = bool(oxidise.get("ore_oxygen"))
        self.prices = dict(named(request.get("reagent_prices", {})))
        self.flux = [self.read_flux(one) for one in request.get("flux", [])]
        self.given_flux = len(self.flux)
        self.add_nitrate()
        self.add_for_degree()

    def read_flux(self, one: dict) -> tuple[str, float, Optional[str]]:
        name = one["reagent"]
        if name not in REAGENTS and stays(name) > 1 + 1e-9:
            raise BenchError(f"{name} would leave more than its own mass")
        return name, self.r.dose(one["dose"]).value * self.mass, one.get("price", self.prices.get(name))

    def melted(self) -> Melted:
        m = Melted(3.0 if self.to_sulphate else 2.0)
        for mineral, share in self.shares.items():
            m.add(MINERALS.get(mineral, mineral), share.value * self.mass, False)
        m.inert = max(0.0, 1 - sum(s.value for s in self.shares.values())) * self.mass
        for i, (reagent, mass, _) in enumerate(self.flux):
            m.add(REAGENTS.get(reagent, reagent), mass, True, i >= self.given_flux)
        return m

    def products(self) -> Products:
        return Products(self.melted(), self.ore_oxygen, self.to_sulphate)

    def add(self, reagent: str, mass: float) -> None:
        if mass > 0:
            self.flux.append((reagent, mass, self.prices.get(reagent)))

    def add_nitrate(self) -> None:
        if "oxidise" not in self.request:
            return
        oxidise, m = self.request["oxidise"], self.melted()
        m.bind_halogens()
        given = m.reagent_left + (m.mineral_left if self.ore_oxygen else 0.0) + max(0.0, -m.wants)
        lacking = max(0.0, m.wants) - given
        if lacking > 1e-12 * m.atoms["O"]:
            excess = self.r.share(oxidise.get("excess", "0 %")).value
            self.add(oxidise["with"], lacking * (1 + excess) / 2.5 * weight(REAGENTS[oxidise["with"]]))

    def add_for_degree(self) -> None:
        if "degree" not in self.request:
            return
        wish = self.request["degree"]
        degree = DEGREES[wish] if wish in DEGREES else float(ev.exact(wish))
        p = self.products()
        bases, silica = p.base_oxygen(False), p.acid_oxygen(("SiO2",))
        if bases <= 1e-12 and silica <= 0:
            raise BenchError("no bases and no silica")
        if silica < degree * bases:
            self.add("silica", (degree * bases - silica) / 2 * weight("SiO2"))
        else:
            soda = (silica / degree - bases) * weight("Na2CO3")
            if above(soda, MOST_SODA * self.mass):
                raise BenchError("soda ash cannot lower the degree")
            self.add("soda ash", soda)

    def cost(self) -> Optional[float]:
        priced = [(mass, price) for _, mass, price in self.flux if price is not None and mass > 0]
        return sum(mass * self.r.per_mass(price).value for mass, price in priced) if priced else None


def flux(request: dict) -> dict:
    c = Charge(request)
    p = c.products()
    whole = c.mass + sum(mass for _, mass, _ in c.flux)
    floor, near = 1e-7 * whole, {"near": WEIGHTS, "floor": WEIGHTS * 0.2 * whole}
    slag_masses = p.slag_masses()
    slag = sum(slag_masses.values())

    def listed(masses: dict[str, float], scale: float, unit: str, **how: float) -> dict:
        return {name: Plain(n * scale, unit, **how) for name, n in masses.items() if n > floor}
    gas, metal = {o: n * weight(o) for o, n in p.gas.items()}, p.bar_masses()
    answer: dict[str, Any] = {
        "format": Word("buttonworth-flux/1"), "flux": flux_told(c), "cautions": cautions(c, p, sum(gas.values())),
        "oxygen": {"wanted": Plain(p.wanted * WEIGHT["O"], "kg", **near), "given": Plain(p.given * WEIGHT["O"], "kg", **near)},
        "slag": {"mass": Plain(slag, "kg", **near), "per_charge": Plain(slag / c.mass, near=WEIGHTS, floor=WEIGHTS),
                 "oxides": listed(slag_masses, 100 / (slag or 1), "%", near=2 * WEIGHTS, floor=100 * WEIGHTS * 0.2 * whole / (slag or 1))},
        "matte": MayBeNothing(p.matte_mass(), "kg", **near),
        "bar": {"mass": MayBeNothing(sum(metal.values()), "kg", **near), "metal": listed(metal, 1, "kg", **near)},
        "gas": {"mass": MayBeNothing(sum(gas.values()), "kg", **near), "of": listed(gas, 1, "kg", **near),
                "volume": Plain(sum(p.gas.values()) * molar_volume(), "L", near=4 * WEIGHTS, floor=WEIGHTS * 0.2 * whole / 18 * molar_volume())},
        "flux_mass": Plain(whole - c.mass, "kg", **near)}
    if "currency" in request:
        answer["currency"] = Word(request["currency"])
    degrees(answer, p)
    cost = c.cost()
    if cost is not None:
        answer["cost"] = Plain(cost, "", near=10 * WEIGHTS)
    if "crucible" in request:
        pot = request["crucible"]
        volume = whole / c.r.density(pot["density"]).value
        answer["melts"] = Plain(ceiling(volume / (c.r.litres(pot["volume"]).value * c.r.share(pot["fill"]).value)))
    held = {a: p.m.atoms[a] * WEIGHT[a] for a in NOBLE}
    told = {a: in_slag(c, held[a], a, q, slag) for a, q in named(request.get("slag_grade", {})) if held.get(a, 0.0) > 0}
    if told:
        answer["in_slag"] = told
    for metal in request.get("retreatment", {}).get("recovery", {}):
        if metal not in request.get("prices", {}):
            raise BenchError(f"a recovery wants the price of {metal}")
    return answer


class Price(Shown):
    """A price of the answer, in money of the document: per mass, in whatever unit of mass."""

    def __init__(self, written: str, r: Reader, currency: str):
        super().__init__(r.per_mass(written).value, "")
        self.written = written if written.split()[1].startswith(currency + "/") else None
        self.reader = r


def flux_told(c: Charge) -> list[dict]:
    told = []
    for i, (reagent, mass, price) in enumerate(c.flux):
        near = {} if i < c.given_flux else {"near": 10 * WEIGHTS, "floor": 5 * WEIGHTS}
        one: dict[str, Any] = {"reagent": Word(reagent), "dose": Plain(mass / c.mass, "kg/kg", **near)}
        if reagent not in REAGENTS:
            one["stays"] = Plain(100 * stays(reagent), "%", near=WEIGHTS, floor=0.1 * WEIGHTS)
        if price is not None:
            one["price"] = Price(price, c.r, c.request["currency"])
        if mass > 0:
            told.append(one)
    return told


def degrees(answer: dict, p: Products) -> None:
    for name, acids, acid in (("degree", ("SiO2",), False), ("acid_degree", ACIDS, True)):
        bases = p.base_oxygen(acid)
        if bases <= 1e-9:
            answer[name] = Word(None)
            continue
        size = sum(p.oxides.get(o, 0.0) for o in BASES) / bases       # what the difference was taken from
        answer[name] = Plain(p.acid_oxygen(acids) / bases, near=5 * WEIGHTS * (1 + size), floor=1e-9)


def in_slag(c: Charge, held: float, metal: str, q: Any, slag: float) -> dict:
    request, r, near = c.request, c.r, {"near": 2 * WEIGHTS}
    content = r.grade(q) * slag
    if above(content.value, held):
        raise BenchError("more metal in the slag than in the charge")
    told: dict[str, Any] = {"content": Shown(content * 1000, "g", **near), "of_charge": Shown(content * 100 / held, "%", **near)}
    if metal in request.get("prices", {}):
        price = r.per_mass(request["prices"][metal])
        told["worth"] = Shown(content * price, "", **near)
        again = request.get("retreatment", {})
        if metal in again.get("recovery", {}):
            cost = un(slag) * r.per_mass(again["cost"])
            income = content * price * r.share(again["recovery"][metal])
            told["retreating_leaves"] = Shown(income - cost, "", floor=2 * WEIGHTS * (income.value + cost.value))
    return told


def cautions(c: Charge, p: Products, gas: float) -> Cautions:
    """Those that the page words well enough; the library says more, of heat, metals and water."""
    told, names = Cautions(), [REAGENTS.get(reagent, reagent) for reagent, mass, _ in c.flux if mass > 0]
    told.others = True
    told.add("dry")
    if above(gas, 0.05 * c.mass):
        told.add("foam")
    if p.matte_mass() > 1e-9 * c.mass:
        told.add("matte")
    if p.m.inert > 1e-9 * c.mass:
        told.add("inert")
    if any(atoms(f)["N"] or f == "Na2CO3" for f in names) or p.m.atoms["F"]:
        told.add("lining", "crucible")
    return told
