"""Hand-computed checks of the plain evaluator of months and returns, and of the run that compares with it.

The tonne of most tests: 1 t dry concentrate at 100 g/t gold, 90 % paid at 50 USD/g, treatment 100 USD/t:
100 g contained, 90 g payable, 4500 - 100 = 4400 USD, of which 80 %, 3520, five days after arrival and the rest,
880, on the thirtieth. Arrived on 10 March it is due on 15 March and on 9 April. Rows with a source name it.
"""

from __future__ import annotations

import contextlib
import copy
import io
import json
import math
import random
import unittest
from collections import Counter
from fractions import Fraction
from typing import Any, Optional

import evaluator as ev
import month_run
import months
import random_months
import run

F = Fraction
OUNCE = ev.OUNCE
ADVANCE, BALANCE = "2026-03-15", "2026-04-09"


def terms(**more: Any) -> dict:
    return {"buys": "concentrate", "pay": {"Au": {"share": "90 %"}},
            "charges": [{"what": "treatment", "rate": "100 USD/t"}],
            "advance": {"share": "80 %", "after": "5 d"}, "final": "30 d", **more}


def buyer(sale: Optional[dict] = None, **more: Any) -> dict:
    return {"terms": sale or terms(), "prices": {"Au": "50 USD/g"}, **more}


def tonne(name: str = "K-1", arrived: str = "2026-03-10", **more: Any) -> dict:
    return {"id": name, "buyer": "A", "arrived": arrived, "delivered": {"wet_mass": "1 t"},
            "assays": {"Au": "100 g/t"}, **more}


def march(rows: Any, a: Optional[dict] = None, **more: Any) -> dict:
    return months.book({"format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01", "to": "2026-03-31",
                        "buyers": {"A": a or buyer()}, "deliveries": rows, **more})


def money(day: str, amount: str, delivery: Optional[str] = None) -> dict:
    told = {"date": day, "buyer": "A", "amount": f"{amount} USD"}
    return {**told, "delivery": delivery} if delivery else told


def owed(told: dict, name: str = "A") -> list[tuple]:
    return [(i["delivery"], i["what"], i["due"], i["amount"]) for i in told["buyers"][name]["outstanding"]]


def cash(told: dict) -> dict:
    return told["buyers"]["A"]["cash"]


