"""Compare the library's simulations with the plain evaluator's, on random plans and on plans with a closed form.

    python3 chance_run.py --library PATH/libbuttonworth.so [--plans 40] [--seed 1] [--worths 12] [--show 5]

Of each random plan: the kept draws of every input against SciPy's quantiles at the evaluator's own Philox numbers or
scrambled Sobol points; some draws of the routes against exact fractions; every figure of the answer against NumPy on
the kept draws. Then section 24 against quadrature, and both on plans of which the answer is known. Exit status 1 on any
difference.
"""

from __future__ import annotations

import argparse
import ctypes
import json
import sys
from collections import Counter
from fractions import Fraction
from typing import Any, Callable, Optional

import numpy as np

import chance
import chance_draws
import chance_plans
import chance_worth
import evaluator as ev
import random_chance
import run

RELATIVE = 1e-9
LOOKS = 20                              # draws a plan that are worked out in fractions
HAIRS = (0, 1, -1, 10, -10)             # the answer prints its pulls to some 12 digits
HANDED = {"heat": 1 / 3.6}              # a figure as handed out to one of the oracle's: kWh/L, not MJ/L


class Library(run.Library):
    def __init__(self, path: str):
        super().__init__(path)
        pointer = ctypes.c_void_p
        for name in ("bw_simulate", "bw_worth"):
            function = getattr(self.c, name)
            function.restype = ctypes.c_int32
            function.argtypes = [pointer, pointer, ctypes.c_char_p, ctypes.c_size_t, ctypes.POINTER(pointer)]
        self.c.bw_answer_draws.restype = ctypes.c_int32
        self.c.bw_answer_draws.argtypes = [pointer, pointer, ctypes.c_char_p, ctypes.POINTER(ctypes.c_double), ctypes.c_size_t,
                                           ctypes.POINTER(ctypes.c_size_t)]

    def ask(self, call: str, plan: dict, options: Optional[dict], then: Callable[[Any, str], Any]) -> Any:
        text, wish = json.dumps(plan, ensure_ascii=False).encode(), json.dumps(options or {}, ensure_ascii=False).encode()
        read, answer, size = ctypes.c_void_p(), ctypes.c_void_p(), ctypes.c_size_t()
        self.check(self.c.bw_plan_read(self.context, text, len(text), ctypes.byref(read)))
        try:
            self.check(getattr(self.c, call)(self.context, read, wish, len(wish), ctypes.byref(answer)))
            said = ctypes.string_at(self.c.bw_answer_text(answer, ctypes.byref(size)), size.value).decode()
            return then(answer, said)
        finally:
            if answer:
                self.c.bw_answer_destroy(ctypes.byref(answer))
            self.c.bw_plan_destroy(ctypes.byref(read))

    def text(self, call: str, plan: dict, options: Optional[dict] = None) -> str:
        return self.ask(call, plan, options, lambda answer, said: said)

    def simulate(self, plan: dict, options: Optional[dict] = None) -> dict:
        return json.loads(self.text("bw_simulate", plan, options))

    def worth(self, plan: dict, options: dict) -> dict:
        return json.loads(self.text("bw_worth", plan, options))

    def draws(self, answer: Any, what: str) -> np.ndarray:
        size = ctypes.c_size_t()
        self.c.bw_answer_draws(self.context, answer, what.encode(), None, 0, ctypes.byref(size))
        if size.value == 0:
            raise run.LibraryError(f"no draws of {what!r}: {(self.c.bw_error_text(self.context) or b'').decode()}")
        kept = np.full(size.value, np.nan)
        self.check(self.c.bw_answer_draws(self.context, answer, what.encode(),
                                          kept.ctypes.data_as(ctypes.POINTER(ctypes.c_double)), size.value, ctypes.byref(size)))
        return kept

    def kept(self, plan: dict, options: dict, inputs: list[str]) -> tuple[dict, np.ndarray, np.ndarray]:
        """The answer, the routes' draws and the inputs'."""
        def then(answer: Any, said: str) -> tuple[dict, np.ndarray, np.ndarray]:
            found = json.loads(said)
            size = found["draws"]
            return (found, np.array([self.draws(answer, name) for name in found["routes"]]),
                    np.array([self.draws(answer, pointer) for pointer in inputs]).reshape(len(inputs), size))
        return self.ask("bw_simulate", plan, {**options, "keep": True}, then)


