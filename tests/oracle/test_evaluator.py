"""Hand-computed checks of the plain evaluator.

Tags: [P] printed in the source named; [M] quoted from memory and recomputed;
[C] computed two independent ways. Rows without a source are worked by hand here.
"""

from __future__ import annotations

import copy
import unittest
from fractions import Fraction
from typing import Any

import evaluator as ev
import plans
import run

F = Fraction


def plan_of(lot: dict, terms: dict, prices: dict, **more: Any) -> dict:
    """A plan whose one route sells the lot as it is."""
    return {"format": "buttonworth-plan/1", "currency": "USD", "prices": prices, "discount": "0 %/a",
            "lot": lot, "steps": more.pop("steps", {}), "terms": {"buyer": terms},
            "routes": {"sell": more.pop("route", {"sell": "buyer"})}, **more}


def sold(plan: dict) -> dict:
    return ev.compare(plan)["routes"]["sell"]


def line(route: dict, what: str) -> Fraction:
    return sum((x["amount"] for x in route["lines"] if x["what"] == what), F(0))


def penalty_of(assays: dict, penalty: dict) -> Fraction:
    """The one penalty on a tonne of dry lot."""
    terms = {"buys": "concentrate", "pay": {}, "penalties": [penalty]}
    route = sold(plan_of({"wet_mass": "1 t", "assays": assays}, terms, {}))
    return -route["lines"][0]["amount"]


def upgraded(curve: dict, cut: Any, assays: dict, **more: Any) -> dict:
    """A tonne over a table, everything sold for nothing: products in order."""
    step = {"kind": "table", "curve": curve, "cut": cut, **more}
    ends = {o: {"sell": "buyer"} for o in ev.TABLE_OUTPUTS}
    return sold(plan_of({"wet_mass": "1 t", "assays": assays}, {"buys": "concentrate", "pay": {}}, {},
                        steps={"table": step}, route={"step": "table", **ends}))


class Units(unittest.TestCase):
    """Section 1."""

    def setUp(self) -> None:
        self.units = ev.Units({"USD": F(1), "USc": F(1, 100)})

    def test_exact_grades(self) -> None:
        # [C, exact] 1 ozt/st = 240/7 g/t, 1 dwt/st = 12/7 g/t, 1 ozt/lt = 1500/49 g/t
        self.assertEqual(self.units.grade("1 ozt/st"), F(240, 7) / 10**6)
        self.assertEqual(self.units.grade("1 dwt/st"), F(12, 7) / 10**6)
        self.assertEqual(self.units.grade("1 ozt/lt"), F(1500, 49) / 10**6)

    def test_masses(self) -> None:
        # [P] UK Weights and Measures Act 1985, Sch. 1 Part V; [M] NIST Handbook 44 App. C
        self.assertEqual(self.units.mass("1 ozt") / self.units.mass("1 lb"), F(12, 175))
        self.assertEqual(self.units.mass("1 st"), F("907.18474"))
        self.assertEqual(self.units.mass("1 lt"), F("1016.0469088"))
        self.assertEqual(self.units.mass("20 dwt"), self.units.mass("1 ozt"))
        self.assertEqual(self.units.mass("480 gr"), self.units.mass("1 ozt"))
        # [C] 12.4780 kg = 401.17702 ozt
        self.assertEqual(round(self.units.mass("12.4780 kg") / self.units.mass("1 ozt"), 5), F("401.17702"))

    def test_karat(self) -> None:
        # [P] T. K. Rose, The Metallurgy of Gold, Table XIII: 22 ct = 916.7, 18 = 750, 9 = 375 fine
        self.assertEqual(round(self.units.grade("22 kt") * 1000, 1), F("916.7"))
        self.assertEqual(self.units.grade("18 kt"), self.units.grade("750 fine"))
        self.assertEqual(self.units.grade("9 kt"), self.units.grade("375 fine"))

    def test_own_factors(self) -> None:
        own = self.units.inside({"g per ozt": "31.1035", "lb per t": "2204.62"})
        self.assertEqual(own.mass("2 ozt"), F("62.2070") / 1000)
        self.assertEqual(own.mass("20 dwt"), own.mass("1 ozt"))
        self.assertEqual(own.mass("1 st"), 2000 * own.mass("1 lb"))
        part = own.inside({"g per ozt": "31.1"})
        self.assertEqual(part.mass("1 ozt"), F("0.0311"))
        self.assertEqual(part.mass("1 lb"), own.mass("1 lb"))

    def test_refused(self) -> None:
        for text in ("1 oz", "1 ton", "1,5 kg", "1e3 kg", "NaN kg", 5, "5"):
            with self.assertRaises(ev.PlanError):
                self.units.mass(text)

    def test_means(self) -> None:
        self.assertEqual(self.units.mass({"low": "1 kg", "mode": "2 kg", "high": "6 kg"}), 3)
        self.assertEqual(self.units.mass({"low": "1 kg", "high": "4000 g"}), F(5, 2))
        self.assertEqual(self.units.mass({"values": ["1 kg", "2 kg", "6 kg"]}), 3)
        self.assertEqual(self.units.mass({"value": "2 kg", "rsd": "4 %"}), 2)
        # median 100, gsd 1.15: 100 exp(ln(1.15)^2 / 2) = 100.98142, by hand
        self.assertAlmostEqual(float(self.units.grade({"median": "100 g/t", "gsd": "1.15"})) * 1e6,
                               100.98142, places=4)


