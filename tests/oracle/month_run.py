"""Compare the library's books and reconciliations with the plain evaluator on random months and returns.

    python3 month_run.py --library PATH/libbuttonworth.so [--months 300] [--seed 1]

Every figure of an answer is compared. Besides, of the library's answers alone: the identities of the page hold,
CSV tables and JSON of the same data give the same answer, and what is outstanding opens the next book with the
same closing. One request in twelve is spoiled and must be refused by both. Exit status 1 on any difference.
"""

from __future__ import annotations

import argparse
import ctypes
import json
import random
import sys
from collections import Counter
from datetime import date, timedelta
from fractions import Fraction
from typing import Any, Callable, Iterable, Optional

import evaluator as ev
import months
import random_months
import run
import settle_run

ZERO = Fraction(0)
MONEY, CENTS = Fraction(1, 10**11), Fraction(1, 10**9)       # of the amount; and what any amount may differ by
MASS = Fraction(1, 10**15)                                   # of the mass
DUST = Fraction(1, 10**24)                                   # kg: masses are printed to 24 places
FIGURE = Fraction(1, 10**11)                                 # figures of one return carry 12 digits
STATISTIC = 1e-5
PRINTED = Fraction(1, 10**12)                                # money is printed to twelve places
SHOWN = 5


class Library(settle_run.Library):
    """Two calls more."""

    def __init__(self, path: str):
        super().__init__(path)
        for name in ("bw_book", "bw_reconcile"):
            function = getattr(self.c, name)
            function.restype, function.argtypes = ctypes.c_int32, self.c.bw_settle.argtypes

    def ask(self, name: str, request: dict) -> dict:
        text = json.dumps(request, ensure_ascii=False).encode()
        answer, size = ctypes.c_void_p(), ctypes.c_size_t()
        self.check(getattr(self.c, name)(self.context, text, len(text), ctypes.byref(answer)))
        try:
            return json.loads(ctypes.string_at(self.c.bw_answer_text(answer, ctypes.byref(size)), size.value))
        finally:
            self.c.bw_answer_destroy(ctypes.byref(answer))

    def book(self, request: dict) -> dict:
        return self.ask("bw_book", request)

    def reconcile(self, request: dict) -> dict:
        return self.ask("bw_reconcile", request)


# ---------------------------------------------------------------- comparing figures

class Check:
    """Collects what differs between an answer of the library and the evaluator's."""

    def __init__(self) -> None:
        self.differs: list[str] = []

    def say(self, place: str, found: Any, wanted: Any) -> None:
        self.differs.append(f"{place}: library {found}, oracle {run.show(wanted)}")

    def same(self, place: str, found: Any, wanted: Any) -> None:
        if found != wanted:
            self.say(place, found, wanted)

    def count(self, place: str, found: Any, wanted: int) -> None:
        self.same(place, found, str(wanted))

    def money(self, place: str, text: Any, wanted: Optional[Fraction]) -> None:
        if not isinstance(text, str) or wanted is None:
            self.same(place, text, wanted)
        elif abs(Fraction(text) - wanted) > max(CENTS, MONEY * abs(wanted)):
            self.say(place, text, wanted)

    def mass(self, place: str, text: Any, wanted: Fraction, unit: str, of: Fraction = ZERO) -> None:
        """`of`: what a difference is made of, as its digits may cancel."""
        if not isinstance(text, str):
            self.say(place, text, wanted)
            return
        self.same(f"{place} unit", text.partition(" ")[2], unit)
        if abs(run.number(text) - wanted) > max(MASS * max(abs(wanted), of), DUST):
            self.say(f"{place} (oracle in kg)", text, wanted)

    def statistic(self, place: str, text: Any, wanted: float) -> None:
        if not isinstance(text, str) or abs(float(text) - wanted) > STATISTIC * abs(wanted) + 1e-12:
            self.say(place, text, wanted)

    def named(self, place: str, found: Any, wanted: dict, one: Callable, *more: Any) -> None:
        """All entries of an object; what is missing counts as nothing."""
        found = found or {}
        for name in [*wanted, *(n for n in found if n not in wanted)]:
            one(f"{place} {name}", found.get(name, "0"), wanted.get(name, ZERO), *more)


