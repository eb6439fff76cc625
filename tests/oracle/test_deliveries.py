"""Hand-computed checks of the plain evaluator of deliveries.

Tags: [P] printed in the source named; [M] quoted from memory and recomputed;
[C] computed two independent ways. Rows without a source are worked by hand here.
"""

from __future__ import annotations

import contextlib
import copy
import ctypes
import io
import json
import random
import unittest
from collections import Counter
from datetime import date, timedelta
from fractions import Fraction
from types import SimpleNamespace
from typing import Any, Optional
from unittest import mock

import deliveries
import evaluator as ev
import plans
import random_deliveries
import run
import settle_run

F = Fraction
OUNCE = ev.OUNCE


def delivery_of(terms: dict, delivered: dict, assays: dict, prices: Optional[dict] = None, **more: Any) -> dict:
    return {"format": "buttonworth-delivery/1", "currency": "USD", "buyer": "buyer", "terms": terms,
            "delivered": delivered, "assays": assays, **({"prices": prices} if prices else {}), **more}


def line(statement: dict, what: str) -> Fraction:
    return {x["what"]: x["amount"] for x in statement["lines"]}[what]


def tonne(assays: dict, terms: dict, **more: Any) -> dict:
    """The statement of a dry tonne of concentrate."""
    terms = {"buys": "concentrate", "pay": {}, **terms}
    return deliveries.settle(delivery_of(terms, {"wet_mass": "1 t"}, assays, **more))


def exchanged(e: Any) -> dict:
    """How a silver assay is settled, and whether it is left open."""
    told = tonne({"Ag": e}, {})
    return {**told["assays"]["Ag"], "open": told["open"]}


def percent(text: str) -> Fraction:
    return F(text) / 100


class SaleTerms(unittest.TestCase):
    """Section 4, the published rows, as deliveries."""

    def zinc(self, rounding: dict) -> dict:
        terms = {"buys": "concentrate", "mass_deduction": "0.5 %",
                 "pay": {"Zn": {"share": "85 %"},
                         "Ag": {"share": "90 %", "less": "5 ozt/t", "order": "less first", "refining": "2 USD/ozt"}},
                 "charges": [{"what": "treatment", "rate": "140 USD/t"}],
                 "penalties": [{"for": ["As"], "above": "0.2 %", "each": "0.1 %", "rate": "1.5 USD/t"}],
                 "participation": [{"for": "Zn", "above": "900 USD/t", "each": "1 USD/t", "rate": "0.10 USD/t"}],
                 "rounding": rounding}
        return deliveries.settle(delivery_of(terms, {"wet_mass": "200 t", "moisture": "10 %"},
                                             {"Zn": "50 %", "Ag": "9 ozt/t", "As": "0.5 %"},
                                             {"Zn": "1000 USD/t", "Ag": "13 USD/ozt"}))

    def test_zinc_line_by_line(self) -> None:
        # [P] "Calculo de valor de concentrado", scribd 515649007: 179.10 t net, 76.12 t payable, 76,120,
        # -25,074, -1,791, -806, 7,092, total 55,541. The print rounds payable zinc to 0.01 t and shows whole
        # dollars; 7,092 is silver less its refining, which stand apart here
        told = self.zinc({"payable": {"Zn": "0.01 t"}, "money": "1 USD", "mode": "half up"})
        self.assertEqual(told["delivered"]["settled_mass"], F("179.10") * 1000)
        self.assertEqual(told["metal"]["Zn"]["payable"], F("76.12") * 1000)
        self.assertEqual(line(told, "Zn value"), 76120)
        self.assertEqual(line(told, "treatment"), -25074)
        self.assertEqual(line(told, "Zn participation"), -1791)
        self.assertEqual(line(told, "As penalty"), -806)
        self.assertEqual(line(told, "Ag value") + line(told, "Ag refining"), 7092)
        self.assertEqual(told["proceeds"], 55541)
        self.assertEqual(told["balance"], 55541)

    def test_zinc_unrounded(self) -> None:
        # [C] 55,538.91 unrounded
        self.assertEqual(round(self.zinc({})["proceeds"], 2), F("55538.91"))

    def test_gold_bands(self) -> None:
        # [P] US SEC EDGAR, exhibit 10.13, filer 1493893, 2010: 20-29.99 g/t 91 %, 30-39.99 92, 40-59.99 93,
        # 60-69.99 94, 70-79.99 95, from 80 96. The gaps close once the assay is rounded to 0.01 g/t; what is
        # below 20 is not in the print and pays nothing here
        bands = [["20 g/t", "91 %"], ["30 g/t", "92 %"], ["40 g/t", "93 %"], ["60 g/t", "94 %"],
                 ["70 g/t", "95 %"], ["80 g/t", "96 %"]]
        terms = {"pay": {"Au": {"bands": bands}}, "rounding": {"Au": "0.01 g/t"}}
        for assay, share, used in (("20", "0.91", "20"), ("29.99", "0.91", "29.99"), ("29.994", "0.91", "29.99"),
                                   ("29.995", "0.92", "30"), ("30", "0.92", "30"), ("59.99", "0.93", "59.99"),
                                   ("69.996", "0.95", "70"), ("79.99", "0.95", "79.99"), ("80", "0.96", "80"),
                                   ("19.99", "0", "0")):
            told = tonne({"Au": f"{assay} g/t"}, terms, prices={"Au": "1 USD/g"})
            self.assertEqual(told["proceeds"], F(share) * F(used), assay)
            self.assertEqual(told["assays"]["Au"]["settled"] * 10**6, F(assay))

    def test_whichever_is_lower(self) -> None:
        # [P, unit cut in the text] SEC EDGAR filer 319671, July 2013; [C] 3 -> 2.0, 5 -> 4.0, 20 -> 16.0 g/t
        terms = {"pay": {"Au": {"share": "80 %", "less": "1 g/t"}}}
        for assay, paid in ((3, 2), (5, 4), (20, 16)):
            told = tonne({"Au": f"{assay} g/t"}, terms, prices={"Au": "1 USD/g"})
            self.assertEqual(told["metal"]["Au"]["payable"] * 1000, paid)
            self.assertEqual(told["metal"]["Au"]["contained"] * 1000, assay)

    def test_penalties(self) -> None:
        # [P] lawinsider.com, clause "Refining charges"; [C] 0.63 % -> 6.90, 0.137 % Bi -> 5.55 USD/t
        terms = {"penalties": [{"for": ["As", "Sb"], "above": "0.4 %", "each": "0.10 %", "rate": "3.00 USD/t"},
                               {"for": ["Bi"], "above": "0.1 %", "each": "0.01 %", "rate": "1.50 USD/t"}]}
        told = tonne({"As": "0.4 %", "Sb": "0.23 %", "Bi": "0.137 %"}, terms)
        self.assertEqual(line(told, "As + Sb penalty"), F("-6.90"))
        self.assertEqual(line(told, "Bi penalty"), F("-5.55"))

    def test_bar_impurities(self) -> None:
        # [P] SEC EDGAR filer 1164099, refining schedule, 2009; [C] 1000 ozt at 0.02 % -> 150 USD, 0.03 % -> 150,
        # 0.11 % -> refused
        penalty = {"for": ["As"], "refuse_above": "0.10 %",
                   "whole": [{"up_to": "0.01 %", "rate": "0 USD/ozt"}, {"up_to": "0.03 %", "rate": "0.15 USD/ozt"},
                             {"up_to": "0.05 %", "rate": "0.25 USD/ozt"},
                             {"up_to": "0.10 %", "rate": "0.40 USD/ozt"}]}
        terms = {"buys": "bar", "pay": {}, "penalties": [penalty]}
        for assay, money in (("0.01", 0), ("0.02", -150), ("0.03", -150), ("0.05", -250), ("0.10", -400)):
            told = deliveries.settle(delivery_of(terms, {"gross": "1000 ozt"}, {"As": f"{assay} %"}))
            self.assertEqual(line(told, "As penalty"), money, assay)
        told = deliveries.settle(delivery_of(terms, {"gross": "1000 ozt"}, {"As": "0.11 %"}, arrived="2026-03-09"))
        self.assertEqual(len(told["refused"]), 1)
        self.assertEqual(told["lines"], [])
        for name in ("proceeds", "advance", "interest", "balance"):
            self.assertIsNone(told[name])

    def test_every_reason(self) -> None:
        terms = {"accepts": {"mass": {"min": "2 t"}, "Au": {"min": "30 g/t"}, "Hg": {"max": "50 ppm"}}}
        self.assertEqual(len(tonne({"Au": "29.9 g/t", "Hg": "51 ppm"}, terms)["refused"]), 3)
        terms["accepts"]["mass"]["min"] = "1 t"
        self.assertEqual(tonne({"Au": "30 g/t", "Hg": "50 ppm"}, terms)["refused"], [])


