"""Checks of the plain evaluator of the bench against printed figures and sums by hand, and of the run that compares.

Tags as elsewhere: [P] printed in the source named; [M] printed there, quoted from memory; [C] worked out in two
independent ways, no printed answer; [CP] common practice. Data without a source are invented.
"""

from __future__ import annotations

import copy
import math
import shutil
import subprocess
import sys
import unittest
from pathlib import Path
from typing import Any

import bench
import bench_flux
import bench_run
import bench_sampling
import bench_waiting
import random_bench
from bench_figures import BenchError, Cautions, Shown, Un, Word, variance


def of(kind: str, **request: Any) -> dict:
    return bench.evaluate({"format": f"buttonworth-{kind}/1", **request})


class Uncertain(unittest.TestCase):
    def test_parts_of_one_input_are_counted_once(self) -> None:
        x = Un.source(10.0, 0.3)
        self.assertEqual((x - x).sd(), 0.0)
        self.assertAlmostEqual((x * x).sd(), 6.0, places=12)

    def test_end_gauge_like_sum(self) -> None:
        """Independent parts add by squares (JCGM 100:2008, 5.1.2)."""
        total = 2 * Un.source(1.0, 3.0) - Un.source(1.0, 8.0) / 1
        self.assertAlmostEqual(total.sd(), 10.0, places=12)

    def test_spread_of_large_figures(self) -> None:
        """NIST StRD NumAcc4: mean 10000000.2, sd 0.1 [P]."""
        figures = [10000000.2] + [10000000.1, 10000000.3] * 500
        self.assertAlmostEqual(math.sqrt(variance(figures)), 0.1, places=8)

    def test_forms(self) -> None:
        """By hand: triangular (a² + b² + c² - ab - ac - bc)/18, even (b - a)²/12, lognormal, mean of several."""
        r = bench_sampling.Reader()
        self.assertAlmostEqual(r.mass({"low": "0 kg", "mode": "0 kg", "high": "6 kg"}).sd(), math.sqrt(2), places=12)
        self.assertAlmostEqual(r.mass({"low": "0 kg", "high": "12 kg"}).sd(), math.sqrt(12), places=12)
        self.assertAlmostEqual(r.mass({"values": ["1 kg", "3 kg"]}).sd(), 1.0, places=12)
        self.assertEqual(r.mass({"values": ["1 kg"]}).sd(), 0.0)
        log = r.mass({"median": "1 kg", "gsd": "2"})
        s2 = math.log(2) ** 2
        self.assertAlmostEqual(log.value, math.exp(s2 / 2), places=12)
        self.assertAlmostEqual(log.sd(), math.exp(s2 / 2) * math.sqrt(math.exp(s2) - 1), places=12)


