"""Compare the library with the plain evaluator on random plans.

    python3 run.py --library PATH/libbuttonworth.so [--plans 500] [--seed 1] [--keep FOLDER]

Exit status 1 on any difference. With --keep, a plan that differs is saved there
with its seed, and `current.json` always holds the plan in hand.
"""

from __future__ import annotations

import argparse
import ctypes
import json
import sys
from collections import Counter
from fractions import Fraction
from pathlib import Path
from typing import Any, Optional

import evaluator as ev
import plans

RELATIVE = Fraction(1, 10**11)
DAY_SLACK = Fraction(1, 10**8)
LOOKS = 9                       # pulls tried against each "best"


# ---------------------------------------------------------------- the library

class LibraryError(Exception):
    """The library refused the plan; the text is its message."""


class Library:
    """The C API, as few calls as this needs."""

    def __init__(self, path: str):
        self.c = ctypes.CDLL(path)
        pointer, status = ctypes.c_void_p, ctypes.c_int32
        out = ctypes.POINTER(pointer)
        for name, result, arguments in (
                ("bw_context_create", status, [out]),
                ("bw_context_destroy", None, [out]),
                ("bw_error_text", ctypes.c_char_p, [pointer]),
                ("bw_plan_read", status, [pointer, ctypes.c_char_p, ctypes.c_size_t, out]),
                ("bw_plan_destroy", None, [out]),
                ("bw_compare", status, [pointer, pointer, ctypes.c_char_p, ctypes.c_size_t, out]),
                ("bw_answer_text", pointer, [pointer, ctypes.POINTER(ctypes.c_size_t)]),
                ("bw_answer_destroy", None, [out])):
            function = getattr(self.c, name)
            function.restype, function.argtypes = result, arguments
        self.context = pointer()
        if self.c.bw_context_create(ctypes.byref(self.context)) != 0:
            raise SystemExit("the library gives no context")

    def close(self) -> None:
        self.c.bw_context_destroy(ctypes.byref(self.context))

    def check(self, status: int) -> None:
        if status != 0:
            text = self.c.bw_error_text(self.context) or b""
            raise LibraryError(f"status {status}: {text.decode('utf-8', 'replace')}")

    def compare(self, plan: dict, options: Optional[dict] = None) -> dict:
        text = json.dumps(plan, ensure_ascii=False).encode()
        wish = json.dumps(options).encode() if options else None
        read, answer, size = ctypes.c_void_p(), ctypes.c_void_p(), ctypes.c_size_t()
        self.check(self.c.bw_plan_read(self.context, text, len(text), ctypes.byref(read)))
        try:
            self.check(self.c.bw_compare(self.context, read, wish, len(wish) if wish else 0,
                                         ctypes.byref(answer)))
            at = self.c.bw_answer_text(answer, ctypes.byref(size))
            return json.loads(ctypes.string_at(at, size.value))
        finally:
            if answer:
                self.c.bw_answer_destroy(ctypes.byref(answer))
            self.c.bw_plan_destroy(ctypes.byref(read))


# ---------------------------------------------------------------- reading the answer

UNITS = ev.Units({})


def number(text: Any) -> Fraction:
    """A figure of the answer, its unit taken into account (kg, mass fraction, kWh)."""
    figure, _, unit = str(text).partition(" ")
    x = Fraction(figure)
    if unit in UNITS.masses:
        return x * UNITS.masses[unit]
    if unit in UNITS.grades:
        return x * UNITS.grades[unit]
    if unit in ("", "h", "d", "kWh"):
        return x
    if unit == "MJ":
        return x * 10 / 36
    raise ValueError(f"unexpected unit in the answer: {text!r}")


def printed(text: Any) -> Fraction:
    """Half a unit in the last place money is printed to, at least 6 decimals."""
    figure = str(text).partition(" ")[0]
    decimals = len(figure.partition(".")[2])
    return Fraction(51, 100) / 10 ** max(6, decimals)


def cuts_of(route: dict) -> dict[str, list[Fraction]]:
    cuts = {}
    for name, cut in (route.get("cut") or {}).items():
        cuts[name] = [number(x) for x in (cut if isinstance(cut, list) else [cut])]
    return cuts


# ---------------------------------------------------------------- comparing one plan

