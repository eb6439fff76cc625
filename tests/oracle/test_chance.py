"""Checks of the plain evaluator of chance against known answers, closed forms, sums by hand and SciPy, and of the run
that compares the library with it.

Tags as elsewhere: [P] printed in the source named; [M] printed there, quoted from memory; [C] worked out in two
independent ways, no printed answer. Data without a source are invented.
"""

from __future__ import annotations

import copy
import json
import math
import unittest
from collections import Counter
from typing import Any

import numpy as np
from scipy import integrate, stats

import chance
import chance_draws
import chance_plans
import chance_run
import chance_worth
import evaluator as ev
import random_chance
import run
from chance_draws import ChanceError, Inputs


def priced(q: Any, **more: Any) -> dict:
    return chance_plans.plan({"Au": "1000 g/t"}, {"Au": q}, {"buyer": {"buys": "concentrate", "pay": {"Au": {}}}},
                             {"sold": {"sell": "buyer"}, "kept": {"keep": True}}, **more)


class Numbers(unittest.TestCase):
    def test_philox_known_answers(self) -> None:
        """[P: known answers of Random123, Salmon and others 2011]"""
        self.assertEqual(chance_draws.philox((0, 0, 0, 0), (0, 0)), (0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8))
        ones = chance_draws.WORD
        self.assertEqual(chance_draws.philox((ones,) * 4, (ones,) * 2), (0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd))

    def test_the_first_two_draws(self) -> None:
        """The known answer's words by hand: e169c58d6627e8d5 and 9b00dbd8bc57ac4c, their upper 52 bits and a half."""
        self.assertEqual([chance_draws.philox_k(0, 0, i) for i in (0, 1)], [0xe169c58d6627e, 0x9b00dbd8bc57a])
        self.assertEqual(chance_draws.share_of(0xe169c58d6627e), (0xe169c58d6627e + 0.5) / 2**52)

    def test_columns_are_the_single_draws(self) -> None:
        for seed, dimension, stream in ((0, 0, 0), (1, 3, 0), (2**40 + 7, 11, 0), (2**53, 2, 8)):
            column = chance_draws.philox_column(seed, dimension, 9, stream)
            self.assertEqual(list(column), [chance_draws.philox_k(seed, dimension, i, stream) for i in range(9)])

    def test_directions(self) -> None:
        """The first four digits, by hand from Joe and Kuo's table: van der Corput's; x + 1 with m 1, so 1, 3, 5, 15 (each twice
        the one before xor that); x² + x + 1 with m 1, 3, so 2·3 ^ 4·1 ^ 1 = 3 and 2·3 ^ 4·3 ^ 3 = 9."""
        tops = [[d >> 48 for d in row] for row in chance_draws.directions(3, 16)]
        self.assertEqual(tops, [[8, 4, 2, 1], [8, 12, 10, 15], [8, 12, 6, 9]])

    def test_sobol_is_even(self) -> None:
        """Each scrambling has one point in each of as many equal steps of every dimension, and the first two dimensions one in
        every box of that size, whatever its shape; no two scramblings are alike."""
        for seed, draws in ((1, 256), (5, 4096), (2**53, 1024)):
            k, many = chance_draws.sobol_rows(seed, 7, draws), draws // 8
            bits = many.bit_length() - 1
            for s in range(8):
                part = k[:, s * many:(s + 1) * many]
                for row in part:
                    self.assertEqual(len(set(row >> (52 - bits))), many)
                for wide in range(bits + 1):
                    boxes = (part[0] >> (52 - wide)) << (bits - wide) | part[1] >> (52 - bits + wide)
                    self.assertEqual(len(set(boxes)), many)
            self.assertEqual(len({tuple(k[:, s * many]) for s in range(8)}), 8)


