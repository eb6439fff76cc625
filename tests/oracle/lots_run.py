"""Compare lots that the library values by one plan, draw by draw, with the plain evaluator's, on random plans.

    python3 lots_run.py --library PATH/libbuttonworth.so [--plans 20] [--seed 1] [--show 5]

Section 30 from the format page alone: of each random plan a lot somewhere among all lots, some of its uncertain
quantities in columns. A draw's sum over one lot is what that lot leaves by its route, to 1/10000: each is worked out in
exact fractions at values drawn by the evaluator's own Philox numbers; means and standard deviations follow from them.
Exit status 1 on any difference.
"""

from __future__ import annotations

import argparse
import copy
import ctypes
import json
import math
import random
import sys
from collections import Counter
from fractions import Fraction
from typing import Any, Optional

import numpy as np

import chance
import chance_draws
import chance_run
import evaluator as ev
import random_chance
import run

DRAWS = 9
RELATIVE = chance_run.RELATIVE


class Library(chance_run.Library):
    def lots(self, plan: dict, options: dict, columns: dict[str, float]) -> tuple[dict, list[float], list[float]]:
        """One lot: the answer, its means and its standard deviations."""
        def then(read: Any) -> tuple[dict, list[float], list[float]]:
            names = (ctypes.c_char_p * len(columns))(*(pointer.encode() for pointer in columns))
            numbers = [ctypes.c_double(number) for number in columns.values()]
            places = (ctypes.c_void_p * len(columns))(*(ctypes.addressof(number) for number in numbers))
            strides = (ctypes.c_int64 * len(columns))(*(1 for _ in columns))
            routes = len(options["routes"])
            means, sds = (ctypes.c_double * routes)(), (ctypes.c_double * routes)()
            wish, answer = json.dumps(options, ensure_ascii=False).encode(), ctypes.c_void_p()
            size = ctypes.c_size_t
            self.check(self.c.bw_value_lots(self.context, read, wish, size(len(wish)), names, places, strides,
                                            size(len(columns)), size(1), means, sds, size(routes), ctypes.byref(answer)))
            said = json.loads(ctypes.string_at(self.c.bw_answer_text(answer, None)))
            self.c.bw_answer_destroy(ctypes.byref(answer))
            return said, list(means), list(sds)

        text, read = json.dumps(plan, ensure_ascii=False).encode(), ctypes.c_void_p()
        self.check(self.c.bw_plan_read(self.context, text, ctypes.c_size_t(len(text)), ctypes.byref(read)))
        try:
            return then(read)
        finally:
            self.c.bw_plan_destroy(ctypes.byref(read))


# ---------------------------------------------------------------- columns

def of_lot(pointer: str) -> bool:
    return pointer.startswith("/lot/")


def figure(text: str) -> Fraction:
    return ev.exact(text.strip().partition(" ")[0].rstrip("%/a"))


def unit_of(node: dict, one: chance_draws.Input) -> Optional[float]:
    """What one of the unit is in which the plan states the quantity; None where that cannot be told from its mean."""
    texts = ev.written(node)
    numbers = [float(figure(text)) for text in texts]
    if "values" in node:
        units = {text.strip().partition(" ")[2] for text in texts}
        own = sum(numbers) / len(numbers)
        return one.spread.mean / own if len(units) == 1 and own else None
    if not numbers[0]:
        return None
    if "median" in node:
        return one.spread.mean / math.exp(math.log(float(ev.exact(node["gsd"]))) ** 2 / 2) / numbers[0]
    if "low" in node:
        return float(one.spread.law.ppf(0)) / numbers[0]
    return one.spread.mean / numbers[0]


def columns_for(plan: dict, inputs: chance_draws.Inputs, rng: random.Random) -> dict[str, tuple[float, float]]:
    """Most of the lot's inputs and some others with a value of the lot's own, in the evaluator's units and in the plan's."""
    found = {}
    for one in inputs.all:
        if rng.random() > (0.8 if of_lot(one.pointer) else 0.1):
            continue
        unit = unit_of(random_chance.at(plan, one.place), one)
        value = one.spread.mean * rng.uniform(0.7, 1.3)
        if unit and one.ends[0] < value < one.ends[1]:
            found[one.pointer] = (value, value / unit)
    return found


# ---------------------------------------------------------------- draws

def shares(inputs: chance_draws.Inputs, seed: int, lot: int) -> np.ndarray:
    """p of every dimension, a column a draw: a lot's by its number and the draw, all others by the draw."""
    rows = []
    for d, first in enumerate(inputs.first):
        lots = of_lot(inputs.all[first].pointer)
        rows.append([chance_draws.philox_k(seed, d, lot, j + 1) if lots else chance_draws.philox_k(seed, d, j, 0)
                     for j in range(DRAWS)])
    return inputs.shares(chance_draws.share_of(np.array(rows)))


def drawn(plan: dict, inputs: chance_draws.Inputs, columns: dict[str, tuple[float, float]], p: np.ndarray) -> np.ndarray:
    values = inputs.values(p)
    for row, one in zip(values, inputs.all):
        if one.pointer not in columns:
            continue
        own, node = columns[one.pointer][0], random_chance.at(plan, one.place)
        row[:] = row * (own / one.spread.mean) if "rsd" in node or "gsd" in node else row + (own - one.spread.mean)
        row[:] = np.clip(row, *one.ends)
    return values


