"""Compare the library's reconciliations with the plain evaluator on random deliveries and returns.

    python3 reconcile_run.py --library PATH/libbuttonworth.so [--returns 300] [--seed 1]

Section 9 of the format, by the evaluator of section 8: the buyer's figures take the place of ours one after
the other, and what the proceeds change by each time is that figure's part; the parts add up to the whole.
Exit status 1 on any difference.
"""

from __future__ import annotations

import argparse
import copy
import ctypes
import json
import random
import sys
from decimal import Decimal
from fractions import Fraction
from typing import Optional

import deliveries
import evaluator as ev
import random_deliveries
import settle_run

PRINTED = Fraction(1, 10**12)   # money is printed to twelve places, and a part is a difference of two
SHOWN = 5


class Library(settle_run.Library):
    def __init__(self, path: str):
        super().__init__(path)
        self.c.bw_reconcile.restype = ctypes.c_int32
        self.c.bw_reconcile.argtypes = self.c.bw_settle.argtypes

    def reconcile(self, request: dict) -> dict:
        text = json.dumps(request, ensure_ascii=False).encode()
        answer, size = ctypes.c_void_p(), ctypes.c_size_t()
        self.check(self.c.bw_reconcile(self.context, text, len(text), ctypes.byref(answer)))
        try:
            return json.loads(ctypes.string_at(self.c.bw_answer_text(answer, ctypes.byref(size)), size.value))
        finally:
            self.c.bw_answer_destroy(ctypes.byref(answer))


# ---------------------------------------------------------------- a return

def near(rng: random.Random, value: Fraction, unit: str) -> str:
    """A figure within some per cent of another, as an account would write it."""
    return f"{Decimal(float(value)) * Decimal(str(round(rng.uniform(0.93, 1.02), 4))):.9f} {unit}"


def taken(request: dict) -> dict:
    """The delivery with no limit that refuses."""
    made = copy.deepcopy(request)
    made.pop("previous", None)
    made["terms"].pop("accepts", None)
    for penalty in made["terms"].get("penalties", []):
        penalty.pop("refuse_above", None)
    return made


def figures(rng: random.Random, request: dict, ours: dict) -> dict:
    """What the buyer states of masses, assays and prices: some of it."""
    told: dict = {"delivered": {}, "assays": {}, "prices": {}}
    for name, unit, scale in (("wet_mass", "kg", 1), ("gross", "kg", 1), ("melted", "kg", 1), ("moisture", "%", 100)):
        if name in request["delivered"] and rng.random() < 0.6:
            told["delivered"][name] = near(rng, ours["delivered"][name]["settled"] * scale, unit)
    for analyte, figure in ours["assays"].items():
        if rng.random() < 0.6:
            told["assays"][analyte] = near(rng, figure["settled"] * 10**6 * Fraction(97, 100), "g/t")
    for metal in request["terms"].get("pay", {}):
        if rng.random() < 0.4:
            told["prices"][metal] = near(rng, ours["prices"][metal]["average"] / 1000, request["currency"] + "/g")
    return told


def set_price(request: dict, metal: str, price: str) -> None:
    if "price" in request["terms"]["pay"][metal]:
        request["terms"]["pay"][metal]["price"] = price
        return
    for name in ("quotes", "period"):
        request.get(name, {}).pop(metal, None)
    request.setdefault("prices", {})[metal] = price


def steps(request: dict, told: dict):
    """The request after each figure, in the page's order."""
    words = {"wet_mass": "wet mass", "gross": "gross mass", "melted": "melted mass", "moisture": "moisture"}
    for name, words_of in words.items():
        if name in told["delivered"]:
            request["delivered"][name] = told["delivered"][name]
            yield words_of
    for analyte, grade in told["assays"].items():
        request["assays"][analyte] = grade
        yield f"{analyte} assay"
    for metal, price in told["prices"].items():
        set_price(request, metal, price)
        yield f"{metal} price"


# ---------------------------------------------------------------- what the parts should be

