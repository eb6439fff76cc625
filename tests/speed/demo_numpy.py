#!/usr/bin/env python3
"""All eleven routes of the demo plan (examples/demo/plan.json) in NumPy, each draw an element of an array.

    demo_numpy.py --check FILE          the worst difference from the library's draws in FILE
    demo_numpy.py --time FILE [--quick] {"model": {piece: ns}, "drawing": {…}, "both": {…}}, ns per route and draw

FILE is what `buttonworth_speed --draws` writes. Written as one would who wants it fast: what no draw changes is
worked out once, at import; what routes have in common is worked out once a draw; what two sums share is one; amounts
are summed before they are discounted; pieces of a few thousand draws stay in the processor's cache, and whole arrays
are tried beside them. Limits that no draw can come near (a lot that is dry before it is dried) are not looked at;
all that can refuse a lot is, and so is what would break physics. Kilograms, shares of 1, days; sales in US cents.
"""

import ctypes
import json
import math
import sys
import time

import numpy as np
from scipy.interpolate import PchipInterpolator

# Freed arrays stay with the program: with glibc's defaults half of the time goes into fresh pages.
M_TRIM_THRESHOLD, M_MMAP_THRESHOLD = -1, -3
for option in (M_TRIM_THRESHOLD, M_MMAP_THRESHOLD):
    ctypes.CDLL(None).mallopt(option, 1 << 30)

EDGE = 1e-12
OZT = 0.0311034768
LOG_DAY = math.log(1.22) / 365
HOURS_A_DAY = 9
LABOUR, TWO_MEN, DIESEL = 29 * 0.725, 58 * 0.725, 1.32
ROYALTY, LEVY, LEVY_BACK = 0.03, 0.015, 0.60

# Assays of the two parts that are certain, and the nuggets.
PARTS = {
    "Ag": (168e-6, 121e-6), "As": (0.0046, 0.00371), "Sb": (0.0005, 0.0004), "Pb": (0.0038, 0.002911),
    "S": (0.052, 0.04411), "Fe": (0.39, 0.415),
}
NUGGETS, NUGGET_GOLD, NUGGET_SILVER = 0.2643, 0.2643 * 0.872, 0.2643 * 0.106
ANALYTES = ("Au", *PARTS)


def later(days):
    """Present value of 1 paid so many days later."""
    return math.exp(-LOG_DAY * days)


def whole(amount):
    """Rounded to whole ones, half to even, an edge's width (1 part in 10^12) about a half taken as on it. Money is
    counted in cents throughout. Overwrites the amount."""
    near = np.rint(amount)
    amount -= near
    if amount.max() > 0.5 - 1e-5 or amount.min() < 1e-5 - 0.5:  # so near that the rule has to be looked at
        at = np.nonzero(np.abs(amount) > 0.5 - EDGE * np.abs(near))[0]
        near[at] += np.where(near[at] % 2 == 0, 0, np.sign(amount[at]))
    return near


def to_steps(share, per_step, step):
    share = share * per_step
    share = whole(share)
    share *= step
    return share


# NumPy finds a least or largest element four times as fast as it compares with a number, element by element.
def at_least(amount, bound):
    return amount if amount.min() >= bound else np.maximum(amount, bound)


def at_most(amount, bound):
    return amount if amount.max() <= bound else np.minimum(amount, bound)


def worked(discount, hours):
    """The discount of what is ready after so many hours' work."""
    power = hours * (-LOG_DAY / HOURS_A_DAY)
    np.exp(power, out=power)
    power *= discount
    return power


# ---- Steps -------------------------------------------------------------------------------------------


