"""Stopping an allocation, and what it has when its time is over: cancel_test.py CORE SCHEDULE."""

import random
import unittest

import invented
import library

LIBRARY = library.from_arguments()


def month(lots: int, **wishes) -> dict:
    request = invented.request(random.Random(5), lots, 4, rates=True)
    return {**request, "period": "40 d", "capacity": {invented.TABLE: {"hours": f"{2 * lots} h"}}, "gap": "0 %", **wishes}


class Cancel(unittest.TestCase):
    def progress(self, request: dict) -> list[float]:
        told: list[float] = []
        LIBRARY.watched(request, lambda done, total: told.append(done / total))
        return told

    def stopped(self, request: dict, share: float) -> list[float]:
        """Cancelled as soon as so much is told to be done."""
        told: list[float] = []

        def stop(done: int, total: int) -> None:
            told.append(done / total)
            if done / total >= share:
                LIBRARY.cancel()

        with self.assertRaises(library.Refused) as refused:
            LIBRARY.watched(request, stop)
        self.assertEqual(refused.exception.status, library.CANCELLED)
        return told

    def test_progress_rises_to_the_end(self):
        told = self.progress(month(12))
        self.assertEqual(told, sorted(told))
        self.assertEqual(told[-1], 1)
        self.assertGreater(len(told), 3)

    def test_every_phase_can_be_stopped(self):
        """Blends one by one, pairs, triples, then the choice among them, which is told by the clock."""
        request = month(30, time="0.2 min")
        for share in (0.0, 0.2, 0.5, 0.601, 0.64):
            with self.subTest(share=share):
                told = self.stopped(request, share)
                self.assertLess(told[-1], 1)

    def test_draws_can_be_stopped(self):
        request = month(12, draws=256, time="0.2 min")
        request["prices"]["Au"] = {"value": request["prices"]["Au"], "rsd": "5 %"}
        self.assertLess(self.stopped(request, 0.601)[-1], 1)

    def test_a_programme_of_thousands_of_draws_can_be_stopped(self):
        """It would take minutes, and tells nothing of its own."""
        told = self.stopped(invented.tight(1, 4096, time="2 min"), 0.62)
        self.assertLess(told[-1], 0.9)

    def test_a_context_goes_on_after_it(self):
        self.stopped(month(10), 0.0)
        self.assertTrue(LIBRARY.allocate(month(6))["shipments"])


class TimeIsOver(unittest.TestCase):
    def test_what_was_found_by_then_is_an_answer_with_its_gap(self):
        """A second for some 200,000 blends: it is not finished, or it is near; what it has keeps the limits."""
        answer = LIBRARY.allocate(month(45, time="0.02 min", gap="0 %", looked_at=20_000))
        gap = float(answer["gap"].split()[0])
        self.assertTrue(not answer["finished"] or gap < 0.5, answer["gap"])
        self.assertGreaterEqual(float(answer["bound"]), float(answer["present_value"]) - 1e-6)
        self.assertTrue(answer["shipments"])
        self.assertTrue(answer["limits_kept"])
        self.assertTrue(all(limit["kept"] for limit in answer["limits"]))
        longer = LIBRARY.allocate(month(45, time="0.3 min", gap="0 %", looked_at=20_000))
        self.assertLessEqual(float(answer["before_waiting"]), float(longer["bound"]) * (1 + 1e-9))


if __name__ == "__main__":
    unittest.main()
