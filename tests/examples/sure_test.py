#!/usr/bin/env python3
"""How sure a plan is, on paper and in pictures: the page's figures against the answers', the pictures against both,
options, exit codes, errors, width.

    sure_test.py PROGRAM FOLDER_OF_DEMONSTRATIONS BENCH_PROGRAM
"""

import json
import math
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml

PROGRAM, DEMO, BENCH = sys.argv[1], pathlib.Path(sys.argv[2]), sys.argv[3]
PLAN, OPTIONS, SMALL = DEMO / "plan.json", DEMO / "sure.json", DEMO / "plan-small.json"
WIDTH = 100
FEW = ["--draws", "4096"]
SVG = "{http://www.w3.org/2000/svg}"


def run(*arguments, text=None):
    """The program, with a plan on standard input."""
    return subprocess.run([PROGRAM, *map(str, arguments)], input=text, capture_output=True, text=True, timeout=120)


def plainly(text):
    """A page as one line of words."""
    return re.sub(r"\s+", " ", text.replace("\u00a0", " "))


def number(quantity):
    return float(quantity.split()[0])


def money(amount):
    """Rounded for reading as the page does it."""
    return f"{float(amount):,.0f}"


class Demonstration(unittest.TestCase):
    maxDiff = None

    @classmethod
    def setUpClass(cls):
        cls.place = tempfile.TemporaryDirectory()
        cls.pictures = pathlib.Path(cls.place.name) / "pictures"
        cls.done = run(*FEW, "--picture", cls.pictures, PLAN, OPTIONS)
        cls.page = cls.done.stdout
        cls.said = plainly(cls.page)
        cls.answers = json.loads(run(*FEW, "--json", PLAN, OPTIONS).stdout)
        cls.simulation = cls.answers["simulate"]

    @classmethod
    def tearDownClass(cls):
        cls.place.cleanup()

    # ---- The page ----

    def test_answers_and_nothing_else(self):
        self.assertEqual((self.done.returncode, self.done.stderr), (0, ""))
        self.assertEqual(list(self.answers), ["simulate", "compare", "worth", "break_even", "counter_offers",
                                              "forgiving_cut", "sensitivity", "maps"])
        self.assertEqual(self.simulation["draws"], 4096)

    def test_width(self):
        self.assertLessEqual(max(map(len, self.page.split("\n"))), WIDTH)

    def test_what_to_do(self):
        route = self.simulation["routes"][self.simulation["preferred"]]
        self.assertIn(f"What to do: {self.simulation['preferred']}\n", self.page)
        self.assertIn(f"\"{self.simulation['preferred']}\" leaves {money(route['mean'])} USD on average; 95 in 100 draws lie between "
                      f"{money(route['low'])} USD and {money(route['high'])} USD, and the worst 5 in 100 leave "
                      f"{money(route['worst_mean'])} USD on average.", self.said)
        self.assertIn(f"by {money(self.simulation['lead']['mean'])} USD on average", self.said)
        self.assertIn(f"bring {money(self.simulation['worth_of_certainty'])} USD more on average", self.said)
        others = {name: number(one["best_share"]) for name, one in self.simulation["routes"].items() if name != self.simulation["preferred"]}
        rival = max(others, key=others.get)
        shares = [number(route["best_share"]), others[rival]]
        self.assertTrue(all(9.5 <= share < 90.5 for share in shares), shares)
        best, next_best = (math.floor(share / 10 + 0.5) for share in shares)
        self.assertIn(f'Of all routes it is the best in {best} in 10 draws, "{rival}" in {next_best} in 10.', self.said)
        for words in self.simulation["words"]:
            self.assertIn(words, self.said)

    def test_table_of_routes(self):
        for name, route in self.simulation["routes"].items():
            row = re.search(rf"(?m)^[? ] {re.escape(name)} {{2,}}(\S.*)$", self.page)
            self.assertIsNotNone(row, name)
            if route["refused_share"] == "100 %":
                self.assertEqual(row[1], "refused")
                continue
            figures = [money(route[what]) for what in ("mean", "low", "high", "worst_mean")]
            shares = [self.in_hundred(route[what]) for what in ("best_share", "refused_share")]
            self.assertEqual(row[1].split(), figures + shares, name)

    @staticmethod
    def in_hundred(share):
        share = number(share)
        return "-" if share == 0 else "<1" if share < 0.5 else f"{math.floor(share + 0.5)}"

    def test_best_on_average_first_and_refused_last(self):
        order = re.findall(r"(?m)^[? ] (\S.*?) {2,}\d\d,\d+ +\d\d,\d+ +\d\d,\d+ +\d\d,\d+ ", self.page)
        means = [number(self.simulation["routes"][name]["mean"]) for name in order]
        self.assertEqual(means, sorted(means, reverse=True))
        self.assertEqual(len(means), len(self.simulation["routes"]) - 1)

    def test_conditional_routes_are_marked(self):
        marked = {name for name, route in self.answers["compare"]["routes"].items() if route["conditional"] and not route["refused"]}
        self.assertTrue(marked)
        table = self.page[self.page.index("What each route leaves") : self.page.index("Low to high")]
        self.assertEqual({name for name in self.simulation["routes"] if f"\n? {name} " in table}, marked)

    def test_measurements(self):
        for candidate in self.answers["worth"]["candidates"]:
            at = candidate["counts"][max(candidate["best"], 1) - 1]
            so = f"buy {candidate['best']}" if candidate["best"] else "buy none"
            self.assertIn(f" {at['count']} {money(at['cost'])} {money(at['worth'])} {money(at['net'])} {so} ", self.said)
        self.assertIn("WM-jig-17: Au assay", self.page)
        self.assertIn("buy none", self.page)
        self.assertIn(f"Buy {self.answers['worth']['best']['count']} of ", self.said)

    def test_worth_uses_what_the_simulation_says_is_the_same(self):
        known = {one["of"]: number(one["known"]) for one in self.answers["worth"]["candidates"]}
        worth = {one["of"]: number(one["worth"]) for one in self.simulation["inputs"]}
        of = self.answers["worth"]["best"]["of"]
        self.assertAlmostEqual(known[of], worth[of], delta=0.05 * worth[of])  # two ways of weighing the same draws

    def test_several_of_one_measurement(self):
        """Where several pay, the figures shown are those of so many."""
        candidate = {"of": "/terms/nugget collector/pay/Au/price_share", "error": "4 %", "cost": "1 USD", "count": 6}
        with tempfile.NamedTemporaryFile("w", suffix=".json", encoding="utf-8") as file:
            file.write(json.dumps({"worth": {"candidates": [candidate]}, "break_even": []}))
            file.flush()
            done = plainly(run(*FEW, PLAN, file.name).stdout)
            answer = json.loads(run(*FEW, "--json", PLAN, file.name).stdout)["worth"]["candidates"][0]
        self.assertGreater(answer["best"], 1)
        at = answer["counts"][answer["best"] - 1]
        self.assertIn(f" {at['count']} {money(at['cost'])} {money(at['worth'])} {money(at['net'])} buy {answer['best']} ", done)
        self.assertIn(f"Buy {answer['best']} of nugget collector: Au price share. They bring {money(at['net'])} more", done)

    def test_worth_draws_as_the_simulation_does(self):
        """What a measurement is worth moves with each of the things that are said once, for the simulation."""
        options = json.loads(OPTIONS.read_text(encoding="utf-8"))
        simulate = {key: options["simulate"][key] for key in ("same", "correlate", "averaged")} | {"seed": 2, "draws": 4096}
        candidate = {"of": "/terms/nugget collector/pay/Au/price_share", "error": "2 %", "cost": "0 USD"}
        routes = ["tabled at best, bar to the refiner", "tabled at best, nuggets melted too", "as it lies, to the refiner"]

        def worth(**change):
            asked = {"simulate": simulate | {"routes": routes} | change, "worth": {"candidates": [candidate]}, "break_even": []}
            with tempfile.NamedTemporaryFile("w", suffix=".json", encoding="utf-8") as file:
                file.write(json.dumps(asked))
                file.flush()
                answer = json.loads(run("--json", PLAN, file.name).stdout)
            return answer["worth"]["candidates"][0]["counts"][0]["worth"], answer["worth"]["candidates"][0]["known"]

        whole = worth()
        self.assertGreater(number(whole[1]), 0)
        for change in ({"same": []}, {"correlate": []}, {"averaged": []}, {"seed": 3}, {"draws": 8192}, {"routes": routes[1:]}):
            self.assertNotEqual(worth(**change), whole, change)

    def test_what_tips_the_choice(self):
        for tip in self.answers["break_even"]:
            for lead in tip["leads"]:
                self.assertIn(f'"{lead["best"]}"', self.said)
            for lead, after in zip(tip["leads"], tip["leads"][1:]):
                self.assertNotEqual(lead["best"], after["best"])
                self.assertRegex(self.said, rf"up to {number(lead['to']):.4g} \S+ \"{re.escape(lead['best'])}\"")
            if tip["changes"]:
                self.assertIn(f'from there on "{tip["leads"][-1]["best"]}".', self.said)
        self.assertEqual(self.answers["break_even"][0]["changes"], [])
        self.assertIn("Au price, planned 2,950 USD/ozt; from 1,500 USD/ozt to 4,500 USD/ozt nothing changes", self.said)

    def test_what_moves_the_lead(self):
        """What is one thing moves as one, in all its places."""
        places = {frozenset([one["of"], *one["same"]]) for one in self.simulation["inputs"]}
        self.assertEqual(self.answers["sensitivity"]["without_effect"], [])
        self.assertEqual({frozenset(one["of"]) for one in self.answers["sensitivity"]["quantities"]}, places)
        largest = self.answers["sensitivity"]["quantities"][0]
        self.assertRegex(self.said, rf" % {re.escape(money(largest['lead_at']['low']))} [\d.,]+ % {re.escape(money(largest['lead_at']['high']))} ")

    def test_every_buyer_who_loses(self):
        for buyer, offer in self.answers["counter_offers"]["buyers"].items():
            self.assertIn(f"{buyer[0].upper()}{buyer[1:]}: {money(offer['short'])} less, with \"{offer['route']}\". {plainly(' '.join(offer['words'][1:]))}",
                          self.said)

    def test_the_cut(self):
        for words in self.answers["forgiving_cut"]["words"]:
            self.assertIn(words[1:], self.said)

    def test_cautions_of_the_route(self):
        self.assertIn("Have it tested for mercury before any heat.", self.said)
        self.assertIn("Nitrate with sulphides or metal powder reacts violently", self.said)
        self.assertEqual(self.page.count("Local rules and licensed practice come first."), 1)

    def test_constants_of_the_curve_go_together_as_the_bench_found(self):
        """A curve's constants are hardly ever independent: their correlation is the table test's."""
        answer = json.loads(subprocess.run([BENCH, "--json", DEMO / "bench" / "5-table-test.json"], capture_output=True, text=True, check=True).stdout)
        simulate = json.loads(OPTIONS.read_text(encoding="utf-8"))["simulate"]
        for field in ("same", "correlate"):
            self.assertEqual(len(answer["simulate"][field]), 1)
            self.assertIn(answer["simulate"][field][0], simulate[field])

    def test_what_is_the_same_is_one_figure(self):
        """Nothing that the plan states as one text in several places is left to be drawn by itself."""
        plan = json.loads(PLAN.read_text(encoding="utf-8"))

        def at(pointer):
            node = plan
            for step in pointer[1:].split("/"):
                step = step.replace("~1", "/").replace("~0", "~")
                node = node[int(step)] if isinstance(node, list) else node[step]
            return json.dumps(node)

        stated = [(at(one["of"]), one["of"].split("/")[1]) for one in self.simulation["inputs"] if not one["of"].startswith("/lot")]
        self.assertEqual(len(stated), len(set(stated)))

    # ---- Pictures ----

    def picture(self, name):
        return xml.parse(self.pictures / name).getroot()

    def texts(self, name):
        return [plainly("".join(text.itertext())) for text in self.picture(name).iter(SVG + "text")]

    def test_pictures_are_there(self):
        self.assertEqual({path.name for path in self.pictures.iterdir()}, {"ranges.svg", "lead.svg", "cut-1.svg", "map-1.svg", "map-2.svg"})
        for path in self.pictures.iterdir():
            root = self.picture(path.name)
            width, height = float(root.get("width")), float(root.get("height"))
            for text in root.iter(SVG + "text"):
                if text.get("x"):
                    self.assertTrue(0 <= float(text.get("x")) <= width and 0 <= float(text.get("y")) <= height, path.name)

    def ticks(self, root, upright=False):
        """Values and places of an axis, from its numbers; the places go by the text's own."""
        place = {"middle": "x"} if not upright else {"end": "y"}
        found = []
        for text in root.iter(SVG + "text"):
            said = "".join(text.itertext()).replace(",", "")
            if text.get("text-anchor") in place and re.fullmatch(r"-?\d+(\.\d+)?", said):
                found.append((float(said), float(text.get(place[text.get("text-anchor")]))))
        return found

    def test_ranges_are_drawn_where_they_are(self):
        """Read off the axis as an eye would: the ends of each bar are the route's low and high."""
        root = self.picture("ranges.svg")
        (v0, x0), *_, (v1, x1) = self.ticks(root)
        at = lambda value: x0 + (float(value) - v0) / (v1 - v0) * (x1 - x0)
        bars = [(float(box.get("x")), float(box.get("x")) + float(box.get("width"))) for box in root.iter(SVG + "rect")][1:]
        routes = sorted((r for r in self.simulation["routes"].values() if r["refused_share"] != "100 %"), key=lambda r: -number(r["mean"]))
        self.assertEqual(len(bars), len(routes) + 1)  # and the legend's
        for (low, high), route in zip(bars, routes):
            self.assertAlmostEqual(low, at(route["low"]), delta=0.2)
            self.assertAlmostEqual(high, at(route["high"]), delta=0.2)

    def test_ranges_name_every_route(self):
        texts = self.texts("ranges.svg")
        for name in self.simulation["routes"]:
            self.assertIn(name, texts)
        self.assertIn("refused in every draw", texts)

    def test_lead_counts_the_draws_of_the_answer(self):
        texts = " ".join(self.texts("lead.svg"))
        lead = self.simulation["lead"]
        self.assertIn(f'Over "{lead["over"]}": ahead in {math.floor(number(lead["ahead"]) + 0.5)} in 100 draws', texts)
        share = number(self.simulation["routes"][self.simulation["preferred"]]["best_share"])
        self.assertIn(f"Over the best of the others in each draw: ahead in {math.floor(share / 10 + 0.5)} in 10 draws", texts)

    def test_lead_bars_make_up_all_draws(self):
        root = self.picture("lead.svg")
        bars = [box for box in root.iter(SVG + "rect")][1:]
        heights = {True: 0.0, False: 0.0}
        for box in bars:
            heights[float(box.get("y")) < 300] += float(box.get("height"))
        upright = self.ticks(root, upright=True)
        for is_upper in (True, False):
            marks = [(v, y - 4) for v, y in upright if (y < 300) == is_upper]
            (v0, y0), (v1, y1) = marks[0], marks[-1]
            self.assertAlmostEqual(heights[is_upper] * (v1 - v0) / (y0 - y1), 100, delta=1)

    def test_lead_bars_are_coloured_by_who_leads(self):
        """Below 0, which is where the upright line stands, another route is ahead."""
        root = self.picture("lead.svg")
        zero = [float(line.get("x1")) for line in root.iter(SVG + "line") if line.get("stroke-width") == "1.5"]
        self.assertEqual(len(zero), 2)
        colours = {}
        for box in list(root.iter(SVG + "rect"))[1:]:
            middle = float(box.get("x")) + 0.5 * float(box.get("width"))
            colours.setdefault(middle > zero[float(box.get("y")) > 300], set()).add(box.get("fill"))
        self.assertEqual([len(colours[side]) for side in (False, True)], [1, 1])
        self.assertNotEqual(colours[False], colours[True])

    def test_dashes_are_where_the_cut_costs_as_much(self):
        root, answer = self.picture("cut-1.svg"), self.answers["forgiving_cut"]
        (v0, y0), *_, (v1, y1) = self.ticks(root, upright=True)
        edge = number(answer["present_value"]) - number(answer["costs"])
        dashes = [float(line.get("y1")) for line in root.iter(SVG + "line") if line.get("stroke-dasharray")]
        self.assertEqual(len(dashes), 1)
        self.assertAlmostEqual(dashes[0], y0 - 4 + (edge - v0) / (v1 - v0) * (y1 - y0), delta=0.2)

    def test_cut_band_is_the_answer_s(self):
        root = self.picture("cut-1.svg")
        cut = self.answers["forgiving_cut"]["cuts"][0]
        (v0, x0), *_, (v1, x1) = self.ticks(root)
        at = lambda pull: x0 + (number(pull) - v0) / (v1 - v0) * (x1 - x0)
        boxes = [box for box in root.iter(SVG + "rect")][1:]
        self.assertEqual(len(boxes), len(cut["bands"]))
        for box, band in zip(boxes, cut["bands"]):
            self.assertAlmostEqual(float(box.get("x")), at(band["from"]), delta=0.2)
            self.assertAlmostEqual(float(box.get("x")) + float(box.get("width")), at(band["to"]), delta=0.2)
        self.assertEqual(sum(len(line.get("points").split()) for line in root.iter(SVG + "polyline")), len(cut["curve"]))

    def test_maps_name_who_wins_and_give_each_its_share(self):
        for number_of, answer in enumerate(self.answers["maps"], 1):
            root, texts = self.picture(f"map-{number_of}.svg"), " ".join(self.texts(f"map-{number_of}.svg"))
            won = {}
            rows, columns = len(answer["winner"]), len(answer["winner"][0])
            for y, row in enumerate(answer["winner"]):
                for x, winner in enumerate(row):  # cells at the edges are halves
                    half = (0.5 if y in (0, rows - 1) else 1) * (0.5 if x in (0, columns - 1) else 1)
                    won[winner] = won.get(winner, 0) + half
            for winner in won:
                self.assertIn(answer["routes"][winner], texts)
            cells = root.find(SVG + "g")
            area = sum(float(box.get("width")) * float(box.get("height")) for box in cells)
            fills = {}
            for box in cells:
                fills[box.get("fill")] = fills.get(box.get("fill"), 0) + float(box.get("width")) * float(box.get("height"))
            self.assertAlmostEqual(area, 500 * 430, delta=500 * 430 * 1e-3)
            camp = answer["routes"].index("by weight to the camp trader")
            orange = sum(a for fill, a in fills.items() if int(fill[1:3], 16) > int(fill[3:5], 16) > int(fill[5:7], 16))
            limits = [float(found.replace(",", "")) for found in re.findall(r"by (?:less than )?([\d,]+) USD", texts)]
            self.assertEqual(limits, sorted(limits))
            strong = sum(a for fill, a in fills.items() if fill in ("#0072b2", "#e69f00", "#009e73"))  # not mixed with white
            full = sum((0.5 if y in (0, rows - 1) else 1) * (0.5 if x in (0, columns - 1) else 1)
                       for y, row in enumerate(answer["lead"]) for x, lead in enumerate(row) if number(lead) >= limits[1])
            self.assertAlmostEqual(strong / area, full / ((rows - 1) * (columns - 1)), delta=2e-3)
            pale = {fill for fill in fills if max(int(fill[i : i + 2], 16) for i in (1, 3, 5)) > 0 and min(int(fill[i : i + 2], 16) for i in (1, 3, 5)) >= 0xA5}
            little = sum((0.5 if y in (0, rows - 1) else 1) * (0.5 if x in (0, columns - 1) else 1)
                         for y, row in enumerate(answer["lead"]) for x, lead in enumerate(row) if number(lead) < limits[0])
            self.assertAlmostEqual(sum(fills[fill] for fill in pale) / area, little / ((rows - 1) * (columns - 1)), delta=2e-3)
            self.assertAlmostEqual(orange / area, won[camp] / ((rows - 1) * (columns - 1)), delta=2e-3)


