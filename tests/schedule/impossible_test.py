"""Limits that cannot be kept: an answer with reasons, the nearest there is, and nothing made up: impossible_test.py CORE SCHEDULE."""

import random
import unittest

import every_choice as ec
import invented
import library

LIBRARY = library.from_arguments()
EXACT = {"gap": "0 %", "most_joined": 3, "time": "2 min"}


def dried(hours_each: list[int], room: int, **more) -> dict:
    """Lots that all must go and take so many hours of one pan."""
    lots = {f"lot {i}": {"wet_mass": f"{10 * hours} kg", "assays": {"Au": "100 g/t"}, "must": True} for i, hours in enumerate(hours_each)}
    return {"format": "buttonworth-allocation/1", "currency": "USD", "prices": {"Au": "100 USD/g"}, "discount": "0 %/a", "day": "10 h", "lots": lots,
            "steps": {"pan": {"kind": "dry", "to": "0 %", "dust": "0 %", "rate": "10 kg/h"}},
            "terms": {"buyer": {"buys": "concentrate", "pay": {"Au": {"share": "100 %"}}, "final": "20 d"}},
            "routes": {"dried": {"step": "pan", "dried": {"sell": "buyer"}}}, "capacity": {"pan": {"hours": f"{room} h"}}, **EXACT, **more}