class SaleTerms(unittest.TestCase):
    """Section 4, the published rows."""

    def test_zinc_with_escalator(self) -> None:
        # [P] "Calculo de valor de concentrado", scribd 515649007; unrounded total 55,538.91:
        # the print rounds payable zinc to 0.01 t, so this is checked against the unrounded figure
        terms = {"buys": "concentrate", "mass_deduction": "0.5 %",
                 "pay": {"Zn": {"share": "85 %"},
                         "Ag": {"share": "90 %", "less": "5 ozt/t", "order": "less first",
                                "refining": "2 USD/ozt"}},
                 "charges": [{"what": "treatment", "rate": "140 USD/t"}],
                 "penalties": [{"for": ["As"], "above": "0.2 %", "each": "0.1 %", "rate": "1.5 USD/t"}],
                 "participation": [{"for": "Zn", "above": "900 USD/t", "each": "1 USD/t",
                                    "rate": "0.10 USD/t"}]}
        lot = {"wet_mass": "200 t", "moisture": "10 %",
               "assays": {"Zn": "50 %", "Ag": "9 ozt/t", "As": "0.5 %"}}
        route = sold(plan_of(lot, terms, {"Zn": "1000 USD/t", "Ag": "13 USD/ozt"}))
        self.assertEqual(route["metal"]["Zn"]["payable"] / 1000, F("76.1175"))
        self.assertEqual(line(route, "treatment"), -25074)
        self.assertEqual(line(route, "participation Zn"), -1791)
        self.assertEqual(round(line(route, "penalty As")), -806)
        self.assertEqual(round(line(route, "value Ag") + line(route, "refining Ag")), 7092)
        self.assertEqual(round(route["net"], 2), F("55538.91"))

    def test_gold_bar_lot(self) -> None:
        # [P] kaizengold.com, "Gold refinery settlement process": 22.79 kg fine, 732.7 ozt, 725.34 paid
        fine = F("24.96") * F("0.913")
        ounces = fine / ev.OUNCE
        self.assertEqual(round(fine, 2), F("22.79"))
        self.assertEqual(round(ounces, 1), F("732.7"))
        units = ev.Units({"USD": F(1)})
        sale = ev.Sale("buyer", {}, units, ev.Material("bar", F("24.96"), F(0), {"Au": fine}, F(0)))
        paid = ev.payable_grade(sale, {"share": "99 %"}, F("0.913")) * F("24.96") / ev.OUNCE
        self.assertEqual(round(paid, 2), F("725.34"))

    def test_gold_bands(self) -> None:
        # [P] US SEC EDGAR, exhibit 10.13, filer 1493893, 2010: assay rounded to 0.01 g/t first
        bands = [["20 g/t", "91 %"], ["30 g/t", "92 %"], ["40 g/t", "93 %"], ["60 g/t", "94 %"],
                 ["70 g/t", "95 %"], ["80 g/t", "96 %"]]
        terms = {"buys": "concentrate", "pay": {"Au": {"bands": bands}}, "rounding": {"Au": "0.01 g/t"}}
        for assay, share, used in (("29.994", "0.91", "29.99"), ("29.995", "0.92", "30"),
                                   ("39.99", "0.92", "39.99"), ("40", "0.93", "40"),
                                   ("79.99", "0.95", "79.99"), ("80", "0.96", "80"), ("19.99", "0", "0")):
            route = sold(plan_of({"wet_mass": "1 t", "assays": {"Au": f"{assay} g/t"}}, terms,
                                 {"Au": "1 USD/g"}))
            self.assertEqual(route["net"], F(share) * F(used), assay)

    def test_whichever_is_lower(self) -> None:
        # [P, unit cut in the text] SEC EDGAR filer 319671, July 2013; [C] 3 -> 2.0, 5 -> 4.0, 20 -> 16.0
        terms = {"buys": "concentrate", "pay": {"Au": {"share": "80 %", "less": "1 g/t"}}}
        for assay, paid in ((3, 2), (5, 4), (20, 16)):
            route = sold(plan_of({"wet_mass": "1 t", "assays": {"Au": f"{assay} g/t"}}, terms,
                                 {"Au": "1 USD/g"}))
            self.assertEqual(route["net"], paid)

    def test_pro_rata_penalties(self) -> None:
        # [P] lawinsider.com, clause "Refining charges"; [C] 0.63 % -> 6.90, 0.137 % Bi -> 5.55
        both = {"for": ["As", "Sb"], "above": "0.4 %", "each": "0.10 %", "rate": "3.00 USD/t"}
        self.assertEqual(penalty_of({"As": "0.4 %", "Sb": "0.23 %"}, both), F("6.90"))
        bismuth = {"for": ["Bi"], "above": "0.1 %", "each": "0.01 %", "rate": "1.50 USD/t"}
        self.assertEqual(penalty_of({"Bi": "0.137 %"}, bismuth), F("5.55"))

    def test_bar_impurities(self) -> None:
        # [P] SEC EDGAR filer 1164099, refining schedule, 2009; [C] 1000 ozt at 0.02 % and 0.03 % -> 150,
        # 0.11 % -> refused
        penalty = {"for": ["As"], "refuse_above": "0.10 %",
                   "whole": [{"up_to": "0.01 %", "rate": "0 USD/ozt"}, {"up_to": "0.03 %", "rate": "0.15 USD/ozt"},
                             {"up_to": "0.05 %", "rate": "0.25 USD/ozt"}, {"up_to": "0.10 %", "rate": "0.40 USD/ozt"}]}
        terms = {"buys": "concentrate", "pay": {}, "penalties": [penalty]}
        for assay, net in (("0.01", F(0)), ("0.02", F(-150)), ("0.03", F(-150)), ("0.05", F(-250)),
                           ("0.10", F(-400)), ("0.11", None)):
            route = sold(plan_of({"wet_mass": "1000 ozt", "assays": {"As": f"{assay} %"}}, terms, {}))
            self.assertEqual(route["net"], net, assay)
            self.assertEqual(bool(route["refused"]), net is None)

    def test_whole_and_marginal_steps(self) -> None:
        whole = {"for": ["As"], "above": "0.2 %", "each": "0.1 %", "rate": "3 USD/t", "count": "whole"}
        self.assertEqual(penalty_of({"As": "0.5 %"}, whole), 9)
        self.assertEqual(penalty_of({"As": "0.4999 %"}, whole), 6)
        tiers = {"for": ["As"], "marginal": [{"above": "0.2 %", "each": "0.1 %", "rate": "3 USD/t"},
                                             {"above": "0.5 %", "each": "0.1 %", "rate": "5 USD/t"}]}
        self.assertEqual(penalty_of({"As": "0.65 %"}, tiers), F("16.5"))
        self.assertEqual(penalty_of({"As": "0.65 %"}, {**tiers, "count": "whole"}), 14)

    def test_cash(self) -> None:
        """Advance, interest, levy and refund on their days, worked by hand."""
        terms = {"buys": "concentrate", "transit": "10 d", "pay": {"Au": {}}, "final": "45 d",
                 "advance": {"share": "80 %", "after": "8.5 d", "interest": "10 %/a"}}
        levy = {"what": "royalty", "rate": "5 %", "of": "payable value", "after": "30 d",
                "refund": {"share": "40 %", "after": "15 d"}}
        route = sold(plan_of({"wet_mass": "1 t", "assays": {"Au": "1000 g/t"}}, terms, {"Au": "1 USD/g"},
                             levies=[levy]))
        self.assertEqual([(d["day"], d["amount"]) for d in route["cash_days"]],
                         [(F("18.5"), F(800)), (55, F(192)), (85, F(-50)), (100, F(20))])
        self.assertEqual(route["net"], 962)
        self.assertEqual(line(route, "interest"), -8)


