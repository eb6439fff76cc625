"""Compare what would change a plan's answer with the plain evaluator, on random plans and the demonstration.

    python3 tipping_run.py --library PATH/libbuttonworth.so [--plans 60] [--seed 1] [--show 5]

Of each plan, with the values that the library names written into the document and worked out in exact fractions:
slopes of every route as differences (rounding left out, as the page says), jumps beside a kink, the leader within each
interval of a break-even and the tie at its ends, counter-offers that win and, a little less of them, do not, points of a
map, and the curve of a forgiving cut. Exit status 1 on any difference.
"""

from __future__ import annotations

import argparse
import copy
import json
import random
import sys
from collections import Counter
from fractions import Fraction
from pathlib import Path
from typing import Any, Callable, Optional

import evaluator as ev
import plans
import run

CALLS = ("break_even", "counter_offers", "forgiving_cut", "sensitivity", "map")
HAIR = Fraction(1, 10**9)
STEP = Fraction(1, 10**6)       # of a slope by differences: its square is what a bend adds


class Library(run.Library):
    def __init__(self, path: str):
        super().__init__(path)
        for name in CALLS:
            function = getattr(self.c, f"bw_{name}")
            function.restype, function.argtypes = self.c.bw_compare.restype, self.c.bw_compare.argtypes

    def ask(self, call: str, plan: dict, options: Optional[dict] = None) -> dict:
        """A call that has the shape of the comparison."""
        compare, self.c.bw_compare = self.c.bw_compare, getattr(self.c, f"bw_{call}")
        try:
            return self.compare(plan, options)
        finally:
            self.c.bw_compare = compare


# ---------------------------------------------------------------- documents with another value

def parts(pointer: str) -> list[str]:
    return [one.replace("~1", "/").replace("~0", "~") for one in pointer.split("/")[1:]]


def with_value(plan: dict, pointer: str, text: str) -> dict:
    changed = copy.deepcopy(plan)
    *way, last = parts(pointer)
    holder: Any = changed
    for one in way:
        holder = holder[int(one)] if isinstance(holder, list) else holder[one]
    holder[int(last) if isinstance(holder, list) else last] = text
    return changed


def figure(text: str) -> tuple[Fraction, str]:
    """The number of a quantity's text and its unit, as they stand there."""
    number, _, unit = text.partition(" ")
    return Fraction(number), unit


def written(number: Fraction, unit: str) -> str:
    return f"{plans.long_decimal(number, 34)} {unit}".strip()


def without_rounding(plan: dict) -> dict:
    plain = copy.deepcopy(plan)
    for terms in plain.get("terms", {}).values():
        if isinstance(terms, dict):
            terms.pop("rounding", None)
    return plain


def worths(plan: dict, pulls: Optional[dict] = None) -> Optional[dict[str, Optional[Fraction]]]:
    """Present value by route, None where refused or impossible; nothing where there is no plan."""
    found: dict[str, Optional[Fraction]] = {}
    try:
        ev.Comparison(plan)
    except (ev.PlanError, KeyError, TypeError, ValueError):
        return None
    for name, route in ev.named(plan["routes"]):
        try:
            alone = ev.compare({**plan, "routes": {name: route}}, pulls)
            found[name] = alone["routes"][name]["present_value"]
        except ev.PlanError:
            found[name] = None
    return found


def leader(found: Optional[dict[str, Optional[Fraction]]]) -> tuple[Optional[str], Fraction]:
    """The best route and its lead over the next one, as large as it is without one."""
    taken = sorted(((v, n) for n, v in (found or {}).items() if v is not None), reverse=True)
    if not taken:
        return None, Fraction(10**30)
    return taken[0][1], taken[0][0] - taken[1][0] if len(taken) > 1 else Fraction(10**30)


# ---------------------------------------------------------------- one plan

