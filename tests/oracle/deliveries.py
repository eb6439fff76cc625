"""A plain, slow evaluator of deliveries: the statement of section 8 of the format page.

Written from the page alone, in exact fractions, on the sale rules of `evaluator`.
Masses are held in kg, grades and shares as fractions, money in the request's
currency, prices in money per kg. "Open" in a comment marks a point that the page
leaves open and this module decides.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from typing import Any, Callable, Optional

import evaluator as ev

ZERO, ONE = ev.ZERO, ev.ONE
Read = Callable[[Any], Fraction]

FIELDS = {"format", "currency", "exchange", "id", "buyer", "arrived", "terms", "delivered", "assays",
          "prices", "quotes", "period", "stage", "previous", "note"}
PARTS_OF_EXCHANGE = {"seller", "buyer", "limit", "limit_relative", "umpire", "rule"}
RULES = ("umpire", "middle", "nearer")
FEED_KINDS = {"concentrate": "concentrate", "nuggets": "piece", "bar": "bar"}
SUSPECT = Fraction(1, 10)


class DeliveryError(ev.PlanError):
    """The request is impossible or wrong; there is no statement."""


def only(table: Any, allowed: set[str], place: str) -> None:
    if not isinstance(table, dict):
        raise DeliveryError(f"{place}: an object is wanted")
    for name in table:
        if name not in allowed and name != "note":
            raise DeliveryError(f"{place}: unknown field {name}")


def pointer(*names: str) -> str:
    return "".join("/" + n.replace("~", "~0").replace("/", "~1") for n in names)


# ---------------------------------------------------------------- Exchange

class Exchange:
    """Settles what the parties found, and remembers what is still open."""

    def __init__(self, units: ev.Units):
        self.units = units
        self.open: list[str] = []

    def figure(self, at: str, e: Any, read: Read, read_limit: Read) -> dict:
        if not isinstance(e, dict) or not set(e) & PARTS_OF_EXCHANGE:
            return {"settled": read(e), "how": "single"}
        only(e, PARTS_OF_EXCHANGE, at)
        found = {p: averaged(e[p], read) for p in ("seller", "buyer", "umpire") if p in e}
        if "seller" in found and "buyer" in found:
            found["difference"] = found["seller"] - found["buyer"]
            return {**found, **self.both(at, e, found, read_limit)}
        alone = [p for p in ("seller", "buyer") if p in found]
        if not alone or "umpire" in found:
            raise DeliveryError(f"{at}: a seller's figure, a buyer's or both are wanted")   # open
        self.open.append(at)
        return {**found, "settled": found[alone[0]], "how": "single"}

    def both(self, at: str, e: dict, found: dict, read_limit: Read) -> dict:
        mean = (found["seller"] + found["buyer"]) / 2
        if not ev.above(abs(found["difference"]), self.limit(at, e, mean, read_limit)):
            return {"settled": mean, "how": "mean"}
        if "umpire" not in found:
            self.open.append(at)
            return {"settled": mean, "how": "mean"}
        if e.get("rule") not in RULES:
            raise DeliveryError(f"{at}: the umpire needs a rule, one of {RULES}")
        return by_umpire(found, e["rule"])

    def limit(self, at: str, e: dict, mean: Fraction, read_limit: Read) -> Fraction:
        if ("limit" in e) == ("limit_relative" in e):
            raise DeliveryError(f"{at}: two parties need one limit")
        if "limit" in e:
            return read_limit(e["limit"])
        return self.units.share(e["limit_relative"]) * mean


def averaged(q: Any, read: Read) -> Fraction:
    """A party's determinations, averaged first."""
    if not isinstance(q, list):
        return read(q)
    if not q:
        raise DeliveryError("a list of determinations holds none")
    return sum((read(one) for one in q), ZERO) / len(q)


def by_umpire(found: dict, rule: str) -> dict:
    seller, buyer, umpire = found["seller"], found["buyer"], found["umpire"]
    far_seller, far_buyer = abs(seller - umpire), abs(buyer - umpire)
    as_far = ev.equal(far_seller, far_buyer)
    payer = "both" if as_far else "seller" if far_seller > far_buyer else "buyer"
    if rule == "umpire":
        settled = umpire
    elif rule == "middle":
        settled = sorted((seller, buyer, umpire))[1]
    elif as_far:
        settled = umpire
    else:
        settled = (umpire + (seller if payer == "buyer" else buyer)) / 2
    return {"settled": settled, "how": rule, "umpire_paid_by": payer}