# ---------------------------------------------------------------- the book

OWED = ("delivery", "what", "due")


def by_key(items: Iterable[dict], amount: Callable) -> dict[tuple, list[Fraction]]:
    """Amounts of what is owed, by what they are; what is nearly nothing is left out."""
    told: dict[tuple, list[Fraction]] = {}
    for i in items:
        told.setdefault(tuple(i.get(k) for k in OWED), []).append(amount(i["amount"]))
    told = {k: [sum(v, ZERO)] if k[1] == "unallocated" else sorted(v) for k, v in told.items()}
    told = {k: [x for x in v if abs(x) > CENTS] for k, v in told.items()}
    return {k: v for k, v in told.items() if v}


class BookCheck(Check):
    def whole(self, found: dict, wanted: dict) -> list[str]:
        for name in ("format", "currency", "from", "to"):
            self.same(name, found.get(name), wanted[name])
        self.same("buyers", list(found["buyers"]), list(wanted["buyers"]))
        for name, b in wanted["buyers"].items():
            self.buyer(name, found["buyers"].get(name, {}), b)
            self.outstanding(f"{name} outstanding", found["buyers"][name]["outstanding"], b["outstanding"])
            self.same(f"{name} names of lines", sorted(found["buyers"][name]["lines"]), sorted(b["lines"]))
        self.buyer("total", found["total"], wanted["total"])
        if "outstanding" in found["total"]:
            self.say("total", "outstanding", "none")
        self.on_hand(found.get("on_hand") or {}, wanted["on_hand"])
        for name, n in wanted["passed_over"].items():
            self.count(f"passed over {name}", found["passed_over"].get(name), n)
        self.listed(found, wanted)
        self.cautions(found, wanted)
        return self.differs

    def buyer(self, at: str, found: dict, wanted: dict) -> None:
        for name in ("deliveries", "refused", "provisional"):
            self.count(f"{at} {name}", found.get(name), wanted[name])
        for name in ("wet_mass", "dry_mass", "settled_mass"):
            self.mass(f"{at} {name}", found.get(name), wanted[name], "kg")
        for name in ("proceeds", "interest", "overdue"):
            self.money(f"{at} {name}", found.get(name), wanted[name])
        for name in ("kinds", "lines", "cash", "received"):
            self.named(f"{at} {name}", found.get(name), wanted[name], self.money)
        self.metal(at, found.get("metal") or {}, wanted["metal"])
        self.accounts(at, found.get("account") or {}, wanted["account"])
        self.by_day(f"{at} due", found["due"], wanted["due"])

    def metal(self, at: str, found: dict, wanted: dict) -> None:
        self.same(f"{at} metals", sorted(found), sorted(wanted))
        for name in found.keys() & wanted.keys():
            for what in ("contained", "payable"):
                self.mass(f"{at} {name} {what}", found[name].get(what), wanted[name][what], "g")
            self.money(f"{at} {name} value", found[name].get("value", "0"), wanted[name]["value"])

    def accounts(self, at: str, found: dict, wanted: dict) -> None:
        self.same(f"{at} accounts", sorted(found), sorted(wanted))
        for name in found.keys() & wanted.keys():
            self.balance(f"{at} account of {name}", found[name], wanted[name])

    def balance(self, at: str, found: dict, wanted: dict) -> None:
        size = max(abs(x) for x in wanted.values())
        self.same(f"{at} figures", sorted(found), sorted(wanted))
        for what, mass in wanted.items():
            self.mass(f"{at} {what}", found.get(what), mass, "ozt", size)

    def on_hand(self, found: dict, wanted: dict) -> None:
        self.same("metals on hand", sorted(found), sorted(wanted))
        for name in found.keys() & wanted.keys():
            self.balance(f"on hand {name}", found[name], wanted[name])

    def by_day(self, at: str, found: list[dict], wanted: list[dict]) -> None:
        days = [x["day"] for x in found]
        self.same(f"{at} order", days, sorted(days, key=lambda d: (d is None, d or "")))
        was = {x["day"]: Fraction(x["amount"]) for x in found}
        want = {x["day"]: x["amount"] for x in wanted}
        for day in was.keys() | want.keys():
            if abs(was.get(day, ZERO) - want.get(day, ZERO)) > max(CENTS, MONEY * abs(want.get(day, ZERO))):
                self.say(f"{at} {day}", was.get(day), want.get(day))

    def outstanding(self, at: str, found: list[dict], wanted: list[dict]) -> None:
        days = [x.get("due") for x in found]
        self.same(f"{at} order", days, sorted(days, key=lambda d: (d is None, d or "")))
        was, want = by_key(found, Fraction), by_key(wanted, lambda x: x)
        for key in sorted(was.keys() | want.keys(), key=str):
            a, b = was.get(key, []), want.get(key, [])
            if len(a) != len(b) or any(abs(x - y) > max(CENTS, MONEY * abs(y)) for x, y in zip(a, b)):
                self.say(f"{at} {key}", [float(x) for x in a], [float(x) for x in b])

    def listed(self, found: dict, wanted: dict) -> None:
        if "deliveries" not in wanted:
            self.same("list", "deliveries" in found, False)
            return
        told = {d["id"]: d for d in found["deliveries"]}
        self.same("deliveries", [d["id"] for d in found["deliveries"]], [d["id"] for d in wanted["deliveries"]])
        for w in wanted["deliveries"]:
            self.one(f"delivery {w['id']}", told.get(w["id"], {}), w)

    def one(self, at: str, found: dict, wanted: dict) -> None:
        for name in ("buyer", "arrived", "stage", "advance_due", "balance_due"):
            self.same(f"{at} {name}", found.get(name), wanted[name])
        for name in ("proceeds", "advance", "interest", "balance"):
            self.money(f"{at} {name}", found.get(name), wanted[name])
        for name in ("wet_mass", "dry_mass"):
            self.mass(f"{at} {name}", found.get(name), wanted[name], "kg")
        self.same(f"{at} reasons to refuse", len(found.get("refused") or []), len(wanted["refused"]))
        paid = found.get("payable") or {}
        for metal, mass in wanted["payable"].items():
            if metal in paid or mass:
                self.mass(f"{at} payable {metal}", paid.get(metal), mass, "g")

    def cautions(self, found: dict, wanted: dict) -> None:
        """Each of the evaluator's is told, by the name of what it is about."""
        told = json.dumps(found.get("cautions", []), ensure_ascii=False)
        for c in wanted["cautions"]:
            if c["name"] not in told:
                self.say(f"cautions of {c['at']}", "none", c["what"])


