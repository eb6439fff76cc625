"""The curve from a table test: section 18 of the format, from its page alone.

Each form is fitted by a search over its shape from many starts, then brought to rest by Gauss and Newton's steps.
"""

from __future__ import annotations

import math
from typing import Any, Callable, Optional

import numpy as np
from scipy import optimize

from bench_figures import BenchError, Cautions, Plain, Reader, Shown, Un, Word, above, below, percent, total

FORMS = ("odds", "logit", "saturating")
TIE = 1e-9              # 10^-7 percentage points
NEAR = 2e-6             # relative: a least-squares minimum is flat, constants found to about the root of the rounding
CLOSE = 1e-5            # percentage points of misfits


def odds(y: np.ndarray) -> np.ndarray:
    return y / (1 - y)


def curve(form: str, c: np.ndarray, y: np.ndarray) -> np.ndarray:
    if form == "odds":
        return c[0] * y / (1 - y + c[0] * y)
    if form == "logit":
        return 1 / (1 + np.exp(-np.clip(c[0] + c[1] * np.log(odds(y)), -700, 700)))
    return -c[0] * np.expm1(-c[1] * y)


def slopes(form: str, c: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Derivatives of the recovery by the constants, one row a point."""
    r = curve(form, c, y)
    if form == "odds":
        return (r * (1 - r) / c[0])[:, None]
    if form == "logit":
        return np.stack([r * (1 - r), r * (1 - r) * np.log(odds(y))], axis=1)
    return np.stack([-np.expm1(-c[1] * y), c[0] * y * np.exp(-c[1] * y)], axis=1)


# ---------------------------------------------------------------- fits

def least(cost: Callable[[float], float], low: float, high: float, steps: int = 400) -> Optional[float]:
    """The least of a function of one figure; None where it lies at an end."""
    grid = np.linspace(low, high, steps)
    at = int(np.argmin([cost(t) for t in grid]))
    if at in (0, steps - 1):
        return None
    found = optimize.minimize_scalar(cost, bounds=(grid[at - 1], grid[at + 1]), method="bounded", options={"xatol": 1e-12})
    return float(found.x)


def fit_odds(y: np.ndarray, r: np.ndarray, w: np.ndarray) -> Optional[np.ndarray]:
    def cost(t: float) -> float:
        return float(np.sum(w * (curve("odds", np.array([math.exp(t)]), y) - r) ** 2))
    t = least(cost, -20, 20)
    return None if t is None else np.array([math.exp(t)])


def fit_saturating(y: np.ndarray, r: np.ndarray, w: np.ndarray) -> Optional[np.ndarray]:
    def limit(k: float) -> float:
        e = -np.expm1(-k * y)
        return min(1.0, float(np.sum(w * r * e) / np.sum(w * e * e)))

    def cost(t: float) -> float:
        k = math.exp(t)
        return float(np.sum(w * (-limit(k) * np.expm1(-k * y) - r) ** 2))
    t = least(cost, math.log(1e-4), math.log(60 / float(np.min(y))), 800)
    return None if t is None else np.array([limit(math.exp(t)), math.exp(t)])


def fit_logit(y: np.ndarray, r: np.ndarray, w: np.ndarray) -> Optional[np.ndarray]:
    x = np.log(odds(y))
    middle = float(np.mean(x))
    steep, level = np.polyfit(x - middle, np.log(r / (1 - r)), 1)
    scale = np.sqrt(w / np.max(w))

    def miss(c: np.ndarray) -> np.ndarray:
        return scale * (1 / (1 + np.exp(-np.clip(c[0] + c[1] * (x - middle), -700, 700))) - r)
    best = None
    for b in (max(steep, 0.05), 0.2, 0.7, 1.5, 4.0):
        found = optimize.least_squares(miss, [level, b], bounds=([-60, 1e-9], [60, 200]), xtol=1e-15, ftol=1e-15, gtol=1e-15)
        if best is None or found.cost < best.cost:
            best = found
    if best is None or not 1e-6 < best.x[1] < 150:
        return None
    return np.array([best.x[0] - best.x[1] * middle, best.x[1]])


FITS = {"odds": fit_odds, "logit": fit_logit, "saturating": fit_saturating}


def polish(form: str, c: np.ndarray, y: np.ndarray, r: np.ndarray, w: np.ndarray) -> np.ndarray:
    """Gauss and Newton's steps as far as they lower the sum; a limit held at 1 stays there."""
    moving = [1] if form == "saturating" and c[0] >= 1 - 1e-12 else list(range(len(c)))
    for _ in range(50):
        miss = r - curve(form, c, y)
        j = slopes(form, c, y)[:, moving] * np.sqrt(w)[:, None]
        step = np.linalg.lstsq(j, miss * np.sqrt(w), rcond=None)[0]
        tried = c.copy()
        tried[moving] += step
        if np.sum(w * (r - curve(form, tried, y)) ** 2) >= np.sum(w * miss**2) or (form == "saturating" and tried[0] > 1):
            break
        c = tried
    return c


def fitted(form: str, y: np.ndarray, r: np.ndarray, w: np.ndarray) -> Optional[np.ndarray]:
    if form != "odds" and len(set(y.tolist())) < 2:
        return None
    c = FITS[form](y, r, w)
    if c is None:
        return None
    c = polish(form, c, y, r, w)
    # Two constants that do no better than a level line have run off to it: no best fit within the bounds.
    level = np.sum(w * (r - np.average(r, weights=w)) ** 2)
    return None if form != "odds" and np.sum(w * (r - curve(form, c, y)) ** 2) >= level * (1 - 1e-9) else c


class Fit:
    """One form fitted to the points: its constants, misfit, what it misses of a point left out, covariance."""

    def __init__(self, form: str, y: np.ndarray, r: np.ndarray, sd: Optional[np.ndarray]):
        self.form, self.y = form, y
        w = np.ones(len(y)) if sd is None else 1 / sd**2
        self.c = fitted(form, y, r, w)
        if self.c is None:
            return
        miss = r - curve(form, self.c, y)
        spare = len(y) - len(self.c)
        self.misfit = math.sqrt(float(miss @ miss) / spare) if spare > 0 else None
        self.left_out = self.left(r, w) if len(y) >= 4 else None
        self.v = self.covariance(miss, w, spare, sd is not None)

    def left(self, r: np.ndarray, w: np.ndarray) -> Optional[float]:
        squares = []
        for i in range(len(r)):
            rest = np.arange(len(r)) != i
            c = fitted(self.form, self.y[rest], r[rest], w[rest])
            if c is None:
                return None
            squares.append(float(curve(self.form, c, self.y[i:i + 1])[0] - r[i]) ** 2)
        return math.sqrt(sum(squares) / len(squares))

    def covariance(self, miss: np.ndarray, w: np.ndarray, spare: int, known: bool) -> Optional[np.ndarray]:
        if spare == 0 and not known:
            return None
        s2 = float(np.sum(w * miss**2)) / spare if spare > 0 else 0.0
        if known:
            s2 = max(s2, 1.0)
        j = slopes(self.form, self.c, self.y) * np.sqrt(w)[:, None]
        return np.linalg.inv(j.T @ j) * s2

    def constants(self) -> list[Un]:
        sd = np.zeros(len(self.c)) if self.v is None else np.sqrt(np.diag(self.v))
        return [Un.source(float(c), float(s)) for c, s in zip(self.c, sd)]

    def curve_told(self) -> dict:
        near = {"near": NEAR, "floor": 1e-7}
        c = self.constants()
        if self.form == "odds":
            return {"odds": Shown(c[0], **near)}
        if self.form == "logit":
            return {"logit": [Shown(q, **near) for q in c]}
        return {"limit_recovery": percent(c[0], **near), "rate": Shown(c[1], **near)}

    def at(self, y: float) -> Un:
        point = np.array([y])
        row = slopes(self.form, self.c, point)[0]
        sd = 0.0 if self.v is None else math.sqrt(max(0.0, float(row @ self.v @ row)))
        return Un.source(float(curve(self.form, self.c, point)[0]), sd)


# ---------------------------------------------------------------- points

class Points:
    def __init__(self, request: dict):
        r = Reader()
        error = r.share(request["error"]).value if "error" in request else 0.0
        if "points" in request:
            pairs = [(r.share(y), r.share(q)) for y, q in request["points"]]
        elif "graded" in request:
            feed = r.grade(request["feed"])
            pairs = []
            for g, q in request["graded"]:
                recovery = r.share(q)
                pairs.append((Un(recovery.value) * feed / r.grade(g), recovery))
        else:
            pairs = self.of_products(request["products"], r)
        self.y = np.array([y.value for y, _ in pairs])
        self.r = np.array([q.value for _, q in pairs])
        sd = np.array([q.sd() or error for _, q in pairs])
        self.sd = sd if np.all(sd > 0) else None
        for figure in (*self.y, *self.r):
            if not 0 < figure < 1:
                raise BenchError("pulls and recoveries lie between 0 and 100 %")
        if len(set(self.y.tolist())) < 2:
            raise BenchError("two points of different pull at least")

    @staticmethod
    def of_products(products: list, r: Reader) -> list[tuple[Un, Un]]:
        masses = [r.mass(p["mass"]) for p in products]
        metals = [m * r.grade(p["grade"]) for m, p in zip(masses, products)]
        return [(total(masses[:i]) / total(masses), total(metals[:i]) / total(metals)) for i in range(1, len(products))]

    def falls(self) -> bool:
        order = sorted(zip(self.y, self.r))
        return any(b[0] > a[0] and below(b[1], a[1]) for a, b in zip(order, order[1:]))


def choose(fits: dict[str, Fit], count: int) -> str:
    name = "left_out" if count >= 4 else "misfit"
    scored = [(f, getattr(fit, name)) for f, fit in fits.items() if getattr(fit, name) is not None]
    if not scored:
        raise BenchError("no form can be chosen")
    best = min(s for _, s in scored)
    return next(f for f, s in scored if s - best < TIE)


def table_test(request: dict) -> dict:
    points, cautions = Points(request), Cautions()
    all_fits = {f: Fit(f, points.y, points.r, points.sd) for f in FORMS}
    fits = {f: fit for f, fit in all_fits.items() if fit.c is not None}
    for _ in range(len(FORMS) - len(fits)):
        cautions.add("fit")
    form = request.get("form") or choose(fits, len(points.y))
    if form not in fits:
        raise BenchError(f"{form} has no best fit")
    chosen = fits[form]
    answer: dict[str, Any] = {"format": Word("buttonworth-fitted-curve/1"), "of": Word(request["of"]), "form": Word(form),
                              "curve": chosen.curve_told(), "cautions": cautions,
                              "search": [Plain(100 * min(points.y), "%"), Plain(100 * max(points.y), "%")],
                              "fits": {f: fit_told(fit) for f, fit in fits.items()}, "points": points_told(points, fits)}
    if chosen.v is not None and len(chosen.c) == 2:
        answer["correlation"] = Plain(chosen.v[0, 1] / math.sqrt(chosen.v[0, 0] * chosen.v[1, 1]), near=1e-5, floor=1e-6)
    together = for_a_simulation(request, chosen, answer.get("correlation"))
    if together:
        answer["simulate"] = together
    if "mineral_grade" in request:
        answer["limit"] = {request["of"]: Word(request["mineral_grade"])}
    if "at" in request:
        answer["at"] = [at_told(chosen, points, q, cautions) for q in request["at"]]
    warn(chosen, points, cautions)
    return answer


def for_a_simulation(request: dict, chosen: Fit, correlation: Any) -> dict:
    """What the plan cannot say of the curve, in the form of section 23's options."""
    if chosen.v is None:
        return {}
    escaped = [name.replace("~", "~0").replace("/", "~1") for name in (*request.get("tables", ["TABLE"]), request["of"])]
    places = [f"/steps/{table}/curve/{escaped[-1]}" for table in escaped[:-1]]
    together: dict[str, Any] = {"same": [[Word(place) for place in places]]} if len(places) > 1 else {}
    if correlation is not None:
        names = ("logit/0", "logit/1") if chosen.form == "logit" else ("limit_recovery", "rate")
        together["correlate"] = [[*(Word(f"{places[0]}/{name}") for name in names), correlation]]
    return together


def fit_told(fit: Fit) -> dict:
    told: dict[str, Any] = {"curve": fit.curve_told()}
    for name in ("misfit", "left_out"):
        if getattr(fit, name) is not None:
            told[name] = Plain(100 * getattr(fit, name), "%", near=1e-5, floor=CLOSE)
    return told


def points_told(points: Points, fits: dict[str, Fit]) -> list[dict]:
    near = {"near": 1e-6, "floor": CLOSE}
    return [{"pull": Plain(100 * y, "%"), "recovery": Plain(100 * r, "%"),
             "fitted": {f: Plain(100 * fit.at(float(y)).value, "%", **near) for f, fit in fits.items()}}
            for y, r in zip(points.y, points.r)]


def at_told(chosen: Fit, points: Points, q: Any, cautions: Cautions) -> dict:
    y = Reader().share(q).value
    outside = below(y, min(points.y)) or above(y, max(points.y))
    if outside:
        cautions.add("outside", "beyond", "points")
    return {"pull": Plain(100 * y, "%"), "recovery": percent(chosen.at(y), near=1e-6), "extrapolated": Word(outside)}


def warn(chosen: Fit, points: Points, cautions: Cautions) -> None:
    if chosen.misfit is not None and chosen.misfit > 0.05:
        cautions.add("misfit", "points")
    if len(points.y) < 4:
        cautions.add("four", "points")
    if points.falls():
        cautions.add("fall")
    if chosen.v is None:
        cautions.add("uncertainty", "spare")