class Sampling(unittest.TestCase):
    def test_smallest_sample_by_gy(self) -> None:
        """Wills' Mineral Processing Technology, 7th ed., App. III [P]: 5 % metal in a mineral of 86.6 %, ± 2 % at 95 %
        (z 1.96), liberation 0.015 cm, densities 7.5 and 2.65, twice the sample; with g = 1 as printed."""
        target = f"{2 / 1.96:.12f} %"
        for top, printed, within in (("2.5 cm", 1369632, 1), ("0.5 cm", 24501, 1), ("0.1 cm", 438, 0.5), ("0.004 cm", 0.07, 0.005)):
            told = of("sampling", grade="5 %", target=target, stages=[{"what": "sample", "sample": "1 kg"}], material={
                "top_size": top, "liberation_size": "0.015 cm", "mineral_grade": "86.6 %", "mineral_density": "7.5 kg/L",
                "gangue_density": "2.65 kg/L", "shape": "0.5", "size_range": "1"})
            self.assertAlmostEqual(2 * told["stages"][0]["smallest_sample"].value, printed, delta=within)

    def grains(self, sample: str, **more: Any) -> dict:
        return of("sampling", grade="10 g/t", grains={"size": "100 um", "density": "19.3 kg/L"},
                  stages=[{"what": "portion", "sample": sample, **more}])["stages"][0]

    def test_grains(self) -> None:
        """30 g at 10 g/t of spheres of 100 um of 19.3: 29.68693 grains, relative sd 18.353 % [C]."""
        stage = self.grains("30 g")
        self.assertAlmostEqual(stage["grains"].value, 29.68693, places=5)
        self.assertAlmostEqual(stage["grain_error"].value, 18.353, places=3)
        half = self.grains("30 g", lot="60 g")
        self.assertAlmostEqual(half["grain_error"].value, 18.353 / math.sqrt(2), places=3)

    def test_twenty_grains(self) -> None:
        """Within ± 50 % with chance 0.98153 [rule P: Clifton and others, USGS PP 625-C; figure C]."""
        self.assertAlmostEqual(bench_sampling.poisson_within(20, 10, 30), 0.98153, places=5)

    def test_which_applies(self) -> None:
        """By hand: 19 grains and a material still go by the count, 20 by the fundamental error."""
        material = {"top_size": "1 mm", "liberation_size": "1 mm", "mineral_grade": "100 %", "mineral_density": "19 kg/L",
                    "gangue_density": "2.7 kg/L"}
        for sample, rule in (("19 g", "grain count"), ("20 g", "fundamental error")):
            told = of("sampling", grade="1 g/t", material=material, grains={"mass": "0.000001 g"},
                      stages=[{"what": "portion", "sample": sample}])
            self.assertEqual(told["stages"][0]["applies"].text, rule)

    def test_determinations(self) -> None:
        """By hand: 3 % each, four times; found 9, 10, 11, 10 of mean 10, s² 2/3, so 4.0825 % of the mean, which is more
        than 3 %/2; with 5 % at once: root of 0.05² + 0.040825²."""
        told = of("sampling", determinations=["9 g/t", "10 g/t", "11 g/t", "10 g/t"],
                  stages=[{"what": "splitting", "error": "5 %"}, {"what": "laboratory", "error": "3 %", "repeated": True}])
        self.assertAlmostEqual(told["error"].value, 100 * math.sqrt(0.05**2 + 2 / 3 / 4 / 100), places=10)
        self.assertAlmostEqual(told["result"]["value"].value, 10)
        wide = of("sampling", determinations=["10 g/t"] * 4, stages=[{"what": "laboratory", "error": "8 %", "repeated": True}])
        self.assertAlmostEqual(wide["error"].value, 4.0)

    def test_duplicates(self) -> None:
        """By hand: 9 and 11 differ by a fifth of their mean: 0.2/√2."""
        told = of("sampling", grade="1 %", stages=[{"what": "a", "error": "1 %"}], duplicates=[["9 g/t", "11 g/t"]] * 3)
        self.assertAlmostEqual(told["duplicates"]["error"].value, 20 / math.sqrt(2))

    def test_screen_assay(self) -> None:
        """Beringer, A Text-book of Assaying [P]: 1 g holding 0.842 g of silver with 399 g at 0.525 % is 0.7342 %,
        239.84 oz to the long ton (printed from the rounded per cent). Gold: 8.960 mg in 22.4 g with 977.6 g at 12.1 and
        12.6 g/t is 21.03336 g/t [C], the standard uncertainty of the two being a quarter of a gram."""
        silver = of("screen-assay", coarse={"mass": "1 g", "metal": "0.842 g"}, fine={"mass": "399 g", "grade": "0.525 %"})
        self.assertAlmostEqual(silver["grade"].value / 1e4, 0.7342, places=4)
        self.assertAlmostEqual(0.007342 * 32666.667, 239.84, places=2)
        gold = of("screen-assay", coarse={"mass": "22.4 g", "metal": "0.008960 g"},
                  fine={"mass": "977.6 g", "grade": {"values": ["12.1 g/t", "12.6 g/t"]}})
        self.assertAlmostEqual(gold["grade"].value, 21.03336, places=5)
        self.assertAlmostEqual(gold["grade"].sd, 0.9776 * 0.25, places=10)
        self.assertAlmostEqual(gold["coarse_share"].value, 100 * 8.960 / 21.03336, places=4)
        self.assertEqual(len(gold["cautions"].about), 1)

    def test_poisson_by_r(self) -> None:
        """R's ppois and poisson.test for 1 to 60 grains, where R stands."""
        if not shutil.which("Rscript"):
            print("no Rscript here: R was not asked for its second opinion on Poisson's figures", file=sys.stderr)
            self.skipTest("no Rscript")
        script = Path(__file__).with_name("poisson.R")
        lines = subprocess.run(["Rscript", "--vanilla", str(script)], capture_output=True, text=True, check=True).stdout.split("\n")
        rows = [[float(x) for x in line.split()] for line in lines if line]
        self.assertEqual([row[0] for row in rows], list(range(1, 61)))
        for n, within, low, high in rows:
            self.assertAlmostEqual(bench_sampling.poisson_within(n, 0.5 * n, 1.5 * n), within, places=12)
            ours = bench_sampling.exact_limits(int(n))
            self.assertAlmostEqual(ours[0] / low, 1, places=9)
            self.assertAlmostEqual(ours[1] / high, 1, places=9)