# ---------------------------------------------------------------- returns

def plain_name(what: str) -> str:
    """A value line that differs is a payable share."""
    return what.removesuffix(" payable share").removesuffix(" value")


def summed(parts: list[dict]) -> dict[str, Fraction]:
    told: dict[str, Fraction] = {}
    for p in parts:
        name = plain_name(p["what"])
        told[name] = told.get(name, ZERO) + Fraction(p["amount"])
    return told


class ReturnsCheck(Check):
    def whole(self, found: dict, wanted: dict) -> list[str]:
        for name in ("format", "currency"):
            self.same(name, found.get(name), wanted[name])
        self.same("buyers", list(found["buyers"]), list(wanted["buyers"]))
        for name, w in wanted["buyers"].items():
            self.buyer(name, found["buyers"][name], w)
        told = {r["id"]: r for r in found["returns"]}
        self.same("returns", sorted(told), sorted(r["id"] for r in wanted["returns"]))
        for w in wanted["returns"]:
            f = told.get(w["id"], {"parts": [], "figures": []})
            self.same(f"return {w['id']} buyer", f.get("buyer"), w["buyer"])
            self.sums(f"return {w['id']}", f, w)
            self.figures(f"return {w['id']}", f["figures"], w["figures"])
            self.metal(f"return {w['id']}", f["payable"], w["payable"])
        return self.differs

    def buyer(self, at: str, found: dict, wanted: dict) -> None:
        self.count(f"{at} returns", found.get("returns"), wanted["returns"])
        self.same(f"{at} missing", found.get("missing"), wanted["missing"])
        self.sums(at, found, wanted)
        self.metal(at, found["payable"], wanted["payable"])
        told = {f["what"]: f for f in found["figures"]}
        self.same(f"{at} figures", sorted(told), sorted(f["what"] for f in wanted["figures"]))
        for w in wanted["figures"]:
            if w["what"] in told:
                self.tested(f"{at} {w['what']}", told[w["what"]], w)

    def sums(self, at: str, found: dict, wanted: dict) -> None:
        for name in ("ours", "theirs", "difference"):
            self.money(f"{at} {name}", found.get(name), wanted[name])
        was, want = summed(found["parts"]), summed(wanted["parts"])
        self.same(f"{at} names of parts", sorted(was), sorted(want))
        self.named(f"{at} part", {k: str(v) for k, v in was.items()}, want, self.money)

    def metal(self, at: str, found: dict, wanted: dict) -> None:
        """Paid for or credited: the library writes grams."""
        self.same(f"{at} payable", sorted(found), sorted(wanted))
        for name, (ours, theirs) in wanted.items():
            for key, mass in (("ours", ours), ("theirs", theirs), ("difference", theirs - ours)):
                text = found.get(name, {}).get(key, "nothing")
                if abs(run.number(text) - mass) > max(ours, theirs) * FIGURE:
                    self.say(f"{at} payable {name} {key}", text, mass)

    def tested(self, at: str, found: dict, wanted: dict) -> None:
        self.count(f"{at} pairs", found.get("pairs"), wanted["pairs"])
        for name in ("ratio", "low", "high", "t", "p", "ratio_of_rest"):
            if name in wanted:
                self.statistic(f"{at} {name}", found.get(name), wanted[name])
            elif found.get(name) is not None:
                self.say(f"{at} {name}", found[name], "none")
        if not any(abs(wanted.get("p", 1.0) / edge - 1) < STATISTIC for edge in (months.QUESTIONED, months.ACTED_ON)):
            self.same(f"{at} verdict", found.get("verdict"), wanted.get("verdict"))
        self.same(f"{at} caution", bool(found.get("caution")), wanted["caution"])
        was = {o["id"]: o["ratio"] for o in found.get("outliers") or []}
        self.same(f"{at} outliers", sorted(was), sorted(o["id"] for o in wanted["outliers"]))
        for o in wanted["outliers"]:
            self.statistic(f"{at} outlier {o['id']}", was.get(o["id"]), o["ratio"])

    def figures(self, at: str, found: list[dict], wanted: list[dict]) -> None:
        """Prices may be listed too."""
        told = {f["what"]: f for f in found}
        for w in wanted:
            f, what = told.get(w["what"], {}), w["what"]
            for name in ("ours", "theirs", "difference"):
                text = f.get(name)
                if not isinstance(text, str) or abs(run.number(text) - w[name]) > FIGURE * w["ours"]:
                    self.say(f"{at} {what} {name}", text, w[name])
            if "z" in w:
                self.statistic(f"{at} {what} z", f.get("z"), w["z"])
            self.same(f"{at} {what} verdict", f.get("verdict"), w.get("verdict"))