class TooLittleRoom(unittest.TestCase):
    def test_as_many_as_fit_go_and_the_others_have_their_reason(self):
        answer = LIBRARY.allocate(dried([10, 20, 30, 40], 65))
        self.assertFalse(answer["limits_kept"])
        self.assertTrue(answer["finished"])
        self.assertEqual(sorted(name for one in answer["shipments"] for name in one["lots"]), ["lot 0", "lot 1", "lot 2"])
        (left,) = answer["left"]
        self.assertEqual((left["lot"], left["share"]), ("lot 3", "100 %"))
        self.assertIn("no room: hours of pan (35 h more than what is left)", left["reasons"][0])  # 60 of 65 h are taken
        self.assertTrue(all(limit["kept"] for limit in answer["limits"]))  # the lot is what misses, not the pan
        self.assertIn('Not kept: "lot 3" has to go, and is left in whole or in part.', answer["words"])

    def test_what_is_too_little_for_its_buyer_says_so(self):
        answer = LIBRARY.allocate(dried([10], 65, buyers={"buyer": {"mass": {"min": "250 kg"}}}))
        self.assertFalse(answer["limits_kept"])
        (left,) = answer["left"]
        self.assertIn("too little: mass to buyer (150 kg short of the least)", left["reasons"][0])
        self.assertEqual([one for one in answer["words"] if one.startswith("Not kept")],
                         ['Not kept: "lot 0" has to go, and is left in whole or in part.'])

    def test_work_after_the_periods_end_is_told_by_its_hours(self):
        """30 h of days of 10 h, from day 3 on, in a period of 5 days."""
        request = dried([30], 50, period="5 d")
        request["lots"]["lot 0"]["ready"] = "3 d"
        answer = LIBRARY.allocate(request)
        self.assertFalse(answer["limits_kept"])
        (limit,) = answer["limits"]
        self.assertEqual((limit["most"], limit["reached"], limit["late"], limit["kept"]), ("50 h", "30 h", "10 h", False))
        self.assertIn("Not kept: hours of pan, of which 10 h are worked after the period's end.", answer["words"])

    def test_the_nearest_is_what_is_preferred_over_draws(self):
        """One of two fits: more gold on the mean, or a grade that is known."""
        for prefer, goes in (("mean", "doubtful"), ("worst 5 % mean", "sure")):
            request = dried([10, 10], 10, draws=512, prefer=prefer)
            sure = request["lots"].pop("lot 0")
            request["lots"] = {"sure": sure, "doubtful": {**sure, "assays": {"Au": {"value": "115 g/t", "rsd": "60 %"}}}}
            answer = LIBRARY.allocate(request)
            self.assertFalse(answer["limits_kept"])
            self.assertEqual([list(one["lots"]) for one in answer["shipments"]], [[goes]])
            self.assertEqual(answer["bound"], answer["mean" if prefer == "mean" else "worst_mean"])

    def test_lots_that_fill_the_period_to_its_last_minute_all_go(self):
        """100 h of 12.5 days of 8 h, in three stays whose starts no six decimals tell exactly."""
        request = dried([10, 10, 10], 100, period="12.5 d", day="8 h")
        request["steps"]["pan"]["rate"] = "3 kg/h"
        answer = LIBRARY.allocate(request)
        self.assertTrue(answer["limits_kept"])
        self.assertEqual(len(answer["shipments"]), 3)

    def test_a_buyers_most_is_not_overrun_by_a_hair(self):
        request = dried([400], 1000)
        request["lots"]["lot 0"].update(wet_mass="4000.002 kg", must=False)
        request["buyers"] = {"buyer": {"mass": {"max": "4 t"}}}
        answer = LIBRARY.allocate(request)
        self.assertEqual(answer["shipments"], [])
        self.assertEqual(answer["limits_kept"], all(limit["kept"] for limit in answer["limits"]))

    def test_a_part_of_a_divisible_lot_goes_where_the_whole_does_not_fit(self):
        request = dried([40], 25)
        request["lots"]["lot 0"]["divisible"] = 4
        answer = LIBRARY.allocate(request)
        self.assertFalse(answer["limits_kept"])
        self.assertEqual(answer["left"][0]["share"], "50 %")

    def test_a_lot_that_every_route_refuses_says_why(self):
        request = dried([10, 20], 100)
        request["terms"]["buyer"]["accepts"] = {"Au": {"min": "500 g/t"}}
        answer = LIBRARY.allocate(request)
        self.assertFalse(answer["limits_kept"])
        self.assertEqual((answer["shipments"], answer["bound"], len(answer["left"])), ([], "0.00", 2))
        for left in answer["left"]:
            self.assertTrue(any("dried" in reason and "500" in reason for reason in left["reasons"]), left)

    def test_lots_that_all_are_refused_and_may_stay_are_no_fault(self):
        for more in ({}, {"draws": 256}):
            request = dried([10, 20], 100, **more)
            request["terms"]["buyer"]["accepts"] = {"Au": {"min": "500 g/t"}}
            request["prices"]["Au"] = {"value": "100 USD/g", "rsd": "5 %"}
            for lot in request["lots"].values():
                lot["must"] = False
            answer = LIBRARY.allocate(request)
            self.assertTrue(answer["limits_kept"])
            self.assertEqual((answer["shipments"], len(answer["left"])), ([], 2))

    def test_nothing_fits_and_nothing_has_to_go(self):
        request = dried([10, 20], 0)
        for lot in request["lots"].values():
            lot["must"] = False
        answer = LIBRARY.allocate(request)
        self.assertTrue(answer["limits_kept"])
        self.assertEqual(answer["shipments"], [])
        self.assertEqual(answer["words"][0], "No shipment goes.")


def panned(grades: dict[str, object], **more) -> dict:
    """Lots of a kilogram of which a hundredth is to hold all the gold: impossible above 1 %. A gram brings 100 USD."""
    return {"format": "buttonworth-allocation/1", "currency": "USD", "prices": {"Au": "100 USD/g"}, "discount": "0 %/a", "day": "10 h",
            "lots": {name: {"wet_mass": "1 kg", "assays": {"Au": grade}} for name, grade in grades.items()},
            "steps": {"pan": {"kind": "split", "into": {"heads": {"mass": "1 %", "Au": "100 %"}, "rest": {}}}},
            "terms": {"buyer": {"buys": "concentrate", "pay": {"Au": {}}}},
            "routes": {"panned": {"step": "pan", "heads": {"sell": "buyer"}, "rest": {"keep": True}}}, **EXACT, **more}