class Pan:
    """A drying pan whose feed is wetter than `to` in every draw."""

    def __init__(self, to, dust, rate, moisture=None):
        rise, per_kwh = 100 - 12, 1 / 3600 / 0.30
        self.to, self.stays = to / (1 - to), 1 - dust
        self.hours = 1 / rate
        litres = DIESEL * per_kwh / 10  # 36 MJ/L
        # Energy is linear in dry solids and water; the water left follows the dry solids.
        evaporating, heating = 2256.4 + 4.19 * rise, 4.19 * rise
        self.per_water = litres * evaporating
        self.per_dry = litres * (0.75 * rise + self.to * (heating - evaporating)) + LABOUR / rate
        if moisture is not None:
            self.per_dry += self.per_water * moisture / (1 - moisture)

    def run(self, discount, dry, water=None):
        """Cost in present value, and the discount of what comes out."""
        cost = dry * self.per_dry
        if water is not None:
            cost += water * self.per_water
        if discount is not None:
            cost *= discount
        return cost, worked(1 if discount is None else discount, dry * self.hours)


SALE_PAN = Pan(0.06, 0.0015, 70)
MAGNET_PAN = Pan(0.004, 0.011 / 3, 55)
FURNACE_PAN = Pan(0.003, 0.001, 20, moisture=0.16)
MIDDLINGS_PAN = Pan(0.06, 0.001, 35, moisture=0.18)

TO_MAGNETICS = {"Au": 0.007, "Ag": 0.008, "As": 0.04, "Sb": 0.04, "Pb": 0.03, "S": 0.03, "Fe": 0.63}
MAGNETICS_MASS = 0.38

POINTS = [0, 0.01, 0.03, 0.07, 0.12, 1]
CURVES = {
    "As": PchipInterpolator(POINTS, [0, 0.05, 0.14, 0.28, 0.41, 1]),
    "S": PchipInterpolator(POINTS, [0, 0.026, 0.075, 0.165, 0.265, 1]),
    "Fe": PchipInterpolator(POINTS, [0, 0.011, 0.035, 0.088, 0.156, 1]),
}
CURVES["Sb"] = CURVES["As"]


class Cut:
    """What of the feed comes with a cumulative pull."""

    def __init__(self, pull):
        self.pull, self.logit = pull, math.log(pull / (1 - pull))
        self.certain = {name: float(curve(pull)) for name, curve in CURVES.items()}

    def of(self, lot, draw):
        taken = {name: lot[name] * share for name, share in self.certain.items()}
        z = draw["logit b"] * -self.logit
        z -= draw["logit a"]
        np.exp(z, out=z)
        z += 1
        mass = lot["dry"] * self.pull
        gold = lot["Au"] / z
        capped = mass * 0.870
        if (gold > capped).any():
            np.minimum(gold, capped, out=gold)
            taken["Ag"] = lot["Ag"] * (gold / lot["Au"])
        else:
            taken["Ag"] = lot["Ag"] / z
        lead = draw["odds"] * self.pull
        taken["Au"], taken["Pb"] = gold, lot["Pb"] * (lead / (lead + (1 - self.pull)))
        taken["dry"] = mass
        return taken


def solids(stream):
    """Gangue: what no assay names."""
    rest = stream["dry"] - stream["Au"]
    for name in PARTS:
        rest -= stream[name]
    return rest


FUME = {"As": 0.95, "Sb": 0.15, "Pb": 0.08, "S": 0.48}
TO_BAR = {"Pb": 0.06, "As": 0.002, "Sb": 0.04, "Fe": 0.0005}
SLAG_SILVER = 60e-6
DOSES = {"borax": (0.45, 1, 2.60), "soda ash": (0.30, 0.584774, 1.10), "potassium nitrate": (0.16, 0.465841, 3.10),
         "silica": (0.1733, 1, 0.70)}
FLUX = sum(dose for dose, _, _ in DOSES.values())
FLUX_STAYS = sum(dose * stays for dose, stays, _ in DOSES.values())
FLUX_COST = sum(dose * price for dose, _, price in DOSES.values())
PER_MELT = 1.25 * TWO_MEN + 34 + 18


