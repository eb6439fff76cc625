"""Random months of section 10 and random returns of section 11: valid, wide, repeatable from a seed.

`month(rng)` gives a request that has a book; `month_twice(rng)` one as JSON and the same with CSV tables;
`spoiled(rng)` one that must be refused as an error; `returns(rng)` returns of many lots and
`returns_twice(rng)` the same both ways.
"""

from __future__ import annotations

import copy
import json
import random
from datetime import date, timedelta
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Any, Callable, Iterable, Optional

import deliveries
import evaluator as ev
import months
import plans
import random_deliveries as rd

NAMES = ("coast smelter", "refiner A", "river house", "nugget counter", "Smith, Jones & Co", 'Haus "Nord"; Ost')
KG, PERCENT, GRAMS = Fraction(1), Fraction(1, 100), Fraction(1, 1000)


def text_of(x: Fraction, places: int = 12) -> str:
    """A decimal of so many places at most."""
    with localcontext() as context:
        context.prec = 80
        d = (Decimal(x.numerator) / Decimal(x.denominator)).quantize(Decimal(1).scaleb(-places))
        return format(d, "f")


def digits_of(x: Fraction, digits: int = 15) -> str:
    return plans.long_decimal(x, digits)


# ---------------------------------------------------------------- a statement, as written

def written_figure(found: Any, unit: str, size: Fraction) -> Any:
    if not isinstance(found, dict):
        return f"{digits_of(found / size)} {unit}"
    return {k: v if isinstance(v, str) else f"{digits_of(v / size)} {unit}" for k, v in found.items()}


def written_statement(told: dict) -> dict:
    """The evaluator's statement in the format of section 8."""
    bars = "gross" in told["delivered"]
    code = told["currency"]

    def money(x: Optional[Fraction]) -> Optional[str]:
        return None if x is None else text_of(x)

    delivered = {k: written_figure(f, "%" if k == "moisture" else "kg", PERCENT if k == "moisture" else KG)
                 for k, f in told["delivered"].items() if not (bars and k == "dry_mass")}
    return {"format": "buttonworth-statement/1",
            **{k: told[k] for k in ("currency", "id", "buyer", "arrived", "stage")},
            **{k: money(told[k]) for k in ("proceeds", "advance", "interest", "balance")},
            "advance_due": told["advance_due"], "balance_due": told["balance_due"], "refused": told["refused"],
            "open": [{"at": at, "what": "one figure is still open"} for at in told["open"]], "delivered": delivered,
            "assays": {a: written_figure(f, "g/t", Fraction(1, 10**6)) for a, f in told["assays"].items()},
            "prices": {m: {"average": f"{digits_of(p['average'])} {code}/kg",
                           **{k: str(p[k]) for k in ("quoted_days", "unquoted_days") if k in p}}
                       for m, p in told["prices"].items()},
            "metal": {m: {k: f"{digits_of(v / GRAMS)} g" for k, v in f.items()} for m, f in told["metal"].items()},
            "lines": [{"at": x["at"], "what": x["what"], "amount": text_of(x["amount"]), "day": digits_of(x["day"])}
                      for x in told["lines"]], "changes": [], "cautions": []}


# ---------------------------------------------------------------- one buyer and his deliveries

