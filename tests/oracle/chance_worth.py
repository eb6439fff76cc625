"""What one more assay is worth (section 24), by quadrature over the plain evaluator in doubles.

Nothing is drawn at random: V_r(x), the mean worth of route r where the input is x, comes from Gauss and Hermite's points of
the other inputs' scores, on which no buyer of these plans decides.
"""

from __future__ import annotations

import itertools
import math
import types
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, Optional

import numpy as np
from scipy import special, stats

import chance
import chance_draws
import evaluator


def in_doubles() -> types.ModuleType:
    """The plain evaluator with doubles in place of fractions: some forty times faster."""
    source = Path(evaluator.__file__).read_text(encoding="utf-8")
    module = types.ModuleType("evaluator_in_doubles")
    module.__dict__["Fraction"] = lambda a, b=1: float(a) / b
    import sys
    sys.modules[module.__name__] = module              # dataclasses look their module up
    exec(compile(source.replace("from fractions import Fraction\n", ""), "evaluator in doubles", "exec"), module.__dict__)
    module.__dict__["to_decimal"] = lambda x: Decimal(x)
    module.__dict__["trim"] = lambda x: x
    module.__dict__["root"] = math.sqrt
    module.__dict__["power"] = lambda base, exponent: base**exponent
    module.__dict__["power_of_e"] = lambda x: math.exp(max(-700.0, min(700.0, x)))
    module.__dict__["log"] = math.log
    return module


DOUBLES = in_doubles()


class Doubles(chance.Held):
    """A draw worked out in doubles, with the cuts held where fractions found them."""

    def value(self, values: Any) -> Optional[list[float]]:
        """Worth of each route, a refused one's 0; None where the draw is impossible."""
        plan = chance.with_values(self.plan, self.inputs, values)
        found = []
        try:
            for name in self.routes:
                one, _ = self.apart(plan, name, self.pulls[name])
                c = DOUBLES.Comparison(one)
                book = DOUBLES.run_route(c, name, one["routes"][name])
                found.append(0.0 if book.refused else DOUBLES.present_value(c, book))
        except (DOUBLES.PlanError, ZeroDivisionError):
            return None
        return found


@dataclass
class Known:
    """V_r(x) at some x: routes × points, and the p and the weight of each point."""
    p: np.ndarray
    x: np.ndarray
    weight: np.ndarray
    v: np.ndarray

    def certain(self) -> float:
        """What it is worth to know x."""
        return float(self.v.max(axis=0) @ self.weight - (self.v @ self.weight).max())

    def by_class(self) -> float:
        """What it is worth to know which class of equal probability x is in."""
        k = np.floor(self.p * chance.CLASSES).astype(int)
        sums = np.array([np.bincount(k, v * self.weight) for v in self.v])
        return float(sums.max(axis=0).sum() - sums.sum(axis=1).max())

    def measured(self, error: np.ndarray, count: int, y_points: int = 4001) -> float:
        """What `count` measurements are worth, each with a standard deviation of `error` where the input is x."""
        sd = error / math.sqrt(count)
        y = np.linspace((self.x - 8 * sd).min(), (self.x + 8 * sd).max(), y_points)
        best = np.empty(y_points)
        for start in range(0, y_points, 200):
            block = y[start:start + 200]
            likely = stats.norm.pdf(block[:, None], self.x[None, :], sd[None, :]) * self.weight
            best[start:start + 200] = (likely @ self.v.T).max(axis=1)
        return float(np.trapezoid(best, y) if hasattr(np, "trapezoid") else np.trapz(best, y)) - float((self.v @ self.weight).max())


def others(many: int, points: int) -> tuple[np.ndarray, np.ndarray]:
    """Independent scores of the other dimensions, so many points each, with weights."""
    at, weight = special.roots_hermitenorm(points)
    weight = weight / weight.sum()
    scores = np.array(list(itertools.product(at, repeat=many))).T
    return scores, np.array([math.prod(w) for w in itertools.product(weight, repeat=many)])


def pieces(breaks: Any, points: int) -> tuple[np.ndarray, np.ndarray]:
    """So many of Gauss and Legendre's points of p, with weights, in each class and on either side of a break;
    the classes at the ends, where x runs away, in quarters of what is left of them."""
    tail = {4.0**-k / chance.CLASSES for k in range(1, 6)}
    ends = sorted({k / chance.CLASSES for k in range(chance.CLASSES + 1)} | tail | {1 - p for p in tail}
                  | {float(p) for p in breaks if 1e-6 < p < 1 - 1e-6})
    nodes, widths = special.roots_legendre(points)
    return (np.concatenate([a + (b - a) * (nodes + 1) / 2 for a, b in zip(ends, ends[1:])]),
            np.concatenate([(b - a) * widths / 2 for a, b in zip(ends, ends[1:])]))


def known(plan: dict, of: str, options: Optional[dict] = None, x_points: int = 6, inner: int = 5,
          best: Optional[dict] = None, breaks: Any = ()) -> Known:
    """V_r(x) for the input at `of`, which may jump at the x of `breaks`. No draw may be impossible."""
    held = Doubles(plan, best)
    held.inputs = inputs = chance_draws.Inputs(plan, options)
    mine = inputs.dimension[inputs.at[of]]
    size = len(inputs.first)
    order = [mine] + [d for d in range(size) if d != mine]
    matrix = np.eye(size) if inputs.root is None else inputs.root @ inputs.root.T
    root = np.linalg.cholesky(matrix[np.ix_(order, order)])
    at, weight = others(size - 1, inner)
    ps, weights = pieces(inputs.find(of).p_of(np.array(breaks)), x_points)
    xs, v = [], np.zeros((len(held.routes), len(ps)))
    for i, p in enumerate(ps):
        score = root @ np.vstack([np.full(at.shape[1], special.ndtri(p)), at])
        rows = np.empty((size, at.shape[1]))
        rows[order] = special.ndtr(score)
        values = inputs.values(rows)
        xs.append(values[inputs.at[of], 0])
        worth = [held.value(values[:, j]) for j in range(at.shape[1])]
        if any(w is None for w in worth):
            raise evaluator.PlanError("a draw is impossible")
        v[:, i] = np.array(worth).T @ weight
    return Known(ps, np.array(xs), weights, v)


def error_of(candidate: dict, k: Known, reader: Any) -> np.ndarray:
    """Decided: a share is of the true value of what is measured, which is what the measurement meets."""
    if "sd" in candidate:
        return np.full_like(k.x, float(reader(candidate["sd"])))
    return float(evaluator.Units({}).share(candidate["error"])) * np.abs(k.x)


# ---------------------------------------------------------------- closed forms

def loss(z: float) -> float:
    """Unit normal loss L(z): mean of what a standard normal is above z."""
    return float(stats.norm.pdf(z) - z * stats.norm.sf(z))


def advantage(m: float, s: float, error: float, n: float) -> float:
    """What n assays of this error are worth where one of two routes leads by N(m, s²)."""
    spread = s if math.isinf(n) else s * s / math.sqrt(s * s + error * error / n)
    return spread * loss(abs(m) / spread)