class Sums(unittest.TestCase):
    def test_one_tonne(self) -> None:
        # the tonne of the head of this file
        told = march([tonne()])
        b = told["buyers"]["A"]
        self.assertEqual((b["deliveries"], b["refused"], b["provisional"]), (1, 0, 0))
        self.assertEqual((b["wet_mass"], b["dry_mass"], b["settled_mass"]), (1000, 1000, 1000))
        self.assertEqual((b["proceeds"], b["interest"]), (4400, 0))
        self.assertEqual(b["lines"], {"Au value": 4500, "treatment": -100})
        self.assertEqual(b["kinds"], {"value": 4500, "refining": 0, "charges": -100, "penalties": 0,
                                      "participation": 0, "interest": 0})
        self.assertEqual(b["metal"], {"Au": {"contained": F("0.1"), "payable": F("0.09"), "value": 4500}})
        self.assertEqual(owed(told), [("K-1", "advance", ADVANCE, 3520), ("K-1", "balance", BALANCE, 880)])
        self.assertEqual(b["due"], [{"day": ADVANCE, "amount": 3520}, {"day": BALANCE, "amount": 880}])
        self.assertEqual(b["overdue"], 3520)                    # 9 April is after `to`
        self.assertEqual(cash(told)["closing"], 4400)
        self.assertEqual({k: v for k, v in b.items() if k != "outstanding"}, told["total"])

    def test_two_of_them_one_damp(self) -> None:
        # 2 t wet at 10 %: 1.8 t dry at 50 g/t = 90 g, 81 g payable = 4050, treatment 180: 3870; with the tonne 8270
        damp = tonne("K-2", delivered={"wet_mass": "2 t", "moisture": "10 %"}, assays={"Au": "50 g/t"})
        b = march([tonne(), damp])["total"]
        self.assertEqual((b["wet_mass"], b["dry_mass"], b["proceeds"]), (3000, 2800, 8270))
        self.assertEqual(b["lines"], {"Au value": 8550, "treatment": -280})
        self.assertEqual(b["metal"]["Au"], {"contained": F("0.19"), "payable": F("0.171"), "value": 8550})

    def test_interest(self) -> None:
        # 3520 x 10 % x 25 d / 365 = 24.1095..., 24.11 rounded; the delivery owes 4375.89, the balance 855.89
        sale = terms(advance={"share": "80 %", "after": "5 d", "interest": "10 %/a"}, rounding={"money": "0.01 USD"})
        told = march([tonne()], buyer(sale))
        b = told["buyers"]["A"]
        self.assertEqual((b["interest"], b["kinds"]["interest"]), (F("24.11"), F("-24.11")))
        self.assertEqual(b["lines"]["interest on the advance"], F("-24.11"))
        self.assertEqual(cash(told)["due"], F("4375.89"))
        self.assertEqual(owed(told)[1][3], F("855.89"))

    def test_refused_is_counted_apart(self) -> None:
        # no more than 50 g/t accepted: the tonne is refused, the second of 40 g/t is 36 g, 1800 - 100
        told = march([tonne(), tonne("K-2", assays={"Au": "40 g/t"})], buyer(terms(accepts={"Au": {"max": "50 g/t"}})))
        b = told["buyers"]["A"]
        self.assertEqual((b["deliveries"], b["refused"], b["wet_mass"]), (2, 1, 1000))
        self.assertEqual(cash(told)["due"], 1700)
        self.assertEqual({i[0] for i in owed(told)}, {"K-2"})

    def test_provisional(self) -> None:
        # stated so, and one party alone; the third is final
        rows = [tonne(stage="provisional"), tonne("K-2", assays={"Au": {"seller": "100 g/t"}}), tonne("K-3")]
        self.assertEqual(march(rows)["total"]["provisional"], 2)

    def test_passed_over(self) -> None:
        # 1 and 31 March are inside, 28 February and 1 April not; so for money and for metal
        days = ("2026-02-28", "2026-03-01", "2026-03-31", "2026-04-01")
        account = {"Au": {"opening": "9 g", "withdrawn": [{"date": d, "mass": "1 g"} for d in days],
                          "priced": [{"date": d, "mass": "1 g", "price": "50 USD/g"} for d in days[2:]]}}
        told = march([tonne(f"K-{i}", d) for i, d in enumerate(days)],
                     buyer(terms(), credits=["Au"], account=account), received=[money(d, "7") for d in days],
                     on_hand={"Au": {"produced": [{"date": d, "mass": "2 g"} for d in days]}})
        self.assertEqual(told["passed_over"], {"deliveries": 2, "received": 2, "metal": 2 + 1 + 2})
        self.assertEqual((cash(told)["received"], cash(told)["priced"]), (14, 50))
        self.assertEqual(told["buyers"]["A"]["deliveries"], 2)
        self.assertEqual(told["on_hand"]["Au"]["produced"], F("0.004"))

    def test_weighed_in_steps(self) -> None:
        # a bar of 1000.4 g weighs whole grams: 1000 g at 900 fine is 900 g contained
        sale = {"buys": "bar", "pay": {"Au": {}}, "rounding": {"mass": {"step": "1 g"}}}
        bar = {"id": "B", "buyer": "A", "arrived": "2026-03-02", "delivered": {"gross": "1000.4 g"},
               "assays": {"Au": "900 fine"}}
        b = march([bar], buyer(sale))["total"]
        self.assertEqual((b["wet_mass"], b["dry_mass"], b["metal"]["Au"]["contained"]), (1, 1, F("0.9")))

    def test_own_price_before_the_average(self) -> None:
        # the month after March: quotes of 1 and 2 April, 40 and 60 -> 50; its own price 51 adds 90 USD
        a = {"terms": terms(), "period": {"Au": {"months_after": 1}},
             "quotes": {"Au": {"unit": "USD/g", "days": {"2026-03-31": "90", "2026-04-01": "40", "2026-04-02": "60"}}}}
        told = march([tonne(), tonne("K-2", prices={"Au": "51 USD/g"})], a, list=True)
        self.assertEqual([d["proceeds"] for d in told["deliveries"]], [4400, 4490])

    def test_limits_of_the_buyer(self) -> None:
        # 100 and 98 within 3 g/t: 99 -> 89.1 g, 4455 - 100; 100 and 96 beyond: the umpire's 97 -> 87.3 g, 4365 - 100;
        # 100 and 96 within a limit of its own of 5: 98 -> 88.2 g, 4410 - 100
        a = buyer(limits={"assays": {"Au": {"limit": "3 g/t", "rule": "umpire"}}})
        both = {"seller": "100 g/t", "buyer": "96 g/t"}
        rows = [tonne("K-1", assays={"Au": {"seller": "100 g/t", "buyer": "98 g/t"}}),
                tonne("K-2", assays={"Au": {**both, "umpire": "97 g/t"}}),
                tonne("K-3", assays={"Au": {**both, "limit": "5 g/t"}})]
        told = march(rows, a, list=True)
        self.assertEqual([d["proceeds"] for d in told["deliveries"]], [4355, 4265, 4310])


