"""Timetables of random months with queues, looked at for what no plant can do: timetable_test.py CORE SCHEDULE.

Days are printed to six decimals, so that two of them may differ by a millionth where they are the same.
"""

import collections
import random
import unittest

import every_choice as ec
import invented
import library
import random_limits as limits

LIBRARY = library.from_arguments()
MONTHS = 100
DAY = 2e-6
RELATIVE = 1e-9


def month(seed: int) -> dict:
    rng = random.Random(seed)
    request = invented.request(rng, rng.randint(8, 14), rng.randint(2, 4), rates=True)
    washed = [name for name in invented.all_routes() if name.startswith("washed")]
    request["routes"].update({name: invented.all_routes()[name] for name in rng.sample(washed, 2)})
    request["day"] = "4 h"
    for lot in request["lots"].values():
        lot["ready"] = f"{rng.randint(0, 2)} d"
    rng.choice(list(request["lots"].values()))["divisible"] = rng.choice((1, 2, 5))
    if rng.random() < 0.7:
        request["period"] = f"{rng.randint(18, 30)} d"
    blends = ec.every_blend(LIBRARY, request, 1)
    if rng.random() < 0.6:
        limits.add_capacity(rng, request, blends)
    if rng.random() < 0.5:
        limits.add_cash(rng, request, blends)
    if rng.random() < 0.3:
        limits.add_on_hand(rng, request)
    return request


class Month:
    """A request and its answer, each shipment with bw_compare's own result."""

    def __init__(self, seed: int):
        self.request = month(seed)
        self.answer = LIBRARY.allocate(self.request, most_joined=2, time="0.1 min", gap="0.5 %")
        self.shipments = self.answer["shipments"]
        self.blends = [self.blend(one) for one in self.shipments]
        self.later = [float(one["start"]) - float(one["ready"]) for one in self.shipments]

    def blend(self, shipment: dict) -> ec.Blend:
        lots = self.request["lots"]
        shares = tuple((name, round(ec.figure(share) / 100 * ec.parts_of(lots[name]))) for name, share in shipment["lots"].items())
        result = LIBRARY.compare(ec.blend_plan(self.request, shares), routes=[shipment["route"]])["routes"][shipment["route"]]
        return ec.Blend(shares, shipment["route"], ec.ready_of(self.request, shares), result, float(result["present_value"]))


def by_day(cash_days: list[dict]) -> list[tuple[float, float]]:
    """What comes on one day, or on days that differ by less than they are printed to."""
    found: list[tuple[float, float]] = []
    for day, amount in sorted((float(one["day"]), float(one["amount"])) for one in cash_days):
        if found and day - found[-1][0] < DAY:
            amount += found.pop()[1]
        found.append((day, amount))
    return found


def of_every_month(check):
    def test(self):
        for seed, one in self.months.items():
            with self.subTest(seed=seed):
                check(self, one)
    return test