class Distributions(unittest.TestCase):
    FORMS = ({"value": "10 kg", "sd": "2 kg"}, {"value": "10 kg", "rsd": "20 %"}, {"median": "10 kg", "gsd": "1.2"},
             {"low": "5 kg", "mode": "8 kg", "high": "17 kg"}, {"low": "8 kg", "high": "12 kg"},
             {"values": ["9 kg", "10 kg", "12 kg", "9.5 kg", "10.5 kg"]}, {"values": ["9 kg", "11 kg"]})

    def read(self, q: dict) -> Any:
        return chance_draws.spread_of(q, ev.Units({}).mass)

    def test_mean_is_the_one_figure_that_serves(self) -> None:
        for q in self.FORMS:
            spread = self.read(q)
            mean, _ = integrate.quad(lambda x: x * spread.law.pdf(x), -60, 90, points=[5, 8, 10, 12, 17], limit=400)
            self.assertAlmostEqual(float(ev.Units({}).mass(q)), spread.mean, places=12)
            self.assertAlmostEqual(mean, spread.mean, places=4 if "values" in q else 7)

    def test_quantile_undoes_the_distribution_function(self) -> None:
        p = np.linspace(0.001, 0.999, 333)
        for q in self.FORMS:
            spread = self.read(q)
            np.testing.assert_allclose(spread.cdf(spread.ppf(p)), p, rtol=1e-12)

    def test_repeated_determinations(self) -> None:
        """JCGM 101 6.4.9: t of n − 1 degrees, scaled by the standard error; by hand, 9 and 11: mean 10, error 1."""
        five, two = self.read(self.FORMS[5]), self.read(self.FORMS[6])
        self.assertEqual((five.kind, two.kind), ("t", "normal"))
        self.assertEqual(two.law.args, (10.0, 1.0))
        self.assertAlmostEqual(five.ppf(0.975), 10.2 + 2.7764451051977987 * math.sqrt(5.3 / 4 / 5), places=9)

    def test_what_cannot_differ_is_certain(self) -> None:
        for q in ({"value": "3 kg", "sd": "0 kg"}, {"low": "3 kg", "high": "3 kg"}, {"median": "3 kg", "gsd": "1"},
                  {"values": ["3 kg"]}, {"values": ["3 kg", "3 kg"]}):
            self.assertIsNone(self.read(q))

    def test_averaged(self) -> None:
        """n 21: variance ratio 0.3575208 [C]; a lognormal's by moments of the average of a geometric motion, simulated."""
        normal = self.read(self.FORMS[0]).averaged(21)
        self.assertAlmostEqual(normal.law.var() / 4, 0.3575208, places=7)
        s, n = 0.3, 5
        steps = np.random.default_rng(3).normal(0, s / math.sqrt(n), (400_000, n))
        path = np.exp(np.cumsum(steps, axis=1) - s * s * np.arange(1, n + 1) / n / 2)
        ratio = path.mean(axis=1).var()
        self.assertAlmostEqual(math.expm1(chance_draws.averaged_log_sd(s, n) ** 2), ratio, delta=0.01 * ratio)
        log = self.read(self.FORMS[2]).averaged(21)
        self.assertAlmostEqual(log.law.mean(), self.read(self.FORMS[2]).mean, places=12)
        flat = self.read(self.FORMS[4])
        self.assertAlmostEqual(flat.averaged(21).ppf(1.0), 10 + 2 * math.sqrt(0.357520786), places=8)
        self.assertAlmostEqual(float(flat.averaged(21).cdf(flat.averaged(21).ppf(0.2))), 0.2, places=12)
        self.assertEqual(flat.averaged(1).ppf(0.3), flat.ppf(0.3))

    def test_cut_at_its_range(self) -> None:
        """A price of N(1, 1): Φ(−1) is cut away; the middle of what is left by SciPy's truncated normal."""
        one = Inputs(priced({"value": "1 USD/kg", "sd": "1 USD/kg"})).all[0]
        self.assertAlmostEqual(one.cut_off(), 0.15865525393145707, places=14)
        p = np.linspace(0.01, 0.99, 33)
        np.testing.assert_allclose(one.value(p), stats.truncnorm.ppf(p, -1, np.inf, 1, 1), rtol=1e-9)
        np.testing.assert_allclose(one.p_of(one.value(p)), p, rtol=1e-12)