def melt(charge, discount, slag_gold):
    """Bar, slag's mass, cost, discount of both, and where physics breaks."""
    bar = {name: charge[name] * share for name, share in TO_BAR.items()}
    slag = charge["dry"] * (1 + FLUX_STAYS)
    for name in ("As", "Sb", "Pb", "S", "Fe"):
        slag -= charge[name] * (FUME.get(name, 0) + TO_BAR.get(name, 0))
    slag -= charge["Au"]
    slag -= charge["Ag"]
    slag /= (1 - SLAG_SILVER) - slag_gold
    in_slag = slag * slag_gold
    bar["Au"] = charge["Au"] - in_slag
    bar["Ag"] = charge["Ag"] - slag * SLAG_SILVER
    broken = (bar["Au"] < 0) | (bar["Ag"] < 0) | (slag < 0)
    bar["dry"] = sum(bar[name] for name in ("As", "Sb", "Fe", "Pb", "Ag", "Au"))
    melts = np.ceil(charge["dry"] * ((1 + FLUX) / 2.1 / (9 * 0.70)))
    cost = melts * PER_MELT
    cost += charge["dry"] * FLUX_COST
    cost *= discount
    return bar, in_slag, cost, worked(discount, melts * 1.25), broken


# ---- Sales -------------------------------------------------------------------------------------------


class Paying:
    """When a sale's money comes, as factors of the present value on the day it is ready."""

    def __init__(self, transit=0, final=0, advance=0, after=0, interest=0):
        self.last = later(transit + final)
        self.sooner = advance * (later(transit + after) - self.last)
        self.interest = advance * interest * (final - after) / 365
        self.royalty = ROYALTY * later(transit + final + 30)
        self.levy = LEVY * (later(transit + final + 45) - LEVY_BACK * later(transit + final + 195))

    def dollars(self, payable, proceeds):
        """Present value on the day it is ready of a sale in cents."""
        positive = at_least(proceeds, 0)
        worth = positive * (0.01 * (self.sooner - self.levy))
        if self.interest:
            proceeds = proceeds - whole(positive * self.interest)
        worth += proceeds * (0.01 * self.last)
        worth -= payable * (0.01 * self.royalty)
        return worth


SMELTER = Paying(12, 60, 0.85, 10, 0.09)
REFINER = Paying(4, 35, 0.80, 7, 0.08)
BARS = Paying(4, 12, 0.90, 1)
TOWN = Paying(1)
CAMP = Paying()
COLLECTOR = Paying(3, 75, 0.30, 2)
RECYCLED = 0.60 * later(20)


def banded(assay, *bands):
    """Share paid times assay: the last band whose start is not above it, starts taken an edge's width lower."""
    lowest, highest = assay.min() * (1 + EDGE), assay.max() * (1 + EDGE)
    share = np.zeros(())
    before = 0.0
    for start, paid in bands:
        if lowest >= start:
            share = np.array(paid)
        elif highest >= start:
            share = share + (assay >= start * (1 - EDGE)) * (paid - before)
        before = paid
    return share * assay