class Upgrading(unittest.TestCase):
    """Section 3, tables."""

    def test_two_products(self) -> None:
        # [C] f, c, t = 1.0, 10.0, 0.2: yield 8.16327 %, recovery 81.6327 %
        pull = F(8, 10) / F("9.8")
        self.assertEqual(round(pull * 100, 5), F("8.16327"))
        curve = {"Pb": [[f"{float(pull * 100):.15f} %", f"{float(pull * 1000):.14f} %"]]}
        route = upgraded(curve, {"grade": "10 %"}, {"Pb": "1.0 %"})
        self.assertEqual(round(route["cut"]["table"][0] * 100, 5), F("8.16327"))
        self.assertAlmostEqual(float(route["products"][0]["assays"]["Pb"]), 0.1, places=12)
        self.assertAlmostEqual(float(route["products"][1]["assays"]["Pb"]), 0.002, places=12)

    def test_copper(self) -> None:
        # [M] Wills' Mineral Processing Technology: 0.8, 25, 0.15 % Cu: recovery 81.740 %, ratio 38.2308
        pull = F("0.65") / F("24.85")
        self.assertEqual(round(1 / pull, 4), F("38.2308"))
        self.assertEqual(round(pull * 25 / F("0.8") * 100, 2), F("81.74"))
        # odds through that point: S = R (1 - y) / ((1 - R) y)
        r = pull * 25 / F("0.8")
        odds = plans.long_decimal(r * (1 - pull) / ((1 - r) * pull), 30)
        route = upgraded({"Cu": {"odds": odds}}, {"grade": "25 %", "of": "Cu"}, {"Cu": "0.8 %"})
        self.assertAlmostEqual(float(route["cut"]["table"][0]), float(pull), places=14)

    def test_shaking_table(self) -> None:
        # [P] New Zealand, Appendix to the Journals of the House of Representatives, 1917, C-2, p. 43:
        # 12.25 % pull with 60 % recovery, 43.7 with 75; measured points are met exactly
        curve = {"Au": [["12.25 %", "60 %"], ["43.7 %", "75 %"]]}
        route = upgraded(curve, {"recovery": "75 %"}, {"Au": "10 g/t"})
        self.assertAlmostEqual(float(route["cut"]["table"][0]), 0.437, places=14)
        self.assertEqual(ev.Points([(F("0.1225"), F("0.6")), (F("0.437"), F("0.75"))]).at(F("0.1225")),
                         F("0.6"))

    def test_slopes(self) -> None:
        """Knots 0, 1/4, 1 with 0, 3/4, 1: by hand 3.75, 10/11 x 3/4 ..., the end bounded."""
        slopes = ev.Points([(F(1, 4), F(3, 4))]).d
        # inner: h 1/4, 3/4, slopes 3, 1/3: w1 = 7/4, w2 = 5/4: 3 / (7/12 + 15/4) = 9/13
        self.assertEqual(slopes[1], F(9, 13))
        # first: ((2/4 + 3/4) 3 - 1/4 x 1/3) / 1 = 11/3
        self.assertEqual(slopes[0], F(11, 3))
        # last: ((6/4 + 1/4)/3 - 3/4 x 3) / 1 < 0, put to 0
        self.assertEqual(slopes[2], 0)

    def test_mass_is_kept(self) -> None:
        route = upgraded({"Au": {"odds": "120"}, "Ag": {"as": "Au"}, "Fe": {"as": "gangue"}},
                         {"pull": "3 %"}, {"Au": "40 g/t", "Ag": "90 g/t", "Fe": "12 %"},
                         middlings="10 %", limit={"Au": "880 fine"})
        for analyte, grade in (("Au", F(40, 10**6)), ("Ag", F(90, 10**6)), ("Fe", F(12, 100))):
            sold_mass = sum(p["dry_mass"] * p["assays"][analyte] for p in route["products"])
            self.assertEqual(sold_mass, 1000 * grade)
        gold = route["products"][0]["dry_mass"] * route["products"][0]["assays"]["Au"]
        self.assertEqual(gold, F(40, 1000) * 120 * F(3, 100) / (F(97, 100) + 120 * F(3, 100)))

    def test_logit(self) -> None:
        # a = 0, b = 2: odds of R the square of those of y, so 1/17 at 1/5; R/y is largest where y^2 = 1/2
        curve = ev.Logit(F(0), F(2))
        self.assertAlmostEqual(float(curve.at(F(1, 5)) * 17), 1, places=14)
        self.assertAlmostEqual(float(curve.pull_for_recovery(F(1, 17))), 0.2, places=14)
        self.assertIsNone(curve.largest_pull_with(F("1.20711")))          # (1 + sqrt 2) / 2 = 1.2071067...
        self.assertAlmostEqual(float(curve.largest_pull_with(F("1.2071067811"))), 0.5 ** 0.5, places=4)
        # b = 1/2: at 1/5 R = 1/3
        self.assertAlmostEqual(float(ev.Logit(F(0), F(1, 2)).largest_pull_with(F(5, 3))), 0.2, places=14)

    def test_saturating(self) -> None:
        # k = 10 ln 2: half of the limit at 1/10
        curve = ev.Saturating(F("0.9"), F("6.931471805599453094"))
        self.assertAlmostEqual(float(curve.at(F(1, 10))), 0.45, places=14)
        self.assertAlmostEqual(float(curve.pull_for_recovery(F("0.675"))), 0.2, places=14)
        self.assertAlmostEqual(float(curve.largest_pull_with(F("4.5"))), 0.1, places=14)
        self.assertIsNone(curve.largest_pull_with(F("6.239")))
        with self.assertRaises(ev.PlanError):
            curve.pull_for_recovery(F("0.9"))

    def test_too_much_metal(self) -> None:
        with self.assertRaises(ev.PlanError):
            upgraded({"S": [["5 %", "90 %"]]}, {"pull": "5 %"}, {"S": "20 %"})


