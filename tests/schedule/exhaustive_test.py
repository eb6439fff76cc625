"""Small random months against every choice there is: exhaustive_test.py CORE SCHEDULE [--months 200] [--seed 1] [--only N].

Each month has up to six lots, some of two parts, one to three routes, and limits of some kinds. The best of all sets of
blends of up to three lots has to be what the library chooses, within the limits, with no gap left; where nothing keeps
the limits, the library has to come as near to them as the nearest of all sets does. Exit status 1 on any difference.
"""

from __future__ import annotations

import copy
import random
import sys
from collections import Counter

import every_choice as ec
import invented
import library
import random_limits as limits

MOST_JOINED = 3
# The library drops a blend that brings less than a part in 10^9 more than its lots apart, and a set has up to six.
RELATIVE = 1e-8
OPTIONS = {"most_joined": MOST_JOINED, "gap": "0 %", "time": "2 min"}


def month(lib: library.Library, seed: int) -> tuple[dict, list[ec.Blend]]:
    rng = random.Random(seed)
    timed = seed % 2 == 0  # cash and metal: by whole days, without queues
    divisible = seed % 5 == 0
    request = invented.request(rng, rng.randint(3, 4) if divisible else rng.randint(3, 6), rng.randint(1, 3), rates=not timed)
    if divisible:
        rng.choice(list(request["lots"].values()))["divisible"] = 2
    limits.add_lot_wishes(rng, request)
    blends = ec.every_blend(lib, request, MOST_JOINED)
    limits.add_capacity(rng, request, blends)
    if rng.random() < 0.7:
        limits.add_buyers(rng, request)
    if timed and rng.random() < 0.7:
        limits.add_cash(rng, request, blends)
    if timed and rng.random() < 0.4:
        limits.add_on_hand(rng, request)
    return request, blends


def differences(lib: library.Library, request: dict, blends: list[ec.Blend], seen: Counter) -> list[str]:
    best = ec.Search(copy.deepcopy(request), blends).run()
    answer = lib.allocate(request, **OPTIONS)
    mine = ec.chosen(request, answer, blends)
    sums = [sum(ec.take(request, limit, blend) for blend in mine) for limit in ec.limits_of(request)]
    possible = best.missed < 1e-7
    seen["possible" if possible else "impossible"] += 1
    seen["joined"] += any(len(blend.shares) > 1 for blend in best.blends)
    seen["limits that bind"] += not possible or best.value < ec.Search(without_limits(request), blends).run().value * (1 - RELATIVE)
    told = []
    if answer["limits_kept"] != possible:
        told.append(f"limits_kept is {answer['limits_kept']}, the oracle misses {best.missed}")
    told += broken(request, sums, "" if possible else "least")
    missed = missed_by(request, mine, sums)
    if missed > best.missed + 1e-6:
        told.append(f"misses {missed}, the nearest {best.missed}")
    scale = max(1.0, abs(best.value))
    if abs(missed - best.missed) < 1e-7 and not abs(float(answer["before_waiting"]) - best.value) <= RELATIVE * scale:
        told.append(f"leaves {answer['before_waiting']}, the best {best.value} by {[(blend.shares, blend.route) for blend in best.blends]}")
    if abs(sum(blend.value for blend in mine) - float(answer["before_waiting"])) > 1e-8 * scale:
        told.append(f"before_waiting is {answer['before_waiting']}, its shipments {sum(blend.value for blend in mine)}")
    if possible and not (float(answer["gap"].split()[0]) < 1e-6 or answer["before_waiting"] != answer["present_value"]):
        told.append(f"a gap of {answer['gap']} is left")
    return told


def without_limits(request: dict) -> dict:
    free = {name: value for name, value in request.items() if name not in ("capacity", "buyers", "cash", "on_hand")}
    free["lots"] = {name: {key: value for key, value in lot.items() if key != "must"} for name, lot in request["lots"].items()}
    return free


def broken(request: dict, sums: list[float], but: str) -> list[str]:
    """Limits that the answer's shipments do not keep; `least` ones that are missed where nothing keeps them."""
    told = []
    for total, limit in zip(sums, ec.limits_of(request)):
        if total > limit.most * (1 + 1e-7):
            told.append(f"{limit.kind} of {limit.of}: {total} of {limit.most}")
        waived = (limit.buyer and total == 0) or (but == "least" and not limit.buyer)
        if not waived and total < limit.least - 1e-7 * abs(limit.least):
            told.append(f"{limit.kind} of {limit.of}: {total}, at least {limit.least}")
    return told


def missed_by(request: dict, mine: list[ec.Blend], sums: list[float]) -> float:
    missed = 0.0
    for name, lot in request["lots"].items():
        sent = sum(count for blend in mine for other, count in blend.shares if other == name)
        missed += (1 - sent / ec.parts_of(lot)) if lot.get("must") else 0
    for total, limit in zip(sums, ec.limits_of(request)):
        if limit.least > 0 and not limit.buyer and total < limit.least * (1 - 1e-9):
            missed += (limit.least - total) / limit.least
    return missed


def main() -> None:
    _, wrong = ec.every_month(library.from_arguments(), 200, month, differences)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