def to_smelter(stream, moisture, wet, discount, price):
    """Present value and where refused."""
    dry = stream["dry"]
    settled = dry * 0.995
    per_dry = 1 / dry
    gold, silver = to_steps(stream["Au"] * per_dry, 1e7, 1e-7), to_steps(stream["Ag"] * per_dry, 1e6, 1e-6)
    arsenic, antimony = to_steps(stream["As"] * per_dry, 1e4, 1e-4), to_steps(stream["Sb"] * per_dry, 1e4, 1e-4)
    lead = to_steps(stream["Pb"] * per_dry, 1e4, 1e-4)
    refused = settled < 20
    refused |= gold < 50e-6 * (1 - EDGE)
    refused |= arsenic > 0.015 * (1 + EDGE)
    refused |= moisture > 0.08 * (1 + EDGE)
    if refused.all():
        return 0.0, refused

    paid = banded(gold, (20e-6, 0.90), (100e-6, 0.94), (500e-6, 0.955))
    gold -= 2e-6
    paid = at_least(np.minimum(paid, gold, out=paid), 0)
    paid *= settled
    payable = whole(paid * price["Au"])
    paid *= 750 / 0.0311035
    proceeds = payable - whole(paid)
    paid = silver * 0.80
    silver -= 40e-6
    paid = at_least(np.minimum(paid, silver, out=paid), 0)
    paid *= settled
    silver_value = whole(paid * price["Ag"])
    payable += silver_value
    proceeds += silver_value
    paid *= 60 / 0.0311035
    proceeds -= whole(paid)
    proceeds -= whole(at_least(settled * 62, 12000))
    proceeds -= whole(at_least(wet * 94, 15000))
    proceeds -= whole(payable * 0.0025)
    proceeds -= 62000
    arsenic += antimony
    arsenic *= 1000
    arsenic -= 2 - 1e-9  # whole steps of rounded assays
    arsenic = at_least(np.floor(arsenic, out=arsenic), 0)
    arsenic *= settled
    arsenic *= 0.35
    proceeds -= whole(arsenic)
    if lead.max() > 0.005:
        over = at_least(at_most(lead, 0.02) - 0.005, 0)
        if lead.max() > 0.02:
            over += 2 * at_least(lead - 0.02, 0)
        over *= settled
        over *= 100  # 0.1 cents a kilogram for each 0.1 %
        proceeds -= whole(over)
    worth = SMELTER.dollars(payable, proceeds)
    worth *= discount
    return worth, refused


def to_refiner(stream, moisture, wet, discount, price):
    dry = stream["dry"]
    per_dry = 1 / dry
    gold, silver = to_steps(stream["Au"] * per_dry, 1e7, 1e-7), stream["Ag"] * per_dry
    arsenic = stream["As"] * per_dry
    refused = dry < 10
    refused |= gold < 300e-6 * (1 - EDGE)
    refused |= arsenic > 0.03
    refused |= moisture > 0.18 * (1 + EDGE)
    if refused.all():
        return 0.0, refused
    paid = banded(gold, (300e-6, 0.945), (1000e-6, 0.955), (5000e-6, 0.965))
    paid *= dry
    payable = whole(paid * price["Au"])
    paid *= 900 / OZT
    proceeds = payable - whole(paid)
    paid = silver * 0.70
    silver -= 50e-6
    paid = at_least(np.minimum(paid, silver, out=paid), 0)
    paid *= dry
    paid *= price["Ag"]
    silver_value = whole(paid)
    payable += silver_value
    proceeds += silver_value
    proceeds -= whole(dry * 88)
    proceeds -= whole(at_least(wet * 70, 22000))
    proceeds -= 98000
    if arsenic.max() > 0.005:
        arsenic = at_least(arsenic - 0.005, 0)
        arsenic *= dry
        arsenic *= 800  # 0.8 cents a kilogram for each 0.1 %
        proceeds -= whole(arsenic)
    worth = REFINER.dollars(payable, proceeds)
    if discount is not None:
        worth *= discount
    return worth, refused


BAND_ENDS, BAND_RATES = np.array([0.0005, 0.002, 0.006]) * (1 + EDGE), np.array([0, 30, 80, 0]) / OZT