class Timetables(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.months = {seed: Month(seed) for seed in range(MONTHS)}

    def test_there_are_queues(self):
        waiting = sum(any(later > 0.01 for later in one.later) for one in self.months.values())
        self.assertGreater(waiting, MONTHS / 2)
        self.assertGreater(sum(one.answer["limits_kept"] for one in self.months.values()), MONTHS / 2)
        self.assertGreater(sum(len(one.shipments) for one in self.months.values()), 2 * MONTHS)

    @of_every_month
    def test_no_step_does_two_things_at_once(self, one):
        stays = collections.defaultdict(list)
        for stay in one.answer["timetable"]:
            if float(stay["hours"]) > 0:
                stays[stay["step"]].append((float(stay["from"]), float(stay["to"]), stay["shipment"]))
        for step, held in stays.items():
            held.sort()
            for (_, end, first), (begin, _, second) in zip(held, held[1:]):
                self.assertLessEqual(end, begin + DAY, f"{step}: shipments {first} and {second}")

    @of_every_month
    def test_nothing_starts_before_its_lots_are_ready(self, one):
        for shipment, blend in zip(one.shipments, one.blends):
            self.assertAlmostEqual(float(shipment["ready"]), blend.ready, delta=DAY)
            self.assertGreaterEqual(float(shipment["start"]), blend.ready - DAY)

    @of_every_month
    def test_a_shipment_goes_through_its_steps_without_a_stop(self, one):
        for i, (shipment, blend) in enumerate(zip(one.shipments, one.blends)):
            stays = [stay for stay in one.answer["timetable"] if stay["shipment"] == i]
            day = float(shipment["start"])
            self.assertEqual([stay["step"] for stay in stays], [work["at"] for work in blend.result["work"]])
            for stay, work in zip(stays, blend.result["work"]):
                self.assertAlmostEqual(float(stay["from"]), day, delta=DAY)
                day = float(stay["to"])
                self.assertAlmostEqual(float(stay["hours"]), float(work["hours"]), delta=1e-6)
                self.assertAlmostEqual(day - float(stay["from"]), float(stay["hours"]) / ec.hours_a_day(one.request), delta=DAY)

    @of_every_month
    def test_limits_that_are_kept_hold_in_the_timetable(self, one):
        if not one.answer["limits_kept"]:
            return
        self.assertTrue(all(limit["kept"] for limit in one.answer["limits"]))
        for limit in ec.limits_of(one.request):
            total = sum(ec.take(one.request, limit, blend, later) for blend, later in zip(one.blends, one.later))
            self.assertLessEqual(total, limit.most * (1 + 1e-6), limit)
            self.assertGreaterEqual(total, limit.least - 1e-6 * abs(limit.least), limit)
        if "period" in one.request:
            for stay in one.answer["timetable"]:
                self.assertLessEqual(float(stay["to"]), ec.figure(one.request["period"]) + DAY * (1 + len(one.shipments)), stay)

    @of_every_month
    def test_what_is_reached_is_what_the_timetable_reaches(self, one):
        wanted = ec.limits_of(one.request)
        self.assertEqual(len(wanted), len(one.answer["limits"]))
        for limit, said in zip(wanted, one.answer["limits"]):
            total = sum(ec.take(one.request, limit, blend, later) for blend, later in zip(one.blends, one.later))
            if limit.kind == "gone":  # told as what is on hand, in g
                come = sum(ec.lot_content(lot, "Au") for lot in one.request["lots"].values() if ec.figure(lot["ready"]) <= limit.day)
                total = 1000 * (come - total)
            cent = 0.006 if limit.kind == "cash" else 0
            self.assertAlmostEqual(ec.figure(said["reached"]), total, delta=cent + 2e-6 * max(1.0, abs(total)), msg=f"{limit} {said}")

    @of_every_month
    def test_a_shipments_result_is_the_comparisons_from_its_start(self, one):
        for shipment, blend in zip(one.shipments, one.blends):
            mine, theirs, start = shipment["result"], blend.result, float(shipment["start"])
            self.assertEqual((mine["net"], mine["cash"], mine["refused"]), (theirs["net"], theirs["cash"], []))
            self.assertEqual((mine["products"], mine["work"], mine["metal"]), (theirs["products"], theirs["work"], theirs["metal"]))
            value = ec.discounted(one.request, float(theirs["present_value"]), start)
            self.assertAlmostEqual(float(mine["present_value"]), value, delta=RELATIVE * max(1.0, abs(value)))
            for a, b in zip(mine["lines"], theirs["lines"], strict=True):
                self.assertEqual((a["at"], a["what"], a["amount"]), (b["at"], b["what"], b["amount"]))
                self.assertAlmostEqual(float(a["day"]), float(b["day"]) + start, delta=DAY)

    @of_every_month
    def test_sums_add_up(self, one):
        answer, total = one.answer, 0.0
        for name in ("present_value", "net", "cash"):
            parts = sum(float(shipment["result"][name]) for shipment in one.shipments)
            self.assertAlmostEqual(float(answer[name]), parts, delta=RELATIVE * max(1.0, abs(parts)))
        for day in answer["cash_days"]:
            total += float(day["amount"])
            self.assertAlmostEqual(float(day["total"]), total, delta=1e-6)
        self.assertAlmostEqual(total, float(answer["cash"]), delta=1e-5)
        parts = by_day([day for shipment in one.shipments for day in shipment["result"]["cash_days"]])
        for (day, amount), (own_day, own) in zip(by_day(answer["cash_days"]), parts, strict=True):
            self.assertAlmostEqual(day, own_day, delta=DAY)
            self.assertAlmostEqual(amount, own, delta=1e-5)

    @of_every_month
    def test_what_waiting_costs_is_told(self, one):
        before = sum(ec.discounted(one.request, blend.value, blend.ready) for blend in one.blends)
        self.assertAlmostEqual(float(one.answer["before_waiting"]), before, delta=1e-8 * max(1.0, abs(before)))

    @of_every_month
    def test_shares_of_a_lot_are_no_more_than_the_lot(self, one):
        gone = collections.Counter()
        for blend in one.blends:
            gone.update(dict(blend.shares))
        left = {lot["lot"]: ec.figure(lot["share"]) for lot in one.answer["left"]}
        for name, lot in one.request["lots"].items():
            self.assertAlmostEqual(100 * gone[name] / ec.parts_of(lot) + left.get(name, 0), 100, delta=1e-3)
        self.assertTrue(all(lot["reasons"] for lot in one.answer["left"]))


class SideBySide(unittest.TestCase):
    """A shipment that dries its middlings, and in the middle of that its sieved concentrate, in the same pan."""

    def test_others_wait_for_the_longer_of_two_things(self):
        request = invented.request(random.Random(1), 2, 1, rates=True)
        sold = {"sell": invented.COAST}
        dried = {"step": invented.PAN, "dried": sold}
        request["steps"]["sieve"] = {"kind": "split", "rate": "60 kg/h", "into": {"fine": {"mass": "90 %"}, "coarse": {}}}
        request["routes"] = {"both dried": {
            "step": invented.TABLE, "concentrate": {"step": "sieve", "fine": dried, "coarse": sold},
            "middlings": dried, "tailings": {"return": {"Au": "40 %"}, "after": "10 d"}}}
        request["steps"][invented.TABLE] |= {"rate": "1000 kg/h", "cut": {"pull": "10 %"}, "middlings": "60 %"}
        request["steps"][invented.PAN]["rate"] = "5 kg/h"
        request["terms"][invented.COAST]["accepts"] = {}
        for lot in request["lots"].values():
            lot |= {"wet_mass": "400 kg", "ready": "0 d", "alone": True, "must": True, "assays": {"Au": "260 g/t", "As": "0.1 %"}}
        stays = [stay for stay in LIBRARY.allocate(request)["timetable"] if stay["step"] == invented.PAN]
        held = [sorted((float(stay["from"]), float(stay["to"])) for stay in stays if stay["shipment"] == i) for i in (0, 1)]
        for (first, end), (begin, last) in held:
            self.assertTrue(first < begin and last < end, "the shorter lies within the longer")
        self.assertGreaterEqual(held[1][0][0], held[0][0][1] - DAY)


if __name__ == "__main__":
    unittest.main()
