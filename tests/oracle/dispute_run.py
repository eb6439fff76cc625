"""Compare what the library says contesting an assay is worth with plain sums over what may be found.

    python3 dispute_run.py --library PATH/libbuttonworth.so [--disputes 30] [--seed 1]

Section 12 of the format, written from its page: proceeds by the evaluator of section 8 at even figures, the
truth, the buyer's and the umpire's as normals on a grid. The grid is coarse, so means and chances agree to
about a hundredth of the spread of proceeds; the library's own promise is ten times that, and is tested on
closed forms. Exit status 1 on any difference.
"""

from __future__ import annotations

import argparse
import copy
import ctypes
import json
import random
import sys
from math import sqrt
from statistics import NormalDist

import deliveries
import evaluator as ev
import random_deliveries
import reconcile_run

FIGURES = 240        # even figures at which proceeds are worked out
STRATA = 160         # of each normal
NEAR = 0.012         # of the range of proceeds, and of chances
SHOWN = 5
NORMAL = NormalDist()
EVEN = [NORMAL.inv_cdf((i + 0.5) / STRATA) for i in range(STRATA)]


class Library(reconcile_run.Library):
    def __init__(self, path: str):
        super().__init__(path)
        self.c.bw_dispute.restype = ctypes.c_int32
        self.c.bw_dispute.argtypes = self.c.bw_settle.argtypes

    def dispute(self, request: dict) -> dict:
        text = json.dumps(request, ensure_ascii=False).encode()
        answer, size = ctypes.c_void_p(), ctypes.c_size_t()
        self.check(self.c.bw_dispute(self.context, text, len(text), ctypes.byref(answer)))
        try:
            return json.loads(ctypes.string_at(self.c.bw_answer_text(answer, ctypes.byref(size)), size.value))
        finally:
            self.c.bw_answer_destroy(ctypes.byref(answer))


class Dispute:
    """A random dispute about one assay, in g/t."""

    def __init__(self, rng: random.Random, request: dict, analyte: str, grade: float):
        self.delivery, self.of = reconcile_run.taken(request), analyte
        self.seller = round(grade, 6)
        self.sds = [round(grade * rng.uniform(0.004, 0.03), 7) for _ in range(3)]
        self.known = rng.random() < 0.5
        self.buyer = round(grade * rng.uniform(0.93, 1.03), 6)
        gap = abs(self.buyer - self.seller) if self.known else 2 * self.sds[0]
        self.limit = round(gap * rng.uniform(0.2, 0.9), 7)
        self.rule = rng.choice(("umpire", "middle", "nearer"))
        self.bias = rng.choice((0.0, 0.0, -0.008, 0.013))
        self.offer = round(grade * rng.uniform(0.96, 1.01), 6) if rng.random() < 0.3 else None
        self.cost = rng.choice((0.0, 150.0, 600.0))

    def request(self) -> dict:
        assay = {"seller": f"{self.seller:.6f} g/t", "limit": f"{self.limit:.7f} g/t", "rule": self.rule}
        if self.known:
            assay["buyer"] = f"{self.buyer:.6f} g/t"
        delivery = copy.deepcopy(self.delivery)
        delivery["assays"][self.of] = assay
        parties = zip(("seller", "buyer", "umpire"), self.sds)
        made = {"format": "buttonworth-dispute/1", "delivery": delivery, "of": self.of,
                "errors": {party: {"sd": f"{sd:.7f} g/t"} for party, sd in parties},
                "bias": f"{100 * self.bias:.1f} %", "umpire_cost": f"{self.cost:.0f} {delivery['currency']}"}
        if self.offer is not None:
            made["offer"] = f"{self.offer:.6f} g/t"
        return made

    # -- what may be found

    def best(self) -> tuple[float, float]:
        seller, buyer, _ = (sd * sd for sd in self.sds)
        if not self.known:
            return self.seller, sqrt(seller)
        seen = 1 + self.bias
        ours, theirs = 1 / seller, seen * seen / buyer
        return (self.seller * ours + self.buyer / seen * theirs) / (ours + theirs), sqrt(1 / (ours + theirs))

    def found(self):
        """Pairs of a buyer's and an umpire's figure, all as likely."""
        best, sd = self.best()
        umpire = self.sds[2]
        if self.known:
            return [(self.buyer, best + sqrt(sd * sd + umpire * umpire) * z) for z in EVEN]
        seen, pairs = 1 + self.bias, []
        spread = sqrt(seen * seen * sd * sd + self.sds[1] ** 2)
        for z in EVEN:
            buyer = seen * best + spread * z
            # The truth given both, as two measurements of it.
            ours, theirs = 1 / (sd * sd), seen * seen / self.sds[1] ** 2
            truth = (best * ours + buyer / seen * theirs) / (ours + theirs)
            after = sqrt(1 / (ours + theirs) + umpire * umpire)
            pairs += [(buyer, truth + after * y) for y in EVEN]
        return pairs

    def settled(self, buyer: float, umpire: float) -> tuple[float, float, bool]:
        """The figure, what the seller pays, whether the umpire was called."""
        if abs(self.seller - buyer) <= self.limit:
            return (self.seller + buyer) / 2, 0.0, False
        ours = abs(umpire - self.seller) < abs(umpire - buyer)
        if self.rule == "umpire":
            figure = umpire
        elif self.rule == "middle":
            figure = sorted((self.seller, buyer, umpire))[1]
        else:
            figure = (umpire + (self.seller if ours else buyer)) / 2
        return figure, 0.0 if ours else self.cost, True


