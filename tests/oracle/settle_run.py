"""Compare the library's statements with the plain evaluator on random deliveries.

    python3 settle_run.py --library PATH/libbuttonworth.so [--deliveries 500] [--seed 1]

Each delivery is settled, now and then once more with the library's own statement as
the one before, and in part as two equal halves; one in twelve is spoiled and must be
refused by both. Exit status 1 on any difference.
"""

from __future__ import annotations

import argparse
import ctypes
import json
import random
import sys
from collections import Counter
from fractions import Fraction
from typing import Any, Iterable, Optional

import deliveries
import evaluator as ev
import random_deliveries
import run

MONEY = Fraction(1, 10**30)           # of the amount: what the sums may differ by
PRINTED = Fraction(51, 10**14)        # money is printed to twelve places
NOTHING = Fraction(1, 10**40)         # of the sum of all lines: what may stand for nothing
FIGURE = Fraction(1, 10**11)          # masses and grades carry 12 digits
SHOWN = 5
FIGURES_OF_A_PARTY = ("seller", "buyer", "difference", "umpire")


class Library(run.Library):
    """One call more."""

    def __init__(self, path: str):
        super().__init__(path)
        self.c.bw_settle.restype = ctypes.c_int32
        self.c.bw_settle.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_size_t,
                                     ctypes.POINTER(ctypes.c_void_p)]

    def settle(self, request: dict) -> dict:
        text = json.dumps(request, ensure_ascii=False).encode()
        answer, size = ctypes.c_void_p(), ctypes.c_size_t()
        self.check(self.c.bw_settle(self.context, text, len(text), ctypes.byref(answer)))
        try:
            at = self.c.bw_answer_text(answer, ctypes.byref(size))
            return json.loads(ctypes.string_at(at, size.value))
        finally:
            self.c.bw_answer_destroy(ctypes.byref(answer))


# ---------------------------------------------------------------- comparing one statement

def by_name(lines: Iterable[dict]) -> dict[tuple[str, int], dict]:
    seen: Counter = Counter()
    named = {}
    for line in lines:
        seen[line["what"]] += 1
        named[line["what"], seen[line["what"]]] = line
    return named


def first_unit(e: Any) -> str:
    """The unit of the figure stated first."""
    if isinstance(e, list):
        return first_unit(e[0])
    if isinstance(e, dict) and set(e) & deliveries.PARTS_OF_EXCHANGE:
        return first_unit(next(e[p] for p in e if p in ("seller", "buyer")))
    return ev.split_quantity(ev.written(e)[0])[1]