class RunSheet(unittest.TestCase):
    def test_cycles_weighed_in_part(self) -> None:
        """By hand: 8, 9, 10 kg of 12 cycles: 108 kg; s² 1, variance 144 x 1/3 x (1 - 3/12) = 36."""
        told = of("run-sheet", cycles="12", rinses=["8 kg", "9 kg", "10 kg"], moisture="10 %", assays={"Au": "100 g/t"})
        self.assertAlmostEqual(told["lot"]["wet_mass"].value, 108)
        self.assertAlmostEqual(told["lot"]["wet_mass"].sd, 6)
        self.assertAlmostEqual(told["dry_mass"].sd, 5.4)
        self.assertAlmostEqual(told["content"]["Au"].value, 9.72)
        self.assertEqual(told["lot"]["assays"]["Au"].text, "100 g/t")
        self.assertEqual(len(told["cautions"].about), 1)        # a quarter of the cycles is less than a third

    def test_weighings_count_too(self) -> None:
        """By hand: 144 x (1/4 + 0.12 / 9) with each weighing's variance 0.04."""
        told = of("run-sheet", cycles="12", rinses=[{"value": f"{x} kg", "sd": "0.2 kg"} for x in (8, 9, 10)])
        self.assertAlmostEqual(told["lot"]["wet_mass"].sd, 12 * math.sqrt(0.25 + 0.12 / 9), places=10)

    def test_moistures(self) -> None:
        """By hand: 100 g wet in a pan of 50 g, dry 140 g and 138 g in it: 10 % and 12 %, s²/n = 1."""
        told = of("run-sheet", rinses=["1 kg"], moisture=[{"wet": "150 g", "dry": f"{d} g", "container": "50 g"} for d in (140, 138)])
        self.assertAlmostEqual(told["lot"]["moisture"].value, 11)
        self.assertAlmostEqual(told["lot"]["moisture"].sd, 1)

    def test_buckets_and_composites(self) -> None:
        """By hand: 31 x 20 L x 0.85 x 1.9 = 1001.3 kg; (1 x 10 + 3 x 20)/4 = 17.5 g/t of Au, Ag by one alone."""
        told = of("run-sheet", buckets={"count": "31", "volume": "20 L", "fill": "85 %", "bulk_density": "1.9 kg/L"}, composites=[
            {"what": "a", "mass": "1 kg", "assays": {"Au": "10 g/t"}}, {"what": "b", "mass": "3 kg", "assays": {"Au": "20 g/t", "Ag": "5 g/t"}}])
        self.assertAlmostEqual(told["lot"]["wet_mass"].value, 1001.3)
        self.assertAlmostEqual(told["lot"]["assays"]["Au"].value, 17.5)
        self.assertAlmostEqual(told["lot"]["assays"]["Ag"].value, 5)
        self.assertNotIn("moisture", told["lot"])

    def test_far(self) -> None:
        self.assertEqual(bench_sampling.far([8.0, 8.1, 7.9, 8.0, 8.2, 12.0]), 1)
        self.assertEqual(bench_sampling.far([8.0, 8.1, 7.9, 12.0]), 0)

    def test_refused(self) -> None:
        for wrong in ({"wet": "10 g", "dry": "11 g"}, {"wet": "10 g", "dry": "9 g", "container": "9.5 g"}):
            with self.assertRaises(BenchError):
                of("run-sheet", rinses=["1 kg"], moisture=[wrong])
        with self.assertRaises(BenchError):
            of("run-sheet", rinses=["1 kg", "2 kg"], cycles="1")


TABLE = [{"what": "table", "in": ["feed"], "out": ["concentrate", "tailings"]}]


def two_products(feed: str, concentrate: str, tailings: str, **more: Any) -> dict:
    grades = {"feed": feed, "concentrate": concentrate, "tailings": tailings}
    return of("balance", streams={s: {"assays": {"X": g}} for s, g in grades.items()}, nodes=TABLE, **more)


