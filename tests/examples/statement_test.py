#!/usr/bin/env python3
"""The printed statement: its figures against sums worked here by hand from the terms, exit codes, errors, width.

    statement_test.py PROGRAM FOLDER_OF_DEMONSTRATIONS
"""

import datetime
import json
import pathlib
import re
import subprocess
import sys
import unittest
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, getcontext

PROGRAM, DEMO = sys.argv[1], pathlib.Path(sys.argv[2])
getcontext().prec = 60
GRAMS_PER_OUNCE = Decimal("31.1034768")
WIDTH = 78


def run(*arguments, text=None):
    """The program, with a delivery on standard input."""
    return subprocess.run([PROGRAM, *arguments], input=text, capture_output=True, text=True, timeout=60)


def demo(name):
    return json.loads((DEMO / name).read_text(encoding="utf-8"))


def page_of(delivery, *arguments):
    return run(*arguments, "-", text=json.dumps(delivery)).stdout


def cents(amount):
    """As these terms round money."""
    return Decimal(amount).quantize(Decimal("0.01"), ROUND_HALF_EVEN)


def shown(amount, places="0.01"):
    return f"{Decimal(amount).quantize(Decimal(places), ROUND_HALF_UP):,}"


def gold(assay_g_per_t, price="31.1034768 USD/ozt", **more):
    """A tonne with so much gold at, if nothing is said, a dollar a gram."""
    return {
        "format": "buttonworth-delivery/1", "currency": "USD", "terms": {"buys": "concentrate", "pay": {"Au": {}}},
        "delivered": {"wet_mass": "1 t"}, "assays": {"Au": f"{assay_g_per_t} g/t"}, "prices": {"Au": price},
        **more,
    }


class Statement(unittest.TestCase):
    """Rows of a page, found by their label, their columns parted by two spaces or more."""

    maxDiff = None

    def cells(self, page, label):
        found = re.findall(rf"^ *{re.escape(label)}(?:  +(.*))?$", page, re.MULTILINE)
        self.assertTrue(found, f"no row {label!r} in\n{page}")
        return [re.split(r" {2,}", one.strip()) for one in found]

    def expect(self, page, label, *cells):
        self.assertIn(list(cells), self.cells(page, label))

    def expect_amounts(self, page, amounts):
        for label, amount in amounts.items():
            self.expect(page, label, shown(amount))