class Check:
    """Collects what differs between the library's statement and the oracle's."""

    def __init__(self, request: dict, found: dict, wanted: dict):
        self.request, self.found, self.wanted = request, found, wanted
        self.differs: list[str] = []
        self.units = ev.Units(ev.read_currencies(request))
        self.own_units = self.units.inside(request["terms"].get("factors"))
        self.scale = sum((abs(x["amount"]) for x in wanted["lines"]), Fraction(0))

    def say(self, place: str, found: Any, wanted: Any) -> None:
        self.differs.append(f"{place}: library {found}, oracle {run.show(wanted)}")

    def same(self, place: str, found: Any, wanted: Any) -> None:
        if found != wanted:
            self.say(place, found, wanted)

    def money(self, place: str, text: Any, wanted: Optional[Fraction], of: Fraction = Fraction(0)) -> None:
        """`of`: what a sum is made of, as its digits may cancel."""
        if not isinstance(text, str) or wanted is None:
            self.same(place, text, wanted)
        elif abs(Fraction(text) - wanted) > PRINTED + MONEY * max(abs(wanted), of) + NOTHING * self.scale:
            self.say(place, text, wanted)

    def figure(self, place: str, text: Any, wanted: Fraction) -> None:
        if not isinstance(text, str) or abs(run.number(text) - wanted) > FIGURE * abs(wanted):
            self.say(place, text, wanted)

    def whole(self) -> list[str]:
        found, wanted = self.found, self.wanted
        self.same("format", found.get("format"), "buttonworth-statement/1")
        for name in ("currency", "id", "buyer", "arrived"):
            self.same(name, found.get(name), wanted[name])
        for name in ("stage", "advance_due", "balance_due"):
            self.same(name, found[name], wanted[name])
        for name in ("proceeds", "advance", "interest", "balance"):
            self.money(name, found[name], wanted[name], self.total_of(name))
        self.same("reasons to refuse", len(found["refused"]), len(wanted["refused"]))
        self.same("open", sorted(x["at"] for x in found["open"]), sorted(wanted["open"]))
        self.delivered()
        self.assays()
        self.prices()
        self.metal()
        self.lines()
        self.changes()
        return self.differs

    def total_of(self, name: str) -> Fraction:
        if name == "balance" and self.wanted["advance"] is not None:
            return self.scale + abs(self.wanted["advance"])
        return self.scale if name in ("proceeds", "advance") else Fraction(0)

    # -- what was found

    def exchanged(self, place: str, found: Any, wanted: dict, stated: Any) -> None:
        if not isinstance(found, dict):
            self.say(place, found, "a figure with `settled` and `how`")
            return
        self.figure(f"{place} settled", found.get("settled"), wanted["settled"])
        if stated is not None:
            self.same(f"{place} unit", str(found.get("settled")).partition(" ")[2], first_unit(stated))
        for name in ("how", "umpire_paid_by"):
            self.same(f"{place} {name}", found.get(name), wanted.get(name))
        for name in FIGURES_OF_A_PARTY:
            if name in wanted:
                self.figure(f"{place} {name}", found.get(name), wanted[name])
            elif found.get(name) is not None:
                self.say(f"{place} {name}", found[name], "none")

    def delivered(self) -> None:
        found, stated = self.found["delivered"], self.request["delivered"]
        for what, w in self.wanted["delivered"].items():
            if not isinstance(w, dict):
                self.figure(f"delivered {what}", found.get(what), w)
            elif what in stated or what in found:
                self.exchanged(f"delivered {what}", found.get(what), w, stated.get(what))
        for what in set(found) - set(self.wanted["delivered"]):
            self.say(f"delivered {what}", found[what], "none")

    def assays(self) -> None:
        found, stated = self.found["assays"], self.request.get("assays", {})
        self.same("assays", sorted(found), sorted(self.wanted["assays"]))
        for analyte, w in self.wanted["assays"].items():
            self.exchanged(f"assay of {analyte}", found.get(analyte), w, stated[analyte])

    def prices(self) -> None:
        found = self.found["prices"]
        self.same("prices", sorted(found), sorted(self.wanted["prices"]))
        for metal, w in self.wanted["prices"].items():
            f = found.get(metal, {})
            self.price(metal, f.get("average"), w["average"])
            for name in ("quoted_days", "unquoted_days"):
                self.same(f"price of {metal} {name}", f.get(name), str(w[name]) if name in w else None)
        self.cautions()

    def price(self, metal: str, text: Any, wanted: Fraction) -> None:
        place, stated = f"price of {metal}", self.stated_price(metal)
        own = "price" in self.request["terms"].get("pay", {}).get(metal, {})
        if not isinstance(text, str):
            self.say(place, text, wanted)
            return
        self.same(f"{place} unit", text.partition(" ")[2], stated)
        price = (self.own_units if own else self.units).per_mass(text)
        if abs(price - wanted) > FIGURE * wanted:
            self.say(place, text, wanted)

    def stated_price(self, metal: str) -> str:
        own = self.request["terms"].get("pay", {}).get(metal, {}).get("price")
        fixed = own or self.request.get("prices", {}).get(metal)
        return first_unit(fixed) if fixed else self.request["quotes"][metal]["unit"]

    def cautions(self) -> None:
        """Each suspect quote is named by its day."""
        told = json.dumps(self.found.get("cautions", []))
        for metal, days in self.wanted["suspect"].items():
            for day in days:
                if day not in told:
                    self.say(f"cautions on quotes of {metal}", "none", day)

    # -- what comes of it

    def metal(self) -> None:
        """Analytes that are not paid may be listed too, with nothing payable."""
        found = self.found["metal"]
        for metal, w in self.wanted["metal"].items():
            for name in ("contained", "payable"):
                self.figure(f"{metal} {name} (oracle in kg)", found.get(metal, {}).get(name), w[name])
        for metal in set(found) - set(self.wanted["metal"]):
            self.figure(f"{metal} payable", found[metal].get("payable", "0 g"), Fraction(0))

    def lines(self) -> None:
        found, wanted = by_name(self.found["lines"]), by_name(self.wanted["lines"])
        for key in found.keys() ^ wanted.keys():
            self.say(f"line {key[0]}", found.get(key), wanted.get(key))
        for key in found.keys() & wanted.keys():
            f, w = found[key], wanted[key]
            if "buyer" in self.request:
                self.same(f"line {key[0]} at", f["at"], w["at"])
            self.money(f"line {key[0]}", f["amount"], w["amount"])
            self.figure(f"line {key[0]} day", f["day"], w["day"])

    def changes(self) -> None:
        found, wanted = by_name(self.found["changes"]), by_name(self.wanted["changes"])
        for key in found.keys() ^ wanted.keys():
            self.say(f"change of {key[0]}", found.get(key), wanted.get(key))
        for key in found.keys() & wanted.keys():
            f, w = found[key], wanted[key]
            self.money(f"{key[0]} was", f["was"], w["was"])
            self.money(f"{key[0]} is", f["is"], w["is"])
            self.money(f"{key[0]} change", f["change"], w["change"], max(abs(w["was"]), abs(w["is"])))


