"""Balances: section 17 of the format, from its page alone.

With the masses held, the contents of each analyte are a linear least-squares problem of their own. So the masses
are searched from several starts with the contents solved each time, and the best point is then brought to rest by
Newton's method on the conditions of the whole problem (masses and grades, sums at every node as constraints).
"""

from __future__ import annotations

from typing import Any, Optional

import numpy as np
from scipy import optimize, stats

from bench_figures import BenchError, Cautions, Plain, Reader, Shown, Un, Unclear, Word, named

RANK = 1e-9             # a singular value below this share of the largest is none
IMPOSSIBLE = 1e15      # the cost of masses below 0
PERCENT = 2e-5          # what rounding leaves of a share's standard uncertainty, in %, where there is none
TAKEN = 1e-6            # an sd of the change below this share of the figure's sd is none: nothing was taken out


class Problem:
    """Masses and grades as one vector x; node sums as h(x) = 0."""

    def __init__(self, request: dict):
        self.r = Reader()
        self.streams = [n for n, _ in named(request["streams"])]
        self.nodes = request["nodes"]
        given = dict(named(request["streams"]))
        self.analytes = list(dict.fromkeys(a for s in given.values() for a, _ in named(s.get("assays", {}))))
        self.size = len(self.streams) * (1 + len(self.analytes))
        self.measured = np.full(self.size, np.nan)
        self.sd = np.full(self.size, np.nan)          # 0: exact; NaN: not measured
        self.basis: Optional[str] = None
        self.place()
        self.read(given, request.get("errors", {}))

    # -- the layout

    def at(self, stream: str, analyte: Optional[str] = None) -> int:
        column = 0 if analyte is None else 1 + self.analytes.index(analyte)
        return column * len(self.streams) + self.streams.index(stream)

    def name(self, i: int) -> tuple[str, str]:
        column, row = divmod(i, len(self.streams))
        return self.streams[row], "mass" if column == 0 else self.analytes[column - 1]

    def place(self) -> None:
        self.sums = np.zeros((len(self.nodes), len(self.streams)))
        goes_in, comes_out = [], []
        for k, node in enumerate(self.nodes):
            if not node["in"] or not node["out"] or set(node["in"]) & set(node["out"]):
                raise BenchError("a node has streams in and out, none of them both")
            for s in node["in"]:
                self.sums[k, self.stream(s)] += 1
            for s in node["out"]:
                self.sums[k, self.stream(s)] -= 1
            goes_in += node["in"]
            comes_out += node["out"]
        for stream in self.streams:
            if goes_in.count(stream) > 1 or comes_out.count(stream) > 1 or stream not in goes_in + comes_out:
                raise BenchError("a stream stands on one in and one out at most")
        self.enter = [s for s in self.streams if s in goes_in and s not in comes_out]
        self.leave = [s for s in self.streams if s in comes_out and s not in goes_in]

    def stream(self, name: str) -> int:
        if name not in self.streams:
            raise BenchError(f"no stream {name}")
        return self.streams.index(name)

    # -- the figures

    def read(self, given: dict, errors: dict) -> None:
        for name, stream in given.items():
            if "mass" in stream:
                moisture = self.r.share(stream["moisture"]) if "moisture" in stream else Un(0.0)
                mass = self.with_error(self.r.mass(stream["mass"]), errors.get("mass"), stream["mass"])
                self.put(self.at(name), mass * (1 - moisture))
            for analyte, q in named(stream.get("assays", {})):
                self.put(self.at(name, analyte), self.with_error(self.r.grade(q), errors.get("assays"), q))
        if all(np.isnan(self.measured[self.at(s)]) for s in self.streams):
            first = self.nodes[0]["in"][0]
            self.measured[self.at(first)], self.sd[self.at(first)] = 100.0, 0.0
            self.basis = f"{first} is 100 kg"

    def with_error(self, figure: Un, error: Any, q: Any) -> Un:
        """Plain figures, and determinations that are one alone or all alike, take the request's error."""
        silent = not isinstance(q, dict) or ("values" in q and figure.sd() == 0)
        if error is None or not silent:
            return figure
        return Un.source(figure.value, abs(figure.value) * self.r.share(error).value)

    def put(self, i: int, figure: Un) -> None:
        self.measured[i], self.sd[i] = figure.value, figure.sd()

    def h(self, x: np.ndarray) -> np.ndarray:
        n = len(self.streams)
        rows = [self.sums @ x[:n]]
        rows += [self.sums @ (x[:n] * x[(1 + k) * n:(2 + k) * n]) for k in range(len(self.analytes))]
        return np.concatenate(rows)

    def jacobian(self, x: np.ndarray) -> np.ndarray:
        n, count = len(self.streams), len(self.nodes)
        made = np.zeros((count * (1 + len(self.analytes)), self.size))
        made[:count, :n] = self.sums
        for k in range(len(self.analytes)):
            rows = slice((1 + k) * count, (2 + k) * count)
            made[rows, :n] = self.sums * x[(1 + k) * n:(2 + k) * n]
            made[rows, (1 + k) * n:(2 + k) * n] = self.sums * x[:n]
        return made

    def curvature(self, multipliers: np.ndarray) -> np.ndarray:
        """Second derivatives of multipliers . h."""
        n, count = len(self.streams), len(self.nodes)
        made = np.zeros((self.size, self.size))
        for k in range(len(self.analytes)):
            weights = self.sums.T @ multipliers[(1 + k) * count:(2 + k) * count]
            for s in range(n):
                made[s, (1 + k) * n + s] = made[(1 + k) * n + s, s] = weights[s]
        return made


