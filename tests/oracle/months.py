"""A plain, slow evaluator of the month's book and of many returns: sections 10 and 11 of the format page.

Written from the page alone, in exact fractions, on the statements of `deliveries`. Masses are held in kg,
money in the request's currency. "Open N" in a comment marks a point that the page leaves open and this
module decides; they are numbered in `OPEN`. The CSV tables of the answer are left out.
"""

from __future__ import annotations

import copy
import csv
import io
import math
import re
from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any, Iterable, Optional

import deliveries
import evaluator as ev

ZERO, ONE = ev.ZERO, ev.ONE

OPEN = {
    1: "a delivery with `previous` counts in the book though it arrived before `from` (after `to` it does not): "
       "read literally, `Days` would pass over just what `previous` is for",
    2: "a refused delivery adds nothing to masses, metal, lines and proceeds, but counts in `deliveries`, "
       "`refused` and, where its stage is not final, `provisional`",
    3: "with `previous` and refused now, the change is less the earlier lines' sum, the metal credited goes "
       "back, and the item has no day, as the statement has none",
    4: "wet and dry mass of the book are as weighed (by `rounding` of mass), a bar's gross mass too",
    5: "`kinds` has the signs of the lines (costs negative), `interest` of B is positive as in a statement",
    6: "money that names a delivery passes over its items of the other sign; only what is left stays on the last "
       "one by day, whatever that one's sign",
    7: "money naming a delivery of the book without any item (it was refused) makes one, a balance without a day",
    8: "a delivery that is passed over is not in the book, and one of another buyer is not either: both errors",
    9: "what a buyer leaves unallocated in a month is one item, its net; an opening's unallocated item stays apart",
    10: "the item of `previous` stands at the opening's place where it holds a balance of that delivery, "
        "else at the delivery's, among equal days",
    11: "an opening item that does not say what it is counts as a balance",
    12: "on hand, `delivered` is the statements' `contained` (as weighed, deemed where not assayed); of those with "
        "`previous`, less what the earlier statement says",
    13: "`passed_over` of metal counts priced, withdrawn and produced entries together",
    14: "`price` of the terms stands before a price of the delivery's own, as in section 8",
    15: "account, limits, opening and on hand stand outside the terms: exact ounces and pounds; openings of metal "
        "may be below 0, as closings may",
    16: "metal that is in `account` and not in `credits` is an error, and so is a credited metal that the terms do "
        "not pay",
    17: "a delivery's figure with a rule and no limit of its own takes the limit of `limits` and its rule",
    18: "a plain column that stands several times is the mean of what its cells state, as of `values`; cells of a "
        "plain column and of a party's for one figure are an error",
    19: "a passed-over delivery is not settled and passed-over money is not allocated; both are read for their "
        "day and buyer only",
    20: "the separator is a comma if the header has one outside quotes, else a semicolon, else a tab; an empty "
        "line is a row of empty cells; a row of another length is an error; a byte order mark is passed over",
    21: "an advance is an item where the terms have one, also one of 0; with `previous` it is none",
    22: "the earlier statement of a credited metal has a value line of 0 and a payable mass; a price given "
        "for a credited metal is not used",
    23: "returns in CSV: assays before prices, whatever the order of their columns; a row without any line states "
        "no lines",
    24: "ratios that are equal to 1 part in 10^12 have s = 0",
    25: "`returns` of a buyer counts returns, `ours` and `theirs` sum the lots that have one, `missing` is in "
        "the deliveries' order",
}

BOOK_FIELDS = {"format", "currency", "exchange", "from", "to", "buyers", "deliveries", "received", "on_hand",
               "list", "csv"}
RETURNS_FIELDS = {"format", "currency", "exchange", "buyers", "deliveries", "returns"}
BUYER_FIELDS = {"terms", "prices", "quotes", "period", "limits", "credits"}
BOOK_BUYER_FIELDS = BUYER_FIELDS | {"account", "opening"}
DELIVERY_FIELDS = {"id", "buyer", "arrived", "delivered", "assays", "prices", "stage", "previous"}
DELIVERED = ("wet_mass", "moisture", "gross", "melted")
KINDS = ("value", "refining", "charges", "penalties", "participation", "interest")
PARTIES = ("seller", "buyer", "umpire")


class MonthError(deliveries.DeliveryError):
    """The request is impossible or wrong; there is no book."""


def wanted(table: Any, names: Iterable[str], place: str) -> None:
    for name in names:
        if table.get(name) is None:
            raise MonthError(f"{place}: {name} is wanted")


# ---------------------------------------------------------------- CSV

@dataclass
class Column:
    name: str                       # `_` and a space are the same
    unit: Optional[str]


def separator_of(text: str) -> str:
    """Open 20."""
    inside, seen = False, set()
    for c in text:
        if c == '"':
            inside = not inside
        elif not inside and c in "\r\n":
            break
        elif not inside:
            seen.add(c)
    return next((c for c in ",;\t" if c in seen), ",")


def read_column(title: str) -> Column:
    found = re.fullmatch(r"(.*?)[ _]*\(([^()]*)\) *", title, re.S)
    name, unit = (found[1], found[2]) if found else (title, None)
    return Column(name.replace("_", " ").strip(), unit)


def read_table(text: str) -> list[tuple[int, list[tuple[str, str]]]]:
    """Rows as their number and the cells that state something, each with its column's name and with its unit."""
    text = text.removeprefix("\ufeff")
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator_of(text), strict=True))
    if not rows:
        raise MonthError("a table wants a header")
    columns, told = [read_column(t) for t in rows[0]], []
    for number, row in enumerate(rows[1:]):
        if not any(row):
            continue
        if len(row) != len(columns):
            raise MonthError(f"row {number} has {len(row)} cells under {len(columns)} columns")
        told.append((number, [(c.name, in_unit(cell, c.unit) if c.unit else cell)
                              for c, cell in zip(columns, row) if cell]))
    return told


