"""Money, masses and other figures for reading. Amounts stay decimals from the answer to the page."""

from __future__ import annotations

import math
import re
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Tuple, Union

Number = Union[str, int, float, Decimal]

NBSP = "\u00a0"
MINUS = "\u2212"


def exact(number: Number) -> Decimal:
    """The number of an answer: "-130.00", or "12.4 kg" without its unit."""
    return Decimal(number.split()[0].rstrip("%")) if isinstance(number, str) else Decimal(number)


def parts_of(quantity: str) -> Tuple[Decimal, str]:
    """ "12.4 kg" as a number and its unit."""
    number, _, unit = quantity.replace("%", " %").partition(" ")
    return Decimal(number), unit.strip()


def decimals(number: Number, places: int) -> str:
    """Rounded, thousands apart by commas, a true minus; what rounds to 0 has no sign."""
    rounded = exact(number).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    text = f"{abs(rounded):,.{places}f}"
    return MINUS + text if rounded < 0 else text


def figures(number: Number, count: int = 3, trim: bool = False) -> str:
    """To so many significant figures, never in powers of ten."""
    value = exact(number)
    if value == 0:
        return "0"
    power = Decimal(f"{value:.{count - 1}e}").adjusted()
    places = max(0, count - 1 - power)
    text = decimals(Decimal(f"{value:.{count - 1}e}"), places)
    return text.rstrip("0").rstrip(".") if trim and "." in text else text


def quantity(text: str, count: int = 4) -> str:
    """ "2949.8333333 USD/ozt" as "2,950 USD/ozt"."""
    number, unit = parts_of(text)
    shown = figures(number, count, trim=True)
    return f"{shown}{NBSP}{unit}" if unit else shown


def as_written(text: str) -> str:
    """A quantity with the digits it was written with: "1840 g/t" as "1,840 g/t"."""
    number, unit = parts_of(text)
    places = max(0, -int(number.as_tuple().exponent))
    return f"{decimals(number, places)}{NBSP}{unit}".rstrip()


def mass(kilograms: Number) -> str:
    """ "640 kg", "808 g"."""
    value = exact(kilograms)
    small = abs(value) < Decimal("0.9995")
    return f"{figures(1000 * value if small else value)}{NBSP}{'g' if small else 'kg'}"


def grams(amount: Number, fed: Number) -> str:
    """Grams of a metal, with the places that the whole of it deserves."""
    whole = exact(fed)
    places = 0 if whole >= 10000 else 1 if whole >= 100 else 3 if whole >= 1 else 5
    return f"{decimals(amount, places)}{NBSP}g"


def share(part: Number, whole: Number) -> str:
    """ "3.4 %" of the whole."""
    total = exact(whole)
    percent = 100 * exact(part) / total if total else Decimal(0)
    return f"{decimals(percent, 2 if abs(percent) < Decimal('0.1') else 1)}{NBSP}%"


def together(text: str) -> str:
    """A figure and its unit on one line: "2.5 %"."""
    return re.sub(r"(?<=\d) (?=%|[A-Za-z]+/|USD|[A-Z]{3}\b|g\b|kg\b|t\b|ozt\b|fine\b|d\b|h\b)", NBSP, text)


def day(number: Number) -> str:
    """A day is over when it is told: 21.2 is day 22."""
    value = (exact(number) - Decimal("1e-9")).to_integral_value(ROUND_CEILING)
    return decimals(max(value, Decimal(0)), 0)


def often(percent: Number) -> str:
    """How often of all draws: "7 in 10", "99 in 100"."""
    value = float(exact(percent))
    if value >= 100 or value <= 0:
        return "all" if value >= 100 else "none"
    if value >= 99.5 or value < 0.5:
        return f"{'more than 99' if value > 50 else 'less than 1'} in 100"
    if 9.5 <= value < 90.5:
        return f"{math.floor(value / 10 + 0.5)} in 10"
    return f"{math.floor(value + 0.5)} in 100"


def in_hundred(percent: Number) -> str:
    value = float(exact(percent))
    if value <= 0:
        return "none"
    if value < 0.5:
        return "<1"
    return ">99" if 99.5 <= value < 100 else f"{math.floor(value + 0.5)}"