class ImpossibleSteps(unittest.TestCase):
    def test_a_lot_that_no_step_can_part_is_left_with_the_reason(self):
        for more in ({}, {"draws": 256}):
            answer = LIBRARY.allocate(panned({"poor": "0.5 %", "rich": "2 %"}, **more))
            self.assertEqual([list(one["lots"]) for one in answer["shipments"]], [["poor"]])
            self.assertEqual(answer["words"][0], "1 shipment, of one lot, leaves 500 USD in today's money.")
            (left,) = answer["left"]
            self.assertEqual(left["lot"], "rich")
            self.assertIn("route panned: output heads of step pan would hold more analytes than mass", left["reasons"][0])

    def test_a_draw_in_which_it_is_impossible_brings_nothing(self):
        """Any grade from 0.7 to 1.2 % is as likely: three in five bring 8.5 g in the mean, the others nothing."""
        answer = LIBRARY.allocate(panned({"lot": {"low": "0.7 %", "high": "1.2 %"}}, draws=4096))
        self.assertEqual(float(answer["present_value"]), 950)
        self.assertAlmostEqual(float(answer["mean"]), 510, delta=1)
        self.assertEqual(float(answer["worst_mean"]), 0)


class CashThatCannotBeHad(unittest.TestCase):
    def test_the_nearest_is_the_largest_sum_that_any_choice_reaches(self):
        reached = 0
        for seed in range(30):
            rng = random.Random(seed)
            request = invented.request(rng, 5, 3)
            request["buyers"] = {invented.COAST: {"shipments": {"max": 1}}, invented.HILL: {"shipments": {"max": 2}}}
            request["cash"] = [{"by": "20 d", "amount": "100000 USD"}]
            best = ec.Search(request, ec.every_blend(LIBRARY, request, 3)).run()
            largest = (1 - best.missed) * 1e5
            answer = LIBRARY.allocate(request, **EXACT)
            with self.subTest(seed=seed):
                self.assertFalse(answer["limits_kept"])
                (cash,) = [limit for limit in answer["limits"] if limit["at"] == "/cash/0"]
                self.assertFalse(cash["kept"])
                self.assertAlmostEqual(ec.figure(cash["reached"]), largest, delta=0.02)
                self.assertAlmostEqual(float(answer["before_waiting"]), best.value, delta=1e-6 * max(1, abs(best.value)))
                self.assertTrue(any(words.startswith("Not kept: cash by day 20") for words in answer["words"]))
                reached += largest > 0
        self.assertGreater(reached, 15)

    def test_cash_that_is_due_before_anything_is_ready(self):
        answer = LIBRARY.allocate(dried([10], 100, cash=[{"by": "3 d", "amount": "500 USD"}]))
        self.assertFalse(answer["limits_kept"])
        self.assertEqual(ec.figure(answer["limits"][-1]["reached"]), 0)
        self.assertEqual(len(answer["shipments"]), 1)  # the lot has to go all the same


class TooMuchOnHand(unittest.TestCase):
    def test_more_comes_in_than_may_be_there(self):
        """Two lots of 10 g come on day 2, and nothing is out of the pan before day 3: 20 g are there, 15 are allowed."""
        request = dried([10, 10], 100, on_hand={"Au": "15 g"})
        for lot in request["lots"].values():
            lot["ready"] = "2 d"
        answer = LIBRARY.allocate(request)
        self.assertFalse(answer["limits_kept"])
        (limit,) = [one for one in answer["limits"] if one["at"] == "/on_hand/Au"]
        self.assertEqual((limit["most"], limit["reached"], limit["kept"]), ("15 g", "20 g", False))
        self.assertEqual(len(answer["shipments"]), 2)


class Mistakes(unittest.TestCase):
    def test_what_two_readers_see_is_told_once(self):
        with self.assertRaises(library.Refused) as refused:
            LIBRARY.allocate(dried([10], 65, must=["lot 0"]))
        self.assertIn("no field must", str(refused.exception))
        self.assertNotIn("more)", str(refused.exception))


if __name__ == "__main__":
    unittest.main()