class Balance(unittest.TestCase):
    def test_two_products(self) -> None:
        """1.0, 10.0, 0.2: yield 8.16327 %, recovery 81.6327 % [C]. 0.8, 25, 0.15 % Cu: recovery 81.740 %, ratio 38.2308
        (printed 81.7, 38.2) [M: Wills' Mineral Processing Technology]."""
        told = two_products("1 %", "10 %", "0.2 %")["streams"]["concentrate"]
        self.assertAlmostEqual(told["share"].value, 8.16327, places=5)
        self.assertAlmostEqual(told["recovery"]["X"].value, 81.6327, places=4)
        copper = two_products("0.8 %", "25 %", "0.15 %")
        self.assertAlmostEqual(copper["streams"]["concentrate"]["recovery"]["X"].value, 81.740, places=3)
        self.assertAlmostEqual(100 / copper["streams"]["concentrate"]["share"].value, 38.2308, places=4)
        self.assertEqual(copper["basis"].text, "feed is 100 kg")
        self.assertNotIn("p", copper)

    def test_separation_efficiency(self) -> None:
        """Feed 1 % Sn, mineral 78.6 % Sn: 63 % at 62 % recovery gives 61.8, 42 % at 72 % gives 71.2 [M: Schulz, in Wills
        ch. 1]."""
        for grade, recovery, printed in ((63, 62, 61.8), (42, 72, 71.2)):
            pull = recovery / grade
            tails = (1 - recovery / 100) / (1 - pull / 100)
            told = two_products("1 %", f"{grade} %", f"{tails:.15f} %", minerals={"X": "78.6 %"})["streams"]["concentrate"]
            self.assertAlmostEqual(told["separation_efficiency"]["X"].value, printed, delta=0.05)

    def test_three_products(self) -> None:
        """(20, 3), (1.5, 50), tailings (0.10, 0.40), feed (1.762, 3.088) of 100: 8.000 and 5.000 [C]."""
        grades = {"feed": (1.762, 3.088), "lead": (20, 3), "zinc": (1.5, 50), "tailings": (0.1, 0.4)}
        told = of("balance", streams={s: {"assays": {"Pb": f"{a} %", "Zn": f"{b} %"}} for s, (a, b) in grades.items()},
                  nodes=[{"what": "plant", "in": ["feed"], "out": ["lead", "zinc", "tailings"]}])["streams"]
        self.assertAlmostEqual(told["lead"]["mass"].value, 8, places=7)
        self.assertAlmostEqual(told["zinc"]["mass"].value, 5, places=7)

    def test_error_of_a_recovery(self) -> None:
        """u(R)/R = e (1 - R)/|R - Y| √(1 + Y² + (1 - Y)²); at 2, 40, 0.3: R 0.856423, factor 0.24440 [C]."""
        told = two_products("2 g/t", "40 g/t", "0.3 g/t", errors={"assays": "1 %"})["streams"]["concentrate"]
        recovery = told["recovery"]["X"]
        self.assertAlmostEqual(recovery.value, 85.6423, places=4)
        self.assertAlmostEqual(recovery.sd / recovery.value, 0.0024440, places=7)

    def test_six_flows(self) -> None:
        """101.91, 64.45, 34.65, 64.20, 36.44, 98.88, all of error 1: 100.22, 64.50, 35.72, 64.50, 35.72, 100.22, J 6.4075
        [M: Narasimhan and Jordache 2000, ch. 1]."""
        found = (101.91, 64.45, 34.65, 64.20, 36.44, 98.88)
        ends = ((["1"], ["2", "3"]), (["2"], ["4"]), (["3"], ["5"]), (["4", "5"], ["6"]))
        told = of("balance", streams={str(i + 1): {"mass": {"value": f"{x} kg", "sd": "1 kg"}} for i, x in enumerate(found)},
                  nodes=[{"what": "node", "in": i, "out": o} for i, o in ends])
        for name, printed in zip("123456", (100.22, 64.50, 35.72, 64.50, 35.72, 100.22)):
            self.assertAlmostEqual(told["streams"][name]["mass"].value, printed, places=2)
        self.assertAlmostEqual(told["chi_squared"].value, 6.4075, places=4)
        self.assertEqual(told["degrees"].value, 4)

    def test_masses_and_grades(self) -> None:
        """1000 ± 10, 21 ± 0.105, 985 ± 19.7 kg; 48 ± 3.84, 1900 ± 57, 9.2 ± 0.552 g/t: masses 1001.3911, 20.9988,
        980.3923, grades 48.7606, 1896.4857, 9.1846, J 0.118001, recovery 0.8155886 ± 0.010224 [C]."""
        figures = {"feed": (1000, 10, 48, 3.84), "concentrate": (21, 0.105, 1900, 57), "tailings": (985, 19.7, 9.2, 0.552)}
        told = of("balance", nodes=TABLE, streams={
            s: {"mass": {"value": f"{m} kg", "sd": f"{u} kg"}, "assays": {"Au": {"value": f"{g} g/t", "sd": f"{v} g/t"}}}
            for s, (m, u, g, v) in figures.items()})
        for s, mass, grade in (("feed", 1001.3911, 48.7606), ("concentrate", 20.9988, 1896.4857), ("tailings", 980.3923, 9.1846)):
            self.assertAlmostEqual(told["streams"][s]["mass"].value, mass, places=4)
            self.assertAlmostEqual(told["streams"][s]["assays"]["Au"].value, grade, places=4)
        self.assertAlmostEqual(told["chi_squared"].value, 0.118001, places=6)
        recovery = told["streams"]["concentrate"]["recovery"]["Au"]
        self.assertAlmostEqual(recovery.value, 81.55886, places=5)
        self.assertAlmostEqual(recovery.sd, 1.0224, places=4)

    def test_refused(self) -> None:
        with self.assertRaises(BenchError):                   # tailings richer than the feed
            two_products("1 %", "10 %", "1.2 %")
        with self.assertRaises(BenchError):                   # nothing tells the products apart
            two_products("1 %", "1 %", "1 %")
        with self.assertRaises(BenchError):                   # an assay of the feed alone
            of("balance", streams={"feed": {"mass": "1 kg", "assays": {"Au": "1 g/t"}}, "concentrate": {"mass": "0.1 kg"}, "tailings": {}},
               nodes=TABLE)