class Together(unittest.TestCase):
    def plan(self) -> dict:
        curve = lambda: {"Au": {"logit": [{"value": "3", "sd": "0.1"}, {"value": "1", "sd": "0.1"}]}, "Ag": {"as": "Au"}}
        table = lambda: {"kind": "table", "curve": curve(), "cut": {"pull": "5 %"}}
        return chance_plans.plan({"Au": {"value": "5 g/t", "sd": "1 g/t"}, "Ag": "3 g/t"},
                                 {"Au": {"median": "80 USD/g", "gsd": "1.1"}, "Ag": {"low": "1 USD/g", "high": "2 USD/g"}}, {}, {"r": {"keep": True}},
                                 steps={"table": table(), "second": table()})

    def test_order_and_dimensions(self) -> None:
        """By the pointers' bytes, a space being less than a slash, whatever the order of the document."""
        plan = self.plan()
        plan["steps"]["table 2"] = {"kind": "table", "rate": {"low": "1 kg/h", "high": "2 kg/h"}, "cut": {"pull": "5 %"}}
        found = Inputs(plan, {"same": [["/steps/table/curve", "/steps/second/curve"], ["/prices/Ag", "/lot/assays/Au"]]})
        self.assertEqual([one.pointer for one in found.all],
                         ["/lot/assays/Au", "/prices/Ag", "/prices/Au", "/steps/second/curve/Au/logit/0", "/steps/second/curve/Au/logit/1",
                          "/steps/table 2/rate", "/steps/table/curve/Au/logit/0", "/steps/table/curve/Au/logit/1"])
        self.assertEqual(found.dimension, [0, 0, 1, 2, 3, 4, 2, 3])
        self.assertEqual(found.all[0].same, ["/prices/Ag"])
        values = found.values(found.draw("philox", 1, 50))
        np.testing.assert_array_equal(values[3], values[6])
        np.testing.assert_allclose(stats.norm.cdf(values[0], 5e-6, 1e-6), (values[1] - 1000) / 1000, rtol=1e-4)

    def test_errors(self) -> None:
        for options in ({"same": [["/prices/Au", "/prices/Ag"], ["/prices/Ag", "/lot/assays/Au"]]}, {"same": [["/prices/Au", "/prices/Pb"]]},
                        {"same": [["/steps/table/curve", "/prices"]]}, {"correlate": [["/prices/Au", "/prices/Au", "0.5"]]},
                        {"correlate": [["/prices/Au", "/prices/Ag", "1"]]}, {"averaged": [["/lot/wet_mass", 3]]},
                        {"correlate": [["/prices/Au", "/prices/Ag", "0.9"], ["/prices/Ag", "/lot/assays/Au", "0.9"],
                                       ["/prices/Au", "/lot/assays/Au", "-0.9"]]}):
            with self.assertRaises(ChanceError, msg=str(options)):
                Inputs(self.plan(), options)

    def test_copula(self) -> None:
        """Spearman's rank correlation is (6/π) arcsin(r/2); of a lognormal and a normal r is that of the logarithm."""
        found = Inputs(self.plan(), {"correlate": [["/prices/Au", "/lot/assays/Au", "0.7"], ["/prices/Ag", "/prices/Au", "-0.4"]]})
        assay, silver, price = found.values(found.draw("philox", 9, 200_000))[:3]
        self.assertAlmostEqual(np.corrcoef(np.log(price), assay)[0, 1], 0.7, delta=0.005)
        self.assertAlmostEqual(stats.spearmanr(price, silver)[0], 6 / math.pi * math.asin(-0.2), delta=0.007)
        self.assertAlmostEqual(np.corrcoef(silver, assay)[0, 1], 0.0, delta=0.007)
        rows = found.draw("philox", 9, 100)
        np.testing.assert_array_equal(rows[0], chance_draws.share_of(chance_draws.philox_column(9, 0, 100)))     # the first goes free
        self.assertEqual(len(rows), 7)

    def test_own_factors_and_currencies(self) -> None:
        plan = priced({"value": "10 PEN/g", "rsd": "10 %"}, exchange={"PEN": {"value": "0.25 USD", "sd": "0.01 USD"}})
        plan["lot"]["factors"] = {"g per ozt": "31"}
        plan["lot"]["wet_mass"] = {"low": "100 ozt", "high": "200 ozt"}
        found = {one.pointer: one for one in Inputs(plan).all}
        self.assertAlmostEqual(found["/lot/wet_mass"].value(1.0), 6.2, places=12)
        self.assertEqual((found["/prices/Au"].spread.mean, found["/prices/Au"].unit), (10_000.0, "PEN/kg"))