class Settled(Statement):
    """Both parties' figures within their limits, an umpire on arsenic, a month's average, an advance already paid."""

    @classmethod
    def setUpClass(cls):
        cls.page = run(str(DEMO / "delivery-settled.json")).stdout
        days = demo("delivery-settled.json")["quotes"]["Au"]["days"]
        april = [Decimal(price) for day, price in days.items() if day.startswith("2025-04-")]
        cls.quoted, cls.price = len(april), sum(april) / len(april)
        cls.dry = Decimal("728.25") * (1 - Decimal("0.061"))  # 729 and 727.5 kg, 6.0 and 6.2 %
        cls.settled = cls.dry * Decimal("0.995")
        # 995.5 g/t: 95.5 % of it is less than it less 2 g/t; silver 145 g/t: less 40 is less than 80 %
        cls.gold = cls.settled * Decimal("995.5") * Decimal("0.955") / 1000
        cls.silver = cls.settled * (145 - 40) / 1000

    def amounts(self):
        contract_ounce = Decimal("31.1035")
        value = cents(self.gold / GRAMS_PER_OUNCE * self.price)
        silver = cents(self.silver / GRAMS_PER_OUNCE * Decimal("33.40"))
        return {
            "Au value": value,
            "Ag value": silver,
            "Au refining": -cents(self.gold / contract_ounce * Decimal("7.50")),
            "Ag refining": -cents(self.silver / contract_ounce * Decimal("0.60")),
            "treatment": -cents(self.settled / 1000 * 620),
            "sampling and assay": Decimal(-620),
            "freight": -cents(Decimal("0.72825") * 940),
            "insurance": -cents((value + silver) * Decimal("0.0025")),
            # 0.44 % As and 0.05 % Sb are 0.29 % above 0.2 %: two whole steps of 3.50 USD/t
            "As + Sb penalty": -cents(self.settled / 1000 * 7),
            "Pb penalty": Decimal(0),
        }

    def test_head(self):
        self.assertTrue(self.page.startswith("Settlement statement, final\n"))
        self.expect(self.page, "buyer", "harbour smelter")
        self.expect(self.page, "delivery", "WM-jig-17 and WM-jig-18")
        self.expect(self.page, "arrived", "2025-03-28")

    def test_figures_of_both_parties_and_how_they_settled(self):
        for label, *cells in (
            ("wet mass", "kg", "729.00", "727.50", "1.50", "728.25", "mean"),
            ("moisture", "%", "6.0", "6.2", "-0.2", "6.1", "mean"),
            ("dry mass", "kg", "683.82675"),
            ("mass paid on", "kg", shown(self.settled, "0.00001")),
            ("Au", "g/t", "1,001.0", "990.0", "11.0", "995.5", "mean"),
            ("Ag", "g/t", "147", "143", "4", "145", "mean"),
            ("As", "%", "0.42", "0.50", "-0.08", "0.44", "middle"),
            ("Sb", "%", "0.05", "stated"),
        ):
            self.expect(self.page, label, *cells)
        umpire = "umpire 0.44 %: the middle one of the three settles; the umpire is paid by the buyer"
        self.assertIn(umpire, re.sub(r"\s+", " ", self.page))

    def test_average_and_its_days(self):
        self.assertEqual(self.quoted, 20)  # of 22 days from Monday to Friday
        said = re.sub(r"\s+", " ", self.page)
        self.assertIn(f"Au {shown(self.price, '0.0001')} USD/ozt average of 20 days, 2025-04; 2 working days", said)
        self.expect(self.page, "Ag", "33.40 USD/ozt", "fixed")

    def test_amounts_and_what_they_come_to(self):
        amounts = self.amounts()
        self.expect_amounts(self.page, amounts)
        proceeds, advance = sum(amounts.values()), Decimal("49755.63")
        interest = cents(advance * Decimal("0.09") * (60 - 10) / 365)
        due = datetime.date(2025, 3, 28) + datetime.timedelta(days=60)
        self.expect_amounts(self.page, {
            "Proceeds": proceeds, "less the advance already paid": -advance, "less the interest on it": -interest,
            f"Balance, due {due}": proceeds - advance - interest,
        })

    def test_metal(self):
        contained = self.dry * Decimal("995.5") / 1000
        self.expect(self.page, "Au", shown(contained, "0.001"), shown(self.gold, "0.001"),
                    shown(100 * self.gold / contained) + " %")
        contained = self.dry * 145 / 1000
        self.expect(self.page, "Ag", shown(contained, "0.001"), shown(self.silver, "0.001"),
                    shown(100 * self.silver / contained) + " %")

    def test_changes(self):
        amounts = self.amounts()
        changes = self.page[self.page.index("Since the last statement"):]
        for line in demo("delivery-settled.json")["previous"]["lines"]:
            was, now = Decimal(line["amount"]), amounts.get(line["what"])
            if now is None or was == now:
                self.assertNotIn(line["what"], changes)
            else:
                self.expect(changes, line["what"], shown(was), shown(now), shown(now - was))

    def test_foot_speaks_of_figures_alone(self):
        self.assertIn("more digits are rounded for showing only", self.page)
        self.assertNotIn("whole cents", self.page)

    def test_how_stands_beneath_its_amount(self):
        page = run("--how", str(DEMO / "delivery-settled.json")).stdout
        beneath = re.search(r"^  Au value +\S+\n +(.*)$", page, re.MULTILINE)[1]
        self.assertEqual(beneath, "680.4076 kg × 950.7025 g/t × 2960.4975 USD/ozt")
        self.assertEqual(len(page.split("\n")) - len(self.page.split("\n")), 11)  # its lines and the interest


