#!/usr/bin/env python3
"""Set the library's best cuts against plain grids of stated pulls.

    python3 best_cuts.py --library PATH/libbuttonworth.so

Each plan is awkward in a way of its own: the value jumps with the pull, runs in fine teeth, is
taken in a narrow window only, or depends on two cuts at once. A grid of stated pulls, worked out
by the same library, must not beat the best cut by more than 0.001 % of what the lot holds.
Exit status 1 on any that does.
"""

from __future__ import annotations

import argparse
import copy
import itertools
import json
import sys
from typing import Iterator

from run import Library, LibraryError

ALLOWED = 1e-5  # of the metal's value in the lot
BLOCK = 200     # pulls worked out in one call


def percent(share: float) -> str:
    return f"{share * 100:.10f} %"


# ---------------------------------------------------------------- awkward plans

def points(*pairs: tuple[float, float]) -> dict:
    return {"Au": [[percent(pull), percent(recovery)] for pull, recovery in pairs]}


CURVE = points((0.02, 0.50), (0.06, 0.74), (0.15, 0.86), (0.30, 0.95))
BANDS = [["250 g/t", "75 %"], ["1200 g/t", "82 %"], ["2100 g/t", "86 %"], ["5200 g/t", "91 %"]]
POOR_BANDS = [["20 g/t", "60 %"], ["55 g/t", "72 %"], ["130 g/t", "80 %"]]


def table(curve: dict | None = None, **more) -> dict:
    return {"kind": "table", "cut": "best", "curve": curve or CURVE, **more}


def base(**changes) -> dict:
    plan = {
        "format": "buttonworth-plan/1", "currency": "USD", "prices": {"Au": "85 USD/g"}, "discount": "15 %/a",
        "lot": {"wet_mass": "1000 kg", "assays": {"Au": "420 g/t"}},
        "steps": {"shaker": table()},
        "terms": {
            "smelter": {"buys": "concentrate", "pay": {"Au": {"bands": BANDS, "less": "2 g/t"}}, "final": "40 d",
                        "charges": [{"what": "treatment", "rate": "600 USD/t"}, {"what": "sampling", "rate": "800 USD/lot"}]},
            "mill": {"buys": "concentrate", "pay": {"Au": {"bands": POOR_BANDS, "less": "15 g/t"}},
                     "charges": [{"what": "treatment", "rate": "120 USD/t"}]},
            "refiner": {"buys": "bar", "pay": {"Au": {"share": "98.5 %"}},
                        "charges": [{"what": "lot fee", "rate": "150 USD/lot"}]}},
        "routes": {"r": {"step": "shaker", "concentrate": {"sell": "smelter"}, "tailings": {"sell": "mill"}}}}
    for pointer, value in changes.items():
        at = plan
        *path, last = pointer.split("__")
        for name in path:
            at = at[name]
        at[last] = value
    return plan


def melted(volume: str, fuel: str) -> dict:
    plan = base()
    plan["steps"]["furnace"] = {
        "kind": "melt", "to_bar": {"Au": "99 %"}, "flux": [{"reagent": "borax", "dose": "0.6 kg/kg"}],
        "crucible": {"volume": volume, "fill": "70 %", "density": "1.8 kg/L"}, "per_melt": "60 min",
        "cost": [{"what": "fuel", "rate": fuel}]}
    plan["steps"]["pan"] = {"kind": "dry", "to": "0.2 %", "dust": "0.4 %"}
    plan["routes"]["r"] = {
        "step": "shaker", "tailings": {"return": {"Au": "45 %"}, "after": "30 d"},
        "concentrate": {"step": "pan", "dried": {"step": "furnace", "bar": {"sell": "refiner"}, "slag": {"keep": True}}}}
    return plan


def accepting(limits: dict) -> dict:
    plan = base()
    plan["terms"]["smelter"]["accepts"] = limits
    plan["routes"]["r"]["tailings"] = {"keep": True}
    return plan


def two_tables(poor: str, second: dict | None = None) -> dict:
    plan = base()
    plan["steps"]["cleaner"] = second or table({"Au": {"odds": "100"}}, search=["2 %", "30 %"])
    plan["routes"]["r"] = {"step": "shaker", "tailings": {"sell": poor},
                           "concentrate": {"step": "cleaner", "concentrate": {"sell": "smelter"}, "tailings": {"sell": poor}}}
    return plan


def two_ridges() -> dict:
    """The value falls where a tailings grade leaves a band of the mill's, along a ridge for each table."""
    plan = two_tables("mill", table({"Au": {"odds": "101.5"}}, search=["1.582763 %", "26.475366 %"]))
    plan["lot"] = {"wet_mass": "1195.90886 kg", "moisture": "8 %", "assays": {"Au": "1092.483148 g/t"}}
    plan["steps"]["shaker"] = table({"Au": {"odds": "73"}}, search=["1.079436 %", "34.836479 %"])
    plan["terms"]["smelter"]["pay"]["Au"] = {"less": "2 g/t", "bands": [
        ["1638 g/t", "77.7 %"], ["2797 g/t", "78.7 %"], ["8446 g/t", "81.3 %"], ["12536 g/t", "83.9 %"], ["19650 g/t", "84.8 %"]]}
    plan["terms"]["mill"]["pay"]["Au"] = {"less": "17.3 g/t", "bands": [
        ["109 g/t", "83.4 %"], ["216 g/t", "85.5 %"], ["612 g/t", "89.4 %"], ["2626 g/t", "92.7 %"], ["6980 g/t", "95.6 %"]]}
    return plan