class Worths(unittest.TestCase):
    def test_by_hand(self) -> None:
        """1000 kg × 1000 g/t at 80, 0.3 and 71.5 USD/g; kept is worth nothing."""
        held = chance.Held(priced({"low": "70 USD/g", "high": "90 USD/g"}))
        for price in (80000.0, 300.0, 71500.0):
            worth = held.worth([price])
            self.assertEqual((float(worth["sold"]), float(worth["kept"])), (price, 0.0))

    def test_an_exchange_rate_is_one_for_all(self) -> None:
        plan = priced("100 PEN/g", exchange={"PEN": {"value": "0.25 USD", "sd": "0.01 USD"}})
        plan["terms"]["buyer"]["charges"] = [{"what": "sampling", "rate": "1000 PEN/lot"}]
        self.assertEqual(float(chance.Held(plan).worth([0.3])["sold"]), (100 * 1000 - 1000) * 0.3)

    def test_cuts_are_held(self) -> None:
        """Odds 20 cut at a recovery of 80 %: pull 1/6 held; at odds 40 the recovery is 8/9, on a lot of another grade."""
        plan = chance_plans.plan({"Au": {"value": "1000 g/t", "sd": "10 g/t"}}, {"Au": "1 USD/g"},
                                 {"buyer": {"buys": "concentrate", "pay": {"Au": {}}}},
                                 {"r": {"step": "t", "concentrate": {"sell": "buyer"}, "tailings": {"keep": True}}},
                                 steps={"t": {"kind": "table", "curve": {"Au": {"odds": {"value": "20", "sd": "2"}}},
                                              "cut": {"recovery": "80 %"}}})
        held = chance.Held(plan)
        self.assertAlmostEqual(float(held.worth([0.001, 20.0])["r"]), 800, places=9)
        self.assertAlmostEqual(float(held.worth([0.002, 40.0])["r"]), 2000 * 40 / 45, places=9)

    def test_a_stated_pull_is_drawn(self) -> None:
        plan = chance_plans.plan({"Au": "1000 g/t"}, {"Au": "1 USD/g"}, {"buyer": {"buys": "concentrate", "pay": {"Au": {}}}},
                                 {"r": {"step": "t", "concentrate": {"sell": "buyer"}, "tailings": {"keep": True}}},
                                 steps={"t": {"kind": "table", "curve": {"Au": {"odds": "20"}}, "cut": {"pull": {"low": "10 %", "high": "20 %"}}}})
        self.assertAlmostEqual(float(chance.Held(plan).worth([0.1])["r"]), 1000 * 2 / 2.9, places=9)

    def test_impossible_and_refused(self) -> None:
        plan = chance_plans.plan({"Au": {"value": "10 %", "sd": "1 %"}, "As": {"value": "60 %", "sd": "20 %"}}, {"Au": "1 USD/g"},
                                 {"buyer": {"buys": "concentrate", "accepts": {"Au": {"min": "9 %"}}, "pay": {"Au": {}}}},
                                 {"r": {"sell": "buyer"}, "k": {"keep": True}})
        held = chance.Held(plan)
        self.assertEqual(held.worth([0.5, 0.08]), {"r": None, "k": 0})
        self.assertIsNone(held.worth([0.9, 0.12]))

    def test_doubles_agree_with_fractions(self) -> None:
        for seed in (3, 8, 21, 34):
            plan, options = random_chance.random_request(seed)
            exact, quick = chance.Held(plan), chance_worth.Doubles(plan)
            values = exact.inputs.values(exact.inputs.draw("philox", 1, 6))
            for i in range(6):
                one, other = exact.worth(values[:, i]), quick.value(values[:, i])
                self.assertEqual(one is None, other is None)
                for x, y in zip((one or {}).values(), other or []):
                    self.assertAlmostEqual(float(x or 0), y, delta=1e-9 * max(1e4, abs(y)))