# ---------------------------------------------------------------- what the library's answer says of itself

class Identities(Check):
    def zero(self, what: str, *amounts: Fraction) -> None:
        size = max(abs(a) for a in amounts)
        if abs(sum(amounts, ZERO)) > PRINTED * (len(amounts) + 40) + size / 10**12:
            self.differs.append(f"{what}: off by {float(sum(amounts, ZERO))}")

    def book(self, told: dict) -> list[str]:
        for name, b in [*told["buyers"].items(), ("total", told["total"])]:
            self.buyer(name, b)
        self.total(told)
        for metal, h in (told.get("on_hand") or {}).items():
            h = {k: run.number(v) for k, v in h.items()}
            self.zero(f"on hand {metal}", h["opening"], h["produced"], -h["delivered"], -h["closing"])
            if "counted" in h:
                self.zero(f"on hand {metal} counted", h["counted"], -h["closing"], -h["difference"])
        return self.differs

    def buyer(self, at: str, b: dict) -> None:
        cash = {k: Fraction(v) for k, v in b["cash"].items()}
        self.zero(f"{at} cash", cash["opening"], cash["due"], cash["changed"], cash["priced"], -cash["received"],
                  -cash["closing"])
        self.zero(f"{at} due by day", -cash["closing"], *(Fraction(x["amount"]) for x in b["due"]))
        if "outstanding" in b:
            self.zero(f"{at} outstanding", -cash["closing"], *(Fraction(x["amount"]) for x in b["outstanding"]))
        self.zero(f"{at} received", -cash["received"], *map(Fraction, b["received"].values()))
        self.zero(f"{at} kinds and lines", sum(map(Fraction, b["kinds"].values()), ZERO),
                  *(-Fraction(v) for v in b["lines"].values()))
        self.zero(f"{at} due", cash["due"], Fraction(b["interest"]), -Fraction(b["proceeds"]))
        for metal, a in (b.get("account") or {}).items():
            a = {k: run.number(v) for k, v in a.items()}
            self.zero(f"{at} account of {metal}", a["opening"], a["credited"], -a["priced"], -a["withdrawn"],
                      -a["closing"])

    def total(self, told: dict) -> None:
        for name in ("deliveries", "refused", "provisional", "proceeds", "interest", "overdue"):
            self.zero(f"total {name}", -Fraction(told["total"][name]),
                      *(Fraction(b[name]) for b in told["buyers"].values()))
        for name in ("kinds", "cash", "received", "lines"):
            for k, v in told["total"][name].items():
                self.zero(f"total {name} {k}", -Fraction(v),
                          *(Fraction(b[name].get(k, "0")) for b in told["buyers"].values()))
        for name in ("wet_mass", "dry_mass", "settled_mass"):
            self.zero(f"total {name}", -run.number(told["total"][name]),
                      *(run.number(b[name]) for b in told["buyers"].values()))


