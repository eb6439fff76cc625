"""Months of blends of up to six lots: larger_test.py CORE SCHEDULE [--months 40] [--seed 1] [--only N].

Seven to nine lots. In some months no three come to what a buyer takes, in others only lots thinned by several are clean
enough for him, and in others charges a lot make large blends pay. The best of all sets of blends has to be what the
library chooses, which looks at every blend of so few lots. Where it may look at a third of those of more than three
lots, it has to look at the right ones: over all months less than a part in a thousand may be lost. Exit status 1 on any
difference.
"""

from __future__ import annotations

import random
import sys
from collections import Counter

import every_choice as ec
import invented
import library
import random_limits as limits

MOST_JOINED = 6
RELATIVE = 1e-8  # as in exhaustive_test.py: what brings less than a part in 10^9 more is dropped
OPTIONS = {"most_joined": MOST_JOINED, "gap": "0 %", "time": "2 min"}
LOST = 1e-3  # of what all months leave, with a third of the blends: one month of forty that loses 4 % comes to it


def month(lib: library.Library, seed: int) -> tuple[dict, list[ec.Blend]]:
    rng = random.Random(seed)
    request = invented.request(rng, rng.randint(7, 9), rng.randint(1, 2))
    masses = [ec.figure(lot["wet_mass"]) for lot in request["lots"].values()]
    for terms in request["terms"].values():
        kind = rng.random()
        if terms["buys"] != "concentrate" or kind > 0.7:
            continue
        if kind < 0.5:
            terms["accepts"]["mass"]["min"] = f"{rng.uniform(1.02, 1.5) * sum(sorted(masses)[-3:]):.0f} kg"
        else:
            terms["accepts"]["As"] = {"max": f"{rng.uniform(0.25, 0.4):.2f} %"}
    blends = ec.every_blend(lib, request, MOST_JOINED)
    if rng.random() < 0.5:
        limits.add_capacity(rng, request, blends)
    return request, blends


def differences(lib: library.Library, request: dict, blends: list[ec.Blend], seen: Counter) -> list[str]:
    best = ec.Search(request, blends).run()
    answer = lib.allocate(request, **OPTIONS)
    value, looked = float(answer["before_waiting"]), answer["looked_at"]
    a_third = looked["pairs"] + looked["triples"] + looked["larger"] // 3
    grown = lib.allocate(request, looked_at=a_third, **OPTIONS)
    larger = any(len(blend.shares) > 3 for blend in best.blends)
    seen["of more than three lots"] += larger
    seen["sent"] += bool(best.blends)
    seen["less"] += best.value - value
    seen["less with a third of the blends"] += best.value - float(grown["before_waiting"])
    seen["of"] += best.value
    if looked["all_up_to"] != MOST_JOINED or grown["looked_at"]["all_up_to"] != 3:
        return [f"all blends of up to {looked['all_up_to']} lots, and {grown['looked_at']['all_up_to']} of a third"]
    if abs(value - best.value) <= RELATIVE * max(1.0, abs(best.value)):
        return []
    return [f"leaves {value}, the best {best.value} by {[(blend.shares, blend.route) for blend in best.blends]}"]


def main() -> None:
    seen, wrong = ec.every_month(library.from_arguments(), 40, month, differences)
    lost = seen["less with a third of the blends"] > LOST * seen["of"]
    if lost:
        print(f"with a third of the blends more than {LOST:.1%} of all that the months leave is lost")
    sys.exit(1 if wrong or lost else 0)


if __name__ == "__main__":
    main()