class Exchanges(unittest.TestCase):
    """Section 8, Exchange."""

    def test_splitting_limits(self) -> None:
        # [P] ophirrefinery.com, "Assaying": Au 0.05 %, within it the mean is final; [C] 85.34 and 85.30 -> 85.32;
        # 85.35 and 85.30, exactly at the limit, -> 85.325
        told = exchanged({"seller": "85.34 %", "buyer": "85.30 %", "limit": "0.05 %"})
        self.assertEqual((told["settled"], told["how"], told["open"]), (percent("85.32"), "mean", []))
        self.assertEqual(told["difference"], percent("0.04"))
        told = exchanged({"seller": "85.35 %", "buyer": "85.30 %", "limit": "0.05 %"})
        self.assertEqual((told["settled"], told["how"], told["open"]), (percent("85.325"), "mean", []))

    def test_umpire(self) -> None:
        # [C] 85.36 and 85.30, umpire 85.34: umpire alone 85.34, middle of three 85.34, with the nearer 85.35
        for rule, settled in (("umpire", "85.34"), ("middle", "85.34"), ("nearer", "85.35")):
            told = exchanged({"seller": "85.36 %", "buyer": "85.30 %", "limit": "0.05 %", "umpire": "85.34 %",
                              "rule": rule})
            self.assertEqual((told["settled"], told["how"]), (percent(settled), rule))
            self.assertEqual((told["umpire_paid_by"], told["open"]), ("buyer", []))

    def test_umpire_outside(self) -> None:
        """10 and 12, umpire 13 or 9: the rules part ways."""
        for umpire, rule, settled, payer in (("13", "umpire", "13", "buyer"), ("13", "middle", "12", "buyer"),
                                             ("13", "nearer", "12.5", "buyer"), ("9", "middle", "10", "seller"),
                                             ("9", "nearer", "9.5", "seller")):
            told = exchanged({"seller": "12 %", "buyer": "10 %", "limit": "0.5 %", "umpire": f"{umpire} %",
                              "rule": rule})
            self.assertEqual((told["settled"], told["umpire_paid_by"]), (percent(settled), payer), (umpire, rule))

    def test_as_near_to_both(self) -> None:
        for rule in deliveries.RULES:
            told = exchanged({"seller": "12 %", "buyer": "10 %", "limit": "0.5 %", "umpire": "11 %", "rule": rule})
            self.assertEqual((told["settled"], told["umpire_paid_by"]), (percent("11"), "both"))

    def test_open_figures(self) -> None:
        beyond = {"seller": "85.36 %", "buyer": "85.30 %", "limit": "0.05 %", "rule": "umpire"}
        for e, settled, how in (({"seller": "85.34 %"}, "85.34", "single"), ({"buyer": "85.30 %"}, "85.30", "single"),
                                (beyond, "85.33", "mean")):
            told = exchanged(e)
            self.assertEqual((told["settled"], told["how"], told["open"]), (percent(settled), how, ["/assays/Ag"]))
        self.assertEqual(exchanged("85.34 %"), {"settled": percent("85.34"), "how": "single", "open": []})

    def test_umpire_not_needed(self) -> None:
        told = exchanged({"seller": "85.34 %", "buyer": "85.30 %", "limit": "0.05 %", "umpire": "90 %"})
        self.assertEqual((told["settled"], told["how"]), (percent("85.32"), "mean"))
        self.assertNotIn("umpire_paid_by", told)

    def test_relative_limit(self) -> None:
        """1001 and 999: the mean 1000, the difference 0.2 % of it."""
        e = {"seller": "1001 g/t", "buyer": "999 g/t", "limit_relative": "0.2 %"}
        self.assertEqual(exchanged(e)["open"], [])
        self.assertEqual(exchanged({**e, "limit_relative": "0.1999 %"})["open"], ["/assays/Ag"])

    def test_edge_of_the_limit(self) -> None:
        for limit, left_open in (("0.0499999999999999", False), ("0.049999999999", True)):
            e = {"seller": "85.35 %", "buyer": "85.30 %", "limit": f"{limit} %"}
            self.assertEqual(bool(exchanged(e)["open"]), left_open)

    def test_determinations(self) -> None:
        """Means first: 85.35 and 85.30."""
        e = {"seller": ["85.33 %", "85.36 %", "85.36 %"], "buyer": ["853.2 fine", "85.28 %"], "limit": "0.05 %"}
        told = exchanged(e)
        self.assertEqual((told["seller"], told["buyer"]), (percent("85.35"), percent("85.30")))
        self.assertEqual((told["settled"], told["open"]), (percent("85.325"), []))

    def test_masses_and_pointers(self) -> None:
        wet = {"seller": "1002 kg", "buyer": "1000 kg", "limit": "2 kg"}
        damp = {"seller": "9.5 %", "buyer": "10.5 %", "limit": "0.5 %"}
        told = deliveries.settle(delivery_of({"buys": "concentrate"}, {"wet_mass": wet, "moisture": damp},
                                             {"a/b~c": {"seller": "1 %"}}))
        self.assertEqual(told["open"], ["/delivered/moisture", "/assays/a~1b~0c"])
        self.assertEqual(told["delivered"]["dry_mass"], F(1001) * F(9, 10))
        self.assertEqual(told["stage"], "provisional")