class DryingAndMelting(unittest.TestCase):
    """Section 3, dry and melt."""

    def dried(self, **more: Any) -> ev.Ledger:
        plan = plan_of({"wet_mass": "1000 kg", "moisture": "12 %", "assays": {"Au": "100 g/t"}},
                       {"buys": "concentrate", "pay": {}}, {},
                       steps={"pan": {"kind": "dry", "to": "0.5 %", "dust": "1 %", **more}},
                       route={"step": "pan", "dried": {"keep": True}})
        return ev.run_route(ev.Comparison(plan), "sell", plan["routes"]["sell"])

    def test_evaporation(self) -> None:
        # [C] 1000 kg at 12 % to 0.5 %: 115.577889 kg evaporated, 98.285 kWh before efficiency. That figure
        # comes out with 2591.7 kJ/kg from water at 20 to vapour at 100 degC, the printed steam-table row
        # (not with the latent heat of 2257 its note names, which gives 98.301); the page's own
        # 2256.4 + 4.19 x 80 = 2591.6 is 0.1 kJ/kg less
        book = self.dried(efficiency="100 %")
        left = F(880) * F(5, 995)
        self.assertEqual(round(120 - left, 6), F("115.577889"))
        energy = book.work[0]["energy"]
        self.assertEqual(round(energy + (120 - left) * F(1, 10) / 3600, 3), F("98.285"))
        self.assertEqual(round(energy, 4), F("98.2817"))
        self.assertEqual(book.metal["Au"]["lost"], {"pan dust": F(88, 1000) / 100})

    def test_open_pan(self) -> None:
        self.assertEqual(self.dried().work[0]["energy"],
                         self.dried(efficiency="100 %").work[0]["energy"] * 10 / 3)

    def melted(self, step: dict, moisture: str = "0 %") -> ev.Ledger:
        plan = plan_of({"wet_mass": "100 kg", "moisture": moisture, "assays": {"Au": "10 %", "Ag": "2 %"}},
                       {"buys": "bar", "pay": {"Au": {}}}, {"Au": "60 USD/g"},
                       steps={"furnace": {"kind": "melt", **step}},
                       route={"step": "furnace", "bar": {"sell": "buyer"}, "slag": {"keep": True}})
        return ev.run_route(ev.Comparison(plan), "sell", plan["routes"]["sell"])

    def test_slag_grade(self) -> None:
        """slag = (100 + 50 x 0.584774 - 10) / (1 - 0.001), gold left in it 0.1 % of that."""
        book = self.melted({"slag_grade": {"Au": "1000 g/t"},
                            "flux": [{"reagent": "soda ash", "dose": "0.5 kg/kg", "of": "charge"}]})
        slag = (90 + F("29.2387")) / (1 - F(1, 1000))
        self.assertEqual(book.metal["Au"]["kept"], slag / 1000)

    def test_melts(self) -> None:
        pot = {"volume": "10 L", "fill": "80 %", "density": "2.5 kg/L"}
        for dose, melts in (("0", 5), ("0.2", 6), ("0.2000000000001", 6), ("0.200001", 7)):
            book = self.melted({"to_bar": {"Au": "99 %"}, "per_melt": "90 min", "crucible": pot,
                                "flux": [{"reagent": "borax", "dose": f"{dose} kg/kg", "of": "charge"}]})
            self.assertEqual(book.work[0]["melts"], melts)
            self.assertEqual(book.work[0]["hours"], F(3, 2) * melts)

    def test_wet_charge(self) -> None:
        step = {"to_bar": {"Au": "99 %"}}
        self.assertFalse(self.melted(step, "0.5 %").refused)
        self.assertTrue(self.melted(step, "0.500001 %").refused)


