"""What stands on the page of a plan: figures and pictures for the template, made of the answers."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Dict, List, Optional, Tuple

from markupsafe import Markup

from . import breakdown, cautions, contract, doing, figures, gold_page, plan_pictures
from .answers import Answers, step, worked
from .asking import best_of
from .figures import NBSP, exact
from .words import RULES, analyte_in_full, counted, listed, once


def view(answers: Answers) -> Dict[str, Any]:
    """All that the template needs."""
    return _Page(answers).view()


class _Page:
    def __init__(self, answers: Answers) -> None:
        self.answers = answers
        self.plan, self.compare = answers.at("/plan"), answers.at("/compare")
        self.currency: str = self.compare["currency"]
        self.best: Optional[str] = best_of(answers.documents)
        self.drawn: Optional[Dict[str, Any]] = answers.get("/simulate")
        self.order = self._order()
        self.places = self._places()

    def _order(self) -> List[str]:
        """The best first, those that are refused last."""
        routes = self.compare["routes"]
        taken = [name for name in routes if routes[name]["present_value"] is not None]
        taken.sort(key=lambda name: (name != self.best, -exact(routes[name]["present_value"])))
        return taken + [name for name in routes if name not in taken]

    def _places(self) -> int:
        """Whole units on the first page, cents where all of it is small."""
        return 2 if self.best and abs(exact(self.route["present_value"])) < 1000 else 0

    @property
    def route(self) -> Dict[str, Any]:
        found: Dict[str, Any] = self.compare["routes"][self.best]
        return found

    @property
    def at(self) -> str:
        return f"/compare/routes{step(self.best)}"

    def money(self, pointer: str, places: Optional[int] = None) -> Markup:
        return self.answers.money(pointer, self.places if places is None else places)

    # ---- All of it ----

    def view(self) -> Dict[str, Any]:
        shown = {"currency": self.currency, "title": self._title(), "date": self.plan["lot"].get("date", ""),
                 "count": counted(len(self.order), "route"), "best": self.best, "routes": self._routes(),
                 "reasons": self._reasons("refused"), "conditions": self._reasons("conditional"),
                 "untested": [analyte_in_full(symbol) for symbol in self.compare["untested"]],
                 "cautions": cautions.gathered(self.compare, self.best or ""), "rules": RULES,
                 "elsewhere": cautions.elsewhere(self.compare, self.best or ""), "conditional": [], "mercury": "",
                 "waiting": self._waiting_rate()}
        return {**shown, **(self._of_best() if self.best else {})}

    def _of_best(self) -> Dict[str, Any]:
        """What there is only where a route is taken."""
        pictures = plan_pictures.Pictures(self.answers, self.order, self.currency)
        path = gold_page.path(self.answers, str(self.best))
        return {"doing": doing.sentences(self.plan, str(self.best), self.route, path.metal),
                "mercury": cautions.mercury(self.compare, str(self.best)),
                "leaves": self.money(f"{self.at}/present_value"),
                "lead": self._lead(), "sure": self._sure(), "cash": self._cash(), "credit": self._credit(),
                "conditional": self.route["conditional"], "falls": self._falls(), "gold": path,
                "terms": self._terms(), "lines": self._lines(), "work": self._work(), "tips": self._tips(),
                "offers": self._offers(), "worth": self._worth(), "pictures": pictures}

    def _title(self) -> str:
        return str(self.plan["lot"].get("id", "The lot"))

    def _waiting_rate(self) -> str:
        rate = self.plan.get("discount")
        return f"{rate[:-2].strip()} a year" if isinstance(rate, str) and rate.endswith("/a") else "the plan's rate"

    # ---- The first page ----

    def _lead(self) -> Optional[Dict[str, Any]]:
        """Over the next route at the plan's own figures; below 0 where the draws prefer another than the plan."""
        others = [name for name in self.order[1:] if self.compare["routes"][name]["present_value"] is not None]
        if not others:
            return None
        mine = exact(self.route["present_value"])
        lead = mine - exact(self.compare["routes"][others[0]]["present_value"])
        close = [name for name in others
                 if abs(mine - exact(self.compare["routes"][name]["present_value"])) < abs(mine) / 100]
        amount = self.money("/compare/lead") if self.best == self.compare["best"] else worked(lead, self.places)
        return {"over": others[0], "amount": amount, "is_behind": lead < 0, "close": len(close)}

    def _sure(self) -> Optional[Dict[str, Any]]:
        """In words: the mean, the range, how often it is the best and ahead."""
        if not self.drawn or self.best != self.drawn["preferred"]:
            return None
        at, mine = f"/simulate/routes{step(self.best)}", self.drawn["routes"][self.best]
        lead = self.drawn["lead"]
        return {"mean": self.money(f"{at}/mean"), "low": self.money(f"{at}/low"), "high": self.money(f"{at}/high"),
                "worst": self.money(f"{at}/worst_mean"), "best": figures.often(mine["best_share"]),
                "ahead": figures.often(lead["ahead"]) if lead else "", "over": lead["over"] if lead else "",
                "draws": f"{self.drawn['counted']:,}"}

    def _cash(self) -> List[Dict[str, Any]]:
        """What is laid out at most, what is in hand by a week, a month, a quarter, the largest day and the last."""
        days = self.route["cash_days"]
        if not days:
            return []
        least = min(range(len(days)), key=lambda i: exact(days[i]["total"]))
        rows = []
        if exact(days[least]["total"]) < 0:
            spent = worked(-exact(days[least]["total"]), self.places)
            rows.append({"what": f"laid out at most, by day {figures.day(days[least]['day'])}", "amount": spent})
        for number, entry in _marks(days):
            rows.append({"what": f"in hand by day {figures.day(entry)}",
                         "amount": self.money(f"{self.at}/cash_days/{number}/total")})
        rows[-1]["what"] += ", all of the cash"
        return rows

    def _credit(self) -> Optional[Markup]:
        return self.money(f"{self.at}/credit") if exact(self.route["credit"]) else None

    # ---- Routes ----

    def _routes(self) -> List[Dict[str, Any]]:
        return [self._route(name) for name in self.order]

    def _route(self, name: str) -> Dict[str, Any]:
        route, at = self.compare["routes"][name], f"/compare/routes{step(name)}"
        shown: Dict[str, Any] = {"name": name, "refused": route["refused"], "conditional": route["conditional"]}
        if route["refused"]:
            return shown
        first = next((entry["day"] for entry in route["cash_days"] if exact(entry["amount"]) > 0), None)
        less = exact(self.route["present_value"]) - exact(route["present_value"])
        return {**shown, "net": self.money(f"{at}/net", 2), "value": self.money(f"{at}/present_value", 2),
                "less": worked(less, 2) if name != self.best else "", "credit": self.money(f"{at}/credit", 2),
                "first": figures.day(first) if first is not None else "\u2013",
                "last": figures.day(route["last_cash_day"]) if route["last_cash_day"] is not None else "\u2013"}

    def _reasons(self, kind: str) -> List[Tuple[str, str]]:
        """Each reason once, with the routes that have it."""
        routes = self.compare["routes"]
        having = [name for name in self.order if kind == "refused" or not routes[name]["refused"]]
        reasons = once(reason for name in having for reason in routes[name][kind])
        return [(listed(name for name in having if reason in routes[name][kind]), reason) for reason in reasons]

    # ---- Detail ----

    def _falls(self) -> List[breakdown.Part]:
        contained = {metal: Decimal(amount) for metal, amount in self.answers.at("/contained").items()}
        return breakdown.parts(self.plan, self.route, contained)

    def _terms(self) -> List[Dict[str, Any]]:
        """The contract of each buyer that the best route sells to."""
        buyers = once(product["at"] for product in self.route["products"])
        return [{"buyer": buyer, "clauses": contract.clauses(self.plan["terms"][buyer])} for buyer in buyers]

    def _lines(self) -> List[Dict[str, Any]]:
        return [{**line, "at": "the plant, sent back" if line["at"] == "return" else line["at"],
                 "amount": self.money(f"{self.at}/lines/{number}/amount", 2), "day": figures.day(line["day"])}
                for number, line in enumerate(self.route["lines"])]

    def _work(self) -> List[Dict[str, str]]:
        return [{"at": work["at"], "feed": figures.mass(work["feed"]),
                 "hours": f"{figures.decimals(work['hours'], 1)}{NBSP}h" if exact(work["hours"]) else "",
                 "remarks": ", ".join(_remarks(work))} for work in self.route["work"]]

    def _tips(self) -> List[str]:
        told: List[str] = [" ".join(answer["words"]) for answer in self.answers.get("/break_even") or []]
        cut = self.answers.get("/forgiving_cut")
        return [*told, *(cut["words"] if cut else [])]

    def _offers(self) -> List[Dict[str, Any]]:
        offers = self.answers.get("/counter_offers") or {"buyers": {}}
        return [{"buyer": buyer, "words": offer["words"]} for buyer, offer in offers["buyers"].items()
                if offer["words"]]

    def _worth(self) -> Optional[Dict[str, Any]]:
        worth = self.answers.get("/worth")
        if not worth:
            return None
        rows = [self._candidate(number, candidate) for number, candidate in enumerate(worth["candidates"])]
        return {"rows": rows, "words": worth["words"]}

    def _candidate(self, number: int, candidate: Dict[str, Any]) -> Dict[str, Any]:
        """Of several counts the best, or where none is worth it the first."""
        chosen = max(candidate["best"] - 1, 0)
        at = f"/worth/candidates/{number}/counts/{chosen}"
        return {"name": candidate["name"], "count": candidate["counts"][chosen]["count"],
                "cost": self.money(f"{at}/cost", 2), "worth": self.money(f"{at}/worth", 2),
                "net": self.money(f"{at}/net", 2),
                "so": f"buy {candidate['best']}" if candidate["best"] else "buy none"}