class Disputed(Statement):
    """Gold beyond the splitting limit: the mean stands meanwhile."""

    def test_page(self):
        page = run(str(DEMO / "delivery-disputed.json")).stdout
        self.assertTrue(page.startswith("Settlement statement, provisional: 2 figures are open\n"))
        self.expect(page, "Au", "g/t", "1,182", "1,120", "62", "1,151", "open")
        self.expect(page, "Ag", "g/t", "158", "158", "open")
        said = re.sub(r"\s+", " ", page)
        self.assertIn("Open - Au: seller's 1182 g/t and buyer's 1120 g/t differ by 62 g/t", said)
        self.assertIn("- Ag: only the buyer's figure is known", said)
        dry = Decimal("352.25") * Decimal("0.941")
        settled = dry * Decimal("0.995")
        metal, silver = settled * 1151 * Decimal("0.955") / 1000, settled * (158 - 40) / 1000
        value = cents(metal / GRAMS_PER_OUNCE * Decimal("2972.15"))
        silver_value = cents(silver / GRAMS_PER_OUNCE * Decimal("33.20"))
        amounts = {
            "Au value": value,
            "Ag value": silver_value,
            "Au refining": -cents(metal / Decimal("31.1035") * Decimal("7.50")),
            "Ag refining": -cents(silver / Decimal("31.1035") * Decimal("0.60")),
            "treatment": -cents(settled / 1000 * 620),
            "sampling and assay": Decimal(-620),
            "freight": -cents(Decimal("0.35225") * 940),
            "insurance": -cents((value + silver_value) * Decimal("0.0025")),
            # 0.465 % As is rounded to the even 0.46 %, and 0.05 % Sb: 0.31 % above 0.2 % are three steps
            "As + Sb penalty": -cents(settled / 1000 * Decimal("10.5")),
            "Pb penalty": -cents(settled / 1000 * Decimal("0.4")),  # 0.54 %
        }
        self.expect_amounts(page, amounts)
        proceeds = sum(amounts.values())
        advance = proceeds * Decimal("0.85")
        interest = cents(advance * Decimal("0.09") * 50 / 365)
        self.expect_amounts(page, {
            "Proceeds": proceeds, "less the advance, due 2025-04-21": -advance, "less the interest on it": -interest,
            "Balance, due 2025-06-10": proceeds - advance - interest,
        })
        self.assertNotEqual(advance, cents(advance))
        self.assertIn("not whole cents", page)
        self.assertNotIn("Since the last statement", page)


class Bar(Statement):
    """A bar melted again, weighed in steps, its payable metal rounded to the ounce's thousandth."""

    def test_page(self):
        page = run(str(DEMO / "delivery-bar.json")).stdout
        self.expect(page, "gross", "g", "710.64", "710.60", "0.04", "710.62", "mean")
        self.expect(page, "melted", "g", "697.41", "stated")
        # 697.4 is passed by 0.01 g only, less than the turn of the scale; 3 g of sample stay with the refiner
        melted, paid_on = Decimal("697.3"), Decimal("694.3")
        self.expect(page, "mass paid on", "g", "694.3")
        # the umpire's 788.2 is nearer to the buyer's 787.6 (0.6) than to the seller's 788.9 (0.7)
        assay = (Decimal("788.2") + Decimal("787.6")) / 2
        self.expect(page, "Au", "fine", "788.9", "787.6", "1.3", f"{assay.normalize():f}", "nearer")
        said = re.sub(r"\s+", " ", page)
        self.assertIn("the mean of the umpire's and the buyer's figure settles; the umpire is paid by the seller", said)
        self.assertIn("weighed down to steps of 0.1 g, each once it is passed by 0.02 g, less the sample of 3 g", said)
        self.assertNotIn("melt loss", page)
        ounces = (paid_on * assay / 1000 * Decimal("0.993") / GRAMS_PER_OUNCE).quantize(Decimal("0.001"))
        silver = (paid_on * Decimal("0.114") * Decimal("0.95") / GRAMS_PER_OUNCE).quantize(Decimal("0.01"))
        value, silver_value = cents(ounces * 2944), cents(silver * Decimal("33.10"))
        amounts = {
            "Au value": value,
            "Ag value": silver_value,
            "Au refining": -cents(Decimal("710.6") / GRAMS_PER_OUNCE * Decimal("0.95")),
            "melting and assay": Decimal(-240),
            "courier": Decimal(-310),
            "insurance": -cents((value + silver_value) * Decimal("0.002")),
            "As penalty": -cents(paid_on / GRAMS_PER_OUNCE * Decimal("0.30")),
        }
        self.expect_amounts(page, amounts)
        proceeds = sum(amounts.values())
        self.expect_amounts(page, {
            "Proceeds": proceeds, "less the advance, due 2025-03-25": -proceeds * Decimal("0.9"),
            "Balance, due 2025-04-05": proceeds / 10,
        })
        contained, paid = melted * assay / 1000, ounces * GRAMS_PER_OUNCE
        self.expect(page, "Au", shown(contained, "0.001"), shown(paid, "0.001"), shown(100 * paid / contained) + " %")