def names_in_terms(buyers: dict) -> set[str]:
    """Analytes that any buyer's terms name: such a column needs no `assay`."""
    names: set[str] = set()
    for _, buyer in ev.named(buyers):
        terms = buyer["terms"]
        for table in ("pay", "accepts", "deemed", "melt_loss", "rounding"):
            names |= set(terms.get(table, {}))
        for penalty in terms.get("penalties", []):
            names |= set(ev.penalty_names(penalty))
        names |= {p["for"] for p in terms.get("participation", [])}
    return names - {"mass", "moisture", "money", "mode", "payable", "note"}


@dataclass
class Cells:
    """What one row says, by figure and party."""
    plain: dict[str, str] = field(default_factory=dict)
    figures: dict[tuple[str, str], dict[Optional[str], list[str]]] = field(default_factory=dict)
    prices: dict[str, str] = field(default_factory=dict)
    payable: dict[str, str] = field(default_factory=dict)
    lines: list[tuple[str, str]] = field(default_factory=list)

    def figure(self, of: str, name: str, party: Optional[str], text: str) -> None:
        self.figures.setdefault((of, name), {}).setdefault(party, []).append(text)

    def stated(self, of: str) -> dict:
        return {name: exchanged(found, name) for (table, name), found in self.figures.items() if table == of}


def exchanged(found: dict[Optional[str], list[str]], name: str) -> Any:
    """Open 18."""
    if None in found:
        if len(found) > 1:
            raise MonthError(f"{name}: a figure alone, or those of the parties")
        texts = found[None]
        return texts[0] if len(texts) == 1 else {"values": texts}
    return {party: texts[0] if len(texts) == 1 else texts for party, texts in found.items()}


def read_cells(row: list[tuple[str, str]], plain: set[str], analytes: set[str], parties: bool) -> Cells:
    told, spaced = Cells(), {a.replace("_", " "): a for a in analytes}
    for name, text in row:
        if name in plain:
            if name in told.plain:
                raise MonthError(f"column {name} stands twice")
            told.plain[name] = text
        elif name.startswith("price "):
            told.prices[name[6:]] = text
        elif name.startswith("payable ") and not parties:
            told.payable[name[8:]] = text
        elif name.startswith("line ") and not parties:
            told.lines.append((name[5:], text))
        else:
            read_figure(told, name, text, spaced, parties)
    return told


def read_figure(told: Cells, name: str, text: str, analytes: dict[str, str], parties: bool) -> None:
    found, _, last = name.rpartition(" ")
    party = last if parties and found and last in PARTIES else None
    figure = found if party else name
    if figure.replace(" ", "_") in DELIVERED:
        told.figure("delivered", figure.replace(" ", "_"), party, text)
    elif figure.startswith("assay "):
        told.figure("assays", figure[6:], party, text)
    elif figure in analytes:
        told.figure("assays", analytes[figure], party, text)
    else:
        raise MonthError(f"no column {name}")


def delivery_rows(text: str, buyers: dict) -> list[dict]:
    told, analytes = [], names_in_terms(buyers)
    for _, row in read_table(text):
        cells = read_cells(row, {"id", "buyer", "arrived", "stage", "note"}, analytes, True)
        d: dict[str, Any] = {k: v for k, v in cells.plain.items()}
        d["delivered"], d["assays"] = cells.stated("delivered"), cells.stated("assays")
        if cells.prices:
            d["prices"] = cells.prices
        told.append(d)
    return told


def received_rows(text: str) -> list[dict]:
    told, names = [], {"date", "buyer", "amount", "delivery", "note"}
    for _, row in read_table(text):
        for name, _ in row:
            if name not in names:
                raise MonthError(f"no column {name}")
        if len(dict(row)) < len(row):
            raise MonthError("a column stands twice")
        told.append(dict(row))
    return told


def in_unit(cell: str, unit: str) -> str:
    """A number takes the header's unit, or repeats it; another is an error."""
    number = cell.removesuffix(unit).rstrip()
    if not number or not number[-1].isdigit():
        raise MonthError(f"{cell!r} in a column of {unit}")
    return f"{number} {unit}"


def document_money(text: str, currency: str) -> str:
    """A unit in the header of proceeds or of a line is the document's currency."""
    number, _, unit = text.partition(" ")
    if unit and unit != currency:
        raise MonthError(f"{text!r} is not in {currency}")
    return number


def return_rows(text: str, buyers: dict, currency: str) -> list[dict]:
    told, analytes = [], names_in_terms(buyers)
    for _, row in read_table(text):
        cells = read_cells(row, {"id", "note", "proceeds"}, analytes, False)
        r: dict[str, Any] = {"id": cells.plain.get("id"), "delivered": cells.stated("delivered"),
                             "assays": cells.stated("assays"), "prices": cells.prices}
        if "proceeds" in cells.plain:
            r["proceeds"] = document_money(cells.plain["proceeds"], currency)
        if cells.payable:
            r["payable"] = cells.payable
        if cells.lines:
            r["lines"] = [{"what": what, "amount": document_money(t, currency)} for what, t in cells.lines]
        told.append(r)
    return told


# ---------------------------------------------------------------- one delivery of the book

def read_deliveries(request: dict) -> list[dict]:
    given = request.get("deliveries", [])
    rows = delivery_rows(given, request["buyers"]) if isinstance(given, str) else given
    ids: set[str] = set()
    for i, d in enumerate(rows):
        place = f"/deliveries/{i}"
        deliveries.only(d, DELIVERY_FIELDS, place)
        wanted(d, ("id", "buyer", "arrived", "delivered"), place)
        if d["buyer"] not in dict(ev.named(request["buyers"])):
            raise MonthError(f"{place}: no buyer {d['buyer']}")
        if d["id"] in ids:
            raise MonthError(f"{place}: {d['id']} stands twice")
        ids.add(d["id"])
    return rows


def limited(e: Any, limits: Any) -> Any:
    """Limit and rule of the buyer's, where both parties state a figure without a limit of its own. Open 17."""
    if not isinstance(e, dict) or not {"seller", "buyer"} <= set(e) or set(e) & {"limit", "limit_relative"}:
        return e
    return {**e, **{k: v for k, v in (limits or {}).items() if k != "note"}}