class Edges(unittest.TestCase):
    """Section 1, equal to 1 part in 10^12, and section 4, rounding."""

    def test_equal(self) -> None:
        self.assertTrue(ev.equal(F(1), 1 + F(9, 10**13)))
        self.assertFalse(ev.equal(F(1), 1 + F(11, 10**13)))

    def test_rounding(self) -> None:
        cent = F(1, 100)
        for x, even, up, down in (("0.125", "0.12", "0.13", "0.12"), ("0.135", "0.14", "0.14", "0.13"),
                                  ("0.1349", "0.13", "0.13", "0.13"), ("-0.125", "-0.12", "-0.13", "-0.12"),
                                  ("0.12999999999999999", "0.13", "0.13", "0.13"),
                                  ("0.12500000000000001", "0.12", "0.13", "0.12")):
            for mode, wanted in (("half even", even), ("half up", up), ("down", down)):
                self.assertEqual(ev.round_to(F(x), cent, mode), F(wanted), (x, mode))


class RandomPlans(unittest.TestCase):
    """The generator and the comparer, without a library."""

    def test_repeatable(self) -> None:
        for seed in range(20):
            self.assertEqual(plans.random_plan(seed), plans.random_plan(seed))

    def test_metal_is_conserved(self) -> None:
        for seed in range(40):
            try:
                answer = ev.compare(plans.random_plan(seed))
            except ev.PlanError:
                continue
            for route in answer["routes"].values():
                for m in route["metal"].values():
                    out = m["payable"] + m["unpaid"] + m["returned"] + m["kept"] + sum(m["lost"].values())
                    self.assertLessEqual(abs(out - m["fed"]), m["fed"] / 10**30)

    def test_comparer(self) -> None:
        """An answer printed from the oracle agrees with it, and a changed one does not."""
        told = 0
        for seed in range(1, 40):
            plan = plans.random_plan(seed)
            try:
                wanted = ev.compare(plan)
            except ev.PlanError:
                continue
            answer = printed(wanted)
            self.assertEqual(run.Check(plan, answer, 1).whole(wanted), [], seed)
            for change in (change_line, change_product, change_metal, change_refused):
                other = copy.deepcopy(answer)
                if change(other):
                    told += 1
                    self.assertTrue(run.Check(plan, other, 1).whole(wanted), (seed, change.__name__))
        self.assertGreater(told, 50)