class Proceeds:
    """At the nearest of even figures."""

    def __init__(self, dispute: Dispute, low: float, high: float):
        self.low, self.step = low, (high - low) / FIGURES or 1.0
        self.table = [self.at(dispute, low + self.step * i) for i in range(FIGURES + 1)]

    @staticmethod
    def at(dispute: Dispute, figure: float) -> float:
        request = dispute.delivery
        request["assays"][dispute.of] = f"{max(figure, 0):.9f} g/t"
        return float(deliveries.settle(request)["proceeds"])

    def __call__(self, figure: float) -> float:
        return self.table[round((figure - self.low) / self.step)]

    def range(self) -> float:
        return max(self.table) - min(self.table)


def expected(dispute: Dispute) -> tuple[dict, list[float], float]:
    pairs = dispute.found()
    outcomes = [(dispute.offer if dispute.offer is not None else buyer, *dispute.settled(buyer, umpire))
                for buyer, umpire in pairs]
    figures = [f for outcome in outcomes for f in outcome[:2]]
    proceeds = Proceeds(dispute, min(figures), max(figures))
    count = len(outcomes)
    accepted, contested = [proceeds(o[0]) for o in outcomes], [proceeds(o[1]) for o in outcomes]
    gains = [c - a - o[2] for c, a, o in zip(contested, accepted, outcomes)]
    paid = sum(o[2] for o in outcomes) / count
    wanted = {"/accepted/proceeds": sum(accepted) / count, "/contested/proceeds": sum(contested) / count,
              "/contested/umpire_paid": paid, "/gain": sum(gains) / count,
              "/contested/umpire_called": 100 * sum(o[3] for o in outcomes) / count}
    return wanted, gains, proceeds.range() + dispute.cost


def number(answer: dict, pointer: str) -> float:
    for name in pointer.split("/")[1:]:
        answer = answer[name]
    return float(answer.split()[0])


def differences(library: Library, dispute: Dispute) -> list[str] | None:
    try:
        wanted, gains, spread = expected(dispute)
    except ev.PlanError:
        return None
    answer = library.dispute(dispute.request())
    wrong = []
    for pointer, value in wanted.items():
        near = 100 * NEAR if pointer.endswith("called") else NEAR * spread + 1e-9 * abs(value)
        if abs(number(answer, pointer) - value) > near:
            wrong.append(f"{pointer}: library {number(answer, pointer)}, oracle {value}, spread {spread}")
    for name, chance in (("/low", 0.05), ("/high", 0.95)):
        end, reach = number(answer, name), NEAR * spread
        if sum(g < end - reach for g in gains) > (chance + NEAR) * len(gains):
            wrong.append(f"{name} {end}: more lies below")
        if sum(g <= end + reach for g in gains) < (chance - NEAR) * len(gains):
            wrong.append(f"{name} {end}: less lies below")
    return wrong


def random_dispute(rng: random.Random) -> Dispute | None:
    request = random_deliveries.delivery(rng)
    try:
        paid = [a for a in request["terms"].get("pay", {}) if a in request["assays"]]
        grade = deliveries.settle(reconcile_run.taken(request))["assays"]
    except ev.PlanError:
        return None
    analytes = paid or list(request["assays"])
    if not analytes:
        return None
    analyte = rng.choice(analytes)
    ppm = 1e6 * float(grade[analyte]["settled"])
    return Dispute(rng, request, analyte, ppm) if ppm > 0.01 else None


def main() -> int:
    wish = argparse.ArgumentParser(description="compare what contesting is worth with plain sums")
    wish.add_argument("--library", required=True)
    wish.add_argument("--disputes", type=int, default=30)
    wish.add_argument("--seed", type=int, default=1)
    given = wish.parse_args()
    library, tried, faults = Library(given.library), 0, 0
    for seed in range(given.seed, given.seed + given.disputes):
        dispute = random_dispute(random.Random(seed))
        wrong = differences(library, dispute) if dispute is not None else None
        tried += wrong is not None
        if wrong:
            faults += 1
            if faults <= SHOWN:
                print(f"seed {seed}:", *wrong[:4], sep="\n    ")
    library.close()
    print(f"{tried - faults} of {tried} disputes agree")
    return 1 if faults or tried < given.disputes // 2 else 0


if __name__ == "__main__":
    sys.exit(main())
