"""What stands on the page of a month: figures and pictures for the template, made of the answers."""

from __future__ import annotations

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Dict, List, Optional, Tuple

from markupsafe import Markup

from . import figures, returns_words
from .answers import Answers, step, worked
from .figures import NBSP, exact
from .pictures import differences, owed, style, waterfall
from .words import analyte, capital, counted, listed

_CASH = [("opening", "owed before"), ("due", "due for deliveries"), ("changed", "changed for earlier deliveries"),
         ("priced", "metal priced"), ("received", "received"), ("closing", "owed at the end")]
_ACCOUNT = [("opening", "before"), ("credited", "credited"), ("priced", "priced"), ("withdrawn", "withdrawn"),
            ("closing", "left")]
#: What lies outside the month: of one, and of more.
_PASSED_OVER = {"deliveries": ("delivery", "deliveries"), "received": ("payment", "payments"),
                "metal": ("entry of metal", "entries of metal")}
_ON_HAND = ["opening", "produced", "delivered", "closing", "counted", "difference"]
_INTEREST = "interest on the advance"
_MOST_PARTS = 6


def view(answers: Answers) -> Dict[str, Any]:
    """All that the template needs."""
    return _Page(answers).view()


class _Page:
    def __init__(self, answers: Answers) -> None:
        self.answers, self.book = answers, answers.at("/book")
        self.currency: str = self.book["currency"]
        self.end: str = self.book["to"]
        self.returns: Optional[Dict[str, Any]] = answers.get("/returns")

    def money(self, pointer: str) -> Markup:
        return self.answers.money(pointer, 2)

    def view(self) -> Dict[str, Any]:
        total = self.book["total"]
        return {"currency": self.currency, "start": self.book["from"], "end": self.end, "total": total,
                "buyers": [self._buyer(name) for name in self.book["buyers"]],
                "closing": self.money("/book/total/cash/closing"), "overdue_sum": self.money("/book/total/overdue"),
                "is_overdue": bool(exact(total["overdue"])), "overdue": self._overdue(), "to_come": self._to_come(),
                "deliveries": counted(int(total["deliveries"]), *_PASSED_OVER["deliveries"]), "refused": int(total["refused"]),
                "provisional": int(total["provisional"]),
                "cash": self._cash_table(), "falls": self._falls(), "owed": self._owed(), "accounts": self._accounts(),
                "on_hand": self._on_hand(), "cautions": self.book.get("cautions", []), "listed": self._deliveries(),
                "look_into": self._look_into(), "returns": self._returns(), "passed": self._passed()}

    # ---- What is owed ----

    def _buyer(self, name: str) -> Dict[str, Any]:
        buyer, at = self.book["buyers"][name], f"/book/buyers{step(name)}"
        return {"name": name, "deliveries": buyer["deliveries"], "refused": buyer["refused"],
                "provisional": buyer["provisional"], "proceeds": self.money(f"{at}/proceeds"),
                "wet": figures.mass(buyer["wet_mass"]), "closing": self.money(f"{at}/cash/closing"),
                "overdue": self.money(f"{at}/overdue"),
                "lines": [(what, self.money(f"{at}/lines{step(what)}")) for what in buyer["lines"]
                          if what != _INTEREST],
                "interest": self.money(f"{at}/lines{step(_INTEREST)}") if _INTEREST in buyer["lines"] else "",
                "metal": [f"{capital(analyte(metal))}: {figures.quantity(amounts['contained'])} delivered, "
                          f"{figures.quantity(amounts['payable'])} paid for or credited"
                          for metal, amounts in buyer["metal"].items() if exact(amounts["payable"]) > 0]}

    def _overdue(self) -> List[Dict[str, Any]]:
        """Items due on the last day or before, earliest first."""
        rows = [{"delivery": "", **item, "buyer": name, "is_ours": exact(item["amount"]) < 0,
                 "amount": self.money(f"/book/buyers{step(name)}/outstanding/{number}/amount")}
                for name, buyer in self.book["buyers"].items() for number, item in enumerate(buyer["outstanding"])
                if item.get("due") is not None and item["due"] <= self.end]
        return sorted(rows, key=lambda row: str(row["due"]))

    def _to_come(self) -> List[Dict[str, Any]]:
        """By day after the last one, without a day last."""
        rows = [{"day": entry["day"] or "without a day", "buyer": name,
                 "amount": self.money(f"/book/buyers{step(name)}/due/{number}/amount")}
                for name, buyer in self.book["buyers"].items() for number, entry in enumerate(buyer["due"])
                if entry["day"] is None or entry["day"] > self.end]
        return sorted(rows, key=lambda row: str(row["day"]))

    def _cash_table(self) -> List[Dict[str, Any]]:
        """A row for each part of the sum that holds for anybody, a cell for each buyer and for all."""
        places = [f"/book/buyers{step(name)}" for name in self.book["buyers"]] + ["/book/total"]
        whose, rows = [*self.book["buyers"], "in all"], []
        for name, words in _CASH:
            if name in ("opening", "closing") or any(exact(self.answers.at(f"{at}/cash/{name}")) for at in places):
                rows.append({"what": words, "is_sum": name == "closing",
                             "cells": list(zip(whose, (self.money(f"{at}/cash/{name}") for at in places)))})
        return rows

    def _falls(self) -> Markup:
        cash = {name: exact(amount).quantize(Decimal("0.01"), ROUND_HALF_UP) for name, amount in self.book["total"]["cash"].items()}
        falls = [waterfall.Fall(words, cash[name], is_level=name in ("opening", "closing"))
                 for name, words in _CASH if name in ("opening", "closing") or cash[name]]
        falls = [waterfall.Fall(fall.what, -fall.amount) if fall.what == "received" else fall for fall in falls]
        return style.picture("falls", "What is owed, from the beginning to the end of the month",
                             lambda sheet: waterfall.draw(sheet, falls, self.currency))

    def _owed(self) -> Markup:
        due: Dict[str, List[Tuple[date, float]]] = {}
        for name, buyer in self.book["buyers"].items():
            due[name] = [(date.fromisoformat(entry["day"]), float(entry["amount"]))
                         for entry in buyer["due"] if entry["day"]]
        if not any(due.values()):
            return Markup("")
        return style.picture("owed", "What falls due, day by day",
                             lambda sheet: owed.draw(sheet, due, date.fromisoformat(self.end), self.currency))

    # ---- Metal ----

    def _accounts(self) -> List[Dict[str, Any]]:
        return [{"buyer": name, "metal": analyte(metal), "cells": [(words, _ounces(account[field], 3))
                                                                   for field, words in _ACCOUNT]}
                for name, buyer in self.book["buyers"].items() for metal, account in buyer.get("account", {}).items()]

    def _on_hand(self) -> List[Dict[str, Any]]:
        return [{"metal": analyte(metal), "cells": [(field, _ounces(amounts[field])) for field in _ON_HAND
                                                    if field in amounts],
                 "difference": amounts.get("difference")} for metal, amounts in self.book.get("on_hand", {}).items()]

    # ---- Deliveries ----

    def _deliveries(self) -> List[Dict[str, Any]]:
        """Each delivery, where the book lists them."""
        rows = []
        for number, entry in enumerate(self.book.get("deliveries", [])):
            at = f"/book/deliveries/{number}"
            shown = {"mass": figures.mass(entry["wet_mass"]), "due": entry.get("balance_due") or "\u2013"}
            for name in ("proceeds", "balance"):
                shown[name] = self.money(f"{at}/{name}") if name in entry else ""
            rows.append({**entry, **shown})
        return rows

    def _passed(self) -> str:
        told = [counted(int(count), *_PASSED_OVER[what])
                for what, count in self.book["passed_over"].items() if int(count)]
        return f"Left out, as they lie outside the month: {listed(told)}." if told else ""

    # ---- Returns ----

    def _look_into(self) -> List[str]:
        """What differs more than chance explains, what is taken up first."""
        if not self.returns:
            return []
        found = [(figure, name) for name, buyer in self.returns["buyers"].items() for figure in buyer["figures"]
                 if figure.get("verdict") in ("questioned", "to be acted on")]
        found.sort(key=lambda entry: (entry[0]["verdict"] != "to be acted on", float(entry[0]["p"])))
        return [f"{capital(name)}: {_small(returns_words.sentence(figure))}" for figure, name in found]

    def _returns(self) -> List[Dict[str, Any]]:
        return [self._returned(name, number) for number, name in enumerate(self.returns["buyers"])] \
            if self.returns else []

    def _returned(self, name: str, number: int) -> Dict[str, Any]:
        at = f"/returns/buyers{step(name)}"
        buyer = self.answers.at(at)
        shown = [figure for figure in buyer["figures"] if figure["pairs"] != "0"]
        picture = style.picture(f"differences{number}", f"{name}: differences",
                                lambda sheet: differences.draw(sheet, [_difference(one) for one in shown])) \
            if shown else Markup("")
        return {"name": name, "lots": counted(int(buyer["returns"]), "lot"), "any": buyer["returns"] != "0",
                "missing": listed(buyer["missing"]), "ours": self.money(f"{at}/ours"),
                "theirs": self.money(f"{at}/theirs"), "difference": self.money(f"{at}/difference"),
                "parts": self._parts(buyer, at), "picture": picture, "lots_apart": self._apart(name),
                "sentences": [returns_words.sentence(one) for one in shown],
                "payable": [_payable(metal, amounts) for metal, amounts in buyer["payable"].items()]}

    def _parts(self, buyer: Dict[str, Any], at: str) -> List[Tuple[str, Markup]]:
        """The largest parts of the difference, and the rest in one."""
        amounts = [exact(part["amount"]) for part in buyer["parts"]]
        order = sorted((i for i in range(len(amounts)) if round(amounts[i], 2)), key=lambda i: -abs(amounts[i]))
        alone = order if len(order) <= _MOST_PARTS + 1 else order[:_MOST_PARTS]
        rows = [(buyer["parts"][i]["what"], self.money(f"{at}/parts/{i}/amount")) for i in alone]
        if len(alone) < len(order):
            rest = sum((amounts[i] for i in order[len(alone):]), Decimal(0))
            rows.append((f"other, {len(order) - len(alone)} small parts", worked(rest)))
        return rows

    def _apart(self, name: str) -> List[Tuple[str, Markup]]:
        """The three lots that differ most."""
        assert self.returns is not None
        mine = [(number, lot) for number, lot in enumerate(self.returns["returns"])
                if lot["buyer"] == name and round(exact(lot["difference"]), 2)]
        mine.sort(key=lambda entry: -abs(exact(entry[1]["difference"])))
        return [(lot["id"], self.money(f"/returns/returns/{number}/difference")) for number, lot in mine[:3]]


def _difference(figure: Dict[str, Any]) -> differences.Difference:
    low, high = returns_words.interval(figure)
    middle = returns_words.percent(figure["ratio"])
    said = f"{figures.decimals(str(middle), 2)}{NBSP}%, {counted(int(figure['pairs']), 'lot')}"
    verdict = figure.get("verdict", "")
    return differences.Difference(returns_words.name(figure["what"]), said, middle, low, high, verdict)


def _payable(metal: str, amounts: Dict[str, str]) -> str:
    ours, theirs = exact(amounts["ours"]), exact(amounts["theirs"])
    less = ours - theirs
    far = "as much" if abs(less) < Decimal("0.005") else \
        f"{figures.decimals(abs(less), 2)}{NBSP}g {'less' if less > 0 else 'more'}"
    return (f"{capital(analyte(metal))} paid for or credited: {figures.decimals(theirs, 2)}{NBSP}g by their account, "
            f"{figures.decimals(ours, 2)}{NBSP}g by ours: {far}.")


def _ounces(amount: str, places: int = 2) -> str:
    return f"{figures.decimals(amount, places)}{NBSP}ozt"


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]