class Payments(unittest.TestCase):
    """To the tonne's advance of 3520, due 15 March, and its balance of 880, due 9 April."""

    def test_named(self) -> None:
        # 4000 naming it: the advance, then 480 of the balance
        told = march([tonne()], received=[money("2026-03-20", "4000", "K-1")])
        self.assertEqual(owed(told), [("K-1", "balance", BALANCE, 400)])
        self.assertEqual(told["total"]["received"], {"advance": 3520, "balance": 480, "priced": 0, "unallocated": 0})
        self.assertEqual((cash(told)["received"], cash(told)["closing"]), (4000, 400))

    def test_named_before_older_ones(self) -> None:
        # K-2's money passes by K-1, which arrived and is due earlier
        told = march([tonne(), tonne("K-2", "2026-03-12")], received=[money("2026-03-20", "3520", "K-2")])
        self.assertEqual([i[:2] for i in owed(told)], [("K-1", "advance"), ("K-1", "balance"), ("K-2", "balance")])

    def test_named_and_overpaid(self) -> None:
        # 5000 of 4400: 600 too much stays on the balance, the last by day
        told = march([tonne()], received=[money("2026-03-20", "5000", "K-1")])
        self.assertEqual(owed(told), [("K-1", "balance", BALANCE, -600)])
        self.assertEqual(told["total"]["received"]["balance"], 1480)
        self.assertEqual([c["name"] for c in told["cautions"]], ["K-1"])

    def test_unnamed_oldest_first(self) -> None:
        # items by day: J-1 1 March 100, K-1's advance 15 March, K-2's advance 17 March: 100 + 3520 + 380 of 3520
        a = buyer(opening=[{"delivery": "J-1", "what": "balance", "due": "2026-03-01", "amount": "100.00"}])
        told = march([tonne("K-2", "2026-03-12"), tonne()], a, received=[money("2026-03-20", "4000")])
        self.assertEqual(owed(told)[0], ("K-2", "advance", "2026-03-17", 3140))
        self.assertEqual(told["total"]["received"], {"advance": 3900, "balance": 100, "priced": 0, "unallocated": 0})

    def test_unallocated(self) -> None:
        # 5000 for 4400 in all: 600 are left over
        told = march([tonne()], received=[money("2026-03-20", "5000")])
        self.assertEqual(owed(told), [(None, "unallocated", None, -600)])
        self.assertEqual(told["total"]["received"]["unallocated"], 600)
        self.assertEqual((cash(told)["closing"], told["total"]["overdue"]), (-600, 0))
        self.assertEqual(told["total"]["due"], [{"day": None, "amount": -600}])

    def test_wrong_sign(self) -> None:
        # 100 paid back though nothing is owed to the buyer: it is not put to what the buyer owes
        told = march([tonne()], received=[money("2026-03-20", "-100")])
        self.assertEqual(owed(told)[2], (None, "unallocated", None, 100))
        self.assertEqual(cash(told)["closing"], 4500)

    def test_paid_back(self) -> None:
        # -250 goes to the item of -200 that an earlier book left, due last; -50 more are unallocated
        a = buyer(opening=[{"what": "unallocated", "amount": "-200"}])
        told = march([tonne()], a, received=[money("2026-03-20", "-250")])
        self.assertEqual(told["total"]["received"]["unallocated"], -250)
        self.assertEqual(owed(told)[2:], [(None, "unallocated", None, 50)])

    def test_by_day_then_as_listed(self) -> None:
        # the 10th's money names J-1 and pays it; the 20th's, listed first, then goes to the advance
        a = buyer(opening=[{"delivery": "J-1", "what": "balance", "due": "2026-03-01", "amount": "100"}])
        told = march([tonne()], a, received=[money("2026-03-20", "100"), money("2026-03-10", "100", "J-1")])
        self.assertEqual(owed(told)[0], ("K-1", "advance", ADVANCE, 3420))

    def test_without_a_day_last(self) -> None:
        # 4500: the tonne's 4400 on their days, then 100 of the item that has none
        a = buyer(opening=[{"delivery": "J-1", "what": "balance", "due": None, "amount": "300"}])
        told = march([tonne()], a, received=[money("2026-03-20", "4500")])
        self.assertEqual(owed(told), [("J-1", "balance", None, 200)])

    def test_equal_days_in_the_order_of_the_book(self) -> None:
        # all due 15 March: the opening's 100, the advance's 3520, then 20 of 50 for a gram priced
        sale = terms(pay={"Au": {"share": "90 %"}, "Ag": {}})
        a = buyer(sale, credits=["Ag"], opening=[{"delivery": "J-1", "due": ADVANCE, "amount": "100"}],
                  account={"Ag": {"opening": "5 g", "priced": [{"date": "2026-03-02", "due": ADVANCE, "mass": "1 g",
                                                                "price": "50 USD/g"}]}})
        told = march([tonne(assays={"Au": "100 g/t", "Ag": "0 g/t"})], a, received=[money("2026-03-20", "3640")])
        self.assertEqual(owed(told)[0], (None, "Ag priced", ADVANCE, 30))

    def test_named_of_the_other_sign(self) -> None:
        # refining 50 USD/g on the 1000 kg x 90 g/t: 4500 - 4500 - 100 = -100, no advance; naming it, -60 are paid
        # back, and 10 that come in make it -50
        sale = terms(pay={"Au": {"share": "90 %", "refining": "50 USD/g"}})
        both = [money("2026-03-20", "-60", "K-1"), money("2026-03-21", "10", "K-1")]
        told = march([tonne()], buyer(sale), received=both)
        self.assertEqual(owed(told), [("K-1", "balance", BALANCE, -50)])
        self.assertEqual(cash(told)["due"], -100)

    def test_delivery_not_in_the_book(self) -> None:
        both = {"A": buyer(), "B": buyer()}
        for delivery, name in (("K-9", "A"), ("K-1", "B")):
            with self.assertRaises(ev.PlanError):
                march([tonne()], buyers=both, received=[{**money("2026-03-20", "5", delivery), "buyer": name}])

    def test_in_another_currency(self) -> None:
        # 1000 PEN at 0.25 are 250
        told = march([tonne()], exchange={"PEN": "0.25 USD"},
                     received=[{"date": "2026-03-20", "buyer": "A", "amount": "1000 PEN"}])
        self.assertEqual(owed(told)[0][3], 3270)

    def test_money_to_a_refused_delivery(self) -> None:
        # it owes nothing: what names it makes an item of its own, without a day
        a = buyer(terms(accepts={"Au": {"max": "50 g/t"}}))
        told = march([tonne()], a, received=[money("2026-03-20", "10", "K-1")])
        self.assertEqual(owed(told), [("K-1", "balance", None, -10)])