# ---------------------------------------------------------------- the contents, with the masses held

def null_space(a: np.ndarray) -> np.ndarray:
    if a.shape[0] == 0:
        return np.eye(a.shape[1])
    _, s, v = np.linalg.svd(a)
    rank = int(np.sum(s > RANK * max(s[0], 1e-300))) if len(s) else 0
    return v[rank:].T


def contradiction(miss: float) -> None:
    """Exact figures may miss each other by 1 part in 10^7; near that it depends on how it is measured."""
    if miss > 1e-6:
        raise BenchError("exact figures that contradict each other")
    if miss > 1e-8:
        raise Unclear("exact figures that just agree or just do not")


class Masses:
    """All masses that balance, as a point and directions."""

    def __init__(self, p: Problem):
        self.p, n = p, len(p.streams)
        fixed = p.sd[:n] == 0
        free = ~fixed
        a, held = p.sums[:, free], -p.sums[:, fixed] @ p.measured[:n][fixed]
        part = np.linalg.lstsq(a, held, rcond=None)[0]
        scale = float(np.nanmax(np.abs(p.measured[:n])))
        contradiction(float(np.max(np.abs(a @ part - held), initial=0.0)) / scale)
        self.directions = np.zeros((n, null_space(a).shape[1]))
        self.directions[free] = null_space(a)
        self.point = np.where(fixed, p.measured[:n], 0.0)
        self.point[free] = part

    def at(self, z: np.ndarray) -> np.ndarray:
        return self.point + self.directions @ z

    def near(self, wanted: np.ndarray) -> np.ndarray:
        return np.linalg.lstsq(self.directions, wanted - self.point, rcond=None)[0]


def contents(p: Problem, masses: np.ndarray, k: int) -> tuple[np.ndarray, float]:
    """Contents of analyte k that balance and fit best; exact grades as good ones, Newton's steps make them exact."""
    n = len(p.streams)
    part = slice((1 + k) * n, (2 + k) * n)
    known = ~np.isnan(p.measured[part])
    sd = np.where(p.sd[part] > 0, p.sd[part], 1e-3 * np.maximum(np.abs(p.measured[part]), 1e-9))
    free = null_space(p.sums)
    rows = free[known] / (masses[known] * sd[known])[:, None]
    target = p.measured[part][known] / sd[known]
    c = free @ np.linalg.lstsq(rows, target, rcond=None)[0]
    miss = (c[known] / masses[known] - p.measured[part][known]) / sd[known]
    return c, float(miss @ miss)