def bar_to_refiner(bar, discount, price):
    dry = bar["dry"]
    melted = dry * (1 - 0.018)
    settled = at_least(melted - 0.003, 0)
    per_melted = 1 / melted
    gold = to_steps(bar["Au"] * per_melted, 1e4 * (1 - 0.0004), 0.993e-4)
    silver = to_steps(bar["Ag"] * per_melted, 1e3 * (1 - 0.002), 0.95e-3)
    refused = gold < 0.993 * 0.400 * (1 - EDGE)
    gold *= settled
    gold *= price["Au"]
    silver *= settled
    silver *= price["Ag"]
    payable = whole(gold)
    payable += whole(silver)
    proceeds = payable - whole(dry * (95 / OZT))
    proceeds -= whole(payable * 0.0020)
    proceeds -= 24000 + 31000
    per_melted *= bar["As"]
    arsenic = per_melted
    if arsenic.max() > BAND_ENDS[0]:
        refused |= arsenic > 0.006
        first, last = np.searchsorted(BAND_ENDS, (arsenic.min(), arsenic.max()))
        rate = BAND_RATES[first] if first == last else BAND_RATES[np.searchsorted(BAND_ENDS, arsenic)]
        proceeds -= whole(settled * rate)
    worth = BARS.dollars(payable, proceeds)
    worth *= discount
    return worth, refused


def unrounded(paying, payable, charged=0.0, fixed=0.0):
    """Of a payable value in cents, less a share of it and a sum."""
    proceeds = payable
    if fixed:
        proceeds = payable * (1 - charged)
        proceeds -= fixed
    return paying.dollars(payable, proceeds)


NUGGETS_COLLECTED = NUGGET_GOLD * 1.07
NUGGETS_IN_TOWN = NUGGETS * 0.850 * 0.92
POT_HOURS = 40 / 60
POT_COST = POT_HOURS * LABOUR + 12 + NUGGETS * 0.10 * 2.60
POT_READY = later(POT_HOURS / HOURS_A_DAY)
NUGGET_BAR = {"Au": NUGGET_GOLD * 0.999, "Ag": NUGGET_SILVER * 0.995}
NUGGET_BAR["dry"] = NUGGET_BAR["Au"] + NUGGET_BAR["Ag"]


class NuggetBar:
    """Its mass and assays are certain: prices alone change what it brings."""

    def __init__(self):
        melted = NUGGET_BAR["dry"] * (1 - 0.018)
        self.settled = melted - 0.003
        self.gold = round(NUGGET_BAR["Au"] * (1 - 0.0004) / melted * 1e4) * 1e-4 * 0.993 * self.settled
        self.silver = round(NUGGET_BAR["Ag"] * (1 - 0.002) / melted * 1e3) * 1e-3 * 0.95 * self.settled
        self.fixed = round(NUGGET_BAR["dry"] * 95 / OZT) + 24000 + 31000

    def sell(self, price):
        payable = whole(price["Au"] * self.gold)
        payable += whole(price["Ag"] * self.silver)
        proceeds = payable - whole(payable * 0.0020)
        proceeds -= self.fixed
        worth = BARS.dollars(payable, proceeds)
        worth *= POT_READY
        worth -= POT_COST
        return worth


NUGGET_POT = NuggetBar()

# ---- The plan ----------------------------------------------------------------------------------------

INPUTS = {
    "/prices/Au": "Au", "/prices/Ag": "Ag",
    "/lot/parts/0/wet_mass": "wet 0", "/lot/parts/0/moisture": "moisture 0", "/lot/parts/0/assays/Au": "gold 0",
    "/lot/parts/1/wet_mass": "wet 1", "/lot/parts/1/moisture": "moisture 1", "/lot/parts/1/assays/Au": "gold 1",
    "/steps/table at 2.5 %/curve/Au/logit/0": "logit a", "/steps/table at 2.5 %/curve/Au/logit/1": "logit b",
    "/steps/table at 2.5 %/curve/Pb/odds": "odds", "/steps/crucible furnace/slag_grade/Au": "slag gold",
}
ROUTES = [
    "as it lies, to the smelter", "dried, to the smelter", "as it lies, to the refiner", "by weight to the camp trader",
    "magnetics off, rest to the smelter", "tabled at 2.5 %, bar to the refiner", "tabled at best, bar to the refiner",
    "tabled at best, middlings to the smelter", "tabled at best, nuggets melted too", "tabled at 2.5 %, bar to the town",
    "tabled rich, sold unmelted",
]


