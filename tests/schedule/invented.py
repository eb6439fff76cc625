"""Invented months of lots: what is offered, the ways and the buyers; limits are added by those who ask."""

from __future__ import annotations

import random

PLAN_FIELDS = ("currency", "prices", "discount", "day", "steps", "terms", "routes")
TABLE, PAN, FURNACE = "table", "pan", "furnace"
COAST, HILL, REFINERY = "coast", "hill", "refinery"


def steps(rng: random.Random, rates: bool) -> dict:
    """With rates they take time; without, a month has no queues and its days are whole."""
    table = {"kind": "table", "cut": {"pull": f"{rng.randint(8, 30)} %"}, "middlings": "6 %",
             "cost": [{"what": "labour", "rate": f"{rng.randint(20, 90)} USD/t"}],
             "curve": {"Au": [["5 %", "55 %"], ["20 %", f"{rng.randint(70, 84)} %"], ["60 %", "97 %"]],
                       "As": [["5 %", "15 %"], ["20 %", f"{rng.randint(30, 60)} %"], ["60 %", "88 %"]]}}
    pan = {"kind": "dry", "to": "0.4 %", "dust": "0.2 %", "cost": [{"what": "labour", "rate": "30 USD/t"}]}
    furnace = {"kind": "melt", "to_bar": {"Au": "96 %"}, "crucible": {"volume": "20 L", "fill": "70 %", "density": "2 kg/L"},
               "flux": [{"reagent": "borax", "dose": "0.6 kg/kg", "of": "charge", "price": "2 USD/kg"}],
               "cost": [{"what": "crucible", "rate": f"{rng.randint(15, 60)} USD/melt"}]}
    if rates:
        table["rate"], pan["rate"] = f"{rng.randint(20, 60)} kg/h", f"{rng.randint(15, 40)} kg/h"
        furnace["per_melt"] = "1.5 h"
    return {TABLE: table, PAN: pan, FURNACE: furnace}


def concentrate_buyer(rng: random.Random, transit: int, final: int, least: int) -> dict:
    above = rng.choice(("0.2 %", "0.3 %", "0.4 %"))
    return {"buys": "concentrate", "transit": f"{transit} d", "accepts": {"mass": {"min": f"{least} kg"}, "Au": {"min": "20 g/t"}},
            "pay": {"Au": {"bands": [["1 g/t", f"{rng.randint(70, 84)} %"], ["60 g/t", "90 %"], ["300 g/t", "95 %"]],
                           "less": "1 g/t", "refining": "8 USD/ozt"}},
            "charges": [{"what": "treatment", "rate": f"{rng.randint(250, 500)} USD/t"},
                        {"what": "sampling", "rate": f"{rng.choice((150, 400, 900))} USD/lot"},
                        {"what": "freight", "rate": "180 USD/t", "of": "wet", "at_least": f"{rng.choice((0, 300, 700))} USD"}],
            "penalties": [{"for": ["As"], "above": above, "each": "0.1 %", "rate": f"{rng.randint(5, 60)} USD/t"}],
            "advance": {"share": f"{rng.choice((0, 70, 85))} %", "after": "6 d"}, "final": f"{final} d",
            "rounding": {"money": "0.01 USD"}}


def terms(rng: random.Random) -> dict:
    refinery = {"buys": "bar", "transit": "2 d", "pay": {"Au": {"share": "99 %", "refining": "5 USD/ozt"}},
                "charges": [{"what": "melting", "rate": "120 USD/lot"}], "final": "5 d"}
    return {COAST: concentrate_buyer(rng, 9, 30, rng.choice((20, 60, 250))),
            HILL: concentrate_buyer(rng, 2, 45, rng.choice((10, 40, 120))), REFINERY: refinery}


def all_routes() -> dict:
    back = {"return": {"Au": "40 %"}, "after": "10 d"}

    def washed(concentrate: dict, middlings: dict) -> dict:
        return {"step": TABLE, "concentrate": concentrate, "middlings": middlings, "tailings": back}

    melted = {"step": PAN, "dried": {"step": FURNACE, "bar": {"sell": REFINERY}, "slag": {"keep": True}}}
    return {"as it is, coast": {"sell": COAST}, "as it is, hill": {"sell": HILL},
            "washed, coast": washed({"sell": COAST}, back), "washed, hill": washed({"sell": HILL}, back),
            "washed, both": washed({"sell": COAST}, {"step": PAN, "dried": {"sell": HILL}}),
            "washed and melted": washed(melted, {"keep": True})}


def lot(rng: random.Random) -> dict:
    """Masses are even numbers of kg, so that halves are whole."""
    return {"wet_mass": f"{2 * rng.randint(30, 300)} kg", "moisture": f"{rng.randint(3, 12)} %", "ready": f"{rng.randint(0, 15)} d",
            "assays": {"Au": f"{rng.choice((12, 30, 55, 90, 150, 260))} g/t", "As": f"{rng.randint(2, 90) / 100} %"}}


def request(rng: random.Random, lots: int, routes: int, rates: bool = False) -> dict:
    ways = all_routes()
    return {"format": "buttonworth-allocation/1", "currency": "USD", "prices": {"Au": f"{rng.randint(1900, 2900)} USD/ozt"},
            "discount": f"{rng.choice((0, 12, 25))} %/a", "day": "10 h", "steps": steps(rng, rates), "terms": terms(rng),
            "routes": {name: ways[name] for name in sorted(rng.sample(list(ways), routes))},
            "lots": {f"lot {i + 1}": lot(rng) for i in range(lots)}}


def uncertain(rng: random.Random, lots: int, routes: int, **wishes) -> dict:
    made = request(rng, lots, routes, rates=True)
    for lot in made["lots"].values():
        lot["assays"]["Au"] = {"value": lot["assays"]["Au"], "rsd": f"{rng.randint(5, 40)} %"}
        lot["assays"]["As"] = {"value": lot["assays"]["As"], "rsd": "30 %"}
    made["prices"]["Au"] = {"value": made["prices"]["Au"], "rsd": "8 %"}
    return {**made, "draws": 512, "seed": rng.randint(0, 99), "gap": "0 %", "time": "1 min", "most_joined": 2, **wishes}


def tight(seed: int, draws: int, **wishes) -> dict:
    """What is hard to choose among: nine lots must go, two buyers want their tonne, two pans have their hours."""
    made = uncertain(random.Random(seed), 14, 6, prefer="worst 5 % mean", **wishes)
    made.update(draws=draws, capacity={TABLE: {"hours": "60 h"}, PAN: {"hours": "30 h"}},
                buyers={COAST: {"mass": {"min": "1.5 t"}}, HILL: {"mass": {"min": "1 t"}}})
    for lot in list(made["lots"].values())[:9]:
        lot["must"] = True
    return made