# ---------------------------------------------------------------- Masses and assays

def mass_above_nothing(units: ev.Units) -> Read:
    def read(q: Any) -> Fraction:
        mass = units.mass(q)
        if mass <= 0:
            raise DeliveryError(f"a mass is above 0, found {q!r}")
        return mass
    return read


def part_of_all(read: Read, all_of_it: bool) -> Read:
    """A grade or share within 0 to 100 %; a moisture stays below."""
    def within(q: Any) -> Fraction:
        x = read(q)
        if x < 0 or x > 1 or (x == 1 and not all_of_it):
            raise DeliveryError(f"{q!r} is not within 0 to 100 %")
        return x
    return within


@dataclass
class Found:
    """What was delivered, as the parties settled it, before the terms."""
    buys: str
    masses: dict[str, dict] = field(default_factory=dict)
    assays: dict[str, dict] = field(default_factory=dict)

    def settled(self, what: str) -> Fraction:
        return self.masses[what]["settled"]

    def dry(self) -> Fraction:
        if self.buys == "bar":
            return self.settled("gross")
        return self.settled("wet_mass") * (1 - self.settled("moisture"))

    def assayed_mass(self) -> Fraction:
        """What the assays are of: the melted bar, where it was melted."""
        return self.settled("melted") if "melted" in self.masses else self.dry()

    def grade(self, analyte: str) -> Fraction:
        return self.assays[analyte]["settled"]

    def feed(self) -> ev.Material:
        dry, water = self.dry(), ZERO
        if self.buys != "bar":
            water = self.settled("wet_mass") - dry
        content = {a: self.assayed_mass() * self.grade(a) for a in self.assays}
        return ev.Material(FEED_KINDS[self.buys], dry, water, content, ZERO)


def read_found(request: dict, exchange: Exchange) -> Found:
    buys, delivered, units = request["terms"]["buys"], request["delivered"], exchange.units
    if buys not in FEED_KINDS:
        raise DeliveryError(f"terms that buy {buys!r}")
    found, mass = Found(buys), mass_above_nothing(units)
    wanted = ("gross", "melted") if buys == "bar" else ("wet_mass", "moisture")
    only(delivered, set(wanted), "/delivered")
    if wanted[0] not in delivered:
        raise DeliveryError(f"/delivered: {wanted[0]} is wanted by terms that buy {buys}")
    for what in wanted:
        read, limit = (part_of_all(units.share, False), units.share) if what == "moisture" else (mass, units.mass)
        if what in delivered:
            found.masses[what] = exchange.figure(pointer("delivered", what), delivered[what], read, limit)
    if buys != "bar":
        found.masses.setdefault("moisture", {"settled": ZERO, "how": "single"})
    for analyte, e in ev.named(request.get("assays", {})):
        found.assays[analyte] = exchange.figure(pointer("assays", analyte), e,
                                                part_of_all(units.grade, True), units.grade)
    if ev.above(sum((f["settled"] for f in found.assays.values()), ZERO), ONE):
        raise DeliveryError("the assays come to more than 100 %")
    return found


def check_assayed(terms: dict, found: Found) -> None:
    """Nothing of value or danger unseen. Open: what is only penalised counts as danger."""
    wanted = {m for m, _ in ev.named(terms.get("pay", {}))}
    wanted |= {a for a, _ in ev.named(terms.get("accepts", {})) if a not in ("mass", "moisture")}
    for penalty in terms.get("penalties", []):
        wanted |= set(ev.penalty_names(penalty))
    unseen = wanted - set(found.assays) - set(terms.get("deemed", {}))
    if unseen:
        raise DeliveryError(f"/assays: nothing for {', '.join(sorted(unseen))}")


# ---------------------------------------------------------------- Prices

def read_date(text: Any) -> date:
    if not isinstance(text, str) or not re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        raise DeliveryError(f"a day is written 2026-03-09, found {text!r}")
    try:
        return date.fromisoformat(text)
    except ValueError as problem:
        raise DeliveryError(f"no such day: {text}") from problem