def _marks(days: List[Dict[str, Any]]) -> List[Tuple[int, Any]]:
    """The days to tell of, each with the entry that holds then: only where that is money and something new."""
    last = exact(days[-1]["day"])
    largest = max(days, key=lambda entry: exact(entry["amount"]))
    usual = (Decimal(7), Decimal(30), Decimal(90), exact(largest["day"]))
    wanted = sorted({day for day in usual if day < last} | {last})
    found: Dict[int, Any] = {}
    for day in wanted:
        held = [number for number, entry in enumerate(days) if exact(entry["day"]) <= day]
        if held and (exact(days[held[-1]]["total"]) > 0 or day == last):
            found.setdefault(held[-1], day)
    return sorted(found.items())


def _remarks(work: Dict[str, Any]) -> List[str]:
    said = []
    if "melts" in work and exact(work["melts"]) > 0:
        said.append(counted(int(exact(work["melts"])), "melt"))
    if "fuel" in work:
        said.append(f"{figures.figures(work['fuel'])}{NBSP}L of fuel")
    elif "energy" in work and exact(work["energy"]) > 0:
        said.append(f"{figures.figures(work['energy'])}{NBSP}kWh of heat")
    return said + [f"{reagent}{NBSP}{figures.mass(amount)}" for reagent, amount in work.get("flux", {}).items()]