def next_book(request: dict, told: dict) -> dict:
    """A month later, with nothing in it but what is left open."""
    first = date.fromisoformat(request["to"]) + timedelta(days=1)
    made: dict[str, Any] = {k: request[k] for k in ("currency", "exchange") if k in request}
    made.update({"format": "buttonworth-month/1", "from": first.isoformat(),
                 "to": (first + timedelta(days=29)).isoformat(), "buyers": {}})
    for name, buyer in request["buyers"].items():
        b = told["buyers"][name]
        made["buyers"][name] = {k: v for k, v in buyer.items() if k not in ("account", "opening")}
        made["buyers"][name]["opening"] = b["outstanding"]
        if b.get("account"):
            made["buyers"][name]["account"] = {m: {"opening": a["closing"]} for m, a in b["account"].items()}
    return made


def carried_over(library: Any, request: dict, told: dict) -> list[str]:
    answer, problem = asked(library.book, next_book(request, told))
    if answer is None:
        return [f"next book: {problem}"]
    check = Check()
    for name, b in told["buyers"].items():
        now = answer["buyers"][name]
        check.money(f"next book {name}", now["cash"]["closing"], Fraction(b["cash"]["closing"]))
        for metal, a in (b.get("account") or {}).items():
            check.mass(f"next book {name} {metal}", now["account"][metal]["closing"], run.number(a["closing"]), "ozt")
        if by_key(now["outstanding"], Fraction) != by_key(b["outstanding"], Fraction):
            check.differs.append(f"next book {name}: other items outstanding than it opened with")
    return check.differs


def in_some_order(told: Any) -> Any:
    """Without cautions, and lists of named things by their names: what tables and JSON may differ in."""
    if isinstance(told, dict):
        return {k: in_some_order(v) for k, v in told.items() if k not in ("cautions", "csv")}
    if isinstance(told, list):
        done = [in_some_order(x) for x in told]
        if all(isinstance(x, dict) and set(x) & {"what", "id"} for x in done) and "due" not in (done or [{}])[0]:
            return sorted(done, key=lambda x: (x.get("id") or "", x.get("what") or ""))
        return done
    return told


def first_difference(a: Any, b: Any, place: str = "") -> Optional[str]:
    if isinstance(a, dict) and isinstance(b, dict):
        for k in a.keys() | b.keys():
            told = first_difference(a.get(k), b.get(k), f"{place}/{k}")
            if told:
                return told
        return None
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return next(filter(None, (first_difference(x, y, f"{place}/{i}") for i, (x, y) in enumerate(zip(a, b)))), None)
    return None if a == b else f"{place}: JSON {a}, tables {b}"