def settled_request(request: dict, d: dict) -> dict:
    """The delivery of section 8: heading, its buyer's terms and prices, and what is its own."""
    buyer = request["buyers"][d["buyer"]]
    limits, own = buyer.get("limits", {}), d.get("prices", {})
    whole = {"format": "buttonworth-delivery/1", "terms": copy.deepcopy(buyer["terms"])}
    whole.update({k: request[k] for k in ("currency", "exchange") if k in request})
    whole.update({k: d[k] for k in ("id", "buyer", "arrived", "stage", "previous") if k in d})
    whole["delivered"] = {k: limited(e, limits.get(k)) for k, e in ev.named(d["delivered"])}
    whole["assays"] = {a: limited(e, limits.get("assays", {}).get(a)) for a, e in ev.named(d.get("assays", {}))}
    whole["prices"] = {**dict(ev.named(buyer.get("prices", {}))), **dict(ev.named(own))}
    for name in ("quotes", "period"):
        whole[name] = {m: q for m, q in ev.named(buyer.get(name, {})) if m not in own}
    for metal in buyer.get("credits", []):
        without_value(whole, metal)
    days_of_the_period(whole)
    return whole


def days_of_the_period(whole: dict) -> None:
    """Quotes outside the period say nothing here, and reading thousands of them takes long."""
    for metal, quotes in whole["quotes"].items():
        if metal in whole["period"]:
            span = deliveries.read_period(whole["period"][metal], deliveries.read_date(whole["arrived"]))
            first, last = (d.isoformat() for d in span)
            days = {d: q for d, q in ev.named(quotes["days"]) if first <= d <= last}
            whole["quotes"][metal] = {**quotes, "days": days}


def without_value(whole: dict, metal: str) -> None:
    """A credited metal: nothing is paid for it, and it needs no price. Open 22."""
    pay = whole["terms"]["pay"][metal]
    pay.pop("price_share", None)
    pay["price"] = f"0 {whole['currency']}/kg"
    for name in ("prices", "quotes", "period"):
        whole[name].pop(metal, None)


def kinds_of(terms: dict) -> list[str]:
    """The kind of each line, in the order of `deliveries.line_names`; the interest comes last."""
    kinds: list[str] = []
    for _, pay in ev.named(terms.get("pay", {})):
        kinds += ["value"] + (["refining"] if "refining" in pay else [])
    kinds += ["charges"] * len(terms.get("charges", [])) + ["penalties"] * len(terms.get("penalties", []))
    return kinds + ["participation"] * len(terms.get("participation", [])) + ["interest"]


@dataclass
class Settled:
    """A delivery of the book with its statement."""
    given: dict
    request: dict
    told: dict

    def __post_init__(self) -> None:
        self.id, self.buyer = self.given["id"], self.given["buyer"]
        self.previous = self.given.get("previous")
        self.refused = bool(self.told["refused"])
        self.lines_sum = sum((x["amount"] for x in self.told["lines"]), ZERO)
        self.wet, self.dry = self.weighed()

    def weighed(self) -> tuple[Fraction, Fraction]:
        """Open 4."""
        delivered = self.told["delivered"]
        if "gross" not in delivered:
            wet = delivered["wet_mass"]["settled"]
            return self.whole_steps(wet), delivered["dry_mass"]
        gross = self.whole_steps(delivered["gross"]["settled"])
        return gross, gross

    def in_money(self, amount: Fraction) -> Fraction:
        """Rounded as the terms round money."""
        rounding = self.request["terms"].get("rounding", {})
        if "money" not in rounding:
            return amount
        units = ev.Units(ev.read_currencies(self.request))
        return ev.round_to(amount, units.money(rounding["money"]), rounding.get("mode", "half even"))

    def whole_steps(self, mass: Fraction) -> Fraction:
        units = ev.Units(ev.read_currencies(self.request)).inside(self.request["terms"].get("factors"))
        empty = ev.Material("concentrate", ZERO, ZERO, {}, ZERO)
        return ev.whole_steps(ev.Sale("", self.request["terms"], units, empty), mass)

    def earlier_sum(self) -> Fraction:
        return sum((Fraction(x["amount"]) for x in self.previous["lines"]), ZERO)

    def change(self) -> Fraction:
        return self.lines_sum - self.earlier_sum()

    def payable(self, metal: str) -> Fraction:
        return self.told["metal"].get(metal, {}).get("payable", ZERO)

    def credited(self, metal: str) -> Fraction:
        """All of it, or with `previous` what has changed."""
        if self.previous is None:
            return self.payable(metal)
        was = self.previous.get("metal", {}).get(metal, {}).get("payable", "0 g")
        return self.payable(metal) - ev.Units({}).mass(was)

    def value_lines(self) -> dict[str, Fraction]:
        told, at = {}, 0
        for metal, pay in ev.named(self.request["terms"].get("pay", {})):
            told[metal] = self.told["lines"][at]["amount"]
            at += 2 if "refining" in pay else 1
        return told


def settle(request: dict, d: dict) -> Settled:
    whole = settled_request(request, d)
    return Settled(d, whole, deliveries.settle(whole))


# ---------------------------------------------------------------- cash

@dataclass
class Item:
    """Something owed. What is still open shrinks as money comes in."""
    delivery: Optional[str]
    what: str
    due: Optional[date]
    amount: Fraction
    place: tuple[int, ...] = (0,)
    open: Fraction = ZERO

    def __post_init__(self) -> None:
        self.open = self.amount

    def turn(self) -> tuple:
        """Earliest due first, without a day last, equal days in the order of the book."""
        return (self.due is None, self.due or date.min, self.place)

    def kind(self) -> str:
        return "priced" if self.what.endswith(" priced") else self.what


def read_amount(text: Any, place: str) -> Fraction:
    """A decimal in the document's currency, without a unit."""
    if not isinstance(text, str):
        raise MonthError(f"{place}: an amount is a text, found {text!r}")
    return ev.exact(text)


