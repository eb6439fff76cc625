"""The pictures of a plan's page, each made of the answers when the template asks for it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Dict, List, Optional

from markupsafe import Markup

from . import breakdown, figures
from .answers import Answers
from .figures import NBSP, exact, parts_of
from .pictures import lead, money_by_day, style, swings, waterfall, winner_map
from .pictures import ranges as heaps

_MOST_SWINGS = 12


class Pictures:
    def __init__(self, answers: Answers, order: List[str], currency: str) -> None:
        self.answers, self.order, self.best, self.currency = answers, order, order[0], currency
        self.drawn: Optional[Any] = answers.get("/simulate")

    def cash(self) -> Markup:
        days = [(float(entry["day"]), float(entry["total"]))
                for entry in self.answers.at("/compare/routes")[self.best]["cash_days"]]
        return style.picture("cash", "Money in hand by day",
                             lambda sheet: money_by_day.draw(sheet, days, self.currency))

    def falls(self, parts: List[breakdown.Part]) -> Markup:
        shown = [waterfall.Fall(part.what, part.amount, part.kind == "level") for part in parts]
        return style.picture("falls", "Where the money went",
                             lambda sheet: waterfall.draw(sheet, shown, self.currency))

    # ---- Draws ----

    def ranges(self) -> Markup:
        assert self.drawn is not None
        routes = self.drawn["routes"]
        order = sorted(routes, key=lambda name: (name != self.best, -float(routes[name]["mean"])))
        shown = [self._range(name, routes[name]) for name in order if exact(routes[name]["refused_share"]) < 100]
        return style.picture("ranges", "How each route's worth is spread",
                             lambda sheet: heaps.draw(sheet, shown, self.currency))

    def _range(self, name: str, route: Dict[str, Any]) -> heaps.Range:
        draws = self._draws(name)
        return heaps.Range(name, figures.decimals(route["mean"], 0), draws[draws == draws], float(route["low"]),
                            float(route["median"]), float(route["high"]), name == self.best)

    def _draws(self, name: str) -> Any:
        """What a route is worth in each draw; NaN where that was left out, or the route is refused and worth 0."""
        assert self.drawn is not None
        draws = self.drawn.draws(name)
        if exact(self.drawn["routes"][name]["refused_share"]) > 0:
            draws[draws == 0] = float("nan")
        return draws

    def lead(self) -> Markup:
        """Nothing where the two are never taken in one draw."""
        assert self.drawn is not None
        over = self.drawn["lead"]["over"]
        ahead = self._draws(self.drawn["preferred"]) - self._draws(over)
        ahead = ahead[ahead == ahead]
        if not len(ahead):
            return Markup("")
        share = Decimal(parts_of(self.drawn["lead"]["ahead"])[0])
        behind_text = f"behind in {figures.in_hundred(100 - share)} of 100 draws"
        ahead_text = f"ahead in {figures.in_hundred(share)} of 100 draws"
        return style.picture("lead", f"The lead over {over}",
                             lambda sheet: lead.draw(sheet, ahead, behind_text, ahead_text, self.currency))

    # ---- What decides ----

    def swings(self) -> Markup:
        answer = self.answers.at("/sensitivity")
        shown = [_swing(one) for one in answer["quantities"] if "lead_at" in one][:_MOST_SWINGS]
        if not shown or answer["lead"] is None:
            return Markup("")
        return style.picture("swings", "What decides", lambda sheet: swings.draw(
            sheet, shown, float(answer["lead"]), self.currency))

    # ---- Maps ----

    def maps(self) -> List[Markup]:
        answers = self.answers.get("/maps") or []
        order = self._by_area(answers)
        return [self._map(number, answer, order) for number, answer in enumerate(answers)]

    def _by_area(self, answers: List[Dict[str, Any]]) -> List[str]:
        """The best route, then those that lead anywhere, the largest area first: each has one look in all maps."""
        areas = {name: 0 for name in self.order}
        for answer in answers:
            for row in answer["winner"]:
                for entry in row:
                    if entry is not None:
                        areas[answer["routes"][entry]] += 1
        return sorted(self.order, key=lambda name: (name != self.best, -areas[name]))

    def _map(self, number: int, answer: Dict[str, Any], order: List[str]) -> Markup:
        x, y = (_side(answer[name]) for name in ("x", "y"))
        looks = [order.index(name) for name in answer["routes"]]
        return style.picture(f"map{number}", f"Which route leads: {x.label} against {y.label}", lambda sheet:
                             winner_map.draw(sheet, x, y, answer["winner"], answer["routes"], looks))


def _swing(one: Dict[str, Any]) -> swings.Swing:
    low, high = one["lead_at"]["low"], one["lead_at"]["high"]
    figure = figures.decimals(one["swing"], 0) if one.get("swing") is not None else "refused at an end"
    span = f"{figures.quantity(one['low']).split(NBSP)[0]} to {figures.quantity(one['high'])}"
    name = f"{one['name']}: {span.replace(' ', NBSP)}"
    return swings.Swing(name, figure, None if low is None else float(low), None if high is None else float(high))


def _side(side: Dict[str, Any]) -> winner_map.Side:
    plan = side.get("plan")
    at = float(parts_of(plan)[0]) if isinstance(plan, str) and parts_of(plan)[1] == side["unit"] else None
    return winner_map.Side(f"{side['name']}, {side['unit']}", [float(exact(value)) for value in side["values"]], at)