def cost(p: Problem, masses: np.ndarray) -> float:
    n = len(p.streams)
    if np.min(masses) <= 0:
        return IMPOSSIBLE * (1 - float(np.min(masses)) / float(np.nanmax(p.measured[:n])))
    seen = (~np.isnan(p.sd[:n])) & (p.sd[:n] > 0)
    miss = (masses[seen] - p.measured[:n][seen]) / p.sd[:n][seen]
    return float(miss @ miss) + sum(contents(p, masses, k)[1] for k in range(len(p.analytes)))


def first_point(p: Problem, rng: np.random.Generator) -> np.ndarray:
    """The best masses found from several starts, with their contents."""
    n, held = len(p.streams), Masses(p)
    scale = float(np.nanmax(p.measured[:n]))
    best: tuple[float, np.ndarray] = (np.inf, np.zeros(held.directions.shape[1]))
    again = 0                                       # starts that came to the same place
    for _ in range(12):
        wanted = np.where(np.isnan(p.measured[:n]), scale * rng.uniform(0.02, 1.0, n), p.measured[:n])
        z = held.near(wanted)
        if held.directions.shape[1]:
            step = {"xatol": 1e-9 * scale, "fatol": 1e-9, "maxiter": 4000, "maxfev": 4000}
            z = optimize.minimize(lambda t: cost(p, held.at(t)), z, method="Nelder-Mead", options=step).x
        value = cost(p, held.at(z))
        same = abs(value - best[0]) < 1e-6 * (1 + value)
        again = again + 1 if same else 0 if value < best[0] else again
        if value < best[0]:
            best = (value, z)
        if again == 2 or not held.directions.shape[1]:
            break
    masses = held.at(best[1])
    if np.min(masses) < 0 or best[0] >= IMPOSSIBLE:
        raise BenchError("no masses above 0 balance")
    grades = [contents(p, masses, k)[0] / masses for k in range(len(p.analytes))]
    return np.concatenate([masses, *grades])


# ---------------------------------------------------------------- the whole problem

