"""Quantities as a plan states them, in words: one figure, or how far it can be off."""

from __future__ import annotations

from typing import Any, Dict

from .figures import NBSP, as_written, parts_of

_PER = {"g": "gram", "kg": "kilogram", "t": "tonne", "lb": "pound", "st": "short ton", "lt": "long ton",
        "ozt": "troy ounce", "dwt": "pennyweight", "lot": "lot", "melt": "melt", "h": "hour", "kWh": "kWh",
        "L": "litre", "a": "year"}
_TIMES = {"d": "day", "h": "hour", "min": "minute"}


def say(quantity: Any) -> str:
    """ "95.5 %", "450 USD a tonne", "between 102 % and 112 %"."""
    if not isinstance(quantity, dict):
        return one(quantity)
    if "values" in quantity:
        return f"the mean of {len(quantity['values'])} determinations ({', '.join(map(one, quantity['values']))})"
    if "low" in quantity:
        likeliest = f", {one(quantity['mode'])} the likeliest" if "mode" in quantity else ""
        return f"between {one(quantity['low'])} and {one(quantity['high'])}{likeliest}"
    if "median" in quantity:
        return f"about {one(quantity['median'])}, within a factor of {quantity['gsd']} two times in three"
    return f"about {one(quantity['value'])}, give or take {one(quantity.get('sd', quantity.get('rsd', '0 %')))}"


def one(quantity: str) -> str:
    """One figure: "620 USD/t" as "620 USD a tonne", "12 d" as "12 days"."""
    number, unit = parts_of(quantity)
    shown = as_written(quantity)
    if unit in _TIMES:
        return f"{as_written(str(number))}{NBSP}{_TIMES[unit]}{'' if number == 1 else 's'}"
    money, _, per = unit.partition("/")
    if per in _PER and (money.isupper() and len(money) == 3 or money in ("USc", "%")):
        return f"{as_written(str(number))}{NBSP}{money} {'an' if per == 'h' else 'a'} {_PER[per]}"
    return shown


def is_zero(quantity: Any) -> bool:
    return isinstance(quantity, str) and parts_of(quantity)[0] == 0


def stated(terms: Dict[str, Any], name: str) -> bool:
    """Whether a field is there and is not 0."""
    return name in terms and not is_zero(terms[name])