def opening_items(buyer: dict) -> list[Item]:
    told = []
    for i, o in enumerate(buyer.get("opening", [])):
        deliveries.only(o, {"delivery", "what", "due", "amount"}, f"opening {i}")
        wanted(o, ("amount",), f"opening {i}")
        due = deliveries.read_date(o["due"]) if o.get("due") is not None else None
        told.append(Item(o.get("delivery"), o.get("what") or "balance", due,                     # open 11
                         read_amount(o["amount"], "opening"), (0, i)))
    return told


def day_of(text: Optional[str]) -> Optional[date]:
    return deliveries.read_date(text) if text is not None else None


def add_delivery(items: list[Item], s: Settled, place: int) -> None:
    if s.previous is not None:
        change_item(items, s, place)
    elif not s.refused:
        advance = s.in_money(s.told["advance"])
        if s.told["advance_due"] is not None:                                                    # open 21
            items.append(Item(s.id, "advance", day_of(s.told["advance_due"]), advance, (1, place, 0)))
        rest = s.told["balance"] + s.told["advance"] - advance
        items.append(Item(s.id, "balance", day_of(s.told["balance_due"]), rest, (1, place, 1)))


def change_item(items: list[Item], s: Settled, place: int) -> None:
    """In one item with what the opening holds of that delivery's balance. Open 3, 10."""
    held = [i for i in items if i.place[0] == 0 and i.delivery == s.id and i.what == "balance"]
    for i in held:
        items.remove(i)
    at = held[0].place if held else (1, place, 1)
    amount = sum((i.amount for i in held), ZERO) + s.change()
    items.append(Item(s.id, "balance", day_of(s.told["balance_due"]), amount, at))


@dataclass
class Allocation:
    """Money received, put to the items of one buyer."""
    items: list[Item]
    known: set[str]
    by_kind: Counter = field(default_factory=Counter)
    unallocated: Fraction = ZERO
    overpaid: list[Item] = field(default_factory=list)

    def put(self, amount: Fraction, delivery: Optional[str]) -> None:
        if delivery is not None and delivery not in self.known:
            raise MonthError(f"{delivery} is not in the book")
        turn = sorted((i for i in self.items if delivery in (None, i.delivery)), key=Item.turn)
        rest = amount
        for item in turn:
            if item.open * rest > 0:                        # of its own sign. Open 6
                part = min(abs(item.open), abs(rest)) * (1 if rest > 0 else -1)
                self.give(item, part)
                rest -= part
        if not rest:
            return
        if delivery is not None:
            if not turn:                                    # open 7
                turn = [Item(delivery, "balance", None, ZERO, (4,))]
                self.items += turn
            self.give(turn[-1], rest)
            if rest > 0 and not any(i is turn[-1] for i in self.overpaid):
                self.overpaid.append(turn[-1])
        else:
            self.unallocated += rest
            self.by_kind["unallocated"] += rest

    def give(self, item: Item, amount: Fraction) -> None:
        item.open -= amount
        self.by_kind[item.kind()] += amount


# ---------------------------------------------------------------- the book

def new_b() -> dict:
    return {"deliveries": 0, "refused": 0, "provisional": 0, "wet_mass": ZERO, "dry_mass": ZERO,
            "settled_mass": ZERO, "proceeds": ZERO, "interest": ZERO, "kinds": {k: ZERO for k in KINDS},
            "lines": {}, "metal": {}, "cash": {k: ZERO for k in ("opening", "due", "changed", "priced", "received",
                                                                 "closing")},
            "received": {k: ZERO for k in ("advance", "balance", "priced", "unallocated")}, "account": {},
            "due": [], "overdue": ZERO}


def add_to(table: dict, name: str, amount: Fraction) -> None:
    table[name] = table.get(name, ZERO) + amount