class Study:
    def __init__(self, library: Library, plan: dict, rng: random.Random, seen: Counter):
        self.library, self.plan, self.rng, self.seen = library, plan, rng, seen
        self.differs: list[str] = []
        self.answer = library.compare(plan, {"how": False})
        self.gross = run.Check(plan, self.answer, 1).gross
        self.pulls = run.held_pulls(plan, self.answer, Fraction(0))

    def say(self, text: str) -> None:
        self.differs.append(text)

    def reads(self, plan: dict) -> bool:
        """Whether the library reads the document: the evaluator looks at a step only where a route comes to it."""
        try:
            self.library.compare(plan, {"how": False})
        except run.LibraryError as problem:
            return not str(problem).startswith("status 2")
        return True

    def slack(self) -> Fraction:
        """Doubles, and pulls printed to some 12 digits."""
        return self.gross / 10**8 + Fraction(1, 10**9)

    # -- section 28

    def sensitivity(self) -> None:
        plain = without_rounding(self.plan)
        found = self.library.ask("sensitivity", plain)
        self.pulls_plain = run.held_pulls(plain, self.library.compare(plain, {"how": False}), Fraction(0))
        quantities = found["quantities"]
        base = worths(plain, self.pulls_plain)
        for one in self.rng.sample(quantities, min(4, len(quantities))):
            self.slopes(plain, one, base)
        for pointer in self.rng.sample(found["without_effect"], min(2, len(found["without_effect"]))):
            self.no_effect(plain, pointer, base)

    def slopes(self, plain: dict, one: dict, base: dict) -> None:
        pointer, (x, unit) = one["of"][0], figure(one["plan"])
        if x == 0:
            return
        exact = self.exact_mean(plain, one)
        step = abs(x) * STEP
        below = worths(with_value(plain, pointer, written(exact - step, unit)), self.pulls_plain)
        above = worths(with_value(plain, pointer, written(exact + step, unit)), self.pulls_plain)
        if below is None or above is None:
            return
        for name in base:
            told = one["routes"].get(name, {"derivative": "0"})
            a, b, here = below[name], above[name], base[name]
            if a is None or b is None or here is None:
                continue
            jumps = "jump_below" in told or "jump_above" in told
            if told["derivative"] is None or jumps:
                near = abs(exact) * HAIR * Fraction(101, 100)
                sides = [(worths(with_value(plain, pointer, written(exact + way, unit)), self.pulls_plain) or {}).get(name)
                         for way in (-near, near)]
                self.kink(told, here, near, sides, f"{pointer} {name}")
                continue
            slope, expected = Fraction(told["derivative"]), (b - a) / (2 * step)
            bend = abs(a - 2 * here + b)
            if bend > self.gross / 10**9:
                continue        # a jump or a kink within a millionth: not at the value
            if abs(slope - expected) > abs(expected) / 10**6 + (self.gross / 10**7 + bend / STEP) / abs(x):
                self.say(f"{pointer}: slope of {name} {told['derivative']}, differences {float(expected)!r}")
            self.seen["slopes"] += 1

    def kink(self, told: dict, here: Fraction, near: Fraction, sides: list[Optional[Fraction]], where: str) -> None:
        """Just beyond what the library looks at as the edge."""
        for side, there, way in (("below", sides[0], -near), ("above", sides[1], near)):
            slope = told.get(side) or told["derivative"]
            if slope is None or there is None:
                continue
            expected = here + Fraction(slope) * way + Fraction(told.get(f"jump_{side}", "0"))
            if abs(there - expected) > self.gross / 10**8:
                self.say(f"{where}: {side} {float(there)!r}, by slope and jump {float(expected)!r}")
            self.seen["kinks"] += 1

    def exact_mean(self, plan: dict, one: dict) -> Fraction:
        """The mean as the document has it, where it is one figure: the answer prints 12 digits."""
        value: Any = plan
        for step in parts(one["of"][0]):
            value = value[int(step)] if isinstance(value, list) else value[step]
        return figure(value)[0] if isinstance(value, str) else figure(one["plan"])[0]

    def no_effect(self, plain: dict, pointer: str, base: dict) -> None:
        value: Any = plain
        for step in parts(pointer):
            value = value[int(step)] if isinstance(value, list) else value[step]
        if not isinstance(value, str):
            return
        x, unit = figure(value)
        other = worths(with_value(plain, pointer, written(x * (1 + HAIR / 2), unit)), self.pulls_plain)
        if other is not None and any(other[n] is not None and base[n] is not None and other[n] != base[n] for n in base):
            self.say(f"{pointer} is said to have no effect, and has one")
        self.seen["without effect"] += 1

    # -- section 25

    def break_even(self, of: str) -> None:
        try:
            found = self.library.ask("break_even", self.plan, {"of": of, "cuts": "held"})
        except run.LibraryError as problem:
            if "state both" not in str(problem):
                self.say(f"break-even of {of}: {problem}")
            return
        _, unit = figure(found["plan"])
        at: Callable[[Fraction], Any] = lambda x: worths(with_value(self.plan, of, written(x, unit)), self.pulls)
        for lead in found["leads"]:
            low, high = figure(lead["from"])[0], figure(lead["to"])[0]
            if high - low <= abs(high) * HAIR:
                continue        # narrower than the digits printed, at the end of a field's range
            for _ in range(3):
                x = low + (high - low) * Fraction(self.rng.random()).limit_denominator(10**6)
                best, ahead = leader(at(x))
                if lead["best"] is None and not self.reads(with_value(self.plan, of, written(x, unit))):
                    self.seen["no plan"] += 1
                elif best != lead["best"] and ahead > self.slack():
                    self.say(f"{of} at {float(x)} {unit}: {best} leads, told is {lead['best']}")
                self.seen["leaders"] += 1
        for change in found["changes"]:
            self.change(of, unit, change, at)

    def change(self, of: str, unit: str, change: dict, at: Callable[[Fraction], Any]) -> None:
        x = figure(change["at"])[0]
        self.seen[change["how"]] += 1
        if change["how"] == "tie" and change["from"] == change["to"]:
            found = at(x)
            one, other = (found or {}).get(change["between"][0]), (found or {}).get(change["between"][1])
            steps = 40 * run.money_step(self.plan)
            if one is None or other is None or abs(one - other) > self.slack() + steps:
                self.say(f"{of}: no tie at {change['at']}: {one and float(one)} {other and float(other)}")
        if change["how"] == "jump":
            for side, told in ((x * (1 - HAIR), change["between"][0]), (x * (1 + HAIR), change["between"][1])):
                found = at(side)
                best, ahead = leader(found)
                # At an end of the field's range there is no other side.
                at_end = x <= 0 or (unit == "%" and x > 100 - HAIR * 1000)
                if not at_end and None not in (found, told, best) and best != told and ahead > self.slack():
                    self.say(f"{of}: no jump at {change['at']}: {best} at {float(side)!r}, told is {told}")

    # -- section 26

    def counter_offers(self) -> None:
        found = self.library.ask("counter_offers", self.plan, {"cuts": "held"})
        for name, buyer in found["buyers"].items():
            told = [one for one in buyer["offers"] if one["to"] is not None]
            for one in self.rng.sample(told, min(3, len(told))):
                self.offer(name, one)

    def offer(self, buyer: str, offer: dict) -> None:
        many = isinstance(offer["to"], list)
        to, now = (offer["to"], offer["plan"]) if many else ([offer["to"]], [offer["plan"]])
        for less, wins in ((Fraction(0), True), (Fraction(1, 10**4), False)):
            changed = self.plan
            for pointer, then, before in zip(offer["of"], to, now):
                (x, unit), (y, _) = figure(then), figure(before)
                changed = with_value(changed, pointer, written(x + (y - x) * less, unit))
            found = worths(changed, self.pulls)
            if found is None:
                self.say(f"{buyer}: {offer['what']} at {offer['to']} is no plan")
                return
            sold = {n: self.sells(self.plan["routes"][n], buyer) for n in found}
            his = max((v for n, v in found.items() if sold[n] and v is not None), default=None)
            others = max((v for n, v in found.items() if not sold[n] and v is not None))
            ahead = -self.gross if his is None else his - others
            if (ahead < -self.slack()) if wins else (ahead > self.slack()):
                self.say(f"{buyer}: {offer['what']} {offer['to']}{'' if wins else ' less a little'} leads by {float(ahead)!r}")
            self.seen["offers"] += 1

    def sells(self, node: Any, buyer: str) -> bool:
        if not isinstance(node, dict):
            return False
        return node.get("sell") == buyer or any(self.sells(one, buyer) for one in node.values())

    # -- section 27

    def forgiving_cut(self) -> None:
        try:
            found = self.library.ask("forgiving_cut", self.plan, {"points": 5})
        except run.LibraryError:
            return
        visits = Counter(one["at"] for one in found["cuts"])
        for one in found["cuts"]:
            if visits[one["at"]] > 1 or one["how"] == "best":
                continue
            for point in self.rng.sample(one["curve"], min(2, len(one["curve"]))):
                changed = with_value(self.plan, f"/steps/{one['at'].replace('~', '~0').replace('/', '~1')}/cut", "")
                changed["steps"][one["at"]]["cut"] = {"pull": point["pull"]}
                value = (worths(changed, self.pulls) or {}).get(found["route"])
                told = point["present_value"]
                if (value is None) != (told is None) or (value is not None
                                                         and abs(value - Fraction(told)) > self.slack() * 100):
                    self.say(f"{one['at']} at {point['pull']}: {told}, oracle {value and float(value)}")
                self.seen["pulls"] += 1

    # -- section 29

    def map(self, x: str, y: str) -> None:
        try:
            found = self.library.ask("map", self.plan, {"x": {"of": x, "steps": 3}, "y": {"of": y, "steps": 2}, "cuts": "held"})
        except run.LibraryError:
            return
        for row, b in enumerate(found["y"]["values"]):
            for column, a in enumerate(found["x"]["values"]):
                changed = with_value(with_value(self.plan, x, f"{a} {found['x']['unit']}".strip()), y,
                                     f"{b} {found['y']['unit']}".strip())
                best, ahead = leader(worths(changed, self.pulls))
                winner, lead = found["winner"][row][column], found["lead"][row][column]
                told = None if winner is None else found["routes"][winner]
                if told is None and not self.reads(changed):
                    self.seen["no plan"] += 1
                elif told != best and ahead > self.slack():
                    self.say(f"map of {x} {a}, {y} {b}: {told}, oracle {best}")
                elif lead is not None and abs(Fraction(lead) - ahead) > self.slack() * 100:
                    self.say(f"map of {x} {a}, {y} {b}: lead {lead}, oracle {float(ahead)}")
                self.seen["points"] += 1

    def all(self) -> list[str]:
        self.sensitivity()
        found = self.library.ask("sensitivity", self.plan)
        pointers = [one["of"][0] for one in found["quantities"]]
        if pointers:
            # The three that move the lead most, and one more.
            for of in dict.fromkeys(pointers[:3] + [self.rng.choice(pointers)]):
                self.break_even(of)
        if len(pointers) > 1:
            self.map(*self.rng.sample(pointers[:8], 2))
        self.counter_offers()
        self.forgiving_cut()
        return self.differs


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--library", required=True)
    parser.add_argument("--plans", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--show", type=int, default=5)
    wish = parser.parse_args()
    library, seen, wrong = Library(wish.library), Counter(), 0
    demo = Path(__file__).resolve().parents[2] / "examples" / "demo" / "plan.json"
    with open(demo, encoding="utf-8") as file:
        todo: list[tuple[Any, dict]] = [("demo", json.load(file))]
    todo += [(seed, plans.random_plan(seed)) for seed in range(wish.seed, wish.seed + wish.plans)]
    for seed, plan in todo:
        try:
            differs = Study(library, plan, random.Random(str(seed)), seen).all()
        except run.LibraryError:
            seen["refused plans"] += 1
            continue
        wrong += bool(differs)
        for text in differs[:wish.show] if wrong <= 20 else []:
            print(f"{seed}: {text}", flush=True)
    library.close()
    print(f"{len(todo)} plans, {wrong} differ; {dict(seen)}")
    return 1 if wrong or not all(seen[what] for what in ("slopes", "leaders", "tie", "offers", "points", "pulls")) else 0


if __name__ == "__main__":
    sys.exit(main())
