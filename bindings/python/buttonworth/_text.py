"""Documents, rows and values of Python as the library takes them. For the package's own use."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Iterable, Iterator, Tuple

from . import _buttonworth


def to_bytes(text: Any, what: str) -> bytes:
    """The text as UTF-8. Lone surrogates go along: it is the library that says what is wrong with them."""
    if not isinstance(text, str):
        raise TypeError(f"{what} is text, not {_kind(text)}")
    return text.encode("utf-8", "surrogatepass")


def to_json(value: Any) -> bytes:
    """The value as JSON text, its names in their order."""
    try:
        return json.dumps(value, allow_nan=False, default=_plain).encode("ascii")
    except RecursionError:
        pointer, fault = "", "the document is nested too deeply"
    except ValueError as error:
        circular = "ircular" in str(error)
        pointer, fault = ("", "the document holds itself") if circular else _no_number(value)
    _buttonworth.refuse(pointer, fault)


def to_cell(value: Any, pointer: str) -> bytes:
    """A value of one row, or one to be put in another's place."""
    if isinstance(value, str):
        return to_bytes(value, "a value")
    if value is None or isinstance(value, (bool, Mapping, list, tuple)):
        return to_json(value)
    if isinstance(value, int):
        return int.__repr__(value).encode("ascii")
    if isinstance(value, (float, Decimal)):
        finite = value.is_finite() if isinstance(value, Decimal) else math.isfinite(value)
        if not finite:
            _buttonworth.refuse(pointer, _found(value))
        return (str(value) if isinstance(value, Decimal) else float.__repr__(value)).encode("ascii")
    raise TypeError(f"{pointer}: a value is text, a number, true, false or None, not {_kind(value)}")


def to_rows(rows: Iterable[Any]) -> _buttonworth.RowList:
    """The rows of a plan's spreadsheet form."""
    gathered = _buttonworth.RowList()
    for number, row in enumerate(rows, 1):
        pointer, value = _pair(row, number)
        gathered.add(to_bytes(pointer, f"the pointer of row {number}"), to_cell(value, pointer))
    return gathered


def _plain(value: Any) -> Any:
    """What is like a dict, as one."""
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"a document holds text, numbers, true, false, None, lists and dicts, not {_kind(value)}")


def _pair(row: Any, number: int) -> Tuple[Any, Any]:
    """A row's pointer and value; the empty cells of a spreadsheet may come as None."""
    if isinstance(row, (str, bytes)):
        raise TypeError(f"row {number} is a pointer and a value, not {_kind(row)}")
    cells = list(row)
    if len(cells) != 2:
        _buttonworth.refuse("", f"row {number} is a pointer and a value, but has {len(cells)} cells")
    pointer, value = cells
    if pointer is None or pointer == "":
        return "", "" if value is None else value
    return pointer, value


def _no_number(value: Any) -> Tuple[str, str]:
    """Where the first NaN or infinity stands, and what is wrong with it."""
    for pointer, number in _no_numbers(value, ""):
        return pointer, _found(number)
    return "", "NaN or an infinity stands in the document"


def _no_numbers(value: Any, pointer: str) -> Iterator[Tuple[str, float]]:
    if isinstance(value, float) and not math.isfinite(value):
        yield pointer, value
    elif isinstance(value, Mapping):
        for name, member in value.items():
            yield from _no_numbers(member, f"{pointer}/{str(name).replace('~', '~0').replace('/', '~1')}")
    elif isinstance(value, (list, tuple)):
        for index, member in enumerate(value):
            yield from _no_numbers(member, f"{pointer}/{index}")


def _found(number: Any) -> str:
    return f"{number} stands here; wanted is a number, or text"


def _kind(value: Any) -> str:
    return type(value).__name__