class Book:
    def __init__(self, request: dict):
        check_book(request)
        self.request = request
        self.units = ev.Units(ev.read_currencies(request))
        self.first, self.last = deliveries.read_date(request["from"]), deliveries.read_date(request["to"])
        if self.last < self.first:
            raise MonthError("`to` lies before `from`")
        self.buyers = dict(ev.named(request["buyers"]))
        self.passed = {"deliveries": 0, "received": 0, "metal": 0}
        self.told: dict[str, dict] = {name: new_b() for name in self.buyers}
        self.total = new_b()
        self.items: dict[str, list[Item]] = {name: opening_items(b) for name, b in self.buyers.items()}
        self.settled: list[Settled] = []
        self.cautions: list[dict] = []
        self.left_open: list[Item] = []

    def inside(self, day: date, what: str) -> bool:
        if self.first <= day <= self.last:
            return True
        self.passed[what] += 1
        return False

    def both(self, buyer: str) -> tuple[dict, dict]:
        return self.told[buyer], self.total

    # -- deliveries

    def deliver(self) -> None:
        for place, d in enumerate(read_deliveries(self.request)):
            arrived = deliveries.read_date(d["arrived"])
            if "previous" in d and arrived < self.first:
                pass                                                                             # open 1
            elif not self.inside(arrived, "deliveries"):
                continue                                                                         # open 19
            s = settle(self.request, d)
            self.settled.append(s)
            add_delivery(self.items[s.buyer], s, place)
            for b in self.both(s.buyer):
                self.count(b, s)

    def count(self, b: dict, s: Settled) -> None:
        """Open 2."""
        b["deliveries"] += 1
        b["refused"] += s.refused
        b["provisional"] += s.told["stage"] != "final"
        if s.previous is not None:
            b["cash"]["changed"] += s.change()
        elif not s.refused:
            b["cash"]["due"] += s.lines_sum
            self.sums(b, s)

    def sums(self, b: dict, s: Settled) -> None:
        b["wet_mass"] += s.wet
        b["dry_mass"] += s.dry
        b["settled_mass"] += s.told["delivered"]["settled_mass"]
        b["proceeds"] += s.told["proceeds"]
        b["interest"] += s.told["interest"]
        for line, kind in zip(s.told["lines"], kinds_of(s.request["terms"])):
            b["kinds"][kind] += line["amount"]
            add_to(b["lines"], line["what"], line["amount"])
        values = s.value_lines()
        for metal, found in s.told["metal"].items():
            m = b["metal"].setdefault(metal, {"contained": ZERO, "payable": ZERO, "value": ZERO})
            m["contained"] += found["contained"]
            m["payable"] += found["payable"]
            m["value"] += values.get(metal, ZERO)

    # -- metal accounts

    def accounts(self) -> None:
        for name, buyer in self.buyers.items():
            given = dict(ev.named(buyer.get("account", {})))
            credited = list(dict.fromkeys(buyer.get("credits", [])))
            if set(given) - set(credited):                                                       # open 16
                raise MonthError(f"/buyers/{name}/account: a metal that is not credited")
            for metal in credited:
                self.account(name, metal, given.get(metal, {}))

    def account(self, name: str, metal: str, given: dict) -> None:
        deliveries.only(given, {"opening", "priced", "withdrawn"}, f"account of {metal}")
        account = {"opening": self.units.mass(given.get("opening", "0 g")), "priced": ZERO, "withdrawn": ZERO}
        account["credited"] = sum((s.credited(metal) for s in self.settled if s.buyer == name), ZERO)
        for i, p in enumerate(given.get("priced", [])):
            account["priced"] += self.priced(name, metal, p, i)
        for w in given.get("withdrawn", []):
            account["withdrawn"] += self.moved(w, {"date", "mass"})
        account["closing"] = account["opening"] + account["credited"] - account["priced"] - account["withdrawn"]
        if account["closing"] < 0:
            self.cautions.append({"at": name, "what": f"more {metal} was priced than was there", "name": metal})
        self.told[name]["account"][metal] = account
        whole = self.total["account"].setdefault(metal, {k: ZERO for k in account})
        for k, mass in account.items():
            whole[k] += mass

    def moved(self, entry: dict, fields: set[str]) -> Fraction:
        """The mass of a dated entry, 0 where it is passed over."""
        deliveries.only(entry, fields, "metal")
        wanted(entry, ("date", "mass"), "metal")
        mass = deliveries.mass_above_nothing(self.units)(entry["mass"])
        return mass if self.inside(deliveries.read_date(entry["date"]), "metal") else ZERO

    def priced(self, name: str, metal: str, p: dict, place: int) -> Fraction:
        wanted(p, ("price",), "metal priced")
        mass = self.moved(p, {"date", "mass", "price", "due"})
        if not mass:
            return ZERO
        terms = self.buyers[name]["terms"]
        own = self.units.inside(terms.get("factors"))
        sale = ev.Sale(name, terms, own, ev.Material("bar", ZERO, ZERO, {}, ZERO))
        amount = sale.money(ev.trim(mass * self.units.per_mass(p["price"])))
        due = day_of(p.get("due")) or deliveries.read_date(p["date"])
        metals = list(self.buyers[name]["account"])
        self.items[name].append(Item(None, f"{metal} priced", due, amount, (2, metals.index(metal), place)))
        for b in self.both(name):
            b["cash"]["priced"] += amount
        return mass

    # -- money

    def receive(self) -> None:
        entries = self.request.get("received", [])
        entries = received_rows(entries) if isinstance(entries, str) else entries
        puts = {name: Allocation(self.items[name], self.known(name)) for name in self.buyers}
        for r in self.in_turn(entries):
            amount = self.units.money(r["amount"])
            puts[r["buyer"]].put(amount, r.get("delivery"))
            for b in self.both(r["buyer"]):
                b["cash"]["received"] += amount
        for name, put in puts.items():
            self.close(name, put)

    def known(self, name: str) -> set[str]:
        """Open 8."""
        return ({i.delivery for i in self.items[name] if i.delivery is not None}
                | {s.id for s in self.settled if s.buyer == name})

    def in_turn(self, entries: list[dict]) -> list[dict]:
        """In the order of their days and then as listed."""
        told = []
        for i, r in enumerate(entries):
            place = f"/received/{i}"
            deliveries.only(r, {"date", "buyer", "amount", "delivery"}, place)
            wanted(r, ("date", "buyer", "amount"), place)
            if r["buyer"] not in self.buyers:
                raise MonthError(f"{place}: no buyer {r['buyer']}")
            self.units.money(r["amount"])
            day = deliveries.read_date(r["date"])
            if self.inside(day, "received"):
                told.append((day, i, r))
        return [r for _, _, r in sorted(told, key=lambda x: x[:2])]

    def close(self, name: str, put: Allocation) -> None:
        self.cautions += [{"at": name, "what": f"{i.delivery} is overpaid", "name": i.delivery}
                          for i in put.overpaid if i.open < 0]
        if put.unallocated:                                                                      # open 9
            self.items[name].append(Item(None, "unallocated", None, -put.unallocated, (3,)))
        told = sorted((i for i in self.items[name] if i.open), key=Item.turn)
        self.left_open += told
        self.told[name]["outstanding"] = [
            {"delivery": i.delivery, "what": i.what, "due": i.due.isoformat() if i.due else None, "amount": i.open}
            for i in told]
        opening = sum((i.amount for i in opening_items(self.buyers[name])), ZERO)
        for b in self.both(name):
            b["cash"]["opening"] += opening
            for kind, amount in put.by_kind.items():
                add_to(b["received"], kind, amount)
        self.by_day(self.told[name], told)

    def by_day(self, b: dict, items: list[Item]) -> None:
        sums: dict[Optional[date], Fraction] = {}
        for i in sorted(items, key=Item.turn):
            sums[i.due] = sums.get(i.due, ZERO) + i.open
        b["due"] = [{"day": d.isoformat() if d else None, "amount": a} for d, a in sums.items()]
        b["overdue"] = sum((a for d, a in sums.items() if d and d <= self.last), ZERO)
        cash = b["cash"]
        cash["closing"] = cash["opening"] + cash["due"] + cash["changed"] + cash["priced"] - cash["received"]
        if cash["closing"] != sum((i.open for i in items), ZERO):
            raise AssertionError("the items outstanding do not add up to closing")

    # -- on hand

    def on_hand(self) -> dict:
        told = {}
        for metal, given in ev.named(self.request.get("on_hand", {})):
            deliveries.only(given, {"opening", "produced", "counted"}, f"/on_hand/{metal}")
            produced = sum((self.moved(p, {"date", "mass"}) for p in given.get("produced", [])), ZERO)
            delivered = sum((s.told["metal"].get(metal, {}).get("contained", ZERO) for s in self.settled
                             if not s.refused), ZERO)
            delivered -= sum((contained_before(s.previous, metal, self.units) for s in self.settled          # open 12
                              if s.previous is not None), ZERO)
            opening = self.units.mass(given.get("opening", "0 g"))
            one = {"opening": opening, "produced": produced, "delivered": delivered,
                   "closing": opening + produced - delivered}
            if "counted" in given:
                one["counted"] = self.units.mass(given["counted"])
                one["difference"] = one["counted"] - one["closing"]
            told[metal] = one
        return told

    def answer(self) -> dict:
        self.deliver()
        self.accounts()
        self.receive()
        self.by_day(self.total, self.left_open)
        told = {"format": "buttonworth-book/1", "currency": self.request["currency"], "from": self.request["from"],
                "to": self.request["to"], "buyers": self.told, "total": self.total, "on_hand": self.on_hand(),
                "passed_over": self.passed, "cautions": self.cautions}
        if self.request.get("list"):
            told["deliveries"] = [listed(s) for s in self.settled]
        return told