class Previous(unittest.TestCase):
    """The tonne of February, provisional at 90 g/t: 81 g, 4050 - 100 = 3950, advance 3160, balance 790."""

    def earlier(self, sale: Optional[dict] = None, **more: Any) -> dict:
        d = tonne(arrived="2026-02-20", assays={"Au": "90 g/t"}, stage="provisional")
        request = {"currency": "USD", "buyers": {"A": buyer(sale, **more)}}
        return random_months.written_statement(months.settle(request, d).told)

    def now(self, **more: Any) -> dict:
        return tonne(arrived="2026-02-20", previous=self.earlier(), **more)

    def test_folded_into_the_opening(self) -> None:
        # 4400 now: 450 more. The opening holds 700 of the balance: 1150 in one item on 22 March, the 30th day
        a = buyer(opening=[{"delivery": "K-1", "what": "balance", "due": "2026-03-01", "amount": "700"},
                           {"delivery": "K-1", "what": "advance", "due": "2026-02-25", "amount": "60"}])
        told = march([self.now()], a)
        self.assertEqual(owed(told), [("K-1", "advance", "2026-02-25", 60), ("K-1", "balance", "2026-03-22", 1150)])
        self.assertEqual(cash(told), {"opening": 760, "due": 0, "changed": 450, "priced": 0, "received": 0,
                                      "closing": 1210})

    def test_not_counted_again(self) -> None:
        told = march([self.now()], on_hand={"Au": {"opening": "500 g"}})
        b = told["buyers"]["A"]
        self.assertEqual((b["deliveries"], b["wet_mass"], b["proceeds"], b["lines"], b["metal"]), (1, 0, 0, {}, {}))
        self.assertEqual(owed(told), [("K-1", "balance", "2026-03-22", 450)])
        self.assertEqual(told["on_hand"]["Au"]["delivered"], F("0.01"))  # 100 g now, 90 g then

    def test_change_of_metal_credited(self) -> None:
        # 90 g now, 81 g then: 9 g; the money is the treatment in both, so nothing changes
        d = tonne(arrived="2026-02-20", previous=self.earlier(credits=["Au"]))
        told = march([d], buyer(credits=["Au"]))
        self.assertEqual(told["buyers"]["A"]["account"]["Au"]["credited"], F("0.009"))
        self.assertEqual((cash(told)["changed"], owed(told)), (0, []))

    def test_refused_by_now(self) -> None:
        # the 3950 go back, 790 of them were still open
        a = buyer(terms(accepts={"Au": {"max": "95 g/t"}}),
                  opening=[{"delivery": "K-1", "what": "balance", "due": "2026-03-22", "amount": "790"}])
        told = march([self.now()], a)
        self.assertEqual((cash(told)["changed"], cash(told)["closing"]), (-3950, -3160))
        self.assertEqual(told["total"]["refused"], 1)

    def test_refused_then(self) -> None:
        # nothing was owed then, 4400 now, and no advance was paid
        sale = terms(accepts={"Au": {"min": "95 g/t"}})
        told = march([tonne(arrived="2026-02-20", previous=self.earlier(sale))], buyer(sale))
        self.assertEqual(owed(told), [("K-1", "balance", "2026-03-22", 4400)])


