#!/usr/bin/env python3
"""The report of a plan: its figures against the answers, its pictures against both, the page as such, the PDF, errors.

    report_test.py FOLDER_OF_DEMONSTRATIONS
"""

import importlib.util
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest
from decimal import Decimal
from fractions import Fraction

import buttonworth
from buttonworth import report
from buttonworth.report import contract
from pages import Page, PageTest, at, cut_labels, drawings, labels, number, outside, overlaps, plainly, pointed_at, rounded, size

DEMO = pathlib.Path(sys.argv[1])
PLAN, OPTIONS, SMALL = DEMO / "plan.json", DEMO / "sure.json", DEMO / "plan-small.json"
RULES = "Local rules and licensed practice come first."
GRAMS_PER_OUNCE = Fraction("31.1034768")
CENT = Decimal("0.01")


def run(*arguments, without_site=False):
    """The command, or Python without the packages that are installed beside it."""
    program = [sys.executable, *(["-S"] if without_site else []), *map(str, arguments)]
    return subprocess.run(program, capture_output=True, text=True, timeout=300)


def options(draws=4096, steps=17):
    """The demonstration's, with fewer draws and coarser maps."""
    read = json.loads(OPTIONS.read_text(encoding="utf-8"))
    read["simulate"]["draws"] = draws
    for each in read["maps"]:
        each["x"]["steps"] = each["y"]["steps"] = steps
    return read


def cents(number_):
    return Decimal(number_).quantize(CENT, "ROUND_HALF_UP")


def pdf_text(file, *more):
    return plainly(subprocess.run(["pdftotext", "-layout", *more, str(file), "-"], capture_output=True, text=True,
                                  check=True).stdout)