class Check:
    """Collects what differs between the library's answer and the oracle's."""

    def __init__(self, plan: dict, answer: dict, loose: int):
        self.answer = answer
        self.differs: list[str] = []
        self.relative = RELATIVE * loose
        c = ev.Comparison(plan)
        self.lot_mass = c.lot.dry + sum((p.dry for p in c.pieces.values()), Fraction(0))
        self.gross = sum((mass * c.prices.get(a, 0) for one in [c.lot, *c.pieces.values()]
                          for a, mass in one.content.items()), Fraction(0))

    def say(self, text: str) -> None:
        self.differs.append(text)

    def money_slack(self, text: Any) -> Fraction:
        return max(self.relative * self.gross, printed(text), Fraction(2, 10**12))

    def money(self, place: str, text: Any, wanted: Optional[Fraction]) -> None:
        if text is None or wanted is None:
            if text is not None or wanted is not None:
                self.say(f"{place}: library {text}, oracle {show(wanted)}")
            return
        if abs(number(text) - wanted) > self.money_slack(text) + self.relative * abs(wanted):
            self.say(f"{place}: library {text}, oracle {show(wanted)}")

    def near(self, found: Fraction, wanted: Fraction, floor: Fraction) -> bool:
        return abs(found - wanted) <= self.relative * abs(wanted) + self.relative * floor

    def amount(self, place: str, text: Any, wanted: Fraction, floor: Fraction) -> None:
        found = number(text) if text is not None else Fraction(0)
        if not self.near(found, wanted, floor):
            self.say(f"{place}: library {text}, oracle {show(wanted)}")

    # -- one route

    def route(self, name: str, found: dict, wanted: dict) -> None:
        if bool(found["refused"]) != bool(wanted["refused"]):
            self.say(f"{name} refused: library {found['refused']}, oracle {wanted['refused']}")
            return
        if wanted["refused"]:
            self.empty(name, found)
            return
        if bool(found.get("conditional")) != bool(wanted["conditional"]):
            self.say(f"{name} conditional: library {found.get('conditional')}, "
                     f"oracle {wanted['conditional']}")
        for key in ("net", "cash", "credit", "present_value"):
            self.money(f"{name} {key}", found[key], wanted[key])
        self.lines(name, found["lines"], wanted["lines"])
        self.cash_days(name, found, wanted)
        self.metal(name, found["metal"], wanted["metal"])
        self.products(name, found["products"], wanted["products"])
        self.work(name, found["work"], wanted["work"])
        self.cut(name, cuts_of(found), wanted["cut"])

    def empty(self, name: str, found: dict) -> None:
        for key in ("net", "cash", "present_value"):
            if found.get(key) is not None:
                self.say(f"{name} is refused but has {key} {found[key]}")

    def line_gap(self, found: dict, wanted: dict) -> Fraction:
        return abs(number(found["amount"]) - wanted["amount"])

    def same_line(self, found: dict, wanted: dict) -> bool:
        slack = self.money_slack(found["amount"]) + self.relative * abs(wanted["amount"])
        return (found["at"] == wanted["at"]
                and abs(number(found["day"]) - wanted["day"]) <= DAY_SLACK
                and abs(number(found["amount"]) - wanted["amount"]) <= slack)

    def lines(self, name: str, found: list[dict], wanted: list[dict]) -> None:
        left, missing = match(found, wanted, self.same_line, self.line_gap)
        hard_left = [x for x in left if number(x["amount"]) != 0]
        hard_missing = [x for x in missing if x["amount"] != 0]
        word = "lines" if hard_left or hard_missing else "lines of nothing (zero amounts only)"
        for x in left:
            self.say(f"{name} {word}: only the library has {x['at']} / {x['what']} "
                     f"{x['amount']} on day {x['day']}")
        for x in missing:
            self.say(f"{name} {word}: only the oracle has {x['at']} / {x['what']} "
                     f"{show(x['amount'])} on day {show(x['day'])}")

    def cash_days(self, name: str, found: dict, wanted: dict) -> None:
        listed = [d for d in found["cash_days"] if number(d["amount"]) != 0]
        if len(listed) != len(found["cash_days"]):
            self.say(f"{name} cash_days lists a day on which no money moves")
        small = self.money_slack("0")             # too little to be sure that it is not nothing
        listed = [d for d in listed if abs(number(d["amount"])) > small]
        days = [d for d in wanted["cash_days"] if abs(d["amount"]) > small]
        if len(days) != len(listed):
            self.say(f"{name} cash_days: library {[(d['day'], d['amount']) for d in listed]}, "
                     f"oracle {[(show(d['day']), show(d['amount'])) for d in days]}")
            return
        for f, w in zip(listed, days):
            if abs(number(f["day"]) - w["day"]) > DAY_SLACK:
                self.say(f"{name} cash_days: library day {f['day']}, oracle {show(w['day'])}")
            self.money(f"{name} cash_days {f['day']} amount", f["amount"], w["amount"])
            self.money(f"{name} cash_days {f['day']} total", f["total"], w["total"])
        if wanted["last_cash_day"] is not None and len(days) == len(wanted["cash_days"]):
            last = found["last_cash_day"]
            if last is None or abs(number(last) - wanted["last_cash_day"]) > DAY_SLACK:
                self.say(f"{name} last_cash_day: library {last}, "
                         f"oracle {show(wanted['last_cash_day'])}")

    def metal(self, name: str, found: dict, wanted: dict) -> None:
        for analyte in found:
            if analyte not in wanted:
                self.say(f"{name} metal: only the library has {analyte}")
        for analyte, w in wanted.items():
            f = found.get(analyte)
            if f is None:
                if w["fed"] != 0:
                    self.say(f"{name} metal: only the oracle has {analyte}")
                continue
            for key in ("fed", "payable", "unpaid", "returned", "kept"):
                self.amount(f"{name} {analyte} {key} (oracle in kg)", f.get(key), w[key], w["fed"])
            for place in sorted(set(f["lost"]) | set(w["lost"])):
                self.amount(f"{name} {analyte} lost {place!r} (oracle in kg)", f["lost"].get(place),
                            w["lost"].get(place, Fraction(0)), w["fed"])

    def same_product(self, found: dict, wanted: dict) -> bool:
        small = Fraction(1, 10**5) + self.lot_mass / 10**8 / wanted["dry_mass"]
        return (found["at"] == wanted["at"]
                and all(self.near(number(found[k]), wanted[k], self.lot_mass / 10**6)
                        for k in ("wet_mass", "dry_mass"))
                and all(self.near(number(found["assays"].get(a, "0")), x, small)
                        for a, x in wanted["assays"].items())
                and all(self.near(number(x), wanted["assays"].get(a, Fraction(0)), small)
                        for a, x in (found.get("fineness") or {}).items()))

    def products(self, name: str, found: list[dict], wanted: list[dict]) -> None:
        if len(found) == len(wanted) and all(map(self.same_product, found, wanted)):
            self.fineness(name, found, wanted)
            return
        left, missing = match(found, wanted, self.same_product)
        if not left and not missing:
            self.say(f"{name} products: the same ones in another order, library "
                     f"{[p['at'] for p in found]}, oracle {[p['at'] for p in wanted]}")
        for p in left:
            self.say(f"{name} products: only the library has {p}")
        for p in missing:
            self.say(f"{name} products: only the oracle has {p['at']} dry {show(p['dry_mass'])} kg, "
                     f"wet {show(p['wet_mass'])} kg, {show_all(p['assays'])}")

    def fineness(self, name: str, found: list[dict], wanted: list[dict]) -> None:
        for f, w in zip(found, wanted):
            if w["kind"] == "bar" and not f.get("fineness"):
                self.say(f"{name} products: the bar sold at {f['at']} has no fineness")

    def same_work(self, found: dict, wanted: dict) -> bool:
        if found["at"] != wanted["at"]:
            return False
        for key in ("feed", "hours", "melts", "energy"):
            if key in wanted and not self.near(number(found.get(key) or "0"), wanted[key],
                                               self.lot_mass / 10**3):
                return False
        flux = found.get("flux") or {}
        wants = wanted.get("flux", {})
        return all(self.near(number(flux.get(r, "0 kg")), wants.get(r, Fraction(0)),
                             self.lot_mass / 10**3) for r in set(flux) | set(wants))

    def work(self, name: str, found: list[dict], wanted: list[dict]) -> None:
        left, missing = match(found, wanted, self.same_work)
        for w in left:
            self.say(f"{name} work: only the library has {w}")
        for w in missing:
            self.say(f"{name} work: only the oracle has {show_all(w)}")

    def cut(self, name: str, found: dict, wanted: dict) -> None:
        for step in sorted(set(found) | set(wanted)):
            f, w = found.get(step, []), wanted.get(step, [])
            if len(f) != len(w) or not all(self.near(a, b, Fraction(1, 10**3)) for a, b in zip(f, w)):
                self.say(f"{name} cut of {step}: library {[show(x) for x in f]}, "
                         f"oracle {[show(x) for x in w]}")

    # -- the whole

    def whole(self, wanted: dict) -> list[str]:
        found = self.answer
        if list(found["routes"]) != list(wanted["routes"]):
            self.say(f"routes: library {list(found['routes'])}, oracle {list(wanted['routes'])}")
            return self.differs
        for name, w in wanted["routes"].items():
            self.route(name, found["routes"][name], w)
        tie = wanted["lead"] is not None and wanted["lead"] <= 2 * (self.relative * self.gross
                                                                     + Fraction(1, 10**6))
        if not tie:
            if found["best"] != wanted["best"]:
                self.say(f"best: library {found['best']}, oracle {wanted['best']}")
            self.money("lead", found["lead"], wanted["lead"])
        self.untested(found.get("untested") or [], wanted)
        return self.differs

    def untested(self, found: list[str], wanted: dict) -> None:
        """What only a refused route would have asked for may be there or not."""
        must = {a for r in wanted["routes"].values() if not r["refused"] for a in r["untested"]}
        if not must <= set(found) or not set(found) <= set(wanted["untested"]):
            self.say(f"untested: library {sorted(found)}, oracle {wanted['untested']}")