def printed(wanted: dict) -> dict:
    """The oracle's answer in the form of section 5."""
    routes = {}
    for name, r in wanted["routes"].items():
        money = {k: text(r[k]) for k in ("net", "cash", "credit", "present_value", "last_cash_day")}
        routes[name] = {
            **money, "refused": r["refused"], "conditional": r["conditional"],
            "cash_days": [{k: text(v) for k, v in d.items()} for d in r["cash_days"]],
            "lines": [{**x, "amount": text(x["amount"]), "day": text(x["day"])} for x in r["lines"]],
            "metal": {a: {k: grams(v) if k != "lost" else {p: grams(x) for p, x in v.items()}
                          for k, v in m.items()} for a, m in r["metal"].items()},
            "products": [printed_product(p) for p in r["products"]],
            "work": [printed_work(w) for w in r["work"]],
            "cut": {t: [f"{text(y * 100)} %" for y in ys] if len(ys) > 1 else f"{text(ys[0] * 100)} %"
                    for t, ys in r["cut"].items()}}
    return {"best": wanted["best"], "lead": text(wanted["lead"]), "routes": routes,
            "untested": wanted["untested"]}


def printed_product(p: dict) -> dict:
    product = {"at": p["at"], "wet_mass": f"{text(p['wet_mass'])} kg", "dry_mass": f"{text(p['dry_mass'])} kg",
               "assays": {a: f"{text(x * 10**6)} g/t" for a, x in p["assays"].items()}}
    if p["kind"] == "bar":
        product["fineness"] = {a: f"{text(x * 1000)} fine" for a, x in p["assays"].items()}
    return product