class Demonstration(PageTest):
    maxDiff = None

    @classmethod
    def setUpClass(cls):
        cls.place = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.place.name)
        cls.made = report.plan(PLAN.read_bytes(), options())
        cls.files = cls.made.write(cls.folder)
        cls.answers = cls.made.answers
        cls.page = Page(cls.files[0].read_text(encoding="utf-8"))
        cls.drawn = drawings(cls.page)
        cls.compare = cls.answers["compare"]
        cls.name = cls.answers["simulate"]["preferred"]
        cls.best = cls.compare["routes"][cls.name]

    # ---- The page ----

    def test_stands_alone(self):
        self.assertEqual(self.page.faults, [])
        self.assertEqual(outside(self.page), [])
        self.assertEqual(len(self.page.ids), len(set(self.page.ids)))
        self.assertEqual(pointed_at(self.page) - set(self.page.ids), set())
        self.assertIn('<meta name="viewport" content="width=device-width', self.page.source)

    def test_the_same_again(self):
        again = report.plan(PLAN.read_bytes(), options())
        self.assertEqual(again.html, self.made.html)

    def test_figures_are_the_answers(self):
        """Every figure that says where it is from is what stands there, rounded."""
        traced = [figure for figure in self.page.figures if "data-at" in figure]
        self.assertGreater(len(traced), 70)
        for figure in traced:
            answer = at(self.answers, figure["data-at"])
            self.assertEqual(figure["value"], answer, figure)
            shown = plainly(figure["text"])
            places = len(shown.partition(".")[2])
            self.assertEqual(shown, rounded(answer, places), figure)

    def test_money_of_every_route(self):
        places = {figure["data-at"] for figure in self.page.figures if "data-at" in figure}
        for name, route in self.compare["routes"].items():
            if route["refused"]:
                self.said(name, *route["refused"])
                continue
            for what in ("net", "present_value"):
                self.assertIn(f"/compare/routes/{name}/{what}", places)
                self.said(rounded(route[what], 2))
        for line in range(len(self.best["lines"])):
            self.assertIn(f"/compare/routes/{self.name}/lines/{line}/amount", places)
            self.said(self.best["lines"][line]["how"])

    # ---- What is said ----

    def test_what_to_do(self):
        mine = self.answers["simulate"]["routes"][self.name]
        self.said(f"What to do {self.name} Table it, take ", f"{rounded(self.best['present_value'], 0)} USD",
                  f"over 4,096 draws it leaves {rounded(mine['mean'], 0)} on average, 95 in 100 between "
                  f"{rounded(mine['low'], 0)} and {rounded(mine['high'], 0)}.",
                  f"{rounded(self.compare['lead'], 0)} more than the next", "Not tested: mercury (Hg).",
                  "Have it tested for mercury before any heat.")
        for product in self.best["products"]:
            self.said(f"to the {product['at']}")

    def test_when_it_is_in_hand(self):
        last = self.best["cash_days"][-1]
        self.said(f"all of the cash {rounded(last['total'], 0)}", rounded(self.best["credit"], 0))
        least = min((Decimal(entry["total"]) for entry in self.best["cash_days"]))
        self.assertLess(least, 0)
        self.said(f"laid out at most, by day 2 {rounded(-least, 0)}")

    def test_cautions_of_the_route(self):
        mine = {entry["at"] for entry in (*self.best["work"], *self.best["products"])} | {"lot"}
        told = [caution["what"] for caution in self.compare["cautions"] if caution["at"] in mine]
        self.assertGreater(len(told), 5)
        for what in told:
            self.said(what.replace(RULES, "").strip())
        self.said(RULES)

    def test_what_else_was_asked(self):
        words = [word for answer in self.answers["break_even"] for word in answer["words"]]
        words += self.answers["forgiving_cut"]["words"] + self.answers["worth"]["words"] + self.answers["simulate"]["words"]
        words += [word for buyer in self.answers["counter_offers"]["buyers"].values() for word in buyer["words"]]
        self.assertGreater(len(words), 20)
        self.said(*words, *(candidate["name"] for candidate in self.answers["worth"]["candidates"]))

    # ---- The waterfall ----

    def falls(self):
        """Label and amount of each row: those of one height belong together."""
        rows = {}
        for text, left, top, *_ in labels(self.drawn["falls", "wide"]):
            rows.setdefault(round(top), []).append((left, text))
        pairs = [sorted(row) for row in rows.values() if len(row) == 2 and re.search(r"\d\.\d\d$", max(row)[1])]
        return {row[0][1]: number(row[1][1]) for row in pairs}

    def test_waterfall_adds_up(self):
        falls = self.falls()
        names = list(falls)
        self.assertEqual(names[0], "metal contained, at the plan's prices")
        end, left = names.index("left, at the end"), names.index("left, counted as of today")
        self.assertEqual(sum(falls[name] for name in names[:end]), falls["left, at the end"])
        self.assertEqual(falls["left, at the end"] + falls["what waiting costs"], falls[names[left]])
        self.assertEqual(falls["left, at the end"], cents(self.best["net"]))
        self.assertEqual(falls["left, counted as of today"], cents(self.best["present_value"]))

    def test_contained_value_by_hand(self):
        """Of wet masses, moistures, mean assays and mean prices as the plan states them."""
        plan = json.loads(PLAN.read_text(encoding="utf-8"))
        value = sum(self.contained(plan, metal) * self.price(plan["prices"][metal]) for metal in ("Au", "Ag"))
        self.assertEqual(self.falls()["metal contained, at the plan's prices"], cents(Decimal(str(float(value)))))

    @staticmethod
    def first(quantity):
        return Fraction(quantity.split()[0])

    def mean(self, quantity):
        if isinstance(quantity, str):
            return self.first(quantity)
        if "value" in quantity:
            return self.first(quantity["value"])
        figures = quantity.get("values") or [quantity[name] for name in ("low", "mode", "high") if name in quantity]
        return sum(map(self.first, figures)) / len(figures)

    def price(self, quantity):
        return self.mean(quantity) / GRAMS_PER_OUNCE

    def contained(self, plan, metal):
        """In g: the parts' kilograms hold grams a tonne, the pieces' grams parts of a thousand."""
        lot = plan["lot"]
        grams = sum(self.mean(part["wet_mass"]) * (1 - self.mean(part["moisture"]) / 100)
                    * self.mean(part["assays"][metal]) / 1000 for part in lot["parts"])
        pieces = lot["apart"]["nuggets"]
        return grams + self.mean(pieces["mass"]) * self.mean(pieces["assays"][metal]) / 1000

    def test_rows_of_lines_are_their_sums(self):
        falls, sums = self.falls(), {}
        metals = "Au value", "Ag value", "Au credit", "Ag credit"
        plan = json.loads(PLAN.read_text(encoding="utf-8"))
        for line in self.best["lines"]:
            if line["what"] not in metals:
                name = f"work: {line['at']}" if line["at"] in plan["steps"] else line["what"].replace("Au ref", "gold ref")
                sums[name] = sums.get(name, 0) + Decimal(line["amount"])
        self.assertGreater(len(sums), 9)
        self.assertEqual({name: falls.get(name) for name in sums}, {name: cents(total) for name, total in sums.items()})

    # ---- The gold's path ----

    def test_gold_adds_up(self):
        """What the page tells of the gold's ends is what was fed, and fate by fate what the answer has."""
        rows = re.findall(r"<tr><td>([^<]*)</td><td>([^<]*)</td><td class=\"n\"><data class=\"grams\" value=\"([^\"]*)\"",
                          self.page.source)
        metal = self.best["metal"]["Au"]
        sums = {}
        for _, fate, grams in rows:
            sums[fate] = sums.get(fate, 0) + Decimal(grams)
        wanted = {"paid for": metal["payable"], "not paid for": metal["unpaid"], "sent back": metal["returned"],
                  "kept": metal["kept"]}
        for fate, grams in wanted.items():
            self.assertAlmostEqual(sums.pop(fate, Decimal(0)), Decimal(grams.split()[0]), 8)
        self.assertAlmostEqual(sums.pop("lost"), sum(Decimal(grams.split()[0]) for grams in metal["lost"].values()), 8)
        self.assertEqual(sums, {})
        self.assertAlmostEqual(sum(Decimal(grams) for *_, grams in rows), Decimal(metal["fed"].split()[0]), 8)

    def test_bands_are_as_wide_as_their_gold(self):
        fed = float(self.best["metal"]["Au"]["fed"].split()[0])
        rows = re.findall(r"<data class=\"grams\" value=\"([^\"]*)\"", self.page.source)
        for width, whole in (("wide", 150), ("narrow", 60)):
            bands = self.heights(self.drawn["gold", width], r"end\d+-\w+")
            self.assertEqual(len(bands), len(rows))
            self.assertAlmostEqual(sum(bands), whole, 3)
            for band, grams in zip(bands, rows):
                self.assertAlmostEqual(band / whole, float(grams) / fed, 5)

    @staticmethod
    def heights(svg, name):
        """How tall the shapes of that name are, as they are drawn."""
        found = []
        for path in re.findall(rf'<g id="gold-\w+-{name}">\s*<path d="([^"]*)"', svg):
            heights = [float(point) for point in re.findall(r"[ML] [-\d.]+ ([-\d.]+)", path)]
            found.append(max(heights) - min(heights))
        return found

    # ---- Pictures ----

    def test_both_widths_of_every_picture(self):
        names = {name for name, _ in self.drawn}
        self.assertEqual(names, {"cash", "falls", "gold", "ranges", "lead", "swings", "map0", "map1"})
        self.assertEqual(len(self.drawn), 2 * len(names))
        for (_, width), svg in self.drawn.items():
            self.assertEqual(size(svg)[0], {"wide": 680, "narrow": 350}[width])

    def test_no_label_is_cut_or_covered(self):
        for name, svg in self.drawn.items():
            self.assertEqual(cut_labels(svg), [], name)
            self.assertEqual(overlaps(svg), [], name)
            self.assertGreaterEqual(min(map(float, re.findall(r"font-size: ([\d.]+)px", svg))), 11)

    def test_pictures_name_routes_and_units(self):
        said = {name: plainly(" ".join(text for text, *_ in labels(svg))) for (name, width), svg in self.drawn.items()
                if width == "wide"}
        for name, route in self.answers["simulate"]["routes"].items():
            if route["refused_share"] != "100 %":
                self.assertIn(plainly(name), said["ranges"])
                self.assertIn(rounded(route["mean"], 0), said["ranges"])
        for name in ("falls", "ranges", "lead", "swings"):
            self.assertRegex(said[name], r"\bUSD\b")
        self.assertIn("Au price, USD/ozt", said["map0"])
        self.assertIn("g/t", said["map0"])

    def test_swings_are_sorted_and_told(self):
        wide = [text for text, *_ in labels(self.drawn["swings", "wide"])]
        quantities = [one for one in self.answers["sensitivity"]["quantities"] if one.get("swing") is not None][:12]
        shown = [number(text) for text in wide if text in {rounded(one["swing"], 0) for one in quantities}]
        self.assertEqual(shown, sorted(shown, reverse=True))
        for one in quantities:
            self.assertIn(plainly(one["name"]), plainly(" ".join(wide)))

    def test_map_shows_every_winner(self):
        for index, answer in enumerate(self.answers["maps"]):
            said = plainly(" ".join(text for text, *_ in labels(self.drawn[f"map{index}", "narrow"])))
            for entry in {entry for row in answer["winner"] for entry in row}:
                self.assertIn(plainly(answer["routes"][entry]), said)

    # ---- The PDF ----

    def test_pdf(self):
        info = subprocess.run(["pdfinfo", str(self.files[1])], capture_output=True, text=True, check=True).stdout
        pages = int(re.search(r"Pages:\s+(\d+)", info)[1])
        self.assertGreaterEqual(pages, 5)
        self.assertIn("A4", info)
        text = pdf_text(self.files[1])
        self.assertIn(f"page 1 of {pages}", text)
        for route in self.compare["routes"].values():
            if not route["refused"]:
                self.assertIn(rounded(route["net"], 2), text)
        for label in ("metal contained, at the plan's prices", "middlings, back to the plant", "Au price, USD/ozt"):
            self.assertIn(label, text)

    def test_first_page_is_the_operators(self):
        first = pdf_text(self.files[1], "-f", "1", "-l", "1")
        for text in ("What to do", "What it leaves", "When it is in hand", "What is not tested", "Cautions", RULES,
                     rounded(self.best["present_value"], 0), "Nitrate with sulphides"):
            self.assertIn(text, first)
        self.assertNotIn("The routes side by side", first)