def blend(draw):
    water_0, water_1 = draw["wet 0"] * draw["moisture 0"], draw["wet 1"] * draw["moisture 1"]
    dry_0, dry_1 = draw["wet 0"] - water_0, draw["wet 1"] - water_1
    lot = {name: dry_0 * a + dry_1 * b for name, (a, b) in PARTS.items()}
    lot["dry"], lot["water"] = dry_0 + dry_1, water_0 + water_1
    lot["Au"] = dry_0 * draw["gold 0"] + dry_1 * draw["gold 1"]
    return lot


class Tabled:
    """The lot over the table at one cut: concentrate, middlings and tailings."""

    def __init__(self, pull, middlings=0.05):
        self.first = Cut(pull)
        self.second = Cut(pull + middlings) if middlings else None

    def of(self, lot, draw, gangue):
        concentrate = self.first.of(lot, draw)
        rest = solids(concentrate)
        broken = (rest < 0) | (rest > gangue)
        all_taken, middlings = concentrate, None
        if self.second:
            all_taken = self.second.of(lot, draw)
            further = solids(all_taken)
            broken |= (further < rest) | (further > gangue)
            middlings = {name: all_taken[name] - concentrate[name] for name in ("dry", "Au", "Ag", "As", "Sb", "Pb")}
        return concentrate, middlings, lot["Au"] - all_taken["Au"], broken