class Bars(unittest.TestCase):
    """Section 8, masses of bars, weighing and rounding."""

    def bar(self, terms: dict, delivered: dict, gold: str, **more: Any) -> dict:
        return deliveries.settle(delivery_of({"buys": "bar", "pay": {"Au": {}}, **terms}, delivered, {"Au": gold},
                                             {"Au": "1 USD/ozt"}, **more))

    def test_turn_of_the_scale(self) -> None:
        # [P] LBMA Good Delivery Rules, Annexes B and C: gross to 0.025 ozt, rounded down;
        # [C] a bar must pass the step by 0.002 ozt
        rounding = {"mass": {"step": "0.025 ozt", "turn": "0.002 ozt"}}
        for gross, weighs in (("401.126", "401.100"), ("401.127", "401.125"), ("401.151", "401.125"),
                              ("401.152", "401.150")):
            told = self.bar({"rounding": rounding}, {"gross": f"{gross} ozt"}, "995.8 fine")
            self.assertEqual(told["delivered"]["settled_mass"] / OUNCE, F(weighs))
            self.assertEqual(told["delivered"]["gross"]["settled"] / OUNCE, F(gross))
            self.assertEqual(told["proceeds"], F(weighs) * F("0.9958"))

    def test_kilograms_on_the_scale(self) -> None:
        # [C] 12.4780 kg = 401.17702 ozt, which passes 401.175 by 0.00202 ozt
        for turn, weighs in (("0.002", "401.175"), ("0.0021", "401.150")):
            rounding = {"mass": {"step": "0.025 ozt", "turn": f"{turn} ozt"}}
            told = self.bar({"rounding": rounding}, {"gross": "12.4780 kg"}, "995 fine")
            self.assertEqual(told["delivered"]["settled_mass"] / OUNCE, F(weighs))

    def test_a_step_without_turn(self) -> None:
        for gross, weighs in (("10.0249", "10"), ("10.025", "10.025"), ("10.0249999999999999", "10.025"),
                              ("0.02", "0")):
            told = self.bar({"rounding": {"mass": {"step": "0.025 ozt"}}}, {"gross": f"{gross} ozt"}, "995 fine")
            self.assertEqual(told["delivered"]["settled_mass"] / OUNCE, F(weighs))

    def test_fine_gold(self) -> None:
        # [P] LBMA Good Delivery Rules, Annexes B and C, sample line: gross 401.125, 995.8 fine, fine 399.440
        told = self.bar({"rounding": {"payable": {"Au": "0.001 ozt"}}}, {"gross": "401.125 ozt"}, "995.8 fine")
        self.assertEqual(told["metal"]["Au"]["payable"] / OUNCE, F("399.440"))

    def test_small_bars(self) -> None:
        # [P] LBMA table of fine gold content of small bars, 995.0 / 999.0 / 999.9: exact product, half up
        table = {"1 kg": ("31.990", "32.119", "32.148"), "100 ozt": ("99.500", "99.900", "99.990"),
                 "50 ozt": ("49.750", "49.950", "49.995"), "25 ozt": ("24.875", "24.975", "24.998"),
                 "10 ozt": ("9.950", "9.990", "9.999"), "5 ozt": ("4.975", "4.995", "5.000"),
                 "1 ozt": ("0.995", "0.999", "1.000")}
        rounding = {"payable": {"Au": "0.001 ozt"}, "mode": "half up"}
        for gross, row in table.items():
            for fine, wanted in zip(("995.0", "999.0", "999.9"), row):
                told = self.bar({"rounding": rounding}, {"gross": gross}, f"{fine} fine")
                self.assertEqual(told["proceeds"], F(wanted), (gross, fine))

    def test_modes_of_the_payable_mass(self) -> None:
        """2.5 ozt to whole ounces."""
        for mode, wanted in (("half even", 2), ("half up", 3), ("down", 2)):
            rounding = {"payable": {"Au": "1 ozt"}, "mode": mode}
            terms = {"pay": {"Au": {"refining": "0.5 USD/ozt"}}, "rounding": rounding,
                     "charges": [{"what": "handling", "rate": "0.1 USD/ozt", "of": "payable Au"}]}
            told = self.bar(terms, {"gross": "5 ozt"}, "50 %")
            self.assertEqual(line(told, "Au value"), wanted)
            self.assertEqual(line(told, "Au refining"), -F(wanted) / 2)
            self.assertEqual(line(told, "handling"), -F(wanted) / 10)
            self.assertEqual(told["metal"]["Au"]["contained"], F("2.5") * OUNCE)

    def test_melted_bar(self) -> None:
        # [P] kaizengold.com, "Gold refinery settlement process": 24.96 kg melted at 91.3 % -> 22.79 kg fine,
        # 732.7 ozt, paid at 99 % 725.34 ozt (printed 725.4 from rounded ounces). The gross mass is not printed
        terms = {"pay": {"Au": {"share": "99 %"}}, "melt_loss": {"mass": "1.5 %", "Au": "0.05 %"}}
        told = self.bar(terms, {"gross": "25.1 kg", "melted": "24.96 kg"}, "91.3 %")
        self.assertEqual(round(told["metal"]["Au"]["contained"], 2), F("22.79"))
        self.assertEqual(round(told["metal"]["Au"]["contained"] / OUNCE, 1), F("732.7"))
        self.assertEqual(round(told["metal"]["Au"]["payable"] / OUNCE, 2), F("725.34"))
        self.assertEqual(told["delivered"]["settled_mass"], F("24.96"))

    def test_melted_bar_by_hand(self) -> None:
        """100 ozt gross, 98 melted, 2 kept, 1 % deducted: 95.04 settled; gross bases stay 100."""
        terms = {"pay": {"Au": {"refining": "0.5 USD/ozt", "refining_of": "gross"}}, "sample_kept": "2 ozt",
                 "mass_deduction": "1 %", "charges": [{"what": "melt", "rate": "0.25 USD/ozt", "of": "gross"}]}
        told = self.bar(terms, {"gross": "100 ozt", "melted": "98 ozt"}, "90 %")
        self.assertEqual(told["delivered"]["settled_mass"] / OUNCE, F("95.04"))
        self.assertEqual(line(told, "Au value"), F("95.04") * F("0.9"))
        self.assertEqual(line(told, "Au refining"), -50)
        self.assertEqual(line(told, "melt"), -25)

    def test_melted_bar_on_the_scale(self) -> None:
        """Both weighings go by whole steps: 100.01 ozt weigh 100, 98.04 weigh 98.025."""
        terms = {"rounding": {"mass": {"step": "0.025 ozt"}},
                 "charges": [{"what": "melt", "rate": "1 USD/ozt", "of": "gross"}]}
        told = self.bar(terms, {"gross": "100.01 ozt", "melted": "98.04 ozt"}, "80 %")
        self.assertEqual(line(told, "melt"), -100)
        self.assertEqual(line(told, "Au value"), F("98.025") * F("0.8"))

    def test_bar_with_melt_loss(self) -> None:
        """Not melted yet: 100 ozt at 80 %, losing 2 % of mass and 1 % of gold, holds 79.2 ozt in 98."""
        told = self.bar({"melt_loss": {"mass": "2 %", "Au": "1 %"}}, {"gross": "100 ozt"}, "80 %")
        self.assertEqual(told["delivered"]["settled_mass"] / OUNCE, 98)
        self.assertEqual(told["proceeds"], F("79.2"))
        self.assertEqual(told["assays"]["Au"]["settled"], F(8, 10))

    def test_deemed(self) -> None:
        terms = {"buys": "nuggets", "pay": {"Au": {}}, "deemed": {"Au": "880 fine"}}
        told = deliveries.settle(delivery_of(terms, {"wet_mass": "10 ozt"}, {}, {"Au": "1 USD/ozt"}))
        self.assertEqual(told["proceeds"], F("8.8"))

    def test_wet_and_dry_go_together(self) -> None:
        """1009 kg weigh 1000 in steps of 10: at 10 % moisture 900 dry, at 20 g/t still 20 g/t."""
        refining = {"refining": "1 USD/kg", "refining_of": "gross"}
        terms = {"buys": "concentrate", "pay": {"Au": refining}, "rounding": {"mass": {"step": "10 kg"}},
                 "charges": [{"what": "freight", "rate": "1 USD/kg", "of": "wet"},
                             {"what": "drying", "rate": "1 USD/kg", "of": "dry"}]}
        told = deliveries.settle(delivery_of(terms, {"wet_mass": "1009 kg", "moisture": "10 %"}, {"Au": "20 g/t"},
                                             {"Au": "1 USD/g"}))
        self.assertEqual([x["amount"] for x in told["lines"]], [18, -900, -1000, -900])
        self.assertEqual(told["delivered"]["dry_mass"], 900)
        self.assertEqual(told["delivered"]["settled_mass"], 900)

    def test_in_plans_too(self) -> None:
        """1009 kg of lot in steps of 10 kg, 18 g paid in steps of 5 g."""
        terms = {"buys": "concentrate", "pay": {"Au": {}},
                 "rounding": {"mass": {"step": "10 kg"}, "payable": {"Au": "5 g"}},
                 "charges": [{"what": "freight", "rate": "1 USD/kg", "of": "wet"}]}
        plan = {"format": "buttonworth-plan/1", "currency": "USD", "prices": {"Au": "1 USD/g"}, "discount": "0 %/a",
                "lot": {"wet_mass": "1009 kg", "moisture": "10 %", "assays": {"Au": "20 g/t"}},
                "terms": {"buyer": terms}, "routes": {"sell": {"sell": "buyer"}}}
        route = ev.compare(plan)["routes"]["sell"]
        self.assertEqual([x["amount"] for x in route["lines"]], [20, -1000])
        self.assertEqual(route["products"][0]["dry_mass"], F("908.1"))
        self.assertEqual(route["metal"]["Au"]["fed"], F("18.162") / 1000)