class WithoutOptions(unittest.TestCase):
    def test_usual_questions(self):
        done = run(*FEW, PLAN)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertIn("No options were given: every figure was drawn by itself", plainly(done.stdout))
        self.assertNotIn("Is one more worth its cost", done.stdout)
        self.assertIn("Au price, planned", done.stdout)

    def test_nothing_uncertain_and_no_table(self):
        done = run("-", text=SMALL.read_text(encoding="utf-8"))
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertIn("nothing in the plan is stated as uncertain, so nothing can be said of how sure that is", plainly(done.stdout))
        for absent in ("How far the cut", "What moves the lead", "What is worth knowing"):
            self.assertNotIn(absent, done.stdout)

    def test_names_that_mean_something_to_xml(self):
        plan = SMALL.read_text(encoding="utf-8").replace("sold at the gate to the trader", "sold <at> the \\\"gate\\\" & to the trader, " + "far " * 30)
        with tempfile.TemporaryDirectory() as folder:
            done = run("--draws", "256", "--picture", folder, "-", text=plan)
            self.assertEqual((done.returncode, done.stderr), (0, ""))
            texts = ["".join(text.itertext()) for text in xml.parse(pathlib.Path(folder) / "ranges.svg").getroot().iter(SVG + "text")]
        self.assertTrue(any(text.startswith("sold <at> the \"gate\" & to the trader") and text.endswith("…") for text in texts), texts)


