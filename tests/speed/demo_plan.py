#!/usr/bin/env python3
"""The demo plan with twelve uncertain inputs: what the speed of a simulation is measured on.

    demo_plan.py PLAN OUT

Writes the plan to OUT. All other uncertain quantities are stated at the mean of their distribution, so that the
plan's comparison stays what it is. Twelve inputs are twelve draws: what the three tables have in common is one.
"""

import decimal
import json
import sys
from decimal import Decimal as D

TABLES = ["table at 2.5 %", "table at best", "table to 1.5 % gold"]
KEPT = [
    "/prices/Au", "/prices/Ag",
    "/lot/parts/0/wet_mass", "/lot/parts/0/moisture", "/lot/parts/0/assays/Au",
    "/lot/parts/1/wet_mass", "/lot/parts/1/moisture", "/lot/parts/1/assays/Au",
    *(f"/steps/{table}/curve/{place}" for table in TABLES for place in ("Au/logit/0", "Au/logit/1", "Pb/odds")),
    "/steps/crucible furnace/slag_grade/Au",
]
SAME = [[f"/steps/{table}/curve" for table in TABLES]]


def mean(spread):
    """The mean of an uncertain quantity, in the unit of its figures."""
    parts = {name: str(text).split() for name, text in spread.items() if name != "values"}
    number = {name: D(words[0]) for name, words in parts.items()}
    unit = next(words for words in (*parts.values(), *(text.split() for text in spread.get("values", ()))))[1:]
    if "value" in spread:
        found = number["value"]
    elif "low" in spread:
        figures = [number[name] for name in ("low", "mode", "high") if name in spread]
        found = sum(figures) / len(figures)
    elif "values" in spread:
        found = sum(D(text.split()[0]) for text in spread["values"]) / len(spread["values"])
    else:
        found = number["median"] * (number["gsd"].ln() ** 2 / 2).exp()
    return " ".join([str(found), *unit])


def is_spread(value):
    return isinstance(value, dict) and any(
        names <= value.keys() for names in ({"value", "sd"}, {"value", "rsd"}, {"median", "gsd"}, {"low", "high"}, {"values"})
    )


def with_twelve(value, place=""):
    if is_spread(value):
        return value if place in KEPT else mean(value)
    if isinstance(value, dict):
        return {name: with_twelve(one, f"{place}/{name}") for name, one in value.items()}
    if isinstance(value, list):
        return [with_twelve(one, f"{place}/{i}") for i, one in enumerate(value)]
    return value


def main():
    decimal.getcontext().prec = 30
    with open(sys.argv[1], encoding="utf-8") as file:
        plan = json.load(file)
    with open(sys.argv[2], "w", encoding="utf-8") as file:
        json.dump({"plan": with_twelve(plan), "options": {"same": SAME}}, file, ensure_ascii=False, indent=1)


if __name__ == "__main__":
    main()
