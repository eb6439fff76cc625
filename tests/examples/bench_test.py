#!/usr/bin/env python3
"""The bench on paper and in a plan: its figures against sums worked here by hand, rounding, cautions, exit codes,
errors, width; and the demonstration plan, which is what its own bench puts into it.

    bench_test.py PROGRAM FOLDER_OF_DEMONSTRATIONS
"""

import json
import math
import pathlib
import re
import statistics
import subprocess
import sys
import tempfile
import unittest

PROGRAM, DEMO = sys.argv[1], pathlib.Path(sys.argv[2])
BENCH = DEMO / "bench"
WIDTH = 78


def run(*arguments, text=None):
    """The program, with a request on standard input."""
    return subprocess.run([PROGRAM, *map(str, arguments)], input=text, capture_output=True, text=True, timeout=120)


def request(name):
    return json.loads((BENCH / name).read_text(encoding="utf-8"))


def sheet_of(document):
    done = run("-", text=json.dumps(document))
    assert done.returncode in (0, 5), done.stderr
    return done.stdout


def answer_of(document):
    return json.loads(run("--json", "-", text=json.dumps(document)).stdout)


def number(quantity):
    return float(quantity.split()[0])


def plainly(text):
    """A page as one line of words."""
    return re.sub(r"\s+", " ", text)


RUN_SHEET = {"format": "buttonworth-run-sheet/1", "buckets": {"count": "100", "volume": "20 L", "bulk_density": {"value": "2.36 kg/L", "rsd": "5 %"}}}
FOLDER_SHEETS = [
    "How far a sample can be believed", "Assay by screen", "The lot from a run sheet: WM-jig-17, 2025-03-07",
    "The lot from a run sheet: WM-jig-18, 2025-03-14", "A balance: streams made to agree", "The curve of a table: gold",
    "Flux and slag of a charge", "The bar", "How long to gather before a lot goes out",
]