def match(found: list[dict], wanted: list[dict], same: Any,
          gap: Any = None) -> tuple[list[dict], list[dict]]:
    """What is left of both lists once equal members are paired off, the nearest first."""
    left, missing = list(found), []
    for w in wanted:
        alike = [i for i, f in enumerate(left) if same(f, w)]
        if not alike:
            missing.append(w)
        elif gap is None:
            del left[alike[0]]
        else:
            del left[min(alike, key=lambda i: gap(left[i], w))]
    return left, missing


def show(x: Any) -> str:
    return f"{float(x):.15g}" if isinstance(x, (Fraction, int)) else str(x)


def show_all(values: dict) -> str:
    return ", ".join(f"{k} {show_all(v) if isinstance(v, dict) else show(v)}" for k, v in values.items())


# ---------------------------------------------------------------- cuts at "best"

def best_tables(plan: dict) -> set[str]:
    return {n for n, s in plan["steps"].items() if s.get("kind") == "table" and s.get("cut") == "best"}


def held_pulls(plan: dict, answer: dict, hair: Fraction) -> dict[str, dict[str, list[Fraction]]]:
    names = best_tables(plan)
    return {route: {t: [y * (1 + hair) for y in ys] for t, ys in cuts_of(found).items() if t in names}
            for route, found in answer["routes"].items()}


