"""Limits for an invented month, of a size that some of them bind."""

from __future__ import annotations

import random

import every_choice as ec
import invented
from every_choice import Blend, figure


def alone(request: dict, blends: list[Blend]) -> list[Blend]:
    """Of each whole lot the way that leaves most."""
    best: dict[str, Blend] = {}
    for blend in blends:
        name, count = blend.shares[0]
        whole = len(blend.shares) == 1 and count == ec.parts_of(request["lots"][name])
        if whole and (name not in best or blend.value > best[name].value):
            best[name] = blend
    return list(best.values())


def add_lot_wishes(rng: random.Random, request: dict) -> None:
    for lot in request["lots"].values():
        if rng.random() < 0.12:
            lot["must"] = True
        if rng.random() < 0.1:
            lot["alone"] = True
        if rng.random() < 0.1:
            lot["routes"] = rng.sample(list(request["routes"]), 1)


def add_capacity(rng: random.Random, request: dict, blends: list[Blend]) -> None:
    capacity = {}
    for step in request["steps"]:
        hours = sum(ec.take(request, ec.Limit("hours", step), blend) for blend in blends if len(blend.shares) == 1)
        if hours > 0 and rng.random() < 0.7:
            capacity[step] = {"hours": f"{hours / 2 * rng.uniform(0.2, 0.9):.3f} h"}
    melts = [ec.take(request, ec.Limit("melts", invented.FURNACE), blend) for blend in blends if len(blend.shares) == 1]
    if any(melts) and rng.random() < 0.7:
        capacity.setdefault(invented.FURNACE, {})["melts"] = rng.randint(1, max(1, int(sum(melts))))
    if capacity:
        request["capacity"] = capacity


def add_buyers(rng: random.Random, request: dict) -> None:
    mass = sum(figure(lot["wet_mass"]) for lot in request["lots"].values())
    buyers = {}
    for buyer in (invented.COAST, invented.HILL):
        one: dict = {}
        if rng.random() < 0.4:
            one["shipments"] = {name: rng.randint(*ends) for name, ends in (("min", (1, 2)), ("max", (2, 3))) if rng.random() < 0.6}
        if rng.random() < 0.5:
            least, most = rng.uniform(0.05, 0.5), rng.uniform(0.5, 0.9)
            one["mass"] = {name: f"{mass * share:.1f} kg" for name, share in (("min", least), ("max", most)) if rng.random() < 0.7}
        if one:
            buyers[buyer] = one
    if buyers:
        request["buyers"] = buyers


def add_cash(rng: random.Random, request: dict, blends: list[Blend]) -> None:
    day = rng.randint(8, 50)
    most = sum(ec.take(request, ec.Limit("cash", "", day=day), blend) for blend in alone(request, blends))
    if most > 0:
        request["cash"] = [{"by": f"{day} d", "amount": f"{most * rng.uniform(0.2, 1.1):.2f} USD"}]


def add_on_hand(rng: random.Random, request: dict) -> None:
    come = sum(ec.lot_content(lot, "Au") for lot in request["lots"].values())
    request["on_hand"] = {"Au": f"{1000 * come * rng.uniform(0.15, 0.8):.3f} g"}