class Many(unittest.TestCase):
    """Figures of section 23 by hand on sixteen draws of two routes."""

    def setUp(self) -> None:
        a = np.arange(1.0, 17.0)                      # 1 … 16
        b = np.full(16, 8.0)
        self.sim = chance.Simulation(["a", "b"], np.array([a, b]), np.zeros((2, 16), bool),
                                     (np.arange(16.0)[None, :] + 0.5) / 16, "philox")

    def test_routes(self) -> None:
        a = self.sim.routes()["a"]
        self.assertEqual((a["mean"], a["low"], a["median"], a["high"], a["worst_mean"]), (8.5, 1.0, 8.0, 16.0, 1.0))
        self.assertAlmostEqual(a["sd"] ** 2, 16 * 17 / 12, places=12)
        self.assertAlmostEqual(a["standard_error"] ** 2, 17 / 12, places=12)
        self.assertEqual(a["best_share"], 9 / 16)     # at 8 both are worth as much: the first has it
        self.assertEqual(a["regret"], (7 + 6 + 5 + 4 + 3 + 2 + 1) / 16)
        self.assertEqual(self.sim.routes()["b"]["regret"], 36 / 16)

    def test_choices(self) -> None:
        self.assertEqual(self.sim.two(), (0, 1))
        lead = self.sim.lead(0, 1)
        self.assertEqual((lead["mean"], lead["ahead"], lead["taken"]), (0.5, 8.5 / 16, 16))
        self.assertEqual(self.sim.certainty()[0], 28 / 16)
        measures = self.sim.measures()
        self.assertEqual((measures["worst 5 % mean"].argmax(), measures["mean less sd"].argmax()), (1, 1))

    def test_a_refused_route_is_worth_nothing_and_never_best(self) -> None:
        worth = np.array([[0.0, 0.0, -1.0, 2.0] * 4, [-5.0, 3.0, -2.0, 0.0] * 4])
        refused = np.array([[True, True, False, False] * 4, [False, False, False, True] * 4])
        sim = chance.Simulation(["a", "b"], worth, refused, np.full((1, 16), 0.5), "philox")
        self.assertEqual([sim.routes()[n]["best_share"] for n in "ab"], [0.5, 0.25])
        self.assertEqual([sim.routes()[n]["regret"] for n in "ab"], [0.75, 2.0])     # 0, 3, 0, 0; 5, 0, 1, 2

    def test_a_lead_spreads_where_neither_is_refused(self) -> None:
        """Of 3, 3, −1, 2 and so on the 3 and 2 are of draws with a refusal: left are −1s, and the 4 of every other draw."""
        worth = np.array([[3.0, 0.0, -1.0, 2.0] * 4, [0.0, -3.0, 0.0, 0.0] * 4])
        worth[0, 2::8] = 4.0
        refused = np.array([[False, True, False, False] * 4, [True, False, False, True] * 4])
        sim = chance.Simulation(["a", "b"], worth, refused, np.tile([0.25, 0.25, 0.75, 0.75], 4)[None, :], "philox")
        lead = sim.lead(0, 1)
        self.assertEqual((lead["taken"], lead["mean"]), (4, (4 * 3 + 4 * 3 + 2 * 3 + 4 * 2) / 16))
        self.assertAlmostEqual(lead["sd"] ** 2, 25 / 3, places=12)    # of 4, −1, 4, −1
        self.assertEqual(sim.inputs((0, 1))[0]["share"], 0.0)         # one class holds all four

    def test_what_is_always_refused_is_no_choice(self) -> None:
        """−5 in all draws goes before another's 0 for being refused; where all others are, the largest of them is next."""
        worth = np.tile([[0.0], [-5.0], [0.0], [-7.0]], (1, 16))
        refused = np.tile([[True], [False], [True], [False]], (1, 16))
        sim = chance.Simulation(list("abcd"), worth, refused, np.full((1, 16), 0.5), "philox")
        self.assertEqual(sim.two(), (1, 3))
        sim.refused[3] = True
        self.assertEqual(sim.two(), (1, 0))
        sim.refused[1] = True
        self.assertEqual(sim.two(), (0, 2))

    def test_scramblings(self) -> None:
        """Means of the eighths 1.5, 3.5, … 15.5: their sd is 2 √6."""
        self.sim.method = "sobol"
        self.assertAlmostEqual(self.sim.of_mean(self.sim.v[0]), 2 * math.sqrt(6) / math.sqrt(8), places=12)

    def test_left_out(self) -> None:
        worth = self.sim.v.copy()
        worth[:, 3] = np.nan
        sim = chance.Simulation(["a", "b"], worth, np.zeros((2, 16), bool), self.sim.p, "philox")
        self.assertEqual((sim.n, sim.impossible), (15, 1 / 16))
        self.assertAlmostEqual(sim.mean[0], (136 - 4) / 15, places=12)

    def simulated(self, f: Any, dimensions: int, draws: int = 2**17) -> chance.Simulation:
        p = np.array([chance_draws.share_of(chance_draws.philox_column(4, d, draws)) for d in range(dimensions)])
        worth = np.array([f(stats.norm.ppf(p)), np.zeros(draws)])
        return chance.Simulation(["a", "b"], worth, np.zeros(worth.shape, bool), p, "philox")

    def test_shares_of_a_sum(self) -> None:
        """0.36, 0.64 and nothing of 0.6 x + 0.8 y; knowing both is worth L(0) [P/C], knowing x 0.6 of it."""
        sim = self.simulated(lambda z: 0.6 * z[0] + 0.8 * z[1], 3)
        found = sim.inputs((0, 1))
        for one, share, worth in zip(found, (0.36, 0.64, 0.0), (0.6, 0.8, 0.0)):
            self.assertAlmostEqual(one["share"], share, delta=0.01)
            self.assertAlmostEqual(one["worth"], worth * 0.3989423, delta=4 * one["standard_error"] + 1e-3)
        self.assertAlmostEqual(sim.certainty()[0], 0.3989423, delta=4 * sim.certainty()[1])

    def test_shares_of_a_product(self) -> None:
        """First-order shares of (1 + x)(2 + y/2): 4, 1/4 and 1/4 of 4.5 [exact]."""
        found = self.simulated(lambda z: (1 + z[0]) * (2 + z[1] / 2), 2).inputs((0, 1))
        self.assertAlmostEqual(found[0]["share"], 4 / 4.5, delta=0.01)
        self.assertAlmostEqual(found[1]["share"], 0.25 / 4.5, delta=0.01)

    def test_sobol_g(self) -> None:
        """Sobol's g-function, a = (0, 1, 4.5, 9, 99, 99, 99, 99): 0.716192, 0.179048, 0.023676, 0.007162 [P/M]."""
        a = np.array([0, 1, 4.5, 9, 99, 99, 99, 99])[:, None]
        p = np.array([chance_draws.share_of(chance_draws.philox_column(4, d, 2**17)) for d in range(8)])
        worth = np.array([np.prod((np.abs(4 * p - 2) + a) / (1 + a), axis=0), np.zeros(2**17)])
        sim = chance.Simulation(["g", "0"], worth, np.zeros(worth.shape, bool), p, "philox")
        self.assertAlmostEqual(sim.sd[0] ** 2, 0.4654244319, delta=0.01)
        for one, wanted in zip(sim.inputs((0, 1)), (0.716192, 0.179048, 0.023676, 0.007162)):
            self.assertAlmostEqual(one["share"], wanted, delta=0.006)


