"""What a report on a plan asks the library."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any, Callable, Dict, List, Mapping, Optional, Tuple

import buttonworth

from . import gold
from .answers import Answers
from .figures import exact
from .words import listed

#: Told as each question is begun: what is asked, how many are done, of how many.
Tell = Callable[[str, int, int], None]

PARTS = ("simulate", "worth", "break_even", "counter_offers", "forgiving_cut", "sensitivity", "maps")
LISTS = ("break_even", "maps")
#: What is said once, for the simulation, and holds for the worth of measurements too.
_DRAWING = ("draws", "seed", "method", "threads", "routes", "correlate", "same", "averaged")


def read_options(options: Any) -> Dict[str, Any]:
    """The options by parts, as `examples/run sure` takes them. A part that does not exist would be lost unseen."""
    stated: Dict[str, Any] = json.loads(options) if isinstance(options, (str, bytes)) else dict(options or {})
    if not isinstance(stated, dict):
        raise ValueError("an object of parts is wanted; the parts are " + listed(PARTS))
    for name, value in stated.items():
        if name == "note":
            continue
        if name not in PARTS:
            raise ValueError(f"/{name}: there is no such part; the parts are {listed(PARTS)}")
        if not isinstance(value, list if name in LISTS else Mapping):
            raise ValueError(f"/{name}: {'a list of objects' if name in LISTS else 'an object'} is wanted here")
    return stated


class Question:
    """A plan and what is to be asked about it, one answer after the other."""

    def __init__(self, plan: buttonworth.Plan, options: Mapping[str, Any], tell: Optional[Tell] = None) -> None:
        self.plan, self.options, self.tell = plan, options, tell or (lambda what, done, total: None)
        self.document: Dict[str, Any] = json.loads(plan.text())
        self.found: Dict[str, Any] = {"plan": self.document}

    def ask(self) -> Answers:
        """All answers. What a plan has no use for (no table, nothing uncertain, no route) is not there."""
        steps: List[Tuple[str, Callable[[], Any]]] = [
            ("compare", self.plan.compare), ("simulate", self._simulation), ("contained", self._contained),
            ("gold", self._gold), ("worth", self._worth), ("break_even", self._tips),
            ("counter_offers", lambda: self._asked("counter_offers")), ("forgiving_cut", self._cut),
            ("sensitivity", self._sensitivity), ("maps", self._maps)]
        for done, (name, asked) in enumerate(steps):
            self.tell(name.replace("_", " "), done, len(steps))
            self.found[name] = asked() if name in ("compare", "simulate") or self.best else None
        self.tell("drawing", len(steps), len(steps))
        return Answers(self.found)

    @property
    def best(self) -> Optional[str]:
        return best_of(self.found)

    def _asked(self, part: str, **more: Any) -> Any:
        return getattr(self.plan, part)({**without_notes(self.options.get(part, {})), **more})

    def _simulation(self) -> Optional[Dict[str, Any]]:
        """None where nothing is uncertain, or no route is ever taken."""
        answer = self._asked("simulate", keep=True)
        return answer if answer["inputs"] and any(_is_taken(route) for route in answer["routes"].values()) else None

    # ---- Metal ----

    def _compare(self, plan: Mapping[str, Any], options: Mapping[str, Any]) -> Dict[str, Any]:
        return buttonworth.compare(plan, options)

    def _contained(self) -> Dict[str, str]:
        """What each metal with a price would fetch at it, all of it: the library's credit of the lot sent back at
        100 %."""
        metals = [name for name in self.document.get("prices", {}) if name != "note"]
        back = {"return": {metal: "100 %" for metal in metals}}
        apart = [name for name in self.document["lot"].get("apart", {}) if name != "note"]
        route = {"lot": back, **{name: back for name in apart}} if apart else back
        answer = self._compare({**self.document, "routes": {"all": route}}, {"how": False})
        worth = {metal: Decimal(0) for metal in metals}
        for line in answer["routes"]["all"]["lines"]:
            worth[line["what"].rpartition(" ")[0]] += exact(line["amount"])
        return {metal: str(amount) for metal, amount in worth.items()}

    def _gold(self) -> Dict[str, Any]:
        """What each branch of the best route holds."""
        route = self.found["compare"]["routes"][self.best]
        metal = metal_followed(route)
        return {"metal": metal, "branches": gold.branches(self.document, str(self.best), route.get("cut", {}), metal,
                                                          self._compare)}

    # ---- What would change the answer ----

    def _worth(self) -> Optional[Dict[str, Any]]:
        if "worth" not in self.options:
            return None
        drawn = {name: value for name, value in self.options.get("simulate", {}).items() if name in _DRAWING}
        answer: Dict[str, Any] = self.plan.worth({**drawn, **without_notes(self.options["worth"])})
        return answer

    def _tips(self) -> List[Dict[str, Any]]:
        """Without options, the price of gold, where the plan has one."""
        usual = [{"of": "/prices/Au"}] if "Au" in self.document.get("prices", {}) else []
        return [self.plan.break_even(without_notes(asked)) for asked in self.options.get("break_even", usual)]

    def _cut(self) -> Optional[Dict[str, Any]]:
        """A plan without tables has no cut: unless one was asked for, that is no error."""
        try:
            answer: Dict[str, Any] = self._asked("forgiving_cut")
            return answer
        except buttonworth.UsageError as error:
            if error.pointer != "/route" or "route" in self.options.get("forgiving_cut", {}):
                raise
            return None

    def _sensitivity(self) -> Optional[Dict[str, Any]]:
        """Unless the options say otherwise, of the figures that were drawn."""
        stated = self.options.get("sensitivity", {})
        more: Dict[str, Any] = {}
        if "simulate" in self.found and self.found["simulate"] and "of" not in stated:
            more["of"] = [drawn["of"] for drawn in self.found["simulate"]["inputs"]]
        same = self.options.get("simulate", {}).get("same") if "same" not in stated else None
        answer: Dict[str, Any]
        if same:
            try:
                answer = self._asked("sensitivity", **more, same=same)
                return answer
            except buttonworth.UsageError:
                pass  # what is drawn together in two units cannot move by one amount: then each moves alone
        answer = self._asked("sensitivity", **more)
        return answer

    def _maps(self) -> List[Dict[str, Any]]:
        """Without options, gold's price against its assay in the lot."""
        return [self.plan.map(without_notes(asked)) for asked in self.options.get("maps", self._usual_maps())]

    def _usual_maps(self) -> List[Dict[str, Any]]:
        lot = self.document["lot"]
        places = [f"/lot/parts/{i}/assays/Au" for i, part in enumerate(lot.get("parts", []))
                  if "Au" in part.get("assays", {})]
        if "Au" in lot.get("assays", {}):
            places = ["/lot/assays/Au"]
        if not places or "Au" not in self.document.get("prices", {}):
            return []
        return [{"x": {"of": "/prices/Au"}, "y": {"of": places[0]}, "cuts": "held"}]


def without_notes(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: without_notes(member) for name, member in value.items() if name != "note"}
    return [without_notes(member) for member in value] if isinstance(value, list) else value


def _is_taken(route: Mapping[str, Any]) -> bool:
    return exact(route["refused_share"]) < 100


def best_of(found: Mapping[str, Any]) -> Optional[str]:
    """The route to take: the one that the draws prefer, or where nothing is uncertain the plan's best."""
    if found.get("simulate"):
        preferred = str(found["simulate"]["preferred"])
        if found["compare"]["routes"][preferred]["present_value"] is not None:
            return preferred
    best: Optional[str] = found["compare"]["best"]
    return best


def metal_followed(route: Mapping[str, Any]) -> str:
    """Gold, or else the first that is paid."""
    fed: List[str] = [metal for metal, places in route["metal"].items() if exact(places["fed"]) > 0]
    paid = [metal for metal in fed if exact(route["metal"][metal]["payable"]) > 0]
    return "Au" if "Au" in fed else (paid or fed or ["Au"])[0]