class ExitCodes(unittest.TestCase):
    def test_help_and_version(self):
        self.assertIn("usage: sure ", run("--help").stdout)
        self.assertRegex(run("--version").stdout, r"^buttonworth \d+\.\d+\.\d+\n$")

    def test_usage(self):
        small = SMALL.read_text(encoding="utf-8")
        for wrong in (["--no-such-option"], ["--draws"], ["--draws", "many"], ["--draws", "-1"], ["--draws", "7"], ["--draws", "300"], ["--picture"],
                      [DEMO / "no such file.json"], ["-", DEMO / "no such file.json"], [PLAN, OPTIONS, OPTIONS],
                      ["--picture", DEMO / "no such folder" / "in it", "-"], ["--picture", PLAN, "-"]):
            done = run(*wrong, text=small)
            self.assertEqual((done.returncode, done.stdout), (1, ""), wrong)
            self.assertGreater(len(done.stderr.strip()), 0, wrong)

    def test_plan_with_a_line_for_each_error(self):
        plan = json.loads(SMALL.read_text(encoding="utf-8"))
        plan["lot"]["wet_mass"], plan["discount"] = "15 oz", 20
        done = run(text=json.dumps(plan))
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertEqual(len(done.stderr.strip().split("\n")), 2, done.stderr)
        self.assertTrue(all(line.startswith("standard input: /") for line in done.stderr.strip().split("\n")))

    def test_options_with_their_place(self):
        for options, says in (
            ('{"simulat": {}}', "/simulat: there is no such part"),
            ('{"simulate": []}', "/simulate: an object is wanted here"),
            ('{"maps": [3]}', "/maps: a list of objects is wanted here"),
            ('{"simulate": {"foo": 1}}', "/simulate/foo: "),
            ('{"simulate": {"correlate": [["/prices/Au", "/prices/Pt", "0.5"]]}}', "/simulate/correlate/0/1: "),
            ('{"worth": {"candidates": [{"of": "/prices/Au", "error": "1 %"}]}}', "/worth/candidates/0: the field cost is missing"),
            ('{"break_even": [{"of": "/prices/Au"}, {"of": "/prices/Pt"}]}', "/break_even/1/of: "),
            ('{"counter_offers": {"terms": ["nobody"]}}', "/counter_offers/terms/0: "),
            ('{"forgiving_cut": {"route": "nowhere"}}', "/forgiving_cut/route: "),
            ('{"sensitivity": {"of": ["/prices/Pt"]}}', "/sensitivity/of/0: "),
            ('{"maps": [{"x": {"of": "/prices/Au"}}]}', "/maps/0: the field y is missing"),
            ("{", "not JSON"), ("", "not JSON"), ('{"maps": [], "maps": []}', "stands twice"),
        ):
            with tempfile.NamedTemporaryFile("w", suffix=".json", encoding="utf-8") as file:
                file.write(options)
                file.flush()
                done = run("--draws", "256", PLAN, file.name)
                self.assertEqual((done.returncode, done.stdout), (2, ""), options)
                self.assertTrue(done.stderr.startswith(f"{file.name}: "), done.stderr)
                self.assertIn(says, done.stderr)

    def test_impossible_physics(self):
        plan = json.loads(SMALL.read_text(encoding="utf-8"))
        plan["steps"]["shaker"] = {"kind": "table", "cut": {"pull": "1 %"}, "curve": {"Au": {"odds": "100"}}}
        plan["lot"]["assays"]["Au"] = "30 %"
        plan["routes"]["tabled"] = {"step": "shaker", **{name: {"keep": True} for name in ("concentrate", "middlings", "tailings")}}
        self.assertEqual(run(text=json.dumps(plan)).returncode, 3)

    def test_refused(self):
        plan = json.loads(SMALL.read_text(encoding="utf-8"))
        for terms in plan["terms"].values():
            terms["accepts"] = {"Au": {"min": "900 fine"}}
        done = run(text=json.dumps(plan))
        self.assertEqual((done.returncode, done.stderr), (5, ""))
        self.assertIn("every route is refused in every draw", done.stdout)
        self.assertIn("Refused: ", done.stdout)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