def printed_work(w: dict) -> dict:
    units = {"feed": " kg", "hours": "", "melts": "", "energy": " kWh"}
    work = {k: text(w[k]) + unit for k, unit in units.items() if k in w}
    if "flux" in w:
        work["flux"] = {r: f"{text(x)} kg" for r, x in w["flux"].items()}
    return {"at": w["at"], **work}


def text(x: Any) -> Any:
    return None if x is None else plans.long_decimal(F(x), 20)


def grams(x: Fraction) -> str:
    return f"{text(x * 1000)} g"


def open_routes(answer: dict) -> list[dict]:
    return [r for r in answer["routes"].values() if not r["refused"]]


def change_line(answer: dict) -> bool:
    for r in open_routes(answer):
        for x in r["lines"]:
            if abs(float(x["amount"])) > 1:
                x["amount"] = text(F(x["amount"]) + F(1, 10))
                return True
    return False


def change_product(answer: dict) -> bool:
    for r in open_routes(answer):
        if r["products"]:
            r["products"][0]["dry_mass"] = text(run.number(r["products"][0]["dry_mass"]) * F(1000001, 10**6)) + " kg"
            return True
    return False


def change_metal(answer: dict) -> bool:
    for r in open_routes(answer):
        r["metal"]["Au"]["fed"] = grams(run.number(r["metal"]["Au"]["fed"]) * F(1000001, 10**6))
        return True
    return False


def change_refused(answer: dict) -> bool:
    for r in open_routes(answer):
        r["refused"] = ["no"]
        return True
    return False


if __name__ == "__main__":
    unittest.main()
