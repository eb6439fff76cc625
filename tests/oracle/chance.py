"""What the routes of a plan are worth in a draw, and what section 23 makes of many draws, from the format page alone.

`Held` holds the cuts found at the plan's means and works a draw out in exact fractions with the plain evaluator;
`Simulation` takes the kept draws of routes and inputs and works out every figure of the answer with NumPy. Where the
page is silent, the comment says "Decided:".
"""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Iterator, Optional

import numpy as np

import evaluator as ev
from chance_draws import Inputs

CLASSES, EIGHTHS = 64, 8
NOWHERE = "0 %"                 # a pull that the evaluator refuses: no cut was found for this stream


# ---------------------------------------------------------------- one draw

def with_values(plan: dict, inputs: Inputs, values: Any) -> dict:
    """The plan in which every input is certain. `values` has one for each input, in its own currency."""
    changed = copy.deepcopy(plan)
    for one, x in zip(inputs.all, values):
        at = changed
        for token in one.place[:-1]:
            at = at[int(token)] if isinstance(at, list) else at[token]
        last = int(one.place[-1]) if isinstance(at, list) else one.place[-1]
        at[last] = one.text(x)
    return changed


def nodes(node: Any, place: str) -> Iterator[tuple[str, dict]]:
    """The nodes of a route that are steps, with the place of each."""
    if isinstance(node, dict):
        if "step" in node:
            yield place, node
        for name, below in node.items():
            if name not in ("return", "note"):
                yield from nodes(below, f"{place}/{name}")


def sold_to(node: Any) -> set[str]:
    if not isinstance(node, dict):
        return set()
    found = {node["sell"]} if isinstance(node.get("sell"), str) else set()
    return found.union(*(sold_to(below) for name, below in node.items() if name != "return"))


def is_found(step: dict) -> bool:
    """Whether a table's cut is found, not stated."""
    return step["kind"] == "table" and (step["cut"] == "best" or "pull" not in step["cut"])


class InTurn:
    """Pulls of the tables cut at "best", as a comparison lists them: by table, in the order of the visits."""

    def __init__(self, cuts: dict[str, list[Fraction]], base: dict[str, str]):
        self.left = {name: list(pulls) for name, pulls in cuts.items()}
        self.base = base

    def get(self, name: str, default: Any) -> Any:
        left = self.left.get(self.base[name])
        return [left.pop(0)] if left else default


class Held:
    """A plan whose cuts are held where they were found at its means, each node of each route its own.

    `best` tells the pulls of tables cut at "best", by route and table; without it the middle of the range is held.
    """

    def __init__(self, plan: dict, best: Optional[dict[str, dict[str, list[Fraction]]]] = None,
                 routes: Optional[list[str]] = None, hair: Fraction = Fraction(0)):
        self.plan = plan
        self.routes = routes or [name for name, _ in ev.named(plan["routes"])]
        self.inputs = Inputs(plan)
        self.hair = hair
        self.pulls = {name: self.find(name, (best or {}).get(name, {})) for name in self.routes}

    def find(self, route: str, best: dict[str, list[Fraction]]) -> dict[str, Fraction]:
        """The pull at every node of a route whose cut is found; those not reached at the means are left out."""
        plan, base = self.apart(self.plan, route, None)
        c = ev.Comparison(plan)
        c.pulls = {route: InTurn(best, base)}
        book = ev.run_route(c, route, plan["routes"][route])
        return {name: pulls[0] * (1 + self.hair) for name, pulls in book.cut.items() if is_found(plan["steps"][name])}

    def apart(self, plan: dict, route: str, pulls: Optional[dict[str, Fraction]]) -> tuple[dict, dict[str, str]]:
        """A plan of one route, a step of its own at every node; with pulls, these are stated."""
        way = copy.deepcopy(plan["routes"][route])
        steps, base = {}, {}
        for place, node in nodes(way, ""):
            step = plan["steps"][node["step"]]
            name = f"{node['step']} at {place}"
            base[name], node["step"] = node["step"], name
            if pulls is not None and is_found(step):
                pull = pulls.get(name)
                step = {**step, "cut": {"pull": NOWHERE if pull is None else f"{ev.to_decimal(pull) * 100:f} %"}}
                step.pop("search", None)
            steps[name] = step
        terms = {name: plan["terms"][name] for name in sold_to(way)}
        return {**plan, "steps": steps, "terms": terms, "routes": {route: way}}, base

    def worth(self, values: Any) -> Optional[dict[str, Fraction]]:
        """What each route is worth in a draw, None where it is refused; None for all where the draw is impossible."""
        plan = with_values(self.plan, self.inputs, values)
        worth = {}
        try:
            for name in self.routes:
                one, _ = self.apart(plan, name, self.pulls[name])
                c = ev.Comparison(one)
                book = ev.run_route(c, name, one["routes"][name])
                worth[name] = None if book.refused else ev.present_value(c, book)
        except (ev.PlanError, ZeroDivisionError):
            return None
        return worth