def corner() -> dict:
    """Two cuts, both of which must pull near their most for the mass that the buyer wants."""
    plan = two_tables("mill")
    plan["terms"]["smelter"]["accepts"] = {"mass": {"min": "88.2 kg"}}  # 1000 kg × 0.3 × 0.3 = 90 kg at most
    return plan


def rounded() -> dict:
    plan = base()
    plan["terms"]["smelter"]["rounding"] = {"Au": "10 g/t", "money": "0.05 USD"}
    plan["terms"]["smelter"]["penalties"] = [
        {"for": ["Au"], "above": "1500 g/t", "each": "100 g/t", "rate": "25 USD/t", "count": "whole"}]
    return plan


def with_middlings() -> dict:
    plan = base()
    plan["steps"]["shaker"]["middlings"] = "12 %"
    plan["routes"]["r"]["middlings"] = {"sell": "smelter"}
    return plan


def like_but_not_the_same() -> dict:
    """Two routes alike but for what they are credited: each has a best cut of its own."""
    plan = melted("40 L", "20 USD/melt")
    other = copy.deepcopy(plan["routes"]["r"])
    other["tailings"]["return"]["Au"] = "97 %"
    third = copy.deepcopy(plan["routes"]["r"])
    third["tailings"]["after"] = "2000 d"
    fourth = copy.deepcopy(plan["routes"]["r"])
    fourth["concentrate"]["dried"]["slag"] = {"sell": "mill"}
    fifth = copy.deepcopy(plan["routes"]["r"])
    fifth["tailings"] = {"sell": "mill"}
    plan["routes"].update({"s": other, "t": third, "u": fourth, "v": fifth})
    for name, rich, poor in (("w", "smelter", "mill"), ("x", "mill", "smelter"), ("y", "smelter", "smelter")):
        plan["routes"][name] = {"step": "shaker", "concentrate": {"sell": rich}, "tailings": {"sell": poor}}
    plan["steps"]["another"] = table(points((0.03, 0.30), (0.10, 0.50), (0.35, 0.96)))
    plan["routes"]["z"] = dict(plan["routes"]["w"], step="another")
    return plan


def pieces_apart() -> dict:
    """Coarse pieces tabled too, alike in two routes but for where their tailings go."""
    plan = base()
    plan["lot"]["apart"] = {"coarse": {"mass": "300 kg", "assays": {"Au": "900 g/t"}}}
    way = {"step": "shaker", "concentrate": {"sell": "smelter"}, "tailings": {"return": {"Au": "20 %"}}}
    other = dict(way, tailings={"return": {"Au": "95 %"}})
    plan["routes"] = {"r": {"lot": {"sell": "mill"}, "coarse": way}, "s": {"lot": {"sell": "mill"}, "coarse": other}}
    return plan


def then_cut_by(cut: dict, curve: dict | None = None) -> dict:
    """A second table that is set to a grade or a recovery, whatever the first one sends it."""
    return two_tables("mill", {"kind": "table", "cut": cut, "curve": curve or {"Au": {"odds": "40"}}})


def seldom_reached() -> dict:
    """The second table reaches its grade only while the first pulls little, though more recovered is worth more."""
    plan = then_cut_by({"grade": "24000 g/t"}, points((0.05, 0.6), (0.2, 0.9), (0.4, 0.97)))
    plan["terms"]["smelter"] = {"buys": "concentrate", "pay": {"Au": {"share": "95 %"}}}
    plan["routes"]["r"]["tailings"] = plan["routes"]["r"]["concentrate"]["tailings"] = {"keep": True}
    return plan


def straight(charge: str) -> dict:
    """A recovery along a line: the best is at an end."""
    plan = base(steps__shaker__curve=points((0.1, 0.2), (0.2, 0.4), (0.4, 0.8)))
    plan["terms"]["smelter"] = {"buys": "concentrate", "pay": {"Au": {}},
                                "charges": [{"what": "treatment", "rate": charge}]}
    plan["routes"]["r"]["tailings"] = {"keep": True}
    return plan


