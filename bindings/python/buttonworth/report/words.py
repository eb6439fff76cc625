"""Small words: names of metals, articles, lists, cautions."""

from __future__ import annotations

from typing import Iterable, List

RULES = "Local rules and licensed practice come first."

_NAMES = {"Au": "gold", "Ag": "silver", "Pt": "platinum", "Pd": "palladium", "Hg": "mercury", "As": "arsenic",
          "Sb": "antimony", "Pb": "lead", "Bi": "bismuth", "Cu": "copper", "Fe": "iron", "S": "sulphur"}


def analyte(symbol: str) -> str:
    return _NAMES.get(symbol, symbol)


def analyte_in_full(symbol: str) -> str:
    """ "mercury (Hg)"."""
    return f"{_NAMES[symbol]} ({symbol})" if symbol in _NAMES else symbol


def the(name: str) -> str:
    """ "the harbour smelter", but "Harbour Smelter Ltd" as it stands."""
    proper = not name[:1].islower() or name.startswith("the ")
    return name if proper else f"the {name}"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def listed(values: Iterable[str], last: str = " and ") -> str:
    """Values in a row; those that hold commas themselves are kept apart by semicolons."""
    row = list(values)
    comma, end = ("; ", "; ") if any("," in value for value in row) else (", ", last)
    return end.join([comma.join(row[:-1]), row[-1]]) if len(row) > 1 else "".join(row)


def once(values: Iterable[str]) -> List[str]:
    return list(dict.fromkeys(values))


def counted(count: int, one: str, many: str = "") -> str:
    """ "1 lot", "13 lots"."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def without_rules(caution: str) -> str:
    return caution[: -len(RULES)].rstrip() if caution.endswith(RULES) else caution


def is_of_mercury(caution: str) -> bool:
    return "ercury" in caution
