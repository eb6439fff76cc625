"""Cautions of a comparison, each said once with the places it holds for, mercury first."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Dict, List, Mapping

from .words import RULES, is_of_mercury, listed, once, without_rules


@dataclass
class Caution:
    what: str
    here: List[str] = field(default_factory=list)  #: steps of the route to be taken, or the lot
    elsewhere: List[str] = field(default_factory=list)  #: steps of other routes only
    is_hazard: bool = False


def gathered(comparison: Mapping[str, Any], route: str) -> List[Caution]:
    """Of the route to be taken, and mercury of any; mercury first, then what endangers people."""
    found = _grouped(comparison, route)
    mine = [caution for caution in found if caution.here or is_of_mercury(caution.what)]
    return sorted(mine, key=lambda caution: (not is_of_mercury(caution.what), not caution.is_hazard))


def elsewhere(comparison: Mapping[str, Any], route: str) -> str:
    """One sentence on the other routes."""
    others = [caution for caution in _grouped(comparison, route) if not caution.here]
    places = once(place for caution in others for place in caution.elsewhere)
    return f"On other routes, take care at {listed(places)}." if places else ""


def mercury(comparison: Mapping[str, Any], route: str) -> str:
    """ "known", where the route heats mercury; "untested", where nobody knows; else empty."""
    here = [caution.what for caution in _grouped(comparison, route) if caution.here and is_of_mercury(caution.what)]
    return "known" if any(what.startswith("Stop") for what in here) else "untested" if here else ""


def _grouped(comparison: Mapping[str, Any], route: str) -> List[Caution]:
    answer = comparison["routes"].get(route)
    mine = {entry["at"] for entry in (*answer["work"], *answer["products"])} | {"lot"} if answer else None
    found: Dict[str, Caution] = {}
    for caution in comparison.get("cautions", []):
        what = without_rules(caution["what"])
        group = found.setdefault(what, Caution(what, is_hazard=caution["what"].endswith(RULES)))
        places = group.here if mine is None or caution["at"] in mine else group.elsewhere
        if caution["at"] not in places:
            places.append(caution["at"])
    return list(found.values())