class TableTest(unittest.TestCase):
    def test_shaking_table(self) -> None:
        """12.25 % pull and 60 % recovery, 43.7 and 75 [P: New Zealand, Appendix to the Journals of the House of
        Representatives, 1917, C-2, p. 43]; the logit through two points is a line, solved here by hand."""
        told = of("table-test", of="Au", points=[["12.25 %", "60 %"], ["43.7 %", "75 %"]], form="logit", at=["20 %"])
        x = [math.log(y / (1 - y)) for y in (0.1225, 0.437)]
        z = [math.log(r / (1 - r)) for r in (0.60, 0.75)]
        b = (z[1] - z[0]) / (x[1] - x[0])
        self.assertAlmostEqual(told["curve"]["logit"][1].value, b, places=6)
        self.assertAlmostEqual(told["curve"]["logit"][0].value, z[0] - b * x[0], places=6)
        self.assertEqual(told["curve"]["logit"][0].sd, 0)
        self.assertEqual(of("table-test", of="Au", points=[["12.25 %", "60 %"], ["43.7 %", "75 %"]])["form"].text, "odds")

    def test_each_form_finds_itself(self) -> None:
        """Points on a curve give its constants back (invented)."""
        for form, c, at in (("odds", (60.0,), lambda y: 60 * y / (1 - y + 60 * y)),
                            ("logit", (3.2, 0.8), lambda y: 1 / (1 + math.exp(-3.2 - 0.8 * math.log(y / (1 - y))))),
                            ("saturating", (91.0, 30.0), lambda y: -0.91 * math.expm1(-30 * y))):
            pulls = (0.01, 0.03, 0.07, 0.12, 0.2)
            told = of("table-test", of="Au", points=[[f"{100 * y:.12f} %", f"{100 * at(y):.12f} %"] for y in pulls])
            self.assertEqual(told["form"].text, form)
            curve = told["curve"]
            found = [curve["odds"]] if form == "odds" else curve["logit"] if form == "logit" else [curve["limit_recovery"], curve["rate"]]
            for figure, wanted in zip(found, c):
                self.assertAlmostEqual(figure.value / wanted, 1, places=6)

    def test_graded_and_products_agree(self) -> None:
        """By hand: 3 kg of 100 at 900 g/t of a feed of 45 g/t hold 60 %, 5 kg more at 180 another 20 %."""
        points = of("table-test", of="Au", points=[["3 %", "60 %"], ["8 %", "80 %"]])
        graded = of("table-test", of="Au", graded=[["900 g/t", "60 %"], ["450 g/t", "80 %"]], feed="45 g/t")
        products = of("table-test", of="Au", products=[{"what": "a", "mass": "3 kg", "grade": "900 g/t"}, {"what": "b", "mass": "5 kg", "grade": "180 g/t"},
                                                       {"what": "tailings", "mass": "92 kg", "grade": f"{900 / 92:.14f} g/t"}])
        for other in (graded, products):
            self.assertAlmostEqual(other["curve"]["odds"].value, points["curve"]["odds"].value, places=6)

    def test_error_of_odds(self) -> None:
        """By hand: one constant, two equal points of error 2: sd of S = 0.02 / √2 ÷ dR/dS, dR/dS = R(1 - R)/S."""
        told = of("table-test", of="Au", points=[["5 %", "80 %"], ["5 %", "80 %"], ["5.000001 %", "80 %"]], error="2 %")
        s = 0.8 / 0.2 / (0.05 / 0.95)
        self.assertAlmostEqual(told["fits"]["odds"]["curve"]["odds"].sd, 0.02 / math.sqrt(3) / (0.16 / s), places=2)

    def test_rising_pull_falling_recovery(self) -> None:
        with self.assertRaises(BenchError):
            of("table-test", of="Au", points=[["5 %", "80 %"], ["10 %", "70 %"]], form="logit")


def melted(minerals: dict, **more: Any) -> dict:
    return of("charge", charge={"mass": "1 kg", "minerals": minerals}, **more)


def dose(told: dict, reagent: str) -> float:
    return sum(f["dose"].value for f in told["flux"] if f["reagent"].text == reagent)