class PriceAverages(unittest.TestCase):
    """Section 8, prices."""

    def priced(self, days: dict, period: dict, **more: Any) -> dict:
        quotes = {"Au": {"unit": "USD/ozt", "days": days}}
        return deliveries.settle(delivery_of({"buys": "bar", "pay": {"Au": {}}}, {"gross": "1 ozt"}, {"Au": "100 %"},
                                             quotes=quotes, period={"Au": period}, **more))

    def counted(self, days: dict, period: dict, **more: Any) -> tuple:
        price = self.priced(days, period, **more)["prices"]["Au"]
        return price["average"] * OUNCE, price["quoted_days"], price["unquoted_days"]

    def test_average(self) -> None:
        """2650.10 and 2655: 2652.55; both ends included, what lies outside left out."""
        days = {"2026-03-01": "1", "2026-03-02": "2650.10", "2026-03-03": "2655", "2026-03-04": "9999"}
        self.assertEqual(self.counted(days, {"from": "2026-03-02", "to": "2026-03-03"}), (F("2652.55"), 2, 0))

    def weekdays(self, first: str, count: int) -> list[str]:
        start = date.fromisoformat(first)
        days = (start + timedelta(days=i) for i in range(count))
        return [d.isoformat() for d in days if d.weekday() < 5]

    def test_months_of_fixes(self) -> None:
        # [C] counts of the daily London fixes in Debian's r-cran-forecast (data set `gold`): January 1985 has
        # 22 quotes from the 2nd on, March 21, May 21 of 23 weekdays (without the bank holidays of the 6th and
        # 27th). The prices here are made up: 300 on every quoted day
        january = {d: "300" for d in self.weekdays("1985-01-02", 30)}
        self.assertEqual(self.counted(january, {"month": "1985-01"}), (300, 22, 1))
        march = {d: "300" for d in self.weekdays("1985-03-01", 31)}
        self.assertEqual(self.counted(march, {"month": "1985-03"}), (300, 21, 0))
        may = {d: "300" for d in self.weekdays("1985-05-01", 31) if d[8:] not in ("06", "27")}
        self.assertEqual(self.counted(may, {"month": "1985-05"}), (300, 21, 2))

    def test_keying_error(self) -> None:
        # [C] Debian's r-cran-forecast, data set `gold`, index 770: 593.70 between 502.75 and 487.05.
        # The days are made up
        days = {"2026-03-02": "502.75", "2026-03-03": "593.70", "2026-03-04": "487.05"}
        told = self.priced(days, {"month": "2026-03"})
        self.assertEqual(told["suspect"], {"Au": ["2026-03-03"]})

    def test_beside_one_neighbour_only(self) -> None:
        for first, second, third, suspect in (("100", "110", "100", False), ("100", "110.01", "100", True),
                                              ("100", "90", "100", False), ("100", "89.99", "100", True),
                                              ("100", "120", "120", False), ("100", "120", "140", False)):
            days = {"2026-03-02": first, "2026-03-03": second, "2026-03-06": third}
            self.assertEqual(bool(self.priced(days, {"month": "2026-03"})["suspect"]["Au"]), suspect, second)

    def test_months_after(self) -> None:
        """From 31 December 2023: the month itself, January, February of a leap year, December again."""
        days = {"2023-12-29": "10", "2024-01-31": "20", "2024-02-01": "30", "2024-02-29": "50", "2024-03-01": "70",
                "2024-12-31": "90"}
        for n, average, quoted, unquoted in ((0, 10, 1, 20), (1, 20, 1, 22), (2, 40, 2, 19), (3, 70, 1, 20),
                                             (12, 90, 1, 21)):
            counts = self.counted(days, {"months_after": n}, arrived="2023-12-31")
            self.assertEqual(counts, (average, quoted, unquoted), n)

    def test_weekend_quote(self) -> None:
        """A Saturday with a quote counts as quoted, one without is not missed."""
        days = {"2026-03-06": "10", "2026-03-07": "20"}
        self.assertEqual(self.counted(days, {"from": "2026-03-06", "to": "2026-03-09"}), (15, 2, 1))

    def test_which_price(self) -> None:
        """The terms' own first, by the terms' own ounce."""
        terms = {"buys": "bar", "pay": {"Au": {"price": "311.035 USD/ozt"}}, "factors": {"g per ozt": "31.1035"}}
        told = deliveries.settle(delivery_of(terms, {"gross": "10 g"}, {"Au": "100 %"}, {"Au": "7 USD/g"}))
        self.assertEqual(told["proceeds"], 100)
        self.assertEqual(told["prices"], {"Au": {"average": F(10000)}})

    def test_other_currency(self) -> None:
        terms = {"buys": "bar", "pay": {"Au": {}}}
        quotes = {"Au": {"unit": "PEN/g", "days": {"2026-03-02": "100"}}}
        told = deliveries.settle(delivery_of(terms, {"gross": "10 g"}, {"Au": "100 %"}, quotes=quotes,
                                             period={"Au": {"month": "2026-03"}}, exchange={"PEN": "0.25 USD"}))
        self.assertEqual(told["proceeds"], 250)