class Balanced:
    def __init__(self, p: Problem):
        self.p = p
        self.free = np.flatnonzero(p.sd != 0)          # NaN: not measured, free as well
        self.unknown = np.flatnonzero(np.isnan(p.sd))
        x = first_point(p, np.random.default_rng(1))
        x[p.sd == 0] = p.measured[p.sd == 0]
        self.scale = np.maximum(np.abs(x), 1e-12)
        self.check(x)
        self.x = self.rest(x)
        self.check(self.x)
        if np.min(self.x) < -1e-12:
            if len(p.streams) == 3 and self.degrees == 0:
                raise BenchError("the feed lies outside its products")
            raise Unclear("a figure would be held at 0: degrees and the rest are not settled then")
        self.covariance()

    def scaled(self, x: np.ndarray, columns: np.ndarray) -> np.ndarray:
        """Columns of the Jacobian per relative change, rows by the size of their flows."""
        a = self.p.jacobian(x) * self.scale
        return a[:, columns] / np.maximum(np.max(np.abs(a), axis=1), 1e-300)[:, None]

    def rank(self, a: np.ndarray) -> int:
        if not a.size:
            return 0
        s = np.linalg.svd(a, compute_uv=False)
        return int(np.sum(s > 1e-8 * max(s[0], 1e-300)))

    def check(self, x: np.ndarray) -> None:
        """Can all be found, do the exact figures allow it, how many degrees are left."""
        loose = self.scaled(x, self.unknown)
        unknown_rank = self.rank(loose)
        masses = x[:len(self.p.streams)]
        if unknown_rank < len(self.unknown) and np.min(masses) < 1e-5 * np.max(masses) and len(masses) > 3:
            raise Unclear("a mass next to 0, which may hide what else could be found")
        if unknown_rank < len(self.unknown):
            raise BenchError("figures that cannot be found")
        self.degrees = self.rank(self.scaled(x, self.free)) - unknown_rank

    def rest(self, x: np.ndarray) -> np.ndarray:
        """Newton's steps on the conditions of least J."""
        p, free, n_free = self.p, self.free, len(self.free)
        weights = np.zeros(p.size)
        seen = p.sd > 0
        weights[seen] = 1 / p.sd[seen] ** 2
        unit = self.scale[free]
        multipliers = np.zeros(len(p.h(x)))
        for step in range(60):
            a = p.jacobian(x)[:, free] * unit
            rows = np.maximum(np.max(np.abs(p.jacobian(x) * self.scale), axis=1), 1e-300)
            a /= rows[:, None]
            gradient = np.where(seen, weights * (x - np.where(seen, p.measured, 0.0)), 0.0)[free] * unit
            if step == 0:
                multipliers = np.linalg.lstsq(a.T, -gradient, rcond=None)[0] / rows
            curved = (np.diag(weights) + (p.curvature(multipliers) if step else 0.0))[np.ix_(free, free)] * np.outer(unit, unit)
            stiff = float(np.max(np.abs(curved), initial=1.0))    # rows of both blocks of one size, or rounding spoils the sums
            left = np.block([[curved, stiff * a.T], [stiff * a, np.zeros((len(rows), len(rows)))]])
            right = np.concatenate([-gradient, -stiff * p.h(x) / rows])
            found = np.linalg.lstsq(left, right, rcond=1e-14)[0]
            found[n_free:] *= stiff
            x = x.copy()
            x[free] += found[:n_free] * unit
            multipliers = found[n_free:] / rows
            if np.max(np.abs(found[:n_free]), initial=0.0) < 1e-13:
                break
        contradiction(float(np.max(np.abs(p.h(x) / rows))))
        miss = (x[seen] - p.measured[seen]) / p.sd[seen]
        self.chi = float(miss @ miss)
        self.still = float(np.max(np.abs(found[:n_free]), initial=0.0))
        return x

    def covariance(self) -> None:
        p, free = self.p, self.free
        n = null_space(self.scaled(self.x, free))
        weights = np.where(p.sd[free] > 0, (self.scale[free] / np.where(p.sd[free] > 0, p.sd[free], 1)) ** 2, 0.0)
        inner = n.T @ (weights[:, None] * n)
        spread = n @ np.linalg.solve(inner, n.T) if n.shape[1] else np.zeros((len(free), len(free)))
        self.v = np.zeros((p.size, p.size))
        self.v[np.ix_(free, free)] = spread * np.outer(self.scale[free], self.scale[free])

    def figures(self) -> list[Un]:
        """x as figures that share independent parts, one to an eigenvector of the covariance."""
        scaled = self.v / np.outer(self.scale, self.scale)
        values, vectors = np.linalg.eigh(scaled)
        made = []
        sources = [Un.source(0.0, float(np.sqrt(max(v, 0.0)))) for v in values]
        for i in range(self.p.size):
            figure = Un(float(self.x[i]))
            for j, source in enumerate(sources):
                if source.parts:
                    figure = figure + source * float(vectors[i, j] * self.scale[i])
            made.append(figure)
        return made


def read_minerals(request: dict, r: Reader) -> dict[str, Un]:
    return {a: r.grade(q) for a, q in named(request.get("minerals", {}))}