def contained_before(previous: dict, metal: str, units: Any) -> Fraction:
    """What an earlier statement says was contained; a refused one says nothing."""
    stated = previous.get("metal", {}).get(metal, {}).get("contained")
    return ZERO if stated is None else units.mass(stated)


def listed(s: Settled) -> dict:
    told = {k: s.told[k] for k in ("id", "buyer", "arrived", "stage", "proceeds", "advance", "interest", "balance",
                                   "advance_due", "balance_due", "refused")}
    told.update({"wet_mass": s.wet, "dry_mass": s.dry,
                 "payable": {m: f["payable"] for m, f in s.told["metal"].items()}})
    return told


def check_buyer(name: str, buyer: dict, fields: set[str]) -> None:
    deliveries.only(buyer, fields, f"/buyers/{name}")
    wanted(buyer, ("terms",), f"/buyers/{name}")
    terms, priced = buyer["terms"], set(buyer.get("prices", {}))
    priced |= {m for m, pay in ev.named(terms.get("pay", {})) if "price" in pay}
    if (priced & set(buyer.get("quotes", {}))) - {"note"}:
        raise MonthError(f"{name}: a metal with a price and quotes")
    credits = buyer.get("credits", [])
    for metal in credits:
        if metal not in terms.get("pay", {}):                                                    # open 16
            raise MonthError(f"{name} credits {metal} and does not pay it")
        if any(p["for"] == metal for p in terms.get("participation", [])):
            raise MonthError(f"{name}: participation in {metal}, which is credited")
    if credits and any(c.get("of") == "payable value" for c in terms.get("charges", [])):
        raise MonthError(f"{name}: a charge on payable value beside a credited metal")


def check_book(request: dict) -> None:
    deliveries.only(request, BOOK_FIELDS, "/")
    wanted(request, ("format", "currency", "from", "to", "buyers"), "/")
    if request["format"] != "buttonworth-month/1":
        raise MonthError("not a month of format 1")
    for name, buyer in ev.named(request["buyers"]):
        check_buyer(name, buyer, BOOK_BUYER_FIELDS)


def readable(work: Any, request: dict) -> dict:
    try:
        return work(request)
    except (KeyError, TypeError, ValueError, AttributeError, ZeroDivisionError, csv.Error) as problem:
        raise MonthError(f"the request cannot be read: {problem!r}") from problem


def book(request: dict) -> dict:
    """The month's book, in fractions; MonthError or PlanError where there can be none."""
    return readable(lambda r: Book(r).answer(), request)


# ---------------------------------------------------------------- section 9, one return

WORDS = {"wet_mass": "wet mass", "gross": "gross mass", "melted": "melted mass", "moisture": "moisture"}


def taken(request: dict) -> dict:
    """Limits that refuse are left aside, as the buyer took the lot."""
    made = copy.deepcopy(request)
    made["terms"].pop("accepts", None)
    for penalty in made["terms"].get("penalties", []):
        penalty.pop("refuse_above", None)
    return made


def set_price(request: dict, metal: str, price: Any) -> None:
    pay = request["terms"].get("pay", {})
    if metal not in pay and metal not in [p["for"] for p in request["terms"].get("participation", [])]:
        raise MonthError(f"the delivery has no price of {metal}")
    pay.get(metal, {}).pop("price", None)
    for name in ("quotes", "period"):
        request[name].pop(metal, None)
    request["prices"][metal] = price


def put_figures(request: dict, given: dict) -> Iterable[str]:
    """The buyer's figures in place of ours, one after the other; the name of each."""
    for name in ("wet_mass", "gross", "melted", "moisture"):
        if name in given.get("delivered", {}):
            if name not in request["delivered"]:
                raise MonthError(f"the delivery has no {name}")
            request["delivered"][name] = given["delivered"][name]
            yield WORDS[name]
    for analyte, grade in ev.named(given.get("assays", {})):
        if analyte not in request["assays"]:
            raise MonthError(f"the delivery has no assay of {analyte}")
        request["assays"][analyte] = grade
        yield f"{analyte} assay"
    for metal, price in ev.named(given.get("prices", {})):
        set_price(request, metal, price)
        yield f"{metal} price"


def own_lines(lines: list[dict]) -> list[tuple[tuple[str, int], Fraction]]:
    """Lines of one name by their order, without interest."""
    seen: Counter = Counter()
    told = []
    for line in lines:
        if line["what"] == "interest on the advance":
            continue
        seen[line["what"]] += 1
        told.append(((line["what"], seen[line["what"]]), Fraction(line["amount"])))
    return told


def part_name(what: str, values: set[str]) -> str:
    return f"{what.removesuffix(' value')} payable share" if what in values else what