def beaten(plan: dict, answer: dict, check: Check) -> list[str]:
    """Other pulls than those found, one table visit at a time, may not pay better.

    A search ends somewhere: 1e-7 of the gross value is let pass, and ten steps of the
    rounding of money, which makes the value jump from pull to pull. Of several cuts
    searched together a slightly better setting may be missed, as the page has it:
    there 5e-4 of the gross value.
    """
    told = []
    for name, found in answer["routes"].items():
        held = held_pulls(plan, answer, Fraction(0))[name]
        together = sum(len(pulls) for pulls in held.values()) > 1
        slack = check.gross / (2000 if together else 10**7) + 10 * money_step(plan) + check.money_slack("0")
        if found["refused"]:
            held = {t: [] for t in best_tables(plan)}
        for pulls in other_pulls(plan, held):
            try:
                alone = ev.compare({**plan, "routes": {name: plan["routes"][name]}}, {name: pulls})
            except ev.PlanError:
                continue
            worth = alone["routes"][name]["present_value"]
            if worth is None or not any(t in alone["routes"][name]["cut"] for t in held):
                continue
            if found["refused"]:
                told.append(f"{name}: refused, but pulls {show_pulls(pulls)} are accepted")
                break
            if worth > number(found["present_value"]) + slack:
                told.append(f"{name}: best pays {found['present_value']}, but {show_pulls(pulls)} "
                            f"pays {show(worth)}")
                break
    return told