class Buyer(rd.Maker):
    """One buyer of a month. `plain`: only what a CSV table can say."""

    def __init__(self, rng: random.Random, head: rd.Maker, first: date, last: date, plain: bool, credits: bool):
        super().__init__(rng)
        self.plan, self.codes, self.plain = head.plan, head.codes, plain
        self.first, self.last = first, last
        self.arrived = first
        self.buys = rng.choice(("concentrate", "concentrate", "bar", "bar", "nuggets"))
        self.outcomes = rd.SETTLED if self.maybe(0.6) else rd.SETTLED + rd.LEFT_OPEN
        self.guess_grades()
        self.terms_of_sale = self.own_terms()
        if self.maybe(0.15):
            least = self.grade(self.grade_guess["Au"] * 0.9, sure=True)
            self.terms_of_sale.setdefault("accepts", {})["Au"] = {"min": least}
        self.given: dict[str, Any] = {"terms": self.terms_of_sale}
        self.fixed: dict[str, str] = {}
        if credits and self.maybe(0.5):
            self.credit()
        self.limits()
        self.price_all()
        if plain:
            self.unsure = 0.0

    # -- terms

    def credit(self) -> None:
        terms = self.terms_of_sale
        shared = {p["for"] for p in terms.get("participation", [])}
        metals = self.some([m for m in terms["pay"] if m not in shared], 1, 2)
        if not metals:
            return
        self.given["credits"] = metals
        charges = [c for c in terms.get("charges", []) if c.get("of") != "payable value"]
        terms.pop("charges", None)
        if charges:
            terms["charges"] = charges

    def credited(self) -> list[str]:
        return self.given.get("credits", [])

    def limits(self) -> None:
        """Limit and rule for figures that both parties state."""
        table: dict[str, Any] = {}
        names = ("gross", "melted") if self.buys == "bar" else ("wet_mass", "moisture")
        for name in names:
            if self.maybe(0.75):
                table[name] = self.one_limit(None)
        assays = {a: self.one_limit(self.grade_guess[a]) for a in plans.ANALYTES if self.maybe(0.75)}
        if assays:
            table["assays"] = assays
        if table:
            self.given["limits"] = table

    def one_limit(self, grade: Optional[float]) -> dict:
        limit = {"limit_relative": self.rng.choice(("0.15 %", "0.3 %", "2 fine", "0.5 %"))}
        if grade is not None and self.maybe(0.4):
            limit = {"limit": self.write(grade * 0.003, plans.GRADE, self.rng.choice(("ppm", "%", "ozt/t")), 3)}
        if self.maybe(0.8):
            limit["rule"] = self.rng.choice(deliveries.RULES)
        return limit

    # -- prices

    def price_all(self) -> None:
        terms = self.terms_of_sale
        shared = [p["for"] for p in terms.get("participation", [])]
        for metal in dict.fromkeys([*terms["pay"], *shared]):
            if metal in self.credited():
                terms["pay"][metal].pop("price", None)
            elif "price" not in terms["pay"].get(metal, {}):
                if self.maybe(0.6):
                    self.quote_all(metal)
                else:
                    price = self.per(plans.PRICE[metal] * self.between(0.7, 1.3))
                    self.given.setdefault("prices", {})[metal] = price

    def quote_all(self, metal: str) -> None:
        """Quotes for the periods of all days on which a delivery may arrive."""
        pick = self.rng.random()
        if pick < 0.6:
            after = self.rng.choice((0, 1, 1, 2, 4))
            period: dict[str, Any] = {"months_after": after}
            low, high = self.first - timedelta(days=70), self.last + timedelta(days=40)
            low, _ = deliveries.month_from(low.year, low.month + after)
            _, high = deliveries.month_from(high.year, high.month + after)
        elif pick < 0.8:
            period = {"month": self.first.isoformat()[:7]}
            low, high = deliveries.month_from(self.first.year, self.first.month)
        else:
            period = {"from": self.first.isoformat(), "to": self.last.isoformat()}
            low, high = self.first, self.last
        code, mass = self.rng.choice(self.codes), self.rng.choice(list(plans.MASS))
        worth = plans.PRICE[metal] * plans.MASS[mass] / plans.WORTH[code]
        days, digits = self.rng.choice((0.4, 0.9, 1.0)), self.rng.choice((4, 6))
        quotes, d = {}, low - timedelta(days=4)
        while d <= high + timedelta(days=4):
            if d.day in (9, 10) or (d.weekday() < 5 and self.maybe(days)) or d == low:
                quotes[d.isoformat()] = plans.plain(worth * self.between(0.96, 1.04), digits)
            d += timedelta(days=1)
        self.given.setdefault("quotes", {})[metal] = {"unit": f"{code}/{mass}", "days": quotes}
        self.given.setdefault("period", {})[metal] = period

    # -- deliveries

    def found_by(self, value: float, units: dict[str, float], name: str, limit: Optional[dict]) -> Any:
        """As a table can say it: one unit a column now and then, limits from the buyer."""
        if not self.plain and self.maybe(0.4):
            return self.found(value, units)
        if name not in self.fixed:
            self.fixed[name] = self.rng.choice((*units, "any", "any"))
        unit = self.fixed[name] if self.fixed[name] in units else self.rng.choice(list(units))
        if limit is None or self.maybe(0.4):
            return self.alone(value, units, unit)
        base = Decimal(plans.plain(value / units[unit], self.rng.choice((3, 4, 5))))
        with localcontext() as context:
            context.prec = 60
            return self.both_parties(base, unit, limit)

    def alone(self, value: float, units: dict[str, float], unit: str) -> Any:
        digits = self.rng.choice((3, 4, 5, 7))
        if self.maybe(0.85):
            return self.write(value, units, unit, digits)
        return {"values": [self.write(value * self.between(0.99, 1.01), units, unit, digits)
                           for _ in range(self.rng.randint(2, 4))]}

    def both_parties(self, base: Decimal, unit: str, limit: dict) -> dict:
        half = base * self.rng.choice((Decimal("0.0005"), Decimal("0.001"), Decimal("0.002")))
        half *= self.rng.choice((1, -1))
        e = {"seller": self.determinations(base + half, unit, False),
             "buyer": self.determinations(base - half, unit, False)}
        e = {party: q[0] if isinstance(q, list) and len(q) == 1 else q for party, q in e.items()}
        if self.maybe(0.12):
            del e[self.rng.choice(("seller", "buyer"))]
        elif "rule" in limit and self.maybe(0.7):
            e["umpire"] = rd.written(base + half * self.rng.choice(rd.UMPIRES), unit)
        return e

    def delivery(self, name: str, arrived: date) -> dict:
        self.arrived = arrived
        limits = self.given.get("limits", {})
        kg = self.spread(*rd.MASSES[self.buys])
        delivered: dict[str, Any] = {}
        main = "gross" if self.buys == "bar" else "wet_mass"
        delivered[main] = self.found_by(kg, plans.MASS, main, limits.get(main))
        if self.buys == "bar" and self.maybe(0.5):
            melted = kg * self.between(0.97, 0.99)
            delivered["melted"] = self.found_by(melted, plans.MASS, "melted", limits.get("melted"))
        if self.buys != "bar" and self.maybe(0.85):
            delivered["moisture"] = self.found_by(self.between(0.001, 0.2), plans.SHARE, "moisture",
                                                  limits.get("moisture"))
        d = {"id": name, "arrived": arrived.isoformat(), "delivered": delivered}
        d["assays"] = self.some_assays(limits.get("assays", {}))
        if self.maybe(0.15):
            self.own_price(d)
        if self.maybe(0.4):
            d["stage"] = self.rng.choice(("final", "provisional"))
        return d

    def some_assays(self, limits: dict) -> dict:
        wanted = self.assays(self.terms_of_sale)
        for a in wanted:
            wanted[a] = self.found_by(self.grade_guess[a] * self.between(0.7, 1.15), plans.GRADE, a, limits.get(a))
        return wanted

    def own_price(self, d: dict) -> None:
        pay = self.terms_of_sale["pay"]
        metals = [m for m in pay if m not in self.credited() and "price" not in pay[m]]
        for metal in self.some(metals, 1, 1):
            d.setdefault("prices", {})[metal] = self.per(plans.PRICE[metal] * self.between(0.7, 1.3), sure=True)