def line_parts(request: dict, ours: dict, given: dict) -> tuple[list[tuple[str, Fraction]], Fraction]:
    """His lines against ours at his own figures, and what his lines come to."""
    mine, his = own_lines(ours["lines"]), own_lines(given["lines"])
    values = {f"{m} value" for m, _ in ev.named(request["terms"].get("pay", {}))}
    theirs, parts = dict(his), []
    for key, amount in mine:
        parts.append((part_name(key[0], values), theirs.get(key, ZERO) - amount))
    parts += [(key[0] + ", not in the terms", amount) for key, amount in his if key not in dict(mine)]
    return parts, sum((a for _, a in his), ZERO)


def settled_figures(told: dict) -> dict[str, Fraction]:
    found = {WORDS[k]: f["settled"] for k, f in told["delivered"].items() if k in WORDS}
    return {**found, **{f"{a} assay": f["settled"] for a, f in told["assays"].items()}}


def variance(q: Any, read: deliveries.Read) -> Optional[float]:
    """Of an uncertain quantity; of `values`, that of their mean; None of any other."""
    if not isinstance(q, dict) or set(q) & deliveries.PARTS_OF_EXCHANGE:
        return None
    if "sd" in q:
        return float(read(q["sd"])) ** 2
    if "rsd" in q:
        return float(read(q["value"]) * ev.Units({}).share(q["rsd"])) ** 2
    if "gsd" in q:
        s2 = math.log(float(ev.exact(q["gsd"]))) ** 2
        return float(read(q["median"])) ** 2 * math.exp(s2) * math.expm1(s2)
    if "values" in q:
        x = [read(v) for v in q["values"]]
        middle, n = sum(x, ZERO) / len(x), len(x)
        return float(sum((v - middle) ** 2 for v in x) / (n - 1) / n) if n > 1 else None
    low, high = read(q["low"]), read(q["high"])
    if "mode" not in q:
        return float((high - low) ** 2 / 12)
    mode = read(q["mode"])
    return float((low**2 + mode**2 + high**2 - low * mode - low * high - mode * high) / 18)


def judged(figure: dict, ours: Any, theirs: Any, units: ev.Units) -> dict:
    """`z` and its verdict, where both figures are uncertain quantities."""
    what = figure["what"]
    read = units.grade if what.endswith(" assay") else units.share if what == "moisture" else units.mass
    spread = [variance(q, read) for q in (ours, theirs)]
    if None not in spread and sum(spread) > 0:
        z = float(figure["difference"]) / math.sqrt(sum(spread))
        figure["z"] = z
        figure["verdict"] = "as expected" if abs(z) <= 2 else "questioned" if abs(z) <= 3 else "to be acted on"
    figure["step"] = sum((last_digit(q, read) for q in (ours, theirs)), ZERO)
    return figure


def last_digit(q: Any, read: deliveries.Read) -> Fraction:
    """What one of the last digit of a plain quantity is: "53.1 kg" is written to 0.1 kg."""
    if not isinstance(q, str):
        return ZERO
    number = q.strip().replace("%", " ").split()[0]
    if "e" in number.lower():
        return ZERO
    places = len(number.partition(".")[2])
    return read(q.strip().replace(number, f"{10.0 ** -places:.{places}f}" if places else "1", 1))


def stated_figures(request: dict) -> dict[str, Any]:
    return {**{WORDS[k]: q for k, q in request["delivered"].items()},
            **{f"{a} assay": q for a, q in request["assays"].items()}}


def reconcile_one(whole: dict, given: dict) -> dict:
    wanted(given, ("id", "proceeds"), "return")
    now, units = taken(whole), ev.Units(ev.read_currencies(whole))
    first = deliveries.settle(now)
    before, parts, names = first["proceeds"], [], []
    for what in put_figures(now, given):
        after = deliveries.settle(now)["proceeds"]
        parts.append((what, after - before))
        names.append(what)
        before = after
    last, proceeds = deliveries.settle(now), Fraction(given["proceeds"])
    if "lines" in given:
        by_lines, total = line_parts(now, last, given)
        parts += by_lines + [("arithmetic", proceeds - total)]
    else:
        parts.append(("terms and arithmetic", proceeds - before))
    ours, theirs = settled_figures(first), settled_figures(last)
    mine, his = stated_figures(whole), stated_figures(now)
    return {"id": given["id"], "ours": first["proceeds"], "theirs": proceeds,
            "difference": proceeds - first["proceeds"], "parts": parts,
            "figures": [judged({"what": n, "ours": ours[n], "theirs": theirs[n], "difference": theirs[n] - ours[n]},
                               mine[n], his[n], units) for n in names if n in ours],
            "payable": {metal: (first["metal"][metal]["payable"], units.mass(mass))
                        for metal, mass in ev.named(given.get("payable", {}))}}


# ---------------------------------------------------------------- Student's distribution, in doubles

def fraction_of_beta(a: float, b: float, x: float) -> float:
    """The continued fraction of the incomplete beta function, by Lentz."""
    tiny = 1e-300
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1)
    d = 1.0 / (d if abs(d) > tiny else tiny)
    h = d
    for m in range(1, 2000):
        for top in (m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
                    -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))):
            d = 1.0 + top * d
            d = 1.0 / (d if abs(d) > tiny else tiny)
            c = 1.0 + top / c
            c = c if abs(c) > tiny else tiny
            h *= d * c
        if abs(d * c - 1.0) < 1e-16:
            break
    return h


def incomplete_beta(a: float, b: float, x: float) -> float:
    if x <= 0 or x >= 1:
        return float(x >= 1)
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x))
    if x < (a + 1) / (a + b + 2):
        return front * fraction_of_beta(a, b, x) / a
    return 1.0 - front * fraction_of_beta(b, a, 1 - x) / b


def two_sided(t: float, degrees: int) -> float:
    """The chance of more than |t| either way."""
    return incomplete_beta(degrees / 2, 0.5, degrees / (degrees + t * t))


def quantile(chance: float, degrees: int) -> float:
    """t with this two-sided chance beyond, by halving."""
    low, high = 0.0, 1.0
    while two_sided(high, degrees) > chance:
        high *= 2
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if two_sided(middle, degrees) > chance else (low, middle)
    return (low + high) / 2