class OneMoreAssay(unittest.TestCase):
    def test_closed_forms(self) -> None:
        """L(0), L(1), L(2), L(10) [P/C]; advantage N(m, s²), n assays of error e [C]."""
        for z, wanted in ((0, 0.3989423), (1, 0.0833155), (2, 0.0084907)):
            self.assertAlmostEqual(chance_worth.loss(z), wanted, places=7)
        self.assertAlmostEqual(chance_worth.loss(10) / 7.47456e-25, 1, places=5)
        for (m, s, e, n), wanted in (((50, 100, 200, 1), 2.960916), ((50, 100, 200, 4), 9.982061),
                                     ((50, 100, 200, math.inf), 19.779656), ((0, 100, 100, 1), 28.209479)):
            self.assertAlmostEqual(chance_worth.advantage(m, s, e, n), wanted, places=6)

    def test_quadrature_gives_the_closed_forms(self) -> None:
        for m, error, counts in ((50, 200e-6, {1: 2.960916, 4: 9.982061}), (0, 100e-6, {1: 28.209479})):
            k = chance_worth.known(chance_plans.by_assay_or_fixed(str(1000 + m), "100", "1000"), "/lot/assays/Au")
            for n, wanted in counts.items():
                self.assertAlmostEqual(k.measured(np.full_like(k.x, error), n), wanted, delta=2e-4 * wanted)
            if m == 50:
                self.assertAlmostEqual(k.certain(), 19.779656, delta=2e-4)

    def test_driller(self) -> None:
        """EVPI 35, EMV 20 [M: Raiffa, Decision Analysis, 1968, printed figures from memory]."""
        k = chance_worth.known(chance_plans.driller(), "/lot/assays/As", breaks=(0.005, 0.008))
        self.assertAlmostEqual(k.certain(), 35, places=9)
        self.assertAlmostEqual(float(k.v[0] @ k.weight), 20, places=9)

    def test_classes_tell_a_little_less(self) -> None:
        """x even from 0 to 128 against 65, the middle of the class from 64 to 66, in which both are worth as much."""
        plan = chance_plans.by_assay_or_fixed("64", "1", "65")
        plan["lot"]["assays"]["Au"] = {"low": "0 g/t", "high": "128 g/t"}
        k = chance_worth.known(plan, "/lot/assays/Au", breaks=(65e-6,))
        self.assertAlmostEqual(k.certain(), (65 * 65 + (128**2 - 65**2) / 2) / 128 - 65, places=9)
        self.assertAlmostEqual(k.by_class(), (64 * 65 + (128**2 - 64**2) / 2) / 128 - 65, places=9)

    def test_pair(self) -> None:
        """Knowing gold alone: of the lead, whose mean given gold is 50 + (1 − 0.8 × 350/200)(x − 2300), 0.4 × 200 L(50/80)."""
        plan, options = chance_plans.pair()
        k = chance_worth.known(plan, "/lot/assays/Au", options)
        self.assertAlmostEqual(k.certain(), 80 * chance_worth.loss(50 / 80), delta=0.01)

    def test_bounds_on_small_plans(self) -> None:
        for seed in range(1, 5):
            plan, request = random_chance.small_request(seed)
            k = chance_worth.known(plan, "/lot/assays/Au", request, x_points=2)
            error = chance_worth.error_of(request["candidates"][0], k, ev.Units({}).grade)
            worths = [k.measured(error, n) for n in (1, 4, 64)]
            self.assertTrue(-1e-6 <= worths[0] <= worths[1] + 1e-6 <= worths[2] + 2e-6 <= k.certain() + 1e-3, (seed, worths, k.certain()))