class Terms(unittest.TestCase):
    """Terms as sentences: nothing is left unsaid."""

    EVERYTHING = {
        "buys": "bar", "transit": "3 d", "final": "41 d", "mass_deduction": "0.7 %", "sample_kept": "2.5 g",
        "accepts": {"mass": {"min": "51 g", "max": "9 kg"}, "Au": {"min": "401 fine"}},
        "melt_loss": {"mass": "1.1 %", "Au": "0.06 %"}, "deemed": {"Ag": "77 fine"},
        "pay": {"Au": {"share": "98.5 %", "less": "3 fine", "order": "less first", "refining": "4.25 USD/ozt",
                       "refining_of": "settled", "price": "2711 USD/ozt", "price_share": {"low": "96 %", "high": "99 %"}},
                "Ag": {"bands": [["12 fine", "81 %"], ["29 fine", "92 %"]], "less": "6 fine", "order": "share first"}},
        "charges": [{"what": "assay", "rate": "65 USD/lot", "at_least": "31 USD", "at_most": "33 USD"},
                    {"what": "fee", "rate": "0.8 %", "of": "payable value"},
                    {"what": "toll", "rate": "1.75 USD/ozt", "of": "payable Au"},
                    {"what": "haulage", "rate": "88 USD/t", "of": "wet"}],
        "penalties": [{"for": ["As", "Sb"], "above": "0.21 %", "each": "0.13 %", "rate": "3.5 USD/t", "count": "whole"},
                      {"for": "Pb", "marginal": [{"above": "5.5 %", "each": "0.17 %", "rate": "19 USD/t"}]},
                      {"for": "Bi", "whole": [{"up_to": "0.02 %", "rate": "7 USD/t"}], "refuse_above": "0.34 %"}],
        "participation": [{"for": "Au", "above": "2002 USD/ozt", "each": "1.5 USD/ozt", "rate": "0.022 USD/t"}],
        "advance": {"share": "84 %", "after": "8 d", "interest": "9.5 %/a"},
        "factors": {"g per ozt": "31.1035"},
        "rounding": {"Au": "0.1 fine", "money": "0.05 USD", "mode": "half up", "mass": {"step": "0.025 ozt", "turn": "0.002 ozt"},
                     "payable": {"Au": "0.001 ozt"}},
    }

    def leaves(self, value):
        if isinstance(value, dict):
            for name, member in value.items():
                if name != "note":
                    yield from self.leaves(member)
        elif isinstance(value, list):
            for member in value:
                yield from self.leaves(member)
        else:
            yield value

    def every_figure_is_said(self, terms):
        said = plainly(" ".join(sentence for _, sentences in contract.clauses(terms) for sentence in sentences))
        for leaf in self.leaves(terms):
            figure = re.match(r"-?[\d.]+", leaf)
            if figure and float(figure[0]) != 0:
                whole = f"{Decimal(figure[0]):,}"
                self.assertRegex(said, rf"(?<![\d.]){re.escape(whole)}(?![\d])", leaf)
        for sentence in said.split(". "):
            self.assertNotIn("{", sentence)

    def test_every_figure_of_the_demonstration(self):
        for terms in json.loads(PLAN.read_text(encoding="utf-8"))["terms"].values():
            self.every_figure_is_said(terms)

    def test_every_rule(self):
        """The library takes these terms, and each of their figures is said."""
        buttonworth.compare({"format": "buttonworth-plan/1", "currency": "USD", "discount": "0 %/a",
                             "prices": {"Au": "90 USD/g", "Ag": "1 USD/g"}, "lot": {"wet_mass": "1 kg"}, "steps": {},
                             "terms": {"all": self.EVERYTHING}, "routes": {"kept": {"keep": True}}})
        self.every_figure_is_said(self.EVERYTHING)

    def test_every_field_of_the_schema_is_tried(self):
        schema = json.dumps(buttonworth.schema("plan"))
        self.assertTrue(set(self.EVERYTHING) <= set(re.findall(r'"(\w+)":', schema)))
        for field in ("marginal", "refuse_above", "participation", "melt_loss", "deemed", "turn"):
            self.assertIn(f'"{field}"', json.dumps(self.EVERYTHING))

    def test_a_clause_in_full(self):
        said = dict(contract.clauses(self.EVERYTHING))
        self.assertEqual([plainly(text) for text in said["Payment"]],
                         ["84 % of the proceeds is advanced 8 days after arrival, at 9.5 % a year interest until the final "
                          "settlement.", "The rest is paid 41 days after arrival."])