class Metal(unittest.TestCase):
    def test_credited_and_priced(self) -> None:
        # 90 g go to the account, the tonne owes -100. Of 10 + 90 g, 20 g at 60.123 USD/g = 1202.46 are priced and
        # 30 g withdrawn: 50 g left
        sale = terms()
        account = {"Au": {"opening": "10 g", "withdrawn": [{"date": "2026-03-30", "mass": "30 g"}],
                          "priced": [{"date": "2026-03-20", "mass": "20 g", "price": "60.123 USD/g"}]}}
        told = march([tonne()], {"terms": sale, "credits": ["Au"], "account": account})
        b = told["buyers"]["A"]
        self.assertEqual(b["account"]["Au"], {"opening": F("0.01"), "credited": F("0.09"), "priced": F("0.02"),
                                              "withdrawn": F("0.03"), "closing": F("0.05")})
        self.assertEqual(b["lines"], {"Au value": 0, "treatment": -100})
        self.assertEqual(b["metal"]["Au"], {"contained": F("0.1"), "payable": F("0.09"), "value": 0})
        self.assertEqual(owed(told)[0], (None, "Au priced", "2026-03-20", F("1202.46")))
        self.assertEqual(cash(told)["closing"], F("1102.46"))
        self.assertEqual(told["total"]["account"], b["account"])
        self.assertEqual(told["cautions"], [])

    def test_priced_amount_is_rounded(self) -> None:
        # 1 g at 10.005: half even 10.00, half up 10.01
        for mode, amount in (("half even", "10"), ("half up", "10.01")):
            sale = terms(rounding={"money": "0.01 USD", "mode": mode})
            priced = {"date": "2026-03-20", "mass": "1 g", "price": "10.005 USD/g"}
            account = {"Au": {"opening": "1 g", "priced": [priced]}}
            self.assertEqual(cash(march([], buyer(sale, credits=["Au"], account=account)))["priced"], F(amount))

    def test_more_priced_than_was_there(self) -> None:
        # 1 ozt less 1 ozt and a gram
        account = {"Au": {"opening": "1 ozt", "withdrawn": [{"date": "2026-03-03", "mass": "1 g"}],
                          "priced": [{"date": "2026-03-20", "mass": "1 ozt", "price": "1 USD/g"}]}}
        told = march([], buyer(credits=["Au"], account=account))
        self.assertEqual(told["buyers"]["A"]["account"]["Au"]["closing"], F("-0.001"))
        self.assertEqual([c["name"] for c in told["cautions"]], ["Au"])
        self.assertEqual(cash(told)["priced"], OUNCE * 1000)

    def test_errors_beside_a_credit(self) -> None:
        cover = [{"what": "cover", "rate": "1 %", "of": "payable value"}]
        shared = [{"for": "Au", "above": "1 USD/g", "each": "1 USD/g", "rate": "1 USD/t"}]
        for more in ({"charges": cover}, {"participation": shared}):
            with self.assertRaises(ev.PlanError):
                march([], buyer(terms(**more), credits=["Au"]))

    def test_on_hand(self) -> None:
        # 40 g and 30 g twice, less the 100 g contained in the tonne; the refused one is left out: 0; counted 1 g
        rows = [tonne(), tonne("K-2", delivered={"wet_mass": "3 t"})]
        produced = [{"date": d, "mass": "30 g"} for d in ("2026-03-05", "2026-03-06", "2026-04-06")]
        told = march(rows, buyer(terms(accepts={"mass": {"max": "2 t"}})),
                     on_hand={"Au": {"opening": "40 g", "produced": produced, "counted": "1 g"}})
        self.assertEqual(told["on_hand"]["Au"], {"opening": F("0.04"), "produced": F("0.06"), "delivered": F("0.1"),
                                                 "closing": 0, "counted": F("0.001"), "difference": F("0.001")})