def wanted_parts(request: dict, told: dict) -> tuple[list[tuple[str, Fraction]], list[dict], Fraction]:
    now, parts = copy.deepcopy(request), []
    before = deliveries.settle(now)["proceeds"]
    for what in steps(now, told):
        after = deliveries.settle(now)["proceeds"]
        parts.append((what, after - before))
        before = after
    lines = [x for x in deliveries.settle(now)["lines"] if not x["what"].startswith("interest on")]
    return parts, lines, before


def with_lines(rng: random.Random, lines: list[dict]) -> tuple[list[dict], list[Fraction]]:
    """The buyer's lines: some a little off, some forgotten; and by how much each is off."""
    stated, off = [], []
    for line in lines:
        chance = rng.random()
        amount = round(line["amount"] if chance < 0.6 else line["amount"] * Fraction(98, 100), 2)
        if chance > 0.95:
            off.append(-line["amount"])
            continue
        stated.append({"what": line["what"], "amount": f"{Decimal(amount.numerator) / Decimal(amount.denominator):f}"})
        off.append(Fraction(stated[-1]["amount"]) - line["amount"])
    return stated, off


def repeated(lines: list[dict]) -> bool:
    names = [x["what"] for x in lines]
    return len(set(names)) < len(names)


def differences(library: Library, rng: random.Random, request: dict) -> Optional[list[str]]:
    """None where the delivery gives nothing to compare."""
    ours = taken(request)
    try:
        told = figures(rng, ours, deliveries.settle(ours))
        parts, lines, last = wanted_parts(ours, told)
    except ev.PlanError:
        return None
    if repeated(lines):
        return None
    stated, off = with_lines(rng, lines)
    total = sum((Fraction(x["amount"]) for x in stated), Fraction(0))
    proceeds = total + Fraction(rng.choice(["0", "0", "1.5", "-20"]))
    parts += [(line["what"], by) for line, by in zip(lines, off)] + [("arithmetic", proceeds - total)]
    told |= {"lines": stated, "proceeds": f"{Decimal(proceeds.numerator) / Decimal(proceeds.denominator):f}"}
    answer = library.reconcile({"format": "buttonworth-return/1", "delivery": request, "return": told})
    return compared(answer, parts, proceeds - deliveries.settle(ours)["proceeds"])


def plain_name(what: str) -> str:
    """A value line that differs is a payable share."""
    return what.removesuffix(" payable share").removesuffix(" value")


def compared(answer: dict, parts: list[tuple[str, Fraction]], difference: Fraction) -> list[str]:
    """By name, as the page leaves the order of lines open; figures have names of their own."""
    found = {plain_name(x["what"]): Fraction(x["amount"]) for x in answer["parts"]}
    wanted = {plain_name(what): amount for what, amount in parts}
    wrong = [f"{name}: in one only" for name in sorted(found.keys() ^ wanted.keys())]
    for name in found.keys() & wanted.keys():
        if abs(found[name] - wanted[name]) > PRINTED:
            wrong.append(f"{name}: library {float(found[name])}, oracle {float(wanted[name])}")
    if abs(sum(found.values()) - difference) > PRINTED * (len(found) + 1):
        wrong.append("the parts do not add up to the difference")
    return wrong


def main() -> int:
    wish = argparse.ArgumentParser(description="compare the library's reconciliations with the plain evaluator")
    wish.add_argument("--library", required=True)
    wish.add_argument("--returns", type=int, default=300)
    wish.add_argument("--seed", type=int, default=1)
    given = wish.parse_args()
    library, tried, faults = Library(given.library), 0, 0
    for seed in range(given.seed, given.seed + given.returns):
        rng = random.Random(seed)
        wrong = differences(library, rng, random_deliveries.delivery(rng))
        tried += wrong is not None
        if wrong:
            faults += 1
            if faults <= SHOWN:
                print(f"seed {seed}:", *wrong[:4], sep="\n    ")
    library.close()
    print(f"{tried - faults} of {tried} reconciliations agree")
    return 1 if faults or tried < given.returns // 2 else 0


if __name__ == "__main__":
    sys.exit(main())