# ---------------------------------------------------------------- printed figures

def printed(text: str) -> tuple[float, float]:
    """A printed figure and half a unit of its last place; shares without their %."""
    body, _, unit = text.partition(" ")
    digits = len(body.partition(".")[2].split("e")[0])
    scale = 0.01 if unit == "%" else 1.0
    exponent = int(body.partition("e")[2] or 0)
    return float(body) * scale, 0.501 * 10.0 ** (exponent - digits) * scale


class Judge:
    def __init__(self, scale: float):
        self.scale, self.told = scale, []

    def say(self, text: str) -> None:
        self.told.append(text)

    def figure(self, at: str, text: Any, mine: Optional[float], near: float = 1e-8, floor: float = 0.0) -> None:
        if text is None or mine is None:
            if text is not None or mine is not None:
                self.say(f"{at}: library {text}, oracle {mine}")
            return
        value, half = printed(text)
        if not abs(value - mine) <= half + near * abs(mine) + floor:
            self.say(f"{at}: library {text}, oracle {mine:.12g}")

    def money(self, at: str, text: Any, mine: Optional[float], near: float = 1e-8) -> None:
        self.figure(at, text, mine, near, 1e-11 * self.scale)

    def fields(self, at: str, found: dict, names: set[str]) -> None:
        if set(found) != names:
            self.say(f"{at}: has {sorted(set(found) ^ names)} or has not")


# ---------------------------------------------------------------- draws of the inputs

def same_draws(judge: Judge, inputs: chance_draws.Inputs, theirs: np.ndarray, mine: np.ndarray) -> None:
    """Every draw of every input."""
    for one, kept, value in zip(inputs.all, theirs, mine):
        scale = HANDED.get(one.dimension, 1.0)
        # Right to 1 part in 10^9 of the stated standard deviation, or of the distance from the mean.
        near = RELATIVE * np.maximum(one.spread.law.std(), np.abs(value - one.spread.mean)) + 1e-13 * np.abs(one.spread.mean)
        off = np.abs(kept / scale - value) - near
        if not off.max() <= 0:
            i = int(np.argmax(off))
            judge.say(f"{one.pointer} ({one.spread.kind}, {one.ends}): draw {i} library {kept[i]!r}, oracle {value[i] * scale!r}")


# ---------------------------------------------------------------- draws of the routes