class Plan:
    """`pulls`: of each route's tables, as the library found them."""

    def __init__(self, pulls):
        pull = [pulls[name][0] if pulls[name] else None for name in ROUTES]
        self.tables = {y: Tabled(y) for y in pull[5:10]}
        self.bars, self.middlings_sold, self.whole_lot = pull[5:10], pull[7], Tabled(pull[10], 0)
        self.in_town = pull[9]

    def worths(self, draw, out, refused, broken):
        """Worths of all routes in out[route], 0 where refused."""
        price = {"Au": draw["Au"] * 100, "Ag": draw["Ag"] * 100}  # cents a kilogram
        lot = blend(draw)
        gangue = solids(lot)
        np.less(gangue, 0, out=broken)
        wet = lot["dry"] + lot["water"]
        moisture = lot["water"] / wet
        collected = unrounded(COLLECTOR, price["Au"] * NUGGETS_COLLECTED, 0.06, 8500)
        in_town = unrounded(TOWN, price["Au"] * NUGGETS_IN_TOWN)
        potted = NUGGET_POT.sell(price)
        recycled = draw["Au"] * RECYCLED

        def put(route, worth, nuggets, where):
            np.add(worth, nuggets, out=out[route])
            refused[route] = where
            if where.any():
                out[route][where] = 0

        worth, where = to_smelter(lot, moisture, wet, 1.0, price)
        put(0, worth, collected, where)

        cost, ready = SALE_PAN.run(None, lot["dry"], lot["water"])
        dried = {name: lot[name] * SALE_PAN.stays for name in ("dry", "Au", "Ag", "As", "Sb", "Pb")}
        worth, where = to_smelter(dried, 0.06, dried["dry"] / 0.94, ready, price)
        worth -= cost
        put(1, worth, collected, where)

        worth, where = to_refiner(lot, moisture, wet, None, price)
        put(2, worth, collected, where)

        payable = lot["dry"] * draw["Au"]
        payable *= 900e-6 * 0.90
        np.floor(payable, out=payable)
        payable *= 100
        put(3, unrounded(CAMP, payable), in_town, np.zeros(len(payable), bool))

        worth, where, split_broken = self.magnetics_off(lot, price, recycled)
        np.logical_or(broken, split_broken, out=broken)
        put(4, worth, collected, where)
        self.over_the_table(draw, price, lot, gangue, (collected, in_town, potted, recycled), broken, put)

    @staticmethod
    def magnetics_off(lot, price, recycled):
        cost, ready = MAGNET_PAN.run(None, lot["dry"], lot["water"])
        dry = lot["dry"] * MAGNET_PAN.stays
        cost += dry * (LABOUR / 45) * ready
        ready = worked(ready, dry * (1 / 45))
        magnetics = {name: lot[name] * (MAGNET_PAN.stays * share) for name, share in TO_MAGNETICS.items()}
        rest = {name: lot[name] * (MAGNET_PAN.stays * (1 - share)) for name, share in TO_MAGNETICS.items()}
        magnetics["dry"], rest["dry"] = dry * MAGNETICS_MASS, dry * (1 - MAGNETICS_MASS)
        broken = (solids(magnetics) < 0) | (solids(rest) < 0)
        worth, where = to_smelter(rest, 0.004, rest["dry"] / 0.996, ready, price)
        worth -= cost
        worth += magnetics["Au"] * recycled * ready
        return worth, where, broken

    def over_the_table(self, draw, price, lot, gangue, known, broken, put):
        collected, in_town, potted, recycled = known
        hours = lot["dry"] * (1 / 65)
        ready = worked(1, hours)
        cost = hours
        cost *= LABOUR
        cost += 70
        recycled = recycled * ready
        made = {}
        for pull, table in self.tables.items():
            concentrate, middlings, tailings_gold, wrong = table.of(lot, draw, gangue)
            np.logical_or(broken, wrong, out=broken)
            made[pull] = (*self.melted(concentrate, ready, draw, broken), middlings, tailings_gold)
        sold = {}
        for route in (5, 6, 7, 8, 9):
            pull = self.bars[route - 5]
            bar, bar_ready, slag_gold, furnace_cost, middlings, tailings_gold = made[pull]
            if route == 9:
                worth = unrounded(TOWN, bar["dry"] * price["Au"] * (0.760 * 0.94))
                worth *= bar_ready
                where = np.zeros(len(worth), bool)
            else:
                if pull not in sold:
                    sold[pull] = bar_to_refiner(bar, bar_ready, price)
                worth, where = sold[pull]
            nuggets = in_town if route == 9 else potted if route == 8 else collected
            worth = worth + slag_gold
            worth -= furnace_cost
            worth -= cost
            if route == 7:
                pan_cost, pan_ready = MIDDLINGS_PAN.run(ready, middlings["dry"])
                dried = {name: middlings[name] * MIDDLINGS_PAN.stays for name in middlings}
                more, no = to_smelter(dried, 0.06, dried["dry"] / 0.94, pan_ready, price)
                worth += more
                worth -= pan_cost
                worth += tailings_gold * recycled * (0.58 / 0.60)
                where = where | no
            else:
                worth += (middlings["Au"] * (0.70 / 0.60) + tailings_gold * (0.58 / 0.60)) * recycled
            put(route, worth, nuggets, where)

        concentrate, _, tailings_gold, wrong = self.whole_lot.of(lot, draw, gangue)
        np.logical_or(broken, wrong, out=broken)
        worth, where = to_refiner(concentrate, 0.16, concentrate["dry"] / 0.84, ready, price)
        worth -= cost
        worth += tailings_gold * recycled * (0.58 / 0.60)
        put(10, worth, collected, where)

    @staticmethod
    def melted(concentrate, ready, draw, broken):
        cost, ready = FURNACE_PAN.run(ready, concentrate["dry"])
        charge = {name: one * FURNACE_PAN.stays for name, one in concentrate.items()}
        bar, in_slag, melt_cost, ready, wrong = melt(charge, ready, draw["slag gold"])
        np.logical_or(broken, wrong, out=broken)
        cost += melt_cost
        in_slag *= draw["Au"]
        in_slag *= ready
        in_slag *= RECYCLED
        return bar, ready, in_slag, cost


# ---- Drawing -----------------------------------------------------------------------------------------