def streams_told(request: dict, p: Problem, b: Balanced) -> dict:
    x, minerals = b.figures(), read_minerals(request, p.r)
    floor = 1e-9
    feed = sum((x[p.at(s)] for s in p.enter), Un(0.0))
    told: dict[str, Any] = {}
    for s in p.streams:
        mass = x[p.at(s)]
        share = mass / feed
        one: dict[str, Any] = {"mass": Shown(mass, "kg", floor=floor * feed.value), "share": Shown(share * 100, "%", floor=PERCENT)}
        if p.analytes:
            one["assays"] = {a: Shown(x[p.at(s, a)] * 1e6, "g/t", floor=floor * 1e6 * float(np.max(b.x[len(p.streams):])))
                             for a in p.analytes}
            entered = {a: sum((x[p.at(f)] * x[p.at(f, a)] for f in p.enter), Un(0.0)) for a in p.analytes}
            recovery = {a: mass * x[p.at(s, a)] / entered[a] for a in p.analytes if entered[a].value > 0}
            one["recovery"] = {a: Shown(q * 100, "%", floor=PERCENT) for a, q in recovery.items()}
            if s in p.leave and minerals:
                one["separation_efficiency"] = {
                    a: Shown(efficiency(recovery[a], share, entered[a] / feed, minerals[a]) * 100, "%", floor=PERCENT)
                    for a in p.analytes if a in minerals and a in recovery}
        told[s] = one
    return told


def efficiency(recovery: Un, share: Un, feed_grade: Un, mineral: Un) -> Un:
    if feed_grade.value >= mineral.value:
        raise BenchError("the mineral is no richer than what enters")
    part = feed_grade / mineral
    return recovery - (share - recovery * part) / (1 - part)


def changes(p: Problem, b: Balanced) -> tuple[list, list]:
    told, zs = [], []
    for s in p.streams:
        for a in [None, *p.analytes]:
            i = p.at(s, a)
            if not p.sd[i] > 0:
                continue
            scale, unit = (1.0, "kg") if a is None else (1e6, "g/t")
            one: dict[str, Any] = {"at": Word(s), "what": Word(a or "mass"), "measured": Plain(p.measured[i] * scale, unit),
                                   "balanced": Plain(b.x[i] * scale, unit, floor=1e-8 * p.sd[i] * scale)}
            taken = p.sd[i] ** 2 - b.v[i, i]
            if taken > (TAKEN * p.sd[i]) ** 2 * 100:
                z = (p.measured[i] - b.x[i]) / np.sqrt(taken)
                one["z"] = Plain(z, near=1e-5, floor=1e-6)
                zs.append((abs(z), s, a or "mass", z))
            told.append(one)
    return told, zs


def hardly_found(p: Problem, b: Balanced, cautions: Cautions) -> None:
    """A figure that was missing and is uncertain by more than half of it."""
    for i in b.unknown:
        if np.sqrt(b.v[i, i]) > b.x[i] / 2:
            cautions.add("hardly")


def balance(request: dict) -> dict:
    p = Problem(request)
    b = Balanced(p)
    if b.still > 1e-9 or np.min(b.x) < 1e-12:
        raise Unclear("a figure at 0, or no point of rest")
    cautions = Cautions()
    told, zs = changes(p, b)
    answer: dict[str, Any] = {"format": Word("buttonworth-balanced/1"), "streams": streams_told(request, p, b), "changes": told,
                              "chi_squared": Plain(b.chi, near=1e-6, floor=1e-8), "degrees": Plain(b.degrees), "cautions": cautions}
    if p.basis:
        answer["basis"] = Word(p.basis)
    if b.degrees > 0:
        chance = float(stats.chi2.sf(b.chi, b.degrees))
        answer["p"] = Plain(chance, near=1e-6, floor=1e-12)
        if chance < 0.05:
            cautions.add("agree")
        if zs:
            alike = [z for z in zs if z[0] >= max(zs)[0] * (1 - 1e-6)]
            largest = alike[0]
            if largest[0] > stats.norm.isf((1 - 0.95 ** (1 / len(zs))) / 2):
                answer["at_fault"] = {"at": Word(largest[1]), "what": Word(largest[2]), "z": Plain(largest[3], near=1e-5)}
                if len(alike) > 1:
                    cautions.add("as well")
    hardly_found(p, b, cautions)
    return answer