class Flux(unittest.TestCase):
    def test_silica_by_degree(self) -> None:
        """Per 1 FeO at sub, singulo, sesqui, bi, tri-silicate: 0.2091, 0.4181, 0.6272, 0.8363, 1.2544; per 1 CaO, Na2CO3,
        PbO at bisilicate 1.0714, 0.5669, 0.2692 [C from IUPAC weights; scheme after Bugbee, A Textbook of Fire Assaying]."""
        for degree, silica in zip(bench_flux.DEGREES, (0.2091, 0.4181, 0.6272, 0.8363, 1.2544)):
            self.assertAlmostEqual(dose(melted({"FeO": "100 %"}, degree=degree), "silica"), silica, places=4)
        for base, silica in (("CaO", 1.0714), ("Na2CO3", 0.5669), ("PbO", 0.2692)):
            self.assertAlmostEqual(dose(melted({base: "100 %"}, degree="bisilicate"), "silica"), silica, places=4)

    def test_soda_for_silica_to_spare(self) -> None:
        """The same sum backwards: 0.5669 of silica takes 1 of soda ash to bisilicate."""
        self.assertAlmostEqual(dose(melted({"quartz": "100 %"}, degree="2"), "soda ash"), 1 / 0.5669, places=3)

    def test_what_stays(self) -> None:
        """Left in the slag: Na2CO3 0.584774, KNO3 0.465841, NaNO3 0.364608 [C]. Borax decahydrate 0.527621 [C] differs in
        the fifth digit by the weight of boron (10.811 there, 10.81 here)."""
        for reagent, stays, places in (("soda ash", 0.584774, 6), ("potassium nitrate", 0.465841, 6), ("sodium nitrate", 0.364608, 6),
                                       ("borax decahydrate", 0.527621, 5), ("borax", 1, 12), ("silica", 1, 12), ("fluorspar", 1, 12)):
            told = melted({"Au": "100 %"}, flux=[{"reagent": reagent, "dose": "1 kg/kg"}])
            self.assertAlmostEqual(told["slag"]["mass"].value, stays, delta=10**-places)

    def test_nitrate(self) -> None:
        """Potassium nitrate per 1 of mineral, to SO2: pyrite 1.686, arsenopyrite 1.118, galena 0.507, chalcopyrite 1.212
        [C]."""
        for mineral, nitrate in (("pyrite", 1.686), ("arsenopyrite", 1.118), ("galena", 0.507), ("chalcopyrite", 1.212)):
            told = melted({mineral: "100 %"}, oxidise={"with": "potassium nitrate"})
            self.assertAlmostEqual(dose(told, "potassium nitrate"), nitrate, places=3)
            self.assertAlmostEqual(told["oxygen"]["wanted"].value, told["oxygen"]["given"].value, places=12)
            self.assertNotIn("O2", told["gas"]["of"])

    def test_short_of_oxygen(self) -> None:
        """As the page tells it, sums by hand from the atoms: pyrite alone leaves FeS and sulphur, with steel FeS alone;
        arsenopyrite FeS and arsenic; lead shot without nitrate goes to the bar. FeS is S ÷ 0.36471 [C]."""
        pyrite = melted({"pyrite": "100 %"})
        self.assertAlmostEqual(pyrite["matte"].value, 32.06 / 0.36471 / bench_flux.weight("FeS2"), places=5)
        self.assertAlmostEqual(pyrite["gas"]["of"]["S2"].value, 32.06 / bench_flux.weight("FeS2"), places=9)
        with_steel = melted({"pyrite": f"{100 * 119.965 / 175.81:.9f} %", "steel": f"{100 * 55.845 / 175.81:.9f} %"})
        self.assertAlmostEqual(with_steel["matte"].value, 1, places=5)
        arsenic = melted({"arsenopyrite": "100 %"})
        self.assertAlmostEqual(arsenic["gas"]["of"]["As4"].value, 74.922 / bench_flux.weight("FeAsS"), places=9)
        lead = melted({"lead shot": "40 %", "quartz": "60 %"})
        self.assertAlmostEqual(lead["bar"]["metal"]["Pb"].value, 0.4, places=9)
        half = melted({"lead shot": "50 %", "quartz": "50 %"}, flux=[{"reagent": "potassium nitrate", "dose": f"{0.25 / 207.2 / 2.5 * 101.102:.12f} kg/kg"}])
        self.assertAlmostEqual(half["bar"]["metal"]["Pb"].value, 0.25, places=6)

    def test_halides(self) -> None:
        """By hand: rock salt keeps its sodium as NaCl; cryolite and lime give CaF2 and then NaF."""
        self.assertAlmostEqual(melted({"NaCl": "100 %"})["slag"]["oxides"]["NaCl"].value, 100, places=6)
        told = melted({"Na3AlF6": "20 %", "CaO": "10 %", "quartz": "70 %"})
        self.assertAlmostEqual(told["slag"]["oxides"]["CaF2"].value, 10 * bench_flux.weight("CaF2") / bench_flux.weight("CaO"), places=4)
        self.assertAlmostEqual(told["oxygen"]["wanted"].value, 0, places=9)
        with self.assertRaises(BenchError):
            melted({"NH4F": "10 %", "quartz": "90 %"})

    def test_mass_is_kept(self) -> None:
        """Charge + flux = slag + matte + bar + gas, by the page; and the oxygen left over is the ore's and the spare."""
        worked = 0
        for seed in range(80):
            request = random_bench.random_request("charge", seed)
            try:
                told = bench.evaluate(request)
            except BenchError:
                continue
            worked += 1
            fed = bench_flux.Reader().mass(request["charge"]["mass"]).value + told["flux_mass"].value
            out = sum(told[k]["mass"].value for k in ("slag", "bar", "gas")) + told["matte"].value
            self.assertAlmostEqual(out / fed, 1, places=6)
            self.assertAlmostEqual(sum(o.value for o in told["slag"]["oxides"].values()), 100, places=3)
            p = bench_flux.Charge(request).products()
            spare = max(0.0, p.given - p.wanted) + (0.0 if request.get("oxidise", {}).get("ore_oxygen") else p.m.mineral_left)
            self.assertAlmostEqual(2 * p.gas["O2"], spare, delta=1e-9 * fed)
        self.assertGreater(worked, 40)

    def test_minerals_hold_their_oxygen(self) -> None:
        """Silicates, carbonates and simple oxides want and give none; magnetite gives an atom, hematite one, goethite half;
        apatite wants half, which its fluorine saves."""
        for name, left in (("ilmenite", 0), ("almandine", 0), ("hornblende", 0), ("biotite", 0), ("muscovite", 0), ("tourmaline", 0),
                           ("staurolite", 0), ("calcite", 0), ("magnetite", 1), ("hematite", 1), ("goethite", 0.5), ("epidote", 0.5),
                           ("apatite", -0.5), ("monazite", 0), ("sphene", 0)):
            self.assertAlmostEqual(bench_flux.left_oxygen(bench_flux.atoms(bench_flux.MINERALS[name]), 2), left, places=12, msg=name)
        self.assertTrue(bench_flux.is_sulphate(bench_flux.atoms("BaSO4")))
        self.assertFalse(bench_flux.is_sulphate(bench_flux.atoms("FeAsS")))
        self.assertAlmostEqual(melted({"apatite": "100 %"})["oxygen"]["wanted"].value, 0, places=12)

    def test_volume_of_gas(self) -> None:
        """By hand: 44.009 g of CO2 at 1100 degC are 22.414 L x 1373.15/273.15."""
        told = melted({"CaCO3": "100 %"})
        self.assertAlmostEqual(told["gas"]["volume"].value, 1000 / 100.086 * 22.41397 * 1373.15 / 273.15, places=1)

    def test_mercury(self) -> None:
        with self.assertRaises(BenchError):
            melted({"cinnabar": "1 %"})

    def test_in_slag(self) -> None:
        """By hand: 1 kg of slag from silica at 100 g/t holds 0.1 g, worth 5 USD at 50 USD/g; 70 % less 1 kg x 1 USD/kg."""
        told = melted({"quartz": "90 %", "Au": "10 %"}, currency="USD", flux=[{"reagent": "silica", "dose": "0.1 kg/kg"}],
                      slag_grade={"Au": {"value": "100 g/t", "rsd": "10 %"}}, prices={"Au": "50 USD/g"},
                      retreatment={"recovery": {"Au": "70 %"}, "cost": "1 USD/kg"})["in_slag"]["Au"]
        self.assertAlmostEqual(told["content"].value, 0.1, places=9)
        self.assertAlmostEqual(told["of_charge"].value, 0.1, places=9)
        self.assertAlmostEqual(told["worth"].sd, 0.5, places=9)
        self.assertAlmostEqual(told["retreating_leaves"].value, 2.5, places=9)