class Rounding(Statement):
    def test_half_a_cent_is_shown_away_from_nothing(self):
        for grams, text in (("0.005", "0.01"), ("0.0049", "0.00"), ("9.995", "10.00"), ("999.995", "1,000.00"),
                            ("12345.625", "12,345.63"), ("12345.62", "12,345.62"), ("7", "7.00")):
            page = page_of(gold(grams))
            self.expect(page, "Au value", text)
            self.assertEqual("whole cents" in page, len(grams.partition(".")[2]) > 2, grams)

    def test_what_is_taken_off_and_rounds_to_nothing_has_no_sign(self):
        delivery = gold("1")
        delivery["terms"]["charges"] = [{"what": "scale", "rate": "0.004 USD/lot"}]
        self.expect(page_of(delivery), "scale", "0.00")

    def test_long_figures_end_at_eight_digits(self):
        found = {"seller": "1.5 g/t", "buyer": ["1 g/t", "1 g/t", "2 g/t"], "limit": "1 g/t"}
        page = page_of(gold("1", "1 USD/g", assays={"Au": found}))
        self.expect(page, "Au", "g/t", "1.5000000", "1.3333333", "0.1666667", "1.4166667", "mean")
        self.assertIn("more digits are rounded for showing only", page)


    def test_figures_beside_each_other_end_at_the_same_place(self):
        found = {"seller": "1.75 g/t", "buyer": "1.25 g/t", "limit": "1 g/t"}
        page = page_of(gold("1", assays={"Au": found}))
        self.expect(page, "Au", "g/t", "1.75", "1.25", "0.50", "1.50", "mean")

    def test_zeros_before_a_figure_are_no_digits_of_it(self):
        page = page_of(gold("1", assays={"Au": "1 g/t", "As": "0.01234567891 %"}))
        self.expect(page, "As", "%", "0.012345679", "stated")

    def test_grams_end_at_the_third_place(self):
        page = page_of(gold("1.2345", "1 USD/g"))
        self.expect(page, "Au", "1.235", "1.235", "100.00 %")
        self.assertIn("more digits are rounded for showing only", page)