# ---------------------------------------------------------------- the month

class Month:
    def __init__(self, rng: random.Random, plain: bool, returns: bool = False):
        self.rng, self.plain = rng, plain
        self.head = rd.Maker(rng)
        self.head.currencies()
        self.first = date(rng.choice((2023, 2024, 2026)), rng.randint(1, 12), rng.choice((1, 1, 1, 16)))
        self.last = self.first + timedelta(days=rng.choice((0, 6, 27, 30, 30, 44)))
        names = rng.sample(NAMES, rng.randint(1, 4))
        self.buyers = {n: Buyer(rng, self.head, self.first, self.last, plain, not returns) for n in names}
        self.request: dict[str, Any] = {"format": "buttonworth-month/1", **self.head.plan}
        self.request.update({"from": self.first.isoformat(), "to": self.last.isoformat()})
        self.request["buyers"] = {n: b.given for n, b in self.buyers.items()}
        self.request["deliveries"] = []
        self.count = 0

    def maybe(self, chance: float) -> bool:
        return self.rng.random() < chance

    def day(self) -> date:
        return self.first + timedelta(days=self.rng.randint(0, (self.last - self.first).days))

    def day_outside(self) -> date:
        if self.maybe(0.5):
            return self.first - timedelta(days=self.rng.randint(1, 30))
        return self.last + timedelta(days=self.rng.randint(1, 30))

    def some_day(self) -> str:
        return (self.day_outside() if self.maybe(0.12) else self.day()).isoformat()

    # -- deliveries

    def deliver(self, most: int) -> None:
        told = []
        for name, buyer in self.buyers.items():
            for _ in range(self.rng.randint(0, most)):
                told.append(self.tried(lambda: self.one(name, buyer)))
        told = [d for d in told if d]
        self.rng.shuffle(told)
        self.request["deliveries"] = told

    def tried(self, make: Callable[[], Optional[dict]]) -> Optional[dict]:
        """A delivery that has a statement; None where the buyer's terms let none through."""
        for _ in range(20):
            try:
                d = make()
                if d is not None:
                    months.settle(self.request, d)
                return d
            except ev.PlanError:
                continue
        return None

    def one(self, name: str, buyer: Buyer) -> Optional[dict]:
        self.count += 1
        later = not self.plain and self.maybe(0.2)
        arrived = self.first - timedelta(days=self.rng.randint(1, 60)) if later and self.maybe(0.8) else self.day()
        if not later and self.maybe(0.1):
            arrived = self.day_outside()
        d = {**buyer.delivery(f"K-{self.count:02d}", arrived), "buyer": name}
        return self.follow_up(d, buyer) if later else d

    def follow_up(self, d: dict, buyer: Buyer) -> dict:
        """The same delivery as an earlier book had it, and now."""
        earlier = copy.deepcopy(d)
        earlier["stage"] = "provisional"
        if self.maybe(0.4):
            buyer.own_price(earlier)
        if self.maybe(0.3):
            buyer.own_price(d)
        for e in [*d["assays"].values(), *d["delivered"].values()]:
            if isinstance(e, dict) and set(e) & {"seller", "buyer"} and self.maybe(0.8):
                rd.anew(self.rng, e)
        for analyte, e in d["assays"].items():
            if isinstance(e, str) and self.maybe(0.4):
                number, unit = e.split(" ")
                d["assays"][analyte] = rd.written(Decimal(number) * Decimal("0.994"), unit)
        told = months.settle(self.request, earlier).told
        d["previous"] = written_statement(told)
        d["stage"] = "final"
        return d

    # -- what an earlier book left

    def openings(self) -> None:
        for name, buyer in self.buyers.items():
            items = [x for d in self.request["deliveries"] if d["buyer"] == name and "previous" in d
                     for x in self.left_of(d["previous"])]
            for i in range(self.rng.choice((0, 0, 1, 2, 4))):
                items.append(self.older(buyer, i))
            if items:
                self.rng.shuffle(items)
                buyer.given["opening"] = items

    def left_of(self, statement: dict) -> Iterable[dict]:
        if statement["balance"] is None:
            return
        if self.maybe(0.75):
            due = {} if statement["balance_due"] is None else {"due": statement["balance_due"]}
            yield {"delivery": statement["id"], "what": "balance", "amount": statement["balance"]} | due
        if statement["advance_due"] is not None and self.maybe(0.3):
            yield {"delivery": statement["id"], "what": "advance", "due": statement["advance_due"],
                   "amount": statement["advance"]}

    def older(self, buyer: Buyer, i: int) -> dict:
        what = self.rng.choice(("balance", "balance", "advance", "Au priced", "unallocated"))
        amount = self.cents(buyer.spread(50, 90000) / plans.WORTH[self.request["currency"]])
        if what == "unallocated" or self.maybe(0.15):
            amount = f"-{amount}"
        item: dict[str, Any] = {"what": what, "amount": amount}
        if what in ("balance", "advance"):
            item["delivery"] = f"J-{list(self.buyers.values()).index(buyer)}{i}"
            if self.maybe(0.2) and what == "balance":
                del item["what"]
        if what != "unallocated" and self.maybe(0.85):
            item["due"] = (self.first + timedelta(days=self.rng.randint(-60, 40))).isoformat()
        return item

    def cents(self, x: float) -> str:
        return f"{x:.2f}"

    # -- metal accounts

    def accounts(self) -> None:
        for name, buyer in self.buyers.items():
            metals = buyer.credited() + (["Cu"] if self.maybe(0.01) and "Cu" not in buyer.credited() else [])
            table = {}
            for metal in metals:
                if self.maybe(0.85):
                    kg = sum((months.settle(self.request, d).payable(metal) for d in self.request["deliveries"]
                              if d["buyer"] == name), Fraction(0))
                    table[metal] = self.account(buyer, metal, float(kg) or 1.0)
            if table:
                buyer.given["account"] = table

    def account(self, buyer: Buyer, metal: str, kg: float) -> dict:
        told: dict[str, Any] = {}
        if self.maybe(0.7):
            told["opening"] = buyer.mass(kg * self.rng.choice((0.1, 0.5, 2.0)), sure=True)
            if self.maybe(0.05):
                told["opening"] = f"-{told['opening']}"
        entries = [self.priced(buyer, metal, kg) for _ in range(self.rng.randint(0, 3))]
        if entries:
            told["priced"] = entries
        if self.maybe(0.4):
            told["withdrawn"] = [{"date": self.some_day(), "mass": buyer.mass(kg * 0.1, sure=True)}]
        return told

    def priced(self, buyer: Buyer, metal: str, kg: float) -> dict:
        entry = {"date": self.some_day(), "mass": buyer.mass(kg * self.rng.choice((0.1, 0.2, 0.4)), sure=True),
                 "price": buyer.per(plans.PRICE[metal] * self.rng.uniform(0.8, 1.2), sure=True)}
        if self.maybe(0.5):
            entry["due"] = (self.day() + timedelta(days=self.rng.randint(0, 20))).isoformat()
        return entry

    def on_hand(self) -> None:
        metals = [m for m in ("Au", "Ag", "Cu") if self.maybe(0.35)]
        table, any_buyer = {}, next(iter(self.buyers.values()))
        for metal in metals:
            told: dict[str, Any] = {}
            if self.maybe(0.8):
                told["opening"] = any_buyer.mass(self.rng.uniform(0.1, 9), sure=True)
            if self.maybe(0.7):
                poured = [any_buyer.mass(self.rng.uniform(0.1, 3), sure=True) for _ in range(self.rng.randint(0, 3))]
                told["produced"] = [{"date": self.some_day(), "mass": mass} for mass in poured]
            if self.maybe(0.6):
                told["counted"] = any_buyer.mass(self.rng.uniform(0.1, 9), sure=True)
            table[metal] = told
        if table:
            self.request["on_hand"] = table

    # -- money received

    def receive(self) -> None:
        """After what the book without any money says is owed."""
        told = months.book(self.request)
        entries = []
        for name in self.buyers:
            for item in told["buyers"][name]["outstanding"]:
                entries += self.payments(name, item)
            if self.maybe(0.15):
                entries.append(self.entry(name, Fraction(self.cents(self.rng.uniform(-3000, 9000))), None))
        entries += [self.entry(d["buyer"], Fraction(100), d["id"]) for d in self.refused() if self.maybe(0.1)]
        self.rng.shuffle(entries)
        if entries or self.maybe(0.5):
            self.request["received"] = entries

    def refused(self) -> list[dict]:
        return [d for d in self.request["deliveries"] if "previous" not in d
                and self.first.isoformat() <= d["arrived"] <= self.last.isoformat()
                and months.settle(self.request, d).refused]

    def payments(self, name: str, item: dict) -> Iterable[dict]:
        if self.maybe(0.35):
            return
        part = self.rng.choice((1, 1, Fraction(1, 2), Fraction(9, 10), Fraction(11, 10), Fraction(3, 2)))
        amount = Fraction(round(item["amount"] * part, 2))
        if self.maybe(0.05):
            amount = -amount / 4
        named = item["delivery"] if item["delivery"] is not None and self.maybe(0.5) else None
        if amount:
            yield self.entry(name, amount, named)
        if self.maybe(0.1) and item["delivery"] is not None:
            yield self.entry(name, Fraction(self.cents(self.rng.uniform(10, 500))), item["delivery"])

    def entry(self, name: str, amount: Fraction, delivery: Optional[str]) -> dict:
        outside = self.maybe(0.07)
        told = {"date": (self.day_outside() if outside else self.day()).isoformat(), "buyer": name}
        code = self.request["currency"]
        if self.maybe(0.1):
            code = self.rng.choice(self.head.codes)
        told["amount"] = f"{text_of(amount, 2)} {code}"
        if delivery is not None and not outside:
            told["delivery"] = delivery
        return told

    def make(self) -> dict:
        self.deliver(6)
        self.openings()
        self.accounts()
        self.on_hand()
        if self.maybe(0.5):
            self.request["list"] = self.maybe(0.8)
        self.receive()
        return self.request