class Statements(unittest.TestCase):
    """Section 8, the answer: money, days, changes."""

    TERMS = {"buys": "concentrate", "transit": "20 d", "pay": {"Au": {}}, "final": "45 d",
             "charges": [{"what": "sampling", "rate": "100 USD/lot"}],
             "advance": {"share": "80 %", "after": "8.5 d", "interest": "10 %/a"}}

    def request(self, gold: Any, **more: Any) -> dict:
        return delivery_of(copy.deepcopy(self.TERMS), {"wet_mass": "1 t"}, {"Au": gold}, {"Au": "1 USD/g"}, **more)

    def test_advance_interest_balance(self) -> None:
        """1100 less 100: 800 advanced, 800 x 10 % x 36.5 / 365 = 8 interest, 192 left."""
        told = deliveries.settle(self.request("1100 g/t", arrived="2026-03-09"))
        self.assertEqual([told[k] for k in ("proceeds", "advance", "interest", "balance")], [1000, 800, 8, 192])
        self.assertEqual([(x["what"], x["amount"], x["day"]) for x in told["lines"]],
                         [("Au value", 1100, 45), ("sampling", -100, 45), ("interest on the advance", -8, 45)])
        self.assertEqual({x["at"] for x in told["lines"]}, {"buyer"})

    def test_due_days(self) -> None:
        """8.5 days after 9 March 2026 count up to the 18th, 45 days to 23 April; leap years too."""
        told = deliveries.settle(self.request("1100 g/t", arrived="2026-03-09"))
        self.assertEqual((told["advance_due"], told["balance_due"]), ("2026-03-18", "2026-04-23"))
        told = deliveries.settle(self.request("1100 g/t", arrived="2024-02-20"))
        self.assertEqual((told["advance_due"], told["balance_due"]), ("2024-02-29", "2024-04-05"))
        told = deliveries.settle(self.request("1100 g/t"))
        self.assertEqual((told["advance_due"], told["balance_due"]), (None, None))

    def test_whole_days_stay(self) -> None:
        request = self.request("1100 g/t", arrived="2025-12-31")
        request["terms"].update({"final": "48 h"})
        del request["terms"]["advance"]
        told = deliveries.settle(request)
        self.assertEqual((told["advance_due"], told["balance_due"], told["advance"]), (None, "2026-01-02", 0))

    def test_nothing_to_advance(self) -> None:
        told = deliveries.settle(self.request("60 g/t"))
        self.assertEqual([told[k] for k in ("proceeds", "advance", "interest", "balance")], [-40, 0, 0, -40])
        self.assertEqual(line(told, "interest on the advance"), 0)

    def test_rounded_interest(self) -> None:
        """80 % of 1000.01 is 800.008, not rounded; its interest 8.00008 is."""
        request = self.request("1100.01 g/t")
        request["terms"]["rounding"] = {"money": "0.01 USD"}
        told = deliveries.settle(request)
        self.assertEqual((told["advance"], told["interest"]), (F("800.008"), 8))
        self.assertEqual(told["balance"], F("192.002"))

    def test_stage(self) -> None:
        for stage, gold, wanted in ((None, "1 g/t", "final"), ("final", "1 g/t", "final"),
                                    ("provisional", "1 g/t", "provisional"),
                                    ("final", {"buyer": "1 g/t"}, "provisional")):
            more = {"stage": stage} if stage else {}
            self.assertEqual(deliveries.settle(self.request(gold, **more))["stage"], wanted)

    def test_previous(self) -> None:
        """Gold found 10 g lower later on: the advance paid stays, and so does its interest."""
        first = printed(self.request({"buyer": "1100 g/t"}), deliveries.settle(self.request({"buyer": "1100 g/t"})))
        told = deliveries.settle(self.request("1090 g/t", previous=first))
        self.assertEqual([told[k] for k in ("proceeds", "advance", "interest", "balance")], [990, 800, 8, 182])
        self.assertEqual(told["changes"], [{"what": "Au value", "was": 1100, "is": 1090, "change": -10}])

    def test_lines_of_one_statement_only(self) -> None:
        first = printed(self.request("1100 g/t"), deliveries.settle(self.request("1100 g/t")))
        request = self.request("1100 g/t", previous=first)
        request["terms"]["charges"] = [{"what": "umpire", "rate": "50 USD/lot"}]
        changes = deliveries.settle(request)["changes"]
        self.assertEqual(changes, [{"what": "umpire", "was": 0, "is": -50, "change": -50},
                                   {"what": "sampling", "was": -100, "is": 0, "change": 100}])

    def test_exact_factors_outside_the_terms(self) -> None:
        terms = {"buys": "bar", "pay": {"Au": {}}, "factors": {"g per ozt": "31.1"}}
        told = deliveries.settle(delivery_of(terms, {"gross": "1 ozt"}, {"Au": "100 %"}, {"Au": "1 USD/g"}))
        self.assertEqual(told["proceeds"], F("31.1034768"))


