"""How far a buyer's figures lie from ours over all lots, in plain words."""

from __future__ import annotations

import math
from typing import Any, Dict, Optional, Tuple

from . import figures
from .figures import NBSP
from .words import analyte, capital, counted, listed

_ADVICE = {"questioned": ": worth a question", "to be acted on": ": to be taken up with them"}


def name(what: str) -> str:
    """ "Gold assays" for "Au assay", "Wet masses" for "wet mass"."""
    symbol, _, rest = what.rpartition(" ")
    if rest == "assay":
        return f"{capital(analyte(symbol))} assays"
    return capital(what) + ("es" if what.endswith("s") else "s")


def percent(ratio: str) -> float:
    return 100 * (float(ratio) - 1)


def sentence(figure: Dict[str, Any]) -> str:
    """ "Gold assays: theirs are 1.2 % below ours over 13 lots (95 %: 0.6 to 1.8 % below); …" """
    lots = counted(int(figure["pairs"]), "lot")
    if "p" not in figure:
        alike = ", all alike" if figure["pairs"] != "1" else ""
        said = f"{name(figure['what'])}: theirs are {distance(figure['ratio'], 2)} over {lots}{alike}."
    else:
        places = _places(figure)
        said = (f"{name(figure['what'])}: theirs are {distance(figure['ratio'], places)} over {lots} "
                f"(95{NBSP}%: {_range(figure, places)}); chance alone would do so {_chance(float(figure['p']))}"
                f"{_ADVICE.get(figure['verdict'], ': nothing out of the ordinary')}.")
    caution = figure.get("caution")
    return said + _outliers(figure) + (f" {capital(caution)}." if caution else "")


def distance(ratio: str, places: int) -> str:
    """ "1.1 % below ours", "the same as ours"."""
    size = figures.decimals(str(abs(percent(ratio))), places)
    if not size.strip("0."):
        return "the same as ours"
    return f"{size}{NBSP}% {'below' if percent(ratio) < 0 else 'above'} ours"


def interval(figure: Dict[str, Any]) -> Tuple[Optional[float], Optional[float]]:
    low, high = figure.get("low"), figure.get("high")
    return (None, None) if low is None or high is None else (percent(low), percent(high))


def _places(figure: Dict[str, Any]) -> int:
    """Places that tell something beside so much doubt; an end that is not 0 is not shown as 0."""
    low, high = percent(figure["low"]), percent(figure["high"])
    places = 1
    while places < 4 and ((high - low) / 2 * 10**places < 2 or min(abs(low), abs(high)) * 10**places < 0.5):
        places += 1
    return places


def _range(figure: Dict[str, Any], places: int) -> str:
    """ "0.6 to 1.6 % below", "0.2 % below to 0.9 % above"."""
    low, high = percent(figure["low"]), percent(figure["high"])
    start, end = (figures.decimals(str(abs(value)), places) for value in (low, high))
    if low < 0 < high:
        return f"{start}{NBSP}% below to {end}{NBSP}% above"
    return f"{end} to {start}{NBSP}% below" if low < 0 else f"{start} to {end}{NBSP}% above"


def _chance(p: float) -> str:
    if p < 1e-6:
        return "less than 1 time in a million"
    if p > 0.4:
        return "nearly every time" if p > 0.95 else f"{round(10 * p)} times in 10"
    times = 1 / p
    scale = 10 ** (math.floor(math.log10(times)) - 1) if times >= 100 else 1
    return f"1 time in {round(times / scale) * scale:,}"


def _outliers(figure: Dict[str, Any]) -> str:
    """Lots far from the rest, by name."""
    far = figure.get("outliers", [])
    if not far:
        return ""
    lots = listed(f"{lot['id']} ({_roughly(lot['ratio'])})" for lot in far)
    return (f" Far from the rest: {lots}; without {'it' if len(far) == 1 else 'them'} theirs are "
            f"{_roughly(figure['ratio_of_rest'])}.")


def _roughly(ratio: str) -> str:
    return distance(ratio, 2 if abs(percent(ratio)) < 0.95 else 1)