def made(rng: random.Random, plain: bool) -> dict:
    while True:
        try:
            request = Month(rng, plain).make()
            months.book(request)
            return request
        except ev.PlanError:
            continue


def month(rng: random.Random) -> dict:
    """As JSON, with all that it can say."""
    return made(rng, plain=False)


def month_twice(rng: random.Random) -> tuple[dict, dict]:
    """As JSON, and the same with CSV tables."""
    request = made(rng, plain=True)
    return request, with_tables(rng, request)


# ---------------------------------------------------------------- CSV

class Table:
    """Rows of cells by column, written in one of the ways that the format allows."""

    def __init__(self, rng: random.Random):
        self.rng = rng
        self.rows: list[dict[tuple[str, int], str]] = []
        self.titles: dict[str, str] = {}

    def put(self, row: dict, name: str, text: Any) -> None:
        """`text` one cell, or a list for several columns of the name."""
        for i, one in enumerate(text if isinstance(text, list) else [text]):
            row[name, i] = one

    def columns(self) -> list[tuple[str, int]]:
        names = list(dict.fromkeys(name for row in self.rows for name, _ in row))
        self.rng.shuffle(names)
        most = {name: max(i for row in self.rows for n, i in row if n == name) for name in names}
        return [(name, i) for name in names for i in range(most[name] + 1)]

    def text(self) -> str:
        rng = self.rng
        separator, end = rng.choice((",", ";", "\t")), rng.choice(("\n", "\r\n"))
        columns = self.columns()
        units = {column: self.unit(column) for column in columns}
        header = [self.title(name) + (f" ({units[name, i]})" if units[name, i] else "") for name, i in columns]
        lines = [separator.join(self.cell(h, separator) for h in header)]
        for row in self.rows:
            cells = [self.bare(row.get(c, ""), units[c]) for c in columns]
            lines.append(separator.join(self.cell(c, separator) for c in cells))
            if rng.random() < 0.08:
                lines.append(separator * (len(columns) - 1) if len(columns) > 1 else "")
            elif rng.random() < 0.03:
                lines.append("")
        return end.join(lines) + (end if rng.random() < 0.8 else "")

    def title(self, name: str) -> str:
        if name not in self.titles:
            self.titles[name] = "".join(self.rng.choice("_ ") if c in "_ " else c for c in name)
        return self.titles[name]

    def unit(self, column: tuple[str, int]) -> Optional[str]:
        """In the header, where all cells have the same."""
        if column[0] in ("id", "buyer", "arrived", "stage", "note", "date", "delivery"):
            return None
        found = {row[column].partition(" ")[2] for row in self.rows if column in row}
        return found.pop() if len(found) == 1 and self.rng.random() < 0.7 else None

    def bare(self, cell: str, unit: Optional[str]) -> str:
        return cell.removesuffix(f" {unit}") if unit else cell

    def cell(self, text: str, separator: str) -> str:
        if any(c in text for c in f'{separator}"\r\n') or (text and self.rng.random() < 0.06):
            return '"' + text.replace('"', '""') + '"'
        return text


