"""What an answer may not depend on, and what more freedom may not cost: same_test.py CORE SCHEDULE."""

import random
import unittest

import invented
import library
import random_limits as limits
import every_choice as ec

LIBRARY = library.from_arguments()
GAP = 1e-6
EXACT = {"gap": "0.0001 %", "most_joined": 3, "time": "2 min"}


def month(seed: int, lots: int = 8, **wishes) -> dict:
    rng = random.Random(seed)
    request = invented.request(rng, lots, 3, rates=True)
    rng.choice(list(request["lots"].values()))["divisible"] = 2
    limits.add_capacity(rng, request, ec.every_blend(LIBRARY, request, 1))
    limits.add_buyers(rng, request)
    return {**request, **EXACT, **wishes}


def turned(rng: random.Random, things: dict) -> dict:
    return dict(rng.sample(list(things.items()), len(things)))


class Same(unittest.TestCase):
    def assert_same(self, a: dict, b: dict) -> None:
        self.assertEqual(a["limits_kept"], b["limits_kept"])
        first, second = float(a["before_waiting"]), float(b["before_waiting"])
        self.assertAlmostEqual(first, second, delta=2 * GAP * max(1.0, abs(first)))

    def test_the_order_of_lots_and_routes_does_not_matter(self):
        for seed in range(12):
            request, rng = month(seed), random.Random(seed)
            other = {**request, **{name: turned(rng, request[name]) for name in ("lots", "routes", "steps", "terms")}}
            with self.subTest(seed=seed):
                a, b = LIBRARY.allocate(request), LIBRARY.allocate(other)
                self.assertTrue(a["finished"] and b["finished"])
                self.assert_same(a, b)

    def test_threads_do_not_matter(self):
        for seed in range(10):
            with self.subTest(seed=seed):
                self.assertEqual(LIBRARY.allocate_text(month(seed, threads=1)), LIBRARY.allocate_text(month(seed, threads=3)))

    def test_asking_again_gives_the_same(self):
        for seed in (1, 2):
            self.assertEqual(LIBRARY.allocate_text(month(seed)), LIBRARY.allocate_text(month(seed)))

    def test_equal_units_change_nothing(self):
        request = month(4)
        lots = {name: {**lot, "wet_mass": f"{ec.figure(lot['wet_mass']) / 1000:.12g} t"} for name, lot in request["lots"].items()}
        self.assert_same(LIBRARY.allocate(request), LIBRARY.allocate({**request, "lots": lots}))


class NeverWorse(unittest.TestCase):
    def least(self, values: list[float]) -> None:
        for a, b in zip(values, values[1:]):
            self.assertGreaterEqual(b, a - 2 * GAP * max(1.0, abs(a)))

    def test_more_lots_joined_are_never_worse(self):
        grown = 0
        for seed in range(8):
            request = month(seed, lots=9)
            request.pop("buyers", None)
            request["terms"][invented.COAST]["accepts"]["mass"]["min"] = "900 kg"
            answers = [LIBRARY.allocate(request, most_joined=most) for most in (1, 2, 3, 6)]
            with self.subTest(seed=seed):
                self.assertTrue(all(answer["limits_kept"] for answer in answers))
                self.least([float(answer["before_waiting"]) for answer in answers])
                grown += any(len(one["lots"]) > 3 for one in answers[-1]["shipments"])
        self.assertGreater(grown, 1)

    def test_more_blends_looked_at_are_never_worse(self):
        for seed in range(6):
            request = month(seed)
            request.pop("buyers", None)
            answers = [LIBRARY.allocate(request, looked_at=most) for most in (0, 100, 100_000)]
            with self.subTest(seed=seed):
                self.least([float(answer["before_waiting"]) for answer in answers])

    def test_worths_of_limits(self):
        """Never below 0, never above what they at most are, and more of one alone brings what it says, within the gap."""
        told = 0
        for seed in range(10):
            request = month(seed)
            answer = LIBRARY.allocate(request)
            for limit in answer["limits"]:
                worth = limit.get("more", limit.get("without"))
                if worth is None:
                    continue
                with self.subTest(seed=seed, limit=limit):
                    self.assertGreaterEqual(float(worth["worth"]), 0)
                    self.assertGreaterEqual(float(worth["at_most"]), float(worth["worth"]) - 1e-6)
                    again = LIBRARY.allocate(loosened(request, limit))
                    value = float(answer["before_waiting"])
                    slack = 3 * GAP * max(1.0, abs(value)) + 0.01
                    brings = float(again["before_waiting"]) - value
                    self.assertAlmostEqual(float(worth["worth"]), brings, delta=slack)
                    self.assertLessEqual(brings, float(worth["at_most"]) + slack)
                    told += float(worth["worth"]) > 1
        self.assertGreater(told, 2)


def loosened(request: dict, limit: dict) -> dict:
    """The request with so much more of a limit, or without it."""
    _, section, name, what = limit["at"].split("/")
    stated = dict(request[section][name])
    end = "most" if section == "capacity" else "min" if "least" in limit else "max"
    if section == "capacity":
        stated[what] = ec.figure(stated[what]) + ec.figure(limit["more"]["of"]) if what == "melts" else \
            f"{ec.figure(stated[what]) + ec.figure(limit['more']['of'])} h"
        stated[what] = int(stated[what]) if what == "melts" else stated[what]
    else:
        ends = dict(stated[what])
        if end == "min":
            del ends["min"]
        else:
            more = ec.figure(ends["max"]) + ec.figure(limit["more"]["of"])
            ends["max"] = int(more) if what == "shipments" else f"{more} kg"
        stated[what] = ends
    return {**request, section: {**request[section], name: stated}}


if __name__ == "__main__":
    unittest.main()