def money_step(plan: dict) -> Fraction:
    """The coarsest rounding of money in any terms."""
    units = ev.Units(ev.read_currencies(plan))
    return max((units.money(t["rounding"]["money"]) for t in plan["terms"].values()
                if "money" in t.get("rounding", {})), default=Fraction(0))


def other_pulls(plan: dict, held: dict[str, list[Fraction]]) -> list[dict[str, list[Fraction]]]:
    c = ev.Comparison(plan)
    tried = []
    for table, ys in held.items():
        low, high = ev.search_range(c, c.steps[table])
        for visit in range(max(1, len(ys))):
            for k in range(LOOKS):
                y = low + (high - low) * k / (LOOKS - 1)
                tried.append({**held, table: ys[:visit] + [y] + ys[visit + 1:]})
    return tried


def show_pulls(pulls: dict[str, list[Fraction]]) -> str:
    return "; ".join(f"{t} {', '.join(show(y * 100) + ' %' for y in ys)}" for t, ys in pulls.items())


# ---------------------------------------------------------------- the run

def differences(plan: dict, library: Library, options: Optional[dict], seen: Counter) -> list[str]:
    try:
        answer = library.compare(plan, options)
    except LibraryError as problem:
        return error_differences(plan, str(problem), seen)
    loose = 10 if options else 1
    if not best_tables(plan):
        return one_check(plan, answer, {}, loose, seen)
    tried = []
    for hair in (0, 1, -1, 10, -10):              # the answer prints its pulls to some 12 digits
        pulls = held_pulls(plan, answer, Fraction(hair, 10**12))
        tried.append(one_check(plan, answer, pulls, 100 * loose, Counter() if hair else seen))
        if not tried[-1]:
            return beaten(plan, answer, Check(plan, answer, loose))
    return tried[0]


def one_check(plan: dict, answer: dict, pulls: dict, loose: int, seen: Counter) -> list[str]:
    try:
        wanted = ev.compare(plan, pulls)
    except ev.PlanError as problem:
        return [f"only the oracle finds an error: {problem}"]
    for route in wanted["routes"].values():
        seen["routes"] += 1
        seen["refused routes"] += bool(route["refused"])
        seen["conditional routes"] += bool(route["conditional"])
    return Check(plan, answer, loose).whole(wanted)


def error_differences(plan: dict, message: str, seen: Counter) -> list[str]:
    try:
        ev.compare(plan)
    except ev.PlanError:
        seen["plans refused by both"] += 1
        return []
    return [f"only the library finds an error: {message}"]


def save(folder: Path, name: str, plan: dict) -> None:
    (folder / name).write_text(json.dumps(plan, indent=1, ensure_ascii=False), encoding="utf-8")


def main() -> int:
    wish = argparse.ArgumentParser(description="compare the library with the plain evaluator")
    wish.add_argument("--library", required=True)
    wish.add_argument("--plans", type=int, default=500)
    wish.add_argument("--seed", type=int, default=1)
    wish.add_argument("--keep", type=Path)
    wish.add_argument("--arithmetic", choices=("decimal", "double"), default="decimal")
    given = wish.parse_args()
    if given.keep:
        given.keep.mkdir(parents=True, exist_ok=True)
    options = {"arithmetic": "double"} if given.arithmetic == "double" else None
    library, seen, covered = Library(given.library), Counter(), Counter()
    agree = differ = 0
    for seed in range(given.seed, given.seed + given.plans):
        plan = plans.random_plan(seed)
        covered.update(plans.features(plan))
        if given.keep:
            save(given.keep, "current.json", plan)
        found = differences(plan, library, options, seen)
        if not found:
            agree += 1
            continue
        differ += 1
        if given.keep:
            save(given.keep, f"seed-{seed}.json", plan)
        print(f"seed {seed}: {plan.get('note', 'no edge')}")
        for line in found[:12]:
            print(f"    {line}")
        if len(found) > 12:
            print(f"    and {len(found) - 12} more")
    library.close()
    for what, count in sorted(covered.items()):
        print(f"  {count:6d}  {what}")
    for what, count in sorted(seen.items()):
        print(f"  {count:6d}  {what}")
    print(f"{agree} plans agree, {differ} differ")
    return 1 if differ else 0


if __name__ == "__main__":
    sys.exit(main())