def cells_of(e: Any) -> Iterable[tuple[str, Any]]:
    """What stands after a column's name, and the cells."""
    if isinstance(e, str):
        yield "", e
    elif "values" in e:
        yield "", e["values"]
    else:
        for party in e:
            yield f" {party}", e[party]


def put_figures(table: Table, row: dict, of: dict, named: set[str], bare: set[str]) -> None:
    for name, e in of.get("delivered", {}).items():
        for tail, cells in cells_of(e):
            table.put(row, name + tail, cells)
    for analyte, e in of.get("assays", {}).items():
        lead = "" if analyte in named & bare else "assay "
        for tail, cells in cells_of(e):
            table.put(row, lead + analyte + tail, cells)
    for metal, price in of.get("prices", {}).items():
        table.put(row, f"price {metal}", price)
    for metal, mass in of.get("payable", {}).items():
        table.put(row, f"payable {metal}", mass)


NOTES = ("late truck", "two bags, one torn", 'said "dry"', "first line\nsecond line", "a; b\tc")


def sure_names(buyers: dict) -> set[str]:
    """Analytes that terms name beyond doubt."""
    names: set[str] = set()
    for buyer in buyers.values():
        terms = buyer["terms"]
        names |= set(terms.get("pay", {})) | (set(terms.get("accepts", {})) - {"mass", "moisture"})
        for penalty in terms.get("penalties", []):
            names |= set(ev.penalty_names(penalty))
    return names