class Bar(unittest.TestCase):
    def test_expected(self) -> None:
        """By hand: 10 kg dry, 30 % Au of which 99 % and 10 % Ag of which 90 %: 2.97 + 0.9 kg."""
        told = of("bar", charge={"mass": "10 kg", "assays": {"Au": "30 %", "Ag": "10 %", "Cu": "5 %"}}, to_bar={"Au": "99 %", "Ag": "90 %"},
                  bar={"mass": {"value": "3.8 kg", "sd": "0.02 kg"}})
        self.assertAlmostEqual(told["expected"]["mass"].value, 3.87)
        self.assertAlmostEqual(told["expected"]["fineness"]["Au"].value, 767.4418605, places=6)
        self.assertAlmostEqual(told["found"][0]["z"].value, -3.5)
        self.assertEqual(told["found"][0]["verdict"].text, "to be acted on")

    def weighed(self, density: float, **more: Any) -> dict:
        return of("bar", weighing={"air": "1 kg", "water": f"{1 - 0.9982 / density:.15f} kg", **more})["weighing"]

    def test_ideal_volumes(self) -> None:
        """By hand with gold 19.30 and silver 10.49, 1/(w/19.30 + (1 - w)/10.49): 917 fine 18.0423, 750 15.9509, 500 13.5923.
        (18.000, 15.907 and 13.549, kept elsewhere as the ideal ones, are those of gold 19.26 and silver 10.45.)"""
        for fine, density in ((917, 18.0423), (750, 15.9509), (500, 13.5923)):
            self.assertAlmostEqual(self.weighed(density)["if"]["Ag"].value, fine, delta=0.01)

    def test_printed_alloys_lie_within(self) -> None:
        """Densities of alloys of gold and silver: 917 fine 18.08, 750 16.03, 500 13.60; 583 Au 104 Ag 313 Cu 13.33
        [P: T. K. Rose, The Metallurgy of Gold, Table XIV]."""
        for fine, density in ((917, 18.08), (750, 16.03), (500, 13.60)):
            told = self.weighed(density, densities={"Ag": "10.49 kg/L"})["Au"]
            self.assertLessEqual(told["low"].value, fine)
            self.assertGreaterEqual(told["high"].value, fine)
        told = self.weighed(13.33)["Au"]
        self.assertTrue(told["low"].value < 583 < told["high"].value)

    def test_melt(self) -> None:
        """By hand: 1 kg of 80 % to 0.95 kg of 84 %: 5 % of weight and 0.25 % of metal."""
        told = of("bar", melts=[{"what": "remelt", "before": {"mass": "1 kg", "assays": {"Au": "80 %"}}, "after": {"mass": "0.95 kg", "assays": {"Au": "84 %"}}}])
        self.assertAlmostEqual(told["melts"][0]["weight_loss"].value, 5)
        self.assertAlmostEqual(told["melts"][0]["metal_loss"]["Au"].value, 0.25)