# ---------------------------------------------------------------- section 11

ACTED_ON, QUESTIONED, FEW = 0.0027, 0.05, 8


def log_ratio(ours: Fraction, theirs: Fraction) -> float:
    return math.log1p(float((theirs - ours) / ours)) if 2 * theirs > ours else math.log(float(theirs / ours))


def median(values: list[float]) -> float:
    v, n = sorted(values), len(values)
    return v[n // 2] if n % 2 else (v[n // 2 - 1] + v[n // 2]) / 2


def verdict_of(p: float) -> str:
    return "as expected" if p >= QUESTIONED else "questioned" if p >= ACTED_ON else "to be acted on"


def outliers(pairs: list[tuple[str, Fraction, Fraction]], d: list[float]) -> list[dict]:
    """By the median and the median of the differences from it; five pairs at least; beyond what rounding makes."""
    if len(d) < 5:
        return []
    middle = median(d)
    far = [abs(x - middle) for x in d]
    limit = max(3.5 * 1.4826 * median(far), 1e-9)
    return [{"id": name, "ratio": float(r)} for (name, r, step), f in zip(pairs, far) if f > limit and f > step]


def ratios_equal(pairs: list[tuple[str, Fraction, Fraction]]) -> bool:
    """Open 24."""
    return all(ev.equal(r, pairs[0][1]) for _, r, _ in pairs)


def statistics_of(what: str, pairs: list[tuple[str, Fraction, Fraction]]) -> dict:
    """`pairs`: of each lot its name, theirs over ours, and the last digits over ours."""
    d = [log_ratio(ONE, r) for _, r, _ in pairs]
    n = len(d)
    told: dict[str, Any] = {"what": what, "pairs": n, "outliers": outliers(pairs, d), "caution": n < FEW}
    if n == 0:
        return told
    mean = math.fsum(d) / n
    told["ratio"] = math.exp(mean)
    out = {o["id"] for o in told["outliers"]}
    if out:
        rest = [x for (name, _, _), x in zip(pairs, d) if name not in out]
        told["ratio_of_rest"] = math.exp(math.fsum(rest) / len(rest))
    if n < 2 or ratios_equal(pairs):
        return told
    error = math.sqrt(math.fsum((x - mean) ** 2 for x in d) / (n - 1)) / math.sqrt(n)
    reach = quantile(0.05, n - 1) * error
    told.update({"low": math.exp(mean - reach), "high": math.exp(mean + reach), "t": mean / error})
    told["p"] = two_sided(told["t"], n - 1)
    told["verdict"] = verdict_of(told["p"])
    return told


@dataclass
class Pile:
    """All returns of one buyer."""
    count: int = 0
    missing: list[str] = field(default_factory=list)
    ours: Fraction = ZERO
    theirs: Fraction = ZERO
    parts: dict[str, Fraction] = field(default_factory=dict)
    pairs: dict[str, list[tuple[str, Fraction, Fraction]]] = field(default_factory=dict)
    payable: dict[str, tuple[Fraction, Fraction]] = field(default_factory=dict)

    def add(self, one: dict) -> None:
        self.count += 1
        self.ours += one["ours"]
        self.theirs += one["theirs"]
        for what, amount in one["parts"]:
            add_to(self.parts, what, amount)
        for metal, (ours, theirs) in one["payable"].items():
            before = self.payable.get(metal, (ZERO, ZERO))
            self.payable[metal] = before[0] + ours, before[1] + theirs
        for f in one["figures"]:
            pairs = self.pairs.setdefault(f["what"], [])
            if f["ours"] > 0 and f["theirs"] > 0:
                pairs.append((one["id"], f["theirs"] / f["ours"], f["step"] / f["ours"]))

    def told(self) -> dict:
        return {"returns": self.count, "missing": self.missing, "ours": self.ours, "theirs": self.theirs,
                "difference": self.theirs - self.ours,
                "parts": [{"what": w, "amount": a} for w, a in self.parts.items()],
                "figures": [statistics_of(what, pairs) for what, pairs in self.pairs.items()],
                "payable": self.payable}


def read_returns(request: dict, ids: set[str]) -> dict[str, dict]:
    given = request.get("returns", [])
    if isinstance(given, str):
        given = return_rows(given, request["buyers"], request["currency"])
    told: dict[str, dict] = {}
    for i, r in enumerate(given):
        deliveries.only(r, {"id", "delivered", "assays", "prices", "payable", "lines", "proceeds"}, f"/returns/{i}")
        if r.get("id") not in ids or r["id"] in told:
            raise MonthError(f"/returns/{i}: no delivery {r.get('id')}, or a second return of it")
        told[r["id"]] = r
    return told


def all_returns(request: dict) -> dict:
    deliveries.only(request, RETURNS_FIELDS, "/")
    wanted(request, ("format", "currency", "buyers"), "/")
    if request["format"] != "buttonworth-returns/1":
        raise MonthError("not returns of format 1")
    for name, buyer in ev.named(request["buyers"]):
        check_buyer(name, buyer, BUYER_FIELDS)
    rows = {d["id"]: d for d in read_deliveries(request)}
    returns = read_returns(request, set(rows))
    piles, told = {name: Pile() for name, _ in ev.named(request["buyers"])}, []
    for name, d in rows.items():                                                                 # open 25
        if name not in returns:
            piles[d["buyer"]].missing.append(name)
    for name, r in returns.items():
        one = reconcile_one(settled_request(request, rows[name]), r)
        piles[rows[name]["buyer"]].add(one)
        told.append({**one, "buyer": rows[name]["buyer"],
                     "parts": [{"what": w, "amount": a} for w, a in one["parts"]]})
    return {"format": "buttonworth-reconciliations/1", "currency": request["currency"],
            "buyers": {name: pile.told() for name, pile in piles.items()}, "returns": told, "cautions": []}


def reconcile(request: dict) -> dict:
    """All returns against what was due; MonthError or PlanError where there is an error."""
    return readable(all_returns, request)
