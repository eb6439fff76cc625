"""SciPy's milp as a second opinion: solver_test.py CORE SCHEDULE.

Over the candidates that an answer lists, with what each takes of every limit, HiGHS has to find the same optimum, for
months of 12 to 25 lots. What hangs on a buyer is written here with one large number, another way than the library's.
"""

import random
import unittest

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

import every_choice as ec
import invented
import library
import random_limits as limits

LIBRARY = library.from_arguments()
GAP = 1e-4


def month(seed: int) -> dict:
    rng = random.Random(seed)
    timed = seed % 2 == 0
    request = invented.request(rng, rng.randint(12, 25), rng.randint(2, 4), rates=not timed)
    for lot in rng.sample(list(request["lots"].values()), 2):
        lot["divisible"] = rng.choice((2, 4))
    blends = ec.every_blend(LIBRARY, request, 1)
    limits.add_capacity(rng, request, blends)
    limits.add_buyers(rng, request)
    if timed:
        limits.add_cash(rng, request, blends)
        limits.add_on_hand(rng, request)
    return request


def figures(limit: dict) -> tuple[float, float]:
    """Least and most of a limit's sum, as the candidates' `takes` count it."""
    return ec.figure(limit.get("least", "-inf")), ec.figure(limit.get("most", "inf"))


def second_opinion(request: dict, answer: dict) -> float:
    candidates, lots = answer["candidates"], list(request["lots"])
    stated = answer["limits"]
    wanted = {(one.of, one.day): one for one in ec.limits_of(request) if one.kind == "gone"}
    conditional = [limit for limit in stated if limit["at"].startswith("/buyers") and "least" in limit]
    count = len(candidates)
    rows = lil_matrix((len(lots) + len(stated) + len(conditional), count + len(conditional)))
    least, most = np.full(rows.shape[0], -np.inf), np.full(rows.shape[0], np.inf)
    for j, candidate in enumerate(candidates):
        for name, share in candidate["lots"].items():
            rows[lots.index(name), j] = ec.figure(share) / 100
        for k, takes in enumerate(candidate["takes"]):
            rows[len(lots) + k, j] = takes
    most[:len(lots)] = 1
    least[:len(lots)] = [1 if lot.get("must") else -np.inf for lot in request["lots"].values()]
    for k, limit in enumerate(stated):
        row = len(lots) + k
        least[row], most[row] = figures(limit)
        if limit["at"].startswith("/on_hand"):
            gone = wanted[("Au", ec.figure(limit["what"].rsplit(" ", 1)[1]))]
            least[row], most[row] = gone.least, np.inf
        if limit in conditional:
            c = conditional.index(limit)
            rows[row, count + c] = -least[row]
            least[row] = 0
            top = len(lots) + len(stated) + c
            rows[top, :] = rows[row, :]
            rows[top, count + c] = -sum(max(0.0, candidate["takes"][k]) * 10 for candidate in candidates)
            most[top] = 0
    gain = np.array([float(candidate["present_value"]) for candidate in candidates] + [0.0] * len(conditional))
    upper = np.concatenate([np.full(count, 10.0), np.ones(len(conditional))])
    found = milp(-gain, integrality=np.ones(len(gain)), bounds=Bounds(0, upper),
                 constraints=LinearConstraint(rows.tocsc(), least, most), options={"mip_rel_gap": GAP / 10, "time_limit": 60})
    if found.status == 2:
        return float("nan")
    assert found.status == 0, found.message
    return -found.fun


class SecondOpinion(unittest.TestCase):
    def test_months_of_12_to_25_lots(self):
        possible = finished = 0
        for seed in range(8):
            request = month(seed)
            answer = LIBRARY.allocate(request, candidates=True, gap=f"{100 * GAP} %", most_joined=3, time="0.5 min", looked_at=1200)
            with self.subTest(seed=seed, lots=len(request["lots"]), candidates=len(answer["candidates"])):
                theirs, mine = second_opinion(request, answer), float(answer["before_waiting"])
                self.assertEqual(answer["limits_kept"], theirs == theirs)
                if answer["limits_kept"]:
                    possible += 1
                    finished += answer["finished"]
                    self.assertLessEqual(mine, theirs + GAP * abs(theirs))
                    self.assertGreaterEqual(float(answer["bound"]), theirs - GAP * abs(theirs))
                    if answer["finished"]:
                        self.assertAlmostEqual(mine, theirs, delta=2 * GAP * abs(theirs))
        self.assertGreater(possible, 4)
        self.assertGreater(finished, possible / 2)

    def test_a_bound_holds_however_little_time_there_is(self):
        request, possible = month(6), 0
        for time in ("0.001 min", "0.005 min", "0.02 min"):
            answer = LIBRARY.allocate(request, candidates=True, gap=f"{100 * GAP} %", most_joined=3, looked_at=1200, time=time)
            with self.subTest(time=time, kept=answer["limits_kept"], value=answer["before_waiting"]):
                theirs = second_opinion(request, answer)
                if theirs == theirs:  # else these few candidates cannot keep the limits
                    possible += 1
                    self.assertGreaterEqual(float(answer["bound"]), theirs - GAP * abs(theirs))
        self.assertGreater(possible, 0)


if __name__ == "__main__":
    unittest.main()