class Imitation:
    """In the library's place, so that the run that compares can be tried: answers from the evaluator itself."""

    def __init__(self, spoil: Any = None):
        self.spoil = spoil or (lambda answer, theirs, kept: None)

    def compare(self, plan: dict, options: Any = None) -> dict:
        found = ev.compare(plan)
        routes = {name: {"conditional": [], "present_value": None if r["present_value"] is None else f"{float(r['present_value']):.6f}",
                         "cut": {t: [f"{float(y) * 100:.15g} %" for y in ys] for t, ys in r["cut"].items()}}
                  for name, r in found["routes"].items()}
        return {"best": found["best"], "routes": routes}

    def kept(self, plan: dict, options: dict, pointers: list[str]) -> tuple[dict, np.ndarray, np.ndarray]:
        inputs, held = Inputs(plan, options), chance_worth.Doubles(plan)
        p = inputs.draw(options["method"], options["seed"], options["draws"])
        values = inputs.values(p)
        theirs = np.array([held.value(values[:, i]) or [math.nan] * len(held.routes) for i in range(options["draws"])]).T
        sim = chance.Simulation(held.routes, theirs, np.zeros(theirs.shape, bool), p, options["method"], options.get("prefer", "mean"))
        answer = self.answer(plan, options, inputs, sim)
        kept = values.copy()
        self.spoil(answer, theirs, kept)
        self.last = answer
        return answer, theirs, kept

    def text(self, call: str, plan: dict, options: dict) -> str:
        return json.dumps(self.last)

    def answer(self, plan: dict, options: dict, inputs: Inputs, sim: chance.Simulation) -> dict:
        money, share = lambda x: f"{x:.6f}", lambda x: f"{100 * x:.9f} %"
        told = lambda figures: {k: share(x) if k in ("best_share", "refused_share", "ahead", "share") else money(x) for k, x in figures.items()}
        plain, (one, other) = self.compare(plan), sim.two()
        choice = {what: sim.names[sim.choice(m)] for what, m in sim.measures().items()}
        lead = sim.lead(one, other)
        del lead["taken"]                             # none is ever refused here
        rows = [{"of": inputs.all[i].pointer, "name": "", "same": inputs.all[i].same, "cut_off": f"{100 * inputs.all[i].cut_off():.9g} %", **told(row)}
                for i, row in zip(inputs.first, sim.inputs((one, other)))]
        value, error = sim.certainty()
        return {"format": "buttonworth-simulation/1", "currency": plan["currency"], "draws": options["draws"], "counted": sim.n,
                "impossible": share(sim.impossible), "method": options["method"], "seed": options["seed"],
                "routes": {n: {"plan": plain["routes"][n]["present_value"], "conditional": [], **told(r)} for n, r in sim.routes().items()},
                "choices": {"plan": plain["best"], **choice}, "preferred": choice[sim.preferring()],
                "lead": {"over": sim.names[other], **told(lead)},
                "worth_of_certainty": money(value), "worth_standard_error": money(error),
                "inputs": sorted(rows, key=lambda r: -float(r["share"].split()[0])), "words": [], "cautions": []}


