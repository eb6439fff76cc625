"""Random plans with uncertain quantities of every form, and options of a simulation, repeatable from a seed. All invented."""

from __future__ import annotations

import copy
import json
import random
from typing import Any, Optional

import chance_draws
import evaluator as ev
import plans

DRAWS = 4096


def at(document: Any, place: list[str]) -> Any:
    for token in place:
        document = document[int(token)] if isinstance(document, list) else document[token]
    return document


def put(document: Any, place: list[str], value: Any) -> None:
    above = at(document, place[:-1])
    above[int(place[-1]) if isinstance(above, list) else place[-1]] = value


def widen(plan: dict, rng: random.Random) -> None:
    """Some spreads so wide that they are cut at the ends of their range."""
    for one in chance_draws.Inputs(plan).all:
        q = at(plan, one.place)
        if rng.random() > 0.12 or not isinstance(q, dict):
            continue
        if "value" in q:
            q.pop("sd", None)
            q["rsd"] = f"{rng.choice((25, 45, 70))} %"
        elif "gsd" in q and 1.4 * one.spread.mean < one.ends[1]:      # a range is tested on the mean, which moves
            q["gsd"] = rng.choice(("1.6", "2.2"))


def unsure_exchange(plan: dict, rng: random.Random) -> None:
    for code, q in ev.named(plan.get("exchange", {})):
        if isinstance(q, str) and rng.random() < 0.35:
            plan["exchange"][code] = rng.choice(({"value": q, "rsd": "6 %"}, {"median": q, "gsd": "1.1"}))


def unsure_points(plan: dict, rng: random.Random) -> None:
    """Measured recoveries that may fall in a draw, which no table can do."""
    for step in plan["steps"].values():
        for curve in step.get("curve", {}).values():
            if isinstance(curve, list) and rng.random() < 0.5:
                point = rng.choice(curve)
                if isinstance(point[1], str) and point[1] != "100 %":
                    point[1] = {"value": point[1], "sd": rng.choice(("0.5 %", "3 %"))}


def near_limits(plan: dict, rng: random.Random) -> None:
    """Buyers who limit what is delivered so near its assay at the means that they refuse it in some of the draws."""
    for book in ev.compare(plan)["routes"].values():
        for product in book["products"]:
            limits = plan["terms"][product["at"]].setdefault("accepts", {})
            free = [a for a, x in product["assays"].items() if a not in limits and 0 < x < 1]
            if free and rng.random() < 0.5:
                a = rng.choice(free)
                near = float(product["assays"][a]) * rng.gauss(1, 0.04)
                limits[a] = {rng.choice(("min", "max")): f"{min(99.0, 100 * near):.10f} %"}


def twin(plan: dict, rng: random.Random) -> Optional[list[str]]:
    """A second step like one that has inputs, used in a route of its own: the same thing stated twice."""
    inputs = chance_draws.Inputs(plan)
    for route, node in ev.named(plan["routes"]):
        text = json.dumps(node)
        for name in plan["steps"]:
            if f'"step": "{name}"' in text and any(p.startswith(f"/steps/{name}/") for p in inputs.at):
                plan["steps"][f"{name} too"] = copy.deepcopy(plan["steps"][name])
                plan["routes"][f"{route} too"] = json.loads(text.replace(f'"step": "{name}"', f'"step": "{name} too"'))
                return [f"/steps/{name}", f"/steps/{name} too"]
    return None


def shuffled(node: Any, rng: random.Random) -> Any:
    """The same document with its fields in another order, which no draw may hang on."""
    if isinstance(node, list):
        return [shuffled(value, rng) for value in node]
    if not isinstance(node, dict):
        return node
    return {name: shuffled(node[name], rng) for name in rng.sample(list(node), len(node))}


def options_for(plan: dict, rng: random.Random, twins: Optional[list[str]]) -> dict:
    """Correlated, same and averaged at random, all of it possible."""
    options: dict[str, Any] = {"draws": DRAWS, "seed": rng.choice((1, 7, 2**32 + 5, rng.randrange(2**53))), "keep": True}
    options["method"] = rng.choice(("philox", "philox", "sobol"))
    if rng.random() < 0.6:
        options["prefer"] = rng.choice(("mean", "worst 5 % mean", {"mean_less": rng.choice(("1", "0.5", "2.25"))}))
    groups = [twins] if twins else []
    inputs = chance_draws.Inputs(plan)
    free = [p for p in inputs.at if not twins or not any(p.startswith(t + "/") for t in twins)]
    if len(free) > 3 and rng.random() < 0.4:
        groups.append(rng.sample(free, rng.choice((2, 2, 3))))
    if groups:
        options["same"] = groups
    firsts = [inputs.all[i].pointer for i in chance_draws.Inputs(plan, options).first]
    if len(firsts) > 1 and rng.random() < 0.5:
        some = rng.sample(firsts, min(len(firsts), rng.choice((2, 3, 4))))
        loads = [rng.uniform(-0.97, 0.97) for _ in some]
        options["correlate"] = [[some[i], some[j], f"{loads[i] * loads[j]:.3f}"] for i in range(len(some)) for j in range(i)]
    prices = [p for p in inputs.at if p.startswith("/prices/")]
    if prices and rng.random() < 0.5:
        options["averaged"] = [[rng.choice(prices), rng.choice((1, 2, 5, 21))]]
    return options