class Errors(unittest.TestCase):
    """Requests that have no statement."""

    def test_faults(self) -> None:
        for fault in random_deliveries.FAULTS:
            for seed in range(4):
                request = random_deliveries.spoiled(random.Random(seed), fault)
                with self.assertRaises(ev.PlanError, msg=fault.__name__):
                    deliveries.settle(request)

    def test_without_the_fault_there_is_a_statement(self) -> None:
        for seed in range(4):
            self.assertIn("proceeds", deliveries.settle(random_deliveries.delivery(random.Random(seed))))

    def test_impossible_figures(self) -> None:
        for e in ("0 %", "100 %"):
            self.assertEqual(exchanged(e)["how"], "single")
        for e in ("100.1 %", "-1 %", {"seller": []}, {"limit": "1 %"},
                  {"seller": "1 %", "buyer": "1 kg", "limit": "1 %"},
                  {"seller": "1 %", "buyer": "1 %", "limit": "1 %", "limit_relative": "1 %"}, "1", 1):
            with self.assertRaises(ev.PlanError, msg=str(e)):
                exchanged(e)

    def test_periods(self) -> None:
        for period in ({"from": "2026-03-02"}, {"from": "2026-03-03", "to": "2026-03-02"}, {"month": "2026-13"},
                       {"months_after": -1}, {"months_after": "1"}, {"month": "2026-03", "months_after": 1}):
            with self.assertRaises(ev.PlanError, msg=str(period)):
                deliveries.read_period(period, date(2026, 3, 9))


# ---------------------------------------------------------------- the generator and the comparer

RULES = """arrived|buys bar|buys concentrate|buys nuggets|changes|charge at_least|charge at_most|charge of dry
charge of gross|charge of payable|charge of settled|charge of wet|deemed and not assayed|delivered gross
delivered melted|delivered moisture|delivered wet_mass|determinations|exchange|exchange limit|exchange limit_relative
fixed price|full quotes|gaps in quotes|how mean|how middle|how nearer|how single|how umpire|interest|one party alone
one quantity|open|order less first|order lower of|order share first|pay bands|pay less|pay price|pay price_share
pay refining|pay share|penalty above|penalty count|penalty marginal|penalty refuse_above|penalty whole|period from
period month|period months_after|previous|proceeds below nothing|quotes over a year's end|refining of gross
refining of settled|refused|rounding down|rounding half even|rounding half up|rounding mass|rounding money
rounding of an assay|rounding payable|rounding turn|stage final|stage provisional|suspect quote|terms accepts
terms advance|terms charges|terms deemed|terms factors|terms mass_deduction|terms melt_loss|terms participation
terms penalties|terms sample_kept|umpire in the middle|umpire not needed|umpire paid by both|umpire paid by buyer
umpire paid by seller|uncertain low/high|uncertain low/mode/high|uncertain median/gsd|uncertain value/rsd
uncertain value/sd|uncertain values"""