# ---------------------------------------------------------------- many draws

def same(a: Any, b: Any) -> Any:
    """Equal to 1 part in 10^12 (section 1, edges)."""
    return np.abs(a - b) <= 1e-12 * np.maximum(np.abs(a), np.abs(b))


@dataclass
class Figure:
    """A figure and how large what it was worked out from is."""
    value: float
    scale: float


class Simulation:
    """Everything that section 23 says of draws that were kept.

    `worth` is routes × draws, NaN in all routes where a draw is left out, 0 where a route is refused; `refused` likewise
    true or false; `p` is dimensions × draws.
    """

    def __init__(self, names: list[str], worth: np.ndarray, refused: np.ndarray, p: np.ndarray, method: str,
                 prefer: Any = "mean", edges: bool = True):
        draws = worth.shape[1]
        counts = ~np.isnan(worth).any(axis=0)
        self.names, self.method, self.prefer, self.edges = names, method, prefer, edges
        self.impossible = 1 - counts.sum() / draws
        self.v, self.refused, self.p = worth[:, counts], refused[:, counts], p[:, counts]
        self.eighth = (np.arange(draws) * EIGHTHS // draws)[counts]
        self.n = int(counts.sum())
        self.scale = float(np.abs(self.v).max(initial=0.0))
        self.mean = self.v.mean(axis=1)
        self.sd = self.v.std(axis=1, ddof=1)
        self.sorted = np.sort(self.v, axis=1)
        self.worst = self.sorted[:, :math.ceil(self.n * 5 / 100)].mean(axis=1)
        self.most = self.v.max(axis=0)
        self.regret = (self.most - self.v).mean(axis=1)

    # -- errors

    def of_mean(self, figures: np.ndarray) -> float:
        """Standard error of the mean of some figures, one a draw."""
        if self.method == "sobol":
            return self.of_eighths([figures[self.eighth == e].mean() for e in range(EIGHTHS)])
        return float(figures.std(ddof=1)) / math.sqrt(self.n)

    @staticmethod
    def of_eighths(figures: list) -> float:
        return float(np.std(figures, ddof=1)) / math.sqrt(EIGHTHS)

    # -- routes

    def ranked(self, share: int, of: int = 1000) -> int:
        """Place of the ⌈share N⌉-th smallest, in whole numbers."""
        return -(-share * self.n // of) - 1

    def best_of_draws(self) -> np.ndarray:
        """Which route is best in each draw, -1 where a refused one's 0 is more than all others."""
        alike = same(self.v, self.most) if self.edges else self.v == self.most
        fits = alike & ~self.refused
        return np.where(fits.any(axis=0), fits.argmax(axis=0), -1)

    def routes(self) -> dict[str, dict[str, float]]:
        best = self.best_of_draws()
        low, middle, high = (self.ranked(k) for k in (25, 500, 975))
        return {name: {"mean": self.mean[r], "standard_error": self.of_mean(self.v[r]), "sd": self.sd[r],
                       "low": self.sorted[r, low], "median": self.sorted[r, middle], "high": self.sorted[r, high],
                       "worst_mean": self.worst[r], "best_share": float((best == r).mean()),
                       "refused_share": float(self.refused[r].mean()), "regret": self.regret[r]}
                for r, name in enumerate(self.names)}

    # -- choices

    def less(self) -> float:
        return float(ev.exact(self.prefer["mean_less"])) if isinstance(self.prefer, dict) else 1.0

    def measures(self) -> dict[str, np.ndarray]:
        return {"mean": self.mean, "worst 5 % mean": self.worst, "mean less sd": self.mean - self.less() * self.sd}

    def choice(self, measure: np.ndarray, but: Optional[int] = None) -> int:
        """The largest, of those that are not refused in every draw where there are such; of the others but one."""
        rest = np.arange(len(measure)) != but
        taken = ~self.refused.all(axis=1) & rest
        return int(np.where(taken if taken.any() else rest, measure, -np.inf).argmax())

    def preferring(self) -> str:
        return "mean less sd" if isinstance(self.prefer, dict) else self.prefer

    def two(self) -> Optional[tuple[int, int]]:
        """The preferred route and the next by the same measure."""
        if len(self.names) < 2:
            return None
        measure = self.measures()[self.preferring()]
        one = self.choice(measure)
        return one, self.choice(measure, one)

    def lead(self, one: int, other: int) -> dict[str, float]:
        """Of all draws; `sd` of those in which neither is refused, of which there are `taken`."""
        ahead, taken = self.v[one] - self.v[other], self.taken(one, other)
        level = same(self.v[one], self.v[other]) if self.edges else ahead == 0
        return {"mean": float(ahead.mean()), "standard_error": self.of_mean(ahead), "sd": self.spread(ahead[taken]),
                "ahead": float(((ahead > 0) & ~level).mean() + level.mean() / 2), "taken": int(taken.sum())}

    def taken(self, one: int, other: int) -> np.ndarray:
        return ~self.refused[one] & ~self.refused[other]

    def spread(self, figures: np.ndarray) -> float:
        """Standard deviation; 0 where it is the rounding of doubles."""
        sd = float(figures.std(ddof=1)) if len(figures) > 1 else 0.0
        return sd if sd > 1e-13 * self.scale else 0.0

    def certainty(self) -> tuple[float, float]:
        """The regret of the route of the largest mean; its error from eighths of the draws."""
        r = self.choice(self.mean)
        regret = self.most - self.v[r]
        return float(self.regret[r]), self.of_eighths([regret[self.eighth == e].mean() for e in range(EIGHTHS)])

    # -- inputs

    def classes(self, dimension: int) -> np.ndarray:
        return np.clip(np.floor(self.p[dimension] * CLASSES), 0, CLASSES - 1).astype(int)

    def share(self, dimension: int, lead: np.ndarray, taken: np.ndarray) -> float:
        """First-order share of the lead's variance, by classes. Decided: MSW has N less the classes that have draws below."""
        k, lead = self.classes(dimension)[taken], lead[taken]
        if self.spread(lead) == 0:
            return 0.0
        many = np.bincount(k, minlength=CLASSES)
        there = many > 0
        means = np.bincount(k, lead, CLASSES)[there] / many[there]
        total = float(((lead - lead.mean()) ** 2).sum())
        between = float((many[there] * (means - lead.mean()) ** 2).sum())
        within = max(0.0, total - between) / max(1, len(lead) - there.sum())
        return max(0.0, (between - (there.sum() - 1) * within) / total)

    def knowing(self, dimension: int) -> tuple[float, float]:
        """What it is worth to know one input, each eighth chosen for by the other seven."""
        k, most = self.classes(dimension), self.choice(self.mean)
        cell = k * EIGHTHS + self.eighth
        sums = np.array([np.bincount(cell, v, CLASSES * EIGHTHS) for v in self.v]).reshape(-1, CLASSES, EIGHTHS)
        many = np.bincount(cell, minlength=CLASSES * EIGHTHS).reshape(CLASSES, EIGHTHS)
        others = sums.sum(axis=2, keepdims=True) - sums
        choice = others.argmax(axis=0)               # classes × eighths; of sums as of means
        choice[many.sum(axis=1, keepdims=True) - many == 0] = most     # Decided: where the others tell nothing
        gained = np.take_along_axis(sums, choice[None], axis=0)[0] - sums[most]
        figures = gained.sum(axis=0) / np.maximum(1, many.sum(axis=0))
        return max(0.0, float(gained.sum()) / self.n), self.of_eighths(list(figures))

    def inputs(self, pair: Optional[tuple[int, int]]) -> list[dict[str, float]]:
        lead, taken = (self.v[pair[0]] - self.v[pair[1]], self.taken(*pair)) if pair else (None, None)
        found = []
        for d in range(self.p.shape[0]):
            worth, error = self.knowing(d)
            found.append({"share": self.share(d, lead, taken) if lead is not None else 0.0, "worth": worth, "standard_error": error})
        return found