def month_from(year: int, month: int) -> tuple[date, date]:
    """First and last day of a month, months past December going into later years."""
    year, month = year + (month - 1) // 12, (month - 1) % 12 + 1
    following = date(year + month // 12, month % 12 + 1, 1)
    return date(year, month, 1), following - timedelta(days=1)


def read_period(p: Any, arrived: Optional[date]) -> tuple[date, date]:
    names = set(p) - {"note"} if isinstance(p, dict) else set()
    if names == {"from", "to"}:
        first, last = read_date(p["from"]), read_date(p["to"])
    elif names == {"month"}:
        first = read_date(f"{p['month']}-01")
        first, last = month_from(first.year, first.month)
    elif names == {"months_after"}:
        n = p["months_after"]
        if arrived is None or isinstance(n, bool) or not isinstance(n, int) or n < 0:
            raise DeliveryError("months_after counts whole months from `arrived`")
        first, last = month_from(arrived.year, arrived.month + n)
    else:
        raise DeliveryError(f"not a period: {p!r}")
    if last < first:
        raise DeliveryError(f"a period from {first} to {last}")
    return first, last


@dataclass
class Quotes:
    """The quotes of one metal over its period."""
    days: dict[date, Fraction]
    first: date
    last: date

    def inside(self) -> list[date]:
        return [d for d in sorted(self.days) if self.first <= d <= self.last]

    def average(self) -> Fraction:
        if not self.inside():
            raise DeliveryError(f"no quote from {self.first} to {self.last}")
        return sum((self.days[d] for d in self.inside()), ZERO) / len(self.inside())

    def unquoted(self) -> int:
        span = (self.last - self.first).days + 1
        days = (self.first + timedelta(days=i) for i in range(span))
        return sum(1 for d in days if d.weekday() < 5 and d not in self.days)

    def suspect(self) -> list[date]:
        """More than 10 % beside both neighbours. Open: of the period's days only."""
        days, found = sorted(self.days), []
        for before, day, after in zip(days, days[1:], days[2:]):
            price, beside = self.days[day], (self.days[before], self.days[after])
            high = all(ev.above(price, x * (1 + SUSPECT)) for x in beside)
            low = all(ev.above(x * (1 - SUSPECT), price) for x in beside)
            if (high or low) and self.first <= day <= self.last:
                found.append(day)
        return found


def read_quotes(request: dict, metal: str, units: ev.Units, arrived: Optional[date]) -> Quotes:
    quotes = request["quotes"][metal]
    only(quotes, {"unit", "days"}, pointer("quotes", metal))
    days = {read_date(d): units.per_mass(f"{text} {quotes['unit']}") for d, text in ev.named(quotes["days"])}
    if metal not in request.get("period", {}):
        raise DeliveryError(f"/period: quotes of {metal} want a period")                # open
    return Quotes(days, *read_period(request["period"][metal], arrived))


@dataclass
class Prices:
    """What the rules of sale ask of a plan, and what the statement says of prices."""
    prices: dict[str, Fraction] = field(default_factory=dict)
    told: dict[str, dict] = field(default_factory=dict)
    suspect: dict[str, list[str]] = field(default_factory=dict)
    assayed: set[str] = field(default_factory=set)


def read_prices(request: dict, units: ev.Units, own_units: ev.Units, arrived: Optional[date]) -> Prices:
    """`price` of the terms, else `prices`, else the average of `quotes`."""
    terms, found = request["terms"], Prices()
    pay = dict(ev.named(terms.get("pay", {})))
    shared = [p["for"] for p in terms.get("participation", [])]
    for metal in dict.fromkeys([*pay, *shared]):
        if "price" in pay.get(metal, {}):
            found.told[metal] = {"average": own_units.per_mass(pay[metal]["price"])}
        elif metal in request.get("prices", {}):
            found.prices[metal] = units.per_mass(request["prices"][metal])
            found.told[metal] = {"average": found.prices[metal]}
        elif metal in request.get("quotes", {}):
            quotes = read_quotes(request, metal, units, arrived)
            found.prices[metal] = quotes.average()
            found.told[metal] = {"average": quotes.average(), "quoted_days": len(quotes.inside()),
                                 "unquoted_days": quotes.unquoted()}
            found.suspect[metal] = [d.isoformat() for d in quotes.suspect()]
        else:
            raise DeliveryError(f"no price for {metal}")
    return found


# ---------------------------------------------------------------- The sale of what was found

def deliver(sale: ev.Sale, found: Found) -> None:
    """A melted bar has its own mass and assays, and no melt loss of the terms."""
    if "melted" not in found.masses:
        ev.deliver(sale)
        return
    sale.weighed = ev.weigh(sale)
    melted = ev.whole_steps(sale, found.settled("melted"))
    sale.settled = ev.settled_mass(sale, melted)
    sale.assay = {a: found.grade(a) for a in found.assays}
    ev.fix_assays(sale)


def refusals(prices: Prices, sale: ev.Sale) -> list[str]:
    book = ev.Ledger({})
    ev.test_accepts(prices, book, sale)
    ev.test_refuse_above(prices, book, sale)
    return book.refused


def work_out(prices: Prices, sale: ev.Sale) -> None:
    ev.value_metals(prices, sale)
    ev.charges(sale)
    ev.penalties(sale)
    ev.participation(prices, sale)


def line_names(terms: dict) -> list[str]:
    """What each line is called (section 7), in the order the rules of sale make them."""
    names = []
    for metal, pay in ev.named(terms.get("pay", {})):
        names += [f"{metal} value"] + ([f"{metal} refining"] if "refining" in pay else [])
    names += [charge["what"] for charge in terms.get("charges", [])]
    names += [" + ".join(ev.penalty_names(p)) + " penalty" for p in terms.get("penalties", [])]
    names += [f"{p['for']} participation" for p in terms.get("participation", [])]
    return names


# ---------------------------------------------------------------- The statement

@dataclass
class Times:
    """The terms' times, in days from arrival."""
    after: Optional[Fraction]
    final: Fraction

    def due(self, arrived: Optional[date], days: Optional[Fraction]) -> Optional[str]:
        """Hours counted up to the whole day."""
        if arrived is None or days is None:
            return None
        return (arrived + timedelta(days=ev.round_up(days))).isoformat()


def read_times(terms: dict, units: ev.Units) -> Times:
    final = units.days(terms.get("final", "0 d"))
    after = units.days(terms["advance"].get("after", "0 d")) if "advance" in terms else None
    return Times(after, final)


def read_previous(request: dict) -> Optional[dict]:
    previous = request.get("previous")
    if previous is None:
        return None
    if previous["currency"] != request["currency"]:
        raise DeliveryError(f"/previous: it is in {previous['currency']}, not {request['currency']}")
    if "id" in request and previous.get("id") is not None and previous["id"] != request["id"]:
        raise DeliveryError(f"/previous: it is of {previous['id']}, not of {request['id']}")
    return previous


def advance_of(sale: ev.Sale, previous: Optional[dict]) -> Fraction:
    if previous is not None:
        return Fraction(previous.get("advance") or "0")
    if "advance" not in sale.terms:
        return ZERO
    return sale.units.share(sale.terms["advance"]["share"]) * max(ZERO, sale.proceeds)


def interest_of(sale: ev.Sale, advance: Fraction, times: Times) -> Optional[Fraction]:
    if "interest" not in sale.terms.get("advance", {}):
        return None
    rate = sale.units.per_year(sale.terms["advance"]["interest"])
    return sale.money(ev.trim(advance * rate * (times.final - times.after) / 365))


def in_turn(lines: list[dict]) -> dict[tuple[str, int], Fraction]:
    """Amounts by name; lines of one name by their order. Open: how such are paired."""
    seen: Counter = Counter()
    amounts = {}
    for line in lines:
        seen[line["what"]] += 1
        amounts[line["what"], seen[line["what"]]] = Fraction(line["amount"])
    return amounts


HALF_WRITTEN = Fraction(1, 2 * 10**12)    # money is written to twelve places


def changes(previous: Optional[dict], lines: list[dict]) -> list[dict]:
    if previous is None:
        return []
    was, now, told = in_turn(previous["lines"]), in_turn(lines), []
    for key in [*now, *(k for k in was if k not in now)]:
        a, b = was.get(key, ZERO), now.get(key, ZERO)
        if abs(a - b) > HALF_WRITTEN:
            told.append({"what": key[0], "was": a, "is": b, "change": b - a})
    return told


def money_of(sale: ev.Sale, times: Times, at: str, previous: Optional[dict]) -> dict:
    """Proceeds, the advance and its interest, the balance, and the lines."""
    names = line_names(sale.terms)
    assert len(names) == len(sale.pending)
    advance = advance_of(sale, previous)
    interest = interest_of(sale, advance, times)
    amounts = [amount for _, amount in sale.pending]
    if interest is not None:
        names.append("interest on the advance")
        amounts.append(-interest)
    lines = [{"at": at, "what": what, "amount": ev.trim(amount), "day": times.final}
             for what, amount in zip(names, amounts)]
    paid = interest if interest is not None else ZERO
    return {"proceeds": sale.proceeds, "advance": advance, "interest": paid,
            "balance": sale.proceeds - advance - paid, "lines": lines}


NO_MONEY = {"proceeds": None, "advance": None, "interest": None, "balance": None, "advance_due": None,
            "balance_due": None, "lines": [], "metal": {}}


def assayed_mass(sale: ev.Sale, found: Found) -> Fraction:
    """What the assays are of, as weighed: the melted bar, where it was melted."""
    return ev.whole_steps(sale, found.settled("melted")) if "melted" in found.masses else ev.weigh(sale).dry


def metal_of(sale: ev.Sale, found: Found) -> dict:
    """Contained as weighed; payable as priced. A deemed grade stands where nothing was assayed."""
    told = {}
    for metal in [*found.assays, *(a for a in sale.terms.get("deemed", {}) if a not in found.assays)]:
        grade = found.grade(metal) if metal in found.assays else sale.units.grade(sale.terms["deemed"][metal])
        told[metal] = {"contained": assayed_mass(sale, found) * grade, "payable": sale.payable.get(metal, ZERO)}
    return told


def delivered_of(sale: ev.Sale, found: Found) -> dict:
    told: dict[str, Any] = dict(found.masses)
    if found.buys != "bar":
        told["dry_mass"] = ev.weigh(sale).dry
    told["settled_mass"] = sale.settled
    return told


def statement(request: dict) -> dict:
    only(request, FIELDS, "/")
    if request["format"] != "buttonworth-delivery/1" or request.get("stage", "final") not in ("final", "provisional"):
        raise DeliveryError("not a delivery of format 1")
    units = ev.Units(ev.read_currencies(request))
    terms, at = request["terms"], request.get("buyer", "buyer")
    own_units = units.inside(terms.get("factors"))
    arrived = read_date(request["arrived"]) if "arrived" in request else None
    previous, exchange = read_previous(request), Exchange(units)
    found = read_found(request, exchange)
    check_assayed(terms, found)
    prices = read_prices(request, units, own_units, arrived)
    ev.check_terms(at, terms, own_units, prices.prices)
    prices.assayed = set(found.assays) | set(terms.get("deemed", {}))
    sale = ev.Sale(at, terms, own_units, found.feed())
    deliver(sale, found)
    refused = refusals(prices, sale)
    told = {"currency": request["currency"], "id": request.get("id"), "buyer": request.get("buyer"),
            "arrived": request.get("arrived"), "open": exchange.open, "refused": refused,
            "stage": "provisional" if exchange.open else request.get("stage", "final"),
            "delivered": delivered_of(sale, found), "assays": found.assays, "prices": prices.told,
            "suspect": prices.suspect}
    if refused:
        told.update(NO_MONEY)
    else:
        work_out(prices, sale)
        times = read_times(terms, own_units)
        told.update(money_of(sale, times, at, previous))
        told.update({"advance_due": times.due(arrived, times.after), "metal": metal_of(sale, found),
                     "balance_due": times.due(arrived, times.final)})
    told["changes"] = changes(previous, told["lines"])
    return told


def settle(request: dict) -> dict:
    """The statement of a delivery; DeliveryError or PlanError where there can be none."""
    try:
        return statement(request)
    except (KeyError, TypeError, ValueError, AttributeError, ZeroDivisionError) as problem:
        raise DeliveryError(f"the delivery cannot be read: {problem!r}") from problem