def some_draws(draws: int, many: int) -> list[int]:
    step = max(1, draws // many)
    return [min(draws - 1, i * step + i % step) for i in range(many)]


def same_worths(judge: Judge, plan: dict, comparison: dict, inputs: chance_draws.Inputs, values: np.ndarray,
                theirs: np.ndarray, names: list[str], seen: Counter) -> dict[int, Optional[dict]]:
    """Some draws in exact fractions; a pull that stands on an edge may do so a hair beside it."""
    gross = float(run.Check(plan, {}, 1).gross)
    slack = RELATIVE * max(float(np.nanmax(np.abs(theirs), initial=0.0)), gross)
    held = run.held_pulls(plan, comparison, Fraction(0))
    ways = [chance.Held(plan, held, names, Fraction(h, 10**12)) for h in HAIRS]
    found: dict[int, Optional[dict]] = {}
    for i in some_draws(values.shape[1], LOOKS):
        wrong: list[str] = []
        for way in ways:
            worth = way.worth(values[:, i])
            found[i] = worth
            wrong = differing(worth, theirs[:, i], names, slack)
            if not wrong:
                break
        seen["draws of impossible physics"] += worth is None
        seen["draws worked out"] += 1
        for text in wrong:
            judge.say(f"draw {i}: {text}")
    return found


def differing(worth: Optional[dict], theirs: np.ndarray, names: list[str], slack: float) -> list[str]:
    if worth is None:
        return [] if np.isnan(theirs).all() else [f"impossible, but the library has {theirs.tolist()}"]
    return [f"{name}: library {x!r}, oracle {'refused' if worth[name] is None else float(worth[name])!r}"
            for name, x in zip(names, theirs) if not abs(float(worth[name] or 0) - x) <= slack]


def refusals(judge: Judge, theirs: np.ndarray, answer: dict, names: list[str],
             sample: dict[int, Optional[dict]]) -> Optional[np.ndarray]:
    """Which draws of which routes are refused: where all of a route's zeros are, or none. None where that does not tell."""
    counted = ~np.isnan(theirs).any(axis=0)
    mask = np.zeros(theirs.shape, bool)
    for r, name in enumerate(names):
        zero = theirs[r] == 0
        share, half = printed(answer["routes"][name]["refused_share"])
        zeros = zero[counted].mean()
        if half + 1e-12 < share < zeros - half - 1e-12:
            return None                               # some of the zeros only
        mask[r] = zero if share > half + 1e-12 or zeros <= half else False
        for i, worth in sample.items():
            if worth is not None and (worth[name] is None) != mask[r, i]:
                judge.say(f"{name}, draw {i}: refused {worth[name] is None} by the oracle, refused_share {share}, zeros {zeros}")
                return mask
    return mask


# ---------------------------------------------------------------- the answer

ROUTE = {"plan", "mean", "standard_error", "sd", "low", "median", "high", "worst_mean", "best_share", "refused_share", "regret",
         "conditional"}
ANSWER = {"format", "currency", "draws", "counted", "impossible", "method", "seed", "routes", "choices", "preferred", "lead",
          "worth_of_certainty", "worth_standard_error", "inputs", "words", "cautions"}


def same_answer(judge: Judge, sim: chance.Simulation, inputs: chance_draws.Inputs, answer: dict, comparison: dict, sure: bool,
                seen: Counter) -> None:
    judge.fields("answer", answer, ANSWER)
    judge.figure("impossible", answer["impossible"], sim.impossible)
    if answer["counted"] != sim.n:
        judge.say(f"counted: library {answer['counted']}, oracle {sim.n}")
    routes(judge, sim, answer, comparison, sure)
    choices(judge, sim, answer, comparison, sure)
    value, error = sim.certainty()
    judge.money("worth_of_certainty", answer["worth_of_certainty"], value)
    judge.money("worth_standard_error", answer["worth_standard_error"], error, 1e-6)
    of_inputs(judge, sim, inputs, answer, sure)
    seen["answers"] += 1


def routes(judge: Judge, sim: chance.Simulation, answer: dict, comparison: dict, sure: bool) -> None:
    for name, mine in sim.routes().items():
        theirs = answer["routes"][name]
        judge.fields(name, theirs, ROUTE)
        stated = comparison["routes"][name]["present_value"]
        judge.money(f"{name} plan", theirs["plan"], None if stated is None else float(stated))
        if theirs["conditional"] != comparison["routes"][name]["conditional"]:
            judge.say(f"{name} conditional: library {theirs['conditional']}")
        for what, value in mine.items():
            if what in ("best_share", "refused_share"):
                if sure:
                    judge.figure(f"{name} {what}", theirs[what], value)
            else:
                judge.money(f"{name} {what}", theirs[what], value, 1e-6 if what == "standard_error" else 1e-8)


def choices(judge: Judge, sim: chance.Simulation, answer: dict, comparison: dict, sure: bool) -> None:
    theirs = answer["choices"]
    stated = lambda name: name and float(comparison["routes"][name]["present_value"])
    plan, best = stated(theirs["plan"]), stated(comparison["best"])     # of two that leave the same, either may be told
    if (plan is None) != (best is None) or best is not None and not chance.same(plan, best):
        judge.say(f"choices plan: library {theirs['plan']}, comparison {comparison['best']}")
    for what, measure in sim.measures().items():
        mine, choice = measure[sim.names.index(theirs[what])], sim.choice(measure)
        if abs(mine - measure[choice]) > 1e-9 * sim.scale:
            judge.say(f"choices {what}: library {theirs[what]}, oracle {sim.names[choice]}")
    if answer["preferred"] != theirs[sim.preferring()]:
        judge.say(f"preferred: library {answer['preferred']}, its choice {theirs[sim.preferring()]}")
    pair, lead = sim.two(), answer["lead"]
    if pair is None or lead is None:
        if pair is not None or lead is not None:
            judge.say(f"lead: library {lead}, oracle {pair}")
        return
    one, other = sim.names.index(answer["preferred"]), sim.names.index(lead["over"])
    measure = sim.measures()[sim.preferring()]
    if one == other or measure[other] < measure[sim.choice(measure, one)] - 1e-9 * sim.scale:
        judge.say(f"lead over: library {lead['over']}, oracle {sim.names[pair[1]]}")
    mine = sim.lead(one, other)
    judge.figure("lead ahead", lead["ahead"], mine["ahead"])
    for what in ("mean", "standard_error", "sd") if sure else ("mean", "standard_error"):
        judge.money(f"lead {what}", lead[what], mine[what], 1e-6 if what == "standard_error" else 1e-8)
    if sure:
        judge.fields("lead", lead, {"over", "mean", "standard_error", "sd", "ahead"} | ({"taken"} if mine["taken"] < sim.n else set()))
        if lead.get("taken", sim.n) != mine["taken"]:
            judge.say(f"lead taken: library {lead.get('taken')}, oracle {mine['taken']}")


def of_inputs(judge: Judge, sim: chance.Simulation, inputs: chance_draws.Inputs, answer: dict, sure: bool) -> None:
    pair = None
    if answer["lead"] is not None:
        pair = sim.names.index(answer["preferred"]), sim.names.index(answer["lead"]["over"])
    mine = sim.inputs(pair)
    theirs = {one["of"]: one for one in answer["inputs"]}
    firsts = [inputs.all[i] for i in inputs.first]
    if sorted(theirs) != sorted(one.pointer for one in firsts) or len(theirs) != len(answer["inputs"]):
        judge.say(f"inputs: library {sorted(theirs)}, oracle {sorted(one.pointer for one in firsts)}")
        return
    shares = [printed(one["share"])[0] for one in answer["inputs"]]
    if any(a < b for a, b in zip(shares, shares[1:])):
        judge.say(f"inputs are not in the order of their shares: {shares}")
    for one, figures in zip(firsts, mine):
        found = theirs[one.pointer]
        judge.fields(one.pointer, found, {"of", "name", "same", "cut_off", "share", "worth", "standard_error"})
        if found["same"] != one.same:
            judge.say(f"{one.pointer} same: library {found['same']}, oracle {one.same}")
        cut_off = max(other.cut_off() for other in inputs.all if other.pointer in (one.pointer, *one.same))
        judge.figure(f"{one.pointer} cut_off", found["cut_off"], cut_off, 1e-6, 1e-15)
        if sure:
            judge.figure(f"{one.pointer} share", found["share"], figures["share"], 1e-6, 1e-9)
        judge.money(f"{one.pointer} worth", found["worth"], figures["worth"], 1e-6)
        judge.money(f"{one.pointer} standard_error", found["standard_error"], figures["standard_error"], 1e-6)


# ---------------------------------------------------------------- one random plan

def differences(library: Library, plan: dict, options: dict, seen: Counter) -> list[str]:
    inputs = chance_draws.Inputs(plan, options)
    comparison = library.compare(plan, {"how": False})
    try:
        answer, theirs, kept = library.kept(plan, options, [one.pointer for one in inputs.all])
    except run.LibraryError as problem:
        return refused(plan, options, inputs, comparison, str(problem), seen)
    judge = Judge(float(np.nanmax(np.abs(theirs), initial=0.0)))
    names = list(answer["routes"])
    if names != list(plan["routes"]):
        judge.say(f"routes: library {names}")
    p = inputs.draw(options["method"], options["seed"], options["draws"])
    values = inputs.values(p)
    same_draws(judge, inputs, kept, values)
    sample = same_worths(judge, plan, comparison, inputs, values, theirs, names, seen)
    mask = refusals(judge, theirs, answer, names, sample)
    seen["plans whose refusals the draws do not tell"] += mask is None
    sim = chance.Simulation(names, theirs, np.zeros(theirs.shape, bool) if mask is None else mask, p, options["method"],
                            options.get("prefer", "mean"))
    same_answer(judge, sim, inputs, answer, comparison, mask is not None, seen)
    alone = {k: v for k, v in options.items() if k != "keep"}
    texts = {library.text("bw_simulate", plan, {**alone, "threads": t}) for t in (1, 3)}
    if len(texts) != 1 or json.loads(texts.pop()) != answer:
        judge.say("the answer depends on the threads, or on what is kept")
    return judge.told


def refused(plan: dict, options: dict, inputs: chance_draws.Inputs, comparison: dict, message: str, seen: Counter) -> list[str]:
    """Right only where more than half of the draws are impossible."""
    held = chance.Held(plan, run.held_pulls(plan, comparison, Fraction(0)))
    values = inputs.values(inputs.draw("philox", 3, 60))
    broken = sum(held.worth(values[:, i]) is None for i in range(60))
    if broken > 15:
        seen["refused, as most draws are impossible"] += 1
        return []
    return [f"library: {message}; of 60 draws {broken} are impossible"]


# ---------------------------------------------------------------- known answers

def within(judge: Judge, what: str, found: str, error: Optional[str], wanted: float, floor: float) -> None:
    """Within four of its stated standard errors, and a floor for what has none."""
    allowed = floor + (4 * float(error) if error is not None else 0.0)
    if abs(printed(found)[0] - wanted) > allowed:
        judge.say(f"{what}: library {found} ± {error}, wanted {wanted}")


def known_answers(library: Library) -> list[str]:
    judge = Judge(1.0)
    for method in ("sobol", "philox"):
        wish = {"draws": 2**18, "method": method, "seed": 5}
        plan, correlate = chance_plans.pair()
        two = library.simulate(plan, {**wish, **correlate})
        # Two routes of N(2300, 200²) and N(2250, 350²), r 0.8 [exact, the bivariate normal's lead]
        within(judge, f"{method}, pair, first best", two["routes"]["first"]["best_share"], None, 0.5880365, 0.004)
        within(judge, f"{method}, pair, certainty", two["worth_of_certainty"], two["worth_standard_error"], 66.861105, 1e-4)
        # Oil driller: EMV 20, EVPI 35 [M: Raiffa, Decision Analysis, 1968; the printed figures from memory]
        drill = library.simulate(chance_plans.driller(), wish)
        within(judge, f"{method}, driller, mean", drill["routes"]["drill"]["mean"], drill["routes"]["drill"]["standard_error"], 20, 1e-4)
        within(judge, f"{method}, driller, certainty", drill["worth_of_certainty"], drill["worth_standard_error"], 35, 1e-4)
        # JCGM 101:2008 9.2.3, four rectangular inputs of unit sd: ±3.8794067 [exact; printed 3.88, M]
        sold = library.simulate(chance_plans.rectangles(), wish)["routes"]["sold"]
        within(judge, f"{method}, rectangles, low", sold["low"], None, 400 - 3.8794067, 0.03)
        within(judge, f"{method}, rectangles, high", sold["high"], None, 400 + 3.8794067, 0.03)
        within(judge, f"{method}, rectangles, sd", sold["sd"], None, 2.0, 0.01)
        # A sum of independent normals: shares of the variance [exact]
        sds = {"Au": 100, "Ag": 60, "Pt": 30}
        for one in library.simulate(chance_plans.linear(sds), wish)["inputs"]:
            wanted = sds[one["of"].rpartition("/")[2]] ** 2 / sum(s * s for s in sds.values())
            within(judge, f"{method}, linear, {one['of']}", one["share"], None, wanted, 0.01)
    # Two routes, advantage N(m, s²), n more assays of error e: 2.960916, 9.982061, 19.779656; 28.209479 [C, closed form]
    for (m, s, error), wanted in (((50, 100, 200), {1: 2.960916, 4: 9.982061, 0: 19.779656}), ((0, 100, 100), {1: 28.209479})):
        plan = chance_plans.by_assay_or_fixed(str(1000 + m), str(s), "1000")
        found = library.worth(plan, {"candidates": [{"of": "/lot/assays/Au", "sd": f"{error} g/t", "count": 4, "cost": "1 USD"}]})
        one = found["candidates"][0]
        for count, value in wanted.items():
            text = one["counts"][count - 1]["worth"] if count else one["known"]
            within(judge, f"advantage {m}, {s}, error {error}, {count or 'known'}", text, None, value, 0.01 * value)
    return judge.told


# ---------------------------------------------------------------- section 24 on small plans

def edges(plan: dict) -> list[float]:
    """Where a buyer of a small plan decides by the assay, which is known to the settlement as it is."""
    grade = ev.Units({}).grade
    found = []
    for terms in plan["terms"].values():
        found += [float(grade(start)) for start, _ in terms["pay"]["Au"].get("bands", [])]
        found += [float(grade(limit)) for limit in terms.get("accepts", {}).get("Au", {}).values()]
    return found


def worth_differences(library: Library, plan: dict, request: dict, seen: Counter) -> list[str]:
    """Decided: five of the errors stated are let pass (of eight parts, so one in a thousand is more), and 0.2 % of knowing
    for certain, for choices made on as few draws as lie within a result's reach. `known` tells no less than classes do."""
    candidate = request["candidates"][0]
    k = chance_worth.known(plan, candidate["of"], request, breaks=edges(plan))
    inputs = chance_draws.Inputs(plan, request)
    one = inputs.find(candidate["of"])
    reader = chance_draws.OwnUnits([plan["currency"]]).reader(one.dimension)
    error = chance_worth.error_of(candidate, k, reader)
    found = library.worth(plan, request)["candidates"][0]
    scale = float(np.abs(k.v).max())
    judge = Judge(scale)
    slack = lambda row: 5 * float(row["standard_error"]) + 0.002 * k.certain() + 1e-9 * scale
    theirs = printed(found["known"])[0]
    if not k.by_class() - slack(found) <= theirs <= k.certain() + slack(found):
        judge.say(f"known: library {theirs}, oracle {k.by_class()} by classes, {k.certain()} for certain")
    money = ev.Units({plan["currency"]: Fraction(1)}).money
    cost, fixed = float(money(candidate["cost"])), float(money(candidate.get("fixed", f"0 {plan['currency']}")))
    nets_ = []
    for row in found["counts"]:
        n = row["count"]
        judge.figure(f"worth of {n}", row["worth"], min(theirs, k.measured(error, n)), 0, slack(row))
        judge.figure(f"cost of {n}", row["cost"], n * cost + fixed)
        worth, net = printed(row["worth"])[0], printed(row["net"])[0]
        judge.figure(f"net of {n}", row["net"], worth - n * cost - fixed, 1e-9, 2e-6 + 1e-9 * scale)
        if worth < 0 or worth > theirs + 1e-9 * scale:
            judge.say(f"worth of {n} {worth} is not between 0 and that of knowing, {found['known']}")
        nets_.append((net, -n))
    best = max(nets_)
    if found["best"] != (-best[1] if best[0] > 0 else 0):
        judge.say(f"best: library {found['best']}, of nets {nets_}")
    if len(found["counts"]) != candidate.get("count", 1):
        judge.say(f"{len(found['counts'])} counts of {candidate.get('count', 1)}")
    seen["worths"] += 1
    return judge.told


# ---------------------------------------------------------------- the run

def report(what: str, wrong: list[str], tally: Counter, show: int) -> None:
    tally["differ" if wrong else "agree"] += 1
    if wrong and tally["differ"] <= show:
        print(f"{what}:", *wrong[:8], sep="\n    ", flush=True)
        if len(wrong) > 8:
            print(f"    and {len(wrong) - 8} more")


def main() -> int:
    wish = argparse.ArgumentParser(description="compare the library's simulations with the plain evaluator's")
    wish.add_argument("--library", required=True)
    wish.add_argument("--plans", type=int, default=40)
    wish.add_argument("--worths", type=int, default=12)
    wish.add_argument("--seed", type=int, default=1)
    wish.add_argument("--show", type=int, default=5)
    given = wish.parse_args()
    library, seen, tally = Library(given.library), Counter(), Counter()
    report("plans with a known answer", known_answers(library), tally, given.show)
    for seed in range(given.seed, given.seed + given.plans):
        plan, options = random_chance.random_request(seed)
        report(f"seed {seed}, {options['method']}", differences(library, plan, options, seen), tally, given.show)
    for seed in range(given.seed, given.seed + given.worths):
        plan, request = random_chance.small_request(seed)
        report(f"worth, seed {seed}", worth_differences(library, plan, request, seen), tally, given.show)
    library.close()
    for what, count in sorted(seen.items()):
        print(f"  {count:6d}  {what}")
    print(f"{tally['agree']} agree, {tally['differ']} differ")
    return 1 if tally["differ"] or not tally["agree"] else 0


if __name__ == "__main__":
    sys.exit(main())