# ---------------------------------------------------------------- the run

def settled_by(library: Any, request: dict) -> tuple[Optional[dict], str]:
    try:
        return library.settle(request), ""
    except run.LibraryError as problem:
        return None, str(problem)


def differences(request: dict, answer: Optional[dict], message: str) -> list[str]:
    try:
        wanted = deliveries.settle(request)
    except ev.PlanError as problem:
        return [] if answer is None else [f"only the oracle finds an error: {problem}"]
    if answer is None:
        return [f"only the library finds an error: {message}"]
    try:
        return Check(request, answer, wanted).whole()
    except (KeyError, TypeError, ValueError, AttributeError) as problem:
        return [f"the statement cannot be read: {problem!r}"]


def halves_differ(library: Any, request: dict) -> list[str]:
    """Without rounding, minima and limits on amounts: twice the half, but for charges per lot."""
    whole = random_deliveries.plain_terms(request)
    half = random_deliveries.halves(whole)[0]
    (one, problem), (part, other) = settled_by(library, whole), settled_by(library, half)
    if one is None or part is None:
        return [f"halves: {problem or other}"]
    told, fixed = [], random_deliveries.per_lot(whole)
    lines, half_lines = by_name(one["lines"]), by_name(part["lines"])
    if lines.keys() != half_lines.keys():
        return ["halves: other lines than the whole"]
    for key, line in lines.items():
        if key[0] == "interest on the advance":
            continue                          # goes by the proceeds, charges per lot included
        times = 1 if key[0] in fixed else 2
        a, b = Fraction(line["amount"]), times * Fraction(half_lines[key]["amount"])
        if abs(a - b) > 3 * PRINTED + MONEY * abs(a):
            told.append(f"halves: {key[0]} is {line['amount']}, of halves {half_lines[key]['amount']} each")
    return told


def one_delivery(library: Any, seed: int, covered: Counter) -> tuple[dict, list[str]]:
    """The request that differs, or the last one, and how it differs."""
    rng = random.Random(seed)
    if rng.random() < 1 / 12:
        request = random_deliveries.spoiled(rng)
        covered[f"error: {request['note']}"] += 1
        return request, differences(request, *settled_by(library, request))
    request = random_deliveries.delivery(rng)
    answer, message = settled_by(library, request)
    told = differences(request, answer, message)
    if not told and rng.random() < 0.2:
        told = halves_differ(library, request)
        covered["as two halves"] += 1
    if not told and rng.random() < 0.4:
        request = random_deliveries.follow_up(rng, request, answer)
        told = differences(request, *settled_by(library, request))
    if not told:
        covered.update(random_deliveries.features(request, deliveries.settle(request)))
    return request, told


def show(seed: int, request: dict, told: list[str]) -> None:
    print(f"seed {seed}: {len(told)} differences")
    for line in told[:12]:
        print(f"    {line}")
    print(f"    {json.dumps(request, ensure_ascii=False)}")


def compare(library: Any, seeds: Iterable[int]) -> int:
    """How many differ; the first of them are shown."""
    covered: Counter = Counter()
    differ = total = 0
    for seed in seeds:
        request, told = one_delivery(library, seed, covered)
        total += 1
        if told:
            differ += 1
            if differ <= SHOWN:
                show(seed, request, told)
    for what, count in sorted(covered.items()):
        print(f"  {count:6d}  {what}")
    print(f"{total - differ} of {total} deliveries agree")
    return differ


def main() -> int:
    wish = argparse.ArgumentParser(description="compare the library's statements with the plain evaluator")
    wish.add_argument("--library", required=True)
    wish.add_argument("--deliveries", type=int, default=500)
    wish.add_argument("--seed", type=int, default=1)
    given = wish.parse_args()
    library = Library(given.library)
    try:
        return 1 if compare(library, range(given.seed, given.seed + given.deliveries)) else 0
    finally:
        library.close()


if __name__ == "__main__":
    sys.exit(main())