def drawer(seed):
    """A function that draws the twelve inputs so many times."""
    random = np.random.Generator(np.random.Philox(seed))
    determinations = np.array([1096, 1184, 1071, 1152, 1218, 1107]) * 1e-6
    mean, error = determinations.mean(), determinations.std(ddof=1) / math.sqrt(len(determinations))

    def draw(count):
        normal = lambda mean, sd: random.standard_normal(count) * sd + mean  # noqa: E731
        return {
            "Au": random.triangular(2820 / OZT, 2960 / OZT, 3070 / OZT, count),
            "Ag": random.uniform(32.40 / OZT, 36.00 / OZT, count),
            "wet 0": normal(419.9, 3.2), "moisture 0": normal(0.1270, 0.0019),
            "gold 0": random.standard_t(len(determinations) - 1, count) * error + mean,
            "wet 1": normal(361, 10), "moisture 1": normal(0.1114, 0.0016), "gold 1": normal(842e-6, 25e-6),
            "logit a": normal(5.35, 0.12), "logit b": normal(1.067, 0.032),
            "odds": np.exp(normal(math.log(44), math.log(1.25))),
            "slag gold": np.exp(normal(math.log(250e-6), math.log(1.3))),
        }

    return draw


# ---- Checking and timing -------------------------------------------------------------------------------


def read(file):
    with open(file, "rb") as stream:
        head = json.loads(stream.readline())
        columns = np.fromfile(stream).reshape(-1, head["draws"])
    inputs = dict(zip(head["inputs"], columns))
    draw = {name: inputs[place] for place, name in INPUTS.items()}
    return head, draw, columns[len(head["inputs"]):]


def in_pieces(plan, draw, piece, out, refused, broken):
    count = len(broken)
    for at in range(0, count, piece):
        some = slice(at, min(at + piece, count))
        plan.worths({name: one[some] for name, one in draw.items()}, out[:, some], refused[:, some], broken[some])


def room(count):
    return np.empty((len(ROUTES), count)), np.empty((len(ROUTES), count), bool), np.empty(count, bool)


def check(file):
    head, draw, theirs = read(file)
    assert list(head["routes"]) == ROUTES
    out, refused, broken = room(head["draws"])
    in_pieces(Plan(head["routes"]), draw, 4096, out, refused, broken)
    out[:, broken] = np.nan
    off = np.abs(out - theirs) / np.maximum(1, np.abs(theirs))
    assert not (off > 1e-9).any(), f"{np.nanmax(off):.3g} off"
    agree = (np.isnan(out) == np.isnan(theirs)).all()
    return {"worst": float(np.nanmax(off)), "by route": np.nanmax(off, axis=1).tolist(),
            "broken agree": bool(agree),
            "refused": refused.mean(axis=1).tolist()}


def nanoseconds(work, route_draws, rounds):
    runs = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        runs.append(time.process_time() - start)
    return min(runs) / route_draws * 1e9


def timed(file, quick):
    head, draw, _ = read(file)
    plan, count = Plan(head["routes"]), head["draws"]
    out, refused, broken = room(count)
    answer = {"model": {}, "drawing": {}, "both": {}}
    for piece in (1024, 2048, 4096, 8192, 16384, count):
        draws = drawer(1)

        def both():
            for at in range(0, count, piece):
                some = slice(at, at + piece)
                plan.worths(draws(piece), out[:, some], refused[:, some], broken[some])

        works = {"model": lambda: in_pieces(plan, draw, piece, out, refused, broken),
                 "drawing": lambda: [draws(piece) for _ in range(0, count, piece)], "both": both}
        for name, work in works.items():
            answer[name][piece] = nanoseconds(work, len(ROUTES) * count, 3 if quick else 9)
    return answer


def main():
    if sys.argv[1] == "--check":
        print(json.dumps(check(sys.argv[2])))
    else:
        print(json.dumps(timed(sys.argv[2], "--quick" in sys.argv)))


if __name__ == "__main__":
    main()