class RandomDeliveries(unittest.TestCase):

    def test_repeatable(self) -> None:
        for seed in range(20):
            self.assertEqual(random_deliveries.delivery(random.Random(seed)),
                             random_deliveries.delivery(random.Random(seed)))

    def test_every_rule_is_reached(self) -> None:
        seen: Counter = Counter()
        for seed in range(300):
            rng = random.Random(seed)
            request = random_deliveries.delivery(rng)
            told = deliveries.settle(request)
            seen.update(random_deliveries.features(request, told))
            if seed % 5 == 0:
                later = random_deliveries.follow_up(rng, request, printed(request, told))
                seen.update(random_deliveries.features(later, deliveries.settle(later)))
        rules = RULES.replace("\n", "|").split("|")
        self.assertEqual([r for r in rules if not seen[r]], [])

    def test_edges_are_hit(self) -> None:
        """Differences that are the limit, to 1 part in 10^12 but not all exactly."""
        exact = near = 0
        for seed in range(300):
            request = random_deliveries.delivery(random.Random(seed))
            for e in request["assays"].values():
                if isinstance(e, dict) and "limit" in e and isinstance(e["limit"], str):
                    told = exchanged(e)
                    limit = ev.Units({}).grade(e["limit"])
                    exact += abs(told["difference"]) == limit
                    near += abs(told["difference"]) != limit and ev.equal(abs(told["difference"]), limit)
        self.assertGreater(exact, 10)
        self.assertGreater(near, 10)

    def test_halves(self) -> None:
        """Two equal halves differ from the whole by the charges per lot only, which they pay twice."""
        compared = 0
        for seed in range(150):
            whole = random_deliveries.plain_terms(random_deliveries.delivery(random.Random(seed)))
            halves = random_deliveries.halves(whole)
            one, parts = deliveries.settle(whole), [deliveries.settle(half) for half in halves]
            self.assertEqual(bool(one["refused"]), bool(parts[0]["refused"]))
            if one["refused"]:
                continue
            per_lot = random_deliveries.per_lot(whole)
            twice = sum((x["amount"] for x in one["lines"] if x["what"] in per_lot), F(0))
            gap = one["proceeds"] + twice - sum(part["proceeds"] for part in parts)
            scale = sum(abs(x["amount"]) for x in one["lines"])
            self.assertLessEqual(abs(gap), scale / 10**40, seed)
            compared += 1
        self.assertGreater(compared, 100)


def text(x: Any) -> Any:
    return None if x is None else plans.long_decimal(F(x), 40)


def printed_figure(figure: dict, unit: str, factor: Fraction) -> dict:
    return {k: v if isinstance(v, str) else f"{text(v / factor)} {unit}" for k, v in figure.items()}


def factor_of(unit: str) -> Fraction:
    units = ev.Units({})
    return {**units.masses, **units.grades}[unit]


def printed_price(check: settle_run.Check, metal: str, price: dict) -> dict:
    own = "price" in check.request["terms"]["pay"].get(metal, {})
    unit = check.stated_price(metal)
    one = (check.own_units if own else check.units).per_mass(f"1 {unit}")
    counts = {k: str(v) for k, v in price.items() if k != "average"}
    return {"average": f"{text(price['average'] / one)} {unit}", **counts}


def printed(request: dict, told: dict) -> dict:
    """The oracle's statement in the form of section 8."""
    check = settle_run.Check(request, {}, told)
    stated = {**request["delivered"], **request.get("assays", {})}
    unit = {what: settle_run.first_unit(e) for what, e in stated.items()}
    delivered = {what: printed_figure(f, unit.get(what, "%"), factor_of(unit.get(what, "%")))
                 if isinstance(f, dict) else f"{text(f)} kg" for what, f in told["delivered"].items()}
    return {"format": "buttonworth-statement/1", **{k: told[k] for k in (
                "currency", "id", "buyer", "arrived", "stage", "advance_due", "balance_due")},
            "refused": list(told["refused"]),
            **{k: text(told[k]) for k in ("proceeds", "advance", "interest", "balance")},
            "open": [{"at": at, "what": "open"} for at in told["open"]], "delivered": delivered,
            "assays": {a: printed_figure(f, unit[a], factor_of(unit[a])) for a, f in told["assays"].items()},
            "prices": {m: printed_price(check, m, p) for m, p in told["prices"].items()},
            "metal": {m: {k: f"{text(v * 1000)} g" for k, v in masses.items()}
                      for m, masses in told["metal"].items()},
            "lines": [{**x, "amount": text(x["amount"]), "day": text(x["day"])} for x in told["lines"]],
            "changes": [{k: text(v) if k != "what" else v for k, v in x.items()} for x in told["changes"]],
            "cautions": [{"at": f"/quotes/{m}/days/{d}", "what": "far from its neighbours"}
                         for m, days in told["suspect"].items() for d in days]}


class OracleAsLibrary:
    """Answers with the oracle's own statement, changed where a test wants to see that told."""

    def __init__(self, change: Any = None):
        self.change = change

    def settle(self, request: dict) -> dict:
        try:
            told = printed(request, deliveries.settle(request))
        except ev.PlanError as problem:
            raise run.LibraryError(str(problem)) from problem
        if self.change:
            self.change(told)
        return told


def nudge(quantity: str) -> str:
    number, _, unit = quantity.partition(" ")
    return f"{text(F(number) * (1 + F(1, 10**10)) + F(1, 10**25))} {unit}".strip()


def nudge_money(amount: Optional[str]) -> Optional[str]:
    return None if amount is None else text(F(amount) * (1 + F(1, 10**28)) + F(1, 10**11))


def change_balance(told: dict) -> None:
    told["balance"] = nudge_money(told["balance"])


def change_line(told: dict) -> None:
    for x in told["lines"][:1]:
        x["amount"] = nudge_money(x["amount"])


def change_line_name(told: dict) -> None:
    for x in told["lines"][:1]:
        x["what"] += "s"


def change_assay(told: dict) -> None:
    for f in list(told["assays"].values())[:1]:
        f["settled"] = nudge(f["settled"])


def change_how(told: dict) -> None:
    for f in told["assays"].values():
        f["how"] = {"mean": "single", "single": "mean"}.get(f["how"], "mean")


def change_party(told: dict) -> None:
    for f in told["assays"].values():
        if "difference" in f:
            f["difference"] = nudge(f["difference"])