def deliveries_table(rng: random.Random, request: dict) -> str:
    table, named = Table(rng), sure_names(request["buyers"])
    bare = {a for a in sorted(named) if rng.random() < 0.7}
    for d in request["deliveries"]:
        row: dict = {}
        for name in ("id", "buyer", "arrived", "stage"):
            if name in d:
                table.put(row, name, d[name])
        put_figures(table, row, d, named, bare)
        if rng.random() < 0.15:
            table.put(row, "note", rng.choice(NOTES))
        table.rows.append(row)
    return table.text()


def received_table(rng: random.Random, request: dict) -> str:
    table = Table(rng)
    for r in request["received"]:
        row = {(name, 0): r[name] for name in ("date", "buyer", "amount", "delivery") if name in r}
        if rng.random() < 0.1:
            row["note", 0] = rng.choice(NOTES)
        table.rows.append(row)
    return table.text()


def with_tables(rng: random.Random, request: dict) -> dict:
    told = dict(request)
    if request["deliveries"]:
        told["deliveries"] = deliveries_table(rng, request)
    if request.get("received"):
        told["received"] = received_table(rng, request)
    return told


# ---------------------------------------------------------------- requests that must be refused

def an_id_twice(r: dict) -> None:
    r["deliveries"].append(copy.deepcopy(r["deliveries"][0]))


def a_buyer_unknown(r: dict) -> None:
    r["deliveries"][0]["buyer"] = "nobody"


def no_arrival(r: dict) -> None:
    del r["deliveries"][0]["arrived"]


def no_id(r: dict) -> None:
    del r["deliveries"][0]["id"]


def money_for_no_delivery(r: dict) -> None:
    entry = {"date": r["from"], "buyer": next(iter(r["buyers"])), "amount": f"5 {r['currency']}"}
    r.setdefault("received", []).append({**entry, "delivery": "never seen"})


def money_from_nobody(r: dict) -> None:
    r.setdefault("received", []).append({"date": r["from"], "buyer": "nobody", "amount": f"5 {r['currency']}"})


def money_without_a_unit(r: dict) -> None:
    r.setdefault("received", []).append({"date": r["from"], "buyer": next(iter(r["buyers"])), "amount": "5"})


def days_turned_round(r: dict) -> None:
    r["from"], r["to"] = "2024-03-02", "2024-03-01"


def no_last_day(r: dict) -> None:
    del r["to"]


def a_buyer_without_terms(r: dict) -> None:
    r["buyers"]["somebody"] = {}


def a_charge_on_value_beside_credit(r: dict) -> None:
    buyer = crediting(r)
    buyer["terms"].setdefault("charges", []).append({"what": "cover", "rate": "0.1 %", "of": "payable value"})


def a_participation_beside_credit(r: dict) -> None:
    buyer, code = crediting(r), r["currency"]
    buyer["terms"]["participation"] = [{"for": buyer["credits"][0], "above": f"1 {code}/g", "each": f"1 {code}/g",
                                        "rate": f"1 {code}/t"}]


def crediting(r: dict) -> dict:
    buyer = next(iter(r["buyers"].values()))
    buyer["credits"] = [next(iter(buyer["terms"]["pay"]))]
    return buyer


def metal_priced_without_a_price(r: dict) -> None:
    buyer = crediting(r)
    buyer["account"] = {buyer["credits"][0]: {"priced": [{"date": r["from"], "mass": "1 g"}]}}


def an_opening_without_an_amount(r: dict) -> None:
    next(iter(r["buyers"].values())).setdefault("opening", []).append({"what": "balance", "delivery": "J-99"})