class Tables(unittest.TestCase):
    def test_separators_units_and_quotes(self) -> None:
        # the tonne in each form; the note holds a separator, quotes and a line end; empty rows are passed over
        for table in ("id,buyer,arrived,wet_mass,Au\nK-1,A,2026-03-10,1 t,100 g/t\n",
                      "id;buyer;arrived;wet mass (kg);assay_Au (g/t);note\r\n;;;;;\r\n"
                      "K-1;A;2026-03-10;1000;100;\"a; \"\"b\"\"\nc\"\r\n",
                      "Au (ppm)\tid\tbuyer\tarrived\twet_mass\n\n100\tK-1\t\"A\"\t2026-03-10\t1000000 g"):
            self.assertEqual(march(table), march([tonne()]), table)

    def test_determinations_and_parties(self) -> None:
        # seller 101 and 103: 102; buyer 98; within 5: 100. Two weighings of 0.9 and 1.1 t: 1 t
        a = buyer(limits={"assays": {"Au": {"limit": "5 g/t"}}})
        table = ("id,buyer,arrived,wet_mass (t),wet_mass (t),Au seller,Au_seller,Au buyer (g/t),price Au,stage\n"
                 "K-1,A,2026-03-10,0.9,1.1,101 g/t,103 g/t,98,50 USD/g,final\n"
                 "K-2,A,2026-03-10,,1,102 g/t,,98,50 USD/g,\n")
        told = march(table, a, list=True)
        self.assertEqual([d["proceeds"] for d in told["deliveries"]], [4400, 4400])

    def test_money_received(self) -> None:
        for table in ("date,buyer,amount,delivery\n2026-03-20,A,4000 USD,K-1\n",
                      "delivery\tamount (USD)\tbuyer\tdate\tnote\nK-1\t4000\tA\t2026-03-20\t\n"):
            self.assertEqual(march([tonne()], received=table),
                             march([tonne()], received=[money("2026-03-20", "4000", "K-1")]))

    def test_errors(self) -> None:
        head = "id,buyer,arrived,wet_mass,Au"
        for table in (f"{head},colour\nK-1,A,2026-03-10,1 t,100 g/t,red\n",           # an unknown column
                      f"{head},Fe\nK-1,A,2026-03-10,1 t,100 g/t,1 %\n",                # the terms do not name iron
                      f"{head}\nK-1,A,2026-03-10,1000,100 g/t\n",                      # no unit anywhere
                      f"{head}\nK-1,A,,1 t,100 g/t\n"):                                # no day
            with self.assertRaises(ev.PlanError):
                march(table)