class Words(Statement):
    def test_no_word_of_an_advance_where_there_is_none(self):
        page = page_of(gold("7"))
        self.expect(page, "Balance", "7.00")
        self.assertNotIn("advance", page)

    def test_an_open_mass_has_its_name(self):
        page = page_of(gold("1", delivered={"wet_mass": {"buyer": "1 t"}}))
        self.assertIn("  - wet mass: only the buyer's figure is known, 1 t", page)

    def test_a_balance_below_nothing_is_the_sellers_debt(self):
        lines = [{"what": "Au value", "amount": "100"}]
        earlier = {"format": "buttonworth-statement/1", "advance": "120.5", "lines": lines}
        page = page_of(gold("100", previous=earlier))
        self.expect(page, "Balance, which the seller owes the buyer", "-20.50")
        self.assertIn("No amount changed since the last statement.", page)

    def test_an_umpire_within_the_limit_is_not_needed(self):
        found = {"seller": "10 g/t", "buyer": "12 g/t", "limit": "2 g/t", "umpire": "10.4 g/t", "rule": "middle"}
        page = page_of(gold("1", assays={"Au": found}))
        self.expect(page, "Au", "g/t", "10", "12", "-2", "11", "mean")
        self.assertIn("umpire 10.4 g/t: not needed, the two are within the limit", page)

    def test_an_umpire_half_way_is_paid_by_both(self):
        found = {"seller": "10 g/t", "buyer": "12 g/t", "limit": "1 g/t", "umpire": "11 g/t", "rule": "nearer"}
        page = page_of(gold("1", assays={"Au": found}))
        self.assertIn("umpire 11 g/t: the umpire's figure settles; the umpire is paid by both", page)

    def test_what_the_terms_deem(self):
        delivery = gold("7")
        delivery["terms"]["deemed"] = {"Au": "900 g/t"}
        page = page_of(delivery)
        self.assertIn("Au counts as 900 g/t, whatever was assayed: the terms say so.", page)
        self.expect(page, "Au value", "900.00")

    def test_a_period_of_days_and_one_over_the_turn_of_the_year(self):
        days = {"2024-12-30": "10", "2025-01-02": "12"}  # 30 and 31 December, 1 to 3 January: five working days
        period = {"from": "2024-12-30", "to": "2025-01-03"}
        delivery = gold("1", quotes={"Au": {"unit": "USD/g", "days": days}}, period={"Au": period})
        del delivery["prices"]
        said = re.sub(r"\s+", " ", page_of(delivery))
        self.assertIn("11.00 USD/g average of 2 days, 2024-12-30 to 2025-01-03; 3 working days without a quote", said)
        delivery["arrived"], delivery["period"] = "2024-11-15", {"Au": {"months_after": 2}}
        self.assertIn("12.00 USD/g average of 1 day, 2025-01; 22 working days", re.sub(r"\s+", " ", page_of(delivery)))

    def test_names_are_shown_as_they_are(self):
        page = page_of(gold("1", assays={"Au": "1 g/t", "a/b~c": {"buyer": "1 %"}}))
        self.expect(page, "a/b~c", "%", "1", "1", "open")
        self.assertIn("  - a/b~c: only the buyer's figure is known, 1 %", page)

    def test_cautions_are_to_be_looked_at(self):
        days = {"2025-01-02": "10", "2025-01-03": "100", "2025-01-06": "10"}
        delivery = gold("1", quotes={"Au": {"unit": "USD/g", "days": days}}, period={"Au": {"month": "2025-01"}})
        del delivery["prices"]
        self.assertIn("To be looked at\n  - Au: the quote of 2025-01-03", page_of(delivery))


class Width(Statement):
    def test_no_line_is_wider_than_the_sheet(self):
        long = gold("1", buyer="B" * 200, id="ü" * 90 + " and so on" * 20)
        long["terms"]["charges"] = [{"what": "a charge " * 30, "rate": "1000000000000 USD/lot"},
                                    {"what": "q" * 100, "rate": "1 USD/lot"}]
        long["assays"]["W" * 150] = {"seller": "1.23456789123 %", "buyer": "1.5 %", "limit": "1 %"}
        long["delivered"]["wet_mass"] = {"seller": "806123456789.125 kg", "buyer": "806123456789 kg", "limit": "1 kg"}
        deliveries = [long] + [demo(path.name) for path in DEMO.glob("delivery-*.json")]
        self.assertEqual(len(deliveries), 4)
        for delivery in deliveries:
            for how in ([], ["--how"]):
                page = page_of(delivery, *how)
                self.assertIn("Proceeds", page)
                widest = max(page.split("\n"), key=len)
                self.assertLessEqual(len(widest), WIDTH, widest)

    def test_changes_too_wide_for_a_column_are_told_in_words(self):
        lines = [{"what": "Au value", "amount": "123456789012345"}, {"what": "an allowance of long ago", "amount": "5"}]
        earlier = {"format": "buttonworth-statement/1", "advance": "0", "lines": lines}
        said = re.sub(r"\s+", " ", page_of(gold("1", previous=earlier)))
        self.assertIn("Au value: was 123,456,789,012,345.00, is 1.00, change -123,456,789,012,344.00", said)
        self.assertIn("an allowance of long ago: was 5.00, is 0.00, change -5.00", said)

    def test_figures_too_wide_for_a_column_are_told_in_words(self):
        found = {"seller": "806123456789.125 kg", "buyer": "806123456789 kg", "limit": "1 kg"}
        page = page_of(gold("1", delivered={"wet_mass": found}))
        said = re.sub(r"\s+", " ", page)
        self.assertIn("wet mass: seller 806,123,456,789 kg, buyer 806,123,456,789 kg, difference 0 kg", said)