class Waiting(unittest.TestCase):
    """1000 kg a day at 10 g/t, 80 % paid at 50 USD/g, 2000 USD a lot: V = 400 T - 2000."""

    PLAN = {"format": "buttonworth-plan/1", "currency": "USD", "prices": {"Au": "50 USD/g"}, "discount": "20 %/a", "day": "10 h",
            "lot": {"wet_mass": "1 kg", "assays": {"Au": "10 g/t"}},
            "terms": {"mill": {"buys": "concentrate", "pay": {"Au": {"share": "80 %"}}, "charges": [{"what": "lot", "rate": "2000 USD/lot"}]}},
            "routes": {"sold": {"sell": "mill"}}}

    def test_best_wait(self) -> None:
        """At the best wait v (e^(λT) - 1) = λ e^(λT) (v T - F), solved here by halving."""
        told = of("lot-size", plan=self.PLAN, makes="100 kg/h", longest="900 d")
        decay = math.log(1.2) / 365

        def slope(t: float) -> float:
            return 400 * math.expm1(decay * t) - decay * math.exp(decay * t) * (400 * t - 2000)
        low, high = 10.0, 800.0
        for _ in range(100):
            middle = (low + high) / 2
            low, high = (middle, high) if slope(middle) > 0 else (low, middle)
        self.assertAlmostEqual(told["wait"].value / low, 1, places=3)      # the top is flat
        self.assertAlmostEqual(told["per_day"].value, (400 * low - 2000) * decay / math.expm1(decay * low), places=6)
        self.assertAlmostEqual(told["closed_form"]["wait"].value, math.sqrt(2 * 2000 / (400 * decay)), places=3)
        self.assertAlmostEqual(told["closed_form"]["fixed_per_lot"].value, 2000, places=6)

    def test_fixed(self) -> None:
        lots = bench_waiting.LotSize({"plan": self.PLAN, "makes": "100 kg/h", "longest": "90 d", "fixed": "500 USD"})
        self.assertAlmostEqual(lots.value(30.0)[1], 400 * 30 - 2500, places=6)


def written(tree: Any) -> Any:
    """The answer's tree as the library would print it."""
    if isinstance(tree, Shown):
        text = f"{tree.value:.15g} {tree.unit}".strip()
        return {"value": text, "sd": f"{tree.sd:.12g} {tree.unit}".strip()} if tree.sd else text
    if isinstance(tree, Word):
        return tree.text
    if isinstance(tree, Cautions):
        return [{"at": "x", "what": " ".join(words)} for words in tree.about]
    if isinstance(tree, list):
        return [written(t) for t in tree]
    return {k: written(t) for k, t in tree.items()}


def spoilt(answer: Any) -> list[Any]:
    """Answers with one thing changed: a figure by a millionth, a field dropped or added."""
    made = []

    def walk(node: Any, put: Any) -> None:
        if isinstance(node, dict):
            for k in list(node):
                without = {a: b for a, b in node.items() if a != k}
                put(without)
                walk(node[k], lambda new, k=k: put({**node, k: new}))
            put({**node, "stranger": "1"})
        elif isinstance(node, list):
            for i in range(len(node)):
                walk(node[i], lambda new, i=i: put(node[:i] + [new] + node[i + 1:]))
        elif isinstance(node, str):
            number, _, unit = node.partition(" ")
            try:
                put(f"{float(number) * 1.02 + 0.0101:.15g} {unit}".strip())
            except ValueError:
                put(node + "?")
    walk(answer, lambda new: made.append(copy.deepcopy(new)))
    return made


class Run(unittest.TestCase):
    def test_the_comparison_sees_every_change(self) -> None:
        for kind in ("sampling", "screen-assay", "run-sheet", "bar", "balance", "table-test"):
            mine = self.good(kind)
            answer = written(mine)
            self.assertEqual(bench_run.differences("", mine, answer), [])
            changed = spoilt(answer)
            self.assertGreater(len(changed), 5)
            for other in changed:
                if other.get("cautions") == answer.get("cautions"):
                    self.assertNotEqual(bench_run.differences("", mine, other), [], f"{kind}: {other}")

    @staticmethod
    def good(kind: str) -> dict:
        for seed in range(5, 50):
            try:
                return bench.evaluate(random_bench.random_request(kind, seed))
            except BenchError:
                pass
        raise AssertionError(f"no good {kind}")

    def test_random_requests_are_repeatable_and_good(self) -> None:
        for kind in random_bench.KINDS:
            if kind == "lot-size":
                continue
            good = 0
            for seed in range(12):
                request = random_bench.random_request(kind, seed)
                self.assertEqual(request, random_bench.random_request(kind, seed))
                try:
                    bench.evaluate(request)
                    good += 1
                except BenchError:
                    pass
            self.assertGreater(good, 7, kind)


if __name__ == "__main__":
    unittest.main()