class OtherPlans(unittest.TestCase):
    def small(self, **changes):
        plan = json.loads(SMALL.read_text(encoding="utf-8"))
        return {**plan, **changes}

    def test_nothing_uncertain(self):
        made = report.plan(SMALL.read_bytes())
        page = Page(made.html)
        self.assertEqual((page.faults, outside(page)), ([], []))
        self.assertIsNone(made.answers["simulate"])
        self.assertEqual({name for name, _ in drawings(page)}, {"cash", "falls", "gold", "map0"})
        self.assertNotIn("How sure it is", page.text)
        for svg in drawings(page).values():
            self.assertEqual((cut_labels(svg), overlaps(svg)), ([], []))

    def test_every_way_of_the_demonstration(self):
        """Alone, every route that is not refused makes a page whose gold adds up: side ways with steps of their own
        too."""
        plan = json.loads(PLAN.read_text(encoding="utf-8"))
        for name in ("tabled at best, middlings to the smelter", "magnetics off, rest to the smelter",
                     "tabled at best, nuggets melted too"):
            made = report.plan({**plan, "routes": {name: plan["routes"][name]}},
                               {"simulate": {"draws": 256}, "maps": []})
            page = Page(made.html)
            self.assertEqual((page.faults, outside(page)), ([], []))
            fed = made.answers["compare"]["routes"][name]["metal"]["Au"]["fed"].split()[0]
            grams = [Decimal(value) for value in re.findall(r'class="grams" value="([^"]*)"', page.source)]
            self.assertAlmostEqual(sum(grams), Decimal(fed), 8)
            for drawing, svg in drawings(page).items():
                self.assertEqual((cut_labels(svg), overlaps(svg)), ([], []), (name, drawing))

    def test_losses_of_two_dryers_keep_apart(self):
        """One dryer's name begins the other's: the dust of each leaves at its own step."""
        dryers = {"dryer": "3 %", "dryer 2": "1 %"}
        plan = {"format": "buttonworth-plan/1", "currency": "USD", "discount": "0 %/a", "prices": {"Au": "90 USD/g"},
                "lot": {"wet_mass": "100 kg", "moisture": "8 %", "assays": {"Au": "500 g/t"}},
                "steps": {name: {"kind": "dry", "to": moisture, "dust": dust}
                          for (name, dust), moisture in zip(dryers.items(), ("4 %", "1 %"))},
                "terms": {"buyer": {"buys": "concentrate", "pay": {"Au": {"share": "95 %"}}}},
                "routes": {"dried twice": {"step": "dryer", "dried": {"step": "dryer 2", "dried": {"sell": "buyer"}}}}}
        made = report.plan(plan, {"maps": []})
        rows = re.findall(r'<tr><td>(lost: [^<]*)</td><td>lost</td><td class="n"><data class="grams" value="([^"]*)"',
                          made.html)
        self.assertEqual([(name, Decimal(grams)) for name, grams in rows],
                         [("lost: dryer dust", Decimal("1.38")), ("lost: dryer 2 dust", Decimal("0.4462"))])
        downwards = sorted(labels(drawings(Page(made.html))["gold", "wide"]), key=lambda label: label[2])
        met = [text for text, *_ in downwards if "dryer" in text]
        self.assertEqual(met, ["dryer", "lost: dryer dust", "dryer 2", "lost: dryer 2 dust"])

    def test_a_step_met_twice_with_its_own_cuts(self):
        """Each pass is held at its own pull, so that the branches still add up."""
        plan = json.loads(PLAN.read_text(encoding="utf-8"))
        back = {"return": {"Au": "50 %"}}
        again = {"step": "table at best", "concentrate": {"sell": "camp trader"}, "middlings": back, "tailings": back}
        route = {"lot": {"step": "table at best", "concentrate": {"sell": "camp trader"}, "middlings": again,
                         "tailings": back}, "nuggets": {"sell": "nugget collector"}}
        made = report.plan({**plan, "routes": {"twice": route}}, {"simulate": {"draws": 256}, "maps": [],
                                                                   "break_even": []})
        answer = made.answers["compare"]["routes"]["twice"]
        self.assertEqual(len(answer["cut"]["table at best"]), 2)
        grams = [Decimal(value) for value in re.findall(r'class="grams" value="([^"]*)"', made.html)]
        self.assertAlmostEqual(sum(grams), Decimal(answer["metal"]["Au"]["fed"].split()[0]), 6)

    def test_every_route_refused(self):
        plan = self.small()
        plan["terms"]["camp trader"]["accepts"] = {"mass": {"min": "9 t"}}
        plan["terms"]["harbour smelter"]["accepts"] = {"mass": {"min": "8 t"}}
        made = report.plan(plan)
        page = Page(made.html)
        self.assertEqual(page.faults, [])
        self.assertIn("Nothing can be done as planned: every route is refused.", page.text)
        for route in made.answers["compare"]["routes"].values():
            self.assertIn(plainly(route["refused"][0]), page.text)

    def test_mercury_stops(self):
        plan = self.small()
        plan["lot"]["assays"]["Hg"] = "40 ppm"
        del plan["routes"]["sold at the gate to the trader"]
        self.assertIn("STOP: this way heats mercury.", Page(report.plan(plan).html).text)

    def test_names_are_only_words(self):
        """A name with signs of HTML in it makes no tag, and one of JSON pointers leads nowhere else."""
        plan = self.small()
        plan["routes"] = {"<b>a~b/c</b> & so on": plan["routes"]["dried and shipped to the smelter"]}
        page = Page(report.plan(plan).html)
        self.assertEqual(page.faults, [])
        self.assertIn("<b>a~b/c</b> & so on", page.text)
        self.assertNotIn("<b>", page.source)