class Folder(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.done = run(BENCH)
        cls.page = cls.done.stdout
        cls.answers = json.loads(run("--json", BENCH).stdout)

    def test_every_sheet_in_the_order_of_the_work(self):
        self.assertEqual((self.done.returncode, self.done.stderr), (0, ""))
        titles = re.findall(rf"^(.+?)(?: {{2,}}\S+\.json)\n={{{WIDTH}}}$", self.page, re.MULTILINE)
        self.assertEqual(titles, FOLDER_SHEETS)

    def test_width(self):
        self.assertLessEqual(max(map(len, self.page.split("\n"))), WIDTH)

    def test_every_caution_is_said(self):
        said = plainly(self.page)
        rules = " Local rules and licensed practice come first."
        for name, answer in self.answers.items():
            for caution in answer["cautions"]:
                self.assertIn(plainly(caution["what"].removesuffix(rules)), said, name)

    def test_json_is_all_answers_by_file(self):
        self.assertEqual(list(self.answers), sorted(path.name for path in BENCH.glob("*.json")))
        self.assertEqual(self.answers["7-bar.json"], answer_of(request("7-bar.json")))

    def test_numbers_before_letters_of_names(self):
        with tempfile.TemporaryDirectory() as folder:
            for name in ("10-last.json", "9-first.json", "no request.txt", ".hidden.json"):
                (pathlib.Path(folder) / name).write_text(json.dumps(RUN_SHEET), encoding="utf-8")
            self.assertEqual(list(json.loads(run("--json", folder).stdout)), ["9-first.json", "10-last.json"])


class Figures(unittest.TestCase):
    """Shown figures, by hand."""

    def row(self, page, label):
        found = re.search(rf"^ *{re.escape(label)} {{2,}}(\S.*)$", page, re.MULTILINE)
        self.assertIsNotNone(found, f"no row {label!r} in\n{page}")
        return found[1]

    def test_weighed_cycles(self):
        sheet = request("3-run-sheet-17.json")
        rinses, cycles = [number(one) for one in sheet["rinses"]], 81
        mean, spread = statistics.mean(rinses), statistics.stdev(rinses)
        sd = cycles * spread * math.sqrt((1 - len(rinses) / cycles) / len(rinses))
        page = sheet_of(sheet)
        self.assertEqual(self.row(page, "Wet mass"), f"{cycles * mean:.1f} ± {sd:.1f} kg")
        self.assertEqual(self.row(page, "Cycles"), f"81, of which 36 were weighed: {mean:.2f} ± {spread:.2f} kg a cycle")
        self.assertRegex(page, r"(?m)^gold +6 values, 1,071 to 1,218 g/t ")

    def test_moisture(self):
        sheet = request("3-run-sheet-18.json")
        moistures = []
        for sample in sheet["moisture"]:
            wet, dry, container = (number(sample[name]) for name in ("wet", "dry", "container"))
            moistures.append(100 * (wet - dry) / (wet - container))
        page = sheet_of(sheet)
        sd = statistics.stdev(moistures) / math.sqrt(len(moistures))
        self.assertEqual(self.row(page, "Moisture of the samples"), ", ".join(f"{one:.1f} %" for one in moistures))
        self.assertEqual(self.row(page, "Moisture"), f"{statistics.mean(moistures):.2f} ± {sd:.2f} %")

    def test_composites_with_base_metals_in_per_cent(self):
        sheet = request("3-run-sheet-18.json")
        masses = [number(one["mass"]) for one in sheet["composites"]]
        page = sheet_of(sheet)

        def mean_of(analyte):
            parts = zip(masses, (one["assays"][analyte] for one in sheet["composites"]))
            return sum(mass * number(assay if isinstance(assay, str) else assay["value"]) for mass, assay in parts) / sum(masses)

        self.assertRegex(page, rf"(?m)^gold +{mean_of('Au'):.0f} ± \d\d g/t ")
        self.assertRegex(page, rf"(?m)^arsenic +{mean_of('As'):.3f} ± 0\.011 % ")
        self.assertRegex(page, rf"(?m)^iron +{mean_of('Fe'):.1f} % ")

    def test_screen(self):
        screen = request("2-screen-assay.json")
        fine = [number(one) for one in screen["fine"]["grade"]["values"]]
        coarse_metal, fine_mass = 97, 436.6  # mg, g
        metal = coarse_metal + fine_mass * statistics.mean(fine) / 1000
        sd = math.hypot(0.015 * coarse_metal, fine_mass / 1000 * statistics.stdev(fine) / math.sqrt(2)) / 0.5
        page = sheet_of(screen)
        self.assertEqual(self.row(page, "Grade of the whole"), f"{metal / 0.5:,.1f} ± {sd:.1f} g/t")
        self.assertTrue(self.row(page, "Share in the coarse part").startswith(f"{100 * coarse_metal / metal:.2f} ± "))

    def test_sampling_by_the_count_of_grains(self):
        """60 grains of 1 mg in a tonne, 3 expected in 50 kg: Poisson."""
        page = sheet_of({"format": "buttonworth-sampling/1", "grade": "0.06 g/t", "grains": {"mass": "1 mg"},
                         "stages": [{"what": "scoop", "sample": "50 kg"}]})
        self.assertRegex(page, r"(?m)^scoop +50 kg +3\.00 +58 % +count +58 %$")  # 1/sqrt(3)
        chance = math.exp(-3) * (9 / 2 + 27 / 6 + 81 / 24)  # 2, 3 or 4 grains
        self.assertIn(f"in {100 * chance:.0f} % of such samples", plainly(page))

    def test_bar(self):
        page = sheet_of({"format": "buttonworth-bar/1", "charge": {"mass": "10 kg", "assays": {"Au": {"value": "5 %", "rsd": "2 %"}, "Ag": "1 %"}},
                         "to_bar": {"Au": "100 %", "Ag": "100 %"}, "bar": {"mass": "560 g", "assays": {"Au": "800 fine"}}})
        self.assertRegex(page, r"(?m)^gold +500 ± 10 +833\.3 ± 2\.8$")  # d(Au/(Au + Ag)) = 0.1/0.6² × 0.01
        self.assertRegex(page, r"(?m)^mass, g +600 +560 +-40 +-4\.0  to be acted on$")
        self.assertRegex(page, r"(?m)^gold in all, g +500 +448 +-52 +-5\.2  to be acted on$")

    def test_flux(self):
        """Quartz and magnetite to a singulosilicate: as much oxygen in silica as in ferrous oxide."""
        page = sheet_of({"format": "buttonworth-charge/1", "charge": {"mass": "10 kg", "minerals": {"magnetite": "100 %", "Hg": "0 %"}}, "degree": "1"})
        silica = 1000 * (3 * 60.083) / (2 * 231.531)  # g a kg: half a SiO2 an FeO, three FeO a Fe3O4
        self.assertRegex(page, rf"(?m)^silica +{silica:.0f} +worked out$")
        self.assertIn("1.00, a singulosilicate", page)

    def test_table_test_names_the_chosen_form(self):
        answer, page = answer_of(request("5-table-test.json")), sheet_of(request("5-table-test.json"))
        self.assertRegex(page, rf"(?m)^{answer['form']}, chosen ")
        self.assertRegex(page, r"(?m)^ +0\.50 +\S+ ± \S+  outside the test$")
        self.assertRegex(page, r"(?m)^ +2\.50 +\S+ ± \S+$")

    def test_balance(self):
        """Two products of a certain feed: the formula of the two products, by hand."""
        page = sheet_of({"format": "buttonworth-balance/1", "nodes": [{"what": "table", "in": ["feed"], "out": ["concentrate", "tailings"]}],
                         "streams": {"feed": {"mass": "100 kg", "assays": {"Au": "20 g/t"}}, "concentrate": {"assays": {"Au": "160 g/t"}}, "tailings": {"assays": {"Au": "10 g/t"}}}})
        share = 100 * (20 - 10) / (160 - 10)
        self.assertRegex(page, rf"(?m)^concentrate +{share:.3f} +{share:.3f}$")
        self.assertRegex(page, rf"(?m)^concentrate +160 +{share * 160 / 20:.2f}$")
        self.assertIn("none is there to test another", plainly(page))

    def test_balance_that_does_not_agree(self):
        balance = request("4-balance.json")
        balance["streams"]["hutch"]["assays"]["Au"] = {"value": "1900 g/t", "rsd": "2 %"}
        page = plainly(sheet_of(balance))
        self.assertIn("the figures DO NOT AGREE", page)
        self.assertIn('Look first at "hutch, mass"; "hutch, gold": each off by', page)  # its metal alone is in the sums

    def test_waiting_marks_the_best(self):
        answer, page = answer_of(request("8-lot-size.json")), sheet_of(request("8-lot-size.json"))
        self.assertRegex(page, rf"(?m)^best +{number(answer['wait']):.1f} ")
        self.assertEqual(len(re.findall(r"dried, to the smelter$", page, re.MULTILINE)), len(answer["steps"]) + 1)

    def test_rounded_to_the_second_digit_of_the_deviation(self):
        self.assertEqual(self.row(sheet_of(RUN_SHEET), "Wet mass"), "4,720 ± 240 kg")  # 5 % of 4720 is 236


class Hazards(unittest.TestCase):
    def test_framed_at_the_end_with_mercury_first(self):
        page = sheet_of(request("6-flux.json"))
        frame = page[page.index("*" * WIDTH) :]
        self.assertTrue(frame.startswith("*" * WIDTH + "\nBEFORE ANYTHING IS HEATED\n\n ! Mercury"))
        self.assertLess(page.index("READ WHAT STANDS AT THE END"), page.index("Charge, dry"))
        for word in ("fume", "sulphur dioxide", "Nitrate", "silica", "flashes to steam", "Matte", "crucible"):
            self.assertIn(word, frame)
        self.assertEqual(page.count("Local rules and licensed practice come first."), 1)

    def test_no_frame_where_nothing_is_heated(self):
        page = sheet_of(request("3-run-sheet-17.json"))
        self.assertNotIn("*" * WIDTH, page)
        self.assertNotIn("HEATED", page)


class ExitCodes(unittest.TestCase):
    def test_usage(self):
        demo = DEMO / "plan.json"
        for wrong in (["--no-such-option"], [BENCH, BENCH], [BENCH / "no such file.json"], ["--plan"], ["--plan", demo],
                      ["--json", "--plan", demo, BENCH], ["--plan", demo, DEMO / "month"]):  # no into-plan.csv there
            done = run(*wrong, text="{}")
            self.assertEqual((done.returncode, done.stdout), (1, ""), wrong)
            self.assertEqual(len(done.stderr.strip().split("\n")), 1, done.stderr)
        with tempfile.TemporaryDirectory() as empty:
            self.assertEqual(run(empty).returncode, 1)

    def test_document_with_a_line_for_each_error(self):
        wrong = dict(RUN_SHEET, moisture="12", wet="1 kg")
        done = run(text=json.dumps(wrong))
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        lines = done.stderr.strip().split("\n")
        self.assertEqual(len(lines), 2, done.stderr)
        self.assertTrue(all(line.startswith("standard input: /") for line in lines), done.stderr)
        self.assertEqual(run("-", text="{").returncode, 2)

    def test_errors_of_a_whole_folder_and_no_half_page(self):
        with tempfile.TemporaryDirectory() as folder:
            for name, text in (("1.json", "{}"), ("2.json", json.dumps(RUN_SHEET)), ("3.json", "[")):
                (pathlib.Path(folder) / name).write_text(text, encoding="utf-8")
            done = run(folder)
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertIn("1.json: the field format is missing", done.stderr)
        self.assertIn("3.json: ", done.stderr)

    def test_figures_that_cannot_be(self):
        done = run(text=json.dumps({"format": "buttonworth-charge/1", "degree": "1", "charge": {"mass": "1 kg", "minerals": {"Au": "100 %"}}}))
        self.assertEqual((done.returncode, done.stdout), (3, ""))

    def test_refused_however_long_one_waits(self):
        waiting = request("8-lot-size.json")
        waiting["plan"]["terms"]["harbour smelter"]["accepts"]["Au"] = {"min": "900 fine"}
        del waiting["plan"]["routes"]["by weight to the camp trader"]
        done = run(text=json.dumps(waiting))
        self.assertEqual(done.returncode, 5)
        self.assertIn("No route is accepted by its buyers, however long one waits.", done.stdout)
        self.assertIn("all refused", done.stdout)


class IntoPlan(unittest.TestCase):
    maxDiff = None

    @classmethod
    def setUpClass(cls):
        cls.text = (DEMO / "plan.json").read_text(encoding="utf-8")

    def put(self, plan, rows, **requests):
        """Into a plan, as rows say, from requests of those names."""
        with tempfile.TemporaryDirectory() as place:
            folder = pathlib.Path(place) / "bench"
            folder.mkdir()
            (pathlib.Path(place) / "plan.json").write_text(plan, encoding="utf-8")
            (folder / "into-plan.csv").write_text("answer,place\n" + rows, encoding="utf-8")
            for name, document in requests.items():
                (folder / f"{name}.json").write_text(json.dumps(document), encoding="utf-8")
            return run("--plan", pathlib.Path(place) / "plan.json", folder)

    def test_demonstration_plan_is_what_its_bench_gives(self):
        done = run("--plan", DEMO / "plan.json", BENCH)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertEqual(done.stdout, self.text)

    def test_and_owes_nothing_of_it_to_what_stood_there(self):
        """With other figures in the places that the bench fills, the same plan comes out."""
        before = json.loads(self.text)["lot"]["parts"][0]["wet_mass"]["value"]
        curve = re.search(r'"Au": \{"logit": .*\},\n', self.text)[0]
        flux = re.search(r'"flux": \[\n(?:.*\n)*?      \],', self.text)[0]
        other = self.text.replace(f'"{before}"', '"500 kg"').replace(curve, '"Au": [["1 %", "60 %"], ["12 %", "95 %"]],\n')
        other = other.replace(flux, '"flux": [],', 1)
        other = re.sub(r'"limit": .*', '"limit": {"Au": "700 fine"},', other)
        other = re.sub(r'"search": .*', '"search": ["2 %", "3 %"],', other)
        self.assertNotEqual(other, self.text)
        with tempfile.NamedTemporaryFile("w", suffix=".json", encoding="utf-8") as file:
            file.write(other)
            file.flush()
            self.assertEqual(run("--plan", file.name, BENCH).stdout, self.text)

    def test_plan_holds_the_answers_to_their_second_digit(self):
        plan, answers = json.loads(self.text), json.loads(run("--json", BENCH).stdout)
        for part, name in zip(plan["lot"]["parts"], ("3-run-sheet-17.json", "3-run-sheet-18.json")):
            lot = answers[name]["lot"]
            for field in ("wet_mass", "moisture"):
                self.close(part[field], lot[field])
            self.close(part["assays"]["Au"], lot["assays"]["Au"])
        fitted = answers["5-table-test.json"]
        for step in ("table at 2.5 %", "table at best", "table to 1.5 % gold"):
            for mine, theirs in zip(plan["steps"][step]["curve"]["Au"]["logit"], fitted["curve"]["logit"]):
                self.close(mine, theirs)
            self.assertEqual(plan["steps"][step]["limit"], fitted["limit"])
        for mine, theirs in zip(plan["steps"]["table at best"]["search"], fitted["search"]):
            self.assertAlmostEqual(number(mine), number(theirs), delta=5e-4 * number(theirs))
        self.assertNotIn("search", plan["steps"]["table at 2.5 %"])
        for mine, theirs in zip(plan["steps"]["crucible furnace"]["flux"], answers["6-flux.json"]["flux"], strict=True):
            self.assertEqual((mine["reagent"], mine["price"]), (theirs["reagent"], theirs["price"]))
            self.assertAlmostEqual(number(mine["dose"]), number(theirs["dose"]), delta=5e-4 * number(theirs["dose"]))

    def close(self, mine, theirs):
        if "values" in theirs:  # as it was written
            self.assertEqual(mine, theirs)
            return
        sd = number(theirs["sd"])
        self.assertEqual(mine["value"].split()[1:], theirs["value"].split()[1:])
        self.assertAlmostEqual(number(mine["value"]), number(theirs["value"]), delta=0.05 * sd)
        self.assertAlmostEqual(number(mine["sd"]), sd, delta=0.05 * sd)

    def test_a_plan_on_one_line_gets_what_it_lacked(self):
        plan = {"format": "buttonworth-plan/1", "currency": "USD", "prices": {"Au": "90 USD/g"}, "discount": "0 %/a",
                "lot": {"wet_mass": "1 kg"}, "terms": {"trader": {"buys": "concentrate", "pay": {"Au": {}}}}, "routes": {"sold": {"sell": "trader"}}}
        sheet = dict(RUN_SHEET, id="R, \"7\"", moisture="10 %", assays={"Au": "80 g/t", "Fe": "400000 g/t", "Hg": "0 g/t"})
        done = self.put(json.dumps(plan), "sheet.json,/lot\n", sheet=sheet)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertEqual(json.loads(done.stdout)["lot"], {
            "id": "R, \"7\"", "wet_mass": {"value": "4720 kg", "sd": "240 kg"}, "moisture": "10 %",
            "assays": {"Au": "80 g/t", "Fe": "40 %", "Hg": "0 g/t"}})
        self.assertEqual(done.stdout.count("\n"), 0)

    def test_only_what_the_rows_name_is_asked(self):
        plan = (DEMO / "plan-small.json").read_text(encoding="utf-8")
        self.assertEqual(self.put(plan, "sheet.json,/lot\n", sheet=RUN_SHEET, broken={}).returncode, 0)
        done = self.put(plan, "sheet.json,/lot\nbroken.json,/lot", sheet=RUN_SHEET, broken={})
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertIn("broken.json: the field format is missing", done.stderr)

    def test_rows_that_cannot_be(self):
        plan = (DEMO / "plan-small.json").read_text(encoding="utf-8")
        bar = {"format": "buttonworth-bar/1", "weighing": {"air": "100 g", "water": "94 g"}}
        for row, says in (
            ("none.json,/lot", 'row 2: the folder holds no request "none.json"'),
            ("sheet.json,/lots", "row 2: the plan has no lot at /lots"),
            ("sheet.json,/lot/parts/0", "row 2: the plan has no lot at /lot/parts/0"),
            ("bar.json,/lot", "row 2: what bar.json answers has no place in a plan"),
            ("sheet.json", "row 2: a row is a request's file, a comma, and a place in the plan"),
            ("sheet.json,/lot\r\n\nnone.json,/lot", "row 4: the folder holds no request"),
            ("sheet.json,/steps/pan", "/steps/pan"),  # a lot in a step: the library says so
        ):
            done = self.put(plan, row, sheet=RUN_SHEET, bar=bar)
            self.assertEqual((done.returncode, done.stdout), (2, ""), row)
            self.assertIn(says, done.stderr)

    def test_a_plan_that_is_none(self):
        done = self.put('{"format": "buttonworth-plan/1"}', "sheet.json,/lot\n", sheet=RUN_SHEET)
        self.assertEqual((done.returncode, done.stdout), (2, ""))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