def random_request(seed: int) -> tuple[dict, dict]:
    """A plan that can be compared, with at least one input, and the options of its simulation."""
    rng = random.Random(seed)
    while True:
        maker = plans.Maker(rng)
        maker.unsure = rng.choice((0.03, 0.08, 0.15, 0.3))
        plan = maker.make()
        unsure_exchange(plan, rng)
        if rng.random() < 0.4:
            widen(plan, rng)
        if rng.random() < 0.3:
            unsure_points(plan, rng)
        if plans.fails(plan):
            continue
        if rng.random() < 0.25:
            plan = plans.make_edges(plan, rng) or plan
        if rng.random() < 0.25:
            near_limits(plan, rng)
        twins = twin(plan, rng) if rng.random() < 0.3 else None
        if plans.fails(plan) or not chance_draws.Inputs(plan).all:
            continue
        return shuffled(plan, rng) if rng.random() < 0.3 else plan, options_for(plan, rng, twins)


# ---------------------------------------------------------------- small plans, for section 24

def spread(rng: random.Random, value: float, unit: str, wide: float) -> dict:
    one = lambda x: f"{x:.6g} {unit}"
    form = rng.randrange(5)
    if form == 0:
        return {"value": one(value), "sd": one(value * wide)}
    if form == 1:
        return {"median": one(value), "gsd": f"{1 + wide:.4g}"}
    if form == 2:
        return {"low": one(value * (1 - 2 * wide)), "mode": one(value), "high": one(value * (1 + 2.5 * wide))}
    if form == 3:
        return {"low": one(value * (1 - 1.7 * wide)), "high": one(value * (1 + 1.7 * wide))}
    return {"values": [one(value * (1 + wide * k)) for k in (-2.0, -0.7, 0.1, 0.9, 1.8)]}


def small_request(seed: int) -> tuple[dict, dict]:
    """A lot of uncertain assay, bands and a limit near it, a gate buyer; at most three inputs, one of them to be assayed again."""
    rng = random.Random(seed)
    gold, wide = rng.uniform(300, 1500), rng.uniform(0.04, 0.2)
    share = lambda x: f"{x:.3f} %"
    terms: dict[str, Any] = {
        "smelter": {"buys": "concentrate", "transit": "10 d", "final": "45 d",
                    "pay": {"Au": {"bands": [["50 g/t", share(rng.uniform(80, 88))], [f"{gold * rng.uniform(0.9, 1.1):.1f} g/t",
                                                                                     share(rng.uniform(92, 96))]], "less": "1 g/t"}},
                    "charges": [{"what": "treatment", "rate": f"{rng.uniform(400, 1200):.0f} USD/t"},
                                {"what": "sampling", "rate": f"{rng.uniform(300, 900):.0f} USD/lot"}]},
        "gate": {"buys": "concentrate", "deemed": {"Au": f"{gold * rng.uniform(0.93, 1.03):.1f} g/t"}, "pay": {"Au": {"share": "88 %"}}},
        "mill": {"buys": "concentrate", "pay": {"Au": {"share": share(rng.uniform(82, 91))}}}}
    if rng.random() < 0.5:
        terms["smelter"]["accepts"] = {"Au": {"min": f"{gold * rng.uniform(0.75, 0.95):.1f} g/t"}}
    plan = {"format": "buttonworth-plan/1", "currency": "USD", "prices": {"Au": "2900 USD/ozt"}, "discount": "15 %/a",
            "lot": {"wet_mass": "600 kg", "moisture": "10 %", "assays": {"Au": spread(rng, gold, "g/t", wide)}},
            "steps": {}, "terms": terms, "routes": {name: {"sell": name} for name in rng.sample(list(terms), rng.choice((2, 3)))}}
    if rng.random() < 0.5:
        plan["prices"]["Au"] = spread(rng, 2900, "USD/ozt", 0.05)
    if rng.random() < 0.3:
        plan["lot"]["moisture"] = {"value": "10 %", "sd": "1 %"}
    candidate = {"of": "/lot/assays/Au", "count": rng.choice((1, 3, 6)), "cost": f"{rng.choice((20, 65, 150))} USD"}
    candidate.update({"error": f"{100 * wide * rng.uniform(0.5, 2):.2f} %"} if rng.random() < 0.5 else
                     {"sd": f"{gold * wide * rng.uniform(0.5, 2):.2f} g/t"})
    if rng.random() < 0.3:
        candidate["fixed"] = "40 USD"
    request: dict[str, Any] = {"candidates": [candidate]}
    if isinstance(plan["prices"]["Au"], dict) and rng.random() < 0.4:
        request["correlate"] = [["/lot/assays/Au", "/prices/Au", f"{rng.uniform(-0.8, 0.8):.2f}"]]
    return plan, request