def two_parties_without_a_limit(r: dict) -> None:
    d = inside(r)
    r["buyers"][d["buyer"]].pop("limits", None)
    d["assays"]["Au"] = {"seller": "12 g/t", "buyer": "11 g/t"}


def too_damp(r: dict) -> None:
    d = inside(r)
    if r["buyers"][d["buyer"]]["terms"]["buys"] == "bar":
        d["delivered"]["gross"] = "-1 kg"
    else:
        d["delivered"]["moisture"] = "104 %"


def inside(r: dict) -> dict:
    return next(d for d in r["deliveries"] if r["from"] <= d["arrived"] <= r["to"] and "previous" not in d)


def a_column_unknown(r: dict) -> None:
    r["deliveries"] = "id,buyer,arrived,colour,wet_mass\nA,B,2024-03-01,red,5 kg\n"


def another_unit_in_a_cell(r: dict) -> None:
    r["received"] = f"date,buyer,amount ({r['currency']})\n{r['from']},\"{quoted(r)}\",5 USc\n"


def quoted(r: dict) -> str:
    return next(iter(r["buyers"])).replace('"', '""')


def an_unknown_field(r: dict) -> None:
    r["recieved"] = []


FAULTS: tuple[Callable[[dict], None], ...] = (
    an_id_twice, a_buyer_unknown, no_arrival, no_id, money_for_no_delivery, money_from_nobody, money_without_a_unit,
    days_turned_round, no_last_day, a_buyer_without_terms, a_charge_on_value_beside_credit,
    a_participation_beside_credit, metal_priced_without_a_price, an_opening_without_an_amount,
    two_parties_without_a_limit, too_damp, a_column_unknown, another_unit_in_a_cell, an_unknown_field)


def spoiled(rng: random.Random, fault: Optional[Callable[[dict], None]] = None) -> dict:
    """One fault that the page calls an error, said in the request's note."""
    fault = fault or rng.choice(FAULTS)
    while True:
        request = made(rng, plain=rng.random() < 0.5)
        if not any(request["from"] <= d["arrived"] <= request["to"] and "previous" not in d
                   for d in request["deliveries"]):
            continue
        fault(request)
        request["note"] = fault.__name__.replace("_", " ")
        return request


# ---------------------------------------------------------------- returns

class Returns(Month):
    """Deliveries without days, and what each buyer's account says of them."""

    def make(self) -> dict:
        for name in ("from", "to"):
            del self.request[name]
        self.request["format"] = "buttonworth-returns/1"
        self.deliver(self.rng.choice((3, 9, 16)))
        bias = {}
        returned = []
        for d in self.request["deliveries"]:
            if self.maybe(0.85):
                told = self.answered(d, bias)
                if told:
                    returned.append(told)
        self.rng.shuffle(returned)
        self.request["returns"] = returned
        return self.request

    def one(self, name: str, buyer: Buyer) -> dict:
        self.count += 1
        d = {**buyer.delivery(f"K-{self.count:02d}", self.day()), "buyer": name}
        deliveries.settle(months.taken(months.settled_request(self.request, d)))
        return d

    def near(self, value: Fraction, unit: str, size: Fraction, lean: float) -> str:
        return f"{digits_of(value / size * Fraction(str(round(lean + self.rng.gauss(0, 0.006), 5))), 9)} {unit}"

    def answered(self, d: dict, bias: dict) -> Optional[dict]:
        """Masses, assays, prices, then lines: some of them, near ours."""
        whole = months.taken(months.settled_request(self.request, d))
        ours = deliveries.settle(whole)

        def lean(what: str) -> float:
            key = d["buyer"], what
            bias.setdefault(key, self.rng.choice((1.0, 1.0, 0.998, 0.993, 0.98)))
            return bias[key] * (0.9 if self.maybe(0.04) else 1)

        told: dict[str, Any] = {"id": d["id"], "delivered": {}, "assays": {}, "prices": {}}
        for name in d["delivered"]:
            if self.maybe(0.6):
                unit, size = ("%", PERCENT) if name == "moisture" else ("kg", KG)
                told["delivered"][name] = self.near(ours["delivered"][name]["settled"], unit, size, lean(name))
        for analyte, f in ours["assays"].items():
            if self.maybe(0.7):
                told["assays"][analyte] = self.near(f["settled"], "g/t", Fraction(1, 10**6), lean(analyte))
                if self.maybe(0.15) and not self.plain:
                    told["assays"][analyte] = {"value": told["assays"][analyte], "rsd": "1 %"}
        for metal in whole["terms"]["pay"]:
            if self.maybe(0.2):
                payable = ours["metal"].get(metal, {}).get("payable")
                if payable:
                    told.setdefault("payable", {})[metal] = self.near(payable, "g", Fraction(1, 1000), lean(metal))
            if self.maybe(0.2):
                price = ours["prices"][metal]["average"]
                told["prices"][metal] = self.near(price, f"{self.request['currency']}/g", Fraction(1000), lean(metal))
        return self.accounted(whole, told)

    def accounted(self, whole: dict, told: dict) -> Optional[dict]:
        now = copy.deepcopy(whole)
        try:
            for _ in months.put_figures(now, told):
                deliveries.settle(now)
            last = deliveries.settle(now)
        except ev.PlanError:
            return None
        total = last["proceeds"]
        if self.maybe(0.6):
            lines = self.lines(last)
            if lines:
                told["lines"] = lines
                total = sum((Fraction(x["amount"]) for x in lines), Fraction(0))
        told["proceeds"] = text_of(total + Fraction(self.rng.choice(("0", "0", "1.5", "-20"))), 2)
        return told

    def lines(self, last: dict) -> list[dict]:
        told = []
        for line in last["lines"]:
            if line["what"].startswith("interest on") or self.maybe(0.05):
                continue
            amount = line["amount"] if self.maybe(0.6) else line["amount"] * Fraction(98, 100)
            told.append({"what": line["what"], "amount": text_of(amount, 2)})
        if self.maybe(0.15):
            told.append({"what": "bank charge", "amount": "-35.00"})
        return told


