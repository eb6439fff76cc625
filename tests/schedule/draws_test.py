"""A month chosen over draws: draws_test.py CORE SCHEDULE.

What bw_simulate says of a lot's own plan at the same draws is what the schedule has to say of it: inputs are numbered
by where they stand, so that a request with one lot has the plan's numbers.
"""

import random
import unittest

import every_choice as ec
import invented
import library

LIBRARY = library.from_arguments()


def simulated(request: dict, name: str, route: str) -> dict:
    plan = ec.blend_plan(request, ((name, 1),))
    options = {key: request[key] for key in ("draws", "seed", "method") if key in request}
    return LIBRARY.simulate(plan, routes=[route], **options)["routes"][route]


class Draws(unittest.TestCase):
    def test_one_lot_by_one_route_is_the_simulation_of_its_plan(self):
        sent = 0
        for seed in range(30):
            for method in ("philox", "sobol"):
                request = invented.uncertain(random.Random(seed), 1, 1, method=method, discount="0 %/a")
                (name, lot), (route,) = next(iter(request["lots"].items())), request["routes"]
                lot.update(must=True, ready="0 d")
                answer = LIBRARY.allocate(request)
                if not answer["shipments"]:
                    continue  # refused at the plan's values
                sent += 1
                theirs = simulated(request, name, route)
                with self.subTest(seed=seed, method=method, route=route):
                    self.assertAlmostEqual(float(answer["mean"]), float(theirs["mean"]), delta=1e-8 * abs(float(theirs["mean"])))
                    self.assertAlmostEqual(float(answer["worst_mean"]), float(theirs["worst_mean"]), delta=1e-8 * abs(float(theirs["worst_mean"])) + 1e-6)
        self.assertGreater(sent, 20)

    def test_cuts_by_grade_or_recovery_are_held_over_draws(self):
        sent = 0
        for seed in range(24):
            request = invented.uncertain(random.Random(seed), 1, 6, discount="0 %/a")
            (name, lot), route = next(iter(request["lots"].items())), "washed, coast"
            grade = float(lot["assays"]["Au"]["value"].split()[0])
            request["routes"] = {route: request["routes"][route]}
            request["steps"]["table"]["cut"] = {"recovery": "75 %", "of": "Au"} if seed % 4 == 0 else {"grade": f"{2 * grade} g/t", "of": "Au"}
            lot.update(must=True, ready="0 d")
            answer = LIBRARY.allocate(request)
            if not answer["shipments"]:
                continue
            sent += 1
            theirs = simulated(request, name, route)
            with self.subTest(seed=seed):
                self.assertAlmostEqual(float(answer["mean"]), float(theirs["mean"]), delta=1e-8 * abs(float(theirs["mean"])))
        self.assertGreater(sent, 8)

    def test_means_of_lots_that_go_alone_add_up(self):
        """What each leaves on the mean, of requests that hold it alone, cannot be read off the same draws; a price alone can."""
        for seed in range(8):
            request = invented.uncertain(random.Random(seed), 4, 2, most_joined=1)
            for lot in request["lots"].values():
                lot["assays"] = {metal: assay["value"] for metal, assay in lot["assays"].items()}
            answer = LIBRARY.allocate(request)
            alone = [LIBRARY.allocate({**request, "lots": {name: lot}}) for name, lot in request["lots"].items()]
            total = sum(float(one["mean"]) for one in alone)
            with self.subTest(seed=seed):
                self.assertAlmostEqual(float(answer["mean"]), total, delta=1e-8 * max(1.0, abs(total)))
                self.assertGreaterEqual(float(answer["worst_mean"]), sum(float(one["worst_mean"]) for one in alone) - 1e-6 * max(1.0, abs(total)))

    def test_what_is_preferred_is_never_worse_by_its_own_measure(self):
        differs = 0
        for seed in range(12):
            request = invented.uncertain(random.Random(seed), 5, 3, draws=256)
            for lot in request["lots"].values():
                lot["assays"]["Au"]["rsd"] = "60 %"
            mean = LIBRARY.allocate(request)
            worst = LIBRARY.allocate(request, prefer="worst 5 % mean")
            slack = 1e-7 * max(1.0, abs(float(mean["mean"])))
            with self.subTest(seed=seed):
                self.assertTrue(mean["finished"] and worst["finished"])
                self.assertGreaterEqual(float(worst["worst_mean"]), float(mean["worst_mean"]) - slack)
                self.assertGreaterEqual(float(mean["mean"]), float(worst["mean"]) - slack)
                self.assertAlmostEqual(float(mean["bound"]), float(mean["mean"]), delta=10 * slack)
                self.assertAlmostEqual(float(worst["bound"]), float(worst["worst_mean"]), delta=10 * slack)
                differs += [(one["lots"], one["route"]) for one in mean["shipments"]] != [(one["lots"], one["route"]) for one in worst["shipments"]]
        self.assertGreater(differs, 2)

    def test_of_too_many_candidates_those_that_promise_most_are_drawn(self):
        for seed in range(2):
            request = invented.uncertain(random.Random(seed), 34, 6, draws=256, gap="0.5 %", time="0.1 min")
            alone, joined = LIBRARY.allocate(request, most_joined=1), LIBRARY.allocate(request)
            with self.subTest(seed=seed):
                self.assertGreater(joined["looked_at"]["pairs"], 2000)
                self.assertEqual(joined["looked_at"]["in_the_programme"], 2000)
                self.assertGreater(float(joined["mean"]), 1.05 * float(alone["mean"]))

    def test_the_plans_own_values_stay_what_they_are(self):
        """Draws choose; the shipments are worked out at the plan's values, and what they leave is told of those."""
        for seed in range(6):
            request = invented.uncertain(random.Random(seed), 5, 2)
            answer = LIBRARY.allocate(request)
            before = sum(float(one["result"]["present_value"]) * ec.discounted(request, 1, float(one["ready"]) - float(one["start"]))
                         for one in answer["shipments"])
            with self.subTest(seed=seed):
                self.assertAlmostEqual(float(answer["before_waiting"]), before, delta=1e-8 * max(1.0, abs(before)))

    def test_the_same_draws_whatever_the_threads(self):
        for seed in range(5):
            request = invented.uncertain(random.Random(seed), 6, 3)
            texts = {LIBRARY.allocate_text({**request, "threads": threads}) for threads in (1, 2, 2)}
            self.assertEqual(len(texts), 1)

    def test_another_seed_gives_other_means(self):
        request = invented.uncertain(random.Random(2), 4, 3)
        means = {LIBRARY.allocate(request, seed=seed)["mean"] for seed in (1, 2, 3)}
        self.assertEqual(len(means), 3)


class TooLittleTime(unittest.TestCase):
    def test_a_bound_holds_however_little_time_there_is(self):
        unfinished = 0
        for seed in range(5):
            brief, patient = (LIBRARY.allocate(invented.tight(seed, 1024, time=time)) for time in ("0.001 min", "0.1 min"))
            with self.subTest(seed=seed):
                unfinished += not brief["finished"]
                self.assertGreaterEqual(float(brief["bound"]), float(patient["worst_mean"]) * (1 - 1e-6))
        self.assertGreater(unfinished, 2)

    def test_too_little_time_for_the_worst_draws_leaves_what_is_best_on_the_mean(self):
        brief = LIBRARY.allocate(invented.tight(1, 4096, time="0.05 min"))
        mean = LIBRARY.allocate(invented.tight(1, 4096, time="0.1 min"), prefer="mean")
        self.assertTrue(brief["limits_kept"] and not brief["finished"])
        self.assertAlmostEqual(float(brief["mean"]), float(mean["mean"]), delta=0.05 * float(mean["mean"]))
        self.assertGreaterEqual(float(brief["bound"]), float(brief["worst_mean"]))


if __name__ == "__main__":
    unittest.main()