class Returns(unittest.TestCase):
    def returns(self, rows: Any, told: Any, sale: Optional[dict] = None) -> dict:
        return months.reconcile({"format": "buttonworth-returns/1", "currency": "USD", "buyers": {"A": buyer(sale)},
                                 "deliveries": rows, "returns": told})

    def lots(self, differences: list[str]) -> dict:
        """Lots whose ln(theirs / ours) is a tenth of these."""
        rows, told = [], []
        for i, d in enumerate(differences):
            rows.append(tonne(f"K-{i}"))
            grade = (ev.to_decimal(F(d)) / 10).exp() * 100
            told.append({"id": f"K-{i}", "assays": {"Au": f"{grade:f} g/t"}, "proceeds": "4400"})
        return self.returns(rows, told)["buyers"]["A"]["figures"][0]

    SLEEP = ["0", "0.8", "1.0", "1.2", "1.3", "1.3", "1.4", "1.8", "2.4", "4.6"]

    def test_student(self) -> None:
        # Student 1908, the data set sleep of R: mean 1.58, t 4.0621277, p 0.00283289, 95 % 0.7001142 to 2.4598858
        f = self.lots(self.SLEEP)
        self.assertEqual((f["what"], f["pairs"], f["verdict"], f["caution"]), ("Au assay", 10, "questioned", False))
        self.assertAlmostEqual(f["t"], 4.0621277, 7)
        self.assertAlmostEqual(f["p"], 0.00283289, 8)
        self.assertAlmostEqual(10 * math.log(f["ratio"]), 1.58, 12)
        self.assertAlmostEqual(10 * math.log(f["low"]), 0.7001142, 7)
        self.assertAlmostEqual(10 * math.log(f["high"]), 2.4598858, 7)

    def test_outliers(self) -> None:
        # median 1.3; from it 0 0 .1 .1 .3 .5 .5 1.1 1.3 3.3, median .4; 3.5 x 1.4826 x .4 = 2.08: the 4.6 alone
        self.assertEqual([o["id"] for o in self.lots(self.SLEEP)["outliers"]], ["K-9"])
        # four pairs are too few, five are not: 0 0 0 0 and 1, the median of the differences is 0
        self.assertEqual(self.lots(["0", "0", "0", "1"])["outliers"], [])
        self.assertEqual([o["id"] for o in self.lots(["0", "0", "0", "0", "1"])["outliers"]], ["K-4"])

    def test_few_and_none_that_differ(self) -> None:
        # one pair; two that are the same; two, 0 and 1: mean .5, s = .70711, s / sqrt 2 = .5, t = 1, p = 1/2 (Cauchy)
        one, same, two = self.lots(["1"]), self.lots(["1", "1"]), self.lots(["0", "1"])
        for f in (one, same):
            self.assertEqual(set(f) & {"low", "high", "t", "p", "verdict"}, set())
            self.assertAlmostEqual(f["ratio"], math.exp(0.1), 12)
        self.assertAlmostEqual(two["t"], 1, 12)
        self.assertAlmostEqual(two["p"], 0.5, 12)
        self.assertAlmostEqual(10 * math.log(two["high"]), 0.5 + 0.5 * 12.7062047362, 8)     # t(0.975; 1)
        self.assertTrue(one["caution"] and two["caution"])

    def test_verdicts(self) -> None:
        self.assertEqual([months.verdict_of(p) for p in (0.05, 0.0499, 0.0027, 0.00269)],
                         ["as expected", "questioned", "questioned", "to be acted on"])

    def test_parts(self) -> None:
        # his 98 g/t: 88.2 g, -90; his 49 USD/g: 88.2 x 49 = 4321.80, -88.20; his value line 4300: -21.80 of payable
        # share; treatment 110 for 100: -10; a bank charge of 5; his lines make 4185, he says 4175: arithmetic -10
        lines = [{"what": "Au value", "amount": "4300"}, {"what": "treatment", "amount": "-110"},
                 {"what": "bank", "amount": "-5"}]
        r = {"id": "K-1", "assays": {"Au": "98 g/t"}, "prices": {"Au": "49 USD/g"}, "lines": lines, "proceeds": "4175"}
        told = self.returns([tonne(), tonne("K-2")], [r])
        b = told["buyers"]["A"]
        self.assertEqual({p["what"]: p["amount"] for p in b["parts"]},
                         {"Au assay": -90, "Au price": F("-88.2"), "Au payable share": F("-21.8"), "treatment": -10,
                          "bank, not in the terms": -5, "arithmetic": -10})
        self.assertEqual((b["returns"], b["missing"], b["ours"], b["theirs"], b["difference"]),
                         (1, ["K-2"], 4400, 4175, -225))

    def test_without_lines_and_though_refused(self) -> None:
        # his 0.5 t: 2200 less; 2100 for 2200: -100; that terms refuse 100 g/t is left aside
        r = {"id": "K-1", "delivered": {"wet_mass": "500 kg"}, "proceeds": "2100"}
        told = self.returns([tonne()], [r], terms(accepts={"Au": {"max": "50 g/t"}}))
        self.assertEqual(told["returns"][0]["parts"], [{"what": "wet mass", "amount": -2200},
                                                       {"what": "terms and arithmetic", "amount": -100}])

    def test_table(self) -> None:
        r = {"id": "K-1", "assays": {"Au": "98 g/t"}, "prices": {"Au": "49 USD/g"},
             "lines": [{"what": "treatment", "amount": "-110"}], "proceeds": "4175"}
        table = "id;Au (g/t);price Au;line treatment (USD);proceeds\nK-1;98;49 USD/g;-110;4175\n"
        self.assertEqual(self.returns([tonne()], table), self.returns([tonne()], [r]))

    def test_z(self) -> None:
        # 100 with sd 3 and 92 with sd 4: -8 / 5 = -1.6; and of 80: -4
        for his, z, verdict in (("92 g/t", -1.6, "as expected"), ("80 g/t", -4.0, "to be acted on")):
            rows = [tonne(assays={"Au": {"value": "100 g/t", "sd": "3 g/t"}})]
            told = self.returns(rows, [{"id": "K-1", "assays": {"Au": {"value": his, "sd": "4 g/t"}}, "proceeds": "0"}])
            f = told["returns"][0]["figures"][0]
            self.assertAlmostEqual(f["z"], z, 12)
            self.assertEqual(f["verdict"], verdict)

    def test_student_s_distribution(self) -> None:
        # one degree is Cauchy's, 1 - 2 atan(t) / pi; two degrees 1 - t / sqrt(t^2 + 2)
        for t in (0.01, 1.0, 3.0, 50.0):
            self.assertAlmostEqual(months.two_sided(t, 1), 1 - 2 * math.atan(t) / math.pi, 12)
            self.assertAlmostEqual(months.two_sided(t, 2), 1 - t / math.sqrt(t * t + 2), 12)
        # t(0.975; n): 12.706205, 2.228139, 2.042272 in every table, at 1, 10 and 30
        for n, t in ((1, 12.706205), (10, 2.228139), (30, 2.042272)):
            self.assertAlmostEqual(months.quantile(0.05, n), t, 6)


# ---------------------------------------------------------------- the run itself, against the evaluator as the library

def in_unit(kg: Fraction, unit: str) -> str:
    grams = {"kg": F(1000), "g": F(1), "ozt": OUNCE * 1000}[unit]
    return f"{random_months.digits_of(kg * 1000 / grams, 40)} {unit}"


MASSES = {"wet_mass": "kg", "dry_mass": "kg", "settled_mass": "kg", "contained": "g", "payable": "g"}


def written(told: Any, unit: Optional[str] = None) -> Any:
    """An evaluator's answer as the library would write it."""
    if isinstance(told, dict):
        return {k: written(v, "ozt" if k in ("account", "on_hand") else MASSES.get(k, unit)) for k, v in told.items()}
    if isinstance(told, list):
        return [written(x, unit) for x in told]
    if isinstance(told, Fraction):
        return in_unit(told, unit) if unit else random_months.text_of(told)
    if isinstance(told, float):
        return f"{told:.6g}"
    return told if told is None or isinstance(told, (bool, str)) else str(told)