def returns(rng: random.Random, plain: bool = False) -> dict:
    while True:
        try:
            request = Returns(rng, plain, returns=True).make()
            months.reconcile(request)
            return request
        except ev.PlanError:
            continue


def returns_table(rng: random.Random, request: dict) -> str:
    table, named = Table(rng), sure_names(request["buyers"])
    bare = {a for a in sorted(named) if rng.random() < 0.7}
    for r in request["returns"]:
        row: dict = {}
        table.put(row, "id", r["id"])
        put_figures(table, row, r, named, bare)
        for line in r.get("lines", []):
            table.put(row, f"line {line['what']}", line["amount"])
        table.put(row, "proceeds", r["proceeds"])
        table.rows.append(row)
    return ReturnsTable.of(table, request["currency"]).text()


class ReturnsTable(Table):
    """Assays before prices; a unit in the header of money is the document's."""

    @staticmethod
    def of(table: Table, currency: str) -> "ReturnsTable":
        told = ReturnsTable(table.rng)
        told.rows, told.currency = table.rows, currency
        return told

    def columns(self) -> list[tuple[str, int]]:
        """In the order of the figures: what is put in first changes what the next is worth."""
        found = super().columns()
        return sorted(found, key=lambda c: self.turn(c[0]))

    def turn(self, name: str) -> tuple:
        is_price = name.startswith("price ")
        if not is_price and not name.startswith("assay ") and name not in plans.ANALYTES:
            return (self.rng.choice((0, 2)), "")
        return (1, is_price, list(plans.ANALYTES).index(name.rpartition(" ")[2]))

    def unit(self, column: tuple[str, int]) -> Optional[str]:
        if column[0] == "proceeds" or column[0].startswith("line "):
            return None
        return super().unit(column)

    def title(self, name: str) -> str:
        if name == "proceeds" or name.startswith("line "):
            if name not in self.titles:
                self.titles[name] = name + (f" ({self.currency})" if self.rng.random() < 0.5 else "")
            return self.titles[name]
        return super().title(name)


def in_order(request: dict) -> dict:
    """Assays and prices of each return in the order that the table's columns have, and its lines too."""
    told = copy.deepcopy(request)
    for r in told["returns"]:
        for table in ("assays", "prices"):
            r[table] = {a: r[table][a] for a in plans.ANALYTES if a in r[table]}
    return told


def returns_twice(rng: random.Random) -> tuple[dict, dict]:
    request = in_order(returns(rng, plain=True))
    told = dict(request)
    if request["deliveries"]:
        told["deliveries"] = deliveries_table(rng, request)
    if request["returns"]:
        told["returns"] = returns_table(rng, request)
    return request, told


# ---------------------------------------------------------------- what a month covers

def features(request: dict, told: dict) -> set[str]:
    """Names of the things of the page that a month has, for the counts."""
    found = {name for name in ("exchange", "on_hand", "received", "list") if name in request}
    for name, buyer in request["buyers"].items():
        found |= {f"buyer's {k}" for k in buyer if k not in ("terms",)} | {f"buys {buyer['terms']['buys']}"}
        b = told["buyers"][name]
        found |= {f"money to {k}" for k, v in b["received"].items() if v}
        found |= {f"outstanding {i['what'].split()[-1]}{' negative' if i['amount'] < 0 else ''}"
                  for i in b["outstanding"]}
        found |= {k for k in ("refused", "provisional", "overdue") if b[k]}
        found |= {f"account {k}" for a in b["account"].values() for k, v in a.items() if v}
    found |= {f"passed over {k}" for k, n in told["passed_over"].items() if n}
    found |= {"caution " + ("overpaid" if "overpaid" in c["what"] else "account below 0") for c in told["cautions"]}
    for d in request["deliveries"]:
        if "previous" in d:
            found.add("previous")
            if d["previous"]["refused"]:
                found.add("previous refused")
    return found


if __name__ == "__main__":
    import sys
    print(json.dumps(month(random.Random(int(sys.argv[1]))), ensure_ascii=False, indent=1))