PLANS = {
    "bands": base(),
    "odds": base(steps__shaker__curve={"Au": {"odds": "60"}}, steps__shaker__search=["1 %", "35 %"]),
    "large melts": melted("30 L", "300 USD/melt"),
    "small melts": melted("2 L", "110 USD/melt"),
    "teeth finer than any line": melted("0.7 L", "60 USD/melt"),
    "least mass": accepting({"mass": {"min": "137 kg"}}),
    "least grade": accepting({"Au": {"min": "4100 g/t"}}),
    "narrow window": accepting({"mass": {"min": "173.1 kg", "max": "173.3 kg"}}),
    "window of grade and mass": accepting({"mass": {"min": "91 kg"}, "Au": {"min": "3550 g/t"}}),
    "rounded": rounded(),
    "middlings": with_middlings(),
    "alike": like_but_not_the_same(),
    "end above": straight("1000 USD/t"),
    "end below": straight("100000 USD/t"),
    "two cuts": two_tables("mill"),
    "two cuts, poor ends to the smelter": two_tables("smelter"),
    "two cuts with points": two_tables("mill", table(points((0.05, 0.6), (0.2, 0.9), (0.4, 0.97)))),
    "two ridges": two_ridges(),
    "corner": corner(),
    "pieces apart": pieces_apart(),
    "then cut by grade": then_cut_by({"grade": "9000 g/t"}),
    "then cut by a grade seldom reached": seldom_reached(),
    "then cut by recovery": then_cut_by({"recovery": "80 %"}),
}


# ---------------------------------------------------------------- grids

def searched(plan: dict, route: str) -> list[tuple[str, float, float]]:
    """The tables of a route whose cut is searched, and between which pulls."""
    found = []
    for name, step in plan["steps"].items():
        if step.get("cut") != "best" or f'"step": "{name}"' not in json.dumps(plan["routes"][route]):
            continue
        ends = step.get("search") or [step["curve"]["Au"][0][0], step["curve"]["Au"][-1][0]]
        found.append((name, *(float(end.split()[0]) / 100 for end in ends)))
    return found


def settings(plan: dict, route: str) -> Iterator[dict[str, float]]:
    cuts = searched(plan, route)
    each = 2000 if len(cuts) == 1 else 45
    for place in itertools.product(range(each), repeat=len(cuts)):
        yield {name: low + (high - low) * i / (each - 1) for i, (name, low, high) in zip(place, cuts)}


def renamed(node, number: int, cuts: set[str]):
    if not isinstance(node, dict):
        return node
    made = {key: renamed(value, number, cuts) for key, value in node.items()}
    if made.get("step") in cuts:
        made["step"] += f" {number}"
    return made


def with_stated(plan: dict, route: str, pulls: list[dict[str, float]]) -> dict:
    """One plan with a route for each setting."""
    made = copy.deepcopy(plan)
    made["routes"] = {}
    for number, setting in enumerate(pulls):
        for name, pull in setting.items():
            step = dict(plan["steps"][name], cut={"pull": percent(pull)})
            step.pop("search", None)
            made["steps"][f"{name} {number}"] = step
        made["routes"][str(number)] = renamed(plan["routes"][route], number, set(setting))
    for name in pulls[0]:
        del made["steps"][name]
    return made


def best_of_grid(library: Library, plan: dict, route: str) -> float | None:
    every = list(settings(plan, route))
    found = [best_of(library, plan, route, every[start:start + BLOCK]) for start in range(0, len(every), BLOCK)]
    return max((value for value in found if value is not None), default=None)


def best_of(library: Library, plan: dict, route: str, pulls: list[dict[str, float]]) -> float | None:
    """The most valuable of some settings; one whose second cut finds no solution does not count."""
    try:
        answer = library.compare(with_stated(plan, route, pulls), {"arithmetic": "double", "how": False})
    except LibraryError:
        if len(pulls) == 1:
            return None
        half = len(pulls) // 2
        found = [best_of(library, plan, route, part) for part in (pulls[:half], pulls[half:])]
        return max((value for value in found if value is not None), default=None)
    return float(answer["routes"][answer["best"]]["present_value"]) if answer["best"] is not None else None


def fault(library: Library, plan: dict) -> str | None:
    lot = plan["lot"]
    wet, moisture, grade = (float(text.split()[0]) for text in (lot["wet_mass"], lot.get("moisture", "0 %"), lot["assays"]["Au"]))
    holds = wet / 1000 * (1 - moisture / 100) * grade * 85  # USD of gold in the lot
    answer = library.compare(plan)
    for route in plan["routes"]:
        grid = best_of_grid(library, plan, route)
        value = answer["routes"][route]["present_value"]
        if grid is None and value is not None:
            continue  # a window that the grid steps over
        if value is None:
            return f"{route} is refused, though a grid finds {grid}"
        if float(value) < grid - ALLOWED * holds:
            return f"{route} leaves {value} at {answer['routes'][route]['cut']}, a grid {grid}"
    return None


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--library", required=True)
    options = parser.parse_args()
    library, faults = Library(options.library), 0
    for name, plan in PLANS.items():
        wrong = fault(library, plan)
        if wrong:
            print(f"{name}: {wrong}", flush=True)
            faults += 1
    library.close()
    print(f"{len(PLANS) - faults} of {len(PLANS)} awkward plans: no grid beats the best cut")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