class Program(unittest.TestCase):
    def test_json_is_the_answer_and_nothing_else(self):
        answer = json.loads(run("--json", str(DEMO / "delivery-bar.json")).stdout)
        self.assertEqual(answer["format"], "buttonworth-statement/1")
        self.assertEqual(answer["id"], "WM-bar-4")

    def test_standard_input_is_read_as_a_file_is(self):
        path = DEMO / "delivery-bar.json"
        text, from_file = path.read_text(encoding="utf-8"), run(str(path))
        self.assertEqual(from_file.returncode, 0)
        for arguments in ([], ["-"]):
            done = run(*arguments, text=text)
            self.assertEqual((done.returncode, done.stdout), (0, from_file.stdout))

    def test_provisional_is_a_statement_too(self):
        self.assertEqual(run(str(DEMO / "delivery-disputed.json")).returncode, 0)

    def test_usage(self):
        file = str(DEMO / "delivery-bar.json")
        for wrong in (["--no-such-option"], [str(DEMO / "no such file.json")], [str(DEMO)], [file, file]):
            done = run(*wrong, text="")
            self.assertEqual((done.returncode, done.stdout), (1, ""), wrong)
            self.assertEqual(len(done.stderr.strip().split("\n")), 1, done.stderr)
            self.assertTrue(done.stderr.startswith("statement: "), done.stderr)

    def test_document_with_a_line_for_each_error(self):
        delivery = demo("delivery-bar.json")
        delivery["delivered"]["melted"], delivery["prices"]["Au"] = "22 oz", 2944
        done = run("-", text=json.dumps(delivery))
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        lines = done.stderr.strip().split("\n")
        self.assertEqual(len(lines), 2, done.stderr)
        self.assertTrue(lines[0].startswith("standard input: /prices/Au: the bare number 2944"), lines[0])
        self.assertTrue(lines[1].startswith("standard input: /delivered/melted: oz is ambiguous"), lines[1])
        self.assertEqual(run(str(DEMO / "plan.json")).returncode, 2)
        self.assertEqual(run(text="{").returncode, 2)

    def test_physics(self):
        done = run(text=json.dumps(gold("1", assays={"Au": "60 %", "Ag": "41 %"})))
        self.assertEqual((done.returncode, done.stdout), (3, ""))
        self.assertIn("standard input: /assays: ", done.stderr)

    def test_refused_by_the_terms(self):
        delivery = demo("delivery-settled.json")
        delivery["delivered"]["moisture"] = "8.5 %"
        done = run(text=json.dumps(delivery))
        self.assertEqual(done.returncode, 5, done.stderr)
        self.assertTrue(done.stdout.startswith("Settlement statement, the delivery is refused\n"))
        self.assertIn("Refused by the terms: nothing is owed\n  - harbour smelter: moisture of 8.5 %", done.stdout)
        for words in ("Proceeds", "Balance", "Metal", "Since the last"):
            self.assertNotIn(words, done.stdout)

    def test_help_and_version(self):
        self.assertIn("usage: statement", run("--help").stdout)
        self.assertRegex(run("--version").stdout, r"^buttonworth \d+\.\d+\.\d+\n$")


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
