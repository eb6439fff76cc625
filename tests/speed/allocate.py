"""Months of lots decided together, by their number: allocate.py CORE SCHEDULE [--quick] [N…]; prints JSON.

Lots, tables and buyers are invented. Six ways to each of three buyers, two tables with so many hours. Seconds by the clock
on two threads: of looking at the blends alone, and of the whole answer, which may stop at 0.5 % from the bound and has
a minute; what it spends beyond that choice is on what the limits are worth.
"""

import json
import pathlib
import random
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "schedule"))

import library

COUNTS = (10, 12, 60) if "--quick" in sys.argv else (10, 12, 20, 40, 60, 100, 200)
NEAR = "0.5 %"


def terms(number: int) -> dict:
    least, gold = (150, 400, 900)[number], (300, 200, 150)[number]
    return {"buys": "concentrate", "transit": f"{3 + 4 * number} d", "final": f"{30 + 15 * number} d", "advance": {"share": "80 %", "after": "7 d"},
            "accepts": {"mass": {"min": f"{least} kg"}, "Au": {"min": f"{gold} g/t"}},
            "pay": {"Au": {"bands": [["1 g/t", "85 %"], ["60 g/t", f"{90 + number} %"], ["300 g/t", f"{93 + number} %"]], "less": "1 g/t",
                           "refining": "8 USD/ozt"}},
            "charges": [{"what": "treatment", "rate": f"{300 + 60 * number} USD/t"}, {"what": "sampling", "rate": f"{(350, 800, 1500)[number]} USD/lot"},
                        {"what": "freight", "rate": "200 USD/t", "of": "wet", "at_least": f"{(300, 700, 1200)[number]} USD"}],
            "penalties": [{"for": ["As"], "above": "0.3 %", "each": "0.1 %", "rate": f"{15 + 10 * number} USD/t"}], "rounding": {"money": "0.01 USD"}}


def table(number: int) -> dict:
    return {"kind": "table", "rate": f"{60 + 40 * number} kg/h", "cost": [{"what": "labour", "rate": "14 USD/h"}], "cut": {"pull": f"{20 + 10 * number} %"},
            "curve": {"Au": [["5 %", f"{62 + 4 * number} %"], ["20 %", f"{84 + 3 * number} %"], ["60 %", "96 %"]],
                      "As": [["5 %", "20 %"], ["20 %", "50 %"], ["60 %", "85 %"]]}}


def ways(buyer: str) -> dict:
    def washed(at: str, then: dict) -> dict:
        return {"step": at, "concentrate": then, "middlings": {"return": {"Au": "50 %"}}, "tailings": {"return": {"Au": "30 %"}, "after": "20 d"}}

    sold = {"sell": buyer}
    dried = {"step": "pan", "dried": sold}
    return {f"as it is to {buyer}": sold, f"dried to {buyer}": dried, f"table 1 to {buyer}": washed("table 1", sold),
            f"table 2 to {buyer}": washed("table 2", sold), f"table 1, dried to {buyer}": washed("table 1", dried),
            f"both to {buyer}": washed("table 1", washed("table 2", sold))}


def month(lots: int, **wishes) -> dict:
    rng = random.Random(1)
    offered = {f"lot {i + 1}": {"wet_mass": f"{rng.randint(120, 900)} kg", "moisture": f"{rng.randint(4, 14)} %", "ready": f"{rng.randint(0, 20)} d",
                                "assays": {"Au": f"{rng.randint(15, 260)} g/t", "As": f"{rng.uniform(0.05, 0.9):.2f} %"}} for i in range(lots)}
    buyers = {f"buyer {number}": terms(number) for number in range(3)}
    pan = {"kind": "dry", "to": "2 %", "dust": "0.1 %", "rate": "40 kg/h", "cost": [{"what": "labour", "rate": "12 USD/h"}]}
    return {"format": "buttonworth-allocation/1", "currency": "USD", "prices": {"Au": "2650 USD/ozt"}, "discount": "18 %/a", "day": "10 h",
            "lots": offered, "steps": {"table 1": table(0), "table 2": table(1), "pan": pan}, "terms": buyers,
            "routes": {name: way for buyer in buyers for name, way in ways(buyer).items()},
            "capacity": {"table 1": {"hours": f"{1.5 * lots} h"}, "table 2": {"hours": f"{0.8 * lots} h"}}, "threads": 2, **wishes}


def seconds(ask) -> tuple[float, dict]:
    begun = time.perf_counter()
    answer = ask()
    return time.perf_counter() - begun, answer


def main() -> None:
    lib = library.from_arguments()
    given = [int(word) for word in sys.argv[1:] if word.isdigit()]
    found = []
    for lots in given or COUNTS:
        looking, _ = seconds(lambda: lib.allocate(month(lots, gap="100 %", time="0.001 min")))
        total, answer = seconds(lambda: lib.allocate(month(lots, gap=NEAR, time="1 min")))
        looked, before = answer["looked_at"], float(answer["before_waiting"])
        blends = looked["pairs"] + looked["triples"] + looked["larger"]
        found.append({"lots": lots, "blends": blends, "looking": looking, "total": total, "gap": gap(answer),
                      "more": before / max(1.0, float(answer["compared"]["lot_by_lot"]["present_value"])) - 1})
    print(json.dumps(found))


def gap(answer: dict) -> float:
    """Of what was chosen, before any waiting, in %."""
    bound = float(answer["bound"])
    return 100 * (bound - float(answer["before_waiting"])) / bound


if __name__ == "__main__":
    main()