# ---------------------------------------------------------------- the run

def asked(call: Callable, request: dict) -> tuple[Optional[dict], str]:
    try:
        return call(request), ""
    except run.LibraryError as problem:
        return None, str(problem)


def compared(evaluate: Callable, check: Check, request: dict, answer: Optional[dict], message: str) -> list[str]:
    try:
        wanted = evaluate(request)
    except ev.PlanError as problem:
        return [] if answer is None else [f"only the oracle finds an error: {problem}"]
    if answer is None:
        return [f"only the library finds an error: {message}"]
    try:
        return check.whole(answer, wanted)
    except (KeyError, TypeError, ValueError, AttributeError, IndexError) as problem:
        return [f"the answer cannot be read: {problem!r}"]


def one_book(library: Any, request: dict) -> tuple[Optional[dict], list[str]]:
    answer, message = asked(library.book, request)
    told = compared(months.book, BookCheck(), request, answer, message)
    if answer is not None and not told:
        told = Identities().book(answer) + carried_over(library, request, answer)
    return answer, told


def one_reconciliation(library: Any, request: dict) -> tuple[Optional[dict], list[str]]:
    answer, message = asked(library.reconcile, request)
    return answer, compared(months.reconcile, ReturnsCheck(), request, answer, message)


def twice(one: Callable, library: Any, pair: tuple[dict, dict]) -> tuple[dict, list[str]]:
    """As JSON and as tables: each against the evaluator, and one against the other."""
    answer, told = one(library, pair[0])
    if told:
        return pair[0], told
    other, told = one(library, pair[1])
    if not told:
        found = first_difference(in_some_order(answer), in_some_order(other))
        told = [found] if found else []
    return pair[1], told


def one_seed(library: Any, seed: int, covered: Counter) -> tuple[dict, list[str]]:
    """The request that differs, or the last one, and how it differs."""
    rng = random.Random(seed)
    pick = rng.random()
    if pick < 1 / 12:
        request = random_months.spoiled(rng)
        covered[f"error: {request['note']}"] += 1
        return request, one_book(library, request)[1]
    if pick < 0.3:
        covered["returns"] += 1
        if rng.random() < 0.5:
            return twice(one_reconciliation, library, random_months.returns_twice(rng))
        request = random_months.returns(rng)
        return request, one_reconciliation(library, request)[1]
    if pick < 0.6:
        covered["as tables too"] += 1
        request, told = twice(one_book, library, random_months.month_twice(rng))
        return request, told
    request = random_months.month(rng)
    told = one_book(library, request)[1]
    if not told:
        covered.update(random_months.features(request, months.book(request)))
    return request, told


def show(seed: int, request: dict, told: list[str], whole: bool) -> None:
    print(f"seed {seed}: {len(told)} differences")
    for line in told[:12]:
        print(f"    {line}")
    if whole:
        print(f"    {json.dumps(request, ensure_ascii=False)}")


def compare(library: Any, seeds: Iterable[int], whole: bool = False) -> int:
    """How many differ; the first of them are shown."""
    covered: Counter = Counter()
    differ = total = 0
    for seed in seeds:
        request, told = one_seed(library, seed, covered)
        total += 1
        if told:
            differ += 1
            if differ <= SHOWN:
                show(seed, request, told, whole)
    for what, count in sorted(covered.items()):
        print(f"  {count:6d}  {what}")
    print(f"{total - differ} of {total} agree")
    return differ


def main() -> int:
    wish = argparse.ArgumentParser(description="compare the library's books with the plain evaluator")
    wish.add_argument("--library", required=True)
    wish.add_argument("--months", type=int, default=300)
    wish.add_argument("--seed", type=int, default=1)
    wish.add_argument("--requests", action="store_true", help="print the requests that differ as well")
    given = wish.parse_args()
    library = Library(given.library)
    try:
        return 1 if compare(library, range(given.seed, given.seed + given.months), given.requests) else 0
    finally:
        library.close()


if __name__ == "__main__":
    sys.exit(main())