def change_settled_mass(told: dict) -> None:
    told["delivered"]["settled_mass"] = nudge(told["delivered"]["settled_mass"])


def change_due(told: dict) -> None:
    told["balance_due"] = "2001-01-01"


def change_stage(told: dict) -> None:
    told["stage"] = "final" if told["stage"] == "provisional" else "provisional"


def change_counts(told: dict) -> None:
    for p in told["prices"].values():
        p["quoted_days"] = str(int(p.get("quoted_days", "0")) + 1)


def change_average(told: dict) -> None:
    for p in told["prices"].values():
        p["average"] = nudge(p["average"])


def change_open(told: dict) -> None:
    told["open"].append({"at": "/assays/Zz", "what": "open"})


def change_refused(told: dict) -> None:
    told["refused"].append("no")


def change_changes(told: dict) -> None:
    told["changes"].append({"what": "nothing", "was": "0", "is": "0", "change": "0"})


def change_payable(told: dict) -> None:
    for m in told["metal"].values():
        m["payable"] = nudge(m["payable"])


def change_unit(told: dict) -> None:
    for f in told["assays"].values():
        f["settled"] = f"{text(run.number(f['settled']) * 10**9)} ppb"


CHANGES = (change_balance, change_line, change_line_name, change_assay, change_how, change_party,
           change_settled_mass, change_due, change_stage, change_counts, change_average, change_open,
           change_refused, change_changes, change_payable, change_unit)


class Comparer(unittest.TestCase):
    """The comparer without the library."""

    def run_with(self, library: Any, seeds: range) -> tuple[int, str]:
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            differ = settle_run.compare(library, seeds)
        return differ, out.getvalue()

    def test_agrees_with_itself(self) -> None:
        differ, told = self.run_with(OracleAsLibrary(), range(1, 121))
        self.assertEqual(differ, 0, told[:2000])
        self.assertIn("120 of 120 deliveries agree", told)
        self.assertIn("as two halves", told)
        self.assertIn("changes", told)

    def test_every_change_is_told(self) -> None:
        for change in CHANGES:
            seen = 0
            for seed in range(20):
                request = random_deliveries.delivery(random.Random(seed))
                wanted = deliveries.settle(request)
                answer = printed(request, wanted)
                change(answer)
                if answer != printed(request, wanted):
                    seen += 1
                    self.assertTrue(settle_run.Check(request, answer, wanted).whole(), (change.__name__, seed))
            self.assertGreater(seen, 5, change.__name__)

    def test_differences_are_shown(self) -> None:
        differ, told = self.run_with(OracleAsLibrary(change_stage), range(1, 11))
        self.assertGreater(differ, 5)
        self.assertIn(f"{10 - differ} of 10 deliveries agree", told)
        self.assertIn("stage: library", told)
        self.assertIn('"format": "buttonworth-delivery/1"', told)

    def test_errors_are_compared(self) -> None:
        request = random_deliveries.delivery(random.Random(3))
        self.assertTrue(settle_run.differences(request, None, "status 7: no"))
        spoiled = random_deliveries.spoiled(random.Random(3))
        self.assertEqual(settle_run.differences(spoiled, None, "status 7: no"), [])
        self.assertTrue(settle_run.differences(spoiled, {}, ""))


class CallOfTheLibrary(unittest.TestCase):
    """The call through ctypes, with functions in the place of the library's."""

    def functions(self, calls: list[str]) -> SimpleNamespace:
        pointer, out = ctypes.c_void_p, ctypes.POINTER(ctypes.c_void_p)
        kept: dict[int, Any] = {0: ctypes.create_string_buffer(b"no such day")}

        def create(context: Any) -> int:
            context[0] = 11
            return 0

        def destroy(handle: Any) -> None:
            calls.append(f"destroyed {handle[0]}")
            handle[0] = None

        def settle(context: int, request: bytes, size: int, answer: Any) -> int:
            calls.append(f"settle in {context}, {size} bytes")
            if b"refuse me" in request:
                return 7
            kept[12] = ctypes.create_string_buffer(request + b"beyond the end")
            kept[13] = size
            answer[0] = 12
            return 0

        def answer_text(answer: int, size: Any) -> int:
            size[0] = kept[13]
            return ctypes.addressof(kept[answer])

        def unused(*_: Any) -> int:
            raise AssertionError("not called")

        sized = ctypes.POINTER(ctypes.c_size_t)
        asked = (pointer, ctypes.c_char_p, ctypes.c_size_t, out)
        return SimpleNamespace(
            bw_context_create=ctypes.CFUNCTYPE(ctypes.c_int32, out)(create),
            bw_context_destroy=ctypes.CFUNCTYPE(None, out)(destroy),
            bw_error_text=ctypes.CFUNCTYPE(pointer, pointer)(lambda context: ctypes.addressof(kept[0])),
            bw_plan_read=ctypes.CFUNCTYPE(ctypes.c_int32, *asked)(unused),
            bw_plan_destroy=ctypes.CFUNCTYPE(None, out)(destroy),
            bw_compare=ctypes.CFUNCTYPE(ctypes.c_int32, pointer, *asked)(unused),
            bw_settle=ctypes.CFUNCTYPE(ctypes.c_int32, *asked)(settle),
            bw_answer_text=ctypes.CFUNCTYPE(pointer, pointer, sized)(answer_text),
            bw_answer_destroy=ctypes.CFUNCTYPE(None, out)(destroy))

    def test_call(self) -> None:
        calls: list[str] = []
        with mock.patch.object(ctypes, "CDLL", lambda path: self.functions(calls)):
            library = settle_run.Library("libbuttonworth.so")
        request = {"format": "buttonworth-delivery/1", "note": "ñ"}
        self.assertEqual(library.settle(request), request)      # the stand-in answers with the request
        size = len(json.dumps(request, ensure_ascii=False).encode())
        self.assertEqual(calls, [f"settle in 11, {size} bytes", "destroyed 12"])
        with self.assertRaisesRegex(run.LibraryError, "status 7: no such day"):
            library.settle({"note": "refuse me"})
        library.close()
        self.assertEqual(calls[-1], "destroyed 11")


if __name__ == "__main__":
    unittest.main()