class TheRun(unittest.TestCase):
    """The run agrees with an imitation of the library and tells whatever is spoilt in it."""

    @classmethod
    def setUpClass(cls) -> None:
        cls.plan = chance_plans.plan({"Au": {"value": "1000 g/t", "sd": "120 g/t"}}, {"Au": {"low": "60 USD/g", "high": "90 USD/g"}},
                                     {"buyer": {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}}},
                                      "gate": {"buys": "concentrate", "deemed": {"Au": "880 g/t"}, "pay": {"Au": {}}}},
                                     {"sold": {"sell": "buyer"}, "gate": {"sell": "gate"}})
        cls.options = {"draws": 512, "seed": 3, "method": "philox", "keep": True}

    def told(self, spoil: Any = None) -> list[str]:
        return chance_run.differences(Imitation(spoil), copy.deepcopy(self.plan), self.options, Counter())

    def test_agrees(self) -> None:
        self.assertEqual(self.told(), [])

    def test_tells_every_figure_that_is_spoilt(self) -> None:
        def figures(at: Any, place: tuple) -> Any:
            for key, value in (at.items() if isinstance(at, dict) else enumerate(at)):
                if isinstance(value, (dict, list)):
                    yield from figures(value, place + (key,))
                elif isinstance(value, str) and key not in ("format", "currency", "method", "name"):
                    yield place + (key,)
        sound = Imitation()
        sound.kept(self.plan, self.options, [])
        places = list(figures(sound.last, ()))
        self.assertGreater(len(places), 35)
        for place in places:
            def spoil(answer: dict, theirs: Any, kept: Any) -> None:
                at = answer
                for key in place[:-1]:
                    at = at[key]
                body, _, unit = at[place[-1]].partition(" ")
                try:
                    at[place[-1]] = f"{float(body) * 1.001 + 0.001:.6f} {unit}".strip()
                except ValueError:
                    at[place[-1]] = "sold" if at[place[-1]] == "gate" else "gate"
            told = []
            try:
                told = self.told(spoil)
            except (KeyError, ValueError) as nonsense:
                told = [repr(nonsense)]
            self.assertTrue(told, place)

    def test_tells_a_draw_that_is_spoilt(self) -> None:
        def one_value(answer: dict, theirs: Any, kept: Any) -> None:
            kept[0, 77] *= 1 + 1e-8
        def all_routes(answer: dict, theirs: Any, kept: Any) -> None:
            theirs *= 1 + 1e-7
        self.assertTrue(self.told(one_value))
        self.assertTrue(self.told(all_routes))


if __name__ == "__main__":
    unittest.main()