class Command(unittest.TestCase):
    def test_writes_both(self):
        with tempfile.TemporaryDirectory() as folder:
            out = pathlib.Path(folder) / "made" / "here"
            done = run("-m", "buttonworth.report", SMALL, "--out", out)
            self.assertEqual((done.returncode, done.stderr), (0, ""))
            self.assertEqual(done.stdout.split(), [str(out / "report.html"), str(out / "report.pdf")])
            self.assertEqual(Page((out / "report.html").read_text(encoding="utf-8")).faults, [])
            self.assertTrue((out / "report.pdf").read_bytes().startswith(b"%PDF"))

    def test_mistakes_are_told(self):
        with tempfile.TemporaryDirectory() as folder:
            plan, sure = pathlib.Path(folder) / "plan.json", pathlib.Path(folder) / "sure.json"
            plan.write_text(SMALL.read_text(encoding="utf-8").replace("640 kg", "15 oz"), encoding="utf-8")
            done = run("-m", "buttonworth.report", plan, "--out", folder)
            self.assertEqual(done.returncode, 1)
            self.assertIn(f"{plan}: /lot/wet_mass: oz is ambiguous: write ozt", done.stderr)
            sure.write_text('{"maps": [], "mapps": []}', encoding="utf-8")
            done = run("-m", "buttonworth.report", SMALL, "--out", folder, "--sure", sure)
            self.assertEqual(done.returncode, 1)
            self.assertIn("/mapps: there is no such part; the parts are simulate", done.stderr)
            for no_parts in ("[]", "7", '"maps"'):
                sure.write_text(no_parts, encoding="utf-8")
                done = run("-m", "buttonworth.report", SMALL, "--out", folder, "--sure", sure)
                self.assertEqual(done.returncode, 1)
                self.assertIn("an object of parts is wanted; the parts are simulate", done.stderr)
                self.assertNotIn("Traceback", done.stderr)
            done = run("-m", "buttonworth.report", pathlib.Path(folder) / "none.json", "--out", folder)
            self.assertEqual(done.returncode, 1)
            self.assertIn("none.json", done.stderr)
            self.assertEqual(sorted(os.listdir(folder)), ["plan.json", "sure.json"])

    def test_missing_packages_are_named(self):
        """Without what is installed beside Python the module is still there, and says what a report needs."""
        done = run("-c", "import buttonworth.report as r; print(r.__name__); r.plan('{}')", without_site=True)
        self.assertEqual(done.stdout, "buttonworth.report\n")
        self.assertIn("ImportError: a report needs matplotlib and jinja2: install them on Debian with \"apt install "
                      "python3-matplotlib python3-jinja2\", elsewhere with \"pip install matplotlib Jinja2\"", done.stderr)
        done = run("-m", "buttonworth.report", SMALL, "--out", "/nowhere", without_site=True)
        self.assertEqual(done.returncode, 1)
        self.assertEqual(done.stderr.count("\n"), 1)
        self.assertIn("matplotlib, jinja2 and weasyprint", done.stderr)

    def test_importing_the_module_does_not_draw(self):
        done = run("-c", "import sys, buttonworth; print('matplotlib' in sys.modules, 'jinja2' in sys.modules)")
        self.assertEqual(done.stdout, "False False\n")
        self.assertIsNotNone(importlib.util.find_spec("matplotlib"))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