def written_payable(payable: dict) -> dict:
    """Kilograms as the library's grams."""
    return {metal: {k: f"{random_months.digits_of(1000 * kg, 40)} g" for k, kg in
                    (("ours", ours), ("theirs", theirs), ("difference", theirs - ours))}
            for metal, (ours, theirs) in payable.items()}


def written_returns(told: dict) -> dict:
    made = written({**told, "buyers": {n: {k: v for k, v in b.items() if k != "payable"}
                                       for n, b in told["buyers"].items()},
                    "returns": [{k: v for k, v in r.items() if k != "payable"} for r in told["returns"]]})
    for name, b in told["buyers"].items():
        made["buyers"][name]["payable"] = written_payable(b["payable"])
    for r, w in zip(made["returns"], told["returns"]):
        r["payable"] = written_payable(w["payable"])
        for f, g in zip(r["figures"], w["figures"]):
            mass = g["what"].endswith(" mass")
            for k in ("ours", "theirs", "difference"):
                f[k] = f"{random_months.digits_of(g[k] * (1 if mass else 10**6), 40)} {'kg' if mass else 'ppm'}"
    return made


class EvaluatorAsLibrary:
    """Answers as the library would, with one figure spoiled where wanted."""

    def __init__(self, spoil: Any = lambda told: None):
        self.spoil = spoil

    def call(self, evaluate: Any, write: Any, request: dict) -> dict:
        try:
            told = write(evaluate(json.loads(json.dumps(request))))
        except ev.PlanError as problem:
            raise run.LibraryError(str(problem)) from problem
        self.spoil(told)
        return told

    def book(self, request: dict) -> dict:
        return self.call(months.book, written, request)

    def reconcile(self, request: dict) -> dict:
        return self.call(months.reconcile, written_returns, request)


def differing(library: EvaluatorAsLibrary, seeds: range) -> int:
    with contextlib.redirect_stdout(io.StringIO()) as said:
        count = month_run.compare(library, seeds)
    assert said.getvalue().endswith(f"{len(seeds) - count} of {len(seeds)} agree\n")
    return count


class TheRun(unittest.TestCase):
    def test_the_evaluator_agrees_with_itself(self) -> None:
        self.assertEqual(differing(EvaluatorAsLibrary(), range(1, 16)), 0)

    def test_a_spoiled_figure_is_found(self) -> None:
        def a_cent_more(told: dict) -> None:
            for b in told["buyers"].values():
                table, name = (b["cash"], "closing") if "cash" in b else (b, "theirs")
                table[name] = random_months.text_of(F(table[name]) + F("0.01"))
        self.assertEqual(differing(EvaluatorAsLibrary(a_cent_more), range(1, 9)), 8)

    def test_each_kind_of_figure_is_looked_at(self) -> None:
        rng = random.Random(5)
        request = random_months.month(rng)
        while not request.get("list"):
            request = random_months.month(rng)
        good = written(months.book(request))
        paths = list(leaves(good))
        self.assertGreater(len(paths), 60)
        unseen = set()
        for path in paths:
            bad = copy.deepcopy(good)
            if changed(bad, path) and not month_run.BookCheck().whole(bad, months.book(request)):
                unseen.add("/".join(str(x) for x in path))
        self.assertEqual({u for u in unseen if not u.startswith("cautions") and "/refused/" not in u}, set())

    def test_features(self) -> None:
        covered: Counter = Counter()
        for seed in range(25):
            request = random_months.month(random.Random(seed))
            covered.update(random_months.features(request, months.book(request)))
        for what in ("previous", "caution overpaid", "money to unallocated", "money to priced", "account credited",
                     "passed over deliveries", "passed over metal", "on_hand", "buys bar", "buys nuggets"):
            self.assertGreater(covered[what], 0, what)

    def test_faults(self) -> None:
        for i, fault in enumerate(random_months.FAULTS):
            with self.assertRaises(ev.PlanError, msg=fault.__name__):
                months.book(random_months.spoiled(random.Random(i), fault))


def leaves(told: Any, path: tuple = ()) -> Any:
    if isinstance(told, dict) or isinstance(told, list):
        for k in told if isinstance(told, dict) else range(len(told)):
            yield from leaves(told[k], (*path, k))
    elif isinstance(told, str):
        yield path


def changed(told: Any, path: tuple) -> bool:
    """A number a little larger, a word or day another; False where there is nothing to see."""
    for k in path[:-1]:
        told = told[k]
    text = told[path[-1]]
    figure, space, unit = text.partition(" ")
    try:
        figure = str(run.ev.to_decimal(F(figure) * F("1.000001") + (1 if not F(figure) else F("1e-3"))))
    except ValueError:
        told[path[-1]] = f"{text}?"
        return path[-1] not in ("id",)
    told[path[-1]] = figure + space + unit
    return True


if __name__ == "__main__":
    unittest.main()