def apart(options: dict) -> dict:
    """Of the options of a simulation those that fit: nothing of the lot goes together with anything else."""
    fits = {name: options[name] for name in ("averaged",) if name in options}
    fits["same"] = [group for group in options.get("same", []) if len({of_lot(pointer) for pointer in group}) == 1]
    fits["correlate"] = [pair for pair in options.get("correlate", []) if of_lot(pair[0]) == of_lot(pair[1])]
    return fits


# ---------------------------------------------------------------- one lot

def worths(way: chance.Held, values: np.ndarray, name: str) -> list[Optional[Fraction]]:
    """By draw, 0 where the route is refused; None where the draw is impossible."""
    all_routes = [way.worth(values[:, j]) for j in range(values.shape[1])]
    return [None if one is None else one[name] or Fraction(0) for one in all_routes]


def unreadable(library: Library, plan: dict, inputs: chance_draws.Inputs, columns: dict[str, tuple[float, float]]) -> bool:
    """Whether the plan is refused with the columns' values in it, all else as it is: then there is no lot."""
    changed = copy.deepcopy(plan)
    for one in inputs.all:
        if one.pointer in columns:
            random_chance.put(changed, one.place, one.text(columns[one.pointer][0]))
    try:
        library.compare(changed)
    except run.LibraryError as error:
        return str(error).startswith("status 2")
    return False


def differing(answer: dict, mean: float, sd: float, mine: list[Optional[Fraction]], name: str, slack: float) -> list[str]:
    possible = [float(x) for x in mine if x is not None]
    if 2 * len(possible) < len(mine):
        return [] if answer["impossible"] == 1 and mean == -math.inf else [f"{name}: impossible, but the library has {mean}"]
    average = sum(possible) / len(possible)
    if answer["routes"][name]["refused"]:
        return [f"{name}: refused, but the oracle has {x}" for x in possible if x]
    found = []
    for j, (text, x) in enumerate(zip(answer["draws"]["sums"], mine)):
        if not abs(float(text) - (average if x is None else float(x))) <= slack + 0.00006:
            found.append(f"{name}, draw {j}: library {text}, oracle {x if x is None else float(x)!r}")
    spread = math.sqrt(sum((x - average) ** 2 for x in possible) / max(1, len(possible) - 1))
    if not abs(mean - average) <= slack:
        found.append(f"{name}: mean {mean!r}, oracle {average!r}")
    if not abs(sd - spread) <= 2 * slack:
        found.append(f"{name}: sd {sd!r}, oracle {spread!r}")
    return found


def differences(library: Library, seed: int, seen: Counter) -> list[str]:
    plan, simulated = random_chance.random_request(seed)
    rng = random.Random(seed)
    options = apart(simulated)
    inputs = chance_draws.Inputs(plan, options)
    columns = columns_for(plan, inputs, rng)
    lot = rng.choice((0, 1, 2, rng.randrange(2**20), 2**40 + rng.randrange(99)))
    values = drawn(plan, inputs, columns, shares(inputs, simulated["seed"], lot))
    comparison = library.compare(plan)
    gross = float(run.Check(plan, {}, 1).gross)
    held = run.held_pulls(plan, comparison, Fraction(0))
    told: list[str] = []
    no_plan = unreadable(library, plan, inputs, columns)
    for name in comparison["routes"]:
        wish = {**options, "routes": [name], "draws": DRAWS, "seed": simulated["seed"], "first": lot}
        answer, means, sds = library.lots(plan, wish, {pointer: number for pointer, (_, number) in columns.items()})
        if no_plan:
            seen["lots that make no plan"] += 1
            if answer["impossible"] != 1:
                told.append(f"{name}: the plan cannot be read with the lot's values, but the library has {means[0]}")
            continue
        for hair in chance_run.HAIRS:
            way = chance.Held(copy.deepcopy(plan), held, [name], Fraction(hair, 10**12))
            mine = worths(way, values, name)
            scale = max([gross, *(abs(float(x)) for x in mine if x is not None)])
            wrong = differing(answer, means[0], sds[0], mine, name, RELATIVE * scale)
            if not wrong:
                break
        told += wrong
        seen["draws of a lot by a route"] += DRAWS
        seen["of these impossible"] += sum(x is None for x in mine)
        seen["refused lots"] += answer["routes"][name]["refused"]
    seen["columns"] += len(columns)
    seen["of these not of the lot"] += sum(not of_lot(pointer) for pointer in columns)
    return told


def main() -> int:
    wish = argparse.ArgumentParser(description="compare lots valued by the library with the plain evaluator's")
    wish.add_argument("--library", required=True)
    wish.add_argument("--plans", type=int, default=20)
    wish.add_argument("--seed", type=int, default=1)
    wish.add_argument("--show", type=int, default=5)
    given = wish.parse_args()
    library, seen, tally = Library(given.library), Counter(), Counter()
    for seed in range(given.seed, given.seed + given.plans):
        chance_run.report(f"seed {seed}", differences(library, seed, seen), tally, given.show)
    library.close()
    for what, count in sorted(seen.items()):
        print(f"  {count:6d}  {what}")
    print(f"{tally['agree']} agree, {tally['differ']} differ")
    return 1 if tally["differ"] or not tally["agree"] else 0


if __name__ == "__main__":
    sys.exit(main())
